"""Reference marks that give a photo its scale."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.flags import Flag, flag
from areakit.imaging.camera import FOCAL_SHARE_EXIF, LOG_F, Prior, usual_prior
from areakit.imaging.checks.photo import check_not_mirrored
from areakit.imaging.checks.sheet import (
    CUT_CENTRE,
    CUT_FOCAL,
    RMS_LIMIT_PX,
    TRIMMED_FOCAL,
    no_camera,
    picture_cut,
    shape_of,
)
from areakit.imaging.lens import Lens
from areakit.imaging.marks.card import card_scale
from areakit.imaging.marks.coin import coin_scale
from areakit.imaging.marks.frame import check_not_printed, find_frame, glanced_frame, mirrored_markers
from areakit.imaging.marks.grid import grid_scale
from areakit.imaging.marks.paper import find_paper
from areakit.imaging.marks.paper_check import check_paper
from areakit.imaging.marks.print_card import print_by_card
from areakit.imaging.marks.print_check import print_by_paper
from areakit.imaging.marks.print_coin import print_by_coin
from areakit.imaging.marks.scan import FAR_MM, INCH_MM, compare_with_tag, far_prior, looks_like_scan, scan_scale
from areakit.imaging.marks.taps import taps_scale
from areakit.imaging.marks.wanted import Wanted, read_mark
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import CheckReading, PlaneScale, with_flags
from areakit.imaging.sharpness import softness_px

Floats = npt.NDArray[np.float64]

SOFT_REFUSED_PX = 2.6
TILT_REFUSED_DEG = 35.0
TILT_LIMIT_DEG = 20.0
FOCAL_MISMATCH_REFUSED = 0.15
FOCAL_MISMATCH_TILT_DEG = 8.0
"""Below this tilt the photo itself says little about its focal length."""


def find_scale(
    photo: Photo,
    small: Overview,
    *,
    mark: str,
    reading: CheckReading | None,
    lens: Lens | None = None,
    laid: Wanted | None = None,
) -> PlaneScale:
    """Return the scale of a photo from the mark that is in it.

    Parameters
    ----------
    mark : str
        ``auto``, or a mark's name as :mod:`areakit.imaging.marks.wanted` lists them.
    lens : Lens or None
        The stored lens of the photo's camera; the marker frame is read with it.
    laid : Wanted or None
        The card or the coins that lie in the field of the printed sheet, to tell its size where nobody measured it.

    Raises
    ------
    RangeError
        If there is no such mark.
    MarkNotFound, ScaleUnreliable
        With what to do next.
    """
    wanted = read_mark(mark)
    prior, cut = _prior_of(photo)
    try:
        scale = _look_for(photo, small, prior, wanted, reading, lens)
        if scale is not None and scale.mark == "frame" and reading is None:
            scale = _print_told(photo, small, prior, scale, lens, laid=laid)
        elif scale is not None and laid is not None:
            _check_frame(scale, laid)
    except MarkNotFound:
        _check_focus(photo, small)
        raise
    except (np.linalg.LinAlgError, cv2.error) as error:  # no camera takes such a picture, and the fit has no solution
        raise no_camera() from error
    if scale is None:
        _check_focus(photo, small)
        raise MarkNotFound(
            "No scale mark was found: neither the marker frame of a printed scale sheet nor a plain sheet of paper.",
            remedy="Print a scale sheet, lay the part in its field, and keep all of the marker frame in view. "
            "If there is a mark of another kind, name it.",
            fields={"areakit sheet": "", "mark": ""},
            code="NO_MARK",
        )
    if scale.mark == "scan":
        return scale
    _check_view(scale, prior)
    scale = with_flags(_with_cautions(scale), *cut)
    return with_flags(scale, *compare_with_tag(scale, photo))


def glance(photo: Photo, small: Overview) -> PlaneScale | None:
    """Return a scale good enough to aim by: from the markers of a marker frame, else from a plain sheet of paper.

    The focal length is taken as believed: trying others costs more than all the rest, and hardly moves what is drawn.

    Raises
    ------
    MarkNotFound, ScaleUnreliable
        Where too little of it is seen.
    """
    prior, _ = _prior_of(photo)
    sigma = prior.sigma.copy()
    sigma[LOG_F] = min(sigma[LOG_F], FOCAL_SHARE_EXIF)
    prior = replace(prior, sigma=sigma)
    return glanced_frame(photo, small, prior) or find_paper(photo, small, prior, None)


def _prior_of(photo: Photo) -> tuple[Prior, tuple[Flag, ...]]:
    """Return what is believed of the camera: a cropped picture's tag and middle are those of the whole one."""
    sides = photo.width_px, photo.height_px
    shape = shape_of(*sides) if photo.focal_px else "whole"
    if shape == "cut":
        prior = usual_prior(*sides, photo.focal_px, focal_share=CUT_FOCAL, centre=CUT_CENTRE)
        return prior, (picture_cut(*sides),)
    share = TRIMMED_FOCAL if shape == "trimmed" else FOCAL_SHARE_EXIF
    return usual_prior(*sides, photo.focal_px, focal_share=share), ()


def _look_for(
    photo: Photo, small: Overview, prior: Prior, wanted: Wanted, reading: CheckReading | None, lens: Lens | None
) -> PlaneScale | None:
    """Ask the finder of the kind; where none is named the frame comes first, then the tag of a scan, then paper."""
    kind = wanted.kind
    if kind in _OTHERS:
        return _OTHERS[kind](photo, small, prior, wanted)
    scale = None
    if kind in {"auto", "frame", "scan"}:
        scale = _scanned_frame(photo, small, reading) if photo.dpi else None
        scale = scale or find_frame(photo, small, prior, reading, lens)
    if scale is not None:
        return scale if reading is None else check_paper(scale, small, verified=True)
    check_not_mirrored(mirrored_markers(small))
    if kind == "scan" or (kind == "auto" and looks_like_scan(photo)):
        return scan_scale(photo)
    if kind == "frame":
        return None
    if kind != "auto":
        check_not_printed(small, kind)
    _check_focus(photo, small)  # a blurred scale sheet must not pass for plain paper
    return find_paper(photo, small, prior, None if kind == "auto" else kind)


def _print_told(
    photo: Photo, small: Overview, prior: Prior, scale: PlaneScale, lens: Lens | None, *, laid: Wanted | None
) -> PlaneScale:
    """Return the scale of a frame that nobody measured, read again as large as what lies in it or its paper says."""
    if photo.dpi:
        return check_paper(scale, small, verified=False)
    taken: tuple[Floats, ...] = ()
    if laid is not None and laid.kind == "coin":
        known, taken = print_by_coin(photo, small, scale, laid)
    elif laid is not None:
        known, taken = print_by_card(photo, small, scale)
    else:
        paper = print_by_paper(photo, small, scale)
        if paper is None:
            return check_paper(scale, small, verified=False)
        known = paper
    again = find_frame(photo, small, prior, known, lens)
    assert again is not None  # the same photo showed it just now
    return replace(again, excluded_mm=tuple(again.camera.to_sheet(scale.camera.project(one)) for one in taken))


def _check_frame(scale: PlaneScale, laid: Wanted) -> None:
    """Refuse a card or a coin that is to tell the size of a printed sheet, where there is none."""
    if scale.mark == "frame":
        return
    raise MarkNotFound(
        f"A {laid.kind} was to tell the size of a printed scale sheet, and the scale is from {scale.mark} "
        f"{scale.sheet}.",
        remedy=f"Keep all of the marker frame in view; or name the {laid.kind} itself as the scale.",
        fields={"mark": laid.kind},
        code="NO_MARK",
    )


def _scanned_frame(photo: Photo, small: Overview, reading: CheckReading | None) -> PlaneScale | None:
    """Return the frame as a scanner sees it, without perspective, where its corners fit that view well."""
    assert photo.dpi is not None
    if photo.focal_px is not None:
        return None
    try:
        scale = find_frame(photo, small, far_prior(photo, photo.dpi / INCH_MM), reading)
    except (MarkNotFound, ScaleUnreliable):
        return None
    return scale if scale is not None and scale.camera.rms_px < RMS_LIMIT_PX else None


Finder = Callable[[Photo, Overview, Prior, Wanted], PlaneScale]

_OTHERS: dict[str, Finder] = {
    "card": lambda photo, small, prior, wanted: card_scale(photo, small, prior, wanted.at_px),
    "coin": coin_scale,
    "taps": taps_scale,
    "ruler": taps_scale,
    "chequer": grid_scale,
    "markers": grid_scale,
}
"""Marks that are looked for only where they are named."""


def _check_focus(photo: Photo, small: Overview) -> None:
    """Where no mark is found, a blurred photo is the likely reason: say that."""
    softness = softness_px(photo, small)
    if softness > SOFT_REFUSED_PX:
        raise MarkNotFound(
            f"The photo is blurred: its sharpest edges spread over {softness:.1f} px, and no scale mark can be read.",
            remedy="Tap the part to focus, hold the camera still, and take the photo again. If there is "
            "a mark of another kind, name it.",
            fields={"mark": ""},
            code="BLURRED",
        )


def _check_view(scale: PlaneScale, prior: Prior) -> None:
    tilt = scale.camera.tilt_deg
    if tilt > TILT_REFUSED_DEG:
        raise ScaleUnreliable(
            f"The camera was tilted by {tilt:.0f}°; up to {TILT_REFUSED_DEG:.0f}° can be measured.",
            remedy="Hold the camera more nearly straight above the part, and take the photo again.",
            code="TILT_TOO_HIGH",
        )
    mismatch = abs(scale.camera.parameters[LOG_F] - prior.mean[LOG_F])
    believed = scale.focal_known and prior.sigma[LOG_F] <= FOCAL_SHARE_EXIF
    if believed and tilt > FOCAL_MISMATCH_TILT_DEG and mismatch > FOCAL_MISMATCH_REFUSED:
        raise ScaleUnreliable(
            f"The mark says a focal length {100 * mismatch:.0f} % away from the one the file states: "
            "two readings of the scale disagree.",
            remedy="Use the original photo, not cropped or edited, taken without digital zoom.",
            code="SCALES_DISAGREE",
        )
    scanned = scale.camera.height_mm > FAR_MM / 2
    if not (20.0 < scale.camera.height_mm < 5000.0 or scanned):
        raise ScaleUnreliable(
            f"The mark puts the camera {scale.camera.height_mm:.0f} mm above the sheet, which cannot be.",
            remedy="Use the original photo, with the whole sheet flat and in view.",
            code="SCALE_IMPOSSIBLE",
        )


def _with_cautions(scale: PlaneScale) -> PlaneScale:
    cautions = []
    if scale.camera.tilt_deg > TILT_LIMIT_DEG:
        cautions.append(flag("TILT_HIGH", tilt_deg=scale.camera.tilt_deg))
    if not scale.focal_known and "FOCAL_LENGTH_DOUBTED" not in {one.code for one in scale.flags}:
        percent = 100 * float(scale.camera.covariance[12, 12] ** 0.5) / scale.camera.height_mm
        if percent > 4.0:
            cautions.append(flag("FOCAL_LENGTH_UNKNOWN", percent=percent))
    return with_flags(scale, *cautions)
