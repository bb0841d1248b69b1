"""A printed sheet whose markers cannot be read must not pass for plain paper: its squares would be taken for parts."""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound
from areakit.imaging.edge import linear_table
from areakit.imaging.marks.frame_layout import FrameLayout, layouts
from areakit.imaging.photo import Overview
from areakit.imaging.scale import PlaneScale

Floats = npt.NDArray[np.float64]

CHEQUERED = 0.5
"""Correlation of the light with black and white squares of a frame from which the frame is there; it is 0.8 and more on
sheets that are too coarse to be read, below 0.3 on plain paper with parts (drawn thumbnails, real photos)."""
SHIFTS_MM = np.arange(-9.0, 9.1, 1.5)
"""Where the frame may lie on its paper, from the middle: printers shift a page by some millimetres. [mm]"""
SHAPES_AGREE = 0.03
"""Difference of log side ratios up to which a sheet's paper has the shape of the paper in the photo."""


def check_frame_read(small: Overview, scale: PlaneScale) -> None:
    """Refuse plain paper on which the marker frame of a scale sheet is seen, though no marker of it was read.

    Raises
    ------
    MarkNotFound
    """
    if scale.mark == "paper" and chequered(small, scale) > CHEQUERED:
        raise MarkNotFound(
            "The marker frame of a scale sheet is in view, but none of its markers can be read: the picture is too "
            "coarse.",
            remedy="Use the original file from the camera, not a preview or a smaller copy, or take the photo again "
            "from closer.",
            code="FRAME_UNREAD",
        )


def chequered(small: Overview, scale: PlaneScale) -> float:
    """Return the largest correlation, 0 to 1, of the paper's light with the squares of any sheet of its shape."""
    width, height = scale.field_mm[2], scale.field_mm[3]
    grey = linear_table()[small.pixels].mean(axis=2, dtype=np.float64)
    found = 0.0
    for layout in layouts().values():
        for turned in (False, True):
            page = (height, width) if turned else (width, height)
            if abs(np.log(page[0] / page[1]) - np.log(layout.paper_mm[0] / layout.paper_mm[1])) < SHAPES_AGREE:
                found = max(found, _best(grey, small, scale, layout, turned=turned))
    return found


def _best(grey: Floats, small: Overview, scale: PlaneScale, layout: FrameLayout, *, turned: bool) -> float:
    """Return the largest correlation over all places of a sheet's frame on the paper."""
    squares = np.array(layout.frame_squares, dtype=float)
    sign = np.where(squares.sum(axis=1) % 2 == 0, -1.0, 1.0)
    frame = np.array([layout.width_mm, layout.height_mm])
    places = (squares + 0.5) * layout.square_mm - frame / 2
    size = scale.field_mm[3 if turned else 2] / layout.paper_mm[0]
    middle = np.array(scale.field_mm[2:]) / 2
    found = 0.0
    for shift in product(SHIFTS_MM, SHIFTS_MM):
        points = size * (places + np.array(shift))
        light = _light(grey, small.from_full(scale.camera.project(middle + (points[:, ::-1] if turned else points))))
        if light is not None:
            found = max(found, abs(float(np.corrcoef(light, sign)[0, 1])))
    return found


def _light(grey: Floats, places: Floats) -> Floats | None:
    """Return the light at places of the overview; None where one lies outside it, or all are alike."""
    columns, rows = np.rint(places).astype(int).T
    inside = (columns >= 0) & (rows >= 0) & (columns < grey.shape[1]) & (rows < grey.shape[0])
    if not inside.all():
        return None
    light = grey[rows, columns]
    return light if float(np.ptp(light)) > 0.0 else None
