"""``areakit job``: the record of a job, from photo to adhesion test."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli import job_certificate, job_judged, job_store
from areakit.cli.command import JOURNAL, PHOTO, Group
from areakit.cli.desk import keeping_options, tell, tell_outcome, write_entry
from areakit.cli.entries import echo_json, read_text, remarks_option
from areakit.cli.options import options_of, said
from areakit.service.job_entries import Requirement, Weighing
from areakit.service.record_requests import NewJob, ReadingRequest, StepRequest

if TYPE_CHECKING:
    from areakit.service.desk import Desk


@click.group("job", cls=Group, exits=JOURNAL)
def command() -> None:
    """Keep the record of each job: photo, area, plan, readings, tests, sign-off. Entries are only ever added.

    \b
    Examples:
      areakit job new "leaf pendant" --quantity 12 --customer "order 77" --base copper
      areakit measure leaf.jpg --thickness "0.05 mm" --json | areakit job measured 2026-0001 - --photo leaf.jpg
      areakit job plan 2026-0001 plan.json
      areakit job step 2026-0001 --step 6 --bottle N3
      areakit job log 2026-0001 "3.2 A"
      areakit job test 2026-0001 tape pass --place "front, at the edge"
      areakit job sign 2026-0001 "Released" --role inspector
      areakit job report 2026-0001 --output traveller.pdf
      areakit job certificate 2026-0001 --output certificate.pdf
    """


NUMBER = click.argument("number")


@command.command("new", exits=JOURNAL)
@click.argument("part", required=False)
@options_of(NewJob)
@keeping_options
def new(part: str | None, like: str | None, desk: Desk, **fields: Any) -> None:
    """Open a job for PART and print its number. Like another job, plan and quote are made anew for the pieces.

    \b
    Examples:
      areakit job new "club badge" --quantity 20 --customer "order 31" --base brass
      areakit job new --like 2026-0012 --pieces 5 --customer "order 40"
    """
    if like is not None:
        from areakit.service.job_like import open_like

        made = open_like(desk, NewJob(like=like, part=part or "", **said(fields)))
        tell(made.findings)
        click.echo(made.job.number)
        return
    if part is None:
        raise click.UsageError("Say what the part is, or name a job to repeat with --like.")
    from areakit.service.job import open_job

    click.echo(open_job(desk, NewJob(part=part, **said(fields))).number)


@command.command("photo", exits=JOURNAL)
@NUMBER
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@remarks_option
@keeping_options
def photo(number: str, file: Path, remarks: str, desk: Desk) -> None:
    """Keep a copy of a photo with the job.

    \b
    Example:
      areakit job photo 2026-0001 badge.jpg
    """
    from areakit.service.job import add

    made = add(desk, number, "photographed", doc={"remarks": remarks}, file=file)
    click.echo(f"Job {number}, entry {made.number}: {file.name} is kept.")


@command.command("measured", exits={**PHOTO, **JOURNAL})
@NUMBER
@click.argument("file")
@click.option(
    "--part", type=click.IntRange(1), default=1, show_default=True, metavar="N", help="Part of the measurement, from 1."
)
@click.option(
    "--photo",
    metavar="PATH",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Keep this photo with it.",
)
@keeping_options
def measured(number: str, file: str, part: int, photo: Path | None, desk: Desk) -> None:
    """Add what areakit measure or surface --json printed; FILE may be - for standard input.

    \b
    Example:
      areakit measure badge.jpg --thickness "1.2 mm" --json | areakit job measured 2026-0001 - --photo badge.jpg
    """
    from areakit.service.job import attach_json

    made, *more = attach_json(desk, number, "measured", read_text(file) or "", part=part, photo=photo)
    click.echo(f"Job {number}, entry {made.number}: outline and area are kept.")
    if photo is not None:
        click.echo(f"Job {number}, entry {more[0].number}: {photo.name} is kept.")


@command.command("require", exits=JOURNAL)
@NUMBER
@click.argument("text")
@options_of(Requirement)
@keeping_options
def require(number: str, desk: Desk, **fields: Any) -> None:
    """Add what the customer or a standard asks for, in words.

    \b
    Example:
      areakit job require 2026-0001 "gold 0.5 um on all significant surfaces" --metal gold --minimum "0.5 um"
    """
    write_entry(Requirement(**said(fields)), desk, number)


def _attach(kind: str, number: str, file: str, desk: Desk) -> None:
    from areakit.service.job import attach_json

    (made,) = attach_json(desk, number, kind, read_text(file) or "")
    click.echo(f"Job {number}, entry {made.number}.")


@command.command("plan", exits=JOURNAL)
@NUMBER
@click.argument("file")
@keeping_options
def plan(number: str, file: str, desk: Desk) -> None:
    """Add what areakit plan --json printed; FILE may be - for standard input.

    \b
    Example:
      areakit job plan 2026-0001 plan.json
    """
    _attach("planned", number, file, desk)


@command.command("quote", exits=JOURNAL)
@NUMBER
@click.argument("file")
@keeping_options
def quote(number: str, file: str, desk: Desk) -> None:
    """Add what areakit quote --json printed; FILE may be - for standard input.

    \b
    Example:
      areakit job quote 2026-0001 quote.json
    """
    _attach("quoted", number, file, desk)


@command.command("step", exits=JOURNAL)
@NUMBER
@options_of(StepRequest)
@keeping_options
def step(number: str, desk: Desk, **fields: Any) -> None:
    """Record that a step begins; it does not where its bottle must not be used, unless --despite says why.

    \b
    Example:
      areakit job step 2026-0001 --step 6 --bottle N3 --voltage "10 V"
    """
    from areakit.service.job_run import begin_step

    done = begin_step(desk, number, StepRequest(**said(fields)))
    tell(done.findings)
    click.echo(f"Job {number}, run {done.run.step.number}: {done.run.step.doc['title']}.")


@command.command("log", exits=JOURNAL)
@NUMBER
@click.argument("current", required=False)
@options_of(ReadingRequest)
@click.option("--json", "as_json", is_flag=True, help="Print the run as JSON.")
@keeping_options
def log(number: str, current: str | None, as_json: bool, desk: Desk, **fields: Any) -> None:
    """Record the current as it changes; without CURRENT and --stop, show where the run stands.

    \b
    Examples:
      areakit job log 2026-0001 "3.2 A"
      areakit job log 2026-0001 --stop
    """
    from areakit.cli.job_text import run_lines
    from areakit.records.runs import run_json
    from areakit.service.job_run import log_reading, progress

    if current is None and not fields["stop"]:
        found = progress(desk, number, fields["run"])
    else:
        found = log_reading(desk, number, current, **said(fields)).run
    tell(found.findings)
    if as_json:
        echo_json(run_json(found))
    else:
        click.echo("\n".join(run_lines(found)))


@command.command("weigh", exits=JOURNAL)
@NUMBER
@click.argument("when", type=click.Choice(["before", "after"]))
@click.argument("mass")
@options_of(Weighing)
@keeping_options
def weigh(number: str, desk: Desk, **fields: Any) -> None:
    """Record the mass of all pieces together, before or after.

    \b
    Example:
      areakit job weigh 2026-0001 before "12.4310 ± 0.0002 g"
    """
    made = write_entry(Weighing(**said(fields)), desk, number)
    if made.job.gain is not None:
        from areakit.units import show

        click.echo(f"Gain: {show(made.job.gain, 'mg')} on all pieces.")
    tell_outcome(made)


for _more in (job_judged, job_certificate, job_store):
    _more.add_to(command)
