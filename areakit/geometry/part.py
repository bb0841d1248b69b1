"""What is plated: an outline, its thickness, and which faces."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from areakit.errors import RangeError
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured

Side = Literal["front", "back", "wall"]
Faces = Literal["one", "front", "back", "both", "walls", "all", "foil"]
"""Which surfaces are plated; ``one`` is the front; ``foil`` is front and cut edge, its back being glued down."""

SIDES: dict[str, frozenset[Side]] = {
    "one": frozenset({"front"}),
    "front": frozenset({"front"}),
    "back": frozenset({"back"}),
    "both": frozenset({"front", "back"}),
    "walls": frozenset({"wall"}),
    "all": frozenset({"front", "back", "wall"}),
    "foil": frozenset({"front", "wall"}),
}

# Caliper or rule at the bench, METROLOGY: 0.02 mm and 2 % of the thickness. Common practice, no source.
_THICKNESS_FLOOR_MM = 0.02
_THICKNESS_RELATIVE = 0.02
_THICKEST_MM = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One kind of part.

    Parameters
    ----------
    outline : Outline
    thickness : Measured or None
        Length of the sidewall from face to face. [mm] None where nobody said.
    faces : str
        Which of its surfaces are plated.
    """

    outline: Outline
    thickness: Measured | None
    faces: Faces = "one"

    def __post_init__(self) -> None:
        if self.faces not in SIDES:
            raise RangeError(f"{self.faces!r} is not a choice of faces.", remedy=f"Choose one of {', '.join(SIDES)}.")
        if self.thickness is not None:
            _check_thickness(self.thickness.value, self.outline)
        elif "wall" in SIDES[self.faces]:
            raise RangeError(
                "The sidewalls are to be plated, and their height is not known.",
                remedy="Give the thickness with --thickness, or choose --faces front or both.",
            )

    @property
    def sides(self) -> frozenset[Side]:
        """The sides that are plated."""
        return SIDES[self.faces]


def _check_thickness(thickness_mm: float, outline: Outline) -> None:
    if not 0.0 < thickness_mm <= _THICKEST_MM:
        raise RangeError(
            f"A thickness of {thickness_mm:g} mm is outside 0 to {_THICKEST_MM:g} mm.",
            remedy="Give the thickness of the part itself, with its unit.",
        )
    left, low, right, high = outline.polygon.bounds
    longest = max(right - left, high - low)
    if outline.origin != "dimensions" and thickness_mm > longest:
        raise RangeError(
            f"A thickness of {thickness_mm:g} mm is more than the {longest:.4g} mm length of the part.",
            remedy="Check the unit of the thickness; describe rods and tubes with areakit surface --shape.",
        )


def thickness_mm(value_mm: float, tolerance_mm: float | None = None) -> Measured:
    """Return a thickness with its share ``thickness``.

    A tolerance is the half-width of a rectangular distribution (JCGM 100:2008, 4.3.7). Without one, the standard
    uncertainty is 0.02 mm and 2 %, added in quadrature: a caliper at the bench (common practice, no source).
    """
    if tolerance_mm is None:
        spread = math.hypot(_THICKNESS_FLOOR_MM, _THICKNESS_RELATIVE * value_mm)
    else:
        spread = tolerance_mm / math.sqrt(3.0)
    return Measured(value=value_mm, unit="mm", budget={"thickness": spread})
