"""A coin, or any disc of known diameter, that lies beside the part: the pose of the circle of its outer edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound, RangeError, ScaleUnreliable
from areakit.flags import flag
from areakit.imaging.camera import Camera, Prior, Residuals, edge_residuals, fit_camera
from areakit.imaging.checks.sheet import RoundThing, check_one_round
from areakit.imaging.marks.field import guard_width, nearly_level, picture_window
from areakit.imaging.marks.ground import ground_window
from areakit.imaging.marks.reference_objects import reference_objects
from areakit.imaging.marks.round_edge import RoundEdge, round_edges
from areakit.imaging.marks.wanted import Wanted, length_mm, wrong_form
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import PlaneScale, SheetScale, common_share

Floats = npt.NDArray[np.float64]

EDGE_SHARE = 0.01
"""Standard uncertainty of a length from one coin as the mark for another, level camera (real photos: 1 to 1.5 %)."""
EDGE_MM = 0.15
"""Rounding and wear of a rim, and its contact shadow, on the diameter (practice). [mm]"""
WALL_OPEN = 0.3
"""Share of the seen wall that stays open: standard uncertainty of which edge was taken on the near side."""
TILT_REFUSED_DEG = 10.0
TILT_SIGMA = np.radians(4.0)
"""How level a hand holds a camera that it tries to hold level: standard deviation about each axis (practice)."""
FIT_SIGMA_SHARE = 0.10
"""Standard deviation of one edge point as share of the radius. Far above noise: walls and contact shadows stretch the
edge of a real coin by 1 to 2 % in one direction, and with some 200 points this leaves 2 % of the ratio of its axes."""
USUAL_THICKNESS_MM = 1.9
THICKNESS_SIGMA = 0.2
"""Relative standard uncertainty of a thickness that nobody gave (coins of the table: 1.4 to 2.4 mm)."""
FLATNESS_MM = 0.3
FEWEST_PX = 80.0
MARGIN_SHARE = 0.12


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """What is known of the coin. [mm]"""

    name: str
    diameter_mm: float
    thickness_mm: float


def known_disc(wanted: Wanted) -> Disc:
    """Return the coin that is named by its code, or by its diameter and, if known, its thickness.

    Raises
    ------
    RangeError
        If the table has no such coin.
    """
    first, *rest = wanted.detail
    coins = {code: row for code, row in reference_objects().items() if row.diameter_mm is not None}
    if first in coins and not rest:
        row = coins[first]
        assert row.diameter_mm is not None
        return Disc(name=first, diameter_mm=row.diameter_mm, thickness_mm=row.thickness_mm)
    if not first[:1].isdigit():
        raise RangeError(
            f"There is no coin {first!r} in the table.",
            remedy=f"Name one of {', '.join(coins)}, or its diameter: coin:25.75 mm.",
        )
    if len(rest) > 1:
        raise wrong_form(wanted, "coin:25.75 mm or, with its thickness, coin:25.75 mm,2.2 mm")
    diameter = length_mm(first)
    thickness = length_mm(rest[0]) if rest else USUAL_THICKNESS_MM
    return Disc(name=f"{diameter:g} mm", diameter_mm=diameter, thickness_mm=thickness)


def coin_scale(photo: Photo, small: Overview, prior: Prior, wanted: Wanted) -> PlaneScale:
    """Return the scale from the outer edge of a coin.

    Raises
    ------
    MarkNotFound
        If nothing round is seen, or not where it was tapped.
    ScaleUnreliable
        If it is too small in the photo, the camera was tilted, or nobody said which of several round things it is.
    """
    disc = known_disc(wanted)
    edges = round_edges(photo, small, wanted.at_px)
    if wanted.at_px is None:
        check_one_round([_thing(edge) for edge in edges])
    if not edges:
        where = f" at ({wanted.at_px[0]:.0f}, {wanted.at_px[1]:.0f}) px" if wanted.at_px else ""
        raise MarkNotFound(
            f"No coin of {disc.diameter_mm:g} mm was found{where}: nothing there has a clear round edge.",
            remedy="Lay it flat on a plain ground of another colour, and name its place with --mark-at x,y.",
            code="NO_MARK",
        )
    edge = edges[0]
    if 2 * edge.axes_px[1] < FEWEST_PX:
        raise ScaleUnreliable(
            f"The coin is {2 * edge.axes_px[1]:.0f} px wide; {FEWEST_PX:.0f} px are needed.",
            remedy="Move closer, or use a printed scale sheet.",
            code="MARK_TOO_SMALL",
        )
    camera = disc_camera(edge, disc, prior)
    if camera.tilt_deg > TILT_REFUSED_DEG:
        raise ScaleUnreliable(
            f"The coin says a camera tilted by {camera.tilt_deg:.0f}°; up to {TILT_REFUSED_DEG:.0f}° can be measured "
            "with a coin.",
            remedy="Hold the camera straight above, or use a printed scale sheet (areakit sheet), which bears a tilt.",
            code="TILT_TOO_HIGH",
        )
    angle = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    reach = (0.5 + MARGIN_SHARE) * disc.diameter_mm + disc.thickness_mm
    taken = reach * np.column_stack([np.cos(angle), np.sin(angle)])
    window = ground_window(picture_window(camera, photo), camera, small, taken=taken, beside=True)
    share = length_share(camera, disc)
    return PlaneScale(
        camera=camera,
        mark="coin",
        sheet=disc.name,
        window_mm=window,
        guard_mm=guard_width(window),
        sheet_scale=SheetScale(shares={"coin": common_share(share)}),
        flatness_mm=FLATNESS_MM,
        corners_used=len(edge.points_px),
        corners_total=len(edge.points_px),
        focal_known=photo.focal_px is not None,
        flags=(
            flag("LEVEL_CAMERA_ASSUMED", percent=400 * share),
            flag(
                "COIN_TAKEN",
                name=disc.name,
                x_px=edge.centre_px[0],
                y_px=edge.centre_px[1],
                width_px=2 * edge.axes_px[0],
            ),
        ),
        excluded_mm=(taken,),
    )


def _thing(edge: RoundEdge) -> RoundThing:
    (x, y), width = edge.centre_px, 2 * edge.axes_px[0]
    return RoundThing(x_px=float(x), y_px=float(y), width_px=width, quality=edge.quality)


def length_share(camera: Camera, disc: Disc) -> float:
    """Return the relative standard uncertainty of a length that the coin itself leaves, beside pose and lens."""
    lean = float(np.hypot(*camera.centre_mm[:2])) / camera.height_mm  # tangent of the angle at which the coin is seen
    open_wall = WALL_OPEN * disc.thickness_mm * lean / disc.diameter_mm
    level = THICKNESS_SIGMA * disc.thickness_mm / camera.height_mm
    return float(np.sqrt(EDGE_SHARE**2 + (EDGE_MM / disc.diameter_mm) ** 2 + open_wall**2 + level**2))


def disc_camera(edge: RoundEdge, disc: Disc, prior: Prior) -> Camera:
    """Return the camera above the table on which a disc lies with its middle at the origin.

    A circle fits two poses, mirrored at the line of sight. Where both are believable, the camera lies between them and
    its covariance is that of the mixture (mean and covariance of two weighted normals).
    """
    start = _start(edge, disc, prior)
    first = _fit(edge, disc, prior, start, mean=np.zeros(3), sigma=TILT_SIGMA)
    other = _fit(edge, disc, prior, _mirrored(first), mean=np.zeros(3), sigma=TILT_SIGMA)
    costs = np.array([_cost(edge, disc, prior, camera) for camera in (first, other)])
    weights = np.exp(-0.5 * (costs - costs.min()))
    weights /= weights.sum()
    rotation = weights @ np.array([first.parameters[7:10], other.parameters[7:10]])
    middle = _fit(edge, disc, prior, first.parameters, mean=rotation, sigma=1e-4)
    covariance = np.zeros_like(first.covariance)
    for weight, camera in zip(weights, (first, other), strict=True):
        apart = camera.parameters - middle.parameters
        covariance += weight * (camera.covariance + np.outer(apart, apart))
    return replace(middle, covariance=covariance)


def _start(edge: RoundEdge, disc: Disc, prior: Prior) -> Floats:
    """Return a level camera whose origin lies under the middle of the coin."""
    focal = float(np.exp(prior.mean[0]))
    height = focal * disc.diameter_mm / (2 * edge.axes_px[1]) + disc.thickness_mm
    aside = (edge.centre_px - prior.mean[1:3]) * height / focal
    return np.concatenate([prior.mean, np.zeros(3), aside, [height]])


def _residuals(edge: RoundEdge, disc: Disc, camera: Camera) -> Residuals:
    """Compare points with the circle of the top edge where the wall faces away, of the bottom edge where it is seen."""
    seen = camera.to_sheet(edge.points_px, disc.thickness_mm / 2)
    outward = seen / np.maximum(np.linalg.norm(seen, axis=1), 1e-9)[:, None]
    circle = disc.diameter_mm / 2 * outward
    away = np.einsum("ij,ij->i", outward, circle - camera.centre_mm[:2])
    soft = 0.05 * camera.height_mm
    top = np.clip(0.5 + away / (2 * soft), 0.0, 1.0)
    tangent = np.column_stack([-outward[:, 1], outward[:, 0]])
    return edge_residuals(circle, tangent, edge.points_px, top * disc.thickness_mm)


def _fit(edge: RoundEdge, disc: Disc, prior: Prior, start: Floats, *, mean: Floats, sigma: float) -> Camera:
    camera = Camera(parameters=start.copy(), covariance=np.zeros((13, 13)), rms_px=0.0, k3=prior.k3)
    sigmas = np.array([sigma, sigma, min(sigma, 0.01)])
    sigma_px = _sigma_px(edge)
    for _ in range(4):
        residuals = nearly_level(_residuals(edge, disc, camera), mean=mean, sigma_rad=sigmas, sigma_px=sigma_px)
        camera = fit_camera(residuals, camera.parameters, prior, sigma_px=sigma_px, steps=6)
    misfit, _ = _residuals(edge, disc, camera)(camera.parameters, prior.k3)
    return replace(camera, rms_px=float(np.sqrt(np.mean(misfit**2))))


def _sigma_px(edge: RoundEdge) -> float:
    return FIT_SIGMA_SHARE * edge.axes_px[0]


def _cost(edge: RoundEdge, disc: Disc, prior: Prior, camera: Camera) -> float:
    misfit, _ = _residuals(edge, disc, camera)(camera.parameters, prior.k3)
    pull = (camera.parameters[:7] - prior.mean) / prior.sigma
    tilt = camera.parameters[7:9] / TILT_SIGMA
    return float(np.sum((misfit / _sigma_px(edge)) ** 2) + pull @ pull + tilt @ tilt)


def _mirrored(camera: Camera) -> Floats:
    """Return start parameters with the table's normal mirrored at the line of sight to the coin."""
    normal = camera.rotation[:, 2]
    sight = camera.parameters[10:13] / np.linalg.norm(camera.parameters[10:13])
    mirrored = 2.0 * (normal @ sight) * sight - normal
    parameters = camera.parameters.copy()
    axis = np.cross([0.0, 0.0, 1.0], mirrored)
    length = float(np.linalg.norm(axis))
    parameters[7:10] = axis / length * np.arcsin(min(length, 1.0)) if length > 1e-9 else 0.0
    return parameters
