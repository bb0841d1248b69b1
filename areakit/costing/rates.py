"""The shop's own rates: one commented TOML file, read into frozen values."""

from __future__ import annotations

import re
import textwrap
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import cache
from importlib.resources import files
from typing import Any

from areakit.costing.prices import MetalPrice, check_currency, read_price
from areakit.errors import InputError
from areakit.foreign_text import toml_from
from areakit.plural import counted
from areakit.units import parse

PRECIOUS = ("gold", "silver", "palladium", "platinum", "rhodium")

_MOST_TOLD = 24
"""Entries to mend that one refusal names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What a shop charges. Money in ``currency``, times in hours, shares as fractions of one.

    ``breaks`` maps a number of pieces to the share of the usual labour that each piece then takes.
    """

    currency: str
    rounding: Decimal
    per_hour: Decimal
    set_up: Decimal
    preparation: Decimal
    masking: Decimal
    handling: Decimal
    consumables_per_job: Decimal
    consumables_per_piece: Decimal
    tests_per_job: Decimal
    tests_per_piece: Decimal
    refiner_return: Decimal
    scrap: Decimal
    overhead: Decimal
    margin: Decimal
    margin_on_metal: Decimal
    minimum_charge: Decimal
    valid_days: int
    metals: Mapping[str, MetalPrice] = field(default_factory=dict)
    solutions: Mapping[str, Decimal] = field(default_factory=dict)
    breaks: Mapping[int, Decimal] = field(default_factory=dict)

    def labour_share(self, pieces: int) -> Decimal:
        """Return the share of the usual labour for each piece at a number of pieces."""
        reached = [count for count in self.breaks if count <= pieces]
        return self.breaks[max(reached)] if reached else Decimal(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class RateEntry:
    """One line of the file: section, key, kind, what a new file holds, an invented example, and the comment."""

    section: str
    key: str
    kind: str
    start: str
    example: str
    comment: str
    field: str


@cache
def rate_entries() -> tuple[RateEntry, ...]:
    """Return every line of the file, in its order."""
    text = files("areakit").joinpath("data/rates_entries.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["entry"]
    return tuple(RateEntry(**{"field": row["key"], **row}) for row in rows)


_TABLES = ("metals", "solutions", "breaks")
_TAIL = """
# Price of each metal, with its day and where you read it. --metal-price overrides it for one quote.
# [metals.gold]
# price = "75.30 {currency}/g"       # per g, kg or ozt (troy); add ± 2 % for what it may move
# date = "2026-01-31"
# basis = "my dealer's selling price, fine gold"
{metals}
# Solution each litre, WITHOUT its precious metal, which has its own line.
[solutions]
{solutions}
# From this many pieces on, each piece takes this share of the usual labour. A quote shows a price for each number.
[breaks]
{breaks}
"""


def rates_text(*, currency: str = "", example: bool = False) -> str:
    """Return a new settings file; money is left empty to be filled in, or invented where ``example`` is set.

    Raises InputError if the currency is not three capital letters.
    """
    if currency:
        check_currency(currency)
    code = currency or ("EUR" if example else "")
    lines = ["# Rates of your shop, for areakit quote. Amounts without a unit are in your currency, before any tax."]
    lines.append("# What is marked as a starting point is common practice, without a source.")
    if example:
        lines.append("# THE AMOUNTS ARE INVENTED, for trying things out: put your own in their place.")
    else:
        lines.append("# Fill in every empty amount; 0 is an amount too.")
    section = ""
    for entry in rate_entries():
        if entry.section != section:
            section = entry.section
            lines += ["", f"[{section}]"]
        value = entry.example if example else entry.start
        value = code if entry.kind == "code" else value
        lines += [*textwrap.wrap(entry.comment, 96, initial_indent="# ", subsequent_indent="# ")]
        lines.append(f'{entry.key} = "{value}"')
    tail = _TAIL.format(
        currency=code or "EUR",
        metals="",
        solutions='gold = "60.00"\nnickel = "25.00"\n' if example else '# gold = ""\n# nickel = ""\n',
        breaks='10 = "90 %"\n50 = "80 %"' if example else '# 10 = "90 %"\n# 50 = "80 %"',
    )
    return "\n".join(lines) + "\n" + tail


def rates_body(text: str) -> dict[str, Any]:
    """Return what a settings file holds, unread; InputError if it is not TOML."""
    try:
        return toml_from(text)
    except ValueError as error:
        raise InputError(f"The rates are not valid TOML: {error}.", remedy='Write key = "value" lines.') from None


def read_rates(text: str) -> Rates:
    """Return the rates that a settings file holds.

    Raises InputError with one sentence for all entries that are missing, empty or not understood.
    """
    body = rates_body(text)
    troubles: list[tuple[str, str]] = []
    values: dict[str, Any] = {}
    for entry in rate_entries():
        holder = body.get(entry.section, {}) if entry.section else body
        value = holder.get(entry.key) if isinstance(holder, dict) else None
        where = f"{entry.section}.{entry.key}".lstrip(".")
        try:
            values[entry.field] = _read_entry(value, entry.kind)
        except ValueError as error:
            troubles.append((where, f"{where} {_reason(error)}"))
    troubles += _strange(body)
    values["solutions"] = _table(body, "solutions", lambda name, text: (name, _amount(text)), troubles)
    breaks = _table(body, "breaks", lambda count, text: (_count(count), share(text)), troubles)
    if troubles:
        raise _to_fix(troubles)
    return Rates(**values, breaks=dict(sorted(breaks.items())), metals=_metals(body, values["currency"]))


def _to_fix(troubles: list[tuple[str, str]]) -> InputError:
    told = "; ".join(words for _, words in troubles[:_MOST_TOLD])
    return InputError(
        f"The rates hold {counted(len(troubles), 'entry', 'entries')} to fix: {told}"
        f"{' and more' if len(troubles) > _MOST_TOLD else ''}.",
        remedy="Correct the file, or begin with a commented one.",
        fields={"areakit rates": "\n".join(path for path, _ in troubles)},
    )


def _read_entry(value: Any, kind: str) -> Any:
    text = "" if value is None else str(value).strip()
    if not text:
        raise ValueError("is empty")
    if kind == "code":
        return check_currency(text)
    if kind == "time":
        return Decimal(repr(parse(text, "time") / 3600.0))
    if kind == "share":
        return share(text)
    if kind == "days":
        if not re.fullmatch(r"\d{1,4}", text):
            raise ValueError("is not a number of days")
        return int(text)
    amount = _amount(text)
    if kind == "step" and amount <= 0:
        raise ValueError("must be above zero")
    return amount


def share(text: str) -> Decimal:
    """Return a share of one from ``15 %``; ValueError outside 0 to 1000 %."""
    value = Decimal(repr(round(parse(text, "ratio"), 12)))
    if not 0 <= value <= 10:
        raise ValueError(f"of {text} is outside 0 to 1000 %")
    return value


def _amount(text: str) -> Decimal:
    try:
        amount = Decimal(text)
    except InvalidOperation:
        raise ValueError(f"{text[:20]!r} is not a plain amount such as 48.00") from None
    if not amount.is_finite() or amount < 0:
        raise ValueError(f"{text[:20]!r} is not an amount of zero or more")
    return amount


def _reason(error: ValueError) -> str:
    return error.message.rstrip(".") if isinstance(error, InputError) else str(error)


def _strange(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    known: dict[str, set[str]] = {}
    for entry in rate_entries():
        known.setdefault(entry.section, set()).add(entry.key)
    found = [key for key in body if key not in known[""] and key not in known and key not in _TABLES]
    for section in known:
        holder = body.get(section) if section else None
        if isinstance(holder, dict):
            found += [f"{section}.{key}" for key in holder if key not in known[section]]
    return [(key, f"{key} is not known") for key in found]


def _table(
    body: Mapping[str, Any],
    table: str,
    read: Callable[[str, str], tuple[Any, Decimal]],
    troubles: list[tuple[str, str]],
) -> dict[Any, Decimal]:
    """Return the rows of a table that can be read; of the others, path and words go into ``troubles``."""
    found = {}
    for key, value in _rows(body, table).items():
        try:
            name, amount = read(key, str(value))
            found[name] = amount
        except ValueError as error:
            troubles.append((f"{table}.{key}", f"{table}.{key} {_reason(error)}"))
    return found


def _metals(body: Mapping[str, Any], currency: str) -> dict[str, MetalPrice]:
    return {
        name: metal_price(
            name, row.get("price", ""), dated=row.get("date", ""), basis=row.get("basis", ""), currency=currency
        )
        for name, row in _rows(body, "metals").items()
    }


def _count(text: str) -> int:
    if not re.fullmatch(r"[1-9]\d{0,6}", text):
        raise ValueError("is not for a number of pieces")
    return int(text)


def _rows(body: Mapping[str, Any], name: str) -> dict[str, Any]:
    rows = body.get(name, {})
    wanted = (
        all(isinstance(row, dict) == (name == "metals") for row in rows.values()) if isinstance(rows, dict) else False
    )
    if not wanted:
        raise InputError(
            f"The table {name} of the rates is not understood.",
            remedy="Write [metals.gold] with price, date and basis.",
        )
    return dict(rows)


def metal_price(metal: str, price: str, *, dated: str, basis: str, currency: str) -> MetalPrice:
    """Return a dated metal price in the currency of the rates.

    Raises InputError without a date, or in another currency.
    """
    per_kg, code = read_price(str(price), f"{metal} price")
    if code != currency:
        raise InputError(
            f"The price of {metal} is in {code}, the rates are in {currency}.", remedy="Convert it; no rate is guessed."
        )
    try:
        day = date.fromisoformat(str(dated))
    except ValueError:
        wrong = f"The date {str(dated)[:40]!r} of the {metal} price cannot be read."
        raise InputError(
            wrong if str(dated).strip() else f"The price of {metal} has no date.",
            remedy="Give the day it is of.",
            fields={"price_date": "2026-01-31"},
        ) from None
    return MetalPrice(
        metal=metal, per_kg=per_kg, currency=code, text=str(price).strip(), dated=day, basis=str(basis).strip()
    )
