"""Where the hand goes in brush plating: parallel lanes over an outline, and the moves between them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import Polygon

from areakit.errors import RangeError
from areakit.plating.footprint import footprint_area

MoveKind = Literal["lane", "slide", "lift"]
"""``lane``: along a lane; ``slide``: to the next lane, still in contact; ``lift``: through the air."""
MOST_LANES = 1000
Supply = Literal["voltage", "current"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Brush:
    """How the sleeve touches and how the hand moves it.

    - ``footprint_width_mm``, ``footprint_length_mm``: footprint across and along the lane. [mm]
    - ``overlap``: share of the width that the next lane covers again, 0 to 0.95. [1]
    - ``hand_speed_mm_s``: speed in contact. [mm/s]
    - ``overrun_mm``: how far the centre of the footprint runs past the edge of the metal. [mm]
    - ``rounded``: whether the footprint has fully round corners, as a soft sleeve on a flat; else it is a plain
      rectangle.
    - ``supply``: what the power supply holds. ``voltage``: the path through the sleeve is the same wherever it touches,
      so the current density is the same and the current follows the area in contact; this is how brush work is run.
      ``current``: the current crowds onto whatever metal is in contact.
    - ``lift_s``: time to lift off and set down again. [s]
    - ``air_speed_mm_s``: speed while lifted. [mm/s]
    """

    footprint_width_mm: float
    footprint_length_mm: float
    overlap: float
    hand_speed_mm_s: float
    overrun_mm: float
    rounded: bool = True
    supply: Supply = "voltage"
    lift_s: float = 0.5
    air_speed_mm_s: float = 400.0

    def __post_init__(self) -> None:
        for name in ("footprint_width_mm", "footprint_length_mm", "hand_speed_mm_s", "air_speed_mm_s"):
            _check(name, getattr(self, name), low=1e-3, high=1e5)
        _check("overlap", self.overlap, low=0.0, high=0.95)
        _check("overrun_mm", self.overrun_mm, low=0.0, high=1e4)
        _check("lift_s", self.lift_s, low=0.0, high=60.0)
        if self.supply not in ("voltage", "current"):
            raise RangeError(
                f"A supply that holds its {self.supply} is not known.", remedy="Give voltage or current as the supply."
            )

    @property
    def footprint_mm2(self) -> float:
        """Area of the footprint; round corners leave out what four quarter disks do not cover. [mm2]"""
        return footprint_area(self.footprint_width_mm, self.footprint_length_mm, rounded=self.rounded)

    @property
    def pitch_mm(self) -> float:
        """Distance from lane to lane. [mm]"""
        return self.footprint_width_mm * (1.0 - self.overlap)

    @property
    def side_overrun_mm(self) -> float:
        """How far the lanes reach past the sides: as the overrun, but no lane is laid that evens nothing out. [mm]"""
        return min(self.overrun_mm, self.overlap * self.footprint_width_mm / 2.0)

    def seconds(self, length_mm: float, kind: MoveKind) -> float:
        """Return the time that a move takes. [s]"""
        if kind == "lift":
            return self.lift_s + length_mm / self.air_speed_mm_s
        return length_mm / self.hand_speed_mm_s

    def lift_pays(self, gap_mm: float) -> bool:
        """Whether lifting over a gap is quicker than sliding through it."""
        return self.seconds(gap_mm, "lift") < self.seconds(gap_mm, "slide")


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One straight move of the centre of the footprint. [mm]"""

    start: tuple[float, float]
    end: tuple[float, float]
    kind: MoveKind

    @property
    def length_mm(self) -> float:
        """Length of the move. [mm]"""
        return math.dist(self.start, self.end)


def lay_lanes(polygon: Polygon, brush: Brush) -> tuple[Move, ...]:
    """Return the moves of one pass, lanes along x.

    The lanes stand one pitch apart, centred across the part. Each runs from the first to the last metal that its
    footprint width meets, plus the overrun. Gaps, holes or bays, split a lane only where lifting over them is quicker.
    """
    _, low, _, high = polygon.bounds
    pitch = brush.pitch_mm
    count = _lane_count(high - low, brush)
    rows = (low + high) / 2.0 + (np.arange(count) - (count - 1) / 2.0) * pitch
    moves: list[Move] = []
    for y in rows:
        spans = _spans(polygon, float(y), brush)
        if moves and spans and abs(moves[-1].end[0] - spans[0][0]) > abs(moves[-1].end[0] - spans[-1][1]):
            spans = [(end, start) for start, end in reversed(spans)]
        for start, end in spans:
            if moves:
                moves.append(_link(moves[-1].end, (start, float(y)), brush))
            moves.append(Move(start=(start, float(y)), end=(end, float(y)), kind="lane"))
    return tuple(moves)


def _lane_count(breadth_mm: float, brush: Brush) -> int:
    """Return how many lanes cover a breadth; one is enough where the even middle of the footprint covers it."""
    even = brush.pitch_mm if brush.rounded else brush.footprint_width_mm
    if breadth_mm <= even * (1.0 + 1e-9):
        return 1
    count = math.ceil((breadth_mm + 2.0 * brush.side_overrun_mm) / brush.pitch_mm - 1e-9)
    if count > MOST_LANES:
        raise RangeError(
            f"A part {breadth_mm:.0f} mm across needs {count} lanes with a footprint {brush.footprint_width_mm:g} mm "
            "wide "
            f"and an overlap of {brush.overlap:g}.",
            remedy=f"Use a wider footprint or less overlap; {MOST_LANES} lanes are possible.",
        )
    return count


def _link(start: tuple[float, float], end: tuple[float, float], brush: Brush) -> Move:
    """Return the move between two spans; a step no longer than the footprint's diagonal is never worth a lift."""
    gap = math.dist(start, end)
    short = gap <= math.hypot(brush.footprint_width_mm, brush.footprint_length_mm)
    kind: MoveKind = "slide" if (short and start[1] != end[1]) or not brush.lift_pays(gap) else "lift"
    return Move(start=start, end=end, kind=kind)


def _spans(polygon: Polygon, y: float, brush: Brush) -> list[tuple[float, float]]:
    """Return where one lane runs, from left to right; gaps that are not worth a lift are run through."""
    left, _, right, _ = polygon.bounds
    half = brush.footprint_width_mm / 2.0
    strip = shapely.clip_by_rect(polygon, left - 1.0, y - half, right + 1.0, y + half)
    pieces = [piece.bounds for piece in shapely.get_parts(strip) if piece.area > 0.0]
    spans: list[tuple[float, float]] = []
    for start, _, end, _ in sorted(pieces):
        begin, stop = start - brush.overrun_mm, end + brush.overrun_mm
        if spans and (begin <= spans[-1][1] or not brush.lift_pays(begin - spans[-1][1])):
            spans[-1] = (spans[-1][0], max(stop, spans[-1][1]))
        else:
            spans.append((begin, stop))
    return spans


def _check(name: str, value: float, *, low: float, high: float) -> None:
    if not low <= value <= high:
        words = name.removesuffix("_mm_s").removesuffix("_mm").removesuffix("_s").replace("_", " ")
        unit = {"d": " mm/s", "h": " mm", "n": " mm"}.get(words[-1], " s" if name == "lift_s" else "")
        raise RangeError(
            f"The {words} of {value:g}{unit} is outside {low:g} to {high:g}{unit}.", remedy=f"Give another {words}."
        )
