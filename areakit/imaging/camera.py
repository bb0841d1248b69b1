"""A pinhole camera with lens distortion above a flat sheet: projection, its inverse, and a one-view fit with priors.

The sheet is the plane z = 0, x right and y down as one looks at it, so z points into the table and the camera stands at
negative z. Heights above the sheet are given as positive numbers. Distortion is the Brown model in OpenCV's order.
Pixel centres have integer coordinates.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.bow import Bow

Floats = npt.NDArray[np.float64]

LOG_F, CX, CY, K1, K2, P1, P2 = range(7)
POSE = slice(7, 13)
SIZE = 13
K3 = 13
"""Place of the third radial term where a stored lens says how well it is known; else it is no parameter."""
BOW_STEPS = 4
"""Steps in which a sight line finds a bent sheet: each leaves about a fiftieth of the miss before."""
_LARGEST_LOG_F = 50.0
"""A fit that runs away gets no focal length beyond this, so that it ends as a bad fit and not as an overflow."""

UNDISTORT_STOP = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 30, 1e-9)
FOCAL_SHARE_EXIF = 0.03
"""Standard uncertainty of an EXIF focal length: it is rounded to whole millimetres and moves with focus (practice)."""
FOCAL_SHARE_UNKNOWN = 0.35
FOCAL_SPAN, FOCAL_TRIALS = 0.7, 29
"""Where EXIF is missing: half range of log focal length that is searched, and in how many trials."""
FOCAL_35MM_USUAL = 30.0
"""Where EXIF is missing: between a phone's main camera (26 mm) and its double lens (52 mm)."""


@dataclass(frozen=True, kw_only=True)
class Camera:
    """Interior orientation and pose; what follows from them is worked out once.

    Parameters
    ----------
    parameters : ndarray, shape (13,) or (14,)
        log focal length [px], principal point [px], k1, k2, p1, p2, rotation vector [rad], translation [mm]; with a
        stored lens k3 is the fourteenth.
    covariance : ndarray, shape (13, 13) or (14, 14)
        With a bow three more, of its figures.
    rms_px : float
        Root mean square of the residuals of the fit. [px]
    k3 : float
        Third radial term where it is no parameter.
    bow : Bow or None
        How the sheet bends; heights count from the bent sheet.
    """

    parameters: Floats
    covariance: Floats
    rms_px: float
    k3: float = 0.0
    bow: Bow | None = None

    def __post_init__(self) -> None:
        for array in (self.parameters, self.covariance):
            _fixed(array)

    @property
    def focal_px(self) -> float:
        """Focal length."""
        return float(np.exp(self.parameters[LOG_F]))

    @cached_property
    def matrix(self) -> Floats:
        """Camera matrix, shape (3, 3)."""
        f, (cx, cy) = self.focal_px, self.parameters[[CX, CY]]
        return _fixed(np.array([[f, 0.0, cx], [0.0, f, cy], [0.0, 0.0, 1.0]]))

    @cached_property
    def distortion(self) -> Floats:
        """k1, k2, p1, p2, k3."""
        return _fixed(np.array([*self.parameters[K1 : P2 + 1], _third(self.parameters, self.k3)]))

    @cached_property
    def rotation(self) -> Floats:
        """Rotation from sheet to camera axes, shape (3, 3)."""
        return _fixed(np.asarray(cv2.Rodrigues(self.parameters[7:10])[0], dtype=float))

    @cached_property
    def centre_mm(self) -> Floats:
        """Camera centre in sheet axes, shape (3,); z is negative above the sheet."""
        return _fixed(-self.rotation.T @ self.parameters[10:13])

    @property
    def height_mm(self) -> float:
        """Height of the camera above the sheet."""
        return -float(self.centre_mm[2])

    @property
    def tilt_deg(self) -> float:
        """Angle between the optical axis and the sheet's normal."""
        return float(np.degrees(np.arccos(np.clip(self.rotation[2, 2], -1.0, 1.0))))

    def with_parameters(self, parameters: Floats) -> Camera:
        """Return the same camera with other parameters."""
        return replace(self, parameters=np.array(parameters))

    def project(self, points_mm: Floats, height_mm: float | Floats = 0.0) -> Floats:
        """Return the pixels, shape (n, 2), of sheet points, shape (n, 2), at a height above the sheet."""
        return _project(self.parameters, _lift(points_mm, self._level(points_mm, height_mm)), self.k3)[0]

    def to_sheet(self, points_px: Floats, height_mm: float | Floats = 0.0) -> Floats:
        """Return the sheet points, shape (n, 2), in which the rays of pixels meet the plane at a height. [mm]"""
        return self.meet(self.rays(points_px), height_mm)

    def meet(self, rays: Floats, height_mm: float | Floats = 0.0) -> Floats:
        """Return the sheet points, shape (n, 2), in which rays, shape (n, 3), meet the plane at a height. [mm]"""
        centre = self.centre_mm
        level: float | Floats = height_mm
        for _ in range(1 if self.bow is None else BOW_STEPS):
            along = (-np.asarray(level) - centre[2]) / rays[:, 2]
            met = np.asarray(centre[:2] + along[:, None] * rays[:, :2], dtype=float)
            level = self._level(met, height_mm)
        return met

    def _level(self, points_mm: Floats, height_mm: float | Floats) -> float | Floats:
        """Return heights above the plane in which the pose is given. [mm]"""
        return height_mm if self.bow is None else np.asarray(height_mm + self.bow.height_mm(points_mm))

    def moves(self, points_mm: Floats, height_mm: float = 0.0) -> Floats:
        """Return how sheet points seen in fixed pixels move as each parameter changes, shape (n, 2, parameters).

        With a bow its three figures are the last parameters.
        """
        _, jacobian = _project(self.parameters, _lift(points_mm, self._level(points_mm, height_mm)), self.k3)
        jacobian = jacobian.reshape(len(points_mm), 2, -1)
        # Moving a point along the sheet moves its pixel as moving the camera's origin does; the pixel stays, so the
        # point moves against what the parameter alone would do (implicit function theorem).
        along_sheet = jacobian[:, :, 10:13] @ self.rotation[:, :2]
        if self.bow is not None:
            raised = jacobian[:, :, 10:13] @ -self.rotation[:, 2]
            along_sheet = along_sheet + raised[:, :, None] * self.bow.slope(points_mm)[:, None]
            jacobian = np.concatenate([jacobian, raised[:, :, None] * self.bow.terms(points_mm)[:, None]], axis=2)
        return np.asarray(-np.linalg.solve(along_sheet, jacobian), dtype=float)

    def rays(self, points_px: Floats) -> Floats:
        """Return ray directions in sheet axes, shape (n, 3), of pixels, shape (n, 2)."""
        flat = np.ascontiguousarray(points_px, dtype=np.float64).reshape(-1, 1, 2)
        normal = cv2.undistortPoints(flat, self.matrix, self.distortion, criteria=UNDISTORT_STOP)
        x, y, z = self.rotation
        return np.asarray(np.asarray(normal).reshape(-1, 2) @ np.stack([x, y]) + z, dtype=float)

    def mm_per_px(self, point_mm: Floats) -> float:
        """Return the square root of the sheet area that one pixel covers at a sheet point. [mm/px]"""
        around = np.array([point_mm, point_mm + [1.0, 0.0], point_mm + [0.0, 1.0]], dtype=float)
        a, b, c = self.project(around)
        area_px = abs(np.linalg.det(np.array([b - a, c - a])))
        return float(1.0 / np.sqrt(area_px))


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is believed of the interior orientation before the fit: means and standard deviations, shape (7,) each.

    ``covariance``, shape (8, 8), is that of a stored lens, k3 last; then k3 is fitted too, and ``sigma`` is only read
    for how wide the focal length is.
    """

    mean: Floats
    sigma: Floats
    k3: float = 0.0
    covariance: Floats | None = None

    @property
    def middle(self) -> Floats:
        """The means as parameters of a camera without a pose, shape (13,) or (14,)."""
        third = [] if self.covariance is None else [self.k3]
        return np.concatenate([self.mean, np.zeros(6), third])

    @property
    def information(self) -> Floats:
        """Inverse covariance over the parameters of a camera, nothing said of its pose; shape as for ``middle``."""
        if self.covariance is None:
            return np.diag([*(1.0 / self.sigma**2), *[0.0] * 6])
        wide = np.zeros((SIZE + 1, SIZE + 1))
        places = [*range(7), K3]
        wide[np.ix_(places, places)] = _invert(self.covariance)
        return wide


def usual_prior(
    width_px: int,
    height_px: int,
    focal_px: float | None,
    *,
    focal_share: float = FOCAL_SHARE_EXIF,
    centre: float = 0.01,
) -> Prior:
    """Return the prior of a camera nobody calibrated: EXIF focal length if any, a small distortion, the centre.

    ``focal_share`` is the standard uncertainty of that focal length; ``centre`` that of the optical axis, as a share
    of the longer side.
    """
    usual_focal = FOCAL_35MM_USUAL / np.hypot(36.0, 24.0) * np.hypot(width_px, height_px)
    focal = focal_px or usual_focal
    share = focal_share if focal_px else FOCAL_SHARE_UNKNOWN
    side = max(width_px, height_px)
    mean = np.array([np.log(focal), (width_px - 1) / 2, (height_px - 1) / 2, 0.0, 0.0, 0.0, 0.0])
    return Prior(mean=mean, sigma=np.array([share, centre * side, centre * side, 0.10, 0.15, 0.0015, 0.0015]))


def start_pose(points_mm: Floats, points_px: Floats, prior: Prior) -> Floats:
    """Return start parameters from at least four sheet points, shape (n, 2), and their pixels, shape (n, 2)."""
    start = prior.middle
    guess = Camera(parameters=start.copy(), covariance=np.zeros((len(start),) * 2), rms_px=0.0, k3=prior.k3)
    found, rvec, tvec = cv2.solvePnP(
        _lift(points_mm, 0.0), points_px.reshape(-1, 1, 2), guess.matrix, guess.distortion, flags=cv2.SOLVEPNP_IPPE
    )
    if not found:
        raise np.linalg.LinAlgError("no pose")
    start[POSE] = [*rvec.ravel(), *tvec.ravel()]
    return start


SMALL_STEP = 1e-4
"""Length of a step, in standard deviations of what is being fitted, after which the fit is done."""
Residuals = Callable[[Floats, float], tuple[Floats, Floats]]
"""From parameters (n,) and k3 to residuals (m,) in px and their Jacobian (m, n); n is 13, or 14 with k3 in it."""


def point_residuals(points_mm: Floats, points_px: Floats) -> Residuals:
    """Residuals of points, shape (n, 2) each: pixel seen less pixel expected, both axes."""
    lifted = _lift(points_mm, 0.0)

    def residuals(parameters: Floats, k3: float) -> tuple[Floats, Floats]:
        expected, jacobian = _project(parameters, lifted, k3)
        return (expected - points_px).ravel(), jacobian

    return residuals


def edge_residuals(
    points_mm: Floats, directions_mm: Floats, points_px: Floats, height_mm: float | Floats = 0.0
) -> Residuals:
    """Residuals of straight edges: how far each pixel lies beside the projected edge.

    Parameters
    ----------
    points_mm, directions_mm : ndarray, shape (n, 2)
        A point on the sheet's edge near each pixel, and the edge's unit direction there.
    points_px : ndarray, shape (n, 2)
    height_mm : float or ndarray, shape (n,)
        Height of the edge above the sheet.
    """
    near, ahead = _lift(points_mm, height_mm), _lift(points_mm + directions_mm, height_mm)

    def residuals(parameters: Floats, k3: float) -> tuple[Floats, Floats]:
        here, jacobian = _project(parameters, near, k3)
        there, _ = _project(parameters, ahead, k3)
        along = there - here
        normal = np.column_stack([-along[:, 1], along[:, 0]]) / np.linalg.norm(along, axis=1)[:, None]
        across = np.einsum("ij,ij->i", here - points_px, normal)
        return across, np.einsum("ij,ijk->ik", normal, jacobian.reshape(-1, 2, len(parameters)))

    return residuals


def fit_camera(
    residuals: Residuals, start: Floats, prior: Prior, *, sigma_px: float, correlated: float = 1.0, steps: int = 60
) -> Camera:
    """Return the most probable camera: Gauss-Newton on Huber-weighted residuals and a Gaussian prior.

    Parameters
    ----------
    residuals : callable
        From :func:`point_residuals` or :func:`edge_residuals`.
    start : ndarray, shape (13,), or (14,) with the prior of a stored lens
    sigma_px : float
        Standard deviation of one residual. [px]
    correlated : float
        Factor on the variance of all residuals together, where neighbours share their error.

    Sources
    -------
    [huber] Robust Statistics (1981), chapter 7: weights 1 within 1.5 sigma, 1.5 sigma / r beyond.
    """
    if prior.sigma[LOG_F] > FOCAL_SHARE_EXIF:
        start = _best_focal(residuals, start, prior, sigma_px)
    parameters, covariance, misfit = most_probable(
        lambda parameters: residuals(parameters, prior.k3), start, middle=prior.middle, information=prior.information,
        sigma_px=sigma_px, correlated=correlated, steps=steps,
    )  # fmt: skip
    return Camera(parameters=parameters, covariance=covariance, rms_px=float(np.sqrt(np.mean(misfit**2))), k3=prior.k3)


def most_probable(
    residuals: Callable[[Floats], tuple[Floats, Floats]], start: Floats, *, middle: Floats, information: Floats,
    sigma_px: float, correlated: float = 1.0, steps: int = 60,
) -> tuple[Floats, Floats, Floats]:  # fmt: skip
    """Return parameters, shape (n,), their covariance, and the residuals left: the fit of :func:`fit_camera`.

    Parameters
    ----------
    middle, information : ndarray, shape (n,), (n, n)
        The Gaussian prior: its mean, and the inverse of its covariance.
    """
    variance = sigma_px**2 * correlated
    parameters = start.copy()
    misfit, jacobian = residuals(parameters)
    damping = 0.0
    for _ in range(steps):
        scale = max(sigma_px, 1.4826 * float(np.median(np.abs(misfit))))
        weight = np.minimum(1.0, 1.5 * scale / np.maximum(np.abs(misfit), 1e-12)) / variance
        normal_matrix = (jacobian.T * weight) @ jacobian + information
        pull = information @ (parameters - middle)
        slope = jacobian.T @ (weight * misfit) + pull
        cost = _huber(misfit, 1.5 * scale) / variance + float(pull @ (parameters - middle))
        for _ in range(8):  # Levenberg's damping, only where a full step makes it worse
            damped = normal_matrix + damping * np.diag(np.diag(normal_matrix))
            trial = parameters - _solve(damped, slope)
            trial_misfit, trial_jacobian = residuals(trial)
            away = trial - middle
            trial_cost = _huber(trial_misfit, 1.5 * scale) / variance + float(away @ information @ away)
            if np.isfinite(trial_cost) and trial_cost <= cost * (1 + 1e-9):
                break
            damping = max(10 * damping, 1e-3)
        else:
            break
        damping *= 0.1 if damping > 1e-4 else 0.0
        change = trial - parameters
        parameters, misfit, jacobian = trial, trial_misfit, trial_jacobian
        if float(change @ normal_matrix @ change) < SMALL_STEP**2:
            break
    return parameters, _invert(normal_matrix), misfit


def _best_focal(residuals: Residuals, start: Floats, prior: Prior, sigma_px: float) -> Floats:
    """Return the likeliest start where no focal length is known: each trial keeps its focal length and fits the rest.

    One view hardly tells focal length from distance, so steps along both together are small; trials find the valley's
    lowest point instead.
    """
    best, least = start, np.inf
    for trial in np.linspace(-FOCAL_SPAN, FOCAL_SPAN, FOCAL_TRIALS):
        pinned = Prior(mean=prior.mean.copy(), sigma=prior.sigma.copy(), k3=prior.k3)
        pinned.mean[LOG_F], pinned.sigma[LOG_F] = prior.mean[LOG_F] + trial, 1e-3
        guess = start.copy()
        guess[12] *= np.exp(pinned.mean[LOG_F] - guess[LOG_F])
        guess[LOG_F] = pinned.mean[LOG_F]
        camera = fit_camera(residuals, guess, pinned, sigma_px=sigma_px, steps=8)
        misfit, _ = residuals(camera.parameters, prior.k3)
        pull = (camera.parameters[:7] - prior.mean) / prior.sigma
        cost = _huber(misfit, 1.5 * sigma_px) / sigma_px**2 + float(pull @ pull)
        if cost < least:
            best, least = np.array(camera.parameters), cost
    return best


def _huber(misfit: Floats, limit: float) -> float:
    """Sum of Huber's cost: quadratic within the limit, linear beyond."""
    size = np.abs(misfit)
    return float(np.sum(np.where(size <= limit, size**2, 2 * limit * size - limit**2)))


def _solve(matrix: Floats, right: Floats) -> Floats:
    """Solve symmetric equations whose unknowns have very different sizes."""
    size = np.sqrt(np.diag(matrix))
    return np.asarray(np.linalg.solve(matrix / np.outer(size, size), right / size) / size, dtype=float)


def _invert(matrix: Floats) -> Floats:
    size = np.sqrt(np.diag(matrix))
    return np.asarray(np.linalg.inv(matrix / np.outer(size, size)) / np.outer(size, size), dtype=float)


def _lift(points_mm: Floats, height_mm: float | Floats) -> Floats:
    points = np.asarray(points_mm, dtype=float).reshape(-1, 2)
    return np.column_stack([points, np.broadcast_to(-np.asarray(height_mm, dtype=float), len(points))])


def _fixed(array: Floats) -> Floats:
    array.setflags(write=False)
    return array


def _third(parameters: Floats, k3: float) -> float:
    """Return k3: the fourteenth parameter where there is one."""
    return float(parameters[K3]) if len(parameters) > SIZE else k3


def _project(parameters: Floats, points: Floats, k3: float) -> tuple[Floats, Floats]:
    """Return pixels (n, 2) and the Jacobian (2n, 13) or (2n, 14) with respect to the parameters."""
    f, cx, cy = np.exp(min(parameters[LOG_F], _LARGEST_LOG_F)), parameters[CX], parameters[CY]
    matrix = np.array([[f, 0.0, cx], [0.0, f, cy], [0.0, 0.0, 1.0]])
    distortion = np.array([*parameters[K1 : P2 + 1], _third(parameters, k3)])
    pixels, jac = cv2.projectPoints(points, parameters[7:10], parameters[10:13], matrix, distortion)
    # OpenCV's columns: rotation 3, translation 3, fx, fy, cx, cy, k1, k2, p1, p2, k3
    log_f = f * (jac[:, 6] + jac[:, 7])
    jacobian = np.column_stack([log_f, jac[:, 8:14], jac[:, 0:6], jac[:, 14 : len(parameters) + 1]])
    return np.asarray(pixels, dtype=float).reshape(-1, 2), np.asarray(jacobian, dtype=float)
