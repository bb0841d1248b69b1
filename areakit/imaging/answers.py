"""What a person says of doubtful places, and what becomes of a region by it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from areakit.imaging.segment import Region

Floats = npt.NDArray[np.float64]
InSheet = Callable[[Floats], Floats]
"""From a ring in pixels of a region to millimetres of the sheet, y upwards, shape (n, 2) each."""

ANSWER_REACH_MM = 0.5
"""How far beside a place an answer may lie that is meant for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a person says of a doubtful region: the point in sheet millimetres, y upwards, is in a hole or on metal."""

    point_mm: tuple[float, float]
    hole: bool


def answered(region: Region, answers: Sequence[Answer], in_sheet: InSheet) -> Region:
    """Apply the answers that fall into holes or doubtful regions of one region, or into ground beside it."""
    if not answers:
        return region
    region = _claimed(region, answers, in_sheet)
    outer, *holes = region.rings
    doubtful, certain = list(region.doubtful), 0
    for answer in answers:
        point = Point(answer.point_mm)
        near = [ring for ring in (*holes, *doubtful) if _meant(in_sheet(ring), point)]
        holes = [ring for ring in holes if not any(ring is one for one in near)]
        doubtful = [ring for ring in doubtful if not any(ring is one for one in near)]
        if answer.hole:
            holes, certain = near + holes, certain + len(near)
    return replace(region, rings=(outer, *holes), doubtful=tuple(doubtful), certain_holes=certain)


def _claimed(region: Region, answers: Sequence[Answer], in_sheet: InSheet) -> Region:
    """Add ground beside a region that a person said is metal, and forget what they said is not."""
    outer: BaseGeometry = Polygon(region.rings[0])
    beside = []
    for ring in region.beside:
        flat = in_sheet(ring)
        told = [answer.hole for answer in answers if _meant(flat, Point(answer.point_mm))]
        if not told:
            beside.append(ring)
        elif not told[-1]:
            outer = outer.union(Polygon(ring).buffer(1.0))
    if not isinstance(outer, Polygon):
        return region
    claimed = not outer.equals(Polygon(region.rings[0]))
    rings = (np.asarray(outer.exterior.coords)[:-1], *region.rings[1:]) if claimed else region.rings
    return replace(region, rings=rings, beside=tuple(beside), claimed=claimed)


def _meant(ring_mm: Floats, point: Point) -> bool:
    return bool(Polygon(ring_mm).buffer(ANSWER_REACH_MM).contains(point))


def all_holes_asked(region: Region) -> Region:
    """Ask about every hole that nobody confirmed: in grey metal on a pale sheet a highlight looks just like one."""
    kept = 1 + region.certain_holes
    return replace(region, rings=region.rings[:kept], doubtful=(*region.rings[kept:], *region.doubtful))
