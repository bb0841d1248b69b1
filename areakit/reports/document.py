"""A document of several pages: its papers, tables and page numbers, shared by traveller and certificate."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from reportlab.lib.colors import Color
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Table, TableStyle

from areakit.reports.lettering import draw_words
from areakit.reports.traveller_parts import LINE, SOFT, Styles

PAPERS = {"a4": (210 * mm, 297 * mm), "letter": (215.9 * mm, 279.4 * mm)}
MARGIN, FOOT = 14 * mm, 15 * mm
_SHADE = Color(0.94, 0.95, 0.96)


def counting(styles: Styles, width: float) -> type[Canvas]:
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


def table(rows: Sequence[list[Any]], widths: Sequence[float], *extra: tuple[Any, ...], header: bool = False) -> Table:
    """Return a table with a line below each row; the first row is shaded and repeated where it is a header."""
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


def pairs(rows: Sequence[tuple[str, str]], styles: Styles, width: float) -> Table:
    """Return a table of labels and their values."""
    body = [[styles.words(label, styles.small), styles.words(value)] for label, value in rows]
    return table(body, (0.38 * width, 0.62 * width))


def foot_of(text: str, styles: Styles) -> Callable[[Canvas, BaseDocTemplate], None]:
    """Return what draws a line and these words at the foot of each page."""
    words = styles.printable(text)

    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        canvas.saveState()
        canvas.setStrokeColor(LINE)
        canvas.setLineWidth(0.4)
        canvas.line(MARGIN, 12 * mm, MARGIN + document.width, 12 * mm)
        draw_words(canvas, (MARGIN, 8 * mm), words, font=styles.face.regular, size=7, ink=SOFT)
        canvas.restoreState()

    return draw
