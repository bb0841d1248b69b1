"""One part with its surfaces: the answer of a measurement, of a drawing and of typed shapes alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from areakit.api.values import UncertainValue
from areakit.flags import Flag
from areakit.geometry.part import Part
from areakit.geometry.surface import Surface
from areakit.uncertainty import Measured, total

if TYPE_CHECKING:
    from shapely.geometry import Polygon


class HasParts(Protocol):
    """A measurement, or the surfaces of a drawing: what a plan, a quote and a check go on from."""

    def to_json(self) -> dict[str, Any]:
        """Return what ``areakit measure`` or ``areakit surface`` prints with ``--json``."""
        ...


@dataclass(frozen=True, slots=True)
class PlatedPart:
    """One part: its outline and its surfaces.

    Attributes
    ----------
    number : int
        Counted from 1.
    part : areakit.geometry.part.Part
        Outline, thickness, faces and what else shapes the surface. [mm]
    surface : areakit.geometry.surface.Surface
        Its surfaces, each with its budget. [mm2]
    """

    number: int
    part: Part
    surface: Surface

    @property
    def polygon(self) -> Polygon:
        """The outline with its holes, y upwards, as a shapely polygon. [mm]"""
        return self.part.outline.polygon

    @property
    def face(self) -> UncertainValue:
        """Flat area of one face, holes taken off. [mm2]"""
        return UncertainValue(self.surface.face)

    @property
    def perimeter(self) -> UncertainValue:
        """Length of all edges, those of the holes included. [mm]"""
        outline = self.part.outline
        return UncertainValue(total([outline.perimeter_outer, outline.perimeter_holes], "mm"))

    @property
    def thickness(self) -> UncertainValue | None:
        """Height of the side walls, None where nobody said. [mm]"""
        return _optional(self.part.thickness)

    @property
    def side_walls(self) -> UncertainValue | None:
        """Area of all side walls, None where the thickness is not known. [mm2]"""
        return _optional(self.surface.side_wall)

    @property
    def plated(self) -> UncertainValue:
        """Area that is plated, as ``faces`` and masks say. [mm2]"""
        return UncertainValue(self.surface.plated)

    @property
    def significant(self) -> UncertainValue | None:
        """The significant surface, None where nobody marked one. [mm2]"""
        return _optional(self.surface.significant)

    @property
    def surfaces(self) -> Mapping[str, UncertainValue]:
        """Every surface by name, negative where it is taken away. [mm2]"""
        return {line.name: UncertainValue(line.area) for line in self.surface.lines}

    @property
    def flags(self) -> tuple[Flag, ...]:
        """Cautions on this part: code, message, remedy."""
        return self.surface.flags

    def __repr__(self) -> str:
        return f"<part {self.number}, plated ({self.surface.faces}): {self.plated}>"

    def _repr_html_(self) -> str:
        return view(f"Part {self.number}", [self], total=None, flags=self.flags)


def view(title: str, parts: Sequence[PlatedPart], *, total: Measured | None, flags: Sequence[Flag]) -> str:
    """Return what a notebook shows of parts, as HTML."""
    from areakit.reports.notebook import parts_view

    rows = [(one.number, one.part, one.surface) for one in parts]
    return parts_view(title, rows, total=total, flags=flags)


def _optional(quantity: Measured | None) -> UncertainValue | None:
    return None if quantity is None else UncertainValue(quantity)
