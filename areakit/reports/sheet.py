"""The printable scale sheet: the frame, its field, two check lengths, and a few words on how to take the photo.

Coordinates are sheet millimetres, as in the frame's layout: x to the right, y down, origin at the frame's outer corner.
What stands round the frame therefore has coordinates below zero or beyond the frame.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Literal, get_args

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from areakit.errors import RangeError
from areakit.imaging.marks.dictionary import MODULES, marker_bits
from areakit.imaging.marks.frame_layout import FrameLayout
from areakit.output import write_whole
from areakit.reports.pen import BOLD, Box, Pen, width_of, wrapped
from areakit.reports.pictograms import ADVICE, DARK_CARD, HEIGHT_MM, WIDTH_MM, Advice

FieldKind = Literal["blue", "white"]

FIELD_BLUE = (70, 115, 195)
"""A mid blue that sets off every common metal and clips in no channel (own study of field colours). [sRGB]"""
EDGE_MM = 5.0
"""Office printers leave about this much of the paper's rim blank (common practice, no source). [mm]"""
QUIET_MM = 1.5
"""White kept outside the frame, so that its outer markers read. [mm]"""
TICK_MM, TICK_LENGTH_MM = 0.25, 3.0
A4_MM = (297.0, 210.0)


def write_sheet(layout: FrameLayout, target: Path | str | BinaryIO, *, field: FieldKind = "blue") -> None:
    """Write one scale sheet as a vector PDF; the same sheet is the same file, byte for byte.

    - ``layout``: the sheet. The small one is written four to an A4 page, to be cut out.
    - ``target``: where to write it.
    - ``field``: "blue" or "white": what fills the clear field.

    Raises RangeError if the field is neither blue nor white; FileError if the file cannot be written.
    """
    if field not in get_args(FieldKind):
        raise RangeError(f"There is no {field} field.", remedy="Choose blue or white.")
    document = sheet_pdf(layout, field=field)
    if not isinstance(target, str | Path):
        target.write(document)
        return
    write_whole(Path(target), document)


def sheet_pdf(layout: FrameLayout, *, field: FieldKind = "blue") -> bytes:
    """Return one scale sheet as the bytes of a PDF."""
    page_mm = A4_MM if layout.paper == "small" else layout.paper_mm
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(page_mm[0] * mm, page_mm[1] * mm), invariant=1, pageCompression=0)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setTitle(f"Scale sheet {layout.code}, {field} field")
    canvas.setSubject("Print at actual size, no fit to page")
    canvas.setAuthor("areakit")
    canvas.setCreator("areakit")
    pen = Pen(canvas=canvas)
    for x, y in frame_origins_mm(layout):
        with pen.at(x, y - page_mm[1]):
            _draw_sheet(pen, layout, field)
    if layout.paper == "small":
        with pen.at(0.0, -page_mm[1]):
            _draw_cuts(pen)
    canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def frame_origins_mm(layout: FrameLayout) -> list[tuple[float, float]]:
    """Return where the outer upper left corners of the frames lie on the page. [mm]"""
    if layout.paper != "small":
        width, height = layout.paper_mm
        return [((width - layout.width_mm) / 2, (height - layout.height_mm) / 2)]
    width, height = A4_MM[0] / 2, A4_MM[1] / 2
    left, top = (width - layout.width_mm) / 2, (height - layout.height_mm) / 2
    return [(left + column * width, top + row * height) for row in (0, 1) for column in (0, 1)]


def _draw_sheet(pen: Pen, layout: FrameLayout, field: FieldKind) -> None:
    left, top, right, bottom = layout.field_mm
    if field == "blue":
        pen.fill([(left, top, right - left, bottom - top)], colour=FIELD_BLUE)
    pen.fill([*_black_squares(layout), *_marker_boxes(layout)])
    _draw_check_lengths(pen, layout)
    _draw_title(pen, layout, field)
    _draw_advice(pen, layout, (*ADVICE, DARK_CARD) if field == "white" else ADVICE)


def _black_squares(layout: FrameLayout) -> Iterator[Box]:
    s = layout.square_mm
    for column, row in layout.frame_squares:
        if layout.is_black(column, row):
            yield column * s, row * s, s, s


def _marker_boxes(layout: FrameLayout) -> Iterator[Box]:
    """Give the black modules of all markers, each run of a row as one box."""
    module = layout.marker_mm / MODULES
    for marker_id in layout.marker_ids:
        left, top = layout.marker_corners_mm(marker_id)[0]
        for row, bits in enumerate(marker_bits(marker_id)):
            for start, length in _runs(bits.tolist()):
                yield float(left) + start * module, float(top) + row * module, length * module, module


def _runs(bits: list[bool]) -> Iterator[tuple[int, int]]:
    """Give start and length of each run of True."""
    start = 0
    for at, bit in enumerate([*bits, False]):
        if not bit:
            if at > start:
                yield start, at - start
            start = at + 1


def _margins_mm(layout: FrameLayout) -> tuple[float, float]:
    """Return the printable depth beside and above the frame, less the quiet white. [mm]"""
    width, height = layout.paper_mm
    taken = EDGE_MM + QUIET_MM
    return (width - layout.width_mm) / 2 - taken, (height - layout.height_mm) / 2 - taken


def _type_size(layout: FrameLayout) -> float:
    return {"a4": 7.0, "letter": 7.0, "a5": 6.0}.get(layout.paper, 5.5)


def _advice_below(layout: FrameLayout) -> bool:
    beside, _ = _margins_mm(layout)
    return beside < 7.0


def _draw_check_lengths(pen: Pen, layout: FrameLayout) -> None:
    along_x, along_y = layout.check_lengths_mm
    beside, above = _margins_mm(layout)
    size = _type_size(layout)
    x = -QUIET_MM - min(beside / 2, 4.0)
    if _advice_below(layout):
        y = -QUIET_MM - TICK_LENGTH_MM / 2 - 0.5
    else:
        y = layout.height_mm + QUIET_MM + min(above / 2, 4.0)
    room_x = max(0.0, layout.width_mm - _check_width(along_x, size))
    room_y = max(0.0, layout.height_mm - _check_width(along_y, size))
    with pen.at(room_x / 2, y):
        _draw_check(pen, along_x, size)
    with pen.at(x, layout.height_mm - room_y / 2, turn_deg=90.0):
        _draw_check(pen, along_y, size)


def _check_width(length_mm: float, size: float) -> float:
    return length_mm + 3.0 + _reading_width(size)


def _reading_width(size: float) -> float:
    return width_of("reading:", size=size) + 15.0 + width_of("mm", size=size)


def _draw_check(pen: Pen, length_mm: float, size: float) -> None:
    """Draw one check length from the origin along x: tick, arrow, label, arrow, tick, blank for the reading."""
    half = TICK_LENGTH_MM / 2
    pen.fill([(x - TICK_MM / 2, -half, TICK_MM, TICK_LENGTH_MM) for x in (0.0, length_mm)])
    label = f"check length {length_mm:g} mm, measure with a ruler"
    start = (length_mm - width_of(label, size=size)) / 2
    pen.text(start, 0.0, label, size=size)
    for tip, inward, end in ((0.0, 1.0, start - 1.2), (length_mm, -1.0, length_mm - start + 1.2)):
        edge = tip + inward * TICK_MM / 2
        pen.polygon([(edge, 0.0), (edge + inward * 1.8, -0.35), (edge + inward * 1.8, 0.35)])
        pen.line([(edge + inward * 1.5, 0.0), (end, 0.0)], width_mm=0.15)
    at = length_mm + 3.0
    pen.text(at, 0.0, "reading:", size=size)
    at += width_of("reading:", size=size) + 0.5
    pen.line([(at, 1.0), (at + 14.0, 1.0)], width_mm=0.15)
    pen.text(at + 14.5, 0.0, "mm", size=size)


def _draw_title(pen: Pen, layout: FrameLayout, field: FieldKind) -> None:
    size = _type_size(layout)
    _, above = _margins_mm(layout)
    name, kind = f"areakit {layout.code}", f"scale sheet, {field} field"
    note = "Print at actual size, no fit to page. Measure both check lengths."
    y = -QUIET_MM - (above - 2.0 if _advice_below(layout) else min(above / 2, 5.0))
    note_at = layout.width_mm - width_of(note, size=size)
    kind_at = width_of(name, size=size + 2, font=BOLD) + 3.0
    if kind_at + width_of(kind, size=size) > note_at - 5.0:
        note_at, y = 0.0, y - 1.6
        pen.text(note_at, y + 3.4, note, size=size)
    else:
        pen.text(note_at, y, note, size=size)
    pen.text(0.0, y, name, size=size + 2, font=BOLD)
    pen.text(kind_at, y, kind, size=size)


def _draw_advice(pen: Pen, layout: FrameLayout, advice: tuple[Advice, ...]) -> None:
    if _advice_below(layout):
        _draw_advice_row(pen, layout, advice)
    else:
        _draw_advice_column(pen, layout, advice)


def _draw_advice_row(pen: Pen, layout: FrameLayout, advice: tuple[Advice, ...]) -> None:
    """Draw the advice under the frame, words beside each picture."""
    size = _type_size(layout)
    _, depth = _margins_mm(layout)
    pitch = layout.width_mm / len(advice)
    middle = layout.height_mm + QUIET_MM + depth / 2
    for n, (picture, words) in enumerate(advice):
        lines = wrapped(words, width_mm=pitch - WIDTH_MM - 14.0, size=size)
        with pen.at(n * pitch + 5.0, middle):
            with pen.at(0.0, -HEIGHT_MM / 2):
                picture(pen)
            _write_lines(pen, (WIDTH_MM + 2.0, 0.0), lines, size)


def _draw_advice_column(pen: Pen, layout: FrameLayout, advice: tuple[Advice, ...]) -> None:
    """Draw the advice right of the frame, words under each picture."""
    beside, above = _margins_mm(layout)
    width = min(beside, 16.0)
    size = 5.0 if width < 10.0 else 6.0
    scale = min(width / WIDTH_MM, layout.height_mm / (12.8 * len(advice))) - 0.02
    start = -min(max(above, 0.0), 12.0) if layout.paper == "small" else 0.0
    pitch = (layout.height_mm - start) / len(advice)
    for n, (picture, words) in enumerate(advice):
        lines = wrapped(words, width_mm=width, size=size)
        height = HEIGHT_MM * scale + 1.5 + len(lines) * size * 0.41
        top = start + n * pitch + (pitch - height) / 2
        middle = layout.width_mm + QUIET_MM + min(beside / 2, 9.0)
        with pen.at(middle - WIDTH_MM * scale / 2, top):
            pen.canvas.scale(scale, scale)
            picture(pen)
        for row, line in enumerate(lines):
            y = top + HEIGHT_MM * scale + 1.5 + (row + 0.5) * size * 0.41
            pen.text(middle - width_of(line, size=size) / 2, y, line, size=size)


def _write_lines(pen: Pen, start: tuple[float, float], lines: list[str], size: float) -> None:
    """Write lines one under the other, all together centred on y."""
    step = size * 0.41
    for row, line in enumerate(lines):
        pen.text(start[0], start[1] + (row - (len(lines) - 1) / 2) * step, line, size=size)


def _draw_cuts(pen: Pen) -> None:
    """Draw the lines along which small sheets are cut apart."""
    width, height = A4_MM
    for ends in (
        [(width / 2, EDGE_MM), (width / 2, height - EDGE_MM)],
        [(EDGE_MM, height / 2), (width - EDGE_MM, height / 2)],
    ):
        pen.line(ends, width_mm=0.15, dash_mm=(1.5, 1.5))
