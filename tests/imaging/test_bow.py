"""Sheets that bend: the form of a bow by hand, what paper can do, and a camera above one."""

from dataclasses import replace

import numpy as np
import pytest

from areakit.imaging import bow as bows
from areakit.imaging.bow import Bow, as_one_bend
from areakit.imaging.camera import Camera
from areakit.imaging.marks.field import moved

POINTS = np.array([(40.0, 30.0), (150.0, 105.0), (260.0, 180.0), (20.0, 190.0)])
MIDDLE = np.array([148.5, 105.0])
TWISTED = Bow(figures=np.array([0.8, 0.5, -0.3]), middle_mm=MIDDLE)


def camera(bow: Bow | None = TWISTED) -> Camera:
    inner = [np.log(3000.0), 2015.5, 1511.5, 0.01, -0.02, 0.0, 0.0]
    pose = [0.05, -0.08, 0.3, -100.0, -120.0, 260.0]
    size = 13 if bow is None else 16
    return Camera(parameters=np.array([*inner, *pose]), covariance=np.eye(size), rms_px=0.0, bow=bow)


def test_a_trough_rises_with_the_square_of_the_distance_from_its_middle() -> None:
    trough = Bow(figures=np.array([2.0, 0.0, 0.0]), middle_mm=MIDDLE)
    at = MIDDLE + np.array([(0.0, 0.0), (100.0, 0.0), (50.0, 80.0)])
    assert trough.height_mm(at) == pytest.approx([0.0, 2.0, 0.5])
    assert trough.slope(at)[1] == pytest.approx([0.04, 0.0])


def test_the_same_bow_in_turned_and_moved_axes_has_the_same_heights() -> None:
    cos, sin = np.cos(0.4), np.sin(0.4)
    turn, origin = np.array([[cos, -sin], [sin, cos]]), np.array([12.0, -7.0])
    there = TWISTED.seen_from(turn, origin)
    assert there.height_mm((POINTS - origin) @ turn) == pytest.approx(TWISTED.height_mm(POINTS))


def test_paper_bends_in_one_direction_so_a_bowl_is_not_believed() -> None:
    """Edges leave the bowl open and show both directions alike: then the sheet is flat (paper does not stretch)."""
    bowl, saddle = np.array([1.0, 0.0, 1.0]) / np.sqrt(2.0), np.array([1.0, 0.0, -1.0]) / np.sqrt(2.0)
    seen = 4.0 * np.outer(bowl, bowl) + 1e-4 * np.outer(saddle, saddle) + 1e-4 * np.diag([0.0, 1.0, 0.0])
    mean, covariance = as_one_bend(np.array([0.3, 0.0, 0.3]), seen)
    assert mean == pytest.approx([0.0, 0.0, 0.0], abs=0.05)
    assert covariance.trace() < 0.02


@pytest.mark.parametrize("high", [-2.0, 1.5])
def test_a_bend_of_one_direction_is_kept(high: float) -> None:
    along = np.array([np.cos(0.5), np.sin(0.5)])
    figures = high * np.array([along[0] ** 2, 2 * along[0] * along[1], along[1] ** 2])
    mean, _ = as_one_bend(figures, 0.01 * np.eye(3))
    assert mean == pytest.approx(figures, abs=0.1)


def test_what_nobody_sees_of_a_bow_is_one_millimetre_open() -> None:
    """Spread of a cos2, 2 a cos sin, a sin2 over all directions: 3/8, 1/2 and 3/8 of the variance of a (geometry)."""
    _, covariance = as_one_bend(np.zeros(3), 1e6 * np.eye(3))
    assert np.diag(covariance) == pytest.approx(bows.BOW_MM**2 * np.array([0.375, 0.5, 0.375]), rel=0.02)
    assert bows.BOW_MM == 1.0


@pytest.mark.parametrize("height_mm", [0.0, 1.7])
def test_a_point_of_a_bent_sheet_comes_back_from_its_pixel(height_mm: float) -> None:
    above = camera()
    assert above.to_sheet(above.project(POINTS, height_mm), height_mm) == pytest.approx(POINTS, abs=1e-4)
    flat = camera(None).to_sheet(above.project(POINTS))
    assert np.abs(flat - POINTS).max() > 0.1


def test_sheet_points_move_with_every_parameter_and_figure_as_differences_say() -> None:
    above = camera()
    pixels, moves = above.project(POINTS, 1.0), above.moves(POINTS, 1.0)
    assert moves.shape == (4, 2, 16)
    for k in (0, 1, 8, 12):
        step = np.zeros(13)
        step[k] = 1e-4
        ends = [above.with_parameters(above.parameters + s * step).to_sheet(pixels, 1.0) for s in (1, -1)]
        assert moves[:, :, k] == pytest.approx((ends[0] - ends[1]) / 2e-4, rel=1e-3, abs=1e-3)
    for k in range(3):
        figure = np.zeros(3)
        figure[k] = 1e-3
        ends = [
            replace(above, bow=Bow(figures=TWISTED.figures + s * figure, middle_mm=MIDDLE)).to_sheet(pixels, 1.0)
            for s in (1, -1)
        ]
        assert moves[:, :, 13 + k] == pytest.approx((ends[0] - ends[1]) / 2e-3, rel=1e-2, abs=1e-3)


def test_moved_axes_leave_the_bent_sheet_where_it_is() -> None:
    above = camera()
    there = moved(above, turn_rad=0.4, origin_mm=(12.0, -7.0, 0.0))
    cos, sin = np.cos(0.4), np.sin(0.4)
    turn = np.array([[cos, -sin], [sin, cos]])
    pixels = above.project(POINTS)
    assert there.project((POINTS - [12.0, -7.0]) @ turn) == pytest.approx(pixels, abs=1e-6)
    # Figures and their uncertainty turn with the axes: heights stay as uncertain as they were.
    terms, turned = above.bow.terms(POINTS), there.bow.terms((POINTS - [12.0, -7.0]) @ turn)  # type: ignore[union-attr]
    before = np.einsum("ni,ij,nj->n", terms, above.covariance[-3:, -3:], terms)
    after = np.einsum("ni,ij,nj->n", turned, there.covariance[-3:, -3:], turned)
    assert after == pytest.approx(before)
