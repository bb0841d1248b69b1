"""A plan as one JSON object.

Units, chosen once: areas mm2 (footprint included), thickness um, charge A.min with the same in C, mass mg, current A,
current density A/dm2, time min, volume mL, metal content g/L, allowed charge A.h/L, density g/cm3, ratios 1.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from areakit.plating.coupon import CouponRun
from areakit.plating.deposit import variance_shares
from areakit.plating.hands import Offer, schedule_words
from areakit.plating.plan import Plan, PlannedLayer, PlannedStep
from areakit.plating.run import BrushRun, SharedLoad, TankRun
from areakit.records.codec import as_json, charge_json, picked, quantity_json
from areakit.uncertainty import Measured, exact
from areakit.units import in_unit

if TYPE_CHECKING:
    from areakit.plating.spread import Spread

SCHEMA = "areakit.plan/2"


def plan_json(plan: Plan) -> dict[str, Any]:
    """Return the whole plan; every caution stands with its step and once more in the list at the end."""
    order = plan.order
    return {
        "schema": SCHEMA,
        "process": picked(order.process, "key", "title", "method"),
        **picked(order, "base", "market", "use"),
        "area": {"per_piece": quantity_json(order.area), "origin": as_json(order.area_origin)},
        "pieces": order.bench.pieces,
        "parts": list(order.parts),
        "brush": order.brush or None,
        "charge_total": charge_json(plan.charge_total),
        "distribution": distribution_json(plan.order.spread),
        "layers": [layer_json(layer) for layer in plan.layers],
        "steps": [step_json(step) for step in plan.steps],
        **picked(plan, "findings", "flags", "premises", "cautions"),
        "asked": dict(order.asked),
        "loads_shared": [load_json(load) for load in plan.shared],
    }


def distribution_json(spread: Spread | None) -> dict[str, Any] | None:
    """Return a predicted distribution; None where there is none."""
    if spread is None:
        return None
    from areakit.records.spread_json import spread_json  # brings shapely

    return spread_json(spread)


def layer_json(planned: PlannedLayer) -> dict[str, Any]:
    """Return one layer: what was asked for, what to run, what it reaches, and what it takes."""
    layer, even = planned.layer, planned.charge_even_chance
    return {
        "metal": layer.metal,
        "bath": layer.chemistry.bath.key,
        "bath_title": layer.chemistry.bath.title,
        "solution": layer.solution,
        "requirement": layer.standard.key if layer.standard else None,
        "minimum_needed": _micrometres(planned.minimum_needed),
        "distribution_allowance": as_json(layer.allowance),
        "mean_target": _micrometres(planned.mean_target),
        "efficiency": as_json(layer.chemistry.efficiency),
        "density": as_json(layer.chemistry.density),
        "charge": charge_json(planned.charge),
        "charge_set": charge_json(exact(planned.charge_set, "C")),
        "charge_even_chance": charge_json(exact(even, "C")) if even is not None else None,
        "charge_total": charge_json(planned.charge_total),
        "charge_shares": variance_shares(planned.charge),
        "mean_reached": as_json(planned.mean),
        "mean_by_efficiency": as_json(planned.mean_by_efficiency),
        "minimum_reached": as_json(planned.minimum),
        "minimum_shares": variance_shares(planned.minimum),
        **picked(planned, "mass", "mass_total"),
        "brush": _brush_json(planned.brush),
        "tank": _tank_json(planned.tank),
        "by_volts": _by_volts_json(planned.by_volts, planned.layer.chemistry.density.quantity),
        "hands": _hands_json(planned),
        "consumption": as_json(planned.consumption),
    }


def _micrometres(value: float | None) -> dict[str, Any] | None:
    return None if value is None else as_json(exact(value, "m"))


def _brush_json(run: BrushRun | None) -> dict[str, Any] | None:
    if run is None:
        return None
    seconds = quantity_json(run.seconds_per_pass)
    return {**as_json(run), "current_density": _density_json(run), "seconds_per_pass": seconds}


def _density_json(run: BrushRun | TankRun | SharedLoad | Offer) -> Any:
    return as_json(exact(run.current_density, "A/m2"))


def _hands_json(planned: PlannedLayer) -> dict[str, Any] | None:
    work = planned.hands
    if work is None:
        return None
    return {
        **picked(work, "stroke", "strokes_per_minute", "spells", "too_fast"),
        "pace": work.pace.name,
        "rest": as_json(exact(work.pace.rest, "s")),
        "time": as_json(exact(work.time, "s")),
        "whole": as_json(exact(work.whole, "s")),
        "words": schedule_words(planned.layer.metal, work),
        "offers": [
            {
                **picked(offer, "what", "strokes_per_minute"),
                "footprint": quantity_json(in_unit(exact(offer.footprint, "m2"), "cm2")),
                "current_density": _density_json(offer),
                "mean_current": as_json(exact(offer.mean_current, "A")),
                "hand_speed": as_json(exact(offer.hand_speed, "m/s")),
                "time": as_json(exact(offer.time, "s")),
            }
            for offer in work.offers
        ],
    }


def _by_volts_json(run: CouponRun | None, density: Measured) -> dict[str, Any] | None:
    if run is None:
        return None
    return {
        "coupon": run.coupon.name,
        "brush": run.coupon.brush,
        "volts": as_json(exact(run.coupon.volts, "V")),
        "thickness_per_pass": as_json(run.coupon.thickness_per_pass(density)),
        "seconds_per_pass": quantity_json(run.seconds_per_pass),
        **picked(run, "passes", "passes_set", "time", "mass"),
        "mean_reached": as_json(run.mean),
        "minimum_reached": as_json(run.minimum),
    }


def _tank_json(run: TankRun | None) -> dict[str, Any] | None:
    if run is None:
        return None
    return {
        **picked(run, "rack", "pieces_per_load", "loads"),
        "loads_alike": [picked(group, "pieces", "loads", "current") for group in run.groups],
        **picked(run, "current", "time", "share"),
        "current_density": _density_json(run),
    }


def load_json(load: SharedLoad) -> dict[str, Any]:
    """Return a load in which several kinds of parts hang, with the share of each."""
    return {
        **picked(load, "metal", "pieces", "area", "current", "time"),
        "current_density": _density_json(load),
        "charge": charge_json(exact(load.charge, "C")),
        "shares": [
            {
                **picked(one, "parts", "pieces", "share", "current"),
                "minimum_reached": as_json(one.minimum),
                "minimum_needed": _micrometres(one.needed),
            }
            for one in load.shares
        ],
    }


def step_json(planned: PlannedStep) -> dict[str, Any]:
    """Return one step with its cautions."""
    step = planned.step
    return {
        "number": planned.number,
        **picked(step, "key", "kind", "title", "metal", "conditional", "polarity"),
        "voltage": as_json(planned.voltage),
        **picked(step, "look_for", "next_within", "tool", "source"),
        "charge_set": charge_json(exact(planned.layer.charge_set, "C")) if planned.layer else None,
        "cautions": as_json(planned.cautions),
    }
