"""A small frame of a camera, judged while somebody aims: is the frame in view, is the part inside, is it sharp."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.photo import Photo, overview
from areakit.imaging.sharpness import softness_px
from areakit.imaging.sight import Sight, look

MOST_TILT_DEG, LEAST_SHARE, MOST_SOFT_PX = 20.0, 0.5, 1.8
"""How steep the camera may look, how much of the frame's longer side the mark must fill, how soft edges may be.

Common practice, no source: the measurement has limits of its own and decides again on the photo itself.
"""
BURNT_LIGHT, MOST_BURNT = 250, 0.06
"""From which value on a pixel is burnt out, and which share of a part may be. [sRGB]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What a frame shows, and which conditions of a good photo hold: frame, tilt, distance, part, sharp, glare."""

    seen: Sight
    holds: Mapping[str, bool]


def judge(photo: Photo) -> Aim:
    """Return what can be said of a frame; nothing is refused, since the next frame follows at once."""
    seen = look(photo, quick=True)
    return Aim(seen=seen, holds=dict(_conditions(photo, seen)))


def _conditions(photo: Photo, seen: Sight) -> Iterator[tuple[str, bool]]:
    found = seen.scale is not None and bool(seen.mark_px)
    yield "frame", found and _is_inside(seen.mark_px[0], photo)
    yield "tilt", seen.scale is not None and seen.scale.camera.tilt_deg <= MOST_TILT_DEG
    yield "distance", found and _fills(seen.mark_px[0], photo) >= LEAST_SHARE
    yield "part", bool(seen.whole_px) and not seen.crossing_px
    yield "sharp", found and softness_px(photo, overview(photo)) <= MOST_SOFT_PX
    yield "glare", not seen.whole_px or _burnt(photo, seen) <= MOST_BURNT


def _is_inside(frame: npt.NDArray[np.float64], photo: Photo) -> bool:
    """Whether the whole mark is in the frame; a part of it is enough to know where the rest lies."""
    return bool((frame >= 0).all() and (frame <= (photo.width_px, photo.height_px)).all())


def _fills(frame: npt.NDArray[np.float64], photo: Photo) -> float:
    """Return the longer side of the mark over that of the frame."""
    return float(np.max(np.ptp(frame, axis=0))) / max(photo.width_px, photo.height_px)


def _burnt(photo: Photo, seen: Sight) -> float:
    """Return the share of the parts that is burnt out."""
    inside = np.zeros(photo.pixels.shape[:2], np.uint8)
    cv2.fillPoly(inside, [np.round(frame).astype(np.int32) for frame in seen.whole_px], 1)
    return float((photo.pixels[inside > 0].min(axis=1) >= BURNT_LIGHT).mean()) if inside.any() else 0.0
