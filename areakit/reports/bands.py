"""Colour bands for maps: the ramp, round steps, and rasters as compact SVG paths.

The ramp grows steadily darker, so that its order can be read in grey print and without colour vision.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from areakit.plating.distribution import ThicknessMap

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]

RAMP_RGB = (
    (253, 245, 205),
    (201, 226, 160),
    (118, 195, 163),
    (56, 150, 168),
    (44, 98, 152),
    (55, 51, 121),
    (33, 15, 60),
)
STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
MOST_BANDS = 9
ROW_HEIGHT = 1.06
"""Rows of cells overlap a little, so that no background shows between them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bands:
    """Lower limits of the bands, thin to thick, and their colours; the last band is open."""

    limits: tuple[float, ...]
    colours: tuple[str, ...]
    step: float

    def labels(self) -> tuple[str, ...]:
        """Return what each band covers."""
        digits = 2 if self.step < 0.1 else 1
        texts = [f"{low:.{digits}f} to {low + self.step:.{digits}f}" for low in self.limits]
        if len(texts) > 1:
            texts[-1] = f"{self.limits[-1]:.{digits}f} and more"
        return tuple(texts)


def choose_bands(values: Floats, weights: Floats) -> Bands:
    """Return bands with a round step from the smallest value to that which 93 % of the weight stays below.

    - ``values``, ``weights``: finite, (n,).
    """
    order = np.argsort(values)
    share = np.cumsum(weights[order])
    low = float(values[order[0]])
    high = float(values[order[min(np.searchsorted(share, 0.93 * share[-1]), len(order) - 1)]])
    for step in STEPS:
        first = math.floor(low / step + 1e-6)
        count = max(1, math.ceil(high / step - 1e-6) - first)
        if count <= MOST_BANDS:
            break
    limits = tuple(round((first + index) * step, 6) for index in range(count))
    return Bands(limits=limits, colours=ramp(count), step=step)


def ramp(count: int) -> tuple[str, ...]:
    """Return ``count`` colours from light to dark, as ``#rrggbb``."""
    if count == 1:
        return (_hex(RAMP_RGB[2]),)
    places = np.linspace(0.0, len(RAMP_RGB) - 1.0, count)
    columns = [np.interp(places, range(len(RAMP_RGB)), channel) for channel in zip(*RAMP_RGB, strict=True)]
    return tuple(_hex(colour) for colour in zip(*columns, strict=True))


def raster_paths(values: Floats, bands: Bands) -> str:
    """Return SVG paths in cell units: each band covers all cells at or above its limit, so later ones lie on top.

    - ``values``: one value a cell, NaN where there is none, (rows, columns).
    """
    paths = []
    level = np.where(np.isnan(values), -1, np.maximum(np.searchsorted(bands.limits, values, side="right") - 1, 0))
    for index, colour in enumerate(bands.colours):
        row, start, width = _runs(level >= index)
        if len(row):
            steps = "".join(f"M{x} {y}h{w}v{ROW_HEIGHT}h-{w}z" for y, x, w in zip(row, start, width, strict=True))
            paths.append(f'<path fill="{colour}" d="{steps}"/>')
    return "".join(paths)


def thickness_raster(map_: ThicknessMap, cells: int) -> tuple[Floats, Floats, float]:
    """Return a map on a raster of so many cells along the longer side, its lower left corner and its cell. [1, mm]"""
    left, low, right, high = map_.polygon.bounds
    cell = max(right - left, high - low) / cells
    shape = (math.ceil((high - low) / cell) + 2, math.ceil((right - left) / cell) + 2)
    corner = np.array([left - cell, low - cell])
    return splat(map_.centres, map_.areas, map_.ratio, corner=corner, cell=cell, shape=shape), corner, cell


def splat(
    centres: Floats, areas: Floats, values: Floats, *, corner: Floats, cell: float, shape: tuple[int, int]
) -> Floats:
    """Return scattered panel values smoothed onto a raster, NaN where no panel reaches, ``shape`` (rows, columns).

    Each panel spreads its value with a bell curve as wide as the panel, but no narrower than most panels. Its weight
    goes with its area, so that slivers at the rim, whose values scatter, weigh little.
    """
    total, weight = np.zeros(shape), np.zeros(shape)
    places = (centres - corner) / cell - 0.5
    sides = np.sqrt(areas) / cell
    spreads = np.maximum(0.6 * sides, max(0.8 * float(np.median(sides)), 0.7))
    weights = areas / (cell * spreads) ** 2
    for (x, y), spread, value, heavy in zip(places, spreads, values, weights, strict=True):
        left, right = _window(x, spread, shape[1])
        low, high = _window(y, spread, shape[0])
        bell_x = np.exp(-0.5 * ((np.arange(left, right) - x) / spread) ** 2)
        bell_y = np.exp(-0.5 * ((np.arange(low, high) - y) / spread) ** 2)
        bell = heavy * bell_y[:, None] * bell_x[None, :]
        total[low:high, left:right] += value * bell
        weight[low:high, left:right] += bell
    return np.where(weight > 0.0, total / np.maximum(weight, 1e-300), np.nan)


def _window(place: float, spread: float, size: int) -> tuple[int, int]:
    return max(0, math.ceil(place - 3.0 * spread)), min(size, math.floor(place + 3.0 * spread) + 1)


def _runs(mask: NDArray[np.bool_]) -> tuple[Integers, Integers, Integers]:
    """Return row, first column and width of every run of true cells."""
    padded = np.pad(mask, ((0, 0), (1, 1))).astype(np.int8)
    change = np.diff(padded, axis=1)
    row, start = np.nonzero(change == 1)
    _, end = np.nonzero(change == -1)
    return row, start, end - start


def _hex(colour: tuple[float, ...]) -> str:
    return "#" + "".join(f"{round(channel):02x}" for channel in colour)
