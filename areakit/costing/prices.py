"""Money and dated metal prices: the user's own currency, decimal rounding, no digits beyond what is known."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from areakit.errors import InputError, RangeError
from areakit.plating.efficiency import half_digit
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import parse

_CODE = re.compile(r"[A-Z]{3}")
_AMOUNT = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*([A-Za-z]{3})?\s*(?:(?:/|per\s)\s*(.+?))?\s*")
_PLUS_MINUS = re.compile(r"±|\+/-|\+-")
_HOW = 'Write it as "75.30 EUR/g" or "2342 EUR/ozt", with the three-letter code of your currency.'


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalPrice:
    """What one metal costs. ``per_kg`` is in currency per kg; ``text`` is as it was written."""

    metal: str
    per_kg: Measured
    currency: str
    text: str
    dated: date
    basis: str = ""


def check_currency(code: str) -> str:
    """Return an ISO 4217 alphabetic code as it stands; InputError for anything but three capital letters."""
    if not _CODE.fullmatch(code):
        raise InputError(
            f"{code[:10]!r} is not a currency code.",
            remedy="Give the three capital letters of ISO 4217, such as EUR or USD.",
        )
    return code


def read_money(text: str, name: str) -> tuple[Measured, str]:
    """Return an amount with its rounding or stated uncertainty, and its currency code."""
    body, spread = _split(text)
    amount, code, per = _match(body, text)
    if per is not None or code is None:
        raise InputError(f"{text[:40]!r} is not an amount with its currency.", remedy='Write it as "87.40 EUR".')
    return _measured(amount, body, spread=spread, name=name, unit=code), check_currency(code)


def read_price(text: str, name: str) -> tuple[Measured, str]:
    """Return a price in currency per kg from ``75.30 EUR/g ± 1 %``, and its currency code.

    Raises InputError if it has no currency or no mass, or plain ounces.
    """
    body, spread = _split(text)
    amount, code, per = _match(body, text)
    if per is None or code is None:
        raise InputError(f"{text[:40]!r} is not a price per mass.", remedy=_HOW)
    quoted = _measured(amount, body, spread=spread, name=name, unit=code)
    mass = parse(f"1 {per}" if not per[0].isdigit() else per, "mass")
    return Measured(
        value=quoted.value / mass, unit=f"{code}/kg", budget={k: s / mass for k, s in quoted.budget.items()}
    ), check_currency(code)


def price_unit(text: str) -> str:
    """Return the unit of mass that a price is for, as written; empty where there is none."""
    match = _AMOUNT.fullmatch(_PLUS_MINUS.split(text)[0])
    return (match.group(3) or "").lstrip("0123456789 ") if match else ""


def _split(text: str) -> tuple[str, str | None]:
    pieces = _PLUS_MINUS.split(text)
    if len(pieces) > 2:
        raise InputError(f"{text[:40]!r} has two uncertainties.", remedy=_HOW)
    return pieces[0], pieces[1] if len(pieces) == 2 else None


def _match(body: str, text: str) -> tuple[Decimal, str | None, str | None]:
    match = _AMOUNT.fullmatch(body)
    if match is None:
        raise InputError(f"{text[:40]!r} is not an amount of money.", remedy=_HOW)
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", match.group(1)):
        raise InputError(f"{match.group(1)} can be read in two ways.", remedy="Write it without the comma.")
    return Decimal(match.group(1).replace(",", ".")), match.group(2), match.group(3)


def _measured(amount: Decimal, body: str, *, spread: str | None, name: str, unit: str) -> Measured:
    value = float(amount)
    if not value > 0:
        raise RangeError(f"The {name} must be above zero.", remedy=_HOW)
    if spread is None:
        return Measured(value=value, unit=unit, budget={name: half_digit(body) / math.sqrt(3.0)})
    percent = spread.strip().endswith("%")
    expanded = value * parse(spread, "ratio") if percent else float(_match(spread, body)[0])
    return Measured(value=value, unit=unit, budget={name: expanded / COVERAGE_FACTOR})


def valid_until(dated: date, days: int) -> date:
    """Return the last day on which a price of a date still holds."""
    if not 0 <= days <= 3650:
        raise RangeError(f"A validity of {days} days is outside 0 to 3650.", remedy="Give it in days.")
    return dated + timedelta(days=days)


def rounded(amount: Decimal, step: Decimal) -> Decimal:
    """Return an amount rounded half up to whole steps, such as 0.01, 0.05 or 1."""
    count = (amount / step).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return (count * step).quantize(min(step, Decimal(1)))


def step_of(expanded_uncertainty: float, smallest: Decimal) -> Decimal:
    """Return the step to which an uncertain amount is rounded: two digits of its uncertainty, or the smallest coin.

    Source: [gum] 7.2.6: at most two significant digits of the uncertainty.
    """
    if expanded_uncertainty <= 0.0:
        return smallest
    digits = Decimal(1).scaleb(math.floor(math.log10(expanded_uncertainty)) - 1)
    return max(digits, smallest)


def as_decimal(value: float) -> Decimal:
    """Return a float as the decimal number that it prints."""
    return Decimal(repr(value))


def amount_words(amount: Decimal) -> str:
    """Return an amount: ``87.40``; groups of thousands are set apart by a narrow space.

    One digit behind the point becomes two, as money is written.
    """
    if amount.as_tuple().exponent == -1:
        amount = amount.quantize(Decimal("0.01"))
    return f"{amount:,f}".replace(",", "\N{NARROW NO-BREAK SPACE}")


def money_words(amount: Decimal, currency: str) -> str:
    """Return an amount with its code: ``87.40 EUR``."""
    return f"{amount_words(amount)} {currency}"


def price_words(price: MetalPrice) -> str:
    """Return a metal price as it was written, with its date and basis."""
    basis = f", {price.basis}" if price.basis else ""
    return f"{price.metal} at {price.text} of {price.dated.isoformat()}{basis}"
