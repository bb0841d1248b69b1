"""The bit patterns of the coded markers, as every decoder of the dictionary knows them."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import RangeError
from areakit.imaging.marks.frame_layout import DICTIONARY

MODULES = 7
"""Modules along one side of a marker: 5 bits and a black border one module wide on each side."""


@cache
def dictionary() -> cv2.aruco.Dictionary:
    """Return the dictionary that the sheets' markers come from."""
    return cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))


@cache
def marker_bits(marker_id: int) -> npt.NDArray[np.bool_]:
    """Return the modules of one marker, black border included, first row on top.

    Parameters
    ----------
    marker_id : int
        Number of the marker in the dictionary.

    Returns
    -------
    ndarray of bool, shape (7, 7)
        True where the module is black. Read-only.

    Raises
    ------
    RangeError
        If the dictionary has no such marker.
    """
    known = len(dictionary().bytesList)
    if not 0 <= marker_id < known:
        raise RangeError(
            f"There is no marker number {marker_id} in {DICTIONARY}.", remedy=f"Use a number from 0 to {known - 1}."
        )
    black: npt.NDArray[np.bool_] = dictionary().generateImageMarker(marker_id, MODULES, borderBits=1) == 0
    black.setflags(write=False)
    return black
