"""How far the edge of a part is open on a white, grey or black ground, told by the edge itself.

There a rim mirrors the sheet, and its shadow is grey like metal: the outline may run along relief inside the rim, or
along the shadow outside. Where it does, it steps in and out, and stretches of it are faint; the more colour the metal
has, the less of this happens. What the figures were set on stands in ``calibration/studies/pale_edge.md``.
"""

from __future__ import annotations

import numpy as np

from areakit.imaging.closed_ring import mean_along
from areakit.imaging.edge_ring import EdgeRing
from areakit.imaging.sheet_colour import SheetDistance

FOIL_MM = 0.03
"""What a grey shadow of a thin part leaves open (simulated photos): standard uncertainty. [mm]"""
CLEAN_RIM_MM = 0.12
"""The same of the rim of a thick part whose edge is seen clearly all round. [mm]"""
FULL_GREY_MM, FULL_COLOURED_MM = 0.5, 1.0
"""Thickness from which that holds, in proportion below: the foot of grey metal of 0.1 to 0.3 mm lies in a shadow as
grey, and is off by 0.06 to 0.09 mm root mean square (drawn scenes); that of coloured metal by half as much. [mm]"""
RAGGED = 2.5
"""How far the outline may be off all round, in mean steps in and out of it."""
UNCLEAR_MM = 0.6
"""How far an outline is off where it is unclear: relief lies about that far inside a rim. [mm]"""
HUES, HUE_WEIGHTS = (0.4, 0.6, 0.9), (1.0, 0.5, 0.3)
"""Difference in log colour between metal and ground, and what remains of all this there: up to the first a metal is
grey (cupronickel in warm light), from the last its colour tells it from paper and shadow."""
GREY_TO, DARK_FROM = 0.8, 0.95
"""Share of the edge along which metal is much darker than its ground up to which it is open as above, and from which
only by its shadow, a rim that mirrors the ground, and walls: shiny grey metal that mirrors black, or black metal. A
struck rim that mirrors the ground over a tenth of its length is none of these."""
DARK_MM, DARK_RIM_MM, WALL_SHARE = 0.015, 0.03, 0.25
"""What shadow leaves open of dark metal of any thickness (drawn scenes under a card: 0.015 to 0.02 mm root mean
square), and its rim in proportion up to 1 mm, which is wider where it is rounded (drawn rims) [mm]; and share of the
mean width of the walls seen (drawn scenes at 20° and more)."""
STEP_REACH = 6
"""Neighbours on either side over which a ring is averaged to see its steps."""


def pale_edge_mm(
    sheet: SheetDistance,
    rings: tuple[EdgeRing, ...],
    pixel_mm: float,
    height_mm: float,
    *,
    whole_mm: float | None = None,
) -> float:
    """Return how uncertain an edge on a sheet without colour is; 0 on a coloured one. [mm]

    Parameters
    ----------
    rings : tuple of EdgeRing
        All edges of one part; longer ones count more.
    height_mm : float
        Thickness of the part, between its widest lines where its edges may be rounded. [mm]
    whole_mm : float or None
        The whole of it, if that is more: so high is what throws the shadow, in which the foot of grey metal lies. [mm]
    """
    if sheet.coloured:
        return 0.0
    lengths = np.array([len(ring.points_px) for ring in rings], dtype=float)
    ragged_mm = pixel_mm * float(np.average([raggedness_px(ring) for ring in rings], weights=lengths))
    unclear = float(np.average([ring.unclear_share for ring in rings], weights=lengths))
    colour = np.clip((rings[0].face_hue - HUES[0]) / (HUES[1] - HUES[0]), 0.0, 1.0)
    weight = float(np.interp(rings[0].face_hue, HUES, HUE_WEIGHTS))
    grey = min((height_mm if whole_mm is None else whole_mm) / FULL_GREY_MM, 1.0)
    thick = min(height_mm, 1.0)
    clean_mm = CLEAN_RIM_MM * (grey + colour * (min(height_mm / FULL_COLOURED_MM, 1.0) - grey))
    rim = np.sqrt(clean_mm**2 + (RAGGED * ragged_mm * thick) ** 2 + (UNCLEAR_MM * unclear * thick) ** 2)
    grey_mm = FOIL_MM + weight * float(rim)
    share = float(np.average([ring.dark_share for ring in rings], weights=lengths))
    dark = float(np.clip((share - GREY_TO) / (DARK_FROM - GREY_TO), 0.0, 1.0) * (1.0 - colour))
    wall_mm = pixel_mm * float(np.average([np.maximum(ring.wall_px, 0.0).mean() for ring in rings], weights=lengths))
    dark_rim = DARK_RIM_MM * thick
    dark_mm = float(np.sqrt(DARK_MM**2 + dark_rim**2 + (WALL_SHARE * wall_mm) ** 2 + (UNCLEAR_MM * unclear) ** 2))
    return grey_mm + dark * (min(dark_mm, grey_mm) - grey_mm)


def raggedness_px(ring: EdgeRing) -> float:
    """Return the mean distance of an edge from itself averaged along, its own curvature taken off. [px]"""
    points = ring.points_px
    reach = max(1, min(STEP_REACH, len(points) // 12))
    smooth = mean_along((points - points[0]).astype(np.float32), reach) + points[0]
    step = np.einsum("ij,ij->i", points - smooth, ring.normals)
    return float(np.mean(np.abs(step - np.median(step))))
