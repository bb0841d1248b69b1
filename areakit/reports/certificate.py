"""The certificate of conformance of a released job as PDF: order, part, requirement, what was done, and its code."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import white
from reportlab.lib.units import mm
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, KeepTogether, PageTemplate, Spacer

from areakit.records.certificate import Code
from areakit.reports.certificate_text import described
from areakit.reports.document import FOOT, MARGIN, PAPERS, counting, foot_of, pairs, table
from areakit.reports.fonts import LEFT_OUT_WORDS, typeface
from areakit.reports.job_facts import Ring
from areakit.reports.traveller_parts import INK, OutlineDrawing, Styles, styles_for

_PICTURE = 46 * mm
"""Height of the outline."""
_SQUARE = 24 * mm
"""Side of the square that holds the code for a camera."""
_SCALES = (1.0, 0.95, 0.9, 0.85)
"""Sizes of type that are tried until it fits one page. [1]"""
COVERAGE = "± is the expanded uncertainty, coverage factor 2 (about 95 %)."


def certificate_pdf(
    statement: Mapping[str, Any], code: Code, *, rings: Sequence[Ring] = (), paper: str = "a4", font: Path | None = None
) -> bytes:
    """Return the certificate, the same bytes for the same record.

    - ``statement``: what :func:`areakit.reports.certificate_facts.statement_of` returned.
    - ``rings``: the outline of the part. [mm]
    - ``font``: a TrueType font with the letters that the shipped one lacks. What that lacks is left out, and the page
      says so.
    """
    face = typeface(font)
    made = []
    for scale in _SCALES:
        content, pages = _built(statement, code, rings, styles_for(face, scale=scale), paper)
        made.append(content)
        if pages == 1:
            return content
    return made[0]  # a longer one is set in the full size


def _built(
    statement: Mapping[str, Any], code: Code, rings: Sequence[Ring], styles: Styles, paper: str
) -> tuple[bytes, int]:
    """Return the PDF in one size of type, and how many pages it has."""
    size = PAPERS[paper]
    width = size[0] - 2 * MARGIN
    story = [
        *_head(statement, code, styles, width),
        *_order(statement, rings, styles, width),
        *_section("Requirement", ("required", "standard and edition", "minimum"), statement["requirements"],
                  (0.36, 0.48, 0.16), styles, width),
        *_section("Thickness on each piece", ("metal", "minimum required", "minimum by the charge that was run",
                  "readings"), statement["thickness"], (0.16, 0.18, 0.28, 0.38), styles, width),
        *_section("What was done", ("step", "when, by whom", "solution / bottle", "read", "charge"),
                  statement["work"], (0.30, 0.23, 0.19, 0.13, 0.15), styles, width),
        *_lines("Also recorded", statement["also"], styles),
        *_lines("Mass", statement["mass"], styles),
        *_section("Tests", ("test", "how", "result", "place", "when, by whom"), statement["tests"],
                  (0.19, 0.29, 0.14, 0.17, 0.21), styles, width),
        *_section("Solutions", ("bottle", "solution", "metal", "lot", "use by"), statement["bottles"],
                  (0.14, 0.32, 0.14, 0.22, 0.18), styles, width),
        *_exceptions(statement, styles),
        *_release(statement, code, styles, width),
    ]  # fmt: skip
    foot = foot_of(f"Job {code.number}   code {code}", styles)
    if styles.cut:
        story += [Spacer(1, 1 * mm), styles.words(LEFT_OUT_WORDS, styles.small)]
    buffer = io.BytesIO()
    title = styles.face.printable(f"{statement['title']}, job {code.number}")
    document = BaseDocTemplate(
        buffer, pagesize=size, title=title, author="areakit", invariant=1,
        subject=described(str(code)),
        leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=FOOT,
    )  # fmt: skip
    frame = Frame(
        MARGIN, FOOT, width, size[1] - MARGIN - FOOT, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0
    )
    document.addPageTemplates([PageTemplate(id="page", frames=[frame], onPage=foot)])
    document.build(story, canvasmaker=counting(styles, size[0]))
    return buffer.getvalue(), int(document.page)


def _head(statement: Mapping[str, Any], code: Code, styles: Styles, width: float) -> list[Flowable]:
    by, at = statement["issued"]
    style = styles.alarm if statement["exceptions"] else styles.bold
    title = [[styles.words(statement["title"], styles.title)], [styles.words(f"Job {code.number}, {at}, {by}")]]
    rule = ("LINEBELOW", (0, -1), (-1, -1), 1.0, INK)
    plain = ("LINEBELOW", (0, 0), (-1, 0), 0, white)
    return [table(title, (width,), plain, rule), Spacer(1, 2 * mm), styles.words(statement["conforms"], style)]


def _order(statement: Mapping[str, Any], rings: Sequence[Ring], styles: Styles, width: float) -> list[Flowable]:
    """Return order and area on the left, the outline on the right."""
    left = (0.56 if rings else 1.0) * width
    rows = [(row[0], row[1]) for row in (*statement["order"], *statement["area"])]
    cells: list[Any] = [[pairs(rows, styles, left - 2 * mm), styles.words(COVERAGE, styles.small)]]
    if rings:
        room = (width - left - 4 * mm, _PICTURE)
        cells.append([OutlineDrawing(rings, (), room=room, face=styles.face)])
    plain = ("LINEBELOW", (0, 0), (-1, -1), 0, white)
    return [styles.words("Order and part", styles.heading), table([cells], (left, width - left)[: len(cells)], plain)]


def _section(
    title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float], styles: Styles,
    width: float,
) -> list[Flowable]:  # fmt: skip
    """Return a heading and its table; one that has no rows says so."""
    if not rows:
        return [KeepTogether([styles.words(title, styles.heading), styles.words("Nothing is recorded.")])]
    head = [styles.words(text, styles.small) for text in heads]
    body = [[styles.words(cell) for cell in row] for row in rows]
    listed = table([head, *body], [share * width for share in shares], header=True)
    return [KeepTogether([styles.words(title, styles.heading), listed])]


def _lines(title: str, told: Sequence[str], styles: Styles) -> list[Flowable]:
    return [Spacer(1, 1 * mm), styles.words(f"{title}: {'; '.join(told)}.", styles.small)] if told else []


def _exceptions(statement: Mapping[str, Any], styles: Styles) -> list[Flowable]:
    told = statement["exceptions"]
    lines = [styles.words(f"• {line}", styles.body) for line in told] or [styles.words("None.")]
    count = statement["corrections"]
    if count:
        words = f"Corrected entries: {count}; the record keeps what stood before, by whom and why."
        lines.append(styles.words(words, styles.small))
    return [KeepTogether([styles.words("Exceptions", styles.heading), *lines])]


def _release(statement: Mapping[str, Any], code: Code, styles: Styles, width: float) -> list[Flowable]:
    """Return who released it, the line to sign on, and the code, with its square for a camera."""
    head = [styles.words(text, styles.small) for text in ("released by", "role", "on", "statement", "signature")]
    row: list[Any] = [*(styles.words(cell or "-") for cell in statement["released"]), ""]
    shares = (0.18, 0.15, 0.14, 0.24, 0.29)
    signed = table(
        [head, row], [share * width for share in shares], ("BOTTOMPADDING", (0, 1), (-1, 1), 22), header=True
    )
    words = [
        styles.words(f"Code {code}", styles.bold),
        styles.words(
            f"areakit job verify {code.number} CODE holds this code against the record, and so does this file in its "
            "place; a changed record, a changed code and another job are each told. The code joins this page to its "
            "record; it is no signature.",
            styles.small,
        ),
    ]
    plain = ("LINEBELOW", (0, 0), (-1, -1), 0, white)
    middle = ("VALIGN", (0, 0), (-1, -1), "MIDDLE")
    proof = table([[_square(str(code)), words]], (_SQUARE + 3 * mm, width - _SQUARE - 3 * mm), plain, middle)
    return [KeepTogether([styles.words("Release", styles.heading), signed, Spacer(1, 2 * mm), proof])]


def _square(text: str) -> Drawing:
    """Return a code as a square of modules for a camera (ISO/IEC 18004), with its quiet zone of four modules."""
    widget = QrCodeWidget(text, barLevel="M", barBorder=4)
    low_x, low_y, high_x, _ = widget.getBounds()
    scale = _SQUARE / (high_x - low_x)
    return Drawing(_SQUARE, _SQUARE, widget, transform=[scale, 0, 0, scale, -low_x * scale, -low_y * scale])
