"""Thin straight lines in a face: voted for by the ridges of its light, each for the lines that may run along it."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Counts = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]

RIDGE = 1.5
"""Strength of a ridge over the usual one from which it votes."""
TURN = np.radians(0.5)
"""Step between the directions that are voted for; a ridge votes for SPREAD to either side of its own."""
SPREAD = 14
DIRECTIONS = np.arange(round(np.pi / TURN)) * TURN
CANDIDATES = 8
"""How many lines are returned at most."""
COARSE = 4
"""Lengths of lines in the part are counted on every fourth pixel."""
SHARE_SPREAD = 0.05
"""Spread of the share that was seen of parallel lines, below which no difference between them counts."""


def seen_lines(
    light: Singles, face: Flags, *, shortest_px: int, length: Singles | None = None
) -> list[tuple[float, float]]:
    """Return direction of the normal and distance from the origin of the dark lines of which most was seen.

    Parameters
    ----------
    light : ndarray, shape (h, w)
        Log light.
    face : ndarray of bool, shape (h, w)
        Where it is looked at.
    shortest_px : int
        Length below which a line does not count.
    length : ndarray or None
        What :func:`lengths` says of the face, where it is known.
    """
    strength, normal = _ridges(light)
    reach = int(np.hypot(*light.shape)) + 1
    angles = DIRECTIONS
    votes = _votes(_strong(strength, face), normal, angles, reach)
    length = lengths(face) if length is None else length
    seen = cv2.blur(3.0 * votes.astype(np.float32), (3, 1))
    share = np.asarray(seen / (length + shortest_px), dtype=np.float32)
    return _peaks(share, np.asarray(length > shortest_px), angles, reach)


def _strong(strength: Singles, face: Flags) -> Flags:
    """Tell which ridges stand out of the usual noise of a face (0.6745: median of a normal deviate's size)."""
    usual = float(np.median(np.abs(strength[face]))) / 0.6745
    return np.asarray(face & (strength > RIDGE * usual))


def _votes(strong: Flags, normal: Singles, angles: Floats, reach: int) -> Counts:
    """Count the ridges that may lie on each line, by direction and distance, shape (n, 2 reach + 1)."""
    rows, columns = np.nonzero(strong)
    own = np.rint(normal[strong] / TURN).astype(np.int32)
    width = 2 * reach + 1
    index = (own + np.arange(-SPREAD, SPREAD + 1, dtype=np.int32)[:, None]) % len(angles)
    place = columns * np.cos(angles)[index] + rows * np.sin(angles)[index]
    line = (index * width + reach) + np.rint(place).astype(np.int32)
    return np.bincount(line.ravel(), minlength=len(angles) * width).reshape(len(angles), width)


def lengths(face: Flags) -> Singles:
    """Return how much of each line lies in a face, by direction and distance, in the order of the votes. [px]"""
    return _lengths(face, DIRECTIONS, int(np.hypot(*face.shape)) + 1)


def _lengths(face: Flags, angles: Floats, reach: int) -> Singles:
    """Return how much of each line lies in a face, by direction and distance, shape (n, 2 reach + 1). [px]"""
    down, across = (COARSE * axis for axis in np.nonzero(face[::COARSE, ::COARSE]))
    toward = np.stack([np.cos(angles), np.sin(angles)])
    place = np.rint(toward.T @ np.stack([across, down])).astype(int) + reach
    width = 2 * reach + 1
    index = np.arange(len(angles))[:, None] * width + place
    pixels = np.bincount(index.ravel(), minlength=len(angles) * width).reshape(len(angles), width)
    return np.asarray(cv2.blur(COARSE**2 * pixels.astype(np.float32), (2 * COARSE, 1)), dtype=np.float32)


def _peaks(share: Singles, long: Flags, angles: Floats, reach: int) -> list[tuple[float, float]]:
    """Return the lines that were seen much more than those parallel to them."""
    count = np.maximum(long.sum(axis=1, keepdims=True), 1)
    mean = np.where(long, share, 0.0).sum(axis=1, keepdims=True) / count
    spread = np.sqrt(np.where(long, (share - mean) ** 2, 0.0).sum(axis=1, keepdims=True) / count)
    height = np.where(long, (share - mean) / (spread + SHARE_SPREAD), 0.0)
    found = []
    for _ in range(CANDIDATES):
        i, j = (int(one) for one in np.unravel_index(int(np.argmax(height)), height.shape))
        if height[i, j] <= 0.0:
            break
        found.append((float(angles[i]), float(j - reach)))
        for turn in range(-8, 9):  # a line by one direction more or less crosses the same metal
            k = i + turn
            middle = j if 0 <= k < len(angles) else 2 * reach - j
            height[k % len(angles), max(middle - 6, 0) : middle + 7] = 0.0
    return found


def _ridges(light: Singles) -> tuple[Singles, Singles]:
    """Return how strongly light rises to both sides across each pixel, and the direction of that rise, 0 to pi."""
    soft = cv2.GaussianBlur(light, (0, 0), 1.0)
    xx, yy, xy = (cv2.Sobel(soft, cv2.CV_32F, dx, dy, ksize=3) for dx, dy in ((2, 0), (0, 2), (1, 1)))
    half, spread = (xx + yy) / 2, np.sqrt(((xx - yy) / 2) ** 2 + xy**2)
    direction = np.mod(0.5 * np.arctan2(2.0 * xy, xx - yy), np.pi)
    return np.asarray(half + spread, dtype=np.float32), np.asarray(direction, dtype=np.float32)
