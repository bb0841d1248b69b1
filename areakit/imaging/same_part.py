"""Two photos of the same parts: which is which, whether they agree, and the best of both.

What both photos share (thickness as entered, the print's scale, burr, the camera's own offset of edges) moves both
areas alike: it does not average away, and it cannot make them differ. What each photo has of its own does both. Every
share of the budget is split between the two by how much of its variance is common.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

from areakit.errors import MeasurementError
from areakit.flags import Flag, flag
from areakit.geometry.outline import Outline
from areakit.imaging.one_part import FoundPart
from areakit.imaging.outlines import FoundParts
from areakit.imaging.part_match import match_parts
from areakit.imaging.scale import PlaneScale
from areakit.plural import counted
from areakit.uncertainty import COVERAGE_FACTOR, Measured

COMMON: dict[str, float] = {
    "camera pose and lens": 0.0,
    "bridged edge": 0.0,
    "glare at the edge": 0.0,
    "sheet flatness": 0.5,
    "choice of edge": 0.5,
    "shadow at the edge": 0.5,
    "edge on a pale sheet": 0.5,
    "burnt-out sheet": 0.5,
    "seen wall": 0.5,
    "undecided holes": 0.5,
    "undecided ground": 0.5,
    "narrow slits": 0.5,
    "second threshold": 0.5,
    "length of the outline": 0.5,
    "edge position": 0.9,
}
"""Share of the variance that two photos of one part have in common; what is not named is common altogether.

Corner noise is a photo's own. A camera shifts edges by its tone curve and sharpening, much alike in all its photos (own
study on simulated cameras: taking off the mean of its other photos leaves a quarter of the variance of areas, all that
differs between photos included). The rest depends on light and pose, and is taken as half and half (practice).
"""
DIFFERS_AT, DISAGREES_AT = 2.0, 3.0
"""Difference over its standard uncertainty from which it is flagged, and from which the photos are refused."""
QUARTER_DEG, QUARTER_REACH_DEG = 90.0, 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """One part in both photos.

    Parameters
    ----------
    first, second : Measured
        Its area in either. [mm2]
    difference : Measured
        First less second, with what their own shares leave open. [mm2]
    weight : float
        Weight of the first in the combined area.
    """

    first: Measured
    second: Measured
    difference: Measured
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Combined:
    """Both photos together: parts in the order, the place and the outline of the first; turn of the sheet. [deg]"""

    found: FoundParts
    comparisons: tuple[Comparison, ...]
    pairs: tuple[int, ...]
    turned_deg: float


def repeatability(quantity: Measured) -> float:
    """Return what of a standard uncertainty differs from photo to photo of the same part, in its unit."""
    return math.sqrt(math.fsum((1.0 - COMMON.get(name, 1.0)) * s * s for name, s in quantity.budget.items()))


def combine(first: FoundParts, second: FoundParts) -> Combined:
    """Return the parts of two photos measured together.

    Raises
    ------
    MeasurementError
        If parts cannot be told from each other, or their areas disagree.
    """
    pairs = match_parts([p.outline for p in first.parts], [p.outline for p in second.parts])
    name_in_second = _names_in_second(first.scale, second.scale)
    turned = turn_deg(first.scale, second.scale)
    compared, parts, flags = [], [], []
    for number, (part, other) in enumerate(zip(first.parts, pairs, strict=True), start=1):
        comparison, outline = _both(part.outline, second.parts[other].outline, name_in_second, number)
        compared.append(comparison)
        parts.append(FoundPart(outline=outline, rings_px=part.rings_px, stop_offs=part.stop_offs))
    if abs(turned - QUARTER_DEG) > QUARTER_REACH_DEG:
        flags.append(flag("SHEET_NOT_TURNED", turned_deg=turned))
    found = FoundParts(
        scale=first.scale, parts=tuple(parts), flags=(*first.flags, *_new(second.flags, first.flags), *flags)
    )
    return Combined(found=found, comparisons=tuple(compared), pairs=tuple(pairs), turned_deg=turned)


def turn_deg(first: PlaneScale, second: PlaneScale) -> float:
    """Return by how much the sheet is turned in the picture between two photos, 0 to 180. [deg]"""
    angles = [math.atan2(one.camera.rotation[1, 0], one.camera.rotation[0, 0]) for one in (first, second)]
    return abs((math.degrees(angles[1] - angles[0]) + 180.0) % 360.0 - 180.0)


def _both(
    first: Outline, second: Outline, name_in_second: Callable[[str], str], number: int
) -> tuple[Comparison, Outline]:
    area = _split(first.area, "first photo"), _split(second.area, "second photo", name_in_second)
    difference = _sum(area[0], area[1], 1.0, -1.0)
    spread = difference.standard_uncertainty
    ratio = abs(difference.value) / spread if spread else math.inf if difference.value else 0.0
    if ratio > DISAGREES_AT:
        raise _disagree(first, second, difference, number)
    weight = _weight(first.area, second.area)
    mean = _sum(area[0], area[1], weight, 1.0 - weight)
    told: list[Flag] = []
    if ratio > DIFFERS_AT:
        mean = _with_share(mean, "difference of the photos", difference.value / 2)
        percent = 100 * abs(difference.value) / mean.value
        told.append(
            flag(
                "PHOTOS_DIFFER", part=number, percent=percent, allowed=percent * COVERAGE_FACTOR / ratio,
            )
        )  # fmt: skip
    lengths = [
        _sum(_split(a, "first photo"), _split(b, "second photo", name_in_second), weight, 1.0 - weight)
        for a, b in (
            (first.perimeter_outer, second.perimeter_outer),
            (first.perimeter_holes, second.perimeter_holes),
        )
    ]
    further = tuple(replace(f, part=number) for f in _new(second.flags, first.flags))
    outline = replace(
        first,
        area=mean,
        perimeter_outer=lengths[0],
        perimeter_holes=lengths[1],
        flags=(*first.flags, *further, *told),
    )
    comparison = Comparison(first=first.area, second=second.area, difference=difference, weight=weight)
    return comparison, outline


def _disagree(first: Outline, second: Outline, difference: Measured, number: int) -> MeasurementError:
    percent = 100 * abs(difference.value) / first.area.value
    allowed = 100 * difference.expanded_uncertainty / first.area.value
    holes = len(first.polygon.interiors), len(second.polygon.interiors)
    why = f" One shows {counted(holes[0], 'hole')}, the other {holes[1]}." if holes[0] != holes[1] else ""
    return MeasurementError(
        f"The two photos of part {number} disagree: {first.area.value / 100:.4g} and "
        f"{second.area.value / 100:.4g} cm², {percent:.2g} % apart where {allowed:.2g} % is expected.{why}",
        remedy="Look at the overlay of each: an edge, a hole or a shadow was read differently. Improve the light, and "
        "take both again.",
        code="PHOTOS_DISAGREE",
    )


def _split(quantity: Measured, own: str, rename: Callable[[str], str] = lambda name: name) -> Measured:
    """Split each share into what both photos have in common and what this one has of its own."""
    budget: dict[str, float] = {}
    for name, share in quantity.budget.items():
        common = COMMON.get(name, 1.0)
        shared, single = share * math.sqrt(common), share * math.sqrt(1.0 - common)
        if shared:
            budget[rename(name)] = shared
        if single:
            budget[f"{name}, {own}"] = single
    return replace(quantity, budget=budget)


def _names_in_second(first: PlaneScale, second: PlaneScale) -> Callable[[str], str]:
    """Return the names of the second photo's shares as the first calls them.

    Shares of a sheet are common where it is the same kind of sheet. The axes of a plain sheet begin at any corner, so
    they swap where one photo shows it upright; those of a printed sheet are printed on it.
    """
    same = (first.mark, first.sheet) == (second.mark, second.sheet)
    upright = [scale.field_mm[2] < scale.field_mm[3] for scale in (first, second)]
    swap = same and first.mark == "paper" and upright[0] != upright[1]
    sheet = [f"{name}, along {axis}" for name in second.sheet_scale.shares for axis in "xy"]
    swapped = {a: b for pair in pairwise(sheet) for a, b in (pair, pair[::-1]) if a[:-1] == b[:-1]}

    def rename(name: str) -> str:
        if name not in sheet:
            return name
        if not same:
            return f"{name}, second sheet"
        return swapped[name] if swap else name

    return rename


def _sum(first: Measured, second: Measured, a: float, b: float) -> Measured:
    names = {**first.budget, **second.budget}
    budget = {name: a * first.budget.get(name, 0.0) + b * second.budget.get(name, 0.0) for name in names}
    return Measured(value=a * first.value + b * second.value, unit=first.unit, budget=budget)


def _with_share(quantity: Measured, name: str, share: float) -> Measured:
    return replace(quantity, budget={**quantity.budget, name: share})


def _weight(first: Measured, second: Measured) -> float:
    """Return the weight of the first, by the inverse variances of what each photo has of its own.

    Weights that make the whole variance least would rest on small differences of what is common, and lean on one photo.
    """
    own, other = repeatability(first) ** 2, repeatability(second) ** 2
    return other / (own + other) if own + other else 0.5


def _new(flags: tuple[Flag, ...], known: tuple[Flag, ...]) -> tuple[Flag, ...]:
    """Return the flags whose code is not known yet."""
    codes = {one.code for one in known}
    return tuple(one for one in flags if one.code not in codes)
