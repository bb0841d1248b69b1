"""Where a part hides some of its own edge: behind the rim of a deep hole or between teeth, seen aslant.

Through a hole the sheet is seen between the near half of its upper rim and the far half of its lower one. Brought to
one plane these two arcs end apart by the shift from sheet to top plane: what joins them is hidden by the part itself.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

ROUNDED = 5
"""Points on either side of a corner between both rims that blur and resampling have rounded off."""
TANGENT = 7
"""Points that tell the direction in which an arc ends."""
LEAST_WALL_PX = 4.0
"""Width of the wall on both sides from which a corner is one between both rims, not a place where neither is sure."""
SURE = 0.1
"""How far a point may be from wholly on one rim."""
FEWEST_POINTS = 24
"""Points of a ring below which an arc is too short to tell where it goes on."""
ALONG = -0.5
"""Cosine between step and shift below which the silhouette runs down an upright line of the wall: nothing is hidden."""
MOST_TURN = 2.0
"""Angle between an arc's end and the straight line to the other from which it is not followed further. [rad]"""


def joined(points_mm: Floats, flat: Floats, shift: Floats, *, top: Floats, wall_px: Floats, hole: bool) -> Floats:
    """Return a ring with what is hidden between its upper and lower rim drawn on, shape (n, 2). [mm]

    Parameters
    ----------
    points_mm, flat : ndarray, shape (n, 2)
        The part's own edge, and where the same points would lie in the sheet. [mm]
    shift : ndarray, shape (n, 2)
        From the sheet to the top plane. [mm]
    top, wall_px : ndarray, shape (n,)
        As in `imaging.edge_ring.EdgeRing`.
    hole : bool
    """
    count, out = len(points_mm), points_mm.copy()
    if count < FEWEST_POINTS:
        return out
    for corner in np.flatnonzero((top > 0.5) != np.roll(top > 0.5, -1)).tolist():
        reach = min(ROUNDED, count // 8)
        first, last = (corner - reach) % count, (corner + 1 + reach) % count
        if not _hides(flat, shift, top=top, wall_px=wall_px, ends=(first, last)):
            continue
        arc = min(TANGENT, count // 6)
        before, after = points_mm[(first - np.arange(arc)) % count], points_mm[(last + np.arange(arc)) % count]
        between = (first + 1 + np.arange(2 * reach)) % count
        out[between] = _curve(before, after, len(between), turn=_turn(points_mm, hole))
    return out


def _hides(flat: Floats, shift: Floats, *, top: Floats, wall_px: Floats, ends: tuple[int, int]) -> bool:
    """Tell whether a ring passes from one rim to the other where some of the edge between them is hidden."""
    first, last = ends
    sure = abs(top[last] - top[first]) > 1.0 - SURE
    if not sure or min(abs(wall_px[first]), abs(wall_px[last])) < LEAST_WALL_PX:
        return False
    step, gap = flat[last] - flat[first], (top[last] - top[first]) * shift[first]
    return float(step @ gap) > ALONG * float(np.linalg.norm(step) * np.linalg.norm(gap))


def _turn(points_mm: Floats, hole: bool) -> float:
    """Return 1 where metal lies to the left of a ring's way, turned from x to y, else -1."""
    x, y = (points_mm - points_mm.mean(axis=0)).T
    left = float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0.0
    return 1.0 if left != hole else -1.0


def _curve(before: Floats, after: Floats, count: int, *, turn: float) -> Floats:
    """Return points on a curve that goes on from two arc ends and bulges into the metal, shape (count, 2).

    A cubic with handles of c / (3 cos^2(turn / 4)) on a chord c is within a thousandth of a circle's arc.
    """
    start, end = before[0], after[0]
    chord = end - start
    length = float(np.linalg.norm(chord))
    along = chord / max(length, 1e-12)
    aside = turn * np.array([-along[1], along[0]])
    bends = _bend(-_way(before), along, aside), -_bend(_way(after), along, aside)
    leaves, arrives = (min(max(bend, 0.0), MOST_TURN) for bend in bends)
    handle = length / (3.0 * np.cos((leaves + arrives) / 4.0) ** 2)
    one = start + handle * (np.cos(leaves) * along + np.sin(leaves) * aside)
    two = end - handle * (np.cos(arrives) * along - np.sin(arrives) * aside)
    t = (np.arange(count) + 1.0)[:, None] / (count + 1.0)
    s = 1.0 - t
    return np.asarray(s**3 * start + 3 * s**2 * t * one + 3 * s * t**2 * two + t**3 * end)


def _way(arc: Floats) -> Floats:
    """Return the direction at the first of a few points along which they run on, by a parabola through them."""
    at = np.arange(len(arc), dtype=float)
    return np.asarray(np.polynomial.polynomial.polyfit(at, arc, 2)[1])


def _bend(way: Floats, along: Floats, aside: Floats) -> float:
    return float(np.arctan2(way @ aside, way @ along))
