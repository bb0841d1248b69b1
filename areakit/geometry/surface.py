"""From a part to its surfaces, each with its budget; those of several forms less what they hide of each other."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from areakit.flags import Flag, flag
from areakit.geometry.edge_forms import SHARP, EdgeForm
from areakit.geometry.faces import face_lines, significant_area
from areakit.geometry.features import Basis, Side, SurfaceLine
from areakit.geometry.formed import formed_lines
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import hole_areas
from areakit.geometry.part import Faces, Part
from areakit.geometry.regions import FormRegion, Piece, Seam, pieces, tagged
from areakit.geometry.walls import each_wall, wall_lines
from areakit.uncertainty import Measured, exact, propagate, total

MOST_ROWS = 14
_ROUND = frozenset({"round", "tube", "thread", "knurl", "reeding", "turned"})
_LEAVES_SEAM_OUT = frozenset({"round"})
"""Forms besides the flat ones that count no end at a seam; the others count it as if they were cut off there."""
_NOTHING_MM2 = 1e-9
JOINT_SHARE = 0.1
"""Relative standard uncertainty of what two pieces hide of each other: solder, a fillet, a skew joint (own
estimate)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The surfaces of one part, in mm2.

    ``face`` is the flat area of the outline; ``side_wall_*`` are the whole walls, None where the thickness is not
    known; ``plated`` is the sum of the lines that are plated; ``significant`` is the significant surface, None where
    nobody marked it.

    ``form`` is what the outline is of, None for a flat part, ``view`` where the camera stood, ``edge_form`` that of its
    edges; ``figures`` are what the form found on the way, ``unrolled`` is its outside laid flat [mm], None where that
    is the outline. ``regions`` are those that have forms of their own; ``form`` is then that of the rest.
    """

    face: Measured
    side_wall_outer: Measured | None
    side_wall_holes: Measured | None
    plated: Measured
    faces: Faces
    lines: tuple[SurfaceLine, ...] = ()
    significant: Measured | None = None
    flags: tuple[Flag, ...] = ()
    form: FormText | None = None
    view: View | None = None
    edge_form: EdgeForm = SHARP
    figures: Mapping[str, Measured] = field(default_factory=dict)
    unrolled: Polygon | None = None
    regions: tuple[FormRegion, ...] = ()

    @property
    def side_wall(self) -> Measured | None:
        """Outer wall and hole walls together."""
        if self.side_wall_outer is None or self.side_wall_holes is None:
            return None
        return total([self.side_wall_outer, self.side_wall_holes], "mm2")

    @property
    def shares(self) -> dict[Basis, float]:
        """What part of the plated area is measured, computed, and an allowance; the three add up to 1."""
        sums: dict[Basis, float] = {"measured": 0.0, "computed": 0.0, "allowance": 0.0}
        for line in self.lines:
            if line.plated and self.plated.value:
                sums[line.basis] += line.area.value / self.plated.value
        return sums


def plated_surface(part: Part) -> Surface:
    """Return every surface of a part, and what the chosen faces add up to.

    Faces take the area of the outline each, upright walls perimeter times thickness; rounded edges, masks, recesses,
    taper, dome, rim and relief come on lines of their own. Area and perimeter stay correlated through the inputs that
    they share.
    """
    if part.regions:
        return _joined(part)
    if part.form is not None:
        return _formed(part)
    walls = each_wall(part)
    lines: list[SurfaceLine] = []
    flags = list(part.outline.flags)
    for side in ("front", "back"):
        found, cautions = face_lines(part, side)
        lines += found
        flags += cautions
    lines += wall_lines(part, walls)
    plated = total([line.area for line in lines if line.plated], "mm2")
    flags += [*_hole_flags(part, walls), *_edge_share_flags(part, walls, plated), *_relief_flags(part)]
    return Surface(
        face=part.outline.area,
        side_wall_outer=walls[0] if walls else None,
        side_wall_holes=total(list(walls[1:]), "mm2") if walls else None,
        plated=plated,
        faces=part.faces,
        lines=tuple(lines),
        significant=significant_area(part),
        view=part.view,
        edge_form=part.edge_form,
        flags=tuple(dict.fromkeys(flags)),
    )


def _formed(part: Part) -> Surface:
    lines, found, flags = formed_lines(part)
    return Surface(
        face=part.outline.area,
        side_wall_outer=None,
        side_wall_holes=None,
        plated=total([line.area for line in lines if line.plated], "mm2"),
        faces=part.faces,
        lines=tuple(lines),
        flags=tuple(dict.fromkeys([*part.outline.flags, *flags])),
        form=part.form,
        view=part.view,
        figures=found.figures,
        unrolled=found.unrolled,
    )


def _hole_flags(part: Part, walls: Sequence[Measured]) -> Iterable[Flag]:
    """Say when holes add area: a round one does once the thickness exceeds its radius, or half of it for one face."""
    if not walls or "wall" not in part.sides:
        return
    faces = len(part.sides & {"front", "back"})
    holes = hole_areas(part.outline)
    gains = [wall.value - faces * area for wall, area in zip(walls[1:], holes, strict=True)]
    if adding := [gain for gain, area in zip(gains, holes, strict=True) if gain > 1e-3 * area]:
        yield flag("HOLE_ADDS_AREA", count=len(adding), gained_mm2=sum(adding))


def _edge_share_flags(part: Part, walls: Sequence[Measured], plated: Measured) -> Iterable[Flag]:
    if part.faces == "front-and-edges" and walls and plated.value > 0.0:
        percent = 100.0 * sum(wall.value for wall in walls) / plated.value
        verdict = "negligible" if percent < 1.0 else "not negligible"
        yield flag("CUT_EDGE", percent=percent, verdict=verdict)


def _relief_flags(part: Part) -> Iterable[Flag]:
    for side, relief in part.relief.items():
        if relief.source == "practice" and side in part.sides:
            yield flag(
                "RELIEF_FROM_PRACTICE",
                low=relief.low,
                high=relief.high,
                kind=relief.kind,
                basis="common practice without a source",
            )


def grouped_lines(lines: Sequence[SurfaceLine]) -> list[SurfaceLine]:
    """Return the lines for a table of about :data:`MOST_ROWS`: numbered lines of one kind become one where needed."""
    if len(lines) <= MOST_ROWS:
        return list(lines)
    rows = []
    for kind, group in groupby(lines, key=lambda line: (line.name.rstrip("0123456789 "), line.plated)):
        same = list(group)
        name = same[0].name if len(same) == 1 else f"{len(same)} × {kind[0]}"
        rows.append(replace(same[0], name=name, area=total([line.area for line in same], "mm2")))
    return rows


def _joined(part: Part) -> Surface:
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
    surfaces = [plated_surface(_alone(part, piece)) for piece in found]
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
        flag("MASK_MISSES", mask=f"Mask {number}", side="front" if "front" in mask.sides else "back")
        for number, mask in enumerate(part.masks, start=1)
        if not part.outline.polygon.intersects(mask.region)
    ]


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
