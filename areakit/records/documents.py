"""The JSON that several commands share: one part with its surfaces."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from areakit.flags import Flag
from areakit.geometry.export import polygon_geojson
from areakit.geometry.outline import Outline
from areakit.geometry.surface import Surface
from areakit.records.codec import as_json, quantity_json
from areakit.records.form_json import form_json, form_regions_json
from areakit.uncertainty import Measured, total


def part_json(part_id: int | str, surface: Surface, outline: Outline, thickness: Measured | None) -> dict[str, Any]:
    """Return one part as every command prints it.

    ``outline`` is a GeoJSON polygon in mm; every quantity has the shape of
    :func:`areakit.records.codec.quantity_json`. ``perimeter`` is the whole of it, with ``outer`` and ``holes`` inside.
    What is not known is null: the thickness, and with it the side walls. ``form`` is null for a flat part,
    ``form_regions`` are those with forms of their own, ``view`` and ``edge_make`` where no camera looked at it.
    """
    perimeter = total([outline.perimeter_outer, outline.perimeter_holes], "mm")
    return {
        "id": part_id,
        "origin": outline.origin,
        "edge_make": outline.edge_make or None,
        "outline": polygon_geojson(outline.polygon),
        "thickness": as_json(thickness),
        "face_area": quantity_json(surface.face),
        "perimeter": {
            **quantity_json(perimeter),
            "outer": quantity_json(outline.perimeter_outer),
            "holes": quantity_json(outline.perimeter_holes),
        },
        "side_wall_area": as_json(surface.side_wall),
        "faces": surface.faces,
        "plated_area": quantity_json(surface.plated),
        "significant_area": as_json(surface.significant),
        "surfaces": as_json(surface.lines),
        "shares": dict(surface.shares),
        "form": form_json(surface),
        "form_regions": form_regions_json(surface),
        "view": as_json(surface.view),
        "edge_form": surface.edge_form.text,
        "flags": as_json(surface.flags),
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
        "flags": as_json(flags),
    }
