"""Open jobs, add to them, correct them: every change is one more entry, and nothing is written over."""

from __future__ import annotations

import json
import logging
import mimetypes
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import count
from pathlib import Path
from typing import Any

from areakit.errors import FileError, InputError
from areakit.foreign_text import json_from
from areakit.plating.findings import Finding
from areakit.records import job as jobs
from areakit.records.area_lines import read_part_areas
from areakit.records.bottles import Bottle
from areakit.records.bottles import fold as fold_bottle
from areakit.records.codec import quantity_from_json, quantity_json
from areakit.records.entries import checked
from areakit.records.event import Event, canonical
from areakit.records.job import Job
from areakit.records.journal import Journal, Writer
from areakit.records.release import OpenPoint, open_points
from areakit.records.runs import layer_of, runs_of
from areakit.service.desk import Desk, read_date
from areakit.service.record_requests import NewJob as NewJob
from areakit.uncertainty import Measured, propagate, total
from areakit.units import in_unit

logger = logging.getLogger(__name__)

_LARGEST_PHOTO = 100_000_000


_PICTURE = re.compile(rb"\xff\xd8\xff|\x89PNG|II\*\0|MM\0\*|RIFF.{4}WEBP|.{4}ftyp", re.DOTALL)
"""How the files begin that a photo can be (the signatures of their standards)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attached:
    """A file that is in memory already: its name and its bytes."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEntry:
    """An entry to be written: its kind, what it holds, and a file that is stored with it."""

    kind: str
    doc: Mapping[str, Any]
    file: Path | Attached | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """An entry that was acknowledged: its number in the job, the job as it stands, and what there is to say."""

    number: int
    job: Job
    findings: tuple[Finding, ...] = ()


def open_job(desk: Desk, request: NewJob, entries: Sequence[NewEntry] = ()) -> Job:
    """Open a job with its first entries, all of them or nothing, and return it.

    InputError if the number is taken, or a field cannot be kept.
    """
    date, said = read_date(request.date, desk.now), asdict(request)
    asked = said.pop("number")
    doc = checked(
        "opened",
        {**said, "date": date, "quantity": 1 if request.quantity is None else request.quantity},
    )
    files = [_read(entry.file) for entry in entries]
    with desk.to_write() as journal:
        with journal.writing() as writer:
            number = asked or _next_number(date[:4], writer)
            if writer.holds("job", number):
                raise InputError(f"There is a job {number} already.", remedy="Choose another number, or none.")
            writer.append("job", number, "opened", at=desk.at, who=desk.who, doc=doc)
            for entry, kept in zip(entries, files, strict=True):
                _append(desk, writer, number, entry, kept)
        logger.info("opened job %s", number)
        return read_job(journal, number)


def _next_number(year: str, writer: Writer) -> str:
    """Return the number after the last of the year; numbers of more digits than four come after all of four."""
    last = 0
    for width in count(4):
        found = (key for key in writer.keys_starting("job", f"{year}-", backwards=True) if key[5:].isdecimal())
        last = next((int(key[5:]) for key in found if len(key) == 5 + width), last)
        if last < 10**width - 1:
            break
    return f"{year}-{last + 1:04d}"


def read_job(journal: Journal, number: str) -> Job:
    """Return a job as it stands."""
    return jobs.fold(number, journal.history("job", number))


def show_job(desk: Desk, number: str) -> Job:
    """Return a job as it stands."""
    with desk.to_read() as journal:
        return read_job(journal, number)


def release_points(desk: Desk, number: str) -> tuple[Job, tuple[OpenPoint, ...]]:
    """Return a job as it stands, and what is open before it may be released."""
    with desk.to_read() as journal:
        job = read_job(journal, number)
        return job, open_points(job, bottles_of(job, journal))


def bottles_of(job: Job, journal: Journal) -> dict[str, Bottle]:
    """Return the bottles that a job's runs name and that have an account, as they stand."""
    used = sorted({entry.doc["bottle"] for entry in job.all_of("step")})
    return {
        label: fold_bottle(label, journal.history("bottle", label)) for label in used if journal.holds("bottle", label)
    }


def list_jobs(desk: Desk, words: str = "") -> tuple[Job, ...]:
    """Return all jobs, or those that hold all of some words as they stand now, in any script."""
    with desk.to_read() as journal:
        keys = journal.keys_with("job", words) if words else journal.keys("job")
        found = tuple(read_job(journal, key) for key in keys)
    wanted = words.casefold().split()
    return tuple(job for job in found if all(word in _standing_text(job) for word in wanted))


def _standing_text(job: Job) -> str:
    texts = [canonical(entry.doc) + entry.who + entry.kind for entry in job.entries if not entry.withdrawn]
    return (job.number + job.state + "".join(texts)).casefold()


def add(
    desk: Desk, number: str, kind: str, *, doc: Mapping[str, Any], after: int | None = None,
    file: Path | Attached | None = None,
) -> Written:  # fmt: skip
    """Add one entry to a job; see :func:`add_all`."""
    return add_all(desk, number, [NewEntry(kind=kind, doc=doc, file=file)], after=after)[0]


def add_all(desk: Desk, number: str, entries: Sequence[NewEntry], *, after: int | None = None) -> tuple[Written, ...]:
    """Add entries to a job in one write, all or none, with their files, and bring the bottles' accounts up to date.

    Parameters
    ----------
    after : int, optional
        The last entry that the author has seen; RecordChanged if there is a later one.
    """
    files = [_read(entry.file) for entry in entries]
    with desk.to_change() as journal:
        with journal.writing() as writer:
            made: list[Event] = []
            for entry, kept in zip(entries, files, strict=True):
                made.append(_append(desk, writer, number, entry, kept, after=after if not made else None))
            settle_bottles(desk, writer, number)
        job = read_job(journal, number)
    for entry, event in zip(entries, made, strict=True):
        logger.info("added %s to job %s as entry %d", entry.kind, number, event.sequence)
    return tuple(Written(number=event.sequence, job=job) for event in made)


def _append(
    desk: Desk, writer: Writer, number: str, entry: NewEntry, kept: Attached | None, *, after: int | None = None
) -> Event:
    job, doc = jobs.fold(number, writer.history("job", number)), dict(entry.doc)
    files: tuple[str, ...] = ()
    if kept is not None:
        if entry.kind == "photographed" and not _PICTURE.match(kept.content):
            raise FileError(
                f"{kept.name} is not a JPEG, PNG, TIFF, WebP or HEIC picture.", remedy="Name the file of the photo."
            )
        media = mimetypes.guess_type(kept.name)[0] or "application/octet-stream"
        sha256 = writer.keep_file(name=kept.name, media=media, content=kept.content)
        doc |= {"sha256": sha256, "name": kept.name, "media": media}
    if entry.kind == "photographed":
        files = (doc["sha256"],)
    body = jobs.check_correction(job, doc) if entry.kind == "corrected" else checked(entry.kind, doc)
    return writer.append("job", number, entry.kind, at=desk.at, who=desk.who, doc=body, files=files, after=after)


def _read(file: Path | Attached | None) -> Attached | None:
    return Attached(name=file.name, content=read_file(file)) if isinstance(file, Path) else file


def read_file(path: Path) -> bytes:
    """Return the bytes of a file of at most 100 MB; FileError where it cannot be read."""
    try:
        if path.stat().st_size > _LARGEST_PHOTO:
            raise FileError(f"{path} is larger than {_LARGEST_PHOTO // 1_000_000} MB.", remedy="Give a smaller file.")
        return path.read_bytes()
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror}.", remedy="Check the name of the file.") from None


def settle_bottles(desk: Desk, writer: Writer, number: str) -> None:
    """Write to each bottle what the runs of a job have drawn by now, where that is not what its account says."""
    job = jobs.fold(number, writer.history("job", number))
    runs = runs_of(job)
    wanted: dict[tuple[str, int], dict[str, Any]] = {}
    metals: set[str] = set()
    for run in runs:
        bottle = run.step.doc["bottle"]
        if bottle and (run.log.charge.value > 0 or run.readings):
            metal, pieces = run.step.doc["metal"], run.step.doc["pieces"]
            carried = carried_away(job, metal, pieces=pieces, first=metal not in metals)
            metals.add(metal)
            wanted[(bottle, run.step.number)] = _draw(number, run.step.number, run.log.charge, run.mass, carried)
    for label in sorted(_bottles_named(job)):
        if not writer.holds("bottle", label):
            continue
        for entry, doc in _latest_draws(writer.history("bottle", label), number).items():
            if (label, entry) not in wanted and _is_drawn(doc):
                wanted[(label, entry)] = _draw(number, entry, None, None)
            elif (label, entry) in wanted and wanted[(label, entry)] == doc:
                del wanted[(label, entry)]
    for (label, _), doc in wanted.items():
        writer.append("bottle", label, "drew", at=desk.at, who=desk.who, doc=doc)


def _bottles_named(job: Job) -> set[str]:
    """Return every bottle that a step of a job names, or named before it was corrected."""
    docs = [event.doc.get("fields", event.doc) if event.kind == "corrected" else event.doc for event in job.history]
    return {doc["bottle"] for doc in docs if isinstance(doc.get("bottle"), str) and doc["bottle"]}


def carried_away(job: Job, metal: str, *, pieces: int, first: bool) -> Measured | None:
    """Return the solution that a run carries away by the plan: drag-out with its pieces, the sleeve with the first."""
    layer, planned = layer_of(job, metal), job.latest("planned")
    if layer is None or planned is None:
        return None
    used = layer.get("consumption") or {}
    share = pieces / planned.doc["plan"]["pieces"]
    found = []
    if used.get("drag_out_volume"):
        dragged = in_unit(quantity_from_json(used["drag_out_volume"]), "m3")
        found.append(propagate(lambda v: v * share, dragged, unit="m3"))
    if first and used.get("sleeve_volume"):
        found.append(in_unit(quantity_from_json(used["sleeve_volume"]), "m3"))
    return total(found, "m3") if found else None


def _draw(
    job: str, run: int, charge: Measured | None, mass: Measured | None, carried: Measured | None = None
) -> dict[str, Any]:
    from areakit.records.bottles import checked as bottle_entry

    body = {
        "job": job,
        "run": run,
        "charge": quantity_json(charge) if charge else None,
        "metal_mass": quantity_json(mass) if mass else None,
        "volume": quantity_json(carried) if carried else None,
    }
    return bottle_entry("drew", body)


def _is_drawn(doc: Mapping[str, Any]) -> bool:
    return doc["charge"] is not None or doc["metal_mass"] is not None


def _latest_draws(history: tuple[Event, ...], job: str) -> dict[int, Mapping[str, Any]]:
    return {
        event.doc["run"]: event.doc
        for event in history
        if event.kind == "drew" and event.doc["job"] == job and event.doc["run"] is not None
    }


def attach_json(
    desk: Desk, number: str, kind: str, text: str, *, part: int = 1, photo: Path | Attached | None = None
) -> tuple[Written, ...]:
    """Add what ``areakit measure``, ``plan`` or ``quote`` printed with --json, and its photo, in one write."""
    entries = [attachment(kind, body_of(kind, text), part=part)]
    if photo is not None:
        entries.append(NewEntry(kind="photographed", doc={}, file=photo))
    return add_all(desk, number, entries)


def body_of(kind: str, text: str) -> dict[str, Any]:
    """Return the one object of what a command printed with --json; InputError for anything else."""
    try:
        lines = _json_lines(text) if kind == "measured" else None
        body = lines[0] if lines else json_from(text)
    except ValueError:
        raise InputError(
            "The text is not JSON.", remedy="Do the step again, and give the whole answer.", fields={"json": ""}
        ) from None
    if not isinstance(body, dict):
        raise InputError(
            "The JSON is not an object.", remedy="Do the step again, and give the whole answer.", fields={"json": ""}
        )
    if lines and len(lines) > 1:
        raise InputError(
            f"The text holds {len(lines)} measured photos; a job takes one.", remedy="Give the line of one photo."
        )
    return body


def _json_lines(text: str) -> list[Any]:
    """Return one object over several lines, as ``areakit surface`` prints, or one a line, as ``areakit measure``."""
    try:
        return [json_from(text)]
    except ValueError:
        return [json_from(line) for line in text.splitlines() if line.strip()]


def attach(desk: Desk, number: str, kind: str, body: Mapping[str, Any], *, part: int = 1) -> Written:
    """Add a measurement, a plan or a quote as its JSON object; see :func:`attachment`."""
    return add_all(desk, number, [attachment(kind, body, part=part)])[0]


def attachment(kind: str, body: Mapping[str, Any], *, part: int = 1) -> NewEntry:
    """Return the entry of a measurement, a plan or a quote.

    InputError for JSON of another kind, or a part that is not there.

    Parameters
    ----------
    kind : str
        ``measured``, ``planned`` or ``quoted``.
    part : int
        Which part of a measurement.
    """
    if kind == "measured":
        there = len(read_part_areas(json.dumps(body)))
        if not 1 <= part <= there:
            raise InputError(
                f"There is no part {part} among {there}.", remedy="Choose another part.", fields={"part": ""}
            )
        return NewEntry(kind=kind, doc={"line": body, "part": part})
    key = "plan" if kind == "planned" else "quote"
    if kind == "planned" and "steps" not in body:
        raise InputError(
            "The JSON is not a plan.",
            remedy="Plan again, and give the whole answer.",
            fields={"areakit plan --json": ""},
        )
    if kind == "quoted" and not {"price", "currency", "pieces", "valid_until"} <= body.keys():
        raise InputError(
            "The JSON is not a quote.",
            remedy="Quote again, and give the whole answer.",
            fields={"areakit quote --json": ""},
        )
    return NewEntry(kind=kind, doc={key: body})
