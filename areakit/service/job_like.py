"""A finished job as pattern of the next: part, area, masks, requirement, plan, price and notes, for other pieces."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from areakit.errors import AreakitError, Fields, InputError
from areakit.plating.findings import Finding
from areakit.plural import counted
from areakit.records.codec import quantity_from_json
from areakit.records.job import Job
from areakit.records.plan_json import plan_json
from areakit.service.desk import Desk
from areakit.service.job import NewEntry, NewJob, open_job, show_job
from areakit.units import in_unit, show

_SAME_AREA = 1e-6
"""Relative difference up to which the area of the new plan is that of the pattern. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedLike:
    """The new job, and what there is to say of its pattern."""

    job: Job
    findings: tuple[Finding, ...]


def open_like(desk: Desk, request: NewJob) -> OpenedLike:
    """Open a job after the pattern of another, everything in one write.

    Photo and measurement are those of the pattern, and so are its requirements; plan and quote are made anew for the
    number of pieces, at today's age of the metal prices. InputError if there is no such job, or its plan cannot be made
    again as it was.
    """
    pattern = show_job(desk, request.like)
    order, pieces = pattern.opened, request.quantity or pattern.quantity
    plan, told = _plan_again(desk, pattern, pieces)
    quote, more = _quote_again(pattern, plan)
    entries = [
        *_kept(pattern, "photographed", "measured", "required", "remarked"),
        *([NewEntry(kind="planned", doc={"plan": plan})] if plan else []),
        *([NewEntry(kind="quoted", doc={"quote": quote})] if quote else []),
    ]
    same = {name: getattr(request, name) or order[name] for name in ("part", "base", "remarks")}
    new = replace(request, **same, quantity=pieces, like=pattern.number)
    return OpenedLike(job=open_job(desk, new, entries), findings=(*_standing(pattern), *told, *more))


def _kept(pattern: Job, *kinds: str) -> list[NewEntry]:
    """Return the entries that hold for the next job as well, as they stand now: of photo and measurement the last."""
    found = []
    for kind in kinds:
        entries = pattern.all_of(kind)
        last = entries[-1:] if kind in ("photographed", "measured") else entries
        found += [NewEntry(kind=kind, doc=entry.doc) for entry in last]
    return found


def _plan_again(desk: Desk, pattern: Job, pieces: int) -> tuple[dict[str, Any] | None, tuple[Finding, ...]]:
    """Return the pattern's plan for other pieces; for the same number the plan itself, where it tells not enough."""
    planned = pattern.latest("planned")
    if planned is None:
        return None, (_note("LIKE_WITHOUT_PLAN", f"Job {pattern.number} has no plan, so the new job has none."),)
    before: Mapping[str, Any] = planned.doc["plan"]
    if not before.get("asked"):
        if before.get("pieces") == pieces:
            return dict(before), ()
        words = (
            f"The plan of job {pattern.number} is for {counted(before['pieces'], 'piece')} and was made before plans "
        )
        return None, (_note("LIKE_OLD_PLAN", f"{words}kept what was asked for: plan the new job again."),)
    from areakit.service.plan import plan_again

    made = plan_again(
        before["asked"], measured=_measured(pattern, before), parts=before["parts"], pieces=pieces, journal=desk.path
    )
    _check_area(pattern, before, made.order.area.value)
    body: dict[str, Any] = json.loads(json.dumps(plan_json(made)))
    return body, ()


def _measured(pattern: Job, plan: Mapping[str, Any]) -> str | None:
    if plan["asked"].get("area") is not None:
        return None
    entry = pattern.latest("measured")
    if entry is None:
        raise InputError(
            f"Job {pattern.number} keeps a plan of a measured part, and not the measurement.",
            remedy="Add a measurement to it, or plan the new job on its own.",
            fields={f"areakit job measured {pattern.number} FILE": ""},
        )
    return json.dumps(entry.doc["line"])


def _check_area(pattern: Job, plan: Mapping[str, Any], area_mm2: float) -> None:
    before = in_unit(quantity_from_json(plan["area"]["per_piece"]), "mm2")
    if abs(area_mm2 / before.value - 1.0) > _SAME_AREA:
        raise InputError(
            f"The plan of job {pattern.number} was made for {show(before, 'cm2')}, and its measurement gives "
            f"{area_mm2 / 100.0:.4g} cm² now.",
            remedy="Open the new job on its own, and measure and plan it again.",
        )


def _quote_again(pattern: Job, plan: dict[str, Any] | None) -> tuple[dict[str, Any] | None, tuple[Finding, ...]]:
    quoted = pattern.latest("quoted")
    if quoted is None or plan is None:
        return None, ()
    asked = quoted.doc["quote"].get("asked")
    if not asked:
        words = f"The quote of job {pattern.number} was made before quotes kept their rates: price the new job again."
        return None, (_note("LIKE_OLD_QUOTE", words),)
    from areakit.records.quote_json import quote_json
    from areakit.service.quote import QuoteRequest, quote

    measured = pattern.latest("measured")
    part = json.dumps(measured.doc["line"]) if measured is not None and plan["parts"] else None
    try:
        made = quote(QuoteRequest(plan=json.dumps(plan), part=part, **asked))
    except AreakitError as error:
        return None, (
            _note("LIKE_NOT_PRICED", f"The new job is not priced. {error.message}", error.remedy, error.fields),
        )
    body: dict[str, Any] = json.loads(json.dumps(quote_json(made.quote, made.part)))
    return body, tuple(_note(told.code, told.message, told.remedy, told.fields) for told in made.quote.flags)


def _standing(pattern: Job) -> tuple[Finding, ...]:
    """Return what speaks against taking a job as a pattern: it is not signed, or something in it went wrong."""
    found = []
    if pattern.state != "signed":
        words = f"Job {pattern.number} is {pattern.state}: nobody answers for it as it stands."
        found.append(_note("LIKE_NOT_SIGNED", words, "Look at it before you repeat it."))
    failed = [entry for entry in pattern.all_of("tested") if entry.doc["result"] == "fail"]
    defects = pattern.all_of("defect")
    if failed or defects:
        words = f"Job {pattern.number} had {counted(len(failed), 'failed test')} and {counted(len(defects), 'defect')}."
        fields = {f"areakit job show {pattern.number}": ""}
        found.append(_note("LIKE_HAD_FAULTS", words, "Look at its tests and defects.", fields))
    return tuple(found)


def _note(code: str, message: str, remedy: str = "", fields: Fields | None = None) -> Finding:
    return Finding(
        code=code, severity="note", message=message, why="", source="practice", remedy=remedy, fields=fields or {}
    )
