"""A quote on one printed page, for the customer: neither rates, overhead and margin nor the workshop's hazards."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from reportlab.lib.enums import TA_RIGHT
from reportlab.platypus import Flowable

from areakit.costing.measured_part import MeasuredPart
from areakit.costing.prices import amount_words, money_words, price_words
from areakit.costing.quote import Quote
from areakit.reports.document import SHADE, Styles, beside, headed, one_page, table
from areakit.reports.fonts import typeface
from areakit.reports.part_outline import OUTLINE_WIDTH, outlined
from areakit.reports.quote_words import CUSTOMER, customer_lines, layer_words, pieces_words, price_line, terms

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

    def story_of(styles: Styles, width: float) -> list[Flowable]:
        told = [
            *_head(quote, head, styles),
            *headed("What is plated", styles),
            *(styles.marked(words) for words in layer_words(quote)),
        ]
        basis = (*(f"Metal price: {price_words(price)}." for price in quote.metal_prices), *terms(quote))
        return [
            *beside(told, outlined(part, face) if part is not None else [], OUTLINE_WIDTH, width),
            *_lines(quote, styles, width),
            *_breaks(quote, styles, width),
            *headed("What the price is based on", styles),
            *(styles.marked(words) for words in basis),
            *(styles.marked(told.message, "!") for told in quote.flags if told.code in CUSTOMER),
        ]

    return one_page(story_of, paper=paper, face=face, title="Quote")


def _head(quote: Quote, head: Heading, styles: Styles) -> list[Flowable]:
    labels = (("Job", head.job), ("For", head.customer), ("From", head.sender))
    return [
        styles.words("Quote for plating", styles.larger(2.0, bold=True, spaceAfter=0.3 * styles.body.leading)),
        styles.words(f"{quote.job.title}, {pieces_words(quote.job.pieces)}", styles.larger(1.2)),
        *(styles.words(f"{label}: {words[:LONGEST]}") for label, words in labels if words),
        styles.words(f"Date: {quote.quoted_on.isoformat()}. Holds until {quote.valid_until.isoformat()}."),
    ]


def _lines(quote: Quote, styles: Styles, width: float) -> list[Flowable]:
    each = f" ({money_words(quote.each, quote.currency)} each)" if quote.job.pieces > 1 else ""
    total = (f"{price_line(quote).split(':')[0]}{each}", money_words(quote.price, quote.currency))
    right, bold = styles.larger(1.0, alignment=TA_RIGHT), styles.larger(1.0, bold=True, alignment=TA_RIGHT)
    rows = [[styles.words(one.title), styles.words(amount_words(one.amount), right)] for one in customer_lines(quote)]
    rows.append([styles.words(total[0], styles.bold), styles.words(total[1], bold)])
    shade = ("BACKGROUND", (0, -1), (-1, -1), SHADE)
    title = f"What it comes to, in {quote.currency}"
    return [*headed(title, styles), table(rows, (0.75 * width, 0.25 * width), shade, ruled=False)]


def _breaks(quote: Quote, styles: Styles, width: float) -> list[Flowable]:
    if not quote.breaks:
        return []
    bold = styles.larger(1.0, bold=True, alignment=TA_RIGHT)
    rows = [styles.row(("pieces", "price", "each"), bold)]
    for one in quote.breaks:
        cells = (str(one.pieces), *(money_words(amount, quote.currency) for amount in (one.price, one.each)))
        rows.append(styles.row(cells, styles.larger(1.0, alignment=TA_RIGHT)))
    widths = [share * width for share in (0.2, 0.25, 0.25)]
    return [*headed("Other numbers of pieces", styles), table(rows, widths, ruled=False)]
