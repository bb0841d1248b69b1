"""The predicted distribution of a plan as JSON: lengths mm, time s, ratios 1."""

from __future__ import annotations

from typing import Any

from areakit.plating.distribution import ThicknessMap
from areakit.plating.spread import Reach, Spread, pass_time
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
    brush, hand = strokes.brush, spread.hand
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
        "target": None if spread.reach is None else _reach_json(spread.reach),
    }


def _reach_json(reach: Reach) -> dict[str, Any]:
    return {"minimum_over_mean": reach.target, "overlap": reach.overlap, "reason": reach.reason}
