"""The traveller of a job as PDF, A4 or Letter: what the bench needs in order, blanks where nothing is recorded yet."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportlab.lib.colors import white
from reportlab.lib.units import mm
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, KeepTogether, PageTemplate, Spacer

from areakit.output import write_whole
from areakit.plating.distribution import ThicknessMap
from areakit.plating.strokes import StrokePlan
from areakit.reports.document import FOOT, MARGIN, PAPERS, counting, foot_of, pairs, table
from areakit.reports.fonts import LEFT_OUT_WORDS, typeface
from areakit.reports.job_facts import JobFacts
from areakit.reports.pattern_drawing import LanesDrawing, ThicknessDrawing, lanes_words
from areakit.reports.step_facts import Hazard, StepFacts, run_line
from areakit.reports.traveller_parts import (
    INK,
    RED,
    Blank,
    OutlineDrawing,
    ShareBars,
    Styles,
    TickBox,
    fitted_picture,
    styles_for,
)

PAGES = 2
"""Pages of a traveller that nothing is recorded on yet; a record that is longer takes more."""
_SCALES = (1.0, 0.95, 0.9, 0.85)
"""Sizes of type that are tried until it fits them. [1]"""
_BLANK = "................"
_LEFT = 0.42
"""Share of the width for order and photo, where there is an outline beside them."""
_PICTURE = 53 * mm
"""Height of the outline, and of order and photo together."""
_SEEN = 0.4
"""Share of the outline's room that it keeps beside its lanes, where these lie over its outside laid flat."""
_PATTERN = 80 * mm
"""Height of the map."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """What a traveller shows beside words: the photo as JPEG, and what was computed for the outline."""

    photo: bytes | None = None
    lanes: StrokePlan | None = None
    thickness: ThicknessMap | None = None


def write_traveller(
    facts: JobFacts,
    target: Path,
    *,
    paper: str,
    printed: str,
    pictures: Pictures | None = None,
    font: Path | None = None,
) -> None:
    """Write the traveller as PDF.

    - ``paper``: ``a4`` or ``letter``.
    - ``printed``: when it is printed, for the foot of each page.
    - ``font``: a TrueType font with the letters that the shipped one lacks. What that lacks is left out, and the page
      says so.

    Raises FileError if the file cannot be written.
    """
    face = typeface(font)
    made = [b""]
    for scale in _SCALES:
        content, pages = _built(
            facts, pictures or Pictures(), styles_for(face, scale=scale), paper=paper, printed=printed
        )
        made.append(content)
        if pages <= PAGES:
            break
    else:
        made = made[:2]  # a longer record is set in the full size
    write_whole(target, made[-1])


def _built(facts: JobFacts, shown: Pictures, styles: Styles, *, paper: str, printed: str) -> tuple[bytes, int]:
    """Return the PDF in one size of type, and how many pages it has."""
    size = PAPERS[paper]
    width = size[0] - 2 * MARGIN
    story = [
        *_title(facts, styles, width),
        *_hazards(facts.hazards, styles, width),
        *_order(facts, shown, styles, width),
        *_areas(facts, styles, width),
        *_steps(facts, styles, width),
        *_patterns(shown, styles, width),
        *_results(facts, styles, width),
        *_findings(facts, styles),
        *_sign_off(facts, styles, width),
    ]
    foot = foot_of(f"Job {facts.number}   {facts.state}   printed {printed}   record {facts.seal}", styles)
    if styles.cut:
        story += [Spacer(1, 1 * mm), styles.words(LEFT_OUT_WORDS, styles.small)]
    buffer = io.BytesIO()
    document = BaseDocTemplate(
        buffer, pagesize=size, title=styles.face.printable(f"Job {facts.number}"), author="areakit", invariant=1,
        leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=FOOT,
    )  # fmt: skip
    frame = Frame(
        MARGIN, FOOT, width, size[1] - MARGIN - FOOT, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0
    )
    document.addPageTemplates([PageTemplate(id="page", frames=[frame], onPage=foot)])
    document.build(story, canvasmaker=counting(styles, size[0]))
    return buffer.getvalue(), int(document.page)


def _title(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    title = [[styles.words(f"Job {facts.number}, {facts.state}", styles.title)]]
    rule = ("LINEBELOW", (0, 0), (-1, -1), 1.0, INK)
    return [table(title, (width,), rule), Spacer(1, 2 * mm)]


def _hazards(hazards: Sequence[Hazard], styles: Styles, width: float) -> list[Flowable]:
    """Return the box that everybody reads first: each hazard once, with the steps that bring it along."""
    general = [styles.words(f"HAZARDS. {one.text}", styles.alarm) for one in hazards if not one.name]
    named = [one for one in hazards if one.name]
    lines = [styles.words(f"{one.name.upper()} ({one.where}): {one.text}", styles.caution) for one in named]
    half = _balanced([len(one.text) for one in named])
    rows: list[list[Any]] = [[general, ""]]
    if lines:
        rows.append([lines[:half], lines[half:]])
    frame = (("LINEBELOW", (0, 0), (-1, -1), 0, white), ("BOX", (0, 0), (-1, -1), 1.0, RED), ("SPAN", (0, 0), (1, 0)))
    return [table(rows, (width / 2, width / 2), *frame), Spacer(1, 2 * mm)]


def _balanced(lengths: Sequence[int]) -> int:
    """Return how many of the texts go into the left of two columns, so that both are about as long."""
    return min(range(len(lengths) + 1), key=lambda count: abs(sum(lengths[:count]) - sum(lengths[count:])))


def _order(facts: JobFacts, shown: Pictures, styles: Styles, width: float) -> list[Flowable]:
    """Return order and photo on the left; on the right the outline, with the lanes of one pass where there are any."""
    left, right = (_LEFT * width, (1.0 - _LEFT) * width) if facts.rings else (width, 0.0)
    order: list[Flowable] = [pairs(facts.order, styles, left - 2 * mm)]
    if shown.photo is not None:
        room = (left - 4 * mm, _PICTURE - 6 * mm * len(facts.order))
        order += [Spacer(1, 2 * mm), fitted_picture(shown.photo, room=room)]
    cells: list[Any] = [order]
    if facts.rings:
        cells.append(_outline(facts, shown.lanes, styles, right - 4 * mm))
    plain = ("LINEBELOW", (0, 0), (-1, -1), 0, white)
    return [
        table([cells], (left, right)[: len(cells)], plain),
        *(styles.words(f"{mark.sign}: {mark.words}", styles.small) for mark in facts.marks),
    ]


def _outline(facts: JobFacts, lanes: StrokePlan | None, styles: Styles, width: float) -> list[Flowable]:
    room = (width, _PICTURE)
    if lanes is None:
        return [OutlineDrawing(facts.rings, facts.marks, room=room, face=styles.face, ruled=True)]
    words = (styles.words(line, styles.small) for line in lanes_words(lanes, facts))
    if not facts.form:
        return [LanesDrawing(lanes, facts.marks, room=room, face=styles.face, ruled=True), *words]
    left, right = _SEEN * width, (1.0 - _SEEN) * width
    seen = OutlineDrawing(
        facts.rings, facts.marks, room=(left - 3 * mm, _PICTURE - 8 * mm), face=styles.face, ruled=True
    )
    flat = LanesDrawing(lanes, (), room=(right - 3 * mm, _PICTURE - 8 * mm), face=styles.face)
    named = (
        styles.words(text, styles.small) for text in ("As seen", "Its outside laid flat, as a brush is led over it")
    )
    return [table([list(named), [seen, flat]], (left, right), ("LINEBELOW", (0, 0), (-1, -1), 0, white)), *words]


def _areas(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    if not facts.areas and not facts.requirements:
        return []
    left: list[Flowable] = [pairs(facts.areas, styles, 0.5 * width)] if facts.areas else []
    right: list[Flowable] = []
    if facts.budget:
        right = [
            styles.words("What makes the uncertainty of the plated area (share of variance)", styles.small),
            Spacer(1, 1 * mm),
            ShareBars(facts.budget, width=0.46 * width, face=styles.face),
        ]
    parts: list[Flowable] = [styles.words("Area and requirement", styles.heading)]
    plain = ("LINEBELOW", (0, 0), (-1, -1), 0, white)
    parts.append(table([[left or "", right or ""]], (0.52 * width, 0.48 * width), plain))
    if facts.areas:
        parts.append(styles.words("± is the expanded uncertainty, coverage factor 2 (about 95 %).", styles.small))
    parts += [Spacer(1, 1.5 * mm), *(styles.words(line) for line in facts.requirements)]
    return [KeepTogether(parts)]


def _steps(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    if not facts.steps:
        return []
    heads = ("", "step", "set", "read")
    rows: list[list[Any]] = [[styles.words(head, styles.small) for head in heads]]
    for step in facts.steps:
        name: list[Flowable] = [styles.words(f"{step.number}  {step.title}", styles.bold)]
        name += [styles.words(" ".join(step.notes), styles.small)] if step.notes else []
        strong = styles.bold if step.plates else styles.body
        planned = [styles.words(line, strong) for line in step.planned]
        planned += [styles.words(f"! {', '.join(step.hazards)}", styles.caution)] if step.hazards else []
        rows.append([TickBox(ticked=step.met), name, planned, _readings(step, styles, 0.27 * width)])
    widths = (7 * mm, 0.44 * width - 7 * mm, 0.28 * width, 0.28 * width)
    told: list[Flowable] = []
    if facts.hands:
        told = [Spacer(1, 1.5 * mm), styles.words(f"Hands and hours. {' '.join(facts.hands)}")]
    return [styles.words("Steps", styles.heading), table(rows, widths, header=True), *told]


# label and key of a run
_PLATED = (
    ("bottle", "bottle"),
    ("voltage", "voltage"),
    ("current", "current"),
    ("temperature", "temperature"),
    ("begun", "begun"),
    ("ended", "ended"),
    ("charge", "charge"),
    ("who", "who"),
)
_POWERED = (("bottle", "bottle"), ("voltage", "voltage"), ("begun", "begun"), ("who", "who"))
_OTHER = (("begun", "begun"), ("who", "who"))


def _readings(step: StepFacts, styles: Styles, width: float) -> list[Flowable]:
    """Return what was recorded, or lines to write on, four beside each other."""
    if step.runs:
        return [styles.words(run_line(run)) for run in step.runs]
    asked = _PLATED if step.plates else _POWERED if step.powered else _OTHER
    one = (width - 4 * mm) / 4
    cells: list[Any] = [Blank(label, width=one, face=styles.face) for label, _ in asked]
    cells += [""] * (-len(cells) % 4)
    rows = [cells[at : at + 4] for at in range(0, len(cells), 4)]
    plain = [("LINEBELOW", (0, 0), (-1, -1), 0, white), ("LEFTPADDING", (0, 0), (-1, -1), 0)]
    return [table(rows, [one] * 4, *plain, ("TOPPADDING", (0, 0), (-1, -1), 0))]


def _patterns(shown: Pictures, styles: Styles, width: float) -> list[Flowable]:
    story: list[Flowable] = []
    if shown.thickness is not None:
        map_ = shown.thickness
        told = f"Predicted; distribution allowance {map_.allowance:.2f} (mean over minimum thickness)."
        drawing = ThicknessDrawing(map_, room=(width, _PATTERN), face=styles.face)
        story.append(
            KeepTogether([styles.words("Thickness map", styles.heading), drawing, styles.words(told, styles.small)])
        )
    return story


def _results(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    head = [styles.words(text, styles.small) for text in ("test", "result", "place on the part", "who, when, remarks")]
    rows: list[list[Any]] = [[styles.words(cell) for cell in row] for row in facts.results]
    blanks = max(0, 3 - len(rows))
    rows += [["", "", "", ""] for _ in range(blanks)]
    widths = (0.24 * width, 0.2 * width, 0.28 * width, 0.28 * width)
    listed = table([head, *rows], widths, ("BOTTOMPADDING", (0, 1 + len(facts.results)), (-1, -1), 11), header=True)
    story: list[Flowable] = [KeepTogether([styles.words("Results", styles.heading), listed])]
    mass = "; ".join(facts.weighings) if facts.weighings else f"before {_BLANK}   after {_BLANK}   gain {_BLANK}"
    story += [Spacer(1, 2 * mm), styles.words(f"Mass: {mass}")]
    story += [styles.words(line) for line in facts.remarks]
    if facts.outcomes:
        story.append(styles.words("Against the prediction", styles.heading))
        story += [styles.words(f"• {line}") for line in facts.outcomes]
    return story


def _findings(facts: JobFacts, styles: Styles) -> list[Flowable]:
    if not facts.findings:
        return []
    return [
        styles.words("To decide knowingly", styles.heading),
        *(styles.words(f"• {line}", styles.small) for line in facts.findings),
    ]


def _sign_off(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    head = [styles.words(text, styles.small) for text in ("name", "date and time", "statement", "signature")]
    rows: list[list[Any]] = [[*(styles.words(cell) for cell in row), ""] for row in facts.signatures]
    rows += [["", "", "", ""] for _ in range(max(1, 2 - len(rows)))]
    widths = (0.24 * width, 0.2 * width, 0.3 * width, 0.26 * width)
    listed = table([head, *rows], widths, ("BOTTOMPADDING", (0, 1), (-1, -1), 11), header=True)
    parts: list[Flowable] = [styles.words("Sign-off", styles.heading), listed]
    if facts.changes:
        parts.append(Spacer(1, 1 * mm))
        parts.append(
            styles.words(f"Corrections: {len(facts.changes)}; the record keeps what stood before.", styles.small)
        )
        parts += [styles.words(line, styles.small) for line in facts.changes]
    return [KeepTogether(parts)]
