"""The command ``areakit``: a command's module is loaded only when that command is asked for."""

from __future__ import annotations

import importlib
import os
import sys
from typing import NoReturn

import click

from areakit import __version__
from areakit.cli.command import ALWAYS, JOURNAL, PHOTO, STOPPED, write_exits
from areakit.cli.tame import Tame
from areakit.errors import AreakitError, InputError
from areakit.libraries import missing_library

# name: (module, one line for the help)
COMMANDS = {
    "bottle": ("areakit.cli.bottle", "Keep account of bottles of solution: charge and metal left, expiry, labels."),
    "check": ("areakit.cli.check", "Check somebody's figures against each other and name the slip."),
    "demo": ("areakit.cli.demo", "Do the main job on a photo that comes with areakit."),
    "doctor": ("areakit.cli.doctor", "Tell whether everything that areakit needs is there, and how to fix it."),
    "deposit": ("areakit.cli.deposit", "Tell what a charge or a weight gain put on a part."),
    "job": ("areakit.cli.job", "Keep the record of each job, from photo to adhesion test."),
    "lens-check": ("areakit.cli.lens_check", "Learn the lens of a camera from photos of one printed sheet."),
    "measure": ("areakit.cli.measure", "Measure the plated area of the parts in photos."),
    "plan": ("areakit.cli.plan", "Turn an area into charge, current, time and metal."),
    "sheet-check": ("areakit.cli.sheet_check", "Keep the check lengths of a sheet copy."),
    "repeat": (
        "areakit.cli.repeat",
        "Measure one part again and again: its spread against the stated uncertainty.",
    ),
    "quote": ("areakit.cli.quote", "Price a planned job."),
    "rates": ("areakit.cli.rates", "Write a commented settings file for your shop's rates."),
    "schema": ("areakit.cli.schema", "Print the JSON Schema of what a command prints with --json."),
    "serve": ("areakit.cli.serve", "Serve the bench page to a browser on this machine, or to a tablet."),
    "shop": ("areakit.cli.shop", "Say once what stays the same in your shop: metals, brushes, supply, stock."),
    "surface": ("areakit.cli.surface", "Find the surfaces of a part from a drawing or typed dimensions."),
    "sheet": ("areakit.cli.sheet", "Write a scale sheet to print, as PDF."),
    "solution": ("areakit.cli.solution", "Keep and check the plating solutions on your shelf."),
    "verify": ("areakit.cli.verify", "Measure a piece of known size, and tell whether the result agrees."),
}


COMPLETION = {
    "bash": 'eval "$(_AREAKIT_COMPLETE=bash_source areakit)"',
    "zsh": 'eval "$(_AREAKIT_COMPLETE=zsh_source areakit)"',
    "fish": "_AREAKIT_COMPLETE=fish_source areakit | source",
}
"""Shell to the line that turns on completion in it; at the end of its start-up file it holds for every terminal."""


class _LateGroup(click.Group):
    """A group whose commands are imported when named, so that --help stays fast."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command = importlib.import_module(COMMANDS[cmd_name][0]).command
        assert isinstance(command, click.Command)
        return command

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; Ctrl-C ends it with one line."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            click.echo("areakit: Stopped.", err=True)
            sys.exit(STOPPED)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        write_exits(formatter, {**ALWAYS, **PHOTO, **JOURNAL})
        with formatter.section("Completion of commands and options, for this terminal"):
            formatter.write_dl(list(COMPLETION.items()))

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name][1]) for name in self.list_commands(ctx)])


@click.group(cls=_LateGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, message="areakit %(version)s")
def group() -> None:
    """From a photo of a part to its plated area, and on to charge, time, metal and price.

    Every command has --help with an example. Plating uses hazardous solutions: follow the safety data sheets, local
    codes and licensed practice.

    \b
    Example:
      areakit measure badge.jpg --thickness "1.2 mm" --faces all --check-lengths "200.2 x 119.9 mm"
    """


def _refuse(error: AreakitError) -> NoReturn:
    click.echo(f"areakit: {error.in_shell}", err=True)
    sys.exit(error.exit_code)


def _unwritable(error: UnicodeEncodeError) -> InputError:
    letter = error.object[error.start : error.end][:3]
    if any("\ud800" <= sign <= "\udfff" for sign in letter):
        around = error.object[max(error.start - 20, 0) : error.end + 20]
        return InputError(f"A name holds bytes that are no letters: {around!a}.", remedy="Rename that file.")
    return InputError(
        f"The letter {letter!a} cannot be printed in {error.encoding}.",
        remedy="Set the environment variable PYTHONUTF8 to 1.",
    )


def main() -> NoReturn:
    """Run the command line; every error of areakit becomes one line and its exit code."""
    sys.stdout, sys.stderr = Tame(sys.stdout), Tame(sys.stderr)
    try:
        group(prog_name="areakit", standalone_mode=True)
    except AreakitError as error:
        _refuse(error)
    except UnicodeEncodeError as error:
        _refuse(_unwritable(error))
    except ImportError as error:
        _refuse(missing_library(error))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    sys.exit(0)
