"""From a part to its surfaces, each with its budget."""

from __future__ import annotations

from dataclasses import dataclass

from areakit.flags import Flag
from areakit.geometry.part import Faces, Part
from areakit.uncertainty import Measured, exact, propagate, total


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The surfaces of one part, in mm2.

    ``sidewall_*`` are None where the thickness is not known; ``plated`` is what the chosen faces add up to.
    """

    face: Measured
    sidewall_outer: Measured | None
    sidewall_holes: Measured | None
    plated: Measured
    faces: Faces
    flags: tuple[Flag, ...] = ()

    @property
    def sidewall(self) -> Measured | None:
        """Outer wall and hole walls together."""
        if self.sidewall_outer is None or self.sidewall_holes is None:
            return None
        return total([self.sidewall_outer, self.sidewall_holes], "mm2")


def plated_surface(part: Part) -> Surface:
    """Return the faces and walls of a flat part with upright walls: faces A each, walls perimeter times thickness."""
    face = part.outline.area
    outer = holes = None
    if part.thickness is not None:
        outer = _wall(part.outline.perimeter_outer, part.thickness)
        holes = _wall(part.outline.perimeter_holes, part.thickness)
    terms = [face] if part.faces == "one" else [face, face]
    if part.faces == "all" and outer is not None and holes is not None:
        terms += [outer, holes]
    return Surface(
        face=face,
        sidewall_outer=outer,
        sidewall_holes=holes,
        plated=total(terms, "mm2"),
        faces=part.faces,
        flags=part.outline.flags,
    )


def _wall(perimeter: Measured, thickness: Measured) -> Measured:
    if perimeter.value == 0.0:
        return exact(0.0, "mm2")
    return propagate(lambda p, t: p * t, perimeter, thickness, unit="mm2")
