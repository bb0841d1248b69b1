"""``areakit check``: take somebody's figures apart."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT, PHOTO, Command
from areakit.cli.entries import echo_json, font_option, only_one_stdin, read_text, refuse_typed, write_new
from areakit.cli.options import options_of
from areakit.service.quote_request import CheckRequest, Claimed

if TYPE_CHECKING:
    from areakit.cli.page import Page
    from areakit.costing.verdict import Verdict


@click.command(cls=Command, exits={0: "done, whether the figures agree or not", **PHOTO})
@options_of(Claimed)
@options_of(CheckRequest)
@click.option(
    "--pdf",
    metavar="PATH",
    type=OUTPUT,
    help="Write a one-page consistency note (of the first claim).",
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of that page.")
@font_option
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a claim: mm2, um, mg, A.min.")
def command(
    file: str | None, part: str | None, part_number: int | None, two_slips: bool | None, pdf: Path | None, paper: str,
    font: Path | None, as_json: bool, **claims: Any,
) -> None:  # fmt: skip
    """Check claimed figures against each other and against a measured part, and name the slip.

    Any subset of figures will do. Every pair that physics ties together is compared; a normalised error E_n (difference
    over the expanded uncertainty of the difference) within ± 1 agrees (ISO 13528). What is named is a question to ask,
    not a proof. The figures below are made up.

    \b
    Examples:
      areakit check --part part.json --area "4.6 cm2" --faces both --metal gold --thickness "0.5 um" \\
        --thickness-is minimum --mass "9 mg" --price "75.30 EUR/g" --metal-line "0.68 EUR"
      areakit check --part part.json --claims quotes.csv
    """
    from areakit.service.check import check

    only_one_stdin(file, part)
    if pdf is None:
        refuse_typed("paper", "font", why="is about the page", remedy="Give --pdf too.")
    request = CheckRequest(
        claims={name: text for name, text in claims.items() if text is not None},
        file=read_text(file),
        part=read_text(part),
        part_number=part_number,
        two_slips=bool(two_slips),
    )
    verdicts = check(request)
    if pdf is not None:
        from areakit.reports.consistency_note import note_pdf

        write_new(pdf, note_pdf(verdicts[0], paper=paper, font=font))
    if as_json:
        from areakit.records.check_json import verdict_json

        for verdict in verdicts:
            echo_json(verdict_json(verdict))
        return
    verdict_page(verdicts).show()
    if pdf is not None:
        click.echo(f"\nWritten: {pdf}")


def verdict_page(verdicts: tuple[Verdict, ...]) -> Page:
    """Return the verdicts as a page of text."""
    from areakit.cli.page import Page
    from areakit.costing.words import (
        agreement_words,
        chance_words,
        error_words,
        explanation_words,
        floor_words,
        gap_words,
        headline,
        value_words,
    )

    page = Page()
    for verdict in verdicts:
        page.heading(f"{verdict.claims.name}: {headline(verdict)}")
        rows = []
        for one in verdict.comparisons:
            outcome = agreement_words(one) if one.decides else f"for comparison: {agreement_words(one)}"
            if one.note:
                outcome += f"; {one.note}"
            rows.append((one.title, *value_words(one), error_words(one.normalised_error), outcome))
        page.table(rows, header=("compared", "claimed", "expected", "E_n", "outcome"))
        if verdict.floor is not None:
            page.lines([floor_words(verdict.floor)], mark="! " if verdict.floor.misses else "- ")
        page.lines(gap_words(verdict), mark="! ")
        page.lines([explanation_words(one, verdict) for one in verdict.explanations], mark="? ")
        titles = {one.key: one.title for one in verdict.comparisons if one.decides}
        page.lines([f"{titles[key]}: not explained by the usual slips." for key in verdict.unexplained()], mark="? ")
        page.lines([words] if (words := chance_words(verdict)) else [])
    return page
