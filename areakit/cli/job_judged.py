"""What is found and decided about a job: tests, defects, rework, remarks, sign-off, corrections."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import JOURNAL, Command
from areakit.cli.desk import keeping_options, tell_outcome, write_entry
from areakit.cli.options import options_of, said
from areakit.service.job_entries import Correction, Defect, Remark, Rework, SignOff, Trial

if TYPE_CHECKING:
    from areakit.service.desk import Desk

NUMBER = click.argument("number")


def add_to(group: click.Group) -> None:
    """Add these commands to the group of jobs."""
    for one in (test, defect, rework, remark, sign, correct):
        group.add_command(one)


@click.command("test", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("method")
@click.argument("result", type=click.Choice(["pass", "fail", "value"]))
@click.option(
    "--at-mm", nargs=2, type=float, metavar="X Y", help="Where on the outline, in mm. Example: --at-mm 12.5 8"
)
@options_of(Trial)
@keeping_options
def test(number: str, at_mm: tuple[float, float] | None, desk: Desk, **fields: Any) -> None:
    """Record a test: tape, bend, burnishing and the other names of ASTM B571, visual, or a thickness method.

    \b
    Examples:
      areakit job test 2026-0001 tape pass --place "front, across the edge of the plating"
      areakit job test 2026-0001 xrf value --value "0.61 ± 0.06 um" --place centre
    """
    tell_outcome(write_entry(Trial(place_mm=at_mm, **said(fields)), desk, number))


@click.command("defect", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("what")
@click.option(
    "--at", "points", nargs=2, type=float, multiple=True, metavar="X Y", required=True,
    help="Point on the outline, in mm; three and more make a region. Example: --at 12.5 8",
)  # fmt: skip
@options_of(Defect)
@keeping_options
def defect(number: str, points: tuple[tuple[float, float], ...], desk: Desk, **fields: Any) -> None:
    """Mark a defect at a point or over a region of the outline.

    \b
    Examples:
      areakit job defect 2026-0001 "blister" --at 12.5 8
      areakit job defect 2026-0001 "burnt edge" --at 0 0 --at 6 0 --at 6 3
    """
    write_entry(Defect(points_mm=points, **said(fields)), desk, number)


@click.command("rework", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("what")
@options_of(Rework)
@keeping_options
def rework(number: str, desk: Desk, **fields: Any) -> None:
    """Record what was done again.

    \b
    Example:
      areakit job rework 2026-0001 "stripped and plated again" --because 14
    """
    write_entry(Rework(**said(fields)), desk, number)


@click.command("remark", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("text")
@keeping_options
def remark(number: str, text: str, desk: Desk) -> None:
    """Add words that fit nowhere else.

    \b
    Example:
      areakit job remark 2026-0001 "customer agrees to 0.4 um"
    """
    write_entry(Remark(text=text), desk, number)


@click.command("sign", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("statement")
@options_of(SignOff)
@keeping_options
def sign(number: str, desk: Desk, **fields: Any) -> None:
    """Answer for the record as it stands; later entries will show as made after it.

    It is refused while points are open: a step not recorded, a charge or a thickness not reached, a test failed or
    missing, a defect not reworked, a bottle out of date, an open stop. The refusal lists them all.

    \b
    Example:
      areakit job sign 2026-0001 "Released for delivery" --role inspector --who "Ana"
    """
    write_entry(SignOff(**said(fields)), desk, number)


@click.command("correct", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("entry", type=int)
@click.option("--set", "fields", multiple=True, metavar="FIELD=VALUE", help='New value. Example: --set voltage="8 V"')
@options_of(Correction)
@keeping_options
def correct(number: str, entry: int, fields: tuple[str, ...], desk: Desk, **more: Any) -> None:
    """Correct an entry by one more entry; what was written stays to be seen.

    \b
    Example:
      areakit job correct 2026-0001 9 --set current=3.4 --reason "misread"
    """
    from areakit.cli.corrections import read_fields

    made = Correction(entry=entry, fields=read_fields(fields), **said(more)).write(desk, number)
    click.echo(f"Job {number}, entry {made.number} corrects entry {entry}.")
