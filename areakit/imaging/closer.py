"""Look at a small part again, at a finer scale than the overview's: narrow teeth, tips and holes show only there."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.photo import Overview, Photo, reduced
from areakit.imaging.segment import Region, region_again
from areakit.imaging.sheet_colour import SheetDistance, from_bare

Floats = npt.NDArray[np.float64]

SMALL_PX = 9000.0
"""Area in the overview below which a part is looked at again."""
MARGIN_PX = 6
SAME_SHARE = 0.25
"""Share of its area by which the second look may differ, or it is not the same thing."""


def look_closer(
    photo: Photo, small: Overview, sheet: SheetDistance, region: Region
) -> tuple[Overview, SheetDistance, Region]:
    """Return overview, sheet and region at half the reduction for a small region; else what came in.

    The sheet's colour is not modelled again: it changes slowly, so the overview's model is interpolated.
    """
    factor = max(1, small.factor // 2)
    if region.crosses or region.area_px > SMALL_PX or factor == small.factor:
        return small, sheet, region
    height, width = sheet.distance.shape
    outer = region.rings[0]
    low = np.clip(np.floor(outer.min(axis=0)).astype(int) - MARGIN_PX, 0, [width, height])
    high = np.clip(np.ceil(outer.max(axis=0)).astype(int) + 1 + MARGIN_PX, 0, [width, height])
    times = small.factor // factor
    fine = _patch(photo, low + [sheet.left, sheet.top], high - low, small.factor, factor)
    box = slice(low[1], high[1]), slice(low[0], high[0])
    size = (fine.shape[1], fine.shape[0])
    bare = np.asarray(cv2.resize(sheet.bare[box], size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    field = cv2.resize(sheet.field[box].astype(np.uint8), size, interpolation=cv2.INTER_NEAREST).astype(bool)
    distance = from_bare(fine, bare, field, coloured=sheet.coloured, dark=sheet.dark)
    where = np.zeros(field.shape, dtype=np.uint8)
    cv2.fillPoly(where, [np.rint((outer - low + 0.5) * times - 0.5).astype(np.int32)], 1)
    left, top = (low + [sheet.left, sheet.top]) * times
    close = replace(sheet, distance=distance, pixels=fine, field=field, bare=bare, left=int(left), top=int(top))
    found = region_again(close, where.astype(bool))
    if found is None or abs(found.area_px / times**2 - region.area_px) > SAME_SHARE * region.area_px:
        return small, sheet, region
    return Overview(pixels=fine, factor=factor), close, replace(found, touching=region.touching)


def _patch(
    photo: Photo, low: npt.NDArray[np.int_], size: npt.NDArray[np.int_], whole: int, factor: int
) -> npt.NDArray[np.uint8]:
    """Return a box of overview pixels, reduced by ``factor`` only."""
    (left, top), (width, height) = low * whole, size * whole
    return reduced(photo.pixels[top : top + height, left : left + width], factor)
