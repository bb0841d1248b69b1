"""Pieces of the traveller: words in any script, outline to scale, shares as bars, tick boxes."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Image, Paragraph

from areakit.reports.fonts import LEFT_OUT, Typeface, needs_shaping
from areakit.reports.job_facts import MarkFacts, Ring
from areakit.reports.lettering import ShapedWords
from areakit.reports.rulers import ruler_figures, ruler_step

INK = Color(0.11, 0.12, 0.15)
SOFT = Color(0.38, 0.40, 0.45)
LINE = Color(0.72, 0.74, 0.78)
METAL = Color(0.90, 0.88, 0.83)
BAR = Color(0.36, 0.49, 0.66)
RED = Color(0.72, 0.11, 0.11)
BLUE = Color(0.10, 0.30, 0.62)
SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)
"""Scales of drawings (ISO 5455). [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Styles:
    """The type of the page."""

    face: Typeface
    cut: list[str]
    body: ParagraphStyle
    bold: ParagraphStyle
    small: ParagraphStyle
    caution: ParagraphStyle
    alarm: ParagraphStyle
    heading: ParagraphStyle
    title: ParagraphStyle

    def words(self, text: str, style: ParagraphStyle | None = None) -> Flowable:
        """Return text as it is read: letters joined and ordered as its script asks.

        What the font lacks is left out; the text is then kept in ``cut``.
        """
        chosen = style or self.body
        said = self.printable(text)
        if needs_shaping(said):
            return ShapedWords(said, chosen)
        return Paragraph(escape(said).replace("\n", "<br/>"), chosen)

    def printable(self, text: str) -> str:
        """Return what the font can print of a text, and keep the text in ``cut`` where that is not all."""
        said = self.face.printable(text)
        if LEFT_OUT in said and LEFT_OUT not in text:
            self.cut.append(text)
        return said


def styles_for(face: Typeface, *, scale: float = 1.0) -> Styles:
    """Return the styles of a page in a typeface."""

    def style(name: str, size: float, leading: float, *, bold: bool = False, **more: Any) -> ParagraphStyle:
        return ParagraphStyle(
            name,
            fontName=face.bold if bold else face.regular,
            fontSize=scale * size,
            leading=scale * leading,
            **{"textColor": INK, **more},
        )

    return Styles(
        face=face,
        cut=[],
        body=style("body", 8.2, 10),
        bold=style("bold", 8.2, 10, bold=True),
        small=style("small", 7, 8.4, textColor=SOFT),
        caution=style("caution", 7, 8.4, textColor=RED),
        alarm=style("alarm", 8, 10, bold=True, textColor=RED),
        heading=style("heading", 10.5, 13, bold=True, spaceBefore=scale * 6, spaceAfter=scale * 2),
        title=style("title", 15, 18, bold=True),
    )


class OutlineDrawing(Flowable):
    """The outline true to scale with defects, test places and a scale bar, y upwards.

    ``ruled`` puts its millimetres along the left and the lower edge, as a place is typed.
    """

    def __init__(
        self,
        rings: Sequence[Ring],
        marks: Sequence[MarkFacts],
        *,
        room: tuple[float, float],
        face: Typeface,
        around: Sequence[tuple[float, float]] = (),
        ruled: bool = False,
    ) -> None:
        super().__init__()
        self.rings, self.marks, self.face = rings, marks, face
        self.ruled, self.left = ruled, 8.08 * mm if ruled else 3 * mm
        places = [*(around or rings[0]), *(point for mark in marks for point in mark.points)]
        xs, ys = zip(*places, strict=True)
        self.low, self.high = (min(xs), min(ys)), (max(xs), max(ys))
        wide, tall = self.high[0] - self.low[0], self.high[1] - self.low[1]
        inner = ((room[0] - self.left) / mm - 5, room[1] / mm - 12)
        fits = (s for s in SCALES if wide * s <= inner[0] and tall * s <= inner[1])
        self.scale = next(fits, SCALES[-1])
        self.width, self.height = room[0], max(tall * self.scale + 12, 20) * mm

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Return its size on the page."""
        return self.width, self.height

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        """Return where a point of the outline [mm] lies on the page."""
        k = self.scale * mm
        return self.left + (point[0] - self.low[0]) * k, self.height - 3 * mm - (self.high[1] - point[1]) * k

    def draw(self) -> None:
        """Draw it."""
        canvas: Canvas = self.canv
        canvas.setStrokeColor(INK)
        canvas.setFillColor(METAL)
        canvas.setLineWidth(0.5)
        canvas.drawPath(self.path(self.rings), stroke=1, fill=1, fillMode=0)
        for mark in self.marks:
            self._mark(canvas, mark)
        if self.ruled:
            self._rulers(canvas)
        self._bar(canvas)

    def path(self, rings: Sequence[Ring]) -> object:
        """Return rings as one path."""
        path = self.canv.beginPath()
        for ring in rings:
            points = [self.at(point) for point in ring]
            path.moveTo(*points[0])
            for point in points[1:]:
                path.lineTo(*point)
            path.close()
        return path

    def _mark(self, canvas: Canvas, mark: MarkFacts) -> None:
        colour = RED if mark.defect else BLUE
        canvas.setStrokeColor(colour)
        canvas.setLineWidth(0.9)
        x, y = self.at(mark.points[0])
        if len(mark.points) > 1:
            canvas.setFillColor(Color(colour.red, colour.green, colour.blue, alpha=0.15))
            canvas.drawPath(self.path([mark.points]), stroke=1, fill=1)
        elif mark.defect:
            canvas.circle(x, y, 1.3 * mm, stroke=1, fill=0)
        else:
            canvas.line(x - 1.4 * mm, y, x + 1.4 * mm, y)
            canvas.line(x, y - 1.4 * mm, x, y + 1.4 * mm)
        canvas.setFont(self.face.bold, 6.5)
        width = stringWidth(mark.sign, self.face.bold, 6.5)
        canvas.setFillColor(Color(1, 1, 1, alpha=0.8))
        canvas.rect(x + 1.5 * mm, y + 0.6 * mm, width + 1, 6, stroke=0, fill=1)
        canvas.setFillColor(colour)
        canvas.drawString(x + 1.6 * mm, y + 0.9 * mm, mark.sign)

    def _rulers(self, canvas: Canvas) -> None:
        canvas.setStrokeColor(SOFT)
        canvas.setFillColor(SOFT)
        canvas.setLineWidth(0.3)
        canvas.setFont(self.face.regular, 5)
        step, (x0, y0) = ruler_step(8.0 / self.scale), self.at(self.low)
        for figure in ruler_figures(self.low[0], self.high[0], step):
            x = self.at((figure, 0.0))[0]
            canvas.line(x, y0 - 1 * mm, x, y0 - 1.8 * mm)
            canvas.drawCentredString(x, y0 - 3.6 * mm, f"{figure:g}")
        for figure in ruler_figures(self.low[1], self.high[1], step):
            y = self.at((0.0, figure))[1]
            canvas.line(x0 - 1 * mm, y, x0 - 1.8 * mm, y)
            canvas.drawRightString(x0 - 2.1 * mm, y - 1.7, f"{figure:g}")

    def _bar(self, canvas: Canvas) -> None:
        length = next((n for n in (50, 20, 10, 5, 2, 1) if n * self.scale * mm <= self.width / 2), 1)
        x, y = 3 * mm, 3.2 * mm
        end = x + length * self.scale * mm
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.8)
        canvas.line(x, y, end, y)
        for place in (x, end):
            canvas.line(place, y - 1 * mm, place, y + 1 * mm)
        canvas.setFillColor(SOFT)
        canvas.setFont(self.face.regular, 7)
        named = f"{self.scale:g}:1" if self.scale >= 1 else f"1:{1 / self.scale:g}"
        canvas.drawString(end + 2 * mm, y - 2.4, f"{length} mm; drawn {named}")


class ShareBars(Flowable):
    """Shares of a variance as bars, one line each."""

    ROW = 3.9 * mm

    def __init__(self, shares: Sequence[tuple[str, float]], *, width: float, face: Typeface) -> None:
        super().__init__()
        self.shares, self.face = shares, face
        self.width, self.height = width, len(shares) * self.ROW + 1 * mm

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Return its size on the page."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw it."""
        canvas: Canvas = self.canv
        names = [_cut(name, self.face.regular, 7.5, self.width * 0.5) for name, _ in self.shares]
        start = max(stringWidth(name, self.face.regular, 7.5) for name in names) + 2 * mm
        room = self.width - start - 10 * mm
        canvas.setFont(self.face.regular, 7.5)
        for row, (name, (_, share)) in enumerate(zip(names, self.shares, strict=True)):
            y = self.height - (row + 1) * self.ROW + 1 * mm
            canvas.setFillColor(INK)
            canvas.drawString(0, y, name)
            canvas.setFillColor(BAR)
            canvas.rect(start, y - 0.3 * mm, max(room * share, 0.4), 2.4 * mm, stroke=0, fill=1)
            canvas.setFillColor(SOFT)
            text = f"{share * 100:.0f} %" if share >= 0.01 else "< 1 %"
            canvas.drawString(start + room * share + 1.2 * mm, y, text)


def _cut(text: str, font: str, size: float, width: float) -> str:
    if stringWidth(text, font, size) <= width:
        return text
    while text and stringWidth(text + "…", font, size) > width:
        text = text[:-1]
    return text + "…"


class TickBox(Flowable):
    """A box to tick by hand; ticked where the step was recorded."""

    SIZE = 3.4 * mm

    def __init__(self, *, ticked: bool) -> None:
        super().__init__()
        self.ticked = ticked

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Return its size on the page."""
        return self.SIZE, self.SIZE

    def draw(self) -> None:
        """Draw it."""
        canvas: Canvas = self.canv
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.7)
        canvas.rect(0, 0, self.SIZE, self.SIZE, stroke=1, fill=0)
        if self.ticked:
            canvas.setLineWidth(1.1)
            canvas.line(0.7 * mm, 1.7 * mm, 1.4 * mm, 0.8 * mm)
            canvas.line(1.4 * mm, 0.8 * mm, 2.8 * mm, 2.7 * mm)


def fitted_picture(jpeg: bytes, *, room: tuple[float, float]) -> Image:
    """Return a picture within a room."""
    stream = io.BytesIO(jpeg)
    width, height = ImageReader(stream).getSize()
    stream.seek(0)
    ratio = min(room[0] / width, room[1] / height)
    return Image(stream, width=width * ratio, height=height * ratio, hAlign="LEFT")


class Blank(Flowable):
    """A small label over a line to write on."""

    def __init__(self, label: str, *, width: float, face: Typeface) -> None:
        super().__init__()
        self.label, self.face = label, face
        self.width, self.height = width, 7.0 * mm

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Return its size on the page."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw it."""
        canvas: Canvas = self.canv
        canvas.setFillColor(SOFT)
        canvas.setFont(self.face.regular, 5.8)
        canvas.drawString(0, self.height - 5.5, self.label)
        canvas.setStrokeColor(SOFT)
        canvas.setLineWidth(0.35)
        canvas.line(0, 0.6 * mm, self.width - 1.5 * mm, 0.6 * mm)
