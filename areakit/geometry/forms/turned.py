"""Turned parts seen from the side: knobs, cups, beads, finials, bells."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from areakit.errors import OutlineInvalid, RangeError
from areakit.flags import Flag, flag
from areakit.geometry.features import Basis
from areakit.geometry.forms.axis import Axis, on_axis, simpler, symmetry_axes
from areakit.geometry.forms.result import Floats, FormLine, FormSurface, Spots, lengths_unrolled
from areakit.geometry.forms.seen import View, true_radius
from areakit.geometry.forms.turning import (
    Stations,
    end_radius,
    inner_wall,
    profile_chords,
    resting_slope,
    run_at,
    stations,
    swept_area,
)
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, exact

MOST_ASYMMETRY = 0.12
"""Share of the area by which the two halves may differ before the outline is that of no turned part."""
_ACROSS = 24
_TRUE_TO = 2e-4
_TELLING = 0.005
"""A share of the area from which a note is worth a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """An outline on its axis (y = 0), as the camera saw it and as it is; ``free`` is the same resting freely. [mm]"""

    axis: Axis
    middle: tuple[float, float]
    others: tuple[Axis, ...]
    seen: Polygon
    level: Polygon
    free: Polygon
    tilt_deg: float
    aslant: float
    height_mm: float


def turned_part(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the surfaces of a turned part: what its profile sweeps about its axis, ends included.

    Both halves are turned (Pappus's first theorem, chord by chord) and the mean is taken; half their difference is
    the share ``form: two halves``. Inside, the profile is set in by the wall; a bore runs along the whole axis.

    Raises OutlineInvalid if the outline has holes, or no axis of symmetry.
    """
    laid = _laid(outline, form, view)
    length_share = _noise(outline)
    body = laid.level if form.word("level") or view is None else _between(laid)
    upper, lower = (swept_area(profile_chords(body, upper=half)) for half in (True, False))
    outside = (upper + lower) / 2.0 * length_share
    shares = {"form: two halves": abs(upper - lower) / 2.0 + laid.axis.asymmetry * outside / 4.0}
    flags = [flag("AXIS_ASKED", count=1 + len(laid.others))] if laid.others else []
    if view is not None:
        shares |= _view_shares(laid, form, view, outside)
        flags += _view_flags(laid, form, shares, outside)
    area = _measured(outline, outside, shares)
    lines, figures = _inside(body, form, area, outline)
    profile = stations(body)
    return FormSurface(
        lines=tuple(lines),
        figures={**_figures(laid, profile, view), **figures},
        flags=tuple(flags),
        unrolled=_unrolled(profile),
        spots=_spots(laid, profile),
    )


def _laid(outline: Outline, form: FormText, view: View | None) -> _Laid:
    polygon = outline.polygon
    if polygon.interiors and sum(Polygon(r).area for r in polygon.interiors) > 0.002 * polygon.area:
        raise OutlineInvalid(
            "The outline has a hole, which no turned part shows from the side.",
            remedy="Measure handles and eyes as regions of their own, with another form.",
            fields={"region": ""},
        )
    plain = simpler(polygon, _TRUE_TO)
    axes = symmetry_axes(plain)
    chosen, others = _chosen(plain, axes, form.word("axis"))
    if chosen.asymmetry > MOST_ASYMMETRY:
        raise OutlineInvalid(
            f"The two halves of the outline differ by {100 * chosen.asymmetry:.0f} % of its area; a turned part seen "
            f"from the side differs by less than {100 * MOST_ASYMMETRY:.0f} %.",
            remedy="Lay it with its axis level under the camera, or choose another form.",
        )
    seen = on_axis(plain, chosen.angle_deg)
    middle = (float(plain.centroid.x), float(plain.centroid.y))
    drawn = _Laid(
        axis=chosen,
        middle=middle,
        others=others,
        seen=seen,
        level=seen,
        free=seen,
        tilt_deg=0.0,
        aslant=0.0,
        height_mm=0.0,
    )
    return drawn if view is None else _in_view(plain, drawn, view)


def _chosen(polygon: Polygon, axes: list[Axis], word: str) -> tuple[Axis, tuple[Axis, ...]]:
    """Return the axis to turn about: the longer of those that are alike, unless the shorter was asked for."""

    def along(axis: Axis) -> float:
        left, low, right, high = on_axis(polygon, axis.angle_deg).bounds
        return (right - left) / (high - low)

    ordered = sorted(axes, key=along, reverse=word != "short")
    return ordered[0], tuple(ordered[1:])


def _in_view(plain: Polygon, drawn: _Laid, view: View) -> _Laid:
    """Undo height and slant: once for an axis that is level, once for a part that rests freely on the sheet."""
    foot = _foot(plain, drawn.axis, view)
    level = _corrected(drawn.seen, foot, view, height=None)
    profile = stations(level)
    over, slope = resting_slope(profile)
    free = _corrected(drawn.seen, foot, view, height=(over, slope))
    height = float(np.max(profile.radius))
    left, _, right, _ = level.bounds
    aslant = math.atan2(abs(foot[0] - (left + right) / 2.0), view.height_mm - height)
    return replace(
        drawn,
        level=level,
        free=free,
        tilt_deg=math.degrees(math.atan(slope)),
        aslant=aslant,
        height_mm=height,
    )


def _foot(plain: Polygon, axis: Axis, view: View) -> tuple[float, float]:
    """Return where the camera's foot lies in the coordinates of the axis. [mm]"""
    middle, turn = plain.centroid, math.radians(-axis.angle_deg)
    x, y = view.x_mm - middle.x, view.y_mm - middle.y
    return x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)


def _corrected(seen: Polygon, foot: tuple[float, float], view: View, *, height: tuple[float, float] | None) -> Polygon:
    """Return the profile as it is, from the outline as seen; ``height`` is that of the axis at x = 0, and its slope.

    Lengths shrink towards the camera's foot with the height; half widths become radii as for a rod
    (:func:`areakit.geometry.forms.seen.true_radius`); a sloping axis is seen shorter, by its slope and by the slant of
    the rays along it.
    """
    fine = shapely.segmentize(seen, seen.length / 800.0)
    top = max(abs(seen.bounds[1]), seen.bounds[3])
    over, slope = height if height is not None else (top, 0.0)

    def moved(xy: Floats) -> Floats:
        high = np.clip(over + slope * xy[:, 0], 0.0, 0.4 * view.height_mm)
        scale = np.asarray(view.lifted(high))
        x = foot[0] + (xy[:, 0] - foot[0]) * scale
        across = abs(foot[1]) * scale
        radius = true_radius(np.abs(xy[:, 1]) * scale, across=across, distance_mm=view.height_mm - high)
        tangent = -foot[0] / (view.height_mm - over)  # of the slant of the ray, along the axis
        stretch = math.sqrt(1.0 + slope * slope) / max(1.0 + slope * tangent, 0.2)
        return np.column_stack([x * stretch, np.sign(xy[:, 1]) * radius])

    found = shapely.transform(fine, moved)
    return found if found.is_valid else found.buffer(0.0)


def _between(laid: _Laid) -> Polygon:
    """Return the middle of a level axis and a part that rests freely: nobody said which it is."""
    left, _, right, _ = laid.level.bounds
    low, _, high, _ = laid.free.bounds
    return affinity.scale(laid.level, (1.0 + (high - low) / (right - left)) / 2.0, 1.0, origin=(0.0, 0.0))


def _noise(outline: Outline) -> float:
    """Return measured over drawn length of the outline: the noise of its points lengthens it."""
    plain = simpler(outline.polygon, _TRUE_TO)
    return outline.perimeter_outer.value / plain.exterior.length if outline.origin == "photo" else 1.0


def _measured(outline: Outline, value: float, shares: dict[str, float]) -> Measured:
    """Return a swept area with the shares of the outline: it goes as seen area, and as the length of the outline."""
    found = outline.area.times(value / outline.area.value)
    around = outline.perimeter_outer
    length = around.budget.get("length of the outline", 0.0) / around.value * value
    return Measured(value=value, unit="mm2", budget={**found.budget, "length of the outline": length, **shares})


def _view_shares(laid: _Laid, form: FormText, view: View, outside: float) -> dict[str, float]:
    """Return what stays open of how the part lies: its axis level or not, and its ends seen aslant."""
    left, _, right, _ = laid.level.bounds
    ends = end_radius(laid.level, high=False) + end_radius(laid.level, high=True)
    tilt = 0.0 if form.word("level") else abs(laid.tilt_deg)
    slant = math.tan(laid.aslant + math.radians(tilt))
    bulge = math.pi / 4.0 * ends * slant / (right - left)
    grown = abs(laid.free.bounds[2] - laid.free.bounds[0]) / (right - left) - 1.0
    lie = 0.0 if form.word("level") else abs(grown) / 2.0 / math.sqrt(3.0)
    up = math.hypot(0.1 * laid.height_mm, view.level_open_mm)
    return {
        "form: ends seen aslant": outside * bulge / math.sqrt(3.0),
        "form: lie of the axis": outside * lie,
        "form: height of the axis": outside * 2.0 * up / view.height_mm,
    }


def _view_flags(laid: _Laid, form: FormText, shares: dict[str, float], outside: float) -> list[Flag]:
    flags = []
    if shares["form: ends seen aslant"] > _TELLING * outside:
        flags.append(flag("SEEN_ASLANT", degrees=math.degrees(laid.aslant),
                          percent=200.0 * shares["form: ends seen aslant"] / outside))  # fmt: skip
    if shares["form: lie of the axis"] > _TELLING * outside:
        flags.append(flag("AXIS_NOT_LEVEL", degrees=abs(laid.tilt_deg),
                          percent=200.0 * shares["form: lie of the axis"] / outside))  # fmt: skip
    return flags


def _inside(
    body: Polygon, form: FormText, outside: Measured, outline: Outline
) -> tuple[list[FormLine], dict[str, Measured]]:
    """Return all surfaces: the outside less its mouths, the inside, the rims."""
    basis: Basis = "measured" if outline.origin in {"photo", "scan"} else "computed"
    wall, bore = form.figure("wall"), form.figure("bore")
    if wall is not None and bore is not None:
        raise RangeError("A turned part has a wall or a bore.", remedy="Give one of them.")
    if bore is not None:
        return _bored(body, bore, outside, basis)
    if wall is None:
        if form.word("open"):
            raise RangeError("An open turned part needs its wall.", remedy='Write "turned, wall 1 mm, open wide".')
        return [FormLine(name="outside", side="front", basis=basis, area=outside)], {}
    return _hollow(body, form.word("open", "wide"), wall, outside, basis)


def _bored(
    body: Polygon, bore: Measured, outside: Measured, basis: Basis
) -> tuple[list[FormLine], dict[str, Measured]]:
    _, low, _, high = body.bounds
    if bore.value >= high - low:
        raise RangeError(
            f"A bore of {bore.value:g} mm does not fit in {high - low:.4g} mm.", remedy="Check the bore and its unit."
        )
    radius = bore.value / 2.0
    length = (run_at(body, radius) + run_at(body, -radius)) / 2.0
    whole = swept_area(profile_chords(body, upper=True))
    lost = (1.0 - swept_area(profile_chords(body, upper=True, beyond=radius)) / whole) * outside.value
    mouths = Measured(value=-lost, unit="mm2", budget={n: -2.0 * lost / bore.value * s for n, s in bore.budget.items()})
    lines = [
        FormLine(name="outside", side="front", basis=basis, area=outside),
        FormLine(name="mouths of the bore", side="front", basis="computed", area=mouths),
        FormLine(
            name="inside of the bore", side="back", basis="computed", area=bore.times(math.pi * length, unit="mm2")
        ),
    ]
    return lines, {"length of the bore": exact(length, "mm")}


def _hollow(
    body: Polygon, mouth: str, wall: Measured, outside: Measured, basis: Basis
) -> tuple[list[FormLine], dict[str, Measured]]:
    ends = [end_radius(body, high=high) for high in (False, True)]
    wide = int(ends[1] >= ends[0])
    is_open = [mouth == "both" or (mouth == "wide") == (i == wide) for i in (0, 1)]
    if not all(ends[i] > wall.value for i in (0, 1) if is_open[i]):
        raise RangeError(
            f"A wall of {wall.value:g} mm closes the mouth.", remedy="Check the wall, and which end is open."
        )

    def figures(thick: float) -> float:
        hollow = inner_wall(body, thick, open_low=is_open[0], open_high=is_open[1])
        if hollow is None:
            raise RangeError(f"A wall of {thick:.3g} mm leaves no hollow.", remedy="Check the wall.")
        chords = profile_chords(hollow, upper=True)
        left, _, right, _ = body.bounds
        for i, place in enumerate((left, right)):
            if is_open[i]:
                chords = chords[np.abs(chords[:, :, 0] - place).max(axis=1) > 1e-4]
        return swept_area(chords)

    mouths = sum(math.pi * ends[i] ** 2 for i in (0, 1) if is_open[i])
    rims = sum(math.pi * (ends[i] ** 2 - (ends[i] - wall.value) ** 2) for i in (0, 1) if is_open[i])
    by_rim = sum(2.0 * math.pi * (ends[i] - wall.value) for i in (0, 1) if is_open[i])
    lines = [
        FormLine(name="outside", side="front", basis=basis, area=outside.times(1.0 - mouths / outside.value)),
        FormLine(name="inside", side="back", basis="computed", area=_by_wall(figures, wall, outside)),
        FormLine(
            name="rim",
            side="wall",
            basis="computed",
            area=Measured(value=rims, unit="mm2", budget={n: by_rim * s for n, s in wall.budget.items()}),
        ),
    ]
    return lines, {"wall": wall}


def _by_wall(figures: Callable[[float], float], wall: Measured, outside: Measured) -> Measured:
    middle = figures(wall.value)
    spread = wall.standard_uncertainty
    slope = (figures(wall.value + spread) - figures(wall.value - spread)) / 2.0 / spread if spread else 0.0
    carried = {name: share * middle / outside.value for name, share in outside.budget.items()}
    return Measured(value=middle, unit="mm2", budget={**carried, **{n: slope * s for n, s in wall.budget.items()}})


def _figures(laid: _Laid, profile: Stations, view: View | None) -> dict[str, Measured]:
    left, _, right, _ = laid.level.bounds
    figures = {
        "largest diameter": exact(2.0 * float(np.max(profile.radius)), "mm"),
        "length along the axis": exact(right - left, "mm"),
        "direction of the axis": exact(laid.axis.angle_deg, "deg"),
        "difference of the two halves": exact(laid.axis.asymmetry, "1"),
    }
    if view is not None:
        figures["height of the axis"] = exact(laid.height_mm, "mm")
        figures["correction for height and slant"] = exact(laid.level.area / laid.seen.area, "1")
        figures["tilt of the axis at rest"] = exact(abs(laid.tilt_deg), "deg")
    return figures


def _unrolled(profile: Stations) -> Polygon | None:
    """Return the outside laid flat: along its profile, and its girth across."""
    radius = np.concatenate([[0.0], profile.radius, [0.0]])
    step = profile.x[1] - profile.x[0]
    x = np.concatenate([[profile.x[0] - step / 2.0], profile.x, [profile.x[-1] + step / 2.0]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(radius)))])
    return lengths_unrolled(along, 2.0 * math.pi * radius)


def _spots(laid: _Laid, profile: Stations) -> Spots:
    """Return spots over the half that is seen, in part coordinates."""
    seen = stations(laid.seen)
    angles = (np.arange(_ACROSS) + 0.5) / _ACROSS * math.pi - math.pi / 2.0
    step = profile.x[1] - profile.x[0]
    slant = np.hypot(np.gradient(profile.radius), step)
    x = np.repeat(seen.x, _ACROSS)
    y = (seen.radius[:, None] * np.sin(angles)).ravel()
    weights = np.repeat(profile.radius * slant, _ACROSS)
    return Spots(points=_back(laid, np.column_stack([x, y])), weights=weights)


def _back(laid: _Laid, points: Floats) -> Floats:
    """Return points of the axis in part coordinates."""
    turn = math.radians(laid.axis.angle_deg)
    x, y = points.T
    turned = np.column_stack([x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)])
    return np.asarray(turned + laid.middle)
