"""A check of places too narrow for an outline: slits between teeth, and thin teeth themselves.

There the outline is compared with the light: a pixel that is half as far from bare sheet as the metal beside it is half
metal. Where both agree, narrow places were followed; where they do not, the light is believed and the outline told of.

On a coloured sheet only: on a pale one relief and engraving in the metal come as near to the sheet as a slit (struck
coins, real photos).

The figures were set on the scenes of ``calibration/studies/silent_part.py`` (slits) and on good scenes of the accuracy
study, which must stay quiet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.sheet_colour import SheetDistance, encoded_colours

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

REACH_PX = 7
"""Width of the widest narrow place that is looked for, in pixels of the overview."""
DEEP = 0.25
"""Share of the metal's distance from bare sheet by which a narrow place must be nearer to it."""
METAL_SHARE = 0.9
"""Share of the usual distance of metal from which it counts as wholly metal: highlights are further."""
LEAST_SHARE = 0.003
"""Share of a part's area from which narrow places are taken off and told of; below it only the uncertainty has them."""
CLEARLY, MIXED = 0.6, 0.35
"""Share of the metal's distance from bare sheet from which both sides of a place are metal, and share of how far it is
from them up to which its colour is a mixture of theirs: where paint ends, colours pass by the sheet's."""
BY_LIGHT, BY_LIGHT_SPREAD = 1.4, 0.35
"""True area of narrow places over what their light tells, and its standard uncertainty: their ground is dim, and blur
lifts it (1.0 to 2.0 in the study)."""
FINE = 4
"""Pixels of the drawn outline to one of the overview."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slits:
    """What an outline took for metal in narrow places, though its light is the sheet's.

    Parameters
    ----------
    area_mm2 : float
        What their light tells, corrected for how dim their ground is.
    place_mm : tuple of float
        Where most of it lies, y upwards.
    """

    area_mm2: float
    place_mm: tuple[float, float]

    def told(self, area_mm2: float) -> bool:
        """Whether it is enough of a part of this area to be taken off and told of."""
        return self.area_mm2 > LEAST_SHARE * area_mm2

    def taken_off(self, area_mm2: float) -> tuple[float, float]:
        """Return what to take off a part of this area, and its standard uncertainty. [mm2]"""
        if not self.told(area_mm2):
            return 0.0, self.area_mm2 / 2.0
        return self.area_mm2, self.area_mm2 * BY_LIGHT_SPREAD / BY_LIGHT


NO_SLITS = Slits(area_mm2=0.0, place_mm=(0.0, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrow:
    """The same in pixels of the overview.

    Parameters
    ----------
    excess_px : float
        Area of narrow places that the outline takes for metal and their light does not.
    place : ndarray, shape (2,)
        Where most of it lies, in pixels of the crop.
    """

    excess_px: float
    place: Floats

    def in_sheet(self, pixel_mm: float, place_mm: Floats) -> Slits:
        """Return it in millimetres of the sheet."""
        x, y = (float(axis) for axis in place_mm)
        return Slits(area_mm2=BY_LIGHT * max(self.excess_px, 0.0) * pixel_mm**2, place_mm=(x, y))


def narrow_places(sheet: SheetDistance, rings: Sequence[Floats]) -> Narrow:
    """Compare an outline with the light in the narrow places of a part.

    Parameters
    ----------
    rings : sequence of ndarray, shape (n, 2) each
        The traced outline, outer ring first, in pixels of the crop.
    """
    height, width = sheet.distance.shape
    low = np.maximum(np.floor(rings[0].min(axis=0)).astype(int) - REACH_PX, 0)
    high = np.minimum(np.ceil(rings[0].max(axis=0)).astype(int) + REACH_PX + 1, [width, height])
    distance = sheet.distance[low[1] : high[1], low[0] : high[0]]
    drawn = _drawn([ring - low for ring in rings], distance.shape)
    whole = distance[drawn > 0.99]
    if not len(whole):  # a speck has no narrow places
        return Narrow(excess_px=0.0, place=rings[0].mean(axis=0))
    metal = np.float32(METAL_SHARE * np.percentile(whole, 70))
    around = _closed(np.minimum(distance, metal))
    deep = cv2.dilate((around - distance > DEEP * metal).view(np.uint8), np.ones((3, 3), np.uint8))
    share = distance / np.maximum(_closed(distance), metal)
    colours = encoded_colours(sheet.pixels[low[1] : high[1], low[0] : high[0]])
    excess = np.where((deep > 0) & ~_between(colours, distance > CLEARLY * metal, deep > 0), drawn - share, 0.0)
    row, column = np.unravel_index(int(np.argmax(cv2.blur(excess, (REACH_PX, REACH_PX)))), excess.shape)
    return Narrow(excess_px=float(excess.sum()), place=np.array([column, row]) + low)


def _between(colours: Singles, metal: Flags, where: Flags) -> Flags:
    """Tell where a place lies between two pieces of metal and has a mixture of their colours, shape (h, w)."""
    found = np.zeros(where.shape, dtype=bool)
    rows, columns = np.nonzero(where)
    own, last = colours[rows, columns], np.array(where.shape) - 1
    for down, across in ((0, 1), (1, 0), (1, 1), (1, -1)):
        reach = np.array([down, across]) * (REACH_PX // 2 + 1)
        one, other = (np.clip(np.stack([rows, columns], axis=1) + sign * reach, 0, last).T for sign in (1, -1))
        start, end = colours[tuple(one)], colours[tuple(other)]
        way = end - start
        along = np.einsum("ni,ni->n", own - start, way) / np.maximum(np.einsum("ni,ni->n", way, way), 1e-9)
        aside = np.linalg.norm(start + np.clip(along, 0.0, 1.0)[:, None] * way - own, axis=1)
        away = np.minimum(np.linalg.norm(own - start, axis=1), np.linalg.norm(own - end, axis=1))
        mixed = metal[tuple(one)] & metal[tuple(other)] & (aside < MIXED * away)
        found[rows[mixed], columns[mixed]] = True
    return found


def _closed(distance: Singles) -> Singles:
    """Return the distances with all that is narrow and nearer to bare sheet filled in."""
    kernel = np.ones((REACH_PX, REACH_PX), np.uint8)
    return np.asarray(cv2.morphologyEx(distance, cv2.MORPH_CLOSE, kernel), dtype=np.float32)


def _drawn(rings: Sequence[Floats], shape: tuple[int, ...]) -> Singles:
    """Return which share of each pixel an outline covers, shape (h, w)."""
    fine = np.zeros((shape[0] * FINE, shape[1] * FINE), dtype=np.uint8)
    for i, ring in enumerate(rings):
        corners = ((ring + 0.5) * FINE - 0.5) * 16
        cv2.fillPoly(fine, [np.rint(corners).astype(np.int32)], 0 if i else 255, shift=4)
    return np.asarray(cv2.resize(fine, shape[::-1], interpolation=cv2.INTER_AREA), dtype=np.float32) / 255.0
