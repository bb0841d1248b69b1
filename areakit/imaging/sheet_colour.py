"""The colour of the bare sheet everywhere in its window, and how far each pixel is from it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MeasurementError, OutlineNotFound
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
    level : float
        Median luminance of the bare sheet, linear, 0 to 1.
    colour : ndarray of float32, shape (3,)
        Mean colour of the bare sheet, linear.
    """

    distance: Singles
    sharpness: Singles
    window: Flags
    guard: Flags
    left: int
    top: int
    unevenness: float
    coloured: bool
    level: float
    colour: Singles


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
    _check_exposure(crop, guard)
    logs = np.log(linear_table()[crop] + FLARE)
    model, rows = _fit_sheet(logs, window, guard)
    coloured = bool(np.ptp(model[rows].mean(axis=0)) > COLOURED_SHEET)
    shade, colour, sharpness = _compare(logs, model, 0.3 if coloured else 1.0)
    darker = DARKER_UNIT if coloured else SHADE_UNIT
    distance = np.hypot(shade / np.where(shade < 0, darker, SHADE_UNIT), colour / COLOUR_UNIT)
    distance[~window] = 0.0
    bare = np.exp(model[rows]) @ LUMINANCE
    return SheetDistance(
        distance=distance.astype(np.float32),
        sharpness=sharpness,
        window=window,
        guard=guard,
        left=left,
        top=top,
        unevenness=float(bare.max() / bare.min() - 1.0),
        coloured=coloured,
        level=float(np.median(bare)),
        colour=np.exp(model[rows].mean(axis=0)).astype(np.float32),
    )


def _compare(logs: Singles, model: Singles, shade_weight: float) -> tuple[Singles, Singles, Singles]:
    """Compare colours with the bare sheet's, pixel by pixel.

    Returns the change of shade (a shadow only lowers it), the change of colour whatever the shade, and how fast the two
    change from pixel to pixel, shape (h, w) each.
    """
    sheet = np.exp(model / GAMMA)
    size = np.linalg.norm(sheet, axis=2, keepdims=True)
    unit = sheet / size
    seen = np.exp(logs / GAMMA) / size
    along = (seen * unit).sum(axis=2)
    colour = np.linalg.norm(seen - along[..., None] * unit, axis=2)
    soft = cv2.GaussianBlur(seen, (0, 0), 0.6)
    total = np.zeros(along.shape, dtype=np.float32)
    for dx, dy in ((1, 0), (0, 1)):
        step = cv2.Scharr(soft, cv2.CV_32F, dx, dy) / 32.0
        shade = (step * unit).sum(axis=2)
        total += (step**2).sum(axis=2) - shade**2 + (shade_weight * shade) ** 2
    return along - 1.0, colour, np.sqrt(np.maximum(total, 0.0))


def _masks(small: Overview, scale: PlaneScale) -> tuple[Flags, Flags, int, int]:
    """Return window and guard band as masks of a crop, and the crop's corner."""
    outer = _frame(scale, 0.0, small)
    inner = _frame(scale, scale.guard_mm, small)
    height, width = small.pixels.shape[:2]
    low = np.maximum(np.floor(outer.min(axis=0)).astype(int) - CROP_MARGIN, 0)
    high = np.minimum(np.ceil(outer.max(axis=0)).astype(int) + CROP_MARGIN + 1, [width, height])
    shape = (int(high[1] - low[1]), int(high[0] - low[0]))
    return (
        _filled(outer - low, shape),
        _filled(outer - low, shape) & ~_filled(inner - low, shape),
        int(low[0]),
        int(low[1]),
    )


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


def _check_exposure(crop: Bytes, guard: Flags) -> None:
    burnt = float((crop[guard] >= 253).all(axis=1).mean())
    if burnt > CLIPPED_REFUSED:
        raise MeasurementError(
            f"{100 * burnt:.0f} % of the bare sheet is over-exposed.",
            remedy="Lower the exposure (tap a bright spot of the sheet), turn lamps away, and take it again.",
            code="OVER_EXPOSED",
        )


def _fit_sheet(logs: Singles, window: Flags, guard: Flags) -> tuple[Singles, Flags]:
    """Fit log colour of the bare sheet: a quadratic on the guard band, then a cubic with pixels that agree.

    Returns the model, shape (h, w, 3), and which pixels carried it, shape (h, w).
    """
    height, width = window.shape
    v, u = np.meshgrid(np.linspace(-1, 1, height), np.linspace(-1, 1, width), indexing="ij")
    rows = _thin(guard, 3000)
    quadratic = _terms(u[rows], v[rows], 2)
    coefficients, spread = _robust(quadratic, logs[rows])
    if spread > 0.5:
        raise OutlineNotFound(
            "The empty band along the window's edge does not look like one bare sheet.",
            remedy="Keep parts, fingers and strong shadows away from the edge of the window.",
            code="GUARD_BAND_COVERED",
        )
    rows = _thin(window, 8000)
    guess = _terms(u[rows], v[rows], 2) @ coefficients
    miss = logs[rows] - guess
    chroma = np.abs(miss[:, [0, 2]] - miss[:, [1]]).max(axis=1)
    agree = (np.abs(miss[:, 1]) < 0.2) & (chroma < 0.10)
    agree |= guard[rows] & (np.abs(miss).max(axis=1) < 0.3)
    carried = np.zeros_like(window)
    index = np.argwhere(rows)[agree]
    carried[index[:, 0], index[:, 1]] = True
    coefficients, _ = _robust(_terms(u[carried], v[carried], 3), logs[carried])
    grid_u, grid_v = u[0], v[:, 0]
    powers = _exponents(3)
    by_row = np.stack([grid_v**b for _, b in powers], axis=1)
    by_column = np.stack([grid_u**a for a, _ in powers], axis=1)
    model = np.stack([(by_row * coefficients[:, channel]) @ by_column.T for channel in range(3)], axis=2)
    return model.astype(np.float32), carried


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
        root = np.sqrt(weight)[:, None]
        coefficients = np.linalg.lstsq(terms * root, values * root, rcond=None)[0]
        miss = np.abs(values - terms @ coefficients).max(axis=1)
        spread = max(1.4826 * float(np.median(miss)), 0.01)
        weight = np.maximum(0.0, 1.0 - (miss / (4.0 * spread)) ** 2) ** 2 + 1e-6
    return np.asarray(coefficients, dtype=float), spread
