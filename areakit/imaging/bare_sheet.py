"""The colour of the bare sheet everywhere in its field, modelled from the band that stays empty."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import OutlineNotFound
from areakit.imaging.edge import linear_table

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]
Places = npt.NDArray[np.intp]

FLARE = 0.004
"""Linear light added before a logarithm: what glare puts into the darkest pixels, so that noise there stays small."""
GAMMA = 2.2
"""Colours are compared in linear light to the power 1/2.2, where the noise of a photo is about even."""
RIDGE = 1e-6
GRID_STEP = 4
"""The sheet's colour changes slowly: it is evaluated at every fourth pixel and interpolated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BareSheet:
    """The bare sheet: encoded colour at each pixel, shape (h, w, 3), and log colour where it was seen, shape (n, 3)."""

    encoded: Singles
    logs: Floats


def bare_sheet(crop: Bytes, field: Flags, guard: Flags) -> BareSheet:
    """Fit log colour of the bare sheet: a quadratic on the guard band, then a cubic with pixels that agree."""
    height, width = field.shape
    grid_u, grid_v = np.linspace(-1, 1, width), np.linspace(-1, 1, height)
    table = np.log(linear_table() + np.float32(FLARE))
    rows, columns = thinned_out(guard, 3000)
    coefficients, spread = _robust(_terms(grid_u[columns], grid_v[rows], 2), table[crop[rows, columns]])
    if spread > 0.5:
        raise OutlineNotFound(
            "The empty band along the field's edge does not look like one bare sheet.",
            remedy="Keep parts, fingers and strong shadows away from the edge of the field.",
            code="GUARD_BAND_COVERED",
        )
    rows, columns = thinned_out(field, 6000)
    logs = table[crop[rows, columns]]
    miss = logs - _terms(grid_u[columns], grid_v[rows], 2) @ coefficients
    chroma = np.abs(miss[:, [0, 2]] - miss[:, [1]]).max(axis=1)
    agree = (np.abs(miss[:, 1]) < 0.2) & (chroma < 0.10)
    agree |= guard[rows, columns] & (np.abs(miss).max(axis=1) < 0.3)
    terms = _terms(grid_u[columns[agree]], grid_v[rows[agree]], 3)
    coefficients, _ = _robust(terms, logs[agree])
    coarse = _on_grid(coefficients, -(-height // GRID_STEP), -(-width // GRID_STEP))
    encoded = cv2.resize(np.exp(coarse / GAMMA).astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
    return BareSheet(encoded=np.asarray(encoded, dtype=np.float32), logs=terms @ coefficients)


def _on_grid(coefficients: Floats, rows: int, columns: int) -> Floats:
    """Evaluate the cubic in the middles of ``rows`` by ``columns`` equal cells, shape (rows, columns, 3)."""
    v = (np.arange(rows) + 0.5) / rows * 2.0 - 1.0
    u = (np.arange(columns) + 0.5) / columns * 2.0 - 1.0
    powers = _exponents(3)
    by_row = np.stack([v**b for _, b in powers], axis=1)
    by_column = np.stack([u**a for a, _ in powers], axis=1)
    return np.stack([(by_row * coefficients[:, channel]) @ by_column.T for channel in range(3)], axis=2)


def thinned_out(mask: Flags, most: int) -> tuple[Places, Places]:
    """Return rows and columns of about ``most`` pixels of a mask on an even grid."""
    step = max(1, int(np.sqrt(np.count_nonzero(mask) / most)))
    rows, columns = np.nonzero(mask[::step, ::step])
    return step * rows, step * columns


def _exponents(degree: int) -> list[tuple[int, int]]:
    return [(a, b) for a in range(degree + 1) for b in range(degree + 1 - a)]


def _terms(u: Floats, v: Floats, degree: int) -> Floats:
    return np.stack([u**a * v**b for a, b in _exponents(degree)], axis=1)


def _robust(terms: Floats, values: Singles) -> tuple[Floats, float]:
    """Least squares, reweighted by Tukey's biweight on the largest channel residual; returns the final spread too."""
    weight = np.ones(len(terms))
    spread = np.inf
    by_term, seen = np.ascontiguousarray(terms.T), np.ascontiguousarray(values.T, dtype=float)
    for _ in range(8):
        weighted = by_term * weight
        coefficients = np.linalg.solve(weighted @ terms + RIDGE * np.eye(terms.shape[1]), weighted @ seen.T)
        miss = np.abs(seen - coefficients.T @ by_term).max(axis=0)
        spread = max(1.4826 * float(np.median(miss)), 0.01)
        weight = np.maximum(0.0, 1.0 - (miss / (4.0 * spread)) ** 2) ** 2 + 1e-6
    return np.asarray(coefficients, dtype=float), spread
