"""Claims from JSON or CSV, and the verdict on them as one JSON object."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from typing import Any

from areakit.costing.claims import FIELDS
from areakit.costing.consistency import Comparison
from areakit.costing.verdict import Explanation, Floor, Verdict
from areakit.costing.words import gap_words
from areakit.errors import InputError
from areakit.foreign_text import json_from
from areakit.records.codec import picked, quantity_json
from areakit.uncertainty import Measured
from areakit.units import in_unit

SCHEMA = "areakit.check/1"
SHOWN = {"m2": "mm2", "kg": "mg", "C": "A.min", "m": "um", "C/m3": "A.h/in3"}
"""SI unit to the unit that JSON and people see; a unit not listed stays."""
_MOST_ROWS = 10_000
_HOW = f"Give JSON objects or a CSV table whose names are among: {', '.join(FIELDS)}."


def shown(quantity: Measured) -> Measured:
    """Return a compared quantity in the unit that JSON and people see."""
    if quantity.unit == "C/m3":
        return _factor(quantity)
    return in_unit(quantity, SHOWN[quantity.unit]) if quantity.unit in SHOWN else quantity


def _factor(quantity: Measured) -> Measured:
    """Return a plating factor, which is a charge per volume by another name, in A.h/in3."""
    from areakit.units import si_factor

    scale = 1.0 / si_factor("A.h/in3")
    budget = {name: share * scale for name, share in quantity.budget.items()}
    return Measured(value=quantity.value * scale, unit="A.h/in3", budget=budget)


def read_claim_rows(text: str) -> list[dict[str, str]]:
    """Return the rows of claims in a JSON object, a JSON list, JSON lines, or a CSV table with a header.

    InputError for text that is none of these.
    """
    plain = text.strip()
    if not plain:
        raise InputError("The file of claims is empty.", remedy=_HOW)
    rows = _json_rows(plain) if plain[0] in "[{" else _csv_rows(plain)
    if not rows or len(rows) > _MOST_ROWS:
        raise InputError(f"The file holds {len(rows)} claims; 1 to {_MOST_ROWS} are read.", remedy=_HOW)
    return rows


def _json_rows(text: str) -> list[dict[str, str]]:
    try:
        try:
            body = json_from(text)
        except ValueError:
            body = [json_from(line) for line in text.splitlines() if line.strip()]
    except ValueError:
        raise InputError("The claims are not valid JSON.", remedy=_HOW) from None
    if isinstance(body, dict) and isinstance(body.get("claims"), list):
        body = body["claims"]
    rows = body if isinstance(body, list) else [body]
    if not all(isinstance(row, dict) for row in rows):
        raise InputError("The claims are not JSON objects.", remedy=_HOW)
    return [{str(key): _plain_text(value) for key, value in row.items() if value is not None} for row in rows]


def _plain_text(value: Any) -> str:
    if isinstance(value, dict | list | bool):
        raise InputError("A claim is not one figure as text.", remedy='Write "area": "12.5 cm2".')
    return str(value)


def _csv_rows(text: str) -> list[dict[str, str]]:
    first = text.splitlines()[0]
    mark = max((";", "\t", ","), key=first.count)
    reader = csv.DictReader(io.StringIO(text), delimiter=mark, skipinitialspace=True)
    rows = []
    for row in _read_rows(reader):
        if None in row:
            raise InputError(f"Line {reader.line_num} of the table has too many cells.", remedy="Quote decimal commas.")
        rows.append({(name or "").strip(): cell for name, cell in row.items() if cell and cell.strip()})
    return rows


def _read_rows(reader: csv.DictReader[str]) -> Iterator[dict[str, str]]:
    try:
        yield from reader
    except csv.Error as error:
        raise InputError(f"Line {reader.line_num} is no row of a table: {error}.", remedy=_HOW) from None


def verdict_json(verdict: Verdict) -> dict[str, Any]:
    """Return a verdict; ``normalised_error`` is null where both sides are exact and differ."""
    return {
        "schema": SCHEMA,
        "name": verdict.claims.name,
        "agrees": verdict.agrees,
        "comparisons": [_comparison_json(one) for one in verdict.comparisons],
        "not_compared": gap_words(verdict),
        "disagreeing": list(verdict.failing),
        "explanations": [_explanation_json(one) for one in verdict.explanations],
        "unexplained": list(verdict.unexplained()),
        "chance_of_an_explanation": verdict.chance,
        "floor": _floor_json(verdict.floor),
    }


def _comparison_json(one: Comparison) -> dict[str, Any]:
    error = one.normalised_error
    return {
        **picked(one, "key", "title", "decides", "ratio", "agrees"),
        "faces": one.choice,
        "claimed": quantity_json(shown(one.claimed)),
        "expected": quantity_json(shown(one.expected)),
        "difference_percent": 100.0 * (one.ratio - 1.0),
        "normalised_error": error if math.isfinite(error) else None,
        "note": one.note or None,
    }


def _explanation_json(one: Explanation) -> dict[str, Any]:
    return {
        "slips": list(one.keys),
        "words": f"would explain it: {one.words}",
        **picked(one, "settles", "upsets", "normalised_error"),
    }


def _floor_json(floor: Floor | None) -> dict[str, Any] | None:
    if floor is None:
        return None
    return {
        "needed": quantity_json(shown(floor.needed)),
        "claimed": quantity_json(shown(floor.claimed)),
        "claimed_is": floor.source,
        "area": floor.area_words,
        "misses_the_requirement": floor.misses,
        "undecided": floor.undecided,
    }
