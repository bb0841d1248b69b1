"""``areakit repeat``: one part measured several times, and the spread against the stated uncertainty."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from areakit.cli.command import JOURNAL, PHOTO, Command
from areakit.cli.desk import desk_options
from areakit.cli.entries import echo_json, read_text
from areakit.cli.photo import sheet_options
from areakit.plural import counted

if TYPE_CHECKING:
    from areakit.service.desk import Desk


@click.command("repeat", cls=Command, exits={**PHOTO, **JOURNAL})
@click.argument("photos", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--name", default="part", show_default=True, metavar="NAME", help="What the part is called in the journal."
)
@click.option(
    "--shots",
    type=click.IntRange(1),
    default=1,
    show_default=True,
    metavar="N",
    help="Photos of each placement, in order.",
)
@click.option("--thickness", metavar="T", help='Of the part. Example: --thickness "1.2 ± 0.05 mm"')
@click.option(
    "--from", "lines", metavar="FILE", help="What areakit measure --json printed, in place of photos; - is stdin."
)
@sheet_options()
@click.option("--trend", is_flag=True, help="Show all results that are kept.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@desk_options
def command(
    photos: tuple[Path, ...], name: str, shots: int, thickness: str | None, lines: str | None,
    check_lengths: str | None, copy_name: str | None, trend: bool, as_json: bool, desk: Desk,
) -> None:  # fmt: skip
    """Measure one part in several PHOTOS: shot again without touching anything, then lifted and placed again.

    \b
    Example: two placements of three photos each
      areakit repeat a1.jpg a2.jpg a3.jpg b1.jpg b2.jpg b3.jpg --shots 3 --thickness "1.2 mm" --name badge
    """
    from areakit.service.trust import Source, repeat, study_json
    from areakit.service.trust import trend as kept

    if trend:
        for event in kept(desk, "repeated"):
            doc = event.doc
            share = 100 * doc["reproducibility"] / doc["mean"]
            holds = "stated uncertainty holds" if doc["stated_holds"] else "MORE than stated"
            click.echo(f"{event.at[:16]}  {event.key.removeprefix('repeat ')}  spread {share:.2f} %  {holds}")
        return
    source = Source(
        photos=photos, lines=read_text(lines), thickness=thickness, check_lengths=check_lengths, copy_name=copy_name
    )
    found = repeat(desk, name, source, shots=shots)
    if as_json:
        echo_json(study_json(found))
        return
    click.echo(
        f"{name}: {found.shots} photos in {counted(found.placements, 'placement')}, "
        f"mean face {found.mean / 100:.4g} cm²."
    )
    for label, value in (
        ("repeatability (shot again)", found.repeatability),
        ("between placements", found.between),
        ("reproducibility (placed again)", found.reproducibility),
        ("stated standard uncertainty", found.stated),
    ):
        click.echo(f"  {label:<32}{value / 100:.4g} cm²  {100 * value / found.mean:.2f} %")
    words = "no larger than stated" if found.stated_holds else "LARGER than the stated uncertainty lets expect"
    click.echo(
        f"The spread is {words} (95 % limit for so few photos). Errors that all photos share, such as those of the "
        "sheet copy, "
        "do not show here: areakit verify finds those."
    )
