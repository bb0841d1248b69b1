"""One entry of a job in one line, for terminal and paper alike."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from areakit.errors import InputError
from areakit.plural import counted
from areakit.records.job import Entry
from areakit.records.methods import METHODS
from areakit.units import show

_BY_HAND = {"CORRECTED_BY_HAND", "REGIONS_DRAWN"}


def quantity_words(entry: Entry, name: str, unit: str) -> str:
    """Return one of an entry's quantities with its uncertainty, or nothing where it was not given."""
    found = entry.quantity(name)
    return show(found, unit) if found else ""


def clock(at: str) -> str:
    """Return the time of day of an ISO 8601 time."""
    return at[11:19]


def _moment(entry: Entry) -> str:
    """Return when it was; with its day where it was written down on another."""
    at = entry.doc["at"]
    return clock(at) if at[:10] == entry.at[:10] else f"{at[:10]} {clock(at)}"


def _opened(entry: Entry) -> str:
    doc = entry.doc
    like = f"like job {doc['like']}" if doc.get("like") else ""
    parts = [f"{doc['quantity']} × {doc['part']}", doc["customer"], doc["base"], doc["condition"], like]
    return "; ".join(part for part in parts if part)


def _step(entry: Entry) -> str:
    doc = entry.doc
    bottle = f" from bottle {doc['bottle']}" if doc["bottle"] else ""
    charge = f", {quantity_words(entry, 'charge', 'A.min')}" if doc["charge"] else ""
    return f"{doc['title']}{bottle}, begun {_moment(entry)}{charge}"


def _reading(entry: Entry) -> str:
    doc = entry.doc
    if not doc["current"]:
        return f"current cut at {_moment(entry)} (run {doc['run']})"
    return f"{doc['current']:g} A at {_moment(entry)}{', then cut' if doc['stop'] else ''} (run {doc['run']})"


def _measured(entry: Entry) -> str:
    line, number = entry.doc["line"], entry.doc["part"]
    part = line.get("parts", [])[number - 1 : number]
    hand = [told["message"] for told in (part[0].get("flags") or ()) if told.get("code") in _BY_HAND] if part else []
    return " ".join([f"part {number} of {line.get('photo', 'a measurement')}{'.' if hand else ''}", *hand])


def _tested(entry: Entry) -> str:
    doc = entry.doc
    title = METHODS[doc["method"]].title if doc["method"] in METHODS else doc["method"]
    parts = [f"{title}: {doc['result']}", quantity_words(entry, "value", "um"), doc["place"]]
    return ", ".join(part for part in parts if part)


def _quoted(entry: Entry) -> str:
    quote = entry.doc["quote"]
    pieces = counted(quote["pieces"], "piece")
    return f"{quote['price']} {quote['currency']} for {pieces}, valid until {quote['valid_until']}"


def defect_place(geometry: Mapping[str, Any]) -> str:
    """Return where a defect lies, in words."""
    if geometry.get("type") == "Point":
        x, y = geometry["coordinates"]
        return f"at ({x:g}, {y:g}) mm"
    corners = geometry["coordinates"][0][:-1]
    return "inside " + ", ".join(f"({x:g}, {y:g})" for x, y in corners) + " mm"


def _signed(entry: Entry) -> str:
    doc = entry.doc
    said = f"{doc['statement']}{', ' + doc['role'] if doc['role'] else ''}"
    points = doc.get("open_points") or ()
    return f"{said}; although {doc['despite']}. Open: {' '.join(points)}" if points else said


_WORDS: dict[str, Callable[[Entry], str]] = {
    "opened": _opened,
    "photographed": lambda e: f"{e.doc['name']}, SHA-256 {e.doc['sha256'][:16]}…",
    "measured": _measured,
    "required": lambda e: f"{e.doc['text']} ({e.doc['standard']})" if e.doc.get("standard") else str(e.doc["text"]),
    "planned": lambda e: str(e.doc["plan"].get("process", {}).get("title", "plan")),
    "quoted": _quoted,
    "step": _step,
    "reading": _reading,
    "weighed": lambda e: f"{e.doc['when']}: {quantity_words(e, 'mass', 'g')}",
    "tested": _tested,
    "defect": lambda e: f"{e.doc['what']} {defect_place(e.doc['geometry'])}",
    "reworked": lambda e: str(e.doc["what"]) + (f", because of {e.doc['because']}" if e.doc["because"] else ""),
    "signed": _signed,
    "certified": lambda e: str(e.doc["statement"]["title"]),
    "remarked": lambda e: str(e.doc["text"]),
}


def entry_words(entry: Entry) -> str:
    """Return one entry in one line, its remarks at the end."""
    if entry.kind not in _WORDS:
        raise InputError(f"Entry {entry.number} is of an unknown kind {entry.kind!r}.", remedy="Use a newer areakit.")
    remarks = f" — {entry.doc['remarks']}" if entry.doc.get("remarks") else ""
    return f"{_WORDS[entry.kind](entry)}{remarks}"
