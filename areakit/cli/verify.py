"""``areakit verify``: a piece of known size, measured and held against what it is."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from areakit.cli.command import JOURNAL, Command
from areakit.cli.desk import desk_of, journal_options, tell_none
from areakit.cli.entries import echo_json, read_text
from areakit.cli.photo import sheet_options

if TYPE_CHECKING:
    from areakit.records.check_pieces import CheckPiece
    from areakit.service.trust import Verified


@click.command(
    "verify", cls=Command, exits={3: "a measurement does not agree, or a photo gives no trustworthy number", **JOURNAL}
)
@click.argument("photos", nargs=-1, type=click.Path(path_type=Path))
@click.option("--piece", metavar="KEY", help="A known piece, such as usd-quarter, eur-1 or id-1; --pieces lists them.")
@click.option("--pieces", is_flag=True, help="List the known pieces.")
@click.option("--shape", type=click.Choice(["disk", "ring", "rectangle"]), help="A piece of your own.")
@click.option("--name", default="own piece", show_default=True, metavar="NAME", help="What your own piece is called.")
@click.option("--diameter", metavar="LENGTH", help='Of a disk or ring. Example: --diameter "20.00 ± 0.01 mm"')
@click.option("--hole", metavar="LENGTH", help='Diameter of the hole of a ring. Example: --hole "8.40 ± 0.01 mm"')
@click.option("--width", metavar="LENGTH", help='Of a rectangle. Example: --width "40.00 ± 0.02 mm"')
@click.option("--height", metavar="LENGTH", help='Of a rectangle. Example: --height "30.00 ± 0.02 mm"')
@click.option("--thickness", metavar="T", help='Of the piece; default: as known. Example: --thickness "3 mm"')
@click.option(
    "--from", "lines", metavar="FILE", help="What areakit measure --json printed, in place of photos; - is stdin."
)
@sheet_options()
@click.option("--trend", is_flag=True, help="Show all results that are kept.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a measurement.")
@journal_options
def command(
    photos: tuple[Path, ...], piece: str | None, pieces: bool, shape: str | None, name: str, diameter: str | None,
    hole: str | None, width: str | None, height: str | None, thickness: str | None, lines: str | None,
    check_lengths: str | None, copy_name: str | None, trend: bool, as_json: bool, journal: Path | None,
    who: str | None,
) -> None:  # fmt: skip
    """Measure a check piece in PHOTOS and report the normalised error: up to 1 in size, it agrees.

    \b
    Examples:
      areakit verify coin.jpg --piece eur-1 --sheet-copy bench-1
      areakit verify disk.jpg --shape disk --diameter "20.00 ± 0.01 mm" --thickness "3 mm"
      areakit verify --trend
    """
    from areakit.service.trust import Source, verified_json, verify

    if pieces:
        _list_pieces()
        return
    desk = desk_of(journal, who)
    if trend:
        _show_trend(desk)
        return
    sizes = {"diameter": diameter, "hole": hole, "width": width, "height": height}
    chosen = _piece(piece, shape, name, {k: v for k, v in sizes.items() if v is not None}, thickness)
    source = Source(
        photos=photos, lines=read_text(lines), thickness=thickness, check_lengths=check_lengths, copy_name=copy_name
    )
    found = verify(desk, chosen, source)
    for one in found:
        if as_json:
            echo_json(verified_json(one))
        else:
            click.echo(_sentence(one))
    if not all(one.agrees for one in found):
        click.echo("Check sheet copy, thickness and focus; do not trust areas until a check piece agrees.", err=True)
        sys.exit(3)


def _sentence(one: Verified) -> str:
    from areakit.units import show

    known = f"measured {show(one.measured, 'cm2')}, known {show(one.reference, 'cm2')}"
    verdict = "agrees" if one.agrees else "DOES NOT AGREE"
    note = " The sheet copy was not verified." if one.unverified_sheet else ""
    return f"{one.photo}: {one.piece.title}, {known}: normalised error {one.normalised_error:+.2f}, {verdict}.{note}"


def _piece(key: str | None, shape: str | None, name: str, sizes: dict[str, str], thickness: str | None) -> CheckPiece:
    from typing import cast

    from areakit.records.check_pieces import Shape, known_piece
    from areakit.service.trust import own_piece

    if (key is None) == (shape is None):
        raise click.UsageError("Give one check piece: --piece KEY, or --shape with its sizes.")
    if key is not None:
        return known_piece(key)
    return own_piece(name, cast(Shape, "disc" if shape == "disk" else shape), sizes, thickness)


def _list_pieces() -> None:
    from areakit.records.check_pieces import face_area, known_pieces
    from areakit.units import show

    for key, one in known_pieces().items():
        click.echo(f"{key}: {one.title}, face {show(face_area(one), 'cm2')}, thickness {one.thickness_mm:g} mm")


def _show_trend(desk: object) -> None:
    from areakit.service.desk import Desk
    from areakit.service.trust import trend

    assert isinstance(desk, Desk)
    kept = trend(desk, "verified")
    if not kept:
        tell_none("check of a piece", "areakit verify --help")
    for event in kept:
        doc = event.doc
        place = round(max(-2.0, min(2.0, doc["normalised_error"])) * 10) + 20
        line = "".join("o" if at == place else "|" if at in (10, 20, 30) else "·" for at in range(41))
        note = " unverified sheet" if doc["unverified_sheet"] else ""
        click.echo(f"{event.at[:16]}  {doc['piece']:<12}  {doc['normalised_error']:+6.2f}  {line}{note}")
