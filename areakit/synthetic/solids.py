"""Round solids that lie on a sheet, and the outline on the sheet that a camera above sees of them."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPoint, Polygon

from areakit.geometry.forms.seen import View

Floats = npt.NDArray[np.float64]
ROUND = 96


def meets_sheet(points: Floats, view: View) -> Floats:
    """Return where the rays through points of space, shape (n, 3), meet the sheet, shape (n, 2). [mm]"""
    share = view.height_mm / (view.height_mm - points[:, 2])
    foot = np.array([view.x_mm, view.y_mm])
    return np.asarray(foot + (points[:, :2] - foot) * share[:, None])


def swept_shadow(sections: list[Floats], view: View) -> Polygon:
    """Return the outline on the sheet of a solid given by convex sections, each of shape (n, 3).

    Between neighbours it is the hull of both, so sections must lie close.
    """
    flat = [meets_sheet(section, view) for section in sections]
    whole = shapely.union_all([MultiPoint(np.concatenate([a, b])).convex_hull for a, b in pairwise(flat)])
    assert isinstance(whole, Polygon), "the sections touch"
    return whole


def stock_sections(path: Floats, radius: Callable[[float], float] | float, *, lift_mm: float = 0.0) -> list[Floats]:
    """Return sections of round stock along a path on the sheet, shape (n, 2); it rests on the sheet, or above it. [mm]

    ``radius`` may change with the share of the way along.
    """
    around = np.linspace(0.0, 2.0 * math.pi, ROUND, endpoint=False)
    along = np.gradient(path, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    sections = []
    for place, way, share in zip(path, along, np.linspace(0.0, 1.0, len(path)), strict=True):
        r = radius(float(share)) if callable(radius) else radius
        flat = place + r * np.cos(around)[:, None] * np.array([-way[1], way[0]])
        sections.append(np.column_stack([flat, lift_mm + r + r * np.sin(around)]))
    return sections


def turned_sections(
    x: Floats, radius: Floats, *, height_mm: float, turn: float, at: tuple[float, float], tilt: float = 0.0
) -> list[Floats]:
    """Return sections of a turned part, its radius at places along its axis, shape (n,) each. [mm, rad]

    ``height_mm`` is that of the axis at x = 0, ``turn`` its direction on the sheet, ``tilt`` how it rises towards +x.
    """
    around = np.linspace(0.0, 2.0 * math.pi, ROUND, endpoint=False)
    flat_way = np.array([math.cos(turn), math.sin(turn)])
    axis = np.array([*(math.cos(tilt) * flat_way), math.sin(tilt)])
    across = np.array([-flat_way[1], flat_way[0], 0.0])
    up = np.cross(axis, across)
    base = np.array([*at, height_mm])
    return [
        base + place * axis + r * (np.cos(around)[:, None] * across + np.sin(around)[:, None] * up)
        for place, r in zip(x, radius, strict=True)
    ]
