"""One named surface of a part."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from areakit.geometry.features import Side
from areakit.uncertainty import Measured

Basis = Literal["measured", "computed", "allowance"]
"""``measured`` in a photo or scan; ``computed`` from a drawing or typed numbers; ``allowance`` for what nobody saw."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceLine:
    """One named surface; ``area`` is negative for what is taken away. [mm2]"""

    name: str
    side: Side
    basis: Basis
    area: Measured
    plated: bool
