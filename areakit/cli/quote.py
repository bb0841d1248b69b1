"""``areakit quote``: price a planned job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT, PHOTO, Command
from areakit.cli.entries import (
    echo_json,
    font_option,
    only_one_stdin,
    read_text,
    refuse_typed,
    save_json,
    save_option,
    write_new,
)
from areakit.cli.options import options_of, said
from areakit.errors import in_shell
from areakit.service.quote_request import QuoteRequest

if TYPE_CHECKING:
    from areakit.cli.page import Page
    from areakit.service.quote import Quoted


@click.command(cls=Command, exits=PHOTO)
@options_of(QuoteRequest)
@click.option("--pdf", metavar="PATH", type=OUTPUT, help="Write a one-page quote for the customer.")
@click.option("--details", is_flag=True, help="Show how each line comes about, rates, overhead, margin and cautions.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of that page.")
@click.option("--customer", default="", metavar="TEXT", help="Who it is for; printed on the page.")
@click.option("--from", "sender", default="", metavar="TEXT", help="Who quotes; printed on the page.")
@click.option("--job", "job_name", default="", metavar="TEXT", help="Name or number of the job; printed on the page.")
@font_option
@click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON object: amounts as text in the currency, mm2, mg, um."
)
@save_option
def command(
    plan: str, rates: str, part: str | None, pdf: Path | None, paper: str, customer: str, sender: str, job_name: str,
    font: Path | None, details: bool, as_json: bool, save: Path | None, **entries: Any,
) -> None:  # fmt: skip
    """Price a planned job: the price, its metal price basis and how long it holds.

    What a customer reads is shown and printed; how the lines come about stays in --details and in the JSON. The prices
    below are made up. Amounts are without any tax.

    \b
    Example:
      areakit measure badge.jpg --json > part.json
      areakit plan --from part.json --process nickel-gold-brush --layer gold="0.5 um" \\
        --layer nickel="3 um" --efficiency gold="72% ± 6%" --pieces 20 --json > plan.json
      areakit quote --plan plan.json --part part.json --rates areakit-rates.toml \\
        --metal-price gold="75.30 EUR/g ± 2%" --price-date 2026-01-31 --pdf quote.pdf
    """
    from areakit.service.quote import quote

    only_one_stdin(plan, part, rates)
    if pdf is None:
        refuse_typed(
            "paper", "customer", "sender", "job_name", "font", why="is about the page", remedy="Give --pdf too."
        )
    request = QuoteRequest(
        plan=read_text(plan) or "", rates=read_text(rates) or "", part=read_text(part), **said(entries)
    )
    result = quote(request)
    if pdf is not None:
        from areakit.reports.quote_sheet import Heading, quote_pdf

        heading = Heading(job=job_name, customer=customer, sender=sender)
        write_new(pdf, quote_pdf(result.quote, result.part, heading=heading, paper=paper, font=font))
    if as_json or save:
        from areakit.records.quote_json import quote_json

        save_json(save, [quote_json(result.quote, result.part)])
    if as_json:
        echo_json(quote_json(result.quote, result.part))
        return
    quote_page(result, details=details).show()
    if pdf is not None:
        click.echo(f"\nWritten: {pdf}")


def quote_page(result: Quoted, *, details: bool = False) -> Page:
    """Return the quote as a page of text; with ``details`` what is the shop's own as well."""
    from areakit.cli.page import Page
    from areakit.costing.prices import money_words, price_words
    from areakit.reports.quote_words import basis_words, customer_lines, layer_words, pieces_words, price_line, terms

    found, page = result.quote, Page()
    page.heading(f"Quote: {found.job.title}, {pieces_words(found.job.pieces)}")
    page.lines([*layer_words(found)])
    if details:
        rows = [(one.title, money_words(one.amount, found.currency), basis_words(one, found)) for one in found.lines]
        page.table(rows, header=("line", "amount", "how it comes about"))
    else:
        sums = [(one.title, money_words(one.amount, found.currency)) for one in customer_lines(found)]
        page.table(sums, header=("line", "amount"))
    page.heading(price_line(found))
    if found.breaks:
        breaks = [
            (str(one.pieces), money_words(one.price, found.currency), money_words(one.each, found.currency))
            for one in found.breaks
        ]
        page.table(breaks, header=("pieces", "price", "each"))
    page.lines([f"Metal price: {price_words(one)}" for one in found.metal_prices])
    page.lines(terms(found))
    page.lines([f"{told.message} {in_shell(told.remedy, told.fields)}" for told in found.flags], mark="! ")
    page.lines([*found.job.findings], mark="! ")
    if details:
        page.lines([f"The area: {found.job.area_words}."])
        page.heading("Cautions")
        page.lines([*found.job.cautions])
    else:
        page.lines(["How the lines come about, and the cautions: --details."])
    return page
