"""Checks of the file and the picture, before or beside the scale: compression, motion, mirroring."""

from __future__ import annotations

from functools import cache
from math import sqrt

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import FileError, MarkNotFound, ScaleUnreliable
from areakit.flags import Flag, flag
from areakit.imaging.blur import Blur

Bytes = npt.NDArray[np.uint8]

MIRRORED_MARKERS = 4
"""Markers of one sheet seen in the mirror from which the picture was flipped: no other thing shows even one (mirrored
scenes of the study of traps: 9 to 21)."""


def check_not_mirrored(markers: int) -> None:
    """Refuse a flipped picture, told by the markers of the sheet: they are read in a mirror only.

    Parameters
    ----------
    markers : int
        How many markers are read in the mirrored picture, where too few are read in the picture itself.

    Raises
    ------
    MarkNotFound
        From MIRRORED_MARKERS on.
    """
    if markers >= MIRRORED_MARKERS:
        raise MarkNotFound(
            f"This photo is mirrored: {markers} marks of a scale sheet can be read in a mirror only.",
            remedy="Use the original photo, or flip it back.",
            code="MIRRORED",
        )


MOTION_PX, MOTION_REFUSED_PX = 4.0, 7.0
"""Length of a motion during exposure from which it is told, and refused (study of traps: outlines read over motions of
9 to 15 px were wrong by up to 5 % in half of the photos; from 2 to 7 px all held what is stated)."""
BOX = 3.0
"""Length of an even motion over the root of the variance that half-level edges show of it (drawn motions of 6 to 15 px:
2.8 to 3.2)."""


def motion_px(blur: Blur) -> float:
    """Return how far the picture moved while the shutter was open: what blurs one way and not the other."""
    return BOX * sqrt(max(blur.longest_px**2 - blur.shortest_px**2, 0.0))


def check_motion(blur: Blur | None) -> tuple[Flag, ...]:
    """Refuse a photo that was shaken, told by the squares of the sheet; say so of one that was shaken a little.

    Raises
    ------
    ScaleUnreliable
        From MOTION_REFUSED_PX on.
    """
    length = motion_px(blur) if blur is not None else 0.0
    if blur is None or length < MOTION_PX:
        return ()
    if length >= MOTION_REFUSED_PX:
        raise ScaleUnreliable(
            f"The photo was shaken: it is smeared by {length:.0f} px at {blur.direction_deg:.0f}° to the horizontal; "
            f"up to {MOTION_REFUSED_PX:.0f} px can be measured.",
            remedy="Rest the camera on something or use its self-timer, in more light, and take the photo again.",
            code="MOTION_BLUR",
        )
    return (flag("MOTION_BLUR", length_px=length, direction_deg=blur.direction_deg),)


BLOCK = 8
"""Side of the blocks in which JPEG packs a picture (ITU-T T.81, A.3.1). [px]"""
STEPS = np.arange(12, 256)
BORDER, FAINT = 1.15, 0.03
"""Change across the borders of blocks over that inside from which blocks show (qualities up to 50: 1.9 and more, 1.2 in
a soft picture that was saved again; pictures without blocks 1.0), and least difference, in stored values."""
COMB = 0.6
"""Share of the blocks' means that must keep to whole steps (study of traps: 0.8 and more at qualities up to 50, saved
again or not; real photos and finer files 0.43 at most)."""
COARSE_STEP, STEP_REFUSED = 12, 30
"""Step of the blocks' means, in the file's own units, from which it is told, and refused: qualities of about 65 and 27
(ITU-T T.81, table K.1: 16 at quality 50)."""
EDGE_STEP = 5.0
"""Step at which compression leaves as much of an edge open as all else does (study of traps, qualities 30 to 60)."""
RARE = 12
"""How often one mean may count: a plain ground has thousands of equal blocks, which say nothing of steps."""


def packing_step(pixels: Bytes) -> int:
    """Return the step to which a JPEG rounded the means of its blocks, 0 where it is finer than the finest looked for.

    The means of blocks of 8 by 8 pixels keep to whole steps even where a picture was saved again at high quality.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (height, width, 3)
    """
    left, top = (_first_border(pixels[..., 1], axis) for axis in (1, 0))
    if left is None or top is None:
        return 0
    down, across = (pixels.shape[0] - top) // BLOCK, (pixels.shape[1] - left) // BLOCK
    if min(down, across) < BLOCK:
        return 0
    starts = range(top, top + BLOCK * down, BLOCK * max(1, down // 64))
    rows = (pixels[start : start + BLOCK, left : left + BLOCK * across].reshape(BLOCK, -1) for start in starts)
    sums = np.concatenate([cv2.reduce(row, 0, cv2.REDUCE_SUM, dtype=cv2.CV_32F)[0] for row in rows])
    luma = sums.reshape(-1, 3 * BLOCK).astype(float) @ np.tile([0.299, 0.587, 0.114], BLOCK)
    level = np.rint(luma / BLOCK - BLOCK * 128.0).astype(int)
    weight = np.minimum(np.bincount(level + 1024, minlength=2049), RARE).astype(np.float32)
    comb = np.abs(_waves() @ weight) / weight.sum()
    kept = STEPS[comb > COMB]
    return int(kept.max()) if len(kept) else 0


@cache
def _waves() -> npt.NDArray[np.complex64]:
    """Return a wave over all means for each step, shape (steps, 2049)."""
    return np.asarray(np.exp(2j * np.pi * (np.arange(2049) - 1024) / STEPS[:, None]), dtype=np.complex64)


def _first_border(green: Bytes, axis: int) -> int | None:
    """Return the first column (axis 1) or row (axis 0) at which a block begins, or None where no blocks show."""
    some = np.ascontiguousarray(green[:: 2 * BLOCK] if axis == 1 else green[:, :: 2 * BLOCK])
    lines = np.asarray(some if axis == 1 else cv2.transpose(some))  # read in the order in which it lies
    _, step = cv2.threshold(cv2.absdiff(lines[:, 1:], lines[:, :-1]), BLOCK // 2, 0, cv2.THRESH_TRUNC)
    change = np.asarray(cv2.reduce(step, 0, cv2.REDUCE_AVG, dtype=cv2.CV_32F)[0])
    phases = change[: len(change) // BLOCK * BLOCK].reshape(-1, BLOCK).mean(axis=0)
    border = int(np.argmax(phases))
    if phases[border] < BORDER * np.delete(phases, border).mean() + FAINT:
        return None
    return (border + 1) % BLOCK


def coarseness(step: int) -> float:
    """Return how many times as much an edge is open in a picture whose blocks keep to steps, as against a fine one."""
    return max(1.0, step / EDGE_STEP)


def check_packing(step: int, label: str) -> tuple[Flag, ...]:
    """Refuse a picture that was packed so tightly that its edges are made up; say so of one that was packed tightly.

    Raises
    ------
    FileError
        From STEP_REFUSED on.
    """
    if step >= STEP_REFUSED:
        raise FileError(
            f"{label} is compressed too much: its brightness comes in steps of {step / BLOCK:.0f} of 256; up to "
            f"{STEP_REFUSED / BLOCK:.0f} can be measured.",
            remedy="Use the original file from the camera, or send it as a file instead of a picture.",
            code="COMPRESSED",
        )
    return (flag("COMPRESSED", step=step / BLOCK),) if step >= COARSE_STEP else ()
