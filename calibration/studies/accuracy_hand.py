"""What people do by hand, on the same shapes: an honest model of each method and of the person behind it.

Assumptions (practice, no source): callipers are read to 0.05 mm; the filled share of the box is guessed with a standard
deviation of 0.07 and named to the nearest 0.05; a pencil runs 0.15 mm outside the edge, give or take 0.15 mm; 0.5 % of
the squares are miscounted; scissors follow a line to 0.25 mm; office paper weighs 80 g/m2 give or take 4 %.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon

CALLIPER_MM = 0.05
FILL_SD, FILL_STEP = 0.07, 0.05
PENCIL_MM, PENCIL_SD_MM = 0.15, 0.15
MISCOUNT = 0.005
SCISSORS_SD_MM = 0.25
PAPER_G_PER_MM2 = 80e-6
REAM_HALF_WIDTH, REAM_WEIGHED_SD = 0.04, 0.005


def hand_readings(shape: Polygon, rng: np.random.Generator) -> dict[str, float]:
    """Return the area by each hand method: name of the method to area. [mm2]"""
    pencil = float(rng.normal(PENCIL_MM, PENCIL_SD_MM))
    cut = pencil + float(rng.normal(0.0, SCISSORS_SD_MM))
    paper = shape.buffer(cut).area
    ream = float(rng.uniform(1.0 - REAM_HALF_WIDTH, 1.0 + REAM_HALF_WIDTH))
    weighed = float(rng.normal(1.0, REAM_WEIGHED_SD))
    return {
        "box": _box_times_fill(shape, rng),
        "squares": _squares(shape, pencil, rng),
        "paper_10mg": _weighed(paper * ream, 0.01),
        "paper_1mg": _weighed(paper * weighed, 0.001),
    }


def _box_times_fill(shape: Polygon, rng: np.random.Generator) -> float:
    """Callipers over the tightest box, times the share of it that the eye takes for filled."""
    ring = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape))
    sides = np.hypot(*np.diff(ring[:3], axis=0).T) + rng.normal(0.0, CALLIPER_MM, 2)
    box = float(np.prod(sides))
    guessed = FILL_STEP * round((shape.area / box + float(rng.normal(0.0, FILL_SD))) / FILL_STEP)
    return box * min(max(guessed, FILL_STEP), 1.0)


def _squares(shape: Polygon, pencil_mm: float, rng: np.random.Generator) -> float:
    """Trace on millimetre paper and count every square of which more than half seems to be inside."""
    traced = shape.buffer(pencil_mm)
    turned = affinity.rotate(traced, float(rng.uniform(0.0, 90.0)), origin=(0.0, 0.0))
    x0, y0, x1, y1 = turned.bounds
    x, y = np.meshgrid(np.arange(x0 - rng.random(), x1 + 1.0), np.arange(y0 - rng.random(), y1 + 1.0))
    shapely.prepare(turned)
    return float(shapely.contains_xy(turned, x, y).sum()) * float(rng.normal(1.0, MISCOUNT))


def _weighed(paper_mm2: float, step_g: float) -> float:
    """Area of a paper cut-out from its mass, read to the step of the balance."""
    return step_g * round(paper_mm2 * PAPER_G_PER_MM2 / step_g) / PAPER_G_PER_MM2
