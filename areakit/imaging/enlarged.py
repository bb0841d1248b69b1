"""How many times a picture was enlarged, told by what beats in it.

Enlarging puts new pixels between old ones, in places that repeat. Where one lies between two old ones their grain is
averaged, where it lies on one it is kept; and the blocks in which JPEG packed the smaller picture become so many times
as wide. So the change from pixel to pixel beats, along rows and columns alike, at whole multiples of one over the width
of such a block. A picture of neither grain nor blocks, or packed hard once more, keeps no trace of it.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.checks.photo import BLOCK

Floats = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]

LINES, LONGEST = 600, 8192
"""How many rows and columns are read, and how much of each; what is over is not needed. [px]"""
AT_ONCE = 50
"""Lines that are looked at at once: they stay in the processor's cache."""
GRAIN = 8.0
"""Most that one change counts, in stored values, since edges do not beat."""
SLOWEST, OWN_BLOCKS = 0.1, 0.003
"""Beats a pixel below which the squares of a marker frame beat too, and how near to those of a picture's own blocks one
is not told from them. [1/px]"""
LEAST, MOST = 1.1, 4.2
"""Enlargements that are looked for."""
CLEAR = 8.5
"""Strength of the beats, over what is usual beside them, from which an enlargement is believed: 92 photos as cameras
made them show 3 at most, a plate of regular dots 8, drawn ones 7; enlarged ones of usual packing 9 to 50."""


def enlargement(pixels: Bytes) -> float:
    """Return how many times a picture was enlarged, 1 where nothing tells that it was.

    Of several that beat as strongly the least is taken: twice and a half beats like two thirds more.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (height, width, 3)
    """
    times, strength = likely(pixels)
    return times if strength >= CLEAR else 1.0


def likely(pixels: Bytes) -> tuple[float, float]:
    """Return the enlargement whose beats are the strongest, and how strong they are."""
    ways = [[_beats(change) for change in _changes(lines)] for lines in (_rows(pixels), _columns(pixels))]
    beats = np.max(np.min(ways, axis=0), axis=0)
    times = np.exp(np.arange(np.log(LEAST), np.log(MOST), 1e-3))
    rates = np.arange(1, BLOCK + 1) / (BLOCK * times[:, None])
    rates = np.minimum(rates, 1.0 - rates)  # what beats faster than half a pixel is seen to beat slower
    told = (rates > SLOWEST) & (np.abs(rates - np.rint(rates * BLOCK) / BLOCK) > OWN_BLOCKS)
    weight = told * np.where(np.arange(1, BLOCK + 1) == BLOCK, 1.5, 1.0)  # grain beats once a pixel of old
    strength = (beats[np.rint(rates * LONGEST).astype(int)] * weight).sum(axis=1) / np.maximum(weight.sum(axis=1), 1.0)
    first = int(np.argmax(strength > 0.9 * strength.max()))
    best = first + int(np.argmax(strength[first : first + 8]))
    return float(times[best]), float(strength[best])


def _rows(pixels: Bytes) -> Bytes:
    """Return the green of rows spread over a picture, shape (rows, length)."""
    return np.ascontiguousarray(pixels[_spread(len(pixels)), :LONGEST, 1])


def _columns(pixels: Bytes) -> Bytes:
    """Return the green of columns spread over a picture, shape (columns, length)."""
    row_by_row = pixels[:LONGEST].reshape(min(len(pixels), LONGEST), -1)  # read in the order in which it lies
    return np.asarray(cv2.transpose(row_by_row.take(3 * _spread(pixels.shape[1]) + 1, axis=1)), dtype=np.uint8)


def _spread(size: int) -> npt.NDArray[np.intp]:
    """Return which of so many lines are read: in pairs, since a colour mosaic alternates."""
    first = np.linspace(0, size - 2, min(size, LINES) // 2).astype(int) // 2 * 2
    return np.stack([first, first + 1], axis=1).ravel()


def _changes(lines: Bytes) -> list[Floats]:
    """Return the mean size of first and of second differences along lines, shapes (length - 1,) and (length - 2,)."""
    total = [np.zeros(lines.shape[1] - order) for order in (1, 2)]
    for start in range(0, len(lines), AT_ONCE):
        change = lines[start : start + AT_ONCE].astype(np.int16)
        for sums in total:
            change = np.diff(change)
            _, size = cv2.threshold(np.abs(change), GRAIN, 0, cv2.THRESH_TRUNC)
            sums += cv2.reduce(size, 0, cv2.REDUCE_SUM, dtype=cv2.CV_32F)[0]
    return [sums / len(lines) for sums in total]


def _beats(change: Floats) -> Floats:
    """Return how strongly the mean change along lines, shape (n,), beats at each rate, over what is usual near it."""
    usual = np.convolve(change, np.full(17, 1.0 / 17.0), mode="same")
    beat = np.clip(change / np.maximum(usual, 1e-3) - 1.0, -0.3, 0.3) * np.hanning(len(change))
    strength = np.abs(np.fft.rfft(beat, n=LONGEST))
    level = np.median(strength[1:].reshape(-1, 64), axis=1).repeat(64)
    wide = np.pad(strength[1:] / np.maximum(level, 1e-9), (3, 2), mode="edge")
    return np.asarray(np.max([wide[i : i + len(strength)] for i in range(5)], axis=0))
