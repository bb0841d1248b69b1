"""Quantities as a wet glove needs them: the unit that fits, and no digit that the uncertainty wipes out."""

from __future__ import annotations

import math

from areakit.uncertainty import Measured, exact
from areakit.units import in_unit, pretty_unit, show

# SI unit: units from the largest, each from this value on; the last holds for everything below.
_SCALES: dict[str, tuple[tuple[str, float], ...]] = {
    "s": (("h", 10_800.0), ("min", 60.0), ("s", 0.0)),
    "A": (("A", 0.1), ("mA", 0.0)),
    "kg": (("g", 1e-3), ("mg", 0.0)),
    "m3": (("L", 1e-3), ("mL", 0.0)),
    "m": (("um", 0.0),),
    "C": (("A.min", 0.0),),
    "mm2": (("cm2", 0.0),),
    "V": (("V", 0.0),),
    "1": (("1", 0.0),),
}
_EXACT_DIGITS = 3


def bench_unit(value: float, unit: str) -> str:
    """Return the unit in which a value in SI is read at the bench: seconds below a minute, grams from one gram on."""
    return next(code for code, start in _SCALES[unit] if abs(value) >= start)


def setting(quantity: Measured, *, digits: int | None = None, like: Measured | None = None) -> str:
    """Return what to set or read, without its ±, to the first digit that its uncertainty moves.

    One without an uncertainty has ``digits`` digits, or three at most. ``like`` is what it stands beside, whose unit it
    takes.
    """
    shown = in_unit(quantity, bench_unit((like or quantity).value, quantity.unit))
    return f"{rounded(shown.value, shown.expanded_uncertainty, digits=digits)} {pretty_unit(shown.unit)}".strip()


def exact_setting(value: float, unit: str) -> str:
    """Return a setting that has no uncertainty of its own."""
    return setting(exact(value, unit))


def with_spread(quantity: Measured) -> str:
    """Return a quantity with its ±, in the unit that fits."""
    return show(in_unit(quantity, bench_unit(quantity.value, quantity.unit)))


def rounded(value: float, uncertainty: float, *, digits: int | None = None) -> str:
    """Return a number down to the first digit of its expanded uncertainty.

    One that has none has ``digits`` digits, or else three at most, without zeros at the end. At least two digits of the
    number stay, and never more than four.
    """
    if value == 0.0:
        return "0"
    size = math.floor(math.log10(abs(value)))
    last = math.floor(math.log10(uncertainty)) if uncertainty > 0.0 else size - (digits or _EXACT_DIGITS) + 1
    decimals = -min(max(last, size - _EXACT_DIGITS), size - 1)
    text = f"{round(value, decimals):.{max(decimals, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text and uncertainty == 0.0 and digits is None else text


def span(low: Measured, high: Measured) -> str:
    """Return a range of two exact ends: ``8 to 12 V``."""
    if low.value == high.value:
        return exact_setting(low.value, low.unit)
    return f"{rounded(low.value, 0.0)} to {exact_setting(high.value, high.unit)}"
