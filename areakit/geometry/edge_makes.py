"""How the edge of a part was made, and how far it then lies open: what no photo can show."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from areakit.errors import InputError, RangeError

UNKNOWN = "unknown"
"""The make of an edge of which nobody said how it was made."""
FINEST_MM = 0.005
"""How far the edge of the thinnest sheet stays open: that of foil cut with a knife (practice). [mm]"""
EDGE = "edge of the part"
"""Name of its share in the budgets of area and perimeter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeMake:
    """One way of making an edge.

    - ``key``, ``title``: as it is typed, and as it is read.
    - ``open_mm``: burr, roll-over or rounding: standard uncertainty of where the edge lies beside the outline that is
      seen. [mm]
    - ``share_of_thickness``: where it grows with the thickness of the sheet up to ``open_mm``: share of that thickness;
      infinite elsewhere.
    - ``source``: key of :mod:`areakit.sources`.
    - ``note``: what leaves the edge open, and within how much (coverage factor 2).
    """

    key: str
    title: str
    open_mm: float
    source: str
    note: str
    share_of_thickness: float = math.inf

    def __post_init__(self) -> None:
        if not 0.0 < self.open_mm <= 0.5:
            raise RangeError(
                f"An edge that is open by {self.open_mm:g} mm is outside 0 to 0.5 mm.", remedy="Check the table."
            )

    def open_at(self, thickness_mm: float | None) -> float:
        """Return how far the edge of a sheet of this thickness lies open, of any where that is None. [mm]

        A burr and a roll-over are a share of the sheet that was cut, so foil has less of them than plate.
        """
        if thickness_mm is None:
            return self.open_mm
        return min(self.open_mm, max(FINEST_MM, self.share_of_thickness * thickness_mm))


@cache
def edge_makes() -> dict[str, EdgeMake]:
    """Return the table by key, ``unknown`` first; every row is common practice without a source."""
    text = files("areakit").joinpath("data/edge_makes.csv").read_text(encoding="utf-8")
    return {
        row["key"]: EdgeMake(
            key=row["key"],
            title=row["title"],
            open_mm=float(row["standard_uncertainty"]),
            source=row["source"],
            note=row["note"],
            share_of_thickness=float(row["share_of_thickness"] or math.inf),
        )
        for row in csv.DictReader(text.splitlines())
    }


def edge_make(key: str) -> EdgeMake:
    """Return one row of the table; the unknown one for an empty key.

    Raises InputError if the table has no such row.
    """
    found = edge_makes().get(key or UNKNOWN)
    if found is None:
        raise InputError(
            f"{key[:40]!r} is not a way in which an edge is made.", remedy=f"Choose one of {', '.join(edge_makes())}."
        )
    return found
