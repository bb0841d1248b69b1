"""What is plated: an outline, its thickness, which faces, and what else shapes its surface."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from areakit.errors import OutlineInvalid, RangeError
from areakit.geometry.edge_forms import SHARP, EdgeForm
from areakit.geometry.face_choice import Faces as Faces
from areakit.geometry.features import Dome, Mask, Recess, Region, Rim, Side, Taper
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.geometry.regions import FormRegion
from areakit.geometry.unseen import Relief
from areakit.uncertainty import Measured

SIDES: dict[str, frozenset[Side]] = {
    "one": frozenset({"front"}),
    "front": frozenset({"front"}),
    "back": frozenset({"back"}),
    "both": frozenset({"front", "back"}),
    "walls": frozenset({"wall"}),
    "all": frozenset({"front", "back", "wall"}),
    "front-and-edges": frozenset({"front", "wall"}),
}

# Caliper or rule at the bench, METROLOGY: 0.02 mm and 2 % of the thickness. Common practice, no source.
_THICKNESS_FLOOR_MM = 0.02
_THICKNESS_RELATIVE = 0.02
_THICKEST_MM = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One kind of part.

    - ``outline``: the largest section; with a taper, the back.
    - ``thickness``: length of the side wall from face to face. [mm] None where nobody said.
    - ``faces``: which of its surfaces are plated.
    - ``masks``: what is kept or stopped off, in part coordinates.
    - ``overspill``: how far plating spreads past the edge of a mask. [mm]
    - ``significant``: the significant surface, on the front, in part coordinates. [mm]
    - ``recesses``, ``taper``, ``dome``, ``rim``: what the outline does not show.
    - ``relief``: factors for relief on the front, the back or the walls.
    - ``bend_radius``: radius of the front of a bent strip whose outline is laid flat. [mm]
    - ``form``: what the outline is of; None is a flat part. ``front`` is then the outside, ``back`` the inside,
      ``wall`` ends and edges.
    - ``view``: where the camera stood over an outline from a photo; None where it was drawn.
    - ``regions``: regions of the outline with forms of their own; the part's form is that of the rest.
    - ``edge_form``: of a flat part: whether its edges are rounded.
    """

    outline: Outline
    thickness: Measured | None
    faces: Faces = "one"
    masks: tuple[Mask, ...] = ()
    overspill: Measured | None = None
    significant: Region | None = None
    recesses: tuple[Recess, ...] = ()
    taper: Taper | None = None
    dome: Dome | None = None
    rim: Rim | None = None
    relief: Mapping[Side, Relief] = field(default_factory=dict)
    bend_radius: Measured | None = None
    form: FormText | None = None
    view: View | None = None
    regions: tuple[FormRegion, ...] = ()
    edge_form: EdgeForm = SHARP

    def __post_init__(self) -> None:
        if self.faces not in SIDES:
            raise RangeError(f"{self.faces!r} is not a choice of faces.", remedy=f"Choose one of {', '.join(SIDES)}.")
        if self.form is not None and self.form.name == "flat":
            object.__setattr__(self, "form", None)
        if self.thickness is not None:
            _check_thickness(self.thickness.value, self.outline)
        elif "wall" in self.sides and self.taper is None and self.form is None:
            raise RangeError(
                "The side walls are to be plated, and their height is not known.",
                remedy="Give the thickness, or choose front or both as what is plated.",
                fields={"thickness": "1.2 mm", "faces": "front"},
            )
        for recess in self.recesses:
            _check_recess(recess, self)
        if self.edge_form.name != "sharp":
            _check_edge_form(self)

    def refuse_worked(self, what: str, remedy: str, *, significant: bool = False) -> None:
        """Refuse what is worked on one flat face as a whole, and ``significant`` surfaces where they cannot be told.

        Raises RangeError.
        """
        strange = {
            "a recess": bool(self.recesses),
            "a draft or bevel": self.taper is not None,
            "a dome": self.dome is not None,
            "a rim": self.rim is not None,
            "a bend": self.bend_radius is not None,
            "relief": bool(self.relief),
            "a significant surface": significant and self.significant is not None,
        }
        for name in (name for name, is_there in strange.items() if is_there):
            raise RangeError(f"{what} cannot have {name} here.", remedy=remedy)

    @property
    def sides(self) -> frozenset[Side]:
        """The sides that are plated."""
        return SIDES[self.faces]


def _check_range(thickness: float) -> None:
    if not 0.0 < thickness <= _THICKEST_MM:
        raise RangeError(
            f"A thickness of {thickness:g} mm is outside 0 to {_THICKEST_MM:g} mm.",
            remedy="Give the thickness of the part itself, with its unit.",
        )


def _check_thickness(thickness: float, outline: Outline) -> None:
    _check_range(thickness)
    left, low, right, high = outline.polygon.bounds
    longest = max(right - left, high - low)
    if outline.origin != "dimensions" and thickness > longest:
        raise RangeError(
            f"A thickness of {thickness:g} mm is more than the {longest:.4g} mm length of the part.",
            remedy="Check the unit of the thickness; rods and tubes are typed as shapes.",
            fields={"areakit surface --shape": ""},
        )


def _check_edge_form(part: Part) -> None:
    """Refuse rounded edges of what has no such edges; a rounding needs the thickness that it fits into."""
    if part.form is not None or part.taper is not None or part.bend_radius is not None or part.regions:
        raise RangeError(
            "Rounded edges are those of a flat part with upright walls.",
            remedy="Leave the form of the edge out, or the form, regions, bevel, draft or bend of the part.",
        )
    if part.thickness is not None:
        part.edge_form.inset(part.thickness)
    elif part.edge_form.name == "rounded":
        raise RangeError(
            "How high the rounded edges stand is not known without the thickness of the part.",
            remedy="Give the thickness.",
            fields={"thickness": "1.2 mm"},
        )


def _check_recess(recess: Recess, part: Part) -> None:
    if part.thickness is not None and recess.depth.value >= part.thickness.value:
        raise RangeError(
            f"A recess of {recess.depth.value:g} mm goes through the part ({part.thickness.value:g} mm thick).",
            remedy="Draw it as a hole, or correct the depth.",
        )
    if not part.outline.polygon.buffer(1e-6).covers(recess.region):
        raise OutlineInvalid(
            "A recess lies outside the face, or across its edge.", remedy="Give its place in part coordinates."
        )


def thickness_mm(value_mm: float, tolerance_mm: float | None = None) -> Measured:
    """Return a thickness with its share ``thickness``.

    A tolerance is the half-width of a rectangular distribution (JCGM 100:2008, 4.3.7). Without one, the standard
    uncertainty is 0.02 mm and 2 %, added in quadrature: a caliper at the bench (common practice, no source).

    Raises RangeError if it is no thickness of a part, or the tolerance reaches down to a thickness of nothing.
    """
    _check_range(value_mm)
    if tolerance_mm is not None and value_mm > 0.0 and tolerance_mm >= value_mm:
        raise RangeError(
            f"A thickness of {value_mm:g} ± {tolerance_mm:g} mm may be nothing or less.",
            remedy="Measure the part with a calliper, and give a ± smaller than the thickness; or leave the thickness "
            "out: the uncertainty then covers parts up to 2 mm.",
        )
    if tolerance_mm is None:
        spread = math.hypot(_THICKNESS_FLOOR_MM, _THICKNESS_RELATIVE * value_mm)
    else:
        spread = tolerance_mm / math.sqrt(3.0)
    return Measured(value=value_mm, unit="mm", budget={"thickness": spread})
