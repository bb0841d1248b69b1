"""How far a printed sheet bends, by corners that were projected from a sheet of known bend."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from areakit.imaging.camera import POSE, Camera, start_pose, usual_prior
from areakit.imaging.marks.frame_fit import Corners, bend_mm, fit_print
from areakit.imaging.marks.frame_layout import layouts
from areakit.imaging.scale import CheckReading

Floats = npt.NDArray[np.float64]

SHEET = layouts()["A4-r1"]
FOCAL = 26.0 * np.hypot(4032, 3024) / np.hypot(36.0, 24.0)
PRIOR = usual_prior(4032, 3024, FOCAL)
LENGTHS = CheckReading(read_mm=SHEET.check_lengths_mm, uncertainty_mm=0.1)


def bend_seen(height_mm: float, axis: int, tilt: float = 0.2) -> float:
    """Return the bend that is read from corners of a ridge of this height, 0 at its ends, seen under a tilt [rad]."""
    nodes = SHEET.corners_mm
    away = np.abs(nodes - nodes.mean(axis=0)) / (np.ptp(nodes, axis=0) / 2.0)
    parameters = PRIOR.middle
    turned = cv2.Rodrigues(np.array([np.pi + tilt, 0.0, 0.0]))[0]
    parameters[POSE] = [np.pi + tilt, 0.0, 0.0, *(np.array([0.0, 0.0, 300.0]) - turned @ [*nodes.mean(axis=0), 0.0])]
    camera = Camera(parameters=parameters, covariance=np.zeros((len(parameters),) * 2), rms_px=0.0, k3=PRIOR.k3)
    seen = camera.project(nodes, height_mm * (1.0 - away[:, axis]))
    seen += np.random.default_rng(1).normal(0.0, 0.04, seen.shape)
    corners = Corners(nodes_mm=nodes, points_px=seen, sheet_scale=LENGTHS.sheet_scale(SHEET.check_lengths_mm))
    return bend_mm(fit_print(corners, start_pose(nodes, seen, PRIOR), PRIOR), corners, PRIOR)


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("height_mm", [-1.5, 1.0])
def test_a_ridge_and_a_valley_are_read_to_half_or_twice_their_height(height_mm: float, axis: int) -> None:
    assert 0.5 * abs(height_mm) < bend_seen(height_mm, axis) < 2.0 * abs(height_mm)


def test_a_flat_sheet_has_next_to_no_bend() -> None:
    assert bend_seen(0.0, 0) < 0.05
