"""A part as a measurement printed it, made a part again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast, get_args

from areakit.errors import InputError
from areakit.flags import Flag
from areakit.geometry.geojson import polygon_from_geojson
from areakit.geometry.outline import Outline
from areakit.geometry.part import Faces, Part
from areakit.records.codec import quantity_from_json

_AGAIN = "Measure the photo again, and use a part that it gives."
_RECOMPUTED = {"CORRECTED_BY_HAND", "HOLE_ADDS_AREA", "FOIL_EDGE"}
"""Flags that follow from outline and faces, and are raised anew."""


def part_from_body(body: Mapping[str, Any]) -> Part:
    """Return the part of one entry of ``parts`` in the JSON of a measurement.

    Raises
    ------
    InputError
        If it lacks its outline, an area, a perimeter or its faces.
    """
    faces, thickness = body.get("faces"), body.get("thickness")
    if faces not in get_args(Faces):
        raise InputError(f"{str(faces)[:20]!r} is not a choice of faces.", remedy=_AGAIN)
    return Part(
        outline=_outline(body),
        thickness=quantity_from_json(thickness) if thickness else None,
        faces=cast(Faces, faces),
    )


def _outline(body: Mapping[str, Any]) -> Outline:
    try:
        polygon, perimeter = polygon_from_geojson(body["outline"]), body["perimeter"]
        area, outer, holes = body["face_area"], perimeter["outer"], perimeter["holes"]
    except (KeyError, TypeError, ValueError, IndexError):
        raise InputError("The part lacks its outline, area or perimeter.", remedy=_AGAIN) from None
    return Outline(
        polygon=polygon,
        area=quantity_from_json(area),
        perimeter_outer=quantity_from_json(outer),
        perimeter_holes=quantity_from_json(holes),
        origin="photo",
        flags=tuple(_flag(told) for told in body.get("flags", ()) if told.get("code") not in _RECOMPUTED),
    )


def _flag(body: Mapping[str, Any]) -> Flag:
    return Flag(code=str(body["code"]), message=str(body["message"]), remedy=str(body["remedy"]), part=body.get("part"))
