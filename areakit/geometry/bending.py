"""A strip bent round a cylinder: from what is seen to what is there."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from areakit.errors import RangeError
from areakit.geometry.differences import differenced
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, total

_STEEPEST_RISE = 0.15
"""Largest rise over chord at which the outline of a bent strip is still seen well enough (own study)."""


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
