"""What an outline is of, and where the camera stood over it, as JSON."""

from __future__ import annotations

from typing import Any

from areakit.geometry.forms.seen import View
from areakit.geometry.geojson import polygon_geojson
from areakit.geometry.surface import Surface
from areakit.records.codec import quantity_json


def form_json(surface: Surface) -> dict[str, Any] | None:
    """Return the form of a part: its name, its text as typed, what was found, and its outside laid flat."""
    form = surface.form
    if form is None:
        return None
    return {
        "name": form.name,
        "text": form.text,
        "figures": {name: quantity_json(quantity) for name, quantity in surface.figures.items()},
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


def view_json(view: View | None) -> dict[str, float] | None:
    """Return where the camera stood. [mm]"""
    if view is None:
        return None
    return {
        "x_mm": view.x_mm,
        "y_mm": view.y_mm,
        "height_mm": view.height_mm,
        "level_mm": view.level_mm,
        "level_open_mm": view.level_open_mm,
        "pixel_mm": view.pixel_mm,
    }
