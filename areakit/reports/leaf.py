"""One printed page of text, tables and an outline: written from top to bottom, and set smaller until it fits."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from areakit.errors import InputError
from areakit.reports.fonts import LEFT_OUT, LEFT_OUT_WORDS, Typeface
from areakit.reports.pen import Colour, Pen, width_of

PAPERS_MM = {"a5": (148.0, 210.0), "a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN_MM = 15.0
INK: Colour = (0, 0, 0)
SHADE: Colour = (234, 237, 241)
LINE_MM_PER_POINT = 0.47
"""Distance of two lines of type for each point of its size. [mm]"""
SIZES = (9.0, 8.5, 8.0, 7.5, 7.0, 6.6, 6.2, 5.8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table: its share of the width, and whether it is set to the right."""

    share: float
    right: bool = False
    bold: bool = False


class Leaf:
    """Writes on a page; lengths in mm, y down from the top. Without a pen it only measures."""

    def __init__(self, *, pen: Pen | None, width: float, height: float, face: Typeface, size: float) -> None:
        self._pen = pen
        self._face = face
        self.size = size
        self.left, self.right = MARGIN_MM, width - MARGIN_MM
        self.y, self.bottom = MARGIN_MM, height - MARGIN_MM
        self.lacks_letters = False

    @property
    def line(self) -> float:
        """Height of one line of type. [mm]"""
        return self.size * LINE_MM_PER_POINT

    @contextmanager
    def column(self, left: float, right: float) -> Iterator[None]:
        """Write between two edges for a while."""
        before = self.left, self.right
        self.left, self.right = left, right
        yield
        self.left, self.right = before

    def skip(self, lines: float) -> None:
        """Leave some lines free."""
        self.y += lines * self.line

    def text(self, words: str, *, larger: float = 1.0, bold: bool = False, mark: str = "") -> None:
        """Write words, wrapped, behind a mark if there is one."""
        size = self.size * larger
        font = self._face.bold if bold else self._face.regular
        indent = width_of(mark + " ", size=size, font=font) if mark else 0.0
        step = size * LINE_MM_PER_POINT
        for number, line in enumerate(self._wrap(self._printable(words), self.right - self.left - indent, size, font)):
            if mark and number == 0:
                self._put(self.left, mark, size, font)
            self._put(self.left + indent, line, size, font)
            self.y += step

    def heading(self, words: str) -> None:
        """Write a small bold heading over a rule."""
        self.skip(0.6)
        self.text(words, larger=1.1, bold=True)
        self.rule()
        self.skip(0.3)

    def rule(self, *, width: float = 0.2) -> None:
        """Draw a line across the column."""
        if self._pen is not None:
            self._pen.line(
                [(self.left, self.y - 0.35 * self.line), (self.right, self.y - 0.35 * self.line)], width_mm=width
            )

    def row(self, cells: Sequence[str], columns: Sequence[Column], *, bold: bool = False, shade: bool = False) -> None:
        """Write one row of a table; a cell wraps within its column."""
        room = self.right - self.left
        gap = 2.0
        blocks = []
        for cell, column in zip(cells, columns, strict=True):
            font = self._face.bold if bold or column.bold else self._face.regular
            blocks.append((self._wrap(self._printable(cell), column.share * room - gap, self.size, font), font))
        height = max(len(lines) for lines, _ in blocks) * self.line + 0.3 * self.line
        if shade and self._pen is not None:
            self._pen.fill([(self.left - 1.0, self.y - 0.62 * self.line, room + 2.0, height)], colour=SHADE)
        x = self.left
        top = self.y
        for (lines, font), column in zip(blocks, columns, strict=True):
            self._cell(lines, font, (x, column.share * room), right=column.right)
            x += column.share * room
        self.y = top + height

    def _cell(self, lines: list[str], font: str, place: tuple[float, float], *, right: bool) -> None:
        top = self.y
        for line in lines:
            x = place[0] + place[1] - width_of(line, size=self.size, font=font) if right else place[0]
            self._put(x, line, self.size, font)
            self.y += self.line
        self.y = top

    def drawing(self, draw: Callable[[Pen], None]) -> None:
        """Draw at the present place, with the origin at the left edge and the present height."""
        if self._pen is not None:
            with self._pen.at(self.left, self.y):
                draw(self._pen)

    def _printable(self, words: str) -> str:
        said = self._face.printable(words)
        self.lacks_letters = self.lacks_letters or (LEFT_OUT in said and LEFT_OUT not in words)
        return said

    def _put(self, x: float, words: str, size: float, font: str) -> None:
        if self._pen is not None:
            self._pen.text(x, self.y, words, size=size, font=font)

    def _wrap(self, words: str, width: float, size: float, font: str) -> list[str]:
        lines = [""]
        for word in words.split():
            longer = f"{lines[-1]} {word}".strip()
            if width_of(longer, size=size, font=font) <= width:
                lines[-1] = longer
            else:
                pieces = _broken(word, width=width, size=size, font=font)
                lines = [*lines[: -1 if not lines[-1] else None], *pieces]
        return lines


def _broken(word: str, *, width: float, size: float, font: str) -> list[str]:
    """Break a word that is wider than a line."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width_of(pieces[-1] + letter, size=size, font=font) > width:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def one_page(
    write: Callable[[Leaf], None], *, paper: str, face: Typeface, title: str, sizes: Sequence[float] = SIZES
) -> bytes:
    """Return a PDF of one page, in the largest type in which everything fits.

    Raises InputError if it does not fit in the smallest type, or the paper is not known.
    """
    if paper not in PAPERS_MM:
        raise InputError(f"There is no paper {paper[:20]!r}.", remedy="Choose a5, a4 or letter.")
    width, height = PAPERS_MM[paper]

    def whole(leaf: Leaf) -> None:
        write(leaf)
        if leaf.lacks_letters:
            leaf.skip(0.3)
            leaf.text(LEFT_OUT_WORDS)

    size = next((size for size in sizes if _fits(whole, width, height=height, face=face, size=size)), None)
    if size is None:
        raise InputError(
            "There is more to say than fits one page.",
            remedy="Have it as JSON, which holds everything.",
            fields={"json": ""},
        )
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(width * mm, height * mm), invariant=1)
    canvas.setTitle(face.printable(title))
    canvas.setAuthor("areakit")
    canvas.setCreator("areakit")
    canvas.translate(0, height * mm)
    whole(Leaf(pen=Pen(canvas=canvas), width=width, height=height, face=face, size=size))
    canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _fits(write: Callable[[Leaf], None], width: float, *, height: float, face: Typeface, size: float) -> bool:
    leaf = Leaf(pen=None, width=width, height=height, face=face, size=size)
    write(leaf)
    return leaf.y <= leaf.bottom
