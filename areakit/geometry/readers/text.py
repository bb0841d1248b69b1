"""Outlines written as WKT or GeoJSON, in a unit that the user states."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import shapely
from shapely.errors import ShapelyError
from shapely.geometry import Polygon, shape
from shapely.geometry.base import BaseGeometry, BaseMultipartGeometry

from areakit.errors import FileError, OutlineInvalid
from areakit.foreign_text import json_from
from areakit.geometry.outline import check_polygon
from areakit.geometry.readers.limits import Meter
from areakit.geometry.readers.reader import ReadRequest, Tracing, millimetres, stated_unit

_NOT_FINITE = re.compile(r"\b(nan|inf)", re.IGNORECASE)
_MULTI = {"MultiPolygon", "GeometryCollection"}


class WktReader:
    """Well-known text (OGC 06-103r4): POLYGON, MULTIPOLYGON, GEOMETRYCOLLECTION."""

    def trace(self, data: bytes, request: ReadRequest) -> Tracing:
        """Return the polygons in mm; other geometries are listed as ignored."""
        text = _text(data)
        request.meter.take_vertices(text.count(","))
        _check_depth(text, "()", request.meter)
        if _NOT_FINITE.search(text):
            raise OutlineInvalid("A coordinate is not a finite number.", remedy="Export the polygon again.")
        try:
            geometry = shapely.from_wkt(text)
        except ShapelyError as error:
            raise FileError(
                f"This is not well-known text: {_first_line(error)}.", remedy="Write it as POLYGON ((0 0, 10 0, ...))."
            ) from None
        return _tracing(geometry, stated_unit(request, "WKT"), request.meter)


class GeoJsonReader:
    """GeoJSON (RFC 7946) with plane coordinates; a member ``unit`` at the top states the unit where it stands."""

    def trace(self, data: bytes, request: ReadRequest) -> Tracing:
        """Return the polygons in mm; other geometries are listed as ignored."""
        text = _text(data)
        request.meter.take_vertices(text.count(",") // 3)
        _check_depth(text, "[{]}", request.meter)
        body = _json_object(text)
        if "parts" in body:
            raise FileError(
                "This is a measurement, and no drawing in GeoJSON.",
                remedy="Have it read as a measurement.",
                fields={"from": ""},
            )
        unit = body.get("unit")
        if not isinstance(unit, str):
            unit = stated_unit(request, "GeoJSON")
        shapes = []
        for geometry in _geometries(body):
            request.meter.take_entity()
            try:
                shapes.append(shape(geometry))
            except (ShapelyError, ValueError, TypeError, KeyError, IndexError, AttributeError, ArithmeticError):
                raise FileError(
                    "A geometry of this GeoJSON file cannot be read.", remedy="Export the polygon again."
                ) from None
        return _tracing(shapely.geometrycollections(shapes), unit, request.meter)


def _tracing(geometry: BaseGeometry, unit: str, meter: Meter) -> Tracing:
    factor = millimetres(unit)
    polygons: list[Polygon] = []
    ignored: Counter[str] = Counter()
    waiting = [geometry]
    while waiting:
        one = waiting.pop()
        if isinstance(one, BaseMultipartGeometry) and one.geom_type in _MULTI:
            waiting += list(one.geoms)
        elif one.is_empty:
            ignored["empty geometry"] += 1
        elif isinstance(one, Polygon):
            meter.take_entity()
            flat = shapely.transform(shapely.force_2d(one), lambda xy: xy * factor)
            check_polygon(flat)
            polygons.append(flat)
        else:
            ignored[one.geom_type] += 1
    return Tracing(unit=unit, polygons=tuple(reversed(polygons)), ignored=dict(ignored))


def _json_object(text: str) -> dict[str, Any]:
    try:
        body = json_from(text)
    except ValueError:
        body = None
    if not isinstance(body, dict):
        raise FileError("This is not a GeoJSON file.", remedy="Export the polygon as GeoJSON again.")
    return body


def _geometries(body: dict[str, Any]) -> list[Any]:
    if body.get("type") == "FeatureCollection":
        features = body.get("features")
        rows = features if isinstance(features, list) else []
        return [row.get("geometry") for row in rows if isinstance(row, dict) and row.get("geometry")]
    if body.get("type") == "Feature":
        return [body.get("geometry")]
    return [body]


def _check_depth(text: str, brackets: str, meter: Meter) -> None:
    """Refuse deep nesting before a parser recurses into it."""
    depth, opening = 0, brackets[: len(brackets) // 2]
    for sign in (c for c in text if c in brackets):
        depth += 1 if sign in opening else -1
        if depth > meter.limits.depth:
            meter.take_entity(depth)


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileError("The file is not text in UTF-8.", remedy="Save it as plain text in UTF-8.") from None


def _first_line(error: Exception) -> str:
    return str(error).splitlines()[0][:120].rstrip(".")
