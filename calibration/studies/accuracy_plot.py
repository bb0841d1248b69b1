"""A picture of the accuracy study, as SVG: errors by size, errors over stated uncertainty, methods side by side."""

from __future__ import annotations

from collections.abc import Sequence
from math import erf, log10, sqrt

import numpy as np

from calibration.studies.accuracy_rows import Row
from calibration.studies.accuracy_summary import METHODS, SIZES, quantiles

WIDTH, HEIGHT = 980, 676
INK, GRID, COVERED, MISSED, BAND = "#222222", "#d8d8d8", "#2c6fb0", "#c63b2b", "#dcebf7"
SHADES = ("#9db4c9", "#7f9a63", "#c79a4b", "#a87bb0", COVERED)
LARGEST = 2.0
"""Errors beyond this are drawn at the rim, as triangles. [%]"""


class _Frame:
    """A panel: data to picture coordinates."""

    def __init__(self, box: tuple[float, float, float, float], x: tuple[float, float], y: tuple[float, float]) -> None:
        self.left, self.top, self.width, self.height = box
        self.span_x, self.span_y = x, y

    def x(self, value: float) -> float:
        low, high = self.span_x
        return self.left + self.width * (value - low) / (high - low)

    def y(self, value: float) -> float:
        low, high = self.span_y
        return self.top + self.height * (high - value) / (high - low)

    def rim(self) -> str:
        return (
            f'<rect x="{self.left}" y="{self.top}" width="{self.width}" height="{self.height}" fill="none" '
            f'stroke="{INK}" stroke-width="0.8"/>'
        )


def plot_svg(rows: Sequence[Row]) -> str:
    """Return the plot of all rows as an SVG document."""
    measured = [row for row in rows if row.measured]
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        f'font-family="DejaVu Sans, Verdana, sans-serif" font-size="12" fill="{INK}">',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>',
        *_by_size(measured, _Frame((64, 46, 536, 270), (log10(1.8), log10(120.0)), (-LARGEST, LARGEST))),
        *_ratios(measured, _Frame((670, 46, 290, 270), (-3.0, 3.0), (0.0, _tallest(measured)))),
        *_methods(rows, _Frame((64, 408, 896, 200), (0.0, 4.0), (log10(0.05), log10(100.0)))),
        "</svg>",
    ]
    return "\n".join(pieces) + "\n"


def _text(x: float, y: float, words: str, *, anchor: str = "middle", size: int = 12, turn: bool = False) -> str:
    place = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if turn else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}"{place}>{words}</text>'


def _line(x0: float, y0: float, x1: float, y1: float, colour: str = GRID) -> str:
    return f'<line x1="{x0:.1f}" y1="{y0:.1f}" x2="{x1:.1f}" y2="{y1:.1f}" stroke="{colour}" stroke-width="0.8"/>'


def _by_size(rows: Sequence[Row], f: _Frame) -> list[str]:
    bottom, right = f.top + f.height, f.left + f.width
    out = [_text(f.left, f.top - 14, "Error of the area, one dot a photo", anchor="start", size=14)]
    for value in (-2, -1, 0, 1, 2):
        out += [_line(f.left, f.y(value), right, f.y(value), INK if value == 0 else GRID)]
        out += [_text(f.left - 6, f.y(value) + 4, f"{value:+d} %" if value else "0", anchor="end")]
    for area in (2, 5, 10, 20, 50, 100):
        x = f.x(log10(area))
        out += [_line(x, f.top, x, bottom), _text(x, bottom + 16, f"{area} cm²")]
    for row in sorted(rows, key=lambda row: not row.covered, reverse=True):
        out.append(_mark(f, row))
    y = bottom + 36
    for x, colour, words in ((f.left, COVERED, "truth within ± U"), (f.left + 170, MISSED, "outside ± U")):
        out += [f'<circle cx="{x + 5}" cy="{y - 4}" r="4" fill="{colour}"/>', _text(x + 15, y, words, anchor="start")]
    beyond = sum(abs(row.error) > LARGEST for row in rows)
    words = f"▲▼ beyond ± {LARGEST:g} %: {beyond} of {len(rows)}"
    return [*out, _text(f.left + 310, y, words, anchor="start"), f.rim()]


def _mark(f: _Frame, row: Row) -> str:
    colour = COVERED if row.covered else MISSED
    x, y = f.x(log10(row.area_cm2)), f.y(float(np.clip(row.error, -LARGEST, LARGEST)))
    if abs(row.error) <= LARGEST:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="{colour}" fill-opacity="0.7"/>'
    tip = 7 if row.error > 0 else -7
    return f'<path d="M{x - 4:.1f} {y + tip:.1f}h8l-4 {-tip}z" fill="{colour}" fill-opacity="0.8"/>'


STEP = 0.25


def _counts(rows: Sequence[Row]) -> list[int]:
    """Count errors over stated uncertainty in bins from -3 to 3; what lies beyond joins the end bins."""
    ratios = np.clip([row.e_n for row in rows], -2.999, 2.999)
    counts, _ = np.histogram(ratios, bins=np.arange(-3.0, 3.01, STEP))
    return [int(count) for count in counts]


def _tallest(rows: Sequence[Row]) -> float:
    expected = len(rows) * erf(STEP / sqrt(2.0))
    return 1.1 * max(max(_counts(rows), default=1), expected, 1.0)


def _ratios(rows: Sequence[Row], f: _Frame) -> list[str]:
    bottom = f.top + f.height
    out = [_text(f.left, f.top - 14, "Error over stated uncertainty U", anchor="start", size=14)]
    out.append(
        f'<rect x="{f.x(-1):.1f}" y="{f.top}" width="{f.x(1) - f.x(-1):.1f}" height="{f.height}" fill="{BAND}"/>'
    )
    for i, count in enumerate(_counts(rows)):
        left = -3.0 + i * STEP
        colour = COVERED if -1.0 <= left < 1.0 else MISSED
        out.append(
            f'<rect x="{f.x(left) + 0.5:.1f}" y="{f.y(count):.1f}" width="{f.x(STEP) - f.x(0) - 1:.1f}" '
            f'height="{bottom - f.y(count):.1f}" fill="{colour}"/>'
        )
    # With k = 2 the ratio of a normal error to U has a standard deviation of one half.
    places = np.linspace(-3.0, 3.0, 121)
    heights = len(rows) * STEP * 2.0 / sqrt(2.0 * np.pi) * np.exp(-2.0 * places**2)
    path = " ".join(f"{f.x(float(p)):.1f},{f.y(float(h)):.1f}" for p, h in zip(places, heights, strict=True))
    out.append(f'<polyline points="{path}" fill="none" stroke="{INK}" stroke-width="1.4"/>')
    for value in (-3, -2, -1, 0, 1, 2, 3):
        out.append(_text(f.x(value), bottom + 16, f"{value:+d}" if value else "0"))
    return [*out, _text(f.left, bottom + 36, "line: a normal error with k = 2", anchor="start"), f.rim()]


def _methods(rows: Sequence[Row], f: _Frame) -> list[str]:
    bottom, right = f.top + f.height, f.left + f.width
    title = "By hand and by photo: bar to the median error, line to 95 %"
    out = [_text(f.left, f.top - 14, title, anchor="start", size=14)]
    for value in (0.1, 1.0, 10.0, 100.0):
        y = f.y(log10(value))
        out += [_line(f.left, y, right, y), _text(f.left - 6, y + 4, f"{value:g} %", anchor="end")]
    for i, (name, (low, high)) in enumerate(SIZES.items()):
        chosen = [row for row in rows if low <= row.area_cm2 < high]
        out.append(_text(f.x(i + 0.5), bottom + 16, name))
        for k, column in enumerate(METHODS):
            out += _bar(f, i + 0.12 + 0.155 * k, quantiles(chosen, column), SHADES[k])
    for k, words in enumerate(METHODS.values()):
        x = f.left + 180 * k
        out += [f'<rect x="{x}" y="{bottom + 33}" width="10" height="10" fill="{SHADES[k]}"/>']
        out += [_text(x + 15, bottom + 42, words, anchor="start")]
    return [*out, f.rim()]


def _bar(f: _Frame, place: float, found: tuple[float, float], colour: str) -> list[str]:
    half, most = found
    if half != half:
        return []
    top, end = (f.y(float(np.clip(log10(max(value, 1e-9)), *f.span_y))) for value in (half, most))
    x, width = f.x(place), f.x(0.14) - f.x(0.0)
    return [
        f'<rect x="{x:.1f}" y="{top:.1f}" width="{width:.1f}" height="{f.top + f.height - top:.1f}" fill="{colour}"/>',
        _line(x + width / 2, top, x + width / 2, end, INK),
        _line(x + width / 2 - 4, end, x + width / 2 + 4, end, INK),
    ]
