"""Where colour changes sharply across an outline, and what is only a shadow."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging import colours
from areakit.imaging.closed_ring import mean_of_neighbours
from areakit.imaging.sheet_colour import GAMMA

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

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
    step = (encoded[:, 1:] - encoded[:, :-1]) * np.float32(1.0 / metric.size)
    shade = np.float32(metric.shade_weight - 1.0) * colours.dot(step, metric.unit)
    step += shade[..., None] * metric.unit.astype(np.float32)
    step = mean_of_neighbours(step, NEIGHBOURS)
    narrow = colours.size((_moving_mean(step, 3) * np.float32(3.0) + step) * np.float32(0.25))
    contrast = colours.size(np.asarray(step.sum(axis=1), dtype=np.float32))
    softness = float(np.median(contrast / np.maximum(np.sqrt(2 * np.pi) * narrow.max(axis=1), 1e-6)))
    width = int(np.clip(2 * round(BROAD_SIGMAS * softness) + 1, BROAD_PX, 31))
    broad = colours.size(_moving_mean(step, width))
    return np.asarray(np.maximum(narrow - 1.5 * broad, 0.0), dtype=np.float32)


def _moving_mean(values: Singles, width: int) -> Singles:
    """Moving average along the second axis, same length; the ends are repeated."""
    return np.asarray(cv2.blur(values, (width, 1), borderType=cv2.BORDER_REPLICATE), dtype=np.float32)


def in_shadow(values: Singles, metric: ColourMetric, face_hue: float) -> Flags:
    """Tell for each step of the profiles, shape (n, m - 1), whether what lies just inside it is sheet in a shadow.

    That is so where it is darker than the bare sheet and of the sheet's hue, provided that the metal's hue differs.
    """
    if face_hue < LEAST_HUE:
        return np.zeros((len(values), values.shape[1] - 1), dtype=bool)
    colour = mean_of_neighbours(np.log(values / metric.linear + LOG_FLOOR), 2 * NEIGHBOURS)
    colour = _moving_mean(colour, 3)
    dark = (hue(colour) < SHEET_HUE * face_hue) & (colours.mean(colour) < SHADE_OF_SHADOW)
    return np.concatenate([dark[:, :1], dark[:, :-2]], axis=1)


def outermost_sharp(
    change: Singles, shadowed: Flags | None = None, enough: float = SHARP_ENOUGH
) -> npt.NDArray[np.intp]:
    """Return for each profile the outermost local peak of change that is nearly as sharp as the sharpest.

    Inside the part relief and highlights can be sharper than its edge; outside it there is only sheet and soft shadow.
    """
    strongest = change.max(axis=1)
    usual = float(np.median(strongest))
    noise = NOISE_FACTOR * float(np.median(change))
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
