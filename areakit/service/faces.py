"""Measured parts with other faces plated: arithmetic on what was measured, without the photo."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast, get_args

from areakit.errors import InputError
from areakit.geometry.edge_makes import edge_make
from areakit.geometry.part import Faces
from areakit.geometry.surface import plated_surface
from areakit.records.measure_json import part_json
from areakit.service.described import Description
from areakit.service.part_body import part_from_body


@dataclass(frozen=True, slots=True, kw_only=True)
class FacesRequest:
    """Parts as a measurement printed them, and for each which surfaces are plated now."""

    parts: Sequence[Mapping[str, Any]]
    faces: Sequence[str]


def with_faces(request: FacesRequest) -> list[dict[str, Any]]:
    """Return the parts, computed anew with other faces; what was drawn or corrected by hand is laid on afterwards.

    InputError for a part that no measurement printed, a choice of faces that is none, or edges without a thickness.
    """
    if len(request.parts) != len(request.faces) or not request.parts:
        raise InputError(
            f"There are {len(request.parts)} parts and {len(request.faces)} choices of faces.",
            remedy="Give one choice for each part.",
        )
    return [_with_faces(body, faces) for body, faces in zip(request.parts, request.faces, strict=True)]


def _with_faces(body: Mapping[str, Any], faces: str) -> dict[str, Any]:
    if faces not in get_args(Faces):
        raise InputError(
            f"{faces[:20]!r} is not a choice of faces.", remedy=f"Choose one of {', '.join(get_args(Faces))}."
        )
    part = replace(part_from_body(body), faces=cast(Faces, faces))
    made = edge_make(part.outline.edge_make)
    Description(  # edges of a flat part need its thickness
        thickness=part.thickness, form=part.form, faces=part.faces, edge_make=made, edge_form=part.edge_form
    )
    return part_json(body.get("id", 1), plated_surface(part), part.outline, part.thickness)
