"""``areakit plan``: from an area, a process and a requirement to a plan for the bench."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT, PHOTO, Command
from areakit.cli.entries import (
    by_name,
    by_name_or_all,
    echo_json,
    font_option,
    read_text,
    save_json,
    save_option,
    solutions_text,
    write_new,
)
from areakit.cli.photo import (
    contact_option,
    draw,
    metal_option,
    photo_options,
    picture_options,
    spread_options,
)

if TYPE_CHECKING:
    from areakit.cli.plan_done import Done


@click.command(cls=Command, exits=PHOTO)
@photo_options(part="Part of the photo or file, from 1; else all, equal ones as pieces. With words: of its own.")
@metal_option("metal_at")
@click.option(
    "--shape", multiple=True, metavar="TEXT", help='Typed shape, as for surface. Example: --shape "ring 30 x 12 x 2 mm"'
)
@click.option("--area", metavar="AREA", help='Plated area of one piece. Example: --area "12.5 cm2"')
@click.option("--area-uncertainty", metavar="U", help="Its expanded uncertainty. Example: --area-uncertainty 2%")
@click.option("--from", "source", metavar="FILE", help="What areakit measure or surface --json printed; - is stdin.")
@click.option("--pieces", type=int, metavar="N", help="Number of equal pieces; as many as in the photo unless said.")
@click.option("--process", metavar="NAME", help="Sequence of steps. Example: --process nickel-gold-brush")
@click.option("--process-file", metavar="FILE", help="TOML file with processes of your own.")
@click.option(
    "--layer",
    "layers",
    multiple=True,
    callback=by_name,
    metavar="METAL=THICKNESS",
    help='Least thickness of a layer, or its mean. Example: --layer gold="0.5 um" --layer nickel="3 um mean"',
)
@click.option(
    "--requirement",
    "requirements",
    multiple=True,
    metavar="KEY",
    help="Class or term to meet; sets the thickness where no --layer does. Example: --requirement mil-dtl-45204-1",
)
@click.option(
    "--efficiency",
    multiple=True,
    callback=by_name,
    metavar="METAL=VALUE",
    help='Cathode efficiency, or a table row by name. Example: --efficiency gold="72% ± 6%" or gold=handbook',
)
@click.option(
    "--factor",
    multiple=True,
    callback=by_name,
    metavar="METAL=VALUE",
    help='Plating factor of the label. Example: --factor gold="60 A.h/in3"',
)
@click.option(
    "--solution",
    multiple=True,
    callback=by_name,
    metavar="METAL=NAME",
    help="Solution from your solutions file. Example: --solution gold=my-gold",
)
@click.option("--solutions", metavar="FILE", help="Solutions file; see areakit solution --help.")
@click.option(
    "--bath",
    multiple=True,
    callback=by_name,
    metavar="METAL=BATH",
    help="Kind of bath: valence, density, cautions. Example: --bath gold=gold-acid-hard",
)
@click.option(
    "--density",
    multiple=True,
    callback=by_name,
    metavar="METAL=VALUE",
    help='Density of the deposit. Example: --density gold="17.3 ± 0.3 g/cm3"',
)
@click.option(
    "--allowance",
    multiple=True,
    callback=by_name_or_all,
    metavar="[METAL=]K",
    help='Mean over least thickness. Example: --allowance "1.25 ± 0.1"',
)
@click.option(
    "--current-density",
    multiple=True,
    callback=by_name,
    metavar="METAL=VALUE",
    help='On the contact patch (brush) or the part (tank). Example: --current-density gold="10 A/dm2"',
)
@contact_option()
@click.option(
    "--contact-fraction",
    metavar="SHARE",
    help="Brush: metal under the brush averaged over the working time; from the lanes of an outline unless said. "
    'Example: --contact-fraction "60% ± 15%"',
)
@click.option("--supply", metavar="CURRENT", help='Largest current of the supply. Example: --supply "5 A"')
@click.option("--pieces-per-load", type=int, metavar="N", help="Parts on one rack. Example: --pieces-per-load 5")
@click.option("--stroke", metavar="LENGTH", help='Length of one stroke. Example: --stroke "60 mm"')
@click.option("--hand-speed", metavar="SPEED", help='Speed of the tool. Example: --hand-speed "12 m/min"')
@click.option(
    "--metal-content",
    multiple=True,
    callback=by_name,
    metavar="METAL=VALUE",
    help='Metal in solution. Example: --metal-content gold="8.2 g/L"',
)
@click.option("--sleeve", metavar="VOLUME", help='Solution that the sleeve holds. Example: --sleeve "10 ± 3 mL"')
@click.option("--drag-out", metavar="VALUE", help='Solution the part carries away. Example: --drag-out "80 mL/m2"')
@click.option(
    "--recover",
    multiple=True,
    callback=by_name,
    metavar="PLACE=SHARE",
    help="Share brought back from sleeve, drag-out or run-off. Example: --recover sleeve=70%",
)
@click.option(
    "--meter-uncertainty", metavar="U", help="Expanded, of the ampere-minute meter. Example: --meter-uncertainty 1%"
)
@click.option("--base", metavar="METAL", help="Base metal. Example: --base brass")
@click.option("--market", metavar="NAME", help="Where it is sold: eu, us or other. Example: --market eu")
@click.option("--use", type=click.Choice(["jewellery", "decorative", "technical"]), help="What the part is for.")
@click.option(
    "--even-chance",
    is_flag=True,
    help="Aim at the minimum itself: half of such jobs stay below. Else it is met with about 97 % confidence.",
)
@click.option("--together", is_flag=True, help="Tank: hang all kinds of parts in one load, with one current.")
@spread_options()
@picture_options()
@click.option(
    "--shop", metavar="NAME", envvar="AREAKIT_SHOP", help="Shop profile; none plans without. [env: AREAKIT_SHOP]"
)
@click.option("--brush", metavar="NAME", help="Brush of the shop profile, by its name.")
@click.option(
    "--bottle",
    multiple=True,
    callback=by_name,
    metavar="METAL=LABEL",
    help="Bottle to plate from: what its runs and coupons deposited counts, where it is surer than label and tables. "
    "Example: --bottle gold=G7",
)
@click.option(
    "--journal",
    metavar="PATH",
    envvar="AREAKIT_JOURNAL",
    help="The journal that is asked for own factors; none asks none. [env: AREAKIT_JOURNAL]",
)
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
    solutions: str | None,
    process_file: str | None,
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
      areakit plan --shape "ring 20 x 17 x 4 mm" --process nickel-tank --layer nickel="5 um"
      areakit plan --area "12.5 cm2" --area-uncertainty 2% --process nickel-gold-brush \\
        --layer gold="0.5 um" --layer nickel="3 um" --efficiency gold="72% ± 6%" \\
        --contact "4 cm2" --current-density gold="10 A/dm2" --supply "5 A" --base brass
      areakit measure badge.jpg --json | areakit plan --from - --process nickel-tank --layer nickel="5 um"
    """
    if list_processes or list_requirements or list_baths:
        _show_lists(list_processes, list_requirements, list_baths)
        return
    from areakit.cli.plan_ask import can_ask
    from areakit.cli.plan_done import Wanted, planned

    entries["solutions"] = solutions_text(solutions)
    entries["processes"] = read_text(process_file)
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
        page.table(words, header=("requirement", "metal", "least", "title", "origin"))
    if baths:
        page.table([(b.key, b.metal, b.title) for b in all_baths().values()], header=("bath", "metal", "title"))
    page.show()
