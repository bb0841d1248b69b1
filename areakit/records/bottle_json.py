"""A bottle as JSON, and its entries in words."""

from __future__ import annotations

from typing import Any

from areakit.plural import counted
from areakit.records.bottles import Bottle
from areakit.records.codec import in_json, picked, quantity_from_json
from areakit.records.event import Event, event_json
from areakit.units import show

SCHEMA = "areakit.bottle/1"
# field: (unit shown, word)
_AMOUNTS = {
    "volume": ("mL", ""),
    "metal_content": ("g/L", "metal"),
    "allowed_charge": ("A.h", "allowed"),
    "usable_fraction": ("%", "usable"),
    "charge": ("A.h", ""),
    "metal_mass": ("mg", "metal"),
}


def bottle_json(bottle: Bottle) -> dict[str, Any]:
    """Return a bottle: charge in A.h, metal in mg, volume in mL; null where the label is silent."""
    return {
        "schema": SCHEMA,
        **picked(bottle, "label", "solution", "bath", "lot", "expiry", "recovered", "discarded", "contains"),
        "metal": bottle.metal_name,
        "topped_up_with": list(bottle.topped_up),
        "charge_passed": in_json(bottle.passed, "A.h"),
        "carried_away": in_json(bottle.carried, "mL"),
        "allowed_charge": in_json(bottle.allowed, "A.h"),
        "charge_left": in_json(bottle.charge_left, "A.h"),
        "metal_left": in_json(bottle.metal, "mg"),
        "metal_usable": in_json(bottle.usable, "mg"),
        "runs_without_known_metal": bottle.metal_unknown,
        "volume": in_json(bottle.volume, "mL"),
        "history": [event_json(event) for event in bottle.history],
    }


def metal_words(bottle: Bottle, unit: str) -> str:
    """Return the metal left in words; ``at most`` where the metal of some run is not known."""
    if bottle.metal is None:
        return "not known"
    found = show(bottle.metal, unit)
    return f"at most {found} ({counted(bottle.metal_unknown, 'run')} not counted)" if bottle.metal_unknown else found


def usable_words(bottle: Bottle, unit: str) -> str:
    """Return the metal that can still be plated out, in words; ``none`` where more was taken than can be."""
    if bottle.usable is None:
        return "not known"
    return show(bottle.usable, unit) if bottle.usable.value > 0.0 else "none"


def passed_words(bottle: Bottle) -> str:
    """Return what a bottle has been through: charge, what sleeves and parts carried away, lots of top-ups."""
    lots = f" Topped up with lot {', '.join(bottle.topped_up)}." if bottle.topped_up else ""
    return (
        f"Charge passed: {show(bottle.passed, 'A.h')}. Carried away by sleeves and parts: {show(bottle.carried, 'mL')}."
        f"{lots}"
    )


def event_words(event: Event) -> str:
    """Return one entry of a bottle's account in one line."""
    doc = event.doc
    if event.kind == "corrected":
        what = "withdrawn" if doc["withdrawn"] else ", ".join(doc["fields"])
        return f"entry {doc['entry']}: {what} ({doc['reason']})"
    amounts = [
        f"{show(quantity_from_json(doc[name]), unit)} {word}".strip()
        for name, (unit, word) in _AMOUNTS.items()
        if doc.get(name) is not None
    ]
    job = [f"job {doc['job']}, run {doc['run']}"] if doc.get("job") else []
    lot = [f"lot {doc['lot']}"] if event.kind == "added" and doc.get("lot") else []
    words = [*lot, *(doc[name] for name in ("solution", "reason", "remarks") if doc.get(name))]
    return "; ".join([*job, *amounts, *words]) or "nothing any more"
