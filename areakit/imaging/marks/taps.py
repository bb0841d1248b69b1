"""Two tapped points and the length between them, as on a ruler: a level camera is assumed."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from areakit.errors import RangeError, ScaleUnreliable, UnitError
from areakit.flags import flag
from areakit.imaging.camera import Camera, Prior, fit_camera, point_residuals
from areakit.imaging.marks.field import guard_width, moved, nearly_level, picture_field
from areakit.imaging.marks.ground import ground_field
from areakit.imaging.marks.wanted import Wanted, length_mm, wrong_form
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import PlaneScale, SheetScale, common_share

Floats = npt.NDArray[np.float64]

SHARE = 0.05
"""Standard uncertainty of a length from two taps, at least (own study: 4 % of area when level, 15 % within 10°)."""
TILT_SIGMA = np.radians(3.0)
"""How level a hand holds a camera that it tries to hold level: standard deviation about each axis (practice)."""
TAP_PX = 2.0
"""Standard deviation of one tap. [px]"""
RULE_HEIGHT_MM = 0.7
"""Height of the graduated face of a thin steel rule (practice). [mm]"""
FLATNESS_MM = 0.5
FEWEST_PX = 100.0


def taps_scale(photo: Photo, small: Overview, prior: Prior, wanted: Wanted) -> PlaneScale:
    """Return the scale from two points a known length apart, on the table (``taps``) or on a steel ruler (``rule``).

    Raises
    ------
    RangeError
        If the text is not four pixel coordinates and a length, or a point lies outside the photo.
    ScaleUnreliable
        If the points are too close to each other.
    """
    points_px, length = _understood(wanted)
    limits = np.array([photo.width_px - 1, photo.height_px - 1])
    if (points_px < 0).any() or (points_px > limits).any():
        raise RangeError(
            f"A tapped point lies outside the photo of {photo.width_px} x {photo.height_px} pixels.",
            remedy="Give pixels of the upright photo, counted from its upper left corner.",
        )
    apart = float(np.hypot(*(points_px[1] - points_px[0])))
    if apart < FEWEST_PX:
        raise ScaleUnreliable(
            f"The two points are {apart:.0f} px apart; {FEWEST_PX:.0f} px are needed.",
            remedy="Tap two marks that are further apart, or move closer.",
            code="MARK_TOO_SMALL",
        )
    camera = level_camera(points_px, length, prior, tilt_sigma=TILT_SIGMA, sigma_px=TAP_PX)
    if wanted.kind == "ruler":
        camera = moved(camera, origin_mm=(0.0, 0.0, RULE_HEIGHT_MM))
    field = ground_field(picture_field(camera, photo), camera, small)
    return PlaneScale(
        camera=camera,
        mark=wanted.kind,
        sheet=f"{length:g} mm",
        field_mm=field,
        guard_mm=guard_width(field),
        sheet_scale=SheetScale(shares={"two taps": common_share(SHARE)}),
        flatness_mm=FLATNESS_MM,
        corners_used=2,
        corners_total=2,
        focal_known=photo.focal_px is not None,
        flags=(flag("TWO_TAPS_ONLY", percent=400 * SHARE),),
    )


def level_camera(points_px: Floats, length: float, prior: Prior, *, tilt_sigma: float, sigma_px: float) -> Camera:
    """Return a camera that looks straight down on two points, shape (2, 2), with what a tilt would change."""
    focal = float(np.exp(prior.mean[0]))
    step = points_px[1] - points_px[0]
    height = focal * length / float(np.hypot(*step))
    points_mm = (points_px - prior.mean[1:3]) * height / focal
    start = np.concatenate([prior.mean, np.zeros(3), [0.0, 0.0, height]])
    residuals = nearly_level(
        point_residuals(points_mm, points_px),
        mean=np.zeros(3),
        sigma_rad=np.array([tilt_sigma, tilt_sigma, 0.01]),
        sigma_px=sigma_px,
    )
    return fit_camera(residuals, start, prior, sigma_px=sigma_px)


def _understood(wanted: Wanted) -> tuple[Floats, float]:
    form = f"{wanted.kind}:x1,y1,x2,y2,100 mm"
    if len(wanted.detail) != 5:
        raise wrong_form(wanted, form)
    try:
        numbers = [float(piece) for piece in wanted.detail[:4]]
        length = length_mm(wanted.detail[4])
    except (ValueError, UnitError) as error:
        if isinstance(error, RangeError):
            raise
        raise wrong_form(wanted, form) from error
    if not np.isfinite(numbers).all():
        raise wrong_form(wanted, form)
    return np.array(numbers).reshape(2, 2), length
