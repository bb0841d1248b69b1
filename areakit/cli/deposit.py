"""``areakit deposit``: what a charge or a weight gain put on a part."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import PHOTO, Command
from areakit.cli.entries import echo_json, solutions_text
from areakit.cli.photo import (
    contact_option,
    draw,
    photo_options,
    picture_options,
    spread_options,
    take_measured,
    take_spread,
)

if TYPE_CHECKING:
    from areakit.cli.page import Page
    from areakit.service.deposit import Deposit


@click.command(cls=Command, exits=PHOTO)
@photo_options(part="Part of the photo or file, from 1; without it the parts are added up. With words: of its own.")
@click.option("--metal", required=True, metavar="METAL", help="Metal deposited. Example: --metal gold")
@click.option("--area", metavar="AREA", help='Plated area. Example: --area "12.5 cm2"')
@click.option("--area-uncertainty", metavar="U", help="Its expanded uncertainty. Example: --area-uncertainty 2%")
@click.option("--from", "source", metavar="FILE", help="What areakit measure or surface --json printed; - is stdin.")
@click.option("--charge", metavar="CHARGE", help='Charge run. Example: --charge "3.2 A.min" or "3.2 ± 0.1 A.min"')
@click.option("--current", metavar="CURRENT", help='With --time, in place of the charge. Example: --current "0.4 A"')
@click.option("--time", metavar="TIME", help='With --current. Example: --time "8 min"')
@click.option(
    "--weighed",
    metavar="MASS",
    help='Weight gain. With the charge it gives the efficiency, with the area the mean. Example: --weighed "38 ± 1 mg"',
)
@click.option("--efficiency", metavar="VALUE", help='Cathode efficiency. Example: --efficiency "72% ± 6%" or handbook')
@click.option("--factor", metavar="VALUE", help='Plating factor of the label. Example: --factor "60 A.h/in3"')
@click.option("--bath", metavar="BATH", help="Kind of bath: valence and density. Example: --bath gold-acid-hard")
@click.option("--solution", metavar="NAME", help="Solution from your solutions file. Example: --solution my-gold")
@click.option("--solutions", metavar="FILE", help="Solutions file; see areakit solution --help.")
@click.option("--density", metavar="VALUE", help='Density of the deposit. Example: --density "17.3 g/cm3"')
@click.option("--allowance", metavar="K", help='Mean over minimum thickness. Example: --allowance "1.2 ± 0.1"')
@click.option(
    "--method",
    type=click.Choice(["brush", "tank"]),
    default="brush",
    show_default=True,
    help="How it was plated; sets the usual allowance where none is given.",
)
@contact_option()
@click.option("--hand-speed", metavar="SPEED", help='Brush: speed of the tool. Example: --hand-speed "12 m/min"')
@click.option("--passes", metavar="N", help="Brush: brush-overs of the whole part; by --time unless said.")
@spread_options()
@picture_options()
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object: mm2, um, A.min and C, mg.")
def command(
    solutions: str | None, as_json: bool, map_path: Path | None, lanes_path: Path | None, **entries: Any
) -> None:
    """Tell what a charge, or a weight gain, put on a part; its area is typed, measured, or read from a PHOTO.

    \b
    Examples:
      I ran 3.2 A·min of gold on this part: what did it get?
        areakit deposit --metal gold --area "12.5 cm2" --charge "3.2 A.min" --efficiency "72% ± 6%"
        areakit deposit badge.jpg --thickness "1.2 mm" --faces all --check-lengths "150 x 90 mm" --metal gold \\
          --charge "3.2 A.min" --efficiency "72% ± 6%" --contact "4 cm2"
      What is the efficiency of my bath?
        areakit deposit --metal gold --charge "3.2 A.min" --weighed "282 ± 2 mg"
      How thick is what I weighed?
        areakit deposit --metal gold --area "12.5 cm2" --weighed "12.1 ± 0.2 mg"
    """
    from areakit.service.deposit import DepositRequest, deposit, deposit_as_json

    pictures = (("map", map_path), ("lanes", lanes_path))
    request = DepositRequest(
        measured=take_measured(entries),
        spread=take_spread(entries, pictures=any(path for _, path in pictures)),
        solutions=solutions_text(solutions),
        **entries,
    )
    answer = deposit(request)
    draw(answer.spread, pictures)
    if as_json:
        echo_json(deposit_as_json(answer))
    else:
        _page(answer).show()


def _page(answer: Deposit) -> Page:
    from areakit.cli.page import Page
    from areakit.cli.plan_text import cautions_block, findings_block, flags_block
    from areakit.cli.rows import HEADER, number, premise_row

    page = Page()
    page.heading(f"{answer.bath.metal.capitalize()}: {answer.bath.title}")
    page.table(_rows(answer), header=HEADER)
    page.lines(["± is the expanded uncertainty, coverage factor 2 (about 95 %)."], mark="")
    if answer.spread is not None:
        from areakit.cli.spread_text import spread_table  # brings shapely

        spread_table(page, answer.spread)
    page.heading("Rests on")
    rows = [premise_row(premise) for premise in answer.premises]
    if answer.charge is not None:
        rows.insert(0, ("charge", number(answer.charge, "A.min"), "as entered"))
    page.table(rows, header=HEADER)
    findings_block(page, answer.findings)
    flags_block(page, answer.flags)
    cautions_block(page, answer.cautions)
    return page


def _rows(answer: Deposit) -> list[tuple[str, str, str]]:
    from areakit.cli.plan_text import shares_words
    from areakit.cli.rows import number

    lines = (
        ("metal deposited", answer.mass, None, "charge times efficiency"),
        ("mean thickness", answer.mean, None, "Faraday's law"),
        ("minimum thickness", answer.minimum, None, "mean over distribution allowance"),
        ("metal weighed", answer.weighed_mass, None, "as entered"),
        ("mean thickness by weight", answer.weighed_mean, None, "mass over density and area"),
        ("minimum thickness by weight", answer.weighed_minimum, None, "mean over distribution allowance"),
        ("cathode efficiency by weight", answer.coupon_efficiency, "%", "weight gain over that of the full charge"),
    )
    rows = []
    for name, quantity, unit, words in lines:
        if quantity is not None:
            rows += [(name, number(quantity, unit), words), ("  what moves it", "", shares_words(quantity))]
    return rows
