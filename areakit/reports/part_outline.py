"""The outline of a part on a printed page, true to scale, with its two sizes."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from areakit.costing.measured_part import MeasuredPart
from areakit.geometry.enclosing import Ring, squared_up
from areakit.reports.document import PenDrawing
from areakit.reports.fonts import Typeface
from areakit.reports.pen import Pen, width_of

SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.001)
"""Scales of drawings (ISO 5455: 1, 2 and 5 times powers of ten). [1]"""
METAL = (0.87, 0.85, 0.78)
NOTE = 6.5
ROOM_MM = (66.0, 72.0)
"""What the outline takes of a page of figures. [mm]"""
OUTLINE_WIDTH = (ROOM_MM[0] + 2.0) * mm


def scale_for(rings: Sequence[Ring], room: tuple[float, float]) -> float:
    """Return the largest drawing scale at which an outline [mm] fits a room [mm]."""
    left, low, right, high = bounds(rings)
    return next((s for s in SCALES if (right - left) * s <= room[0] and (high - low) * s <= room[1]), SCALES[-1])


def bounds(rings: Sequence[Ring]) -> tuple[float, float, float, float]:
    """Return left, low, right and high of the outer ring. [mm]"""
    xs, ys = [x for x, _ in rings[0]], [y for _, y in rings[0]]
    return min(xs), min(ys), max(xs), max(ys)


def scale_words(scale: float) -> str:
    """Return a scale as drawings say it: ``2:1`` or ``1:5``."""
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def outlined(part: MeasuredPart, face: Typeface) -> list[Flowable]:
    """Return the outline of a part as it stands beside the figures of a page."""
    room = (ROOM_MM[0] * mm, ROOM_MM[1] * mm)
    return [PenDrawing(lambda pen: draw_outline(pen, part.rings, room=ROOM_MM, face=face), room=room)]


def draw_outline(pen: Pen, rings: Sequence[Ring], *, room: tuple[float, float], face: Typeface) -> None:
    """Draw an outline, turned upright, in the middle of a room, with its overall size and the scale below.

    The origin is the upper left corner of the room; 9 mm at its right and lower edges are for the figures.
    """
    inner = (room[0] - 9.0, room[1] - 9.0)
    rings = squared_up(rings)
    scale = scale_for(rings, inner)
    left, low, right, high = bounds(rings)
    wide, tall = (right - left) * scale, (high - low) * scale
    x, y = (inner[0] - wide) / 2, (inner[1] - tall) / 2
    path = pen.canvas.beginPath()
    for ring in rings:
        points = [((x + (px - left) * scale) * mm, -(y + (high - py) * scale) * mm) for px, py in ring]
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        path.close()
    pen.canvas.setFillColorRGB(*METAL)
    pen.canvas.setStrokeColorRGB(0, 0, 0)
    pen.canvas.setLineWidth(0.15 * mm)
    pen.canvas.setDash([])
    pen.canvas.drawPath(path, stroke=1, fill=1, fillMode=0)
    _size(pen, (x, y + tall + 2.5), length=wide, words=f"{right - left:.4g} mm", face=face)
    with pen.at(x + wide + 2.5, y + tall, turn_deg=90.0):
        _size(pen, (0.0, 0.0), length=tall, words=f"{high - low:.4g} mm", face=face)
    words = f"outline, {scale_words(scale)} (not a scale to measure by)"
    pen.text(0.0, room[1] - 1.0, words, size=NOTE, font=face.regular)


def _size(pen: Pen, start: tuple[float, float], *, length: float, words: str, face: Typeface) -> None:
    """Draw a size along x: ticks at both ends, a line where there is room, and the figure in its middle."""
    x, y = start
    half = width_of(words, size=NOTE, font=face.regular) / 2 + 0.8
    middle = x + length / 2
    for at in (x, x + length):
        pen.line([(at, y - 1.0), (at, y + 1.0)], width_mm=0.12)
    if length > 2 * half + 1.0:
        pen.line([(x, y), (middle - half, y)], width_mm=0.12)
        pen.line([(middle + half, y), (x + length, y)], width_mm=0.12)
        pen.text(middle - half + 0.8, y, words, size=NOTE, font=face.regular)
    else:
        pen.text(middle - half + 0.8, y + 2.2, words, size=NOTE, font=face.regular)
