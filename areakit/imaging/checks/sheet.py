"""Checks of the marker frame, its print and the camera: where the fit contradicts what is taken for granted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import expm1, hypot

import numpy as np
import numpy.typing as npt

from areakit.errors import ScaleUnreliable
from areakit.flags import Flag, flag
from areakit.imaging.camera import Camera
from areakit.imaging.scale import PlaneScale, SheetScale
from areakit.uncertainty import Measured

FRAME_TELLS = 0.25
"""Standard uncertainty of the frame's own log focal length from which it says nothing: the camera stood level, and the
reading is no longer linear (300 sets of drawn corners: below it no reading was off by more than 2.7 of it)."""
AGREES, CONTRADICTS = 1.0, 2.5
"""Differences of tag and frame, in standard uncertainties of both, from which the tag counts for less, and from which
that is said (1100 sets of drawn corners with true tags: 90 % below 1.0, 99.9 % below 2.5)."""
UNSEEN = 3.0
"""Standard uncertainties by which a wrong tag may differ from the frame and still pass."""
WORST_ZOOM = 0.7
"""Log of the largest zoom, twofold, that a tag is suspected of where the frame tells nothing."""
WHOLE_SHAPES, TRIMMED_SHAPES = (4 / 3, 3 / 2), (16 / 9, 1.0)
"""Sides of whole sensors, and of what cameras trim them to by themselves, longer over shorter (practice)."""
SHAPE_SHARE = 0.006
"""Share by which a picture's sides may differ from them: programs round to whole blocks."""
TRIMMED_FOCAL, CUT_FOCAL = 0.10, 0.35
"""Standard uncertainty of a stated log focal length in a trimmed picture, 9 and 18 % from geometry, and in one that
somebody cut."""
CUT_CENTRE = 0.1
"""Standard deviation of the optical axis from the middle of a cut picture, as a share of its longer side."""

ROUND_ENOUGH = 0.2
"""Quality from which a round thing may be the coin that was named (drawn discs 0.9 and above, worn coins on real photos
0.5 to 0.8, what is not round below 0.2)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundThing:
    """Something round in the photo: its middle, its width and how clearly round it is. [px, px, 1]"""

    x_px: float
    y_px: float
    width_px: float
    quality: float


def check_one_round(things: Sequence[RoundThing]) -> None:
    """Refuse to choose the coin among several round things, where nobody said which it is.

    Raises
    ------
    ScaleUnreliable
        With the place of each, ready to be given back.
    """
    likely = [thing for thing in things if thing.quality >= ROUND_ENOUGH]
    if len(likely) < 2:
        return
    places = "; ".join(f"{one.x_px:.0f},{one.y_px:.0f} ({one.width_px:.0f} px wide)" for one in likely)
    raise ScaleUnreliable(
        f"{len(likely)} round things are in view, and any of them may be the coin.",
        remedy=f"Say which one it is: {places}.",
        fields={"mark_at": f"{likely[0].x_px:.0f},{likely[0].y_px:.0f}"},
        code="COIN_AMONG_OTHERS",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FocalReading:
    """Log of the focal length over the one believed before, as the frame alone reads it, and its uncertainty."""

    log_ratio: float
    sigma: float


def frame_tells(reading: FocalReading) -> bool:
    """Tell whether the frame says anything of the focal length: a level camera sees the same with every lens."""
    return reading.sigma < FRAME_TELLS


def agrees(reading: FocalReading, believed: float) -> bool:
    """Tell whether the frame's focal length is the one believed, known to ``believed`` as a share."""
    return abs(reading.log_ratio) <= AGREES * hypot(reading.sigma, believed)


def tag_contradicted(reading: FocalReading, believed: float) -> bool:
    """Tell whether the frame's own fit speaks against the stated focal length, which is known to ``believed``."""
    return frame_tells(reading) and abs(reading.log_ratio) > CONTRADICTS * hypot(reading.sigma, believed)


def focal_contradicted(log_ratio: float) -> Flag:
    """Return what is said where the frame's focal length was used instead of the file's."""
    way = "longer" if log_ratio > 0 else "shorter"
    return flag("FOCAL_LENGTH_DOUBTED", percent=100 * abs(expm1(log_ratio)), way=way)


def focal_left_open(reading: FocalReading, believed: float) -> float:
    """Return how far off, in logarithm, a stated focal length may be without the frame contradicting it."""
    return min(UNSEEN * hypot(reading.sigma, believed), WORST_ZOOM) if frame_tells(reading) else WORST_ZOOM


UNCHECKED_SHARE = 0.5
"""Of the expanded uncertainty, what a wrong tag may do untold: one standard uncertainty of all else fills the rest."""


def focal_unchecked(scale: PlaneScale, height_mm: float, area: Measured) -> tuple[Flag, ...]:
    """Return a note where a wrong tag that the frame cannot see may bring the area out of what is stated.

    Twice the height over that of the camera is what the height takes off the area; a focal length that is too long by
    a factor puts the camera too high by the same, and takes off too little.
    """
    share = 2.0 * height_mm / scale.camera.height_mm * expm1(scale.focal_open)
    if share * area.value <= UNCHECKED_SHARE * area.expanded_uncertainty:
        return ()
    return (flag("FOCAL_LENGTH_UNCHECKED", percent=100 * share),)


def shape_of(width_px: int, height_px: int) -> str:
    """Tell from its sides whether a picture is ``whole``, ``trimmed`` by the camera, or ``cut`` by somebody."""
    ratio = max(width_px, height_px) / min(width_px, height_px)
    for name, shapes in (("whole", WHOLE_SHAPES), ("trimmed", TRIMMED_SHAPES)):
        if any(abs(ratio / shape - 1.0) < SHAPE_SHARE for shape in shapes):
            return name
    return "cut"


def picture_cut(width_px: int, height_px: int) -> Flag:
    """Return what is said of a picture whose sides are no camera's."""
    return flag("PICTURE_CUT", ratio=max(width_px, height_px) / min(width_px, height_px))


RMS_LIMIT_PX = 0.35
"""Miss of the corners from which it is told (accuracy study: 0.3 px at most on sheets bent by up to 0.3 mm). [px]"""
LEVEL_PER_MISS = 20.0
"""Standard uncertainty of the level under a part over what the corners miss, from that limit on: a smooth fold hides in
the pose, and shows little of its height (folds of 1 to 2 mm and panoramas of the study of traps)."""


FLAT_MM, LEVEL_PER_BEND = 0.05, 1.0
"""Standard uncertainty of the level of a sheet whose corners show no bend [mm], and what the ridge or valley that they
show adds to it, as a share of its height (corners projected from 230 drawn sheets, 80 of them folded by 0.7 to 2 mm, 80
bent by up to 2 mm: twice this held 229 of the errors)."""


def level_spread_mm(camera: Camera, middle_mm: npt.NDArray[np.float64], bend_mm: float) -> float:
    """Return the standard uncertainty of the sheet's level that the corners' miss, and the bend in it, leave. [mm]"""
    level = float(np.hypot(FLAT_MM, LEVEL_PER_BEND * bend_mm))
    if camera.rms_px <= RMS_LIMIT_PX:
        return level
    return max(level, LEVEL_PER_MISS * camera.rms_px * camera.mm_per_px(middle_mm))


FEWEST_AGREE = 0.6
"""Share of the corners that must agree with one flat sheet: a stretched picture leaves two families of them."""


def check_corners_agree(agree: int, read: int) -> None:
    """Refuse a sheet of which many corners are read where no flat sheet has them.

    Raises
    ------
    ScaleUnreliable
        Below FEWEST_AGREE.
    """
    if agree < FEWEST_AGREE * read:
        raise ScaleUnreliable(
            f"Only {agree} of the {read} corners that can be read agree with one flat sheet.",
            remedy="Print the sheet at actual size, lay it flat, and use the original photo, not stretched or edited.",
            code="SHEET_NOT_FLAT",
        )


STRETCH_TOLD = 0.02
"""Log of the ratio of a print's two scales from which it is told: office printers keep to 1 % along each axis, so
1.4 % between them (practice)."""
STRETCH_SHARE = 0.5
"""Standard uncertainty along each axis, as a share of the ratio: the frame shows the ratio only, and the whole of it
may lie in one axis."""


def stretched_print(sheet_scale: SheetScale, ratio: float) -> tuple[SheetScale, tuple[Flag, ...]]:
    """Widen what is believed of a print that nobody measured to hold the stretch that the frame's own fit shows.

    Parameters
    ----------
    ratio : float
        Log of how much longer the print is along x than along y, as fitted.
    """
    least = STRETCH_SHARE * abs(ratio)
    shares = {name: (max(x, least), max(y, least)) for name, (x, y) in sheet_scale.shares.items()}
    told = (flag("PRINT_STRETCHED", percent=100 * abs(ratio)),) if abs(ratio) > STRETCH_TOLD else ()
    return SheetScale(x=sheet_scale.x, y=sheet_scale.y, shares=shares), told


def no_camera() -> ScaleUnreliable:
    """Return the refusal of a picture that no camera takes: the fit of one has no solution."""
    return ScaleUnreliable(
        "The marks in the picture fit no camera: it was squeezed, stretched or put together from several.",
        remedy="Use the original photo, not resized along one side only.",
        code="SQUEEZED",
    )
