"""How far a batch is, and how long it will take: one line on the terminal, below the results."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator
from types import TracebackType
from typing import TypeVar

import click

T = TypeVar("T")

_WIDTH = 24
_CLEAR = "\r\x1b[K"


class Progress:
    """A bar on standard error, shown only on a terminal and only for several items."""

    def __init__(self, of: int) -> None:
        self._shown = of > 1 and sys.stderr.isatty()
        self._done, self._of = 0, of
        self._quick = 0
        self._started = time.monotonic()

    def __enter__(self) -> Progress:
        """Show the empty bar."""
        self._draw()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Take the bar away."""
        self._wipe()

    def counting(self, items: Iterable[T]) -> Iterator[T]:
        """Yield the items, and count each."""
        for item in items:
            self.count(self._done + 1, self._of)
            yield item

    def count(self, done: int, of: int, *, quick: bool = False) -> None:
        """Tell how many are done; a quick one (known already) says nothing on how long the others take."""
        self._done, self._of = done, of
        if quick:
            self._quick += 1
            self._started = time.monotonic()
        self._draw()

    def say(self, text: str, *, err: bool = False) -> None:
        """Print a result above the bar."""
        self._wipe()
        click.echo(text, err=err)
        self._draw()

    def line(self, seconds: float) -> str:
        """Return the bar after so many seconds of work."""
        full = _WIDTH * self._done // max(self._of, 1)
        bar = "█" * full + "░" * (_WIDTH - full)
        return f"{bar} {self._done} of {self._of}{self._left(seconds)}"

    def _left(self, seconds: float) -> str:
        worked = self._done - self._quick
        if not worked or self._done == self._of:
            return ""
        left = round(seconds / worked * (self._of - self._done))
        return f", {left // 60}:{left % 60:02d} left"

    def _draw(self) -> None:
        if self._shown:
            sys.stderr.write(_CLEAR + self.line(time.monotonic() - self._started))
            sys.stderr.flush()

    def _wipe(self) -> None:
        if self._shown:
            sys.stderr.write(_CLEAR)
            sys.stderr.flush()
