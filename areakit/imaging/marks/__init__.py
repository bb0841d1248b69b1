"""Reference marks that give a photo its scale."""

from __future__ import annotations

from areakit.errors import MarkNotFound, RangeError, ScaleUnreliable
from areakit.flags import flag
from areakit.imaging.camera import LOG_F, Prior, usual_prior
from areakit.imaging.marks.paper import SIZES, find_paper
from areakit.imaging.marks.ring import find_ring
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import CheckReading, PlaneScale, with_flags
from areakit.imaging.sharpness import softness_px

MARKS = ("auto", "ring", *(code for code in SIZES))
"""What a user may name: anything, the printed sheet, or a plain sheet of one size."""

SOFT_REFUSED_PX = 2.6
TILT_REFUSED_DEG = 35.0
TILT_LIMIT_DEG = 20.0
FOCAL_MISMATCH_REFUSED = 0.15
FOCAL_MISMATCH_TILT_DEG = 8.0
"""Below this tilt the photo itself says little about its focal length."""


def find_scale(photo: Photo, small: Overview, *, mark: str, reading: CheckReading | None) -> PlaneScale:
    """Return the scale of a photo from the mark that is in it.

    Raises
    ------
    MarkNotFound, ScaleUnreliable
        With what to do next.
    """
    if mark not in MARKS:
        raise RangeError(f"{mark!r} is no mark that areakit knows.", remedy=f"Choose one of {', '.join(MARKS)}.")
    prior = usual_prior(photo.width_px, photo.height_px, photo.focal_px)
    try:
        scale = _look_for(photo, small, prior, mark, reading)
    except MarkNotFound:
        _check_focus(photo, small)
        raise
    if scale is None:
        _check_focus(photo, small)
        raise MarkNotFound(
            "No scale mark was found: neither the ring of a printed scale sheet nor a plain sheet of paper.",
            remedy="Print a scale sheet (areakit sheet), lay the part in its window, and keep all of the ring in view.",
            code="NO_MARK",
        )
    _check_view(scale, prior.mean[LOG_F], prior.sigma[LOG_F])
    return _with_cautions(scale)


def _look_for(
    photo: Photo, small: Overview, prior: Prior, mark: str, reading: CheckReading | None
) -> PlaneScale | None:
    scale = None
    if mark in {"auto", "ring"}:
        scale = find_ring(photo, small, prior, reading)
    if scale is None and mark != "ring":
        _check_focus(photo, small)  # a blurred scale sheet must not pass for plain paper
        scale = find_paper(photo, small, prior, None if mark == "auto" else mark)
    return scale


def _check_focus(photo: Photo, small: Overview) -> None:
    """Where no mark is found, a blurred photo is the likely reason: say that."""
    softness = softness_px(photo, small)
    if softness > SOFT_REFUSED_PX:
        raise MarkNotFound(
            f"The photo is blurred: its sharpest edges are {softness:.1f} px soft, and no scale mark can be read.",
            remedy="Tap the part to focus, hold the camera still, and take the photo again.",
            code="BLURRED",
        )


def _check_view(scale: PlaneScale, expected_log_f: float, share: float) -> None:
    tilt = scale.camera.tilt_deg
    if tilt > TILT_REFUSED_DEG:
        raise ScaleUnreliable(
            f"The camera was tilted by {tilt:.0f}°; up to {TILT_REFUSED_DEG:.0f}° can be measured.",
            remedy="Hold the camera more nearly straight above the part, and take the photo again.",
            code="TILT_TOO_HIGH",
        )
    mismatch = abs(scale.camera.parameters[LOG_F] - expected_log_f)
    if scale.focal_known and tilt > FOCAL_MISMATCH_TILT_DEG and mismatch > FOCAL_MISMATCH_REFUSED:
        raise ScaleUnreliable(
            f"The mark says a focal length {100 * mismatch:.0f} % away from the one the file states: "
            "two readings of the scale disagree.",
            remedy="Use the original photo, not cropped or edited, taken without digital zoom.",
            code="SCALES_DISAGREE",
        )
    if not 20.0 < scale.camera.height_mm < 5000.0:
        raise ScaleUnreliable(
            f"The mark puts the camera {scale.camera.height_mm:.0f} mm above the sheet, which cannot be.",
            remedy="Use the original photo, with the whole sheet flat and in view.",
            code="SCALE_IMPOSSIBLE",
        )


def _with_cautions(scale: PlaneScale) -> PlaneScale:
    cautions = []
    if scale.camera.tilt_deg > TILT_LIMIT_DEG:
        cautions.append(flag("TILT_HIGH", tilt_deg=scale.camera.tilt_deg))
    if not scale.focal_known:
        percent = 100 * float(scale.camera.covariance[12, 12] ** 0.5) / scale.camera.height_mm
        if percent > 4.0:
            cautions.append(flag("FOCAL_LENGTH_UNKNOWN", percent=percent))
    return with_flags(scale, *cautions)
