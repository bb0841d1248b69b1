"""Drawings over the outline of a part: thickness in a tank, lanes and dose of the brush.

Each function returns one self-contained SVG text with its viewBox in millimetres, x to the right and y down, as on
the scale sheet. Text and lines grow with the part, so that a pin and a plaque are equally legible.
"""

from __future__ import annotations

import math

import numpy as np

from areakit.plating.distribution import ThicknessMap
from areakit.plating.lanes import Move
from areakit.plating.strokes import WHOLE_CELL, StrokePlan
from areakit.reports.bands import Bands, Floats, choose_bands, raster_paths, thickness_raster
from areakit.reports.drawing import INK, Frame, outline_path, page, text_line

CELLS_ALONG_PICTURE = 200
METAL, LANE, QUIET = "#dcdad2", "#1f4e79", "#7a7a72"
MOST_NUMBERED_LANES = 60


def thickness_svg(thickness: ThicknessMap, *, title: str = "Predicted thickness over its mean") -> str:
    """Return the thickness map of a tank with its legend and its minimum marked."""
    frame = Frame.around(thickness.polygon.bounds, legend=True)
    bands = choose_bands(thickness.ratio, thickness.areas)
    values, corner, cell = thickness_raster(thickness, CELLS_ALONG_PICTURE)
    place = f"translate({corner[0]:.4f} {corner[1]:.4f}) scale({cell:.5f})"
    notes = (
        _evenness(thickness.minimum_over_mean, thickness.allowance),
        f"Tank, anodes far away, both faces alike; {_kind(thickness.wagner)}",
    )
    body = _map(thickness.polygon, values, place, bands, thickness.minimum_at_mm, frame, name="thickness")
    return page(frame, title=title, body=body, notes=notes)


def dose_svg(plan: StrokePlan, *, title: str = "Predicted dose of one pass over its mean") -> str:
    """Return the dose map of a stroke plan with its legend and its minimum marked."""
    frame = Frame.around(plan.polygon.bounds, legend=True)
    dose, grid = plan.dose, plan.dose.grid
    ratio, inside = dose.ratio, dose.metal >= min(WHOLE_CELL, float(np.max(dose.metal)))
    bands = choose_bands(ratio[inside], dose.metal[inside])
    near = ratio.copy()
    near[~_grown(dose.metal > 0.0)] = np.nan
    place = (
        f"rotate({dose.direction_deg:.4f}) translate({grid.left:.4f} {grid.low:.4f}) "
        f"scale({grid.cell_x:.5f} {grid.cell_y:.5f})"
    )
    body = _map(plan.polygon, near, place, bands, dose.minimum_at_mm, frame, name="dose")
    notes = (
        _evenness(plan.minimum_over_mean, plan.allowance),
        f"Brush, one pass; overlap {100.0 * plan.brush.overlap:.0f}\u00a0%, "
        f"overrun {plan.brush.overrun_mm:.3g} mm, brush footprint {_footprint(plan)}.",
    )
    return page(frame, title=title, body=body, notes=notes)


def lanes_svg(plan: StrokePlan, *, title: str = "Lanes of one pass") -> str:
    """Return the lanes over the outline: arrows, numbers, lifts dashed, the footprint to scale at the start."""
    points = np.array([point for move in plan.moves for point in (move.start, move.end)])
    half = max(plan.brush.footprint_width_mm, plan.brush.footprint_length_mm) / 2.0
    left, low, right, high = plan.polygon.bounds
    (x0, y0), (x1, y1) = points.min(axis=0) - half, points.max(axis=0) + half
    frame = Frame.around((min(left, x0), min(low, y0), max(right, x1), max(high, y1)), legend=False)
    body = [
        f'<path d="{outline_path(plan.polygon)}" fill="{METAL}" fill-rule="evenodd" stroke="{INK}" '
        f'stroke-width="{0.35 * frame.unit:.4f}"/>',
        _swaths(plan),
        *(_move(move, frame) for move in plan.moves),
        _footprint_shape(plan, frame),
        *_numbers(plan, frame),
    ]
    count, lifts = len(plan.lanes), plan.lifts
    notes = (
        f"{count} lane{'s' * (count != 1)}, {lifts} lift{'s' * (lifts != 1)}, path {plan.path_length_mm:.0f} mm, "
        f"{plan.seconds_per_pass:.1f} s a pass at {plan.brush.hand_speed_mm_s:.3g} mm/s",
        f"Brush footprint {_footprint(plan)} (dashed shape, to scale), overlap "
        f"{100.0 * plan.brush.overlap:.0f}\u00a0%. "
        + ("Dashed lines: lifted." if lifts else "In contact all the way."),
    )
    return page(frame, title=title, body="".join(body), notes=notes)


def _map(
    polygon: object,
    values: Floats,
    place: str,
    bands: Bands,
    minimum_at_mm: tuple[float, float],
    frame: Frame,
    *,
    name: str,
) -> str:
    path = outline_path(polygon)
    x, y = minimum_at_mm
    unit = frame.unit
    mark = "".join(
        f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{1.6 * unit:.4f}" fill="none" stroke="{colour}" '
        f'stroke-width="{width * unit:.4f}"/>'
        for colour, width in (("#ffffff", 1.3), ("#b3261e", 0.6))
    )
    return (
        f'<clipPath id="{name}-outline"><path d="{path}" clip-rule="evenodd"/></clipPath>'
        f'<g clip-path="url(#{name}-outline)"><g transform="{place}" shape-rendering="crispEdges">'
        f"{raster_paths(values, bands)}</g></g>"
        f'<path d="{path}" fill="none" stroke="{INK}" stroke-width="{0.3 * unit:.4f}"/>{mark}{_legend(bands, frame)}'
    )


def _legend(bands: Bands, frame: Frame) -> str:
    """Return the swatches, thickest on top, and the sign of the minimum below."""
    unit, x, y = frame.unit, frame.legend_x, frame.body_top
    parts = [text_line(x, y + 2.6 * unit, "local / mean", size=2.8 * unit)]
    y += 4.5 * unit
    for colour, label in zip(reversed(bands.colours), reversed(bands.labels()), strict=True):
        parts.append(
            f'<rect x="{x:.3f}" y="{y:.3f}" width="{5 * unit:.3f}" height="{4 * unit:.3f}" fill="{colour}" '
            f'stroke="{INK}" stroke-width="{0.1 * unit:.4f}"/>'
        )
        parts.append(text_line(x + 6.5 * unit, y + 3.0 * unit, label, size=2.8 * unit))
        y += 4.0 * unit
    parts.append(
        f'<circle cx="{x + 2.5 * unit:.3f}" cy="{y + 4 * unit:.3f}" r="{1.6 * unit:.4f}" fill="none" '
        f'stroke="#b3261e" stroke-width="{0.6 * unit:.4f}"/>'
    )
    parts.append(text_line(x + 6.5 * unit, y + 5.0 * unit, "minimum", size=2.8 * unit))
    return "".join(parts)


def _swaths(plan: StrokePlan) -> str:
    lines = "".join(
        f"M{move.start[0]:.3f} {move.start[1]:.3f}L{move.end[0]:.3f} {move.end[1]:.3f}" for move in plan.lanes
    )
    # One path would not darken where lanes overlap, so each lane is its own.
    return "".join(
        f'<path d="M{line}" stroke="{LANE}" stroke-opacity="0.10" stroke-width="{plan.brush.footprint_width_mm:.4f}"/>'
        for line in lines.split("M")[1:]
    )


def _move(move: Move, frame: Frame) -> str:
    (x0, y0), (x1, y1) = move.start, move.end
    unit = frame.unit
    dashes = f'stroke-dasharray="{1.2 * unit:.3f} {0.9 * unit:.3f}"'
    style = {
        "lane": f'stroke="{LANE}" stroke-width="{0.55 * unit:.4f}"',
        "slide": f'stroke="{LANE}" stroke-width="{0.3 * unit:.4f}"',
        "lift": f'stroke="{QUIET}" stroke-width="{0.35 * unit:.4f}" {dashes}',
    }[move.kind]
    line = f'<path d="M{x0:.3f} {y0:.3f}L{x1:.3f} {y1:.3f}" fill="none" {style}/>'
    return line + _arrow(move, unit) if move.kind == "lane" else line


def _arrow(move: Move, unit: float) -> str:
    if move.length_mm == 0.0:
        return ""
    (x0, y0), (x1, y1) = move.start, move.end
    dx, dy = (x1 - x0) / move.length_mm, (y1 - y0) / move.length_mm
    x, y = x0 + 0.62 * (x1 - x0), y0 + 0.62 * (y1 - y0)
    long, wide = 2.4 * unit, 0.95 * unit
    return (
        f'<path d="M{x + dx * long:.3f} {y + dy * long:.3f}L{x - dy * wide:.3f} {y + dx * wide:.3f}'
        f'L{x + dy * wide:.3f} {y - dx * wide:.3f}z" fill="{LANE}"/>'
    )


def _footprint_shape(plan: StrokePlan, frame: Frame) -> str:
    brush, (x, y) = plan.brush, plan.moves[0].start
    radius = min(brush.footprint_width_mm, brush.footprint_length_mm) / 2.0 if brush.rounded else 0.0
    return (
        f'<rect x="{-brush.footprint_length_mm / 2:.3f}" y="{-brush.footprint_width_mm / 2:.3f}" rx="{radius:.3f}" '
        f'width="{brush.footprint_length_mm:.3f}" height="{brush.footprint_width_mm:.3f}" fill="#ffffff" '
        f'fill-opacity="0.55" stroke="{INK}" stroke-width="{0.3 * frame.unit:.4f}" '
        f'stroke-dasharray="{0.9 * frame.unit:.3f} {0.6 * frame.unit:.3f}" '
        f'transform="translate({x:.3f} {y:.3f}) rotate({plan.direction_deg:.3f})"/>'
    )


def _numbers(plan: StrokePlan, frame: Frame) -> list[str]:
    """Return the number of each lane at its start; of the first and last only where there are too many."""
    lanes, unit = plan.lanes, frame.unit
    shown = range(len(lanes)) if len(lanes) <= MOST_NUMBERED_LANES else (0, len(lanes) - 1)
    parts = []
    for index in shown:
        x, y = lanes[index].start
        first = index == 0
        parts.append(
            f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{(2.0 if first else 1.5) * unit:.4f}" '
            f'fill="{LANE if first else "#ffffff"}" stroke="{LANE}" stroke-width="{0.25 * unit:.4f}"/>'
        )
        parts.append(
            text_line(
                x, y + 0.75 * unit, str(index + 1), size=2.1 * unit, anchor="middle", fill="#ffffff" if first else INK
            )
        )
    return parts


def _evenness(minimum: float, allowance: float) -> str:
    if math.isinf(allowance):
        return "Minimum 0 of the mean: some of the significant surface is never touched"
    return f"Minimum {minimum:.2f} of the mean; distribution allowance (mean / minimum) {allowance:.2f}"


def _kind(wagner: float) -> str:
    if math.isinf(wagner):
        return "even deposit (infinite Wagner number)."
    kind = "primary distribution" if wagner == 0.0 else f"Wagner number {wagner:.3g}"
    return f"{kind}. The darkest colour is open upwards."


def _footprint(plan: StrokePlan) -> str:
    return f"{plan.brush.footprint_width_mm:.3g} mm wide, {plan.brush.footprint_length_mm:.3g} mm long"


def _grown(mask: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Return the mask grown by one cell, so that the clipped outline is filled to its rim."""
    grown = mask.copy()
    grown[1:] |= mask[:-1]
    grown[:-1] |= mask[1:]
    grown[:, 1:] |= mask[:, :-1]
    grown[:, :-1] |= mask[:, 1:]
    return grown
