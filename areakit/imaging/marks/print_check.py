"""How true a print is that nobody measured, by the cut edges of the paper that it is on."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from areakit.errors import ScaleUnreliable
from areakit.imaging.marks.frame_layout import FrameLayout, layouts
from areakit.imaging.marks.paper import SIZES, edge_points
from areakit.imaging.marks.paper_check import edge_places
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import UNVERIFIED, ConfirmedPrint, PlaneScale, SheetScale

Floats = npt.NDArray[np.float64]

READ_MM = 0.3
"""Standard uncertainty of a side of the paper as the frame reads it: fuzz of the cut, waves of the edge (own study:
0.02 mm on path-traced photos of flat sheets, 0.3 mm on drawn ones whose edges lift by up to 1.5 mm). [mm]"""
LIFT_MM = 1.1
"""Standard uncertainty of how far the edges of a loose sheet stand above its frame, which makes it look larger (that of
a plain sheet by its edges). [mm]"""
AGREES = 2.5
"""Standard uncertainties of both by which print and paper may differ, and still be believed."""
SMALL_LIMIT_MM, SMALL_MM = 1.5, 150.0
"""ISO 216: cut limit of sides up to 150 mm (from memory, unverified). [mm]"""
BY_PAPER = "cut edges of its paper"
SHARE = "sheet by its paper"


def print_by_paper(photo: Photo, small: Overview, scale: PlaneScale) -> ConfirmedPrint | None:
    """Return the print's true size by the four edges of its paper; None where they are not seen, or contradict it.

    What is believed of any print (1 along each axis, JCGM 100:2008, 4.3.9) and what the paper says are weighed by their
    variances: the paper is cut within a limit (rectangular), and its edges may lift.
    """
    layout = layouts()[scale.sheet]
    read_mm = paper_read(photo, small, scale, layout)
    if read_mm is None:
        return None
    paper = np.array(layout.paper_mm)
    said = np.array([scale.sheet_scale.x, scale.sheet_scale.y]) * paper / read_mm
    spread = np.hypot(_cut(layout) / math.sqrt(3.0) / paper, READ_MM / paper)
    spread = np.hypot(spread, math.sqrt(2.0) * LIFT_MM / scale.camera.height_mm)  # both sides at once
    believed = np.array(UNVERIFIED.shares["unverified sheet copy"])
    if np.any(np.abs(said - 1.0) > AGREES * np.hypot(spread, believed)):
        return None
    weight = believed**2 / (believed**2 + spread**2)
    x, y = 1.0 + weight * (said - 1.0)
    shares = believed * np.sqrt(1.0 - weight)
    known = SheetScale(x=float(x), y=float(y), shares={SHARE: (float(shares[0]), float(shares[1]))})
    return ConfirmedPrint(known=known, by=BY_PAPER)


def paper_read(photo: Photo, small: Overview, scale: PlaneScale, layout: FrameLayout) -> Floats | None:
    """Return width and height of the paper as the frame reads them; None unless all four edges are seen. [mm]"""
    found = edge_places(scale, small, layout)
    if found is None:
        return None
    frame, (left, right, top, bottom) = found
    x0, x1, y0, y1 = frame[0] / 2 - left, frame[0] / 2 + right, frame[1] / 2 - top, frame[1] / 2 + bottom
    corners_px = scale.camera.project(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))
    places = []
    for number in range(4):
        try:
            edge = edge_points(photo, corners_px[number], corners_px[(number + 1) % 4], small.factor)
        except ScaleUnreliable:
            return None
        seen = scale.camera.to_sheet(edge.points_px)
        across = 1 - number % 2
        line = np.polynomial.Polynomial.fit(seen[:, 1 - across] - frame[1 - across] / 2, seen[:, across], 1)
        places.append(abs(float(line(0.0)) - frame[across] / 2))
    return np.array([places[1] + places[3], places[0] + places[2]])


def _cut(layout: FrameLayout) -> Floats:
    """Return the limits within which the sides of the paper are cut. [mm]"""
    size = SIZES.get("letter" if layout.paper == "letter" else layout.paper.upper())
    if size is None:
        return np.array([SMALL_LIMIT_MM if side <= SMALL_MM else 2.0 for side in layout.paper_mm])
    long = layout.paper_mm[0] >= layout.paper_mm[1]
    limits = (size.long_limit_mm, size.short_limit_mm)
    return np.array(limits if long else limits[::-1])
