"""Rows of the tables that tell a plan: what, value, origin."""

from __future__ import annotations

from areakit.plating.premise import Origin, Premise
from areakit.records.codec import shown
from areakit.uncertainty import Measured
from areakit.units import show

Rows = list[tuple[str, str, str]]
HEADER = ("what", "value", "origin")
_PERCENT = ("efficiency", "fraction")


def number(quantity: Measured, unit: str | None = None) -> str:
    """Return a quantity in the unit people see."""
    return show(quantity, unit) if unit else show(shown(quantity))


def origin_words(origin: Origin) -> str:
    """Return an origin in words; a given number says just that."""
    return origin.text if origin.kind in ("given", "measured") else f"{origin.kind}: {origin.text}"


def premise_row(premise: Premise, label: str | None = None) -> tuple[str, str, str]:
    """Return a row for a premise."""
    unit = "%" if premise.name.endswith(_PERCENT) else None
    return label or premise.name, number(premise.quantity, unit), origin_words(premise.origin)
