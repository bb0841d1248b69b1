"""What the marker frame alone says of the focal length, whatever bend the sheet and whatever stretch the print has.

A sheet that is bent by tenths of a millimetre looks like another focal length where the camera is level. The reading
here carries three bends of the sheet and the stretch of its print as unknowns of their own: its spread is honest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import FOCAL_SHARE_EXIF, LOG_F, SIZE, Camera, Prior, point_residuals
from areakit.imaging.checks.sheet import FocalReading, agrees, frame_tells, tag_contradicted

Floats = npt.NDArray[np.float64]

BEND_MM = 0.2
"""Standard deviation of each of three bends of a sheet at its rim (taped to a board; practice). [mm]"""
CORNER_PX = 0.06
"""Standard deviation of a saddle corner, whatever bends the sheet. [px]"""
PINNED = 1e-3
"""Spread of log focal length to which a fit is held."""
ROUNDS, STRIDE, CLOSE = 5, 0.35, 0.25
"""How often frame and belief are weighed anew, how far log focal length goes at once, and the share of its spread that
ends it."""
FARTHEST = 0.8
"""Furthest that log focal length is moved: a zoom by 2.2."""
Flags = npt.NDArray[np.bool_]


def focal_by_frame(
    camera: Camera, prior: Prior, nodes_mm: Floats, points_px: Floats, *, stretch: float
) -> FocalReading:
    """Return what corners, shape (n, 2) each, say of the focal length when nothing is believed of it before.

    One Gauss-Newton step from the fitted camera, with bends and stretch added and the prior of the focal length taken
    off; exact where the fit is near the truth.

    Parameters
    ----------
    stretch : float
        Standard deviation of the log of the ratio of the print's two scales.
    """
    misfit, jacobian = point_residuals(nodes_mm, points_px)(camera.parameters, camera.k3)
    more = _bends_and_stretch(camera, nodes_mm, stretch)
    slopes = np.column_stack([jacobian[:, :SIZE], more]) / CORNER_PX
    information = np.zeros((slopes.shape[1],) * 2)
    information[:SIZE, :SIZE] = prior.information[:SIZE, :SIZE]
    information[SIZE:, SIZE:] = np.eye(more.shape[1])
    information[LOG_F, LOG_F] = 0.0
    pull = np.zeros(slopes.shape[1])
    pull[1:7] = (camera.parameters[1:7] - prior.mean[1:7]) / prior.sigma[1:7] ** 2
    normal = slopes.T @ slopes + information
    size = np.sqrt(np.diag(normal))
    spread = np.linalg.inv(normal / np.outer(size, size)) / np.outer(size, size)
    step = -spread @ (slopes.T @ (misfit / CORNER_PX) + pull)
    moved = float(camera.parameters[LOG_F] + step[LOG_F] - prior.mean[LOG_F])
    variance = float(spread[LOG_F, LOG_F])  # of a level camera it is beyond all figures, and may come out below zero
    return FocalReading(log_ratio=moved, sigma=float(np.sqrt(variance)) if variance > 0.0 else np.inf)


def _bends_and_stretch(camera: Camera, nodes_mm: Floats, stretch: float) -> Floats:
    """Return how pixels move with each bend and with the stretch, one standard deviation each, shape (2n, 4). [px]"""
    middle, half = nodes_mm.mean(axis=0), np.ptp(nodes_mm, axis=0) / 2
    half = np.where(half > 0.0, half, 1.0)  # corners of one row or column alone bend no way across it
    x, y = ((nodes_mm - middle) / half).T
    flat = camera.project(nodes_mm)
    raised = camera.project(nodes_mm, BEND_MM) - flat
    longer = camera.project(nodes_mm * np.exp([stretch / 2, -stretch / 2])) - flat
    return np.column_stack([*((raised * bend[:, None]).ravel() for bend in (x * x, x * y, y * y)), longer.ravel()])


def pinned(prior: Prior, log_ratio: float) -> Prior:
    """Return the prior with the focal length held where it is so much longer than believed before."""
    mean, sigma = prior.mean.copy(), prior.sigma.copy()
    mean[LOG_F] += log_ratio
    sigma[LOG_F] = PINNED
    return replace(prior, mean=mean, sigma=sigma)


def loosened(camera: Camera, sigma: float) -> Camera:
    """Return a camera that was fitted with its focal length pinned, with that known to ``sigma`` and what follows."""
    covariance = camera.covariance
    along = covariance[:, LOG_F] / covariance[LOG_F, LOG_F]
    wider = covariance + (sigma**2 - covariance[LOG_F, LOG_F]) * np.outer(along, along)
    return replace(camera, covariance=wider)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A camera above a print: which corners it rests on, shape (n,), and the log of the print's stretch along x."""

    camera: Camera
    kept: Flags
    ratio: float


Fit = Callable[[Floats, Prior], Fitted]
"""From start parameters and a prior to the fit of one photo's corners."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """The fit after frame and tag were compared, what the frame alone reads, and whether it contradicts the tag."""

    fitted: Fitted
    reading: FocalReading
    contradicted: bool


def settle_focal(first: Fitted, fit: Fit, prior: Prior, nodes_mm: Floats, points_px: Floats, stretch: float) -> Settled:
    """Weigh what is believed of the focal length against what the frame says, and return the camera of both.

    Where a tag and the frame differ by more than both allow, the tag counts for less, by just as much as explains the
    difference; a tag that agrees is left as it is. Where the frame tells nothing, what is believed stands.

    Parameters
    ----------
    nodes_mm, points_px : ndarray, shape (n, 2)
        The corners as designed and as seen.
    stretch : float
        Standard deviation of the log of the ratio of the print's two scales.
    """
    believed = float(prior.sigma[LOG_F])
    fitted, reading, contradicted = first, None, False
    for _ in range(ROUNDS):
        stretched = nodes_mm * np.exp([fitted.ratio / 2, -fitted.ratio / 2])
        kept = fitted.kept
        reading = focal_by_frame(fitted.camera, prior, stretched[kept], points_px[kept], stretch=stretch)
        if fitted is first:
            contradicted = tag_contradicted(reading, believed)
            if believed <= FOCAL_SHARE_EXIF and (not frame_tells(reading) or agrees(reading, believed)):
                return Settled(fitted=first, reading=reading, contradicted=False)
        middle, sigma = _weighed(reading, believed)
        now = float(fitted.camera.parameters[LOG_F] - prior.mean[LOG_F])
        if fitted is not first and abs(middle - now) < CLOSE * sigma:
            break
        aim = now + float(np.clip(middle - now, -STRIDE, STRIDE))
        fitted = fit(fitted.camera.parameters.copy(), pinned(prior, aim))
    assert reading is not None
    known = replace(fitted, camera=loosened(fitted.camera, sigma))
    return Settled(fitted=known, reading=reading, contradicted=contradicted)


def _weighed(reading: FocalReading, believed: float) -> tuple[float, float]:
    """Return the mean, by their variances, of the frame's reading and of what was believed, and its spread."""
    if not frame_tells(reading):
        return 0.0, believed
    own = max(believed, float(np.sqrt(max(reading.log_ratio**2 - reading.sigma**2, 0.0))))
    weight = own**2 / (own**2 + reading.sigma**2)
    return float(np.clip(weight * reading.log_ratio, -FARTHEST, FARTHEST)), float(np.sqrt(weight) * reading.sigma)
