"""Looking at jobs and moving them: list, show, history, report, export, import, backup, check, salvage."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from areakit.cli.command import JOURNAL, OUTPUT, Command
from areakit.cli.desk import desk_options, tell_none
from areakit.cli.entries import echo_json, font_option, paper_option

if TYPE_CHECKING:
    from areakit.service.desk import Desk

NUMBER = click.argument("number")


def add_to(group: click.Group) -> None:
    """Add these commands to the group of jobs."""
    for one in (report, show_job, list_all, history, export, take, back_up, check, save):
        group.add_command(one)


@click.command("report", cls=Command, exits=JOURNAL)
@NUMBER
@click.option(
    "--output",
    type=OUTPUT,
    required=True,
    metavar="PATH",
    help="PDF, or one file of HTML (.html).",
)
@paper_option
@click.option(
    "--footprint",
    metavar="AREA|W x L",
    help="Draw stroke lanes for this brush footprint, its area or its size across and along the lanes. Example: "
    '--footprint "20 x 10 mm"',
)
@click.option(
    "--wagner",
    type=float,
    metavar="WA",
    help="Draw the thickness over the part in a tank of this Wagner number (see areakit plan). Example: --wagner 0.1",
)
@font_option
@desk_options
def report(
    number: str,
    output: Path,
    paper: str,
    footprint: str | None,
    wagner: float | None,
    font: Path | None,
    desk: Desk,
) -> None:
    """Write the traveller of a job: tick boxes and blanks for what is still to do, the record for what is done.

    \b
    Example:
      areakit job report 2026-0001 --output traveller.pdf --footprint "20 x 10 mm"
    """
    from areakit.service.traveller import ReportRequest, write_report

    request = ReportRequest(output=output, paper=paper.lower(), lanes=footprint, wagner=wagner, font=font)
    click.echo(str(write_report(desk, number, request)))


@click.command("show", cls=Command, exits=JOURNAL)
@NUMBER
@click.option("--json", "as_json", is_flag=True, help="Print it as one JSON object.")
@desk_options
def show_job(number: str, as_json: bool, desk: Desk) -> None:
    """Show a job as it stands.

    \b
    Example:
      areakit job show 2026-0001
    """
    from areakit.service.job import show_job as read

    job = read(desk, number)
    if as_json:
        from areakit.records.job_json import job_json

        echo_json(job_json(job))
        return
    from areakit.cli.job_text import show_page

    show_page(job).show()


@click.command("list", cls=Command, exits=JOURNAL)
@click.argument("words", nargs=-1)
@click.option(
    "--state", type=click.Choice(["open", "signed", "changed after sign-off"]), help="Only jobs in this state."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a line.")
@click.option("--csv", "as_csv", is_flag=True, help="Print CSV.")
@desk_options
def list_all(words: tuple[str, ...], state: str | None, as_json: bool, as_csv: bool, desk: Desk) -> None:
    """List all jobs, or those that hold all WORDS, in any script and case.

    \b
    Example:
      areakit job list badge gold
    """
    from areakit.records.job_json import SUMMARY, summary_csv, summary_json
    from areakit.service.job import list_jobs

    found = [job for job in list_jobs(desk, " ".join(words)) if state in (None, job.state)]
    if not found and not as_csv:
        if words or state:
            click.echo("note: No job fits; areakit job list shows all.", err=True)
        else:
            tell_none("job", "areakit job new --help")
        return
    if as_json:
        for job in found:
            echo_json(summary_json(job))
    elif as_csv:
        click.echo(summary_csv(found), nl=False)
    else:
        from areakit.cli.page import Page

        page = Page()
        columns = ("number", "date", "customer", "quantity", "state", "part")
        rows = [[str(summary_json(job)[name]) for name in columns] for job in found]
        page.table(rows, header=columns)
        page.show()
        assert set(columns) <= set(SUMMARY)


@click.command("history", cls=Command, exits=JOURNAL)
@NUMBER
@desk_options
def history(number: str, desk: Desk) -> None:
    """Show who changed what and when, with the values before and after.

    \b
    Example:
      areakit job history 2026-0001
    """
    from areakit.cli.job_text import history_page
    from areakit.service.job import show_job as read

    history_page(read(desk, number)).show()


@click.command("export", cls=Command, exits=JOURNAL)
@click.argument("numbers", nargs=-1)
@click.option(
    "--format",
    "form",
    type=click.Choice(["jsonl", "csv"]),
    default="jsonl",
    show_default=True,
    help="JSON Lines hold everything, CSV the entries without files.",
)
@click.option(
    "--output",
    type=click.Path(dir_okay=False),
    default="-",
    show_default=True,
    metavar="PATH",
    help="File, or - to print.",
)
@desk_options
def export(numbers: tuple[str, ...], form: str, output: str, desk: Desk) -> None:
    """Write jobs NUMBERS, or the whole journal with bottles and checks. JSON Lines hold the photos too.

    \b
    Example:
      areakit job export --output all.jsonl
    """
    from areakit.service.store import export as write

    write(desk, numbers, form=form, output=None if output == "-" else Path(output))


@click.command("import", cls=Command, exits=JOURNAL)
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--gaps", is_flag=True, help="Take also records with missing entries, as saved from a damaged journal.")
@desk_options
def take(file: Path, gaps: bool, desk: Desk) -> None:
    """Add what an export holds and this journal does not: all of it, or nothing.

    \b
    Example:
      areakit job import all.jsonl --journal new.sqlite
    """
    from areakit.service.store import take_in

    done = take_in(desk, file, gaps=gaps)
    click.echo(f"{done.added} entries and {done.files} files added, {done.known} entries were there.")


@click.command("backup", cls=Command, exits=JOURNAL)
@click.argument("target", type=click.Path(dir_okay=False, path_type=Path))
@desk_options
def back_up(target: Path, desk: Desk) -> None:
    """Copy the whole journal to TARGET, also while others write.

    \b
    Example:
      areakit job backup /media/stick/journal-2026-03.sqlite
    """
    from areakit.service.store import back_up as copy

    click.echo(f"{copy(desk, target)} entries are in {target}.")


@click.command("check", cls=Command, exits=JOURNAL)
@click.option("--as-it-is", is_flag=True, help="Take the record as it is, though an older copy was put in its place.")
@partial(desk_options, tells=False)
def check(as_it_is: bool, desk: Desk) -> None:
    """Check every page, reference, digest and stored file, and that this is no older copy.

    \b
    Example:
      areakit job check
    """
    from areakit.service.store import check as look

    if as_it_is:
        desk.accept()
    click.echo(f"The journal is whole: {look(desk)} entries.")


@click.command("salvage", cls=Command, exits=JOURNAL)
@click.argument("target", type=click.Path(dir_okay=False, path_type=Path))
@desk_options
def save(target: Path, desk: Desk) -> None:
    """Write everything that is still whole in a damaged journal to TARGET, as JSON Lines.

    \b
    Examples:
      areakit job salvage saved.jsonl
      areakit job import saved.jsonl --gaps --journal new.sqlite
    """
    from areakit.service.store import salvage

    saved = salvage(desk, target)
    click.echo(f"{len(saved.events)} entries and {len(saved.files)} files are in {target}.")
    if saved.pages_lost:
        told = f"The journal is cut short: of {saved.pages} pages the last {saved.pages_lost} are missing."
        click.echo(told, err=True)
    if saved.lost_events or saved.lost_files:
        lost = f"At least {saved.lost_events} entries and {saved.lost_files} files are lost."
        click.echo(f"{lost} Look for them in a backup: areakit job import --gaps adds what is missing.", err=True)
