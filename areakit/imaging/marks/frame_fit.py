"""Fit camera and print to the saddle corners of a sheet: its stretch, a stored lens, the focal length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import FOCAL_SHARE_EXIF, LOG_F, POSE, Camera, Prior, fit_camera, point_residuals
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

MOSTLY_KEPT = 0.85
"""Share of the corners that agree with each other below which the print is torn apart rather than misread in places."""
STRAINED = 8.0
"""Standard deviations from what is believed of a camera, all seven figures together, from which a fit is doubted (a
print stretched by 3 %: 15 to 40)."""
REACH = 3.0
"""Standard deviations of the believed ratio of the print's scales to which the fit may go."""
BEND_MM, BEND_STEP_MM = 1.0, 0.5
"""How far a sheet may be believed to bend (a fold for the pocket stands up by 1 to 2 mm), and the step of its slope."""


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
class FrameFit:
    """The fit, and what it says against what was believed.

    Parameters
    ----------
    lens_misses_px : tuple of float or None
        Miss of the corners with a stored lens and without it, where it was not used. [px]
    contradicted : bool
        Whether the frame contradicts the focal length of the file.
    focal_open : float
        Log of how far off that may be without the frame contradicting it.
    bend_mm : float
        How far the sheet's middle stands above or below its ends, by what the corners miss. [mm]
    """

    fitted: Fitted
    lens_misses_px: tuple[float, float] | None = None
    contradicted: bool = False
    focal_open: float = 0.0
    bend_mm: float = 0.0


def fit_frame(corners: Corners, start: Floats, prior: Prior, lens: Prior | None) -> FrameFit:
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
            return FrameFit(fitted=held, bend_mm=bend_mm(held, corners, lens))

    if prior.sigma[LOG_F] < FOCAL_SHARE_EXIF:  # a scanner has no focal length to be wrong about
        return FrameFit(fitted=first, lens_misses_px=misses, bend_mm=bend_mm(first, corners, prior))

    def fit(begin: Floats, belief: Prior) -> Fitted:
        return fit_print(corners, begin, belief)

    settled = settle_focal(first, fit, prior, corners.nodes_mm, corners.points_px, corners.spread)
    return FrameFit(
        fitted=settled.fitted,
        lens_misses_px=misses,
        contradicted=settled.contradicted,
        focal_open=focal_left_open(settled.reading, float(prior.sigma[LOG_F])),
        bend_mm=max(bend_mm(fitted, corners, prior) for fitted in (first, settled.fitted)),
    )


def bend_mm(fitted: Fitted, corners: Corners, prior: Prior) -> float:
    """Return how high a ridge, or how deep a valley, along or across the sheet explains what the corners miss. [mm]

    One step of Gauss and Newton from the flat fit, with the camera free as far as the prior lets it: a smooth bend
    hides in the pose, so that what is missed alone shows little of its height.
    """
    nodes = corners.nodes_mm[fitted.kept] * np.exp([fitted.ratio / 2, -fitted.ratio / 2])
    found, camera = corners.points_px[fitted.kept], fitted.camera
    misfit, jacobian = point_residuals(nodes, found)(camera.parameters, prior.k3)
    sigma = max(CORNER_SIGMA_PX, float(np.sqrt(np.mean(misfit**2))))
    lifts = (camera.project(nodes, BEND_STEP_MM) - camera.project(nodes, -BEND_STEP_MM)) / (2.0 * BEND_STEP_MM)
    away = np.abs(nodes - nodes.mean(axis=0)) / (np.ptp(nodes, axis=0) / 2.0)
    pull = prior.information @ (camera.parameters - prior.middle)
    heights = []
    for tent in (1.0 - away).T:
        slopes = np.column_stack([jacobian, (lifts * tent[:, None]).ravel()]) / sigma
        normal = slopes.T @ slopes
        normal[:-1, :-1] += prior.information
        normal[-1, -1] += 1.0 / BEND_MM**2
        lean = slopes.T @ (misfit / sigma)
        lean[:-1] += pull
        heights.append(abs(float(np.linalg.lstsq(normal, lean)[0][-1])))
    return max(heights)


def _with_lens(corners: Corners, near: Camera, prior: Prior) -> Fitted:
    """Fit camera and print again, with a stored lens as the prior."""
    start = prior.middle
    start[POSE] = near.parameters[POSE]
    return fit_print(corners, start, prior)


def _miss_px(fitted: Fitted, corners: Corners, kept: npt.NDArray[np.bool_] | slice = slice(None)) -> float:
    """Return the rms miss of all corners, or of those that agree without a stored lens. [px]"""
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
    """Fit the camera, and where the corners ask for it the ratio of the print's scales, as far as it is believed.

    A stretched print is also fitted well by a camera whose axis misses the middle of the picture by far: where the fit
    strains what is believed of the camera, or leaves out many corners, stretches are tried one by one.
    """
    plain, spread = _at_ratio(corners, start, prior, 0.0), corners.spread
    strained = _strain(plain, prior) > STRAINED**2 or plain.kept.mean() < MOSTLY_KEPT
    if plain.camera.rms_px < RATIO_ASKED_PX and not strained:
        return plain
    start = plain.camera.parameters if not strained else start
    tried = np.arange(-REACH, REACH + 0.1, 0.5) * spread if strained else np.zeros(1)
    fits = {float(ratio): _at_ratio(corners, start, prior, float(ratio)) for ratio in tried}
    # A bend of the sheet is missed at every ratio, and must not outweigh what a stretch does to the camera.
    sigma = max(CORNER_SIGMA_PX, min(fit.camera.rms_px for fit in fits.values())) if strained else CORNER_SIGMA_PX
    centre = min(fits, key=lambda ratio: _cost(fits[ratio], corners, prior, sigma))
    step = spread / 2 if strained else spread
    low, middle, high = (
        _cost(_at_ratio(corners, start, prior, centre + away), corners, prior, sigma) for away in (-step, 0.0, step)
    )
    bend = (low - 2 * middle + high) / step**2 + 2.0 / spread**2
    lean = (high - low) / (2 * step) + 2.0 * centre / spread**2
    ratio = float(np.clip(centre - lean / bend, -REACH * spread, REACH * spread)) if bend > 0 else centre
    best = _at_ratio(corners, start, prior, ratio)
    if strained:
        return best if _cost(best, corners, prior, sigma) < 0.64 * _cost(plain, corners, prior, sigma) else plain
    return best if best.camera.rms_px < 0.8 * plain.camera.rms_px else plain


def _at_ratio(corners: Corners, start: Floats, prior: Prior, ratio: float) -> Fitted:
    stretched = corners.nodes_mm * np.exp([ratio / 2, -ratio / 2])
    camera, kept = _camera_from_corners(stretched, corners.points_px, start, prior)
    return Fitted(camera=camera, kept=kept, ratio=float(ratio))


def _strain(fitted: Fitted, prior: Prior) -> float:
    """Return the squared distance, in standard deviations, of a camera from what is believed of it."""
    away = fitted.camera.parameters - prior.middle
    return float(away @ prior.information @ away)


def _cost(fitted: Fitted, corners: Corners, prior: Prior, sigma_px: float) -> float:
    miss = _miss_px(fitted, corners) if fitted.kept.mean() < MOSTLY_KEPT else fitted.camera.rms_px
    return miss**2 * len(corners.nodes_mm) / sigma_px**2 + _strain(fitted, prior)
