"""What ``areakit measure`` and ``areakit surface`` print: a photo, its parts, their surfaces, as JSON.

:mod:`areakit.records.schema` describes it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from areakit.flags import Flag
from areakit.geometry.export import polygon_geojson
from areakit.geometry.outline import Outline
from areakit.geometry.surface import Surface
from areakit.records.codec import as_json, quantity_json
from areakit.uncertainty import Measured, total

if TYPE_CHECKING:
    from areakit.imaging.scale import PlaneScale


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


def form_json(surface: Surface) -> dict[str, Any] | None:
    """Return the form of a part: its name, its text as typed, what was found, and its outside laid flat."""
    form = surface.form
    if form is None:
        return None
    return {
        "name": form.name,
        "text": form.text,
        "figures": as_json(surface.figures),
        "unrolled": None if surface.unrolled is None else polygon_geojson(surface.unrolled),
    }


def form_regions_json(surface: Surface) -> list[dict[str, Any]]:
    """Return the regions with forms of their own: their outlines, the words that were said of them, their seams."""
    return [
        {
            "outlines": [polygon_geojson(polygon) for polygon in getattr(one.region, "geoms", [one.region])],
            "form": one.form.name if one.form is not None else "flat",
            "words": one.text,
            "seam_mm": one.edge_mm,
        }
        for one in surface.regions
    ]


def scale_json(scale: PlaneScale) -> dict[str, Any]:
    """Return what the reference mark said of the photo."""
    camera = scale.camera
    return {
        "mark": scale.mark,
        "sheet": scale.sheet,
        "tilt_deg": camera.tilt_deg,
        "mm_per_px": scale.mm_per_px,
        "camera_height_mm": camera.height_mm,
        "focal_length_px": camera.focal_px,
        "residual_px": camera.rms_px,
        "points_used": scale.corners_used,
        "points_total": scale.corners_total,
        "copy_scale": {"x": scale.sheet_scale.x, "y": scale.sheet_scale.y},
        "copy_told_by": (scale.confirmed or "nobody") if scale.mark == "frame" else None,
        "lens": f"stored {scale.lens}" if scale.lens else "this photo",
    }


def photo_json(
    name: str,
    *,
    scale: PlaneScale | None,
    parts: list[dict[str, Any]],
    flags: tuple[Flag, ...],
    left_out: int = 0,
) -> dict[str, Any]:
    """Return the whole line of one photo; without a scale it is a refusal.

    ``left_out`` counts the regions of a measured photo that have no area: no total of its parts is one of all of them.
    """
    return {
        "photo": name,
        "status": "measured" if scale is not None else "refused",
        "flags": as_json(flags),
        "scale": scale_json(scale) if scale is not None else None,
        "parts": parts,
        "regions_left_out": left_out,
    }
