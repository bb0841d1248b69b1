"""Words in any script on a page: as text of the PDF, or drawn by a text engine where letters join or run leftwards."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import Color, black
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from areakit.reports.fonts import engine_font, needs_shaping

if TYPE_CHECKING:
    from PIL.Image import Image as Picture
    from PIL.ImageFont import FreeTypeFont

DOTS = 8.0
"""Dots of the engine's pictures to a point: 576 an inch."""


def words_width(words: str, font: str, size: float) -> float:
    """Return how wide words print. [points]"""
    if needs_shaping(words):
        return engine_font(font, size * DOTS).getlength(words) / DOTS
    return float(stringWidth(words, font, size))


def draw_words(
    canvas: Canvas, place: tuple[float, float], words: str, *, font: str, size: float, ink: Color = black
) -> None:
    """Write words that start at a place of their base line. [points]"""
    canvas.setFillColor(ink)
    if not needs_shaping(words):
        canvas.setFont(font, size)
        canvas.drawString(*place, words)
        return
    face = engine_font(font, size * DOTS)
    ascent, descent = face.getmetrics()
    picture = _line_picture(words, face, ink)
    low, tall = place[1] - descent / DOTS, (ascent + descent) / DOTS
    canvas.drawImage(ImageReader(picture), place[0], low, width=picture.width / DOTS, height=tall, mask="auto")


class ShapedWords(Flowable):
    """Words drawn by the text engine, wrapped to the width there is; each line is a picture."""

    def __init__(self, text: str, style: ParagraphStyle) -> None:
        super().__init__()
        self.style = style
        self.spaceBefore, self.spaceAfter = style.spaceBefore, style.spaceAfter
        self.words = text.split()
        self.lines: list[str] = []

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Break the words into lines; return the size."""
        self.lines = []
        for word in self.words:
            longer = f"{self.lines[-1]} {word}" if self.lines else word
            if self.lines and self._wide(longer) <= available_width:
                self.lines[-1] = longer
            else:
                self.lines.append(word)
        self.width = max((self._wide(line) for line in self.lines), default=0.0)
        self.height = self.style.leading * len(self.lines)
        return self.width, self.height

    def draw(self) -> None:
        """Draw it."""
        face = engine_font(self.style.fontName, self.style.fontSize * DOTS)
        ascent, descent = (size / DOTS for size in face.getmetrics())
        style: Any = self.style
        for row, line in enumerate(self.lines):
            low = self.height - style.leading * (row + 1) + (style.leading - ascent - descent) / 2 + descent
            draw_words(self.canv, (0.0, low), line, font=style.fontName, size=style.fontSize, ink=style.textColor)

    def _wide(self, line: str) -> float:
        return words_width(line, self.style.fontName, self.style.fontSize)


def _line_picture(line: str, font: FreeTypeFont, ink: Color) -> Picture:
    from PIL import Image, ImageDraw

    ascent, descent = font.getmetrics()
    page = Image.new("L", (int(font.getlength(line)) + 4, ascent + descent), 0)
    ImageDraw.Draw(page).text((2, 0), line, font=font, fill=255)
    inked = Image.new("RGBA", page.size, tuple(round(255 * c) for c in ink.rgb()) + (0,))
    inked.putalpha(page)
    return inked
