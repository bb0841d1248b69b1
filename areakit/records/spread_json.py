"""The predicted distribution of a plan, and the strokes of one pass, as JSON: lengths mm, times s, ratios 1."""

from __future__ import annotations

from typing import Any

from areakit.plating.distribution import ThicknessMap
from areakit.plating.lanes import Move
from areakit.plating.spread import Spread, pass_time
from areakit.plating.strokes import StrokePlan
from areakit.records.codec import picked, quantity_json
from areakit.uncertainty import exact


def spread_json(spread: Spread) -> dict[str, Any]:
    """Return a predicted distribution."""
    predicted = spread.predicted
    return {
        **picked(spread, "method", "part", "parts", "minimum_over_mean", "allowance", "origin", "premises"),
        "minimum_at_mm": list(least_place(spread)),
        "tank": _tank_json(predicted) if isinstance(predicted, ThicknessMap) else None,
        "brush": _brush_json(spread, predicted) if isinstance(predicted, StrokePlan) else None,
    }


def least_place(spread: Spread) -> tuple[float, float]:
    """Return where the deposit is thinnest, in the outline's millimetres; the prediction ran on its mirror image."""
    predicted = spread.predicted
    x, y = predicted.minimum_at_mm if isinstance(predicted, ThicknessMap) else predicted.dose.minimum_at_mm
    return x, -y


def _tank_json(thickness: ThicknessMap) -> dict[str, Any]:
    return {"wagner": thickness.wagner, "panels": thickness.panel_count, "spot_mm": thickness.spot_mm}


def _brush_json(spread: Spread, strokes: StrokePlan) -> dict[str, Any]:
    brush, hand, reach = strokes.brush, spread.hand, spread.reach
    assert hand is not None
    return {
        "footprint_width": quantity_json(exact(brush.footprint_width_mm, "mm")),
        "footprint_length": quantity_json(exact(brush.footprint_length_mm, "mm")),
        "footprint_corners": "round" if brush.rounded else "square",
        "overlap": brush.overlap,
        "lanes": len(strokes.lanes),
        "lifts": strokes.lifts,
        "direction_deg": strokes.direction_deg,
        "path_length": quantity_json(exact(strokes.path_length_mm, "mm")),
        "time_per_pass": quantity_json(pass_time(strokes, hand)),
        "target": reach and {"minimum_over_mean": reach.target, "overlap": reach.overlap, "reason": reach.reason},
    }


def strokes_json(plan: StrokePlan) -> dict[str, Any]:
    """Return the strokes of one pass, to be drawn or played: outline, footprint, every move with the time it takes.

    Lengths in mm, times in s, x to the right and y down.
    """
    brush = plan.brush
    rings = [plan.polygon.exterior, *plan.polygon.interiors]
    return {
        "rings_mm": [[_point(point) for point in ring.coords] for ring in rings],
        **picked(brush, "footprint_width_mm", "footprint_length_mm", "rounded", "overlap", "hand_speed_mm_s"),
        **picked(plan, "direction_deg", "seconds_per_pass", "path_length_mm"),
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
