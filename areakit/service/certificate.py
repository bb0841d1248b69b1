"""Certify a released job, and hold a certificate against the record."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from areakit import __version__
from areakit.errors import NotReady, RecordDiffers
from areakit.output import write_whole
from areakit.plural import counted
from areakit.records.bottles import Bottle
from areakit.records.certificate import Code, certified, check_bottles, code_of, read_code
from areakit.records.entries import checked
from areakit.records.event import Event
from areakit.records.job import Job, fold
from areakit.records.journal import Writer
from areakit.records.release import open_points
from areakit.service.desk import Desk
from areakit.service.job import bottles_of
from areakit.service.traveller import check_paper

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A certificate: its code, what it states, and its file."""

    code: Code
    statement: Mapping[str, Any]
    content: bytes


def certify(desk: Desk, number: str, *, paper: str = "a4", font: Path | None = None) -> Certificate:
    """Return the certificate of a released job, and keep in the record that it was written.

    While nothing is added to the record the same certificate is written again. NotReady if the job is not released,
    with what is missing; InputError if the paper is not known.
    """
    check_paper(paper)
    with desk.to_change() as journal, journal.writing() as writer:
        job = fold(number, writer.history("job", number))
        used = bottles_of(job, journal)
        check_released(job, used)
        event = job.history[-1] if job.history[-1].kind == "certified" else _keep(desk, writer, job, used)
        made = _drawn(job, event, paper=paper, font=font)
    logger.info("certified job %s as entry %d", number, event.sequence)
    return made


def write_certificate(desk: Desk, number: str, output: Path, *, paper: str = "a4", font: Path | None = None) -> Code:
    """Write the certificate of a released job as PDF; see :func:`certify`."""
    made = certify(desk, number, paper=paper, font=font)
    write_whole(output, made.content)
    return made.code


def check_released(job: Job, used: Mapping[str, Bottle]) -> None:
    """Raise NotReady unless a job is signed, unchanged since, and every open point was answered for."""
    points = [point.message for point in open_points(job, used)]
    signed = job.latest("signed")
    if signed is None:
        missing = f"it lacks its sign-off, and {_are_open(points)}" if points else "it lacks its sign-off"
        raise NotReady(
            f"Job {job.number} is not released: {missing}.",
            remedy="Sign the release; then ask again.",
            fields={f'areakit job sign {job.number} "Released" --role ROLE': ""},
        )
    if job.after_sign_off:
        later = job.after_sign_off[0]
        raise NotReady(
            f"Job {job.number} is not released as it stands: entry {later.sequence} ({later.kind}, {later.who}) came "
            "after its sign-off.",
            remedy="Sign it again, then ask again.",
        )
    new = [point for point in points if point not in (signed.doc.get("open_points") or ())]
    if new:
        raise NotReady(
            f"Job {job.number} was signed while nobody answered for what is open: {_are_open(new)}.",
            remedy="Do and record what is missing, or sign it again and say why, who, and in what role.",
            fields={"despite": "", "role": "", "who": ""},
        )


def _are_open(points: list[str]) -> str:
    return f"{counted(len(points), 'point')} {'are' if len(points) > 1 else 'is'} open: {' '.join(points)}".rstrip(".")


def _keep(desk: Desk, writer: Writer, job: Job, used: Mapping[str, Bottle]) -> Event:
    from areakit.reports.certificate_facts import bottle_facts, statement_of

    doc = {
        "statement": statement_of(job, used, by=desk.who, at=desk.at),
        "bottles": [bottle_facts(bottle) for bottle in used.values()],
        "version": __version__,
    }
    return writer.append(
        "job", job.number, "certified", at=desk.at, who=desk.who, doc=checked("certified", doc), after=job.last
    )


def _drawn(job: Job, event: Event, *, paper: str, font: Path | None = None) -> Certificate:
    from areakit.reports.certificate import certificate_pdf
    from areakit.reports.job_facts import rings_of

    code, statement = code_of(event), event.doc["statement"]
    content = certificate_pdf(statement, code, rings=rings_of(job), paper=paper, font=font)
    return Certificate(code=code, statement=statement, content=content)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """A certificate that its record bears out: its code, what it states, and whether its words were compared too."""

    code: Code
    statement: Mapping[str, Any]
    words: bool


def verify(desk: Desk, number: str, text: str) -> Verified:
    """Hold a code, or the file of a certificate, against the record of a job.

    CodeChanged, OtherJob, RecordDiffers for a code that was changed, is of another job, or does not fit the record.

    Parameters
    ----------
    text : str
        The code as it stands on the certificate.
    """
    return _verified(desk, number, read_code(text), None)


def verify_file(desk: Desk, number: str, data: bytes) -> Verified:
    """Hold the file of a certificate against the record: its code, and every word of it.

    FileError if it is not the PDF of a certificate; CodeChanged, OtherJob, RecordDiffers as for :func:`verify`; also if
    the file says what the record does not.
    """
    from areakit.reports.certificate_facts import read_certificate

    text, paper, words = read_certificate(data)
    return _verified(desk, number, read_code(text), (paper, words))


def _verified(desk: Desk, number: str, code: Code, file: tuple[str, str] | None) -> Verified:
    from areakit.reports.certificate_facts import bottle_facts

    with desk.to_read() as journal:
        job = fold(number, journal.history("job", number))
        event = certified(code, number, job.history)
        now = {label: bottle_facts(bottle) for label, bottle in bottles_of(job, journal).items()}
    check_bottles(event.doc["bottles"], now)
    if file is not None:
        _compare(job, event, *file)
    return Verified(code=code, statement=event.doc["statement"], words=file is not None)


def _compare(job: Job, event: Event, paper: str, words: str) -> None:
    from areakit.reports.certificate_facts import first_difference, read_certificate

    recorded = read_certificate(_drawn(job, event, paper=paper).content)[2]
    parted = first_difference(words, recorded)
    if parted is not None:
        raise RecordDiffers(
            f"The certificate says {parted[0]!r} where the record of job {job.number} says {parted[1]!r}.",
            remedy="Do not rely on this file; ask for the certificate again.",
        )
