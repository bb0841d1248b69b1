"""Places too narrow for an outline: taken off by their light, told, and covered; wide ones are left to the outline."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from areakit.imaging.checks.slits import LEAST_SHARE, Narrow, Slits, _between, _closed, _drawn, narrow_places
from areakit.imaging.outlines import FoundParts
from tests.imaging.drawn_photos import BLOCK, found_in, scene_of


def comb(width_mm: float, *, count: int = 12, opened: bool = True) -> Polygon:
    """The block with slits across it."""
    shape = BLOCK
    for i in range(count):
        x = -30.0 + 60.0 * i / (count - 1)
        shape = shape.difference(box(x - width_mm / 2, -21.0 if opened else -12.0, x + width_mm / 2, 12.0))
    return shape


def told(found: FoundParts) -> bool:
    return "NARROW_SLITS" in {flag.code for flag in found.parts[0].outline.flags}


@pytest.mark.parametrize("opened", [True, False])
@pytest.mark.parametrize("width_mm", [0.3, 0.5])
def test_slits_that_cannot_be_followed_are_told_and_covered(width_mm: float, opened: bool) -> None:
    shape = comb(width_mm, opened=opened)
    found = found_in(scene_of(shape))
    area = found.parts[0].outline.area
    assert told(found)
    assert abs(area.value - shape.area) < area.expanded_uncertainty
    assert area.budget["narrow slits"] < 0.03 * shape.area


@pytest.mark.parametrize("shape", [BLOCK, comb(3.0)], ids=["no slits", "wide slits"])
def test_what_the_outline_follows_is_not_taken_off(shape: Polygon) -> None:
    found = found_in(scene_of(shape))
    assert not told(found)
    assert found.parts[0].outline.area.value == pytest.approx(shape.area, rel=0.003)


def test_slits_count_from_three_thousandths_of_the_part_on() -> None:
    few, many = Slits(area_mm2=2.9, place_mm=(0.0, 0.0)), Slits(area_mm2=3.1, place_mm=(0.0, 0.0))
    assert few.taken_off(1000.0) == (0.0, 1.45)
    assert many.taken_off(1000.0)[0] == 3.1
    assert pytest.approx(0.003) == LEAST_SHARE


@pytest.mark.parametrize(("paints", "counted"), [(19.0, False), (10.0, True)])
def test_a_line_between_metal_and_paint_is_no_slit_if_the_paint_is_far_from_the_sheet_too(
    paints: float, counted: bool
) -> None:
    """Metal on 40 columns, a line whose colour is between both, paint on 19 columns; distances from bare sheet."""
    light = np.concatenate([np.tile([200, 200, 200], (40, 1)), [[140, 150, 210]], np.tile([80, 100, 220], (19, 1))])
    far = np.concatenate([np.full(40, 26.0), [1.0], np.full(19, paints)])
    field: Any = SimpleNamespace(
        distance=np.tile(far, (30, 1)).astype(np.float32), pixels=np.tile(light, (30, 1, 1)).astype(np.uint8)
    )
    found = narrow_places(field, [np.array([[2.0, 2.0], [57.0, 2.0], [57.0, 27.0], [2.0, 27.0]])])
    assert (found.excess_px > 10.0) == counted


GREY, PAINT = np.array([0.8, 0.8, 0.8]), np.array([0.2, 0.3, 0.9])


def mixed(middle: np.ndarray, *, sides: bool) -> bool:
    """Grey metal on the left, paint on the right, one pixel of another colour between them."""
    colours = np.concatenate([np.tile(GREY, (5, 1)), [middle], np.tile(PAINT, (5, 1))])[None].astype(np.float32)
    where, metal = np.zeros((1, 11), dtype=bool), np.full((1, 11), sides)
    where[0, 5] = True
    return bool(_between(colours, metal, where)[0, 5])


@pytest.mark.parametrize(("aside", "seen"), [(0.10, True), (0.18, False)])
def test_a_mixture_of_both_sides_is_no_slit_and_another_colour_is(aside: float, seen: bool) -> None:
    half = (GREY + PAINT) / 2  # 0.40 from either side; the direction is at right angles to the way between them
    away = np.cross(PAINT - GREY, [0.0, 0.0, 1.0])
    assert mixed(half + aside * away / np.linalg.norm(away), sides=True) == seen
    assert not mixed(half, sides=False)


def test_narrow_places_are_once_to_twice_as_wide_as_their_light_tells() -> None:
    """Study of slits: true area over what light tells lay between 1.0 and 2.0; a hundred pixels of 0.1 mm are 1 mm2."""
    found = Narrow(excess_px=100.0, place=np.zeros(2)).in_sheet(0.1, np.zeros(2))
    off, spread = found.taken_off(100.0)
    assert off == pytest.approx(np.sqrt(1.0 * 2.0), rel=0.02)
    assert (off - 2 * spread, off + 2 * spread) == pytest.approx((0.7, 2.1), abs=0.05)


@pytest.mark.parametrize(("width", "narrow"), [(6, True), (7, False)])
def test_a_place_is_narrow_below_seven_pixels(width: int, narrow: bool) -> None:
    distance = np.full((40, 40), 30.0, dtype=np.float32)
    distance[:, 16 : 16 + width] = 0.0
    assert (_closed(distance)[20, 18] == 30.0) == narrow


@pytest.mark.parametrize(("nearer", "counted"), [(0.22, False), (0.28, True)])
def test_a_narrow_place_is_nearer_to_bare_sheet_by_a_quarter_of_the_metals_distance(
    nearer: float, counted: bool
) -> None:
    """Metal counts as wholly metal from nine tenths of its usual distance on: from 36 where it is 40."""
    distance = np.full((50, 50), 40.0, dtype=np.float32)
    distance[:, 25] = 36.0 * (1.0 - nearer)
    field: Any = SimpleNamespace(distance=distance, pixels=np.full((50, 50, 3), 128, np.uint8))
    field.pixels[:, 25] = 90, 128, 200
    found = narrow_places(field, [np.array([[2.0, 2.0], [47.0, 2.0], [47.0, 47.0], [2.0, 47.0]])])
    assert (found.excess_px > 0.3) == counted


def test_a_pixel_is_covered_to_a_quarter_of_its_width() -> None:
    half = _drawn([np.array([[3.5, -9.0], [9.75, -9.0], [9.75, 30.0], [3.5, 30.0]])], (12, 12))
    assert half[6, [3, 4, 9, 10, 11]] == pytest.approx([0.0, 1.0, 1.0, 0.25, 0.0], abs=0.26)
