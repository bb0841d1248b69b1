"""What is found and decided about a job: tests, defects, rework, remarks, sign-off, corrections."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from areakit.cli.command import JOURNAL, Command
from areakit.cli.desk import desk_of, desk_options, key_option, tell_outcome
from areakit.cli.entries import remarks_option

NUMBER = click.argument("number")


def add_to(group: click.Group) -> None:
    """Add these commands to the group of jobs."""
    for one in (test, defect, rework, remark, sign, correct):
        group.add_command(one)


@click.command("test", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("method")
@click.argument("result", type=click.Choice(["pass", "fail", "value"]))
@click.option("--place", default="", metavar="TEXT", help="Where on the part, in words.")
@click.option(
    "--at-mm", nargs=2, type=float, metavar="X Y", help="Where on the outline, in mm. Example: --at-mm 12.5 8"
)
@click.option("--metal", default="", metavar="METAL", help="Layer of a thickness; the top one where it is left out.")
@click.option("--value", metavar="VALUE", help='What was measured. Example: --value "2.6 ± 0.2 um"')
@click.option("--remarks", default="", metavar="TEXT", help="Instrument, tape, who looked.")
@desk_options
@key_option
def test(
    number: str, method: str, result: str, journal: Path | None, who: str | None,
    at_mm: tuple[float, float] | None, **fields: Any,
) -> None:  # fmt: skip
    """Record a test: tape, bend, burnishing and the other names of ASTM B571, visual, or a thickness method.

    \b
    Examples:
      areakit job test 2026-0001 tape pass --place "front, across the edge of the plating"
      areakit job test 2026-0001 xrf value --value "0.61 ± 0.06 um" --place centre
    """
    from areakit.service.job import add_test

    made = add_test(desk_of(journal, who), number, method, result=result, place_mm=at_mm, **fields)
    click.echo(f"Job {number}, entry {made.number}.")
    tell_outcome(made)


@click.command("defect", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("what")
@click.option(
    "--at", "points", nargs=2, type=float, multiple=True, metavar="X Y", required=True,
    help="Point on the outline, in mm; three and more make a region. Example: --at 12.5 8",
)  # fmt: skip
@remarks_option
@desk_options
@key_option
def defect(
    number: str, what: str, points: tuple[tuple[float, float], ...], remarks: str, journal: Path | None,
    who: str | None,
) -> None:  # fmt: skip
    """Mark a defect at a point or over a region of the outline.

    \b
    Examples:
      areakit job defect 2026-0001 "blister" --at 12.5 8
      areakit job defect 2026-0001 "burnt edge" --at 0 0 --at 6 0 --at 6 3
    """
    from areakit.service.job import add_defect

    made = add_defect(desk_of(journal, who), number, what, points_mm=list(points), remarks=remarks)
    click.echo(f"Job {number}, entry {made.number}.")


def _simple(kind: str, number: str, fields: dict[str, Any], journal: Path | None, who: str | None) -> None:
    from areakit.service.job_entries import KINDS

    click.echo(f"Job {number}, entry {KINDS[kind](**fields).write(desk_of(journal, who), number).number}.")


@click.command("rework", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("what")
@click.option("--because", type=int, metavar="N", help="Entry number of the test or defect that led to it.")
@remarks_option
@desk_options
@key_option
def rework(number: str, journal: Path | None, who: str | None, **fields: Any) -> None:
    """Record what was done again.

    \b
    Example:
      areakit job rework 2026-0001 "stripped and plated again" --because 14
    """
    _simple("reworked", number, fields, journal, who)


@click.command("remark", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("text")
@desk_options
@key_option
def remark(number: str, text: str, journal: Path | None, who: str | None) -> None:
    """Add words that fit nowhere else.

    \b
    Example:
      areakit job remark 2026-0001 "customer agrees to 0.4 um"
    """
    _simple("remarked", number, {"text": text}, journal, who)


@click.command("sign", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("statement")
@click.option("--role", default="", metavar="TEXT", help="Of whoever signs. Example: --role inspector")
@click.option(
    "--despite", default="", metavar="TEXT", help="Why to release it although points are open; papers show it."
)
@desk_options
@key_option
def sign(number: str, journal: Path | None, who: str | None, **fields: Any) -> None:
    """Answer for the record as it stands; later entries will show as made after it.

    It is refused while points are open: a step not recorded, a charge or a thickness not reached, a test failed or
    missing, a defect not reworked, a bottle out of date, an open stop. The refusal lists them all.

    \b
    Example:
      areakit job sign 2026-0001 "Released for delivery" --role inspector --who "Ana"
    """
    _simple("signed", number, fields, journal, who)


@click.command("correct", cls=Command, exits=JOURNAL)
@NUMBER
@click.argument("entry", type=int)
@click.option("--set", "fields", multiple=True, metavar="FIELD=VALUE", help='New value. Example: --set voltage="8 V"')
@click.option("--withdraw", is_flag=True, help="The entry no longer counts.")
@click.option("--reason", required=True, metavar="TEXT", help="Why; it is kept.")
@desk_options
@key_option
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
