"""``areakit plan``: from an area, a process and a requirement to a plan for the bench."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT, PHOTO, Command
from areakit.cli.entries import (
    echo_json,
    font_option,
    read_text,
    refuse_typed,
    save_json,
    save_option,
    solutions_text,
    write_new,
)
from areakit.cli.options import option_of, options_of
from areakit.cli.photo import draw, photo_options, picture_options
from areakit.service.asked import asked_of
from areakit.service.measure_request import MeasureRequest
from areakit.service.plan_request import PlanRequest, SpreadRequest

if TYPE_CHECKING:
    from areakit.cli.plan_done import Done


@click.command(cls=Command, exits=PHOTO)
@photo_options(PlanRequest)
@option_of(asked_of(MeasureRequest)["metal"], "metal_at")
@options_of(PlanRequest, but=("part",))
@options_of(SpreadRequest)
@picture_options()
@click.option(
    "--card",
    "card_path",
    metavar="PATH",
    type=OUTPUT,
    help="Write the bench card as a page to print. Example: --card card.pdf",
)
@click.option("--card-paper", type=click.Choice(["a4", "letter", "a5"]), default="a4", show_default=True, help="Of it.")
@font_option
@click.option("--details", is_flag=True, help="Show every figure with its origin, budgets, alternatives, all cautions.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object: mm2, um, A.min and C, mg, mL, min.")
@save_option
@click.option("--list-processes", is_flag=True, help="Show the processes and stop.")
@click.option("--list-requirements", is_flag=True, help="Show classes and terms with their sources, and stop.")
@click.option("--list-baths", is_flag=True, help="Show the kinds of bath and stop.")
def command(
    *,
    as_json: bool,
    save: Path | None,
    list_processes: bool,
    list_requirements: bool,
    list_baths: bool,
    map_path: Path | None,
    lanes_path: Path | None,
    shop: str | None,
    brush: str | None,
    card_path: Path | None,
    card_paper: str,
    font: Path | None,
    details: bool,
    **entries: Any,
) -> None:
    """Turn a part in a photo, a drawing, a shape or an area into the bench card: amperes, minutes, passes, metal.

    With a shop profile (areakit shop) a photo is enough: what is missing is asked for in a terminal, and named at once
    elsewhere. Equal parts are planned as pieces, others side by side. Options go before the profile.
    A number may carry its expanded uncertainty (coverage factor 2) behind ±. Layers are minimum thicknesses on
    significant surfaces unless they say mean. With an outline, the allowance (mean over minimum thickness) is predicted
    over it unless --allowance says otherwise. Every step names its hazards; follow the safety data sheets, local codes
    and licensed practice.

    \b
    Examples:
      areakit plan badge.jpg --thickness "1.2 mm"
      areakit plan leaf.jpg --thickness "0.8 mm" --region "rectangle 4 x 30 mm, at 80 52 mm: form round, ends flat"
      areakit plan plate.dxf --unit mm --thickness "2 mm"
      areakit plan --shape "ring 20 x 17 x 4 mm" --process nickel-tank --layer nickel="5 um"
      areakit plan --area "12.5 cm2" --area-uncertainty 2% --process nickel-gold-brush \\
        --layer gold="0.5 um" --layer nickel="3 um" --efficiency gold="72% ± 6%" \\
        --footprint "4 cm2" --current-density gold="10 A/dm2" --supply "5 A" --base brass
      areakit measure badge.jpg --json | areakit plan --from - --process nickel-tank --layer nickel="5 um"
    """
    if list_processes or list_requirements or list_baths:
        _show_lists(list_processes, list_requirements, list_baths)
        return
    if card_path is None:
        refuse_typed("card_paper", "font", why="is about the page of the card", remedy="Give --card too.")
    from areakit.cli.plan_ask import can_ask
    from areakit.cli.plan_done import Wanted, planned

    entries["solutions"] = solutions_text(entries["solutions"])
    entries["processes"] = read_text(entries["processes"])
    pictures = (("map", map_path), ("lanes", lanes_path))
    asks = can_ask(quiet=as_json)
    done = planned(entries, Wanted(shop=shop, brush=brush, asks=asks, pictures=any(path for _, path in pictures)))
    draw(done.plans[0].order.spread, pictures)
    if card_path is not None:
        from areakit.reports.card_page import card_pdf

        write_new(card_path, card_pdf(done.card, done.drawn, paper=card_paper, font=font))
    _say(done, as_json=as_json, save=save, details=details)
    if card_path is not None and not as_json:
        click.echo(f"Written: {card_path}")


def _say(done: Done, *, as_json: bool, save: Path | None, details: bool) -> None:
    """Print the card, or everything, or JSON: one object for each kind of part."""
    if as_json or save:
        from areakit.records.plan_json import plan_json

        bodies = [plan_json(one) for one in done.plans]
        save_json(save, bodies)
        if as_json:
            for body in bodies:
                echo_json(body)
            return
    if not details:
        click.echo("\n".join(done.lines))
        return
    from areakit.cli.plan_text import plan_page

    for one in done.plans:
        plan_page(one).show()
    done.from_profile.show()


def _show_lists(processes: bool, requirements: bool, baths: bool) -> None:
    from areakit.cli.page import Page
    from areakit.plating.metals import all_baths
    from areakit.plating.process import all_processes
    from areakit.plating.requirements import all_requirements
    from areakit.units import show

    page = Page()
    if processes:
        rows = [(one.key, one.method, one.title) for one in all_processes().values()]
        page.table(rows, header=("process", "method", "title"))
    if requirements:
        kept = all_requirements().values()
        words = [
            (one.key, one.metal, show(one.minimum, "um") if one.minimum else "look it up", one.title, one.origin.text)
            for one in kept
        ]
        page.table(words, header=("requirement", "metal", "minimum", "title", "origin"))
    if baths:
        page.table([(b.key, b.metal, b.title) for b in all_baths().values()], header=("bath", "metal", "title"))
    page.show()
