"""Regions that somebody drew by hand over a part, and what they have of their own, as people write it."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, cast

import shapely
from shapely.geometry import Polygon

from areakit.errors import InputError, OutlineInvalid
from areakit.flags import Flag, flag
from areakit.geometry.features import MASK_EDGE_MM, Mask, Region, Side
from areakit.geometry.forms.table import is_at_axis
from areakit.geometry.forms.words import FormText, read_form
from areakit.geometry.outline import check_polygon
from areakit.geometry.part import thickness_mm
from areakit.uncertainty import Measured
from areakit.units import parse_with_tolerance

_HOW = 'Write it as: PLACE: form round, as in "rectangle 3 x 20 mm, at 0 -15 mm: form round, ends flat".'
_WORDS = re.compile(r"(?P<place>.+?)\s*:\s*(?P<words>(?:form|thickness)\s.+)", re.DOTALL)
_LONGEST = 600
RegionKind = Literal["stop_off", "keep", "significant"]
RegionSides = Literal["front", "back", "both"]
SIDES: dict[str, frozenset[Side]] = {
    "front": frozenset({"front"}),
    "back": frozenset({"back"}),
    "both": frozenset({"front", "back"}),
}
BY_HAND = "region drawn by hand"


def split_region(text: str) -> tuple[str, str]:
    """Return place and words of ``rectangle 3 x 20 mm, at 0 -15 mm: form round``.

    Raises InputError if it has no place, or no words.
    """
    found = _WORDS.fullmatch(text.strip()) if len(text) <= _LONGEST else None
    if found is None:
        raise InputError(f"{text[:60]!r} does not describe a region.", remedy=_HOW)
    return found["place"], found["words"]


def read_region_words(words: str) -> tuple[FormText | None, Measured | None]:
    """Return form (None for flat) and thickness [mm] of a region.

    Raises InputError for other words, none, or a thickness of a form that has none.
    """
    said: dict[str, str] = {}
    for clause in words.split(";"):
        key, _, value = clause.strip().partition(" ")
        if key not in ("form", "thickness") or not value.strip() or key in said:
            raise InputError(f"{clause.strip()[:40]!r} is not understood of a region.", remedy=_HOW)
        said[key] = value.strip()
    form = read_form(said["form"]) if "form" in said else None
    if form is not None and form.name == "flat":
        form = None
    if "thickness" not in said:
        return form, None
    if form is not None and is_at_axis(form):
        raise InputError(
            f"A region of the form {form.name} has no thickness.",
            remedy="Leave it out: how high it lies follows from its outline. A wall stands with the form.",
        )
    metres, tolerance = parse_with_tolerance(said["thickness"], "length")
    return form, thickness_mm(metres * 1e3, None if tolerance is None else tolerance * 1e3)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnRegion:
    """One closed line: what it is for, its points in part coordinates, shape (n, 2), and the faces it lies on. [mm]

    ``at`` is the point, as it was written, by which somebody named it; empty where it was drawn.
    """

    kind: RegionKind
    ring_mm: Any
    sides: RegionSides = "front"
    at: str = ""


def drawn_masks(regions: Sequence[DrawnRegion], *, hand_mm: float) -> tuple[Mask, ...]:
    """Return the stop-offs and what alone is plated, as masks.

    Their edge lies where the hand drew it, within the standard uncertainty ``hand_mm``, and the tape or lacquer lies
    off that by its own.

    Raises OutlineInvalid if a line crosses itself, or encloses nothing.
    """
    edge = math.hypot(MASK_EDGE_MM / math.sqrt(3.0), hand_mm)
    return tuple(
        Mask(region=_region(one), keep=one.kind == "keep", sides=SIDES[one.sides], edge_mm=edge)
        for one in regions
        if one.kind != "significant"
    )


def drawn_significant(regions: Sequence[DrawnRegion]) -> Region | None:
    """Return the significant surface, all of its regions together; None where nobody drew one."""
    found = [_region(one) for one in regions if one.kind == "significant"]
    return cast(Region, shapely.union_all(found)) if found else None


def drawn_flags(regions: Sequence[object], *, hand_mm: float) -> tuple[Flag, ...]:
    """Return the caution that regions were drawn by hand."""
    if not regions:
        return ()
    return (flag("REGIONS_DRAWN", count=len(regions), edit_mm=2.0 * hand_mm),)


def significant_by_hand(area: Measured, regions: Sequence[DrawnRegion], *, part: Polygon, hand_mm: float) -> Measured:
    """Return the area of a drawn significant surface with the share of the hand. [mm2]

    What of its edge lies on the part may lie off to one side all along.
    """
    significant = drawn_significant(regions)
    length = significant.boundary.intersection(part).length if significant is not None else 0.0
    budget = {**area.budget, BY_HAND: length * hand_mm}
    return Measured(value=area.value, unit=area.unit, budget=budget, coverage_factor=area.coverage_factor)


def _region(drawn: DrawnRegion) -> Polygon:
    return region_of(drawn.ring_mm)


def region_of(ring_mm: Any) -> Polygon:
    """Return what a drawn line encloses, its points of shape (n, 2). [mm]

    Raises OutlineInvalid if it crosses itself, or encloses nothing.
    """
    polygon = Polygon(ring_mm)
    try:
        check_polygon(polygon)
    except OutlineInvalid as error:
        raise OutlineInvalid(
            f"A drawn region is not sound: {error.message[0].lower()}{error.message[1:]}",
            remedy="Draw it again, so that its line does not cross itself.",
        ) from None
    return polygon
