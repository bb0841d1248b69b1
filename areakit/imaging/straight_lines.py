"""Thin straight lines in a face: voted for by the ridges of its light, each for the lines that may run along it."""

from __future__ import annotations

import math

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
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


Lines = list[tuple[float, float]]
"""Direction of the normal, and distance from the origin, of each."""


def seen_lines(light: Singles, face: Flags, shortest_px: int) -> tuple[Lines, Lines]:
    """Return the dark and the bright lines of which most was seen.

    Parameters
    ----------
    light : ndarray, shape (h, w)
        Log light.
    face : ndarray of bool, shape (h, w)
        Where it is looked at.
    shortest_px : int
        Length below which a line does not count.
    """
    middle = light.shape[1] // 2, light.shape[0] // 2  # from there lines are half as far as from a corner
    reach = int(np.hypot(*light.shape) / 2) + 2
    length = _lengths(face, DIRECTIONS, reach, middle)
    weight, long = np.float32(1.0) / (length + np.float32(shortest_px)), (length > shortest_px).astype(np.float32)
    found = []
    for strength, normal in _ridges(light):
        votes = _votes(_strong(strength, face), normal, DIRECTIONS, reach, middle)
        lines = _peaks(cv2.blur(votes, (3, 1)) * weight, long, DIRECTIONS)
        found.append([(a, away + middle[0] * math.cos(a) + middle[1] * math.sin(a)) for a, away in lines])
    return found[0], found[1]


def _strong(strength: Singles, face: Flags) -> Flags:
    """Tell which ridges stand out of the usual noise of a face (0.6745: median of a normal deviate's size)."""
    usual = float(np.median(np.abs(strength[face]))) / 0.6745
    return np.asarray(face & (strength > RIDGE * usual))


def _votes(strong: Flags, normal: Singles, angles: Floats, reach: int, middle: tuple[int, int] = (0, 0)) -> Singles:
    """Count the ridges that may lie on each line, three for each, by direction and distance, shape (n, 2 reach + 1)."""
    rows, columns = np.nonzero(strong)
    own = np.rint(normal[rows, columns] / TURN).astype(np.intp) % len(angles)
    width, near = 2 * reach + 1, np.arange(-SPREAD, SPREAD + 1)
    # What each direction makes of a column and of a row, and where its votes begin, for it and those beside it.
    index = (np.arange(len(angles))[:, None] + near) % len(angles)
    across, down = (part[index].astype(np.float32)[own] for part in (np.cos(angles), np.sin(angles)))
    across *= (columns - middle[0])[:, None].astype(np.float32)
    down *= (rows - middle[1])[:, None].astype(np.float32)
    across += down
    line = np.rint(across).astype(np.intp)
    line += (index * width + reach)[own]
    votes = np.bincount(line.ravel(), minlength=len(angles) * width).reshape(len(angles), width)
    return np.multiply(votes, np.float32(3.0), dtype=np.float32)


def _lengths(face: Flags, angles: Floats, reach: int, middle: tuple[int, int] = (0, 0)) -> Singles:
    """Return how much of each line lies in a face, by direction and distance, shape (n, 2 reach + 1). [px]"""
    rows, columns = np.nonzero(face[::COARSE, ::COARSE])
    across, down = COARSE * columns - middle[0], COARSE * rows - middle[1]
    toward = np.stack([np.cos(angles), np.sin(angles)]).astype(np.float32)
    width = 2 * reach + 1
    index = np.rint(toward.T @ np.stack([across, down]).astype(np.float32)).astype(np.intp)
    index += np.arange(len(angles))[:, None] * width + reach
    pixels = np.bincount(index.ravel(), minlength=len(angles) * width).reshape(len(angles), width)
    return np.asarray(cv2.blur(COARSE**2 * pixels.astype(np.float32), (2 * COARSE, 1)), dtype=np.float32)


def _peaks(share: Singles, long: Singles, angles: Floats) -> Lines:
    """Return the lines that were seen much more than those parallel to them.

    Parameters
    ----------
    share, long : ndarray, shape (n, 2 reach + 1)
        What was seen of each line, and 1 where it is long enough to count, else 0.
    """
    last = share.shape[1] - 1
    count = np.maximum(long.sum(axis=1), np.float32(1.0))
    height = share - (np.einsum("ij,ij->i", share, long) / count)[:, None]
    height *= long
    spread = np.sqrt(np.einsum("ij,ij->i", height, height) / count)
    height /= (spread + np.float32(SHARE_SPREAD))[:, None]
    found, turn, beside = [], np.arange(-8, 9), np.arange(-6, 7)
    for _ in range(CANDIDATES):
        i, j = (int(one) for one in np.unravel_index(int(np.argmax(height)), height.shape))
        if height[i, j] <= 0.0:
            break
        found.append((float(angles[i]), float(j - (last + 1) // 2)))
        turned = i + turn  # a line by one direction more or less crosses the same metal
        middle = np.where((turned >= 0) & (turned < len(angles)), j, last - j)[:, None]
        height[turned[:, None] % len(angles), np.clip(middle + beside, 0, last)] = 0.0
    return found


def _ridges(light: Singles) -> tuple[tuple[Singles, Singles], tuple[Singles, Singles]]:
    """Return how strongly light rises, and how strongly it falls, to both sides across each pixel; and which way each.

    The directions go from 0 to pi.
    """
    soft = cv2.GaussianBlur(light, (0, 0), 1.0)
    xx, yy, xy = (cv2.Sobel(soft, cv2.CV_32F, dx, dy, ksize=3) for dx, dy in ((2, 0), (0, 2), (1, 1)))
    half, away = (xx + yy) / 2, xx - yy
    spread = np.sqrt((away / 2) ** 2 + xy**2)
    direction = np.asarray(np.mod(0.5 * np.arctan2(2.0 * xy, away), np.pi), dtype=np.float32)
    turned = np.asarray(np.mod(direction + np.pi / 2, np.pi), dtype=np.float32)
    rises, falls = (np.asarray(strength, dtype=np.float32) for strength in (half + spread, spread - half))
    return (rises, direction), (falls, turned)
