"""Which outlines are asked about, because wire has them too: long ones, even in width."""

import math

import pytest
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from areakit.geometry.forms.finish import EVEN, SLENDER, like_stock


def strip(length: float, width: float = 2.0) -> Polygon:
    return box(0, 0, length, width)


def hook() -> Polygon:
    """A wire of 2 mm bent to three quarters of a circle of 12 mm radius."""
    angles = [1.5 * math.pi * i / 200 for i in range(201)]
    return LineString([(12 * math.cos(a), 12 * math.sin(a)) for a in angles]).buffer(1.0, cap_style="flat")


def test_how_long_an_outline_must_be() -> None:
    assert like_stock(strip(2.0 * 0.95 * SLENDER)) is None
    found = like_stock(strip(2.0 * 1.1 * SLENDER))
    assert found is not None
    assert found.times == pytest.approx(1.1 * SLENDER, rel=0.05)
    assert SLENDER == 8.0


@pytest.mark.parametrize(
    "shape", [hook(), affinity.rotate(hook(), 30.0), Point(0, 0).buffer(11).difference(Point(0, 0).buffer(9))]
)
def test_bent_wire_and_rings_are_asked_about(shape: Polygon) -> None:
    found = like_stock(shape)
    assert found is not None
    assert found.width_mm == pytest.approx(2.0, rel=0.03)
    assert found.length_mm == pytest.approx(shape.area / 2.0, rel=0.03)


def wedge(spread: float) -> Polygon:
    """A strip of 60 mm that widens steadily; the standard deviation of its width is ``spread`` of the mean."""
    half = 2.0 * spread * math.sqrt(12.0) / 2.0
    return Polygon([(0, -1 + half / 2), (60, -1 - half / 2), (60, 1 + half / 2), (0, 1 - half / 2)])


def test_how_even_its_width_must_be() -> None:
    assert like_stock(wedge(0.6 * EVEN)) is not None
    assert like_stock(wedge(1.5 * EVEN)) is None
    assert EVEN == 0.06


@pytest.mark.parametrize(
    "shape",
    [
        Point(0, 0).buffer(10),
        box(0, 0, 30, 20),
        Point(0, 0).buffer(10).difference(Point(0, 0).buffer(4)),
        box(0, 0, 40, 40).difference(box(2, 2, 19, 38)).difference(box(21, 2, 38, 38)),
        box(-20, -1, 20, 1).union(box(-1, -20, 1, 20)),
    ],
    ids=["disk", "plate", "washer", "frame", "cross"],
)
def test_plates_washers_frames_and_crosses_are_not(shape: Polygon) -> None:
    assert like_stock(shape) is None
