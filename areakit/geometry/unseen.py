"""What an outline seen from above leaves out: a strip that is bowed, walls that lean, relief on a surface."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from areakit.errors import RangeError
from areakit.geometry.differences import differenced
from areakit.geometry.features import Taper
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, propagate, total

_STEEPEST_RISE = 0.15
"""Largest rise over chord at which the outline of a bent strip is still seen well enough (own study)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """A relief factor: true area over the area without relief, from ``low`` to ``high``, rectangular.

    ``source`` is the key of :mod:`areakit.sources`, or ``coupon`` for the user's own figure.
    """

    kind: str
    low: float
    high: float
    source: str

    def __post_init__(self) -> None:
        if not 1.0 <= self.low <= self.high <= 5.0:
            raise RangeError(
                f"A relief factor of {self.low:g} to {self.high:g} is outside 1 to 5.",
                remedy="Write it as 1.08 ± 0.02: the true area over the flat one.",
            )

    @property
    def factor(self) -> Measured:
        """Middle of the range with the share ``relief`` (rectangular, JCGM 100:2008, 4.3.7)."""
        spread = (self.high - self.low) / 2.0 / math.sqrt(3.0)
        return Measured(value=(self.low + self.high) / 2.0, unit="1", budget={"relief": spread})


@cache
def relief_table() -> dict[str, Relief]:
    """Return the table of kinds; every row is common practice without a source."""
    text = files("areakit").joinpath("data/relief.csv").read_text(encoding="utf-8")
    return {
        row["kind"]: Relief(kind=row["kind"], low=float(row["low"]), high=float(row["high"]), source=row["source"])
        for row in csv.DictReader(text.splitlines())
    }


def relief_of_kind(kind: str) -> Relief:
    """Return one row of the table.

    Raises RangeError if the table has no such kind.
    """
    found = relief_table().get(kind)
    if found is None:
        raise RangeError(
            f"{kind!r} is not in the table of relief.",
            remedy=f"Choose one of {', '.join(relief_table())}, or enter a factor of your own such as 1.08 ± 0.02.",
        )
    return found


def relief_from_coupon(factor: float, tolerance: float) -> Relief:
    """Return the user's own factor, from a plated and weighed coupon."""
    return Relief(kind="coupon", low=max(factor - tolerance, 1.0), high=factor + tolerance, source="coupon")


def unrolled(outline: Outline, radius: Measured, *, axis_deg: float = 90.0) -> Outline:
    """Return the outline of a strip bent round a cylinder, as it would be when laid flat.

    - ``outline``: as seen from straight above the middle of the bow. [mm]
    - ``radius``: radius of the visible side of the bow. [mm]
    - ``axis_deg``: direction of the axis of the cylinder, counter-clockwise from x. [deg]

    A point at x from the axis, seen along the radius at x = 0, lies at the arc length R asin(x / R) (closed form).

    Raises RangeError if the bow is deeper than 0.15 of its chord.
    """
    turned = affinity.rotate(outline.polygon, 90.0 - axis_deg, origin="centroid")
    left, _, right, _ = turned.bounds
    middle, half = (left + right) / 2.0, (right - left) / 2.0
    rise = radius.value - math.sqrt(max(radius.value**2 - half**2, 0.0))
    if radius.value <= half or rise > _STEEPEST_RISE * 2.0 * half:
        raise RangeError(
            f"A strip {2 * half:.4g} mm wide on a radius of {radius.value:g} mm bows too deeply to be seen from above.",
            remedy="Wrap it in paper, cut the paper to its edge, and measure the paper flat.",
        )
    fine = shapely.segmentize(turned, half / 200.0)

    def laid_flat(r: float) -> Polygon:
        return shapely.transform(
            fine, lambda xy: np.column_stack([r * np.arcsin((xy[:, 0] - middle) / r) + middle, xy[:, 1]])
        )

    def growth(r: float) -> list[float]:
        flat = laid_flat(r)
        return [flat.area - fine.area, flat.exterior.length - fine.exterior.length, _holes(flat) - _holes(fine)]

    more = differenced(growth, [radius], ["mm2", "mm", "mm"])
    return replace(
        outline,
        polygon=affinity.rotate(laid_flat(radius.value), axis_deg - 90.0, origin=outline.polygon.centroid),
        area=total([outline.area, more[0]], "mm2"),
        perimeter_outer=total([outline.perimeter_outer, more[1]], "mm"),
        perimeter_holes=total([outline.perimeter_holes, more[2]], "mm"),
    )


def _holes(polygon: Polygon) -> float:
    return math.fsum(ring.length for ring in polygon.interiors)


def tapered(outline: Outline, thickness: Measured, *, angle_deg: Measured, height: Measured | None = None) -> Taper:
    """Return the front face and the walls of a part whose walls lean inwards towards the front.

    - ``outline``: the largest section: the back. [mm]
    - ``thickness``: from back to front. [mm]
    - ``angle_deg``: from upright; a draft of a few degrees, or 45 for a common bevel. [deg]
    - ``height``: height of the bevelled part of the wall; by default the whole thickness leans. [mm]

    A wall at angle a between a ring and the ring d = h tan a inside it has the area between the two rings over sin a,
    because every element of it is foreshortened by sin a when seen from the front (elementary geometry).

    Raises RangeError if the angle is outside 0 to 80 degrees, the bevel is higher than the part, or nothing is left of
    the front.
    """
    lean = thickness if height is None else height
    if not 0.0 < angle_deg.value <= 80.0:
        raise RangeError(f"An angle of {angle_deg.value:g}° is outside 0 to 80°.", remedy="Give it from upright.")
    if lean.value > thickness.value:
        raise RangeError(
            f"A bevel of {lean.value:g} mm is higher than the part ({thickness.value:g} mm).",
            remedy="Give the height of the bevel along the thickness.",
        )
    polygon = outline.polygon
    front = _front(polygon, lean.value, angle_deg.value)

    def drawn(t: float, h: float, angle: float) -> list[float]:
        return _measure(polygon, t, lean=h, angle=angle)

    count = 1 + len(polygon.interiors)
    loss, *lengths = differenced(drawn, [thickness, lean, angle_deg], ["mm2"] * (1 + count))
    perimeters = [outline.perimeter_outer] + [outline.perimeter_holes] * (count - 1)
    nominal = [polygon.exterior.length] + [outline.perimeter_holes.value] * (count - 1)
    walls = [
        propagate(lambda wall, p, whole=whole: wall * p / whole, wall, perimeter, unit="mm2")
        for wall, perimeter, whole in zip(lengths, perimeters, nominal, strict=True)
    ]
    front_area = propagate(lambda area, lost: area - lost, outline.area, loss, unit="mm2")
    return Taper(front=front, front_area=front_area, walls=tuple(walls))


def _front(polygon: Polygon, lean: float, angle: float) -> Polygon:
    """Return the outline of the front face; draw it inwards with sharp corners."""
    inside = polygon.buffer(-lean * math.tan(math.radians(angle)), join_style="mitre", mitre_limit=20.0)
    if inside.is_empty or not isinstance(inside, Polygon) or len(inside.interiors) != len(polygon.interiors):
        raise RangeError(
            f"A slope of {angle:g}° over {lean:g} mm leaves no front face of the same form.",
            remedy="Check the angle and the height; cones are typed as shapes.",
            fields={"areakit surface --shape": ""},
        )
    return inside


def _measure(polygon: Polygon, thickness: float, *, lean: float, angle: float) -> list[float]:
    """Return the loss of the front face and the area of each wall, outer first. [mm2]"""
    front = _front(polygon, lean, angle)
    sine = math.sin(math.radians(angle))
    rings = [polygon.exterior, *polygon.interiors]
    offset = lean * math.tan(math.radians(angle))
    walls = []
    for number, ring in enumerate(rings):
        filled = Polygon(ring)
        moved = filled.buffer(-offset if number == 0 else offset, join_style="mitre", mitre_limit=20.0)
        between = abs(filled.area - moved.area)
        walls.append(between / sine + ring.length * (thickness - lean))
    return [polygon.area - front.area, *walls]
