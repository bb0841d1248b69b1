"""Rates as a form: what each field is called and asks for, and the file of what was typed, both ways."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from areakit.costing.rates import rate_entries, rates_body
from areakit.errors import InputError

_SECTIONS = ("solutions", "breaks")
"""Tables beside the entries: an amount a litre for a metal, a share of the labour from a number of pieces on."""
_KEY = re.compile(r"[A-Za-z0-9_-]{1,40}")


def rates_form() -> list[dict[str, str]]:
    """Return every field: its path, its kind, what a new file holds, an example, what it is."""
    return [
        {
            "path": f"{entry.section}.{entry.key}" if entry.section else entry.key,
            "kind": entry.kind,
            "start": entry.start,
            "example": entry.example,
            "question": entry.comment,
        }
        for entry in rate_entries()
    ]


def rates_values(text: str) -> dict[str, str]:
    """Return the values of a settings file by their paths; metal prices stay out, they have their own fields.

    Raises InputError if the text is not TOML.
    """
    found: dict[str, str] = {}
    for key, value in rates_body(text).items():
        if not isinstance(value, dict):
            found[key] = str(value)
        elif key != "metals":
            found.update({f"{key}.{inner}": str(one) for inner, one in value.items() if not isinstance(one, dict)})
    return found


def rates_file(values: Mapping[str, str]) -> str:
    """Return the settings file of such values.

    Raises InputError for a path that is none.
    """
    known = {row["path"] for row in rates_form()}
    sections: dict[str, dict[str, str]] = {"": {}}
    for path, value in values.items():
        section, _, key = path.rpartition(".")
        if path not in known and not (section in _SECTIONS and _KEY.fullmatch(key)):
            raise InputError(f"There is no rate {path[:60]!r}.", remedy="Use the paths of the form.")
        if str(value).strip():
            sections.setdefault(section, {})[key] = str(value).strip()
    return "\n".join(_lines(sections)) + "\n"


def _lines(sections: Mapping[str, Mapping[str, Any]]) -> list[str]:
    lines = []
    for section, rows in sections.items():
        lines += [f"[{section}]"] if section else []
        lines += [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in rows.items()]
    return lines
