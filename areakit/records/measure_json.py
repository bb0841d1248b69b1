"""The JSON line of one photo, as ``areakit measure --json`` prints it; :mod:`areakit.records.schema` describes it."""

from __future__ import annotations

from typing import Any

from areakit.flags import Flag
from areakit.imaging.scale import PlaneScale
from areakit.records.codec import as_json


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
