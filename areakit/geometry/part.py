"""What is plated: an outline, its thickness, and which faces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from areakit.errors import RangeError
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured

Faces = Literal["one", "both", "all"]
"""``one`` face; ``both`` faces; ``all`` over: both faces and every sidewall."""


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
        if self.thickness is not None and not 0.0 < self.thickness.value <= 500.0:
            raise RangeError(
                f"A thickness of {self.thickness.value:g} mm is outside 0 to 500 mm.",
                remedy="Give the thickness of the part itself, with its unit.",
            )
        if self.faces == "all" and self.thickness is None:
            raise RangeError(
                "All over includes the sidewalls, and their height is not known.",
                remedy="Give the thickness with --thickness, or choose --faces one or both.",
            )
