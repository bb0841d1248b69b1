"""A number that a plan rests on, and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from areakit.plating.metals import Figure, figure, range_figure
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
    citation = source(row.source).citation
    parts = [citation, row.place if row.place not in citation else "", row.note]
    return Origin(kind=row.kind, text="; ".join(part for part in parts if part), source=row.source)


def premise_of(row: Figure, name: str) -> Premise:
    """Return a figure of a table as a premise; its uncertainty, if any, goes under ``name``."""
    return Premise(name=name, quantity=row.measured(name), origin=from_figure(row))


def premise_of_range(subject: str, prop: str, name: str) -> Premise | None:
    """Return the middle of a ``_low``, ``_high`` pair as a premise with the range as its uncertainty, or None."""
    quantity = range_figure(subject, prop, name=name)
    if quantity is None:
        return None
    low, high = figure(subject, f"{prop}_low"), figure(subject, f"{prop}_high")
    origin = from_figure(low)
    words = f"middle of {low.value:g} to {high.value:g} {low.unit}; {origin.text}".replace(" 1;", ";")
    return Premise(name=name, quantity=quantity, origin=Origin(kind=origin.kind, text=words, source=origin.source))
