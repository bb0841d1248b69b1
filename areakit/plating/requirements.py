"""Thickness requirements: classes of published standards and terms of sale, kept as data."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

from areakit.errors import InputError
from areakit.plating.premise import Origin, given
from areakit.sources import Kind, source
from areakit.uncertainty import Measured, exact
from areakit.units import convert

LOOK_UP = "look it up in the edition that the order names"
"""What is said of a figure that no open source has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """A minimum local thickness on significant surfaces, or the minimum thickness for a term of sale.

    ``minimum`` is in m. It is None where only the document is known and its figure must be looked up.
    """

    key: str
    title: str
    metal: str
    bound: Literal["minimum", "term"]
    minimum: Measured | None
    source: str | None
    place: str = ""
    base: str | None = None
    note: str = ""

    @property
    def kind(self) -> Kind | Literal["given"]:
        """How well the figure is founded."""
        return source(self.source).kind if self.source else "given"

    @property
    def origin(self) -> Origin:
        """Where the figure stands, in words; an unverified one says: look it up."""
        if self.source is None:
            return given()
        citation = source(self.source).citation
        parts = [citation, self.place if self.place not in citation else "", self.note]
        if self.kind == "unverified":
            parts.append(LOOK_UP)
        return Origin(kind=source(self.source).kind, text="; ".join(p for p in parts if p), source=self.source)


@cache
def all_requirements() -> dict[str, Requirement]:
    """Return every requirement by its key."""
    text = files("areakit").joinpath("data/requirements.csv").read_text(encoding="utf-8")
    return {
        row["key"]: Requirement(
            key=row["key"],
            title=row["title"],
            metal=row["metal"],
            bound="term" if row["bound"] == "term" else "minimum",
            minimum=exact(convert(float(row["value"]), row["unit"], "m"), "m") if row["value"] else None,
            source=row["source"],
            place=row["place"],
            base=row["base"] or None,
            note=row["note"],
        )
        for row in csv.DictReader(text.splitlines())
    }


def requirement(key: str) -> Requirement:
    """Return a requirement by its key, with a figure.

    Raises InputError for an unknown key, or a document whose figure is not kept here.
    """
    found = all_requirements().get(key.strip().lower())
    if found is None:
        raise InputError(
            f"There is no requirement {key!r}.",
            remedy="Choose one of the list.",
            fields={"areakit plan --list-requirements": ""},
        )
    if found.minimum is None:
        raise InputError(
            f"The figures of {found.title} are not kept here, because they could not be verified.",
            remedy="Look it up in the edition that the order names, and give it as the layer's thickness.",
            fields={f"layer.{found.metal}": "0.5 um"},
        )
    return found
