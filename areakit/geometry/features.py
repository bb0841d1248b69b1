"""Surfaces of a part by name, and what its outline does not show of them: masks, recesses, taper, dome, rim."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shapely.geometry import MultiPolygon, Polygon

from areakit.errors import RangeError
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured

Side = Literal["front", "back", "wall"]
Region = Polygon | MultiPolygon

MASK_EDGE_MM = 0.2
"""Half-width within which the edge of a tape or lacquer mask lies. Common practice, no source. [mm]"""


# An outline counts as round when its longest side and its area are those of a circle to within these.
_ROUND_ASPECT = 1.01
_ROUND_FILL = 0.01
Basis = Literal["measured", "computed", "allowance"]
"""``measured`` in a photo or scan; ``computed`` from a drawing or typed numbers; ``allowance`` for what nobody saw."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mask:
    """A region in part coordinates [mm] that alone is plated (``keep``) or is stopped off.

    ``edge_mm`` is the standard uncertainty of where its edge lies. A stop-off that reaches over the edge of the part
    covers the wall there too.
    """

    region: Region
    keep: bool
    sides: frozenset[Side] = frozenset({"front"})
    edge_mm: float = MASK_EDGE_MM / math.sqrt(3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recess:
    """A blind recess or engraved line in the front: its mouth, the length of its wall [mm], and its depth [mm]."""

    region: Region
    perimeter: Measured
    depth: Measured

    def __post_init__(self) -> None:
        if self.depth.value <= 0.0:
            raise RangeError(f"A recess of {self.depth.value:g} mm depth is none.", remedy="Give a depth above 0 mm.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Taper:
    """Walls that lean inwards towards the front.

    ``front`` is the smaller front face, None where it shrinks to nothing; ``walls`` holds the outer wall and then one
    wall for each hole. [mm2]
    """

    front: Polygon | None
    front_area: Measured
    walls: tuple[Measured, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dome:
    """A rise of the face above its rim. [mm]"""

    height: Measured
    sides: frozenset[Side] = frozenset({"front"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Rim:
    """A raised rim round the outer edge, front only: width and height above the field. [mm]"""

    width: Measured
    height: Measured


def dome_extra(outline: Outline, dome: Dome) -> tuple[Measured, bool]:
    """Return what a dome adds to its flat face [mm2], and whether the outline is round.

    Round: the cap over a circle of radius a has pi (a^2 + h^2), so pi h^2 more than the circle (closed form). Any
    other: an elliptic paraboloid over the half sides a and b of the smallest rectangle round the outline, shallow
    surface, pi h^2 (a/b + b/a) / 2; its share ``dome shape`` covers 30 % of it either way (rectangular, our estimate).

    Raises RangeError if the dome is too high for the formula.
    """
    shell = Polygon(outline.polygon.exterior)
    part_of_shell = outline.polygon.area / shell.area
    half_long, half_short = half_sides(shell)
    fill = shell.area / (math.pi * half_long * half_short)
    is_round = half_long / half_short < _ROUND_ASPECT and abs(fill - 1.0) < _ROUND_FILL
    height = dome.height
    limit = math.sqrt(shell.area / math.pi) * (1.0 + 1e-9) if is_round else 0.3 * half_short
    if not 0.0 < height.value <= limit:
        raise RangeError(
            f"A dome of {height.value:g} mm is outside 0 to {limit:.3g} mm for this outline.",
            remedy="Measure the rise from the rim to the top; wrap higher shapes in paper and measure the paper.",
        )
    aspect = 1.0 if is_round else (half_long / half_short + half_short / half_long) / 2.0
    weight = math.pi * aspect * part_of_shell
    value = weight * height.value**2
    budget = {name: 2.0 * weight * height.value * share for name, share in height.budget.items()}
    if not is_round:
        budget["dome shape"] = 0.3 * value / math.sqrt(3.0)
    return Measured(value=value, unit="mm2", budget=budget), is_round


def half_sides(shell: Polygon) -> tuple[float, float]:
    """Return half the long and half the short side of the smallest rectangle round an outline. [mm]"""
    corners = list(shell.minimum_rotated_rectangle.exterior.coords)  # type: ignore[attr-defined]
    sides = sorted(math.dist(corners[i], corners[i + 1]) / 2.0 for i in (0, 1))
    return sides[1], sides[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceLine:
    """One named surface; ``area`` is negative for what is taken away. [mm2]"""

    name: str
    side: Side
    basis: Basis
    area: Measured
    plated: bool
