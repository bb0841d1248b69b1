"""Checks of the marker frame, its print and the camera: each threshold from both sides."""

from dataclasses import replace
from math import log
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.imaging.camera import CX, LOG_F, Prior
from areakit.imaging.checks.sheet import (
    FocalReading,
    RoundThing,
    agrees,
    check_corners_agree,
    check_one_round,
    focal_left_open,
    focal_unchecked,
    frame_tells,
    level_spread_mm,
    shape_of,
    stretched_print,
    tag_contradicted,
)
from areakit.imaging.marks import _prior_of, find_scale
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import overview, read_photo
from areakit.imaging.scale import UNVERIFIED, PlaneScale
from areakit.synthetic import Print
from areakit.uncertainty import Measured
from calibration.studies.silent_sheet import folded, one_axis
from tests.imaging.drawn_photos import SMALL, WASHER, found_in, photo_of, scene_of
from tests.imaging.drawn_rings import level_camera

TILTED = replace(SMALL, tilt_deg=14.0, tilt_direction_deg=40.0, distance_mm=300.0)


def thing(quality: float) -> RoundThing:
    return RoundThing(x_px=100.0, y_px=200.0, width_px=50.0, quality=quality)


def test_a_coin_among_round_things_is_asked_for_with_every_place() -> None:
    check_one_round([thing(0.9), thing(0.19)])
    with pytest.raises(ScaleUnreliable) as refusal:
        check_one_round([thing(0.9), thing(0.21)])
    assert refusal.value.code == "COIN_AMONG_OTHERS"
    assert refusal.value.remedy.count("100,200 (50 px wide)") == 2
    assert refusal.value.fields == {"mark_at": "100,200"}


def test_a_frame_that_a_level_camera_sees_tells_no_focal_length() -> None:
    assert frame_tells(FocalReading(log_ratio=1.0, sigma=0.24))
    assert not frame_tells(FocalReading(log_ratio=1.0, sigma=0.26))
    assert not tag_contradicted(FocalReading(log_ratio=2.0, sigma=0.26), 0.03)


def test_a_tag_counts_for_less_then_is_contradicted() -> None:
    assert agrees(FocalReading(log_ratio=0.049, sigma=0.04), 0.03)
    assert not agrees(FocalReading(log_ratio=0.051, sigma=0.04), 0.03)
    assert not tag_contradicted(FocalReading(log_ratio=0.124, sigma=0.04), 0.03)
    assert tag_contradicted(FocalReading(log_ratio=0.126, sigma=0.04), 0.03)


def test_what_is_left_open_is_three_spreads_or_a_twofold_zoom() -> None:
    assert focal_left_open(FocalReading(log_ratio=0.0, sigma=0.04), 0.03) == pytest.approx(0.15)
    assert focal_left_open(FocalReading(log_ratio=0.0, sigma=9.0), 0.03) == 0.7


@pytest.mark.parametrize(("expanded_mm2", "told"), [(39.0, True), (41.0, False)])
def test_a_tag_that_nothing_checks_is_told_where_it_may_do_half_of_what_is_stated(
    expanded_mm2: float, told: bool
) -> None:
    """3 mm below a camera 300 mm away an area looks 2 % larger; were the camera half as high, by 2 % more (similar
    triangles)."""
    scale = cast("PlaneScale", SimpleNamespace(camera=SimpleNamespace(height_mm=300.0), focal_open=log(2.0)))
    area = Measured(value=1000.0, unit="mm2", budget={"edge position": expanded_mm2 / 2.0})
    flags = focal_unchecked(scale, 3.0, area)
    assert [(flag.code, "2.0 %" in flag.message) for flag in flags] == [("FOCAL_LENGTH_UNCHECKED", True)] * told


@pytest.mark.parametrize(
    ("sides", "shape"),
    [((4032, 3024), "whole"), ((3000, 2000), "whole"), ((1080, 1920), "trimmed"), ((800, 800), "trimmed"),
     ((3000, 2238), "whole"), ((3000, 2225), "cut"), ((1833, 1440), "cut")],
)  # fmt: skip
def test_the_sides_of_a_picture_tell_whether_it_was_cut(sides: tuple[int, int], shape: str) -> None:
    assert shape_of(*sides) == shape


def test_corners_must_agree_with_one_flat_sheet() -> None:
    check_corners_agree(60, 100)
    with pytest.raises(ScaleUnreliable, match="Only 59 of the 100 corners"):
        check_corners_agree(59, 100)


def test_a_stretch_widens_what_is_believed_of_a_print_and_is_told() -> None:
    same, nothing = stretched_print(UNVERIFIED, 0.019)
    assert (same.shares, nothing) == (dict(UNVERIFIED.shares), ())
    wider, told = stretched_print(UNVERIFIED, -0.03)
    assert wider.shares["unverified sheet copy"] == pytest.approx((0.015, 0.015))
    assert [flag.code for flag in told] == ["PRINT_STRETCHED"]


@pytest.mark.parametrize(
    ("rms_px", "bend_mm", "level_mm"), [(0.34, 0.0, 0.05), (0.36, 0.0, 20.0 * 0.036), (0.2, 1.0, np.hypot(0.05, 1.0))]
)
def test_what_corners_miss_and_bend_widen_the_level(rms_px: float, bend_mm: float, level_mm: float) -> None:
    """A pixel is a tenth of a millimetre. Folds of the study of traps: an error of 0.7 to 1.6 times their height,
    which twice the standard uncertainty holds."""
    assert level_spread_mm(replace(level_camera(), rms_px=rms_px), np.zeros(2), bend_mm) == pytest.approx(level_mm)


def believed(width_px: int, height_px: int) -> Prior:
    photo = replace(photo_of(scene_of(WASHER), np.zeros((height_px, width_px, 3), np.uint8)), focal_px=1000.0)
    return _prior_of(photo)[0]


def test_a_trimmed_or_cut_picture_says_less_of_its_focal_length() -> None:
    """What a sensor of 4:3 loses of its diagonal if trimmed to 16:9, or square; and by a cut to half of each side."""
    wide, square = np.log(5.0 / np.hypot(4.0, 2.25)), np.log(5.0 / np.hypot(3.0, 3.0))
    assert wide < believed(1920, 1080).sigma[LOG_F] < square
    assert believed(1200, 1000).sigma[LOG_F] == pytest.approx(np.log(2.0) / 2, rel=0.02)
    assert believed(4000, 3000).sigma[LOG_F] < wide / 2


def test_the_middle_of_a_cut_picture_may_be_anywhere_near() -> None:
    """A third of a picture cut off one side moves the axis by a quarter of what is left: two or three spreads."""
    assert 0.25 / 3 < believed(1200, 1000).sigma[CX] / 1200 < 0.25 / 2
    assert believed(4000, 3000).sigma[CX] / 4000 < 0.02


@pytest.mark.thorough
@pytest.mark.parametrize("seed", [5004, 5016])
def test_a_fold_that_the_corners_hardly_miss_is_held(seed: int) -> None:
    case = folded(seed)
    (part,) = find_outlines(read_photo(case.photo), **case.request).parts
    area = part.outline.area
    assert abs(area.value - case.areas_mm2[0]) < area.expanded_uncertainty < 0.04 * area.value


@pytest.mark.thorough
def test_a_stretched_print_is_told_though_its_sheet_is_bent() -> None:
    case = one_axis(5015)
    found = find_outlines(read_photo(case.photo), **case.request)
    assert "PRINT_STRETCHED" in {flag.code for flag in found.flags}


@pytest.mark.parametrize("stretch", [0.965, 1.035])
def test_a_print_stretched_along_one_axis_is_told_and_held(stretch: float) -> None:
    scene = scene_of(WASHER, camera=TILTED, print=Print(scale_x=stretch))
    photo = photo_of(scene)
    scale = find_scale(photo, overview(photo), mark="frame", reading=None)
    assert "PRINT_STRETCHED" in {flag.code for flag in scale.flags}
    ratio = scale.sheet_scale.x / scale.sheet_scale.y
    assert ratio == pytest.approx(stretch, abs=0.006)
    x, y = scale.sheet_scale.shares["unverified sheet copy"]
    assert 2.0 * np.hypot(x, y) > abs(stretch - 1.0)


@pytest.mark.parametrize(("stated", "doubted"), [(26, False), (18, True)])
def test_a_focal_length_that_the_frame_contradicts_is_told_and_not_used(stated: int, doubted: bool) -> None:
    camera = replace(TILTED, stated_f35_mm=stated)
    found = found_in(scene_of(WASHER, camera=camera))
    assert ("FOCAL_LENGTH_DOUBTED" in {flag.code for flag in found.flags}) == doubted
    assert found.scale.camera.focal_px == pytest.approx(camera.focal_px, rel=0.1)


def test_a_picture_no_camera_takes_is_refused_in_one_sentence() -> None:
    scene = scene_of(WASHER, camera=replace(SMALL, stated_f35_mm=None))
    pixels = np.array(photo_of(scene).pixels)
    for squeezed in (pixels[:, ::2], pixels[::2]):
        photo = photo_of(scene, np.ascontiguousarray(squeezed))
        with pytest.raises((ScaleUnreliable, MarkNotFound)) as refusal:
            find_scale(photo, overview(photo), mark="frame", reading=None)
        assert refusal.value.code in {"SQUEEZED", "SHEET_NOT_FLAT", "TOO_FEW_CORNERS", "TOO_FEW_MARKS"}
        assert refusal.value.remedy
