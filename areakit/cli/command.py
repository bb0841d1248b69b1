"""What every command's help has in common: what it does, an example, its options, and at the end its exit codes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import click

STOPPED = 130
"""128 and the number of the signal, as shells have it."""
ALWAYS = {
    0: "done",
    2: "wrong usage or unreadable input",
    5: "a library is missing; areakit doctor says which",
    STOPPED: "stopped with Ctrl-C",
}
PHOTO = {3: "a photo or drawing gives no trustworthy number; the message says what to do"}
JOURNAL = {4: "the journal is damaged or cannot be written, or somebody else wrote first"}


class _Output(click.Path):
    """A file that a command writes; it is refused where the same command reads it."""


_STORE = ("", "-wal", "-shm")
"""Endings of the files of one journal."""
OUTPUT = _Output(path_type=Path, dir_okay=False)
OUTPUT_OR_FOLDER = _Output(path_type=Path)


class _NamesExits(click.Command):
    """A command that names its exit codes below the rest of its help.

    Parameters
    ----------
    exits : mapping of int to str
        What it, or what a group of commands, adds to, or says otherwise than, :data:`ALWAYS`.
    """

    def __init__(self, *args: Any, exits: Mapping[int, str] | None = None, **attributes: Any) -> None:
        super().__init__(*args, **attributes)
        self.exits = {**ALWAYS, **(exits or {})}

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the exit codes."""
        write_exits(formatter, self.exits)


class Command(_NamesExits):
    """A command that takes no empty value and writes over nothing that it reads."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read what was typed; what is empty is no value: it is what an unset variable of a script leaves."""
        for before, text in zip(["", *args], args, strict=False):
            named, has, value = text.partition("=") if text.startswith("--") else (before, "=", text)
            if has and not value:
                what = f"The value of {named}" if named.startswith("--") and named != "--" else "A value"
                raise click.UsageError(f"{what} is empty. Give one, or leave it out.", ctx)
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, unless it would write over what it reads."""
        outputs = {one.name for one in self.params if one.name and isinstance(one.type, _Output)}
        written = [Path(ctx.params[name]) for name in outputs if ctx.params.get(name) is not None]
        if written:
            from areakit.output import keep_apart

            keep_apart(written, _read_by(ctx, outputs, written))
        return super().invoke(ctx)


class Group(_NamesExits, click.Group):
    """A group that lists its commands in the order of the work, each of them a :class:`Command`."""

    command_class = Command

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order in which they were added."""
        return list(self.commands)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write each command with the whole of its first sentence."""
        rows = [(name, one.get_short_help_str(limit=200)) for name, one in self.commands.items()]
        with formatter.section("Commands"):
            formatter.write_dl(rows)


def _read_by(ctx: click.Context, outputs: set[str], written: list[Path]) -> Iterator[Path]:
    """Yield what a command may read: every file named to it, photos of folders named to it, and the user's stores."""
    from areakit.cli.desk import default_journal, journal_of_environment

    for journal in (default_journal(), journal_of_environment(), ctx.params.get("journal")):
        if journal:
            yield from (Path(f"{journal}{end}") for end in _STORE)
    yield solutions_path()
    if "shop" in ctx.params:
        from areakit.service.shop import shop_files  # brings shapely

        yield from shop_files(ctx.params["shop"])
    for text in _texts(value for name, value in ctx.params.items() if name not in outputs):
        try:
            path = Path(text)
            if path.is_dir():
                yield from (one for one in written if one.parent.resolve() == path.resolve() and _is_photo(one))
            elif path.is_file():
                yield path
        except (OSError, ValueError):  # most texts are no names of files
            continue


def _is_photo(path: Path) -> bool:
    from areakit.service.measure import PHOTO_SUFFIXES

    return path.is_file() and path.suffix.lower() in PHOTO_SUFFIXES


def _texts(values: Iterable[Any]) -> Iterator[str | Path]:
    for value in values:
        if isinstance(value, str | Path):
            yield value
        elif isinstance(value, tuple | list):
            yield from _texts(value)
        elif isinstance(value, Mapping):
            yield from _texts(value.values())


def write_exits(formatter: click.HelpFormatter, exits: Mapping[int, str]) -> None:
    """Write a section with each exit code and its meaning."""
    with formatter.section("Exit codes"):
        formatter.write_dl([(str(code), words) for code, words in sorted(exits.items())])


def solutions_path() -> Path:
    """Return where the user's own solutions are kept when no file is named."""
    from platformdirs import user_config_path

    return user_config_path("areakit") / "solutions.toml"
