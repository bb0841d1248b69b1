import math
from itertools import pairwise

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon, box

from areakit.errors import OutlineInvalid, RangeError
from areakit.geometry.drawing import drawn_outline
from areakit.geometry.drawn_regions import (
    DrawnRegion,
    drawn_flags,
    drawn_masks,
    drawn_significant,
    significant_by_hand,
)
from areakit.geometry.features import Dome, Mask, Recess, Rim
from areakit.geometry.outline import Outline
from areakit.geometry.part import SIDES, Part, thickness_mm
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import typed_shape
from areakit.geometry.surface import Surface, plated_surface
from areakit.geometry.unseen import relief_from_coupon, relief_of_kind, relief_table, tapered, unrolled
from areakit.uncertainty import Measured, exact


def drawn(polygon: Polygon) -> Outline:
    return drawn_outline(polygon, sagitta_mm=1e-6)


def typed(text: str, *minus: str) -> Outline:
    return typed_shape(read_shape(text), minus=[read_shape(m, tag=f"minus {i} ") for i, m in enumerate(minus)]).outline


def named(surface: Surface) -> dict[str, float]:
    return {line.name: line.area.value for line in surface.lines}


PLATE = typed("rectangle 40 x 30 mm", "disk 8 mm, at 8 5 mm", "hexagon 6 mm, at -9 -4 mm")


def solid_of(polygon: Polygon, height: float) -> trimesh.Trimesh:
    """Build the walls triangle by triangle; trimesh sums their areas."""
    triangles = []
    for ring in (polygon.exterior, *polygon.interiors):
        spots = np.asarray(ring.coords)
        for (x, y), (u, v) in pairwise(spots):
            triangles += [[(x, y, 0), (u, v, 0), (u, v, height)], [(x, y, 0), (u, v, height), (x, y, height)]]
    points = np.array(triangles, dtype=float).reshape(-1, 3)
    return trimesh.Trimesh(points, np.arange(len(points)).reshape(-1, 3), process=False)


def test_walls_of_a_prism_with_holes_agree_with_a_mesh_library() -> None:
    surface = plated_surface(Part(outline=PLATE, thickness=exact(2.5, "mm"), faces="walls"))
    assert surface.plated.value == pytest.approx(solid_of(PLATE.polygon, 2.5).area, rel=3e-6)


@pytest.mark.parametrize(
    ("text", "mesh"),
    [
        ("ring 20 x 12 mm", lambda: trimesh.creation.annulus(r_min=6, r_max=10, height=3, sections=2000)),
        ("disk 20 mm", lambda: trimesh.creation.cylinder(radius=10, height=3, sections=2000)),
        ("rectangle 20 x 12 mm", lambda: trimesh.creation.box((20, 12, 3))),
    ],
)
def test_closed_solids_agree_with_a_mesh_library(text: str, mesh) -> None:  # type: ignore[no-untyped-def]
    surface = plated_surface(Part(outline=typed(text), thickness=exact(3.0, "mm"), faces="all"))
    assert surface.plated.value == pytest.approx(mesh().area, rel=1e-5)


def test_a_dome_agrees_with_a_mesh_library() -> None:
    """A sphere of radius R cut at height h has a cap on a base of radius sqrt(h (2 R - h))."""
    ball = trimesh.creation.icosphere(subdivisions=6, radius=26.0)
    cap = trimesh.intersections.slice_mesh_plane(ball, [0, 0, 1], [0, 0, 26.0 - 4.0])
    base = math.sqrt(4.0 * (52.0 - 4.0))
    part = Part(outline=typed(f"disk {2 * base} mm"), thickness=None, dome=Dome(height=exact(4.0, "mm")))
    assert plated_surface(part).plated.value == pytest.approx(cap.area, rel=5e-4)


@given(r=st.floats(0.5, 9.0), t=st.floats(0.1, 20.0), faces=st.sampled_from(["walls", "all", "front-and-edges"]))
@settings(max_examples=40, deadline=None)
def test_a_hole_adds_area_once_the_thickness_exceeds_its_radius_or_half_of_it(r: float, t: float, faces: str) -> None:
    """Two faces lose 2 pi r^2, one loses pi r^2, the wall brings 2 pi r t."""
    part = Part(outline=typed("disk 40 mm", f"disk {2 * r} mm"), thickness=exact(t, "mm"), faces=faces)  # type: ignore[arg-type]
    limit = {"walls": 0.0, "front-and-edges": r / 2.0, "all": r}[faces]
    codes = [flag.code for flag in plated_surface(part).flags]
    if abs(t - limit) > 1e-6:
        assert ("HOLE_ADDS_AREA" in codes) == (t > limit)


@given(t=st.floats(0.1, 20.0), count=st.integers(0, 5))
@settings(max_examples=25, deadline=None)
def test_walls_are_additive_and_lines_add_up(t: float, count: int) -> None:
    holes = [f"disk {2 + i} mm, at {10 * i - 20} 0 mm" for i in range(count)]
    surface = plated_surface(Part(outline=typed("rectangle 60 x 30 mm", *holes), thickness=exact(t, "mm"), faces="all"))
    walls = [line.area.value for line in surface.lines if line.side == "wall"]
    assert len(walls) == 1 + count
    assert math.fsum(walls) == pytest.approx(t * (180 + math.pi * sum(2 + i for i in range(count))), rel=1e-5)
    assert math.fsum(line.area.value for line in surface.lines) == pytest.approx(surface.plated.value)
    assert sum(surface.shares.values()) == pytest.approx(1.0)


@pytest.mark.parametrize("faces", SIDES)
def test_faces_choose_the_lines(faces: str) -> None:
    surface = plated_surface(Part(outline=PLATE, thickness=exact(2.0, "mm"), faces=faces))  # type: ignore[arg-type]
    area, walls = PLATE.area.value, 2.0 * (PLATE.perimeter_outer.value + PLATE.perimeter_holes.value)
    expected = {"one": area, "front": area, "back": area, "both": 2 * area, "walls": walls, "all": 2 * area + walls,
                "front-and-edges": area + walls}  # fmt: skip
    assert surface.plated.value == pytest.approx(expected[faces])
    assert len(surface.lines) == 5


def test_scale_keeps_area_and_perimeter_correlated() -> None:
    """With a common scale m, 2 A m^2 + P t m has the share 4 A + P t, not its parts in quadrature."""
    polygon, u = box(0, 0, 40, 25), 0.001
    outline = Outline(
        polygon=polygon,
        area=Measured(value=1000, unit="mm2", budget={"scale": 2 * u * 1000}),
        perimeter_outer=Measured(value=130, unit="mm", budget={"scale": u * 130}),
        perimeter_holes=exact(0.0, "mm"),
        origin="photo",
    )
    surface = plated_surface(Part(outline=outline, thickness=thickness_mm(2.0, 0.1), faces="all"))
    assert surface.plated.budget["scale"] == pytest.approx(u * (4 * 1000 + 130 * 2))
    assert surface.plated.budget["thickness"] == pytest.approx(130 * 0.1 / math.sqrt(3))
    assert surface.shares["measured"] == pytest.approx(2000 / 2260)


def test_the_edge_share_of_a_drawing_is_the_change_of_a_parallel_curve() -> None:
    polygon = Point(0, 0).buffer(15, quad_segs=500) - Point(3, 0).buffer(4, quad_segs=500)
    outline, e = drawn(polygon), 0.02
    wider = polygon.buffer(e, quad_segs=500)
    assert outline.area.budget["edge"] == pytest.approx(wider.area - polygon.area, rel=2e-3)
    assert outline.perimeter_outer.budget["edge"] == pytest.approx(
        wider.exterior.length - polygon.exterior.length, rel=2e-3
    )
    shorter = wider.interiors[0].length - polygon.interiors[0].length
    assert outline.perimeter_holes.budget["edge"] == pytest.approx(shorter, rel=2e-3)


# Masks


def test_a_stop_off_takes_its_area_and_the_wall_under_it() -> None:
    """A strip of 10 mm over the end of a 40 x 20 plate: 200 mm2 of face, 10 + 20 + 10 mm of wall."""
    mask = Mask(region=box(30, -5, 60, 25), keep=False)
    part = Part(outline=drawn(box(0, 0, 40, 20)), thickness=exact(1.5, "mm"), faces="all", masks=(mask,))
    lines = named(plated_surface(part))
    assert lines["front stopped off"] == pytest.approx(-200)
    assert lines["walls stopped off"] == pytest.approx(-40 * 1.5)
    assert "back stopped off" not in lines


def test_masked_and_free_areas_of_complementary_masks_add_up_to_the_face() -> None:
    outline, region = drawn(box(0, 0, 40, 20)), Point(20, 10).buffer(7)
    kept = plated_surface(Part(outline=outline, thickness=None, masks=(Mask(region=region, keep=True),)))
    stopped = plated_surface(Part(outline=outline, thickness=None, masks=(Mask(region=region, keep=False),)))
    assert kept.plated.value + stopped.plated.value == pytest.approx(800)
    assert kept.plated.budget["mask"] == pytest.approx(region.length * 0.2 / math.sqrt(3), rel=1e-6)
    assert "edge" not in kept.plated.budget  # the mask, not the part, bounds the area


def test_overspill_is_a_line_of_its_own_and_stays_on_the_face() -> None:
    """A kept disk of radius 7 with 1 mm of overspill gains a ring of pi (8^2 - 7^2)."""
    disk = Point(20, 10).buffer(7, quad_segs=200)
    margin = Measured(value=1.0, unit="mm", budget={"overspill": 0.3})
    part = Part(
        outline=drawn(box(0, 0, 40, 20)), thickness=None, masks=(Mask(region=disk, keep=True),), overspill=margin
    )
    surface = plated_surface(part)
    assert named(surface)["front overspill at the masks"] == pytest.approx(math.pi * 15, rel=1e-3)
    assert surface.plated.budget["overspill"] == pytest.approx(0.3 * 14 * math.pi, rel=1e-3)
    assert surface.shares["allowance"] == pytest.approx(15 / 64, rel=1e-2)
    edge = Mask(region=box(-50, -50, 20, 50), keep=True)
    half = Part(outline=drawn(box(0, 0, 40, 20)), thickness=None, masks=(edge,), overspill=margin)
    assert named(plated_surface(half))["front overspill at the masks"] == pytest.approx(20.0)


def test_a_mask_that_misses_is_flagged() -> None:
    part = Part(outline=drawn(box(0, 0, 4, 2)), thickness=None, masks=(Mask(region=box(9, 9, 10, 10), keep=False),))
    assert [flag.code for flag in plated_surface(part).flags] == ["MASK_MISSES"]


def test_the_significant_surface_is_a_region_of_its_own() -> None:
    part = Part(outline=drawn(box(0, 0, 40, 20)), thickness=None, faces="both", significant=box(-5, -5, 10, 50))
    surface = plated_surface(part)
    assert surface.significant is not None
    assert surface.significant.value == pytest.approx(200)
    assert surface.plated.value == pytest.approx(1600)
    with pytest.raises(RangeError, match="does not touch"):
        plated_surface(Part(outline=drawn(box(0, 0, 4, 2)), thickness=None, significant=box(9, 9, 10, 10)))


def test_a_domed_significant_surface_takes_its_share_of_the_dome() -> None:
    """Half of a cap over a disk of radius a: pi (a^2 + h^2) / 2 (closed form)."""
    dome = Dome(height=exact(3.0, "mm"))
    part = Part(outline=typed("disk 20 mm"), thickness=None, dome=dome, significant=box(-50, -50, 0, 50))
    significant = plated_surface(part).significant
    assert significant is not None
    assert significant.value == pytest.approx(math.pi * (100 + 9) / 2, rel=1e-4)


def test_a_mask_that_meets_the_part_along_a_line_leaves_only_areas() -> None:
    """A kept frame round the plate meets it in a line, and a corner square in an area: only the square counts."""
    frame = Polygon(box(-5, -5, 45, 25).exterior, [box(0, 0, 40, 20).exterior])
    masks = (Mask(region=frame.union(box(0, 0, 3, 3)), keep=True),)
    surface = plated_surface(Part(outline=drawn(box(0, 0, 40, 20)), thickness=None, masks=masks))
    assert surface.plated.value == pytest.approx(9.0)


def test_regions_drawn_by_hand_carry_the_hand() -> None:
    regions = (
        DrawnRegion(kind="stop_off", ring_mm=[(0, 0), (10, 0), (10, 20), (0, 20)], sides="both"),
        DrawnRegion(kind="significant", ring_mm=[(20, 5), (30, 5), (30, 15), (20, 15)]),
    )
    (mask,) = drawn_masks(regions, hand_mm=0.3)
    assert (mask.keep, mask.sides) == (False, frozenset({"front", "back"}))
    assert mask.edge_mm == pytest.approx(math.hypot(0.2 / math.sqrt(3), 0.3))  # tape and hand, in quadrature
    significant = drawn_significant(regions)
    assert significant is not None
    assert significant.area == pytest.approx(100.0)
    area = significant_by_hand(exact(100.0, "mm2"), regions, part=box(0, 0, 40, 20), hand_mm=0.3)
    assert area.budget == {"region drawn by hand": pytest.approx(40 * 0.3)}
    assert [flag.code for flag in drawn_flags(regions, hand_mm=0.3)] == ["REGIONS_DRAWN"]
    assert drawn_flags((), hand_mm=0.3) == ()
    assert drawn_significant(()) is None


def test_a_region_whose_line_crosses_itself_is_refused() -> None:
    bow_tie = DrawnRegion(kind="keep", ring_mm=[(0, 0), (10, 10), (10, 0), (0, 10)])
    with pytest.raises(OutlineInvalid, match="A drawn region is not sound"):
        drawn_masks([bow_tie], hand_mm=0.3)


# Walls that lean


def test_a_draft_makes_the_frustum_of_a_pyramid() -> None:
    """Base 40 x 20, height 5, draft 10 degrees: four trapezoids and a smaller top (closed form)."""
    outline, t, angle = typed("rectangle 40 x 20 mm"), 5.0, 10.0
    taper = tapered(outline, exact(t, "mm"), angle_deg=exact(angle, "deg"))
    inset, slant = t * math.tan(math.radians(angle)), t / math.cos(math.radians(angle))
    assert taper.front_area.value == pytest.approx((40 - 2 * inset) * (20 - 2 * inset))
    assert taper.walls[0].value == pytest.approx(slant * (120 - 4 * inset))


def test_a_draft_on_a_tube_makes_two_cones() -> None:
    outline = typed("ring 30 x 20 mm")
    taper = tapered(outline, exact(4.0, "mm"), angle_deg=exact(5.0, "deg"))
    inset, slant = 4 * math.tan(math.radians(5)), 4 / math.cos(math.radians(5))
    assert taper.walls[0].value == pytest.approx(math.pi * (30 - inset) * slant, rel=1e-5)
    assert taper.walls[1].value == pytest.approx(math.pi * (20 + inset) * slant, rel=1e-4)
    assert taper.front_area.value == pytest.approx(math.pi * ((15 - inset) ** 2 - (10 + inset) ** 2), rel=1e-5)


def test_a_bevel_of_45_degrees_changes_the_area_by_0_59_c_per_length() -> None:
    """Face and wall lose c each, the bevel brings sqrt(2) c (elementary geometry)."""
    outline, c = typed("disk 100 mm"), 0.5
    sharp = plated_surface(Part(outline=outline, thickness=exact(3.0, "mm"), faces="all"))
    taper = tapered(outline, exact(3.0, "mm"), angle_deg=exact(45.0, "deg"), height=exact(c, "mm"))
    bevelled = plated_surface(Part(outline=outline, thickness=exact(3.0, "mm"), faces="all", taper=taper))
    change = (bevelled.plated.value - sharp.plated.value) / (math.pi * 100)
    assert change == pytest.approx((math.sqrt(2) - 2) * c, rel=0.02)


def test_draft_carries_its_angle_and_the_thickness_in_the_budget() -> None:
    outline = typed("disk 40 mm ± 0.1 mm")
    angle = Measured(value=5.0, unit="deg", budget={"wall angle": 0.5})
    taper = tapered(outline, thickness_mm(4.0, 0.1), angle_deg=angle)
    surface = plated_surface(Part(outline=outline, thickness=thickness_mm(4.0, 0.1), faces="all", taper=taper))
    assert {"wall angle", "thickness", "disk diameter"} <= set(surface.plated.budget)


@pytest.mark.parametrize(("angle", "height"), [(0.0, None), (85.0, None), (60.0, None), (45.0, 9.0)])
def test_slopes_that_leave_nothing_are_refused(angle: float, height: float | None) -> None:
    bevel = None if height is None else exact(height, "mm")
    with pytest.raises(RangeError):
        tapered(typed("rectangle 40 x 10 mm"), exact(5.0, "mm"), angle_deg=exact(angle, "deg"), height=bevel)


# Recess, rim, dome, relief, bend


def test_a_blind_hole_adds_pi_d_h() -> None:
    recess = Recess(region=Point(5, 5).buffer(2), perimeter=exact(4 * math.pi, "mm"), depth=exact(1.2, "mm"))
    part = Part(outline=drawn(box(0, 0, 20, 20)), thickness=exact(3.0, "mm"), faces="front", recesses=(recess,))
    assert plated_surface(part).plated.value == pytest.approx(400 + math.pi * 4 * 1.2)


def test_a_recess_through_the_part_or_beside_it_is_refused() -> None:
    deep = Recess(region=box(1, 1, 2, 2), perimeter=exact(4, "mm"), depth=exact(3.0, "mm"))
    with pytest.raises(RangeError, match="goes through"):
        Part(outline=drawn(box(0, 0, 20, 20)), thickness=exact(3.0, "mm"), recesses=(deep,))
    beside = Recess(region=box(30, 1, 32, 2), perimeter=exact(4, "mm"), depth=exact(1.0, "mm"))
    with pytest.raises(OutlineInvalid, match="outside the face"):
        Part(outline=drawn(box(0, 0, 20, 20)), thickness=exact(3.0, "mm"), recesses=(beside,))


def test_a_rim_adds_its_inner_wall() -> None:
    rim = Rim(width=exact(1.0, "mm"), height=exact(0.3, "mm"))
    part = Part(outline=typed("disk 30 mm"), thickness=None, rim=rim)
    assert named(plated_surface(part))["front rim, inner wall"] == pytest.approx(math.pi * 28 * 0.3, rel=1e-4)


@pytest.mark.parametrize(("a", "b", "h"), [(20.0, 12.0, 1.5), (15.0, 14.0, 2.0)])
def test_an_elliptic_dome_agrees_with_its_integral(a: float, b: float, h: float) -> None:
    """Area of z = h (1 - x2/a2 - y2/b2) by quadrature; the shallow formula is within its own share of it."""
    from scipy.integrate import dblquad

    slope = lambda r, t: math.sqrt(  # noqa: E731
        1 + 4 * h * h * ((r * math.cos(t) / a) ** 2 + (r * math.sin(t) / b) ** 2)
    )
    true, _ = dblquad(lambda r, t: a * b * r * slope(r, t), 0, 2 * math.pi, 0, 1)
    part = Part(outline=typed(f"oval {2 * a} x {2 * b} mm"), thickness=None, dome=Dome(height=exact(h, "mm")))
    surface = plated_surface(part)
    assert surface.plated.value == pytest.approx(true, abs=surface.plated.expanded_uncertainty)
    assert surface.plated.value > surface.face.value


def test_a_dome_too_high_is_refused() -> None:
    with pytest.raises(RangeError, match="outside 0 to 10 mm"):
        plated_surface(Part(outline=typed("disk 20 mm"), thickness=None, dome=Dome(height=exact(12.0, "mm"))))


def test_relief_is_an_allowance_with_its_own_share() -> None:
    relief = relief_from_coupon(1.08, 0.02)
    surface = plated_surface(Part(outline=drawn(box(0, 0, 20, 10)), thickness=None, relief={"front": relief}))
    assert surface.plated.value == pytest.approx(216)
    assert surface.plated.budget["relief"] == pytest.approx(200 * 0.02 / math.sqrt(3))
    assert surface.shares == pytest.approx({"measured": 0.0, "computed": 200 / 216, "allowance": 16 / 216})
    assert not surface.flags


def test_the_table_of_relief_is_marked_as_common_practice() -> None:
    assert len(relief_table()) == 6
    assert {row.source for row in relief_table().values()} == {"practice"}
    surface = plated_surface(
        Part(
            outline=typed("disk 6 ± 0.1 mm"),
            thickness=exact(20.0, "mm"),
            faces="walls",
            relief={"wall": relief_of_kind("thread")},
        )
    )
    assert surface.plated.value == pytest.approx(1.7 * math.pi * 6 * 20, rel=1e-5)
    assert [flag.code for flag in surface.flags] == ["RELIEF_FROM_PRACTICE"]
    with pytest.raises(RangeError, match="not in the table"):
        relief_of_kind("hammered")


def test_a_sharp_thread_and_knurl_bound_the_table() -> None:
    """A sharp V of included angle 60 degrees has flanks 1 / sin 30 = 2 times its pitch; 90 degrees: sqrt 2."""
    assert relief_of_kind("thread").high <= 1 / math.sin(math.radians(30))
    assert relief_of_kind("knurl").high <= math.sqrt(2) + 1e-9


def test_a_bent_strip_is_laid_flat() -> None:
    """A strip of 60 mm arc on a radius of 60 mm is seen as 2 R sin(L / 2 R) long (closed form)."""
    radius, arc, width = 60.0, 60.0, 12.0
    chord = 2 * radius * math.sin(arc / 2 / radius)
    seen = drawn(box(0, 0, chord, width))
    flat = unrolled(seen, Measured(value=radius, unit="mm", budget={"bend radius": 0.5}))
    assert flat.area.value == pytest.approx(arc * width, rel=1e-9)
    assert flat.perimeter_outer.value == pytest.approx(2 * (arc + width), rel=1e-9)
    assert flat.area.budget["bend radius"] < 0.0
    sideways = unrolled(drawn(box(0, 0, width, chord)), exact(radius, "mm"), axis_deg=0.0)
    assert sideways.area.value == pytest.approx(arc * width, rel=1e-6)


def test_the_inside_of_a_bend_is_shorter() -> None:
    part = Part(
        outline=drawn(box(0, 0, 60, 12)), thickness=exact(1.2, "mm"), faces="both", bend_radius=exact(60.0, "mm")
    )
    assert plated_surface(part).plated.value == pytest.approx(720 + 720 * (1 - 1.2 / 60))


def test_a_deep_bow_is_refused() -> None:
    with pytest.raises(RangeError, match="bows too deeply"):
        unrolled(drawn(box(0, 0, 60, 12)), exact(35.0, "mm"))


@pytest.mark.parametrize(("factor", "half"), [(4.9, 0.2), (0.5, 0.0)])
def test_a_relief_factor_that_no_surface_has_is_refused(factor: float, half: float) -> None:
    with pytest.raises(RangeError, match="is outside 1 to 5") as caught:
        relief_from_coupon(factor, half)
    assert "1.08 ± 0.02" in caught.value.remedy


def test_figures_that_describe_nothing_are_refused() -> None:
    with pytest.raises(RangeError, match="A recess of 0 mm depth is none"):
        Recess(region=box(0, 0, 1, 1), perimeter=exact(4.0, "mm"), depth=exact(0.0, "mm"))
    with pytest.raises(RangeError, match="'top' is not a choice of faces"):
        Part(outline=drawn(box(0, 0, 4, 2)), thickness=None, faces="top")  # type: ignore[arg-type]


def test_the_edge_of_a_foil_is_counted_and_called_negligible() -> None:
    surface = plated_surface(
        Part(outline=drawn(box(0, 0, 40, 30)), thickness=thickness_mm(0.035, 0.005), faces="front-and-edges")
    )
    assert surface.plated.value == pytest.approx(1200 + 140 * 0.035)
    (flag,) = surface.flags
    assert flag.code == "CUT_EDGE"
    assert "negligible" in flag.message


# Nonsense


@pytest.mark.parametrize("thickness", [0.0, -1.0, 41.0, 1e9])
def test_a_thickness_that_no_such_part_has_is_refused(thickness: float) -> None:
    with pytest.raises(RangeError, match="thickness"):
        Part(outline=drawn(box(0, 0, 40, 20)), thickness=Measured(value=thickness, unit="mm"))


def test_walls_without_thickness_are_refused() -> None:
    with pytest.raises(RangeError, match="height is not known"):
        Part(outline=drawn(box(0, 0, 40, 20)), thickness=None, faces="all")


@pytest.mark.parametrize(
    ("polygon", "words"),
    [
        (Polygon(), "empty"),
        (Polygon([(0, 0), (10, 10), (10, 0), (0, 12)]), "self-intersection"),
        (Polygon([(0, 0), (10, 0), (20, 0)]), "area of 0"),
        (Polygon(box(0, 0, 9, 9).exterior, [box(20, 20, 21, 21).exterior.coords]), "hole lies outside"),
        (box(0, 0, 1e9, 1e9), "limit"),
    ],
)
def test_outlines_without_an_honest_area_are_refused(polygon: Polygon, words: str) -> None:
    with pytest.raises(OutlineInvalid, match=words):
        Outline(
            polygon=polygon,
            area=exact(1.0, "mm2"),
            perimeter_outer=exact(1.0, "mm"),
            perimeter_holes=exact(0.0, "mm"),
            origin="drawing",
        )
