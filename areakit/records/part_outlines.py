"""Outlines of measured parts, from what ``areakit measure --json`` or ``areakit surface --json`` prints."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from areakit.errors import InputError
from areakit.records.area_lines import part_bodies
from areakit.records.codec import quantity_from_json
from areakit.records.form_body import form_of, form_words
from areakit.units import in_unit

Ring = tuple[tuple[float, float], ...]

_REMEDY = "Measure again, and give the whole answer."
_FIELDS = {"areakit measure --json": ""}
_MOST_POINTS = 200_000
_SHAPED = ("dome", "stopped off", "bend", "bent")
"""Words in the names of surfaces that a flat, wholly plated face does not have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOutline:
    """The outline of one part, its outer ring first, and what else tells whether it is a flat plate. [mm]

    ``shaped`` names a dome, a bend or a masked region; None where the face is flat and plated all over. ``form`` is
    what the outline is of, None for a flat part, and ``unrolled`` the outside of such a part laid flat. ``joined``
    names the forms of a part whose regions have forms of their own.
    """

    number: int
    rings: tuple[Ring, ...]
    thickness_mm: float | None
    faces: str
    shaped: str | None
    form: str | None = None
    unrolled: tuple[Ring, ...] | None = None
    joined: str | None = None


def read_part_outlines(text: str) -> tuple[PartOutline | None, ...]:
    """Return the outline of every part of every line in order, None for a part that has none.

    Raises
    ------
    InputError
        For an outline that is not a closed, finite polygon.
    """
    return tuple(_outline(number, body) for number, body in enumerate(part_bodies(text), start=1))


def _outline(number: int, body: dict[str, Any]) -> PartOutline | None:
    if body.get("outline") is None:
        return None
    thickness, form = body.get("thickness"), form_of(body)
    flat = body["form"].get("unrolled") if form is not None else None
    return PartOutline(
        number=number,
        rings=read_rings(body["outline"], number),
        thickness_mm=None if thickness is None else in_unit(quantity_from_json(thickness), "mm").value,
        faces=str(body.get("faces", "one")),
        shaped=_shaped(body.get("surfaces")),
        joined=form_words(body) if body.get("form_regions") else None,
        form=form.name if form is not None else None,
        unrolled=None if flat is None else read_rings(flat, number),
    )


def _shaped(surfaces: Any) -> str | None:
    """Return the first surface whose name says that the face is not flat and plated all over."""
    names = [str(line.get("name", "")) for line in surfaces or () if isinstance(line, dict)]
    return next((name[:60] for name in names if any(word in name for word in _SHAPED)), None)


def read_rings(outline: Any, number: int) -> tuple[Ring, ...]:
    """Return the rings of a GeoJSON polygon (RFC 7946, 3.1.6) with finite points. [mm]"""
    try:
        if outline["type"] != "Polygon":
            raise KeyError
        rings = tuple(tuple((float(p[0]), float(p[1])) for p in ring) for ring in outline["coordinates"])
    except (KeyError, TypeError, ValueError, IndexError, OverflowError):
        raise InputError(f"Part {number} has no outline.", remedy=_REMEDY, fields=_FIELDS) from None
    points = [value for ring in rings for point in ring for value in point]
    sound = bool(rings) and all(len(ring) >= 4 for ring in rings) and len(points) <= 2 * _MOST_POINTS
    if not sound or not all(math.isfinite(value) for value in points):
        raise InputError(
            f"The outline of part {number} is not a closed, finite polygon.", remedy=_REMEDY, fields=_FIELDS
        )
    return rings
