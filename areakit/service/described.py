"""What the bench says of the parts of one photo: form, thickness, faces and edges, of all and of single ones."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast, get_args

from areakit.errors import InputError, UnitError
from areakit.geometry.edge_forms import SHARP, EdgeForm, read_edge_form
from areakit.geometry.edge_makes import EdgeMake, edge_make
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.table import is_at_axis, tracing_height
from areakit.geometry.forms.words import FormText, read_form
from areakit.geometry.part import Faces, thickness_mm
from areakit.imaging.outlines import OwnWords
from areakit.service.asked import asked_of
from areakit.service.form_regions import has_forms
from areakit.service.measure_request import MeasureRequest
from areakit.uncertainty import Measured, propagate
from areakit.units import parse_with_tolerance

if TYPE_CHECKING:
    from areakit.imaging.scale import PlaneScale

_PART = re.compile(r"\s*(\d{1,4})\s*:\s*(.+)", re.DOTALL)
_KEYS = tuple(name.replace("_", "-") for name, one in asked_of(MeasureRequest).items() if one.about.each)


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """What is said of one part: its thickness [mm], its form (None for flat), its faces, make and form of its edge.

    ``form_said`` tells that somebody said the form, flat or another.
    """

    thickness: Measured | None
    form: FormText | None
    faces: Faces
    edge_make: EdgeMake
    edge_form: EdgeForm
    form_said: bool = True

    def __post_init__(self) -> None:
        if self.form is None and self.faces in {"all", "walls", "front-and-edges"} and self.thickness is None:
            raise InputError(
                f"Faces {self.faces!r} include the side walls, and their height is not known.",
                remedy="Give the thickness, or choose one or both as what is plated.",
                fields={"thickness": "1.2 mm", "faces": "one"},
            )

        if self.edge_form.name == "rounded" and self.form is None:
            if self.thickness is None:
                raise InputError(
                    "How high rounded edges stand is not known without the thickness of the part.",
                    remedy="Give the thickness.",
                    fields={"thickness": "1.2 mm"},
                )
            self.edge_form.inset(self.thickness)
        if self.edge_form.name != "sharp" and self.form is not None:
            raise InputError(
                f"A part of the form {self.form.name} has no edge that is {self.edge_form.name}.",
                remedy="Leave the form of its edge out; it is for flat parts.",
                fields={"edge_form": ""},
            )

    @property
    def level(self) -> Measured | None:
        """Height above the sheet of the upper widest line, at which the outline is read. [mm]"""
        if self.height is None or self.edge_form.name == "sharp":
            return self.height
        return propagate(lambda t, r: t - r, self.height, self.edge_form.inset(self.height), unit="mm")

    @property
    def height(self) -> Measured | None:
        """Height of the part above the sheet, of the axis of a round one. [mm]"""
        return self.thickness if self.form is None else tracing_height(self.form, self.thickness)


@dataclass(frozen=True, slots=True, kw_only=True)
class Descriptions:
    """What is said of all parts, and of single ones by their number."""

    usual: Description
    own: Mapping[int, Description]

    @property
    def height(self) -> Measured | None:
        """Height at which outlines are read. [mm]"""
        return self.usual.height

    @property
    def own_words(self) -> dict[int, OwnWords]:
        """Heights and edges of single parts."""
        return {
            number: OwnWords(height=one.height, edge=one.edge_make, form=one.edge_form)
            for number, one in self.own.items()
        }

    def of(self, number: int) -> Description:
        """Return what is said of one part."""
        return self.own.get(number, self.usual)


def read_descriptions(request: MeasureRequest) -> Descriptions:
    """Return what a request says of the parts.

    InputError for a form, faces, a make or form of the edge or a description that makes no sense, or two of one part.
    """
    faces = request.faces or ("all" if has_forms(request.regions) else "")
    usual = _description(request.thickness, request.form, faces, edge=(request.edge_make, request.edge_form))
    own: dict[int, Description] = {}
    for text in request.parts:
        number, said = _part(text)
        if number in own:
            raise InputError(f"Part {number} was described twice.", remedy="Write all of it once.")
        form = said.get("form", request.form)
        given = _for_all(form if form != request.form else None, request)
        own[number] = _description(
            said.get("thickness", given["thickness"]),
            form,
            said.get("faces", faces if form == request.form else ""),
            edge=(said.get("edge-make", request.edge_make), said.get("edge-form", given["edge-form"] or "")),
        )
    return Descriptions(usual=usual, own=own)


def _for_all(form: str | None, request: MeasureRequest) -> dict[str, str | None]:
    """Return what of the words for all parts holds for one of another form: a wire has no thickness, and no edge."""
    said: dict[str, str | None] = {"thickness": request.thickness, "edge-form": request.edge_form}
    own = read_form(form) if form else None
    if own is None or own.name == "flat":
        return said
    return {"thickness": None if is_at_axis(own) else request.thickness, "edge-form": None}


def _part(text: str) -> tuple[int, dict[str, str]]:
    """Return number and words of ``2: thickness 0.3 mm; form round; faces all``."""
    match = _PART.fullmatch(text)
    if match is None or int(match[1]) < 1:
        raise InputError(
            f"{text[:40]!r} does not describe a part.", remedy="Write it as: 2: thickness 0.3 mm; form round."
        )
    said: dict[str, str] = {}
    for clause in match[2].split(";"):
        key, _, value = clause.strip().partition(" ")
        if key not in _KEYS or not value.strip() or key in said:
            raise InputError(
                f"{clause.strip()[:40]!r} is not understood of part {match[1]}.",
                remedy=f"Say {', '.join(_KEYS)}, each once, as in: 2: thickness 0.3 mm; form round.",
            )
        said[key] = value.strip()
    return int(match[1]), said


def _description(thickness: str | None, form: str | None, faces: str, *, edge: tuple[str, str]) -> Description:
    shape = read_form(form) if form else None
    if shape is not None and shape.name == "flat":
        shape = None
    chosen = faces or ("one" if shape is None else "all")
    if chosen not in get_args(Faces):
        raise InputError(f"{chosen!r} is not a choice of faces.", remedy=f"Choose one of {', '.join(get_args(Faces))}.")
    if shape is not None and is_at_axis(shape) and thickness:
        raise InputError(
            f"A part of the form {shape.name} has no thickness.",
            remedy="Leave it out: how high it lies follows from its outline. A wall stands with the form.",
        )
    made, edge_form = edge
    return Description(
        thickness=read_thickness(thickness),
        form=shape,
        faces=cast(Faces, chosen),
        edge_make=edge_make(made),
        edge_form=read_edge_form(edge_form) if edge_form else SHARP,
        form_said=bool(form),
    )


def read_thickness(text: str | None) -> Measured | None:
    """Return a thickness from text; UnitError says that it is about the thickness. [mm]"""
    if text is None:
        return None
    try:
        value, tolerance = parse_with_tolerance(text, "length")
    except UnitError as error:
        raise UnitError(error.message, remedy=error.remedy, fields={"thickness": "1.2 mm"}) from None
    return thickness_mm(value * 1e3, None if tolerance is None else tolerance * 1e3)


def view_of(scale: PlaneScale, height: Measured | None) -> View:
    """Return where the camera stood over the outlines that were read at a height. [mm]"""
    centre = scale.camera.centre_mm
    ((x, y),) = scale.turned_up(centre[None, :2])
    return View(
        x_mm=float(x),
        y_mm=float(y),
        height_mm=scale.camera.height_mm,
        level_mm=height.value if height else 0.0,
        level_open_mm=height.standard_uncertainty if height else 0.0,
        pixel_mm=scale.mm_per_px,
    )
