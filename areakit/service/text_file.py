"""Files that are read as text: rates, solutions, processes, claims, and what a command printed."""

from __future__ import annotations

from os import PathLike
from pathlib import Path

from areakit.errors import FileError

LARGEST_BYTES = 20_000_000


def text_of(path: str | PathLike[str] | None) -> str | None:
    """Return the text of a file in UTF-8; None for None.

    FileError if it cannot be read, is no text, or is larger than 20 MB.
    """
    if path is None:
        return None
    file = Path(path)
    try:
        if file.stat().st_size > LARGEST_BYTES:
            raise FileError(f"{file} is larger than {LARGEST_BYTES // 1_000_000} MB.", remedy="Give a smaller file.")
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise FileError(f"{file} is not text in UTF-8.", remedy="Save it as UTF-8.") from None
    except OSError as error:
        raise FileError(f"{file} cannot be read: {error.strerror}.", remedy="Check the name of the file.") from None
