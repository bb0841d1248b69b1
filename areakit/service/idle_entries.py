"""Entries of a surface that would change nothing: each is refused, since whoever wrote it expects that it does."""

from __future__ import annotations

from collections.abc import Iterable

from areakit.errors import Fields, InputError
from areakit.geometry.drawn_regions import split_region
from areakit.geometry.part import Part
from areakit.geometry.shape_text import SHAPES
from areakit.service.form_regions import LAYER
from areakit.service.surface_request import SurfaceRequest


def refuse_idle(
    idle: Iterable[tuple[str, bool]], why: str, *, remedy: str = "Leave it out.", fields: Fields | None = None
) -> None:
    """Raise InputError for the first entry that was given though it is idle; ``why`` goes on from its name.

    ``fields`` are those that would give it a meaning; without any, the entry itself is what the remedy is about.
    """
    for name, given in idle:
        if given:
            told = fields or {name.replace("-", "_"): ""}
            raise InputError(f"What was said of {name.replace('-', ' ')} {why}.", remedy=remedy, fields=told)


def check_entries(request: SurfaceRequest, *, drawn: bool, masked: bool) -> None:
    """Refuse entries that speak of what the request does not have.

    InputError for the first of them.

    Parameters
    ----------
    request : SurfaceRequest
    drawn : bool
        Whether the outlines are those of a drawing.
    masked : bool
        Whether anything is masked already, over a measured part.
    """
    masks = bool(request.keep or request.stop_off)
    if not request.shapes:
        refuse_idle(
            [("plus", bool(request.plus)), ("minus", bool(request.minus))],
            "is about a typed shape, and there is none",
            remedy="Give a shape, or draw it.",
            fields={"shape": "disk 30 mm"},
        )
    if not drawn:
        refuse_idle([("edge", bool(request.edge))], "is about a drawing, and there is none")
    if request.drawing is None:
        refuse_idle([("sagitta", bool(request.sagitta))], "is about a file of a drawing, and there is none")
        if not any(_is_file(place) for place in _places(request)):
            refuse_idle([("unit", request.unit is not None)], "is about a file of a drawing, and there is none")
    if not masks:
        refuse_idle(
            [("mask-sides", request.mask_sides != "front"), ("mask-edge", bool(request.mask_edge))],
            "is about what is masked and stopped off, and there is neither",
        )
    if not (masks or masked):
        refuse_idle(
            [("overspill", bool(request.overspill))], "is about what is masked and stopped off, and there is neither"
        )
    if not request.dome_height:
        refuse_idle(
            [("hollow", request.hollow)],
            "is about a dome",
            remedy="Give its height too.",
            fields={"dome_height": "3 mm"},
        )
    if not request.bend_radius:
        turned = request.bend_axis != SurfaceRequest().bend_axis
        refuse_idle(
            [("bend-axis", turned)],
            "is about a bent strip",
            remedy="Give its radius too.",
            fields={"bend_radius": "20 mm"},
        )


def check_walls(request: SurfaceRequest, parts: Iterable[Part]) -> None:
    """Refuse relief of walls where no part has any."""
    if all(part.thickness is None and part.form is None for part in parts):
        refuse_idle(
            [("wall-relief", bool(request.wall_relief))],
            "is about walls, and there are none",
            remedy="Give the thickness too.",
            fields={"thickness": "1.2 mm"},
        )


def _places(request: SurfaceRequest) -> Iterable[object]:
    regions = (split_region(one)[0] for one in request.regions if isinstance(one, str))
    return (*request.keep, *request.stop_off, *request.recess, request.significant, request.folds, *regions)


def _is_file(place: object) -> bool:
    """Tell whether a place is a file of outlines: neither a region, nor a shape, a layer or a numbered hole."""
    if not isinstance(place, str) or not place:
        return False
    return place.split(" ")[0].lower() not in SHAPES and not place.startswith(("hole ", LAYER))
