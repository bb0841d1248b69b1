"""A planned job, as costing needs it, from the JSON that ``areakit plan --json`` prints."""

from __future__ import annotations

from typing import Any

from areakit.costing.job import MetalLoss, PlannedJob, QuotedLayer
from areakit.errors import InputError
from areakit.foreign_text import json_from
from areakit.plating.hands import TOO_FAST
from areakit.records.codec import quantity_from_json
from areakit.records.plan_json import SCHEMA
from areakit.uncertainty import Measured
from areakit.units import in_unit

_REMEDY = "Plan again, and give the whole answer."
_FIELDS = {"areakit plan --json": ""}
_MOST_PIECES = 9_999_999


def read_planned_job(text: str) -> PlannedJob:
    """Return the job of a plan; InputError for text that is not a plan of this version."""
    try:
        body = json_from(text)
    except ValueError:
        raise InputError("The plan is not JSON.", remedy=_REMEDY, fields=_FIELDS) from None
    if not isinstance(body, dict) or body.get("schema") != SCHEMA:
        found = body.get("schema") if isinstance(body, dict) else None
        raise InputError(
            f"The JSON is not a plan of schema {SCHEMA} (it says {str(found)[:30]!r}).", remedy=_REMEDY, fields=_FIELDS
        )
    return job_from_body(body)


def job_from_body(body: dict[str, Any]) -> PlannedJob:
    """Return the job of a plan's JSON object."""
    try:
        if not body["layers"]:
            raise InputError("The plan plates nothing.", remedy="Plan a process with at least one layer.")
        return PlannedJob(
            title=str(body["process"]["title"]),
            area=_si(body["area"]["per_piece"], "m2"),
            area_words=str(body["area"]["origin"]["text"]),
            pieces=_count(body["pieces"]),
            parts=tuple(_count(number) for number in body["parts"]),
            layers=tuple(_layer(layer) for layer in body["layers"]),
            cautions=tuple(str(caution["text"]) for caution in body["cautions"]),
            findings=tuple(
                f"{finding['message']} {finding['remedy']}"
                for finding in body["findings"]
                if finding["severity"] in ("stop", "check") and finding["code"] != TOO_FAST
            ),
            own_factors=tuple(str(told["message"]) for told in body["flags"] if told["code"] == "OWN_FACTOR"),
        )
    except (KeyError, TypeError, ValueError, ArithmeticError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(
            "The plan lacks an entry, or holds a figure that no plan has.", remedy=_REMEDY, fields=_FIELDS
        ) from None


def _si(body: Any, unit: str) -> Measured:
    quantity = in_unit(quantity_from_json(body), unit)
    if quantity.value < 0.0:
        raise ValueError
    return quantity


def _count(number: Any) -> int:
    if type(number) is not int or not 1 <= number <= _MOST_PIECES:
        raise ValueError
    return number


def _layer(body: dict[str, Any]) -> QuotedLayer:
    minimum, mean = body["minimum_needed"], _si(body["mean_target"], "m").value
    run = body["brush"] or body["tank"]
    used = body["consumption"]
    volume = used["volume_by_charge"] or used["top_up_volume"]  # used up by charge, else topped up for its metal
    return QuotedLayer(
        metal=str(body["metal"]),
        bath=str(body["bath_title"]),
        thickness=_si(minimum, "m").value if minimum else mean,
        thickness_is="minimum" if minimum else "mean",
        mean=mean,
        mass=_mass(body),
        time=_si(run["time"], "s").value * run.get("share", 1.0) if run else None,
        pieces_per_load=_count(_rack(body["tank"])) if body["tank"] else None,
        losses=tuple(_loss(loss) for loss in used["losses"]),
        solution_volume=None if volume is None else _si(volume, "m3").value,
    )


def _rack(tank: dict[str, Any]) -> Any:
    """Return what a rack takes; plans made before loads were balanced say only what hung on one."""
    return tank.get("rack", tank["pieces_per_load"])


def _mass(body: dict[str, Any]) -> Measured:
    """Return the metal on all pieces [kg] with the relative budget of the charge that it needs.

    The charge carries area, density and efficiency, each of which moves the metal by as much; the mass at a set charge
    alone would carry the efficiency only.
    """
    mass, charge = _si(body["mass_total"], "kg"), quantity_from_json(body["charge_total"])
    budget = {name: share / charge.value * mass.value for name, share in charge.budget.items()}
    return Measured(value=mass.value, unit="kg", budget=budget)


def _loss(body: dict[str, Any]) -> MetalLoss:
    held, recovered = (in_unit(quantity_from_json(body[name]), "kg") for name in ("held", "recovered"))
    return MetalLoss(place=str(body["place"]), held=held, recovered=recovered)
