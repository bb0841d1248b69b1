"""``areakit deposit``: what a charge or a weight gain put on a part."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import PHOTO, Command
from areakit.cli.entries import echo_json, solutions_text
from areakit.cli.options import options_of, said
from areakit.cli.photo import draw, photo_options, picture_options, take_measured, take_spread
from areakit.service.plan_request import DepositRequest, SpreadRequest

if TYPE_CHECKING:
    from areakit.cli.page import Page
    from areakit.service.deposit import Deposit


@click.command(cls=Command, exits=PHOTO)
@photo_options(DepositRequest)
@options_of(DepositRequest, but=("part",))
@options_of(SpreadRequest)
@picture_options()
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object: mm2, um, A.min and C, mg.")
def command(as_json: bool, map_path: Path | None, lanes_path: Path | None, **entries: Any) -> None:
    """Tell what a charge, or a weight gain, put on a part; its area is typed, measured, or from a PHOTO or drawing.

    \b
    Examples:
      I ran 3.2 A·min of gold on this part: what did it get?
        areakit deposit --metal gold --area "12.5 cm2" --charge "3.2 A.min" --efficiency "72% ± 6%"
        areakit deposit badge.jpg --thickness "1.2 mm" --faces all --check-lengths "150 x 90 mm" --metal gold \\
          --charge "3.2 A.min" --efficiency "72% ± 6%" --footprint "4 cm2"
      What is the efficiency of my bath?
        areakit deposit --metal gold --charge "3.2 A.min" --weighed "282 ± 2 mg"
      How thick is what I weighed?
        areakit deposit --metal gold --area "12.5 cm2" --weighed "12.1 ± 0.2 mg"
    """
    from areakit.service.deposit import deposit, deposit_as_json

    pictures = (("map", map_path), ("lanes", lanes_path))
    request = DepositRequest(
        measured=take_measured(entries),
        spread=take_spread(entries, pictures=any(path for _, path in pictures)),
        **said({**entries, "solutions": solutions_text(entries["solutions"])}),
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
    page.heading("Based on")
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
            rows += [(name, number(quantity, unit), words), ("  main sources of ±", "", shares_words(quantity))]
    return rows
