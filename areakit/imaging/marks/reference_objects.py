"""Everyday objects of known size, from ``data/reference_objects.csv``; every row names its source."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceObject:
    """One object: a coin has a diameter, a card has a width and a height. [mm]"""

    code: str
    kind: str
    name: str
    diameter_mm: float | None
    width_mm: float | None
    height_mm: float | None
    thickness_mm: float
    source: str
    note: str

    @property
    def size_mm(self) -> npt.NDArray[np.float64]:
        """Width and height of a card, shape (2,). [mm]"""
        return np.array([self.width_mm, self.height_mm], dtype=float)


@cache
def reference_objects() -> dict[str, ReferenceObject]:
    """Return every object by its code, in the order of the table."""
    text = files("areakit").joinpath("data/reference_objects.csv").read_text(encoding="utf-8")
    return {row["code"]: _object(row) for row in csv.DictReader(text.splitlines())}


def _object(row: dict[str, str]) -> ReferenceObject:
    diameter, width, height = (
        float(row[key]) if row[key] else None for key in ("diameter_mm", "width_mm", "height_mm")
    )
    return ReferenceObject(
        code=row["code"],
        kind=row["kind"],
        name=row["name"],
        diameter_mm=diameter,
        width_mm=width,
        height_mm=height,
        thickness_mm=float(row["thickness_mm"]),
        source=row["source"],
        note=row["note"],
    )
