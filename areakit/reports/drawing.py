"""The sheet that every drawing of a part stands on: frame, title, notes, scale bar, outline, rulers."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from typing import Any

from areakit.reports.markup import escape

INK = "#26241f"
FONT = "DejaVu Sans, Verdana, Helvetica, Arial, sans-serif"
PICTURE_WIDTH_PX = 900
NOTE_SIZE, LETTER_WIDTH = 2.5, 0.62
"""Size of the notes in units, and the mean width of a letter over its size (the widest of the fonts named)."""
MOST_OUTLINE_POINTS = 6000


def ruler_step(narrowest: float) -> float:
    """Return 1, 2 or 5 times a power of ten, at least ``narrowest``: how far apart figures stand."""
    decade = 10.0 ** math.floor(math.log10(narrowest))
    return next(factor * decade for factor in (1.0, 2.0, 5.0, 10.0) if factor * decade >= narrowest * (1.0 - 1e-9))


def ruler_figures(low: float, high: float, step: float) -> list[float]:
    """Return the multiples of a step from ``low`` to ``high``."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(number * step, 9) + 0.0 for number in range(first, last + 1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where things stand on the drawing, in millimetres of the part; ``unit`` is a hundredth of its size.

    ``height`` ends with the part; scale bar and notes come below.
    """

    left: float
    top: float
    width: float
    height: float
    unit: float
    body_top: float
    body_bottom: float
    legend_x: float

    @classmethod
    def around(cls, bounds: tuple[float, float, float, float], *, legend: bool) -> Frame:
        """Return a frame around a part, with room for a legend on the right."""
        x0, y0, x1, y1 = bounds
        unit = max(x1 - x0, y1 - y0) / 100.0
        margin, title = 4.0 * unit, 8.0 * unit
        legend_x = x1 + 5.0 * unit
        # Notes and title need their width even over a narrow part, the legend its height beside a flat one.
        right = max(legend_x + 30.0 * unit if legend else x1 + margin, x0 + 112.0 * unit)
        bottom = max(y1, y0 + 52.0 * unit) if legend else y1
        return cls(
            left=x0 - margin,
            top=y0 - title - margin,
            width=right - x0 + margin,
            height=bottom - y0 + title + margin,
            unit=unit,
            body_top=y0,
            body_bottom=bottom,
            legend_x=legend_x,
        )


def page(frame: Frame, *, title: str, body: str, notes: tuple[str, ...]) -> str:
    """Return the whole SVG text."""
    unit = frame.unit
    wide = int((frame.width - 8.0 * unit) / (NOTE_SIZE * LETTER_WIDTH * unit))
    rows = [row for note in notes for row in textwrap.wrap(note, wide)]
    height = frame.height + (12.0 + 4.0 * len(rows)) * unit
    height_px = round(PICTURE_WIDTH_PX * height / frame.width)
    lines = "".join(
        text_line(frame.left + 4 * unit, frame.body_bottom + (11.0 + 4.0 * row) * unit, words, size=NOTE_SIZE * unit)
        for row, words in enumerate(rows)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{PICTURE_WIDTH_PX}" height="{height_px}" role="img" '
        f'viewBox="{frame.left:.4f} {frame.top:.4f} {frame.width:.4f} {height:.4f}" '
        f'font-family="{FONT}"><title>{escape(title)}</title>'
        f'<rect x="{frame.left:.4f}" y="{frame.top:.4f}" width="{frame.width:.4f}" height="{height:.4f}" '
        f'fill="#ffffff"/>'
        f"{text_line(frame.left + 4 * unit, frame.top + 6.5 * unit, title, size=4.0 * unit)}"
        f"{body}{_scale_bar(frame)}{lines}</svg>\n"
    )


def text_line(x: float, y: float, words: str, *, size: float, anchor: str = "start", fill: str = INK) -> str:
    """Return one line of text."""
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" font-size="{size:.4f}" text-anchor="{anchor}" fill="{fill}">'
        f"{escape(words)}</text>"
    )


def outline_path(polygon: Any) -> str:
    """Return the rings of a polygon as SVG path data, thinned where there are thousands of points."""
    rings = [polygon.exterior, *polygon.interiors]
    left, low, right, high = polygon.bounds
    tolerance = max(right - left, high - low) / 4000.0
    if sum(len(ring.coords) for ring in rings) > MOST_OUTLINE_POINTS:
        tolerance *= 4.0
    return "".join(_ring_path(ring.simplify(tolerance).coords) for ring in rings)


def _ring_path(points: Any) -> str:
    return "M" + "L".join(f"{point[0]:.4g} {point[1]:.4g}" for point in list(points)[:-1]) + "z"


def _scale_bar(frame: Frame) -> str:
    unit = frame.unit
    length = _round_length(25.0 * unit)
    x, y = frame.left + 4 * unit, frame.body_bottom + 6.0 * unit
    return (
        f'<path d="M{x:.3f} {y - unit:.3f}v{2 * unit:.3f}m0 {-unit:.3f}h{length:.3f}m0 {-unit:.3f}v{2 * unit:.3f}" '
        f'fill="none" stroke="{INK}" stroke-width="{0.3 * unit:.4f}"/>'
        f"{text_line(x + length + 1.5 * unit, y + 0.9 * unit, f'{length:g} mm', size=2.5 * unit)}"
    )


def _round_length(target: float) -> float:
    """Return the largest of 1, 2, 5 times a power of ten up to the target."""
    power = 10.0 ** math.floor(math.log10(target))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= target * (1 + 1e-9))
