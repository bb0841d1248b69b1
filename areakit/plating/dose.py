"""The dose that a moving footprint leaves on a part: footprint and dwell time, convolved on a raster.

The raster lies in the frame of the lanes (lanes along x), so that every lane runs through the middle of a row of
cells and the footprint's edges fall where they should.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing, MultiPolygon, Polygon

from areakit.errors import RangeError
from areakit.plating.lanes import Brush, Move

Floats = NDArray[np.float64]
Spectrum = NDArray[np.complex128]

CELLS_ALONG_PART = 200
CELLS_ACROSS_FOOTPRINT = 12
FEWEST_CELLS_ACROSS_FOOTPRINT = 6
USUAL_CELLS, MOST_CELLS = 1_000_000, 4_000_000
COARSE_CELLS_ACROSS_FOOTPRINT, COARSE_CELLS = 20, 40_000
CROWDING_LIMIT = 0.2
"""A supply that holds its current still has a highest voltage: below this share of the full contact the current
falls with the footprint, so the density stays within five times that of full contact. Common practice, no source."""
SAMPLE_LINES = 4
"""Lines across each cell along which the share of metal is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Cells in the lanes' frame: ``left``, ``low`` is the outer corner of the first cell. [mm]"""

    left: float
    low: float
    cell_x: float
    cell_y: float
    columns: int
    rows: int


def lay_grid(
    polygon: Polygon, brush: Brush, lane_y: float, *, across: int = CELLS_ACROSS_FOOTPRINT, most: int = USUAL_CELLS
) -> Grid:
    """Return a raster over the polygon and half a footprint around, with the lane at ``lane_y`` through cell centres.

    Raises RangeError if the footprint is so small beside the part that the raster would not fit in memory.
    """
    left, low, right, high = polygon.bounds
    width, length = brush.footprint_width_mm, brush.footprint_length_mm
    narrow = min(width, length)
    cell = min(max(right - left, high - low) / CELLS_ALONG_PART, narrow / across)
    crowded = math.sqrt((right - left + length) * (high - low + width) / most)
    cell = max(cell, min(crowded, narrow / FEWEST_CELLS_ACROSS_FOOTPRINT))
    cell_y = brush.pitch_mm / math.ceil(brush.pitch_mm / cell)
    below = math.ceil((lane_y - low + width / 2.0) / cell_y + 0.5) + 1
    above = math.ceil((high - lane_y + width / 2.0) / cell_y + 0.5) + 1
    columns = math.ceil((right - left + length) / cell) + 4
    if columns * (below + above) > MOST_CELLS:
        raise RangeError(
            f"A brush footprint of {width:g} mm by {length:g} mm is too small for a part of {right - left:.0f} mm "
            f"by {high - low:.0f} mm.",
            remedy="Use a larger footprint or less overlap, or plan the part in pieces.",
        )
    return Grid(
        left=(left + right - columns * cell) / 2.0,
        low=lane_y - (below - 0.5) * cell_y,
        cell_x=cell,
        cell_y=cell_y,
        columns=columns,
        rows=below + above,
    )


def coarse_grid(polygon: Polygon, brush: Brush, lane_y: float) -> Grid:
    """Return a raster for passes that scatter: as :func:`lay_grid`, but with cells no finer than scatter needs."""
    return lay_grid(polygon, brush, lane_y, across=COARSE_CELLS_ACROSS_FOOTPRINT, most=COARSE_CELLS)


def metal_share(polygon: Polygon | MultiPolygon, grid: Grid) -> Floats:
    """Return the share of each cell inside the polygon, (rows, columns).

    Exact along x and by ``SAMPLE_LINES`` a cell along y: each crossing of a sample line with a ring adds or
    takes away everything to its right.
    """
    y = grid.low + (np.arange(grid.rows * SAMPLE_LINES) + 0.5) * grid.cell_y / SAMPLE_LINES
    change = np.zeros((grid.rows, grid.columns + 2))
    for ring, sign in _rings(polygon):
        points = np.asarray(ring.coords)[:, :2]
        turn = sign if ring.is_ccw else -sign
        start, end = points[:-1], points[1:]
        up = (start[:, 1, None] <= y) & (y < end[:, 1, None])
        down = (end[:, 1, None] <= y) & (y < start[:, 1, None])
        side, line = np.nonzero(up | down)
        a, b = start[side], end[side]
        x = a[:, 0] + (y[line] - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
        weight = np.where(up[side, line], -turn, turn) / SAMPLE_LINES
        place = np.clip((x - grid.left) / grid.cell_x, 0.0, grid.columns)
        column = place.astype(np.intp)
        part = place - column
        np.add.at(change, (line // SAMPLE_LINES, column), weight * (1.0 - part))
        np.add.at(change, (line // SAMPLE_LINES, column + 1), weight * part)
    share: Floats = np.clip(np.cumsum(change, axis=1)[:, : grid.columns], 0.0, 1.0)
    return share


def footprint_share(brush: Brush, grid: Grid) -> Floats:
    """Return the share of each cell under the footprint when its centre is in the middle cell, (odd, odd).

    Round corners are sampled; the whole is then scaled to the true area.
    """
    half_length, half_width = brush.footprint_length_mm / 2.0, brush.footprint_width_mm / 2.0
    across = _covered(half_width, grid.cell_y)
    along = _covered(half_length, grid.cell_x)
    share: Floats = across[:, None] * along[None, :]
    if not brush.rounded:
        return share
    radius = min(half_length, half_width)
    x = _nodes(len(along)) * grid.cell_x
    y = _nodes(len(across)) * grid.cell_y
    dx, dy = np.maximum(np.abs(x) - (half_length - radius), 0.0), np.maximum(np.abs(y) - (half_width - radius), 0.0)
    inside = np.hypot(dx[None, :], dy[:, None]) <= radius
    shares: Floats = inside.reshape(len(across), 5, len(along), 5).mean(axis=(1, 3))
    shares *= brush.footprint_mm2 / (shares.sum() * grid.cell_x * grid.cell_y)
    return shares


def contact_spectrum(brush: Brush, grid: Grid) -> Spectrum:
    """Return the transform of the footprint on a raster, for :func:`contact_seconds`."""
    spectrum: Spectrum = np.fft.rfft2(_centred(footprint_share(brush, grid), (grid.rows, grid.columns)))
    return spectrum


def smoothed(field: Floats, grid: Grid, deviation_mm: float) -> Floats:
    """Return a field smoothed by a bell of a standard deviation, the same along and across; (rows, columns)."""
    rows = np.fft.fftfreq(grid.rows, grid.cell_y)[:, None]
    columns = np.fft.rfftfreq(grid.columns, grid.cell_x)[None, :]
    bell = np.exp(-2.0 * (math.pi * deviation_mm) ** 2 * (rows**2 + columns**2))
    spread: Floats = np.fft.irfft2(np.fft.rfft2(field) * bell, s=field.shape)
    return spread


def contact_seconds(
    moves: Sequence[Move],
    brush: Brush,
    grid: Grid,
    metal: Floats,
    *,
    spectrum: Spectrum | None = None,
    weights: Floats | None = None,
) -> Floats:
    r"""Return for how long each cell is in contact in one pass, as at the density of full contact.

    .. math:: t(x) = \int f(x - c(\tau))\,g(c(\tau))\,\mathrm{d}\tau

    with c the centre of the footprint, f its shape, and g = 1 for a supply that holds its voltage. For one that
    holds its current, g is the area of the full contact over the area of metal in contact.

    - ``moves``: in the frame of the lanes.
    - ``metal``: share of metal in each cell, (rows, columns).
    - ``spectrum``: of the footprint, :func:`contact_spectrum`, where many passes share it.
    - ``weights``: factor on the time of each move, (n,). [1]

    Returns per cell, metal or not, (rows, columns). [s]
    """
    dwell = _dwell(moves, brush, grid, np.ones(len(moves)) if weights is None else weights)
    spectrum = contact_spectrum(brush, grid) if spectrum is None else spectrum
    if brush.supply == "current":
        touched = _spread(metal, spectrum) / float(spectrum[0, 0].real)
        dwell = dwell * np.where(touched > 1e-6, 1.0 / np.maximum(touched, CROWDING_LIMIT), 0.0)
    return np.maximum(_spread(dwell, spectrum), 0.0)


def largest_contact_mm2(grid: Grid, metal: Floats, spectrum: Spectrum) -> float:
    """Return the largest area of metal that a footprint of this spectrum can have under it at once. [mm2]"""
    touched = _spread(metal, spectrum)
    return float(np.max(touched)) * grid.cell_x * grid.cell_y


def _rings(polygon: Polygon | MultiPolygon) -> list[tuple[LinearRing, float]]:
    """Return every ring, with +1 for outer rings and -1 for holes."""
    rings = []
    for part in shapely.get_parts(polygon):
        rings += [(part.exterior, 1.0), *((hole, -1.0) for hole in part.interiors)]
    return rings


def _spread(field: Floats, spectrum: Spectrum) -> Floats:
    # The footprint is symmetric, so convolution and correlation are the same.
    spread: Floats = np.fft.irfft2(np.fft.rfft2(field) * spectrum, s=field.shape)
    return spread


def _dwell(moves: Sequence[Move], brush: Brush, grid: Grid, weights: Floats) -> Floats:
    """Return the time that the centre of the footprint spends in each cell, (rows, columns). [s]"""
    step = min(grid.cell_x, grid.cell_y) / 2.0
    touching = [i for i, move in enumerate(moves) if move.kind != "lift" and move.length_mm > 0.0]
    if not touching:
        return np.zeros((grid.rows, grid.columns))
    count = np.array([math.ceil(moves[i].length_mm / step) for i in touching])
    seconds = [weights[i] * brush.seconds(moves[i].length_mm, moves[i].kind) for i in touching]
    start, end = (np.array([getattr(moves[i], name) for i in touching]) for name in ("start", "end"))
    move = np.repeat(np.arange(len(touching)), count)
    at = (np.arange(len(move)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[move]
    return _share_out(start[move] + at[:, None] * (end - start)[move], (seconds / count)[move], grid)


def _share_out(places: Floats, seconds: Floats, grid: Grid) -> Floats:
    """Share the seconds at each place between the four nearest cells; places off the raster touch no metal."""
    x = (places[:, 0] - grid.left) / grid.cell_x - 0.5
    y = (places[:, 1] - grid.low) / grid.cell_y - 0.5
    # A lane runs through cell centres; rounding must not split it over two rows.
    y = np.where(np.abs(y - np.round(y)) < 1e-6, np.round(y), y)
    column, row = np.floor(x).astype(np.intp), np.floor(y).astype(np.intp)
    fx, fy = x - column, y - row
    r, c = row + np.array([[0], [0], [1], [1]]), column + np.array([[0], [1], [0], [1]])
    share = seconds * np.stack([(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy])
    ok = (r >= 0) & (r < grid.rows) & (c >= 0) & (c < grid.columns)
    dwell = np.bincount((r * grid.columns + c)[ok], share[ok], minlength=grid.rows * grid.columns)
    return np.asarray(dwell.reshape(grid.rows, grid.columns))


def _covered(half: float, cell: float) -> Floats:
    """Return the share of each cell within ``half`` of the middle of the middle cell; an odd number of cells."""
    reach = math.ceil(half / cell - 0.5)
    middle = np.arange(-reach, reach + 1) * cell
    covered: Floats = (
        np.clip(np.minimum(middle + cell / 2, half) - np.maximum(middle - cell / 2, -half), 0, None) / cell
    )
    return covered


def _nodes(cells: int) -> Floats:
    """Return five sample places a cell, in cells from the middle one."""
    nodes: Floats = ((np.arange(cells) - cells // 2)[:, None] + (np.arange(5) - 2.0) / 5.0).ravel()
    return nodes


def _centred(footprint: Floats, shape: tuple[int, ...]) -> Floats:
    padded = np.zeros(shape)
    padded[: footprint.shape[0], : footprint.shape[1]] = footprint
    return np.roll(padded, (-(footprint.shape[0] // 2), -(footprint.shape[1] // 2)), axis=(0, 1))
