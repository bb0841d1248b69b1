"""Shares of the uncertainty of geometry against figures by hand, and both sides of what is refused."""

import math

import pytest
from shapely.geometry import LineString, Point, Polygon, box

from areakit.errors import InputError, OutlineInvalid, RangeError
from areakit.geometry.drawing import drawn_outline, folds_on
from areakit.geometry.features import Dome, Mask, Recess, Rim
from areakit.geometry.forms.finish import of_finish
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.size import is_scale, long_way, sides_of
from areakit.geometry.forms.wire import coil
from areakit.geometry.forms.words import read_form
from areakit.geometry.outline import Outline
from areakit.geometry.part import Part, thickness_mm
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import typed_shape
from areakit.geometry.surface import Surface, _hidden, plated_surface
from areakit.geometry.unseen import Relief, relief_from_coupon, tapered, unrolled
from areakit.geometry.walls import each_wall
from areakit.uncertainty import Measured, exact

ROOT3 = math.sqrt(3.0)


def typed(text: str) -> Outline:
    return typed_shape(read_shape(text)).outline


def known(value: float, share: float, name: str, unit: str = "mm") -> Measured:
    return Measured(value=value, unit=unit, budget={name: share})


# Thickness


def test_a_thickness_without_a_tolerance_is_as_sure_as_a_caliper() -> None:
    """0.02 mm and 2 % in quadrature (common practice, no source): of 1 mm 0.0283 mm, of 10 mm 0.201 mm."""
    assert thickness_mm(1.0).budget["thickness"] == pytest.approx(0.0283, rel=2e-3)
    assert thickness_mm(10.0).budget["thickness"] == pytest.approx(0.2010, rel=1e-3)
    assert thickness_mm(0.01).budget["thickness"] == pytest.approx(0.0200, rel=1e-3)
    assert thickness_mm(1.0, 0.05).budget["thickness"] == pytest.approx(0.05 / ROOT3)


def test_a_tolerance_must_leave_a_thickness() -> None:
    assert thickness_mm(1.0, 0.99).value == 1.0
    for tolerance in (1.0, 1.5):
        with pytest.raises(RangeError, match="may be nothing or less"):
            thickness_mm(1.0, tolerance)


@pytest.mark.parametrize(("thickness", "refused"), [(9999.0, False), (10_001.0, True), (0.0, True), (1e-6, False)])
def test_a_thickness_is_one_of_a_part(thickness: float, refused: bool) -> None:
    if not refused:
        Part(outline=typed("disk 20 mm"), thickness=exact(thickness, "mm"))
        return
    with pytest.raises(RangeError, match="outside 0 to 10000 mm"):
        Part(outline=typed("disk 20 mm"), thickness=exact(thickness, "mm"))


def test_what_was_drawn_is_no_thicker_than_it_is_long() -> None:
    plate = drawn_outline(box(0, 0, 30, 20), sagitta_mm=1e-6)
    Part(outline=plate, thickness=exact(30.0, "mm"))
    with pytest.raises(RangeError, match="more than the 30 mm length"):
        Part(outline=plate, thickness=exact(30.1, "mm"))


# Drawn outlines


def test_a_drawn_edge_lies_open_by_two_hundredths_all_round() -> None:
    """Burr, roll-over and kerf (common practice, no source). Steiner: P e of the area, 2 pi e of a ring."""
    ring = box(0, 0, 30, 20).difference(box(5, 5, 15, 10))
    found = drawn_outline(ring, sagitta_mm=1e-6)
    assert found.area.budget["edge"] == pytest.approx((100.0 + 30.0) * 0.02)
    assert found.perimeter_outer.budget["edge"] == pytest.approx(2.0 * math.pi * 0.02)
    assert found.perimeter_holes.budget["edge"] == pytest.approx(-2.0 * math.pi * 0.02)


def test_folds_count_from_a_fifth_of_a_millimetre_on() -> None:
    """A line may lie a twentieth of a millimetre beside its leaf; what only crosses that margin is no fold."""
    leaf = box(0, 0, 20, 10)
    on_edge, inside = LineString([(0, 10.04), (20, 10.04)]), LineString([(5, 0), (5, 10)])
    beside = LineString([(0, 10.06), (20, 10.06)])
    length, count = folds_on(leaf, [on_edge, inside, beside])
    assert count == 2
    assert length == pytest.approx(20.0 + 10.0, abs=0.11)
    long, short = (LineString([(5, 5), (5 + run, 5)]) for run in (0.21, 0.19))
    assert folds_on(leaf, [long])[1] == 1
    assert folds_on(leaf, [short]) == (0.0, 0)


# Masks, relief, rims, recesses


def test_the_edge_of_a_mask_lies_open_by_two_tenths_along_its_whole_length() -> None:
    """Tape or lacquer (common practice, no source), rectangular: over the root of three. Half of a plate is taped."""
    plate = drawn_outline(box(0, 0, 30, 20), sagitta_mm=1e-6)
    part = Part(outline=plate, thickness=None, masks=(Mask(region=box(15, -1, 31, 21), keep=False),))
    assert plated_surface(part).plated.value == pytest.approx(300.0)
    assert plated_surface(part).plated.budget["mask"] == pytest.approx(20.0 * 0.2 / ROOT3)


@pytest.mark.parametrize(
    ("low", "high", "refused"),
    [(1.0, 5.0, False), (0.99, 2.0, True), (1.0, 5.01, True), (2.0, 1.9, True), (1.3, 1.3, False)],
)
def test_a_relief_factor_is_one_to_five(low: float, high: float, refused: bool) -> None:
    if refused:
        with pytest.raises(RangeError, match="outside 1 to 5"):
            Relief(kind="own", low=low, high=high, source="coupon")
        return
    factor = Relief(kind="own", low=low, high=high, source="coupon").factor
    assert factor.value == pytest.approx((low + high) / 2.0)
    assert factor.standard_uncertainty == pytest.approx((high - low) / 2.0 / ROOT3)


def test_a_coupon_is_never_smaller_than_its_flat_area() -> None:
    assert (relief_from_coupon(1.01, 0.02).low, relief_from_coupon(1.01, 0.02).high) == (1.0, pytest.approx(1.03))


def test_relief_of_the_walls_adds_its_factor_less_one() -> None:
    """Walls of 30 mm disk, 2 mm high: 60 pi; 1.2 ± 0.1 of them."""
    relief = relief_from_coupon(1.2, 0.1)
    part = Part(outline=typed("disk 30 mm"), thickness=exact(2.0, "mm"), faces="walls", relief={"wall": relief})
    assert plated_surface(part).plated.value == pytest.approx(1.2 * 60.0 * math.pi)
    assert plated_surface(part).plated.budget["relief"] == pytest.approx(60.0 * math.pi * 0.1 / ROOT3)


def test_a_rim_carries_its_width_and_height() -> None:
    """Inner wall of a 30 mm disk: pi (30 - 2 w) h; slopes pi (30 - 2 w) and -2 pi h."""
    rim = Rim(width=known(1.0, 0.05, "width"), height=known(0.3, 0.02, "height"))
    lines = plated_surface(Part(outline=typed("disk 30 mm"), thickness=None, rim=rim)).lines
    (wall,) = [line.area for line in lines if line.name == "front rim, inner wall"]
    assert abs(wall.budget["height"]) == pytest.approx(math.pi * 28.0 * 0.02, rel=1e-3)
    assert wall.budget["width"] == pytest.approx(-2.0 * math.pi * 0.3 * 0.05, rel=1e-2)


def test_a_recess_has_a_depth() -> None:
    for depth in (0.0, -0.1):
        with pytest.raises(RangeError, match="depth is none"):
            Recess(region=box(0, 0, 1, 1), perimeter=exact(4.0, "mm"), depth=exact(depth, "mm"))


# Domes


def test_a_round_dome_moves_with_twice_its_height() -> None:
    """pi h^2 more than flat: 2 pi h for each millimetre of rise."""
    part = Part(outline=typed("disk 30 mm"), thickness=None, dome=Dome(height=known(2.0, 0.1, "rise")))
    (extra,) = [line.area for line in plated_surface(part).lines if "dome" in line.name]
    assert extra.value == pytest.approx(4.0 * math.pi, rel=1e-4)
    assert dict(extra.budget) == {"rise": pytest.approx(2.0 * math.pi * 2.0 * 0.1, rel=1e-4)}


def test_another_dome_is_open_by_three_tenths_of_what_it_adds() -> None:
    """pi h^2 (a / b + b / a) / 2 over half sides of 20 and 10 mm: 1.25 pi h^2; 30 % either way, rectangular."""
    part = Part(outline=typed("rectangle 40 x 20 mm"), thickness=None, dome=Dome(height=known(2.0, 0.1, "rise")))
    (extra,) = [line.area for line in plated_surface(part).lines if "dome" in line.name]
    assert extra.value == pytest.approx(1.25 * math.pi * 4.0)
    assert extra.budget["dome shape"] == pytest.approx(0.3 * 5.0 * math.pi / ROOT3)
    assert extra.budget["rise"] == pytest.approx(1.25 * math.pi * 2.0 * 2.0 * 0.1)


@pytest.mark.parametrize(
    ("outline", "right", "wrong", "limit"),
    [("disk 20 mm", 9.99, 10.01, "10 mm"), ("rectangle 40 x 20 mm", 2.99, 3.01, "3 mm")],
)
def test_a_dome_is_no_higher_than_half_a_ball_or_three_tenths_of_its_half_width(
    outline: str, right: float, wrong: float, limit: str
) -> None:
    def domed(height: float) -> Part:
        return Part(outline=typed(outline), thickness=None, dome=Dome(height=exact(height, "mm")))

    assert plated_surface(domed(right)).plated.value > plated_surface(domed(right)).face.value
    for height in (wrong, 0.0):
        with pytest.raises(RangeError, match=f"outside 0 to {limit}"):
            plated_surface(domed(height))


@pytest.mark.parametrize(
    ("text", "is_round"),
    [("disk 20 mm", True), ("oval 20 x 19.85 mm", True), ("oval 20 x 19.7 mm", False), ("hexagon 20 mm", False)],
)
def test_an_outline_within_a_hundredth_of_a_circle_is_round(text: str, is_round: bool) -> None:
    surface = plated_surface(Part(outline=typed(text), thickness=None, dome=Dome(height=exact(1.0, "mm"))))
    assert ("DOME_SHAPE_ASSUMED" not in {flag.code for flag in surface.flags}) == is_round


# Walls that lean, and strips that are bent


def test_a_draft_carries_angle_and_height_by_their_slopes() -> None:
    """A wall of a 40 mm square, 4 mm high, leaning by 10 degrees: four trapezoids of slant h / cos a."""
    angle, height = known(10.0, 0.5, "angle", "deg"), known(4.0, 0.1, "thickness")
    outer, *_ = tapered(typed("rectangle 40 x 40 mm"), height, angle_deg=angle).walls

    def wall(a_deg: float, h: float) -> float:
        a = math.radians(a_deg)
        return 4.0 * (40.0 - h * math.tan(a)) * h / math.cos(a)

    assert outer.value == pytest.approx(wall(10.0, 4.0))
    assert outer.budget["angle"] == pytest.approx((wall(10.5, 4.0) - wall(9.5, 4.0)) / 2.0)
    assert outer.budget["thickness"] == pytest.approx((wall(10.0, 4.1) - wall(10.0, 3.9)) / 2.0)


@pytest.mark.parametrize(("angle", "refused"), [(79.9, False), (80.1, True)])
def test_a_wall_leans_by_eighty_degrees_at_most(angle: float, refused: bool) -> None:
    given = {"angle_deg": exact(angle, "deg"), "height": exact(0.1, "mm")}
    if not refused:
        tapered(typed("disk 40 mm"), exact(2.0, "mm"), **given)
        return
    with pytest.raises(RangeError, match="outside 0 to 80"):
        tapered(typed("disk 40 mm"), exact(2.0, "mm"), **given)


def test_a_bent_strip_moves_with_its_radius_by_its_closed_form() -> None:
    """2 R asin(c / R) long over a half chord c: slope 2 asin(c / R) - 2 c / root(R^2 - c^2), 12 mm wide."""
    chord, radius, wide = 20.0, 60.0, 12.0
    strip = drawn_outline(box(0, 0, 2 * chord, wide), sagitta_mm=1e-6, edge=0.0)
    flat = unrolled(strip, known(radius, 0.5, "radius"))
    slope = 2.0 * math.asin(chord / radius) - 2.0 * chord / math.sqrt(radius**2 - chord**2)
    assert flat.area.value == pytest.approx(wide * 2.0 * radius * math.asin(chord / radius), rel=1e-5)
    assert flat.area.budget["radius"] == pytest.approx(wide * slope * 0.5, rel=1e-3)


@pytest.mark.parametrize(("rise", "refused"), [(5.9, False), (6.1, True)])
def test_a_strip_bows_by_fifteen_hundredths_of_its_chord_at_most(rise: float, refused: bool) -> None:
    """A chord of 40 mm with a rise s lies on a radius of (20^2 + s^2) / 2 s."""
    radius = exact((400.0 + rise**2) / (2.0 * rise), "mm")
    strip = drawn_outline(box(0, 0, 40, 12), sagitta_mm=1e-6)
    if not refused:
        unrolled(strip, radius)
        return
    with pytest.raises(RangeError, match="bows too deeply"):
        unrolled(strip, radius)


def test_holes_share_the_measured_length_of_all_holes() -> None:
    """Holes of 6 and 12 mm: a third and two thirds of it."""
    outline = typed_shape(
        read_shape("disk 40 mm"), minus=[read_shape("disk 6 mm, at -10 0 mm"), read_shape("disk 12 mm, at 8 0 mm")]
    ).outline
    outer, *holes = each_wall(Part(outline=outline, thickness=exact(2.0, "mm")))
    assert outer.value == pytest.approx(80.0 * math.pi)
    assert sorted(hole.value for hole in holes) == pytest.approx([12.0 * math.pi, 24.0 * math.pi], rel=1e-4)


# Forms


def photo(polygon: object, **budget: float) -> Outline:
    found = drawn_outline(polygon, sagitta_mm=1e-6, edge=0.0)  # type: ignore[arg-type]
    area = Measured(value=found.area.value, unit="mm2", budget=budget)
    return Outline(
        polygon=found.polygon, area=area, perimeter_outer=exact(found.perimeter_outer.value, "mm"),
        perimeter_holes=exact(0.0, "mm"), origin="photo",
    )  # fmt: skip


def test_a_side_takes_half_the_relative_scale_and_twice_the_edge() -> None:
    """40 x 10 mm: a scale off by 1 % of the area is 0.5 % of a side; an edge out by e is 100 e of the area."""
    long, short = sides_of(photo(box(0, 0, 40, 10), **{"sheet along x": 4.0, "edge": 3.0}))
    assert (long.value, short.value) == (pytest.approx(40.0), pytest.approx(10.0))
    assert (long.budget["sheet along x"], short.budget["sheet along x"]) == (pytest.approx(0.2), pytest.approx(0.05))
    assert (long.budget["edge"], short.budget["edge"]) == (pytest.approx(0.06), pytest.approx(0.06))
    assert long_way(photo(box(0, 0, 10, 40))) == (pytest.approx(0.0, abs=1e-9), pytest.approx(1.0))
    assert [is_scale(name) for name in ("camera tilt", "flatness of the sheet", "edge of the part")] == [
        True,
        True,
        False,
    ]


def test_flanks_of_unsaid_finish_are_open_by_half_of_what_they_could_be_wider() -> None:
    """True width is 1 to root 2 of that seen: 1.2071 of it, and 0.2071 over the root of three (rectangular)."""
    seen = FormSurface(
        lines=(
            FormLine(name="outside", side="front", basis="measured", area=known(100.0, 1.0, "edge", "mm2")),
            FormLine(name="ends", side="wall", basis="computed", area=exact(10.0, "mm2")),
        ),
        figures={"mean diameter": exact(4.0, "mm"), "length": exact(40.0, "mm")}, unrolled=box(0, 0, 40, 4),
    )  # fmt: skip
    found = of_finish(seen, read_form("round"))
    outside, ends = (line.area for line in found.lines)
    assert outside.value == pytest.approx(120.71, abs=0.01)
    assert outside.budget["form: dull or polished"] == pytest.approx(20.71 / ROOT3, rel=1e-3)
    assert outside.budget["edge"] == pytest.approx(1.2071, rel=1e-4)
    assert ends == seen.lines[1].area
    assert (found.figures["mean diameter"].value, found.figures["length"].value) == (
        pytest.approx(4.828, rel=1e-3),
        40.0,
    )
    assert found.unrolled is not None
    assert found.unrolled.area == pytest.approx(120.71 * 1.6, rel=1e-3)


def test_a_coil_seen_from_above_is_open_by_its_slant() -> None:
    """Beside the camera's foot a coil looks wider on one side: half of the difference, over the root of three."""
    outline = photo(box(-20, 90, 20, 100))
    form = read_form("coil, wire 1 mm, turns 20")
    upright = coil(photo(box(-20, -5, 20, 5)), form, view=View(x_mm=0.0, y_mm=0.0, height_mm=300.0))
    aslant = coil(outline, form, view=View(x_mm=0.0, y_mm=0.0, height_mm=300.0))
    drawn = coil(outline, form, view=None)
    assert drawn.figures["mean diameter"].value == pytest.approx(9.0)
    assert "form: slant" not in drawn.figures["mean diameter"].budget
    assert upright.figures["mean diameter"].budget.get("form: slant", 0.0) < 0.01
    # The rays lean by atan(95 / 295): the shadow of a ball of 10 mm is wider by 1 / cos of that, of which half is open.
    lean = math.hypot(1.0, 95.0 / 295.0) - 1.0
    share = aslant.figures["mean diameter"].budget["form: slant"]
    assert share == pytest.approx(lean * 10.0 / 2.0 / ROOT3, rel=0.2)


@pytest.mark.parametrize(("length", "told"), [(21.9, ["TURNS_TOUCH"]), (22.2, [])])
def test_turns_closer_than_a_twentieth_of_the_wire_touch(length: float, told: list[str]) -> None:
    """20 turns of 1 mm rise by 20 mm when they touch; from 21 mm on they are told apart."""
    found = coil(photo(box(0, 0, length, 10)), read_form("coil, wire 1 mm, turns 20"), view=None)
    assert [flag.code for flag in found.flags] == told


@pytest.mark.parametrize(("length", "refused"), [(19.5, False), (19.3, True)])
def test_turns_that_lie_in_each_other_are_refused(length: float, refused: bool) -> None:
    """19 steps of 1 mm less three hundredths, and one wire: 19.43 mm."""
    form = read_form("coil, wire 1 mm, turns 20")
    if not refused:
        coil(photo(box(0, 0, length, 10)), form, view=None)
        return
    with pytest.raises(RangeError, match="do not fit"):
        coil(photo(box(0, 0, length, 10)), form, view=None)


def test_a_recess_lies_inside_the_face() -> None:
    plate = drawn_outline(box(0, 0, 20, 20), sagitta_mm=1e-6)
    for region, inside in ((box(0, 5, 3, 8), True), (box(-0.01, 5, 3, 8), False), (Point(10, 10).buffer(3), True)):
        recess = Recess(region=region, perimeter=exact(12.0, "mm"), depth=exact(0.5, "mm"))
        if inside:
            Part(outline=plate, thickness=exact(1.0, "mm"), recesses=(recess,))
            continue
        with pytest.raises(OutlineInvalid, match="outside the face"):
            Part(outline=plate, thickness=exact(1.0, "mm"), recesses=(recess,))


def test_the_edge_of_a_face_passes_on_with_the_outline_that_stays_free() -> None:
    """Of 100 mm round 30 x 20 mm, a stop-off over the half leaves 50 mm: its edge share is half, a scale's is half too.

    A stop-off inside the face leaves all of the outline and takes a sixth of the area.
    """
    plate = drawn_outline(box(0, 0, 30, 20), sagitta_mm=1e-6)

    def budget(region: object) -> dict[str, float]:
        mask = Mask(region=region, keep=False)  # type: ignore[arg-type]
        return dict(plated_surface(Part(outline=plate, thickness=None, masks=(mask,))).plated.budget)

    whole = plate.area.budget["edge"]
    assert budget(box(15, -1, 31, 21))["edge"] == pytest.approx(0.5 * whole, rel=1e-3)
    assert budget(box(10, 5, 20, 15))["edge"] == pytest.approx(whole, rel=1e-3)


def test_a_hole_of_no_length_has_no_wall() -> None:
    assert [wall.value for wall in each_wall(Part(outline=typed("disk 30 mm"), thickness=exact(2.0, "mm")))] == [
        pytest.approx(60.0 * math.pi)
    ]


def test_sharp_corners_stay_sharp_under_a_draft() -> None:
    """The front of a rhomb of 8 degrees: its corner moves in by d / sin 4, fourteen times the offset."""
    half = math.radians(4.0)
    rhomb = Polygon([(-50, 0), (0, -50 * math.tan(half)), (50, 0), (0, 50 * math.tan(half))])
    front = tapered(drawn_outline(rhomb, sagitta_mm=1e-6), exact(1.0, "mm"), angle_deg=exact(45.0, "deg")).front
    assert front is not None
    assert front.bounds[2] == pytest.approx(50.0 - 1.0 / math.sin(half))


def test_a_bent_strip_stays_where_it_was_and_its_holes_grow_as_it_does() -> None:
    """A tongue on one side tells which way it lies; a hole of 20 mm in the middle is 2 R asin(10 / R) long."""
    radius = 60.0
    piece = box(0, 0, 40, 12).union(box(30, 12, 34, 18)).difference(box(10, 4, 30, 8))
    flat = unrolled(drawn_outline(piece, sagitta_mm=1e-6), exact(radius, "mm"))
    longer = 2.0 * radius * math.asin(10.0 / radius) - 20.0
    assert flat.perimeter_holes.value == pytest.approx(48.0 + 2.0 * longer, rel=1e-5)
    assert flat.polygon.symmetric_difference(piece).area < 0.1 * piece.area
    same = unrolled(drawn_outline(piece, sagitta_mm=1e-6), exact(1e5, "mm"), axis_deg=30.0)
    assert same.polygon.symmetric_difference(piece).area < 1e-3 * piece.area


def test_a_strip_too_deep_says_how_wide_it_is() -> None:
    with pytest.raises(RangeError, match="A strip 40 mm wide on a radius of 25 mm"):
        unrolled(drawn_outline(box(0, 0, 40, 12), sagitta_mm=1e-6), exact(25.0, "mm"))


def test_what_two_sections_hide_of_each_other_is_open_by_how_they_lie() -> None:
    """A wire of 4 mm against a sheet of 2 mm: resting on one level they share half a circle, 2 pi; middle on middle the
    strip of a circle within 1 mm of its middle, 8 asin(1/2) + 2 root 3. Half the difference is open (rectangular), and
    a tenth for solder or a fillet (own estimate).
    """
    hidden = _hidden([box(-5, 0, 5, 2), Point(0, 2).buffer(2, quad_segs=256)])
    resting, middled = 2.0 * math.pi, 8.0 * math.asin(0.5) + 2.0 * ROOT3
    assert hidden.value == pytest.approx((resting + middled) / 2.0, rel=1e-4)
    share = math.hypot((middled - resting) / 2.0 / ROOT3, 0.1 * hidden.value)
    assert hidden.budget["form: seam"] == pytest.approx(share, rel=1e-3)
    # of one known section the other may hide all or nothing
    alone = _hidden([box(-5, 0, 5, 2), None])
    assert (alone.value, alone.budget["form: seam"]) == (10.0, pytest.approx(math.hypot(10.0 / ROOT3, 1.0)))
    assert _hidden([None, None]).value == 0.0


def test_masks_and_recesses_are_numbered_from_one() -> None:
    plate = drawn_outline(box(0, 0, 30, 20), sagitta_mm=1e-6)
    masks = tuple(Mask(region=box(x, 30, x + 1, 31), keep=False) for x in (0, 5))
    recesses = tuple(
        Recess(region=box(x, 5, x + 1, 6), perimeter=exact(4.0, "mm"), depth=exact(0.5, "mm")) for x in (2, 9)
    )
    surface = plated_surface(Part(outline=plate, thickness=exact(1.0, "mm"), masks=masks, recesses=recesses))
    assert [flag.message.partition(" on")[0][:6] for flag in surface.flags] == ["Mask 1", "Mask 2"]
    assert [line.name for line in surface.lines if "recess" in line.name] == [
        "front recess wall 1",
        "front recess wall 2",
    ]


def test_flattened_curves_lose_less_than_their_sagitta_all_round() -> None:
    """What a circle of 10 mm loses to its chords, by closed forms, taken as rectangular from nothing to that."""
    radius, count = 10.0, 64
    sagitta = radius * (1.0 - math.cos(math.pi / count))
    ring = Polygon([(radius * math.cos(2 * math.pi * i / count), radius * math.sin(2 * math.pi * i / count))
                    for i in range(count)])  # fmt: skip
    share = drawn_outline(ring, sagitta_mm=sagitta).area.budget["flattening"]
    assert share == pytest.approx((math.pi * radius**2 - ring.area) / ROOT3, rel=0.01)


# Typed shapes


def test_copies_lie_on_a_circle_of_the_diameter_that_was_typed() -> None:
    """Three disks of 4 mm on a circle of 20 mm round (5, 0): 10 mm from it, 120 degrees apart."""
    places = read_shape("disk 4 mm, at 5 0 mm, count 3, circle 20 mm").places
    assert places == (
        (pytest.approx(15.0), pytest.approx(0.0)),
        (pytest.approx(0.0), pytest.approx(10.0 * math.sin(2.0 * math.pi / 3.0))),
        (pytest.approx(0.0), pytest.approx(-10.0 * math.sin(2.0 * math.pi / 3.0))),
    )
    assert read_shape("disk 4 mm, count 1").places == ((0.0, 0.0),)
    with pytest.raises(InputError, match="Where the 2 copies lie"):
        read_shape("disk 4 mm, count 2")


@pytest.mark.parametrize(
    ("text", "right", "wrong"),
    [
        ("disk 4 mm, circle 20 mm, count {}", ("1", "1000"), ("0", "1001", "3000", "10000001", "0000051111")),
        ("polygon 4 mm, sides {}", ("3", "360"), ("2", "361", "1000")),
    ],
)
def test_counts_are_whole_numbers_within_reason(text: str, right: tuple[str, ...], wrong: tuple[str, ...]) -> None:
    for count in right:
        read_shape(text.format(count))
    for count in wrong:
        with pytest.raises(InputError, match="is not a count of"):
            read_shape(text.format(count))


def test_a_description_of_three_hundred_letters_is_read() -> None:
    read_shape("disk 4 mm" + " " * 291)
    with pytest.raises(InputError, match="too long"):
        read_shape("disk 4 mm" + " " * 292)


# Foil and holes


@pytest.mark.parametrize(("thickness", "verdict"), [(0.0499, "negligible"), (0.051, "not negligible")])
def test_the_edge_of_foil_is_told_with_its_share(thickness: float, verdict: str) -> None:
    """20 x 20 mm: 80 t of 400 + 80 t mm2; a hundredth of it at t = 0.0505 mm."""
    surface = plated_surface(
        Part(outline=typed("rectangle 20 x 20 mm"), thickness=exact(thickness, "mm"), faces="front-and-edges")
    )
    (told,) = [flag for flag in surface.flags if flag.code == "CUT_EDGE"]
    share = 100.0 * 80.0 * thickness / (400.0 + 80.0 * thickness)
    assert f"is {share:.2g} % of the plated area" in told.message
    assert ("not negligible" in told.message) == (verdict == "not negligible")


def test_hole_walls_are_the_sum_of_all_holes() -> None:
    outline = typed_shape(
        read_shape("disk 40 mm"), minus=[read_shape("disk 6 mm, at -10 0 mm"), read_shape("disk 12 mm, at 8 0 mm")]
    ).outline
    surface = plated_surface(Part(outline=outline, thickness=exact(2.0, "mm"), faces="all"))
    assert surface.side_wall is not None
    assert surface.side_wall.value == pytest.approx(116.0 * math.pi, rel=1e-4)


@pytest.mark.parametrize(("thickness", "told"), [(3.0012, False), (3.0018, True)])
def test_a_hole_is_told_to_add_area_from_a_thousandth_on(thickness: float, told: bool) -> None:
    """6 mm through both faces: 6 pi t less 18 pi mm2; a thousandth of 9 pi from t = 3.0015 on."""
    outline = typed_shape(read_shape("disk 40 mm"), minus=[read_shape("disk 6 mm")]).outline
    surface = plated_surface(Part(outline=outline, thickness=exact(thickness, "mm"), faces="all"))
    assert ("HOLE_ADDS_AREA" in {flag.code for flag in surface.flags}) == told


# What forms lay flat and count apart


def formed(outline: Outline, words: str, thickness: Measured | None = None) -> Surface:
    return plated_surface(Part(outline=outline, thickness=thickness, faces="all", form=read_form(words)))


def test_a_coil_laid_flat_is_its_wire_and_has_two_cut_ends() -> None:
    """Wire of 1 mm: pi times its length, and two circles of pi / 4 mm2."""
    found = formed(photo(box(0, 0, 40, 10)), "coil, wire 1 mm, turns 20")
    areas = {line.name: line.area.value for line in found.lines}
    run = math.hypot(math.pi * 9.0 * 20.0, 39.0)
    assert areas == {"outside": pytest.approx(math.pi * run), "ends": pytest.approx(math.pi / 2.0)}
    assert found.unrolled is not None
    assert found.unrolled.bounds == (
        pytest.approx(0.0), pytest.approx(-math.pi / 2.0), pytest.approx(run), pytest.approx(math.pi / 2.0),
    )  # fmt: skip


@pytest.mark.parametrize(("angle", "refused"), [(179.0, False), (181.0, True)])
def test_a_fold_turns_by_half_a_turn_at_most(angle: float, refused: bool) -> None:
    words = f"folded, fold 20 mm, radius 1 mm, angle {angle} deg"
    if not refused:
        formed(photo(box(0, 0, 100, 20)), words, exact(1.0, "mm"))
        return
    with pytest.raises(RangeError, match="A fold of 181° cannot be"):
        formed(photo(box(0, 0, 100, 20)), words, exact(1.0, "mm"))


def test_the_bend_allowance_is_the_arc_of_the_neutral_layer() -> None:
    """20 mm of fold by 90 degrees on 1 mm inside, 1.5 mm thick, neutral at 0.4: 20 x pi / 2 x 1.6 mm2."""
    found = formed(photo(box(0, 0, 100, 20)), "folded, fold 20 mm, radius 1 mm, neutral 0.4", exact(1.5, "mm"))
    assert found.figures["bend allowance, as area"].value == pytest.approx(20.0 * math.pi / 2.0 * 1.6)


@pytest.mark.parametrize(("bore", "bores"), [(2.0, "10.0"), (5.0, "4.0")])
def test_a_bore_of_which_nobody_says_how_far_it_is_reached_is_asked_about(bore: float, bores: str) -> None:
    """A tube of 40 mm: from each end 20 mm deep."""
    found = formed(typed("rectangle 40 x 6 mm"), f"tube, diameter 6 mm, length 40 mm, bore {bore} mm")
    (asked,) = [flag for flag in found.flags if flag.code == "INSIDE_REACH"]
    assert f"up to 20 mm from an open end, {bores} times the bore" in asked.message
