"""Edges below a pixel, against edges placed by closed form; and the averages along closed rings."""

from math import erf

import numpy as np
import numpy.typing as npt
import pytest

from areakit.imaging.closed_ring import majority, mean_along, outward_normals, resampled, running_median, signed_area
from areakit.imaging.edge import LUMINANCE, half_level, linear_table, read_profiles, steepest
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.sharpness import softness_px

Floats = npt.NDArray[np.float64]


def test_linear_light_obeys_the_standard() -> None:
    # IEC 61966-2-1: code 255 is 1, code 0 is 0, code 118 is 0.1812, and 10 lies on the straight piece.
    table = linear_table()
    assert table[[0, 255]] == pytest.approx([0.0, 1.0])
    assert table[118] == pytest.approx(((118 / 255 + 0.055) / 1.055) ** 2.4, rel=1e-6)
    assert table[10] == pytest.approx(10 / 255 / 12.92, rel=1e-6)
    assert np.sum(LUMINANCE) == pytest.approx(1.0)


def encoded(light: Floats) -> npt.NDArray[np.uint8]:
    srgb = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)
    return np.rint(255 * srgb).astype(np.uint8)


def edge_picture(at_px: float, sigma_px: float, slope: float, size: int = 120) -> npt.NDArray[np.uint8]:
    """A straight edge, bright left of x = at + slope y, blurred by a Gaussian: the error function."""
    y, x = np.mgrid[0:size, 0:size].astype(float)
    away = (x - at_px - slope * (y - size / 2)) / np.hypot(1.0, slope)
    step = np.vectorize(erf)(away / (sigma_px * np.sqrt(2.0)))
    return np.repeat(encoded(0.45 - 0.35 * step)[:, :, None], 3, axis=2)


@pytest.mark.parametrize("sigma_px", [0.7, 0.9, 1.3])
@pytest.mark.parametrize("slope", [0.0, 0.15, 0.7])
def test_a_blurred_straight_edge_is_found_to_a_fiftieth_of_a_pixel(sigma_px: float, slope: float) -> None:
    errors, softness = [], []
    for part in (0.0, 0.25, 0.6):
        pixels = edge_picture(60.0 + part, sigma_px, slope)
        rows = np.arange(40, 81, 2, dtype=float)
        line = 60.0 + part + slope * (rows - 60.0)
        points = np.column_stack([np.rint(line), rows])
        normal = np.array([1.0, -slope]) / np.hypot(1.0, slope)
        profiles = read_profiles(pixels, points, np.broadcast_to(normal, points.shape), 12)
        signal = np.asarray(profiles.linear @ LUMINANCE)
        centre, _ = steepest(signal)
        cross = half_level(signal, centre, near=4, far=8, smooth=0)
        assert cross.found.all()
        found = profiles.start_px + cross.position[:, None] * profiles.step_px
        away = (found[:, 0] - 60.0 - part - slope * (found[:, 1] - 60.0)) / np.hypot(1.0, slope)
        errors.append(away)
        softness.append(cross.sigma_px * profiles.across)
    assert abs(np.mean(errors)) < 0.02
    assert np.abs(errors).max() < 0.06  # 8-bit codes and slopes read by straight lines between pixels
    assert np.median(softness) == pytest.approx(sigma_px, rel=0.2)


@pytest.mark.parametrize("sigma_px", [1.0, 2.0, 4.0])
def test_the_softness_of_a_photo_grows_with_its_blur(sigma_px: float) -> None:
    pixels = edge_picture(200.0, sigma_px, 0.1, size=400)
    expected = np.hypot(sigma_px, np.sqrt(2 / 3))  # profiles are averaged over three pixels, variance 2/3
    photo = Photo(name="drawn", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")
    assert softness_px(photo, Overview(pixels=pixels, factor=1)) == pytest.approx(expected, rel=0.2)


def test_an_even_picture_has_no_softness() -> None:
    pixels = np.full((300, 300, 3), 90, dtype=np.uint8)
    photo = Photo(name="drawn", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")
    assert softness_px(photo, Overview(pixels=pixels, factor=1)) == 0.0


def circle(radius: float, count: int = 400) -> Floats:
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.array([50.0, 40.0]) + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def test_the_signed_area_is_that_of_the_polygon_and_turns_with_it() -> None:
    # Regular polygon of n corners: n r^2 sin(2 pi / n) / 2.
    expected = 400 * 20.0**2 * np.sin(2 * np.pi / 400) / 2
    assert signed_area(circle(20.0)) == pytest.approx(expected)
    assert signed_area(circle(20.0)[::-1]) == pytest.approx(-expected)


@pytest.mark.parametrize("reverse", [False, True])
@pytest.mark.parametrize("hole", [False, True])
def test_normals_point_out_of_the_metal_whichever_way_the_ring_runs(reverse: bool, hole: bool) -> None:
    ring = circle(20.0)[::-1] if reverse else circle(20.0)
    radial = (ring - [50.0, 40.0]) / 20.0
    outward = np.einsum("ij,ij->i", outward_normals(ring, 2, hole), radial)
    assert outward == pytest.approx(np.full(len(ring), -1.0 if hole else 1.0), abs=1e-3)


def test_resampling_keeps_a_circle_and_spaces_its_points_evenly() -> None:
    points, normals = resampled(circle(20.0), 1.0, smooth=0, hole=False)
    assert np.linalg.norm(points - [50.0, 40.0], axis=1) == pytest.approx(np.full(len(points), 20.0), abs=0.01)
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    assert steps == pytest.approx(np.full(len(points), 2 * np.pi * 20.0 / len(points)), rel=0.01)
    assert np.linalg.norm(normals, axis=1) == pytest.approx(np.ones(len(points)))


def test_averages_along_a_ring_wrap_round() -> None:
    values = np.array([[9.0], [0.0], [0.0], [0.0], [0.0], [3.0]], dtype=np.float32)
    assert mean_along(values, 1)[:, 0] == pytest.approx([4.0, 3.0, 0.0, 0.0, 1.0, 4.0])
    assert majority(np.array([True, False, True, True, False, False]), 1).tolist() == [
        False,
        True,
        True,
        True,
        False,
        False,
    ]


def test_the_running_median_drops_spikes_and_passes_over_gaps() -> None:
    values = np.array([1.0, 1.0, 50.0, 1.0, np.nan, 2.0, 2.0, 2.0])
    median = running_median(values, 3)
    assert median[2] == 1.0
    assert np.isfinite(median).all()
    assert np.isnan(running_median(np.full(5, np.nan), 3)).all()
