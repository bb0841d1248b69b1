"""Rounded edges: what they add to a face, and what they take off the upright walls."""

from __future__ import annotations

import math

from areakit.errors import RangeError
from areakit.geometry.differences import differenced
from areakit.geometry.edge_forms import EdgeForm
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, propagate

_CENTROID = 1.0 - 2.0 / math.pi
"""How far inside the widest line the centroid of a quarter round lies, over its radius (elementary geometry)."""
ROUND_SEGMENTS = 64


def face_extra(outline: Outline, thickness: Measured, form: EdgeForm) -> Measured | None:
    r"""Return by how much a face with its rounding is larger than the outline's area; None for a sharp edge. [mm2]

    A face is all that is seen from its side: the flat inside and the quarter round to the widest line. The quarter
    round of radius r has the area

    .. math:: A = \frac{\pi}{2} r L

    with L the length of the ring through its centroid (second theorem of Pappus), in place of the flat strip between
    the widest line and the ring r inside it.

    Raises RangeError if the roundings do not fit the thickness, or leave nothing of the face.
    """
    if form.name == "sharp":
        return None
    polygon = outline.polygon

    def extra(radius: float) -> list[float]:
        flat = polygon.buffer(-radius, quad_segs=ROUND_SEGMENTS)
        if flat.is_empty and form.name == "rounded":
            raise RangeError(
                f"Edges rounded by {radius:.3g} mm leave nothing of the face.", remedy="Check the radius and its unit."
            )
        along = polygon.buffer(-_CENTROID * radius, quad_segs=ROUND_SEGMENTS).length
        return [math.pi / 2.0 * radius * along - (polygon.area - flat.area)]

    (drawn,) = differenced(extra, [form.inset(thickness)], ["mm2"])
    outer, holes = outline.perimeter_outer, outline.perimeter_holes
    whole = outer.value + holes.value
    return propagate(lambda area, a, b: area * (a + b) / whole, drawn, outer, holes, unit="mm2")


def upright(thickness: Measured, form: EdgeForm) -> Measured:
    """Return the height of the upright wall between both roundings. [mm]"""
    if form.name == "sharp":
        return thickness
    return propagate(lambda t, r: t - 2.0 * r, thickness, form.inset(thickness), unit="mm")
