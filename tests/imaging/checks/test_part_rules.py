"""Rejection and note rules, each provoked by a drawn photo."""

from dataclasses import replace

import pytest
from shapely.geometry import Point

from areakit.errors import MeasurementError
from areakit.imaging.answers import Answer
from areakit.imaging.outlines import find_outlines
from areakit.synthetic import Light, Metal, Print
from tests.imaging.drawn_photos import CLEAN, FOIL, SMALL, WASHER, found_in, photo_of, scene_of, true_reading

LARGE = replace(SMALL, width_px=4032, height_px=3024)
WHITE = Print(field_srgb=None)
SILVER = Metal(name="silver", reflectance=(0.96, 0.94, 0.90), finish="matte", brightness=0.72)


def codes(found: object) -> set[str]:
    return {flag.code for part in found.parts for flag in part.outline.flags}  # type: ignore[attr-defined]


@pytest.mark.parametrize("sigma_px", [3.6, 5.0])
def test_blur_beyond_three_pixels_is_refused(sigma_px: float) -> None:
    with pytest.raises(MeasurementError) as refusal:
        found_in(scene_of(WASHER, chain=replace(CLEAN, blur_px=sigma_px)))
    assert refusal.value.code == "BLURRED"


@pytest.mark.thorough
@pytest.mark.parametrize("sigma_px", [0.8, 1.4, 2.4])
def test_softness_is_measured_as_it_was_drawn(sigma_px: float) -> None:
    found = found_in(scene_of(WASHER, chain=replace(CLEAN, blur_px=sigma_px), camera=LARGE))
    assert ("SLIGHT_BLUR" in codes(found)) == (sigma_px > 2.0)


def test_metal_as_white_as_its_sheet_is_refused_not_guessed() -> None:
    for brightness in (0.82, 0.86):
        metal = replace(SILVER, brightness=brightness)
        with pytest.raises(MeasurementError) as refusal:
            found_in(scene_of(WASHER, metal=metal, print=WHITE))
        assert refusal.value.code in {"EDGE_NOT_SEEN", "OUTLINES_DISAGREE", "NO_PART"}


def test_a_hole_in_grey_metal_on_white_is_asked_about_and_an_answer_settles_it() -> None:
    plate = Point(0, 0).buffer(28.0, quad_segs=128).difference(Point(6, 0).buffer(5.0, quad_segs=64))
    metal = Metal(reflectance=(0.57, 0.56, 0.55), finish="matte", brightness=0.85)
    scene = scene_of(plate, metal=metal, print=WHITE)
    found = found_in(scene)
    assert {"GREY_ON_PALE", "LOOKS_UNDECIDED"} <= codes(found)
    area = found.parts[0].outline.area
    assert area.expanded_uncertainty > 0.6 * 25 * 3.14 / 2 * 2 * 0.33  # both answers are covered
    assert abs(area.value - plate.area) < area.expanded_uncertainty
    flag = next(f for f in found.parts[0].outline.flags if f.code == "LOOKS_UNDECIDED")
    x, y = (float(v) for v in flag.message.split("(")[1].split(")")[0].split(","))
    settled = find_outlines(
        photo_of(scene),
        thickness=FOIL,
        reading=true_reading(scene),
        answers=(Answer(point_mm=(x, y), hole=True),),
    )
    assert "LOOKS_UNDECIDED" not in codes(settled)
    assert settled.parts[0].outline.area.value == pytest.approx(plate.area, rel=0.005)
    assert settled.parts[0].outline.area.expanded_uncertainty < area.expanded_uncertainty


def test_a_hard_shadow_across_the_sheet_does_not_move_the_edge() -> None:
    light = Light(veil_depth=0.5, veil_softness_mm=2.0, veil_direction_deg=30.0)
    (plain,), (veiled,) = found_in(scene_of(WASHER)).parts, found_in(scene_of(WASHER, light=light)).parts
    assert veiled.outline.area.value == pytest.approx(plain.outline.area.value, rel=0.002)


@pytest.mark.thorough
@pytest.mark.parametrize("depth", [0.2, 0.4])
def test_a_contact_shadow_on_a_coloured_sheet_moves_the_edge_by_less_than_a_third_of_a_pixel(depth: float) -> None:
    light = Light(contact_depth=depth, contact_width_mm=0.5)
    (plain,), (shaded,) = found_in(scene_of(WASHER)).parts, found_in(scene_of(WASHER, light=light)).parts
    pixel_mm = found_in(scene_of(WASHER)).scale.mm_per_px
    moved = (shaded.outline.area.value - plain.outline.area.value) / WASHER.length / pixel_mm
    assert abs(moved) < 0.33


@pytest.mark.thorough
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_foil_whose_shine_is_wrinkled_keeps_its_outline(seed: int) -> None:
    wrinkled = Metal(
        reflectance=(0.98, 0.76, 0.36),
        finish="mirror",
        brightness=0.6,
        slope=0.5,
        highlight=0.9,
        highlight_width_mm=8.0,
        texture=0.12,
    )
    (part,) = found_in(scene_of(WASHER, metal=wrinkled, seed=seed)).parts
    area = part.outline.area
    assert abs(area.value - WASHER.area) < area.expanded_uncertainty
    assert area.value == pytest.approx(WASHER.area, rel=0.005)
