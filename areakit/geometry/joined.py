"""The surfaces of a part of several forms: those of its pieces, less what they hide of each other where they join."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from areakit.flags import Flag, flag
from areakit.geometry.features import Mask, Side, SurfaceLine
from areakit.geometry.part import Part
from areakit.geometry.regions import Piece, Seam, pieces, tagged
from areakit.uncertainty import Measured, exact, propagate, total

if TYPE_CHECKING:
    from areakit.geometry.surface import Surface

_ROUND = frozenset({"round", "tube", "thread", "knurl", "reeding", "turned"})
_LEAVES_SEAM_OUT = frozenset({"round"})
"""Forms besides the flat ones that count no end at a seam; the others count it as if they were cut off there."""
_NOTHING_MM2 = 1e-9
JOINT_SHARE = 0.1
"""Relative standard uncertainty of what two pieces hide of each other: solder, a fillet, a skew joint (own
estimate)."""


def joined_surface(part: Part, surface_of: Callable[[Part], Surface]) -> Surface:
    """Return the surface of a part of several forms.

    The pieces are computed one by one. At a seam they hide of each other what their sections share: that much has no
    wall and no end on either side. What the larger section has more is a step, and stays (closed forms: sections are
    rectangles and circles, taken middle on middle and both on the sheet; the mean is used, and half their difference
    is open).

    Raises InputError, MeasurementError if a region lies outside, lies over another, or is none of its form.
    """
    part.refuse_worked(
        "A part with regions of several forms",
        "Leave it out, or give the region that form, as in: form domed, rise 2 mm.",
    )
    regions = tuple(tagged(one, number) for number, one in enumerate(part.regions, start=1))
    found, seams = pieces(part.outline, regions, form=part.form, thickness=part.thickness, view=part.view)
    surfaces = [surface_of(_alone(part, piece)) for piece in found]
    lines = [line for piece, one in zip(found, surfaces, strict=True) for line in _named(piece, one)]
    stock = [one.figures.get("mean diameter") for one in surfaces]
    lines += [line for seam in seams for line in _seam_lines(part, found, stock, seam)]
    lines = _together(lines)
    flags = [
        *part.outline.flags,
        *(told for one in surfaces for told in one.flags if told.code not in {"MASK_MISSES", "HOLE_ADDS_AREA"}),
        *_misses(part),
    ]
    significant = [one.significant for one in surfaces if one.significant is not None]
    first = surfaces[0]
    return replace(
        first,
        face=part.outline.area,
        side_wall_outer=None,
        side_wall_holes=None,
        lines=tuple(lines),
        plated=total([line.area for line in lines if line.plated], "mm2"),
        significant=total(significant, "mm2") if significant else None,
        flags=tuple(dict.fromkeys(flags)),
        form=part.form,
        view=part.view,
        regions=part.regions,
        figures={
            f"{piece.name} {name}": figure
            for piece, one in zip(found, surfaces, strict=True)
            for name, figure in one.figures.items()
        },
        unrolled=None,
    )


def _alone(part: Part, piece: Piece) -> Part:
    """Return one piece as a part, with the masks that reach it."""
    polygon = piece.outline.polygon
    significant = part.significant if part.significant is not None and part.significant.intersects(polygon) else None
    if significant is not None and not piece.is_flat:
        significant = significant if significant.intersection(polygon).area > 1e-6 else None
    return Part(
        outline=piece.outline,
        thickness=piece.thickness,
        faces=part.faces,
        masks=tuple(mask for mask in part.masks if mask.keep or mask.region.intersects(polygon)),
        overspill=part.overspill,
        significant=significant,
        form=piece.form,
        view=part.view,
    )


def _misses(part: Part) -> list[Flag]:
    return [
        flag("MASK_MISSES", mask=f"Mask {number}", side=_side_word(mask))
        for number, mask in enumerate(part.masks, start=1)
        if not part.outline.polygon.intersects(mask.region)
    ]


def _side_word(mask: Mask) -> str:
    return "front" if "front" in mask.sides else "back"


def _named(piece: Piece, surface: Surface) -> list[SurfaceLine]:
    """Return the lines of a piece by its name; what is left of a flat part keeps the names that it always has."""
    plain = piece.name == "rest" and piece.form is None
    return [line if plain else replace(line, name=f"{piece.name} {line.name}") for line in surface.lines]


def _seam_lines(part: Part, found: list[Piece], stock: list[Measured | None], seam: Seam) -> list[SurfaceLine]:
    """Return the lines of both pieces at a seam; ``stock`` are the mean diameters of pieces of wire and tube."""
    one, other = found[seam.first], found[seam.second]
    if one.is_flat and other.is_flat:
        steps = _steps(one, other, seam)
    else:
        sections = [_section(found[place], seam, stock[place]) for place in (seam.first, seam.second)]
        hidden = _hidden(sections)
        steps = [_step(piece, section, hidden) for piece, section in zip((one, other), sections, strict=True)]
    lines = []
    for piece, neighbour, area in ((one, other, steps[0]), (other, one, steps[1])):
        side: Side = "front" if piece.form is not None and piece.form.name == "turned" else "wall"
        name = f"{piece.name}, at {neighbour.name}"
        lines.append(SurfaceLine(name=name, side=side, basis="computed", area=area, plated=side in part.sides))
    return lines


def _steps(one: Piece, other: Piece, seam: Seam) -> list[Measured]:
    """Return what the wall of each of two flat pieces has more than the other: they are one sheet. [mm2]"""
    if one.thickness is None or other.thickness is None:
        return [exact(0.0, "mm2")] * 2
    more = propagate(lambda a, b: seam.line.length * (a - b), one.thickness, other.thickness, unit="mm2")
    none = exact(0.0, "mm2")
    return [more, none] if more.value > 0.0 else [none, more.times(-1.0)]


def _step(piece: Piece, section: Polygon | None, hidden: Measured) -> Measured:
    """Return what of its own section a piece shows at a seam, less what it counted there already. [mm2]"""
    left_out = piece.is_flat or (piece.form is not None and piece.form.name in _LEAVES_SEAM_OUT)
    if left_out and section is None:
        return exact(0.0, "mm2")
    whole = section.area if left_out and section is not None else 0.0
    budget = {name: -share for name, share in hidden.budget.items()}
    return Measured(value=whole - hidden.value, unit="mm2", budget=budget)


def _together(lines: list[SurfaceLine]) -> list[SurfaceLine]:
    """Return lines of one name as one, and leave out those of nothing."""
    alike: dict[str, list[SurfaceLine]] = {}
    for line in lines:
        alike.setdefault(line.name, []).append(line)
    merged = [replace(same[0], area=total([one.area for one in same], "mm2")) for same in alike.values()]
    return [line for line in merged if abs(line.area.value) > _NOTHING_MM2 or any(line.area.budget.values())]


def _section(piece: Piece, seam: Seam, stock: Measured | None) -> Polygon | None:
    """Return the section of a piece at a seam, resting on y = 0; None where its form does not tell. [mm]"""
    width = seam.width_mm if stock is None else min(stock.value, seam.width_mm)
    if piece.is_flat:
        half = seam.line.length / 2.0
        return None if piece.thickness is None else box(-half, 0.0, half, piece.thickness.value)
    assert piece.form is not None
    if piece.form.name in _ROUND:
        return Point(0.0, width / 2.0).buffer(width / 2.0, quad_segs=64)
    if piece.form.name == "bent":
        return box(-width / 2.0, 0.0, width / 2.0, piece.form.needed("width").value)
    return None


def _hidden(sections: list[Polygon | None]) -> Measured:
    """Return what two sections share, with what is open of how they lie to each other. [mm2]"""
    known = [section for section in sections if section is not None]
    if len(known) < 2:
        low, high = 0.0, known[0].area if known else 0.0
    else:
        resting = known[0].intersection(known[1]).area
        middled = _middled(known[0]).intersection(_middled(known[1])).area
        low, high = sorted((resting, middled))
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    open_share = math.hypot(half / math.sqrt(3.0), JOINT_SHARE * middle)
    return Measured(value=middle, unit="mm2", budget={"form: seam": open_share})


def _middled(section: Polygon) -> BaseGeometry:
    return affinity.translate(section, 0.0, -section.bounds[3] / 2.0)
