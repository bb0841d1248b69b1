"""What a photo shows before anything is measured: where the mark lies, and which regions stand out in its field."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from areakit.errors import MeasurementError
from areakit.imaging.marks import find_scale, glance
from areakit.imaging.marks.frame_layout import layouts
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import PlaneScale
from areakit.imaging.segment import find_regions
from areakit.imaging.sheet_colour import sheet_distance

Floats = npt.NDArray[np.float64]

ROUGH_MM = 1.0
"""How far a camera fitted to markers alone may put the edge of the field from where it is printed, and how far its
colour bleeds in a frame that is compressed."""
POINTS_A_SIDE = 8
"""Straight sides of the sheet bend a little in the photo, by lens distortion."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """What was seen of a photo that was refused.

    Parameters
    ----------
    mark_px : tuple of ndarray, shape (n, 2) each
        Outer edge and field of the mark; empty where none was found. [px]
    whole_px, crossing_px : tuple of ndarray, shape (n, 2) each
        Outer rings of the regions inside the field, and of those that reach its edge. [px]
    scale : PlaneScale or None
        The scale of the mark, if one was found.
    """

    mark_px: tuple[Floats, ...] = ()
    whole_px: tuple[Floats, ...] = ()
    crossing_px: tuple[Floats, ...] = ()
    scale: PlaneScale | None = None


def mark_rings(scale: PlaneScale) -> tuple[Floats, ...]:
    """Return the outer edge of the mark, and its field where that differs, in the photo. [px]"""
    left, top, right, bottom = scale.field_mm
    boxes = [(left, top, right, bottom)]
    if scale.mark == "frame":
        layout, true = layouts()[scale.sheet], scale.sheet_scale
        boxes.insert(0, (0.0, 0.0, layout.width_mm * true.x, layout.height_mm * true.y))
    return tuple(scale.camera.project(_box(*box)) for box in boxes)


def look(photo: Photo, *, mark: str = "auto", quick: bool = False) -> Sight:
    """Return as much as can be seen of a photo; what is not found stays empty. ``quick`` is enough to aim by."""
    small = overview(photo)
    try:
        scale = glance(photo, small) if quick else find_scale(photo, small, mark=mark, reading=None)
    except MeasurementError:
        scale = None
    if scale is None:
        return Sight()
    rings = mark_rings(scale)
    try:
        sheet = sheet_distance(small, _shy(scale) if quick else scale)
        regions = find_regions(sheet)
    except MeasurementError:
        return Sight(mark_px=rings, scale=scale)
    corner = [sheet.left, sheet.top]
    outer = [(region.crosses, small.to_full(region.rings[0] + corner)) for region in regions if region.rings]
    return Sight(
        mark_px=rings,
        whole_px=tuple(ring for crosses, ring in outer if not crosses),
        crossing_px=tuple(ring for crosses, ring in outer if crosses),
        scale=scale,
    )


def _shy(scale: PlaneScale) -> PlaneScale:
    """Return the scale with a field that ends before the printed edge, which a rough camera puts a little beside."""
    left, top, right, bottom = scale.field_mm
    off = ROUGH_MM
    return replace(scale, field_mm=(left + off, top + off, right - off, bottom - off))


def _box(left: float, top: float, right: float, bottom: float) -> Floats:
    """Return a rectangle with points along its sides, shape (4 n, 2)."""
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    steps = np.linspace(0.0, 1.0, POINTS_A_SIDE, endpoint=False)[:, None]
    sides = [start + steps * (end - start) for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    return np.vstack(sides)
