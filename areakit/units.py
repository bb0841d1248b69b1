"""Text to float to text, and nothing else; the only module that knows pint.

User text never reaches pint: one plain number and one unit of the table below, or a refusal that shows how to write it.
Inside areakit a figure is a float; a name without a unit suffix is SI.
"""

from __future__ import annotations

import math
import re
from functools import cache
from typing import TYPE_CHECKING, Any

from areakit.errors import RangeError, UnitError
from areakit.uncertainty import Measured

if TYPE_CHECKING:
    import pint

    Quantity = pint.Quantity[Any]

# unit code: (dimension, pint expression, spellings accepted besides the code itself)
_UNITS: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "m": ("length", "meter", ("metre", "metres", "meter", "meters")),
    "dm": ("length", "decimeter", ()),
    "cm": ("length", "centimeter", ()),
    "mm": ("length", "millimeter", ("millimetre", "millimetres", "millimeter", "millimeters")),
    "um": ("length", "micrometer", ("micron", "microns")),
    "nm": ("length", "nanometer", ()),
    "in": ("length", "inch", ("inch", "inches")),
    "ft": ("length", "foot", ("feet", "foot")),
    "mil": ("length", "0.001 * inch", ("mils", "thou")),
    "uin": (
        "length",
        "1e-6 * inch",
        ("microinch", "microinches", "micro-inch", "millionths", "millionth", "millionths of an inch"),
    ),
    "m2": ("area", "meter ** 2", ("sq m", "sqm")),
    "dm2": ("area", "decimeter ** 2", ("sq dm", "sqdm")),
    "cm2": ("area", "centimeter ** 2", ("sq cm", "sqcm")),
    "mm2": ("area", "millimeter ** 2", ("sq mm", "sqmm")),
    "in2": ("area", "inch ** 2", ("sq in", "sqin")),
    "ft2": ("area", "foot ** 2", ("sq ft", "sqft")),
    "L": ("volume", "liter", ("l", "litre", "litres", "liter", "liters")),
    "mL": ("volume", "milliliter", ("ml",)),
    "cm3": ("volume", "centimeter ** 3", ()),
    "mm3": ("volume", "millimeter ** 3", ()),
    "gal": ("volume", "gallon", ("us gal",)),
    "kg": ("mass", "kilogram", ()),
    "g": ("mass", "gram", ("gram", "grams")),
    "mg": ("mass", "milligram", ()),
    "ozt": ("mass", "troy_ounce", ("oz t", "troy oz", "troy ounce", "troy ounces")),
    "dwt": ("mass", "pennyweight", ("pennyweight", "pennyweights")),
    "oz av": ("mass", "ounce", ("avoirdupois oz", "avoirdupois ounce")),
    "s": ("time", "second", ("sec", "seconds")),
    "min": ("time", "minute", ("minute", "minutes")),
    "h": ("time", "hour", ("hr", "hour", "hours")),
    "C": ("charge", "coulomb", ()),
    "A.s": ("charge", "ampere * second", ()),
    "A.min": ("charge", "ampere * minute", ("amin", "amp min", "amp-min", "a-min", "amp minutes", "ampere minutes")),
    "A.h": ("charge", "ampere * hour", ("ah", "amp h", "amp-h", "a-h", "amp hours", "amp-hours", "ampere hours")),
    "mA.h": ("charge", "milliampere * hour", ("mah", "milliampere hours")),
    "A": ("current", "ampere", ("amp", "amps", "ampere", "amperes")),
    "mA": ("current", "milliampere", ()),
    "V": ("voltage", "volt", ("volt", "volts")),
    "mV": ("voltage", "millivolt", ()),
    "S/m": ("conductivity", "siemens / meter", ()),
    "S/cm": ("conductivity", "siemens / centimeter", ()),
    "mS/cm": ("conductivity", "millisiemens / centimeter", ()),
    "A/m2": ("current density", "ampere / meter ** 2", ()),
    "A/dm2": ("current density", "ampere / decimeter ** 2", ("asd", "A/sqdm", "A/sq dm")),
    "A/cm2": ("current density", "ampere / centimeter ** 2", ()),
    "mA/cm2": ("current density", "milliampere / centimeter ** 2", ()),
    "A/in2": ("current density", "ampere / inch ** 2", ("A/sqin", "A/sq in")),
    "A/ft2": ("current density", "ampere / foot ** 2", ("asf", "A/sqft", "A/sq ft", "amps/sqft", "amps/sq ft")),
    "kg/m3": ("density", "kilogram / meter ** 3", ()),
    "g/cm3": ("density", "gram / centimeter ** 3", ()),
    "g/L": ("concentration", "gram / liter", ("g/l",)),
    "g/100mL": ("concentration", "gram / (100 * milliliter)", ("g/100 mL", "g/100 ml", "g/100ml")),
    "ozt/gal": ("concentration", "troy_ounce / gallon", ()),
    "kg/mol": ("molar mass", "kilogram / mole", ()),
    "g/mol": ("molar mass", "gram / mole", ()),
    "m/s": ("speed", "meter / second", ()),
    "mm/s": ("speed", "millimeter / second", ()),
    "m/min": ("speed", "meter / minute", ()),
    "ft/min": ("speed", "foot / minute", ()),
    "A.h/L": ("charge per volume", "ampere * hour / liter", ("ah/l",)),
    "C/m3": ("charge per volume", "coulomb / meter ** 3", ()),
    "A.h/in3": ("plating factor", "ampere * hour / inch ** 3", ("ah/in3", "ah per in3")),
    "A.h/in2/0.0001in": ("plating factor", "ampere * hour / inch ** 2 / (1e-4 * inch)", ("A.h/in2/0.1mil",)),
    "A.min/dm2/um": ("plating factor", "ampere * minute / decimeter ** 2 / micrometer", ("A.min/(dm2.um)",)),
    "kg/C": ("electrochemical equivalent", "kilogram / coulomb", ()),
    "g/A.h": ("electrochemical equivalent", "gram / (ampere * hour)", ("g/ah",)),
    "m3": ("volume", "meter ** 3", ()),
    "m3/m2": ("volume per area", "meter", ()),
    "mL/m2": ("volume per area", "milliliter / meter ** 2", ("ml/m2",)),
    "mL/cm2": ("volume per area", "milliliter / centimeter ** 2", ("ml/cm2",)),
    "1/min": ("rate", "1 / minute", ()),
    "deg": ("angle", "degree", ("°", "degree", "degrees")),
    "1": ("ratio", "dimensionless", ()),
    "%": ("ratio", "0.01 * dimensionless", ("percent", "per cent")),
}

_SI = {
    "meter": 1.0, "decimeter": 1e-1, "centimeter": 1e-2, "millimeter": 1e-3, "micrometer": 1e-6, "nanometer": 1e-9,
    "inch": 0.0254, "foot": 12 * 0.0254, "liter": 1e-3, "milliliter": 1e-6, "gallon": 231 * 0.0254**3,
    "kilogram": 1.0, "gram": 1e-3, "milligram": 1e-6, "ounce": 0.45359237 / 16,
    "troy_ounce": 480 * 0.45359237 / 7000, "pennyweight": 24 * 0.45359237 / 7000,
    "second": 1.0, "minute": 60.0, "hour": 3600.0, "mole": 1.0, "degree": math.pi / 180, "dimensionless": 1.0,
    "coulomb": 1.0, "ampere": 1.0, "milliampere": 1e-3, "volt": 1.0, "millivolt": 1e-3,
    "siemens": 1.0, "millisiemens": 1e-3,
}  # fmt: skip
"""What the names in the expressions are in SI units, by their definitions (NIST SP 811, appendix B): the inch, the
pound of 7000 grains and the gallon of 231 cubic inches are exact. So only a quantity of pint's own needs pint."""

_HOW_TO = {
    "length": "1.2 mm, 0.5 um, 20 uin or 1/16 in",
    "area": "12.5 cm2 or 2 in2",
    "charge": "3 A.min",
    "mass": "2.5 g (troy ounces as 1 ozt, avoirdupois as 1 oz av)",
    "time": "90 s or 2 min",
    "current density": "10 A/dm2",
    "ratio": "72 %",
    "number": "1.25",
    "angle": "3 deg",
}

BARE = {"number": "1", "angle": "deg"}
"""The only kinds of which a figure may stand without a unit, and what it then means. A length without one could be mm
or inches, a share of 2 could be 2 % or twice as much: these are refused everywhere."""
_LIKE = {"number": "ratio"}
"""Kind to the dimension whose units it takes."""
_NO_SHARE = {"ratio", "number", "angle"}
_PERCENT = {"%", "percent", "per cent"}
_PRETTY = {"2": "²", "3": "³"}
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?")
_FRACTION = re.compile(r"(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)")
_SPLIT = re.compile(rf"\s*({_FRACTION.pattern}|{_NUMBER.pattern})\s*(.*?)\s*$", re.DOTALL)


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the one registry of pint, built on first use: it costs a third of a second."""
    import pint

    return pint.UnitRegistry()


@cache
def si_factor(code: str) -> float:
    """Return what one unit ``code`` is in SI units (mass in kg), without pint; KeyError for an unknown code."""
    return float(eval(_UNITS[code][1], {"__builtins__": {}}, _SI))  # an expression of the table, never a user's text


def _one(code: str) -> Quantity:
    """Return one unit of a code as a pint quantity."""
    quantity: Quantity = 1.0 * registry().parse_expression(_UNITS[code][1])
    return quantity


def dimension(code: str) -> str:
    """Return the dimension of a unit code, such as ``length``."""
    return _UNITS[code][0]


def convert(value: float, unit: str, to: str) -> float:
    """Return ``value`` in another unit of the same dimension."""
    if unit == to:
        return value
    if _UNITS[unit][0] != _UNITS[to][0]:
        raise UnitError(
            f"{unit} is a unit of {_UNITS[unit][0]}, {to} of {_UNITS[to][0]}.",
            remedy="Ask for a unit of the same kind.",
        )
    return value * (si_factor(unit) / si_factor(to))


def in_unit(quantity: Measured, to: str) -> Measured:
    """Return the same quantity in another unit, budget and all."""
    factor = convert(1.0, quantity.unit, to)
    return Measured(
        value=quantity.value * factor,
        unit=to,
        budget={name: share * factor for name, share in quantity.budget.items()},
        coverage_factor=quantity.coverage_factor,
    )


def as_quantity(quantity: Measured) -> Quantity:
    """Return the value as a pint quantity, without its uncertainty."""
    return in_quantity(quantity.value, quantity.unit)


def in_quantity(value: float, code: str) -> Quantity:
    """Return so many units of a code as a pint quantity."""
    scaled: Quantity = value * _one(code)
    return scaled


def from_quantity(quantity: Quantity, kind: str) -> tuple[float, str]:
    """Return number and unit code of a pint quantity of any registry, unchanged where its unit has a code.

    Raises UnitError if it is not one number, or not of the dimension ``kind``.
    """
    import pint

    codes = [code for code, row in _UNITS.items() if row[0] == kind]
    try:
        number = float(quantity.magnitude)
        unit = registry().Unit(format(quantity.units, "D"))
        for code in codes:
            one = _one(code)
            if one.magnitude == 1.0 and one.units == unit:
                return number, code
        return float(registry().Quantity(number, unit).m_as(_one(codes[0]).units)), codes[0]
    except (pint.PintError, TypeError, ValueError, AttributeError):
        raise UnitError(f"{str(quantity)[:40]!r} is not one {kind}.", remedy=_advice(kind)) from None


def parse(text: str, kind: str) -> float:
    """Return the SI value of one plain number and one unit.

    - ``text``: as written at the bench: ``1.2 mm``, ``0,5 µm``, ``20 uin``, ``3 A·min``, ``1/16 in``.
    - ``kind``: what is wanted: a dimension, such as ``length``, or ``number`` for a ratio that is no share. A unit may
      be left out for the kinds of `BARE` only.

    Raises UnitError for anything that could be read in two ways, with how to write it.
    """
    number, unit = _split(text, kind)
    if not unit and kind in BARE:
        return number * si_factor(BARE[kind])
    return number * si_factor(_code_of(unit, kind, text))


def unit_written(text: str, kind: str) -> str | None:
    """Return the code of the unit in which a figure was written; None where there is none, or none of its kind."""
    for piece in reversed(re.split(r"±|\+/-|\+-", text)):
        match = _SPLIT.match(piece)
        unit = _fold(match.group(match.lastindex or 1)) if match else ""
        code = _spellings().get(unit) or _spellings().get(unit.lower())
        if code is not None and _UNITS[code][0] == kind:
            return code
    return None


def parse_with_tolerance(text: str, kind: str) -> tuple[float, float | None]:
    """Return SI value and SI tolerance of ``1.2 ± 0.05 mm`` or ``1.2 mm ± 4 %``; None for a tolerance not written.

    A tolerance in percent is a share of the value, but for ratios, where it is in points: 72 % ± 6 % is 66 to 78 %.

    Raises UnitError for anything that is not one number, one tolerance and one unit; RangeError if the tolerance is
    larger than a figure above zero.
    """
    pieces = re.split(r"±|\+/-|\+-", text)
    if len(pieces) == 1:
        return parse(text, kind), None
    if len(pieces) > 2:
        raise _refusal(text, kind)
    first, second = pieces
    _, unit = _split(second, kind)
    share = kind not in _NO_SHARE and unit in _PERCENT
    if not _split(first, kind)[1] and unit and not share:
        first = f"{first.strip()} {unit}"
    value = parse(first, kind)
    tolerance = value * parse(second, "ratio") if share else parse(second, kind)
    if tolerance < 0:
        raise UnitError(f"The tolerance in {text!r} is negative.", remedy="Write it as 1.2 ± 0.05 mm.")
    check_tolerance(value, tolerance, text=text, kind=kind)
    return value, tolerance


def check_tolerance(value: float, tolerance: float, *, text: str, kind: str) -> None:
    """Raise RangeError where a figure above zero may be below it: nothing can be worked out from it. Angles may."""
    if kind != "angle" and tolerance > value > 0.0:
        raise RangeError(
            f"{text.strip()!r} may be less than nothing: its ± is {tolerance / value:.3g} times the figure itself.",
            remedy="Measure it more closely, and write a ± that is smaller than the figure.",
        )


def _split(text: str, kind: str) -> tuple[float, str]:
    if len(text) > 60:
        raise UnitError(f"{text[:20]!r}... is too long for a number and a unit.", remedy=_advice(kind))
    match = _SPLIT.match(text)
    if not match:
        raise _refusal(text, kind)
    number, unit = match.group(1), match.group(match.lastindex or 1)
    if re.match(r"[\d/.,]", unit):
        raise _refusal(text, kind)
    return _number(number, text, kind), unit


def _number(number: str, text: str, kind: str) -> float:
    fraction = _FRACTION.fullmatch(number)
    if fraction:
        whole, over, under = fraction.groups()
        if int(under) == 0:
            raise _refusal(text, kind)
        return int(whole or 0) + int(over) / int(under)
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", number):
        plain = number.replace(",", "")
        decimal = number.replace(",", ".")
        raise UnitError(f"{number} can be read as {plain} or as {decimal}.", remedy="Write it without the comma.")
    value = float(number.replace(",", "."))
    if not math.isfinite(value):
        raise _refusal(text, kind)
    return value


def _code_of(unit: str, kind: str, text: str) -> str:
    codes = _spellings()
    folded = _fold(unit)
    code = codes.get(folded) or codes.get(folded.lower())
    if not unit:
        raise UnitError(f"{text.strip()} has no unit.", remedy=_advice(kind))
    if folded.lower() in {"oz", "ounce", "ounces"}:
        raise UnitError(f"{text.strip()!r}: ounces can be troy or avoirdupois.", remedy="Write ozt for troy, or oz av.")
    if code is None or _UNITS[code][0] != _LIKE.get(kind, kind):
        raise UnitError(f"{unit[:20]!r} is not a unit of {kind}.", remedy=_advice(kind))
    return code


@cache
def _spellings() -> dict[str, str]:
    table: dict[str, str] = {}
    for code, (_, _, others) in _UNITS.items():
        for spelling in (code, *others):
            table[_fold(spelling)] = code
    return table


def spellings(kind: str) -> dict[str, float]:
    """Return every folded spelling of the units of a dimension, each with its SI factor: what a page parses with."""
    return {folded: si_factor(code) for folded, code in _spellings().items() if _UNITS[code][0] == kind}


def _fold(unit: str) -> str:
    """Bring the ways of writing one unit together: µ and u, ² and ^2 and 2, dots and blanks."""
    folded = unit.strip().replace("µ", "u").replace("μ", "u").replace("²", "2").replace("³", "3")
    folded = folded.replace("^", "").replace("**", "").replace("·", ".").replace("⋅", ".").replace("*", ".")
    folded = re.sub(r"\s*([./-])\s*", r"\1", folded)
    folded = re.sub(r"(?<=A)\s+(?=min|h\b)", ".", folded)
    return re.sub(r"\s+", " ", folded)


def _advice(kind: str) -> str:
    return f"Write it as {_HOW_TO.get(kind, 'one number and one unit')}."


def _refusal(text: str, kind: str) -> UnitError:
    return UnitError(f"{text.strip()[:40]!r} is not one plain number and one unit.", remedy=_advice(kind))


def pretty_unit(code: str) -> str:
    """Return the unit as people read it: ``mm²``, ``µm``, ``A·min``."""
    pretty = re.sub(r"(?<=[a-z])[23]", lambda m: _PRETTY[m.group()], code)
    pretty = re.sub(r"\bu(?=m\b|in\b)", "µ", pretty)
    return "" if code == "1" else pretty.replace(".", "·") if code != "A.h/in2/0.0001in" else code


def three_digits(value: float) -> str:
    """Return a positive number to three digits, without an exponent."""
    return f"{value:.3g}" if value < 1000.0 else f"{float(f'{value:.3g}'):.0f}"


def show_found(quantity: Measured) -> str:
    """Return a quantity as :func:`show` does, one without uncertainty to three digits: it was found on the way."""
    if quantity.standard_uncertainty > 0.0:
        return show(quantity)
    return f"{three_digits(quantity.value)} {pretty_unit(quantity.unit)}".strip()


def show(quantity: Measured, to: str | None = None) -> str:
    """Return ``value ± expanded uncertainty unit``, rounded to two digits of the uncertainty (JCGM 100, 7.2.6)."""
    shown = in_unit(quantity, to) if to else quantity
    unit = pretty_unit(shown.unit)
    spread = shown.expanded_uncertainty
    if spread == 0.0:
        return f"{shown.value:.6g} {unit}".strip()
    decimals = 1 - math.floor(math.log10(spread))
    if decimals > 9:
        return f"({shown.value:.4g} ± {spread:.2g}) {unit}".strip()
    if decimals < 0:
        return f"{round(shown.value, decimals):.0f} ± {round(spread, decimals):.0f} {unit}".strip()
    return f"{shown.value:.{decimals}f} ± {spread:.{decimals}f} {unit}".strip()
