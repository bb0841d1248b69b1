"""Shiny grey metal on white paper, with and without a black card that it mirrors: drawn, the truth is the polygon."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Point, box

from areakit.errors import MeasurementError
from areakit.imaging.closed_ring import longest_run
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.photo import Photo
from areakit.synthetic import Camera, Chain, Light, Metal, Print, Scene, ScenePart, render
from areakit.uncertainty import Measured

PLATE = box(-30.0, -20.0, 30.0, 20.0).difference(Point(12.0, 4.0).buffer(6.0, quad_segs=64))
SCENE = Scene(
    parts=(ScenePart(polygon=PLATE, thickness_mm=1.0, position_mm=(130.0, 90.0), turn_deg=8.0),),
    camera=Camera(width_px=2016, height_px=1512, distance_mm=270.0, tilt_deg=3.0, tilt_direction_deg=70.0),
    metal=Metal(reflectance=(0.57, 0.56, 0.55), finish="mirror", brightness=1.0, rim_mm=0.05, rim_gain=0.5),
    light=Light(contact_depth=0.3, contact_width_mm=1.5),
    print=Print(field_srgb=None),
    chain=Chain(blur_px=0.9, full_well=9000.0),
)


def found_in(card_mm: float) -> FoundParts:
    scene = replace(SCENE, light=replace(SCENE.light, card_mm=card_mm))
    photo = Photo(name="s", pixels=render(scene), sha256="", focal_px=26.0 / 43.2666 * 2520.0, dpi=None, camera="")
    return find_outlines(photo, thickness=Measured(value=1.0, unit="mm", budget={"gauge": 0.02}))


def test_under_the_card_a_hole_is_seen_and_nothing_is_asked() -> None:
    (part,) = found_in(300.0).parts
    area = part.outline.area
    assert not {"GREY_ON_PALE", "LOOKS_UNDECIDED"} & {flag.code for flag in part.outline.flags}
    assert len(part.outline.polygon.interiors) == 1
    assert abs(area.value - PLATE.area) <= area.expanded_uncertainty
    assert area.value == pytest.approx(PLATE.area, rel=0.012)
    share = area.budget["edge on a pale sheet"] / (part.outline.perimeter_outer.value + 2 * np.pi * 6.0)
    assert share == pytest.approx(0.04, abs=0.01)  # 0.15 mm and more where grey metal is not dark


def test_without_it_the_metal_is_as_grey_as_the_paper() -> None:
    (part,) = found_in(0.0).parts
    (grey,) = [flag for flag in part.outline.flags if flag.code == "GREY_ON_PALE"]
    assert "black card" in grey.remedy


@pytest.mark.parametrize("card_mm", [60.0, 90.0, 105.0])
def test_a_card_that_covers_only_a_part_of_it_is_no_silent_loss(card_mm: float) -> None:
    """A card reaches a quarter of its side to each hand: 15 to 26 mm, where the plate reaches 30."""
    with pytest.raises(MeasurementError):
        found_in(card_mm)


@pytest.mark.parametrize(("row", "longest"), [("", 0), ("1", 1), ("111", 3), ("1011", 3), ("01101110", 3), ("000", 0)])
def test_a_run_goes_on_over_the_end_of_a_ring(row: str, longest: int) -> None:
    assert longest_run(np.array([one == "1" for one in row], dtype=bool)) == longest
