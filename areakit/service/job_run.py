"""Run the steps of a job: check the bottle before, take the readings, tell what is reached and what is left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from areakit.errors import InputError
from areakit.plating.deposit import mass_for_charge
from areakit.plating.findings import Finding
from areakit.records.bottles import Bottle, check_start
from areakit.records.bottles import fold as fold_bottle
from areakit.records.codec import quantity_from_json, quantity_json
from areakit.records.entries import Document
from areakit.records.job import Entry, Job
from areakit.records.runs import Run, figures_of, layer_of, planned_step, run_of, samples_of, seconds
from areakit.service.desk import Desk, plain, quantity, read_time, temperature
from areakit.service.job import Written, add, carried_away, read_job, show_job
from areakit.service.record_requests import ReadingRequest
from areakit.service.record_requests import StepRequest as StepRequest
from areakit.uncertainty import Measured, exact
from areakit.units import in_unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """A run after something was written to it."""

    written: Written
    run: Run

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was said before the start, and what the run itself says."""
        return (*self.written.findings, *self.run.findings)


def begin_step(desk: Desk, number: str, request: StepRequest) -> Progress:
    """Record that a step begins, after its bottle was looked at.

    InputError if a finding says stop and no reason to go on was given.
    """
    job = show_job(desk, number)
    doc, told = _step_doc(desk, job, request)
    stops = [finding for finding in told if finding.severity == "stop"]
    if stops and not request.despite:
        raise InputError(
            " ".join(finding.message for finding in stops),
            remedy=f"{stops[0].remedy} To go on all the same, say why.",
            fields={**stops[0].fields, "despite": ""},
        )
    if stops:
        words = f"begun despite a stop: {' '.join(finding.message for finding in stops)} Why: {request.despite}"
        doc["remarks"] = f"{doc['remarks']} {words}".strip()
    written = add(desk, number, "step", doc=doc)
    made = Written(number=written.number, job=written.job, findings=told)
    return Progress(written=made, run=run_of(made.job, made.job.entry(made.number)))


def _step_doc(desk: Desk, job: Job, request: StepRequest) -> tuple[dict[str, Any], tuple[Finding, ...]]:
    planned = planned_step(job, request.step) if request.step is not None else {}
    metal = request.metal or planned.get("metal") or ""
    layer = layer_of(job, metal) or {}
    title = request.title or planned.get("title")
    if not title:
        raise InputError(
            "The step has no name.", remedy="Give its number in the plan, or a name.", fields={"step": "1", "title": ""}
        )
    pieces = job.quantity if request.pieces is None else request.pieces
    at, clock_step = read_time(request.at, desk.now)
    doc: dict[str, Any] = {
        "title": title,
        "step": request.step,
        "metal": metal,
        "solution": request.solution or layer.get("solution") or "",
        "bottle": request.bottle or "",
        "brush": request.brush or _planned_brush(job, layer),
        "voltage": quantity(request.voltage, "voltage", "voltmeter"),
        "temperature_c": temperature(request.temperature),
        "pieces": pieces,
        "target": _target(request, planned, pieces),
        "meter_share": (plain(request.meter, "ratio") or 0.04) / 2,
        "meter_step": plain(request.meter_step, "current") or 0.1,
        "clock_step": clock_step,
        "pause_limit": plain(request.pause_limit, "time"),
        "charge": _metered(request.charge),
        "efficiency": quantity(request.efficiency, "ratio", f"{metal} efficiency"),
        "at": at,
        "remarks": request.remarks,
    }
    return doc, _check_bottle(desk, job, request, doc)


def _planned_brush(job: Job, layer: Mapping[str, Any]) -> str:
    """Return the brush that the job was planned with, for a layer that is put on by brush."""
    planned = job.latest("planned")
    return str(planned.doc["plan"].get("brush") or "") if planned and layer.get("brush") else ""


def _target(request: StepRequest, planned: Any, pieces: int) -> Document | None:
    if request.target is not None:
        return quantity(request.target, "charge", "target")
    each = planned.get("charge_set")
    if each is None:
        return None
    return quantity_json(exact(in_unit(quantity_from_json(each), "C").value * pieces, "C"))


def _metered(text: str | None) -> Document | None:
    return quantity(text, "charge", "ampere-minute meter")


def _check_bottle(desk: Desk, job: Job, request: StepRequest, doc: dict[str, Any]) -> tuple[Finding, ...]:
    if not request.bottle:
        return ()
    with desk.to_read() as journal:
        bottle = fold_bottle(request.bottle, journal.history("bottle", request.bottle))
    doc["solution"] = request.solution or doc["solution"] or bottle.solution
    _same_metal(bottle, doc["metal"])
    wanted = doc["charge"] or doc["target"]
    charge = in_unit(quantity_from_json(wanted), "C") if wanted else None
    first = not any(step.doc["metal"] == doc["metal"] and step.doc["bottle"] for step in job.all_of("step"))
    return check_start(
        bottle,
        today=desk.today,
        solution=doc["solution"],
        charge=charge,
        metal=_mass(job, doc, charge),
        carried=carried_away(job, doc["metal"], pieces=doc["pieces"], first=first),
    )


def _mass(job: Job, doc: dict[str, Any], charge: Measured | None) -> Measured | None:
    step = Entry(number=0, at="", who="", kind="step", doc=doc)
    figures, _ = figures_of(job, step)
    return mass_for_charge(figures, charge=charge) if figures and charge else None


def _same_metal(bottle: Bottle, metal: str) -> None:
    if metal and metal != bottle.metal_name:
        raise InputError(
            f"The step plates {metal}; bottle {bottle.label} holds {bottle.metal_name}.", remedy="Take another bottle."
        )


def log_reading(desk: Desk, number: str, current: str | None = None, **entry: Any) -> Progress:
    """Record a current as it changes, and return what the run has reached; ``entry`` as in :class:`ReadingRequest`.

    ``0 A`` means that the current was cut at that moment: until then the one before it flowed.
    """
    asked = ReadingRequest(current=current, **entry)
    job = show_job(desk, number)
    step = _run_entry(job, asked.run)
    when, clock_step = read_time(asked.at, desk.now)
    samples = samples_of(tuple(e for e in job.all_of("reading") if e.doc["run"] == step.number))
    value, stop = plain(current, "current"), asked.stop
    if value == 0.0 or (value is None and stop):
        before = [sample for sample in samples if sample.time <= seconds(when)]
        if not before or before[-1].stop:
            raise InputError("The current is off already.", remedy="Give the current once it flows.")
        value, stop = 0.0, True
    if value is None:
        raise InputError(
            "There is no current.",
            remedy="Give it, or say that it was switched off.",
            fields={"current": "3.2 A", "stop": ""},
        )
    doc = {
        "run": step.number,
        "at": when,
        "current": value,
        "stop": stop,
        "clock_step": clock_step,
        "voltage": quantity(asked.voltage, "voltage", "voltmeter"),
        "temperature_c": temperature(asked.temperature),
        "remarks": asked.remarks,
    }
    written = add(desk, number, "reading", doc=doc)
    return Progress(written=written, run=run_of(written.job, written.job.entry(step.number)))


def _run_entry(job: Job, run: int | None) -> Entry:
    steps = job.all_of("step")
    if run is None:
        if not steps:
            raise InputError(
                f"Job {job.number} has no step yet.", remedy="Begin a step.", fields={"areakit job step": ""}
            )
        return steps[-1]
    entry = job.entry(run)
    if entry.kind != "step" or entry.withdrawn:
        raise InputError(
            f"Entry {run} is not a step that counts.",
            remedy=f"Its steps are {', '.join(str(s.number) for s in steps)}.",
        )
    return entry


def progress(desk: Desk, number: str, run: int | None = None) -> Run:
    """Return a run as it stands now; a pause that still lasts is counted."""
    with desk.to_read() as journal:
        job = read_job(journal, number)
    return run_of(job, _run_entry(job, run), now=desk.now.timestamp())
