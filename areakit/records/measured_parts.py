"""Measured parts, outline and all, from what ``areakit measure --json`` or ``areakit surface --json`` prints."""

from __future__ import annotations

from typing import Any

from areakit.costing.measured_part import MeasuredPart, read_choice
from areakit.errors import InputError
from areakit.records.area_lines import part_bodies
from areakit.records.codec import quantity_in
from areakit.records.part_outlines import REMEDY, form_words, read_rings, unread


def read_measured_parts(text: str) -> tuple[MeasuredPart, ...]:
    """Return every part of every line.

    InputError for text that is not such lines, or a part without outline, perimeter or area.
    """
    bodies = part_bodies(text)
    if not bodies:
        raise unread("The JSON holds no measured part.")
    return tuple(_part(number, body) for number, body in enumerate(bodies, start=1))


def part_asked(text: str | None, number: int | None, *, usual: int | None = None) -> MeasuredPart | None:
    """Return the part of a measurement, of a number where one was given, else of its usual one; None without any."""
    if text is not None:
        return choose_part(text, usual if number is None else number)
    if number is not None:
        raise InputError(
            "A number of a part is about a measurement, and there is none.",
            remedy="Give the measurement too, or leave the number out.",
            fields={"part": "", "part_number": ""},
        )
    return None


def choose_part(text: str, number: int | None = None) -> MeasuredPart:
    """Return one part of the lines: the only one, or the one with a number, counted from 1."""
    parts = read_measured_parts(text)
    if number is None:
        if len(parts) > 1:
            raise InputError(
                f"The measurement holds {len(parts)} parts.", remedy="Choose one part.", fields={"part_number": "1"}
            )
        return parts[0]
    if not 1 <= number <= len(parts):
        raise InputError(
            f"There is no part {number} among {len(parts)}.", remedy="Choose another part.", fields={"part_number": ""}
        )
    return parts[number - 1]


def _part(number: int, body: dict[str, Any]) -> MeasuredPart:
    perimeter = body.get("perimeter")
    if not isinstance(perimeter, dict) or "outer" not in perimeter or "holes" not in perimeter:
        raise unread(f"Part {number} has no perimeter.")
    thickness = body.get("thickness")
    return MeasuredPart(
        name=str(body.get("id", number))[:60],
        rings=read_rings(body.get("outline"), number),
        face=quantity_in(body.get("face_area"), "mm2", remedy=REMEDY),
        perimeter_outer=quantity_in(perimeter["outer"], "mm", remedy=REMEDY),
        perimeter_holes=quantity_in(perimeter["holes"], "mm", remedy=REMEDY),
        thickness=None if thickness is None else quantity_in(thickness, "mm", remedy=REMEDY),
        faces=read_choice(str(body.get("faces", "one"))),
        plated=quantity_in(body.get("plated_area"), "mm2", remedy=REMEDY),
        rounded=body.get("edge_form", "sharp") != "sharp",
        form=form_words(body),
    )
