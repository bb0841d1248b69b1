import io
import math
import re
from collections.abc import Callable
from typing import Any

import ezdxf
import pytest

from areakit.errors import FileError, UnitError
from areakit.geometry.drawing import Drawing, read_drawing


def read(
    build: Callable[[Any, Any], object], *, units: int = 4, version: str = "R2010", unit: str | None = None
) -> Drawing:
    """Write a file by the ezdxf library, and read it."""
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = units
    build(document, document.modelspace())
    text = io.StringIO()
    document.write(text)
    return read_drawing(text.getvalue().encode(), "dxf", unit=unit)


def slot(space: Any) -> None:
    space.add_lwpolyline([(0, 0, 0), (30, 0, 1), (30, 10, 0), (0, 10, 1)], format="xyb", close=True)


SLOT = 300 + 25 * math.pi


@pytest.mark.parametrize(("units", "factor"), [(4, 1.0), (1, 25.4), (5, 10.0), (6, 1000.0), (13, 1e-3), (9, 0.0254)])
def test_insunits_sets_the_scale(units: int, factor: float) -> None:
    """DXF reference, HEADER section, $INSUNITS: 1 inches, 4 mm, 5 cm, 6 m, 9 mils, 13 microns."""
    unit = {6: "m", 13: "um"}.get(units)  # a slot of 40 m or 40 um is asked about
    drawing = read(lambda _, space: slot(space), units=units, unit=unit)
    assert drawing.polygons[0].area == pytest.approx(SLOT * factor**2, rel=1e-4)
    assert [flag.code for flag in drawing.flags] == (["SIZE_BEYOND_BENCH"] if unit else [])


def test_a_stated_unit_that_contradicts_the_file_is_refused() -> None:
    assert read(lambda _, space: slot(space), units=4, unit="mm").unit == "mm"
    with pytest.raises(UnitError, match="says that it counts in mm, and in was stated"):
        read(lambda _, space: slot(space), units=4, unit="in")


@pytest.mark.parametrize("version", ["R2000", "R2010", "R2018"])
def test_a_file_without_the_header_entry_is_unstated_and_the_stated_unit_is_believed(version: str) -> None:
    """The library fills in metres where $INSUNITS is missing; a plate of 60 x 25 mm became 1500 square metres."""
    document = ezdxf.new(version)
    document.modelspace().add_lwpolyline([(0, 0), (60, 0), (60, 25), (0, 25)], close=True)
    stream = io.StringIO()
    document.write(stream)
    text = re.sub(r"  9\n\$INSUNITS\n 70\n *\d+\n", "", stream.getvalue())
    assert "$INSUNITS" not in text
    entities = text.rpartition("ENTITIES")[2].partition("ENDSEC")[0]
    headless = f"  0\nSECTION\n  2\nENTITIES{entities}ENDSEC\n  0\nEOF\n"
    for bare in (text, headless):
        with pytest.raises(UnitError, match="does not say its unit"):
            read_drawing(bare.encode(), "dxf")
        drawing = read_drawing(bare.encode(), "dxf", unit="mm")
        assert (drawing.unit, drawing.flags) == ("mm", ())
        assert drawing.polygons[0].area == pytest.approx(1500.0)
        assert read_drawing(bare.replace("\n", "\r\n").encode(), "dxf", unit="in").unit == "in"


def test_a_unitless_file_asks_for_the_unit() -> None:
    with pytest.raises(UnitError) as caught:
        read(lambda _, space: slot(space), units=0)
    assert "unit" in caught.value.fields
    assert read(lambda _, space: slot(space), units=0, unit="in").polygons[0].area == pytest.approx(
        SLOT * 25.4**2, rel=1e-4
    )


def test_light_years_are_refused() -> None:
    with pytest.raises(UnitError, match="unit 19"):
        read(lambda _, space: slot(space), units=19)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_versions_agree(version: str) -> None:
    def old_slot(_: Any, space: Any) -> None:
        space.add_polyline2d([(0, 0, 0), (30, 0, 1), (30, 10, 0), (0, 10, 1)], format="xyb", close=True)

    assert read(old_slot, version=version, unit="mm").polygons[0].area == pytest.approx(SLOT, rel=1e-4)


def insert(document: Any, space: Any) -> None:
    block = document.blocks.new("HOLE")
    block.add_circle((1, 0), 2)
    space.add_blockref("HOLE", (9, 9), dxfattribs={"xscale": 3, "yscale": 1.5, "rotation": 40})


def mirrored(_: Any, space: Any) -> None:
    space.add_lwpolyline(
        [(0, 0, 0), (30, 0, 1), (30, 10, 0), (0, 10, 1)], format="xyb", close=True, dxfattribs={"extrusion": (0, 0, -1)}
    )


def loose(_: Any, space: Any) -> None:
    space.add_line((0, 0), (30, 0))
    space.add_arc((30, 5), 5, -90, 90)
    space.add_line((0, 10), (30, 10))
    space.add_arc((0, 5), 5, 90, 270)


def half_ellipse(_: Any, space: Any) -> None:
    space.add_ellipse((0, 0), (6, 0), 0.5, start_param=0, end_param=math.pi)
    space.add_line((-6, 0), (6, 0))


def circle_as_spline(_: Any, space: Any) -> None:
    from ezdxf.math import ConstructionEllipse, rational_bspline_from_ellipse

    curve = rational_bspline_from_ellipse(ConstructionEllipse((0, 0), (5, 0), (0, 0, 1), 1.0))
    space.add_spline().apply_construction_tool(curve)


@pytest.mark.parametrize(
    ("build", "area"),
    [
        (lambda _, space: space.add_circle((3, 4), 5), 25 * math.pi),
        (insert, 4 * math.pi * 4.5),
        (mirrored, SLOT),
        (loose, SLOT),
        (half_ellipse, 9 * math.pi),
        (lambda _, space: space.add_ellipse((0, 0), (6, 2), 0.4), math.pi * 40 * 0.4),
        (circle_as_spline, 25 * math.pi),
    ],
)
def test_entities_have_the_areas_of_closed_forms(build: Callable[[Any, Any], object], area: float) -> None:
    drawing = read(build)
    assert drawing.polygons[0].area == pytest.approx(area, rel=1e-4)
    assert not drawing.ignored


def test_hidden_layers_texts_and_paper_space_do_not_count() -> None:
    def build(document: Any, space: Any) -> None:
        slot(space)
        document.layers.add("NOTES").off()
        space.add_circle((100, 0), 5, dxfattribs={"layer": "NOTES"})
        space.add_mtext("a")
        space.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1)])
        document.layout("Layout1").add_circle((0, 0), 50)

    drawing = read(build)
    assert len(drawing.polygons) == 1
    assert drawing.ignored == {"hidden entity": 1, "MTEXT": 1, "HATCH": 1}


def test_binary_files_are_refused_with_what_to_do() -> None:
    with pytest.raises(FileError, match="text form"):
        read_drawing(b"AutoCAD Binary DXF\r\n\x1a\x00", "dxf")


def test_entities_without_length_are_passed_over() -> None:
    def build(_: Any, space: Any) -> None:
        slot(space)
        space.add_lwpolyline([])
        space.add_lwpolyline([(1, 1)])
        space.add_polyline2d([(2, 2)])

    drawing = read(build)
    assert [polygon.area for polygon in drawing.polygons] == [pytest.approx(SLOT, rel=1e-4)]


def test_an_open_polyline_that_ends_where_it_began_is_an_outline() -> None:
    drawing = read(lambda _, space: space.add_lwpolyline([(0, 0), (30, 0), (30, 10), (0, 10), (0, 0)]))
    assert drawing.polygons[0].area == pytest.approx(300.0)


def test_far_more_entities_than_any_part_has_are_refused_before_they_are_read() -> None:
    rows = b"0\nPOINT\n10\n1\n" * 30_000
    with pytest.raises(FileError, match="more than 20000 entities"):
        read_drawing(b"0\nSECTION\n2\nENTITIES\n" + rows + b"0\nENDSEC\n0\nEOF\n", "dxf", unit="mm")


def test_a_bulge_between_two_equal_points_is_no_arc() -> None:
    def build(_: Any, space: Any) -> None:
        rows = [(0, 0, 0), (30, 0, 0), (30, 0, 1), (30, 0, 0), (30, 10, 0), (0, 10, 0)]
        space.add_lwpolyline(rows, format="xyb", close=True)

    assert read(build).polygons[0].area == pytest.approx(300.0)
