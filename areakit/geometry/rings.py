"""From loose lines to closed outlines with their holes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import STRtree
from shapely.geometry import Point, Polygon
from shapely.validation import explain_validity

from areakit.errors import OutlineInvalid
from areakit.geometry.curves import Points
from areakit.geometry.outline import LARGEST_MM

JOIN_MM = 0.005
"""Ends closer than this belong together; below what any drawing of a part means. [mm]"""
_SMALLEST_MM2 = 1e-9
_SAME_SHARE = 1e-6
_SAME_SPOT_MM = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One line of a drawing: ``points_mm`` of shape (n, 2), and whether the drawing says that it is closed."""

    points_mm: Points
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Rings:
    """Closed outlines, with the count of what was left out.

    ``open_chains`` are the lines that do not close, joined as far as their ends meet, each of shape (n, 2). [mm]
    """

    polygons: tuple[Polygon, ...]
    open_paths: int
    open_chains: tuple[Points, ...]
    without_area: int
    doubled: int


def assemble(traces: Sequence[Trace]) -> Rings:
    """Join loose lines end to end, and nest the closed outlines: one inside another is a hole, inside a hole a part.

    Raises OutlineInvalid if an outline crosses itself or another, or a point lies absurdly far out.
    """
    for trace in traces:
        _check_extent(trace.points_mm)
    loops, open_chains, open_paths = _loops(traces)
    filled, without_area = [], 0
    for points in loops:
        polygon = _filled(points)
        if polygon is None:
            without_area += 1
        else:
            filled.append(polygon)
    filled.sort(key=lambda p: -p.area)
    single = _without_doubles(filled)
    _refuse_crossings(single)
    return Rings(
        polygons=tuple(_nested(single)),
        open_paths=open_paths,
        open_chains=tuple(open_chains),
        without_area=without_area,
        doubled=len(filled) - len(single),
    )


def _check_extent(points: Points) -> None:
    if not np.isfinite(points).all():
        raise OutlineInvalid("A point of the drawing is not a finite number.", remedy="Export the drawing again.")
    if np.abs(points).max(initial=0.0) > LARGEST_MM:
        raise OutlineInvalid(
            f"The drawing reaches out to {np.abs(points).max():.3g} mm; {LARGEST_MM:.0f} mm is the limit.",
            remedy="Check the unit of the drawing.",
        )


def _loops(traces: Sequence[Trace]) -> tuple[list[Points], list[Points], int]:
    loops, loose = [], []
    for trace in traces:
        points = trace.points_mm
        if trace.closed or (len(points) > 2 and math.dist(points[0], points[-1]) <= JOIN_MM):
            loops.append(points)
        elif len(points) > 1:
            loose.append(points)
    joined, open_chains, open_paths = chained(loose)
    return loops + joined, open_chains, open_paths


def chained(loose: list[Points], *, join: float = JOIN_MM) -> tuple[list[Points], list[Points], int]:
    """Join lines whose ends meet in pairs; return the closed chains, the open ones, and how many lines stay open."""
    ends = _meeting_ends(loose, join)
    partner: dict[int, int] = {}
    for group in ends:
        if len(group) == 2:
            partner[group[0]], partner[group[1]] = group[1], group[0]
    used: set[int] = set()
    loops, open_chains, open_paths = [], [], 0
    free = [end for end in range(2 * len(loose)) if end not in partner]
    # from the free ends first, so that an open chain is followed from one end to the other
    for first in (*free, *range(0, 2 * len(loose), 2)):
        if first // 2 in used:
            continue
        chain, closed = _follow(first, partner, used)
        points = np.vstack([(loose[i] if forward else loose[i][::-1])[1:] for i, forward in chain])
        if closed:
            loops.append(points)
        else:
            start = loose[first // 2][0 if first % 2 == 0 else -1]
            open_chains.append(np.vstack([start, points]))
            open_paths += len(chain)
    return loops, open_chains, open_paths


def _follow(first: int, partner: dict[int, int], used: set[int]) -> tuple[list[tuple[int, bool]], bool]:
    """Walk from the end ``first`` (line i has the ends 2 i and 2 i + 1) along its line until it closes or stops."""
    chain, end = [(first // 2, first % 2 == 0)], first ^ 1
    used.add(first // 2)
    while end in partner:
        start = partner[end]
        line, forward = start // 2, start % 2 == 0
        if start == first:
            return chain, True
        if line in used:
            break
        used.add(line)
        chain.append((line, forward))
        end = start ^ 1
    return chain, False


def _meeting_ends(loose: list[Points], join: float) -> list[list[int]]:
    """Group the ends of lines that lie within ``join`` of each other."""
    if not loose:
        return []
    spots = np.array([spot for line in loose for spot in (line[0], line[-1])])
    cloud = [Point(x, y) for x, y in spots]
    one, other = STRtree(cloud).query(cloud, predicate="dwithin", distance=join)
    parent = list(range(len(spots)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        parent[root(a)] = root(b)
    groups: dict[int, list[int]] = {}
    for i in range(len(spots)):
        groups.setdefault(root(i), []).append(i)
    return list(groups.values())


def _filled(points: Points) -> Polygon | None:
    """Return the area inside one closed line, None where it has none."""
    apart = np.abs(points - np.roll(points, 1, axis=0)).max(axis=1, initial=0.0) > _SAME_SPOT_MM
    points = points[apart]
    if len(points) < 3:
        return None
    polygon = Polygon(points)
    if polygon.is_valid and polygon.area > _SMALLEST_MM2:
        return polygon
    flat = abs(np.ptp(points[:, 0])) < 1e-9 or abs(np.ptp(points[:, 1])) < 1e-9
    if flat or polygon.convex_hull.area <= _SMALLEST_MM2:
        return None
    raise OutlineInvalid(
        f"An outline crosses or touches itself near {_spot(explain_validity(polygon))} mm.",
        remedy="Correct that spot in the drawing program, or unite the shape there.",
    )


def _spot(explanation: str) -> str:
    return "(" + explanation.partition("[")[2].rstrip("]").replace(" ", ", ") + ")"


def _without_doubles(filled: list[Polygon]) -> list[Polygon]:
    """Drop outlines drawn twice (once for the line and once for the fill): they would cancel each other."""
    if len(filled) < 2:
        return filled
    tree = STRtree(filled)
    dropped: set[int] = set()
    for one, other in zip(*(side.tolist() for side in tree.query(filled, predicate="intersects")), strict=True):
        if one >= other or one in dropped or abs(filled[one].area / filled[other].area - 1.0) > _SAME_SHARE:
            continue
        if filled[one].symmetric_difference(filled[other]).area <= 2.0 * _SAME_SHARE * filled[one].area:
            dropped.add(other)
    return [polygon for i, polygon in enumerate(filled) if i not in dropped]


def _refuse_crossings(filled: list[Polygon]) -> None:
    if len(filled) < 2:
        return
    pairs = STRtree(filled).query(filled, predicate="overlaps")
    for one, other in zip(*(side.tolist() for side in pairs), strict=True):
        shared = filled[one].intersection(filled[other])
        if shared.area > _SAME_SHARE * filled[other].area and shared.area > _SAME_SHARE * filled[one].area:
            spot = shared.representative_point()
            raise OutlineInvalid(
                f"Two outlines of the drawing cross near ({spot.x:.3f}, {spot.y:.3f}) mm.",
                remedy="Unite them, or cut one from the other, in the drawing program.",
            )


def _nested(filled: list[Polygon]) -> list[Polygon]:
    """Give each outline at an odd depth to the smallest outline around it as a hole; ``filled`` is largest first."""
    if not filled:
        return []
    inner, outer = STRtree(filled).query([p.representative_point() for p in filled], predicate="within")
    around: list[list[int]] = [[] for _ in filled]
    for i, o in zip(inner.tolist(), outer.tolist(), strict=True):
        if o < i:
            around[i].append(o)
    holes: dict[int, list[Points]] = {i: [] for i, found in enumerate(around) if len(found) % 2 == 0}
    for i, found in enumerate(around):
        if len(found) % 2 == 1:
            holes[max(found)].append(np.asarray(filled[i].exterior.coords))
    return [Polygon(filled[i].exterior.coords, rings) for i, rings in holes.items()]
