"""How a photo is blurred, one way and the other."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Blur:
    """Softness the longest and shortest way, as the sigma of a Gaussian, and the angle of the longest, x to y."""

    longest_px: float
    shortest_px: float
    direction_deg: float
