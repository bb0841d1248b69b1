"""Pieces of a printed document: papers, type, tables, page numbers, outline to scale, bars, boxes, pictures."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    HRFlowable,
    Image,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
    TableStyle,
)
from reportlab.platypus.doctemplate import LayoutError

from areakit.errors import FileError, InputError
from areakit.reports.fonts import LEFT_OUT, LEFT_OUT_WORDS, Typeface, needs_shaping
from areakit.reports.lettering import ShapedWords, draw_words
from areakit.reports.pen import Pen

INK = Color(0.11, 0.12, 0.15)
SOFT = Color(0.38, 0.40, 0.45)
LINE = Color(0.72, 0.74, 0.78)
BAR = Color(0.36, 0.49, 0.66)
RED = Color(0.72, 0.11, 0.11)
PAPERS = {"a4": (210 * mm, 297 * mm), "letter": (215.9 * mm, 279.4 * mm)}
_ALL_PAPERS = {**PAPERS, "a5": (148 * mm, 210 * mm)}
MARGIN, FOOT = 14 * mm, 15 * mm
SHADE = Color(0.94, 0.95, 0.96)
BODY_POINTS = 8.2
POINTS = (9.0, 8.5, 8.0, 7.5, 7.0, 6.6, 6.2, 5.8)
"""Sizes of type that are tried until all fits one page. [points]"""
TOO_MUCH: dict[str, Any] = {
    "message": "There is more to say than fits one page.",
    "remedy": "Have it as JSON, which holds everything.",
    "fields": {"json": ""},
}
LONGEST_SIDE_PX = 1200
_HEIF_BRANDS = {b"heic", b"heix", b"mif1", b"msf1", b"heim", b"heis", b"avif"}


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

    def row(self, texts: Sequence[Any], style: ParagraphStyle | None = None) -> list[Any]:
        """Return the cells of a table's row; one that is empty, or made already, stays as it is."""
        return [self.words(one, style) if one and isinstance(one, str) else one for one in texts]

    def larger(self, times: float, *, bold: bool = False, **more: Any) -> ParagraphStyle:
        """Return the style of the body so many times as large."""
        like = self.bold if bold else self.body
        size, leading = times * like.fontSize, times * like.leading
        return ParagraphStyle("larger", parent=like, fontSize=size, leading=leading, **more)

    def marked(self, text: str, mark: str = "•") -> Flowable:
        """Return text behind a mark that hangs at its left."""
        said = self.printable(text)
        if needs_shaping(said):
            return ShapedWords(f"{mark} {said}", self.body)
        style = ParagraphStyle("marked", parent=self.body, leftIndent=1.1 * self.body.fontSize)
        return Paragraph(escape(said), style, bulletText=mark)

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
        body=style("body", BODY_POINTS, 10),
        bold=style("bold", BODY_POINTS, 10, bold=True),
        small=style("small", 7, 8.4, textColor=SOFT),
        caution=style("caution", 7, 8.4, textColor=RED),
        alarm=style("alarm", 8, 10, bold=True, textColor=RED),
        heading=style("heading", 10.5, 13, bold=True, spaceBefore=scale * 6, spaceAfter=scale * 2),
        title=style("title", 15, 18, bold=True),
    )


class ShareBars(Flowable):
    """Shares of a variance as bars, one line each."""

    ROW = 3.9 * mm

    def __init__(self, shares: Sequence[tuple[str, float]], *, width: float, face: Typeface) -> None:
        super().__init__()
        self.shares, self.face = shares, face
        self.width, self.height = width, len(shares) * self.ROW + 1 * mm

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

    def __init__(self, *, ticked: bool = False, side: float = 3.4 * mm) -> None:
        super().__init__()
        self.ticked, self.width, self.height = ticked, side, side

    def draw(self) -> None:
        """Draw it."""
        canvas: Canvas = self.canv
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.7)
        canvas.rect(0, 0, self.width, self.height, stroke=1, fill=0)
        if self.ticked:
            canvas.setLineWidth(1.1)
            canvas.line(0.7 * mm, 1.7 * mm, 1.4 * mm, 0.8 * mm)
            canvas.line(1.4 * mm, 0.8 * mm, 2.8 * mm, 2.7 * mm)


class PenDrawing(Flowable):
    """What a pen draws, its origin in the upper left corner of a room. [points]"""

    def __init__(self, paint: Callable[[Pen], None], *, room: tuple[float, float]) -> None:
        super().__init__()
        self.paint, (self.width, self.height) = paint, room

    def draw(self) -> None:
        """Draw it."""
        self.canv.translate(0, self.height)
        self.paint(Pen(canvas=self.canv))


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

    def draw(self) -> None:
        """Draw it."""
        canvas: Canvas = self.canv
        canvas.setFillColor(SOFT)
        canvas.setFont(self.face.regular, 5.8)
        canvas.drawString(0, self.height - 5.5, self.label)
        canvas.setStrokeColor(SOFT)
        canvas.setLineWidth(0.35)
        canvas.line(0, 0.6 * mm, self.width - 1.5 * mm, 0.6 * mm)


def table(
    rows: Sequence[list[Any]], widths: Sequence[float], *extra: tuple[Any, ...], header: bool = False,
    ruled: bool = True,
) -> Table:  # fmt: skip
    """Return a table, ``ruled`` with a line below each row; a ``header`` is shaded and repeated on the next page."""
    style = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("TOPPADDING", (0, 0), (-1, -1), 1.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        *([("LINEBELOW", (0, 0), (-1, -1), 0.3, LINE)] if ruled else []),
        *([("BACKGROUND", (0, 0), (-1, 0), SHADE)] if header else []),
        *extra,
    ]
    return Table(list(rows), colWidths=list(widths), style=TableStyle(style), repeatRows=int(header), hAlign="LEFT")


def headed(title: str, styles: Styles) -> list[Flowable]:
    """Return a small heading over a line."""
    above, below = 0.6 * styles.body.leading, 0.3 * styles.body.leading
    line = HRFlowable(width="100%", thickness=0.2 * mm, color=INK, spaceBefore=1, spaceAfter=below)
    return [styles.words(title, styles.larger(1.1, bold=True, spaceBefore=above)), line]


def beside(left: list[Flowable], right: list[Flowable], room: float, width: float) -> list[Flowable]:
    """Return one column of the page, and where there is anything, another that takes ``room`` at its right."""
    if not right:
        return left
    close = [("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (0, -1), 2 * mm)]
    return [table([[left, right]], (width - room, room), *close, ruled=False)]


def pairs(rows: Sequence[tuple[str, str]], styles: Styles, width: float) -> Table:
    """Return a table of labels and their values."""
    body = [[styles.words(label, styles.small), styles.words(value)] for label, value in rows]
    return table(body, (0.38 * width, 0.62 * width))


def section(
    title: str, heads: Sequence[str], rows: Sequence[Sequence[Any]], *extra: tuple[Any, ...], shares: Sequence[float],
    styles: Styles, width: float,
) -> list[Flowable]:  # fmt: skip
    """Return a heading and its table; texts that are empty stay blank, to be written on."""
    body = [styles.row(row) for row in rows]
    listed = table([styles.row(heads, styles.small), *body], [share * width for share in shares], *extra, header=True)
    return [styles.words(title, styles.heading), listed]


def fitted(
    story_of: Callable[[Styles, float], list[Flowable]],
    *,
    face: Typeface,
    paper: str,
    title: str,
    most_pages: int,
    sizes: Sequence[float] = (1.0, 0.95, 0.9, 0.85),
    foot: str = "",
    subject: str = "",
) -> tuple[bytes, int]:
    """Return a PDF in the first size of type in which it takes so many pages, and how many it has.

    A longer one is set in the first size of all that can be set. ``story_of`` takes the styles of a size and the width
    of the page, ``foot`` stands on each page with its number.

    Raises InputError if a piece of it is larger than the page in every size.
    """
    made = None
    for size in sizes:
        styles = styles_for(face, scale=size)
        story = story_of(styles, _ALL_PAPERS[paper][0] - 2 * MARGIN)
        if styles.cut:
            story += [Spacer(1, 1 * mm), styles.words(LEFT_OUT_WORDS, styles.small)]
        with suppress(LayoutError):
            found = _built(story, styles, paper=paper, title=title, foot=foot, subject=subject)
            if found[1] <= most_pages:
                return found
            made = made or found
    if made is None:
        raise InputError(**TOO_MUCH)
    return made


def one_page(
    story_of: Callable[[Styles, float], list[Flowable]], *, paper: str, face: Typeface, title: str,
    sizes: Sequence[float] = POINTS,
) -> bytes:  # fmt: skip
    """Return a PDF of one page, in the largest type [points] in which everything fits.

    Raises InputError if it does not fit in the smallest type, or the paper is not known.
    """
    if paper not in _ALL_PAPERS:
        raise InputError(f"There is no paper {paper[:20]!r}.", remedy="Choose a5, a4 or letter.")
    scales = [size / BODY_POINTS for size in sizes]
    content, pages = fitted(story_of, face=face, paper=paper, title=title, most_pages=1, sizes=scales)
    if pages > 1:
        raise InputError(**TOO_MUCH)
    return content


def _built(
    story: list[Flowable], styles: Styles, *, paper: str, title: str, foot: str, subject: str
) -> tuple[bytes, int]:
    """Return the PDF in one size of type, and how many pages it has."""
    width, height = _ALL_PAPERS[paper]
    low = FOOT if foot else MARGIN
    buffer = io.BytesIO()
    document = BaseDocTemplate(
        buffer, pagesize=(width, height), title=styles.face.printable(title), author="areakit", creator="areakit",
        subject=subject, invariant=1,
    )  # fmt: skip
    frame = Frame(
        MARGIN, low, width - 2 * MARGIN, height - MARGIN - low, leftPadding=0, rightPadding=0, topPadding=0,
        bottomPadding=0,
    )  # fmt: skip
    document.addPageTemplates([PageTemplate(id="page", frames=[frame])])
    document.build(story, canvasmaker=_footed(styles.printable(foot), styles, width) if foot else Canvas)
    return buffer.getvalue(), int(document.page)


def _footed(words: str, styles: Styles, width: float) -> type[Canvas]:
    """Return a canvas that writes a line, some words and ``page n of m`` at the foot of each page, once it knows m."""

    class Footed(Canvas):
        def __init__(self, *arguments: Any, **named: Any) -> None:
            super().__init__(*arguments, **named)
            self._kept: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802
            self._kept.append(dict(self.__dict__))
            self._startPage()  # type: ignore[attr-defined]

        def save(self) -> None:
            for number, state in enumerate(self._kept, start=1):
                self.__dict__.update(state)
                self.setStrokeColor(LINE)
                self.setLineWidth(0.4)
                self.line(MARGIN, 12 * mm, width - MARGIN, 12 * mm)
                draw_words(self, (MARGIN, 8 * mm), words, font=styles.face.regular, size=7, ink=SOFT)
                self.setFont(styles.face.regular, 7)
                self.drawRightString(width - MARGIN, 8 * mm, f"page {number} of {len(self._kept)}")
                super().showPage()
            super().save()

    return Footed


def printable_jpeg(content: bytes) -> bytes:
    """Return a photo as an upright JPEG of at most ``LONGEST_SIDE_PX``, without what the camera wrote about the place.

    Raises FileError if it is not a picture that can be read.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    if content[4:8] == b"ftyp" and content[8:12] in _HEIF_BRANDS:
        import pi_heif

        pi_heif.register_heif_opener()
    try:
        picture: Image.Image = Image.open(io.BytesIO(content))
        picture.draft("RGB", (LONGEST_SIDE_PX * 2, LONGEST_SIDE_PX * 2))
        picture = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise FileError("The stored photo cannot be read as a picture.", remedy="Attach it as JPEG or PNG.") from None
    picture.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=85)
    return stream.getvalue()
