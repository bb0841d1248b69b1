"""The edge of the field with its millimetres: a tick every 10 mm along all four sides, to read off points by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import ImageDraw, ImageFont

Floats = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]

EDGE = (255, 255, 255)
SHADE = (0, 0, 0)
FIGURE = (20, 20, 24)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """One tick: where it stands on the field's edge, a point further out [px], and its figure [mm]."""

    at_px: Floats
    out_px: Floats
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """The field in pixels: its edge, shape (n, 2), the ticks of each side, and what the picture is cropped to."""

    edge_px: Floats
    sides: tuple[tuple[Tick, ...], ...]
    shown_px: Floats

    def moved(self, move: Callable[[Floats], Floats]) -> Field:
        """Return the same field in pixels of another picture."""
        ticks = [
            tuple(Tick(at_px=move(t.at_px[None])[0], out_px=move(t.out_px[None])[0], text=t.text) for t in side)
            for side in self.sides
        ]
        return Field(edge_px=move(self.edge_px), sides=tuple(ticks), shown_px=move(self.shown_px))


def draw_field(draw: ImageDraw.ImageDraw, field: Field, font: ImageFont.FreeTypeFont, line: int) -> list[Box]:
    """Draw edge, ticks and figures; return the boxes that the figures take."""
    closed = [(float(x), float(y)) for x, y in (*field.edge_px, field.edge_px[0])]
    draw.line(closed, SHADE, line + 1)
    draw.line(closed, EDGE, max(1, line - 1))
    taken: list[Box] = []
    for side in field.sides:
        every = _figures_every(side, font)
        for i, tick in enumerate(side):
            outward = _unit(tick.out_px - tick.at_px)
            length = font.size * (0.55 if i % every == 0 else 0.35)
            end = tick.at_px + length * outward
            draw.line([tuple(tick.at_px), tuple(end)], SHADE, line + 1)
            draw.line([tuple(tick.at_px), tuple(end)], EDGE, max(1, line - 1))
            if i % every == 0:
                taken.append(_figure(draw, tick.text, end + 0.15 * font.size * outward, outward, font))
    return taken


def _figures_every(side: Sequence[Tick], font: ImageFont.FreeTypeFont) -> int:
    """Return at which distance of ticks figures do not run into each other: 1, 2, 5 or 10."""
    if len(side) < 2:
        return 1
    apart = float(np.hypot(*(side[-1].at_px - side[0].at_px))) / (len(side) - 1)
    needed = 1.35 * max(font.getlength(tick.text) for tick in side) + 4.0
    return next((every for every in (1, 2, 5) if every * apart >= needed), 10)


def _figure(draw: ImageDraw.ImageDraw, text: str, at: Floats, outward: Floats, font: ImageFont.FreeTypeFont) -> Box:
    """Write a figure on a light ground beyond a point, and return its box."""
    left, top, right, bottom = draw.textbbox((0, 0), text, font=font)
    half = np.array([right - left + 4, bottom - top + 4]) / 2
    middle = at + outward * float(np.abs(outward) @ half)
    box = (*(float(v) for v in middle - half), *(float(v) for v in middle + half))
    draw.rectangle(box, fill=EDGE)
    draw.text((box[0] + 2 - left, box[1] + 2 - top), text, fill=FIGURE, font=font)
    return box[0], box[1], box[2], box[3]


def _unit(step: Floats) -> Floats:
    return step / max(float(np.hypot(*step)), 1e-9)
