"""A line across a part: asked about as the joint of two parts that lie flush, and not set off by what only looks so."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from shapely.affinity import scale
from shapely.geometry import LineString, box

from areakit.errors import OutlineNotFound
from areakit.flags import place_asked
from areakit.imaging.answers import Answer
from areakit.imaging.checks.joint import _alone, _strongest
from areakit.imaging.outlines import find_outlines
from areakit.synthetic import Metal, Patch
from tests.imaging.drawn_photos import BLOCK, FOIL, MIDDLE_MM, STEEL, found_in, photo_of, scene_of, true_reading

X, Y = MIDDLE_MM
GREY = STEEL.brightness * 0.56
DARK = (0.02, 0.02, 0.02)
LONG = 60.0


def line(x: float = 5.0, low: float = -LONG, high: float = LONG, *, width: float = 0.1, **changes: Any) -> Patch:
    """A line across the block, by its place along it, in mm from the middle."""
    strip = box(X + x - width / 2, Y + low, X + x + width / 2, Y + high)
    return Patch(**{"polygon": strip, "colour": DARK, "opacity": 0.95, "on": 0, **changes})


def joints(*patches: Patch, metal: Metal = STEEL) -> list[str]:
    found = found_in(scene_of(BLOCK, patches=patches, metal=metal))
    flags = [flag for part in found.parts for flag in part.outline.flags if flag.code == "JOINT_UNDECIDED"]
    return [place for flag in flags if (place := place_asked(flag))]


@pytest.mark.parametrize(("x", "width"), [(-20.0, 0.05), (5.0, 0.2)])
def test_a_joint_is_asked_about_where_it_is(x: float, width: float) -> None:
    (place,) = joints(line(x, width=width))
    told_x, _ = (float(axis) for axis in place.split(","))
    assert told_x == pytest.approx(X + x, abs=0.5)


def test_a_bright_joint_is_asked_about_and_a_bare_face_is_not() -> None:
    assert joints(line(colour=(1.0, 1.0, 1.0), width=0.12))
    assert not joints()


@pytest.mark.parametrize(("short_mm", "asked"), [(0.3, True), (7.0, False)])
def test_a_line_that_ends_in_the_metal_is_no_joint(short_mm: float, asked: bool) -> None:
    top = Y + 20.0 / np.cos(np.radians(12.0)) - 5.0 * np.tan(np.radians(12.0))
    assert bool(joints(line(high=top - Y - short_mm))) == asked


@pytest.mark.parametrize(("count", "asked"), [(1, True), (9, False)])
def test_lines_side_by_side_are_grain_or_threads(count: int, asked: bool) -> None:
    assert bool(joints(*(line(-12.0 + 3.0 * i) for i in range(count)))) == asked


@pytest.mark.parametrize(("light", "softness_mm"), [(0.25, 0.0), (0.8, 0.5)])
def test_the_edge_of_a_reflection_is_no_joint(light: float, softness_mm: float) -> None:
    half = box(X + 5.0, Y - LONG, X + LONG, Y + LONG)
    assert not joints(Patch(polygon=half, colour=(light,) * 3, opacity=1.0, softness_mm=softness_mm, on=0))


@pytest.mark.parametrize(("width", "asked"), [(0.02, False), (0.3, True)])
def test_a_line_along_the_edge_of_a_reflection_must_be_stronger(width: float, asked: bool) -> None:
    half = Patch(polygon=box(X + 5.0, Y - LONG, X + LONG, Y + LONG), colour=(0.25,) * 3, on=0)
    assert bool(joints(half, line(width=width))) == asked


@pytest.mark.parametrize(("inside_mm", "asked"), [(1.2, False), (8.0, True)])
def test_a_line_close_along_an_edge_is_a_bevel(inside_mm: float, asked: bool) -> None:
    turned = scene_of(BLOCK).parts[0].placed()
    inner = turned.buffer(-inside_mm, join_style="mitre").exterior.coords
    long_side = max((LineString(pair) for pair in pairwise(inner)), key=lambda side: side.length)
    strip = scale(long_side, 3.0, 3.0).buffer(0.08, cap_style="flat")
    assert bool(joints(Patch(polygon=strip, colour=DARK, opacity=0.95, on=0))) == asked


@pytest.mark.parametrize(("turn_deg", "asked"), [(0.0, True), (90.0, False)])
def test_a_line_along_the_grain_must_stand_out_more(turn_deg: float, asked: bool) -> None:
    """Streaks of 6 %: a line as dark as they are wide stands out across them, and not along them."""
    brushed = replace(STEEL, finish="brushed", texture=0.06, texture_direction_deg=turn_deg)
    assert bool(joints(line(width=0.05), metal=brushed)) == asked


def test_one_part_or_two_can_be_said_and_two_are_refused() -> None:
    scene = scene_of(BLOCK, patches=(line(),))
    photo, reading = photo_of(scene), true_reading(scene)
    asked = find_outlines(photo, thickness=FOIL, reading=reading)
    (place,) = [at for flag in asked.parts[0].outline.flags if (at := place_asked(flag))]
    x, y = (float(axis) for axis in place.split(","))
    one = Answer(point_mm=(x, y), hole=False)
    settled = find_outlines(photo, thickness=FOIL, reading=reading, answers=(one,))
    assert not [flag for flag in settled.parts[0].outline.flags if place_asked(flag)]
    assert settled.parts[0].outline.area.value == pytest.approx(BLOCK.area, rel=0.003)
    two = Answer(point_mm=(x, y), hole=True)
    with pytest.raises(OutlineNotFound) as refused:
        find_outlines(photo, thickness=FOIL, reading=reading, answers=(two,))
    assert refused.value.code == "PARTS_FLUSH"


@pytest.mark.parametrize(("known", "least"), [(7, 0.1), (8, 0.01)])
def test_too_few_lines_beside_a_joint_say_nothing_of_the_metals_own(known: int, least: float) -> None:
    beside = np.full(80, np.nan)
    beside[:known] = -0.01
    assert _strongest(beside) == pytest.approx(least)
    beside[0] = 0.2
    assert _strongest(beside) == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("width", "along_grain", "times"), [(0.14, True, 1.3), (0.16, True, 4.0), (0.14, False, 2.2), (0.16, False, 2.2)]
)
def test_a_line_finer_than_grain_need_not_stand_out_as_much(width: float, along_grain: bool, times: float) -> None:
    assert _alone(width, along_grain=along_grain) == pytest.approx(times)
