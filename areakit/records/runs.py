"""One run of a job: its readings, what they have put on so far, and what is left to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from areakit.errors import InputError
from areakit.plating.deposit import Chemistry, chemistry, mass_for_charge, square_metres
from areakit.plating.findings import Finding
from areakit.plating.metals import bath, to_si
from areakit.plating.premise import Premise, given
from areakit.plating.process import allowed_pause, rinse_time
from areakit.records.codec import as_json, in_json, quantity_from_json
from areakit.records.job import Entry, Job
from areakit.records.runlog import (
    Allowed,
    Instruments,
    Reached,
    RunLog,
    Sample,
    integrate,
    left,
    pause_findings,
    reached,
    reactivation,
)
from areakit.uncertainty import Measured
from areakit.units import in_unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One step as it was done, with what follows from it.

    Parameters
    ----------
    step : Entry
    readings : tuple of Entry
    log : RunLog
    target : Measured or None
        Charge for all pieces of the run. [C]
    figures : Chemistry or None
        None where the job's plan does not hold the metal and no efficiency was given.
    mass : Measured or None
        Metal on all pieces of the run. [kg]
    reached : Reached or None
        None where chemistry or area is not known.
    pause_limit : float or None
        Longest time without current; None for a step that plates nothing. [s]
    """

    step: Entry
    readings: tuple[Entry, ...]
    log: RunLog
    target: Measured | None
    remaining: Measured | None
    time_left: Measured | None
    figures: Chemistry | None
    mass: Measured | None
    reached: Reached | None
    findings: tuple[Finding, ...]
    pause_limit: float | None = None


def seconds(text: str) -> float:
    """Return an ISO 8601 time as seconds since 1970."""
    return datetime.fromisoformat(text).timestamp()


def runs_of(job: Job) -> tuple[Run, ...]:
    """Return every step that was recorded, in order."""
    return tuple(run_of(job, step) for step in job.all_of("step"))


def run_of(job: Job, step: Entry, *, now: float | None = None) -> Run:
    """Return one run; with ``now`` [s since 1970] a pause that still lasts is counted."""
    readings = tuple(entry for entry in job.all_of("reading") if entry.doc["run"] == step.number)
    log = _log(step, readings)
    target = step.quantity("target")
    figures, allowance = figures_of(job, step)
    remaining, time_left = left(log, target)
    area = job.area
    done = None
    if figures is not None and allowance is not None and area is not None:
        pieces = step.doc["pieces"]
        done = reached(log, figures, area=square_metres(area), allowance=allowance, pieces=pieces, target=target)
    return Run(
        step=step,
        readings=readings,
        log=log,
        target=target,
        remaining=remaining,
        time_left=time_left,
        figures=figures,
        mass=mass_for_charge(figures, charge=log.charge) if figures else None,
        pause_limit=pause_limit(job, step).seconds if step.doc["metal"] else None,
        reached=done,
        findings=(*_pauses(job, step, log), *_open_pause(job, step, readings, now), *_gap(job, step, readings)),
    )


def samples_of(readings: tuple[Entry, ...]) -> tuple[Sample, ...]:
    """Return the readings as samples in the order of their times."""
    made = [
        Sample(
            time=seconds(entry.doc["at"]),
            current=entry.doc["current"],
            stop=entry.doc["stop"],
            clock_step=entry.doc["clock_step"],
        )
        for entry in readings
    ]
    return tuple(sorted(made, key=lambda sample: sample.time))


def _log(step: Entry, readings: tuple[Entry, ...]) -> RunLog:
    metered = step.quantity("charge")
    if metered is not None:
        return RunLog(charge=in_unit(metered, "C"), live=0.0, pauses=(), current=0.0)
    instruments = Instruments(
        meter_share=step.doc["meter_share"], meter_step=step.doc["meter_step"], clock_step=step.doc["clock_step"]
    )
    return integrate(samples_of(readings), instruments, name=f"run {step.number}")


def figures_of(job: Job, step: Entry) -> tuple[Chemistry | None, Measured | None]:
    """Return chemistry and distribution allowance of a step: from its own efficiency, else from the job's plan."""
    layer = layer_of(job, step.doc["metal"])
    if layer is None:
        return None, None
    made = bath(layer["bath"])
    own = step.quantity("efficiency")
    efficiency = own or to_si(quantity_from_json(layer["efficiency"]["quantity"]))
    density = to_si(quantity_from_json(layer["density"]["quantity"]))
    figures = chemistry(
        made,
        Premise(name=f"{made.metal} efficiency", quantity=efficiency, origin=given()),
        density=Premise(name=f"{made.metal} density", quantity=density, origin=given()),
    )
    return figures, quantity_from_json(layer["distribution_allowance"]["quantity"])


def layer_of(job: Job, metal: str) -> Mapping[str, Any] | None:
    """Return the planned layer of a metal, or None."""
    planned = job.latest("planned")
    layers = planned.doc["plan"].get("layers", []) if planned else []
    return next((layer for layer in layers if metal and layer.get("metal") == metal), None)


def planned_step(job: Job, number: int) -> Mapping[str, Any]:
    """Return a step of the job's plan by its number; InputError if there is none."""
    planned = job.latest("planned")
    steps = planned.doc["plan"].get("steps", []) if planned else []
    for step in steps:
        if step.get("number") == number:
            found: Mapping[str, Any] = step
            return found
    raise InputError(
        f"The plan of job {job.number} has no step {number}." if planned else f"Job {job.number} has no plan.",
        remedy="Look up the steps of the job, or name the step.",
        fields={"areakit job show": "", "title": ""},
    )


def pause_limit(job: Job, step: Entry) -> Allowed:
    """Return the longest pause within a step: as it says itself, else by its metal and kind."""
    own, metal = step.doc["pause_limit"], str(step.doc["metal"])
    row = allowed_pause(metal, kind=str(_planned(job, step).get("kind", "plate")))
    why = "Nickel turns passive within minutes once dry, and what is plated on it then does not hold."
    if metal != "nickel":
        why = "A surface that dried or stood open does not bond to what is plated on it."
        why += f" {metal.capitalize()} {row.note}." if row.subject == metal else ""
    if own is not None:
        return Allowed(seconds=own, origin="as the step allows", why=why)
    return Allowed(seconds=row.value, origin="common practice, no source", why=why)


def _planned(job: Job, step: Entry) -> Mapping[str, Any]:
    """Return the step of the plan that a step was begun from; empty where it is from none."""
    number = step.doc["step"]
    return next((one for one in _planned_steps(job) if number is not None and one.get("number") == number), {})


def _planned_steps(job: Job) -> list[Mapping[str, Any]]:
    planned = job.latest("planned")
    found: list[Mapping[str, Any]] = planned.doc["plan"].get("steps", []) if planned else []
    return found


def _rinses(job: Job, before: Entry, step: Entry) -> int:
    """Return how many rinses lie between two steps: those of the plan; one between steps of no plan, but the same."""
    first, last = before.doc["step"], step.doc["step"]
    if first is None or last is None:
        return int(before.doc["metal"] != step.doc["metal"])
    between = [one for one in _planned_steps(job) if first < one.get("number", 0) < last]
    return sum(one.get("kind") == "rinse" for one in between)


def _pauses(job: Job, step: Entry, log: RunLog) -> tuple[Finding, ...]:
    if not step.doc["metal"]:
        return ()
    return pause_findings(log, allowed=pause_limit(job, step), title=step.doc["title"])


def _open_pause(job: Job, step: Entry, readings: tuple[Entry, ...], now: float | None) -> tuple[Finding, ...]:
    """A run that stands still, below its target, for longer than it may."""
    samples = samples_of(readings)
    if now is None or not samples or not samples[-1].stop or not step.doc["metal"]:
        return ()
    target = step.quantity("target")
    log = _log(step, readings)
    if target is not None and log.charge.value >= target.value * (1 - step.doc["meter_share"]):
        return ()
    return _too_long(step, now - samples[-1].time, pause_limit(job, step))


def _gap(job: Job, step: Entry, readings: tuple[Entry, ...]) -> tuple[Finding, ...]:
    """The time between the end of the run just before and the start of this one, where nothing stands between them.

    The metal of the run before lies open in it; rinses between the two are no pause.
    """
    before = [entry for entry in job.all_of("step") if entry.number < step.number]
    if not before or not step.doc["metal"] or not before[-1].doc["metal"]:
        return ()
    ended = samples_of(tuple(e for e in job.all_of("reading") if e.doc["run"] == before[-1].number))
    started = samples_of(readings)
    if not ended or not ended[-1].stop or not started:
        return ()
    allowed, rinses = pause_limit(job, before[-1]), _rinses(job, before[-1], step)
    if rinses:
        words = f"{allowed.origin}; {rinses} rinse{'s' * (rinses > 1)} of {rinse_time():.0f} s included"
        allowed = replace(allowed, seconds=allowed.seconds + rinses * rinse_time(), origin=words)
    return _too_long(step, started[0].time - ended[-1].time, allowed)


def _too_long(step: Entry, length: float, allowed: Allowed) -> tuple[Finding, ...]:
    if length <= allowed.seconds:
        return ()
    return (reactivation(length, allowed=allowed, title=step.doc["title"]),)


def run_json(run: Run) -> dict[str, Any]:
    """Return a run as JSON: charge in A.min, thickness in um, mass in mg, times in s."""
    done = run.reached
    return {
        "entry": run.step.number,
        "title": run.step.doc["title"],
        "metal": run.step.doc["metal"] or None,
        "bottle": run.step.doc["bottle"] or None,
        "charge": in_json(run.log.charge, "A.min"),
        "live_seconds": run.log.live,
        "current": run.log.current,
        "pause_limit": run.pause_limit,
        "target": in_json(run.target, "A.min"),
        "remaining": in_json(run.remaining, "A.min"),
        "time_left": in_json(run.time_left, "s"),
        "mean": in_json(done.mean, "um") if done else None,
        "minimum": in_json(done.minimum, "um") if done else None,
        "mass": in_json(run.mass, "mg"),
        "pauses": [{"after_reading": p.after, "seconds": p.length} for p in run.log.pauses],
        "findings": as_json(run.findings),
    }
