"""Where the field of the sheet lies in the overview, and the band along its edge that must stay empty."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.photo import Overview
from areakit.imaging.scale import PlaneScale

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

CROP_MARGIN = 3


def field_masks(small: Overview, scale: PlaneScale) -> tuple[Flags, Flags, int, int]:
    """Return field and guard band as masks of a crop, and the crop's corner."""
    outer = _frame(scale, 0.0, small)
    inner = _frame(scale, scale.guard_mm, small)
    height, width = small.pixels.shape[:2]
    low = np.maximum(np.floor(outer.min(axis=0)).astype(int) - CROP_MARGIN, 0)
    high = np.minimum(np.ceil(outer.max(axis=0)).astype(int) + CROP_MARGIN + 1, [width, height])
    shape = (int(high[1] - low[1]), int(high[0] - low[0]))
    field = _filled(outer - low, shape)
    for polygon in scale.excluded_mm:
        field &= ~_filled(small.from_full(scale.camera.project(polygon)) - low, shape)
    return field, field & ~_filled(inner - low, shape), int(low[0]), int(low[1])


def _frame(scale: PlaneScale, inset_mm: float, small: Overview) -> Floats:
    """Return the field's outline in overview pixels, lens curvature included, shape (n, 2)."""
    left, top, right, bottom = scale.field_mm
    margin = inset_mm + 0.35  # keep clear of the marker frame and of the paper's cut edge
    x0, y0, x1, y1 = left + margin, top + margin, right - margin, bottom - margin
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    steps = np.linspace(0.0, 1.0, 12, endpoint=False)[:, None]
    sides = [corners[i] + steps * (corners[(i + 1) % 4] - corners[i]) for i in range(4)]
    return small.from_full(scale.camera.project(np.concatenate(sides)))


def _filled(outline: Floats, shape: tuple[int, int]) -> Flags:
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [np.rint(outline * 16).astype(np.int32)], 1, shift=4)
    return mask.astype(bool)
