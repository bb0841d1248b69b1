"""``areakit doctor``: what this machine has of what areakit needs."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from areakit.cli.command import Command
from areakit.cli.desk import default_journal
from areakit.cli.entries import echo_json


@click.command("doctor", cls=Command, exits={0: "measuring works", 5: "something that measuring needs is missing"})
@click.option(
    "--journal",
    metavar="PATH",
    type=click.Path(path_type=Path),
    envvar="AREAKIT_JOURNAL",
    help="The journal's file. [env: AREAKIT_JOURNAL; default: in the user's data folder]",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(journal: Path | None, as_json: bool) -> None:
    """Tell whether everything that areakit needs is on this machine, and the line that mends what is not.

    Each thing is tried, not only looked for. Nothing is written, and nothing is asked of other machines.

    \b
    Example:
      areakit doctor
    """
    from areakit.service.doctor import examine

    found = examine(journal or default_journal(), encoding=sys.stdout.encoding)
    lacking = [one for one in found if not one.good]
    whole = not any(one.needed for one in lacking)
    if as_json:
        rows = [
            {"name": one.name, "found": one.found, "good": one.good, "needed": one.needed, "remedy": one.remedy}
            for one in found
        ]
        echo_json({"measures": whole, "findings": rows})
    else:
        width = max(len(one.name) for one in found)
        for one in found:
            state = "ok" if one.good else ("MISSING" if one.needed else "lacking")
            _say(f"{state:8}{one.name:{width}}  {one.found}")
            if one.remedy:
                _say(f"{'':8}{'':{width}}  -> {one.remedy}")
        click.echo(_verdict(whole, len(lacking)))
    sys.exit(0 if whole else 5)


def _say(line: str) -> None:
    """Print a line also where letters are lacking: that is one of the things to be told."""
    encoding = sys.stdout.encoding or "utf-8"
    click.echo(line.encode(encoding, "replace").decode(encoding))


def _verdict(whole: bool, lacking: int) -> str:
    if not whole:
        return "Measuring does not work yet: see MISSING above."
    rest = "." if not lacking else f"; not needed for measuring, and lacking: {lacking}."
    return f"Everything that measuring needs is here{rest} Next: areakit demo."
