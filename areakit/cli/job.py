"""``areakit job``: the record of a job, from photo to adhesion test."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

import click

from areakit.cli.desk import desk_of, desk_options, tell
from areakit.cli.entries import echo_json, read_text


class _Sections(click.Group):
    """A group that lists its commands in the order of the work."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)


@click.group("job", cls=_Sections)
def command() -> None:
    """Keep the record of each job: photo, area, plan, readings, tests, sign-off. Entries are only ever added.

    \b
    Example:
      areakit job new "leaf pendant" --quantity 12 --customer "order 77" --base copper
      areakit measure leaf.jpg --thickness "0.05 mm" --json | areakit job measured 2026-0001 - --photo leaf.jpg
      areakit plan --from leaf.json --process nickel-gold-brush --layer gold="0.5 um" --json |
        areakit job plan 2026-0001 -
      areakit job step 2026-0001 --step 6 --bottle N3
      areakit job log 2026-0001 "3.2 A"
      areakit job test 2026-0001 tape pass --place "front, at the edge"
      areakit job sign 2026-0001 "Released" --role inspector
      areakit job report 2026-0001 --output traveller.pdf
    """


NUMBER = click.argument("number")


@command.command("new")
@click.argument("part")
@click.option("--quantity", type=click.IntRange(1), default=1, show_default=True, help="Number of equal pieces.")
@click.option("--customer", default="", help="The customer's reference.")
@click.option("--base", default="", help="Base metal. Example: --base brass")
@click.option("--condition", default="", help="As it came in. Example: --condition 'worn gold, solder at the pin'")
@click.option("--date", help="Date of the order, 2026-03-14. Default: today.")
@click.option("--number", help="Job number. Default: the next of the year.")
@click.option("--remarks", default="")
@desk_options
def new(part: str, journal: Path | None, who: str | None, **fields: Any) -> None:
    """Open a job for PART and print its number.

    \b
    Example:
      areakit job new "club badge" --quantity 20 --customer "order 31" --base brass
    """
    from areakit.service.job import NewJob, open_job

    click.echo(open_job(desk_of(journal, who), NewJob(part=part, **fields)).number)


@command.command("photo")
@NUMBER
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--remarks", default="")
@desk_options
def photo(number: str, file: Path, remarks: str, journal: Path | None, who: str | None) -> None:
    """Keep a copy of a photo with the job.

    \b
    Example:
      areakit job photo 2026-0001 badge.jpg
    """
    from areakit.service.job import add

    made = add(desk_of(journal, who), number, "photographed", doc={"remarks": remarks}, file=file)
    click.echo(f"Job {number}, entry {made.number}: {file.name} is kept.")


@command.command("measured")
@NUMBER
@click.argument("file")
@click.option("--part", type=click.IntRange(1), default=1, show_default=True, help="Which part of the measurement.")
@click.option("--photo", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="Keep this photo with it.")
@desk_options
def measured(number: str, file: str, part: int, photo: Path | None, journal: Path | None, who: str | None) -> None:
    """Add what areakit measure --json printed; FILE may be - for standard input.

    \b
    Example:
      areakit measure badge.jpg --thickness "1.2 mm" --json | areakit job measured 2026-0001 - --photo badge.jpg
    """
    from areakit.service.job import add, attach_json

    desk = desk_of(journal, who)
    made = attach_json(desk, number, "measured", read_text(file) or "", part=part)
    click.echo(f"Job {number}, entry {made.number}: outline and area are kept.")
    if photo is not None:
        kept = add(desk, number, "photographed", doc={}, file=photo)
        click.echo(f"Job {number}, entry {kept.number}: {photo.name} is kept.")


@command.command("require")
@NUMBER
@click.argument("text")
@click.option("--metal", default="", help="Which layer it is about.")
@click.option("--minimum", help='Least thickness. Example: --minimum "2.5 um"')
@desk_options
def require(number: str, text: str, metal: str, minimum: str | None, journal: Path | None, who: str | None) -> None:
    """Add what the customer or a standard asks for, in words.

    \b
    Example:
      areakit job require 2026-0001 "gold 0.5 um on all significant surfaces" --metal gold --minimum "0.5 um"
    """
    from areakit.service.job_entries import Requirement

    made = Requirement(text=text, metal=metal, minimum=minimum).write(desk_of(journal, who), number)
    click.echo(f"Job {number}, entry {made.number}.")


def _attach(kind: str, number: str, file: str, journal: Path | None, who: str | None) -> None:
    from areakit.service.job import attach_json

    made = attach_json(desk_of(journal, who), number, kind, read_text(file) or "")
    click.echo(f"Job {number}, entry {made.number}.")


@command.command("plan")
@NUMBER
@click.argument("file")
@desk_options
def plan(number: str, file: str, journal: Path | None, who: str | None) -> None:
    """Add what areakit plan --json printed; FILE may be - for standard input.

    \b
    Example:
      areakit job plan 2026-0001 plan.json
    """
    _attach("planned", number, file, journal, who)


@command.command("quote")
@NUMBER
@click.argument("file")
@desk_options
def quote(number: str, file: str, journal: Path | None, who: str | None) -> None:
    """Add what areakit quote --json printed; FILE may be - for standard input.

    \b
    Example:
      areakit job quote 2026-0001 quote.json
    """
    _attach("quoted", number, file, journal, who)


@command.command("step")
@NUMBER
@click.option("--step", type=int, help="Number of the step in the job's plan.")
@click.option("--title", help="Its name, where it is not in the plan.")
@click.option("--metal", help="What it plates. Default: as planned.")
@click.option("--solution", help="Name of the solution. Default: as planned, or as the bottle says.")
@click.option("--bottle", help="Label of the bottle; it is checked before the start.")
@click.option("--voltage", help='Example: --voltage "8 V"')
@click.option("--temperature", help='Example: --temperature "55 °C"')
@click.option("--pieces", type=click.IntRange(1), help="Pieces in this run. Default: all of the job.")
@click.option("--target", help='Charge for the whole run. Default: as planned. Example: --target "3.2 A.min"')
@click.option("--charge", help='Charge by an ampere-minute meter, in place of readings. Example: "3.2 ± 0.1 A.min"')
@click.option("--efficiency", help='Cathode efficiency. Default: as planned. Example: --efficiency "72 % ± 6 %"')
@click.option("--meter", help="Expanded uncertainty of the ammeter. [default: 4 %]")
@click.option("--meter-step", help="Last digit of the ammeter. [default: 0.1 A]")
@click.option("--pause-limit", help='Longest pause that needs no new activation. [default: 60 s] Example: "90 s"')
@click.option("--at", help="When it began: 09:30 or 09:30:15. Default: now.")
@click.option("--despite", metavar="REASON", help="Begin although a check says stop; the reason is kept.")
@click.option("--remarks", default="")
@desk_options
def step(number: str, journal: Path | None, who: str | None, **fields: Any) -> None:
    """Record that a step begins. Exit code 2 where its bottle must not be used.

    \b
    Example:
      areakit job step 2026-0001 --step 6 --bottle N3 --voltage "10 V"
    """
    from areakit.service.job_run import StepRequest, begin_step

    done = begin_step(desk_of(journal, who), number, StepRequest(**fields))
    tell(done.findings)
    click.echo(f"Job {number}, run {done.run.step.number}: {done.run.step.doc['title']}.")


@command.command("log")
@NUMBER
@click.argument("current", required=False)
@click.option("--run", type=int, help="Entry number of the step. Default: the last one.")
@click.option("--stop", is_flag=True, help="The current was cut at this moment; 0 A means the same.")
@click.option("--at", help="When it was read: 09:30 or 09:30:15. Default: now.")
@click.option("--voltage", help='Example: --voltage "8 V"')
@click.option("--temperature", help='Example: --temperature "55 °C"')
@click.option("--remarks", default="")
@click.option("--json", "as_json", is_flag=True, help="Print the run as JSON.")
@desk_options
def log(
    number: str, current: str | None, run: int | None, stop: bool, as_json: bool, journal: Path | None,
    who: str | None, temperature: str | None, **fields: Any,
) -> None:  # fmt: skip
    """Type the current as it changes; without CURRENT and --stop, show where the run stands.

    \b
    Example:
      areakit job log 2026-0001 "3.2 A"
      areakit job log 2026-0001 --stop
    """
    from areakit.cli.job_text import run_lines
    from areakit.records.runs import run_json
    from areakit.service.job_run import log_reading, progress

    desk = desk_of(journal, who)
    if current is None and not stop:
        found = progress(desk, number, run)
    else:
        found = log_reading(desk, number, current, run=run, stop=stop, temperature_text=temperature, **fields).run
    tell(found.findings)
    if as_json:
        echo_json(run_json(found))
    else:
        click.echo("\n".join(run_lines(found)))


@command.command("weigh")
@NUMBER
@click.argument("when", type=click.Choice(["before", "after"]))
@click.argument("mass")
@click.option("--remarks", default="")
@desk_options
def weigh(
    number: str, when: Literal["before", "after"], mass: str, remarks: str, journal: Path | None, who: str | None
) -> None:
    """Record the mass of all pieces together, before or after.

    \b
    Example:
      areakit job weigh 2026-0001 before "12.4310 ± 0.0002 g"
    """
    from areakit.service.job_entries import Weighing

    made = Weighing(when=when, mass=mass, remarks=remarks).write(desk_of(journal, who), number)
    click.echo(f"Job {number}, entry {made.number}.")
    if made.job.gain is not None:
        from areakit.units import show

        click.echo(f"Gain: {show(made.job.gain, 'mg')} on all pieces.")


@command.command("test")
@NUMBER
@click.argument("method")
@click.argument("result", type=click.Choice(["pass", "fail", "value"]))
@click.option("--place", default="", help="Where on the part, in words.")
@click.option("--at-mm", nargs=2, type=float, metavar="X Y", help="Where on the outline, in mm.")
@click.option("--value", help='What was measured. Example: --value "2.6 ± 0.2 um"')
@click.option("--remarks", default="", help="Instrument, tape, who looked.")
@desk_options
def test(
    number: str, method: str, result: str, journal: Path | None, who: str | None,
    at_mm: tuple[float, float] | None, **fields: Any,
) -> None:  # fmt: skip
    """Record a test: tape, bend, burnishing and the other names of ASTM B571, visual, or a thickness method.

    \b
    Example:
      areakit job test 2026-0001 tape pass --place "front, across the edge of the plating"
      areakit job test 2026-0001 xrf value --value "0.61 ± 0.06 um" --place centre
    """
    from areakit.service.job import add_test

    made = add_test(desk_of(journal, who), number, method, result=result, place_mm=at_mm, **fields)
    click.echo(f"Job {number}, entry {made.number}.")


@command.command("defect")
@NUMBER
@click.argument("what")
@click.option(
    "--at", "points", nargs=2, type=float, multiple=True, metavar="X Y", required=True,
    help="Point on the outline, in mm; three and more make a region.",
)  # fmt: skip
@click.option("--remarks", default="")
@desk_options
def defect(
    number: str, what: str, points: tuple[tuple[float, float], ...], remarks: str, journal: Path | None,
    who: str | None,
) -> None:  # fmt: skip
    """Mark a defect at a point or over a region of the outline.

    \b
    Example:
      areakit job defect 2026-0001 "blister" --at 12.5 8
      areakit job defect 2026-0001 "burnt edge" --at 0 0 --at 6 0 --at 6 3
    """
    from areakit.service.job import add_defect

    made = add_defect(desk_of(journal, who), number, what, points_mm=list(points), remarks=remarks)
    click.echo(f"Job {number}, entry {made.number}.")


def _simple(kind: str, number: str, fields: dict[str, Any], journal: Path | None, who: str | None) -> None:
    from areakit.service.job_entries import KINDS

    click.echo(f"Job {number}, entry {KINDS[kind](**fields).write(desk_of(journal, who), number).number}.")


@command.command("rework")
@NUMBER
@click.argument("what")
@click.option("--because", type=int, help="Entry number of the test or defect that led to it.")
@click.option("--remarks", default="")
@desk_options
def rework(number: str, journal: Path | None, who: str | None, **fields: Any) -> None:
    """Record what was done again.

    \b
    Example:
      areakit job rework 2026-0001 "stripped and plated again" --because 14
    """
    _simple("reworked", number, fields, journal, who)


@command.command("remark")
@NUMBER
@click.argument("text")
@desk_options
def remark(number: str, text: str, journal: Path | None, who: str | None) -> None:
    """Add words that fit nowhere else.

    \b
    Example:
      areakit job remark 2026-0001 "customer agrees to 0.4 um"
    """
    _simple("remarked", number, {"text": text}, journal, who)


@command.command("sign")
@NUMBER
@click.argument("statement")
@click.option("--role", default="", help="Example: --role inspector")
@desk_options
def sign(number: str, journal: Path | None, who: str | None, **fields: Any) -> None:
    """Answer for the record as it stands; later entries will show as made after it.

    \b
    Example:
      areakit job sign 2026-0001 "Released for delivery" --role inspector --who "Ana"
    """
    _simple("signed", number, fields, journal, who)


@command.command("correct")
@NUMBER
@click.argument("entry", type=int)
@click.option("--set", "fields", multiple=True, metavar="FIELD=VALUE", help="New value: a text, a number, or JSON.")
@click.option("--withdraw", is_flag=True, help="The entry no longer counts.")
@click.option("--reason", required=True)
@desk_options
def correct(
    number: str, entry: int, fields: tuple[str, ...], withdraw: bool, reason: str, journal: Path | None,
    who: str | None,
) -> None:  # fmt: skip
    """Correct an entry by one more entry; what was written stays to be seen.

    \b
    Example:
      areakit job correct 2026-0001 9 --set current=3.4 --reason "misread"
    """
    from areakit.cli.corrections import read_fields
    from areakit.service.job import correct as append_correction

    made = append_correction(
        desk_of(journal, who), number, entry, fields=read_fields(fields), reason=reason, withdraw=withdraw
    )
    click.echo(f"Job {number}, entry {made.number} corrects entry {entry}.")


def _load_more() -> None:
    """Add the commands that look at records and move them."""
    from areakit.cli import job_store

    job_store.add_to(command)


_load_more()
