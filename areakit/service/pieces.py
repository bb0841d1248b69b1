"""The parts of a measurement as pieces: equal ones counted, others told apart; nothing is ever summed as one part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from areakit.errors import InputError
from areakit.flags import Flag
from areakit.geometry.edge_makes import UNKNOWN
from areakit.plating.premise import Origin
from areakit.records.area_lines import PartArea, numbered, numbers_words, piece_counts, read_part_areas
from areakit.records.part_outlines import read_part_outlines
from areakit.service.entries import AreaEntry
from areakit.uncertainty import Measured
from areakit.units import show


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """Equal parts of a measurement: their numbers in it, how many pieces they are, and the area of one. [mm2]"""

    numbers: tuple[int, ...]
    count: int
    area: Measured
    origin: Origin
    flags: tuple[Flag, ...]

    @property
    def words(self) -> str:
        """As people read it: ``6 pieces of 17.14 ± 0.12 cm²``."""
        each = show(self.area, "cm2")
        return f"1 piece of {each}" if self.count == 1 else f"{self.count} pieces of {each}"

    @property
    def entry(self) -> AreaEntry:
        """The area of one piece as a plan takes it."""
        return AreaEntry(area=self.area, origin=self.origin, flags=self.flags)


def read_pieces(measured: str) -> tuple[Pieces, ...]:
    """Return the groups of equal parts in what a measurement printed, in its order.

    InputError, MeasurementError as :func:`areakit.records.area_lines.read_part_areas`.
    """
    parts, counts = read_part_areas(measured), piece_counts(measured)
    return tuple(
        _pieces([parts[i] for i in group], sum(counts[i] for i in group)) for group in _groups(parts, measured)
    )


def choose_pieces(measured: str, part: int | None = None) -> Pieces:
    """Return the one group of equal parts, or that of one part: then it alone.

    InputError if parts differ and none is named, or there is no such part.
    """
    if part is not None:
        parts, counts = read_part_areas(measured), piece_counts(measured)
        chosen = numbered(parts, part)
        return _pieces([chosen], counts[parts.index(chosen)])
    found = read_pieces(measured)
    if len(found) > 1:
        told = "; ".join(f"part {numbers_words(one.numbers)}: {one.words}" for one in found[:6])
        raise InputError(
            f"The measurement holds {len(found)} kinds of parts, and one plan is for one kind: {told}.",
            remedy="Name one of them, or plan them side by side.",
            fields={"part": "", "areakit plan without --json": ""},
        )
    return found[0]


def equal_area(measured: str, numbers: Sequence[int]) -> Measured:
    """Return the area of one of the named parts, which a plan took for equal: their mean. [mm2]"""
    return _mean([one.area for one in read_part_areas(measured) if one.number in numbers])


def _groups(parts: Sequence[PartArea], measured: str) -> tuple[tuple[int, ...], ...]:
    if len(parts) == 1:
        return ((0,),)
    from areakit.geometry.equal_parts import Piece, equal_groups, polygon_of_rings

    pieces = [
        Piece(
            polygon=None if outline is None else polygon_of_rings(outline.rings),
            area=part.area,
            faces="" if outline is None else f"{outline.faces} {outline.shaped or ''}",
            thickness_mm=None if outline is None else outline.thickness_mm,
        )
        for part, outline in zip(parts, read_part_outlines(measured), strict=True)
    ]
    return equal_groups(pieces)


def _pieces(parts: Sequence[PartArea], count: int) -> Pieces:
    numbers = tuple(one.number for one in parts)
    commands = " and ".join(dict.fromkeys(one.command for one in parts))
    words = f"part {numbers_words(numbers)}" if len(parts) == 1 else f"equal parts {numbers_words(numbers)}, their mean"
    area = parts[0].area if len(parts) == 1 else _mean([one.area for one in parts])
    return Pieces(
        numbers=numbers,
        count=count,
        area=area,
        origin=Origin(kind="measured", text=f"{commands}, {words}{_edge_words(parts)}"),
        flags=tuple(dict.fromkeys(told for one in parts for told in one.flags)),
    )


def _edge_words(parts: Sequence[PartArea]) -> str:
    """Return how the edges were made, where somebody said."""
    made = [one.edge_make for one in parts if one.edge_make not in ("", UNKNOWN)]
    return f", edge {' and '.join(dict.fromkeys(made))}" if made else ""


def _mean(areas: Sequence[Measured]) -> Measured:
    from areakit.geometry.equal_parts import piece_area

    return piece_area(areas)
