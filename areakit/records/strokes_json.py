"""The strokes of one pass as JSON, to be drawn or played: lengths mm, times s, x to the right and y down."""

from __future__ import annotations

from typing import Any

from areakit.plating.lanes import Move
from areakit.plating.strokes import StrokePlan


def strokes_json(plan: StrokePlan) -> dict[str, Any]:
    """Return the outline, the footprint, and every move with the time that it takes."""
    brush = plan.brush
    rings = [plan.polygon.exterior, *plan.polygon.interiors]
    return {
        "rings_mm": [[_point(point) for point in ring.coords] for ring in rings],
        "footprint_width_mm": brush.footprint_width_mm,
        "footprint_length_mm": brush.footprint_length_mm,
        "rounded": brush.rounded,
        "overlap": brush.overlap,
        "hand_speed_mm_s": brush.hand_speed_mm_s,
        "direction_deg": plan.direction_deg,
        "seconds_per_pass": plan.seconds_per_pass,
        "path_length_mm": plan.path_length_mm,
        "lanes": len(plan.lanes),
        "lifts": plan.lifts,
        "moves": [_move_json(plan, move) for move in plan.moves],
    }


def _move_json(plan: StrokePlan, move: Move) -> dict[str, Any]:
    return {
        "kind": move.kind,
        "start_mm": _point(move.start),
        "end_mm": _point(move.end),
        "seconds": plan.brush.seconds(move.length_mm, move.kind),
    }


def _point(point: tuple[float, ...]) -> list[float]:
    return [round(float(point[0]), 3), round(float(point[1]), 3)]
