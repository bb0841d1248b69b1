"""Plane shapes as polygons whose area is that of the true shape."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from areakit.errors import RangeError
from areakit.geometry.curves import Points

_AROUND = 1440
"""Points to a full circle: the perimeter is then true to 1e-6."""

# A polygon of n points on a circle is too small by the factor n sin(2 pi / n) / (2 pi); the radius makes up for it.
_SWELL = math.sqrt(2.0 * math.pi / (_AROUND * math.sin(2.0 * math.pi / _AROUND)))


def plane_shape(name: str, size: Sequence[float], *, corner: float = 0.0, sides: int = 6) -> Polygon:
    """Return one shape round the origin; circles and ovals have exactly their true area.

    - ``name``: ``disk``, ``ring``, ``rectangle``, ``square``, ``polygon``, ``hexagon``, ``oval`` or ``slot``.
    - ``size``: its dimensions as in :data:`areakit.geometry.shape_text.SHAPES`. [mm]
    - ``corner``: corner radius of a rectangle or square. [mm]
    - ``sides``: number of sides of a regular polygon.

    Raises RangeError if the dimensions do not fit each other.
    """
    if name == "disk":
        return Polygon(_circle(size[0] / 2.0))
    if name == "ring":
        _check_smaller(size[1], size[0], names=("inner diameter", "outer diameter"))
        return Polygon(_circle(size[0] / 2.0), [_circle(size[1] / 2.0)])
    if name in {"rectangle", "square"}:
        return _rectangle(size[0], size[-1], corner)
    if name in {"polygon", "hexagon"}:
        return _regular(size[0], 6 if name == "hexagon" else sides)
    if name == "oval":
        return affinity.scale(Polygon(_circle(0.5)), size[0], size[1], origin=(0.0, 0.0))
    _check_smaller(size[1], size[0], names=("width", "length"), may_equal=True)
    return _rectangle(size[0], size[1], size[1] / 2.0)


def _circle(radius: float) -> Points:
    return _arc((0.0, 0.0), radius, steps=_AROUND)


def _arc(middle: tuple[float, float], radius: float, *, steps: int, start: float = 0.0) -> Points:
    """Return points of an arc of ``steps`` equal steps, the last one left to the next arc for a full circle."""
    last = steps if steps == _AROUND else steps + 1
    angle = start + 2.0 * math.pi * np.arange(last) / _AROUND
    swollen = radius * _SWELL
    return np.column_stack([middle[0] + swollen * np.cos(angle), middle[1] + swollen * np.sin(angle)])


def _rectangle(length: float, width: float, corner: float) -> Polygon:
    if corner > min(length, width) / 2.0 * (1.0 + 1e-9):
        raise RangeError(
            f"A corner radius of {corner:g} mm does not fit a width of {min(length, width):g} mm.",
            remedy="Give a radius of at most half the width.",
        )
    x, y = length / 2.0 - corner, width / 2.0 - corner
    if corner <= 0.0:
        return Polygon([(x, y), (-x, y), (-x, -y), (x, -y)])
    middles = [(x, y), (-x, y), (-x, -y), (x, -y)]
    quarter = _AROUND // 4
    corners = [_arc(middle, corner, steps=quarter, start=i * math.pi / 2.0) for i, middle in enumerate(middles)]
    return orient(Polygon(np.vstack(corners)))


def _regular(across: float, sides: int) -> Polygon:
    """Return a regular polygon from the diameter of the circle inside it: the width across flats where even."""
    radius = across / 2.0 / math.cos(math.pi / sides)
    angle = 2.0 * math.pi * (np.arange(sides) + 0.5) / sides
    return Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))


def _check_smaller(inner: float, outer: float, *, names: tuple[str, str], may_equal: bool = False) -> None:
    if inner > outer or (inner == outer and not may_equal):
        raise RangeError(
            f"The {names[0]} of {inner:g} mm is not below the {names[1]} of {outer:g} mm.", remedy="Check both."
        )
