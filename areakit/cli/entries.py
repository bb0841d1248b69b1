"""Options that several commands share: values by metal, files, the user's solutions."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click
from click.core import ParameterSource

from areakit.cli.command import OUTPUT, solutions_path
from areakit.errors import FileError, InputError
from areakit.output import write_whole

_BY_NAME = re.compile(r"\s*([a-z][a-z-]*)\s*=\s*(.+)", re.DOTALL)
LARGEST_INPUT = 20_000_000


def by_name(
    ctx: click.Context, param: click.Parameter, values: tuple[str, ...], *, for_all: bool = False
) -> dict[str, str]:
    """Turn ``gold=0.5 um`` into a mapping; with ``for_all`` a value without a name holds for all.

    InputError for anything else or a name given twice.
    """
    found: dict[str, str] = {}
    option = param.opts[0]
    for value in values:
        match = _BY_NAME.fullmatch(value)
        if match is None and not for_all:
            raise InputError(f"{option} {value!r} names no metal.", remedy=f'Write {option} gold="...".')
        name, text = (match.group(1), match.group(2)) if match else ("", value)
        if name in found:
            raise InputError(f"{option} was given twice for {name or 'all'}.", remedy="Give it once.")
        found[name] = text.strip()
    return found


def read_text(path: str | None) -> str | None:
    """Return the text of a file, or of standard input for ``-``; None for None."""
    if path is None:
        return None
    if path == "-":
        return sys.stdin.read(LARGEST_INPUT)
    from areakit.service.text_file import text_of

    return text_of(path)


def solutions_text(path: str | None) -> str | None:
    """Return the text of the named solutions file, else of the user's own, else None."""
    if path is not None:
        return read_text(path)
    own = solutions_path()
    return read_text(str(own)) if own.is_file() else None


def echo_json(body: dict[str, Any]) -> None:
    """Print one JSON object on one line."""
    import json

    click.echo(json.dumps(body, ensure_ascii=False))


remarks_option = click.option("--remarks", default="", metavar="TEXT", help="Anything else.")
font_option = click.option(
    "--font",
    metavar="PATH",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="TrueType font of the page, for letters that its own lacks; […] stands for what is left out.",
)
"""Of every command that writes a PDF with names in it."""

paper_option = click.option(
    "--paper", type=click.Choice(["a4", "letter"], case_sensitive=False), default="a4", show_default=True,
    help="Size of the sheet.",
)  # fmt: skip
"""Of every paper that is made of a job."""
save_option = click.option(
    "--save",
    metavar="FILE",
    type=OUTPUT,
    help="Also write what --json prints to this file.",
)


def save_json(path: Path | None, bodies: Iterable[dict[str, Any]]) -> None:
    """Write JSON objects to a file, one a line; nothing for None."""
    import json

    if path is not None:
        write_new(path, "".join(f"{json.dumps(body, ensure_ascii=False)}\n" for body in bodies).encode())


def write_new(path: Path, data: bytes, *, force: bool = True) -> None:
    """Write a file; FileError if it cannot be written, or is there already and ``force`` is off."""
    if not force and path.exists():
        raise FileError(f"{path} is there already.", remedy="Name another file, or say --force.")
    write_whole(path, data, replace=force)


def refuse_typed(*names: str, why: str, remedy: str = "Leave it out.") -> None:
    """Refuse the first of these options that was typed, since it would change nothing; ``why`` goes on from its name.

    Defaults, the environment and a shop profile are not typed. Outside a command nothing was, so nothing is refused.
    """
    context = click.get_current_context(silent=True)
    if context is None:
        return
    for param in context.command.params:
        if param.name in names and context.get_parameter_source(param.name) is ParameterSource.COMMANDLINE:
            raise InputError(f"{param.opts[0]} {why}.", remedy=remedy)


def only_one_stdin(*paths: str | None) -> None:
    """Refuse more than one file read from standard input."""
    if paths.count("-") > 1:
        raise InputError("Two files are to be read from standard input.", remedy="Give one of them as a file.")
