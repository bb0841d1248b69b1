"""A part as the bench describes it: plain text in, one part out."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, cast

from areakit.errors import FileError, InputError, RangeError, UnitError
from areakit.flags import Flag, flag
from areakit.geometry.drawing import FOLD_REACH_MM, Drawing, fold_lines, folds_on, read_drawing
from areakit.geometry.edge_forms import read_edge_form
from areakit.geometry.features import MASK_EDGE_MM, Dome, Mask, Recess, Region, Rim, Side, Taper
from areakit.geometry.forms.words import FormText, read_form
from areakit.geometry.outline import Outline, hole_region
from areakit.geometry.part import Faces, Part, thickness_mm
from areakit.geometry.readers.limits import Limits
from areakit.geometry.readers.reader import reader_name
from areakit.geometry.regions import FormRegion
from areakit.geometry.shape_text import SHAPES, read_shape
from areakit.geometry.shapes import TypedShape, placed_region, shape_perimeter
from areakit.geometry.unseen import Relief, relief_from_coupon, relief_of_kind, tapered, unrolled
from areakit.service.form_regions import LAYER, has_forms, read_regions
from areakit.service.surface_request import SurfaceRequest as SurfaceRequest
from areakit.uncertainty import Measured
from areakit.units import parse, parse_with_tolerance

LONGEST_MM = 1e6
"""No length of a part, not even the radius of a bend that is nearly flat, is a kilometre (own choice)."""
_TOLD = re.compile(r"±|\+/-|\+-")
_HOLE = re.compile(r"\s*hole\s+(\d{1,4})\s*")
_MASK_SIDES: dict[str, frozenset[Side]] = {
    "front": frozenset({"front"}),
    "back": frozenset({"back"}),
    "both": frozenset({"front", "back"}),
}


def read_outlines(
    path: Path, *, unit: str | None = None, sagitta: str = "", layer: str | None = None, without: Sequence[str] = ()
) -> Drawing:
    """Return the outlines of a drawing file, by its suffix: all of it, or one layer, or all but some.

    FileError if there is no such file, or it is too long.
    """
    name = reader_name(path)
    try:
        if not path.is_file():
            raise FileError(f"There is no file {path}.", remedy="Check the name.")
        size, limit = path.stat().st_size, Limits().bytes
        if size > limit:
            raise FileError(
                f"{path.name} has {size / 1e6:.0f} MB; the limit is {limit / 1e6:.0f} MB.",
                remedy="Save only the outline of the part into a file of its own.",
            )
        data = path.read_bytes()
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror}.", remedy="Check the name and the rights.") from None
    return read_drawing(
        data,
        name,
        unit=unit,
        sagitta_mm=length_mm(sagitta).value if sagitta else None,
        layer=layer,
        without=without,
    )


def read_folds(request: SurfaceRequest) -> list[Any]:
    """Return the fold lines that a request names: a file, or a layer of the drawing. [mm]"""
    if not request.folds:
        return []
    if not request.form.startswith("folded"):
        raise InputError(
            "Fold lines are those of folded sheet.", remedy="Give the form too.", fields={"form": "folded, radius 1 mm"}
        )
    layer = request.folds.removeprefix(LAYER).strip() if request.folds.startswith(LAYER) else None
    path = Path(request.folds) if layer is None else request.drawing
    if path is None:
        raise InputError("A layer is one of a drawing, and there is none.", remedy="Name a file of fold lines instead.")
    try:
        data = path.read_bytes()
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror}.", remedy="Check the name and the rights.") from None
    return list(fold_lines(data, reader_name(path), unit=request.unit, layer=layer))


def _form_text(shape: TypedShape, request: SurfaceRequest, folds: Sequence[Any]) -> str:
    """Return the form as typed, with the folds that were drawn on this part."""
    if not folds:
        return request.form
    length, count = folds_on(shape.outline.polygon, folds)
    if not count:
        return "flat"
    told = f"{request.form}, fold {length:.4f} ± {2.0 * FOLD_REACH_MM * count:g} mm"
    return f"{told}, folds {count}" if ", leaf" in request.form else told


def described_part(shape: TypedShape, request: SurfaceRequest, folds: Sequence[Any] = ()) -> tuple[Part, list[Flag]]:
    """Return the part that a request describes on a shape, and the notes on the files that were read for it."""
    flags: list[Flag] = []
    typed = _form_text(shape, request, folds)
    form = read_form(typed) if typed else shape.form
    thickness = shape.thickness
    if request.thickness:
        if thickness is not None:
            raise InputError(
                "The shape has its thickness already.", remedy="Leave the thickness out.", fields={"thickness": ""}
            )
        value, tolerance = _value_and_tolerance(request.thickness)
        thickness = thickness_mm(value, tolerance)
    outline, bend = shape.outline, None
    if request.bend_radius:
        bend = length_mm(request.bend_radius, "bend radius")
        outline = unrolled(outline, bend, axis_deg=math.degrees(parse(request.bend_axis, "angle")))
    part = Part(
        outline=outline,
        thickness=thickness,
        faces=_faces(request.faces, _usual_faces(shape, form, request)),
        masks=_masks(request, outline, flags),
        overspill=_overspill(request.overspill),
        significant=_region(request.significant, request, flags) if request.significant else None,
        recesses=_recesses(request, flags),
        taper=_slope(request, outline, thickness) or shape.taper,
        dome=_dome(request) or shape.dome,
        rim=_rim(request.rim),
        relief=_reliefs(request),
        bend_radius=bend,
        form=form,
        view=shape.view,
        edge_form=read_edge_form(request.edge_form) if request.edge_form else shape.edge_form,
    )
    return part, flags + _without_tolerance(request)


def _without_tolerance(request: SurfaceRequest) -> list[Flag]:
    """Say which figures came without a tolerance; a thickness or an overspill has a usual one."""
    figures = {
        "the depth of the recess": request.recess_depth,
        "the rise of the dome": request.dome_height,
        "the radius of the bend": request.bend_radius,
        "the draft": request.draft,
        "the bevel": request.bevel,
        "the rim": request.rim,
    }
    return [flag("NO_TOLERANCE", dimension=name) for name, text in figures.items() if text and not _TOLD.search(text)]


def _usual_faces(shape: TypedShape, form: FormText | None, request: SurfaceRequest) -> Faces | None:
    """Return what is plated where nobody says: a form is new to a flat part, so its faces are not those of the form."""
    return "all" if (form is not None and form != shape.form) or has_forms(request.regions) else shape.faces


def _faces(told: str, solid: Faces | None) -> Faces:
    return cast(Faces, told or solid or "front")


def _masks(request: SurfaceRequest, outline: Outline, flags: list[Flag]) -> tuple[Mask, ...]:
    if request.mask_sides not in _MASK_SIDES:
        raise InputError(f"{request.mask_sides!r} is not a side for masks.", remedy="Choose front, back or both.")
    edge = (length_mm(request.mask_edge).value if request.mask_edge else MASK_EDGE_MM) / math.sqrt(3.0)
    sides = _MASK_SIDES[request.mask_sides]
    return tuple(
        Mask(region=_on_part(text, outline, request, flags), keep=keep, sides=sides, edge_mm=edge)
        for regions, keep in ((request.keep, True), (request.stop_off, False))
        for text in regions
    )


def _on_part(text: str | Region, outline: Outline, request: SurfaceRequest, flags: list[Flag]) -> Region:
    """Return a region, which may be a hole of the part by its number in the drawing: a plug closes it, wall and all."""
    number = _HOLE.fullmatch(text) if isinstance(text, str) else None
    return _region(text, request, flags) if number is None else hole_region(outline, int(number[1]))


def _region(text: str | Region, request: SurfaceRequest, flags: list[Flag]) -> Region:
    """Return the region of a written shape or of a file of outlines, or the region that was given. [mm]"""
    if not isinstance(text, str):
        return text
    if text.split(" ")[0].lower() in SHAPES:
        return placed_region(read_shape(text))
    if text.startswith(LAYER):
        return _layer(text.removeprefix(LAYER).strip(), request)
    drawing = read_outlines(Path(text), unit=request.unit)
    flags += drawing.flags
    return drawing.region


def sheet_region(text: str) -> Region:
    """Return the region of a written shape or of a file of outlines, in millimetres of the sheet."""
    try:
        return _region(text, SurfaceRequest(), [])
    except UnitError as error:
        if "unit" not in error.fields:
            raise
        raise UnitError(
            error.message, remedy="Save it as DXF or SVG with its unit in it: over a photo none can be stated."
        ) from None


def _layer(name: str, request: SurfaceRequest) -> Region:
    if request.drawing is None:
        raise InputError("A layer is one of a drawing, and there is none.", remedy="Name a shape or a file instead.")
    return read_outlines(request.drawing, unit=request.unit, sagitta=request.sagitta, layer=name).region


def described_regions(request: SurfaceRequest, flags: list[Flag]) -> tuple[FormRegion, ...]:
    """Return the regions with forms of their own."""
    return read_regions(request.regions, lambda place: _region(place, request, flags), photo=False)


def _overspill(text: str) -> Measured | None:
    """Return the margin; without a tolerance it is taken as known to half of itself (common practice, no source)."""
    if not text:
        return None
    value, tolerance = _value_and_tolerance(text)
    spread = (value / 2.0 if tolerance is None else tolerance) / math.sqrt(3.0)
    if not 0.0 < value <= 50.0:
        raise RangeError(f"An overspill of {value:g} mm is outside 0 to 50 mm.", remedy="Measure it on a plated part.")
    return Measured(value=value, unit="mm", budget={"overspill": spread})


def _recesses(request: SurfaceRequest, flags: list[Flag]) -> tuple[Recess, ...]:
    if bool(request.recess) != bool(request.recess_depth):
        raise InputError(
            "A recess needs its outline and its depth.", remedy="Give both.", fields={"recess": "", "recess_depth": ""}
        )
    if not request.recess:
        return ()
    depth = length_mm(request.recess_depth, "recess depth")
    recesses = []
    for number, text in enumerate(request.recess, start=1):
        region = _region(text, request, flags)
        if isinstance(text, str) and text.split(" ")[0].lower() in SHAPES:
            perimeter = shape_perimeter(read_shape(text, tag=f"recess {number} "))
        else:
            perimeter = Measured(value=region.length, unit="mm")
        recesses.append(Recess(region=region, perimeter=perimeter, depth=depth))
    return tuple(recesses)


def _slope(request: SurfaceRequest, outline: Outline, thickness: Measured | None) -> Taper | None:
    if not (request.draft or request.bevel):
        return None
    if request.draft and request.bevel:
        raise InputError("Draft and bevel cannot be combined.", remedy="Give the larger of the two.")
    if thickness is None:
        raise InputError(
            "A sloping wall needs the thickness.", remedy="Give the thickness.", fields={"thickness": "1.2 mm"}
        )
    if request.draft:
        return tapered(outline, thickness, angle_deg=_degrees(request.draft))
    height, by, angle = request.bevel.partition(" x ")
    if not by:
        raise InputError(f"{request.bevel!r} is not a bevel.", remedy="Write it as '0.5 mm x 45 deg'.")
    return tapered(outline, thickness, angle_deg=_degrees(angle), height=length_mm(height, "bevel height"))


def _degrees(text: str) -> Measured:
    value, tolerance = parse_with_tolerance(text, "angle")
    share = math.degrees(tolerance or 0.0) / math.sqrt(3.0)
    return Measured(value=math.degrees(value), unit="deg", budget={"wall angle": share})


def _dome(request: SurfaceRequest) -> Dome | None:
    if not request.dome_height:
        return None
    sides: frozenset[Side] = frozenset({"front", "back"}) if request.hollow else frozenset({"front"})
    return Dome(height=length_mm(request.dome_height, "dome height"), sides=sides)


def _rim(text: str) -> Rim | None:
    if not text:
        return None
    width, by, height = text.partition(" x ")
    if not by:
        raise InputError(f"{text!r} is not a rim.", remedy="Write width x height, as in '1 mm x 0.3 mm'.")
    return Rim(width=length_mm(width, "rim width"), height=length_mm(height, "rim height"))


def _reliefs(request: SurfaceRequest) -> dict[Side, Relief]:
    told: dict[Side, str] = {"front": request.relief, "back": request.back_relief, "wall": request.wall_relief}
    return {side: _relief(text) for side, text in told.items() if text}


def _relief(text: str) -> Relief:
    """Return a row of the table, or a factor of the user's own with its tolerance."""
    if not text[:1].isdigit():
        return relief_of_kind(text)
    factor, tolerance = parse_with_tolerance(text, "number")
    if tolerance is None:
        raise InputError(f"The relief factor {text} has no tolerance.", remedy="Write it as 1.08 ± 0.02.")
    return relief_from_coupon(factor, tolerance)


def length_mm(text: str, label: str = "") -> Measured:
    """Return a length above zero in mm, its tolerance as a rectangular share."""
    value, tolerance = _value_and_tolerance(text)
    if not value > 0.0:
        raise RangeError(f"The {label or 'length'} of {value:g} mm is not above 0 mm.", remedy="Check the figure.")
    if value > LONGEST_MM:
        raise RangeError(
            f"The {label or 'length'} of {value:g} mm is above {LONGEST_MM:.0f} mm.",
            remedy="Check the figure and its unit.",
        )
    return Measured(value=value, unit="mm", budget={label or "length": (tolerance or 0.0) / math.sqrt(3.0)})


def _value_and_tolerance(text: str) -> tuple[float, float | None]:
    value, tolerance = parse_with_tolerance(text, "length")
    return 1000.0 * value, None if tolerance is None else 1000.0 * tolerance
