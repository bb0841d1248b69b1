"""The traveller of a job as PDF, A4 or Letter: what the bench needs in order, blanks where nothing is recorded yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer

from areakit.output import write_whole
from areakit.plating.distribution import ThicknessMap
from areakit.plating.strokes import StrokePlan
from areakit.reports.document import (
    INK,
    RED,
    Blank,
    ShareBars,
    Styles,
    TickBox,
    fitted,
    fitted_picture,
    pairs,
    section,
    table,
)
from areakit.reports.fonts import typeface
from areakit.reports.job_facts import JobFacts
from areakit.reports.part_drawing import LanesDrawing, OutlineDrawing, ThicknessDrawing, lanes_words
from areakit.reports.step_facts import Hazard, StepFacts, run_line

PAGES = 2
"""Pages of a traveller that nothing is recorded on yet; a record that is longer takes more."""
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
    shown = pictures or Pictures()

    def story_of(styles: Styles, width: float) -> list[Flowable]:
        return [
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

    foot = f"Job {facts.number}   {facts.state}   printed {printed}   record {facts.seal}"
    title = f"Job {facts.number}"
    content, _ = fitted(story_of, face=typeface(font), paper=paper, title=title, most_pages=PAGES, foot=foot)
    write_whole(target, content)


def _title(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    title = [[styles.words(f"Job {facts.number}, {facts.state}", styles.title)]]
    return [table(title, (width,), ("LINEBELOW", (0, 0), (-1, -1), 1.0, INK)), Spacer(1, 2 * mm)]


def _hazards(hazards: Sequence[Hazard], styles: Styles, width: float) -> list[Flowable]:
    """Return the box that everybody reads first: each hazard once, with the steps that bring it along."""
    general = [styles.words(f"HAZARDS. {one.text}", styles.alarm) for one in hazards if not one.name]
    named = [one for one in hazards if one.name]
    lines = [styles.words(f"{one.name.upper()} ({one.where}): {one.text}", styles.caution) for one in named]
    half = _balanced([len(one.text) for one in named])
    rows: list[list[Any]] = [[general, ""]]
    if lines:
        rows.append([lines[:half], lines[half:]])
    frame = (("BOX", (0, 0), (-1, -1), 1.0, RED), ("SPAN", (0, 0), (1, 0)))
    return [table(rows, (width / 2, width / 2), *frame, ruled=False), Spacer(1, 2 * mm)]


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
    return [
        table([cells], (left, right)[: len(cells)], ruled=False),
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
    return [table([list(named), [seen, flat]], (left, right), ruled=False), *words]


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
    parts.append(table([[left or "", right or ""]], (0.52 * width, 0.48 * width), ruled=False))
    if facts.areas:
        parts.append(styles.words("± is the expanded uncertainty, coverage factor 2 (about 95 %).", styles.small))
    parts += [Spacer(1, 1.5 * mm), *(styles.words(line) for line in facts.requirements)]
    return [KeepTogether(parts)]


def _steps(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    if not facts.steps:
        return []
    rows = [styles.row(("", "step", "set", "read"), styles.small)]
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


_PLATED = ("bottle", "voltage", "current", "temperature", "begun", "ended", "charge", "who")
_POWERED = ("bottle", "voltage", "begun", "who")
_OTHER = ("begun", "who")


def _readings(step: StepFacts, styles: Styles, width: float) -> list[Flowable]:
    """Return what was recorded, or lines to write on, four beside each other."""
    if step.runs:
        return [styles.words(run_line(run)) for run in step.runs]
    asked = _PLATED if step.plates else _POWERED if step.powered else _OTHER
    one = (width - 4 * mm) / 4
    cells: list[Any] = [Blank(label, width=one, face=styles.face) for label in asked]
    cells += [""] * (-len(cells) % 4)
    rows = [cells[at : at + 4] for at in range(0, len(cells), 4)]
    close = [(side, (0, 0), (-1, -1), 0) for side in ("LEFTPADDING", "TOPPADDING")]
    return [table(rows, [one] * 4, *close, ruled=False)]


def _patterns(shown: Pictures, styles: Styles, width: float) -> list[Flowable]:
    map_ = shown.thickness
    if map_ is None:
        return []
    told = f"Predicted; distribution allowance {map_.allowance:.2f} (mean over minimum thickness)."
    drawing = ThicknessDrawing(map_, room=(width, _PATTERN), face=styles.face)
    return [KeepTogether([styles.words("Thickness map", styles.heading), drawing, styles.words(told, styles.small)])]


def _results(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    rows = [*facts.results, *[("",) * 4] * max(0, 3 - len(facts.results))]
    heads = ("test", "result", "place on the part", "who, when, remarks")
    shares = (0.24, 0.2, 0.28, 0.28)
    room = ("BOTTOMPADDING", (0, 1 + len(facts.results)), (-1, -1), 11)
    story: list[Flowable] = [
        KeepTogether(section("Results", heads, rows, room, shares=shares, styles=styles, width=width))
    ]
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
    rows = [(*row, "") for row in facts.signatures]
    rows += [("",) * 4] * max(1, 2 - len(rows))
    heads, shares = ("name", "date and time", "statement", "signature"), (0.24, 0.2, 0.3, 0.26)
    room = ("BOTTOMPADDING", (0, 1), (-1, -1), 11)
    parts = section("Sign-off", heads, rows, room, shares=shares, styles=styles, width=width)
    if facts.changes:
        parts.append(Spacer(1, 1 * mm))
        parts.append(
            styles.words(f"Corrections: {len(facts.changes)}; the record keeps what stood before.", styles.small)
        )
        parts += [styles.words(line, styles.small) for line in facts.changes]
    return [KeepTogether(parts)]
