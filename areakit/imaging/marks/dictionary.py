"""The bits of the coded markers."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import RangeError
from areakit.imaging.marks.ring_layout import DICTIONARY

MODULES = 7
"""Modules along one side of a marker: five bits and the black border."""


@cache
def marker_bits(marker_id: int) -> npt.NDArray[np.bool_]:
    """Return the modules of a marker, border included, True for black, shape (7, 7).

    Raises
    ------
    RangeError
        If the dictionary has no such marker.
    """
    if not 0 <= marker_id < 100:
        raise RangeError(f"There is no marker number {marker_id}.", remedy="Choose a number from 0 to 99.")
    table = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    bits: npt.NDArray[np.bool_] = np.asarray(table.generateImageMarker(marker_id, MODULES)) == 0
    bits.flags.writeable = False
    return bits
