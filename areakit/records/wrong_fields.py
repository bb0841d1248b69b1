"""What is wrong with the fields of a document or a request, in plain words: pydantic finds it, and has its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from areakit.plural import counted

MOST_TOLD = 5
_KINDS = {
    "string": "text",
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "list": "a list",
    "tuple": "a list",
    "dict": "an object",
    "model": "an object",
    "model_attributes": "an object",
    "date": "a date",
}
_ASKED: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "missing": lambda c: "is missing",
    "extra_forbidden": lambda c: "is not known",
    "greater_than": lambda c: f"must be above {c['gt']:g}",
    "greater_than_equal": lambda c: f"must be at least {c['ge']:g}",
    "less_than": lambda c: f"must be below {c['lt']:g}",
    "less_than_equal": lambda c: f"must be at most {c['le']:g}",
    "finite_number": lambda c: "must be a number that ends",
    "int_from_float": lambda c: "must be a whole number",
    "string_too_short": lambda c: f"must have at least {counted(c['min_length'], 'letter')}",
    "string_too_long": lambda c: f"must have at most {counted(c['max_length'], 'letter')}",
    "too_short": lambda c: f"must have at least {counted(c['min_length'], 'item')}",
    "too_long": lambda c: f"must have at most {counted(c['max_length'], 'item')}",
    "literal_error": lambda c: f"must be {c['expected']}",
    "json_invalid": lambda c: "is not JSON",
    "json_type": lambda c: "is not JSON",
}
_PATTERNS = {
    r"^\d{4}-\d\d-\d\d$": "must be a date such as 2026-03-14",
    r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)$": "must be a time such as 2026-03-14T09:30:00+01:00",
    r"^[0-9a-f]{64}$": "must be a SHA-256 hash in 64 letters",
}


def wrong_fields(error: ValidationError, *, whole: str) -> list[str]:
    """Return one phrase for each wrong field, such as ``expiry must be a date such as 2026-03-14``.

    Of a field that may be one of several kinds one phrase names them all.

    Parameters
    ----------
    error : ValidationError
    whole : str
        What stands for the name of a field where the whole is wrong.
    """
    told: dict[str, list[str]] = {}
    for one in error.errors(include_url=False, include_input=False):
        told.setdefault(_place(one["loc"]) or whole, []).append(_plain(one["type"], one.get("ctx", {}), one["msg"]))
    return [f"{name} {_joined(words)}" for name, words in told.items()]


def _place(place: Sequence[int | str]) -> str:
    """Return the name of a field; which of several kinds it was tried as, pydantic's last step, is left out."""
    steps = [str(one) for one in place if isinstance(one, int) or not _is_kind(one)]
    return ".".join(steps)[:120]


def _is_kind(step: str) -> bool:
    return step in {"str", "int", "float", "bool"} or step.startswith(("dict[", "list[", "tuple[", "function-"))


def _plain(kind: str, about: Mapping[str, Any], message: str) -> str:
    if kind == "value_error":  # words of areakit itself
        words = getattr(about.get("error"), "message", message.removeprefix("Value error, ")).rstrip(".")
        return f"cannot be taken, for {words[:1].lower()}{words[1:]}"
    if kind == "string_pattern_mismatch":
        return _PATTERNS.get(str(about["pattern"]), "does not have the right form")
    if kind in _ASKED:
        return _ASKED[kind](about)
    named = _KINDS.get(kind.rpartition("_")[0])
    return f"must be {named}" if named else "cannot be taken as it is"


def _joined(words: Sequence[str]) -> str:
    kept = list(dict.fromkeys(words))
    if all(one.startswith("must be ") for one in kept):
        return f"must be {' or '.join(one.removeprefix('must be ') for one in kept)}"
    return " or ".join(kept)
