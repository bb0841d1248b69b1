"""Where the journal lies, who writes, and the time: the options that every command about records shares."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from areakit.errors import in_shell

if TYPE_CHECKING:
    from areakit.imaging.lens import Lens
    from areakit.records.sheets import CopyCheck
    from areakit.service.desk import Desk
    from areakit.service.job import Written
    from areakit.service.job_entries import EntryRequest

Command = TypeVar("Command", bound=Callable[..., Any])


def default_journal() -> Path:
    """Return where the journal is kept when nobody says otherwise."""
    from platformdirs import user_data_path

    return user_data_path("areakit") / "journal.sqlite"


def journal_of_environment() -> Path | None:
    """Return the journal that the environment names, for commands that only look something up in it."""
    import os

    named = os.environ.get("AREAKIT_JOURNAL")
    return Path(named) if named else None


def journal_options(command: Command) -> Command:
    """Add --journal and --who; the command gets them as ``journal`` and ``who``."""
    command = click.option(
        "--who",
        metavar="NAME",
        envvar="AREAKIT_WHO",
        help="Name that stands with the entry. [env: AREAKIT_WHO; default: login name]",
    )(command)
    return click.option(
        "--journal",
        metavar="PATH",
        type=click.Path(dir_okay=False, path_type=Path),
        envvar="AREAKIT_JOURNAL",
        help="The journal's file. [env: AREAKIT_JOURNAL; default: in the user's data folder]",
    )(command)


def desk_options(command: Command, *, tells: bool = True) -> Command:
    """Add --journal and --who; the command gets the ``desk`` that they name."""

    @wraps(command)
    def at_desk(*args: Any, journal: Path | None, who: str | None, **named: Any) -> Any:
        return command(*args, desk=desk_of(journal, who, tells=tells), **named)

    return journal_options(at_desk)  # type: ignore[return-value]


def keeping_options(command: Command) -> Command:
    """Add --journal, --who and --key: given twice with one key it is one entry; the second tells what was kept."""

    @wraps(command)
    def once(*args: Any, journal: Path | None, who: str | None, key: str | None, **named: Any) -> Any:
        desk = desk_of(journal, who, key=key)
        kept = desk.kept_before()
        if kept is None:
            return command(*args, desk=desk, **named)
        opened = kept.kind in _OPENINGS
        click.echo(kept.key if opened else f"{kept.subject.capitalize()} {kept.key}, entry {kept.sequence}.")
        click.echo(f"Kept already with this key: {kept.kind}, {kept.who}, {kept.at}; nothing was added.", err=True)

    keyed = click.option(
        "--key", metavar="TEXT", help="Of this one press: given again with the same key, nothing is added twice."
    )(once)
    return journal_options(keyed)  # type: ignore[return-value]


_TOLD = "areakit.cli.desk.told"
_OPENINGS = ("opened",)
"""Kinds of entries whose command prints the number of what it opened."""


def desk_of(journal: Path | None, who: str | None, *, tells: bool = True, key: str | None = None) -> Desk:
    """Return the desk: the one place where records meet the clock and the environment.

    What there is to say of the record, as that it is an older copy, is told once a command unless ``tells`` is off.
    """
    import getpass
    from datetime import datetime

    from platformdirs import user_state_path

    from areakit.service.desk import Desk
    from areakit.service.newest import Marks

    if who is None:
        try:
            who = getpass.getuser()
        except (KeyError, OSError, ImportError):
            who = "unknown"
    desk = Desk(
        path=journal or default_journal(),
        who=who,
        now=datetime.now().astimezone(),
        key=key,
        marks=Marks(user_state_path("areakit") / "records-seen.json"),
    )
    context = click.get_current_context(silent=True)
    if tells and context is not None and context.meta.setdefault(_TOLD, desk) is desk:
        for words in desk.notes():
            click.echo(f"note: {words}", err=True)
        if not desk.path.exists():
            context.call_on_close(lambda: _tell_new(desk.path))
    return desk


def _tell_new(path: Path) -> None:
    """Say after a command that it began a journal: a mistyped name must not pass for the shop's record."""
    if path.exists():
        click.echo(f"note: A new journal was begun: {path}.", err=True)


def tell(findings: Any) -> None:
    """Print findings, one line each, on the error stream: output stays clean for a pipe."""
    for finding in findings:
        click.echo(f"{finding.severity}: {finding.message} {in_shell(finding.remedy, finding.fields)}", err=True)


def write_entry(entry: EntryRequest, desk: Desk, number: str) -> Written:
    """Add an entry to the job of a number, and print what it is now known by."""
    made = entry.write(desk, number)
    click.echo(f"Job {number}, entry {made.number}.")
    return made


def tell_outcome(made: Written) -> None:
    """Print what a weighing or a reading says against what its charge let expect."""
    from areakit.records.outcome import told_of

    for words in told_of(made.job, made.number):
        click.echo(words)


def tell_flags(flags: Any) -> None:
    """Print notes, one line each, on the error stream."""
    for flag in flags:
        click.echo(f"note: {flag.message} {in_shell(flag.remedy, flag.fields)}", err=True)


def tell_none(what: str, command: str) -> None:
    """Say that a list is empty, and what makes its first entry; the output itself stays empty for a pipe."""
    click.echo(f"note: There is no {what} yet. The first one: {command}.", err=True)


def tell_missing_journal(asked: str | None) -> None:
    """Say that the journal that the environment names is not there, where own factors would be looked for in it."""
    path = journal_of_environment()
    if path is not None and asked == str(path) and not path.is_file():
        words = "so no own factor was looked for. Check the name in AREAKIT_JOURNAL; the first job or bottle makes it."
        click.echo(f"note: There is no journal {path}, {words}", err=True)


def known_copy(name: str) -> CopyCheck:
    """Return the last check of a sheet copy from the journal; tell if it is old."""
    from areakit.service.trust import copy_check

    check, flags = copy_check(desk_of(journal_of_environment(), None), name)
    tell_flags(flags)
    return check


def known_lenses() -> tuple[Lens, ...]:
    """Return the stored lenses of the journal; a journal that cannot be read is told of, and stops no measurement."""
    from areakit.errors import RecordError
    from areakit.service.lens import stored_lenses

    try:
        return stored_lenses(desk_of(journal_of_environment(), None))
    except RecordError as error:
        click.echo(f"note: no stored lens can be used. {error.in_shell}", err=True)
        return ()
