"""The lines of the walls: outer wall, each hole, what masks cover of them, relief."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry.base import BaseGeometry

from areakit.geometry.edge_forms import upright
from areakit.geometry.faces import masks_of
from areakit.geometry.features import Basis, SurfaceLine
from areakit.geometry.masking import allowed
from areakit.geometry.outline import SEAM_REACH_MM, Outline
from areakit.geometry.part import Part
from areakit.uncertainty import Measured, exact, propagate, total


def each_wall(part: Part) -> tuple[Measured, ...]:
    """Return the outer wall and then the wall of each hole; empty where the thickness is not known. [mm2]

    The walls of all holes share the measured length of all holes by their drawn lengths, so they add up to the whole.
    """
    if part.taper is not None:
        return part.taper.walls
    if part.thickness is None:
        return ()
    outline, height = part.outline, upright(part.thickness, part.edge_form)
    lengths = [ring.length for ring in _edges(outline)[1:]]
    holes = _wall(outline.perimeter_holes, height)
    portions = [length / (sum(lengths) or 1.0) for length in lengths]
    each = [holes.times(portion, unit="mm2") for portion in portions]
    return (_wall(outline.perimeter_outer, height), *each)


def wall_lines(part: Part, walls: Sequence[Measured]) -> list[SurfaceLine]:
    """Return every line of the walls; they add up to what is plated there."""
    lines = []
    for number, wall in enumerate(walls):
        lines.append(_line(part, "outer wall" if number == 0 else f"hole wall {number}", wall))
    covered = _covered(part, walls)
    if covered.value:
        lines.append(_line(part, "walls stopped off", covered))
    relief = part.relief.get("wall")
    if relief is not None and lines:
        bare = total([line.area for line in lines], "mm2")
        more = propagate(lambda a, f: a * (f - 1.0), bare, relief.factor, unit="mm2")
        lines.append(_line(part, "relief of the walls", more, basis="allowance"))
    return lines


def _covered(part: Part, walls: Sequence[Measured]) -> Measured:
    """Return what masks of the front that reach over the edge cover of the walls, as a negative area. [mm2]"""
    masks = masks_of(part, "front")
    if not masks or not walls:
        return exact(0.0, "mm2")
    terms = []
    for ring, wall in zip(_edges(part.outline), walls, strict=True):
        portion = 1.0 - allowed(ring, masks).length / ring.length if ring.length else 0.0
        if portion > 1e-9:
            terms.append(wall.times(-portion, unit="mm2"))
    return total(terms, "mm2")


def _edges(outline: Outline) -> list[BaseGeometry]:
    """Return the outer ring and then each hole, without what is a seam."""
    rings = [outline.polygon.exterior, *outline.polygon.interiors]
    if outline.seam is None:
        return rings
    return [ring.difference(outline.seam.buffer(SEAM_REACH_MM)) for ring in rings]


def _line(part: Part, name: str, area: Measured, *, basis: Basis = "computed") -> SurfaceLine:
    return SurfaceLine(name=name, side="wall", basis=basis, area=area, plated="wall" in part.sides)


def _wall(perimeter: Measured, thickness: Measured) -> Measured:
    if perimeter.value == 0.0:
        return exact(0.0, "mm2")
    return propagate(lambda p, t: p * t, perimeter, thickness, unit="mm2")
