"""What an entry of a bottle cannot say: metals and baths that nobody knows, and amounts that no bottle can have."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from areakit.errors import InputError, RangeError
from areakit.plating.metals import bath as find_bath
from areakit.plating.solutions import default_bath
from areakit.records.bottles import Bottle
from areakit.records.codec import quantity_from_json
from areakit.uncertainty import Measured, exact, propagate
from areakit.units import in_unit, show

# field: (word, unit to compare in, most of it, unit to tell it in)
_MOST = {
    "volume": ("volume", "m3", 10.0, "L"),
    "metal_content": ("metal content", "g/L", 1000.0, "g/L"),
    "allowed_charge": ("allowed charge", "C", 3.6e9, "A.h"),
    "usable_fraction": ("usable fraction", "1", 1.0, "%"),
    "charge": ("charge", "C", 3.6e9, "A.h"),
    "metal_mass": ("mass of metal", "kg", 10_000.0, "kg"),
}
"""A tank of ten cubic metres as solution, a kilogram of metal in a litre, a million ampere-hours: common practice, no
source. Of the metal no more than all can be used."""
_LEAST = 1e-12
"""In those units, such as a nanolitre or a nanogram. Common practice, no source."""


def check_entry(kind: str, doc: Mapping[str, Any]) -> None:
    """Raise InputError for an entry with an unknown metal or bath, or with an amount that no bottle can have.

    Raises
    ------
    InputError
        With the known metals or baths.
    RangeError
        For an amount that is not above zero, or beyond any bottle.
    """
    if kind == "filled":
        _check_names(doc["metal"], doc["bath"])
    for name, (word, unit, most, told) in _MOST.items():
        if doc.get(name) is not None:
            _check_amount(quantity_from_json(doc[name]), word, unit=unit, most=most, told=told)
    if doc.get("metal_mass") is not None and doc.get("volume") is not None and kind == "added":
        _check_strength(in_unit(quantity_from_json(doc["metal_mass"]), "kg"), quantity_from_json(doc["volume"]))


def _check_names(metal: str, bath: str) -> None:
    default_bath(metal)
    if bath and (found := find_bath(bath)).metal != metal:
        raise InputError(
            f"The bath {bath} deposits {found.metal}, not {metal}.", remedy="Choose another bath.", fields={"bath": ""}
        )


def _check_amount(amount: Measured, word: str, *, unit: str, most: float, told: str) -> None:
    value = in_unit(amount, unit).value
    if not value > _LEAST:
        why = "too little for any balance or meter" if value > 0.0 else "not above zero"
        raise RangeError(f"A {word} of {show(amount, told)} is {why}.", remedy="Check the figure, or leave it out.")
    if value > most * (1.0 + 1e-9):
        limit = show(exact(most, unit), told)
        raise RangeError(
            f"A {word} of {show(amount, told)} is beyond {limit}, the most of any bottle.",
            remedy="Check the figure and its unit.",
        )


def _check_strength(mass: Measured, volume: Measured) -> None:
    _, unit, most, _ = _MOST["metal_content"]
    content = mass.value / in_unit(volume, "m3").value
    if content > most * (1.0 + 1e-9):
        raise RangeError(
            f"{show(mass, 'g')} of metal in {show(volume, 'mL')} are {content:.6g} {unit}: too much for a solution.",
            remedy="Check both figures and their units.",
        )


def check_left(before: Callable[[], Bottle], after: Bottle) -> None:
    """Raise RangeError where an entry takes more solution or metal than is there, beyond the uncertainty of both.

    An account that went below zero before, by runs of jobs, may still be brought up, not down. How it stood ``before``
    is only asked where it is below zero now.
    """
    if all(one is None or one.value + one.expanded_uncertainty >= 0.0 for one in (after.volume, after.metal)):
        return
    earlier = before()
    for what, unit, then, now in (
        ("solution", "mL", earlier.volume, after.volume),
        ("metal", "mg", earlier.metal, after.metal),
    ):
        if now is None or now.value + now.expanded_uncertainty >= -1e-9 * (abs(then.value) if then else 0.0):
            continue
        if then is not None and now.value >= then.value:
            continue
        there = "nothing is left" if then is None or then.value <= 0.0 else f"{show(then, unit)} are in it"
        short = show(propagate(lambda q: -q, now, unit=now.unit), unit)
        raise RangeError(
            f"That is {short} of {what} more than bottle {after.label} holds: {there}.",
            remedy="Check the figure and its unit, or correct what went into the bottle.",
            fields={"areakit bottle show": ""},
        )
