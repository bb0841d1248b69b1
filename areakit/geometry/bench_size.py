"""Sizes that no part of a bench has: nearly always a drawing read in the wrong unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from areakit.errors import RangeError

if TYPE_CHECKING:
    from shapely.geometry import Polygon

SMALLEST_MM, LONGEST_MM = 0.2, 1500.0
"""Longest side of a part that somebody plates at a bench. Own choice. [mm]"""


def area_beyond_bench(area_mm2: float) -> bool:
    """Tell whether a plated area is smaller than the smallest square, or larger than both faces of the largest."""
    return not SMALLEST_MM**2 <= area_mm2 <= 2.0 * LONGEST_MM**2


def longest_side(polygons: Sequence[Polygon]) -> float:
    """Return the longest side of the box round the largest of the outlines. [mm]"""
    left, low, right, high = max(polygons, key=lambda one: one.area).bounds
    return float(max(right - left, high - low))


def beyond_bench(polygons: Sequence[Polygon]) -> bool:
    """Tell whether the largest outline is smaller or larger than any part of a bench."""
    return not SMALLEST_MM <= longest_side(polygons) <= LONGEST_MM


def size_words(polygons: Sequence[Polygon]) -> str:
    """Return the size of the largest outline in words."""
    left, low, right, high = max(polygons, key=lambda one: one.area).bounds
    return f"{right - left:.4g} x {high - low:.4g} mm"


def question_size(polygons: Sequence[Polygon], *, unit: str, stated: str | None) -> None:
    """Ask for the unit of a drawing whose size no part of a bench has; who states that unit has answered.

    Raises RangeError with the size and the unit in which it was read.
    """
    if beyond_bench(polygons) and stated != unit:
        raise RangeError(
            f"The drawing was read in {unit}, and its part is {size_words(polygons)}: parts of a bench are "
            f"{SMALLEST_MM:g} to {LONGEST_MM:g} mm long.",
            remedy="Save it in the unit it was drawn in; if the size is right, state its unit.",
            fields={"unit": unit},
            code="SIZE_BEYOND_BENCH",
        )
