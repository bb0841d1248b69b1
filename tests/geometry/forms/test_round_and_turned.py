"""Round stock and turned parts, against closed forms, a mesh library, and solids seen by a camera."""

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from areakit.errors import OutlineInvalid, RangeError
from areakit.geometry.drawing import drawn_outline
from areakit.geometry.features import Mask
from areakit.geometry.forms.middle import middle_line
from areakit.geometry.forms.seen import View, true_radius
from areakit.geometry.forms.table import FLANK_PX
from areakit.geometry.forms.words import read_form
from areakit.geometry.part import Part
from areakit.geometry.surface import plated_surface
from areakit.synthetic.solids import meets_sheet, stock_sections, swept_shadow, turned_sections
from tests.geometry.forms.solids import (
    areas,
    cone,
    disk,
    formed,
    ring,
    rod,
)

CAMERA = View(x_mm=0.0, y_mm=0.0, height_mm=300.0)


def test_a_straight_rod_has_the_surface_of_a_cylinder_of_a_mesh_library() -> None:
    found = formed(rod(30, 2), "round, ends flat").plated.value
    mesh = trimesh.creation.cylinder(radius=1.0, height=30.0, sections=512)
    assert found == pytest.approx(mesh.area, rel=3e-4)


def test_a_wire_ring_has_the_surface_of_a_torus_of_a_mesh_library() -> None:
    found = formed(ring(20, 2), "round")
    torus = trimesh.creation.torus(major_radius=10.0, minor_radius=1.0, major_sections=512, minor_sections=256)
    assert found.plated.value == pytest.approx(torus.area, rel=3e-4)
    assert found.figures["loose ends"].value == 0.0


def test_a_rod_with_round_ends_has_the_surface_of_a_capsule_of_a_mesh_library() -> None:
    capsule = trimesh.creation.capsule(height=20.0, radius=1.5, count=[256, 256])
    outline = LineString([(0, 0), (20, 0)]).buffer(1.5, quad_segs=128)
    assert formed(outline, "round, ends round").plated.value == pytest.approx(capsule.area, rel=4e-3)


def test_surface_over_mean_shadow_of_convex_solids_is_four_so_pi_for_a_long_rod_in_its_plane() -> None:
    """Cauchy: a convex body's surface is four times its mean shadow; trimesh casts the shadows."""
    mesh = trimesh.creation.cylinder(radius=1.0, height=400.0, sections=64)
    rng = np.random.default_rng(3)
    ways = rng.normal(size=(2000, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    shadows = [0.5 * float(np.abs(mesh.face_normals @ way) @ mesh.area_faces) for way in ways]
    assert mesh.area / np.mean(shadows) == pytest.approx(4.0, rel=0.02)
    seen_flat = 0.5 * float(np.abs(mesh.face_normals @ np.array([1.0, 0.0, 0.0])) @ mesh.area_faces)
    assert mesh.area / seen_flat == pytest.approx(math.pi, rel=0.005)


def test_ends_that_nobody_described_cover_flat_and_round() -> None:
    either = formed(rod(10, 2), "round")
    for kind in ("flat", "round"):
        true = formed(rod(10, 2), f"round, ends {kind}").plated.value
        assert abs(true - either.plated.value) < either.plated.expanded_uncertainty
    assert "ENDS_ASKED" in {told.code for told in either.flags}


def test_a_wire_that_crosses_itself_is_asked_about_and_the_answer_settles_it() -> None:
    t = np.linspace(-1.4, 1.4, 300)
    loop = LineString(np.column_stack([8 * t**2, 12 * (t**3 - t)]))
    asked = formed(loop.buffer(0.5), "round, ends flat")
    assert "CROSSINGS_ASKED" in {told.code for told in asked.flags}
    settled = formed(loop.buffer(0.5), "round, ends flat, crossings 1")
    assert not settled.flags
    none = formed(loop.buffer(0.5), "round, ends flat, crossings 0")
    assert none.plated.value < asked.plated.value < settled.plated.value
    plain = formed(ring(16, 1), "round")
    assert not plain.flags


def test_an_outline_that_is_not_slender_is_no_wire() -> None:
    with pytest.raises((RangeError, OutlineInvalid), match=r"slender|times as long"):
        formed(rod(5, 2), "round")
    assert formed(rod(6.5, 2), "round, ends flat").plated.value > 0.0


def test_the_middle_line_knows_length_width_ends_and_forks() -> None:
    tee = LineString([(0, 0), (40, 0)]).buffer(1).union(LineString([(20, 0), (20, 15)]).buffer(1))
    line = middle_line(tee)
    assert len(line.ends) == 3
    assert line.forks == 1
    assert line.mean_width_mm == pytest.approx(2.0, rel=0.03)


def test_scatter_of_the_width_is_zero_for_even_stock_and_shows_waves() -> None:
    assert middle_line(rod(30, 2)).scatter() < 1e-3
    x = np.linspace(0, 40, 400)
    half = 1.0 + 0.1 * np.sin(2 * math.pi * x / 4.0)
    wavy = Polygon(np.concatenate([np.column_stack([x, half]), np.column_stack([x, -half])[::-1]]))
    assert middle_line(wavy).scatter() == pytest.approx(0.1 / math.sqrt(2.0), rel=0.25)


@pytest.mark.parametrize(("polygon", "true"), [
    (disk(20), math.pi * 400),
    (cone(10, 16, 20), math.pi * 13 * math.hypot(20, 3) + math.pi * (25 + 64)),
    (affinity.rotate(cone(10, 0, 20), 37), math.pi * 5 * math.hypot(20, 5) + math.pi * 25),
    (rod(30, 12), math.pi * 12 * 30 + math.pi / 2 * 144),
])  # fmt: skip
def test_turned_parts_have_the_surface_of_handbook_solids(polygon: Polygon, true: float) -> None:
    assert formed(polygon, "turned").plated.value == pytest.approx(true, rel=5e-4)


def test_a_vase_has_the_surface_that_a_mesh_library_sweeps() -> None:
    x = np.linspace(0.0, 30.0, 200)
    radius = 5.0 + 2.0 * np.sin(x / 5.0)
    mesh = trimesh.creation.revolve(np.column_stack([np.r_[0, radius, 0], np.r_[0, x, 30]]), sections=720)
    outline = Polygon(np.concatenate([np.column_stack([x, radius]), np.column_stack([x, -radius])[::-1]]))
    assert formed(outline, "turned").plated.value == pytest.approx(mesh.area, rel=5e-4)


def test_a_hollow_half_sphere_has_its_inside_and_its_rim() -> None:
    """Wall 1 mm of a half sphere of radius 10: 2 pi 100 outside, 2 pi 81 inside, pi (100 - 81) rim (closed forms)."""
    half = disk(20).intersection(box(0, -11, 11, 11))
    found = areas(formed(half, "turned, wall 1 mm, open wide"))
    assert found["outside"] == pytest.approx(2 * math.pi * 100, rel=2e-3)
    assert found["inside"] == pytest.approx(2 * math.pi * 81, rel=5e-3)
    assert found["rim"] == pytest.approx(math.pi * 19, rel=5e-3)


def test_a_bead_loses_its_caps_to_the_bore() -> None:
    """Sphere of radius 10 with a bore of radius 6: zone 2 pi R 16 = 4 pi R 8 outside, 2 pi 6 16 inside (closed)."""
    found = areas(formed(disk(20), "turned, bore 12 mm"))
    assert found["outside"] + found["mouths of the bore"] == pytest.approx(2 * math.pi * 10 * 16, rel=1e-3)
    assert found["inside of the bore"] == pytest.approx(2 * math.pi * 6 * 16, rel=1e-3)


def test_two_axes_of_symmetry_are_asked_about() -> None:
    long = formed(rod(30, 12), "turned")
    assert "AXIS_ASKED" in {told.code for told in long.flags}
    short = formed(rod(30, 12), "turned, axis short").plated.value
    assert short == pytest.approx(math.pi * 30 * 12 + math.pi / 2 * 900, rel=5e-4)
    assert not formed(cone(10, 16, 20), "turned").flags


def test_an_outline_without_an_axis_is_not_turned_and_a_dented_one_says_so_in_its_share() -> None:
    with pytest.raises(OutlineInvalid, match="two halves"):
        formed(Polygon([(0, 0), (30, 0), (0, 12)]), "turned")
    with pytest.raises(OutlineInvalid, match="hole"):
        formed(ring(20, 4), "turned")
    whole, dented = cone(10, 16, 20), cone(10, 16, 20).difference(Point(10, 7).buffer(1.5))
    shares = [formed(one, "turned").plated.budget.get("form: two halves", 0.0) for one in (whole, dented)]
    assert shares[1] > 10.0 * shares[0]


def test_the_radius_of_a_rod_seen_aslant_comes_back_exactly() -> None:
    """The rod's section is a circle beside the foot of the camera; its grazing rays are found by brute force."""
    radius, across, distance = 4.0, 90.0, 250.0
    around = np.linspace(0.0, 2.0 * math.pi, 200_000)
    y, z = across + radius * np.cos(around), radius * np.sin(around)
    meets = y * distance / (distance - z)
    half = (meets.max() - meets.min()) / 2.0
    assert half > 1.05 * radius
    assert float(true_radius(half, across=across, distance_mm=distance)) == pytest.approx(radius, rel=1e-5)


@pytest.mark.parametrize("start", [(-40.0, 10.0), (60.0, 40.0), (-10.0, 90.0)])
def test_a_bent_wire_on_the_sheet_is_corrected_for_height_and_slant(start: tuple[float, float]) -> None:
    angle = np.linspace(0.0, 3.5, 120)
    path = np.array(start) + np.column_stack([15 * np.cos(angle), 15 * np.sin(angle)])
    shadow = swept_shadow(stock_sections(path, 1.5), CAMERA)
    true = 2.0 * math.pi * 1.5 * 15.0 * 3.5 + 2.0 * math.pi * 1.5**2
    found = formed(shadow, "round, ends flat", view=CAMERA)
    assert abs(formed(shadow, "round, ends flat").plated.value / true - 1.0) > 0.012
    assert found.plated.value == pytest.approx(true, rel=0.008)
    assert found.figures["height of the widest line"].value == pytest.approx(1.5, rel=0.02)


@pytest.mark.parametrize(("at", "turn"), [((0.0, 0.0), 0.3), ((50.0, 20.0), 1.9), ((-20.0, 70.0), 0.2)])
def test_a_turned_part_propped_level_is_corrected_for_the_height_of_its_axis(
    at: tuple[float, float], turn: float
) -> None:
    x = np.linspace(-15.0, 15.0, 80)
    radius = 6.0 + 2.0 * np.cos(x / 6.0)
    profile = np.column_stack([np.r_[0, radius, 0], np.r_[-15, x, 15]])
    true = trimesh.creation.revolve(profile, sections=720).area
    shadow = swept_shadow(turned_sections(x, radius, height_mm=float(radius.max()), turn=turn, at=at), CAMERA)
    found = formed(shadow, "turned, level", view=CAMERA)
    assert abs(found.plated.value - true) < found.plated.expanded_uncertainty + 0.004 * true
    assert found.figures["height of the axis"].value == pytest.approx(radius.max(), rel=0.03)
    assert formed(shadow, "turned, level").plated.value > 1.03 * true


def test_a_mask_over_half_the_length_of_a_rod_takes_half_of_it_or_a_quarter() -> None:
    half = Mask(region=box(-1, -5, 15, 5), keep=False, sides=frozenset({"front", "back"}))
    whole = areas(formed(rod(30, 2), "round, ends none"))["outside"]
    assert areas(formed(rod(30, 2), "round, ends none", masks=(half,)))["outside stopped off"] == pytest.approx(
        -whole / 2.0, rel=0.02
    )
    seen_half = Mask(region=box(-1, -5, 15, 5), keep=False)
    assert areas(formed(rod(30, 2), "round, ends none", masks=(seen_half,)))["outside stopped off"] == pytest.approx(
        -whole / 4.0, rel=0.02
    )


def test_a_stripe_along_a_rod_covers_its_share_of_the_girth() -> None:
    """From the middle to half the radius lie 30 of 180 degrees (sine)."""
    stripe = Mask(region=box(-1, 0, 31, 0.5), keep=False)
    surface = formed(rod(30, 2), "round, ends none", masks=(stripe,))
    found = areas(surface)
    assert found["outside stopped off"] / found["outside"] == pytest.approx(-30 / 180 / 2.0, rel=0.02)


def test_the_outside_laid_flat_has_the_area_of_the_outside() -> None:
    for polygon, form in ((rod(30, 2), "round, ends none"), (cone(10, 16, 20), "turned")):
        surface = formed(polygon, form)
        assert surface.unrolled is not None
        assert surface.unrolled.area == pytest.approx(areas(surface)["outside"], rel=5e-3)


def test_the_shadow_of_a_point_is_where_its_ray_meets_the_sheet() -> None:
    assert meets_sheet(np.array([[10.0, 0.0, 150.0]]), CAMERA) == pytest.approx(np.array([[20.0, 0.0]]))


def test_half_of_what_a_shaded_flank_may_hide_is_added_in_a_photo_and_the_rest_is_open() -> None:
    outline = drawn_outline(rod(40, 4), sagitta_mm=1e-4)
    seen = replace(outline, origin="photo")
    form = read_form("round, ends none, dull")
    view = View(x_mm=20.0, y_mm=0.0, height_mm=1e6, pixel_mm=0.1)
    plain, known = (
        plated_surface(Part(outline=one, thickness=None, faces="all", form=form, view=view)).plated
        for one in (outline, seen)
    )
    half = FLANK_PX / 2.0 * 0.1
    assert known.value / plain.value == pytest.approx(1.0 + 2.0 * half / 4.0, rel=5e-3)
    open_ = known.budget["form: flank in the shade"]
    assert open_ == pytest.approx(math.pi * half / math.sqrt(3.0) * 88.0, rel=0.01)
    assert FLANK_PX == 1.2
    without = replace(view, pixel_mm=0.0)
    same = plated_surface(Part(outline=seen, thickness=None, faces="all", form=form, view=without)).plated
    assert same.value == pytest.approx(plain.value)
