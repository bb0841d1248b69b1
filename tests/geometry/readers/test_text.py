"""WKT and GeoJSON: each form of the standards, where the unit comes from, and what is no polygon."""

import json

import pytest

from areakit.errors import FileError, OutlineInvalid, OutlineNotFound, UnitError
from areakit.geometry.drawing import read_drawing

SQUARE = {"type": "Polygon", "coordinates": [[[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]]]}


@pytest.mark.parametrize(
    "body",
    [
        SQUARE,
        {"type": "Feature", "properties": None, "geometry": SQUARE},
        {"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {}, "geometry": SQUARE}]},
        {"type": "MultiPolygon", "coordinates": [SQUARE["coordinates"]]},
        {"type": "GeometryCollection", "geometries": [SQUARE]},
    ],
)
def test_every_form_of_geojson_gives_the_polygon(body: dict[str, object]) -> None:
    """RFC 7946, section 3: a geometry, a feature, a collection of either."""
    drawing = read_drawing(json.dumps(body).encode(), "geojson", unit="mm")
    assert [polygon.area for polygon in drawing.polygons] == [16.0]
    assert not drawing.ignored


def test_geojson_says_its_unit_or_is_told_it() -> None:
    """RFC 7946 knows degrees only, so a plane file must say what it counts in."""
    stated = json.dumps({**SQUARE, "unit": "cm"}).encode()
    assert read_drawing(stated, "geojson").polygons[0].area == pytest.approx(1600.0)
    plain = json.dumps(SQUARE).encode()
    assert read_drawing(plain, "geojson", unit="in").polygons[0].area == pytest.approx(16 * 25.4**2)
    with pytest.raises(UnitError, match="GeoJSON file does not say its unit"):
        read_drawing(plain, "geojson")


def test_a_unit_that_is_no_length_is_refused() -> None:
    for unit in ("g", "parsnip"):
        with pytest.raises(UnitError, match=f"'{unit}' is not a unit of length"):
            read_drawing(json.dumps({**SQUARE, "unit": unit}).encode(), "geojson")


@pytest.mark.parametrize(
    ("text", "error", "told"),
    [
        ("POLYGON ((0 0, nan 0, 4 4, 0 0))", OutlineInvalid, "not a finite number"),
        ("POLYGON ((0 0, 4 0, 4 4, 0 Infinity, 0 0))", OutlineInvalid, "not a finite number"),
        ("POLYGON EMPTY", OutlineNotFound, "1 × empty geometry"),
        ("POINT (1 2)", OutlineNotFound, "1 × Point"),
        ("CIRCLE (1 2 3)", FileError, "not well-known text"),
    ],
)
def test_text_without_a_sound_polygon_is_refused(text: str, error: type[Exception], told: str) -> None:
    with pytest.raises(error, match=told):
        read_drawing(text.encode(), "wkt", unit="mm")
