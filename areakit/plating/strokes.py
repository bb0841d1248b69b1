"""The stroke plan of brush plating over the outline of a part, and the dose that it leaves.

Lengths are in millimetres and times in seconds; charge and current are SI. The footprint is taken as even over its
area: the sleeve keeps the anode close, so the edge effects of a tank are left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely.affinity import rotate
from shapely.geometry import MultiPolygon, Polygon

from areakit.errors import OutlineInvalid, RangeError
from areakit.geometry.outline import check_polygon
from areakit.plating.dose import (
    Floats,
    Grid,
    contact_seconds,
    contact_spectrum,
    largest_contact_mm2,
    lay_grid,
    metal_share,
)
from areakit.plating.footprint import OVERLAP_STEP, ripple
from areakit.plating.lanes import Brush, Move, Supply, lay_lanes
from areakit.plating.orientation import long_side_deg, simplified, turned, turned_polygon

Mask = NDArray[np.bool_]

DIRECTION_STEP_DEG = 5
WORTH_TURNING = 0.005
"""A direction must shorten the path by this share to win over one tried before it."""
WHOLE_CELL = 0.999
"""Cells with less metal than this are left out of the minimum: a rim of at most one cell."""
SIMPLIFY_OVER_WIDTH = 1.0 / 200.0
FEWEST_LANES_WITH_RIPPLE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseMap:
    """Time in contact over the part in one pass, on a raster in the lanes' frame.

    - ``grid``: where the cells lie once the part is turned by ``-direction_deg`` about the origin.
    - ``contact_s``: time in contact at the density of full contact, (rows, columns). [s]
    - ``metal``: share of metal in each cell, (rows, columns). [1]
    - ``mean_s``: mean over the metal. [s]
    - ``largest_contact_mm2``: largest area of metal in contact at once. [mm2]
    - ``minimum_over_mean``: minimum over the cells that lie wholly on the significant surface, over the mean. [1]
    - ``minimum_at_mm``: where that is, in the part's own frame. [mm]
    """

    grid: Grid
    direction_deg: float
    contact_s: Floats
    metal: Floats
    mean_s: float
    largest_contact_mm2: float
    minimum_over_mean: float
    minimum_at_mm: tuple[float, float]

    def __post_init__(self) -> None:
        self.contact_s.setflags(write=False)
        self.metal.setflags(write=False)

    @property
    def ratio(self) -> Floats:
        """Local over mean dose, (rows, columns). [1]"""
        return self.contact_s / self.mean_s


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokePlan:
    """One pass over a part with the brush.

    ``moves`` are in order, in the part's own frame. ``path_length_mm`` is the whole way of the hand. ``dose`` says
    how even the pass is.
    """

    polygon: Polygon
    significant: Polygon | MultiPolygon | None
    brush: Brush
    direction_deg: float
    moves: tuple[Move, ...]
    path_length_mm: float
    lifts: int
    seconds_per_pass: float
    dose: DoseMap

    @property
    def lanes(self) -> tuple[Move, ...]:
        """The moves along lanes."""
        return tuple(move for move in self.moves if move.kind == "lane")

    @property
    def minimum_over_mean(self) -> float:
        """Least over mean dose on the significant surface. [1]"""
        return self.dose.minimum_over_mean

    @property
    def allowance(self) -> float:
        """Distribution allowance: mean over minimum; infinite where a place is never touched. [1]"""
        return 1.0 / self.minimum_over_mean if self.minimum_over_mean > 0.0 else math.inf


def plan_strokes(
    polygon: Polygon,
    *,
    footprint_width_mm: float,
    footprint_length_mm: float,
    overlap: float,
    hand_speed_mm_s: float,
    overrun_mm: float,
    rounded: bool = True,
    supply: Supply = "voltage",
    lift_s: float = 0.5,
    air_speed_mm_s: float = 400.0,
    direction_deg: float | None = None,
    significant: Polygon | MultiPolygon | None = None,
) -> StrokePlan:
    """Lay the lanes over the part in the direction of the shortest path, and simulate one pass.

    The defaults for lifting are common practice without a source.

    - ``polygon``: outline with its holes. [mm]
    - ``footprint_width_mm``, ``footprint_length_mm``, ``overlap``, ``hand_speed_mm_s``, ``overrun_mm``, ``rounded``,
      ``supply``, ``lift_s``, ``air_speed_mm_s``: see :class:`areakit.plating.lanes.Brush`.
    - ``direction_deg``: direction of the lanes against x; found if left out. [deg]
    - ``significant``: where the minimum counts; the whole face if left out. [mm]

    Raises OutlineInvalid if the outline encloses no honest area, or the significant surface lies outside it; RangeError
    if a figure is out of range.
    """
    brush = Brush(
        footprint_width_mm=footprint_width_mm,
        footprint_length_mm=footprint_length_mm,
        overlap=overlap,
        hand_speed_mm_s=hand_speed_mm_s,
        overrun_mm=overrun_mm,
        rounded=rounded,
        supply=supply,
        lift_s=lift_s,
        air_speed_mm_s=air_speed_mm_s,
    )
    check_polygon(polygon)
    return _plan(polygon, brush, direction_deg, significant)


def overlap_for(plan: StrokePlan, *, target: float, judge: Callable[[StrokePlan], float] | None = None) -> float:
    """Return the smallest overlap, in steps of 0.05, whose minimum over mean reaches ``target``.

    ``judge`` tells the minimum over mean of a plan; that of one pass where left out.

    Direction, footprint and hand stay as in ``plan``. A sharp-edged footprint leaves ripple unless its width is a whole
    number of pitches, so the ratio does not simply rise with the overlap; the steps are tried in order.

    Raises RangeError if the target is not between 0 and 1, or no overlap reaches it.
    """
    if not 0.0 < target < 1.0:
        raise RangeError(f"A target of {target:g} is not between 0 and 1.", remedy="Give a ratio such as 0.85.")
    best = (0.0, 0.0)
    for step in range(round(0.9 / OVERLAP_STEP) + 1):
        overlap = round(step * OVERLAP_STEP, 2)
        brush = replace(plan.brush, overlap=overlap)
        tried = _plan(plan.polygon, brush, plan.direction_deg, plan.significant)
        reached = tried.minimum_over_mean if judge is None else judge(tried)
        if reached >= target:
            return overlap
        best = max(best, (reached, overlap))
    raise RangeError(
        f"No overlap reaches a minimum of {target:.2f} of the mean; the best is {best[0]:.2f} at {best[1]:.2f}.",
        remedy="Run further past the edge, use a rounded footprint, or lower the target.",
    )


def _plan(
    polygon: Polygon, brush: Brush, direction_deg: float | None, significant: Polygon | MultiPolygon | None
) -> StrokePlan:
    angle_deg, moves = _lanes(polygon, brush, direction_deg)
    dose = _simulate(polygon, significant, brush, moves, angle_deg)
    return StrokePlan(
        polygon=polygon,
        significant=significant,
        brush=brush,
        direction_deg=angle_deg,
        moves=tuple(_turn_move(move, angle_deg) for move in moves),
        path_length_mm=math.fsum(move.length_mm for move in moves),
        lifts=sum(move.kind == "lift" for move in moves),
        seconds_per_pass=math.fsum(brush.seconds(move.length_mm, move.kind) for move in moves),
        dose=dose,
    )


def check_brush(polygon: Polygon, brush: Brush) -> None:
    """Raise RangeError where a brush cannot be led over a part, without looking at what it would leave there."""
    angle_deg, moves = _lanes(polygon, brush, None)
    lay_grid(turned_polygon(polygon, -angle_deg), brush, moves[0].start[1])


def _lanes(polygon: Polygon, brush: Brush, direction_deg: float | None) -> tuple[float, tuple[Move, ...]]:
    """Return the direction of the lanes, found if it is not given, and the moves along x in it."""
    plain = simplified(polygon, brush.footprint_width_mm * SIMPLIFY_OVER_WIDTH)
    angle_deg = _shortest_path_deg(plain, brush) if direction_deg is None else direction_deg % 180.0
    return angle_deg, lay_lanes(turned_polygon(plain, -angle_deg), brush)


def _shortest_path_deg(polygon: Polygon, brush: Brush) -> float:
    """Try the sides of the smallest rectangle around the part, then every 5 degrees; earlier ones win a near tie."""
    side = long_side_deg(polygon)
    best, shortest = side, math.inf
    for angle_deg in (side, (side + 90.0) % 180.0, *range(0, 180, DIRECTION_STEP_DEG)):
        length = math.fsum(move.length_mm for move in lay_lanes(turned_polygon(polygon, -angle_deg), brush))
        if length < shortest * (1.0 - WORTH_TURNING):
            best, shortest = float(angle_deg), length
    return best


def _simulate(
    polygon: Polygon,
    significant: Polygon | MultiPolygon | None,
    brush: Brush,
    moves: tuple[Move, ...],
    angle_deg: float,
) -> DoseMap:
    level = turned_polygon(polygon, -angle_deg)
    grid = lay_grid(level, brush, moves[0].start[1])
    metal = metal_share(simplified(level, grid.cell_x / 50.0), grid)
    spectrum = contact_spectrum(brush, grid)
    contact = contact_seconds(moves, brush, grid, metal, spectrum=spectrum)
    mean = float((contact * metal).sum() / metal.sum())
    counted = _counted(metal, significant, grid, angle_deg)
    row, column = np.unravel_index(np.argmin(np.where(counted, contact, np.inf)), contact.shape)
    spot = np.array([grid.left + (column + 0.5) * grid.cell_x, grid.low + (row + 0.5) * grid.cell_y])
    x, y = turned(spot, angle_deg)
    return DoseMap(
        grid=grid,
        direction_deg=angle_deg,
        contact_s=contact,
        metal=metal,
        mean_s=mean,
        largest_contact_mm2=largest_contact_mm2(grid, metal, spectrum),
        minimum_over_mean=min(float(contact[row, column]), _between_lanes(moves, brush)) / mean,
        minimum_at_mm=(float(x), float(y)),
    )


def _between_lanes(moves: tuple[Move, ...], brush: Brush) -> float:
    """Return the minimum dose between lanes [s], whose cusps the raster blunts; infinite with few lanes."""
    rows = {move.start[1] for move in moves if move.kind == "lane"}
    if len(rows) < FEWEST_LANES_WITH_RIPPLE or brush.supply != "voltage":
        return math.inf
    evenness = ripple(brush.footprint_width_mm, brush.footprint_length_mm, pitch=brush.pitch_mm, rounded=brush.rounded)
    return evenness * brush.footprint_mm2 / (brush.pitch_mm * brush.hand_speed_mm_s)


def _counted(metal: Floats, significant: Polygon | MultiPolygon | None, grid: Grid, angle_deg: float) -> Mask:
    """Return which cells count for the minimum; where the part is narrower than a cell, the fullest ones."""
    share = metal
    if significant is not None:
        share = np.minimum(metal, metal_share(rotate(significant, -angle_deg, origin=(0.0, 0.0)), grid))
        if np.max(share) < 0.5:
            raise OutlineInvalid(
                "The significant surface does not lie on the part.",
                remedy="Place the significant surface on the metal.",
            )
    counted: Mask = share >= min(WHOLE_CELL, float(np.max(share)))
    return counted


def _turn_move(move: Move, angle_deg: float) -> Move:
    (x0, y0), (x1, y1) = turned(np.array([move.start, move.end]), angle_deg)
    return Move(start=(float(x0), float(y0)), end=(float(x1), float(y1)), kind=move.kind)
