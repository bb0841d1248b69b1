"""The traveller of a job as PDF, A4 or Letter: what the bench needs in order, blanks where nothing is recorded yet."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportlab.lib.colors import Color, white
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, KeepTogether, PageTemplate, Spacer, Table, TableStyle

from areakit.output import write_whole
from areakit.plating.distribution import ThicknessMap
from areakit.plating.strokes import StrokePlan
from areakit.reports.fonts import typeface
from areakit.reports.job_facts import GENERAL_CAUTION, JobFacts, StepFacts, run_line
from areakit.reports.pattern_drawing import LanesDrawing, ThicknessDrawing
from areakit.reports.traveller_parts import (
    INK,
    LINE,
    SOFT,
    Blank,
    OutlineDrawing,
    ShareBars,
    Styles,
    TickBox,
    fitted_picture,
    styles_for,
)

PAPERS = {"a4": (210 * mm, 297 * mm), "letter": (215.9 * mm, 279.4 * mm)}
MARGIN, FOOT = 14 * mm, 15 * mm
_SHADE = Color(0.94, 0.95, 0.96)
_BLANK = "................"


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

    Parameters
    ----------
    paper : str
        ``a4`` or ``letter``.
    printed : str
        When it is printed, for the foot of each page.
    font : Path, optional
        A TrueType font with the letters that the shipped one lacks.

    Raises
    ------
    FileError
        If the file cannot be written.
    InputError
        If the font has no sign for a letter.
    """
    styles = styles_for(typeface(font), font)
    size = PAPERS[paper]
    width = size[0] - 2 * MARGIN
    shown = pictures or Pictures()
    story = [
        *_head(facts, shown, styles, width),
        *_areas(facts, styles, width),
        *_steps(facts, styles, width),
        *_patterns(shown, styles, width),
        *_results(facts, styles, width),
        *_cautions(facts, styles),
        *_sign_off(facts, styles, width),
    ]
    buffer = io.BytesIO()
    document = BaseDocTemplate(
        buffer, pagesize=size, title=f"Job {facts.number}", author="areakit", invariant=1,
        leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=FOOT,
    )  # fmt: skip
    frame = Frame(
        MARGIN, FOOT, width, size[1] - MARGIN - FOOT, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0
    )
    foot = _foot(facts, printed, styles)
    document.addPageTemplates([PageTemplate(id="page", frames=[frame], onPage=foot)])
    document.build(story, canvasmaker=_counting(styles, size[0]))
    write_whole(target, buffer.getvalue())


def _counting(styles: Styles, width: float) -> type[Canvas]:
    """Return a canvas that writes ``page n of m`` once it knows m."""

    class Counting(Canvas):
        def __init__(self, *arguments: Any, **named: Any) -> None:
            super().__init__(*arguments, **named)
            self._kept: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802
            self._kept.append(dict(self.__dict__))
            self._startPage()  # type: ignore[attr-defined]

        def save(self) -> None:
            for number, state in enumerate(self._kept, start=1):
                self.__dict__.update(state)
                self.setFont(styles.face.regular, 7)
                self.setFillColor(SOFT)
                self.drawRightString(width - MARGIN, 8 * mm, f"page {number} of {len(self._kept)}")
                super().showPage()
            super().save()

    return Counting


def _foot(facts: JobFacts, printed: str, styles: Styles) -> Any:
    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        canvas.saveState()
        canvas.setStrokeColor(LINE)
        canvas.setLineWidth(0.4)
        canvas.line(MARGIN, 12 * mm, MARGIN + document.width, 12 * mm)
        canvas.setFont(styles.face.regular, 7)
        canvas.setFillColor(SOFT)
        words = f"Job {facts.number}   {facts.state}   printed {printed}   record {facts.seal}"
        canvas.drawString(MARGIN, 8 * mm, words)
        canvas.restoreState()

    return draw


def _table(rows: Sequence[list[Any]], widths: Sequence[float], *extra: tuple[Any, ...], header: bool = False) -> Table:
    style = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("TOPPADDING", (0, 0), (-1, -1), 1.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ("LINEBELOW", (0, 0), (-1, -1), 0.3, LINE),
        *([("BACKGROUND", (0, 0), (-1, 0), _SHADE)] if header else []),
        *extra,
    ]
    return Table(list(rows), colWidths=list(widths), style=TableStyle(style), repeatRows=int(header), hAlign="LEFT")


def _pairs(rows: Sequence[tuple[str, str]], styles: Styles, width: float) -> Table:
    body = [[styles.words(label, styles.small), styles.words(value)] for label, value in rows]
    return _table(body, (0.38 * width, 0.62 * width))


def _head(facts: JobFacts, shown: Pictures, styles: Styles, width: float) -> list[Flowable]:
    title = [[styles.words(f"Job {facts.number}, {facts.state}", styles.title)]]
    rule = ("LINEBELOW", (0, 0), (-1, -1), 1.0, INK)
    story: list[Flowable] = [_table(title, (width,), rule), Spacer(1, 2 * mm)]
    half = width / 2 - 2 * mm
    cells: list[Any] = []
    if shown.photo is not None:
        cells.append(fitted_picture(shown.photo, room=(half, 82 * mm)))
    if facts.rings:
        cells.append(OutlineDrawing(facts.rings, facts.marks, room=(half, 82 * mm), face=styles.face))
    order = _pairs(facts.order, styles, half if cells else width)
    if len(cells) == 1:
        cells.insert(0, order)
    else:
        story += [_pairs(facts.order, styles, width)]
    if cells:
        plain = ("LINEBELOW", (0, 0), (-1, -1), 0, white)
        story += [Spacer(1, 2 * mm), _table([cells], (width / 2, width / 2), plain)]
    story += [styles.words(f"{mark.sign}: {mark.words}", styles.small) for mark in facts.marks]
    return story


def _areas(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    if not facts.areas and not facts.requirements:
        return []
    left: list[Flowable] = [_pairs(facts.areas, styles, 0.5 * width)] if facts.areas else []
    right: list[Flowable] = []
    if facts.budget:
        right = [
            styles.words("What makes the uncertainty of the plated area (share of variance)", styles.small),
            Spacer(1, 1 * mm),
            ShareBars(facts.budget, width=0.46 * width, face=styles.face),
        ]
    parts: list[Flowable] = [styles.words("Area and requirement", styles.heading)]
    plain = ("LINEBELOW", (0, 0), (-1, -1), 0, white)
    parts.append(_table([[left or "", right or ""]], (0.52 * width, 0.48 * width), plain))
    if facts.areas:
        parts.append(styles.words("± is the expanded uncertainty, coverage factor 2 (about 95 %).", styles.small))
    parts += [Spacer(1, 1.5 * mm), *(styles.words(line) for line in facts.requirements)]
    return [KeepTogether(parts)]


def _steps(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    if not facts.steps:
        return []
    rows: list[list[Any]] = [[styles.words(head, styles.small) for head in ("", "step", "readings", "cautions")]]
    for step in facts.steps:
        name: list[Flowable] = [styles.words(f"{step.number}  {step.title}", styles.bold)]
        if step.target:
            name.append(styles.words(f"Charge: {step.target}"))
        name += [styles.words(note, styles.small) for note in step.notes]
        cautions = [styles.words(text, styles.caution) for text in step.cautions]
        rows.append([TickBox(ticked=step.met), name, _readings(step, styles, 0.36 * width), cautions])
    widths = (7 * mm, 0.35 * width - 7 * mm, 0.37 * width, 0.28 * width)
    return [styles.words("Steps", styles.heading), _table(rows, widths, header=True)]


# label and key of a run
_PLATED = (
    ("solution, bottle", "bottle"),
    ("voltage", "voltage"),
    ("current", "current"),
    ("temperature", "temperature"),
    ("begun", "begun"),
    ("ended", "ended"),
    ("charge", "charge"),
    ("who", "who"),
)
_POWERED = (("solution, bottle", "bottle"), ("voltage", "voltage"), ("begun", "begun"), ("who", "who"))
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
    return [_table(rows, [one] * 4, *plain, ("TOPPADDING", (0, 0), (-1, -1), 0))]


def _patterns(shown: Pictures, styles: Styles, width: float) -> list[Flowable]:
    story: list[Flowable] = []
    if shown.lanes is not None:
        plan = shown.lanes
        words = (
            f"{len(plan.lanes)} lanes, {plan.lifts} lifts, contact {plan.brush.contact_width_mm:g} × "
            f"{plan.brush.contact_length_mm:g} mm, overlap {plan.brush.overlap * 100:.0f} %, "
            f"{plan.seconds_per_pass:.1f} s a pass; distribution allowance {plan.allowance:.2f}."
        )
        drawing: Flowable = LanesDrawing(plan, room=(width, 105 * mm), face=styles.face)
        story.append(
            KeepTogether([styles.words("Stroke lanes", styles.heading), drawing, styles.words(words, styles.small)])
        )
    if shown.thickness is not None:
        map_ = shown.thickness
        words = f"Predicted; distribution allowance {map_.allowance:.2f} (mean over least thickness)."
        drawing = ThicknessDrawing(map_, room=(width, 95 * mm), face=styles.face)
        story.append(
            KeepTogether([styles.words("Thickness map", styles.heading), drawing, styles.words(words, styles.small)])
        )
    return story


def _results(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    head = [styles.words(text, styles.small) for text in ("test", "result", "place on the part", "who, when, remarks")]
    rows: list[list[Any]] = [[styles.words(cell) for cell in row] for row in facts.results]
    blanks = max(0, 3 - len(rows))
    rows += [["", "", "", ""] for _ in range(blanks)]
    widths = (0.24 * width, 0.2 * width, 0.28 * width, 0.28 * width)
    table = _table([head, *rows], widths, ("BOTTOMPADDING", (0, 1 + len(facts.results)), (-1, -1), 14), header=True)
    story: list[Flowable] = [KeepTogether([styles.words("Results", styles.heading), table])]
    mass = "; ".join(facts.weighings) if facts.weighings else f"before {_BLANK}   after {_BLANK}   gain {_BLANK}"
    story += [Spacer(1, 2 * mm), styles.words(f"Mass: {mass}")]
    story += [styles.words(line) for line in facts.remarks]
    return story


def _cautions(facts: JobFacts, styles: Styles) -> list[Flowable]:
    parts: list[Flowable] = []
    if facts.findings:
        parts.append(styles.words("To decide knowingly", styles.heading))
        parts += [styles.words(f"• {line}", styles.small) for line in facts.findings]
    parts.append(styles.words("Cautions", styles.heading))
    known = {text for step in facts.steps for text in step.cautions}
    parts += [styles.words(f"• {line}", styles.caution) for line in facts.cautions if line not in known]
    if GENERAL_CAUTION not in facts.cautions:
        parts.append(styles.words(f"• {GENERAL_CAUTION}", styles.caution))
    return parts


def _sign_off(facts: JobFacts, styles: Styles, width: float) -> list[Flowable]:
    head = [styles.words(text, styles.small) for text in ("name", "date and time", "statement", "signature")]
    rows: list[list[Any]] = [[*(styles.words(cell) for cell in row), ""] for row in facts.signatures]
    rows += [["", "", "", ""] for _ in range(max(1, 2 - len(rows)))]
    widths = (0.24 * width, 0.2 * width, 0.3 * width, 0.26 * width)
    table = _table([head, *rows], widths, ("BOTTOMPADDING", (0, 1), (-1, -1), 13), header=True)
    parts: list[Flowable] = [styles.words("Sign-off", styles.heading), table]
    if facts.changes:
        parts.append(Spacer(1, 1 * mm))
        parts.append(
            styles.words(f"Corrections: {len(facts.changes)}; the record keeps what stood before.", styles.small)
        )
        parts += [styles.words(line, styles.small) for line in facts.changes]
    return [KeepTogether(parts)]
