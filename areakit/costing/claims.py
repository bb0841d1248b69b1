"""What somebody says about a job: any subset of figures, each with the uncertainty that was stated or printed."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from areakit.costing.measured_part import Choice, read_choice
from areakit.costing.prices import price_unit, read_money, read_price
from areakit.errors import InputError, RangeError
from areakit.plating.deposit import table_density
from areakit.plating.efficiency import half_digit
from areakit.plating.metals import Bath, all_baths, bath, figure
from areakit.plating.solutions import default_bath, read_factor
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import parse, parse_with_tolerance, unit_written

KINDS = {
    "area": ("area", "m2"),
    "thickness": ("length", "m"),
    "required": ("length", "m"),
    "mass": ("mass", "kg"),
    "charge": ("charge", "C"),
    "current": ("current", "A"),
    "time": ("time", "s"),
    "current_density": ("current density", "A/m2"),
    "footprint": ("area", "m2"),
    "efficiency": ("ratio", "1"),
    "allowance": ("number", "1"),
    "density": ("density", "kg/m3"),
}
OTHERS = ("name", "metal", "bath", "faces", "thickness_is", "factor", "pieces", "per", "price", "metal_line")
FIELDS = (*OTHERS, *KINDS, "uncertainty")
SMALLEST, LARGEST = 1e-15, 1e15
"""Limits of any claimed figure in SI; beyond them sums and ratios lose their sense."""
_PLUS_MINUS = re.compile(r"±|\+/-|\+-")


@dataclass(frozen=True, slots=True, kw_only=True)
class Claims:
    """One set of claimed figures, in SI; None where nothing was claimed.

    ``units`` are the unit codes in which figures were written, where they were written.
    ``current_density`` is on the ``footprint`` of a brush, or on the whole area in a tank.
    ``area`` and ``thickness`` are of one piece; ``mass``, ``charge``, ``time`` and ``metal_line`` are of one piece or
    of the lot, as ``per`` says. ``density``, ``electrons`` and ``molar_mass`` come with the metal. ``allowance`` is the
    mean over the minimum thickness. ``required`` is the minimum thickness that was asked for.
    """

    name: str = "claim"
    metal: str | None = None
    bath: Bath | None = None
    area: Measured | None = None
    faces: Choice | None = None
    thickness: Measured | None = None
    thickness_is: Literal["minimum", "mean"] | None = None
    required: Measured | None = None
    mass: Measured | None = None
    charge: Measured | None = None
    current: Measured | None = None
    time: Measured | None = None
    current_density: Measured | None = None
    footprint: Measured | None = None
    factor: Measured | None = None
    efficiency: Measured | None = None
    allowance: Measured | None = None
    density: Measured | None = None
    electrons: float | None = None
    molar_mass: float | None = None
    price: Measured | None = None
    metal_line: Measured | None = None
    currency: str | None = None
    pieces: int = 1
    per: Literal["piece", "lot"] = "piece"
    units: Mapping[str, str] = field(default_factory=dict)

    @property
    def lot(self) -> int:
        """How many pieces the mass, charge, time and metal line stand for."""
        return self.pieces if self.per == "lot" else 1


def read_claims(entries: Mapping[str, str]) -> Claims:
    """Return the claims written in a mapping of :data:`FIELDS` to text.

    A figure may carry its expanded uncertainty behind ± (in its unit or in %); ``uncertainty`` holds for all that have
    none. Where neither is given, half a unit of the last printed digit is taken as the limit of a rectangular
    distribution.

    Raises InputError for an unknown field, or a figure that cannot be read; RangeError for a figure of zero or less.
    Source: [gum] 4.3.7, rectangular distribution.
    """
    given = {name: text.strip() for name, text in entries.items() if text is not None and text.strip()}
    strange = sorted(set(given) - set(FIELDS))
    if strange:
        raise InputError(f"There is no claim called {strange[0][:30]!r}.", remedy=f"Known: {', '.join(FIELDS)}.")
    overall = parse(given["uncertainty"], "ratio") if "uncertainty" in given else None
    read = {name: read_figure(given[name], name, overall) for name in KINDS if name in given}
    found = {**read, **_metal(given, read), **_plain(given), **_factor(given, overall), **_money(given)}
    return Claims(**found, units=_units(given))


def _units(given: Mapping[str, str]) -> dict[str, str]:
    """Return the code of the unit in which each figure was written, where it was."""
    texts = [(name, given.get(name, ""), kind) for name, (kind, _) in KINDS.items()]
    texts.append(("factor", given.get("factor", ""), "plating factor"))
    texts.append(("price", f"1 {price_unit(given.get('price', ''))}", "mass"))
    return {name: code for name, text, kind in texts if (code := unit_written(text, kind))}


def read_figure(text: str, name: str, overall: float | None = None) -> Measured:
    """Return one claimed figure in SI with the share ``<name> as claimed``."""
    kind, unit = KINDS[name]
    value, tolerance = parse_with_tolerance(text, kind)
    if tolerance is not None:
        standard = tolerance / COVERAGE_FACTOR
    elif name == "required":
        standard = 0.0  # a demand, not a measurement
    elif overall is not None:
        standard = value * overall / COVERAGE_FACTOR
    else:
        standard = _rounding(text, value)
    if not SMALLEST < value < LARGEST:
        what = "required thickness" if name == "required" else name
        raise RangeError(
            f"The claimed {what} of {text[:40]} is not a figure above zero that any job could have.",
            remedy="Check the figure and its unit.",
        )
    return Measured(value=value, unit=unit, budget={f"{name} as claimed": standard})


def _rounding(text: str, value: float) -> float:
    """Return the standard uncertainty of a printed number: half a unit of its last digit, rectangular."""
    number = re.match(r"\s*[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?", text)
    if "/" in text.split(" ")[0] or number is None:
        return 0.0
    plain = float(number.group().replace(",", "."))
    return value / plain * half_digit(text) / math.sqrt(3.0) if plain else 0.0


def _metal(given: Mapping[str, str], read: Mapping[str, Measured]) -> dict[str, Any]:
    metal, chosen = given.get("metal", "").lower(), None
    if "bath" in given:
        chosen = bath(given["bath"].lower())
    elif metal:
        chosen = default_bath(metal)
    if chosen is None:
        return {}
    if metal and chosen.metal != metal:
        raise InputError(f"The bath {chosen.key} deposits {chosen.metal}, not {metal}.", remedy="Choose another bath.")
    return {
        "metal": chosen.metal,
        "bath": chosen,
        "density": read.get("density") or table_density(chosen).quantity,
        "electrons": figure(chosen.key, "electrons_per_ion").value,
        "molar_mass": figure(chosen.metal, "molar_mass").measured().value,
    }


def _plain(given: Mapping[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = {"name": given.get("name", "claim")[:80]}
    if "faces" in given:
        found["faces"] = read_choice(given["faces"])
    for name, words in (("thickness_is", ("minimum", "mean")), ("per", ("piece", "lot"))):
        if name in given:
            if given[name] not in words:
                raise InputError(f"{name} {given[name][:20]!r} is not known.", remedy=f"Write {' or '.join(words)}.")
            found[name] = given[name]
    if "pieces" in given:
        if not re.fullmatch(r"[1-9]\d{0,6}", given["pieces"]):
            raise RangeError(
                f"{given['pieces'][:20]!r} is not a number of pieces.", remedy="Give a whole number from 1."
            )
        found["pieces"] = int(given["pieces"])
    return found


def _factor(given: Mapping[str, str], overall: float | None) -> dict[str, Any]:
    if "factor" not in given:
        return {}
    factor, _ = read_factor(given["factor"])
    standard = factor.standard_uncertainty
    if overall is not None and not _PLUS_MINUS.search(given["factor"]):
        standard = factor.value * overall / COVERAGE_FACTOR
    return {"factor": Measured(value=factor.value, unit=factor.unit, budget={"factor as claimed": standard})}


def _money(given: Mapping[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    codes = set()
    if "price" in given:
        found["price"], code = read_price(given["price"], "price as claimed")
        codes.add(code)
    if "metal_line" in given:
        found["metal_line"], code = read_money(given["metal_line"], "metal line as claimed")
        codes.add(code)
    if len(codes) > 1:
        raise InputError(f"The claim has two currencies, {' and '.join(sorted(codes))}.", remedy="Convert one of them.")
    return {**found, "currency": codes.pop()} if codes else found


def other_valences(chosen: Bath) -> list[tuple[float, str]]:
    """Return the other numbers of electrons that baths of the same metal take, each once."""
    own = figure(chosen.key, "electrons_per_ion").value
    valences = {figure(one.key, "electrons_per_ion").value for one in all_baths().values() if one.metal == chosen.metal}
    return [(z, f"{chosen.metal}({_ROMAN[int(z)]})") for z in sorted(valences - {own})]


_ROMAN = {1: "I", 2: "II", 3: "III", 4: "IV", 5: "V", 6: "VI"}


def valence_words(claims: Claims) -> str:
    """Return the metal with its valence: ``gold(I)``."""
    return f"{claims.metal}({_ROMAN[int(claims.electrons or 1)]})"
