"""A number that a plan rests on, and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from areakit.plating.metals import Figure
from areakit.sources import source
from areakit.uncertainty import Measured

OriginKind = Literal["given", "measured", "published", "practice", "unverified"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """``given`` by the user, ``measured`` by areakit, or of a source with its kind; ``text`` says it in words."""

    kind: OriginKind
    text: str
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Premise:
    """One number with its name, in SI, and its origin."""

    name: str
    quantity: Measured
    origin: Origin

    @property
    def value(self) -> float:
        """The best estimate, in SI."""
        return self.quantity.value


def given(text: str = "as entered") -> Origin:
    """Return the origin of a number that the user entered."""
    return Origin(kind="given", text=text)


def from_figure(row: Figure) -> Origin:
    """Return the origin of a figure of a table: citation, place and note."""
    parts = [source(row.source).citation, row.place, row.note]
    return Origin(kind=row.kind, text="; ".join(part for part in parts if part), source=row.source)


def premise_of(row: Figure, name: str) -> Premise:
    """Return a figure of a table as a premise; its uncertainty, if any, goes under ``name``."""
    return Premise(name=name, quantity=row.measured(name), origin=from_figure(row))
