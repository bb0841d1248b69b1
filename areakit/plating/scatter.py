"""What a hand makes of lanes: every pass scatters, so the minimum over many passes is far from that of one repeated.

Per pass, these are drawn at random: where the whole pass lies, where each lane lies and ends, the direction of the
lanes, their distance, and the speed on each. The dose of many passes is their sum, near to a normal field: its mean is
that of the lanes smoothed by the scatter, its deviations are drawn from passes that were simulated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.affinity import rotate
from shapely.geometry import MultiPolygon, Polygon

from areakit.plating.dose import Floats, Grid, coarse_grid, contact_seconds, contact_spectrum, metal_share, smoothed
from areakit.plating.lanes import Brush, Move, lay_lanes
from areakit.plating.orientation import simplified, turned, turned_polygon

DIRECTION_DEG, SPACING, DWELL = 3.0, 0.05, 0.1
"""Standard deviations per pass of direction and lane distance, per lane of the speed. Common practice, no source."""
PASSES, DRAWS, SEED = 48, 40, 1
"""Passes that are simulated, and sums of passes that are drawn from them."""
USUAL_PASSES = 30.0
"""Passes that are taken where no current says how many there are. Own choice, rather few."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Standard deviations of a hand: lanes and the whole pass in mm, direction in degrees, lane distance and speed."""

    lanes_mm: float
    whole_mm: float
    direction_deg: float = DIRECTION_DEG
    spacing: float = SPACING
    dwell: float = DWELL


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatteredDose:
    """Local over mean dose on the cells of the significant surface.

    - ``mean``: expected ratio, (n,). [1]
    - ``deviations``: deviations of single passes from it, as drawn, (n, draws). [1]
    """

    mean: Floats
    deviations: NDArray[np.float32]

    def __post_init__(self) -> None:
        self.mean.setflags(write=False)
        self.deviations.setflags(write=False)

    def minimum_over_mean(self, passes: float) -> tuple[float, float]:
        """Return the expected minimum over the mean dose after so many passes, and its standard deviation. [1]

        The sum of independent passes has their relative deviation over the root of their number.
        """
        sums = self.mean[:, None] + self.deviations / math.sqrt(max(passes, 1.0))
        minima = np.maximum(sums.min(axis=0), 0.0)
        return float(minima.mean()), float(minima.std(ddof=1))


def scattered_dose(
    polygon: Polygon,
    brush: Brush,
    scatter: Scatter,
    *,
    direction_deg: float,
    significant: Polygon | MultiPolygon | None = None,
) -> ScatteredDose:
    """Return the dose of passes that scatter about the lanes of a brush.

    Direction and lane distance are left out of the expected dose, which would come out evener still.

    - ``polygon``: outline with its holes. [mm]
    - ``direction_deg``: direction of the lanes against x. [deg]
    - ``significant``: where the minimum counts; the whole face if left out. [mm]
    """
    level = turned_polygon(polygon, -direction_deg)
    plain = simplified(level, brush.footprint_width_mm / 200.0)
    moves = lay_lanes(plain, brush)
    grid = coarse_grid(level, brush, moves[0].start[1])
    metal = metal_share(level, grid)
    counted = metal
    if significant is not None:
        counted = np.minimum(metal, metal_share(rotate(significant, -direction_deg, origin=(0.0, 0.0)), grid))
    kept = counted >= min(0.999, float(np.max(counted)))
    expected = smoothed(contact_seconds(moves, brush, grid, metal), grid, _bell(scatter, grid))
    mean = _ratio(expected, metal)[kept]
    drawn = np.random.default_rng(SEED)
    spectrum = contact_spectrum(brush, grid)
    middle = np.array(level.envelope.centroid.coords[0])
    single = np.stack(
        [
            _ratio(
                contact_seconds(_shaken(moves, scatter, middle, drawn), brush, grid, metal, spectrum=spectrum,
                                weights=1.0 + scatter.dwell * drawn.standard_normal(len(moves))), metal)[kept]
            for _ in range(PASSES)
        ],
        axis=1,
    )  # fmt: skip
    single -= single.mean(axis=1, keepdims=True)
    weights = drawn.standard_normal((PASSES, DRAWS)) / math.sqrt(PASSES - 1.0)
    return ScatteredDose(mean=mean, deviations=(single @ weights).astype(np.float32))


def _bell(scatter: Scatter, grid: Grid) -> float:
    """Return the deviation to smooth by: what the cells smooth already, a twelfth of their side squared, taken off."""
    return math.sqrt(max(0.0, scatter.lanes_mm**2 + scatter.whole_mm**2 - grid.cell_y**2 / 12.0))


def _ratio(dose: Floats, metal: Floats) -> Floats:
    ratio: Floats = dose * (metal.sum() / float((dose * metal).sum()))
    return ratio


def _shaken(moves: tuple[Move, ...], scatter: Scatter, middle: Floats, drawn: np.random.Generator) -> tuple[Move, ...]:
    """Return the moves of one pass as a hand makes them; slides and lifts stay joined to their lanes."""
    whole = scatter.whole_mm * drawn.standard_normal(2)
    spacing = 1.0 + scatter.spacing * drawn.standard_normal()
    angle = scatter.direction_deg * float(drawn.standard_normal())
    ends: dict[tuple[float, float], tuple[float, float]] = {}
    for move in moves:
        if move.kind != "lane":
            continue
        across = scatter.lanes_mm * drawn.standard_normal()
        for end in (move.start, move.end):
            away = np.array(end) - middle
            place = away * (1.0, spacing) + (scatter.lanes_mm * drawn.standard_normal(), across)
            x, y = turned(place, angle) + middle + whole
            ends[end] = (float(x), float(y))
    return tuple(Move(start=ends[move.start], end=ends[move.end], kind=move.kind) for move in moves)
