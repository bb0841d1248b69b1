"""Reading ``--set field=value`` of a correction."""

from __future__ import annotations

import json
from typing import Any

from areakit.errors import InputError


def read_fields(texts: tuple[str, ...]) -> dict[str, Any]:
    """Return the fields of a correction: JSON as it is, a quantity such as ``8 V`` in SI, anything else as text.

    Raises
    ------
    InputError
        For a text without an equals sign, or a field given twice.
    """
    found: dict[str, Any] = {}
    for text in texts:
        name, equals, value = text.partition("=")
        name = name.strip()
        if not equals or not name or name in found:
            raise InputError(f"{text[:40]!r} is not one field and its value.", remedy="Write --set field=value, once.")
        found[name] = _value(name, value.strip())
    return found


# Fields that hold a quantity, and its dimension.
_QUANTITIES = {
    "voltage": "voltage",
    "target": "charge",
    "charge": "charge",
    "allowed_charge": "charge",
    "mass": "mass",
    "metal_mass": "mass",
    "minimum": "length",
    "value": "length",
    "volume": "volume",
    "metal_content": "concentration",
    "efficiency": "ratio",
    "usable_fraction": "ratio",
}


def _value(name: str, text: str) -> Any:
    from areakit.service.desk import quantity

    if name in _QUANTITIES and text not in ("", "null") and not text.startswith("{"):
        return quantity(text, _QUANTITIES[name], f"{name} as corrected")
    try:
        return json.loads(text)
    except ValueError:
        return text
