"""Coins, or any discs of known diameter, that lie beside the part: the pose of the circles of their outer edges."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.flags import Flag, flag
from areakit.imaging.camera import Camera, Prior, fit_camera
from areakit.imaging.checks.sheet import RoundThing, check_one_round
from areakit.imaging.marks.coins import joint_residuals
from areakit.imaging.marks.disc import Coin, known_disc, place_of
from areakit.imaging.marks.field import guard_width, nearly_level, picture_field
from areakit.imaging.marks.ground import ground_field
from areakit.imaging.marks.round_edge import RoundEdge, round_edges
from areakit.imaging.marks.wanted import Wanted
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import PlaneScale, SheetScale, common_share

Floats = npt.NDArray[np.float64]

EDGE_SHARE = 0.01
"""Standard uncertainty of a length from one coin as the mark for another, level camera (real photos: 1 to 1.5 %)."""
EDGE_MM = 0.15
"""Rounding and wear of a rim, and its contact shadow, on the diameter (practice). [mm]"""
WALL_OPEN = 0.3
"""Share of the seen wall that stays open: standard uncertainty of which edge was taken on the near side."""
COMMON_RIMS = 0.5
"""Share of the variance of coins' edges that all coins of a photo have in common: their rims stand in one light (real
photos, ``calibration/studies/coins.md``).
"""
TILT_REFUSED_DEG = 10.0
TILT_SIGMA = np.radians(4.0)
"""How level a hand holds a camera that it tries to hold level: standard deviation about each axis (practice)."""
FIT_SIGMA_SHARE = 0.10
"""Standard deviation of one edge point as share of the radius. Far above noise: walls and contact shadows stretch the
edge of a real coin by 1 to 2 % in one direction, and with some 200 points this leaves 2 % of the ratio of its axes."""
THICKNESS_SIGMA = 0.2
"""Relative standard uncertainty of a thickness that nobody gave (coins of the table: 1.4 to 2.4 mm)."""
FLATNESS_MM = 0.3
FEWEST_PX = 80.0
MARGIN_SHARE = 0.12
SIZES_DISAGREE = 0.2
"""Ratio of the scales of two coins, less one, that no level camera sees: 10° over a reach as wide as it stands high."""


def coin_scale(photo: Photo, small: Overview, prior: Prior, wanted: Wanted) -> PlaneScale:
    """Return the scale from the outer edge of a coin, or of several.

    Raises
    ------
    MarkNotFound
        If nothing round is seen, or not where it was tapped.
    ScaleUnreliable
        If one is too small in the photo, the camera was tilted, nobody said which of several round things it is, or
        several contradict each other.
    """
    coins = tuple(_coin(photo, small, one) for one in (wanted, *wanted.more))
    _check_apart(coins)
    camera = disc_camera(coins, prior)
    if camera.tilt_deg > TILT_REFUSED_DEG:
        raise ScaleUnreliable(
            f"The coin says a camera tilted by {camera.tilt_deg:.0f}°; up to {TILT_REFUSED_DEG:.0f}° can be measured "
            "with a coin.",
            remedy="Hold the camera straight above, or use a printed scale sheet, which bears a tilt.",
            fields={"areakit sheet": ""},
            code="TILT_TOO_HIGH",
        )
    taken = tuple(_taken(coin, camera, first=coin is coins[0]) for coin in coins)
    field = ground_field(picture_field(camera, photo), camera, small, taken=taken, beside=True)
    share = length_share(camera, coins)
    points = sum(len(coin.edge.points_px) for coin in coins)
    return PlaneScale(
        camera=camera,
        mark="coin",
        sheet=" + ".join(coin.disc.name for coin in coins),
        field_mm=field,
        guard_mm=guard_width(field),
        sheet_scale=SheetScale(shares={"coin": common_share(share)}),
        flatness_mm=FLATNESS_MM,
        corners_used=points,
        corners_total=points,
        focal_known=photo.focal_px is not None,
        flags=(_beside(share, len(coins)), *map(_told, coins)),
        excluded_mm=taken,
    )


def _coin(photo: Photo, small: Overview, wanted: Wanted) -> Coin:
    """Return the coin that is named, where it is seen."""
    disc = known_disc(wanted)
    edges = round_edges(photo, small, wanted.at_px)
    if wanted.at_px is None:
        check_one_round([_thing(edge) for edge in edges])
    if not edges:
        where = f" at ({wanted.at_px[0]:.0f}, {wanted.at_px[1]:.0f}) px" if wanted.at_px else ""
        raise MarkNotFound(
            f"No coin of {disc.diameter_mm:g} mm was found{where}: nothing there has a clear round edge.",
            remedy="Lay it flat on a plain ground of another colour, and show where it lies.",
            fields={"mark_at": "x,y"},
            code="NO_MARK",
        )
    edge = edges[0]
    if 2 * edge.axes_px[1] < FEWEST_PX:
        raise ScaleUnreliable(
            f"The coin is {2 * edge.axes_px[1]:.0f} px wide; {FEWEST_PX:.0f} px are needed.",
            remedy="Move closer, or use a printed scale sheet.",
            code="MARK_TOO_SMALL",
        )
    return Coin(edge=edge, disc=disc)


def _check_apart(coins: tuple[Coin, ...]) -> None:
    """Refuse coins that are said to lie where another one lies, or whose sizes do not fit each other."""
    for number, one in enumerate(coins):
        for other in coins[:number]:
            if float(np.hypot(*(one.edge.centre_px - other.edge.centre_px))) < one.edge.axes_px[0]:
                raise ScaleUnreliable(
                    f"The coins {other.disc.name} and {one.disc.name} were said to lie at one place.",
                    remedy="Name the place of each in the photo: coin:eur-1@1200,800; coin:eur-2@400,300.",
                    code="COINS_DISAGREE",
                )
    scales = [coin.disc.diameter_mm / (2 * coin.edge.axes_px[0]) for coin in coins]
    apart = max(scales) / min(scales) - 1.0
    if apart > SIZES_DISAGREE:
        raise ScaleUnreliable(
            f"The coins say scales {100 * apart:.0f} % apart; a level camera sees up to {100 * SIZES_DISAGREE:.0f} %.",
            remedy="Check which coin lies where, lay all of them on one table, and hold the camera level.",
            code="COINS_DISAGREE",
        )


def _taken(coin: Coin, camera: Camera, *, first: bool) -> Floats:
    """Return the outline of what a coin takes of the table, shape (n, 2). [mm]"""
    angle = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    reach = (0.5 + MARGIN_SHARE) * coin.disc.diameter_mm + coin.disc.thickness_mm
    round_it = reach * np.column_stack([np.cos(angle), np.sin(angle)])
    return np.asarray(round_it if first else round_it + place_of(coin, camera))


def _beside(share: float, count: int) -> Flag:
    percent = 400 * share
    return flag("COINS_BESIDE_PART", percent=percent) if count > 1 else flag("LEVEL_CAMERA_ASSUMED", percent=percent)


def _told(coin: Coin) -> Flag:
    (x, y), width = coin.edge.centre_px, 2 * coin.edge.axes_px[0]
    return flag("COIN_TAKEN", name=coin.disc.name, x_px=x, y_px=y, width_px=width)


def _thing(edge: RoundEdge) -> RoundThing:
    (x, y), width = edge.centre_px, 2 * edge.axes_px[0]
    return RoundThing(x_px=float(x), y_px=float(y), width_px=width, quality=edge.quality)


def length_share(camera: Camera, coins: tuple[Coin, ...]) -> float:
    """Return the relative standard uncertainty of a length that the coins leave, beside pose and lens.

    Each coin has wear, rim and wall of its own, which the mean of several takes down by the root of their number; what
    one light makes of all rims alike it does not.
    """
    shares = np.square([_share_of_one(camera, coin, first=coin is coins[0]) for coin in coins])
    own = float(np.sum(shares)) / len(coins) ** 2
    return float(np.sqrt(COMMON_RIMS * np.mean(shares) + (1.0 - COMMON_RIMS) * own))


def _share_of_one(camera: Camera, coin: Coin, *, first: bool) -> float:
    disc, place = coin.disc, np.zeros(2) if first else place_of(coin, camera)
    lean = float(np.hypot(*(camera.centre_mm[:2] - place))) / camera.height_mm  # tangent of the angle it is seen at
    open_wall = WALL_OPEN * disc.thickness_mm * lean / disc.diameter_mm
    level = THICKNESS_SIGMA * disc.thickness_mm / camera.height_mm
    return float(np.sqrt(EDGE_SHARE**2 + (EDGE_MM / disc.diameter_mm) ** 2 + open_wall**2 + level**2))


def disc_camera(coins: tuple[Coin, ...], prior: Prior) -> Camera:
    """Return the camera above the table on which discs lie, the first with its middle at the origin.

    A circle fits two poses, mirrored at the line of sight. Where both are believable, the camera lies between them and
    its covariance is that of the mixture (mean and covariance of two weighted normals).
    """
    first = _fit(coins, prior, _start(coins[0], prior), mean=np.zeros(3), sigma=TILT_SIGMA)
    other = _fit(coins, prior, _mirrored(first), mean=np.zeros(3), sigma=TILT_SIGMA)
    costs = np.array([_cost(coins, prior, camera) for camera in (first, other)])
    weights = np.exp(-0.5 * (costs - costs.min()))
    weights /= weights.sum()
    rotation = weights @ np.array([first.parameters[7:10], other.parameters[7:10]])
    middle = _fit(coins, prior, first.parameters, mean=rotation, sigma=1e-4)
    covariance = np.zeros_like(first.covariance)
    for weight, camera in zip(weights, (first, other), strict=True):
        apart = camera.parameters - middle.parameters
        covariance += weight * (camera.covariance + np.outer(apart, apart))
    return replace(middle, covariance=covariance)


def _start(coin: Coin, prior: Prior) -> Floats:
    """Return a level camera whose origin lies under the middle of the coin."""
    focal = float(np.exp(prior.mean[0]))
    height = focal * coin.disc.diameter_mm / (2 * coin.edge.axes_px[1]) + coin.disc.thickness_mm
    aside = (coin.edge.centre_px - prior.mean[1:3]) * height / focal
    return np.concatenate([prior.mean, np.zeros(3), aside, [height]])


def _fit(coins: tuple[Coin, ...], prior: Prior, start: Floats, *, mean: Floats, sigma: float) -> Camera:
    camera = Camera(parameters=start.copy(), covariance=np.zeros((13, 13)), rms_px=0.0, k3=prior.k3)
    sigmas = np.array([sigma, sigma, min(sigma, 0.01)])
    sigma_px = _sigma_px(coins)
    for _ in range(4 if len(coins) == 1 else 8):
        residuals = nearly_level(joint_residuals(coins, camera), mean=mean, sigma_rad=sigmas, sigma_px=sigma_px)
        camera = fit_camera(residuals, camera.parameters, prior, sigma_px=sigma_px, steps=6)
    misfit, _ = joint_residuals(coins, camera)(camera.parameters, prior.k3)
    return replace(camera, rms_px=float(np.sqrt(np.mean(misfit**2))))


def _sigma_px(coins: tuple[Coin, ...]) -> float:
    return FIT_SIGMA_SHARE * coins[0].edge.axes_px[0]


def _cost(coins: tuple[Coin, ...], prior: Prior, camera: Camera) -> float:
    misfit, _ = joint_residuals(coins, camera)(camera.parameters, prior.k3)
    pull = (camera.parameters[:7] - prior.mean) / prior.sigma
    tilt = camera.parameters[7:9] / TILT_SIGMA
    return float(np.sum((misfit / _sigma_px(coins)) ** 2) + pull @ pull + tilt @ tilt)


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
