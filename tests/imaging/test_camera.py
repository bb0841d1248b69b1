"""The camera model against OpenCV's projection, its own inverse, known cameras and the spread of repeated fits."""

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areakit.imaging.camera import (
    FOCAL_SHARE_EXIF,
    Camera,
    Prior,
    Residuals,
    edge_residuals,
    fit_camera,
    point_residuals,
    start_pose,
    usual_prior,
)
from areakit.imaging.marks.frame_layout import layouts

Floats = npt.NDArray[np.float64]

SHEET = layouts()["A4-r1"]
WIDTH, HEIGHT = 4032, 3024
FOCAL = 26.0 * np.hypot(WIDTH, HEIGHT) / np.hypot(36.0, 24.0)


def camera_above(
    tilt_deg: float = 0.0,
    direction_deg: float = 0.0,
    roll_deg: float = 0.0,
    *,
    height_mm: float = 260.0,
    lens: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0),
    log_focal: float = 0.0,
) -> Camera:
    """Build a camera that looks at the middle of the sheet, from Rodrigues' formula alone."""
    turn = cv2.Rodrigues(np.radians([0.0, 0.0, roll_deg]))[0]
    lean = np.radians(tilt_deg) * np.array([np.cos(np.radians(direction_deg)), np.sin(np.radians(direction_deg)), 0.0])
    rotation = turn @ cv2.Rodrigues(lean)[0]
    middle = np.array([SHEET.width_mm / 2, SHEET.height_mm / 2, 0.0])
    translation = np.array([0.0, 0.0, height_mm]) - rotation @ middle
    inner = [np.log(FOCAL) + log_focal, (WIDTH - 1) / 2, (HEIGHT - 1) / 2, *lens]
    parameters = np.array([*inner, *cv2.Rodrigues(rotation)[0].ravel(), *translation])
    return Camera(parameters=parameters, covariance=np.zeros((13, 13)), rms_px=0.0)


tilts = st.floats(0.0, 30.0)
turns = st.floats(-180.0, 180.0)
lenses = st.tuples(st.floats(-0.1, 0.1), st.floats(-0.03, 0.03), st.floats(-2e-3, 2e-3), st.floats(-2e-3, 2e-3))
places = st.tuples(st.floats(20.0, 240.0), st.floats(20.0, 160.0))


@settings(deadline=None, max_examples=60)
@given(tilt=tilts, direction=turns, roll=turns, lens=lenses, place=places, above=st.floats(0.0, 20.0))
def test_a_point_projected_at_a_height_comes_back_from_its_pixel(
    tilt: float,
    direction: float,
    roll: float,
    lens: tuple[float, float, float, float],
    place: tuple[float, float],
    above: float,
) -> None:
    camera = camera_above(tilt, direction, roll, lens=lens)
    point = np.array([place])
    assert camera.to_sheet(camera.project(point, above), above) == pytest.approx(point, abs=1e-4)


@settings(deadline=None, max_examples=30)
@given(tilt=tilts, direction=turns, roll=turns, lens=lenses, place=places)
def test_pixels_are_those_of_opencv(
    tilt: float, direction: float, roll: float, lens: tuple[float, float, float, float], place: tuple[float, float]
) -> None:
    camera = camera_above(tilt, direction, roll, lens=lens)
    lifted = np.array([[*place, -3.0]])  # z points into the table
    expected, _ = cv2.projectPoints(
        lifted, camera.parameters[7:10], camera.parameters[10:13], camera.matrix, camera.distortion
    )
    assert camera.project(np.array([place]), 3.0) == pytest.approx(expected.reshape(1, 2), abs=1e-9)


def test_height_tilt_and_pixel_size_of_a_camera_straight_above_follow_from_similar_triangles() -> None:
    camera = camera_above(height_mm=260.0)
    assert camera.height_mm == pytest.approx(260.0)
    assert camera.tilt_deg == pytest.approx(0.0, abs=1e-5)
    assert camera.mm_per_px(np.array([130.0, 90.0])) == pytest.approx(260.0 / FOCAL, rel=1e-6)
    # A face 5 mm above the sheet looks larger by H / (H - t).
    ring = np.array([[100.0, 90.0], [160.0, 90.0]])
    flat, high = (float(np.ptp(camera.project(ring, h)[:, 0])) for h in (0.0, 5.0))
    assert high / flat == pytest.approx(260.0 / 255.0, rel=1e-9)


def test_the_tilt_is_the_angle_that_the_camera_was_turned_by() -> None:
    for tilt in (5.0, 20.0, 33.0):
        assert camera_above(tilt, 40.0, 70.0).tilt_deg == pytest.approx(tilt, abs=1e-6)


TRUE = camera_above(14.0, 35.0, 3.0, lens=(0.03, -0.01, 2e-4, -3e-4), log_focal=0.02)
NODES = SHEET.corners_mm
PRIOR = usual_prior(WIDTH, HEIGHT, FOCAL)


def fitted(pixels: Floats, *, sigma_px: float = 0.05) -> Camera:
    start = start_pose(NODES, pixels, PRIOR)
    return fit_camera(point_residuals(NODES, pixels), start, PRIOR, sigma_px=sigma_px, steps=30)


WINDOW_GRID = np.stack(np.meshgrid(np.linspace(20, 240, 12), np.linspace(20, 160, 8)), axis=2).reshape(-1, 2)


def test_a_fit_without_noise_maps_the_window_as_the_true_camera_does() -> None:
    camera = fitted(TRUE.project(NODES))
    assert camera.rms_px < 0.01
    # The prior pulls what the ring hardly tells (focal length against distance); the field must not feel it.
    assert np.abs(camera.to_sheet(TRUE.project(WINDOW_GRID)) - WINDOW_GRID).max() < 0.003
    away = np.log(camera.focal_px / TRUE.focal_px)
    assert abs(away) < np.sqrt(camera.covariance[0, 0])
    assert camera.height_mm / TRUE.height_mm == pytest.approx(np.exp(away), rel=1e-3)


def test_without_exif_the_fit_ends_no_worse_than_the_truth() -> None:
    prior = usual_prior(WIDTH, HEIGHT, None)
    for seed in range(6):
        rng = np.random.default_rng(seed)
        true = camera_above(20.0, float(rng.uniform(-180.0, 180.0)))
        pixels = true.project(NODES) + rng.normal(0.0, 0.04, (len(NODES), 2))
        residuals = point_residuals(NODES, pixels)
        camera = fit_camera(residuals, start_pose(NODES, pixels, prior), prior, sigma_px=0.06)
        # The most probable camera costs no more than the true one; robust weights may leave a unit of chi-square.
        assert belief(residuals, camera, prior) <= belief(residuals, true, prior) + 2.0
        assert abs(np.log(camera.focal_px / true.focal_px)) < 2.5 * np.sqrt(camera.covariance[0, 0])


def belief(residuals: Residuals, camera: Camera, prior: Prior) -> float:
    """Minus twice the log of the probability of a camera, less a constant."""
    misfit, _ = residuals(camera.parameters, prior.k3)
    pull = (camera.parameters[:7] - prior.mean) / prior.sigma
    return float(misfit @ misfit / 0.06**2 + pull @ pull)


@pytest.mark.parametrize("tilt_deg", [5.0, 20.0, 30.0])
def test_with_exif_the_fit_ends_no_worse_than_the_truth(tilt_deg: float) -> None:
    for seed in range(3):
        rng = np.random.default_rng(seed)
        true = camera_above(tilt_deg, float(rng.uniform(-180.0, 180.0)))
        pixels = true.project(NODES) + rng.normal(0.0, 0.04, (len(NODES), 2))
        residuals = point_residuals(NODES, pixels)
        camera = fit_camera(residuals, start_pose(NODES, pixels, PRIOR), PRIOR, sigma_px=0.06)
        assert belief(residuals, camera, PRIOR) <= belief(residuals, true, PRIOR)


def test_a_few_corners_far_off_do_not_move_the_fit() -> None:
    rng = np.random.default_rng(5)
    pixels = TRUE.project(NODES) + rng.normal(0.0, 0.05, (len(NODES), 2))
    spoiled = pixels.copy()
    spoiled[[3, 30, 61]] += [[4.0, -6.0], [-9.0, 2.0], [5.0, 5.0]]
    shift = fitted(spoiled).to_sheet(TRUE.project(WINDOW_GRID)) - fitted(pixels).to_sheet(TRUE.project(WINDOW_GRID))
    assert np.abs(shift).max() < 0.02


SQUARE = np.array([[100.0, 60.0], [160.0, 60.0], [160.0, 120.0], [100.0, 120.0]])


def area(ring: Floats) -> float:
    x, y = ring.T
    return 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


def area_with_slope(camera: Camera, pixels: Floats) -> tuple[float, float]:
    """Area read through a camera, and its standard deviation by first order from the covariance."""
    here = area(camera.to_sheet(pixels))
    step = 1e-3 * np.sqrt(np.diag(camera.covariance))
    slope = np.array(
        [
            (area(camera.with_parameters(camera.parameters + move).to_sheet(pixels)) - here) / size
            for move, size in zip(np.diag(step), step, strict=True)
        ]
    )
    return here, float(np.sqrt(slope @ camera.covariance @ slope))


def test_the_covariance_predicts_how_the_area_of_a_square_spreads_over_repeated_photos() -> None:
    rng = np.random.default_rng(11)
    errors = []
    for _ in range(60):
        # Cameras drawn from the prior, noise from the stated sigma: then errors over predictions have variance 1.
        drawn = PRIOR.mean + PRIOR.sigma * rng.standard_normal(7)
        true = TRUE.with_parameters(np.concatenate([drawn, TRUE.parameters[7:]]))
        camera = fitted(true.project(NODES) + rng.normal(0.0, 0.3, (len(NODES), 2)), sigma_px=0.3)
        read, deviation = area_with_slope(camera, true.project(SQUARE))
        errors.append((read - 3600.0) / deviation)
    # Chi-square with 60 degrees of freedom lies between 33.3 and 95.3 with a probability of 99.6 % (scipy.stats.chi2).
    assert 33.3 < float(np.sum(np.square(errors))) < 95.3
    assert abs(float(np.mean(errors))) < 3.0 / np.sqrt(60)


def test_more_noise_gives_a_wider_covariance_in_proportion_where_the_corners_decide() -> None:
    pixels = TRUE.project(NODES)
    one, four = fitted(pixels, sigma_px=0.05), fitted(pixels, sigma_px=0.2)
    (_, narrow), (_, wide) = (area_with_slope(camera, TRUE.project(SQUARE)) for camera in (one, four))
    assert 2.0 < wide / narrow <= 4.0 + 1e-3


def test_straight_edges_fix_the_camera_as_corners_do() -> None:
    """The four cut edges of an A4 sheet, each point known only across its edge."""
    corners = np.array([(0.0, 0.0), (297.0, 0.0), (297.0, 210.0), (0.0, 210.0)])
    along = np.roll(corners, -1, axis=0) - corners
    share = np.linspace(0.05, 0.95, 60)[:, None]
    points = np.concatenate([corner + share * step for corner, step in zip(corners, along, strict=True)])
    direction = np.repeat(along / np.linalg.norm(along, axis=1)[:, None], 60, axis=0)
    true = camera_above(10.0, 60.0, height_mm=330.0)
    # The pixels slide along their edges by up to 3 mm: that must not matter.
    slid = points + np.random.default_rng(2).uniform(-3.0, 3.0, (len(points), 1)) * direction
    prior = usual_prior(WIDTH, HEIGHT, FOCAL)
    start = start_pose(corners, true.project(corners) + [[3.0, -2.0], [-2.0, 3.0], [2.0, 2.0], [-3.0, -1.0]], prior)
    camera = fit_camera(edge_residuals(points, direction, true.project(slid)), start, prior, sigma_px=0.3, steps=30)
    assert camera.rms_px < 0.02
    inner = np.array([[60.0, 50.0], [240.0, 50.0], [240.0, 160.0], [60.0, 160.0]])
    assert area(camera.to_sheet(true.project(inner))) == pytest.approx(180.0 * 110.0, rel=2e-4)


def test_neighbours_that_share_their_error_widen_the_covariance() -> None:
    pixels = TRUE.project(NODES)
    free = Prior(mean=PRIOR.mean, sigma=PRIOR.sigma * 1e-6)  # the pose alone is fitted
    start = start_pose(NODES, pixels, PRIOR)
    residuals = point_residuals(NODES, pixels)
    one, nine = (fit_camera(residuals, start, free, sigma_px=0.1, correlated=c) for c in (1.0, 9.0))
    ratio = np.sqrt(np.diag(nine.covariance)[7:] / np.diag(one.covariance)[7:])
    assert ratio == pytest.approx(3.0, rel=0.02)


def test_the_usual_prior_centres_on_the_stated_focal_length_and_is_wide_without_one() -> None:
    stated, none = usual_prior(WIDTH, HEIGHT, 3000.0), usual_prior(WIDTH, HEIGHT, None)
    assert np.exp(stated.mean[0]) == pytest.approx(3000.0)
    assert stated.sigma[0] == FOCAL_SHARE_EXIF
    assert none.sigma[0] > 5 * FOCAL_SHARE_EXIF
    assert stated.mean[1:3] == pytest.approx([(WIDTH - 1) / 2, (HEIGHT - 1) / 2])


def test_a_camera_cannot_be_changed_in_place() -> None:
    with pytest.raises(ValueError, match="read-only"):
        TRUE.parameters[0] = 0.0
    moved = TRUE.with_parameters(TRUE.parameters + 0.001)
    assert moved.focal_px != TRUE.focal_px
    assert replace(moved, k3=0.1).distortion[4] == 0.1
