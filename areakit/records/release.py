"""Whether what stands in a job's record meets what the job asks for: the points that are open before a release."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from areakit.records.bottles import Bottle
from areakit.records.codec import quantity_from_json
from areakit.records.entry_words import entry_words
from areakit.records.job import Entry, Job
from areakit.records.methods import METHODS
from areakit.records.runs import Run, runs_of
from areakit.uncertainty import Measured, propagate, total
from areakit.units import in_unit, show

METER_SHARE = 0.02
"""A charge that is short by no more than this counts as reached: the usual step of a bench meter. Common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPoint:
    """One thing that is missing: a stable ``code``, and one sentence with its number."""

    code: str
    message: str


def open_points(job: Job, bottles: Mapping[str, Bottle]) -> tuple[OpenPoint, ...]:
    """Return what stands against a release, in the order of the work; nothing where every requirement is met.

    Parameters
    ----------
    job : Job
    bottles : mapping of label to Bottle
        Those that the job's runs name.
    """
    plan = plan_of(job)
    if not plan:
        return (
            OpenPoint(code="NO_PLAN", message="No plan stands in the record, so nothing says what was to be done."),
        )
    runs = runs_of(job)
    return (
        *_stops(plan, runs),
        *_steps(job, plan, runs),
        *_bottles(runs, bottles),
        *_thicknesses(job, plan, runs),
        *_tests(job),
        *_defects(job),
    )


def plan_of(job: Job) -> Mapping[str, Any]:
    """Return the plan that counts; empty where there is none."""
    planned = job.latest("planned")
    return planned.doc["plan"] if planned else {}


def step_met(step: Mapping[str, Any], runs: tuple[Run, ...], *, pieces: int) -> bool:
    """Tell whether a planned step was done: with its charge for all pieces, where it plates."""
    mine = [run for run in runs if run.step.doc["step"] == step["number"]]
    wanted = step.get("charge_set")
    if not mine or wanted is None:
        return bool(mine)
    target = in_unit(quantity_from_json(wanted), "C").value * pieces
    return sum(run.log.charge.value for run in mine) >= target * (1.0 - METER_SHARE)


def _stops(plan: Mapping[str, Any], runs: tuple[Run, ...]) -> list[OpenPoint]:
    planned = [one["message"] for one in plan.get("findings", []) if one.get("severity") == "stop"]
    run = [one.message for each in runs for one in each.findings if one.severity == "stop"]
    return [OpenPoint(code="OPEN_STOP", message=f"A stop is open: {text}") for text in (*planned, *run)]


def _steps(job: Job, plan: Mapping[str, Any], runs: tuple[Run, ...]) -> list[OpenPoint]:
    found = []
    for step in plan.get("steps", []):
        name = f"Step {step['number']}, {step['title']}"
        mine = [run for run in runs if run.step.doc["step"] == step["number"]]
        if not mine and not step.get("conditional"):
            found.append(OpenPoint(code="STEP_NOT_DONE", message=f"{name}: nothing was recorded."))
        elif mine and not step_met(step, runs, pieces=job.quantity):
            reached = total([run.log.charge for run in mine], "C")
            target = in_unit(quantity_from_json(step["charge_set"]), "C").value * job.quantity
            share = 100.0 * reached.value / target
            found.append(
                OpenPoint(
                    code="CHARGE_NOT_REACHED",
                    message=f"{name}: {show(reached, 'A.min')} of {target / 60.0:.4g} A·min were run, {share:.2g} %.",
                )
            )
    return found


def _bottles(runs: tuple[Run, ...], bottles: Mapping[str, Bottle]) -> list[OpenPoint]:
    found = []
    for run in runs:
        bottle = bottles.get(run.step.doc["bottle"])
        day = run.step.doc["at"][:10]
        if bottle is not None and bottle.expiry is not None and day > bottle.expiry:
            text = f"{run.step.doc['title']} on {day} took bottle {bottle.label}, which expired on {bottle.expiry}."
            found.append(OpenPoint(code="BOTTLE_EXPIRED", message=text))
    return list(dict.fromkeys(found))


def needed_minima(job: Job, plan: Mapping[str, Any]) -> dict[str, float]:
    """Return the minimum thickness that is asked for, by metal, the largest where several ask. [m]"""
    asked: dict[str, float] = {}
    for layer in plan.get("layers", []):
        if layer.get("minimum_needed"):
            asked[layer["metal"]] = in_unit(quantity_from_json(layer["minimum_needed"]), "m").value
    for entry in job.all_of("required"):
        minimum, metal = entry.quantity("minimum"), entry.doc["metal"]
        if minimum is not None and metal:
            asked[metal] = max(asked.get(metal, 0.0), in_unit(minimum, "m").value)
    return asked


def _thicknesses(job: Job, plan: Mapping[str, Any], runs: tuple[Run, ...]) -> list[OpenPoint]:
    found = []
    for metal, needed in needed_minima(job, plan).items():
        readings = readings_of(job, plan, metal)
        low = [entry for entry in readings if _value(entry).value < needed]
        found += [_short(f"{_named(entry)} of {metal}", _value(entry), needed, code="READING_BELOW") for entry in low]
        if low or any(_proves(_value(entry), needed) for entry in readings):
            continue
        reached = minimum_reached(runs, metal, pieces=job.quantity)
        if reached is None:
            text = f"Nothing in the record tells how thick the {metal} is; {_um(needed)} is asked for."
            found.append(OpenPoint(code="THICKNESS_UNKNOWN", message=text))
        elif not _proves(reached, needed):
            found.append(_short(f"Minimum of {metal} by its charge", reached, needed, code="THICKNESS_NOT_PROVEN"))
    return found


def minimum_reached(runs: tuple[Run, ...], metal: str, *, pieces: int) -> Measured | None:
    """Return the minimum on each piece by all runs of a metal, shared evenly among the pieces; None if unknown. [m]"""
    mine = [(run.reached, run.step.doc["pieces"]) for run in runs if run.step.doc["metal"] == metal]
    shares = [_times(done.minimum, count / pieces) for done, count in mine if done is not None]
    return total(shares, "m") if shares and len(shares) == len(mine) else None


def readings_of(job: Job, plan: Mapping[str, Any], metal: str) -> list[Entry]:
    """Return the thickness readings of a metal; one that names none is of the top layer."""
    top = next((layer["metal"] for layer in reversed(plan.get("layers", []))), "")
    return [
        entry
        for entry in job.all_of("tested")
        if entry.doc["value"] is not None
        and _purpose(entry) == "thickness"
        and (entry.doc.get("metal") or top) == metal
    ]


def _proves(thickness: Measured, needed: float) -> bool:
    """Tell whether the lower end of the expanded uncertainty meets a minimum: guarded acceptance of JCGM 106."""
    return thickness.value - thickness.expanded_uncertainty >= needed * (1.0 - 1e-9)


def _tests(job: Job) -> list[OpenPoint]:
    found = []
    for entry in job.all_of("tested"):
        if entry.doc["result"] == "fail" and not _passed_after(job, entry):
            words = f"{entry_words(entry)} (entry {entry.number}), and no rework and pass came after it."
            found.append(OpenPoint(code="TEST_FAILED", message=words))
    done = {entry.doc["method"] for entry in job.all_of("tested")}
    asked = " ".join(str(entry.doc["text"]) for entry in job.all_of("required"))
    for key, one in METHODS.items():
        if key not in done and _speaks_of(asked, key, one.title):
            found.append(OpenPoint(code="TEST_MISSING", message=f"{one.title} is asked for and was not recorded."))
    return found


def _speaks_of(text: str, key: str, title: str) -> bool:
    """Tell whether a requirement names a test: its title, or its key beside the word test."""
    words = re.escape(key).replace(r"\-", "[ -]")
    return bool(re.search(rf"\b({re.escape(title)}|{words}[ -]test|{words} reading)", text, re.IGNORECASE))


def _passed_after(job: Job, failed: Entry) -> bool:
    again = [entry.number for entry in job.all_of("reworked") if entry.number > failed.number]
    return any(
        entry.doc["method"] == failed.doc["method"] and entry.doc["result"] == "pass" and entry.number > min(again)
        for entry in job.all_of("tested")
        if again
    )


def _defects(job: Job) -> list[OpenPoint]:
    mended = {entry.doc["because"] for entry in job.all_of("reworked")}
    return [
        OpenPoint(code="DEFECT_OPEN", message=f"Defect, {entry_words(entry)} (entry {entry.number}), was not reworked.")
        for entry in job.all_of("defect")
        if entry.number not in mended
    ]


def _purpose(entry: Entry) -> str:
    known = METHODS.get(entry.doc["method"])
    return known.purpose if known else ""


def _value(entry: Entry) -> Measured:
    quantity = entry.quantity("value")
    assert quantity is not None
    return in_unit(quantity, "m")


def _named(entry: Entry) -> str:
    known = METHODS.get(entry.doc["method"])
    place = f", {entry.doc['place']}" if entry.doc["place"] else ""
    return f"{known.title if known else entry.doc['method']}{place} (entry {entry.number})"


def _short(name: str, thickness: Measured, needed: float, *, code: str) -> OpenPoint:
    low = max(0.0, thickness.value - thickness.expanded_uncertainty)
    return OpenPoint(
        code=code, message=f"{name}: {show(thickness, 'um')}, so {_um(low)} is certain; {_um(needed)} is asked for."
    )


def _um(thickness: float) -> str:
    return f"{thickness * 1e6:.3g} µm"


def _times(quantity: Measured, factor: float) -> Measured:
    return propagate(lambda value: value * factor, quantity, unit=quantity.unit)
