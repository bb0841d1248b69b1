"""What an outline is of, and where the camera stood over it, as JSON."""

from __future__ import annotations

from typing import Any

from areakit.geometry.export import polygon_geojson
from areakit.geometry.surface import Surface
from areakit.records.codec import as_json


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
