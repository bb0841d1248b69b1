"""What can go wrong between a journal and its disk, each in one sentence with what to do; and folders that last."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from areakit.errors import AreakitError, RecordChanged, RecordNotWritten, RecordUnreadable
from areakit.output import NO_ROOM

BUSY_SECONDS = 30.0
_LEAST_ROOM = 100_000
"""The files that SQLite keeps beside a journal take so much. [byte]"""


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what SQLite and the disk complain about into one sentence and a remedy."""
    try:
        yield
    except sqlite3.Error as error:
        raise _refusal(error, path) from error
    except OSError as error:
        if error.errno in NO_ROOM:
            raise _full(path) from error
        raise RecordNotWritten(
            f"The journal {path} cannot be reached: {error.strerror}.", remedy="Check the folder and its rights."
        ) from error


def make_folder(folder: Path) -> None:
    """Make a folder that outlives a loss of power: SQLite syncs the journal's own folder, not those above it."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    sync_folder(folder.parent)


def sync_folder(folder: Path) -> None:
    """Let the names in a folder outlive a loss of power."""
    if os.name == "posix":  # elsewhere a folder cannot be opened
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def _refusal(error: sqlite3.Error, path: Path) -> AreakitError:
    code = getattr(error, "sqlite_errorcode", None) or 0
    kind = code & 0xFF
    if kind == sqlite3.SQLITE_FULL or (kind == sqlite3.SQLITE_IOERR and _has_no_room(path)):
        return _full(path)
    if kind in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH):
        return RecordNotWritten(
            f"The journal {path} may not be opened, or not be written: its rights forbid it.",
            remedy="Check the rights of the file and its folder, or use another.",
            fields={"journal": ""},
        )
    if kind in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return RecordChanged(
            f"Another program kept the journal {path} busy for {BUSY_SECONDS:.0f} s.", remedy="Close it and try again."
        )
    if kind in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return RecordUnreadable(
            f"The journal {path} is damaged, or not a journal.",
            remedy="Save what is whole, or go back to a backup.",
            fields={"areakit job salvage": ""},
        )
    if code in (sqlite3.SQLITE_CONSTRAINT_UNIQUE, sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY):
        return RecordChanged(
            f"The same was written to {path} at the same moment; nothing was written twice.",
            remedy="Look at the record before you do it again.",
        )
    if kind == sqlite3.SQLITE_IOERR:
        return RecordNotWritten(
            f"The disk failed to read or write {path}.",
            remedy="Check the disk, its free space and its quota; everything acknowledged before is safe.",
        )
    return RecordUnreadable(
        f"The journal {path} was not understood: it may be damaged, or made by another program.",
        remedy="Have the journal checked.",
        fields={"areakit job check": ""},
    )


def _full(path: Path) -> RecordNotWritten:
    return RecordNotWritten(
        f"The disk is full: the last entry was not written to {path}.",
        remedy="Free some space and enter it again; everything acknowledged before is safe.",
    )


def _has_no_room(path: Path) -> bool:
    """Tell whether a disk that failed is merely full: SQLite says so only of its own pages, not of the files beside."""
    try:
        return shutil.disk_usage(path.parent).free < _LEAST_ROOM
    except OSError:
        return False
