"""Both sides of what drawings, typed shapes and regions are held to, and their figures against closed forms."""

import math
import re
from pathlib import PurePath

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon, box

from areakit.errors import OutlineInvalid, RangeError
from areakit.geometry.curves import arc_step, bezier, bulge_arc, ellipse_arc
from areakit.geometry.drawing import drawn_outline
from areakit.geometry.drawn_regions import read_region_words
from areakit.geometry.enclosing import enclosing_shapes, squared_up
from areakit.geometry.export import export_outlines, region_path
from areakit.geometry.part import Part
from areakit.geometry.plane_shapes import plane_shape
from areakit.geometry.regions import FormRegion
from areakit.geometry.rings import Rings, Trace, assemble
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import typed_shape
from areakit.geometry.surface import plated_surface
from areakit.uncertainty import exact

# Curves


def test_the_chords_of_a_circle_keep_within_their_sagitta() -> None:
    """The sagitta of a chord of half-angle a is r (1 - cos a)."""
    assert 10.0 * (1.0 - math.cos(arc_step(10.0, 0.01) / 2.0)) == pytest.approx(0.01)
    assert [arc_step(10.0, 10.0), arc_step(10.0, 99.0), arc_step(0.0, 0.01)] == pytest.approx([math.pi] * 3)
    assert arc_step(10.0, 0.0) == arc_step(10.0, -1.0) == pytest.approx(2.0 * math.pi / 100_000)


def test_an_arc_of_an_ellipse_lies_on_it_from_end_to_end() -> None:
    points = ellipse_arc((3.0, -2.0), (10.0, 4.0), turn=0.4, start=0.3, sweep=-1.2, sagitta=0.001)
    turned = np.array([[math.cos(0.4), -math.sin(0.4)], [math.sin(0.4), math.cos(0.4)]])
    along, across = ((points - [3.0, -2.0]) @ turned).T
    assert (along / 10.0) ** 2 + (across / 4.0) ** 2 == pytest.approx(np.ones(len(points)))
    assert (along[0], across[0]) == pytest.approx((10.0 * math.cos(0.3), 4.0 * math.sin(0.3)))
    assert (along[-1], across[-1]) == pytest.approx((10.0 * math.cos(-0.9), 4.0 * math.sin(-0.9)))
    assert len(ellipse_arc((0.0, 0.0), (1.0, 1.0), sweep=0.01, sagitta=0.5)) == 3
    whole = ellipse_arc((0.0, 0.0), (10.0, 10.0), sagitta=0.01)
    assert whole[0] == pytest.approx(whole[-1])
    assert len(whole) == math.ceil(math.pi / math.acos(1.0 - 0.001)) + 1


@pytest.mark.parametrize(("far", "refused"), [(0.9e12, False), (1.1e12, True)])
def test_a_curve_has_a_finite_size(far: float, refused: bool) -> None:
    control = np.array([[0.0, 0.0], [0.0, 0.0], [far, 0.0]])
    if not refused:
        bezier(control, 1e12)
        return
    with pytest.raises(OutlineInvalid, match="no finite size"):
        bezier(control, 1e12)


@pytest.mark.parametrize(
    ("control", "sagitta", "steps"),
    [
        # A parabola of second difference 8 strays from n chords by 2 x 8 / 8 n^2 at the most: 0.02 of ten.
        ([(0, 0), (5, 4), (10, 0)], 0.0201, 10),
        # A cubic by 6 / 8 of its largest second difference, here 4 (Wang's formula, from memory).
        ([(0, 0), (3, 0), (6, 4), (9, 8)], 0.0301, 10),
        ([(0, 0), (5, 0), (10, 0)], 0.01, 1),
        ([(0, 0), (5, 4), (10, 0)], 0.0, 100_000),
    ],
)
def test_a_bezier_curve_takes_the_steps_that_its_bend_asks_for(
    control: list[tuple[float, float]], sagitta: float, steps: int
) -> None:
    points = bezier(np.array(control, dtype=float), sagitta)
    assert len(points) == steps + 1
    assert (*points[0], *points[-1]) == pytest.approx((*control[0], *control[-1]))


def test_the_bulge_of_a_chord_is_the_tangent_of_a_quarter_of_its_angle() -> None:
    """Chord of 2, bulge 1/2: it rises by bulge times half the chord, on a radius of chord (1 + b^2) / 4 b = 1.25."""
    points = bulge_arc((0.0, 0.0), (2.0, 0.0), 0.5, sagitta=1e-4)
    assert np.hypot(*(points - [1.0, 0.75]).T) == pytest.approx(np.full(len(points), 1.25))
    assert points[:, 1].min() == pytest.approx(-0.5, abs=2e-4)
    length = float(np.hypot(*np.diff(points, axis=0).T).sum())
    assert length == pytest.approx(1.25 * 4.0 * math.atan(0.5), rel=1e-4)
    assert bulge_arc((1.0, 1.0), (1.0, 1.0), 0.5, sagitta=0.1).tolist() == [[1.0, 1.0], [1.0, 1.0]]


# Lines to outlines


def lines(*chains: list[tuple[float, float]], closed: bool = False) -> Rings:
    return assemble([Trace(points_mm=np.array(chain, dtype=float), closed=closed) for chain in chains])


def ring(polygon: Polygon) -> list[tuple[float, float]]:
    return list(polygon.exterior.coords)[:-1]


@pytest.mark.parametrize(("gap", "joined"), [(0.0045, True), (0.0055, False)])
def test_ends_meet_within_five_thousandths_of_a_millimetre(gap: float, joined: bool) -> None:
    """An own gap of one line, and the gaps of two."""
    one = lines([(gap, 0), (10, 0), (10, 10), (0, 10), (0, 0)])
    two = lines([(gap, 0), (10, 0), (10, 10)], [(10, 10), (0, 10), (0, 0)])
    for found in (one, two):
        assert (len(found.polygons), len(found.open_chains)) == ((1, 0) if joined else (0, 1))
    assert (one.open_paths, two.open_paths) == ((0, 0) if joined else (1, 2))


@pytest.mark.parametrize(("side", "kept"), [(4e-5, True), (2.5e-5, False)])
def test_an_outline_of_less_than_a_billionth_of_a_square_millimetre_is_none(side: float, kept: bool) -> None:
    found = lines(ring(box(0, 0, side, side)), closed=True)
    assert (len(found.polygons), found.without_area) == ((1, 0) if kept else (0, 1))


@pytest.mark.parametrize(("larger", "doubled"), [(4e-7, 1), (6e-7, 0)])
def test_an_outline_drawn_twice_counts_once_within_a_millionth_of_its_area(larger: float, doubled: int) -> None:
    """A square that is larger by a share has twice that share more of area."""
    found = lines(ring(box(0, 0, 100, 100)), ring(box(0, 0, 100 + 100 * larger, 100 + 100 * larger)), closed=True)
    assert found.doubled == doubled


@pytest.mark.parametrize(("aside", "doubled"), [(0.8e-4, True), (1.2e-4, False)])
def test_an_outline_drawn_twice_lies_on_itself_but_for_two_millionths(aside: float, doubled: bool) -> None:
    """A square of 100 mm moved aside differs by two strips: 200 mm times the way."""
    pair = ring(box(0, 0, 100, 100)), ring(box(aside, 0, 100 + aside, 100))
    if doubled:
        assert lines(*pair, closed=True).doubled == 1
        return
    with pytest.raises(OutlineInvalid, match="cross near"):
        lines(*pair, closed=True)


@pytest.mark.parametrize(("over", "crosses"), [(0.8e-4, False), (1.2e-4, True)])
def test_outlines_that_share_more_than_a_millionth_cross(over: float, crosses: bool) -> None:
    pair = ring(box(0, 0, 100, 100)), ring(box(100 - over, 0, 200, 100))
    if not crosses:
        assert len(lines(*pair, closed=True).polygons) == 2
        return
    with pytest.raises(OutlineInvalid, match="cross near"):
        lines(*pair, closed=True)


@pytest.mark.parametrize(("apart", "points"), [(0.5e-7, 4), (2e-7, 5)])
def test_points_within_a_ten_millionth_of_a_millimetre_are_one(apart: float, points: int) -> None:
    found = lines([(0, 0), (apart, 0), (10, 0), (10, 10), (0, 10)], closed=True)
    assert len(found.polygons[0].exterior.coords) - 1 == points


# Typed shapes


def test_a_disk_has_its_true_area_and_a_perimeter_true_to_a_millionth() -> None:
    """A regular polygon of n sides and the area of a circle is longer by (pi / n)^2 / 6; n is 1440."""
    disk = plane_shape("disk", [100.0])
    assert disk.area == pytest.approx(2500.0 * math.pi, rel=1e-12)
    assert disk.length / (100.0 * math.pi) - 1.0 == pytest.approx((math.pi / 1440) ** 2 / 6.0, rel=0.01)


def test_a_plate_with_round_corners_loses_what_a_square_has_more_than_a_circle() -> None:
    plate = plane_shape("rectangle", [40.0, 20.0], corner=4.0)
    assert plate.area == pytest.approx(800.0 - (4.0 - math.pi) * 16.0, rel=2e-6)
    assert plate.length == pytest.approx(120.0 - (8.0 - 2.0 * math.pi) * 4.0, rel=2e-6)
    assert plane_shape("slot", [30.0, 10.0]).area == pytest.approx(200.0 + 25.0 * math.pi, rel=2e-6)


@pytest.mark.parametrize(("diameter", "refused"), [(9999.0, False), (10_001.0, True)])
def test_a_typed_length_is_ten_metres_at_most(diameter: float, refused: bool) -> None:
    if not refused:
        read_shape(f"disk {diameter} mm")
        return
    with pytest.raises(RangeError, match="outside 0 to 10000 mm"):
        read_shape(f"disk {diameter} mm")


SOLIDS = {
    "washer 16 x 8.4 x 1.6 mm": math.pi * ((256.0 - 8.4**2) / 2.0 + (16.0 + 8.4) * 1.6),
    "ring 16 x 8.4 x 1.6 mm": math.pi * ((256.0 - 8.4**2) / 2.0 + (16.0 + 8.4) * 1.6),
    "bar 40 x 10 x 3 mm": 2.0 * (400.0 + 120.0 + 30.0),
    "tube 16 x 12 x 30 mm": math.pi * ((256.0 - 144.0) / 2.0 + 28.0 * 30.0),
    "wire 2 x 50 mm": math.pi * (2.0 + 100.0),
    "cylinder 20 x 5 mm": math.pi * (200.0 + 100.0),
    "sphere 20 mm": 400.0 * math.pi,
    "cap 20 x 4 mm": math.pi * (100.0 + 16.0 + 100.0),
    "cone 20 x 8 mm": math.pi * (100.0 + 10.0 * math.hypot(10.0, 8.0)),
    "cone 20 x 8 x 8 mm": math.pi * (100.0 + 16.0 + 14.0 * math.hypot(6.0, 8.0)),
}
"""Surfaces of solids by the closed forms of any handbook of mathematics: both ends, walls and bores. [mm2]"""


@pytest.mark.parametrize("text", SOLIDS)
def test_a_typed_solid_has_the_surface_of_a_handbook(text: str) -> None:
    shape = typed_shape(read_shape(text))
    assert shape.faces is not None
    part = Part(outline=shape.outline, thickness=shape.thickness, faces=shape.faces, dome=shape.dome, taper=shape.taper)
    assert plated_surface(part).plated.value == pytest.approx(SOLIDS[text], rel=2e-5)


# Regions


def cut(plate: Polygon, *regions: Polygon, edge: float = 0.1) -> float:
    form, thickness = read_region_words("thickness 1 mm")
    of = tuple(FormRegion(region=one, form=form, thickness=thickness, edge_mm=edge, text="") for one in regions)
    outline = drawn_outline(plate, sagitta_mm=1e-4)
    return plated_surface(Part(outline=outline, thickness=exact(1.0, "mm"), faces="all", regions=of)).plated.value


@pytest.mark.parametrize(("over", "refused"), [(0.8e-7, False), (1.2e-7, True)])
def test_regions_may_lie_over_each_other_by_a_millionth_of_a_square_millimetre(over: float, refused: bool) -> None:
    """10 mm of seam."""
    places = box(20, -1, 40, 11), box(40 - over, -1, 61, 11)
    if not refused:
        cut(box(0, 0, 60, 10), *places)
        return
    with pytest.raises(RangeError, match="lies over another"):
        cut(box(0, 0, 60, 10), *places)


@pytest.mark.parametrize(
    ("left_over", "long", "refused"), [(0.27, 10.0, True), (0.33, 10.0, False), (0.27, 2.3, False), (0.27, 2.5, True)]
)
def test_a_seam_within_three_doubts_of_the_outline_over_eight_of_those_leaves_a_sliver(
    left_over: float, long: float, refused: bool
) -> None:
    """A seam in doubt by 0.1 mm: nearer than 0.3 mm, over more than 2.4 mm."""
    plate, place = box(0, 0, 40, long), box(10, -1, 40 - left_over, 11)
    if not refused:
        cut(plate, place)
        return
    with pytest.raises(OutlineInvalid, match="thin strip"):
        cut(plate, place)


# Round an outline


def test_round_a_turned_plate_lie_its_rectangle_and_the_circle_of_its_diagonal() -> None:
    hole = box(-2, -2, 2, 2)
    plate = affinity.rotate(box(-15, -10, 15, 10).difference(hole), 20.0, origin=(0, 0))
    rings = tuple(tuple(one.coords[:-1]) for one in (plate.exterior, *plate.interiors))
    found = enclosing_shapes(rings)  # type: ignore[arg-type]
    assert (found.outline.area, found.filled.area, found.rectangle.area) == pytest.approx((584.0, 600.0, 600.0))
    assert (found.outline.perimeter, found.rectangle.perimeter) == pytest.approx((116.0, 100.0))
    assert found.circle.area == pytest.approx(325.0 * math.pi)
    assert found.circle.perimeter == pytest.approx(2.0 * math.sqrt(325.0) * math.pi)
    assert found.roundness == pytest.approx(600.0 / (325.0 * math.pi))


@pytest.mark.parametrize(("turn_deg", "size"), [(20.0, (30.0, 20.0)), (-40.0, (30.0, 20.0)), (70.0, (20.0, 30.0))])
def test_a_part_is_squared_up_by_the_smaller_turn(turn_deg: float, size: tuple[float, float]) -> None:
    plate = affinity.rotate(box(-15, -10, 15, 10), turn_deg, origin=(0, 0))
    (ring_,) = squared_up((tuple(plate.exterior.coords[:-1]),))  # type: ignore[arg-type]
    assert np.ptp(np.array(ring_), axis=0) == pytest.approx(size)


# Files of outlines


def test_a_page_of_an_outline_has_a_millimetre_of_margin_and_lines_of_a_tenth() -> None:
    page = export_outlines([box(3, 5, 33, 25)], PurePath("part.svg")).decode()
    assert re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', page).groups() == ("32.000000", "22.000000")  # type: ignore[union-attr]
    assert 'viewBox="2.000000 -26.000000 32.000000 22.000000"' in page
    assert 'stroke-width="0.1"' in page


@pytest.mark.parametrize(("aside", "corners"), [(0.0045, 4), (0.0055, 5)])
def test_what_a_picture_shows_of_an_outline_is_true_to_a_hundredth_of_a_millimetre(aside: float, corners: int) -> None:
    """Drawn at twice its size, a corner that sticks out by half of that is left out."""
    path = region_path(Polygon([(0, 0), (10, -aside), (20, 0), (20, 10), (0, 10)]), 2.0)
    assert path.count("L") + 1 == corners
    assert "40.000 -20.000" in path
