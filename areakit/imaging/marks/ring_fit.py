"""Fit camera and print to the saddle corners of a sheet: its stretch, a stored lens, the focal length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import LOG_F, POSE, Camera, Prior, fit_camera, point_residuals
from areakit.imaging.checks.sheet import focal_left_open
from areakit.imaging.focal import Fitted, settle_focal
from areakit.imaging.scale import SheetScale

Floats = npt.NDArray[np.float64]

CORNER_SIGMA_PX = 0.06
"""Standard deviation of a refined saddle corner (0.03 to 0.05 px on renders, more on creased paper). [px]"""
RATIO_ASKED_PX = 0.12
"""Residual from which the two scales of the print are allowed to differ further. [px]"""
LENS_MISS_PX, LENS_MISS_SHARE = 0.08, 0.6
"""How much worse than without it a stored lens may fit the corners before it counts as wrong: in px, and as a share of
the residual without it, which a bent sheet makes (own study on simulated corners: a right lens at most 0.03 px, or 0.66
of the residual on a sheet lifted by 1 mm; one without its k3, whose areas are 0.17 % off, 0.09 px and more)."""

REACH = 3.0
"""Standard deviations of the believed ratio of the print's scales to which the fit may go."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Corners:
    """Corners that could be read, shape (n, 2) each, as long as the check lengths say, and how true that is."""

    nodes_mm: Floats
    points_px: Floats
    sheet_scale: SheetScale

    @property
    def spread(self) -> float:
        """Standard deviation of the log of the ratio of the print's two scales."""
        shares = [np.square(share) for share in self.sheet_scale.shares.values()]
        return float(np.hypot(*np.sum(shares, axis=0) ** 0.5))


@dataclass(frozen=True, slots=True, kw_only=True)
class RingFit:
    """The fit, and what it says against what was believed.

    Parameters
    ----------
    lens_misses_px : tuple of float or None
        Miss of the corners with a stored lens and without it, where it was not used. [px]
    contradicted : bool
        Whether the frame contradicts the focal length of the file.
    focal_open : float
        Log of how far off that may be without the frame contradicting it.
    """

    fitted: Fitted
    lens_misses_px: tuple[float, float] | None = None
    contradicted: bool = False
    focal_open: float = 0.0


def fit_ring(corners: Corners, start: Floats, prior: Prior, lens: Prior | None) -> RingFit:
    """Return the camera above the sheet, with the stored lens where the corners bear it.

    Parameters
    ----------
    lens : Prior or None
        What a stored lens says of the camera.
    """
    first = fit_print(corners, start, prior)
    misses = None
    if lens is not None:
        held = _with_lens(corners, first.camera, lens)
        misses = (_miss_px(held, corners, first.kept), _miss_px(first, corners, first.kept))
        if misses[0] <= misses[1] + max(LENS_MISS_PX, LENS_MISS_SHARE * misses[1]):
            return RingFit(fitted=held)

    def fit(begin: Floats, belief: Prior) -> Fitted:
        return fit_print(corners, begin, belief)

    settled = settle_focal(first, fit, prior, corners.nodes_mm, corners.points_px, corners.spread)
    return RingFit(
        fitted=settled.fitted,
        lens_misses_px=misses,
        contradicted=settled.contradicted,
        focal_open=focal_left_open(settled.reading, float(prior.sigma[LOG_F])),
    )


def _with_lens(corners: Corners, near: Camera, prior: Prior) -> Fitted:
    """Fit camera and print again, with a stored lens as the prior."""
    start = prior.middle
    start[POSE] = near.parameters[POSE]
    return fit_print(corners, start, prior)


def _miss_px(fitted: Fitted, corners: Corners, kept: npt.NDArray[np.bool_]) -> float:
    """Return the rms miss of the corners that agree without a stored lens. [px]"""
    nodes = corners.nodes_mm[kept] * np.exp([fitted.ratio / 2, -fitted.ratio / 2])
    return float(np.sqrt(np.mean((fitted.camera.project(nodes) - corners.points_px[kept]) ** 2)))


def _camera_from_corners(
    nodes_mm: Floats, found_px: Floats, start: Floats, prior: Prior
) -> tuple[Camera, npt.NDArray[np.bool_]]:
    """Fit, drop corners that miss by more than five times the usual, and fit again."""
    camera = fit_camera(point_residuals(nodes_mm, found_px), start, prior, sigma_px=CORNER_SIGMA_PX)
    miss = np.linalg.norm(camera.project(nodes_mm) - found_px, axis=1)
    kept = miss <= max(5.0 * float(np.median(miss)), 5.0 * CORNER_SIGMA_PX)
    sigma = max(CORNER_SIGMA_PX, float(np.sqrt(np.mean(miss[kept] ** 2) / 2)))
    final = fit_camera(point_residuals(nodes_mm[kept], found_px[kept]), camera.parameters, prior, sigma_px=sigma)
    return final, kept


def fit_print(corners: Corners, start: Floats, prior: Prior) -> Fitted:
    """Fit the camera, and where the corners ask for it the ratio of the print's scales, as far as it is believed."""
    nodes_mm, found_px, spread = corners.nodes_mm, corners.points_px, corners.spread
    camera, kept = _camera_from_corners(nodes_mm, found_px, start, prior)
    if camera.rms_px < RATIO_ASKED_PX:
        return Fitted(camera=camera, kept=kept, ratio=0.0)
    trials = [-spread, 0.0, spread]
    costs = []
    for trial in trials:
        stretched = nodes_mm * np.exp([trial / 2, -trial / 2])
        fitted, used = _camera_from_corners(stretched, found_px, camera.parameters, prior)
        costs.append(fitted.rms_px**2 * len(nodes_mm) / CORNER_SIGMA_PX**2)
    bend = (costs[0] - 2 * costs[1] + costs[2]) / spread**2 + 2.0 / spread**2
    ratio = (
        float(np.clip(-(costs[2] - costs[0]) / (2 * spread) / bend, -REACH * spread, REACH * spread))
        if bend > 0
        else 0.0
    )
    best, used = _camera_from_corners(nodes_mm * np.exp([ratio / 2, -ratio / 2]), found_px, camera.parameters, prior)
    if best.rms_px < 0.8 * camera.rms_px:
        return Fitted(camera=best, kept=used, ratio=ratio)
    return Fitted(camera=camera, kept=kept, ratio=0.0)
