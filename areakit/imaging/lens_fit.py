"""Fit one lens to several photos of one printed sheet.

Every photo has a pose and, within a spread that is estimated too, a focal length, centre and distortion of its own:
the lens of a phone moves from shot to shot as it focuses and steadies itself. The sheet's two print scales may differ;
their ratio is one more unknown, common to all photos.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MeasurementError
from areakit.imaging.camera import K3, POSE, Camera, fit_camera, point_residuals, start_pose, usual_prior
from areakit.imaging.checks.sheet import no_camera
from areakit.imaging.lens import CameraKey, Lens
from areakit.imaging.marks.frame_fit import CORNER_SIGMA_PX

Floats = npt.NDArray[np.float64]

FEWEST_PHOTOS = 8
PRIOR_SIGMA = np.array([0.03, 0.01, 0.01, 0.2, 0.5, 0.003, 0.003, 0.5, 0.015])
"""Before any photo: log focal length, centre (over the longer side), k1, k2, p1, p2, k3, log ratio of print scales."""
MOVES = np.array([0, 1, 2, 3, 5, 6])
"""What may differ from shot to shot: focal length, centre, k1, p1, p2."""
LEAST_MOVE = np.array([0.002, 0.0005, 0.0005, 0.001, 0.0, 1e-4, 1e-4, 0.0])
"""Least spread that is believed, centre over the longer side: photos of one day do not show what later ones do
(practice; Sensors 10 (2010) 1553 found consumer cameras to change between shots)."""
MOST_MOVE = np.array([0.01, 0.005, 0.005, 0.02, np.inf, 0.003, 0.003, np.inf])
FOCAL_LIMIT = 0.005
"""Standard uncertainty of the log focal length from which photos count as too alike."""
SHAPE_LIMIT = 0.0004
"""Standard uncertainty of the lens' bending, over the half diagonal, from which the photos do not cover the picture."""
REACH_LIMIT = 0.5
"""Share of the half diagonal that the sheets must reach."""
STEPS = 60
BENT, ODD = 0.35, 3.0
"""Residual [px], and residual over that of the middling photo, from which one photo does not fit the others."""
NO_LENS = 2.0
"""Residual of the middling photo from which no lens took them: photos squeezed by 2 % miss by 4 px, photos through the
strongest lens of the tests by 0.05. [px]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LensView:
    """The sheet in one photo, in pixels of the picture as it was stored.

    Parameters
    ----------
    name : str
    nodes_mm, points_px : ndarray, shape (n, 2)
        Corners on the sheet, and where they are seen.
    focal_px : float
        Focal length that the file states.
    """

    name: str
    nodes_mm: Floats
    points_px: Floats
    focal_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedLens:
    """A lens and what it rests on.

    Parameters
    ----------
    lens : Lens
    spread : ndarray, shape (8,)
        Standard deviation from shot to shot, in the order of ``lens.NAMES``.
    known : ndarray, shape (8,)
        Standard uncertainty of the mean.
    print_ratio : float
        How much longer the print is along x than along y, as a ratio less 1.
    rms_px : tuple of float
        Residuals of each photo.
    tilts_deg : tuple of float
    """

    lens: Lens
    spread: Floats
    known: Floats
    print_ratio: float
    rms_px: tuple[float, ...]
    tilts_deg: tuple[float, ...]


class _Shot:
    """One photo while it is fitted: its own eight figures, and its pose."""

    def __init__(self, view: LensView, key: CameraKey) -> None:
        self.view = view
        self.middle = np.array([np.log(view.focal_px), (key.width_px - 1) / 2, (key.height_px - 1) / 2])
        self.camera = _alone(view, key)
        self.pose = np.array(self.camera.parameters[POSE])

    def full(self, figures: Floats) -> Floats:
        inner = figures[:8].copy()
        inner[:3] += self.middle
        return np.concatenate([inner[:7], self.pose, inner[7:8]])

    def seen(self, figures: Floats, ratio: float) -> tuple[Floats, Floats]:
        """Return residuals (m,) and their Jacobian (m, 15): eight figures, the print's ratio, the pose."""

        def at(log_ratio: float) -> tuple[Floats, Floats]:
            nodes = self.view.nodes_mm * np.exp([log_ratio / 2, -log_ratio / 2])
            return point_residuals(nodes, self.view.points_px)(self.full(figures), 0.0)

        misfit, jacobian = at(ratio)
        ahead, _ = at(ratio + 1e-6)
        return misfit, np.column_stack([jacobian[:, :7], jacobian[:, K3], (ahead - misfit) / 1e-6, jacobian[:, POSE]])


def _alone(view: LensView, key: CameraKey) -> Camera:
    prior = usual_prior(key.width_px, key.height_px, view.focal_px)
    start = start_pose(view.nodes_mm, view.points_px, prior)
    return fit_camera(point_residuals(view.nodes_mm, view.points_px), start, prior, sigma_px=0.2)


def fit_lens(views: Sequence[LensView], key: CameraKey, *, ratio_sigma: float | None = None) -> FittedLens:
    """Return the lens that fits all photos, its covariance and its spread from shot to shot.

    Parameters
    ----------
    views : sequence of LensView
        Of one printed sheet, by one camera.
    ratio_sigma : float or None
        Standard uncertainty of the ratio of the print's two scales, where its check lengths were measured.

    Raises
    ------
    MeasurementError
        If the photos are too few, disagree, do not fix the lens, or fit none.
    """
    if len(views) < FEWEST_PHOTOS:
        raise MeasurementError(
            f"{len(views)} photos of the sheet can be used; {FEWEST_PHOTOS} to 12 are needed.",
            remedy="Take more photos of the same sheet with the same phone and lens.",
            code="TOO_FEW_PHOTOS",
        )
    side = max(key.width_px, key.height_px)
    unit = np.array([1.0, side, side, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0])
    prior = PRIOR_SIGMA * unit
    if ratio_sigma is not None:
        prior[8] = ratio_sigma
    limits = unit[:8]
    fit = _fitted(views, key, prior, limits)
    shots = fit.shots
    _check_photos(fit, MOST_MOVE * limits)
    spread = np.zeros(8)
    spread[MOVES] = np.sqrt(fit.variance)
    # Few shots tell their variance badly: that of Student's t with as many degrees of freedom is wider by n / (n - 2).
    free = len(shots) - 1
    next_shot = spread * np.sqrt(free / (free - 2))
    known = np.sqrt(np.diag(fit.covariance))[:8]
    _check_knowledge(fit, known, key)
    return FittedLens(
        lens=Lens(
            key=key,
            mean=tuple(fit.figures[:8].tolist()),
            covariance=tuple(map(tuple, (fit.covariance[:8, :8] + np.diag(next_shot**2)).tolist())),
            photos=len(shots),
        ),
        spread=spread,
        known=known,
        print_ratio=float(np.expm1(fit.figures[8])),
        rms_px=tuple(fit.rms_px),
        tilts_deg=tuple(shot.camera.tilt_deg for shot in shots),
    )


def _fitted(views: Sequence[LensView], key: CameraKey, prior: Floats, limits: Floats) -> _Bundle:
    """Return the fit; squeezed photos have none, or one that is no number."""
    try:
        with np.errstate(divide="ignore", invalid="ignore"):
            shots = [_Shot(view, key) for view in views]
            fit = _Bundle(shots, prior, least=(LEAST_MOVE * limits)[MOVES]).run()
    except (np.linalg.LinAlgError, cv2.error) as error:
        raise no_camera() from error
    if not (np.median(fit.rms_px) < NO_LENS and np.isfinite(fit.covariance).all()):
        raise no_camera()
    return fit


class _Bundle:
    """All photos together: Gauss-Newton on figures and poses, expectation and maximisation on the spread.

    Each photo's figures are the common ones plus a normal deviate in ``MOVES``; the deviates are integrated out.
    """

    def __init__(self, shots: list[_Shot], prior: Floats, least: Floats) -> None:
        self.shots = shots
        self.prior = prior
        self.figures = np.zeros(9)
        self.own = np.zeros((len(shots), len(MOVES)))
        self.least = least
        self.variance = (10 * least) ** 2
        self.sigma_px = CORNER_SIGMA_PX
        self.covariance: Floats
        self.rms_px: list[float] = []

    def run(self) -> _Bundle:
        for _ in range(STEPS):
            self._step()
        # What corners miss beyond their own noise is a bent sheet, alike in all photos: it does not average away.
        common = 1.0 - (CORNER_SIGMA_PX / self.sigma_px) ** 2
        self.covariance = self.covariance * (1.0 + (len(self.shots) - 1) * common)
        return self

    def _of(self, index: int) -> Floats:
        figures = self.figures.copy()
        figures[MOVES] += self.own[index]
        return figures

    def _step(self) -> None:
        told = [self._told(i) for i in range(len(self.shots))]
        matrix, right = np.diag(1.0 / self.prior**2), np.zeros(9)
        gains = []
        for own, pull, *_ in told:
            inside = own[np.ix_(MOVES, MOVES)] + np.diag(1.0 / self.variance)
            gain = np.linalg.solve(inside, own[MOVES])
            matrix = matrix + own - own[:, MOVES] @ gain
            right = right + pull - own[:, MOVES] @ np.linalg.solve(inside, pull[MOVES])
            gains.append(inside)
        size = np.sqrt(np.diag(matrix))
        self.covariance = np.linalg.inv(matrix / np.outer(size, size)) / np.outer(size, size)
        before = [self._of(i) for i in range(len(self.shots))]
        self.figures = self.covariance @ right
        spread = np.zeros(len(MOVES))
        squares, count = 0.0, 0
        self.rms_px = []
        for i, (own, pull, correction, misfit, weight) in enumerate(told):
            self.own[i] = np.linalg.solve(gains[i], pull[MOVES] - own[MOVES] @ self.figures)
            spread += self.own[i] ** 2 + np.diag(np.linalg.inv(gains[i]))
            moved = np.concatenate([self._of(i) - before[i], [1.0]])
            self.shots[i].pose = self.shots[i].pose + correction @ moved
            squares += float(np.sum(weight * misfit**2))
            count += len(misfit) - 6
            self.rms_px.append(float(np.sqrt(np.mean(misfit**2))))
        self.variance = np.maximum(spread / len(self.shots), self.least**2)
        self.sigma_px = max(CORNER_SIGMA_PX, float(np.sqrt(squares / count)))

    def _told(self, index: int) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Return what one photo says of its nine figures, its pose left free.

        Information matrix (9, 9) and vector (9,) of the figures themselves; the pose's answer (6, 10) to a change of
        the figures and to its own misfit; residuals and weights.
        """
        shot, figures = self.shots[index], self._of(index)
        misfit, jacobian = shot.seen(figures, float(figures[8]))
        scale = max(self.sigma_px, 1.4826 * float(np.median(np.abs(misfit))))
        weight = np.minimum(1.0, 1.5 * scale / np.maximum(np.abs(misfit), 1e-12))
        normal = (jacobian.T * weight) @ jacobian / self.sigma_px**2
        slope = -(jacobian.T @ (weight * misfit)) / self.sigma_px**2
        inner, pose = slice(0, 9), slice(9, 15)
        size = np.sqrt(np.diag(normal[pose, pose]))
        back = (
            np.linalg.solve(
                normal[pose, pose] / np.outer(size, size),
                np.column_stack([-normal[pose, inner], slope[pose]]) / size[:, None],
            )
            / size[:, None]
        )
        own = normal[inner, inner] + normal[inner, pose] @ back[:, :9]
        pull = slope[inner] - normal[inner, pose] @ back[:, 9] + own @ figures
        return own, pull, back, misfit, weight


def _check_photos(fit: _Bundle, limits: Floats) -> None:
    """Refuse photos that cannot have been taken through one lens."""
    middling = float(np.median(fit.rms_px))
    worst = int(np.argmax(fit.rms_px))
    if fit.rms_px[worst] > max(BENT, ODD * middling):
        raise MeasurementError(
            f"{fit.shots[worst].view.name} does not fit the other photos: its corners miss by "
            f"{fit.rms_px[worst]:.2f} px rms, those of the others by {middling:.2f} px.",
            remedy="Tape the sheet flat to a board, leave out or retake that photo, and keep zoom and lens unchanged.",
            code="LENS_DISAGREES",
        )
    away = np.abs(fit.own) / limits[MOVES]
    if np.sqrt(np.max(fit.variance / limits[MOVES] ** 2)) > 1.0:
        photo, which = np.unravel_index(int(np.argmax(away)), away.shape)
        what, size = _in_words(int(MOVES[which]), float(fit.own[photo, which]))
        raise MeasurementError(
            f"The photos disagree: {fit.shots[photo].view.name} has {what} {size} away from the others.",
            remedy="Keep zoom and lens unchanged (no close-up or portrait mode), and take that photo again.",
            code="LENS_DISAGREES",
        )


def _in_words(figure: int, value: float) -> tuple[str, str]:
    if figure == 0:
        return "its focal length", f"{100 * abs(value):.1f} %"
    if figure in (1, 2):
        return "its centre", f"{abs(value):.0f} px"
    return "its distortion", f"{abs(value):.4f}"


def _check_knowledge(fit: _Bundle, known: Floats, key: CameraKey) -> None:
    """Refuse photos that leave the focal length or the lens' bending open."""
    half = float(np.hypot(key.width_px, key.height_px)) / 2
    middle = np.array([(key.width_px - 1) / 2, (key.height_px - 1) / 2])
    reach = max(float(np.linalg.norm(shot.view.points_px - middle, axis=1).max()) for shot in fit.shots) / half
    if reach < REACH_LIMIT:
        raise MeasurementError(
            f"The sheet reaches only {100 * reach:.0f} % of the way to the corners of the picture.",
            remedy="Go closer, so that the marker frame fills the picture, and put it into the corners in some photos.",
            code="LENS_NOT_COVERED",
        )
    tilts = [shot.camera.tilt_deg for shot in fit.shots]
    if known[0] > FOCAL_LIMIT:
        raise MeasurementError(
            f"The photos are too alike (tilts of {min(tilts):.0f}° to {max(tilts):.0f}°): they leave the focal length "
            f"open by {100 * known[0]:.1f} %, and {100 * FOCAL_LIMIT:.1f} % is the limit.",
            remedy="Tilt the phone by 15° to 25° in some photos, each to another side, and turn the sheet in others.",
            code="LENS_NOT_FIXED",
        )
    shape = _bending(fit.covariance[3:8, 3:8], float(fit.shots[0].view.focal_px), half, reach)
    if shape > SHAPE_LIMIT * half:
        flat = fit.sigma_px < 2 * CORNER_SIGMA_PX
        raise MeasurementError(
            f"The photos leave the bending of the lens open by {shape:.1f} px; {SHAPE_LIMIT * half:.1f} px is the "
            "limit.",
            remedy="Put the marker frame into the middle, the corners and the sides of the picture in turn."
            if flat
            else f"The corners miss a flat sheet by {fit.sigma_px:.2f} px: tape it flat to a board, and begin again.",
            code="LENS_NOT_COVERED",
        )


def _bending(covariance: Floats, focal_px: float, half_px: float, reach: float) -> float:
    """Return the largest standard uncertainty of the distortion within reach, a change of scale left out. [px]"""
    radius = np.linspace(0.0, reach * half_px / focal_px, 24)
    r2 = radius**2
    # k1, k2, p1, p2, k3 at points to the right of the centre: along x and along y
    slopes = np.concatenate(
        [
            np.column_stack([radius * r2, radius * r2**2, 0 * r2, 3 * r2, radius * r2**3]),
            np.column_stack([0 * r2, 0 * r2, r2, 0 * r2, 0 * r2]),
        ]
    )
    scale = np.concatenate([radius, 0 * radius])[:, None]
    slopes = slopes - scale @ (scale.T @ slopes) / float(np.sum(scale**2))
    return focal_px * float(np.sqrt(np.max(np.einsum("ij,jk,ik->i", slopes, covariance, slopes))))
