import math
from pathlib import PurePath

import ezdxf
import pytest
import svgelements
from shapely import affinity, from_wkt
from shapely.geometry import Point, Polygon, box

from areakit.errors import FileError
from areakit.geometry.drawing import read_drawing
from areakit.geometry.export import export_outlines


def badge() -> Polygon:
    """An odd outline with a round and a square hole."""
    radii = [20 if i % 2 else 12 for i in range(14)]
    turns = [i * math.pi / 7 for i in range(14)]
    star = Polygon([(r * math.cos(turn), r * math.sin(turn)) for r, turn in zip(radii, turns, strict=True)])
    return affinity.rotate(star - Point(2, 3).buffer(4, quad_segs=90) - box(-8, -4, -5, -1), 11)


@pytest.mark.parametrize("suffix", ["svg", "dxf", "geojson", "wkt"])
def test_a_round_trip_keeps_the_area_and_the_place(suffix: str) -> None:
    parts = [badge(), affinity.translate(badge(), 50, -7)]
    data = export_outlines(parts, PurePath(f"part.{suffix}"))
    back = read_drawing(data, suffix, unit="mm" if suffix == "wkt" else None).polygons
    assert len(back) == 2
    for polygon in back:
        twin = min(parts, key=lambda p: p.centroid.distance(polygon.centroid))
        assert polygon.area == pytest.approx(twin.area, rel=1e-5)
        assert polygon.symmetric_difference(twin).area < 1e-5 * twin.area
        assert len(polygon.interiors) == 2


def test_other_libraries_read_the_same_area() -> None:
    """DXF by ezdxf (shoelace of its vertices), SVG by svgelements at 96 px per inch, WKT by GEOS."""
    part = badge()
    import io

    document = ezdxf.read(io.StringIO(export_outlines([part], PurePath("a.dxf")).decode()))
    assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == (4, 1)  # DXF reference: mm, metric
    rings = {line.dxf.layer: Polygon(line.get_points("xy")).area for line in document.modelspace()}
    assert rings["OUTLINE"] == pytest.approx(Polygon(part.exterior).area, rel=1e-9)
    assert set(rings) == {"OUTLINE", "HOLES"}
    drawn = svgelements.SVG.parse(io.BytesIO(export_outlines([part], PurePath("a.svg"))))
    (path,) = [element for element in drawn.elements() if isinstance(element, svgelements.Path)]
    left, low, right, high = path.bbox()
    wide, tall = part.bounds[2] - part.bounds[0], part.bounds[3] - part.bounds[1]
    assert (right - left) * 25.4 / 96 == pytest.approx(wide, rel=1e-6)
    assert (high - low) * 25.4 / 96 == pytest.approx(tall, rel=1e-6)
    assert from_wkt(export_outlines([part], PurePath("a.wkt")).decode()).area == pytest.approx(part.area, rel=1e-7)


def test_an_unknown_format_is_refused() -> None:
    with pytest.raises(FileError, match="svg"):
        export_outlines([badge()], PurePath("a.step"))
