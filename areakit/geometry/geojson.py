"""Polygons as GeoJSON geometry (RFC 7946 structure, with plane coordinates in millimetres)."""

from __future__ import annotations

from typing import Any

import shapely
from shapely.geometry import MultiPolygon, Polygon, shape
from shapely.geometry.polygon import orient

from areakit.errors import OutlineInvalid
from areakit.geometry.outline import check_polygon

_DECIMALS = 6


def polygon_geojson(polygon: Polygon) -> dict[str, Any]:
    """Return one polygon: the outer ring counter-clockwise, holes clockwise, as RFC 7946, 3.1.6 asks. [mm]"""
    turned = orient(polygon)
    rings = [turned.exterior, *turned.interiors]
    return {
        "type": "Polygon",
        "coordinates": [[[round(x, _DECIMALS), round(y, _DECIMALS)] for x, y, *_ in ring.coords] for ring in rings],
    }


def region_from_geojson(bodies: Any) -> MultiPolygon:
    """Return the region of a list of GeoJSON polygons; raises as :func:`polygon_from_geojson` does. [mm]"""
    return MultiPolygon([polygon_from_geojson(body) for body in bodies])


def polygon_from_geojson(body: Any, *, downwards: bool = False) -> Polygon:
    """Return the polygon of a GeoJSON geometry, with y upwards or, for a screen, downwards. [mm]

    Raises OutlineInvalid if it is no polygon, or one that encloses no honest area.
    """
    remedy, fields = "Measure again, and use the outline of that answer.", {"areakit measure --json": ""}
    try:
        found = shape(body)
    except (AttributeError, KeyError, TypeError, ValueError, IndexError, ArithmeticError, shapely.errors.ShapelyError):
        raise OutlineInvalid("The outline cannot be read as a polygon.", remedy=remedy, fields=fields) from None
    if not isinstance(found, Polygon):
        raise OutlineInvalid(f"The outline is a {found.geom_type}, not a polygon.", remedy=remedy, fields=fields)
    check_polygon(found)
    return shapely.transform(found, lambda xy: xy * (1.0, -1.0)) if downwards else found
