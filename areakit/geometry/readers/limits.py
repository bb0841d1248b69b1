"""How much of a file is read before it is refused: bytes, entities, depth, vertices, seconds."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from areakit.errors import FileError

_REMEDY = "Save only the outline of the part, as plain lines and curves, into a file of its own."


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Caps that no drawing of a small part needs, chosen so that a hostile file is refused within a second."""

    bytes: int = 20_000_000
    entities: int = 20_000
    depth: int = 24
    vertices: int = 300_000
    seconds: float = 10.0


class Meter:
    """Counts what one file costs, and refuses it at the cap."""

    def __init__(self, limits: Limits | None = None, *, clock: Callable[[], float] = time.monotonic) -> None:
        self.limits = limits or Limits()
        self.entities = 0
        self.vertices = 0
        self._clock = clock
        self._started = clock()

    def take_bytes(self, count: int) -> None:
        """Refuse a file that is too long."""
        if count > self.limits.bytes:
            raise _too_much(f"{count / 1e6:.0f} MB", f"{self.limits.bytes / 1e6:.0f} MB")

    def take_entity(self, depth: int = 0) -> None:
        """Count one entity at its depth of nesting."""
        self.entities += 1
        if self.entities > self.limits.entities:
            raise _too_much(f"more than {self.limits.entities} entities", f"{self.limits.entities}")
        if depth > self.limits.depth:
            raise _too_much(f"shapes nested more than {self.limits.depth} deep", f"{self.limits.depth}")
        self._check_time()

    def take_entities(self, count: int) -> None:
        """Count entities that were seen before reading them."""
        self.entities += count - 1
        self.take_entity()

    def take_vertices(self, count: int) -> None:
        """Count vertices, before or after they are made."""
        self.vertices += count
        if self.vertices > self.limits.vertices:
            raise _too_much(f"more than {self.limits.vertices} vertices", f"{self.limits.vertices}")
        self._check_time()

    def _check_time(self) -> None:
        if self._clock() - self._started > self.limits.seconds:
            raise _too_much(f"more work than {self.limits.seconds:g} s", f"{self.limits.seconds:g} s")


def _too_much(found: str, limit: str) -> FileError:
    return FileError(f"The drawing has {found}; the limit is {limit}.", remedy=_REMEDY)
