"""``areakit sheet``: write a scale sheet to print."""

from __future__ import annotations

from pathlib import Path

import click

from areakit.cli.command import OUTPUT_OR_FOLDER, Command


@click.command(cls=Command)
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter", "a5", "small"], case_sensitive=False),
    default="a4",
    show_default=True,
    help="Sheet size. a4 and letter suit parts of 20 to 150 cm2, a5 of 5 to 60 cm2; small, of 1 to 15 cm2, is four "
    "sheets to cut out of an A4 page.",
)
@click.option(
    "--field",
    type=click.Choice(["blue", "white"], case_sensitive=False),
    default="blue",
    show_default=True,
    help="Ground on which the part lies. Blue suits every metal; white suits copper, dark parts and printers without "
    "colour.",
)
@click.option(
    "--output",
    metavar="PATH",
    type=OUTPUT_OR_FOLDER,
    help="Where to write: a file, or a folder that exists. Default: a file named after the sheet, in this folder.",
)
@click.option("--all", "every", is_flag=True, help="Write every sheet in both colours; --output then names a folder.")
def command(paper: str, field: str, output: Path | None, every: bool) -> None:
    """Write a scale sheet to print, as PDF.

    Print it at actual size on matte paper, fix it to a flat board, lay the part in the field, and take the photo.

    \b
    Example:
      areakit sheet --paper a5 --field white --output bench.pdf
    """
    from areakit.imaging.marks.frame_layout import layouts
    from areakit.reports.sheet import write_sheet

    chosen = [sheet for sheet in layouts().values() if every or sheet.paper == paper]
    for layout in chosen:
        for ground in ("blue", "white"):
            if every or ground == field:
                target = _target(output, f"areakit-sheet-{layout.code}-{ground}.pdf", folder=every)
                write_sheet(layout, target, field=ground)
                click.echo(str(target))
    lengths = {sheet.check_lengths_mm for sheet in chosen}
    click.echo(_what_next(lengths.pop() if len(lengths) == 1 else None))


def _target(output: Path | None, name: str, *, folder: bool) -> Path:
    """Return the file to write: in the folder named, in the current one, or the file named."""
    if output is None:
        return Path(name)
    return output / name if folder or output.is_dir() else output


def _what_next(lengths_mm: tuple[float, float] | None) -> str:
    nominal = "" if lengths_mm is None else " (nominally {:g} mm along, {:g} mm across)".format(*lengths_mm)
    return (
        "Next: print at 100 %, without fit to page. "
        f"Measure both check lengths with a ruler{nominal} and pass what you read with --check-lengths."
    )
