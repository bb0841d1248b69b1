"""The colour of the bare sheet everywhere in its window, and how far each pixel is from it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MeasurementError, OutlineNotFound
from areakit.imaging.colours import dot
from areakit.imaging.edge import LUMINANCE, linear_table
from areakit.imaging.photo import Overview
from areakit.imaging.scale import PlaneScale

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]

FLARE = 0.004
"""Linear light added before a logarithm: what glare puts into the darkest pixels, so that noise there stays small."""
GAMMA = 2.2
"""Colours are compared in linear light to the power 1/2.2, where the noise of a photo is about even."""
SHADE_UNIT = 0.04
"""Change of shade that counts as one unit of distance (10 % of linear light)."""
DARKER_UNIT = 0.12
"""The same for darkening on a coloured sheet, where colour tells metal from shadow."""
COLOUR_UNIT = 0.012
"""Change of colour, whatever the shade, that counts as one unit of distance."""
COLOURED_SHEET = 0.6
"""Spread of the log channels of a sheet from which its colour is relied on."""
CLIPPED_REFUSED = 0.30
BURNT_LIMIT = 0.05
"""Share of the guard band at the end of the scale from which edges are widened and a caution is given."""
RIDGE = 1e-6
GRID_STEP = 4
"""The sheet's colour changes slowly: it is evaluated at every fourth pixel and interpolated."""
CROP_MARGIN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetDistance:
    """How far each overview pixel of the window is from bare sheet.

    Parameters
    ----------
    distance : ndarray of float32, shape (h, w)
        0 on bare sheet; about 1 at the tolerance of print and light. Outside the window it is 0.
    sharpness : ndarray of float32, shape (h, w)
        How fast colour, relative to the bare sheet, changes at each pixel; on a coloured sheet shade counts less.
    window : ndarray of bool, shape (h, w)
    guard : ndarray of bool, shape (h, w)
        The part of the window that must stay empty.
    left, top : int
        Overview pixel of the crop's corner.
    unevenness : float
        Highest over lowest luminance of the modelled bare sheet, less one.
    coloured : bool
        Whether the sheet has colour enough to tell metal from shadow by it.
    burnt : float
        Share of the guard band in which a channel is at its end, or nearly.
    level : float
        Median luminance of the bare sheet, linear, 0 to 1.
    colour : ndarray of float32, shape (3,)
        Mean colour of the bare sheet, linear.
    bare : ndarray of float32, shape (h, w, 3)
        The modelled bare sheet at each pixel, linear light to the power 1/2.2.
    """

    distance: Singles
    sharpness: Singles
    window: Flags
    guard: Flags
    left: int
    top: int
    unevenness: float
    coloured: bool
    burnt: float
    level: float
    colour: Singles
    bare: Singles


def sheet_distance(small: Overview, scale: PlaneScale) -> SheetDistance:
    """Model the bare sheet from the guard band, and compare every pixel of the window with it.

    Raises
    ------
    MeasurementError
        If the sheet is over-exposed.
    OutlineNotFound
        If the guard band does not look like one sheet.
    """
    window, guard, left, top = _masks(small, scale)
    height, width = window.shape
    crop = small.pixels[top : top + height, left : left + width]
    burnt = _check_exposure(crop, guard)
    sheet = _fit_sheet(crop, window, guard)
    coloured = bool(np.ptp(sheet.logs.mean(axis=0)) > COLOURED_SHEET)
    distance, sharpness = from_bare(crop, sheet.encoded, coloured=coloured)
    distance[~window] = 0.0
    bare = np.exp(sheet.logs) @ LUMINANCE
    return SheetDistance(
        distance=distance,
        sharpness=sharpness,
        window=window,
        guard=guard,
        left=left,
        top=top,
        unevenness=float(bare.max() / bare.min() - 1.0),
        coloured=coloured,
        burnt=burnt,
        level=float(np.median(bare)),
        colour=np.exp(sheet.logs.mean(axis=0)).astype(np.float32),
        bare=sheet.encoded,
    )


def from_bare(pixels: Bytes, bare: Singles, *, coloured: bool) -> tuple[Singles, Singles]:
    """Return distance from the bare sheet, and sharpness, of each pixel; shapes (h, w) from (h, w, 3)."""
    shade, colour, sharpness = _compare(pixels, bare, 0.3 if coloured else 1.0)
    darker = DARKER_UNIT if coloured else SHADE_UNIT
    distance = cv2.magnitude(
        shade / np.where(shade < 0, np.float32(darker), np.float32(SHADE_UNIT)), colour / COLOUR_UNIT
    )
    return np.asarray(distance, dtype=np.float32), sharpness


def _compare(crop: Bytes, sheet: Singles, shade_weight: float) -> tuple[Singles, Singles, Singles]:
    """Compare colours with the bare sheet's, pixel by pixel.

    Returns the change of shade (a shadow only lowers it), the change of colour whatever the shade, and how fast the two
    change from pixel to pixel, shape (h, w) each.
    """
    size = np.asarray(np.sqrt(dot(sheet, sheet)), dtype=np.float32)
    seen = _encoded(crop) / size[..., None]
    unit = np.asarray(sheet / size[..., None], dtype=np.float32)
    along = dot(seen, unit)
    colour = np.sqrt(np.maximum(dot(seen, seen) - along**2, 0.0))
    soft = cv2.GaussianBlur(seen, (0, 0), 0.6)
    total = np.zeros(along.shape, dtype=np.float32)
    for dx, dy in ((1, 0), (0, 1)):
        step = np.asarray(cv2.Scharr(soft, cv2.CV_32F, dx, dy, scale=1.0 / 32.0), dtype=np.float32)
        total += dot(step, step) + np.float32(shade_weight**2 - 1.0) * dot(step, unit) ** 2
    return along - np.float32(1.0), colour, np.sqrt(np.maximum(total, 0.0))


def _encoded(crop: Bytes) -> Singles:
    """Linear light, glare added, to the power 1/2.2."""
    return np.asarray(cv2.LUT(crop, (linear_table() + np.float32(FLARE)) ** np.float32(1.0 / GAMMA)), dtype=np.float32)


def _masks(small: Overview, scale: PlaneScale) -> tuple[Flags, Flags, int, int]:
    """Return window and guard band as masks of a crop, and the crop's corner."""
    outer = _frame(scale, 0.0, small)
    inner = _frame(scale, scale.guard_mm, small)
    height, width = small.pixels.shape[:2]
    low = np.maximum(np.floor(outer.min(axis=0)).astype(int) - CROP_MARGIN, 0)
    high = np.minimum(np.ceil(outer.max(axis=0)).astype(int) + CROP_MARGIN + 1, [width, height])
    shape = (int(high[1] - low[1]), int(high[0] - low[0]))
    window = _filled(outer - low, shape)
    for polygon in scale.excluded_mm:
        window &= ~_filled(small.from_full(scale.camera.project(polygon)) - low, shape)
    return window, window & ~_filled(inner - low, shape), int(low[0]), int(low[1])


def _frame(scale: PlaneScale, inset_mm: float, small: Overview) -> Floats:
    """Return the window's outline in overview pixels, lens curvature included, shape (n, 2)."""
    left, top, right, bottom = scale.window_mm
    margin = inset_mm + 0.35  # keep clear of the printed ring and of the paper's cut edge
    x0, y0, x1, y1 = left + margin, top + margin, right - margin, bottom - margin
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    steps = np.linspace(0.0, 1.0, 12, endpoint=False)[:, None]
    sides = [corners[i] + steps * (corners[(i + 1) % 4] - corners[i]) for i in range(4)]
    return small.from_full(scale.camera.project(np.concatenate(sides)))


def _filled(outline: Floats, shape: tuple[int, int]) -> Flags:
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [np.rint(outline * 16).astype(np.int32)], 1, shift=4)
    return mask.astype(bool)


def _check_exposure(crop: Bytes, guard: Flags) -> float:
    burnt = float((crop[guard] >= 253).all(axis=1).mean())
    if burnt > CLIPPED_REFUSED:
        raise MeasurementError(
            f"{100 * burnt:.0f} % of the bare sheet is over-exposed.",
            remedy="Lower the exposure (tap a bright spot of the sheet), turn lamps away, and take it again.",
            code="OVER_EXPOSED",
        )
    return float((crop[guard] >= 250).any(axis=1).mean())


@dataclass(frozen=True, slots=True, kw_only=True)
class _BareSheet:
    """The bare sheet: encoded colour at each pixel, shape (h, w, 3), and log colour where it was seen, shape (n, 3)."""

    encoded: Singles
    logs: Floats


def _fit_sheet(crop: Bytes, window: Flags, guard: Flags) -> _BareSheet:
    """Fit log colour of the bare sheet: a quadratic on the guard band, then a cubic with pixels that agree."""
    height, width = window.shape
    grid_u, grid_v = np.linspace(-1, 1, width), np.linspace(-1, 1, height)
    table = np.log(linear_table() + np.float32(FLARE))
    rows, columns = np.nonzero(_thin(guard, 3000))
    coefficients, spread = _robust(_terms(grid_u[columns], grid_v[rows], 2), table[crop[rows, columns]])
    if spread > 0.5:
        raise OutlineNotFound(
            "The empty band along the window's edge does not look like one bare sheet.",
            remedy="Keep parts, fingers and strong shadows away from the edge of the window.",
            code="GUARD_BAND_COVERED",
        )
    rows, columns = np.nonzero(_thin(window, 6000))
    logs = table[crop[rows, columns]]
    miss = logs - _terms(grid_u[columns], grid_v[rows], 2) @ coefficients
    chroma = np.abs(miss[:, [0, 2]] - miss[:, [1]]).max(axis=1)
    agree = (np.abs(miss[:, 1]) < 0.2) & (chroma < 0.10)
    agree |= guard[rows, columns] & (np.abs(miss).max(axis=1) < 0.3)
    terms = _terms(grid_u[columns[agree]], grid_v[rows[agree]], 3)
    coefficients, _ = _robust(terms, logs[agree])
    coarse = _on_grid(coefficients, -(-height // GRID_STEP), -(-width // GRID_STEP))
    encoded = cv2.resize(np.exp(coarse / GAMMA).astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
    return _BareSheet(encoded=np.asarray(encoded, dtype=np.float32), logs=terms @ coefficients)


def _on_grid(coefficients: Floats, rows: int, columns: int) -> Floats:
    """Evaluate the cubic in the middles of ``rows`` by ``columns`` equal cells, shape (rows, columns, 3)."""
    v = (np.arange(rows) + 0.5) / rows * 2.0 - 1.0
    u = (np.arange(columns) + 0.5) / columns * 2.0 - 1.0
    powers = _exponents(3)
    by_row = np.stack([v**b for _, b in powers], axis=1)
    by_column = np.stack([u**a for a, _ in powers], axis=1)
    return np.stack([(by_row * coefficients[:, channel]) @ by_column.T for channel in range(3)], axis=2)


def _thin(mask: Flags, most: int) -> Flags:
    """Return about ``most`` pixels of a mask on an even grid."""
    step = max(1, int(np.sqrt(mask.sum() / most)))
    thinned = np.zeros_like(mask)
    thinned[::step, ::step] = mask[::step, ::step]
    return thinned


def _exponents(degree: int) -> list[tuple[int, int]]:
    return [(a, b) for a in range(degree + 1) for b in range(degree + 1 - a)]


def _terms(u: Floats, v: Floats, degree: int) -> Floats:
    return np.stack([u**a * v**b for a, b in _exponents(degree)], axis=1)


def _robust(terms: Floats, values: Singles) -> tuple[Floats, float]:
    """Least squares, reweighted by Tukey's biweight on the largest channel residual; returns the final spread too."""
    weight = np.ones(len(terms))
    spread = np.inf
    for _ in range(8):
        weighted = terms * weight[:, None]
        coefficients = np.linalg.solve(weighted.T @ terms + RIDGE * np.eye(terms.shape[1]), weighted.T @ values)
        miss = np.abs(values - terms @ coefficients).max(axis=1)
        spread = max(1.4826 * float(np.median(miss)), 0.01)
        weight = np.maximum(0.0, 1.0 - (miss / (4.0 * spread)) ** 2) ** 2 + 1e-6
    return np.asarray(coefficients, dtype=float), spread
