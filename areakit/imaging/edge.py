"""Locate edges below a pixel: half level, in linear light, on raw pixels, along the pixel axis nearest the normal.

Nothing is resampled: each profile is a run of whole pixels in one row or column, and the point that comes back lies in
that row or column.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]

LUMINANCE = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
"""Weights of linear red, green and blue in luminance (IEC 61966-2-1, sRGB)."""


@cache
def linear_table() -> Singles:
    """Return linear light, 0 to 1, of each encoded byte, shape (256,) (IEC 61966-2-1)."""
    encoded = np.arange(256) / 255.0
    linear = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    table = linear.astype(np.float32)
    table.setflags(write=False)
    return table


@dataclass(frozen=True, slots=True, kw_only=True)
class Profiles:
    """Runs of pixels across an edge, from inside to outside.

    Parameters
    ----------
    raw : ndarray of uint8, shape (n, m, 3)
        Red, green, blue as stored in the photo.
    start_px : ndarray, shape (n, 2)
        Pixel of the first value.
    step_px : ndarray, shape (n, 2)
        Whole-pixel step from one value to the next.
    across : ndarray, shape (n,)
        Cosine between step and normal: how much of a step goes across the edge.
    inside_frame : ndarray of bool, shape (n,)
    """

    raw: Bytes
    start_px: Floats
    step_px: Floats
    across: Floats
    inside_frame: Flags

    @property
    def linear(self) -> Singles:
        """Linear red, green, blue, shape (n, m, 3), 0 to 1."""
        return np.asarray(cv2.LUT(self.raw, linear_table()), dtype=np.float32)

    @property
    def encoded(self) -> Singles:
        """Red, green, blue as stored in the photo, where noise is about even, shape (n, m, 3), 0 to 1."""
        return self.raw * np.float32(1.0 / 255.0)


def read_profiles(pixels: Bytes, points_px: Floats, normals: Floats, half: int, *, only: int | None = None) -> Profiles:
    """Read ``2 half + 1`` raw pixels through each point, or only so many of them, from the inside.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (height, width, 3)
    points_px, normals : ndarray, shape (n, 2)
        Where to look, and the unit normal that points outside.
    """
    height, width = pixels.shape[:2]
    level = np.abs(normals[:, 0]) >= np.abs(normals[:, 1])
    main = np.where(level, normals[:, 0], normals[:, 1])
    other = np.where(level, normals[:, 1], normals[:, 0])
    main_px = np.where(level, points_px[:, 0], points_px[:, 1])
    beside = np.where(level, points_px[:, 1], points_px[:, 0])
    main = np.where(main == 0.0, 1.0, main)  # a ring shrunk to a point has no normal
    row = np.rint(beside)
    middle = np.rint(main_px - (row - beside) * other / main)  # slide along the edge to the middle of a row
    sign = np.sign(main).astype(int)
    last, across_last = np.where(level, width - 1, height - 1), np.where(level, height - 1, width - 1)
    fits = (middle >= half) & (middle <= last - half) & (row >= 0) & (row <= across_last)
    steps = np.arange(-half, half + 1)[:only]
    row = np.clip(row, 0, across_last).astype(int)
    # Counted through the photo as one long row of pixels, which is read faster than by row and column.
    along, aside = np.where(level, 1, width), np.where(level, width, 1)
    first = middle.astype(int) - sign * half
    if fits.all():
        place = (middle.astype(int) * along + row * aside)[:, None] + (sign * along)[:, None] * steps
    else:
        first = np.clip(first, 0, last)
        run = np.clip(middle.astype(int)[:, None] + sign[:, None] * steps, 0, last[:, None])
        place = run * along[:, None] + (row * aside)[:, None]
    start = np.stack([first, row], axis=1).astype(float)
    step = np.stack([sign, np.zeros_like(sign)], axis=1)
    return Profiles(
        raw=pixels.reshape(-1, 3).take(place, axis=0),
        start_px=np.where(level[:, None], start, start[:, ::-1]),
        step_px=np.where(level[:, None], step, step[:, ::-1]),
        across=np.abs(main),
        inside_frame=fits,
    )


def steepest(signal: Singles) -> tuple[npt.NDArray[np.intp], Singles]:
    """Return the index after which each row of ``signal``, shape (n, m), changes fastest, and how fast it changes."""
    slope = signal[:, 1:] - signal[:, :-1]
    smooth = slope.copy()
    smooth[:, 1:-1] = 0.25 * slope[:, :-2] + 0.5 * slope[:, 1:-1] + 0.25 * slope[:, 2:]
    strength = np.abs(smooth)
    where = strength.argmax(axis=1)
    return where, strength[np.arange(len(signal)), where]


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossings:
    """Where each profile crosses half level.

    Parameters
    ----------
    position : ndarray, shape (n,)
        In steps from the start of the profile.
    inner, outer : ndarray, shape (n,)
        Levels on both sides.
    sigma_px : ndarray, shape (n,)
        Softness of the edge across its normal, as the standard deviation of a Gaussian. [px]
    found : ndarray of bool, shape (n,)
    """

    position: Floats
    inner: Floats
    outer: Floats
    sigma_px: Floats
    found: Flags


def half_level(signal: Singles, centre: npt.NDArray[np.intp], *, near: int, far: int, smooth: int) -> Crossings:
    """Find the half-level crossing nearest to ``centre`` in each row.

    Parameters
    ----------
    signal : ndarray, shape (n, m)
        Rows follow each other along a closed outline.
    centre : ndarray, shape (n,)
        Index before the steepest change.
    near, far : int
        The levels are means over the samples ``near`` to ``far`` steps away on either side.
    smooth : int
        Levels are averaged over ``2 smooth + 1`` neighbours along the outline.
    """
    rows = np.arange(len(signal))
    flat, starts, last = signal.ravel(), (rows * signal.shape[1])[:, None], signal.shape[1] - 1

    def level(steps: npt.NDArray[np.intp]) -> Singles:
        sides = flat.take(starts + np.clip(centre[:, None] + steps, 0, last))
        return _round_mean(sides @ np.full(len(steps), 1.0 / len(steps), dtype=np.float32), smooth)

    reach = np.arange(near, far + 1)
    inner, outer = level(1 - reach), level(reach)
    middle = (inner + outer) / 2
    window = np.arange(-near, near + 2)
    index = np.clip(centre[:, None] + window, 0, last - 1)
    here, there = (flat.take(starts + at) - middle[:, None] for at in (index, index + 1))
    crosses = (here * there <= 0) & (here != there)
    distance = np.where(crosses, np.abs(window - 0.0), np.inf)
    best = distance.argmin(axis=1)
    found = np.isfinite(distance[rows, best])
    low, high = here[rows, best], there[rows, best]
    rise = np.where(found, high - low, 1.0)
    position = index[rows, best] + np.where(found, -low / rise, 0.5)
    contrast = np.abs(outer - inner)
    slope = np.maximum(np.abs(rise), 1e-6)
    return Crossings(
        position=position.astype(float),
        inner=inner.astype(float),
        outer=outer.astype(float),
        sigma_px=(contrast / (slope * np.sqrt(2 * np.pi))).astype(float),
        found=found,
    )


def _round_mean(values: Singles, reach: int) -> Singles:
    """Average over neighbours along a closed outline."""
    if reach == 0 or len(values) <= 2 * reach + 1:
        return values
    wrapped = np.concatenate([values[-reach:], values, values[:reach]])
    summed = np.concatenate([[0.0], np.cumsum(wrapped, dtype=np.float64)])
    return np.asarray((summed[2 * reach + 1 :] - summed[: -(2 * reach + 1)]) / (2 * reach + 1), dtype=np.float32)
