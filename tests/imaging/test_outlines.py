"""Outlines from drawn photos whose areas are known, and the refusals where no honest number can be had."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from drawn_photos import (
    BLOCK,
    CLEAN,
    LENS,
    SMALL,
    WASHER,
    found_in,
    photo_of,
    scene_of,
    true_reading,
)
from shapely.geometry import box

from areakit.errors import AreakitError, MarkNotFound, OutlineNotFound, RangeError
from areakit.geometry.part import thickness_mm
from areakit.imaging.one_part import CUT_OFF_REFUSED, _check_whole
from areakit.imaging.outlines import find_outlines
from areakit.imaging.scale import CheckReading
from areakit.synthetic import Camera, Chain, Metal, Print, Scene, ScenePart, render, truth
from areakit.synthetic.family import draw_shape
from areakit.uncertainty import Measured

SHARP = Camera(width_px=2560, height_px=1920, distance_mm=260.0)
GEAR = draw_shape(np.random.default_rng(3), "gear", 3000.0)
IDEAL = {
    "washer, straight above": scene_of(WASHER, camera=SHARP),
    "washer, tilted": scene_of(WASHER, camera=replace(SHARP, tilt_deg=20.0, tilt_direction_deg=30.0)),
    "block, lens": scene_of(BLOCK, camera=replace(SHARP, **LENS)),
    "gear, lens, tilted": scene_of(
        GEAR, camera=replace(SHARP, **LENS, tilt_deg=20.0, tilt_direction_deg=200.0, distance_mm=275.0)
    ),
}

AS_PAPER = (250, 248, 244)
"""A desk on which the edges of the paper are not seen."""


def test_an_ideal_camera_reads_areas_without_bias_through_tilt_and_lens() -> None:
    """No noise, no light effects: what is left is the method's own error."""
    errors = []
    for name, scene in IDEAL.items():
        found, (true,) = found_in(scene), truth(scene)
        (part,) = found.parts
        error = part.outline.area.value - true.face_mm2
        around = true.perimeter_outer_mm + true.perimeter_holes_mm
        # A perfect half level rounds corners and quantises by some hundredths of a pixel.
        assert abs(error) < 0.03 * found.scale.mm_per_px * around, name
        assert abs(error) < 0.0005 * true.face_mm2, name
        assert len(part.outline.polygon.interiors) == true.holes, name
        errors.append(error / true.face_mm2)
    assert abs(float(np.mean(errors))) < 0.0003


def test_the_scale_of_an_ideal_photo_is_that_of_the_drawing() -> None:
    scene = IDEAL["washer, tilted"]
    scale = found_in(scene).scale
    assert (scale.mark, scale.sheet) == ("frame", "A4-r1")
    assert scale.camera.tilt_deg == pytest.approx(20.0, abs=0.3)
    assert scale.camera.height_mm == pytest.approx(260.0 * np.cos(np.radians(20.0)), rel=0.01)
    assert scale.corners_used >= 0.95 * scale.corners_total
    assert scale.camera.rms_px < 0.15


@pytest.mark.thorough
def test_a_printed_sheet_that_came_out_too_large_is_put_right_by_its_check_lengths() -> None:
    scene = scene_of(WASHER, print=Print(scale_x=1.008, scale_y=1.008))
    (true,) = truth(scene)
    (read,) = found_in(scene).parts
    on_white = replace(scene, desk_srgb=AS_PAPER)
    (trusted,), (told,) = (
        find_outlines(photo_of(one), thickness=Measured(value=0.0, unit="mm")).parts for one in (on_white, scene)
    )
    assert read.outline.area.value == pytest.approx(true.face_mm2, rel=0.001)
    # Unread, it reads small by both print scales: that is why an unverified sheet carries 2.8 % of area.
    assert trusted.outline.area.value == pytest.approx(true.face_mm2 / 1.008**2, rel=0.001)
    assert abs(trusted.outline.area.value - true.face_mm2) < trusted.outline.area.expanded_uncertainty
    # Where the paper's edges are seen, they take most of that away.
    assert told.outline.area.value == pytest.approx(true.face_mm2, rel=0.45 * (1.008**2 - 1.0))
    assert told.outline.area.expanded_uncertainty < 0.75 * trusted.outline.area.expanded_uncertainty


@pytest.mark.parametrize("tilt_deg", [0.0, 12.0])
def test_the_height_of_a_thick_part_is_taken_off(tilt_deg: float) -> None:
    camera = replace(SMALL, tilt_deg=tilt_deg, tilt_direction_deg=60.0)
    scene = scene_of(BLOCK, 5.0, camera=camera)
    (true,) = truth(scene)
    (part,) = found_in(scene, thickness_mm(5.0, 0.02)).parts
    error = part.outline.area.value - true.face_mm2
    assert abs(error) < part.outline.area.expanded_uncertainty
    assert abs(error) < 0.01 * true.face_mm2
    (flat,) = found_in(scene, Measured(value=0.0, unit="mm")).parts
    # Similar triangles: (H / (H - t))^2 with H near 264 mm is 3.9 % for a face 5 mm up; walls add to it.
    assert flat.outline.area.value > 1.03 * true.face_mm2


def test_without_a_thickness_the_uncertainty_covers_two_millimetres() -> None:
    scene = scene_of(BLOCK, 2.0)
    (true,) = truth(scene)
    found = found_in(scene, None)
    assert "THICKNESS_NOT_GIVEN" in {flag.code for flag in found.flags}
    (part,) = found.parts
    assert abs(part.outline.area.value - true.face_mm2) < part.outline.area.expanded_uncertainty


ROUND = {"washer": WASHER, "block": BLOCK}


@pytest.mark.parametrize("name", sorted(ROUND))
def test_perimeters_of_smooth_outlines_agree_with_the_truth(name: str) -> None:
    scene = scene_of(ROUND[name], camera=SHARP)
    (true,), (part,) = truth(scene), found_in(scene).parts
    assert part.outline.perimeter_outer.value == pytest.approx(true.perimeter_outer_mm, rel=0.004)
    assert part.outline.perimeter_holes.value == pytest.approx(true.perimeter_holes_mm, rel=0.004, abs=0.01)


def test_the_perimeter_of_a_toothed_outline_lies_within_its_uncertainty() -> None:
    scene = scene_of(GEAR, camera=SHARP)
    (true,), (part,) = truth(scene), found_in(scene).parts
    outer = part.outline.perimeter_outer
    assert abs(outer.value - true.perimeter_outer_mm) < outer.expanded_uncertainty


def test_mending_a_ring_adds_no_hole() -> None:
    scene = scene_of(
        GEAR,
        camera=replace(SHARP, tilt_deg=5.0, tilt_direction_deg=30.0),
        chain=Chain(blur_px=1.2, exposure=0.8),
    )
    (part,) = found_in(scene).parts
    assert len(part.outline.polygon.interiors) == truth(scene)[0].holes


@pytest.mark.thorough
@pytest.mark.parametrize("blur_px", [0.6, 0.9, 1.5])
def test_soft_and_sharp_photos_agree_within_the_share_of_the_edge(blur_px: float) -> None:
    scene = scene_of(WASHER, chain=Chain(blur_px=blur_px, exposure=0.8))
    (part,) = found_in(scene).parts
    area = part.outline.area
    assert abs(area.value - truth(scene)[0].face_mm2) < 2.0 * area.budget["edge position"]


@pytest.mark.thorough
def test_an_unread_sheet_whose_sides_were_printed_one_percent_apart_is_still_measured() -> None:
    """Unread sheets are taken as true to 1 % a side, so a difference of 1 % is within what is expected of them."""
    scene = scene_of(WASHER, camera=SHARP, print=Print(scale_x=1.005, scale_y=0.995))
    (part,) = find_outlines(photo_of(scene), thickness=Measured(value=0.0, unit="mm")).parts
    assert part.outline.area.value == pytest.approx(truth(scene)[0].face_mm2, rel=0.005)


def many() -> Scene:
    """Three washers in two rows, the left one a little higher than its neighbour."""
    small = draw_shape(np.random.default_rng(8), "blob", 500.0)
    places = [(70.0, 60.0), (180.0, 66.0), (110.0, 120.0)]
    parts = tuple(ScenePart(polygon=small, thickness_mm=0.0, position_mm=place) for place in places)
    return replace(scene_of(WASHER), parts=parts)


@pytest.mark.thorough
@pytest.mark.parametrize("roll_deg", [0.0, 180.0])
def test_parts_come_in_reading_order_of_the_upright_photo(roll_deg: float) -> None:
    scene = replace(many(), camera=replace(SMALL, roll_deg=roll_deg))
    parts = found_in(scene).parts
    middles = [part.rings_px[0].mean(axis=0) for part in parts]
    assert len(parts) == 3
    rows = (2, 1) if roll_deg == 0.0 else (1, 2)
    first, second = middles[: rows[0]], middles[rows[0] :]
    assert max(y for _, y in first) < min(y for _, y in second)
    assert all(a[0] < b[0] for row in (first, second) for a, b in pairwise(row))


def test_a_part_over_the_window_edge_is_left_out_and_told_of() -> None:
    crossing = ScenePart(polygon=BLOCK, thickness_mm=0.0, position_mm=(225.0, 90.0), turn_deg=90.0)
    inside = ScenePart(polygon=WASHER, thickness_mm=0.0, position_mm=(90.0, 90.0))
    found = found_in(replace(scene_of(WASHER), parts=(inside, crossing)))
    assert len(found.parts) == 1
    assert "PART_LEFT_OUT" in {flag.code for flag in found.flags}


# Refusals


def crossing() -> Scene:
    part = ScenePart(polygon=WASHER, thickness_mm=0.0, position_mm=(222.0, 90.0))
    return replace(scene_of(WASHER), parts=(part,))


REFUSED: dict[str, Callable[[], Scene]] = {
    "PART_CROSSES_EDGE": crossing,
    "NO_PART": lambda: replace(scene_of(WASHER), parts=()),
    "OVER_EXPOSED": lambda: scene_of(WASHER, print=Print(field_srgb=None), chain=Chain(blur_px=0.8, exposure=1.8)),
    "TILT_TOO_HIGH": lambda: scene_of(
        WASHER, camera=replace(SMALL, tilt_deg=40.0, tilt_direction_deg=90.0, distance_mm=330.0)
    ),
}


def code_of(measure: Callable[[], Any]) -> AreakitError:
    with pytest.raises(AreakitError) as caught:
        measure()
    error = caught.value
    assert error.message.endswith(".")
    assert error.remedy.endswith(".")
    return error


@pytest.mark.parametrize("code", sorted(REFUSED))
def test_a_photo_without_an_honest_number_is_refused_with_its_code(code: str) -> None:
    scene = REFUSED[code]()
    error = code_of(lambda: found_in(scene))
    assert error.code == code
    assert error.exit_code == 3


@pytest.mark.thorough
@pytest.mark.parametrize("blur_px", [3.6, 12.0])
def test_a_scale_sheet_too_blurred_to_read_is_refused(blur_px: float) -> None:
    scene = scene_of(WASHER, chain=replace(CLEAN, blur_px=blur_px))
    assert code_of(lambda: found_in(scene)).code in {"BLURRED", "TOO_FEW_MARKS"}


def test_a_sheet_named_as_the_mark_but_too_blurred_to_read_is_refused_as_blurred() -> None:
    scene = scene_of(WASHER, chain=replace(CLEAN, blur_px=6.0))
    error = code_of(lambda: find_outlines(photo_of(scene), thickness=None, mark="frame"))
    assert error.code == "BLURRED"


def test_a_picture_without_a_mark_says_so() -> None:
    y, x = np.mgrid[0:900, 0:1200]
    desk = np.stack([120 + x / 60, 90 + y / 60, 70 + 0 * x], axis=2).astype(np.uint8)
    desk[np.hypot(x - 600, y - 450) < 150] = (190, 190, 195)
    scene = scene_of(WASHER)
    error = code_of(lambda: find_outlines(photo_of(scene, desk), thickness=None))
    assert isinstance(error, MarkNotFound)
    assert error.code == "NO_MARK"


def test_a_corner_of_the_sheet_alone_is_too_few_marks() -> None:
    scene = scene_of(WASHER)
    corner = np.ascontiguousarray(render(scene)[:600, :480])
    error = code_of(lambda: find_outlines(photo_of(scene, corner), thickness=None, mark="frame"))
    assert error.code in {"TOO_FEW_MARKS", "TOO_FEW_CORNERS"}


def test_two_sheets_in_one_photo_are_refused() -> None:
    pair = [
        render(scene_of(WASHER, layout=layout, parts=(), camera=replace(SMALL, width_px=1600, height_px=1200, **place)))
        for layout, place in (("A4-r1", {"distance_mm": 280.0}), ("A5-r1", {"distance_mm": 200.0}))
    ]
    both = np.ascontiguousarray(np.concatenate(pair, axis=1))
    error = code_of(lambda: find_outlines(photo_of(scene_of(WASHER), both), thickness=None))
    assert error.code == "TWO_SHEETS"


@pytest.mark.parametrize("read_mm", [(207.0, 120.0), (200.0, 116.0), (120.0, 200.0)])
def test_check_lengths_more_than_three_percent_off_are_refused(read_mm: tuple[float, float]) -> None:
    scene = scene_of(WASHER)
    with pytest.raises(RangeError) as caught:
        find_outlines(photo_of(scene), thickness=None, reading=CheckReading(read_mm=read_mm))
    assert "3 %" in caught.value.message
    assert f"{read_mm[0]:g}" in caught.value.message


def test_an_unknown_mark_is_refused_with_the_choices() -> None:
    with pytest.raises(RangeError) as caught:
        find_outlines(photo_of(scene_of(WASHER)), thickness=None, mark="ruler")
    assert "frame" in caught.value.remedy


# Cautions


def codes_of(scene: Scene, thickness: Measured | None = None) -> set[str]:
    found = found_in(scene, thickness)
    return {flag.code for flag in (*found.flags, *(f for part in found.parts for f in part.outline.flags))}


def test_a_clean_photo_with_all_figures_given_has_no_caution() -> None:
    assert codes_of(scene_of(WASHER), Measured(value=0.0, unit="mm")) == set()


def test_a_strong_tilt_is_told() -> None:
    tilted = replace(SMALL, tilt_deg=27.0, tilt_direction_deg=90.0, distance_mm=290.0)
    assert "TILT_HIGH" in codes_of(scene_of(WASHER, camera=tilted))


def test_a_small_part_in_a_coarse_photo_is_told() -> None:
    tiny = draw_shape(np.random.default_rng(4), "star", 25.0)
    assert "LOW_RESOLUTION" in codes_of(scene_of(tiny, camera=replace(SMALL, distance_mm=330.0)))


def test_a_soft_photo_is_told() -> None:
    assert "SLIGHT_BLUR" in codes_of(scene_of(WASHER, chain=replace(CLEAN, blur_px=2.2)))


def test_a_burnt_edge_is_told() -> None:
    glare = Metal(reflectance=(0.95, 0.95, 0.95), brightness=1.6)
    assert "OVER_EXPOSED_PART" in codes_of(scene_of(WASHER, metal=glare))


def test_an_unread_sheet_is_told() -> None:
    scene = scene_of(WASHER)
    for one, code in ((scene, "PRINT_CONFIRMED"), (replace(scene, desk_srgb=AS_PAPER), "SHEET_UNVERIFIED")):
        found = find_outlines(photo_of(one), thickness=Measured(value=0.0, unit="mm"))
        assert [flag.code for flag in found.flags] == [code]


# Budget


def test_area_and_perimeters_share_the_names_of_their_inputs() -> None:
    (part,) = found_in(scene_of(WASHER, 1.0), thickness_mm(1.0, 0.05)).parts
    outline = part.outline
    names = set(outline.area.budget)
    assert names >= {"check length, along x", "check length, along y", "thickness", "edge position", "sheet flatness"}
    assert names & set(outline.perimeter_outer.budget) >= {"check length, along x", "thickness", "edge position"}
    assert set(outline.perimeter_outer.budget) <= names | {"length of the outline"}
    assert set(outline.perimeter_holes.budget) <= names | {"length of the outline"}
    # An edge set further out makes the part larger, its outside longer, and its holes narrower.
    assert outline.area.budget["edge position"] > 0
    assert outline.perimeter_outer.budget["edge position"] > 0
    assert outline.perimeter_holes.budget["edge position"] < 0
    # The offset of a round edge by d changes its length by 2 pi d.
    offset = outline.area.budget["edge of the part"] / (outline.perimeter_outer.value + outline.perimeter_holes.value)
    assert outline.perimeter_outer.budget["edge of the part"] == pytest.approx(2 * np.pi * offset, rel=1e-3)


def test_reading_the_check_lengths_larger_scales_the_area_by_the_square() -> None:
    scene = scene_of(WASHER)
    photo, foil = photo_of(scene), Measured(value=0.0, unit="mm")
    x, y = true_reading(scene).read_mm
    (one,) = find_outlines(photo, thickness=foil, reading=CheckReading(read_mm=(x, y))).parts
    (more,) = find_outlines(photo, thickness=foil, reading=CheckReading(read_mm=(1.01 * x, 1.01 * y))).parts
    assert more.outline.area.value / one.outline.area.value == pytest.approx(1.01**2, rel=2e-4)
    ratio = more.outline.perimeter_outer.value / one.outline.perimeter_outer.value
    assert ratio == pytest.approx(1.01, rel=1e-3)


def test_the_share_of_a_check_length_is_its_own_relative_uncertainty() -> None:
    (part,) = found_in(scene_of(WASHER)).parts
    area = part.outline.area
    # 0.1 mm of 200 mm along x, and of 120 mm along y.
    assert area.budget["check length, along x"] == pytest.approx(area.value * 0.1 / 200.0, rel=1e-6)
    assert area.budget["check length, along y"] == pytest.approx(area.value * 0.1 / 120.0, rel=1e-6)


def test_doubling_the_uncertainty_of_the_thickness_doubles_its_share_and_widens_the_whole() -> None:
    scene = scene_of(BLOCK, 3.0)
    photo, reading = photo_of(scene), true_reading(scene)
    outlines = [
        find_outlines(photo, thickness=Measured(value=3.0, unit="mm", budget={"thickness": u}), reading=reading)
        .parts[0]
        .outline.area
        for u in (0.2, 0.4)
    ]
    narrow, wide = outlines
    assert wide.budget["thickness"] / narrow.budget["thickness"] == pytest.approx(2.0, rel=0.02)
    assert wide.standard_uncertainty > narrow.standard_uncertainty
    # Similar triangles: 2 u / H of the area, and less where walls are seen.
    assert abs(narrow.budget["thickness"]) == pytest.approx(2 * 0.2 / 267.0 * narrow.value, rel=0.25)


def test_an_outline_that_crosses_itself_is_refused_once_more_than_a_little_would_be_cut_off() -> None:
    whole = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    for kept, refused in ((1.0 - CUT_OFF_REFUSED + 0.01, False), (1.0 - CUT_OFF_REFUSED - 0.01, True)):
        polygon = box(0.0, 0.0, 10.0, 10.0 * kept)
        if not refused:
            _check_whole(polygon, (whole,))
            continue
        with pytest.raises(OutlineNotFound, match="crosses itself") as caught:
            _check_whole(polygon, (whole,))
        assert caught.value.code == "OUTLINE_CROSSES_ITSELF"
    assert CUT_OFF_REFUSED == 0.05
