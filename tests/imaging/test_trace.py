"""How metal is told dark, an edge placed by colour, and the shift of height taken: by numbers worked out by hand."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from areakit.imaging.contrast import ColourMetric
from areakit.imaging.edge_ring import shift_taken
from areakit.imaging.raw_edge import _by_colour, _darkness, _evened, _least_colour, _signal

BLUE = np.array([0.06, 0.17, 0.55], dtype=np.float32)
METRIC = ColourMetric(linear=BLUE, unit=BLUE / np.linalg.norm(BLUE), size=1.0, shade_weight=1.0)


@pytest.mark.parametrize(("ratio", "dark"), [(0.65, 0.0), (0.6, 0.0), (0.45, 0.5), (0.3, 1.0), (0.1, 1.0)])
def test_metal_is_dark_below_six_tenths_of_the_ground_wholly_at_three(ratio: float, dark: float) -> None:
    inside, outside = np.array([0.5 * ratio], dtype=np.float32), np.array([0.5], dtype=np.float32)
    assert _darkness(inside, outside) == pytest.approx(dark, abs=1e-5)


def across_the_sheet() -> Any:
    """A direction of colour in which no shadow on the sheet moves."""
    across = np.cross(METRIC.unit, [1.0, 0.0, 0.0])
    return across / np.linalg.norm(across)


@pytest.mark.parametrize(
    ("colour", "least", "by_shade"),
    [(0.014, 0.015, 1.0), (0.0225, 0.015, 0.5), (0.031, 0.015, 0.0), (0.029, 0.03, 1.0), (0.045, 0.03, 0.5)],
)
def test_from_twice_the_least_colour_on_an_edge_is_placed_by_colour_alone(
    colour: float, least: float, by_shade: float
) -> None:
    """Sheet and metal differ by 0.2 along the sheet's colour, and by some across it; the least changes nothing."""
    unit, across = METRIC.unit, across_the_sheet()
    difference = (0.2 * unit + colour * across)[None].astype(np.float32)
    towards = np.array([by_shade * 0.2, colour]) / np.hypot(by_shade * 0.2, colour)
    counted, _ = _by_colour(difference, METRIC, least=np.array([least]))
    signal = _signal(np.stack([unit, across])[None].astype(np.float32), counted)[0]
    assert signal == pytest.approx(towards, abs=2e-3)


@pytest.mark.parametrize(
    ("wall_px", "top", "least"),
    [(-3.0, 1.0, 0.015), (0.8, 0.0, 0.015), (1.2, 0.0, 0.03), (1.2, 0.7, 0.03), (1.2, 0.8, 0.015)],
)
def test_an_edge_over_a_wall_wants_twice_the_colour_unless_the_wall_stands_outside(
    wall_px: float, top: float, least: float
) -> None:
    """A polished wall mirrors the sheet: it has its colour."""
    assert _least_colour(np.array([wall_px]), np.array([top]), shadows=True) == pytest.approx([least])
    assert _least_colour(np.array([wall_px]), np.array([top]), shadows=False) == pytest.approx([0.06])


@pytest.mark.parametrize(("colour", "noisy"), [(0.01, 0.0), (0.05, 1.0), (0.09, 0.5), (0.13, 0.0)])
def test_an_edge_placed_by_less_than_twelve_hundredths_of_colour_is_noisy(colour: float, noisy: float) -> None:
    difference = (colour * across_the_sheet())[None].astype(np.float32)
    assert _by_colour(difference, METRIC, least=np.array([0.015]))[1] == pytest.approx([noisy], abs=1e-3)


def test_a_noisy_edge_is_averaged_with_one_neighbour_on_either_side() -> None:
    offset = np.zeros(20)
    offset[10] = 0.9
    moved = offset + _evened(offset, np.ones(20))
    assert moved[8:13] == pytest.approx([0.0, 0.3, 0.3, 0.3, 0.0], abs=1e-6)
    assert _evened(offset, np.zeros(20)) == pytest.approx(np.zeros(20))


@pytest.mark.parametrize(("sine", "taken"), [(0.15, 0.5), (0.3, 1.0), (0.6, 1.0)])
def test_the_shift_along_an_edge_fades_out_where_it_hardly_turns_from_it(sine: float, taken: float) -> None:
    """A long straight edge upwards, all of it open between top and bottom; the shift turns from it by an angle."""
    points = np.column_stack([np.zeros(200), np.arange(200.0)])
    flat = np.concatenate([points, points[::-1] + [80.0, 0.0]])
    ring: Any = SimpleNamespace(hole=False, top=np.full(400, 0.05))
    shift = np.tile([sine, np.sqrt(1.0 - sine**2)], (400, 1))
    matrix = shift_taken(ring, flat, shift)[100] / 0.05
    assert matrix[0, 0] == pytest.approx(1.0, abs=1e-3)
    assert matrix[1, 1] == pytest.approx(taken, abs=1e-3)


def test_what_is_top_edge_for_fifteen_points_to_either_side_takes_all_of_the_shift() -> None:
    points = np.column_stack([np.zeros(200), np.arange(200.0)])
    flat = np.concatenate([points, points[::-1] + [80.0, 0.0]])
    top = np.zeros(400)
    top[70:131] = 1.0
    ring: Any = SimpleNamespace(hole=False, top=top)
    along = shift_taken(ring, flat, np.tile([0.0, 1.0], (400, 1)))[:, 1, 1]
    whole = np.nonzero(along > 0.999)[0]
    assert (whole.min(), whole.max()) == (85, 115)
