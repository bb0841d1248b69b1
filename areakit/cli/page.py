"""Headings, tables and lists for people: by rich on a terminal, in plain aligned text everywhere else."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field

import click

WIDTH = 110
_LEAST_LAST = 36


@dataclass(slots=True)
class Page:
    """Blocks in the order in which they are shown; rows are texts, the last column wraps."""

    blocks: list[tuple[str, list[list[str]]]] = field(default_factory=list)

    def heading(self, text: str) -> None:
        """Add a heading."""
        self.blocks.append(("heading", [[text]]))

    def table(self, rows: Sequence[Sequence[str]], *, header: Sequence[str] = ()) -> None:
        """Add a table; every row has as many texts as the header."""
        body = [list(row) for row in rows]
        if body:
            self.blocks.append(("table", [list(header), *body]))

    def lines(self, texts: Sequence[str], *, mark: str = "- ") -> None:
        """Add a list, each text behind the mark."""
        if texts:
            self.blocks.append((f"list{mark}", [[text] for text in texts]))

    def show(self) -> None:
        """Print all blocks."""
        if sys.stdout.isatty():
            _show_rich(self.blocks)
        else:
            click.echo(plain(self.blocks))


def plain(blocks: Sequence[tuple[str, list[list[str]]]], width: int = WIDTH) -> str:
    """Return the blocks as plain text of a width."""
    parts = []
    for kind, rows in blocks:
        if kind == "heading":
            parts.append(f"\n{rows[0][0]}\n{'=' * min(len(rows[0][0]), width)}")
        elif kind == "table":
            parts.append(_plain_table(rows, width))
        else:
            parts += [_hanging(row[0], kind.removeprefix("list"), width) for row in rows]
    return "\n".join(parts).lstrip("\n")


def _hanging(text: str, mark: str, width: int) -> str:
    lines = text.split("\n")
    indent = " " * len(mark)
    wrapped = [textwrap.fill(lines[0], width, initial_indent=mark, subsequent_indent=indent)]
    wrapped += [
        textwrap.fill(line, width, initial_indent=indent, subsequent_indent=indent + "  ") for line in lines[1:]
    ]
    return "\n".join(wrapped)


def _plain_table(rows: list[list[str]], width: int) -> str:
    shown = [row for row in rows if row]
    columns = len(shown[0])
    widths = [max(len(row[i]) for row in shown) for i in range(columns - 1)]
    room = max(_LEAST_LAST, width - sum(widths) - 2 * len(widths))
    text = []
    for row in shown:
        last = textwrap.wrap(row[-1], room) or [""]
        lead = "".join(cell.ljust(size) + "  " for cell, size in zip(row, widths, strict=False))
        text.append((lead + last[0]).rstrip())
        text += [(" " * len(lead) + more).rstrip() for more in last[1:]]
    return "\n".join(text)


def _show_rich(blocks: Sequence[tuple[str, list[list[str]]]]) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    console = Console(highlight=False)
    for kind, rows in blocks:
        if kind == "heading":
            console.print(Text(f"\n{rows[0][0]}", style="bold"))
        elif kind == "table":
            table = Table(box=SIMPLE_HEAD, show_header=bool(rows[0]), pad_edge=False)
            for index in range(len(rows[-1])):
                table.add_column(Text(rows[0][index]) if rows[0] else "", overflow="fold", no_wrap=index == 1)
            for row in rows[1:]:
                table.add_row(*(Text(cell) for cell in row))
            console.print(table)
        else:
            width = min(console.width, WIDTH)
            for row in rows:
                console.print(Text(_hanging(row[0], kind.removeprefix("list"), width)))
