"""Text that comes from photos, files and records is printed as text: it gives a terminal no orders."""

from __future__ import annotations

import re
from typing import Any

_UNWANTED = re.compile(
    r"\x1b(?!\[[0-9;]*m|\[K)"  # an escape that is neither a colour nor the end of a progress bar
    r"|\r(?!\n|\x1b\[K)"
    r"|[\x00-\x08\x0b\x0c\x0e-\x1a\x1c-\x1f\x7f-\x9f]"
    r"|[\u202a-\u202e\u2066-\u2069]"  # turn the reading direction by force
    r"|[\ud800-\udfff]"  # bytes of a file name that are no letters
)


class Tame:
    """A text stream that writes ``?`` for what would not be seen but obeyed; the rest is the stream behind it."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write text."""
        return int(self._stream.write(tame(text)))

    def writelines(self, lines: Any) -> None:
        """Write lines."""
        for line in lines:
            self.write(line)


def tame(text: str) -> str:
    """Return text with ``?`` for control characters, for forced directions and for what is no letter."""
    return _UNWANTED.sub("?", text)
