"""A part as a measurement printed it, made a part again."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, cast, get_args

from areakit.errors import InputError
from areakit.flags import Flag
from areakit.geometry.drawn_regions import (
    SIDES,
    DrawnRegion,
    RegionKind,
    drawn_masks,
    drawn_significant,
    read_region_words,
)
from areakit.geometry.edge_forms import SHARP, read_edge_form
from areakit.geometry.edge_makes import edge_make
from areakit.geometry.export import polygon_from_geojson, region_from_geojson
from areakit.geometry.outline import Origin, Outline
from areakit.geometry.part import Faces, Part
from areakit.geometry.regions import FormRegion
from areakit.records.codec import flag_from_json, quantity_in
from areakit.records.part_outlines import form_of, view_of_body
from areakit.service.form_regions import MOST_REGIONS

_AGAIN = "Measure the photo again, and use a part that it gives."
_RECOMPUTED = {
    *("CORRECTED_BY_HAND", "REGIONS_DRAWN", "MASK_MISSES", "HOLE_ADDS_AREA", "CUT_EDGE"),
    *("CROSSINGS_ASKED", "ENDS_ASKED", "AXIS_ASKED", "SEEN_ASLANT", "AXIS_NOT_LEVEL", "INSIDE_REACH", "TURNS_TOUCH"),
    "FINISH_ASKED",
}
"""Flags that follow from outline and faces, and are raised anew."""


def part_from_body(body: Mapping[str, Any]) -> Part:
    """Return the part of one entry of ``parts`` in the JSON of a measurement.

    InputError if it lacks its outline, an area, a perimeter or its faces.
    """
    faces, thickness = body.get("faces"), body.get("thickness")
    if faces not in get_args(Faces):
        raise InputError(f"{str(faces)[:20]!r} is not a choice of faces.", remedy=_AGAIN)
    regions, hand = drawn_regions_of(body)
    return Part(
        outline=_outline(body),
        thickness=quantity_in(thickness, "mm", remedy=_AGAIN) if thickness else None,
        faces=cast(Faces, faces),
        masks=drawn_masks(regions, hand_mm=hand),
        significant=drawn_significant(regions),
        form=form_of(body),
        view=view_of_body(body),
        regions=_form_regions(body),
        edge_form=read_edge_form(str(told)) if (told := body.get("edge_form")) else SHARP,
    )


def _form_regions(body: Mapping[str, Any]) -> tuple[FormRegion, ...]:
    """Return the regions with forms of their own."""
    try:
        found = [
            (region_from_geojson(one["outlines"]), str(one["words"]), one["seam_mm"])
            for one in body.get("form_regions") or ()
        ]
        edges = [float(edge) for _, _, edge in found]
    except (KeyError, TypeError, ValueError, OverflowError):
        found, edges = [], [math.nan]
    if not all(0.0 <= edge <= 10.0 for edge in edges) or len(edges) > MOST_REGIONS:
        raise InputError("A region of the part cannot be read.", remedy=_AGAIN)
    read = [(region, text, *read_region_words(text)) for region, text, _ in found]
    return tuple(
        FormRegion(region=region, form=form, thickness=thickness, edge_mm=edge, text=text)
        for (region, text, form, thickness), edge in zip(read, edges, strict=True)
    )


def drawn_regions_of(body: Mapping[str, Any]) -> tuple[tuple[DrawnRegion, ...], float]:
    """Return the regions that were drawn over a part, and the standard uncertainty of the hand. [mm]"""
    drawn = body.get("regions")
    if not drawn:
        return (), 0.0
    try:
        hand = float(drawn["hand_mm"])
        found = tuple(
            DrawnRegion(kind=one["kind"], ring_mm=[(float(x), float(y)) for x, y in one["ring_mm"]], sides=one["sides"])
            for one in drawn["drawn"]
        )
    except (KeyError, TypeError, ValueError, OverflowError):
        found, hand = (), math.nan
    sound = all(one.kind in get_args(RegionKind) and one.sides in SIDES and len(one.ring_mm) > 2 for one in found)
    if not sound or not 0.0 < hand <= 5.0:
        raise InputError("A drawn region of the part cannot be read.", remedy=_AGAIN)
    return found, hand


def regions_json(regions: Sequence[DrawnRegion], *, hand_mm: float) -> dict[str, Any] | None:
    """Return what :func:`drawn_regions_of` reads; None where nothing was drawn."""
    if not regions:
        return None
    drawn = [
        {"kind": one.kind, "sides": one.sides, "ring_mm": [[round(float(x), 4), round(float(y), 4)] for x, y in ring]}
        for one, ring in ((one, one.ring_mm) for one in regions)
    ]
    return {"hand_mm": hand_mm, "drawn": drawn}


def _outline(body: Mapping[str, Any]) -> Outline:
    try:
        polygon, perimeter = polygon_from_geojson(body["outline"]), body["perimeter"]
        area, outer, holes = body["face_area"], perimeter["outer"], perimeter["holes"]
    except (KeyError, TypeError, ValueError, IndexError):
        raise InputError("The part lacks its outline, area or perimeter.", remedy=_AGAIN) from None
    origin = body.get("origin")
    return Outline(
        polygon=polygon,
        area=quantity_in(area, "mm2", remedy=_AGAIN),
        perimeter_outer=quantity_in(outer, "mm", remedy=_AGAIN),
        perimeter_holes=quantity_in(holes, "mm", remedy=_AGAIN),
        origin=cast(Origin, origin) if origin in get_args(Origin) else "photo",
        flags=tuple(one for one in _flags(body.get("flags", ())) if one.code not in _RECOMPUTED),
        edge_make=edge_make(str(made)).key if (made := body.get("edge_make")) else "",
    )


def _flags(bodies: Any) -> list[Flag]:
    try:
        told = [flag_from_json(body) for body in bodies]
        sound = all(one.code and one.message for one in told)
    except (TypeError, AttributeError):
        sound = False
    if not sound:
        raise InputError("A note of the part cannot be read.", remedy=_AGAIN)
    return told
