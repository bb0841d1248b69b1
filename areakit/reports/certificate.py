"""The certificate of conformance of a released job as PDF: order, part, requirement, what was done, and its code."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer

from areakit.records.certificate import Code
from areakit.reports.certificate_facts import described
from areakit.reports.document import (
    INK,
    Styles,
    fitted,
    pairs,
    section,
    table,
)
from areakit.reports.fonts import typeface
from areakit.reports.job_facts import Ring
from areakit.reports.part_drawing import OutlineDrawing

_PICTURE = 46 * mm
"""Height of the outline."""
_SQUARE = 24 * mm
"""Side of the square that holds the code for a camera."""
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

    def story_of(styles: Styles, width: float) -> list[Flowable]:
        def listed(title: str, heads: Sequence[str], rows: str, shares: Sequence[float]) -> Flowable:
            if not statement[rows]:
                return KeepTogether([styles.words(title, styles.heading), styles.words("Nothing is recorded.")])
            return KeepTogether(section(title, heads, statement[rows], shares=shares, styles=styles, width=width))

        return [
            *_head(statement, code, styles, width),
            *_order(statement, rings, styles, width),
            listed("Requirement", ("required", "standard and edition", "minimum"), "requirements", (0.36, 0.48, 0.16)),
            listed("Thickness on each piece", ("metal", "minimum required", "minimum by the charge that was run",
                   "readings"), "thickness", (0.16, 0.18, 0.28, 0.38)),
            listed("What was done", ("step", "when, by whom", "solution / bottle", "read", "charge"), "work",
                   (0.30, 0.23, 0.19, 0.13, 0.15)),
            *_lines("Also recorded", statement["also"], styles),
            *_lines("Mass", statement["mass"], styles),
            listed("Tests", ("test", "how", "result", "place", "when, by whom"), "tests",
                   (0.19, 0.29, 0.14, 0.17, 0.21)),
            listed("Solutions", ("bottle", "solution", "metal", "lot", "use by"), "bottles",
                   (0.14, 0.32, 0.14, 0.22, 0.18)),
            *_exceptions(statement, styles),
            *_release(statement, code, styles, width),
        ]  # fmt: skip

    title, foot = f"{statement['title']}, job {code.number}", f"Job {code.number}   code {code}"
    content, _ = fitted(
        story_of, face=typeface(font), paper=paper, title=title, most_pages=1, foot=foot, subject=described(str(code))
    )
    return content


def _head(statement: Mapping[str, Any], code: Code, styles: Styles, width: float) -> list[Flowable]:
    by, at = statement["issued"]
    style = styles.alarm if statement["exceptions"] else styles.bold
    title = [[styles.words(statement["title"], styles.title)], [styles.words(f"Job {code.number}, {at}, {by}")]]
    rule = ("LINEBELOW", (0, -1), (-1, -1), 1.0, INK)
    return [table(title, (width,), rule, ruled=False), Spacer(1, 2 * mm), styles.words(statement["conforms"], style)]


def _order(statement: Mapping[str, Any], rings: Sequence[Ring], styles: Styles, width: float) -> list[Flowable]:
    """Return order and area on the left, the outline on the right."""
    left = (0.56 if rings else 1.0) * width
    rows = [(row[0], row[1]) for row in (*statement["order"], *statement["area"])]
    cells: list[Any] = [[pairs(rows, styles, left - 2 * mm), styles.words(COVERAGE, styles.small)]]
    if rings:
        room = (width - left - 4 * mm, _PICTURE)
        cells.append([OutlineDrawing(rings, (), room=room, face=styles.face)])
    return [
        styles.words("Order and part", styles.heading),
        table([cells], (left, width - left)[: len(cells)], ruled=False),
    ]


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
    signed = section(
        "Release", ("released by", "role", "on", "statement", "signature"),
        [(*(cell or "-" for cell in statement["released"]), "")], ("BOTTOMPADDING", (0, 1), (-1, 1), 22),
        shares=(0.18, 0.15, 0.14, 0.24, 0.29), styles=styles, width=width,
    )  # fmt: skip
    words = [
        styles.words(f"Code {code}", styles.bold),
        styles.words(
            f"areakit job verify {code.number} CODE holds this code against the record, and so does this file in its "
            "place; a changed record, a changed code and another job are each told. The code joins this page to its "
            "record; it is no signature.",
            styles.small,
        ),
    ]
    middle = ("VALIGN", (0, 0), (-1, -1), "MIDDLE")
    widths = (_SQUARE + 3 * mm, width - _SQUARE - 3 * mm)
    proof = table([[_square(str(code)), words]], widths, middle, ruled=False)
    return [KeepTogether([*signed, Spacer(1, 2 * mm), proof])]


def _square(text: str) -> Drawing:
    """Return a code as a square of modules for a camera (ISO/IEC 18004), with its quiet zone of four modules."""
    widget = QrCodeWidget(text, barLevel="M", barBorder=4)
    low_x, low_y, high_x, _ = widget.getBounds()
    scale = _SQUARE / (high_x - low_x)
    return Drawing(_SQUARE, _SQUARE, widget, transform=[scale, 0, 0, scale, -low_x * scale, -low_y * scale])
