"""From a planned job and a shop's rates to a quote: lines that add up, a price, and what it rests on.

Every line is rounded as it is printed, and sums are sums of printed lines: the page adds up to the last digit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Literal

from areakit.costing.job import PlannedJob, QuotedLayer
from areakit.costing.prices import MetalPrice, as_decimal, rounded, step_of, valid_until
from areakit.costing.rates import PRECIOUS, Rates
from areakit.errors import InputError
from areakit.flags import Flag, flag
from areakit.uncertainty import Measured, propagate, total

HOUR = 3600.0
LITRE = 1e-3
Group = Literal["labour", "metal", "other", "share", "adjustment"]


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteLine:
    """One line: what it is for, how it comes about, and its rounded amount.

    ``uncertainty`` is the expanded uncertainty of the amount, in the currency; 0 where the rate is fixed.
    """

    key: str
    title: str
    basis: str
    amount: Decimal
    group: Group
    uncertainty: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """The price of a number of pieces, and of each of them."""

    pieces: int
    price: Decimal
    each: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """A priced job. ``metal`` is the value of metal deposited and lost, with its budget, in the currency."""

    job: PlannedJob
    rates: Rates
    lines: tuple[QuoteLine, ...]
    price: Decimal
    each: Decimal
    uncertainty: float
    metal: Measured
    metal_amount: Decimal
    metal_prices: tuple[MetalPrice, ...]
    breaks: tuple[Break, ...]
    flags: tuple[Flag, ...]
    quoted_on: date
    valid_until: date

    @property
    def currency(self) -> str:
        """The code of the currency, as the user writes it."""
        return self.rates.currency


def make_quote(job: PlannedJob, rates: Rates, *, quoted_on: date) -> Quote:
    """Return the quote for a job.

    The metal line carries the uncertainty of area, density, efficiency and price; the other lines are rates.

    Raises
    ------
    InputError
        If a precious metal of the job has no price.

    Sources
    -------
    [practice] Order of the lines; no source.
    """
    _check_prices(job, rates)
    lines, metal = _lines(job, rates)
    spread = _spread(lines, metal, rates)
    price = _total(lines, spread, rates)
    used = tuple(rates.metals[name] for name in _metals(job) if name in rates.metals)
    last = min((valid_until(one.dated, rates.valid_days) for one in used), default=None)
    return Quote(
        job=job,
        rates=rates,
        lines=tuple(lines),
        price=price,
        each=_each(price, job.pieces, spread, rates),
        uncertainty=spread,
        metal=metal,
        metal_amount=sum((line.amount for line in lines if line.group == "metal"), Decimal(0)),
        metal_prices=used,
        breaks=_breaks(job, rates),
        flags=_flags(job, rates, used, quoted_on, last),
        quoted_on=quoted_on,
        valid_until=last or valid_until(quoted_on, rates.valid_days),
    )


def _total(lines: list[QuoteLine], spread: float, rates: Rates) -> Decimal:
    """Return the sum of the printed lines, with no more digits than it has."""
    return rounded(sum((line.amount for line in lines), Decimal(0)), step_of(spread, rates.rounding))


def _each(price: Decimal, pieces: int, spread: float, rates: Rates) -> Decimal:
    return rounded(price / pieces, step_of(spread / pieces, rates.rounding))


def _spread(lines: list[QuoteLine], metal: Measured, rates: Rates) -> float:
    """Return the expanded uncertainty that the metal gives the price, with scrap and margin on it; 0 at the minimum."""
    if any(line.key == "minimum" for line in lines):
        return 0.0
    return metal.expanded_uncertainty * float(1 + rates.margin_on_metal + rates.scrap * (1 + rates.margin))


def _metals(job: PlannedJob) -> list[str]:
    return list(dict.fromkeys(layer.metal for layer in job.layers))


def _check_prices(job: PlannedJob, rates: Rates) -> None:
    missing = [metal for metal in _metals(job) if metal in PRECIOUS and metal not in rates.metals]
    if missing:
        raise InputError(
            f"There is no price for {' and '.join(missing)}.",
            remedy=f'Give --metal-price {missing[0]}="75.30 {rates.currency}/g" --price-date YYYY-MM-DD, or a table '
            f"[metals.{missing[0]}] in the rates.",
        )


def _lines(job: PlannedJob, rates: Rates) -> tuple[list[QuoteLine], Measured]:
    labour = _labour_lines(job, rates)
    metal_lines, metal = _metal_lines(job, rates)
    lines = [*labour, *metal_lines, *_other_lines(job, rates)]
    lines.append(_scrap_line(lines, rates))
    lines += _share_lines(lines, rates)
    lines += _adjustments(lines, metal, rates)
    return lines, metal


def _adjustments(lines: list[QuoteLine], metal: Measured, rates: Rates) -> list[QuoteLine]:
    """Return the line up to the minimum charge, or the one that takes off the digits that the price does not have."""
    cost = sum((line.amount for line in lines), Decimal(0))
    if cost < rates.minimum_charge:
        short = rates.minimum_charge - cost
        basis = f"least price of a job: {rates.minimum_charge} {rates.currency}"
        return [_line(rates, "minimum", "Up to the minimum charge", basis, short, "adjustment")]
    step = step_of(_spread(lines, metal, rates), rates.rounding)
    off = rounded(cost, step) - cost
    basis = f"to {step} {rates.currency}: the metal is not known better"
    return [QuoteLine(key="rounding", title="Rounding", basis=basis, amount=off, group="adjustment")] if off else []


def _line(
    rates: Rates, key: str, title: str, basis: str, amount: Decimal, group: Group, uncertainty: float = 0.0
) -> QuoteLine:
    step = step_of(uncertainty, rates.rounding)
    return QuoteLine(
        key=key, title=title, basis=basis, amount=rounded(amount, step), group=group, uncertainty=uncertainty
    )


def percent(share: Decimal) -> str:
    """Return a share in percent, as short as it goes."""
    return f"{float(share) * 100:.4g} %"


def mass_words(mass: float) -> str:
    """Return a mass [kg] with three digits, in mg or g."""
    return f"{mass * 1e6:.3g} mg" if mass < 1e-3 else f"{mass * 1e3:.3g} g"


def _minutes(hours: Decimal) -> str:
    return f"{float(hours) * 60:.4g} min"


def _labour_lines(job: PlannedJob, rates: Rates) -> list[QuoteLine]:
    share = rates.labour_share(job.pieces)
    pieces = Decimal(job.pieces)
    hour = f"at {rates.per_hour} {rates.currency}/h"
    fewer = "" if share == 1 else f", {percent(share)} of the usual labour from {_reached(rates, job.pieces)} pieces"
    lines = [
        _line(rates, "set-up", "Set-up", f"{_minutes(rates.set_up)} {hour}", rates.set_up * rates.per_hour, "labour")
    ]
    for key, title, time in (
        ("preparation", "Preparation", rates.preparation),
        ("masking", "Masking", rates.masking),
    ):
        if time:
            basis = f"{job.pieces} × {_minutes(time)} {hour}{fewer}"
            lines.append(_line(rates, key, title, basis, time * pieces * share * rates.per_hour, "labour"))
    for layer in job.layers:
        lines.append(_plating_line(layer, job, rates, fewer))
    return lines


def _reached(rates: Rates, pieces: int) -> int:
    return max(count for count in rates.breaks if count <= pieces)


def plating_hours(layer: QuotedLayer, pieces: int, rates: Rates) -> tuple[Decimal, str]:
    """Return the hours of a layer on all pieces, the larger of charge time and handling, and which of them it is."""
    handling = rates.handling * rates.labour_share(pieces) * pieces
    if layer.time is None:
        return handling, "handling; the plan holds no charge time"
    loads = math.ceil(pieces / layer.pieces_per_load) if layer.pieces_per_load else pieces
    charge = as_decimal(layer.time / HOUR) * loads
    runs = f"{loads} load{'s' if loads > 1 else ''} of" if layer.pieces_per_load else f"{loads} ×"
    if charge >= handling:
        return charge, f"charge time, {runs} {_minutes(as_decimal(layer.time / HOUR))}"
    return handling, f"handling, longer than the charge time of {_minutes(charge)}"


def _plating_line(layer: QuotedLayer, job: PlannedJob, rates: Rates, fewer: str) -> QuoteLine:
    hours, why = plating_hours(layer, job.pieces, rates)
    tail = fewer if why.startswith("handling") else ""
    basis = f"{_minutes(hours)}: {why}{tail}"
    return _line(rates, f"plating-{layer.metal}", f"Plating, {layer.metal}", basis, hours * rates.per_hour, "labour")


def _metal_lines(job: PlannedJob, rates: Rates) -> tuple[list[QuoteLine], Measured]:
    lines, values = [], []
    for layer in job.layers:
        price = rates.metals.get(layer.metal)
        if price is None:
            continue
        value = propagate(lambda m, p: m * p, layer.mass, price.per_kg, unit=rates.currency)
        basis = f"{mass_words(layer.mass.value)} at {price.text} of {price.dated.isoformat()}"
        title = f"Metal deposited, {layer.metal}"
        amount = as_decimal(value.value)
        lines.append(_line(rates, f"metal-{layer.metal}", title, basis, amount, "metal", value.expanded_uncertainty))
        values.append(value)
        lost = lost_metal(layer, rates)
        if lost > 0.0:
            value = propagate(lambda p, m=lost: m * p, price.per_kg, unit=rates.currency)
            lines.append(_loss_line(layer, value, rates))
            values.append(value)
    return lines, total(values, rates.currency)


def _credited(layer: QuotedLayer, rates: Rates) -> float:
    """Return the recovered metal, what the refiner keeps taken off. [kg]"""
    refined = float(rates.refiner_return)
    return math.fsum(loss.recovered * (refined if loss.refined else 1.0) for loss in layer.losses)


def lost_metal(layer: QuotedLayer, rates: Rates) -> float:
    """Return the metal in sleeves, drag-out and run-off that is not paid back. [kg]"""
    return max(math.fsum(loss.held for loss in layer.losses) - _credited(layer, rates), 0.0)


def _loss_line(layer: QuotedLayer, value: Measured, rates: Rates) -> QuoteLine:
    held = math.fsum(loss.held for loss in layer.losses if loss.refined)
    back = held - lost_metal(layer, rates)
    basis = f"{mass_words(held)} held, {mass_words(max(back, 0.0))} credited after recovery"
    title = f"Sleeve and drag-out, {layer.metal}"
    key = f"loss-{layer.metal}"
    return _line(rates, key, title, basis, as_decimal(value.value), "metal", value.expanded_uncertainty)


def _other_lines(job: PlannedJob, rates: Rates) -> list[QuoteLine]:
    lines = []
    for layer in job.layers:
        cost = rates.solutions.get(layer.metal)
        if cost is not None and layer.solution_volume is not None:
            litres = as_decimal(layer.solution_volume / LITRE)
            basis = f"{float(litres) * 1000:.3g} mL used up at {cost} {rates.currency}/L, without its precious metal"
            title = f"Solution, {layer.metal}"
            lines.append(_line(rates, f"solution-{layer.metal}", title, basis, litres * cost, "other"))
    for key, job_cost, piece_cost in (
        ("consumables", rates.consumables_per_job, rates.consumables_per_piece),
        ("tests", rates.tests_per_job, rates.tests_per_piece),
    ):
        basis = f"{job_cost} a job, {job.pieces} × {piece_cost} a piece"
        lines.append(_line(rates, key, key.capitalize(), basis, job_cost + job.pieces * piece_cost, "other"))
    return lines


def _scrap_line(lines: list[QuoteLine], rates: Rates) -> QuoteLine:
    base = sum((line.amount for line in lines if line.key != "set-up"), Decimal(0))
    basis = f"{percent(rates.scrap)} of the lines above but the set-up, for pieces done again"
    return _line(rates, "scrap", "Scrap allowance", basis, base * rates.scrap, "share")


def _share_lines(lines: list[QuoteLine], rates: Rates) -> list[QuoteLine]:
    labour = sum((line.amount for line in lines if line.group == "labour"), Decimal(0))
    metal = sum((line.amount for line in lines if line.group == "metal"), Decimal(0))
    overhead = _line(
        rates, "overhead", "Overhead", f"{percent(rates.overhead)} of labour", labour * rates.overhead, "share"
    )
    rest = sum((line.amount for line in lines), Decimal(0)) - metal + overhead.amount
    words = f"{percent(rates.margin)}, on metal {percent(rates.margin_on_metal)}"
    margin = rest * rates.margin + metal * rates.margin_on_metal
    return [overhead, _line(rates, "margin", "Margin", words, margin, "share")]


def at_pieces(job: PlannedJob, pieces: int) -> PlannedJob:
    """Return the same job for another number of pieces: what comes with each piece grows, the sleeve does not."""
    factor = pieces / job.pieces
    layers = tuple(
        replace(
            layer,
            mass=propagate(lambda m: m * factor, layer.mass, unit="kg"),
            losses=tuple(
                loss if loss.fixed else replace(loss, held=loss.held * factor, recovered=loss.recovered * factor)
                for loss in layer.losses
            ),
            solution_volume=None if layer.solution_volume is None else layer.solution_volume * factor,
        )
        for layer in job.layers
    )
    return replace(job, pieces=pieces, layers=layers)


def _breaks(job: PlannedJob, rates: Rates) -> tuple[Break, ...]:
    """Return the price at each number of pieces of the rates, and at one and at the job's own."""
    if not rates.breaks:
        return ()
    counts = sorted({1, job.pieces, *rates.breaks})
    found = []
    for count in counts:
        lines, metal = _lines(at_pieces(job, count), rates)
        spread = _spread(lines, metal, rates)
        price = _total(lines, spread, rates)
        each = _each(price, count, spread, rates)
        found.append(Break(pieces=count, price=price, each=each))
    return tuple(found)


def _flags(
    job: PlannedJob, rates: Rates, used: tuple[MetalPrice, ...], quoted_on: date, last: date | None
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
    return tuple(flags)
