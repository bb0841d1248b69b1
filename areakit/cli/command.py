"""What every command's help has in common: what it does, an example, its options, and at the end its exit codes."""

from __future__ import annotations

from collections.abc import Mapping
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


class Command(click.Command):
    """A command that names its exit codes.

    Parameters
    ----------
    exits : mapping of int to str
        What it adds to, or says otherwise than, :data:`ALWAYS`.
    """

    def __init__(self, *args: Any, exits: Mapping[int, str] | None = None, **attributes: Any) -> None:
        super().__init__(*args, **attributes)
        self.exits = {**ALWAYS, **(exits or {})}

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the exit codes below the options."""
        write_exits(formatter, self.exits)


class Group(click.Group):
    """A group that lists its commands in the order of the work, each of them a :class:`Command`.

    Parameters
    ----------
    exits : mapping of int to str
        Exit codes of its commands beyond :data:`ALWAYS`.
    """

    command_class = Command

    def __init__(self, *args: Any, exits: Mapping[int, str] | None = None, **attributes: Any) -> None:
        super().__init__(*args, **attributes)
        self.exits = {**ALWAYS, **(exits or {})}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order in which they were added."""
        return list(self.commands)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write each command with the whole of its first sentence."""
        rows = [(name, one.get_short_help_str(limit=200)) for name, one in self.commands.items()]
        with formatter.section("Commands"):
            formatter.write_dl(rows)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the exit codes below the commands."""
        write_exits(formatter, self.exits)


def write_exits(formatter: click.HelpFormatter, exits: Mapping[int, str]) -> None:
    """Write a section with each exit code and its meaning."""
    with formatter.section("Exit codes"):
        formatter.write_dl([(str(code), words) for code, words in sorted(exits.items())])
