"""Outlines as files in millimetres, true to scale, so that a mask or a new part can be cut from them."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterable, Sequence
from pathlib import PurePath
from typing import Any

import shapely
from shapely.geometry import MultiPolygon, Polygon, shape
from shapely.geometry.polygon import orient

from areakit.errors import FileError, OutlineInvalid
from areakit.geometry.outline import check_polygon

_DECIMALS = 6
_CUT_LINE_MM = 0.1


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


def export_outlines(polygons: Sequence[Polygon], path: PurePath) -> bytes:
    """Return the file that the suffix of ``path`` asks for: .svg, .dxf, .geojson, .json or .wkt.

    Raises FileError if there is no such format.
    """
    writer = _WRITERS.get(path.suffix.lower())
    if writer is None:
        raise FileError(
            f"Outlines cannot be written as {path.suffix or path.name!r}.", remedy="Use .svg, .dxf, .geojson or .wkt."
        )
    return writer(polygons)


def outline_svg(polygons: Sequence[Polygon]) -> bytes:
    """Return an SVG page as large as the outlines; one user unit is 1 mm, and y is turned to point downwards."""
    left, low, right, high = _bounds(polygons)
    margin = 1.0
    width, height = right - left + 2 * margin, high - low + 2 * margin
    paths = "\n".join(
        f'  <path d="{svg_path(polygon)}" fill="none" fill-rule="evenodd" stroke="#000" stroke-width="{_CUT_LINE_MM}"/>'
        for polygon in polygons
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.6f}mm" height="{height:.6f}mm" '
        f'viewBox="{left - margin:.6f} {-high - margin:.6f} {width:.6f} {height:.6f}">\n{paths}\n</svg>\n'
    ).encode()


def svg_path(polygon: Polygon) -> str:
    """Return outer ring and holes as SVG path data in mm, y downwards."""
    pieces = []
    for ring in (polygon.exterior, *polygon.interiors):
        spots = [f"{x:.6f} {-y:.6f}" for x, y, *_ in ring.coords[:-1]]
        pieces.append("M" + "L".join(spots) + "Z")
    return "".join(pieces)


def outline_dxf(polygons: Sequence[Polygon]) -> bytes:
    """Return a DXF file (R2010, $INSUNITS mm) with closed polylines on the layers OUTLINE and HOLES."""
    from ezdxf.filemanagement import new

    document = new("R2010", setup=False)
    document.header["$INSUNITS"] = 4
    document.header["$MEASUREMENT"] = 1
    for layer, colour in (("OUTLINE", 7), ("HOLES", 5)):
        document.layers.add(layer, color=colour)
    space = document.modelspace()
    for polygon in polygons:
        for number, ring in enumerate((polygon.exterior, *polygon.interiors)):
            layer = "HOLES" if number else "OUTLINE"
            space.add_lwpolyline([(x, y) for x, y, *_ in ring.coords[:-1]], close=True, dxfattribs={"layer": layer})
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


def outline_geojson(polygons: Sequence[Polygon]) -> bytes:
    """Return a GeoJSON feature collection with plane coordinates; the member ``unit`` says mm."""
    features = [
        {"type": "Feature", "properties": {"part": number}, "geometry": polygon_geojson(polygon)}
        for number, polygon in enumerate(polygons, start=1)
    ]
    return json.dumps({"type": "FeatureCollection", "unit": "mm", "features": features}).encode() + b"\n"


def outline_wkt(polygons: Sequence[Polygon]) -> bytes:
    """Return well-known text in mm: one POLYGON, or a MULTIPOLYGON."""
    bodies = ["(" + ", ".join(_wkt_ring(ring.coords) for ring in (p.exterior, *p.interiors)) + ")" for p in polygons]
    text = f"POLYGON {bodies[0]}" if len(bodies) == 1 else f"MULTIPOLYGON ({', '.join(bodies)})"
    return text.encode() + b"\n"


def _wkt_ring(coords: Iterable[tuple[float, ...]]) -> str:
    return "(" + ", ".join(f"{x:.6f} {y:.6f}" for x, y, *_ in coords) + ")"


def _bounds(polygons: Sequence[Polygon]) -> tuple[float, float, float, float]:
    boxes = [polygon.bounds for polygon in polygons]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


_WRITERS: dict[str, Callable[[Sequence[Polygon]], bytes]] = {
    ".svg": outline_svg,
    ".dxf": outline_dxf,
    ".geojson": outline_geojson,
    ".json": outline_geojson,
    ".wkt": outline_wkt,
}


def region_path(region: Polygon | MultiPolygon, scale: float) -> str:
    """Return a region as SVG path data for a picture, ``scale`` page mm per mm, y downwards; empty for no region."""
    pieces = []
    for polygon in region.geoms if isinstance(region, MultiPolygon) else [region]:
        if polygon.is_empty:
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            slim = ring.simplify(0.01 / scale)
            spots = [f"{x * scale:.3f} {-y * scale:.3f}" for x, y, *_ in slim.coords[:-1]]
            pieces.append("M" + "L".join(spots) + "Z")
    return "".join(pieces)
