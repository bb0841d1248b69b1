"""``areakit sheet-check``: keep what the check lengths of a sheet copyed sheet measured."""

from __future__ import annotations

from pathlib import Path

import click

from areakit.cli.command import JOURNAL, Command
from areakit.cli.desk import desk_of, desk_options, key_option, tell_flags
from areakit.cli.entries import remarks_option


@click.command("sheet-check", cls=Command, exits=JOURNAL)
@click.argument("name", required=False)
@click.option("--sheet", metavar="CODE", help="Printed on the sheet. Example: --sheet A5-r1")
@click.option(
    "--lengths",
    metavar="X x Y",
    help='Both check lengths as read, along x and along y. Example: --lengths "150.2 x 89.9 mm"',
)
@click.option(
    "--uncertainty", metavar="U", help='Expanded, of one reading; default 0.2 mm. Example: --uncertainty "0.1 mm"'
)
@click.option("--date", metavar="DATE", help="Day of the reading; default: today. Example: --date 2026-03-14")
@click.option(
    "--with", "with_what", default="", metavar="TEXT", help='The ruler or calliper. Example: --with "steel ruler"'
)
@remarks_option
@desk_options
@key_option
def command(
    name: str | None, sheet: str | None, lengths: str | None, uncertainty: str | None, date: str | None,
    with_what: str, remarks: str, journal: Path | None, who: str | None,
) -> None:  # fmt: skip
    """Keep the check lengths of the sheet copy NAME, or show what is kept. Write the name on the sheet copy.

    \b
    Example:
      areakit sheet-check bench-1 --sheet A5-r1 --lengths "150.2 x 89.9 mm" --with "steel ruler"
      areakit measure badge.jpg --sheet-copy bench-1
    """
    from areakit.service.trust import copy_check, list_copies, record_copy

    desk = desk_of(journal, who)
    if name is None:
        for one in list_copies(desk):
            click.echo(f"{one.name}: {one.sheet}, {one.lengths_text}, read {one.date} by {one.who}")
        return
    if lengths is None:
        found, flags = copy_check(desk, name)
        tell_flags(flags)
    elif sheet is None:
        raise click.UsageError("Give the code printed on the sheet with --sheet.")
    else:
        found = record_copy(
            desk, name, sheet=sheet, lengths=lengths, uncertainty=uncertainty, date=date, with_what=with_what,
            remarks=remarks,
        )  # fmt: skip
    click.echo(f"{found.name}: {found.sheet}, {found.lengths_text}, read {found.date} by {found.who}.")
    click.echo(f"Use it with: areakit measure PHOTO --sheet-copy {found.name}")
