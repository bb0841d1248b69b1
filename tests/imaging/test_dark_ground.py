"""Bright metal on a dark ground without colour: what counts as metal there, as hole and as ground."""

from dataclasses import replace

import numpy as np
import pytest
from drawn_rings import bare_sheet, edge_of, square

from areakit.imaging.bare_sheet import FLARE
from areakit.imaging.checks.part import grey_on_pale
from areakit.imaging.edge import linear_table
from areakit.imaging.segment import find_regions
from areakit.imaging.sheet_colour import (
    DARK_LEVEL,
    SheetDistance,
    encoded_colours,
    from_bare,
    mostly_brighter,
)

SIDE = 120
GROUND = 60
"""Stored value of charcoal: 4.5 % of linear light."""


def stored(times: float) -> int:
    """The stored value of so many times the light of the ground, glare included."""
    light = times * (float(linear_table()[GROUND]) + FLARE) - FLARE
    return int(np.abs(linear_table() - light).argmin())


def picture(**patches: float) -> np.ndarray:
    """The ground, with squares of 400 pixels each so many times as bright."""
    pixels = np.full((SIDE, SIDE, 3), GROUND, np.uint8)
    for i, times in enumerate(patches.values()):
        pixels[10 + 25 * (i // 4) : 30 + 25 * (i // 4), 10 + 25 * (i % 4) : 30 + 25 * (i % 4)] = stored(times)
    return pixels


BARE = encoded_colours(np.full((SIDE, SIDE, 3), GROUND, np.uint8))
ALL = np.ones((SIDE, SIDE), dtype=bool)


def test_what_is_darker_than_a_dark_ground_is_no_metal() -> None:
    pixels = picture(shadow=0.4, metal=5.0)
    signed = from_bare(pixels, BARE, ALL, coloured=False, dark=True)
    plain = from_bare(pixels, BARE, ALL, coloured=False)
    assert signed[20, 20] == 0.0 < plain[20, 20]
    # a third of the distance: the ground is uneven, and metal several times as bright
    assert signed[20, 45] == pytest.approx(plain[20, 45] / 3.0)


@pytest.mark.parametrize(("times", "metal"), [(1.6, False), (2.4, True)])
def test_metal_is_twice_as_bright_as_a_dark_ground(times: float, metal: bool) -> None:
    """From 3 units of distance a pixel may be a part's: (1 + 3 x 0.12) to the power 2.2 is 1.97 times the light."""
    distance = from_bare(picture(metal=times), BARE, ALL, coloured=False, dark=True)
    assert bool(distance[20, 20] > 3.0) is metal


@pytest.mark.parametrize(
    ("patches", "dark"),
    [
        ({"a": 3.5}, True),
        ({"a": 2.5}, False),  # a lit spot of the ground itself
        ({"a": 4, "b": 4, "c": 4, "d": 4, "e": 4, "f": 0.25}, True),  # five of metal, one of shadow
        ({"a": 4, "b": 4, "c": 4, "f": 0.25}, False),  # three to one: a speckled bench
        ({"a": 4, "f": 0.4}, True),  # a soft shadow does not count
        ({"f": 0.25}, False),  # dark metal on an under-exposed white sheet
    ],
)
def test_a_ground_is_dark_where_what_differs_is_mostly_much_brighter(patches: dict[str, float], dark: bool) -> None:
    assert mostly_brighter(picture(**patches), BARE, ALL) is dark


def test_a_ground_brighter_than_a_quarter_is_pale() -> None:
    """Photographic grey reflects 18 %, white paper 80 % and more: common practice, no source."""
    assert 0.18 < DARK_LEVEL < 0.4


@pytest.mark.parametrize(("share", "grey"), [(0.88, True), (0.92, False)])
def test_metal_that_is_much_brighter_than_its_ground_is_not_as_grey_as_it(share: float, grey: bool) -> None:
    ring = edge_of(square(), face_hue=0.0)
    assert grey_on_pale(replace(ring, bright_share=share), bare_sheet(coloured=False)) is grey
    assert grey_on_pale(replace(ring, dark_share=share), bare_sheet(coloured=False)) is grey


def framed(inside: float) -> SheetDistance:
    """A frame of metal, 8 times the ground, round a square of another light."""
    pixels = np.full((SIDE, SIDE, 3), GROUND, np.uint8)
    pixels[30:90, 30:90] = stored(8.0)
    pixels[50:70, 50:70] = stored(inside)
    return bare_sheet(
        distance=from_bare(pixels, BARE, ALL, coloured=False, dark=True), pixels=pixels, field=ALL, guard=~ALL,
        coloured=False, level=float(linear_table()[GROUND]), bare=BARE, dark=True,
    )  # fmt: skip


@pytest.mark.parametrize(("inside", "holes", "asked"), [(0.7, 1, 0), (1.3, 1, 0), (1.8, 0, 1)])
def test_a_hole_is_as_dark_as_the_ground_and_a_dull_patch_is_asked_about(inside: float, holes: int, asked: int) -> None:
    """Clear is 1.8 units of distance: (1 + 1.8 x 0.12) to the power 2.2 is 1.54 times the light of the ground."""
    (region,) = find_regions(framed(inside))
    assert (len(region.rings) - 1, len(region.doubtful)) == (holes, asked)
