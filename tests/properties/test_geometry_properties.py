"""Outlines of any shape: what goes through files, masks and surfaces keeps its area. Shapely is the judge."""

import math
from pathlib import PurePath

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from areakit.geometry.drawing import drawn_outline, read_drawing
from areakit.geometry.export import export_outlines
from areakit.geometry.features import Mask
from areakit.geometry.masking import clear_area
from areakit.geometry.part import Part
from areakit.geometry.surface import plated_surface
from areakit.uncertainty import Measured
from tests.properties.effort import effort


@st.composite
def plates(draw: st.DrawFn) -> Polygon:
    """A ragged star of 5 mm to 60 mm, with up to three round holes well inside."""
    count = draw(st.integers(5, 24))
    size = draw(st.floats(5.0, 60.0))
    radii = draw(st.lists(st.floats(0.5, 1.0), min_size=count, max_size=count))
    turn = 2 * math.pi * np.arange(count) / count + draw(st.floats(0.0, 1.0))
    outer = Polygon(np.column_stack([np.cos(turn), np.sin(turn)]) * size * np.array(radii)[:, None])
    holes = [
        Point(0.2 * size * math.cos(2.1 * i), 0.2 * size * math.sin(2.1 * i)).buffer(
            0.1 * size * draw(st.floats(0.3, 0.9))
        )
        for i in range(draw(st.integers(0, 3)))
    ]
    made = outer.difference(shapely.union_all(holes)) if holes else outer
    return made if isinstance(made, Polygon) else outer


@effort
@given(plate=plates(), suffix=st.sampled_from([".svg", ".dxf", ".geojson", ".wkt"]))
def test_what_is_exported_is_read_back_with_its_area(plate: Polygon, suffix: str) -> None:
    data = export_outlines([plate], PurePath(f"x{suffix}"))
    drawing = read_drawing(data, suffix.removeprefix("."), unit="mm" if suffix == ".wkt" else None)
    (back,) = drawing.polygons
    assert back.area == pytest.approx(plate.area, rel=1e-5)
    assert back.length == pytest.approx(plate.length, rel=1e-5)
    assert len(back.interiors) == len(plate.interiors)


@effort
@given(plate=plates(), turn=st.floats(0, 360), x=st.floats(-500, 500), y=st.floats(-500, 500), t=st.floats(0.05, 3.0))
def test_surfaces_do_not_depend_on_place_turn_or_side(
    plate: Polygon, turn: float, x: float, y: float, t: float
) -> None:
    moved = affinity.translate(affinity.rotate(plate, turn), x, y)
    mirrored = affinity.scale(plate, -1.0, 1.0)
    first, *others = (plated_surface(part(one, t)) for one in (plate, moved, mirrored))
    for other in others:
        assert other.plated.value == pytest.approx(first.plated.value, rel=1e-9)


def part(polygon: Polygon, thickness_mm: float, faces: str = "all") -> Part:
    thickness = Measured(value=thickness_mm, unit="mm", budget={"thickness": 0.01})
    return Part(outline=drawn_outline(polygon, sagitta_mm=0.001, edge=0.02), thickness=thickness, faces=faces)  # type: ignore[arg-type]


@effort
@given(plate=plates(), t=st.floats(0.05, 3.0))
def test_a_plate_has_two_faces_and_a_wall_along_every_edge(plate: Polygon, t: float) -> None:
    """Elementary geometry of a right prism: 2 A + P t."""
    surface = plated_surface(part(plate, t))
    assert surface.plated.value == pytest.approx(2 * plate.area + plate.length * t, rel=1e-9)
    both, walls = (plated_surface(part(plate, t, faces)).plated.value for faces in ("both", "walls"))
    assert both + walls == pytest.approx(surface.plated.value, rel=1e-9)


@effort
@given(plate=plates(), scale=st.floats(0.2, 5.0))
def test_areas_grow_with_the_square_of_the_size(plate: Polygon, scale: float) -> None:
    larger = affinity.scale(plate, scale, scale, origin=(0, 0))
    small, large = plated_surface(part(plate, 1.0)).plated, plated_surface(part(larger, scale)).plated
    assert large.value == pytest.approx(scale**2 * small.value, rel=1e-9)


@effort
@given(plate=plates(), cut=st.floats(-40.0, 40.0), edge=st.floats(0.0, 0.5))
def test_what_is_kept_and_what_is_stopped_off_make_the_whole(plate: Polygon, cut: float, edge: float) -> None:
    region = box(cut, -100, 200, 100)
    area = Measured(value=plate.area, unit="mm2", budget={"edge": 0.02 * plate.length, "scale": 0.01 * plate.area})
    kept = clear_area(plate, area, [Mask(region=shapely.MultiPolygon([region]), keep=True, edge_mm=edge)])
    left = clear_area(plate, area, [Mask(region=shapely.MultiPolygon([region]), keep=False, edge_mm=edge)])
    assert kept.area.value + left.area.value == pytest.approx(plate.area, rel=1e-9, abs=1e-9)
    assert kept.mask_edge_mm == pytest.approx(left.mask_edge_mm, rel=1e-3, abs=0.01)
    # The edge of the mask can only move area from one to the other: both carry the same doubt from it.
    assert kept.area.budget.get("mask", 0.0) == pytest.approx(left.area.budget.get("mask", 0.0), rel=1e-3, abs=0.01)


@effort
@given(plate=plates(), shift=st.floats(0.01, 0.3))
def test_an_edge_that_lies_further_out_adds_perimeter_times_the_shift(plate: Polygon, shift: float) -> None:
    """Steiner's formula for the area of a parallel body, first order; here as a bound, since corners are cut."""
    outline = drawn_outline(plate, sagitta_mm=0.001, edge=shift)
    stated = outline.area.budget.get("edge", outline.area.standard_uncertainty)
    grown = abs(plate.buffer(shift, join_style="mitre").area - plate.area)
    assert abs(stated) <= 1.001 * plate.length * shift
    assert abs(stated) >= 0.3 * min(grown, plate.length * shift)
