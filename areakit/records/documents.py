"""The JSON that several commands share: one part with its surfaces."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from areakit.flags import Flag
from areakit.geometry.geojson import polygon_geojson
from areakit.geometry.outline import Outline
from areakit.geometry.surface import Surface
from areakit.geometry.surface_line import SurfaceLine
from areakit.records.codec import flag_json, quantity_json
from areakit.records.form_json import form_json, form_regions_json, view_json
from areakit.uncertainty import Measured, total


def part_json(part_id: int | str, surface: Surface, outline: Outline, thickness: Measured | None) -> dict[str, Any]:
    """Return one part as every command prints it.

    ``outline`` is a GeoJSON polygon in mm; every quantity has the shape of
    :func:`areakit.records.codec.quantity_json`. ``perimeter`` is the whole of it, with ``outer`` and ``holes`` inside.
    What is not known is null: the thickness, and with it the sidewalls. ``form`` is null for a flat part,
    ``form_regions`` are those with forms of their own, ``view`` and ``edge_make`` where no camera looked at it.
    """
    perimeter = total([outline.perimeter_outer, outline.perimeter_holes], "mm")
    return {
        "id": part_id,
        "origin": outline.origin,
        "edge_make": outline.edge_make or None,
        "outline": polygon_geojson(outline.polygon),
        "thickness": _or_null(thickness),
        "face_area": quantity_json(surface.face),
        "perimeter": {
            **quantity_json(perimeter),
            "outer": quantity_json(outline.perimeter_outer),
            "holes": quantity_json(outline.perimeter_holes),
        },
        "sidewall_area": _or_null(surface.sidewall),
        "faces": surface.faces,
        "plated_area": quantity_json(surface.plated),
        "significant_area": _or_null(surface.significant),
        "surfaces": [_line_json(line) for line in surface.lines],
        "shares": dict(surface.shares),
        "form": form_json(surface),
        "form_regions": form_regions_json(surface),
        "view": view_json(surface.view),
        "edge_form": surface.edge_form.text,
        "flags": [flag_json(flag) for flag in surface.flags],
    }


def surface_result_json(
    parts: Sequence[tuple[int | str, Surface, Outline, Measured | None]],
    plated: Measured,
    *,
    count: int,
    flags: Sequence[Flag],
) -> dict[str, Any]:
    """Return what ``areakit surface --json`` prints: every part, and the plated area of ``count`` pieces of each."""
    return {
        "parts": [part_json(part_id, surface, outline, thickness) for part_id, surface, outline, thickness in parts],
        "count": count,
        "total_plated_area": quantity_json(plated),
        "flags": [flag_json(flag) for flag in flags],
    }


def _line_json(line: SurfaceLine) -> dict[str, Any]:
    """Return one surface; ``area`` is negative for what is taken away."""
    return {
        "name": line.name,
        "side": line.side,
        "basis": line.basis,
        "plated": line.plated,
        "area": quantity_json(line.area),
    }


def _or_null(quantity: Measured | None) -> dict[str, Any] | None:
    return None if quantity is None else quantity_json(quantity)
