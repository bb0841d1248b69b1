"""A plan as one JSON object.

Units, chosen once: areas mm2 (contact included), thickness um, charge A.min with the same in C, mass mg, current A,
current density A/dm2, time min, volume mL, metal content g/L, allowed charge A.h/L, density g/cm3, ratios 1.
"""

from __future__ import annotations

from typing import Any

from areakit.plating.consumption import Consumption
from areakit.plating.coupon import CouponRun
from areakit.plating.deposit import variance_shares
from areakit.plating.hands import schedule_words
from areakit.plating.plan import Plan, PlannedLayer, PlannedStep
from areakit.plating.run import BrushRun, TankRun
from areakit.plating.together import SharedLoad
from areakit.records.codec import flag_json, quantity_json
from areakit.records.figures_json import caution_json, charge_json, finding_json, origin_json, plain_json, premise_json
from areakit.uncertainty import Measured, exact
from areakit.units import in_unit

SCHEMA = "areakit.plan/2"


def plan_json(plan: Plan) -> dict[str, Any]:
    """Return the whole plan; every caution stands with its step and once more in the list at the end."""
    order = plan.order
    return {
        "schema": SCHEMA,
        "process": {"key": order.process.key, "title": order.process.title, "method": order.process.method},
        "base": order.base,
        "market": order.market,
        "use": order.use,
        "area": {"per_piece": quantity_json(order.area), "origin": origin_json(order.area_origin)},
        "pieces": order.bench.pieces,
        "parts": list(order.parts),
        "brush": order.brush or None,
        "charge_total": charge_json(plan.charge_total),
        "distribution": _distribution(plan),
        "layers": [layer_json(layer) for layer in plan.layers],
        "steps": [step_json(step) for step in plan.steps],
        "findings": [finding_json(finding) for finding in plan.findings],
        "flags": [flag_json(flag) for flag in plan.flags],
        "premises": [premise_json(premise) for premise in plan.premises],
        "cautions": [caution_json(caution) for caution in plan.cautions],
        "asked": dict(order.asked),
        "loads_shared": [load_json(load) for load in plan.shared],
    }


def _distribution(plan: Plan) -> dict[str, Any] | None:
    if plan.order.spread is None:
        return None
    from areakit.records.spread_json import spread_json  # brings shapely

    return spread_json(plan.order.spread)


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
        "distribution_allowance": premise_json(layer.allowance),
        "mean_target": _micrometres(planned.mean_target),
        "efficiency": premise_json(layer.chemistry.efficiency),
        "density": premise_json(layer.chemistry.density),
        "charge": charge_json(planned.charge),
        "charge_set": charge_json(exact(planned.charge_set, "C")),
        "charge_even_chance": charge_json(exact(even, "C")) if even is not None else None,
        "charge_total": charge_json(planned.charge_total),
        "charge_shares": variance_shares(planned.charge),
        "mean_reached": plain_json(planned.mean),
        "mean_by_efficiency": _ends_json(planned),
        "minimum_reached": plain_json(planned.minimum),
        "minimum_shares": variance_shares(planned.minimum),
        "mass": plain_json(planned.mass),
        "mass_total": plain_json(planned.mass_total),
        "brush": _brush_json(planned.brush),
        "tank": _tank_json(planned.tank),
        "by_volts": _by_volts_json(planned.by_volts, planned.layer.chemistry.density.quantity),
        "hands": _hands_json(planned),
        "consumption": consumption_json(planned.consumption),
    }


def _ends_json(planned: PlannedLayer) -> list[dict[str, Any] | None] | None:
    ends = planned.mean_by_efficiency
    return None if ends is None else [plain_json(end) for end in ends]


def _micrometres(value: float | None) -> dict[str, Any] | None:
    return None if value is None else plain_json(exact(value, "m"))


def _brush_json(run: BrushRun | None) -> dict[str, Any] | None:
    if run is None:
        return None
    return {
        "mean_current": plain_json(run.mean_current),
        "peak_current": plain_json(run.peak_current),
        "current_density": plain_json(exact(run.current_density, "A/m2")),
        "contact_fraction": premise_json(run.contact_fraction),
        "time": plain_json(run.time),
        "passes": quantity_json(run.passes),
        "seconds_per_pass": quantity_json(run.seconds_per_pass),
        "hand_speed": premise_json(run.hand_speed),
        "strokes_per_minute": plain_json(run.strokes_per_minute),
    }


def _hands_json(planned: PlannedLayer) -> dict[str, Any] | None:
    work = planned.hands
    if work is None:
        return None
    return {
        "stroke": premise_json(work.stroke),
        "strokes_per_minute": quantity_json(work.strokes_per_minute),
        "pace": work.pace.name,
        "spells": work.spells,
        "rest": plain_json(exact(work.pace.rest, "s")),
        "time": plain_json(exact(work.time, "s")),
        "whole": plain_json(exact(work.whole, "s")),
        "too_fast": work.too_fast,
        "words": schedule_words(planned.layer.metal, work),
        "offers": [
            {
                "what": offer.what,
                "contact": quantity_json(in_unit(exact(offer.contact, "m2"), "cm2")),
                "current_density": plain_json(exact(offer.current_density, "A/m2")),
                "mean_current": plain_json(exact(offer.mean_current, "A")),
                "hand_speed": plain_json(exact(offer.hand_speed, "m/s")),
                "strokes_per_minute": offer.strokes_per_minute,
                "time": plain_json(exact(offer.time, "s")),
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
        "volts": plain_json(exact(run.coupon.volts, "V")),
        "thickness_per_pass": plain_json(run.coupon.thickness_per_pass(density)),
        "passes": quantity_json(run.passes),
        "passes_set": run.passes_set,
        "seconds_per_pass": quantity_json(run.seconds_per_pass),
        "time": plain_json(run.time),
        "mean_reached": plain_json(run.mean),
        "minimum_reached": plain_json(run.minimum),
        "mass": plain_json(run.mass),
    }


def _tank_json(run: TankRun | None) -> dict[str, Any] | None:
    if run is None:
        return None
    return {
        "rack": run.rack,
        "pieces_per_load": run.pieces_per_load,
        "loads": run.loads,
        "loads_alike": [
            {"pieces": group.pieces, "loads": group.loads, "current": plain_json(group.current)} for group in run.groups
        ],
        "current": plain_json(run.current),
        "current_density": plain_json(exact(run.current_density, "A/m2")),
        "time": plain_json(run.time),
        "share": run.share,
    }


def load_json(load: SharedLoad) -> dict[str, Any]:
    """Return a load in which several kinds of parts hang, with the share of each."""
    return {
        "metal": load.metal,
        "pieces": load.pieces,
        "area": quantity_json(in_unit(load.area, "mm2")),
        "current": plain_json(load.current),
        "current_density": plain_json(exact(load.current_density, "A/m2")),
        "time": plain_json(load.time),
        "charge": charge_json(exact(load.charge, "C")),
        "shares": [
            {
                "parts": list(one.parts),
                "pieces": one.pieces,
                "share": one.share,
                "current": plain_json(one.current),
                "minimum_reached": plain_json(one.minimum),
                "minimum_needed": _micrometres(one.needed),
            }
            for one in load.shares
        ],
    }


def consumption_json(used: Consumption) -> dict[str, Any]:
    """Return solution and metal for all pieces."""
    return {
        "deposited": plain_json(used.deposited),
        "volume_by_charge": plain_json(used.volume_by_charge),
        "volume_by_metal": plain_json(used.volume_by_metal),
        "volume": plain_json(used.volume),
        "volume_ready": plain_json(used.volume_ready),
        "losses": [
            {
                "place": loss.place,
                "held": plain_json(loss.held),
                "recovered": plain_json(loss.recovered),
                "lost": plain_json(loss.lost),
            }
            for loss in used.losses
        ],
        "top_up_metal": plain_json(used.top_up_metal),
        "top_up_volume": plain_json(used.top_up_volume),
        "sleeve_over_deposit": used.sleeve_over_deposit,
        "from_anode": plain_json(used.from_anode),
        "sleeve_volume": plain_json(used.sleeve_volume),
        "drag_out_volume": plain_json(used.drag_out_volume),
    }


def step_json(planned: PlannedStep) -> dict[str, Any]:
    """Return one step with its cautions."""
    step = planned.step
    return {
        "number": planned.number,
        "key": step.key,
        "kind": step.kind,
        "title": step.title,
        "metal": step.metal,
        "conditional": step.conditional,
        "polarity": step.polarity,
        "voltage": [premise_json(end) for end in planned.voltage] if planned.voltage else None,
        "look_for": step.look_for,
        "next_within": step.next_within,
        "tool": step.tool,
        "source": step.source,
        "charge_set": charge_json(exact(planned.layer.charge_set, "C")) if planned.layer else None,
        "cautions": [caution_json(caution) for caution in planned.cautions],
    }
