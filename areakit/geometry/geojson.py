"""Polygons as GeoJSON geometry (RFC 7946 structure, with plane coordinates in millimetres)."""

from __future__ import annotations

from typing import Any

from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

_DECIMALS = 6


def polygon_geojson(polygon: Polygon) -> dict[str, Any]:
    """Return one polygon: the outer ring counter-clockwise, holes clockwise, as RFC 7946, 3.1.6 asks. [mm]"""
    turned = orient(polygon)
    rings = [turned.exterior, *turned.interiors]
    return {
        "type": "Polygon",
        "coordinates": [[[round(x, _DECIMALS), round(y, _DECIMALS)] for x, y, *_ in ring.coords] for ring in rings],
    }
