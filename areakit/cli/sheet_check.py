"""``areakit sheet-check``: keep what the check lengths of a sheet copyed sheet measured."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import JOURNAL, Command
from areakit.cli.desk import keeping_options, tell_flags
from areakit.cli.options import options_of, said
from areakit.service.record_requests import NewCopyCheck

if TYPE_CHECKING:
    from areakit.service.desk import Desk


@click.command("sheet-check", cls=Command, exits=JOURNAL)
@click.argument("name", required=False)
@options_of(NewCopyCheck, needed=False)
@keeping_options
def command(name: str | None, desk: Desk, **fields: Any) -> None:
    """Keep the check lengths of the sheet copy NAME, or show what is kept. Write the name on the sheet copy.

    \b
    Example:
      areakit sheet-check bench-1 --sheet A5-r1 --lengths "150.2 x 89.9 mm" --with "steel ruler"
      areakit measure badge.jpg --sheet-copy bench-1
    """
    from areakit.service.trust import copy_check, list_copies, record_copy

    if name is None:
        for one in list_copies(desk):
            click.echo(f"{one.name}: {one.sheet}, {one.lengths_text}, read {one.date} by {one.who}")
        return
    if fields["lengths"] is None:
        found, flags = copy_check(desk, name)
        tell_flags(flags)
    elif fields["sheet"] is None:
        raise click.UsageError("Give the code printed on the sheet with --sheet.")
    else:
        found = record_copy(desk, NewCopyCheck(name=name, **said(fields)))
    click.echo(f"{found.name}: {found.sheet}, {found.lengths_text}, read {found.date} by {found.who}.")
    click.echo(f"Use it with: areakit measure PHOTO --sheet-copy {found.name}")
