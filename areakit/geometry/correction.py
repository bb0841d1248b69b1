"""An outline that somebody corrected by hand: its size, and what the hand adds to the uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, MultiLineString, Polygon

from areakit.errors import OutlineInvalid
from areakit.flags import flag
from areakit.geometry.outline import Outline, check_polygon
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]

BY_HAND = "outline corrected by hand"
_SAME_MM = 0.01
"""A stretch this close to where it was counts as not touched. [mm]"""
_ANOTHER_SHAPE = 0.5
"""A ring whose points lie further from those of the photo than this share of its size is another ring."""
_STEPS = 256
_WANDER = 0.01
"""Relative standard uncertainty of the length of a hand-drawn stretch: common practice, no source."""


def corrected_outline(before: Outline, rings_mm: Sequence[Any], *, hand_mm: float) -> Outline:
    """Return the outline with new rings, outer one first, shape (n, 2) each. [mm]

    The old relative uncertainties stay. The hand adds a share: the length that was drawn anew (or taken away) times
    the standard uncertainty ``hand_mm`` of its place, as if the whole stretch lay off to one side.

    Raises OutlineInvalid if the new outline encloses no honest area.
    """
    polygon = Polygon(rings_mm[0], rings_mm[1:])
    check_polygon(polygon)
    moved = moved_length_mm(before.polygon, polygon)
    length = float(polygon.length)
    spread = math.hypot(2.0 * math.pi * hand_mm if moved else 0.0, _WANDER * moved)
    grown = float(polygon.area) / float(before.polygon.area)
    outer, holes = (_ratio(new, old) for new, old in zip(_lengths(polygon), _lengths(before.polygon), strict=True))
    edited = flag("CORRECTED_BY_HAND", length_mm=moved, percent=100.0 * moved / length, edit_mm=2.0 * hand_mm)
    kept = tuple(one for one in before.flags if one.code != "CORRECTED_BY_HAND")
    return Outline(
        polygon=polygon,
        area=_rescaled(before.area, grown, moved * hand_mm),
        perimeter_outer=_rescaled(before.perimeter_outer, outer, spread),
        perimeter_holes=_rescaled(before.perimeter_holes, holes, 0.0),
        origin=before.origin,
        flags=(*kept, edited) if moved else before.flags,
        edge_make=before.edge_make,
    )


def carried_rings(
    before_mm: Sequence[Any], before_flat: Sequence[Floats], after_flat: Sequence[Floats]
) -> list[Floats]:
    """Return new rings in the millimetres of the measurement. [mm]

    The measurement put each point at its own height, and its origin elsewhere; ``*_flat`` are the same photo points at
    one height, y upwards too. A new point keeps the difference that its nearest old point has, so a point that nobody
    touched stays where it was, and a ring that nobody touched stays as it was.

    Raises OutlineInvalid if the old rings and the outline do not belong together.
    """
    measured = [np.asarray(mm, dtype=float)[:-1, :2] for mm in before_mm]
    pairs = [_in_step(mm, flat) for mm, flat in zip(measured, before_flat, strict=False)]
    if len(before_mm) != len(before_flat) or any(pair is None for pair in pairs):
        raise OutlineInvalid("The old rings are not those of the outline.", remedy="Measure the photo again.")
    flat = np.vstack(before_flat)
    shift = np.vstack([pair for pair in pairs if pair is not None]) - flat
    tree = shapely.STRtree(list(shapely.MultiPoint(flat).geoms))
    untouched = [
        next((mm for mm, old in zip(measured, before_flat, strict=True) if np.array_equal(ring, old)), None)
        for ring in after_flat
    ]
    return [
        ring + shift[tree.nearest(shapely.points(ring))] if same is None else same
        for ring, same in zip(after_flat, untouched, strict=True)
    ]


def _in_step(ring_mm: Floats, flat: Floats) -> Floats | None:
    """Return the ring in the order and with the start of its photo points; None where the two do not match."""
    if len(ring_mm) != len(flat):
        return _by_length(ring_mm, flat)
    turned = (ring_mm, ring_mm[::-1], np.roll(ring_mm[::-1], 1, axis=0))
    centred = flat - flat.mean(axis=0)
    apart, best = min(((float(np.abs(one - one.mean(axis=0) - centred).max()), i) for i, one in enumerate(turned)))
    return turned[best] if apart <= _ANOTHER_SHAPE * float(np.max(np.ptp(flat, axis=0))) else _by_length(ring_mm, flat)


def _by_length(ring_mm: Floats, flat: Floats) -> Floats | None:
    """Return for each photo point the point of the ring at the same share of its length, in order.

    A ring that crossed itself by a hair was mended when it was measured: it lost or gained a point, and may start
    elsewhere or turn the other way. None where the two are too different for that.
    """
    if min(len(ring_mm), len(flat)) < 3 or abs(len(ring_mm) - len(flat)) > len(flat) // 4:
        return None
    steps = np.arange(_STEPS) / _STEPS
    seen = _at_shares(flat, steps)
    seen = seen - seen.mean(axis=0)
    apart, way, start = math.inf, ring_mm, 0
    for turned in (ring_mm, ring_mm[::-1]):
        there = _at_shares(turned, steps)
        there = there - there.mean(axis=0)
        for roll in range(_STEPS):
            worst = float(np.abs(np.roll(there, -roll, axis=0) - seen).max())
            if worst < apart:
                apart, way, start = worst, turned, roll
    if apart > _ANOTHER_SHAPE * float(np.max(np.ptp(flat, axis=0))):
        return None
    return _at_shares(way, (_shares(flat)[:-1] + start / _STEPS) % 1.0)


def _shares(ring: Floats) -> Floats:
    """Return where the points of a ring lie along it, from 0 at the first to 1 at the first again."""
    steps = np.linalg.norm(np.diff(ring, axis=0, append=ring[:1]), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)]) / max(float(steps.sum()), 1e-12)


def _at_shares(ring: Floats, wanted: Floats) -> Floats:
    closed, there = np.vstack([ring, ring[:1]]), _shares(ring)
    return np.column_stack([np.interp(wanted, there, closed[:, i]) for i in (0, 1)])


def moved_length_mm(before: Polygon, after: Polygon) -> float:
    """Return how much of the edges of both polygons has no counterpart in the other; the larger of the two. [mm]"""
    old, new = _edges(before), _edges(after)
    return max(float(new.difference(old.buffer(_SAME_MM)).length), float(old.difference(new.buffer(_SAME_MM)).length))


def _edges(polygon: Polygon) -> MultiLineString:
    return MultiLineString([LineString(ring.coords) for ring in (polygon.exterior, *polygon.interiors)])


def _lengths(polygon: Polygon) -> tuple[float, float]:
    """Return the length of the outer ring and of all holes. [mm]"""
    return float(polygon.exterior.length), math.fsum(float(ring.length) for ring in polygon.interiors)


def _ratio(new: float, old: float) -> float:
    return new / old if old else 0.0


def _rescaled(before: Measured, ratio: float, hand: float) -> Measured:
    """Return the value times a ratio with its relative budget, and the share of the hand.

    The measured figures are kept as a base: a perimeter is measured without the noise that the drawn line carries.
    """
    budget = {name: share * ratio for name, share in before.budget.items() if name != BY_HAND}
    if hand:
        budget[BY_HAND] = hand
    return Measured(value=before.value * ratio, unit=before.unit, budget=budget, coverage_factor=before.coverage_factor)
