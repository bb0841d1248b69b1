"""Where colour changes sharply across an outline, and what is only a shadow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging import colours
from areakit.imaging.bare_sheet import GAMMA
from areakit.imaging.closed_ring import mean_of_neighbours, median
from areakit.imaging.edge import linear_table

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]
Bytes = npt.NDArray[np.uint8]

LOG_FLOOR = np.float32(0.03)
"""Colour relative to the sheet below which glare and noise speak."""
COLOUR_SHARE = 0.15
"""Share of colour in the difference between metal and sheet from which shade counts less."""
LEAST_SHADE_WEIGHT = 0.05
NEIGHBOURS = 2
BROAD_PX = 9
BROAD_SIGMAS = 4.5
"""Width, in softnesses of the usual edge, over which a slope counts as broad; at least BROAD_PX."""
NOISE_FACTOR = 6.0
SHARP_ENOUGH = 0.35
"""A peak of change this share of the sharpest counts as an edge; a soft shadow stays far below."""
FAINT_ENOUGH = 0.075
"""The same for an edge that can just be made out."""
LEAST_HUE = 0.06
"""Difference in log colour between metal and sheet below which hue says nothing."""
GREY_HUE = 0.2
"""Difference in log colour below which a metal counts as grey beside its sheet."""
SHEET_HUE = 0.45
"""Share of the metal's hue below which darker ground is the sheet in a shadow."""
SHADE_OF_SHADOW = -0.08
"""Log shade from which ground counts as darker than bare sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourMetric:
    """How a change of colour counts, in encoded values relative to the bare sheet.

    A shadow moves colour along the sheet's own; that direction counts less, the more the metal differs across it.
    """

    linear: Singles
    unit: Singles
    size: float
    shade_weight: float


def colour_metric(sheet_colour: Singles, inside: Singles) -> ColourMetric:
    """Weigh shade against colour by how the metal differs from the sheet; encoded samples inside have shape (n, 3)."""
    sheet = sheet_colour ** np.float32(1.0 / GAMMA)
    size = float(np.linalg.norm(sheet))
    unit = sheet / size
    difference = np.median(inside, axis=0) - sheet
    shade = abs(float(difference @ unit))
    colour = float(np.linalg.norm(difference - (difference @ unit) * unit))
    share = colour / max(shade + colour, 1e-6)
    weight = np.clip((COLOUR_SHARE / max(share, 1e-6)) ** 2, LEAST_SHADE_WEIGHT, 1.0)
    return ColourMetric(linear=sheet_colour, unit=unit, size=size, shade_weight=float(weight))


def hue(colour: Singles) -> Singles:
    """How far log colours, shape (..., 3), are from that of the sheet, whatever their shade."""
    return colours.size(colour - colours.mean(colour)[..., None])


def change_along(encoded: Singles, metric: ColourMetric) -> Singles:
    """Return how sharply colour changes along each profile, shape (n, m - 1), relative to the bare sheet.

    A slope clearly broader than the part's own edge, such as a soft shadow's, is taken off.
    """
    shade = (metric.shade_weight - 1.0) * np.outer(metric.unit, metric.unit)
    counted = cv2.transform(encoded, (np.eye(3) + shade) / metric.size)
    seen = mean_of_neighbours(np.asarray(counted, dtype=np.float32), NEIGHBOURS)
    flat = seen.reshape(len(seen), -1)
    step = (flat[:, 3:] - flat[:, :-3]).reshape(len(seen), -1, 3)
    narrow = _sizes(cv2.filter2D(step, -1, _NARROW, borderType=cv2.BORDER_REPLICATE))
    sharpest = np.asarray(cv2.reduce(narrow, 1, cv2.REDUCE_MAX))[:, 0]
    contrast = colours.size(seen[:, -1] - seen[:, 0])
    softness = median(contrast / np.maximum(np.float32(np.sqrt(2 * np.pi)) * sharpest, np.float32(1e-6)))
    width = int(np.clip(2 * round(BROAD_SIGMAS * softness) + 1, BROAD_PX, 31))
    change = narrow - np.float32(1.5) * _sizes(_moving_mean(step, width))
    return np.maximum(change, 0.0, out=change)


_NARROW = np.array([[0.25, 0.5, 0.25]])
_CHANNELS = np.ones((1, 3))
_SHADE = np.full((3, 3), 1.0 / 3.0)


def _sizes(colour: npt.NDArray[Any]) -> Singles:
    """Return the Euclidean size of colours, shape (n, m, 3), of shape (n, m)."""
    squares = cv2.transform(colour * colour, _CHANNELS)
    return np.asarray(cv2.sqrt(squares), dtype=np.float32).reshape(colour.shape[:2])


def _moving_mean(values: Singles, width: int) -> Singles:
    """Moving average along the second axis, same length; the ends are repeated."""
    return np.asarray(cv2.blur(values, (width, 1), borderType=cv2.BORDER_REPLICATE), dtype=np.float32)


def log_colours(raw: Bytes, metric: ColourMetric) -> Singles:
    """Return stored colours, shape (n, m, 3), as logarithms relative to the bare sheet."""
    table = np.log(linear_table()[:, None] / metric.linear + LOG_FLOOR)
    return np.asarray(cv2.LUT(raw, table[None]), dtype=np.float32)


def in_shadow(logs: Singles, face_hue: float) -> Flags:
    """Tell for each step of the profiles, shape (n, m - 1), whether what lies just inside it is sheet in a shadow.

    That is so where it is darker than the bare sheet and of the sheet's hue, provided that the metal's hue differs.
    ``logs`` are the colours relative to the bare sheet, shape (n, m, 3).
    """
    if face_hue < LEAST_HUE:
        return np.zeros((len(logs), logs.shape[1] - 1), dtype=bool)
    colour = _moving_mean(mean_of_neighbours(logs, 2 * NEIGHBOURS), 3)
    shade = np.asarray(cv2.transform(colour, _SHADE), dtype=np.float32)
    dark = (_sizes(colour - shade) < SHEET_HUE * face_hue) & (shade[..., 0] < SHADE_OF_SHADOW)
    return np.concatenate([dark[:, :1], dark[:, :-2]], axis=1)


def outermost_sharp(
    change: Singles, shadowed: Flags | None = None, enough: float = SHARP_ENOUGH
) -> npt.NDArray[np.intp]:
    """Return for each profile the outermost local peak of change that is nearly as sharp as the sharpest.

    Inside the part relief and highlights can be sharper than its edge; outside it there is only sheet and soft shadow.
    """
    strongest = np.asarray(cv2.reduce(change, 1, cv2.REDUCE_MAX))[:, 0]
    usual = median(strongest)
    mostly_none = 2 * np.count_nonzero(change) < change.size
    noise = 0.0 if mostly_none else NOISE_FACTOR * median(change)
    least = np.maximum(enough * np.minimum(strongest, usual), noise)[:, None]
    peak = np.zeros(change.shape, dtype=bool)
    peak[:, 1:-1] = (change[:, 1:-1] >= change[:, :-2]) & (change[:, 1:-1] > change[:, 2:])
    peak &= change >= np.maximum(least, 1e-6)
    if shadowed is not None:
        peak &= ~shadowed
    last = change.shape[1] - 1 - peak[:, ::-1].argmax(axis=1)
    return np.asarray(np.where(peak.any(axis=1), last, change.argmax(axis=1)))


def doubt_of_edge(change: Singles) -> Floats:
    """Return for each profile how far the outermost faint edge lies beyond the sharpest, shape (n,). [steps]"""
    outermost = outermost_sharp(change, enough=FAINT_ENOUGH)
    return np.asarray(np.maximum(outermost - change.argmax(axis=1), 0), dtype=float)
