"""Drawing on a PDF page in millimetres, y down, so that page code reads like the sheet's own geometry."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from areakit.reports.lettering import draw_words, words_width

Box = tuple[float, float, float, float]
Point = tuple[float, float]
Colour = tuple[int, int, int]

BLACK: Colour = (0, 0, 0)
FONT, BOLD = "Helvetica", "Helvetica-Bold"
CAP_HEIGHT = 0.718
"""Height of a capital as a share of the type size, from the metrics of the standard font."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """Draws on a canvas whose origin was moved to where (0, 0) shall be.

    Lengths are in mm, y runs down, type sizes are in points. A box is left, top, width, height.
    """

    canvas: Canvas

    @contextmanager
    def at(self, x_mm: float, y_mm: float, *, turn_deg: float = 0.0) -> Iterator[None]:
        """Move the origin, and turn the axes anticlockwise, for a while."""
        self.canvas.saveState()
        self.canvas.translate(x_mm * mm, -y_mm * mm)
        if turn_deg:
            self.canvas.rotate(turn_deg)
        yield
        self.canvas.restoreState()

    def fill(self, boxes: Iterable[Box], *, colour: Colour = BLACK) -> None:
        """Fill boxes as one path: a renderer then joins neighbours without a hairline between them."""
        path = self.canvas.beginPath()
        for left, top, width, height in boxes:
            path.rect(left * mm, -(top + height) * mm, width * mm, height * mm)
        self._colour(colour)
        self.canvas.drawPath(path, stroke=0, fill=1)

    def polygon(self, points: Sequence[Point], *, colour: Colour = BLACK) -> None:
        """Fill a polygon."""
        path = self._path(points)
        path.close()
        self._colour(colour)
        self.canvas.drawPath(path, stroke=0, fill=1)

    def line(self, points: Sequence[Point], *, width_mm: float = 0.2, dash_mm: Point | None = None) -> None:
        """Draw a black line through points."""
        self._stroke(width_mm, dash_mm)
        self.canvas.drawPath(self._path(points), stroke=1, fill=0)

    def bow(self, points: Sequence[Point], *, width_mm: float = 0.2) -> None:
        """Draw a Bézier curve through its four control points."""
        start, *rest = [(x * mm, -y * mm) for x, y in points]
        path = self.canvas.beginPath()
        path.moveTo(*start)
        path.curveTo(*rest[0], *rest[1], *rest[2])
        self._stroke(width_mm, None)
        self.canvas.drawPath(path, stroke=1, fill=0)

    def circle(self, centre: Point, radius_mm: float, *, width_mm: float = 0.2, fill: Colour | None = None) -> None:
        """Draw a circle, filled if a colour is given."""
        self._stroke(width_mm, None)
        if fill is not None:
            self._colour(fill)
        self.canvas.circle(
            centre[0] * mm, -centre[1] * mm, radius_mm * mm, stroke=int(width_mm > 0), fill=int(fill is not None)
        )

    def text(self, x_mm: float, y_mm: float, words: str, *, size: float, font: str = FONT) -> None:
        """Write words that start at x, with the middle of their capitals at y."""
        draw_words(self.canvas, (x_mm * mm, -y_mm * mm - CAP_HEIGHT * size / 2), words, font=font, size=size)

    def _path(self, points: Sequence[Point]) -> PDFPathObject:
        path = self.canvas.beginPath()
        path.moveTo(points[0][0] * mm, -points[0][1] * mm)
        for x, y in points[1:]:
            path.lineTo(x * mm, -y * mm)
        return path

    def _stroke(self, width_mm: float, dash_mm: Point | None) -> None:
        self.canvas.setStrokeColorRGB(0, 0, 0)
        self.canvas.setLineWidth(width_mm * mm)
        self.canvas.setDash([length * mm for length in dash_mm] if dash_mm else [])

    def _colour(self, colour: Colour) -> None:
        red, green, blue = colour
        self.canvas.setFillColorRGB(red / 255, green / 255, blue / 255)


def width_of(words: str, *, size: float, font: str = FONT) -> float:
    """Return how wide words print. [mm]"""
    return words_width(words, font, size) / mm


def wrapped(words: str, *, width_mm: float, size: float) -> list[str]:
    """Break words into the fewest lines that fit a width, as even as they go; a wider word keeps its own line."""
    fewest = _filled(words, width_mm, size)
    narrower = [width_mm * share / 20 for share in range(5, 20)]
    even = (_filled(words, width, size) for width in narrower)
    return next((lines for lines in even if len(lines) == len(fewest)), fewest)


def _filled(words: str, width_mm: float, size: float) -> list[str]:
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, size=size) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
