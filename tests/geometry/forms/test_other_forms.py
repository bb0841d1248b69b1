"""Bands, tubes, strips, folds, coils and repeated profiles, against closed forms, standards and a mesh library."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
import trimesh
from shapely.geometry import LineString, Point, Polygon, box

from areakit.errors import InputError, OutlineInvalid, RangeError
from areakit.geometry.forms.profile import thread_factor
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.sheet import NEUTRAL_HALF, SHARPEST_LEAF_DEG, SMALLEST_NEUTRAL, neutral_layer
from areakit.geometry.forms.table import is_at_axis, tracing_height
from areakit.geometry.forms.wire import mesh_factor
from areakit.geometry.forms.words import FORMS, read_form
from areakit.geometry.part import thickness_mm
from areakit.synthetic.solids import swept_shadow, turned_sections
from areakit.uncertainty import exact
from tests.geometry.forms.solids import Floats, areas, disk, formed, rod


def sheet_mesh(points: Floats) -> trimesh.Trimesh:
    """Return a surface of points in rows and columns, shape (n, m, 3), as triangles."""
    n, m = points.shape[:2]
    where = np.arange(n * m).reshape(n, m)
    a, b, c, d = (w.ravel() for w in (where[:-1, :-1], where[1:, :-1], where[1:, 1:], where[:-1, 1:]))
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    return trimesh.Trimesh(points.reshape(-1, 3), faces, process=False)


def test_a_tube_has_the_surface_of_an_annulus_of_a_mesh_library() -> None:
    found = formed(None, "tube, diameter 10 mm, bore 8 mm, length 50 mm").plated.value
    mesh = trimesh.creation.annulus(r_min=4.0, r_max=5.0, height=50.0, sections=256)
    assert found == pytest.approx(mesh.area, rel=3e-4)


def test_a_bent_tube_from_its_outline_has_outside_and_inside_by_pappus() -> None:
    quarter = LineString([(40 * math.cos(a), 40 * math.sin(a)) for a in np.linspace(0, math.pi / 2, 200)])
    found = areas(formed(quarter.buffer(4.0, cap_style="flat"), "tube, bore 6 mm"))
    run = 40 * math.pi / 2
    assert found["outside"] == pytest.approx(math.pi * 8 * run, rel=2e-3)
    assert found["inside"] == pytest.approx(math.pi * 6 * run, rel=5e-3)
    assert found["ends"] == pytest.approx(math.pi / 2 * (64 - 36), rel=0.02)


def test_the_inside_of_a_tube_stops_at_the_stated_reach() -> None:
    text = "tube, diameter 10 mm, bore 8 mm, length 50 mm, reach 8 mm"
    assert areas(formed(None, text))["inside"] == pytest.approx(2 * 8 * math.pi * 8)
    assert areas(formed(None, f"{text}, inside closed"))["inside"] == pytest.approx(8 * math.pi * 8)
    assert areas(formed(None, text.replace("reach 8", "reach 30")))["inside"] == pytest.approx(50 * math.pi * 8)
    deep = formed(None, "tube, diameter 10 mm, bore 8 mm, length 50 mm")
    assert "INSIDE_REACH" in {told.code for told in deep.flags}
    assert "INSIDE_REACH" not in {told.code for told in formed(None, text).flags}


def test_a_tube_no_wider_than_its_bore_is_refused() -> None:
    with pytest.raises(RangeError, match="bore"):
        formed(None, "tube, diameter 10 mm, bore 10 mm, length 50 mm")
    assert formed(None, "tube, diameter 10 mm, bore 9.9 mm, length 50 mm").plated.value > 0.0


def test_a_band_from_the_front_has_two_cylinders_and_two_rings() -> None:
    found = areas(formed(None, "band, diameter 20 mm, bore 17 mm, width 4 mm"))
    assert found["outside"] == pytest.approx(math.pi * 20 * 4, rel=1e-4)
    assert found["inside"] == pytest.approx(math.pi * 17 * 4, rel=1e-4)
    assert found["edges"] == pytest.approx(math.pi / 2 * (400 - 289), rel=1e-4)


def test_a_half_round_band_has_the_outside_that_a_mesh_library_sweeps() -> None:
    found = areas(formed(None, "band, diameter 20 mm, bore 17 mm, width 4 mm, profile half-round"))
    rise, half = 1.5, 2.0
    radius = (half**2 + rise**2) / (2 * rise)
    angle = np.linspace(-math.asin(half / radius), math.asin(half / radius), 400)
    bow = np.column_stack([10 - radius + radius * np.cos(angle), radius * np.sin(angle)])
    assert found["outside"] == pytest.approx(trimesh.creation.revolve(bow, sections=256).area, rel=1e-3)
    assert "edges" not in found


def test_a_comfort_fit_band_lies_between_flat_and_twice_its_bow() -> None:
    flat = formed(None, "band, diameter 20 mm, bore 17 mm, width 4 mm")
    comfort = formed(None, "band, diameter 20 mm, bore 17 mm, width 4 mm, profile comfort")
    assert areas(comfort)["inside"] > areas(flat)["inside"]
    assert abs(comfort.plated.value - flat.plated.value) < 2.0 * comfort.plated.expanded_uncertainty


def test_a_band_standing_on_the_sheet_gives_the_same_as_one_lying_flat() -> None:
    side = formed(rod(20, 4), "band, seen side, wall 1.5 mm").plated.value
    assert side == pytest.approx(formed(None, "band, diameter 20 mm, bore 17 mm, width 4 mm").plated.value, rel=1e-3)


def test_a_band_needs_one_hole_and_round_circles() -> None:
    with pytest.raises(OutlineInvalid, match="one hole"):
        formed(disk(20), "band, width 4 mm")
    with pytest.raises(OutlineInvalid, match="out of round"):
        formed(box(-10, -10, 10, 10).difference(disk(12)), "band, width 4 mm")


def test_a_bent_strip_is_a_prism_on_its_edge() -> None:
    bend = LineString([(0, 0), (20, 0), (20, 15)]).buffer(0.5, cap_style="flat", join_style="mitre")
    found = areas(formed(bend, "bent, width 8 mm"))
    assert sum(found.values()) == pytest.approx(bend.length * 8 + 2 * bend.area, rel=1e-6)
    assert found["outer face"] == pytest.approx((bend.length - 2) / 2 * 8, rel=3e-3)
    assert found["ends"] == pytest.approx(2 * 8, rel=0.02)


def test_a_folded_sheet_gains_what_its_bends_have_over_the_neutral_layer() -> None:
    """Outside b (r + t), inside b r, pattern b (r + k t) for each length of fold (closed form)."""
    pattern = box(0, 0, 40, 20)
    found = areas(formed(pattern, "folded, fold 20 mm, radius 1 mm, neutral 0.4", thickness=exact(1.5, "mm")))
    leaves = 2 * (800 - 20 * math.pi / 2 * (1 + 0.4 * 1.5))
    bends = 20 * math.pi / 2 * (2.5 + 1.0)
    assert found["outer face"] + found["inner face"] == pytest.approx(leaves + bends)
    assert found["walls"] == pytest.approx(120 * 1.5)


def test_a_folded_sheet_needs_its_thickness_and_folds_that_fit() -> None:
    with pytest.raises(RangeError, match="thickness"):
        formed(box(0, 0, 40, 20), "folded, fold 20 mm, radius 1 mm")
    with pytest.raises(RangeError, match="folds take"):
        formed(box(0, 0, 40, 20), "folded, fold 2000 mm, radius 1 mm", thickness=exact(1.5, "mm"))


def test_a_dome_has_the_surface_of_a_cap() -> None:
    found = areas(formed(disk(20), "domed, rise 3 mm"))
    assert found["dome"] == pytest.approx(math.pi * (100 + 9), rel=1e-4)
    assert found["back"] == pytest.approx(math.pi * 100, rel=1e-4)
    hollow = areas(formed(disk(20), "domed, rise 3 mm, hollow"))
    assert hollow["inside of the dome"] == pytest.approx(math.pi * 109, rel=1e-4)


def test_a_coil_has_the_surface_that_a_mesh_library_sweeps_along_its_helix() -> None:
    angle = np.linspace(0.0, 2 * math.pi * 6, 1500)
    rise = 3.0 / (2.0 * math.pi)
    outward = np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=-1)
    path = 6.0 * outward + np.column_stack([0.0 * angle, 0.0 * angle, rise * angle])
    along = np.gradient(path, axis=0)
    up = np.cross(outward, along / np.linalg.norm(along, axis=1)[:, None])
    round_it = np.linspace(0.0, 2.0 * math.pi, 97)
    tube = path[:, None] + 0.5 * (
        np.cos(round_it)[:, None] * outward[:, None] + np.sin(round_it)[:, None] * up[:, None]
    )
    mesh = sheet_mesh(tube)
    found = areas(formed(None, "coil, diameter 12 mm, wire 1 mm, turns 6, length 19 mm"))["outside"]
    assert found == pytest.approx(mesh.area, rel=1e-3)


def test_a_coil_whose_turns_would_lie_in_each_other_is_refused_and_one_that_touches_is_told() -> None:
    with pytest.raises(RangeError, match="do not fit"):
        formed(None, "coil, diameter 12 mm, wire 1 mm, turns 10, length 8 mm")
    touching = formed(None, "coil, diameter 12 mm, wire 1 mm, turns 10, length 11 mm")
    assert "TURNS_TOUCH" in {told.code for told in touching.flags}
    assert "TURNS_TOUCH" not in {
        told.code for told in formed(None, "coil, diameter 12 mm, wire 1 mm, turns 10, length 21 mm").flags
    }


def test_a_thread_has_the_surface_of_the_profile_of_iso_68_1_swept_as_a_helix() -> None:
    """ISO 68-1: H = P sqrt(3) / 2, flat crest P / 8, flat root P / 4, depth 5 H / 8; the helix is meshed here."""
    major, pitch = 6.0, 1.0
    depth = 5.0 / 8.0 * math.sqrt(3.0) / 2.0 * pitch
    root = major / 2.0 - depth
    along = np.cumsum([0.0, pitch / 8, 5 / 16 * pitch, pitch / 4, 5 / 16 * pitch])
    assert along[-1] == pytest.approx(pitch)
    across = np.array([major / 2, major / 2, root, root, major / 2])
    fine = np.unique(np.concatenate([np.linspace(a, b, 40) for a, b in pairwise(along)]))
    radius = np.interp(fine, along, across)
    turn = np.linspace(0.0, 2.0 * math.pi, 721)
    x, y = radius[:, None] * np.cos(turn), radius[:, None] * np.sin(turn)
    z = fine[:, None] + pitch * turn / (2.0 * math.pi)
    mesh = sheet_mesh(np.stack([x, y, z], axis=-1))
    assert thread_factor(major, pitch) == pytest.approx(mesh.area / (math.pi * major * pitch), rel=5e-4)


def test_a_coarse_thread_on_a_thin_rod_is_refused() -> None:
    with pytest.raises(RangeError, match="too coarse"):
        formed(None, "thread, diameter 2 mm, pitch 2 mm, length 20 mm")


def test_a_knurl_of_90_degrees_has_root_two_of_its_mean_cylinder() -> None:
    found = formed(None, "knurl, diameter 100 mm, pitch 1 mm, length 20 mm").figures["surface over a plain rod"].value
    assert found == pytest.approx(math.sqrt(2.0) * 99.5 / 100, rel=1e-9)


def test_half_round_reeding_has_half_pi_of_its_cylinder() -> None:
    text = "reeding, diameter 1000 mm, pitch 1 mm, depth 0.5 mm, length 20 mm"
    assert formed(None, text).figures["surface over a plain rod"].value == pytest.approx(math.pi / 2, rel=1e-3)


def test_woven_mesh_has_the_length_of_its_waves() -> None:
    x = np.linspace(0.0, 1.0, 20001)
    wave = np.sqrt(1.0 + (math.pi * 0.15 * np.cos(math.pi * x)) ** 2)
    length = float(np.sum((wave[1:] + wave[:-1]) / 2) / 20000)
    assert mesh_factor(1.0, 0.3) == pytest.approx(2 * math.pi * 0.3 * length, rel=1e-4)
    with pytest.raises(RangeError, match="closes"):
        formed(None, "mesh, pitch 1 mm, wire 1 mm, length 20 mm, width 10 mm")


def test_a_chain_of_round_links_has_the_surface_of_its_tori() -> None:
    """Pitch = inside width: links are tori of centre diameter 4 mm; 10 links are 10 pitches and two wires long."""
    found = formed(None, "chain, pitch 3 mm, wire 1 mm, width 5 mm, length 32 mm")
    torus = trimesh.creation.torus(major_radius=2.0, minor_radius=0.5, major_sections=256, minor_sections=128)
    assert found.plated.value == pytest.approx(10 * torus.area, rel=1e-3)


def test_a_thread_seen_from_the_side_is_undone_for_height() -> None:
    camera = View(x_mm=0.0, y_mm=0.0, height_mm=250.0)
    shadow = swept_shadow(
        turned_sections(np.array([-10.0, 10.0]), np.array([3.0, 3.0]), height_mm=3.0, turn=0.0, at=(0.0, 5.0)), camera
    )
    found = formed(shadow, "thread, pitch 1 mm", view=camera)
    assert found.figures["diameter"].value == pytest.approx(6.0, rel=2e-3)
    assert found.figures["length"].value == pytest.approx(20.0, rel=0.01)


def test_forms_with_an_axis_are_read_at_the_sheet_and_those_on_edge_at_their_width() -> None:
    assert tracing_height(read_form("turned"), thickness_mm(3.0)) == exact(0.0, "mm")
    width = tracing_height(read_form("band, width 4 mm"), None)
    assert width is not None
    assert width.value == 4.0
    assert tracing_height(read_form("folded, fold 3 mm, radius 1 mm"), exact(1.5, "mm")) == exact(1.5, "mm")
    assert is_at_axis(read_form("band, seen side, wall 1 mm"))


@pytest.mark.parametrize("text", ["ball", "round, wall 2 mm", "round, ends sharp", "round, ends flat, ends round",
                                  "tube, bore", "tube, bore -3 mm", "tube, bore 3 ± 4 mm", "turned, level 3 mm",
                                  "round, crossings two", "x" * 400])  # fmt: skip
def test_what_is_no_form_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(InputError) as told:
        read_form(text)
    assert told.value.remedy


def test_every_form_is_reached_by_its_name() -> None:
    asked = {"flat", "round", "turned", "band", "tube", "folded", "bent", "domed", "coil", "thread", "knurl"}
    assert asked | {"reeding", "mesh", "chain"} == set(FORMS)


@pytest.mark.parametrize("name", ["tube", "band", "bent", "coil", "thread", "reeding", "mesh", "chain", "turned"])
def test_a_form_without_its_figures_says_which_is_missing(name: str) -> None:
    with pytest.raises(InputError, match=r"needs (its|an outline)"):
        formed(None, name)


@pytest.mark.parametrize("form", ["tube, diameter 10 ± 0.1 mm, bore 8 mm, length 50 mm",
                                  "round, diameter 2 ± 0.02 mm, length 40 mm, ends none",
                                  "thread, diameter 6 mm, pitch 1 ± 0.01 mm, length 20 mm"])  # fmt: skip
def test_tolerances_carry_through_by_their_slopes(form: str) -> None:
    import re

    middle = formed(None, form)
    size = re.search(r"([\d.]+) ± ([\d.]+)", form)
    assert size is not None
    value, half = float(size[1]), float(size[2])
    ends = [formed(None, form.replace(size[0], f"{value + sign * half:.6g}")).plated.value for sign in (1, -1)]
    share = abs(ends[0] - ends[1]) / 2.0 / math.sqrt(3.0)
    assert middle.plated.standard_uncertainty == pytest.approx(share, rel=0.02)


def l_bracket(long: float, short: float, radius: float, t: float) -> Polygon:
    """Return the section of a sheet folded by 90 degrees; both leaves are measured to the outermost corner."""
    outer = Polygon([(0, 0), (long, 0), (long, t), (t, t), (t, short), (0, short)])
    r = radius
    corner = box(0, 0, r + t, r + t).difference(Point(r + t, r + t).buffer(r + t, quad_segs=512))
    corner = shapely.intersection(corner, box(0, 0, r + t, r + t))
    fillet = box(t, t, r + t, r + t).difference(Point(r + t, r + t).buffer(r, quad_segs=512))
    return outer.difference(corner).union(fillet).buffer(0.0)


def test_the_leaves_of_a_bracket_add_up_to_the_mesh_of_the_folded_bracket() -> None:
    long, short, deep, radius, t = 40.0, 25.0, 20.0, 2.0, 1.5
    section = l_bracket(long, short, radius, t)
    lids = np.array([one.exterior.coords[:3] for one in shapely.constrained_delaunay_triangles(section).geoms])
    faces = [np.pad(lids, ((0, 0), (0, 0), (0, 1)), constant_values=z) for z in (0.0, deep)]
    a = np.array(section.exterior.coords)
    low, high = (np.column_stack([a, np.full(len(a), z)]) for z in (0.0, deep))
    faces += [np.stack([low[:-1], low[1:], high[1:]], axis=1), np.stack([low[:-1], high[1:], high[:-1]], axis=1)]
    corners = np.vstack(faces).reshape(-1, 3)
    mesh = trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3))
    assert mesh.is_watertight
    said = f"folded, leaf, fold {deep} mm, radius {radius} mm"
    leaves = [formed(box(0, 0, length, deep), said, thickness=exact(t, "mm")) for length in (long, short)]
    assert sum(leaf.plated.value for leaf in leaves) == pytest.approx(mesh.area, rel=1e-4)


def test_a_leaf_between_two_folds_has_both_off_its_walls() -> None:
    deep, t, r = 20.0, 1.0, 1.5
    found = areas(formed(box(0, 0, 30, deep), f"folded, leaf, fold {2 * deep} mm, folds 2, radius {r} mm",
                         thickness=exact(t, "mm")))  # fmt: skip
    past, arc = r + t, math.pi / 2
    assert found["outer face"] == pytest.approx(600 - 2 * deep * (past - arc * (r + t) / 2))
    assert found["inner face"] == pytest.approx(600 - 2 * deep * (past - arc * r / 2))
    sector = arc / 2 * ((r + t) ** 2 - r**2)
    assert found["walls"] == pytest.approx((100 - 2 * deep) * t + 2 * (sector - 2 * past * t))


def test_a_leaf_at_too_sharp_a_fold_or_with_too_long_folds_is_refused() -> None:
    sharp = f"folded, leaf, fold 20 mm, radius 1 mm, angle {SHARPEST_LEAF_DEG + 1} deg"
    with pytest.raises(RangeError, match="too far from its bend"):
        formed(box(0, 0, 40, 20), sharp, thickness=exact(1.0, "mm"))
    formed(box(0, 0, 40, 20), sharp.replace("121", "120"), thickness=exact(1.0, "mm"))
    with pytest.raises(RangeError, match="longer than"):
        formed(box(0, 0, 40, 20), "folded, leaf, fold 130 mm, radius 1 mm", thickness=exact(1.0, "mm"))
    assert SHARPEST_LEAF_DEG == 120.0


def test_the_neutral_layer_follows_din_6935() -> None:
    """DIN 6935: k = 0.65 + 0.5 lg(r / s), at most 1, of half the thickness (from memory)."""
    assert neutral_layer(1.0, 1.0) == pytest.approx(0.325)
    assert neutral_layer(4.9, 1.0) == pytest.approx(0.4976, abs=1e-3)
    assert neutral_layer(5.0, 1.0) == neutral_layer(50.0, 1.0) == 0.5
    assert neutral_layer(0.05, 1.0) == SMALLEST_NEUTRAL == 0.25
    known = formed(box(0, 0, 40, 20), "folded, fold 20 mm, radius 1 mm", thickness=exact(1.0, "mm"))
    share = known.figures["neutral layer over thickness"].budget["form: neutral layer"]
    assert share == pytest.approx(NEUTRAL_HALF / math.sqrt(3.0))
    assert NEUTRAL_HALF == 0.05
