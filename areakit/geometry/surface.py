"""From a part to its surfaces, each with its budget."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from areakit.flags import Flag
from areakit.geometry.part import Faces, Part, Side
from areakit.uncertainty import Measured, exact, propagate, total

Basis = Literal["measured", "computed", "allowance"]
"""``measured`` in a photo or scan; ``computed`` from a drawing or typed numbers; ``allowance`` for what nobody saw."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceLine:
    """One named surface; ``area`` is negative for what is taken away. [mm2]"""

    name: str
    side: Side
    basis: Basis
    area: Measured
    plated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The surfaces of one part, in mm2.

    ``sidewall_*`` are None where the thickness is not known; ``plated`` is the sum of the lines that are plated;
    ``significant`` is the significant surface, None where nobody marked it.
    """

    face: Measured
    sidewall_outer: Measured | None
    sidewall_holes: Measured | None
    plated: Measured
    faces: Faces
    lines: tuple[SurfaceLine, ...] = ()
    significant: Measured | None = None
    flags: tuple[Flag, ...] = ()

    @property
    def sidewall(self) -> Measured | None:
        """Outer wall and hole walls together."""
        if self.sidewall_outer is None or self.sidewall_holes is None:
            return None
        return total([self.sidewall_outer, self.sidewall_holes], "mm2")

    @property
    def shares(self) -> dict[Basis, float]:
        """What part of the plated area is measured, computed, and an allowance; the three add up to 1."""
        sums: dict[Basis, float] = {"measured": 0.0, "computed": 0.0, "allowance": 0.0}
        for line in self.lines:
            if line.plated and self.plated.value:
                sums[line.basis] += line.area.value / self.plated.value
        return sums


def plated_surface(part: Part) -> Surface:
    """Return the faces and walls of a flat part with upright walls: faces A each, walls perimeter times thickness."""
    outline = part.outline
    basis: Basis = "measured" if outline.origin in {"photo", "scan"} else "computed"
    lines = [_line(f"{side} face", side, basis, outline.area, part) for side in ("front", "back")]
    outer = holes = None
    if part.thickness is not None:
        outer = _wall(outline.perimeter_outer, part.thickness)
        holes = _wall(outline.perimeter_holes, part.thickness)
        lines.append(_line("outer wall", "wall", "computed", outer, part))
        lines += [_line(name, "wall", "computed", area, part) for name, area in _each_hole(part, holes)]
    return Surface(
        face=outline.area,
        sidewall_outer=outer,
        sidewall_holes=holes,
        plated=total([line.area for line in lines if line.plated], "mm2"),
        faces=part.faces,
        lines=tuple(lines),
        flags=outline.flags,
    )


def _line(name: str, side: Side, basis: Basis, area: Measured, part: Part) -> SurfaceLine:
    return SurfaceLine(name=name, side=side, basis=basis, area=area, plated=side in part.sides)


def _each_hole(part: Part, holes: Measured) -> Iterable[tuple[str, Measured]]:
    """Share the walls of all holes out by the length of each, so that they add up to the whole."""
    lengths = [ring.length for ring in part.outline.polygon.interiors]
    for number, length in enumerate(lengths, start=1):
        share = length / sum(lengths)
        yield f"hole wall {number}", propagate(lambda area, share=share: area * share, holes, unit="mm2")


def _wall(perimeter: Measured, thickness: Measured) -> Measured:
    if perimeter.value == 0.0:
        return exact(0.0, "mm2")
    return propagate(lambda p, t: p * t, perimeter, thickness, unit="mm2")
