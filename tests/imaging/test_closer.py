"""A second, closer look at small parts: teeth and holes that the overview cannot show."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from areakit.imaging.closer import look_closer
from areakit.imaging.marks import find_scale
from areakit.imaging.photo import overview
from areakit.imaging.segment import find_regions
from areakit.imaging.sheet_colour import sheet_distance
from areakit.synthetic import Camera
from areakit.synthetic.family import draw_shape
from tests.imaging.drawn_photos import found_in, photo_of, scene_of, true_reading

LARGE = Camera(width_px=4032, height_px=3024, distance_mm=270.0)
GEAR = draw_shape(np.random.default_rng(5), "gear", 230.0)


def fine_star() -> Polygon:
    radii = [9.0 if i % 2 == 0 else 7.4 for i in range(48)]
    angles = [math.pi * i / 24 for i in range(48)]
    points = [(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)]
    return Polygon(points)


@pytest.mark.thorough
@pytest.mark.parametrize("shape", [GEAR, fine_star()])
def test_fine_teeth_of_a_small_part_are_kept(shape: Polygon) -> None:
    (part,) = found_in(scene_of(shape, camera=LARGE)).parts
    assert part.outline.area.value == pytest.approx(shape.area, rel=0.012)
    assert abs(part.outline.area.value - shape.area) < part.outline.area.expanded_uncertainty


@pytest.mark.thorough
def test_a_hole_of_a_millimetre_is_found_in_a_small_part() -> None:
    plate = Point(0, 0).buffer(9.0, quad_segs=64).difference(Point(3, 0).buffer(0.6, quad_segs=32))
    (part,) = found_in(scene_of(plate, camera=LARGE)).parts
    assert len(part.outline.polygon.interiors) == 1


def test_the_closer_look_says_the_same_of_a_plain_disc() -> None:
    scene = scene_of(Point(0, 0).buffer(12.0, quad_segs=64), camera=LARGE)
    photo = photo_of(scene)
    small = overview(photo)
    sheet = sheet_distance(small, find_scale(photo, small, mark="auto", reading=true_reading(scene)))
    (region,) = find_regions(sheet)
    fine, close, again = look_closer(photo, small, sheet, region)
    assert fine.factor == small.factor // 2
    assert again.area_px / 4 == pytest.approx(region.area_px, rel=0.03)
    coarse_mid = small.to_full(region.rings[0] + [sheet.left, sheet.top]).mean(axis=0)
    fine_mid = fine.to_full(again.rings[0] + [close.left, close.top]).mean(axis=0)
    assert fine_mid == pytest.approx(coarse_mid, abs=1.0)


def test_a_large_part_is_not_looked_at_twice() -> None:
    scene = scene_of(Point(0, 0).buffer(45.0, quad_segs=64), camera=replace(LARGE))
    photo = photo_of(scene)
    small = overview(photo)
    sheet = sheet_distance(small, find_scale(photo, small, mark="auto", reading=true_reading(scene)))
    (region,) = find_regions(sheet)
    assert look_closer(photo, small, sheet, region) == (small, sheet, region)
