"""Where parts may lie when the mark is no frame: the picture less a margin, in axes that run along the picture."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import ScaleUnreliable
from areakit.imaging.camera import POSE, Camera, Residuals
from areakit.imaging.photo import Photo

Floats = npt.NDArray[np.float64]

MARGIN = 0.02
"""Share of the shorter side of the picture that is left out along its border."""
GUARD_SHARE = 0.03
"""Share of the field's shorter side that must stay empty along its edge."""
SMALLEST_FIELD_MM = 5.0


def moved(camera: Camera, *, turn_rad: float = 0.0, origin_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Camera:
    """Return the same camera in axes that start at another point and are turned about the sheet's normal.

    ``origin_mm`` is given in the old axes, z into the table. The covariance is carried along to first order.
    """
    cos, sin = np.cos(turn_rad), np.sin(turn_rad)
    turn = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])

    def pose(old: Floats) -> Floats:
        rotation = np.asarray(cv2.Rodrigues(old[:3])[0], dtype=float)
        vector = np.asarray(cv2.Rodrigues(rotation @ turn)[0], dtype=float).ravel()
        return np.concatenate([vector, rotation @ np.array(origin_mm) + old[3:]])

    start = camera.parameters[POSE]
    jacobian = np.eye(len(camera.covariance))
    for i in range(6):
        step = np.zeros(6)
        step[i] = 1e-6
        jacobian[POSE, 7 + i] = (pose(start + step) - pose(start - step)) / 2e-6
    parameters = camera.parameters.copy()
    parameters[POSE] = pose(start)
    bow = camera.bow
    if bow is not None:
        along = turn[:2, :2], np.array(origin_mm[:2])
        jacobian[-3:, -3:] = np.array([replace(bow, figures=one).seen_from(*along).figures for one in np.eye(3)]).T
        bow = bow.seen_from(*along)
    return replace(camera, parameters=parameters, covariance=jacobian @ camera.covariance @ jacobian.T, bow=bow)


def lifted(camera: Camera, height_mm: float) -> Camera:
    """Return the same camera above a plane that lies higher than the sheet. [mm]"""
    return moved(camera, origin_mm=(0.0, 0.0, -height_mm))


def along_picture(camera: Camera, photo: Photo) -> Camera:
    """Return the same camera in sheet axes whose x runs to the right of the picture."""
    middle = np.array([(photo.width_px - 1) / 2, (photo.height_px - 1) / 2])
    a, b = camera.to_sheet(np.array([middle - [50.0, 0.0], middle + [50.0, 0.0]]))
    return moved(camera, turn_rad=float(np.arctan2(b[1] - a[1], b[0] - a[0])))


def picture_field(camera: Camera, photo: Photo) -> tuple[float, float, float, float]:
    """Return left, top, right, bottom of the largest upright rectangle of the sheet that the picture surely shows. [mm]

    Raises
    ------
    ScaleUnreliable
        If the picture does not look down on the sheet.
    """
    inset = MARGIN * min(photo.width_px, photo.height_px)
    x0, y0, x1, y1 = inset, inset, photo.width_px - 1 - inset, photo.height_px - 1 - inset
    share = np.linspace(0.0, 1.0, 9)
    across, down = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
    sides_px = [
        np.column_stack([np.full(9, x0), down]), np.column_stack([across, np.full(9, y0)]),
        np.column_stack([np.full(9, x1), down]), np.column_stack([across, np.full(9, y1)]),
    ]  # fmt: skip
    rays = camera.rays(np.concatenate(sides_px))
    left, top, right, bottom = (camera.to_sheet(side) for side in sides_px)
    field = (
        float(np.max(left[:, 0])), float(np.max(top[:, 1])), float(np.min(right[:, 0])), float(np.min(bottom[:, 1]))
    )  # fmt: skip
    size = min(field[2] - field[0], field[3] - field[1])
    if np.min(rays[:, 2]) <= 0 or not np.isfinite(size) or size < SMALLEST_FIELD_MM:
        raise ScaleUnreliable(
            f"The mark leaves a field of {max(size, 0.0) if np.isfinite(size) else 0.0:.0f} mm for parts; "
            f"{SMALLEST_FIELD_MM:.0f} mm are needed.",
            remedy="Hold the camera straight above the part and the mark, from further away.",
            code="SCALE_IMPOSSIBLE",
        )
    return field


def guard_width(field_mm: tuple[float, float, float, float]) -> float:
    """Return the width of the band along the field's edge that must stay empty. [mm]"""
    left, top, right, bottom = field_mm
    return GUARD_SHARE * min(right - left, bottom - top)


def rectangle(low: Floats, high: Floats, margin_mm: float) -> Floats:
    """Return the corners of an upright rectangle grown by a margin, shape (4, 2)."""
    (x0, y0), (x1, y1) = low - margin_mm, high + margin_mm
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def nearly_level(residuals: Residuals, *, mean: Floats, sigma_rad: Floats, sigma_px: float) -> Residuals:
    """Add what is believed of the camera's rotation, as three more residuals.

    Parameters
    ----------
    mean, sigma_rad : ndarray, shape (3,)
        Rotation vector and its standard deviations.
    sigma_px : float
        Standard deviation of one residual in the fit, to which the three are scaled.
    """
    factor = sigma_px / sigma_rad
    rows = np.zeros((3, 13))
    rows[:, 7:10] = np.diag(factor)

    def both(parameters: Floats, k3: float) -> tuple[Floats, Floats]:
        misfit, jacobian = residuals(parameters, k3)
        return np.concatenate([misfit, factor * (parameters[7:10] - mean)]), np.vstack([jacobian, rows])

    return both
