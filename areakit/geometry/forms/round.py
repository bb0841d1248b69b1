"""Round stock and tubes that lie flat: wire, rod, chain links, ear hooks, from the outline of their shadow."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely

from areakit.errors import RangeError
from areakit.flags import Flag, flag
from areakit.geometry.features import Basis
from areakit.geometry.forms.middle import MiddleLine, middle_line
from areakit.geometry.forms.result import Floats, FormLine, FormSurface, Spots, lengths_unrolled
from areakit.geometry.forms.seen import View, radius_at_half_height
from areakit.geometry.forms.size import annulus, cylinder
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, exact, total

MIN_SLENDER = 3.0
"""Length over width from which an outline counts as round stock."""
FLAT_END, ROUND_END = math.pi / 4.0, math.pi / 2.0 - math.pi**2 / 8.0
"""What an end adds to pi times the seen area, in squares of the diameter: a disc; a half sphere, whose seen half disc
counts already."""
_ACROSS = 24
_BEYOND = 6
"""Places between the end of the middle line and the tip of the stock, half a width on."""
_LIE_SHARE = 0.5
"""Standard uncertainty of the height of the axis above that of stock that touches the sheet, over its radius."""
_SEAM_NEAR = 2.0
"""An end is at a seam when the middle line leaves off this near to it, in half widths (a square end: 1)."""
_CROSSING_ANGLE = 0.15
"""Relative standard uncertainty of what a crossing hides, for its angle is not measured (own estimate)."""


def round_stock(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the surfaces of round stock: pi times the area that is seen, and its ends.

    For slender round stock whose middle line lies in one plane, surface over seen area is pi: a straight rod has
    pi d L over d L, a ring (Pappus) 2 pi R pi d over 2 pi R d; so has every other convex section on the average over
    its turns (Cauchy's mean projected area: a quarter of the surface).

    Raises OutlineInvalid, RangeError if the outline is not slender.
    """
    line = middle_line(outline.polygon)
    slender = line.length_mm / line.mean_width_mm
    if slender < MIN_SLENDER:
        raise RangeError(
            f"The outline is {slender:.1f} times as long as wide; round stock is from {MIN_SLENDER:g} times.",
            remedy="Choose turned for a part that was turned, or flat.",
            fields={"form": "turned"},
        )
    radius, scale = _true_radii(line, view)
    seen = float(np.sum(line.half_widths * line.steps))
    shrink = float(np.sum(radius * scale * line.steps)) / seen
    mean = _mean_diameter(line, radius, outline)
    all_along, line = line, _loose(line, outline)
    body = outline.area if view is None else _less_seen_ends(outline.area, line, form, view)
    lateral = _with_form_shares(body.times(math.pi * shrink, unit="mm2"), line, radius, view)
    if (diameter := form.figure("diameter")) is not None:
        mean, lateral = diameter, _of_typed(diameter, form, lateral, mean)
    hidden, crossing_flags = _crossings(line, form, radius)
    ends, end_flags = _ends(line, form, radius, lateral)
    measured: Basis = "measured" if outline.origin in {"photo", "scan"} else "computed"
    lines = [FormLine(name="outside", side="front", basis=measured, area=lateral)]
    if hidden.value:
        lines.append(FormLine(name="outside at crossings", side="front", basis="computed", area=hidden))
    if ends.value:
        lines.append(FormLine(name="ends", side="wall", basis="computed", area=ends))
    along = np.concatenate([[0.0], np.cumsum(line.steps * scale)])
    along *= lateral.value / float(np.sum(2.0 * math.pi * radius * line.steps * scale))
    widths = 2.0 * math.pi * np.concatenate([radius[:1], radius])
    return FormSurface(
        lines=tuple(lines),
        figures=_figures(line, mean, lateral, radius, view=view, shrink=shrink, scale=scale),
        flags=(*crossing_flags, *end_flags),
        unrolled=lengths_unrolled(along, widths),
        spots=_spots(all_along, radius, scale),
    )


def _loose(line: MiddleLine, outline: Outline) -> MiddleLine:
    """Return the line with only those ends that are free: at a seam the part goes on."""
    if outline.seam is None or not len(line.ends):
        return line
    free = shapely.distance(shapely.points(line.tips), outline.seam) > _SEAM_NEAR * line.ends
    return replace(line, ends=line.ends[free], tips=line.tips[free], headings=line.headings[free])


def _true_radii(line: MiddleLine, view: View | None) -> tuple[Floats, Floats]:
    if view is None:
        return line.half_widths, np.ones_like(line.half_widths)
    return radius_at_half_height(line.half_widths, points=line.points, normals=line.normals, view=view)


def _less_seen_ends(area: Measured, line: MiddleLine, form: FormText, view: View) -> Measured:
    """Return the seen area without the faces of flat ends, of which rays along the stock show half an ellipse.

    A disc of radius r seen s from its edge adds pi r2 tan(s) / 2; a half sphere adds next to nothing. [mm2]
    """
    slant = np.abs(np.einsum("ni,ni->n", line.tips - [view.x_mm, view.y_mm], line.headings)) / view.height_mm
    disc = math.pi / 2.0 * float(np.sum(line.ends**2 * slant)) if len(line.ends) else 0.0
    taken, open_share = {"flat": (1.0, 0.2), "round": (0.0, 0.2)}.get(form.word("ends"), (0.5, 0.5 / math.sqrt(3.0)))
    shares = {**area.budget, "form: ends seen aslant": disc * open_share}
    return Measured(value=area.value - taken * disc, unit="mm2", budget=shares)


def _with_form_shares(
    lateral: Measured,
    line: MiddleLine,
    radius: Floats,
    view: View | None,
) -> Measured:
    """Add how far the stock may be from round, and how far its axis may lie from where it was taken.

    A section of axes d (1 + e) and d (1 - e) has the circumference of the middle to first order, and is seen e off; so
    the width, which scatters along the stock, may be off all along by as much.
    """
    shares = {"form: width of the stock": lateral.value * line.scatter()}
    if view is not None:
        spread = math.hypot(_LIE_SHARE * float(np.mean(radius)), view.level_open_mm)
        shares["form: height of the axis"] = 2.0 * spread / view.height_mm * lateral.value
    return Measured(value=lateral.value, unit="mm2", budget={**lateral.budget, **shares})


def _of_typed(diameter: Measured, form: FormText, lateral: Measured, mean: Measured) -> Measured:
    """Return the surface from a typed diameter; the length is that of the middle line, unless it was typed too. [mm2]

    The length is left with half the relative shares of the seen area: those of its scale.
    """
    run = lateral.value / (math.pi * mean.value)
    halves = {name: share / 2.0 / lateral.value * run for name, share in lateral.budget.items()}
    length = form.figure("length") or Measured(value=run, unit="mm", budget=halves)
    return cylinder(diameter, length)


def _crossings(line: MiddleLine, form: FormText, radius: Floats) -> tuple[Measured, list[Flag]]:
    """Return what the outline hides where the stock crosses itself: pi d2 at a right angle for each. [mm2]"""
    each = math.pi * (2.0 * float(np.mean(radius))) ** 2
    told = form.figure("crossings")
    if told is not None:
        area = each * told.value
        return Measured(value=area, unit="mm2", budget={"form: crossings": _CROSSING_ANGLE * area}), []
    most = line.forks / 2.0
    if most < 0.5:
        return exact(0.0, "mm2"), []
    half = each * most / 2.0
    told_flag = flag("CROSSINGS_ASKED", count=max(1, round(most)), area_mm2=2.0 * half)
    return Measured(value=half, unit="mm2", budget={"form: crossings": half / math.sqrt(3.0)}), [told_flag]


def _ends(
    line: MiddleLine,
    form: FormText,
    radius: Floats,
    lateral: Measured,
) -> tuple[Measured, list[Flag]]:
    """Return what the ends add; where nobody said, the middle of flat and round with a share for both. [mm2]"""
    shrink = float(np.mean(radius) / np.mean(line.half_widths))
    squares = float(np.sum((2.0 * line.ends * shrink) ** 2))
    kind = form.word("ends")
    if kind == "none" or not len(line.ends):
        return exact(0.0, "mm2"), []
    share = lateral.standard_uncertainty / lateral.value
    if kind:
        area = squares * (FLAT_END if kind == "flat" else ROUND_END)
        return Measured(value=area, unit="mm2", budget={"form: ends": area * share}), []
    middle, half = (FLAT_END + ROUND_END) / 2.0 * squares, (FLAT_END - ROUND_END) / 2.0 * squares
    spread = math.hypot(half / math.sqrt(3.0), middle * share)
    flags = [flag("ENDS_ASKED", percent=200.0 * half / lateral.value)] if half > 0.005 * lateral.value else []
    return Measured(value=middle, unit="mm2", budget={"form: ends": spread}), flags


def _mean_diameter(line: MiddleLine, radius: Floats, outline: Outline) -> Measured:
    """Return the mean diameter; its shares are those of the area over the length. [mm]"""
    value = 2.0 * float(np.average(radius, weights=line.steps))
    budget = {name: share / line.length_mm for name, share in outline.area.budget.items()}
    return Measured(value=value, unit="mm", budget={**budget, "form: width of the stock": value * line.scatter()})


def _figures(
    line: MiddleLine,
    mean: Measured,
    lateral: Measured,
    radius: Floats,
    *,
    view: View | None,
    shrink: float,
    scale: Floats,
) -> dict[str, Measured]:
    length = lateral.value / (math.pi * mean.value)
    figures = {
        "mean diameter": mean,
        "length along the middle": exact(length, "mm"),
        "scatter of the width": exact(line.scatter(), "1"),
        "loose ends": exact(float(len(line.ends)), "1"),
    }
    if view is not None:
        figures["height of the widest line"] = exact(float(np.average(radius, weights=line.steps)), "mm")
        figures["correction for height and slant"] = exact(shrink, "1")
    return figures


def _spots(line: MiddleLine, radius: Floats, scale: Floats) -> Spots:
    """Return spots over the half that is seen, evenly round the section, from tip to tip."""
    angles = (np.arange(_ACROSS) + 0.5) / _ACROSS * math.pi - math.pi / 2.0
    share = (np.arange(_BEYOND) + 0.5) / _BEYOND
    reach = np.repeat(line.ends, _BEYOND)
    beyond = (line.tips[:, None, :] + share[:, None] * (line.ends[:, None] * line.headings)[:, None, :]).reshape(-1, 2)
    square = np.repeat(np.column_stack([-line.headings[:, 1], line.headings[:, 0]]), _BEYOND, axis=0)
    middle, normals = np.vstack([line.points, beyond]), np.vstack([line.normals, square])
    half = np.concatenate([line.half_widths, reach])
    shrink = float(np.mean(radius * scale) / np.mean(line.half_widths))
    weights = np.concatenate([radius * scale * line.steps, shrink * reach * reach / _BEYOND])
    points = middle[:, None, :] + (half[:, None] * np.sin(angles))[:, :, None] * normals[:, None, :]
    return Spots(points=points.reshape(-1, 2), weights=np.repeat(weights, _ACROSS))


def tube(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return outside, inside to a stated reach from each open end, and both ends.

    The outside is that of round stock; inside it is pi times the bore times the length along the middle (Pappus), or
    twice the reach where less of it is reached. Both ends are rings.

    Raises InputError if the bore was not typed; RangeError if the bore is no smaller than the tube.
    """
    bore = form.needed("bore")
    plain = replace(
        form,
        words={**form.words, "ends": "none"},
        figures={k: v for k, v in form.figures.items() if k in ("diameter", "length")},
    )
    outside = round_stock(outline, plain, view=view)
    diameter, length = outside.figures["mean diameter"], outside.figures["length along the middle"]
    if bore.value >= diameter.value:
        raise RangeError(
            f"A bore of {bore.value:g} mm is no smaller than the tube of {diameter.value:.4g} mm.",
            remedy="Check the bore and its unit.",
        )
    run = _run(length, form, diameter)
    lines = [
        *(line for line in outside.lines if line.side == "front"),
        FormLine(name="inside", side="back", basis="computed", area=cylinder(bore, run)),
        FormLine(
            name="ends",
            side="wall",
            basis="computed",
            area=annulus(diameter, bore).times(2.0),
        ),
    ]
    figures = {**outside.figures, "bore": bore, "length reached inside": run}
    told = [] if form.figure("reach") is not None else [
        flag("INSIDE_REACH", depth_mm=length.value / 2.0, bores=length.value / 2.0 / bore.value)
    ]  # fmt: skip
    return replace(outside, lines=tuple(lines), figures=figures, flags=(*outside.flags, *told))


def _run(length: Measured, form: FormText, diameter: Measured) -> Measured:
    """Return what length of the inside is plated: all of it, or the reach from both ends. [mm]"""
    # The middle of a seen tube stops at its tips, so its length is known to about the edge of the outline.
    spread = diameter.standard_uncertainty
    whole = Measured(value=length.value, unit="mm", budget={"form: length": spread})
    reach = form.figure("reach")
    if reach is None:
        return whole
    ends = 1.0 if form.word("inside") == "closed" else 2.0
    if ends * reach.value >= length.value:
        return whole
    return total([reach] * int(ends), "mm")
