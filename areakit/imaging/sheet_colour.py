"""How far each pixel of the field is from the colour of the bare sheet there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MeasurementError
from areakit.imaging.bare_sheet import FLARE, GAMMA, bare_sheet, thinned_out
from areakit.imaging.colours import dot_of_planes
from areakit.imaging.edge import LUMINANCE, linear_table
from areakit.imaging.field import CROP_MARGIN, field_masks
from areakit.imaging.photo import Overview
from areakit.imaging.scale import PlaneScale

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]

SHADE_UNIT = 0.04
"""Change of shade that counts as one unit of distance (10 % of linear light)."""
DARKER_UNIT = 0.12
"""The same for darkening on a coloured sheet, where colour tells metal from shadow."""
COLOUR_UNIT = 0.012
"""Change of colour, whatever the shade, that counts as one unit of distance."""
COLOURED_SHEET = 0.6
"""Spread of the log channels of a sheet from which its colour is relied on."""
DARK_LEVEL = 0.25
"""Luminance of bare ground, linear, below which it may be a dark one: card, cloth or a bench under bright metal."""
MUCH_BRIGHTER = 3.0
"""Times the light of bare ground from which a pixel is metal on a dark one; as many times less, it is dark itself."""
MOSTLY_BRIGHTER = 4.0
"""Pixels that are much brighter for each that is much darker from which a ground counts as dark."""
DARK_SHARE = 1.0 / 3.0
"""Share of a distance that counts on a dark ground, where metal is several times as bright and the ground is uneven."""
METAL_COLOUR = 9.0
"""Colour over shade, in units of distance, from which a metal on a sheet without colour has one of its own: what has
none is the sheet then, in a hole or a shadow (drawn copper, brass and gold 9.5 and more, nickel and silver to 8.6)."""
CLIPPED_REFUSED = 0.30
BURNT_LIMIT = 0.05
"""Share of the guard band at the end of the scale from which edges are widened and a caution is given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetDistance:
    """How far each overview pixel of the field is from bare sheet.

    Parameters
    ----------
    distance : ndarray of float32, shape (h, w)
        0 on bare sheet; about 1 at the tolerance of print and light. Outside the field it is 0.
    pixels : ndarray of uint8, shape (h, w, 3)
        The crop of the overview.
    field : ndarray of bool, shape (h, w)
    guard : ndarray of bool, shape (h, w)
        The part of the field that must stay empty.
    left, top : int
        Overview pixel of the crop's corner.
    unevenness : float
        Highest over lowest luminance of the modelled bare sheet, less one.
    coloured : bool
        Whether the sheet has colour enough to tell metal from shadow by it.
    dark : bool
        Whether it is a dark ground without colour under metal that is brighter; what is darker than it is no metal.
    burnt : float
        Share of the guard band in which a channel is at its end, or nearly.
    level : float
        Median luminance of the bare sheet, linear, 0 to 1.
    colour : ndarray of float32, shape (3,)
        Mean colour of the bare sheet, linear.
    bare : ndarray of float32, shape (h, w, 3)
        The modelled bare sheet at each pixel, linear light to the power 1/2.2.
    metal_coloured : bool
        Whether the distances are those of a metal that is told from a sheet without colour by its own.
    """

    distance: Singles
    pixels: Bytes
    field: Flags
    guard: Flags
    left: int
    top: int
    unevenness: float
    coloured: bool
    burnt: float
    level: float
    colour: Singles
    bare: Singles
    dark: bool = False
    metal_coloured: bool = False

    def sharpness(self, rows: slice, columns: slice, *, shade_weight: float | None = None) -> Singles:
        """Return how fast colour, relative to the bare sheet, changes at each pixel of a box, shape (h, w).

        On a coloured sheet, or under coloured metal, shade counts less, unless its weight is given. Only boxes around
        parts are asked for, so it is not worked out before.
        """
        weight = (0.3 if self.coloured or self.metal_coloured else 1.0) if shade_weight is None else shade_weight
        low = max(rows.start - CROP_MARGIN, 0), max(columns.start - CROP_MARGIN, 0)
        wide = slice(low[0], rows.stop + CROP_MARGIN), slice(low[1], columns.stop + CROP_MARGIN)
        sharp = _sharpness(self.pixels[wide], self.bare[wide], weight)
        return sharp[rows.start - low[0] : rows.stop - low[0], columns.start - low[1] : columns.stop - low[1]]

    def told_by_colour(self, rows: slice, columns: slice, mask: Flags) -> bool:
        """Tell whether what fills a mask, shape (h, w), of a box of a sheet without colour is of a clear colour."""
        if self.coloured or self.dark:
            return False
        shade, across = _shade_and_colour(self.pixels[rows, columns], self.bare[rows, columns])
        colour = np.sqrt(across[mask]) / np.maximum(shade[mask] + 1.0, np.float32(0.1))
        return float(np.percentile(colour, 70)) > METAL_COLOUR * COLOUR_UNIT

    def by_colour(self) -> SheetDistance:
        """Return the same with distances under metal that is told by its colour, as on a coloured sheet."""
        distance = from_bare(self.pixels, self.bare, self.field, coloured=True)
        return replace(self, distance=distance, metal_coloured=True)


def sheet_distance(small: Overview, scale: PlaneScale) -> SheetDistance:
    """Model the bare sheet from the guard band, and compare every pixel of the field with it.

    Raises
    ------
    MeasurementError
        If the sheet is over-exposed.
    OutlineNotFound
        If the guard band does not look like one sheet.
    """
    field, guard, left, top = field_masks(small, scale)
    height, width = field.shape
    crop = small.pixels[top : top + height, left : left + width]
    burnt = _check_exposure(crop, guard)
    sheet = bare_sheet(crop, field, guard)
    coloured = bool(np.ptp(sheet.logs.mean(axis=0)) > COLOURED_SHEET)
    bare = np.exp(sheet.logs) @ LUMINANCE
    level = float(np.median(bare))
    dark = not coloured and level < DARK_LEVEL and mostly_brighter(crop, sheet.encoded, field)
    distance = from_bare(crop, sheet.encoded, field, coloured=coloured, dark=dark)
    return SheetDistance(
        distance=distance,
        pixels=crop,
        field=field,
        guard=guard,
        left=left,
        top=top,
        unevenness=float(np.max(bare) / np.min(bare) - 1.0),
        coloured=coloured,
        burnt=burnt,
        level=level,
        colour=np.exp(sheet.logs.mean(axis=0)).astype(np.float32),
        bare=sheet.encoded,
        dark=dark,
    )


def mostly_brighter(pixels: Bytes, bare: Singles, field: Flags) -> bool:
    """Tell whether what differs much from the bare ground is mostly brighter than it."""
    rows, columns = thinned_out(field, 40_000)
    sheet = bare[rows, columns]
    ratio = np.einsum("ni,ni->n", encoded_colours(pixels[rows, columns]), sheet) / np.einsum("ni,ni->n", sheet, sheet)
    limit = MUCH_BRIGHTER ** (1.0 / GAMMA)
    brighter, darker = int((ratio > limit).sum()), int((ratio < 1.0 / limit).sum())
    return brighter > MOSTLY_BRIGHTER * darker


def from_bare(pixels: Bytes, bare: Singles, field: Flags, *, coloured: bool, dark: bool = False) -> Singles:
    """Return the distance from the bare sheet of each pixel of the field, shape (h, w), from colours (h, w, 3).

    On a dark ground it has a sign: what is darker than the ground is a shadow or a stain, at distance 0.
    """
    shade, across = _shade_and_colour(pixels, bare)
    darker = DARKER_UNIT if coloured else SHADE_UNIT
    shade *= np.where(shade < 0, np.float32(1.0 / darker), np.float32(1.0 / SHADE_UNIT))
    distance: Singles = np.sqrt(shade * shade + across * np.float32(COLOUR_UNIT**-2))
    if dark:
        distance *= np.where(shade < 0, np.float32(0.0), np.float32(DARK_SHARE))
    distance[~field] = 0.0
    return distance


def _shade_and_colour(pixels: Bytes, bare: Singles) -> tuple[Singles, Singles]:
    """Return how much lighter than the bare sheet colours (h, w, 3) are, and how far from its own, squared.

    A shadow only lowers the first. Both are shares of the sheet's encoded light, shape (h, w).
    """
    seen, sheet = _encoded(pixels), cv2.split(bare)
    inverse = np.float32(1.0) / dot_of_planes(sheet, sheet)
    along = dot_of_planes(seen, sheet) * inverse
    across = np.maximum(dot_of_planes(seen, seen) * inverse - along * along, np.float32(0.0))
    return along - np.float32(1.0), across


def _sharpness(pixels: Bytes, bare: Singles, shade_weight: float) -> Singles:
    """Return how fast colour, shape (h, w, 3), changes from pixel to pixel relative to the sheet, shape (h, w)."""
    soft, sheet = [cv2.GaussianBlur(plane, (0, 0), 0.6) for plane in _encoded(pixels)], cv2.split(bare)
    inverse = np.float32(1.0) / dot_of_planes(sheet, sheet)
    total = np.zeros(inverse.shape, dtype=np.float32)
    for dx, dy in ((1, 0), (0, 1)):
        step = [cv2.Scharr(plane, cv2.CV_32F, dx, dy, scale=1.0 / 32.0) for plane in soft]
        along = dot_of_planes(step, sheet)
        total += dot_of_planes(step, step) + np.float32(shade_weight**2 - 1.0) * along * along * inverse
    return np.asarray(np.sqrt(np.maximum(total * inverse, 0.0)), dtype=np.float32)


def _encoded(crop: Bytes) -> list[Any]:
    """Linear light, glare added, to the power 1/2.2: three planes, shape (h, w) each."""
    return [cv2.LUT(plane, _encoding()) for plane in cv2.split(crop)]


def encoded_colours(pixels: Bytes) -> Singles:
    """Return stored colours as they are compared with the bare sheet: linear light, glare added, to the power 1/2.2."""
    return _encoding()[pixels]


def _encoding() -> Singles:
    return np.asarray((linear_table() + np.float32(FLARE)) ** np.float32(1.0 / GAMMA), dtype=np.float32)


def _check_exposure(crop: Bytes, guard: Flags) -> float:
    red, green, blue = crop[guard].T
    burnt = float((np.minimum(np.minimum(red, green), blue) >= 253).mean())
    if burnt > CLIPPED_REFUSED:
        raise MeasurementError(
            f"{100 * burnt:.0f} % of the bare sheet is over-exposed.",
            remedy="Lower the exposure (tap a bright spot of the sheet), turn lamps away, and take it again.",
            code="OVER_EXPOSED",
        )
    return float((np.maximum(np.maximum(red, green), blue) >= 250).mean())
