"""A look at a HEIC file before it is opened: text that is not UTF-8 makes the decoder crash, and all with it."""

from __future__ import annotations

import re

from areakit.errors import FileError

_MIME_ITEM = re.compile(rb"infe[\x02\x03].{3}.{4,6}?mime([^\0]*\0[^\0]*)\0", re.DOTALL)
"""Name and content type of an item (ISO/IEC 14496-12, 8.11.6)."""


def check_heic(data: bytes, label: str) -> None:
    """Raise FileError for a file whose list of items holds broken text."""
    if data[4:8] != b"ftyp":
        return
    for item in _MIME_ITEM.finditer(data):
        try:
            item.group(1).decode("utf-8")
        except UnicodeDecodeError:
            raise FileError(
                f"{label} is damaged: its list of contents cannot be read.",
                remedy="Copy the original file from the camera again.",
            ) from None
