"""JSON and TOML that come from outside, read within bounds: how long, how deep, how many dots in a key."""

from __future__ import annotations

import json
import re
import tomllib
from typing import Any

LONGEST_TOML = 1_000_000
DEEPEST = 60


def json_from(text: str) -> Any:
    """Return what a JSON text holds.

    Raises ValueError for text that is not JSON, or is nested too deep.
    """
    try:
        return json.loads(text)
    except RecursionError:
        raise ValueError("it is nested too deep") from None


def toml_from(text: str) -> dict[str, Any]:
    """Return what a TOML text holds.

    Raises ValueError for text that is not TOML, or that would take the parser long: it recurses, and copies dotted
    keys.
    """
    if len(text) > LONGEST_TOML:
        raise ValueError(f"it has {len(text) / 1e6:.0f} million letters; the limit is {LONGEST_TOML / 1e6:.0f} million")
    if max(_depth(text), _dots(text)) > DEEPEST:
        raise ValueError(f"it is nested more than {DEEPEST} deep")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError("it is nested too deep") from None


def _depth(text: str) -> int:
    """Return how many brackets are open at most; brackets within quoted text count too, on the safe side."""
    deepest = depth = 0
    for sign in re.findall(r"[\[\]{}]", text):
        depth = depth + 1 if sign in "[{" else max(depth - 1, 0)
        deepest = max(deepest, depth)
    return deepest


def _dots(text: str) -> int:
    """Return how many dots the longest key has at most; dots within quoted text count too, on the safe side."""
    lines = (line for line in text.splitlines() if not line.lstrip().startswith("#"))
    return max((piece.count(".") for line in lines for piece in re.split(r"[=\[\]{},]", line)), default=0)
