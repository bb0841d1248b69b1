"""Plain shapes round an outline: its rectangle, its circle, and itself without holes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from shapely import minimum_bounding_radius, minimum_rotated_rectangle
from shapely.geometry import Polygon

from areakit.geometry.outline import check_polygon

Ring = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainShape:
    """Area [mm2] and length of the edge [mm] of a shape."""

    area: float
    perimeter: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Enclosing:
    """The outline itself and the plain shapes round it; ``roundness`` is its filled area over that of its circle."""

    outline: PlainShape
    filled: PlainShape
    rectangle: PlainShape
    circle: PlainShape
    roundness: float


@lru_cache(maxsize=16)
def enclosing_shapes(rings: tuple[Ring, ...]) -> Enclosing:
    """Return the shapes round an outline given by its outer ring and its holes. [mm]

    The rectangle is the smallest of any direction, the circle the smallest that holds the outline.

    Raises OutlineInvalid if the rings enclose no honest area.
    """
    polygon = Polygon(rings[0], rings[1:])
    check_polygon(polygon)
    filled = Polygon(rings[0])
    radius = float(minimum_bounding_radius(filled))
    rectangle = minimum_rotated_rectangle(filled)
    assert isinstance(rectangle, Polygon), "the outline encloses an area"
    circle = PlainShape(area=math.pi * radius**2, perimeter=2.0 * math.pi * radius)
    return Enclosing(
        outline=_plain(polygon),
        filled=_plain(filled),
        rectangle=_plain(rectangle),
        circle=circle,
        roundness=float(filled.area) / circle.area,
    )


def squared_up(rings: Sequence[Ring]) -> tuple[Ring, ...]:
    """Return rings turned as little as need be for the smallest rectangle round them to stand upright. [mm]

    Their bounds are then the overall size of the part, whatever its tilt was.
    """
    rectangle = minimum_rotated_rectangle(Polygon(rings[0]))
    assert isinstance(rectangle, Polygon), "the outline encloses an area"
    corners = rectangle.exterior.coords
    turn = math.atan2(corners[1][1] - corners[0][1], corners[1][0] - corners[0][0])
    turn -= math.pi / 2.0 * round(turn / (math.pi / 2.0))
    cosine, sine = math.cos(turn), math.sin(turn)
    return tuple(tuple((cosine * x + sine * y, cosine * y - sine * x) for x, y in ring) for ring in rings)


def _plain(polygon: Polygon) -> PlainShape:
    return PlainShape(area=float(polygon.area), perimeter=float(polygon.length))
