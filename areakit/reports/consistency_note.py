"""The verdict on somebody's figures on one printed page."""

from __future__ import annotations

from pathlib import Path

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
from areakit.reports.fonts import Typeface, typeface
from areakit.reports.leaf import Column, Leaf, one_page
from areakit.reports.part_outline import ROOM_MM, outline_beside
from areakit.units import in_unit, show

COMPARED = (Column(share=0.31), Column(share=0.19), Column(share=0.19), Column(share=0.08, right=True),
            Column(share=0.02), Column(share=0.21))  # fmt: skip
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
    face = typeface(font)
    return one_page(lambda leaf: _write(leaf, verdict, face), paper=paper, face=face, title="Consistency note")


def _write(leaf: Leaf, verdict: Verdict, face: Typeface) -> None:
    part, top = verdict.part, leaf.y
    split = leaf.right - ROOM_MM[0] - 4.0 if part is not None else leaf.right
    with leaf.column(leaf.left, split):
        _head(leaf, verdict)
        if part is not None:
            _measured(leaf, part)
        leaf.heading("Other figures used")
        for words in claim_words(verdict.claims):
            leaf.text(words, mark="•")
    if part is not None:
        outline_beside(leaf, part.rings, top=top, face=face)
    _table(leaf, verdict)
    _floor(leaf, verdict)
    _explanations(leaf, verdict)
    leaf.heading("How to read it")
    leaf.text(READING)
    leaf.heading("What it does not say")
    for words in LIMITS:
        leaf.text(words, mark="•")


def _head(leaf: Leaf, verdict: Verdict) -> None:
    leaf.skip(0.6)
    leaf.text("Consistency note", larger=2.0, bold=True)
    leaf.skip(0.3)
    leaf.text(f"Figures checked: {verdict.claims.name}", larger=1.2)
    leaf.skip(0.3)
    leaf.text(headline(verdict), larger=1.2, bold=True)


def _measured(leaf: Leaf, part: MeasuredPart) -> None:
    leaf.heading("The part as measured")
    for choice in ("one", "both", "all"):
        area = part.area(choice)
        if area is not None:
            leaf.text(f"{WORDS[choice]}: {show(in_unit(area, 'cm2'))}", mark="•")
    thickness = "not known" if part.thickness is None else show(part.thickness)
    leaf.text(f"thickness: {thickness}", mark="•")


def _table(leaf: Leaf, verdict: Verdict) -> None:
    leaf.heading("What was compared")
    leaf.row(("compared", "claimed", "expected", "E_n", "", "outcome"), COMPARED, bold=True)
    for one in verdict.comparisons:
        outcome = agreement_words(one) if one.decides else f"(not claimed) {agreement_words(one)}"
        if one.note:
            outcome += f"; {one.note}"
        cells = (one.title, *value_words(one), error_words(one.normalised_error), "", outcome)
        leaf.row(cells, COMPARED, shade=one.decides and not verdict.agreement[one.key])
    for words in gap_words(verdict):
        leaf.text(words, mark="!")


def _floor(leaf: Leaf, verdict: Verdict) -> None:
    if verdict.floor is not None:
        leaf.heading("The minimum of metal")
        leaf.text(floor_words(verdict.floor), bold=verdict.floor.misses)


def _explanations(leaf: Leaf, verdict: Verdict) -> None:
    if not verdict.failing:
        return
    leaf.heading("What would explain it")
    for one in verdict.explanations[:MOST]:
        leaf.text(explanation_words(one, verdict), mark="?")
    left = len(verdict.explanations) - MOST
    if left > 0:
        leaf.text(f"and {left} more, which fit no better.", mark="?")
    titles = {one.key: one.title for one in verdict.comparisons if one.decides}
    for key in verdict.unexplained():
        leaf.text(f"{titles[key]}: not explained by the usual slips.", mark="?")
    if words := chance_words(verdict):
        leaf.text(words)
