"""``areakit bottle``: what is left in each bottle of solution."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli import bottle_factor
from areakit.cli.bottle_words import kind_words, left_words, say
from areakit.cli.command import JOURNAL, OUTPUT, Group
from areakit.cli.desk import desk_options, keeping_options, tell, tell_none
from areakit.cli.entries import echo_json, font_option, remarks_option
from areakit.cli.options import options_of, said
from areakit.service.job_entries import Correction
from areakit.service.record_requests import NewBottle

if TYPE_CHECKING:
    from areakit.service.desk import Desk


@click.group("bottle", cls=Group, exits=JOURNAL)
def command() -> None:
    """Keep account of bottles of solution. Runs of jobs draw by themselves; here is the rest.

    \b
    Examples:
      areakit bottle add G7 --solution my-gold --metal gold --volume "500 mL" --metal-content "8.2 g/L" \\
        --allowed-charge "5 A.h/L" --lot 31 --expiry 2027-06-30
      areakit bottle list
      areakit bottle recover G7 --into G7-R1 --volume "40 mL"
      areakit bottle factor G7 --plot g7.svg
      areakit bottle label G7 --output g7.pdf
    """


LABEL = click.argument("label")


@command.command("add", exits=JOURNAL)
@LABEL
@options_of(NewBottle)
@click.option("--solutions", metavar="FILE", help="Solutions file; see areakit solution --help.")
@keeping_options
def add(label: str, solutions: str | None, desk: Desk, **fields: Any) -> None:
    """Open the account of the bottle LABEL.

    \b
    Example:
      areakit bottle add N3 --solution my-nickel --metal nickel --volume "1 L" --allowed-charge "40 A.h/L"
    """
    from areakit.cli.entries import solutions_text
    from areakit.service.bottle import add_bottle, from_solution

    request = from_solution(NewBottle(label=label, **said(fields)), solutions_text(solutions))
    say(add_bottle(desk, request))


@command.command("list", exits=JOURNAL)
@click.option("--all", "every", is_flag=True, help="Also discarded bottles.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a line.")
@desk_options
def list_all(every: bool, as_json: bool, desk: Desk) -> None:
    """List bottles with what is left in them.

    \b
    Example:
      areakit bottle list
    """
    from areakit.cli.page import Page
    from areakit.records.bottle_json import bottle_json
    from areakit.service.bottle import list_bottles

    found = list_bottles(desk, every=every)
    if not found:
        tell_none("bottle" if every else "bottle in use", "areakit bottle add --help")
        return
    if as_json:
        for bottle in found:
            echo_json(bottle_json(bottle))
        return
    page = Page()
    rows = [(one.label, *left_words(one), one.expiry or "none", kind_words(one)) for one in found]
    page.table(rows, header=("bottle", "charge left", "metal left", "expiry", "solution"))
    page.show()


@command.command("show", exits=JOURNAL)
@LABEL
@click.option("--json", "as_json", is_flag=True, help="Print it as one JSON object.")
@desk_options
def show_bottle(label: str, as_json: bool, desk: Desk) -> None:
    """Show a bottle and everything that went in and out.

    \b
    Example:
      areakit bottle show G7
    """
    from areakit.cli.page import Page
    from areakit.records.bottle_json import bottle_json, event_words, passed_words
    from areakit.service.bottle import show_bottle as read

    bottle = read(desk, label)
    if as_json:
        echo_json(bottle_json(bottle))
        return
    say(bottle)
    click.echo(passed_words(bottle))
    page = Page()
    rows = [(str(e.sequence), e.at[:16].replace("T", " "), e.who, e.kind, event_words(e)) for e in bottle.history]
    page.table(rows, header=("no.", "when", "who", "kind", "what"))
    page.show()


@command.command("draw", exits=JOURNAL)
@LABEL
@click.option("--charge", metavar="CHARGE", help='Charge that was run. Example: --charge "1.5 A.h"')
@click.option("--mass", metavar="MASS", help='Metal that left. Example: --mass "40 mg"')
@click.option("--volume", metavar="VOLUME", help='Solution that left the bottle for good. Example: --volume "20 mL"')
@remarks_option
@keeping_options
def draw(label: str, desk: Desk, **amounts: Any) -> None:
    """Record what was taken outside a job; a weighed coupon goes by areakit bottle coupon.

    \b
    Example:
      areakit bottle draw G7 --charge "0.4 A.h" --mass "25 mg" --remarks "plated a test strip"
    """
    from areakit.service.bottle import draw as take

    say(take(desk, label, **amounts))


@command.command("top-up", exits=JOURNAL)
@LABEL
@click.option("--volume", required=True, metavar="VOLUME", help='What was added. Example: --volume "100 mL"')
@click.option("--mass", metavar="MASS", help='Metal in it. Example: --mass "820 mg"')
@click.option("--charge", metavar="CHARGE", help='Charge that it allows more. Example: --charge "0.5 A.h"')
@click.option("--lot", default="", metavar="TEXT", help="Lot or batch of what was added. Example: --lot 32")
@remarks_option
@keeping_options
def top_up(label: str, desk: Desk, **amounts: Any) -> None:
    """Record what was added from stock.

    \b
    Example:
      areakit bottle top-up G7 --volume "100 mL" --mass "820 mg" --charge "0.5 A.h"
    """
    from areakit.service.bottle import top_up as fill

    say(fill(desk, label, **amounts))


@command.command("recover", exits=JOURNAL)
@LABEL
@click.option(
    "--into", required=True, metavar="LABEL", help="Label of the bottle for run-off; opened if it is not there."
)
@click.option("--volume", required=True, metavar="VOLUME", help='What was caught. Example: --volume "40 mL"')
@click.option("--mass", metavar="MASS", help='Metal in it; default: as in the source. Example: --mass "300 mg"')
@click.option("--charge", metavar="CHARGE", help="Charge that it may still carry; default: as in the source.")
@remarks_option
@keeping_options
def recover(label: str, desk: Desk, **amounts: Any) -> None:
    """Record run-off of LABEL that was caught: always in a bottle of its own, never across labels.

    \b
    Example:
      areakit bottle recover G7 --into G7-R1 --volume "40 mL"
    """
    from areakit.service.bottle import recover as catch

    say(catch(desk, label, **amounts))


@command.command("check", exits={3: "the bottle must not be used", **JOURNAL})
@LABEL
@click.option("--solution", metavar="NAME", help="Solution that the plan asks for. Example: --solution my-gold")
@click.option("--charge", metavar="CHARGE", help='Charge that the plan takes. Example: --charge "12 A.min"')
@click.option("--mass", metavar="MASS", help='Metal that the plan takes. Example: --mass "80 mg"')
@click.option("--carried", metavar="VOLUME", help='What sleeve and parts carry away. Example: --carried "6 mL"')
@desk_options
def check(label: str, desk: Desk, **wanted: Any) -> None:
    """Tell before the start whether a bottle carries a plan.

    \b
    Example:
      areakit bottle check G7 --solution my-gold --charge "12 A.min" --mass "80 mg" --carried "6 mL"
    """
    import sys

    from areakit.service.bottle import look_ahead

    found = look_ahead(desk, label, **wanted)
    tell(found)
    if any(finding.severity == "stop" for finding in found):
        sys.exit(3)
    click.echo(f"Bottle {label} carries it{', with a note' if found else ''}.")


@command.command("discard", exits=JOURNAL)
@LABEL
@click.argument("reason")
@keeping_options
def discard(label: str, reason: str, desk: Desk) -> None:
    """Close the account of a bottle. Nothing goes down the drain: see its safety data sheet and local codes.

    \b
    Example:
      areakit bottle discard G7 "spent, to the refiner"
    """
    from areakit.service.bottle import write

    say(write(desk, label, "discarded", doc={"reason": reason}))


@command.command("correct", exits=JOURNAL)
@LABEL
@click.argument("entry", type=int)
@click.option("--set", "fields", multiple=True, metavar="FIELD=VALUE", help='New value. Example: --set volume="450 mL"')
@options_of(Correction)
@keeping_options
def correct(label: str, fields: tuple[str, ...], desk: Desk, **more: Any) -> None:
    """Correct an entry by one more entry; what was written stays to be seen.

    \b
    Example:
      areakit bottle correct G7 1 --set volume="450 mL" --reason "read at the wrong line"
    """
    from areakit.cli.corrections import read_fields
    from areakit.service.bottle import write

    say(write(desk, label, "corrected", doc=Correction(fields=read_fields(fields), **said(more)).doc(desk, label)))


@command.command("label", exits=JOURNAL)
@LABEL
@click.option("--output", type=OUTPUT, required=True, metavar="PATH", help="PDF to write.")
@font_option
@desk_options
def label_page(label: str, output: Path, font: Path | None, desk: Desk) -> None:
    """Write a label with the remaining charge and metal, 100 × 60 mm, as PDF.

    \b
    Example:
      areakit bottle label G7 --output g7.pdf
    """
    from areakit.reports.bottle_label import write_label
    from areakit.service.bottle import show_bottle as read

    write_label(read(desk, label), output, today=desk.today, font=font)
    click.echo(str(output))


bottle_factor.add_to(command)
