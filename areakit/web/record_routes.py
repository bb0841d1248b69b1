"""The routes of the record: jobs, their entries and runs, bottles, sheet copies, traveller and certificate.

An entry is acknowledged only after the journal has it on the disk; stopping the server loses nothing acknowledged.
"""

from __future__ import annotations

import base64
from collections.abc import Callable
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from areakit.errors import FileError, InputError
from areakit.records.bottle_json import bottle_json
from areakit.records.codec import as_json
from areakit.records.entry_words import entry_words
from areakit.records.event import Event
from areakit.records.job import Job
from areakit.records.job_json import job_json, summary_json
from areakit.records.outcome import outcome_json, outcomes_of
from areakit.records.runs import run_json, run_of
from areakit.service.bottle import list_bottles, show_bottle
from areakit.service.certificate import certify, verify
from areakit.service.desk import Desk
from areakit.service.job import (
    Attached,
    NewEntry,
    NewJob,
    Written,
    add,
    add_all,
    attach,
    attachment,
    list_jobs,
    open_job,
    show_job,
)
from areakit.service.job_entries import KINDS
from areakit.service.job_like import open_like
from areakit.service.job_run import Progress, StepRequest, begin_step, log_reading, progress
from areakit.service.own_factor import add_coupon, factor_as_json, factor_drawing
from areakit.service.record_requests import NewCopyCheck, NewCoupon
from areakit.service.traveller import report_content
from areakit.service.trust import copy_json, list_copies, record_copy
from areakit.web import bodies
from areakit.web.bench import bench_of, desk_of, fields_of, figures, photo_name, photo_of, query_of

TRAVELLER = {"pdf": "application/pdf", "html": "text/html; charset=utf-8"}


async def jobs_route(request: Request) -> Response:
    """``GET /api/jobs``: all jobs in one row each, or those that hold all of ``words``; newest first."""
    words, desk = query_of(request, ("words",)).get("words", ""), desk_of(request)
    rows = await figures(request, lambda: [summary_json(job) for job in _or_none(lambda: list_jobs(desk, words))])
    return JSONResponse({"jobs": rows[::-1]})


async def open_route(request: Request) -> Response:
    """``POST /api/jobs``: the fields of an order; the answer is the job. With ``like`` it repeats another one."""
    fields, desk = await fields_of(request, bodies.JOB), desk_of(request)

    def again(kept: Event) -> dict[str, Any]:
        _same(kept, "job", kept.key, "opened")
        return _job_body(show_job(desk, kept.key))

    return await _once(request, desk, lambda: _opened(desk, fields), again)


async def _once(
    request: Request, desk: Desk, write: Callable[[], dict[str, Any]], again: Callable[[Event], dict[str, Any]]
) -> Response:
    """Answer with what is written; or, sent again with the same key, with what was written then."""

    def run() -> tuple[dict[str, Any], int]:
        kept = desk.kept_before()
        return (write(), 201) if kept is None else (again(kept), 200)

    body, status = await figures(request, run)
    return JSONResponse(body, status)


def _same(kept: Event, subject: str, key: str, kind: str) -> None:
    """Raise InputError where a key was used for something else."""
    if (kept.subject, kept.key, kept.kind) != (subject, key, kind):
        raise InputError(
            f"The key was used before: for {kept.kind}, {kept.subject} {kept.key}, entry {kept.sequence}.",
            remedy="Give each press a key of its own.",
        )


def _opened(desk: Desk, fields: dict[str, Any]) -> dict[str, Any]:
    if not fields.get("like"):
        return _job_body(open_job(desk, NewJob(**fields)))
    made = open_like(desk, NewJob(**fields))
    return {**_job_body(made.job), "findings": as_json(made.findings)}


async def job_route(request: Request) -> Response:
    """``GET /api/jobs/NUMBER``: what ``areakit job show --json`` prints, and each entry in one line of words."""
    number, desk = request.path_params["number"], desk_of(request)
    return JSONResponse(await figures(request, lambda: _job_body(show_job(desk, number))))


async def run_route(request: Request) -> Response:
    """``GET /api/jobs/NUMBER/run``: where its last run stands, or that of ``entry``."""
    number, desk = request.path_params["number"], desk_of(request)
    text = query_of(request, ("entry",)).get("entry", "")
    if text and not (text.isascii() and text.isdigit() and len(text) < 10):
        raise InputError(f"{text[:20]!r} is no number of an entry.", remedy="Give the number of a step's entry.")
    return JSONResponse(await figures(request, lambda: run_json(progress(desk, number, int(text) if text else None))))


async def entry_route(request: Request) -> Response:
    """``POST /api/jobs/NUMBER/entries/KIND``: one more entry; the answer tells its number once it is kept."""
    number, kind, desk = request.path_params["number"], request.path_params["kind"], desk_of(request)
    run = await _entry(request, desk, number, kind)
    return await _once(request, desk, run, lambda kept: _kept_again(desk, kept, number, kind))


def _kept_again(desk: Desk, kept: Event, number: str, kind: str) -> dict[str, Any]:
    _same(kept, "job", number, kind)
    job = show_job(desk, number)
    body = _written(Written(number=kept.sequence, job=job))
    if kind in ("step", "reading"):
        entry = job.entry(kept.doc["run"] if kind == "reading" else kept.sequence)
        body["run"] = run_json(run_of(job, entry))
    return body


async def entries_route(request: Request) -> Response:
    """``POST /api/jobs/NUMBER/entries``: photo, measurement, plan and quote in one write, all of them or nothing."""
    number, desk = request.path_params["number"], desk_of(request)
    fields = await fields_of(request, bodies.BundleFields, with_photo=True)
    entries = [_bundled(one) for one in fields["entries"]]
    if not entries:
        raise InputError("There is nothing to keep.", remedy="Send at least one entry.")

    def body(numbers: list[int], job: Job) -> dict[str, Any]:
        return {**_written(Written(number=numbers[-1], job=job)), "entries": numbers}

    def write() -> dict[str, Any]:
        made = add_all(desk, number, entries, after=fields.get("after"))
        return body([one.number for one in made], made[-1].job)

    def again(kept: Event) -> dict[str, Any]:
        _same(kept, "job", number, entries[0].kind)
        return body([kept.sequence + place for place in range(len(entries))], show_job(desk, number))

    return await _once(request, desk, write, again)


def _bundled(one: Any) -> NewEntry:
    if one.kind != "photographed":
        if one.document is None:
            raise InputError(f"The entry {one.kind} holds no document.", remedy="Send what the other call returned.")
        return attachment(one.kind, one.document, part=one.part)
    try:
        content = base64.b64decode(one.base64, validate=True)
    except ValueError:
        raise InputError("The photo is not in base 64.", remedy="Send the bytes of its file in base 64.") from None
    if not content:
        raise FileError("The photo is empty.", remedy="Send the bytes of its file.")
    return NewEntry(kind="photographed", doc={}, file=Attached(name=photo_name(one.name), content=content))


async def traveller_route(request: Request) -> Response:
    """``GET /api/jobs/NUMBER/traveller``: the traveller as PDF, or as one page of HTML with ``form=html``."""
    number, desk = request.path_params["number"], desk_of(request)
    query = query_of(request, ("form", "paper", "lanes"))
    form = query.get("form", "pdf")
    if form not in TRAVELLER:
        raise InputError(f"There is no form {form[:20]!r}.", remedy="Ask for pdf or html.")
    paper, lanes = query.get("paper", "a4"), query.get("lanes")
    content = await figures(
        request, lambda: report_content(desk, number, as_page=form == "html", paper=paper, lanes=lanes)
    )
    headers = {"content-disposition": f'attachment; filename="traveller-{file_name(number)}.{form}"'}
    return Response(content, media_type=TRAVELLER[form], headers=headers)


def file_name(number: str) -> str:
    """Return a job's number with only what every system takes in the name of a file."""
    return "".join(letter for letter in number if letter.isascii() and (letter.isalnum() or letter in "-_")) or "job"


async def certificate_route(request: Request) -> Response:
    """``POST /api/jobs/NUMBER/certificate``: the certificate as PDF; 409 with what is missing for a job not released.

    It is a POST, since the record keeps that a certificate was written.
    """
    number, desk = request.path_params["number"], desk_of(request)
    paper = query_of(request, ("paper",)).get("paper", "a4")
    made = await figures(request, lambda: certify(desk, number, paper=paper))
    headers = {"content-disposition": f'attachment; filename="certificate-{file_name(number)}.pdf"'}
    return Response(made.content, media_type="application/pdf", headers=headers)


async def verify_route(request: Request) -> Response:
    """``GET /api/jobs/NUMBER/verify``: what the certificate of ``code`` states, where the record bears it out."""
    number, desk = request.path_params["number"], desk_of(request)
    code = query_of(request, ("code",)).get("code")
    if code is None:
        raise InputError("There is no code.", remedy="Give the code that stands on the certificate.")
    found = await figures(request, lambda: verify(desk, number, code))
    return JSONResponse({"code": str(found.code), **found.statement})


async def bottles_route(request: Request) -> Response:
    """``GET /api/bottles``: the bottles in use, as ``areakit bottle list --json`` prints them."""
    desk = desk_of(request)
    found = await figures(request, lambda: [bottle_json(one) for one in _or_none(lambda: list_bottles(desk))])
    return JSONResponse({"bottles": found})


async def factor_route(request: Request) -> Response:
    """``GET /api/bottles/LABEL/factor``: what ``areakit bottle factor --json`` prints; its plot with ``form=svg``."""
    label, desk = request.path_params["label"], desk_of(request)
    query = query_of(request, ("brush", "form"))
    brush, form = query.get("brush", ""), query.get("form", "json")
    if form not in ("json", "svg"):
        raise InputError(f"There is no form {form[:20]!r}.", remedy="Ask for json or svg.")
    if form == "svg":
        drawn = await figures(request, lambda: factor_drawing(desk, label, brush=brush))
        return Response(drawn, media_type="image/svg+xml")
    return JSONResponse(await figures(request, lambda: factor_as_json(desk, label, brush=brush)))


async def coupon_route(request: Request) -> Response:
    """``POST /api/bottles/LABEL/coupon``: a weighed coupon; the answer is the bottle as it stands then."""
    label, desk = request.path_params["label"], desk_of(request)
    fields = await fields_of(request, bodies.COUPON)

    def again(kept: Event) -> dict[str, Any]:
        _same(kept, "bottle", label, "coupon")
        return bottle_json(show_bottle(desk, label))

    return await _once(request, desk, lambda: bottle_json(add_coupon(desk, label, NewCoupon(**fields))), again)


async def copies_route(request: Request) -> Response:
    """``GET /api/sheet-copies``: the copies of a scale sheet whose check lengths are kept."""
    desk = desk_of(request)
    found = await figures(request, lambda: [copy_json(one) for one in _or_none(lambda: list_copies(desk))])
    return JSONResponse({"copies": found})


async def keep_copy_route(request: Request) -> Response:
    """``POST /api/sheet-copies``: keep the check lengths of a sheet copy under its name."""
    fields, desk = await fields_of(request, bodies.PRINT), desk_of(request)

    def again(kept: Event) -> dict[str, Any]:
        _same(kept, "sheet", str(fields["name"]).strip(), kept.kind)
        return next(copy_json(one) for one in list_copies(desk) if one.name == kept.key)

    return await _once(request, desk, lambda: copy_json(record_copy(desk, NewCopyCheck(**fields))), again)


async def _entry(request: Request, desk: Desk, number: str, kind: str) -> Callable[[], dict[str, Any]]:
    """Read the body of one entry, and return what writes it."""
    if kind == "photographed":
        name, content = photo_name(request.query_params.get("name", "")), await photo_of(request)
        if not content:
            raise FileError("The photo is empty.", remedy="Send the bytes of its file.")
        return lambda: _written(add(desk, number, kind, doc={}, file=Attached(name=name, content=content)))
    if kind not in bodies.ENTRIES:
        raise InputError(
            f"There is no entry of kind {kind[:30]!r}.", remedy=f"Known: photographed, {', '.join(bodies.ENTRIES)}."
        )
    fields = await fields_of(request, bodies.ENTRIES[kind])
    after = fields.pop("after", None)
    if kind == "step":
        return lambda: _progressed(begin_step(desk, number, StepRequest(**fields)))
    if kind == "reading":
        return lambda: _progressed(_heard(request, number, log_reading(desk, number, **fields)))
    if kind in bodies.DOCUMENTS:
        return lambda: _written(attach(desk, number, kind, fields["document"], part=fields.get("part", 1)))
    return lambda: _written(KINDS[kind](**fields).write(desk, number, after=after))


def _heard(request: Request, number: str, made: Progress) -> Progress:
    """Let the alarm of this computer know of a reading."""
    alarm = bench_of(request).alarm
    if alarm is not None:
        alarm.heard(number, made.run)
    return made


def _written(made: Written) -> dict[str, Any]:
    return {
        "entry": made.number,
        "last": made.job.last,
        "state": made.job.state,
        "findings": as_json(made.findings),
        "outcomes": [outcome_json(one) for one in outcomes_of(made.job) if one.entry == made.number],
    }


def _progressed(made: Progress) -> dict[str, Any]:
    return {**_written(made.written), "run": run_json(made.run)}


def _job_body(job: Job) -> dict[str, Any]:
    return {**job_json(job), "words": {str(entry.number): entry_words(entry) for entry in job.entries}}


def _or_none(read: Callable[[], Any]) -> Any:
    """Return what is read, or nothing where no journal was begun yet."""
    try:
        return read()
    except FileError:
        return ()
