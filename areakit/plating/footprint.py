"""The form of a brush footprint: the ripple that lanes of it leave, and the overlap at which it is smallest.

Lengths are in millimetres. Nothing here needs an outline.
"""

from __future__ import annotations

import math
from functools import lru_cache

OVERLAP_STEP = 0.05
SMALLEST_OVERLAP, MOST_OVERLAP = 0.3, 0.6
"""The default overlap is sought in this range: less leaves gaps where a hand scatters. Common practice, no source."""
OF_THE_WIDTH, MOST_SCATTER_MM = 0.1, 2.0
"""Scatter of a hand's lanes where nobody measured it: a tenth of the footprint's width, 2 mm at most. Common practice,
no source. [1, mm]"""
PLACES = 401
"""Places between two lanes where the ripple is looked at, beside those where a footprint ends."""


def footprint_area(width: float, length: float, *, rounded: bool) -> float:
    """Return the area of a footprint; fully round corners leave out what four quarter disks do not cover. [mm2]"""
    radius = min(width, length) / 2.0 if rounded else 0.0
    return width * length - (4.0 - math.pi) * radius**2


@lru_cache(maxsize=1024)
def ripple(width: float, length: float, *, pitch: float, rounded: bool) -> float:
    r"""Return the minimum over the mean dose between lanes that are repeated exactly, far from edges. [1]

    .. math:: r = \frac{p}{a} \min_y \sum_k c(y - k p)

    with c the chord of the footprint along the lane, a its area and p the distance of the lanes. The minimum lies where
    a footprint ends, in the middle, or in between.

    - ``width``, ``length``: of the footprint, across and along the lanes. [mm]
    - ``pitch``: distance from lane to lane. [mm]
    - ``rounded``: whether its corners are fully round.
    """
    half = width / 2.0
    reach = math.ceil(half / pitch)
    places = [pitch * index / (PLACES - 1) for index in range(PLACES // 2 + 1)]  # the other half mirrors them
    places += [half % pitch, -half % pitch]
    smallest = min(
        math.fsum(_chord(abs(y - k * pitch), width, length, rounded) for k in range(-reach, reach + 2)) for y in places
    )
    return smallest * pitch / footprint_area(width, length, rounded=rounded)


def _chord(across: float, width: float, length: float, rounded: bool) -> float:
    """Return the length of the footprint along the lane, that far from its middle; half of it at a square end."""
    half = width / 2.0
    if not rounded:
        return length * (1.0 if across < half * (1.0 - 1e-9) else 0.5 if across <= half * (1.0 + 1e-9) else 0.0)
    radius = min(half, length / 2.0)
    beyond = max(across - (half - radius), 0.0)
    return length - 2.0 * radius + 2.0 * math.sqrt(radius**2 - beyond**2) if beyond < radius else 0.0


def usual_overlap(width: float, length: float, *, rounded: bool) -> float:
    """Return the overlap, in steps of 0.05, at which one pass of a footprint leaves the smallest ripple. [1]

    - ``width``, ``length``: of the footprint, across and along the lanes. [mm]
    - ``rounded``: whether its corners are fully round.
    """
    first, last = (round(end / OVERLAP_STEP) for end in (SMALLEST_OVERLAP, MOST_OVERLAP))
    best, evenest = SMALLEST_OVERLAP, 0.0
    for step in range(first, last + 1):
        overlap = round(step * OVERLAP_STEP, 2)
        even = ripple(width, length, pitch=width * (1.0 - overlap), rounded=rounded)
        if even > evenest + 1e-9:
            best, evenest = overlap, even
    return best


def usual_scatter_mm(width: float) -> float:
    """Return the scatter of the lanes that is taken where none was measured. [mm]"""
    return min(OF_THE_WIDTH * width, MOST_SCATTER_MM)
