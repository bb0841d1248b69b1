"""Curves as chains of points, true to a stated sagitta."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from areakit.errors import OutlineInvalid

Points = npt.NDArray[np.float64]
_MOST_SEGMENTS = 100_000
_LARGEST = 1e12


def _check_finite(figures: Points) -> None:
    if not (np.abs(figures) < _LARGEST).all():
        raise OutlineInvalid("A curve of the drawing has no finite size.", remedy="Export the drawing again.")


def arc_step(radius: float, sagitta: float) -> float:
    """Return the angle between points of a circle whose chords stay within ``sagitta`` of it. [rad]

    The sagitta of a chord of half-angle a is r (1 - cos a) (elementary geometry).
    """
    share = min(max(sagitta, 0.0) / radius, 1.0) if radius > 0.0 else 1.0
    return max(2.0 * math.acos(1.0 - share), 2.0 * math.pi / _MOST_SEGMENTS)


def ellipse_arc(
    centre: tuple[float, float],
    radii: tuple[float, float],
    *,
    turn: float = 0.0,
    start: float = 0.0,
    sweep: float = 2.0 * math.pi,
    sagitta: float,
) -> Points:
    """Return points of an elliptic arc, ends included.

    - ``centre``, ``radii``: centre and half axes, in one unit of length.
    - ``turn``, ``start``, ``sweep``: direction of the first axis, first parameter angle, and signed parameter angle
      swept. [rad]
    - ``sagitta``: largest distance of chord from curve, same unit.
    """
    _check_finite(np.array([*centre, *radii, turn, start, sweep]))
    count = max(math.ceil(abs(sweep) / arc_step(max(radii), sagitta)), 2)
    angle = start + sweep * np.arange(count + 1) / count
    x, y = radii[0] * np.cos(angle), radii[1] * np.sin(angle)
    cos, sin = math.cos(turn), math.sin(turn)
    return np.column_stack([centre[0] + cos * x - sin * y, centre[1] + sin * x + cos * y])


def bezier(control: Points, sagitta: float) -> Points:
    """Return points of one quadratic or cubic Bezier curve, ends included.

    The number of equal steps follows from the bound d (d - 1) / 8 times the largest second difference of the
    control points (``(d + 1, 2)``), d being the degree (Wang's formula, from memory).
    """
    _check_finite(control)
    degree = len(control) - 1
    bend = float(np.abs(np.linalg.norm(np.diff(control, 2, axis=0), axis=1)).max())
    count = math.sqrt(degree * (degree - 1) / 8.0 * bend / max(sagitta, 1e-12))
    steps = min(max(math.ceil(count), 1), _MOST_SEGMENTS)
    t = (np.arange(steps + 1) / steps)[:, None]
    points = [np.repeat(row[None, :], steps + 1, axis=0) for row in control]
    while len(points) > 1:
        points = [(1.0 - t) * a + t * b for a, b in pairwise(points)]
    return points[0]


def bulge_arc(start: tuple[float, float], end: tuple[float, float], bulge: float, *, sagitta: float) -> Points:
    """Return points of the arc that a polyline's ``bulge`` stands for: the tangent of a quarter of its angle.

    Positive turns counter-clockwise (DXF reference, LWPOLYLINE, group code 42).
    """
    across, up = end[0] - start[0], end[1] - start[1]
    if across == 0.0 and up == 0.0:
        return np.array([start, end])
    off = (1.0 - bulge * bulge) / (4.0 * bulge)
    centre = (start[0] + end[0]) / 2.0 - off * up, (start[1] + end[1]) / 2.0 + off * across
    radius = math.dist(start, centre)
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    points = ellipse_arc(centre, (radius, radius), start=first, sweep=4.0 * math.atan(bulge), sagitta=sagitta)
    points[0], points[-1] = start, end
    return points
