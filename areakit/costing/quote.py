"""From a planned job and a shop's rates to a quote: lines that add up, a price, and what it rests on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from areakit.costing.job import PlannedJob, at_pieces
from areakit.costing.prices import MetalPrice, rounded, step_of, valid_until
from areakit.costing.quote_lines import QuoteLine, price_spread, price_total, quote_lines
from areakit.costing.rates import PRECIOUS, Rates
from areakit.errors import InputError
from areakit.flags import Flag, flag
from areakit.uncertainty import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """The price of a number of pieces, and of each of them."""

    pieces: int
    price: Decimal
    each: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """A priced job. ``metal`` is the value of metal deposited and lost, with its budget, in the currency.

    ``asked`` are rates and prices as text, so that they can be asked again for another job.
    """

    job: PlannedJob
    rates: Rates
    lines: tuple[QuoteLine, ...]
    price: Decimal
    each: Decimal
    uncertainty: float
    metal: Measured
    metal_prices: tuple[MetalPrice, ...]
    breaks: tuple[Break, ...]
    flags: tuple[Flag, ...]
    quoted_on: date
    valid_until: date
    asked: Mapping[str, Any] = field(default_factory=dict)

    @property
    def currency(self) -> str:
        """The code of the currency, as the user writes it."""
        return self.rates.currency


def make_quote(job: PlannedJob, rates: Rates, *, quoted_on: date) -> Quote:
    """Return the quote for a job.

    The metal line carries the uncertainty of area, density, efficiency and price; the other lines are rates.

    Raises InputError if a precious metal of the job has no price. Source: [practice] Order of the lines; no source.
    """
    _check_prices(job, rates)
    lines, metal = quote_lines(job, rates)
    spread = price_spread(lines, metal, rates)
    price = price_total(lines, spread, rates)
    used = tuple(rates.metals[name] for name in _metals(job) if name in rates.metals)
    last = min((valid_until(one.dated, rates.valid_days) for one in used), default=None)
    return Quote(
        job=job,
        rates=rates,
        lines=tuple(lines),
        price=price,
        each=_each(price, pieces=job.pieces, spread=spread, rates=rates),
        uncertainty=spread,
        metal=metal,
        metal_prices=used,
        breaks=_breaks(job, rates),
        flags=_flags(job, rates, used=used, quoted_on=quoted_on, last=last),
        quoted_on=quoted_on,
        valid_until=last or valid_until(quoted_on, rates.valid_days),
    )


def _each(price: Decimal, *, pieces: int, spread: float, rates: Rates) -> Decimal:
    return rounded(price / pieces, step_of(spread / pieces, rates.rounding))


def _metals(job: PlannedJob) -> list[str]:
    return list(dict.fromkeys(layer.metal for layer in job.layers))


def _check_prices(job: PlannedJob, rates: Rates) -> None:
    missing = [metal for metal in _metals(job) if metal in PRECIOUS and metal not in rates.metals]
    if missing:
        raise InputError(
            f"There is no price for {' and '.join(missing)}.",
            remedy="Give its price with the day it is of, or add the metal to the rates.",
            fields={f"metal_price.{missing[0]}": f"75.30 {rates.currency}/g", "price_date": "2026-01-31"},
        )


def _breaks(job: PlannedJob, rates: Rates) -> tuple[Break, ...]:
    """Return the price at each number of pieces of the rates, and at one and at the job's own."""
    if not rates.breaks:
        return ()
    counts = sorted({1, job.pieces, *rates.breaks})
    found = []
    for count in counts:
        lines, metal = quote_lines(at_pieces(job, count), rates)
        spread = price_spread(lines, metal, rates)
        price = price_total(lines, spread, rates)
        each = _each(price, pieces=count, spread=spread, rates=rates)
        found.append(Break(pieces=count, price=price, each=each))
    return tuple(found)


def _flags(
    job: PlannedJob, rates: Rates, *, used: tuple[MetalPrice, ...], quoted_on: date, last: date | None
) -> tuple[Flag, ...]:
    flags = [] if job.faces is not None else [flag("FACES_NOT_STATED")]
    for metal in _metals(job):
        if metal not in rates.metals:
            flags.append(flag("METAL_NOT_PRICED", metal=metal))
        if metal not in rates.solutions:
            flags.append(flag("SOLUTION_NOT_PRICED", metal=metal))
    for price in used:
        if price.dated > quoted_on:
            flags.append(flag("PRICE_IN_FUTURE", metal=price.metal, dated=price.dated.isoformat()))
        elif last is not None and last < quoted_on:
            flags.append(flag("PRICE_STALE", metal=price.metal, dated=price.dated.isoformat(), days=rates.valid_days))
    flags += [flag("NO_CHARGE_TIME", metal=layer.metal) for layer in job.layers if layer.time is None]
    return (
        *flags,
        *(Flag(code="OWN_FACTOR", message=words, remedy="The plan says more.") for words in job.own_factors),
    )
