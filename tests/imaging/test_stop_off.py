"""Regions of another colour on a part: found with their area, and nothing found where the part is of one colour."""

import math
from types import SimpleNamespace
from typing import Any

import cv2
import numpy as np
import pytest
from shapely.geometry import Point, Polygon, box

from areakit.imaging.stop_off import (
    ALIKE,
    BESIDE_PX,
    EDGE_PX,
    EVEN,
    FAR,
    FAR_GREY,
    LEAST_PX,
    LEAST_SHARE,
    MIRROR_ALONG,
    MIRROR_ASIDE,
    SHARP,
    SOLID,
    other_colours,
    stop_off,
)
from areakit.synthetic import Light, Metal, Patch
from areakit.synthetic.sheet_print import linear
from tests.imaging.drawn_photos import BLOCK, MIDDLE_MM, STEEL, found_in, scene_of

X, Y = MIDDLE_MM
RED, AMBER, GREEN = (180, 30, 40), (230, 170, 40), (20, 120, 60)
BLUE = np.array(linear((66, 103, 178)), dtype=np.float32)
FRAME = np.array([[10.0, 10.0], [190.0, 10.0], [190.0, 130.0], [10.0, 130.0]])


def seen(polygon: Polygon, srgb: tuple[int, int, int], **changes: Any) -> Any:
    scene = scene_of(BLOCK, patches=(Patch(polygon=polygon, colour=linear(srgb), on=0),), **changes)
    (part,) = found_in(scene).parts
    return part.stop_offs, polygon.intersection(scene.parts[0].placed()).area


@pytest.mark.parametrize(
    ("polygon", "srgb"),
    [
        (Point(X - 12.0, Y).buffer(6.0), RED),
        (Point(X - 12.0, Y).buffer(6.0), GREEN),
        (box(X + 15.0, Y - 60.0, X + 80.0, Y + 60.0), AMBER),
        (box(X - 3.0, Y - 60.0, X + 5.0, Y + 60.0), RED),
    ],
    ids=["spot", "green spot", "dipped end", "band of tape"],
)
def test_a_coloured_region_is_found_with_its_area(polygon: Polygon, srgb: tuple[int, int, int]) -> None:
    (found,), true = seen(polygon, srgb)
    own_edge = polygon.intersection(box(X - 34, Y - 19, X + 34, Y + 19)).length
    assert abs(found.area_mm2 - true) < 2.0 * found.edge_mm * own_edge
    assert found.area_mm2 == pytest.approx(true, rel=0.01)
    assert found.covers(found.place_mm, 0.0)


def test_several_regions_come_the_largest_first_and_a_bare_part_has_none() -> None:
    spots = [Point(X - 15.0, Y).buffer(4.0), Point(X + 15.0, Y).buffer(6.0)]
    patches = tuple(Patch(polygon=spot, colour=linear(RED), on=0) for spot in spots)
    (part,) = found_in(scene_of(BLOCK, patches=patches)).parts
    assert [round(one.area_mm2) for one in part.stop_offs] == [112, 49]
    (bare,) = found_in(scene_of(BLOCK)).parts
    assert bare.stop_offs == ()


@pytest.mark.parametrize(
    "changes",
    [
        {"metal": Metal(reflectance=(1.0, 0.77, 0.34), brightness=0.7, highlight=0.6, finish="mirror")},
        {"metal": Metal(reflectance=(0.56, 0.57, 0.58), brightness=0.6, sheet_reflection=0.3, finish="brushed")},
        {"light": Light(veil_depth=0.6, veil_softness_mm=0.5)},
    ],
    ids=["lamp in gold", "sheet in steel", "shadow across"],
)
def test_reflections_and_shadows_are_no_stop_off(changes: dict[str, Any]) -> None:
    (part,) = found_in(scene_of(BLOCK, **changes)).parts
    assert part.stop_offs == ()


def picture(spot: float, *, far: float, soft: float = 0.0, uneven: float = 0.0) -> Any:
    """Draw a grey part of 180 x 120 px with a round spot whose red is larger by a factor, in its middle."""
    y, x = np.mgrid[0:140, 0:200]
    away = np.hypot(x - 100.0, y - 70.0)
    share = np.clip((spot + soft - away) / max(2.0 * soft, 1e-9), 0.0, 1.0) if soft else (away < spot) * 1.0
    if uneven:
        share = share * (1.0 + uneven * (x - 100.0) / spot)
    light = 0.1 * np.stack([np.exp(far * share), np.ones_like(share), np.ones_like(share)], axis=2)
    srgb = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.clip(light, 0, 1) ** (1 / 2.4) - 0.055)
    pixels = np.rint(255 * np.clip(srgb, 0, 1)).astype(np.uint8)
    return SimpleNamespace(pixels=pixels, field=np.ones(pixels.shape[:2], dtype=bool), colour=BLUE)


def count(**figures: Any) -> int:
    return len(other_colours(picture(**{"spot": 20.0, "far": 0.9, **figures}), [FRAME]))


def test_how_far_a_colour_must_be() -> None:
    assert (FAR, count(far=FAR + 0.05), count(far=FAR - 0.05)) == (0.5, 1, 0)


def test_how_large_a_region_must_be_and_may_be() -> None:
    least = math.sqrt(LEAST_SHARE * 174 * 114 / math.pi)
    assert (LEAST_SHARE, LEAST_PX) == (0.01, 60)
    assert (count(spot=least + 1.0), count(spot=least - 1.0)) == (1, 0)
    small = np.array([[80.0, 50.0], [120.0, 50.0], [120.0, 90.0], [80.0, 90.0]])  # 60 pixels are more than 1 % of it
    assert [len(other_colours(picture(r, far=0.9), [small])) for r in (5.5, 3.5)] == [1, 0]


def test_a_fading_reflection_is_no_region_and_a_sharp_one_is() -> None:
    assert (SHARP, count(soft=1.0), count(soft=14.0)) == (0.6, 1, 0)


def test_a_region_of_many_colours_is_none() -> None:
    assert (ALIKE, count(uneven=0.3), count(uneven=0.9, far=1.3)) == (0.2, 1, 0)


def test_the_border_is_known_to_half_a_pixel() -> None:
    ring = other_colours(picture(20.0, far=0.9), [FRAME])[0].ring
    assert cv2.contourArea(ring.astype(np.float32)) == pytest.approx(math.pi * 20.0**2, rel=0.03)
    found = stop_off(ring * 0.1, Polygon(FRAME * 0.1), pixel_mm=0.1)
    assert found is not None
    assert found.edge_mm == EDGE_PX * 0.1 == 0.05


def test_a_ring_that_lies_off_the_part_is_none() -> None:
    assert stop_off(np.array([[50.0, 50.0], [51.0, 50.0], [51.0, 51.0]]), box(0, 0, 10, 10), pixel_mm=0.1) is None


def test_a_part_of_a_few_pixels_is_not_looked_at() -> None:
    tiny = np.array([[10.0, 10.0], [18.0, 10.0], [18.0, 18.0], [10.0, 18.0]])
    assert other_colours(picture(20.0, far=0.9), [tiny]) == []
    assert STEEL.reflectance[0] > 0.5


GREY_TAPE, DARK_TAPE = (110, 112, 115), (85, 86, 88)


@pytest.mark.parametrize(
    ("polygon", "srgb"),
    [
        (Point(X - 12.0, Y).buffer(6.0), GREY_TAPE),
        (Point(X - 12.0, Y).buffer(6.0), DARK_TAPE),
        (box(X - 3.0, Y - 60.0, X + 5.0, Y + 60.0), GREY_TAPE),
    ],
    ids=["dot", "dark dot", "band of tape"],
)
def test_grey_tape_on_grey_metal_is_found_by_its_brightness(polygon: Polygon, srgb: tuple[int, int, int]) -> None:
    (found,), true = seen(polygon, srgb)
    assert found.area_mm2 == pytest.approx(true, rel=0.015)
    assert not found.mirrored


def test_a_dipped_grey_end_is_asked_about_as_ground_that_may_be_metal() -> None:
    end = box(X + 15.0, Y - 60.0, X + 80.0, Y + 60.0)
    scene = scene_of(BLOCK, patches=(Patch(polygon=end, colour=linear(GREY_TAPE), on=0),))
    (part,) = found_in(scene).parts
    assert "BESIDE_UNDECIDED" in [told.code for told in part.outline.flags]


def greys(
    *, level: float = -0.8, uneven: float = 0.0, metal: float = 0.0, hollow: bool = False, shadow: float = 0.0
) -> int:
    """Count the regions on a grey part of 180 x 120 px on a pale sheet, one end of which has another brightness.

    ``uneven`` and ``metal`` are the steps of a chequer in the end and in the metal, ``hollow`` cuts a bay into the end,
    ``shadow`` goes on over the sheet beside it.
    """
    y, x = np.mgrid[0:140, 0:200]
    part = (x >= 10) & (x < 190) & (y >= 10) & (y < 130)
    end = (x >= 130) & ~(hollow & (x < 165) & (abs(y - 70) < 35))
    chequer = np.where((x // 3 + y // 3) % 2, 1.0, -1.0)
    logs = np.log(0.2) + np.where(end, level + uneven * chequer, metal * chequer)
    logs = np.where(part, logs, np.log(0.5) + shadow * end)
    light = np.repeat(np.exp(logs)[..., None], 3, axis=2)
    srgb = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.clip(light, 0, 1) ** (1 / 2.4) - 0.055)
    pixels = np.rint(255 * np.clip(srgb, 0, 1)).astype(np.uint8)
    sheet: Any = SimpleNamespace(pixels=pixels, field=np.ones(part.shape, dtype=bool), colour=BLUE)
    return len(other_colours(sheet, [FRAME]))


def test_how_far_a_brightness_must_be() -> None:
    assert (FAR_GREY, greys(level=-FAR_GREY - 0.06), greys(level=-FAR_GREY + 0.06)) == (0.3, 1, 0)
    assert greys(level=FAR_GREY + 0.1) == 1


def test_how_even_a_grey_region_and_the_metal_round_it_must_be() -> None:
    assert (EVEN, greys(uneven=0.03), greys(uneven=0.2)) == (0.06, 1, 0)
    assert (greys(metal=0.03), greys(metal=0.2)) == (1, 0)


def test_a_grey_region_is_plain_in_shape() -> None:
    assert (SOLID, greys(), greys(hollow=True)) == (0.9, 1, 0)


def test_a_shadow_that_goes_on_over_the_sheet_is_no_tape() -> None:
    assert (greys(shadow=-0.2), greys(shadow=-0.7)) == (1, 0)
    assert BESIDE_PX == 15


def flank(srgb: tuple[int, int, int], *, along: bool) -> bool:
    """Return whether a stripe on a grey part counts as the sheet mirrored: along its edge, or in its middle."""
    pixels = np.full((140, 200, 3), 150, dtype=np.uint8)
    rows = slice(0, 30) if along else slice(50, 90)
    columns = slice(0, 200) if along else slice(70, 130)
    pixels[rows, columns] = srgb
    seen = SimpleNamespace(pixels=pixels, field=np.ones(pixels.shape[:2], dtype=bool), colour=BLUE)
    (found,) = other_colours(seen, [FRAME])
    region = stop_off(found.ring * 0.1, Polygon(FRAME * 0.1), pixel_mm=0.1, like_sheet=found.like_sheet)
    assert region is not None
    return region.mirrored


def test_the_sheet_mirrored_along_an_edge_is_not_asked_about_and_other_colours_and_places_are() -> None:
    assert flank((50, 80, 145), along=True)
    assert not flank((50, 80, 145), along=False)
    assert not flank((145, 60, 60), along=True)
    assert not flank((60, 145, 70), along=True)
    assert (MIRROR_ASIDE, MIRROR_ALONG) == (0.35, 0.25)
