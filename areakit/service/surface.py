"""Surfaces from a drawing or from typed shapes: one request of plain text in, one result out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from areakit.errors import InputError, RangeError
from areakit.flags import Flag, flag
from areakit.geometry.bench_size import beyond_bench, size_words
from areakit.geometry.drawing import EDGE_MM, Drawing, drawn_outline
from areakit.geometry.forms.table import typed_outline
from areakit.geometry.forms.words import read_form
from areakit.geometry.outline import Outline
from areakit.geometry.part import Part
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import TypedShape, typed_shape
from areakit.geometry.surface import Surface, plated_surface
from areakit.records.area_lines import part_bodies, text_left_out
from areakit.records.measure_json import surface_result_json
from areakit.service.form_regions import LAYER, layers_of, shared_out
from areakit.service.idle_entries import check_entries, check_walls
from areakit.service.part_body import part_from_body
from areakit.service.part_description import (
    SurfaceRequest,
    described_part,
    described_regions,
    length_mm,
    read_folds,
    read_outlines,
)
from areakit.uncertainty import Measured, total


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPart:
    """One part with its surfaces."""

    part_id: int
    part: Part
    surface: Surface


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceResult:
    """Every part, and the plated area of all pieces together. [mm2]

    ``sagitta_mm`` and ``ignored`` tell how a drawing was read; None and empty for typed shapes. ``regions_left_out``
    counts the regions of measured photos that have no area: no total is one of all of them.
    """

    parts: tuple[FoundPart, ...]
    count: int
    plated: Measured
    sagitta_mm: float | None
    ignored: Mapping[str, int]
    flags: tuple[Flag, ...]
    regions_left_out: int = 0


def find_surfaces(
    request: SurfaceRequest, outlines: Drawing | None = None, *, measured: str | None = None
) -> SurfaceResult:
    """Return the surfaces of every part of a drawing, of every typed shape, or of every measured part.

    InputError, MeasurementError with one sentence on what is wrong and one on what to do.

    Parameters
    ----------
    request : SurfaceRequest
    outlines : Drawing, optional
        Outlines that were read already, in place of a file that the request names.
    measured : str, optional
        What a measurement printed as JSON, in place of either: its outlines keep their uncertainty, its thickness,
        its faces (unless the request names others) and the regions that were drawn over it.
    """
    given = [request.drawing is not None, outlines is not None, bool(request.shapes), measured is not None]
    typed_form = bool(request.form) and not any(given)
    if given.count(True) != 1 and not typed_form:
        raise InputError(
            "Give one drawing, or at least one shape, or one measurement.",
            remedy="Name a drawing, type a shape, or give what was measured.",
            fields={"shape": "disk 30 mm", "from": ""},
        )
    if not 1 <= request.count <= 1_000_000:
        raise RangeError(f"A count of {request.count} pieces is outside 1 to 1000000.", remedy="Check the count.")
    drawing = outlines
    if request.drawing is not None:
        drawing = read_outlines(
            request.drawing, unit=request.unit, sagitta=request.sagitta, without=_other_layers(request)
        )
    measured_parts = [part_from_body(body) for body in part_bodies(measured)] if measured is not None else []
    if measured is not None and not measured_parts:
        raise InputError(
            "The JSON holds no measured part.",
            remedy="Measure again, and give the whole answer.",
            fields={"areakit measure --json": ""},
        )
    if measured_parts:
        shapes = [_measured(part) for part in measured_parts]
    elif typed_form:
        shapes = [TypedShape(outline=typed_outline(read_form(request.form)))]
    elif drawing is not None:
        shapes = [TypedShape(outline=outline) for outline in _drawn_outlines(drawing, request)]
    else:
        shapes = _typed(request)
    found: list[FoundPart] = []
    flags = list(drawing.flags) if drawing else []
    flags += _size_asked([] if drawing is not None or measured_parts else shapes)
    folds = read_folds(request)
    described: list[Part] = []
    for place, shape in enumerate(shapes):
        part, notes = described_part(shape, request, folds)
        described.append(with_drawn_regions(part, measured_parts[place]) if measured_parts else part)
        flags += notes
    masked = any(part.masks for part in measured_parts)
    check_entries(request, drawn=drawing is not None, masked=masked)
    check_walls(request, described)
    for number, part in enumerate(shared_out(described, described_regions(request, flags)), start=1):
        found.append(FoundPart(part_id=number, part=part, surface=plated_surface(part)))
    all_areas = total([one.surface.plated for one in found], "mm2")
    flags += [note for one in found for note in one.surface.flags]
    return SurfaceResult(
        parts=tuple(found),
        count=request.count,
        plated=_times(all_areas, request.count),
        sagitta_mm=drawing.sagitta_mm if drawing else None,
        ignored=drawing.ignored if drawing else {},
        flags=tuple(dict.fromkeys(flags)),
        regions_left_out=text_left_out(measured) if measured is not None else 0,
    )


def _other_layers(request: SurfaceRequest) -> tuple[str, ...]:
    """Return the layers of the drawing that are no outline."""
    folds = (request.folds.removeprefix(LAYER).strip(),) if request.folds.startswith(LAYER) else ()
    return (*layers_of(request.regions), *folds)


def _measured(part: Part) -> TypedShape:
    return TypedShape(
        outline=part.outline,
        thickness=part.thickness,
        faces=part.faces,
        form=part.form,
        view=part.view,
        edge_form=part.edge_form,
    )


def _size_asked(typed: Sequence[TypedShape]) -> list[Flag]:
    """Return a note on each typed shape of a size that no part of a bench has."""
    polygons = [shape.outline.polygon for shape in typed]
    return [flag("SIZE_BEYOND_BENCH", size=size_words([one])) for one in polygons if beyond_bench([one])]


def _drawn_outlines(drawing: Drawing, request: SurfaceRequest) -> list[Outline]:
    edge = length_mm(request.edge, "edge").value / math.sqrt(3.0) if request.edge else EDGE_MM
    return [drawn_outline(polygon, sagitta_mm=drawing.sagitta_mm, edge=edge) for polygon in drawing.polygons]


def _typed(request: SurfaceRequest) -> list[TypedShape]:
    if len(request.shapes) > 1 and (request.plus or request.minus):
        raise InputError(
            "Which shape to add to or cut from is not clear.", remedy="Give one shape at a time.", fields={"shape": ""}
        )
    tags = [f"shape {i} " if len(request.shapes) > 1 else "" for i in range(1, len(request.shapes) + 1)]
    plus = [read_shape(text, tag=f"added {i} ") for i, text in enumerate(request.plus, start=1)]
    minus = [read_shape(text, tag=f"cut {i} ") for i, text in enumerate(request.minus, start=1)]
    bases = [read_shape(text, tag=tag) for text, tag in zip(request.shapes, tags, strict=True)]
    return [typed_shape(base, plus=plus, minus=minus) for base in bases]


def with_drawn_regions(part: Part, measured: Part) -> Part:
    """Return the part with the regions that were drawn over the measured one; a new significant surface wins."""
    return replace(
        part,
        masks=(*measured.masks, *part.masks),
        significant=part.significant or measured.significant,
        regions=measured.regions,
    )


def _times(area: Measured, count: int) -> Measured:
    return Measured(
        value=area.value * count, unit=area.unit, budget={name: share * count for name, share in area.budget.items()}
    )


def surface_json(result: SurfaceResult) -> dict[str, Any]:
    """Return a result as one JSON object: the parts, what of the photo has no area, and how the drawing was read."""
    parts = [(one.part_id, one.surface, one.part.outline, one.part.thickness) for one in result.parts]
    body = surface_result_json(parts, result.plated, count=result.count, flags=result.flags)
    body["regions_left_out"] = result.regions_left_out
    body["drawing"] = {"sagitta_mm": result.sagitta_mm, "ignored": dict(result.ignored)}
    return body
