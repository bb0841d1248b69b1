"""Areas from the lines that ``areakit measure --json`` prints, one JSON object a line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from areakit.errors import InputError, MeasurementError
from areakit.flags import Flag, flag
from areakit.foreign_text import json_from
from areakit.geometry.edge_makes import edge_make
from areakit.plural import counted, rows_of
from areakit.records.codec import flag_from_json, quantity_from_json
from areakit.uncertainty import Measured
from areakit.units import dimension, in_unit

_REMEDY = "Measure again, and give the whole answers, one a line."
_FIELDS = {"areakit measure --json": ""}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartArea:
    """The plated area of one measured part, in mm2, with its number in the file, and its and its photo's flags.

    ``command`` is the command that found it, ``edge_make`` how its edge was made, empty where no photo was read.
    """

    number: int
    area: Measured
    flags: tuple[Flag, ...]
    command: str = "areakit measure"
    edge_make: str = ""


def read_part_areas(text: str) -> tuple[PartArea, ...]:
    """Return every part of every line, numbered from 1.

    InputError for text that is not such lines, or a part without a plated area; MeasurementError if every photo was
    refused; with the reason of the first.
    """
    lines = _objects(text)
    refused = [line for line in lines if line.get("status") == "refused"]
    left_out = tuple(_left_out(line) for line in refused)
    found: list[PartArea] = []
    for line in lines:
        bodies = _parts(line)
        own = [_flags(body.get("flags"), None) for body in bodies]
        known = {(told.code, told.message) for flags in own for told in flags}
        whole = [told for told in _flags(line.get("flags"), None) if (told.code, told.message) not in known]
        for body in bodies:
            found.append(_part_area(len(found) + 1, body, (*left_out, *whole)))
    if not found and refused:
        reason = next(iter(_flags(refused[0].get("flags"), None)), None)
        raise MeasurementError(
            f"The photo was refused: {reason.message if reason else 'no reason given'}",
            remedy=reason.remedy if reason else "Take it again.",
            fields=reason.fields if reason else None,
            code=reason.code if reason else None,
        )
    if not found:
        raise InputError("The JSON holds no measured part.", remedy=_REMEDY, fields=_FIELDS)
    return tuple(found)


def numbered(parts: Sequence[PartArea], number: int) -> PartArea:
    """Return the part of a number; InputError if there is none."""
    for one in parts:
        if one.number == number:
            return one
    raise InputError(
        f"There is no part {number} among {len(parts)}.", remedy="Choose another part.", fields={"part": ""}
    )


def _left_out(line: dict[str, Any]) -> Flag:
    reason = next(iter(_flags(line.get("flags"), None)), None)
    return flag(
        "PHOTO_LEFT_OUT",
        photo=str(line.get("photo", "one"))[:60],
        reason=reason.message if reason else "no reason given.",
    )


def regions_left_out(lines: Iterable[dict[str, Any]]) -> int:
    """Return how many regions in the photos of some lines have no area; lines of older make do not say, and count 0."""
    counts = [line.get("regions_left_out") for line in lines]
    return sum(count for count in counts if isinstance(count, int) and not isinstance(count, bool) and count > 0)


def text_left_out(text: str) -> int:
    """Return the same for the text of such lines."""
    return regions_left_out(_objects(text))


def without_words(count: int) -> str:
    """Return what is said behind every total: `` without 2 regions``; nothing where all were measured."""
    return f" without {counted(count, 'region')}" if count else ""


def part_bodies(text: str) -> list[dict[str, Any]]:
    """Return the JSON object of every part of every line."""
    return [part for body in _objects(text) for part in _parts(body)]


def piece_counts(text: str) -> tuple[int, ...]:
    """Return for every part of every line how many pieces it stands for: the ``count`` of its line, 1 unless said."""
    found: list[int] = []
    for line in _objects(text):
        count = line.get("count", 1)
        sound = isinstance(count, int) and not isinstance(count, bool) and count >= 1
        found += [count if sound else 1] * len(_parts(line))
    return tuple(found)


def numbers_words(numbers: Sequence[int]) -> str:
    """Return part numbers as people write them: ``1 to 4, 6``."""
    return ", ".join(str(row[0]) if len(row) == 1 else f"{row[0]} to {row[-1]}" for row in rows_of(numbers))


def _objects(text: str) -> list[dict[str, Any]]:
    try:
        whole = json_from(text)
        found = whole if isinstance(whole, list) else [whole]
    except ValueError:
        try:
            found = [json_from(line) for line in text.splitlines() if line.strip()]
        except ValueError:
            raise InputError("The text is not JSON.", remedy=_REMEDY, fields=_FIELDS) from None
    if not all(isinstance(body, dict) for body in found):
        raise InputError("The JSON is not an object.", remedy=_REMEDY, fields=_FIELDS)
    return found


def _parts(body: dict[str, Any]) -> list[dict[str, Any]]:
    parts = body.get("parts")
    if not isinstance(parts, list) or not all(isinstance(part, dict) for part in parts):
        raise InputError("The JSON holds no list of parts.", remedy=_REMEDY, fields=_FIELDS)
    return parts


def _part_area(number: int, body: dict[str, Any], whole: tuple[Flag, ...]) -> PartArea:
    if body.get("plated_area") is None:
        raise InputError(f"Part {number} has no plated area.", remedy="Measure it again with its thickness and faces.")
    area = quantity_from_json(body["plated_area"])
    try:
        known = dimension(area.unit) == "area"
    except KeyError:
        known = False
    if not known:
        raise InputError(f"The plated area of part {number} is in {area.unit[:20]!r}.", remedy=_REMEDY, fields=_FIELDS)
    flags = (*whole, *_flags(body.get("flags"), number))
    command = "areakit surface" if body.get("origin") in ("drawing", "dimensions") else "areakit measure"
    made = body.get("edge_make")
    return PartArea(
        number=number,
        area=in_unit(area, "mm2"),
        flags=flags,
        command=command,
        edge_make=edge_make(str(made)).key if made else "",
    )


def _flags(bodies: Any, number: int | None) -> tuple[Flag, ...]:
    if not isinstance(bodies, list):
        return ()
    return tuple(replace(flag_from_json(body), part=number) for body in bodies if isinstance(body, dict))
