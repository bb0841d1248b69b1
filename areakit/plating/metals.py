"""Metals and baths as data: one figure a row, with unit, source and place."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import sqrt

from areakit.errors import InputError
from areakit.sources import Kind, source
from areakit.uncertainty import Measured
from areakit.units import dimension, in_unit

SI_CODES = {
    "molar mass": "kg/mol",
    "density": "kg/m3",
    "ratio": "1",
    "current density": "A/m2",
    "voltage": "V",
    "concentration": "g/L",  # one kg/m3
    "plating factor": "C/m3",
    "charge per volume": "C/m3",
    "speed": "m/s",
    "volume": "m3",
    "volume per area": "m3/m2",
    "length": "m",
}
_RECAST = {"plating factor"}  # a charge per volume by another name


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One row of a table: a value, its unit, and where it comes from."""

    subject: str
    property_name: str
    value: float
    unit: str
    standard_uncertainty: float
    source: str
    place: str
    note: str

    @property
    def kind(self) -> Kind:
        """How well the figure is founded: ``published``, ``practice`` or ``unverified``."""
        return source(self.source).kind

    def measured(self, name: str | None = None) -> Measured:
        """Return the value in SI; its uncertainty, if any, goes under ``name`` (subject and property where none)."""
        label = name or f"{self.subject} {self.property_name.replace('_', ' ')}"
        return to_si(Measured(value=self.value, unit=self.unit, budget={label: self.standard_uncertainty}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Bath:
    """A kind of bath: the metal it deposits, whose density the deposit has, and the cautions it brings along.

    ``usual`` is taken for its metal in a tank where nobody names a bath, ``usual_brush`` for a brush. With a
    ``soluble_anode`` of the same metal the bath gets back what the parts take.
    """

    key: str
    metal: str
    title: str
    deposit: str
    contains: tuple[str, ...]
    usual: bool = False
    usual_brush: bool = False
    soluble_anode: bool = False

    @property
    def for_brush(self) -> bool:
        """Whether it is a solution for a brush: then no figure of a tank speaks of it."""
        return "-brush" in self.key


def to_si(quantity: Measured) -> Measured:
    """Return a quantity in the SI unit of its dimension."""
    from areakit.units import si_factor

    kind = dimension(quantity.unit)
    target = SI_CODES[kind]
    if kind not in _RECAST:
        return in_unit(quantity, target)
    factor = si_factor(quantity.unit)
    return Measured(
        value=quantity.value * factor,
        unit=target,
        budget={name: share * factor for name, share in quantity.budget.items()},
        coverage_factor=quantity.coverage_factor,
    )


def read_figures(name: str) -> tuple[Figure, ...]:
    """Return the rows of one table in ``areakit/data``, in file order."""
    text = files("areakit").joinpath(f"data/{name}").read_text(encoding="utf-8")
    return tuple(
        Figure(
            subject=row["subject"],
            property_name=row["property"],
            value=float(row["value"]),
            unit=row["unit"],
            standard_uncertainty=float(row["standard_uncertainty"] or 0.0),
            source=row["source"],
            place=row["place"],
            note=row["note"],
        )
        for row in csv.DictReader(text.splitlines())
    )


@cache
def all_figures() -> dict[tuple[str, str], Figure]:
    """Return every figure of ``metals.csv`` by subject and property."""
    return {(row.subject, row.property_name): row for row in read_figures("metals.csv")}


@cache
def all_baths() -> dict[str, Bath]:
    """Return every bath by its key."""
    text = files("areakit").joinpath("data/baths.toml").read_text(encoding="utf-8")
    return {
        key: Bath(
            key=key,
            metal=row["metal"],
            title=row["title"],
            deposit=row.get("deposit", row["metal"]),
            contains=tuple(row["contains"]),
            usual=row.get("usual", False),
            usual_brush=row.get("usual_brush", False),
            soluble_anode=row.get("anode") == "soluble",
        )
        for key, row in tomllib.loads(text).items()
    }


def find_figure(subject: str, prop: str) -> Figure | None:
    """Return a figure, or None where the table has no such row."""
    return all_figures().get((subject, prop))


def figure(subject: str, prop: str) -> Figure:
    """Return a figure; a missing row is a defect of the caller and raises KeyError."""
    return all_figures()[(subject, prop)]


def bath(key: str) -> Bath:
    """Return a bath by its key; InputError lists the known ones."""
    try:
        return all_baths()[key]
    except KeyError:
        raise InputError(
            f"There is no bath {key!r}.", remedy=f"Known baths: {', '.join(sorted(all_baths()))}."
        ) from None


def range_figure(subject: str, prop: str, *, name: str) -> Measured | None:
    """Return the middle of a ``_low``, ``_high`` pair in SI, as a rectangular distribution; None where there is none.

    Source: [gum] 4.3.7: the standard uncertainty of a rectangular distribution is its half width over the root of
    three.
    """
    low, high = find_figure(subject, f"{prop}_low"), find_figure(subject, f"{prop}_high")
    if low is None or high is None:
        return None
    bottom, top = low.measured(), high.measured()
    return Measured(
        value=(bottom.value + top.value) / 2,
        unit=bottom.unit,
        budget={name: (top.value - bottom.value) / 2 / sqrt(3.0)},
    )
