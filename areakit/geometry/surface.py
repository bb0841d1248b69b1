"""From a part to its surfaces, each with its budget."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from shapely.geometry import Polygon

from areakit.flags import Flag, flag
from areakit.geometry.edge_forms import SHARP, EdgeForm
from areakit.geometry.faces import face_lines, significant_area
from areakit.geometry.features import Basis, SurfaceLine
from areakit.geometry.formed import formed_lines
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import FormText
from areakit.geometry.joined import joined_surface
from areakit.geometry.outline import hole_areas
from areakit.geometry.part import Faces, Part
from areakit.geometry.regions import FormRegion
from areakit.geometry.walls import each_wall, wall_lines
from areakit.uncertainty import Measured, total

MOST_ROWS = 14


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
        return joined_surface(part, plated_surface)
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
