"""The outline of a part in millimetres, however it was found."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.validation import explain_validity

from areakit.errors import OutlineInvalid, RangeError
from areakit.flags import Flag
from areakit.uncertainty import Measured

Origin = Literal["photo", "scan", "drawing", "dimensions"]


LARGEST_MM = 100_000.0
"""No coordinate of a part lies further out. [mm]"""
_PLUG_MM = 1e-3
"""How far a plug reaches past the edge of its hole, so that it covers its wall. [mm]"""
SEAM_REACH_MM = 1e-6
"""Lines of one origin count as one when they lie no further apart. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """One closed outline with its holes.

    - ``polygon``: outer ring and holes, y upwards. [mm]
    - ``area``: enclosed area less the holes. [mm2]
    - ``perimeter_outer``, ``perimeter_holes``: lengths of the outer ring and of all hole rings together. [mm]
    - ``origin``: how the outline was had.
    - ``seam``: where its boundary is no edge: another region of the same part goes on there. Perimeters leave it out
      where the form of the region has walls along its outline.
    - ``edge_make``: how the edge was made, a key of :mod:`areakit.geometry.edge_makes`; empty where no photo was read.
    """

    polygon: Polygon
    area: Measured
    perimeter_outer: Measured
    perimeter_holes: Measured
    origin: Origin
    flags: tuple[Flag, ...] = ()
    seam: BaseGeometry | None = None
    edge_make: str = ""

    def __post_init__(self) -> None:
        check_polygon(self.polygon)


def hole_areas(outline: Outline) -> list[float]:
    """Return the area inside each hole, in the order of the rings. [mm2]"""
    return [float(Polygon(ring).area) for ring in outline.polygon.interiors]


def hole_region(outline: Outline, number: int) -> Polygon:
    """Return what a plug in one hole covers: the hole and its wall, by its number in the order of the rings. [mm]

    Raises RangeError if there is no such hole.
    """
    rings = outline.polygon.interiors
    if not 1 <= number <= len(rings):
        raise RangeError(
            f"There is no hole {number}: the part has {len(rings)}.", remedy="Number the holes as in the drawing."
        )
    plug = Polygon(rings[number - 1]).buffer(_PLUG_MM)
    return Polygon(plug.exterior)


def check_polygon(polygon: Polygon) -> None:
    """Refuse an outline that encloses no honest area.

    Raises OutlineInvalid if it is empty, not finite, crosses itself, or has a hole outside.
    """
    bounds = polygon.bounds
    if polygon.is_empty or not all(math.isfinite(b) for b in bounds):
        raise OutlineInvalid("The outline is empty or not finite.", remedy="Check the file or the dimensions.")
    if polygon.convex_hull.area <= 0.0:
        raise OutlineInvalid("The outline encloses an area of 0 mm2.", remedy="Check the file or the dimensions.")
    size = max(abs(b) for b in bounds)
    if size > LARGEST_MM:
        raise OutlineInvalid(
            f"The outline reaches out to {size:.3g} mm; {LARGEST_MM:.0f} mm is the limit.",
            remedy="Check the unit of the drawing.",
        )
    if not polygon.is_valid:
        why = explain_validity(polygon).split("[")[0].lower()
        raise OutlineInvalid(
            f"The outline is not sound: {why}.", remedy="Correct the outline so that no line crosses another."
        )
