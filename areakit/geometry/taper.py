"""Draft and bevel: walls that lean, and the smaller front face that they leave."""

from __future__ import annotations

import math

from shapely.geometry import Polygon

from areakit.errors import RangeError
from areakit.geometry.differences import differenced
from areakit.geometry.features import Taper
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, propagate


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
