"""Open lines of a drawing: furniture such as a centre line, or an outline that somebody forgot to close.

An outline that stays open must never be dropped in favour of what lies inside it: its hole would be taken for the part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import STRtree
from shapely.geometry import LineString, Polygon

from areakit.errors import OutlineInvalid
from areakit.geometry.curves import Points
from areakit.geometry.rings import JOIN_MM, chained

NEARLY_CLOSED = 0.3
"""A line whose gap is a smaller share of its way round than this was meant to close; three sides of a square have 0.25,
two have 0.41. Own choice."""
ROUND_SHARE = 0.75
"""Open lines seen from a closed outline in more than this share of all directions go round it. Own choice."""
NEAR_MM = 1.0
"""Ends this close were meant to meet, where joining them closes an outline. Own choice. [mm]"""
_DIRECTIONS = 720
_MOST_ENDS = 500
_MOST_STEPS = 50_000_000
_FLAT_SHARE = 1e-3
"""A line that encloses less than this share of its own square length encloses nothing."""


def refuse_unclosed(chains: Sequence[Points], closed: Sequence[Polygon]) -> None:
    """Refuse open chains that nearly close, each by itself or together, or that go round a closed outline.

    - ``chains`` (n, 2): lines that do not close, joined end to end as far as they meet. [mm]
    - ``closed``: what is closed. [mm]

    Raises OutlineInvalid with the gap and where it is.
    """
    for chain in chains:
        if openness(chain) < NEARLY_CLOSED:
            raise _unclosed("An outline is not closed: there is a gap of", math.dist(chain[0], chain[-1]), chain[-1])
    for loop in chained(list(chains), join=NEAR_MM)[0]:
        if abs(_enclosed(loop)) > NEAR_MM * _length(loop):
            raise _unclosed("An outline is not closed: there are gaps of up to", *_widest_gap(chains))
    if chains and closed and _goes_round(chains, closed):
        raise _unclosed("The lines round an outline do not close: there are gaps of up to", *_widest_gap(chains))


def openness(chain: Points) -> float:
    """Return the gap between the ends of a line as a share of the way round; 1 for a line that encloses nothing."""
    gap = math.dist(chain[0], chain[-1])
    way = _length(chain) + gap
    if len(chain) < 3 or abs(_enclosed(chain)) < _FLAT_SHARE * way * way:
        return 1.0
    return gap / way


def _goes_round(chains: Sequence[Points], closed: Sequence[Polygon]) -> bool:
    """Tell whether open lines go round one of the outermost outlines; of very many the largest are looked at."""
    lines = STRtree([LineString(chain) for chain in chains])
    vertices = sum(len(chain) for chain in chains)
    for polygon in _outermost(closed)[: max(1, _MOST_STEPS // vertices)]:
        touching = set(lines.query(polygon, predicate="intersects").tolist())
        apart = [chain for i, chain in enumerate(chains) if i not in touching]
        if share_round(polygon, apart) > ROUND_SHARE:
            return True
    return False


def share_round(polygon: Polygon, chains: Sequence[Points]) -> float:
    """Return the share of all directions, seen from a point inside an outline, in which lines outside it lie."""
    centre = np.array(polygon.representative_point().coords[0])
    edges = np.zeros(_DIRECTIONS + 1)
    for chain in chains:
        angles = np.unwrap(np.arctan2(*(chain - centre).T[::-1]))
        steps = np.floor(angles * _DIRECTIONS / (2.0 * math.pi)).astype(int)
        low, high = int(steps.min()), int(steps.max())  # a line without a break is seen from one end to the other
        start, count = low % _DIRECTIONS, min(high - low + 1, _DIRECTIONS)
        edges[start] += 1
        edges[min(start + count, _DIRECTIONS)] -= 1
        if start + count > _DIRECTIONS:
            edges[0] += 1
            edges[start + count - _DIRECTIONS] -= 1
    return float((np.cumsum(edges[:-1]) > 0).mean())


def _outermost(closed: Sequence[Polygon]) -> list[Polygon]:
    """Return the outlines that lie in no other, largest first."""
    filled = [Polygon(one.exterior) for one in closed]
    points = [one.representative_point() for one in filled]
    inner, _ = STRtree(filled).query(points, predicate="within")
    depth = np.bincount(inner, minlength=len(filled))
    return sorted((one for one, many in zip(closed, depth, strict=True) if many <= 1), key=lambda one: -one.area)


def _enclosed(chain: Points) -> float:
    x, y = (chain - chain[0]).T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def _length(chain: Points) -> float:
    return float(np.hypot(*np.diff(chain, axis=0).T).sum())


def _widest_gap(chains: Sequence[Points]) -> tuple[float, Points]:
    """Return the widest distance from an end to the nearest end of another line, and that end. [mm]"""
    ends = np.array([chain[i] for chain in chains[:_MOST_ENDS] for i in (0, -1)])
    apart = np.hypot(*(ends[:, None, :] - ends[None, :, :]).T)
    pairs = np.arange(0, len(ends), 2)
    apart[pairs, pairs] = apart[pairs + 1, pairs + 1] = np.inf
    if len(chains) > 1:  # the other end of a straight line is no gap
        apart[pairs, pairs + 1] = apart[pairs + 1, pairs] = np.inf
    nearest = apart.min(axis=1)
    widest = int(np.argmax(nearest))
    return float(nearest[widest]), ends[widest]


def _unclosed(what: str, gap: float, place: Points) -> OutlineInvalid:
    x, y = place
    if gap <= JOIN_MM:
        what = "An outline is not closed: its lines branch, with ends that lie within"
    return OutlineInvalid(
        f"{what} {gap:.3g} mm at ({x:.2f}, {y:.2f}) mm.",
        remedy="Join the ends there in the drawing program; take away lines that belong to no outline.",
        code="OUTLINE_OPEN",
    )
