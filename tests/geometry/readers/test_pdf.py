"""PDF as drawing programs write it: curves, groups, turned frames; what is left out is told, what is odd is refused."""

import io
import math
from collections.abc import Callable

import pytest
from reportlab.lib.pdfencrypt import StandardEncryption
from reportlab.pdfgen.canvas import Canvas

from areakit.errors import FileError
from areakit.geometry.drawing import Drawing, read_drawing

MM = 72.0 / 25.4  # ISO 32000-1, 8.3.2.3: a unit of default user space is 1/72 inch


def drawn(draw: Callable[[Canvas], object], *, packed: int = 1, encrypt: StandardEncryption | None = None) -> bytes:
    page = io.BytesIO()
    sheet = Canvas(page, pageCompression=packed, encrypt=encrypt)
    sheet.scale(MM, MM)
    draw(sheet)
    sheet.save()
    return page.getvalue()


def read(draw: Callable[[Canvas], object]) -> Drawing:
    return read_drawing(drawn(draw), "pdf")


def group(sheet: Canvas) -> None:
    sheet.beginForm("group")
    sheet.rect(1, 2, 10, 7)
    sheet.endForm()
    sheet.translate(30, 20)
    sheet.rotate(33)
    sheet.scale(2, 3)
    sheet.doForm("group")


def two_closed_lines(sheet: Canvas) -> None:
    """An open line that ends where it began, then one closed by its operator, in one path."""
    path = sheet.beginPath()
    for spots in ([(0, 0), (20, 0), (20, 10), (0, 10), (0, 0)], [(30, 0), (40, 0), (30, 10)]):
        path.moveTo(*spots[0])
        for spot in spots[1:]:
            path.lineTo(*spot)
    path.close()
    sheet.drawPath(path)


def bow(sheet: Canvas) -> None:
    path = sheet.beginPath()
    path.moveTo(0, 0)
    path.curveTo(0, 10, 10, 10, 10, 0)
    path.close()
    sheet.drawPath(path)


@pytest.mark.parametrize(
    ("draw", "area", "share"),
    [
        (lambda sheet: sheet.rect(3, 4, 20, 10), 200.0, 1e-5),
        (lambda sheet: sheet.circle(30, 30, 12), math.pi * 144, 4e-4),  # four cubics are 0.03 % larger than a circle
        (bow, 60.0, 1e-4),  # integral of y dx of the Bernstein form: 3/5 of its box
        (group, 70.0 * 6.0, 1e-5),
        (two_closed_lines, 250.0, 1e-5),
    ],
)
def test_outlines_have_the_areas_of_closed_forms(draw: Callable[[Canvas], object], area: float, share: float) -> None:
    drawing = read(draw)
    assert sum(polygon.area for polygon in drawing.polygons) == pytest.approx(area, rel=share)
    assert not drawing.ignored


def test_later_pages_clips_and_texts_are_told_and_left_out() -> None:
    def draw(sheet: Canvas) -> None:
        sheet.saveState()
        path = sheet.beginPath()
        path.rect(0, 0, 5, 5)
        sheet.clipPath(path, stroke=0)
        sheet.rect(0, 0, 20, 10)
        sheet.restoreState()
        sheet.drawString(50, 50, "note")
        sheet.showPage()
        sheet.rect(0, 0, 99, 99)
        sheet.showPage()

    drawing = read(draw)
    assert drawing.polygons[0].area == pytest.approx(200.0, rel=1e-5)
    assert drawing.ignored == {"page after the first": 1, "clip": 1, "text": 1}


def test_a_locked_file_says_so() -> None:
    locked = drawn(lambda sheet: sheet.rect(0, 0, 9, 9), encrypt=StandardEncryption("key", canPrint=0))
    with pytest.raises(FileError, match="locked") as caught:
        read_drawing(locked, "pdf")
    assert "password" in caught.value.remedy


def test_a_packed_photo_in_the_file_does_not_hinder() -> None:
    """Pictures are not unfolded: they are left out of the drawing, and only named."""
    from PIL import Image
    from reportlab.lib.utils import ImageReader

    photo = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(photo, "JPEG")

    def draw(sheet: Canvas) -> None:
        sheet.drawImage(ImageReader(photo), 50, 50, 10, 10)
        sheet.rect(0, 0, 20, 10)

    data = drawn(draw, packed=0)
    assert b"DCTDecode" in data
    drawing = read_drawing(data, "pdf")
    assert drawing.polygons[0].area == pytest.approx(200.0, rel=1e-5)
    assert drawing.ignored == {"image": 1}


def bare(stream: bytes) -> bytes:
    """A page with one stream, as a program may write it; the table of places is left out, for readers rebuild it."""
    head = b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj 2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj\n"
    page = b"3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 99 99]/Contents 4 0 R>>endobj\n"
    return head + page + b"4 0 obj" + stream + b"\nendobj\ntrailer<</Root 1 0 R>>\n%%EOF"


def test_a_length_that_stands_elsewhere_is_read_too() -> None:
    """ISO 32000-1, 7.3.8.2: the length of a stream may be an indirect object."""
    stream = b"<</Length 5 0 R>>stream\n0 0 20 10 re S\nendstream\nendobj\n5 0 obj 14"
    drawing = read_drawing(bare(stream), "pdf")
    assert drawing.polygons[0].area == pytest.approx(200.0 / MM**2, rel=1e-5)


@pytest.mark.parametrize(
    ("stream", "told"),
    [
        (b"<</Filter 5 0 R/Length 3>>stream\nabc\nendstream", "packed by an indirect filter"),
        (b"<</Filter/LZWDecode/Length 3>>stream\nabc\nendstream", "packed by LZWDecode"),
        (b"<</Filter/FlateDecode/Length 3>>stream\nabc\nendstream", "damaged"),
        (b"<</Filter/ASCII85Decode/Length 3>>stream\nabc\nendstream", "damaged"),
        (b"<</Length 1>>stream\n \nendstream\nendobj\n" * 501, "501 streams; the limits are 8 MB and 500"),
    ],
)
def test_what_cannot_be_checked_is_refused_in_one_sentence(stream: bytes, told: str) -> None:
    with pytest.raises(FileError, match=told):
        read_drawing(bare(stream), "pdf")
