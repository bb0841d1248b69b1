"""A quote on one printed page, for the customer: neither rates, overhead and margin nor the workshop's hazards."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from areakit.costing.measured_part import MeasuredPart
from areakit.costing.prices import amount_words, money_words, price_words
from areakit.costing.quote import Quote
from areakit.reports.fonts import Typeface, typeface
from areakit.reports.leaf import Column, Leaf, one_page
from areakit.reports.part_outline import ROOM_MM, outline_beside
from areakit.reports.quote_words import CUSTOMER, customer_lines, layer_words, pieces_words, price_line, terms

LINES = (Column(share=0.75), Column(share=0.25, right=True))
BREAKS = (
    Column(share=0.2, right=True),
    Column(share=0.25, right=True),
    Column(share=0.25, right=True),
    Column(share=0.3),
)
LONGEST = 90


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What the user wants at the head of the page; anything empty is left out."""

    job: str = ""
    customer: str = ""
    sender: str = ""


def quote_pdf(
    quote: Quote,
    part: MeasuredPart | None = None,
    *,
    heading: Heading | None = None,
    paper: str = "a4",
    font: Path | None = None,
) -> bytes:
    """Return the quote as a PDF of one page, with the outline of the part drawn to scale where there is one.

    Raises InputError if it does not fit one page; FileError if the font cannot be used.
    """
    face, head = typeface(font), heading or Heading()
    return one_page(
        lambda leaf: _write(leaf, quote, part=part, head=head, face=face), paper=paper, face=face, title="Quote"
    )


def _write(leaf: Leaf, quote: Quote, *, part: MeasuredPart | None, head: Heading, face: Typeface) -> None:
    top = leaf.y
    split = leaf.right - ROOM_MM[0] - 4.0 if part is not None else leaf.right
    with leaf.column(leaf.left, split):
        _head(leaf, quote, head)
        leaf.heading("What is plated")
        for words in layer_words(quote):
            leaf.text(words, mark="•")
    if part is not None:
        outline_beside(leaf, part.rings, top=top, face=face)
    _table(leaf, quote)
    _breaks(leaf, quote)
    leaf.heading("What the price is based on")
    for words in (*(f"Metal price: {price_words(price)}." for price in quote.metal_prices), *terms(quote)):
        leaf.text(words, mark="•")
    for told in quote.flags:
        if told.code in CUSTOMER:
            leaf.text(told.message, mark="!")


def _head(leaf: Leaf, quote: Quote, head: Heading) -> None:
    leaf.skip(0.6)
    leaf.text("Quote for plating", larger=2.0, bold=True)
    leaf.skip(0.3)
    leaf.text(f"{quote.job.title}, {pieces_words(quote.job.pieces)}", larger=1.2)
    for label, words in (("Job", head.job), ("For", head.customer), ("From", head.sender)):
        if words:
            leaf.text(f"{label}: {words[:LONGEST]}")
    leaf.text(f"Date: {quote.quoted_on.isoformat()}. Holds until {quote.valid_until.isoformat()}.")


def _table(leaf: Leaf, quote: Quote) -> None:
    leaf.heading(f"What it comes to, in {quote.currency}")
    for line in customer_lines(quote):
        leaf.row((line.title, amount_words(line.amount)), LINES)
    leaf.skip(0.3)
    title = price_line(quote).split(":")[0]
    each = f" ({_each(quote)})" if quote.job.pieces > 1 else ""
    leaf.row((f"{title}{each}", money_words(quote.price, quote.currency)), LINES, bold=True, shade=True)


def _each(quote: Quote) -> str:
    return f"{money_words(quote.each, quote.currency)} each"


def _breaks(leaf: Leaf, quote: Quote) -> None:
    if not quote.breaks:
        return
    leaf.heading("Other numbers of pieces")
    leaf.row(("pieces", "price", "each", ""), BREAKS, bold=True)
    for one in quote.breaks:
        cells = (str(one.pieces), money_words(one.price, quote.currency), money_words(one.each, quote.currency), "")
        leaf.row(cells, BREAKS)
