"""The verdict on somebody's figures on one printed page."""

from __future__ import annotations

from pathlib import Path

from reportlab.platypus import Flowable

from areakit.costing.measured_part import WORDS, MeasuredPart
from areakit.costing.verdict import Verdict
from areakit.costing.words import (
    agreement_words,
    chance_words,
    claim_words,
    error_words,
    explanation_words,
    floor_words,
    gap_words,
    headline,
    value_words,
)
from areakit.reports.document import SHADE, Styles, beside, headed, one_page, table
from areakit.reports.fonts import typeface
from areakit.reports.part_outline import OUTLINE_WIDTH, outlined
from areakit.units import in_unit, show

COMPARED = (0.31, 0.19, 0.19, 0.09, 0.22)
MOST = 8
READING = (
    "E_n is the difference over the expanded uncertainty of the difference (ISO 13528, ISO/IEC 17043; coverage factor "
    "2). Within ± 1 two figures agree. A figure without a stated uncertainty has that of its last printed digit."
)
LIMITS = (
    "The note compares figures. It says nothing about anybody's intention, and is no legal or tax advice.",
    "Area, charge and mass give the mean thickness. Standards ask for the minimum local thickness on significant "
    "surfaces, which only a measurement on the part shows.",
    "Densities are those of the pure metal unless stated; electrodeposits can be 1 to 10 % lighter (working figure).",
)


def note_pdf(verdict: Verdict, *, paper: str = "a4", font: Path | None = None) -> bytes:
    """Return the verdict as a PDF of one page, with the outline of the part drawn to scale where there is one.

    Raises InputError if it does not fit one page; FileError if the font cannot be used.
    """
    face, part = typeface(font), verdict.part

    def story_of(styles: Styles, width: float) -> list[Flowable]:
        told = [
            styles.words("Consistency note", styles.larger(2.0, bold=True, spaceAfter=0.3 * styles.body.leading)),
            styles.words(f"Figures checked: {verdict.claims.name}", styles.larger(1.2)),
            styles.words(headline(verdict), styles.larger(1.2, bold=True)),
            *(_measured(part, styles) if part is not None else []),
            *headed("Other figures used", styles),
            *(styles.marked(words) for words in claim_words(verdict.claims)),
        ]
        return [
            *beside(told, outlined(part, face) if part is not None else [], OUTLINE_WIDTH, width),
            *_compared(verdict, styles, width),
            *_floor(verdict, styles),
            *_explanations(verdict, styles),
            *headed("How to read it", styles),
            styles.words(READING),
            *headed("What it does not say", styles),
            *(styles.marked(words) for words in LIMITS),
        ]

    return one_page(story_of, paper=paper, face=face, title="Consistency note")


def _measured(part: MeasuredPart, styles: Styles) -> list[Flowable]:
    lines = []
    for choice in ("one", "both", "all"):
        area = part.area(choice)
        lines += [f"{WORDS[choice]}: {show(in_unit(area, 'cm2'))}"] if area is not None else []
    lines.append(f"thickness: {'not known' if part.thickness is None else show(part.thickness)}")
    return [*headed("The part as measured", styles), *map(styles.marked, lines)]


def _compared(verdict: Verdict, styles: Styles, width: float) -> list[Flowable]:
    rows = [styles.row(("compared", "claimed", "expected", "E_n", "outcome"), styles.bold)]
    shaded = []
    for number, one in enumerate(verdict.comparisons, start=1):
        outcome = agreement_words(one) if one.decides else f"(not claimed) {agreement_words(one)}"
        outcome += f"; {one.note}" if one.note else ""
        rows.append(styles.row((one.title, *value_words(one), error_words(one.normalised_error), outcome)))
        if one.decides and not verdict.agreement[one.key]:
            shaded.append(("BACKGROUND", (0, number), (-1, number), SHADE))
    listed = table(rows, [share * width for share in COMPARED], *shaded, ruled=False)
    gaps = (styles.marked(words, "!") for words in gap_words(verdict))
    return [*headed("What was compared", styles), listed, *gaps]


def _floor(verdict: Verdict, styles: Styles) -> list[Flowable]:
    if verdict.floor is None:
        return []
    style = styles.bold if verdict.floor.misses else styles.body
    return [*headed("The minimum of metal", styles), styles.words(floor_words(verdict.floor), style)]


def _explanations(verdict: Verdict, styles: Styles) -> list[Flowable]:
    if not verdict.failing:
        return []
    lines = [explanation_words(one, verdict) for one in verdict.explanations[:MOST]]
    left = len(verdict.explanations) - MOST
    lines += [f"and {left} more, which fit no better."] if left > 0 else []
    titles = {one.key: one.title for one in verdict.comparisons if one.decides}
    lines += [f"{titles[key]}: not explained by the usual slips." for key in verdict.unexplained()]
    chance = chance_words(verdict)
    asked = (styles.marked(line, "?") for line in lines)
    return [*headed("What would explain it", styles), *asked, *([styles.words(chance)] if chance else [])]
