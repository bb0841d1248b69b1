"""What a part hides of its own rim, on round holes and upright walls drawn by formula."""

from typing import Any

import numpy as np
import pytest

from areakit.imaging.closed_ring import signed_area
from areakit.imaging.hidden_edge import _curve, joined

RADIUS, SHIFT = 2.0, np.array([2.0, 0.0])
WALL = 20.0


def seen_hole(count: int = 200, *, spoil: int = 0, sure: float = 1.0, wall: float = WALL) -> dict[str, Any]:
    """A round hole of 2 mm radius whose far rim is seen 2 mm aside: arcs of both rims, which meet at two corners.

    ``spoil`` points on either side of both corners lie half a millimetre off.
    """
    corner = np.arccos(SHIFT[0] / 2.0 / RADIUS)
    half = np.linspace(-corner, corner, count // 2)
    near, far = np.pi + half, half  # arc of the upper rim, moved by the shift, and of the lower one
    upper = RADIUS * np.column_stack([np.cos(near), np.sin(near)]) + SHIFT
    lower = RADIUS * np.column_stack([np.cos(far), np.sin(far)])
    top = np.repeat([sure, 0.0], len(half))
    flat = np.concatenate([upper, lower])
    placed = flat - np.repeat([1.0, 0.0], len(half))[:, None] * SHIFT
    off = np.arange(len(half))
    near_corner = (off < spoil) | (off >= len(half) - spoil)
    placed[np.tile(near_corner, 2)] += [0.0, 0.5]
    return {
        "points_mm": placed, "flat": flat, "shift": np.tile(-SHIFT, (len(flat), 1)), "top": top,
        "wall_px": np.where(top > 0.5, -wall, wall), "hole": True,
    }  # fmt: skip


def found(**hole: Any) -> float:
    """Area of a ring with what is hidden drawn on, relative to the true circle."""
    return abs(signed_area(joined(**hole))) / (np.pi * RADIUS**2)


def test_what_a_round_hole_hides_is_drawn_on() -> None:
    """Two segments of a circle on chords as long as the shift are hidden: 5.8 % of it at a shift of one radius."""
    hole = seen_hole()
    angle = 2.0 * np.arcsin(SHIFT[0] / 2.0 / RADIUS)
    hidden = (angle - np.sin(angle)) / np.pi
    assert abs(signed_area(hole["points_mm"])) / (np.pi * RADIUS**2) == pytest.approx(1.0 - hidden, abs=2e-3)
    assert found(**hole) == pytest.approx(1.0, abs=2e-3)


def test_whichever_way_a_ring_runs() -> None:
    hole = seen_hole()
    turned = {name: value[::-1] if isinstance(value, np.ndarray) else value for name, value in hole.items()}
    assert found(**turned) == pytest.approx(1.0, abs=2e-3)


@pytest.mark.parametrize(("count", "drawn"), [(24, True), (22, False)])
def test_arcs_of_a_dozen_points_tell_where_they_go_on(count: int, drawn: bool) -> None:
    hole = seen_hole(count)
    assert (found(**hole) > abs(signed_area(hole["points_mm"])) / (np.pi * RADIUS**2) + 0.01) is drawn


@pytest.mark.parametrize(("spoil", "true"), [(5, True), (7, False)])
def test_five_points_beside_a_corner_are_not_believed(spoil: int, true: bool) -> None:
    assert (abs(found(**seen_hole(spoil=spoil)) - 1.0) < 3e-3) is true


@pytest.mark.parametrize(("given", "drawn"), [({"sure": 0.92}, True), ({"sure": 0.88}, False)])
def test_both_rims_must_be_told_for_sure(given: dict[str, float], drawn: bool) -> None:
    hole = seen_hole(**given)
    assert np.array_equal(joined(**hole), hole["points_mm"]) is not drawn


@pytest.mark.parametrize(("wall", "drawn"), [(4.1, True), (3.9, False)])
def test_both_walls_must_be_four_pixels_wide(wall: float, drawn: bool) -> None:
    hole = seen_hole(wall=wall)
    assert np.array_equal(joined(**hole), hole["points_mm"]) is not drawn


@pytest.mark.parametrize(("degrees", "drawn"), [(115.0, True), (125.0, False)])
def test_where_the_silhouette_runs_down_a_wall_nothing_is_hidden(degrees: float, drawn: bool) -> None:
    """Up to 120 degrees between the ring's step and the jump from rim to rim, whose cosine is -0.5."""
    hole = seen_hole()
    turn = np.radians(degrees)
    way = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ SHIFT
    flat = np.linspace(0.0, 1.0, 200)[:, None] * way
    still = {**hole, "flat": flat}
    changed = np.any(joined(**still) != hole["points_mm"], axis=1)
    assert bool(changed[90:110].any()) is drawn


@pytest.mark.parametrize(("place", "heard"), [(94 - 6, True), (94 - 7, False)])
def test_seven_points_tell_the_way(place: int, heard: bool) -> None:
    hole = seen_hole()
    before = joined(**hole)[95:105]
    hole["points_mm"][place] += 0.01
    assert np.array_equal(joined(**hole)[95:105], before) is not heard


@pytest.mark.parametrize(("turned", "followed"), [(1.9, 1.9), (2.5, 2.0), (-0.3, 0.0)])
def test_an_arc_that_turns_back_is_followed_by_two_radians_only(turned: float, followed: float) -> None:
    """The way of two arcs from the straight line between their ends, to the metal's side; never to the other."""
    back = 0.01 * np.arange(7.0)[:, None]
    before = -back * np.array([np.cos(turned), np.sin(turned)])
    after = np.array([1.0, 0.0]) + back * np.array([np.cos(turned), -np.sin(turned)])
    curve = _curve(before, after, 500, turn=1.0)
    assert np.arctan2(*curve[0][::-1]) == pytest.approx(followed, abs=0.02)
    assert curve[-1] == pytest.approx(np.array([1.0, 0.0]) + [-curve[0][0], curve[0][1]], abs=1e-6)
