"""Figures along the edges of a drawing, so that a place can be read off it as an option takes it."""

from __future__ import annotations

import math


def ruler_step(narrowest: float) -> float:
    """Return 1, 2 or 5 times a power of ten, at least ``narrowest``: how far apart figures stand."""
    decade = 10.0 ** math.floor(math.log10(narrowest))
    return next(factor * decade for factor in (1.0, 2.0, 5.0, 10.0) if factor * decade >= narrowest * (1.0 - 1e-9))


def ruler_figures(low: float, high: float, step: float) -> list[float]:
    """Return the multiples of a step from ``low`` to ``high``."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(number * step, 9) + 0.0 for number in range(first, last + 1)]
