"""Which parts of one photo or drawing are equal pieces: by area within its uncertainty, by shape laid upon shape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import stdev
from typing import cast

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from areakit.uncertainty import Measured

COMMON = ("check length", "sheet", "camera", "thickness", "height", "resolution", "scale", "lens")
"""Beginnings of input names that move all parts of one photo alike; they do not tell one part from another."""
SPREAD = "spread between equal pieces"
"""Name of the share that says how far equal pieces differ among themselves."""
_FACTOR = 3.0
"""Area and edge may differ by so many standard uncertainties of the difference: about one pair in 400 by chance."""
_CUT_SHARE = 0.003
"""Mean gap between edges of equal pieces over the root of the area, as cut by a die or a careful hand; estimate."""
_RAYS = 360
_REFINE_DEG = (-0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75)
_SIMPLE_SHARE = 0.0005
"""How far points may be taken off an outline before it is laid upon another, over the root of its area."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One part: its outline [mm], None where only an area is known, its plated area [mm2], faces and thickness."""

    polygon: Polygon | None
    area: Measured
    faces: str = "one"
    thickness_mm: float | None = None


def polygon_of_rings(rings: Sequence[Sequence[tuple[float, float]]]) -> Polygon | None:
    """Return the polygon of an outer ring and its holes; None where they enclose no honest area."""
    polygon = Polygon(rings[0], rings[1:])
    return polygon if polygon.is_valid and polygon.area > 0 else None


def equal_groups(pieces: Sequence[Piece]) -> tuple[tuple[int, ...], ...]:
    """Return the places of equal pieces, each group and the groups in the order of the pieces.

    A piece joins the first group whose first piece it equals. A piece without an outline equals none.
    """
    shapes = [None if piece.polygon is None else _shape(piece.polygon) for piece in pieces]
    groups: list[list[int]] = []
    for place in range(len(pieces)):
        for group in groups:
            first, second = shapes[group[0]], shapes[place]
            if first and second and _equal(pieces[group[0]], pieces[place], first, second):
                group.append(place)
                break
        else:
            groups.append([place])
    return tuple(tuple(group) for group in groups)


def equal(first: Piece, second: Piece) -> bool:
    """Tell whether two parts are equal pieces: same faces and thickness, areas that agree, edges that lie together.

    Areas agree within three standard uncertainties of their difference; inputs that move both alike cancel, all others
    count as independent. Edges lie together where their mean gap, turned (and turned over) to its smallest, is within
    three standard uncertainties of both edges, or within what a careful cut differs by.
    """
    return equal_groups([first, second]) == ((0, 1),)


def _equal(first: Piece, second: Piece, a: _Shape, b: _Shape) -> bool:
    if first.faces != second.faces or not _same_thickness(first.thickness_mm, second.thickness_mm):
        return False
    if len(a.polygon.interiors) != len(b.polygon.interiors):
        return False
    own = [_own_standard(piece.area) for piece in (first, second)]
    cut, perimeter = _CUT_SHARE * math.sqrt(a.polygon.area), min(a.polygon.length, b.polygon.length)
    share = math.hypot(own[0] / first.area.value, own[1] / second.area.value)
    edge = _FACTOR * share * a.polygon.area / perimeter + cut
    if abs(a.polygon.area - b.polygon.area) > edge * perimeter:
        return False
    return _gap_mm(a, b) <= edge


def _same_thickness(first: float | None, second: float | None) -> bool:
    if first is None or second is None:
        return first is second
    return math.isclose(first, second, rel_tol=1e-6)


def _own_standard(area: Measured) -> float:
    """Return the standard uncertainty of an area without what moves all parts of the photo alike."""
    own = [share for name, share in area.budget.items() if not name.startswith(COMMON)]
    return math.hypot(*own) if own else 0.0


def mean_gap_mm(first: Polygon, second: Polygon) -> float:
    """Return the mean gap between two outlines at the turn, or turned over, where they lie upon each other best. [mm]

    The gap is the area of the symmetric difference over the mean length of the edges.
    """
    return _gap_mm(_shape(first), _shape(second))


@dataclass(frozen=True, slots=True)
class _Shape:
    """An outline about its centroid, with what lies along its rays; the same turned over."""

    polygon: Polygon
    rays: npt.NDArray[np.complex128]
    over: Polygon
    over_rays: npt.NDArray[np.complex128]


def _shape(polygon: Polygon) -> _Shape:
    middle = polygon.centroid
    plain = polygon.simplify(_SIMPLE_SHARE * math.sqrt(polygon.area))
    at = cast(Polygon, affinity.translate(plain, -middle.x, -middle.y))
    over = affinity.scale(at, -1.0, 1.0, origin=(0.0, 0.0))
    return _Shape(at, np.fft.rfft(_rays(at)), over, np.fft.rfft(_rays(over)))


def _gap_mm(first: _Shape, second: _Shape) -> float:
    ways = ((second.polygon, second.rays), (second.over, second.over_rays))
    best = min(
        first.polygon.symmetric_difference(affinity.rotate(polygon, angle, origin=(0.0, 0.0))).area
        for polygon, rays in ways
        for angle in _turns_deg(first.rays, rays)
    )
    return float(best / ((first.polygon.length + second.polygon.length) / 2.0))


def _turns_deg(still: npt.NDArray[np.complex128], moving: npt.NDArray[np.complex128]) -> list[float]:
    """Return the turns at which the rays of two outlines fit best, each tried a little on either side."""
    fit = np.fft.irfft(still * np.conj(moving), _RAYS)
    best = [int(turn) for turn in np.argsort(fit)[::-1][:2]]
    return sorted({round(turn * 360.0 / _RAYS + more, 3) for turn in best for more in _REFINE_DEG})


def _rays(polygon: Polygon) -> npt.NDArray[np.float64]:
    """Return how much metal lies along each ray from the centroid: it turns with the part, holes included."""
    reach = 2.0 * max(abs(value) for value in polygon.bounds)
    angles = np.arange(_RAYS) * (2.0 * math.pi / _RAYS)
    ends = np.stack([np.cos(angles), np.sin(angles)], axis=1) * reach
    lines = shapely.linestrings(np.stack([np.zeros_like(ends), ends], axis=1))
    shapely.prepare(polygon)
    lengths = shapely.length(shapely.intersection(lines, polygon))
    found: npt.NDArray[np.float64] = np.asarray(lengths - lengths.mean(), dtype=np.float64)
    return found


def piece_area(areas: Sequence[Measured]) -> Measured:
    """Return the area of any one of equal pieces [mm2]: the mean, with how far they differ among themselves."""
    count = len(areas)
    names = dict.fromkeys(name for area in areas for name in area.budget)
    budget = {name: sum(area.budget.get(name, 0.0) for area in areas) / count for name in names}
    values = [area.value for area in areas]
    if count > 1:
        budget[SPREAD] = stdev(values)
    return Measured(value=math.fsum(values) / count, unit=areas[0].unit, budget=budget)
