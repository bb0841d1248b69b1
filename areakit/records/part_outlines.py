"""Outlines of measured parts, what they are of, and where the camera stood, from what ``areakit measure --json`` or
``areakit surface --json`` prints; a plan reads them without drawing libraries."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from areakit.errors import InputError
from areakit.geometry.forms.words import FORMS, FormText, read_form
from areakit.records.area_lines import part_bodies
from areakit.records.codec import quantity_from_json
from areakit.units import in_unit

if TYPE_CHECKING:
    from areakit.geometry.forms.seen import View

Ring = tuple[tuple[float, float], ...]

REMEDY = "Measure again, and give the whole answer."
_AGAIN = "Measure the part again, and use what that prints."
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

    InputError for an outline that is not a closed, finite polygon.
    """
    return tuple(_outline(number, body) for number, body in enumerate(part_bodies(text), start=1))


def unread(message: str) -> InputError:
    """Return the error for what is not as a measurement prints it."""
    return InputError(message, remedy=REMEDY, fields={"areakit measure --json": ""})


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
        raise unread(f"Part {number} has no outline.") from None
    points = [value for ring in rings for point in ring for value in point]
    sound = bool(rings) and all(len(ring) >= 4 for ring in rings) and len(points) <= 2 * _MOST_POINTS
    if not sound or not all(math.isfinite(value) for value in points):
        raise unread(f"The outline of part {number} is not a closed, finite polygon.")
    return rings


def form_of(body: Mapping[str, Any]) -> FormText | None:
    """Return the form of a part that was printed, None for a flat one; InputError if it cannot be read."""
    found = body.get("form")
    if found is None:
        return None
    text = found.get("text") if isinstance(found, Mapping) else None
    if not isinstance(text, str):
        raise InputError("The form of the part cannot be read.", remedy=_AGAIN)
    return read_form(text)


def form_words(body: Mapping[str, Any]) -> str | None:
    """Return in a word or two what a part is made of: its form, or its forms; None for a flat one."""
    form, regions = form_of(body), body.get("form_regions")
    names = [form.name if form is not None else "flat"]
    if isinstance(regions, list):
        for one in regions:
            name = one.get("form") if isinstance(one, Mapping) else None
            if name not in FORMS:
                raise InputError("The form of a region cannot be read.", remedy=_AGAIN)
            names.append(name)
    if len(names) == 1:
        return form.name if form is not None else None
    return " and ".join(dict.fromkeys(names))


def form_as_said(body: Mapping[str, Any]) -> str:
    """Return what a part is of as it was written, its regions after it; empty for a flat part without any."""
    form, regions = form_of(body), body.get("form_regions") or ()
    words = [str(one["words"]) for one in regions if isinstance(one, Mapping) and one.get("words")]
    if form is None and not words:
        return ""
    return "; ".join([form.text if form is not None else "flat", *words])


def view_of_body(body: Mapping[str, Any]) -> View | None:
    """Return where the camera stood over a part that was printed, None where that is not said."""
    found = body.get("view")
    if found is None:
        return None
    from areakit.geometry.forms.seen import View

    try:
        known = {"pixel_mm": 0.0, **found}  # a part that was printed before it was told
        view = View(**{name: float(known[name]) for name in View.__dataclass_fields__})
    except (KeyError, TypeError, ValueError, OverflowError):
        view = View(x_mm=0.0, y_mm=0.0, height_mm=math.nan)
    figures = (view.x_mm, view.y_mm, view.height_mm, view.level_mm, view.level_open_mm, view.pixel_mm)
    if not all(math.isfinite(value) for value in figures) or not 0.0 <= view.level_mm < view.height_mm:
        raise InputError("Where the camera stood cannot be read from the part.", remedy=_AGAIN)
    return view
