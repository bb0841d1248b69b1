"""Which way a part lies, and outlines with fewer corners."""

import math

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from areakit.plating.orientation import long_side_deg, simplified, turned, turned_polygon


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 135.0, 179.0])
def test_the_long_side_of_a_turned_plate_lies_as_it_was_turned(angle: float) -> None:
    found = long_side_deg(turned_polygon(box(0, 0, 40, 12), angle))
    apart = (found - angle + 90.0) % 180.0 - 90.0
    assert apart == pytest.approx(0.0, abs=1e-6)
    assert 0.0 <= found < 180.0


def test_points_turn_as_the_outline_does() -> None:
    """A quarter turn takes (1, 0) to (0, 1), counter-clockwise."""
    assert turned(np.array([1.0, 0.0]), 90.0) == pytest.approx([0.0, 1.0])
    ring = np.asarray(box(0, 0, 40, 12).exterior.coords)
    assert turned(ring, 33.0) == pytest.approx(np.asarray(turned_polygon(box(0, 0, 40, 12), 33.0).exterior.coords))


def test_corners_within_the_tolerance_are_left_out_and_holes_stay() -> None:
    angles = 2.0 * math.pi * np.arange(720) / 720
    disk = Polygon(np.column_stack([20 * np.cos(angles), 20 * np.sin(angles)]), [box(-2, -2, 2, 2).exterior.coords])
    found = simplified(disk, 0.1)
    assert len(found.exterior.coords) < 100
    assert len(found.interiors) == 1
    assert found.exterior.hausdorff_distance(disk.exterior) < 0.2
    hair = Polygon([(0, 0), (10, 0.001), (20, 0), (10, -0.001)])
    assert simplified(hair, 1.0) == hair  # nothing would be left of it
