"""Files that areakit writes: whole or not at all, and never in the place of one that is read."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
from collections.abc import Iterable
from pathlib import Path

from areakit.errors import FileError

FULL = "DISK_FULL"
NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
"""No room is left, for this user, or for a file of this size."""
_UNLINKABLE = {errno.EPERM, errno.ENOTSUP, errno.ENOSYS, errno.EMLINK}
"""A disk that knows no hard links says one of these."""


def write_whole(path: Path, data: bytes, *, replace: bool = True) -> None:
    """Write a file beside its place and rename it when it is whole and on the disk.

    - ``replace``: whether a file that is there already may be replaced.

    Raises FileError if it cannot be written, with the reason; what was there before is then untouched.
    """
    try:
        if path.exists() and not path.is_file() and not path.is_dir():  # a device or a pipe has no beside
            path.write_bytes(data)
            return
        if path.is_dir():
            raise IsADirectoryError(errno.EISDIR, "is a folder")
        place = path.resolve()  # a link keeps pointing where it did
        if not replace and place.exists():
            raise FileExistsError(errno.EEXIST, "is there already")
        _beside(place, data, replace=replace)
    except FileExistsError:
        raise FileError(f"{path} is there already.", remedy="Choose another name, or move that file away.") from None
    except OSError as error:
        raise refusal(path, error) from error


def write_in_folder(path: Path, data: bytes) -> None:
    """Write a file as :func:`write_whole` does, and make its folder where that is missing."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise refusal(path, error) from error
    write_whole(path, data)


def refusal(path: Path, error: OSError) -> FileError:
    """Return what to say about a file that cannot be written."""
    if error.errno in NO_ROOM:
        return FileError(
            f"The disk is full: {path} was not written.",
            remedy="Free some space and run the same command again.",
            code=FULL,
        )
    why = (error.strerror or "no reason given").lower()
    return FileError(f"{path} cannot be written: {why}.", remedy="Name a file in a folder you can write to.")


def _beside(place: Path, data: bytes, *, replace: bool) -> None:
    unfinished = place.with_name(f".{os.getpid()}-{place.name[-200:]}")
    with contextlib.suppress(FileNotFoundError):
        unfinished.unlink()
    try:
        with unfinished.open("xb") as file:
            if place.exists():
                os.chmod(file.fileno() if os.chmod in os.supports_fd else unfinished, _rights(place))
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if replace:
            unfinished.replace(place)
        else:
            put_new(unfinished, place)
    finally:
        unfinished.unlink(missing_ok=True)


def _rights(place: Path) -> int:
    return stat.S_IMODE(place.stat().st_mode) | stat.S_IWUSR


def put_new(unfinished: Path, place: Path) -> None:
    """Give a finished file its name; FileExistsError where somebody took the name meanwhile."""
    try:
        os.link(unfinished, place)
    except OSError as error:
        if error.errno not in _UNLINKABLE:
            raise
        if place.exists():
            raise FileExistsError(errno.EEXIST, "is there already") from None
        unfinished.replace(place)


def keep_apart(outputs: Iterable[Path], inputs: Iterable[Path]) -> None:
    """Refuse an output that is one of the inputs, or is named twice.

    Raises FileError naming the file.
    """
    read = {_identity(path) for path in inputs}
    written: set[tuple[int, int] | str] = set()
    for path in outputs:
        if path.exists() and not path.is_file():
            continue
        this = _identity(path)
        if this in read:
            raise FileError(
                f"{path} is read by this command, and would be written over.",
                remedy="Name another file for what is written.",
                code="OUTPUT_IS_INPUT",
            )
        if this in written:
            raise FileError(f"{path} is to hold two things at once.", remedy="Name a file for each.")
        written.add(this)


def _identity(path: Path) -> tuple[int, int] | str:
    """Return what tells a file from others, also by another name or through a link."""
    try:
        found = path.stat()
    except OSError:
        return os.path.normcase(path.absolute().parent.resolve() / path.name)
    return found.st_dev, found.st_ino
