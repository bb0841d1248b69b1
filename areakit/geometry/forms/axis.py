"""The axis of symmetry of an outline: the line about which its two halves are nearest to mirror images."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely import affinity
from shapely.geometry import Polygon

Floats = npt.NDArray[np.float64]
_COARSE_DEG, _FINE_DEG = 3.0, 0.01
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0
_ALIKE, _ALIKE_FROM = 1.5, 0.01
"""Another axis counts as alike when its two halves differ by no more than this many times as much, or this little."""
_APART_DEG = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """An axis through the centroid: its direction, and what share of the area its halves differ by."""

    angle_deg: float
    asymmetry: float


def symmetry_axes(polygon: Polygon) -> list[Axis]:
    """Return the axes of symmetry, the best first; others that are about as good follow.

    An axis of symmetry runs through the centroid, so only its direction is looked for.
    """
    plain = simpler(polygon, 1e-3)
    angles = np.arange(0.0, 180.0, _COARSE_DEG)
    trials = np.array([asymmetry(plain, angle) for angle in angles])
    lower = (trials <= np.roll(trials, 1)) & (trials <= np.roll(trials, -1))
    found = []
    for angle in angles[lower]:
        best = _lowest(lambda a: asymmetry(plain, a), float(angle) - _COARSE_DEG, float(angle) + _COARSE_DEG)
        found.append(Axis(angle_deg=best % 180.0, asymmetry=asymmetry(plain, best)))
    found.sort(key=lambda axis: axis.asymmetry)
    limit = max(_ALIKE * found[0].asymmetry, _ALIKE_FROM)
    kept: list[Axis] = []
    for axis in found:
        if axis.asymmetry <= limit and all(_apart(axis, other) > _APART_DEG for other in kept):
            kept.append(axis)
    return kept


def simpler(polygon: Polygon, share: float) -> Polygon:
    """Return the outer ring with fewer points, true to a share of the root of its area."""
    found = Polygon(polygon.exterior).simplify(share * math.sqrt(polygon.area))
    assert isinstance(found, Polygon)
    return found


def asymmetry(polygon: Polygon, angle_deg: float) -> float:
    """Return the share of the area by which the outline and its mirror image about an axis do not cover each other."""
    turned = affinity.rotate(polygon, -angle_deg, origin=polygon.centroid)
    mirrored = affinity.scale(turned, 1.0, -1.0, origin=polygon.centroid)
    return float(turned.symmetric_difference(mirrored).area / polygon.area)


def on_axis(polygon: Polygon, angle_deg: float) -> Polygon:
    """Return the outline with its axis laid along x, through y = 0, its centroid at x = 0."""
    middle = polygon.centroid
    turned = affinity.rotate(polygon, -angle_deg, origin=middle)
    return affinity.translate(turned, -middle.x, -middle.y)


def _apart(one: Axis, other: Axis) -> float:
    gap = abs(one.angle_deg - other.angle_deg) % 180.0
    return min(gap, 180.0 - gap)


def _lowest(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function of one dip is lowest, by golden section."""
    a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_a, at_b = function(a), function(b)
    while high - low > _FINE_DEG:
        if at_a < at_b:
            high, b, at_b = b, a, at_a
            a = high - _GOLDEN * (high - low)
            at_a = function(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + _GOLDEN * (high - low)
            at_b = function(b)
    return (low + high) / 2.0
