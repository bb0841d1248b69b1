"""Which part of one photo is which of another: by shape first, then by how they lie to each other."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

import numpy as np
import numpy.typing as npt

from areakit.errors import MeasurementError
from areakit.geometry.outline import Outline
from areakit.imaging.closed_ring import signed_area
from areakit.plural import counted

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

ALIKE = np.array([0.05, 0.06, 0.08, 0.08])
"""Relative difference of area, outer perimeter, length and breadth up to which two outlines can be one part."""
SIMPLE_SHARE = 0.005
"""How far points may be taken off a ring before its figures are compared, over the root of the area: edge noise."""
REACH_MM, REACH_SHARE = 3.0, 0.02
"""How far a part may lie from where the others put it: in mm, and as a share of the distance."""


def match_parts(first: Sequence[Outline], second: Sequence[Outline]) -> list[int]:
    """Return for each outline of the first photo its number, from 0, in the second.

    Parts may have been moved together or one by one. Where shapes alone leave it open, the parts must lie to each other
    as before, in one way only.

    Raises
    ------
    MeasurementError
        If the photos show different numbers of parts, parts of other shapes, or parts that cannot be told apart.
    """
    if len(first) != len(second):
        raise MeasurementError(
            f"One photo shows {counted(len(first), 'part')}, the other {len(second)}.",
            remedy="Take both photos of the same parts, all of them inside the field.",
            code="PARTS_DIFFER",
        )
    alike = _alike(first, second)
    for number, row in enumerate(alike, start=1):
        if not row.any():
            raise MeasurementError(
                f"Part {number} of the first photo has no match in the second.",
                remedy="Take both photos of the same parts, each lying on the same face.",
                code="PARTS_DIFFER",
            )
    if (alike.sum(axis=0) == 1).all() and (alike.sum(axis=1) == 1).all():
        return [int(np.argmax(row)) for row in alike]
    ways = _ways(_middles(first), _middles(second), alike)
    if len(ways) == 1:
        return list(ways.pop())
    close = [str(i + 1) for i, row in enumerate(alike) if row.sum() > 1]
    raise MeasurementError(
        f"Parts {', '.join(close)} look alike, and "
        + ("lie to each other in no way as before." if not ways else f"can be paired in {len(ways)} ways."),
        remedy="Turn sheet and parts together without moving a part, or photograph such parts one at a time.",
        code="PARTS_ALIKE",
    )


def _alike(first: Sequence[Outline], second: Sequence[Outline]) -> Flags:
    """Return which pairs of outlines can be one part, shape (n, n)."""
    a, b = (np.array([_figures(outline) for outline in outlines]) for outlines in (first, second))
    return np.asarray((np.abs(np.log(a[:, None] / b[None])) <= ALIKE).all(axis=2))


def _figures(outline: Outline) -> tuple[float, float, float, float]:
    """Return area, outer perimeter, and the two radii of gyration of the outer ring: they do not turn with the part."""
    ring = np.array(outline.polygon.exterior.simplify(SIMPLE_SHARE * outline.polygon.area**0.5).coords)[:-1]
    step = np.roll(ring, -1, axis=0) - ring
    weight = np.hypot(*step.T)
    middle = ring + step / 2
    away = middle - np.average(middle, axis=0, weights=weight)
    spread = (away.T * weight) @ away + (step.T * weight) @ step / 12.0  # of the middles, and along each side
    low, high = np.sqrt(np.linalg.eigvalsh(spread / weight.sum()))
    return abs(signed_area(ring)), outline.perimeter_outer.value, float(high), float(low)


def _middles(outlines: Sequence[Outline]) -> Floats:
    return np.array([(outline.polygon.centroid.x, outline.polygon.centroid.y) for outline in outlines])


def _ways(first: Floats, second: Floats, alike: Flags) -> set[tuple[int, ...]]:
    """Return every pairing of like parts under which all lie to each other as before, moved and turned together.

    The two parts farthest apart in the first photo are tried on every pair of like parts in the second.
    """
    apart = np.linalg.norm(first[:, None] - first[None], axis=2)
    i, j = np.unravel_index(int(np.argmax(apart)), apart.shape)
    ways: set[tuple[int, ...]] = set()
    for k, m in permutations(range(len(second)), 2):
        if not (alike[i, k] and alike[j, m]):
            continue
        before, after = first[j] - first[i], second[m] - second[k]
        if abs(np.linalg.norm(before) - np.linalg.norm(after)) > REACH_MM + REACH_SHARE * apart[i, j]:
            continue
        angle = np.arctan2(after[1], after[0]) - np.arctan2(before[1], before[0])
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        moved = (first - first[[i, j]].mean(axis=0)) @ turn.T + second[[k, m]].mean(axis=0)
        off = np.linalg.norm(moved[:, None] - second[None], axis=2)
        off[~alike] = np.inf
        nearest = off.argmin(axis=1)
        reach = REACH_MM + REACH_SHARE * apart[i, j]
        if len(set(nearest.tolist())) == len(second) and off.min(axis=1).max() <= reach:
            ways.add(tuple(int(n) for n in nearest))
    return ways
