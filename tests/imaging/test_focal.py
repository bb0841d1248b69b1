"""What the marker frame alone says of the focal length, on corners drawn with bends and noise of known size."""

from dataclasses import replace

import numpy as np
import pytest

from areakit.imaging.camera import LOG_F, usual_prior
from areakit.imaging.checks.sheet import FocalReading
from areakit.imaging.focal import _bends_and_stretch, _weighed, focal_by_frame
from tests.imaging.test_camera import FOCAL, HEIGHT, WIDTH, camera_above

TILTED = camera_above(14.0, 35.0, 3.0)
PRIOR = usual_prior(WIDTH, HEIGHT, FOCAL)
KNOWN = replace(PRIOR, sigma=np.concatenate([PRIOR.sigma[:1], PRIOR.sigma[1:] * 1e-3]))
"""The middle of the picture and the lens are known: what is left open is what corners and bends leave open."""


def nodes(columns: int, rows: int) -> np.ndarray:
    x, y = np.meshgrid(np.linspace(30.0, 230.0, columns), np.linspace(20.0, 160.0, rows))
    return np.column_stack([x.ravel(), y.ravel()])


def readings(places: np.ndarray, *, bend_mm: float, corner_px: float) -> tuple[float, float]:
    """Spread of what drawn sheets say of the focal length, and what is stated of it."""
    rng = np.random.default_rng(5)
    x, y = ((places - places.mean(axis=0)) / (np.ptp(places, axis=0) / 2)).T
    flat, up = TILTED.project(places), TILTED.project(places, 1.0) - TILTED.project(places)
    told = []
    for _ in range(60):
        bends = rng.normal(0.0, bend_mm, 3)
        height = bends @ [x * x, x * y, y * y]
        seen = flat + height[:, None] * up + rng.normal(0.0, corner_px, flat.shape)
        told.append(focal_by_frame(TILTED, KNOWN, places, seen, stretch=1e-6))
    return float(np.std([one.log_ratio for one in told])), float(np.median([one.sigma for one in told]))


@pytest.mark.parametrize(("columns", "rows"), [(4, 3), (12, 9)])
def test_the_stated_spread_of_the_focal_length_is_that_of_bent_sheets(columns: int, rows: int) -> None:
    """Bends of 0.2 mm at the rim (taped to a board, practice); saddle corners to 0.06 px (own study)."""
    spread, stated = readings(nodes(columns, rows), bend_mm=0.2, corner_px=0.06)
    assert stated == pytest.approx(spread, rel=0.25)


def test_a_rim_that_is_bent_up_moves_outward_by_similar_triangles() -> None:
    level, places = camera_above(height_mm=260.0), nodes(9, 7)
    across = places - np.array([130.0, 90.0])
    moved = _bends_and_stretch(level, places, 0.0)[:, 0].reshape(-1, 2)
    expected = across * FOCAL / 260.0 * (0.2 / 260.0) * ((across[:, :1] / 100.0) ** 2)
    assert moved == pytest.approx(expected, rel=2e-3, abs=1e-6)


def test_a_focal_length_is_moved_by_a_zoom_of_more_than_two_at_the_most() -> None:
    far, near = (FocalReading(log_ratio=ratio, sigma=0.001) for ratio in (2.0, 0.7))
    assert np.exp(_weighed(far, 0.35)[0]) == pytest.approx(2.2, rel=0.02)
    assert _weighed(near, 0.35)[0] == pytest.approx(0.7, rel=1e-3)


def test_a_stated_focal_length_is_known_better_than_a_usual_one() -> None:
    """Whole millimetres of 26 and what focusing near adds make 2 to 5 %; cameras of 15 to 60 mm lie within two spreads.

    Common practice, no source.
    """
    assert 0.02 < PRIOR.sigma[LOG_F] < 0.05
    unknown = usual_prior(WIDTH, HEIGHT, None)
    assert 2 * unknown.sigma[LOG_F] == pytest.approx(np.log(2.0), rel=0.05)
    diagonal = float(np.hypot(WIDTH, HEIGHT) / np.hypot(36.0, 24.0))
    assert np.exp(unknown.mean[LOG_F]) / diagonal == pytest.approx(30.0, rel=0.01)
