"""Pixels of a JPEG, decoded strictly: what a viewer would paper over in a damaged file is refused here.

Pillow shows a JPEG whose data no longer fit together without a word; an area measured in it would be wrong. The
decoder here (libjpeg-turbo through simplejpeg) tells of it, gives the same pixels, and spares one copy of them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from areakit.errors import FileError

MOST_SCANS = 40
"""Passes over the picture in one file; a progressive JPEG has about ten, a hostile one thousands."""
_START_OF_SCAN = b"\xff\xda"
_OPEN_AND_SAVE = (
    "Copy the original file from the camera again. If that does not help, open it in a photo program, see that it is "
    "whole, and save it as a new file."
)


def check_scans(data: bytes, label: str) -> None:
    """Raise FileError for a file that would be decoded over and over."""
    scans = data.count(_START_OF_SCAN)
    if scans > MOST_SCANS:
        raise FileError(f"{label} has {scans} scans; the limit is {MOST_SCANS}.", remedy=_OPEN_AND_SAVE)


def decode_jpeg(data: bytes, label: str) -> npt.NDArray[np.uint8]:
    """Return the pixels of a colour JPEG as stored, shape (height, width, 3).

    Raises
    ------
    FileError
        If it is cut short or damaged.
    """
    import simplejpeg

    try:
        pixels = simplejpeg.decode_jpeg(data, "RGB", fastdct=False, fastupsample=False)
    except ValueError as error:
        short = "premature end of jpeg" in str(error).lower()
        what = (
            "is cut short: the end of the picture is missing" if short else "is damaged: its data do not fit together"
        )
        raise FileError(f"{label} {what}.", remedy=_OPEN_AND_SAVE) from None
    return np.asarray(pixels, dtype=np.uint8)


def turned_upright(pixels: npt.NDArray[np.uint8], orientation: int) -> npt.NDArray[np.uint8]:
    """Return the pixels turned as the EXIF tag Orientation (JEITA CP-3451, 4.6.4) asks; other values change nothing."""
    import cv2

    if orientation in {5, 6, 7, 8}:
        pixels = np.asarray(cv2.transpose(pixels), dtype=np.uint8)
    flip = {2: 1, 3: -1, 4: 0, 6: 1, 7: -1, 8: 0}.get(orientation)
    return pixels if flip is None else np.asarray(cv2.flip(pixels, flip), dtype=np.uint8)
