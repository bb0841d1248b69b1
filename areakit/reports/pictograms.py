"""Small line drawings that say how to take the photo. Each fills a box of 10 mm x 7 mm before scaling."""

from __future__ import annotations

from collections.abc import Callable

from areakit.reports.pen import Box, Colour, Pen, Point

WIDTH_MM, HEIGHT_MM = 10.0, 7.0
PALE: Colour = (205, 216, 236)
WHITE: Colour = (255, 255, 255)
MID: Colour = (120, 120, 120)


def camera_above(pen: Pen) -> None:
    """Draw a camera that looks straight down on a part, its axis square to the sheet."""
    pen.fill([(2.9, 0.4, 4.2, 1.5), (4.2, 1.9, 1.6, 0.6), (3.3, 0.0, 1.2, 0.4)])
    pen.line([(5.0, 2.8), (5.0, 5.8)], dash_mm=(0.55, 0.35))
    pen.line([(5.0, 4.6), (5.8, 4.6), (5.8, 5.85)], width_mm=0.15)
    _part_on_sheet(pen)


def light_two_sides(pen: Pen) -> None:
    """Draw two lamps that shine on a part from both sides."""
    for side in (1.0, -1.0):
        lamp = (5.0 - 3.7 * side, 1.3)
        pen.circle(lamp, 0.9, fill=PALE)
        for dx, dy in ((0.8, 0.6), (0.55, 0.84)):
            start = (lamp[0] + side * dx * 1.3, lamp[1] + dy * 1.3)
            _arrow(pen, start, (start[0] + side * dx * 2.9, start[1] + dy * 2.9))
    _part_on_sheet(pen)


def sheet_flat(pen: Pen) -> None:
    """Draw a flat sheet on its board, and a bent one struck out."""
    pen.fill([(0.4, 6.1, 9.2, 0.6)], colour=MID)
    pen.fill([(0.8, 5.65, 8.4, 0.3)])
    pen.bow([(1.2, 3.4), (3.6, 0.9), (6.4, 0.9), (8.8, 3.4)], width_mm=0.3)
    pen.line([(4.0, 0.6), (6.0, 2.6)], width_mm=0.35)
    pen.line([(6.0, 0.6), (4.0, 2.6)], width_mm=0.35)


def frame_in_view(pen: Pen) -> None:
    """Draw a frame of view with the whole marker frame inside."""
    for x, inward in ((0.5, 1.0), (9.5, -1.0)):
        for y, down in ((0.2, 1.0), (6.8, -1.0)):
            pen.line([(x + 1.5 * inward, y), (x, y), (x, y + 1.5 * down)], width_mm=0.3)
    pen.fill(_frame((1.9, 1.3, 6.2, 4.4), 0.7))
    pen.polygon(_blob((5.0, 3.5), 0.75), colour=MID)


def part_off_edge(pen: Pen) -> None:
    """Draw a part that is clear of the edge of the field."""
    pen.fill([(0.6, 0.2, 8.8, 6.6)])
    pen.fill([(1.2, 0.8, 7.6, 5.4)], colour=PALE)
    pen.polygon(_blob((5.0, 3.5), 1.35), colour=MID)
    for far, near in ((1.25, 3.45), (8.75, 6.55)):
        _arrow(pen, ((far + near) / 2, 3.5), (far, 3.5))
        _arrow(pen, ((far + near) / 2, 3.5), (near, 3.5))


def dark_card(pen: Pen) -> None:
    """Draw a black card with a hole before the camera, and below it a part that mirrors it, black too."""
    pen.fill([(2.9, 0.4, 4.2, 1.5), (4.2, 1.9, 1.6, 0.6), (3.3, 0.0, 1.2, 0.4)])
    pen.fill([(0.4, 2.75, 4.0, 0.35), (5.6, 2.75, 4.0, 0.35)])
    pen.line([(5.0, 2.8), (4.4, 5.7), (3.2, 3.2)], width_mm=0.15)
    pen.line([(5.0, 2.8), (5.6, 5.7), (6.8, 3.2)], width_mm=0.15)
    pen.fill([(0.4, 6.4, 9.2, 0.3), (3.6, 5.85, 2.8, 0.55)])


Advice = tuple[Callable[[Pen], None], str]
ADVICE: tuple[Advice, ...] = (
    (camera_above, "camera straight above"),
    (light_two_sides, "light from two sides"),
    (sheet_flat, "sheet flat"),
    (frame_in_view, "marker frame in view"),
    (part_off_edge, "part clear of field edge"),
)
DARK_CARD = (dark_card, "shiny part: dark card")
"""Further advice for a sheet without colour, on which shiny grey metal looks like the paper unless it mirrors black."""


def _part_on_sheet(pen: Pen) -> None:
    pen.fill([(0.4, 6.4, 9.2, 0.3)])
    pen.fill([(3.6, 5.85, 2.8, 0.55)], colour=MID)


def _frame(box: Box, thickness: float) -> list[Box]:
    left, top, width, height = box
    t = thickness
    return [
        (left, top, width, t),
        (left, top + height - t, width, t),
        (left, top + t, t, height - 2 * t),
        (left + width - t, top + t, t, height - 2 * t),
    ]


def _blob(centre: Point, size: float) -> list[Point]:
    """Return an irregular plate with a notch."""
    shape = ((-1, -0.5), (-0.2, -1), (0.9, -0.8), (1, 0.3), (0.3, 0.35), (0.35, 1), (-0.8, 0.8))
    return [(centre[0] + size * x, centre[1] + size * y) for x, y in shape]


def _arrow(pen: Pen, start: Point, tip: Point) -> None:
    dx, dy = tip[0] - start[0], tip[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    dx, dy = dx / length * 0.6, dy / length * 0.6
    back = (tip[0] - dx, tip[1] - dy)
    pen.line([start, back], width_mm=0.15)
    pen.polygon([tip, (back[0] - dy * 0.45, back[1] + dx * 0.45), (back[0] + dy * 0.45, back[1] - dx * 0.45)])
