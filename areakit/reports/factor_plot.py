"""The own factor over the bottle's age, as one self-contained SVG: runs with their ±, what the next one will do."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from areakit.plating.own_factor import OwnFactor, RunFactor
from areakit.records.recorded_factor import PER_CHARGE, PER_VOLUME, RecordedFactor
from areakit.reports.drawing import FONT, INK, ruler_figures, ruler_step, text_line
from areakit.reports.markup import escape
from areakit.uncertainty import COVERAGE_FACTOR
from areakit.units import pretty_unit, show, si_factor

WIDTH, HEIGHT = 900.0, 520.0
LEFT, RIGHT, TOP, BOTTOM = 90.0, 870.0, 60.0, 400.0
TEXT, TITLE, LINE = 16.0, 22.0, 21.0
LETTER_WIDTH = 0.62
STEPS = 40
QUIET, BAND, OUT = "#7a7a72", "#cfdbe8", "#8c2d19"
RADIUS = 6.0
_MOST_TICKS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Point:
    """One run on the plot: x in the plot's own unit, deposit and its ends in g/(A·h)."""

    x: float
    low: float
    value: float
    high: float
    kinds: tuple[str, ...]
    outlier: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Axes:
    """The ends of both axes; ``by_age`` tells whether x is the bath's age, else runs are counted."""

    x0: float
    x1: float
    y0: float
    y1: float
    by_age: bool

    def at(self, x: float, y: float) -> tuple[float, float]:
        across = LEFT + (x - self.x0) / (self.x1 - self.x0) * (RIGHT - LEFT)
        return across, BOTTOM - (y - self.y0) / (self.y1 - self.y0) * (BOTTOM - TOP)


def factor_svg(found: RecordedFactor) -> str:
    """Return the plot of a factor that has runs enough.

    Weighed runs are dots, coupons squares, runs that were only read diamonds; those that the others do not bear out
    have a ring. Where not every run has an age, runs are counted in the order of time instead.
    """
    factor = found.factor
    assert factor is not None
    by_age = all(run.age is not None for run in factor.runs)
    points = [_point(number, run, factor, by_age) for number, run in enumerate(factor.runs, start=1)]
    band = _band(factor, points, by_age)
    axes = _axes(points, band, by_age, factor)
    body = [_shape(axes, band), _frame(axes), *(_drawn(axes, point) for point in points)]
    if by_age and factor.age is not None:
        body.append(_now(axes, factor))
    notes = _notes(found, factor)
    title = f"Deposit per charge of {found.basis}, {found.metal}"
    return _page(title, "".join(body), notes)


def _point(number: int, run: RunFactor, factor: OwnFactor, by_age: bool) -> _Point:
    per = si_factor(PER_CHARGE)
    common = math.sqrt(math.fsum(share**2 for share in run.common.values()))
    reach = COVERAGE_FACTOR * math.hypot(run.standard, common)
    return _Point(
        x=run.age / si_factor(PER_VOLUME) if by_age and run.age is not None else float(number),
        low=run.deposit / per * (1.0 - reach),
        value=run.deposit / per,
        high=run.deposit / per * (1.0 + reach),
        kinds=tuple(one.kind for one in factor.observations if one.run == run.run),
        outlier=run.run in {one.run for one in factor.outliers},
    )


def _band(factor: OwnFactor, points: Sequence[_Point], by_age: bool) -> list[tuple[float, float, float, float]]:
    """Return x, low, middle and high of what the next run will do, from the youngest to the oldest age and now."""
    now = [factor.age / si_factor(PER_VOLUME)] if by_age and factor.age is not None else []
    ends = [*(point.x for point in points), *now]
    low, high = min(ends), max(ends)
    common = COVERAGE_FACTOR * math.sqrt(
        math.fsum(share**2 for name, share in factor.deposit.budget.items() if name != "next run")
    )
    found = []
    for step in range(STEPS + 1):
        x = low + (high - low) * step / STEPS
        level, reach = factor.expected(x * si_factor(PER_VOLUME) if by_age and factor.drift is not None else None)
        value, wide = level / si_factor(PER_CHARGE), math.hypot(reach, common / factor.deposit.value)
        found.append((x, value * (1.0 - wide), value, value * (1.0 + wide)))
    return found


def _axes(
    points: Sequence[_Point], band: Sequence[tuple[float, float, float, float]], by_age: bool, factor: OwnFactor
) -> _Axes:
    lows, highs = [*(p.low for p in points), *(b[1] for b in band)], [*(p.high for p in points), *(b[3] for b in band)]
    y0, y1 = max(0.0, min(lows)), max(highs)
    margin = 0.06 * (y1 - y0)
    x0, x1 = band[0][0], band[-1][0]
    side = 0.06 * (x1 - x0) or 0.5
    return _Axes(x0=max(0.0, x0 - side), x1=x1 + side, y0=max(0.0, y0 - margin), y1=y1 + margin, by_age=by_age)


def _shape(axes: _Axes, band: Sequence[tuple[float, float, float, float]]) -> str:
    upper = [axes.at(x, high) for x, _, _, high in band]
    lower = [axes.at(x, low) for x, low, _, _ in reversed(band)]
    middle = [axes.at(x, value) for x, _, value, _ in band]
    return (
        f'<path d="M{_path([*upper, *lower])}z" fill="{BAND}"/>'
        f'<path d="M{_path(middle)}" fill="none" stroke="{INK}" stroke-width="2"/>'
    )


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _frame(axes: _Axes) -> str:
    parts = [f'<path d="M{LEFT} {TOP}V{BOTTOM}H{RIGHT}" fill="none" stroke="{INK}" stroke-width="1.5"/>']
    for value in _ticks(axes.x0, axes.x1, whole=not axes.by_age):
        x, y = axes.at(value, axes.y0)
        parts.append(f'<path d="M{x:.1f} {y:.1f}v6" stroke="{INK}"/>')
        parts.append(text_line(x, y + 24.0, f"{value:g}", size=TEXT, anchor="middle"))
    for value in _ticks(axes.y0, axes.y1):
        x, y = axes.at(axes.x0, value)
        parts.append(f'<path d="M{x:.1f} {y:.1f}h-6" stroke="{INK}"/>')
        parts.append(text_line(x - 10.0, y + 5.0, f"{value:g}", size=TEXT, anchor="end"))
    under = (
        f"charge passed by a litre of solution, {pretty_unit(PER_VOLUME)}" if axes.by_age else "run, in order of time"
    )
    parts.append(text_line((LEFT + RIGHT) / 2.0, BOTTOM + 48.0, under, size=TEXT, anchor="middle"))
    parts.append(text_line(LEFT, TOP - 12.0, f"{pretty_unit(PER_CHARGE)}", size=TEXT, anchor="middle"))
    return "".join(parts)


def _ticks(low: float, high: float, *, whole: bool = False) -> list[float]:
    """Return round values between two ends, at most six or so."""
    step = ruler_step((high - low) / _MOST_TICKS)
    return ruler_figures(low, high, max(1.0, step) if whole else step)


def _drawn(axes: _Axes, point: _Point) -> str:
    x, y = axes.at(point.x, point.value)
    top, foot = axes.at(point.x, point.high)[1], axes.at(point.x, point.low)[1]
    colour = OUT if point.outlier else INK
    bar = f'<path d="M{x:.1f} {top:.1f}V{foot:.1f}" stroke="{colour}" stroke-width="1.5"/>'
    ring = (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{2 * RADIUS}" fill="none" stroke="{OUT}" stroke-width="2"/>'
        if point.outlier
        else ""
    )
    return bar + _sign(x, y, point.kinds, colour) + ring


def _sign(x: float, y: float, kinds: Sequence[str], colour: str) -> str:
    if "weighing" in kinds:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{RADIUS}" fill="{colour}"/>'
    turn = "" if "coupon" in kinds else f' transform="rotate(45 {x:.1f} {y:.1f})"'
    side = 2.0 * RADIUS
    return f'<rect x="{x - RADIUS:.1f}" y="{y - RADIUS:.1f}" width="{side}" height="{side}" fill="{colour}"{turn}/>'


def _now(axes: _Axes, factor: OwnFactor) -> str:
    assert factor.age is not None
    x, y = axes.at(factor.age / si_factor(PER_VOLUME), axes.y1)
    return (
        f'<path d="M{x:.1f} {y:.1f}V{BOTTOM}" stroke="{QUIET}" stroke-dasharray="6 5"/>'
        f"{text_line(x - 6.0, y + 14.0, 'now', size=TEXT, anchor='end', fill=QUIET)}"
    )


def _notes(found: RecordedFactor, factor: OwnFactor) -> list[str]:
    signs = {"weighing": "dot: weighed", "coupon": "square: coupon", "reading": "diamond: thickness read only"}
    kinds = dict.fromkeys(one.kind for one in factor.observations)
    notes = [
        f"Next run {show(factor.deposit, PER_CHARGE)} (shaded: about 95 % of runs); runs differ by "
        f"{100.0 * factor.between:.1f} % beyond their own ±.",
        "; ".join(signs[kind] for kind in signs if kind in kinds).capitalize()
        + ("; ringed: not borne out by the others." if factor.outliers else "."),
    ]
    return notes


def _page(title: str, body: str, notes: Sequence[str]) -> str:
    wide = int((WIDTH - 40.0) / (TEXT * LETTER_WIDTH))
    rows = [row for note in notes for row in textwrap.wrap(note, wide)]
    lines = "".join(text_line(20.0, BOTTOM + 82.0 + LINE * number, row, size=TEXT) for number, row in enumerate(rows))
    height = BOTTOM + 82.0 + LINE * len(rows)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:.0f}" height="{height:.0f}" role="img" '
        f'viewBox="0 0 {WIDTH:.0f} {height:.0f}" font-family="{FONT}"><title>{escape(title)}</title>'
        f'<rect width="{WIDTH:.0f}" height="{height:.0f}" fill="#ffffff"/>'
        f"{text_line(20.0, 30.0, title, size=TITLE)}{body}{lines}</svg>\n"
    )
