"""Surfaces of revolution from a profile: Pappus, piece by piece; how a turned part rests on a table."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, MultiPoint, Polygon, box

Floats = npt.NDArray[np.float64]
_ON_AXIS_MM = 1e-7
_AT_END = 0.004
"""How far inside of an end of the axis its radius is taken, over the length of the part."""
STATIONS = 400


def swept_area(chords: Floats) -> float:
    """Return the area that chords sweep when turned about y = 0; ``chords`` has shape (n, 2, 2). [mm2]

    Each is the wall of a cone cut off: pi (r1 + r2) times its length (Pappus's first theorem for a straight line).
    """
    along = chords[:, 1] - chords[:, 0]
    lengths = np.hypot(along[:, 0], along[:, 1])
    return float(math.pi * np.sum((np.abs(chords[:, 0, 1]) + np.abs(chords[:, 1, 1])) * lengths))


def profile_chords(polygon: Polygon, *, upper: bool, beyond: float = 0.0) -> Floats:
    """Return the chords of one half of an outline whose axis is y = 0, shape (n, 2, 2).

    Only what lies ``beyond`` a distance from the axis counts; the cut itself does not. [mm]
    """
    left, low, right, high = polygon.bounds
    half = (
        box(left - 1.0, beyond, right + 1.0, high + 1.0) if upper else box(left - 1.0, low - 1.0, right + 1.0, -beyond)
    )
    pieces = [p for p in shapely.get_parts(polygon.intersection(half)) if isinstance(p, Polygon)]
    rings = [np.asarray(p.exterior.coords) for p in pieces]
    chords = np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])
    off_axis = np.abs(chords[:, :, 1]).max(axis=1) > beyond + _ON_AXIS_MM
    return np.asarray(chords[off_axis])


def run_at(polygon: Polygon, y_mm: float) -> float:
    """Return what length of a line along the axis, at a distance from it, lies in the outline. [mm]"""
    left, _, right, _ = polygon.bounds
    return float(polygon.intersection(LineString([(left - 1.0, y_mm), (right + 1.0, y_mm)])).length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stations:
    """Radius at even places along the axis, the mean of both halves, ``x`` and ``radius`` of shape (n,). [mm]"""

    x: Floats
    radius: Floats
    uneven: Floats


def stations(polygon: Polygon, count: int = STATIONS) -> Stations:
    """Return the radius along the axis y = 0 of an outline, from cuts square to it.

    ``uneven`` is half the difference of the two halves.
    """
    left, low, right, high = polygon.bounds
    x = left + (np.arange(count) + 0.5) / count * (right - left)
    cuts = shapely.linestrings(np.stack([np.column_stack([x, np.full(count, low - 1)]),
                                         np.column_stack([x, np.full(count, high + 1)])], axis=1))  # fmt: skip
    bounds = shapely.bounds(shapely.intersection(cuts, polygon))
    up, down = np.maximum(bounds[:, 3], 0.0), np.maximum(-bounds[:, 1], 0.0)
    return Stations(x=x, radius=np.nan_to_num((up + down) / 2.0), uneven=np.nan_to_num((up - down) / 2.0))


def resting_slope(profile: Stations) -> tuple[float, float]:
    """Return height over x = 0 and slope of the axis of a turned part that lies on a flat sheet, level or not.

    It rests on the side of the hull of its profile that lies below its centre of mass (solid, of one material).
    """
    volume = profile.radius**2
    middle = float(np.sum(profile.x * volume) / np.sum(volume))
    hull = MultiPoint(np.column_stack([profile.x, profile.radius])).convex_hull
    if not isinstance(hull, Polygon):
        return float(np.max(profile.radius)), 0.0
    corners = np.asarray(hull.exterior.coords)
    tops = [
        (a, b) for a, b in pairwise(corners) if min(a[0], b[0]) <= middle <= max(a[0], b[0]) and abs(a[0] - b[0]) > 1e-9
    ]
    a, b = max(tops, key=lambda side: float(side[0][1] + side[1][1]))
    slope = float((b[1] - a[1]) / (b[0] - a[0]))
    return float(a[1] - slope * a[0]), slope


def inner_wall(polygon: Polygon, wall_mm: float, *, open_low: bool, open_high: bool) -> Polygon | None:
    """Return the hollow inside a wall of one thickness, open at the low or the high end of the axis; None for none.

    The outline's axis is y = 0; an open end is drawn longer before the wall is taken off, then cut off again.
    """
    left, low, right, high = polygon.bounds
    reach, lap = 4.0 * wall_mm, _AT_END * (right - left)
    longer = [polygon]
    if open_low:
        half = end_radius(polygon, high=False)
        longer.append(box(left - reach, -half, left + lap, half))
    if open_high:
        half = end_radius(polygon, high=True)
        longer.append(box(right - lap, -half, right + reach, half))
    joined = shapely.union_all([piece.buffer(1e-6) for piece in longer])
    hollow = joined.buffer(-wall_mm, quad_segs=32).intersection(box(left, low, right, high))
    pieces = [p for p in shapely.get_parts(hollow) if isinstance(p, Polygon)]
    return max(pieces, key=lambda p: float(p.area)) if pieces else None


def end_radius(polygon: Polygon, *, high: bool) -> float:
    """Return the radius at the low or the high end of the axis y = 0, a little inside of it. [mm]"""
    left, _, right, _ = polygon.bounds
    cut = stations(polygon)
    inside = _AT_END * (right - left)
    return float(np.interp(right - inside if high else left + inside, cut.x, cut.radius))
