"""Whether an outline that nobody gave a form looks like wire: an outline alone cannot tell wire from a flat strip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from areakit.errors import AreakitError
from areakit.geometry.forms.middle import middle_line

SLENDER = 8.0
"""Length over width from which an outline is asked about (own estimate: tags and bars are shorter, wire is longer)."""
EVEN = 0.06
"""Standard deviation of the width along the middle over its mean up to which the width is even (own estimate: drawn and
rendered wire scatters by 0.01 to 0.03)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """An outline like that of wire: how long it is along its middle, and how wide. [mm]"""

    length_mm: float
    width_mm: float

    @property
    def times(self) -> float:
        """Length over width."""
        return self.length_mm / self.width_mm


def like_stock(polygon: Polygon) -> Stock | None:
    """Return length and width of an outline that is long and even in width, open or closed to a ring; else None."""
    if len(polygon.interiors) > 1 or polygon.length**2 < 4.0 * SLENDER * polygon.area:
        return None  # of a strip L by w the perimeter squared is at least 4 L / w times the area
    try:
        line = middle_line(polygon)
    except AreakitError:
        return None
    widths = line.half_widths[line.clear] if line.clear.sum() > 8 else line.half_widths
    if line.forks or float(np.std(widths)) > EVEN * float(np.mean(widths)):
        return None
    found = Stock(length_mm=line.length_mm, width_mm=line.mean_width_mm)
    return found if found.times >= SLENDER else None
