"""Plain sizes: length and width of an outline by the smallest rectangle round it, ends and walls of cylinders."""

from __future__ import annotations

import math

import shapely

from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, propagate


def cylinder(diameter: Measured, length: Measured) -> Measured:
    """Return the wall of a cylinder, pi d L (closed form). [mm2]"""
    return propagate(lambda d, long: math.pi * d * long, diameter, length, unit="mm2")


def annulus(outer: Measured, inner: Measured) -> Measured:
    """Return the area between two circles of one centre, pi (D2 - d2) / 4 (closed form). [mm2]"""
    return propagate(lambda big, small: math.pi * (big * big - small * small) / 4.0, outer, inner, unit="mm2")


def disc(diameter: Measured) -> Measured:
    """Return the area of a circle. [mm2]"""
    return propagate(lambda d: math.pi * d * d / 4.0, diameter, unit="mm2")


def sides_of(outline: Outline) -> tuple[Measured, Measured]:
    """Return the long and the short side of the smallest rectangle round an outline, with its shares. [mm]

    Scale goes into a side with half its share of the area; an edge that lies off all round by e moves each side by
    2 e, and the area by e times the length of the outline.
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline.polygon))
    long, short = sorted((math.dist(corners[i], corners[i + 1]) for i in (0, 1)), reverse=True)
    return _side(long, outline), _side(short, outline)


def long_way(outline: Outline) -> tuple[float, float]:
    """Return the unit vector along the long side of the smallest rectangle round an outline."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline.polygon))
    x, y = max((corners[1] - corners[0], corners[2] - corners[1]), key=lambda way: float(math.hypot(*way)))
    length = math.hypot(x, y)
    return float(x / length), float(y / length)


def _side(value: float, outline: Outline) -> Measured:
    around = outline.perimeter_outer.value + outline.perimeter_holes.value
    budget = {
        name: share / outline.area.value / 2.0 * value if is_scale(name) else 2.0 * share / around
        for name, share in outline.area.budget.items()
    }
    return Measured(value=value, unit="mm", budget=budget)


def is_scale(name: str) -> bool:
    """Return whether a share goes with the area, as a scale does, and not with the length of the outline."""
    return any(word in name for word in ("along x", "along y", "flatness", "camera", "thickness", "scale"))
