"""The lines of a quote: labour, metal, losses, solution, shares, and what fills up or rounds off.

Every line is rounded as it is printed, and sums are sums of printed lines: the page adds up to the last digit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from areakit.costing.job import MetalLoss, PlannedJob, QuotedLayer
from areakit.costing.prices import as_decimal, rounded, step_of
from areakit.costing.rates import Rates
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


def quote_lines(job: PlannedJob, rates: Rates) -> tuple[list[QuoteLine], Measured]:
    """Return every line, and the value of the metal deposited and lost with its budget, in the currency."""
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
        basis = f"minimum price of a job: {rates.minimum_charge} {rates.currency}"
        return [
            _line(rates, key="minimum", title="Up to the minimum charge", basis=basis, amount=short, group="adjustment")
        ]
    step = step_of(price_spread(lines, metal, rates), rates.rounding)
    off = rounded(cost, step) - cost
    basis = f"to {step} {rates.currency}: the metal is not known better"
    return [QuoteLine(key="rounding", title="Rounding", basis=basis, amount=off, group="adjustment")] if off else []


def price_spread(lines: list[QuoteLine], metal: Measured, rates: Rates) -> float:
    """Return the expanded uncertainty that the metal gives the price, with scrap and margin on it; 0 at the minimum."""
    if any(line.key == "minimum" for line in lines):
        return 0.0
    return metal.expanded_uncertainty * float(1 + rates.margin_on_metal + rates.scrap * (1 + rates.margin))


def price_total(lines: list[QuoteLine], spread: float, rates: Rates) -> Decimal:
    """Return the sum of the printed lines, with no more digits than it has."""
    return rounded(sum((line.amount for line in lines), Decimal(0)), step_of(spread, rates.rounding))


def _line(
    rates: Rates, *, key: str, title: str, basis: str, amount: Decimal, group: Group, uncertainty: float = 0.0
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
        _line(
            rates,
            key="set-up",
            title="Set-up",
            basis=f"{_minutes(rates.set_up)} {hour}",
            amount=rates.set_up * rates.per_hour,
            group="labour",
        )
    ]
    for key, title, time in (
        ("preparation", "Preparation", rates.preparation),
        ("masking", "Masking", rates.masking),
    ):
        if time:
            basis = f"{job.pieces} × {_minutes(time)} {hour}{fewer}"
            lines.append(
                _line(
                    rates,
                    key=key,
                    title=title,
                    basis=basis,
                    amount=time * pieces * share * rates.per_hour,
                    group="labour",
                )
            )
    for layer in job.layers:
        lines.append(_plating_line(layer, job=job, rates=rates, fewer=fewer))
    return lines


def _reached(rates: Rates, pieces: int) -> int:
    return max(count for count in rates.breaks if count <= pieces)


def plating_hours(layer: QuotedLayer, pieces: int, rates: Rates) -> tuple[Decimal, str]:
    """Return the hours of labour of a layer on all pieces, and what they are.

    By brush a hand leads the tool all the time: the larger of charge time and handling. A tank runs by itself between
    hanging and taking down, so its charge time is nobody's labour.
    """
    handling = rates.handling * rates.labour_share(pieces) * pieces
    if layer.time is None:
        return handling, "handling; the plan holds no charge time"
    each = as_decimal(layer.time / HOUR)
    if layer.pieces_per_load:
        loads = math.ceil(pieces / layer.pieces_per_load)
        runs = f"{loads} load{'s' if loads > 1 else ''} of {_minutes(each)}"
        return handling, f"handling; {runs} in the tank run unattended and are not labour"
    charge = each * pieces
    if charge >= handling:
        return charge, f"charge time, {pieces} × {_minutes(each)}"
    return handling, f"handling, longer than the charge time of {_minutes(charge)}"


def bench_hours(job: PlannedJob, rates: Rates) -> Decimal:
    """Return the hours that a hand is at work on a whole job: set-up, then preparation, masking, plating of all."""
    each = (rates.preparation + rates.masking) * rates.labour_share(job.pieces) * job.pieces
    return rates.set_up + each + sum((plating_hours(one, job.pieces, rates)[0] for one in job.layers), Decimal(0))


def _plating_line(layer: QuotedLayer, *, job: PlannedJob, rates: Rates, fewer: str) -> QuoteLine:
    hours, why = plating_hours(layer, job.pieces, rates)
    tail = fewer if why.startswith("handling") else ""
    basis = f"{_minutes(hours)}: {why}{tail}"
    return _line(
        rates,
        key=f"plating-{layer.metal}",
        title=f"Plating, {layer.metal}",
        basis=basis,
        amount=hours * rates.per_hour,
        group="labour",
    )


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
        lines.append(
            _line(
                rates,
                key=f"metal-{layer.metal}",
                title=title,
                basis=basis,
                amount=amount,
                group="metal",
                uncertainty=value.expanded_uncertainty,
            )
        )
        values.append(value)
        lost = lost_metal(layer, rates)
        if lost.value > 0.0:
            value = propagate(lambda m, p: m * p, lost, price.per_kg, unit=rates.currency)
            lines.append(_loss_line(layer, value, rates))
            values.append(value)
    return lines, total(values, rates.currency)


def lost_metal(layer: QuotedLayer, rates: Rates) -> Measured:
    """Return the metal in sleeves, drag-out and run-off that is not paid back, with its budget. [kg]

    What goes to a refiner comes back less the refiner's share.
    """
    return total([_unpaid(loss, float(rates.refiner_return)) for loss in layer.losses], "kg")


def _unpaid(loss: MetalLoss, refined: float) -> Measured:
    share = refined if loss.refined else 1.0
    return propagate(lambda held, back: held - back * share, loss.held, loss.recovered, unit="kg")


def _loss_line(layer: QuotedLayer, value: Measured, rates: Rates) -> QuoteLine:
    held = math.fsum(loss.held.value for loss in layer.losses if loss.refined)
    back = held - lost_metal(layer, rates).value
    back = back if back > 1e-9 * held else 0.0  # a difference of equal sums is rounding, not metal
    basis = f"{mass_words(held)} held, {mass_words(back)} credited after recovery"
    title = f"Sleeve and drag-out, {layer.metal}"
    key = f"loss-{layer.metal}"
    return _line(
        rates,
        key=key,
        title=title,
        basis=basis,
        amount=as_decimal(value.value),
        group="metal",
        uncertainty=value.expanded_uncertainty,
    )


def _other_lines(job: PlannedJob, rates: Rates) -> list[QuoteLine]:
    lines = []
    for layer in job.layers:
        cost = rates.solutions.get(layer.metal)
        if cost is not None and layer.solution_volume is not None:
            litres = as_decimal(layer.solution_volume / LITRE)
            basis = f"{float(litres) * 1000:.3g} mL used up at {cost} {rates.currency}/L, without its precious metal"
            title = f"Solution, {layer.metal}"
            lines.append(
                _line(
                    rates, key=f"solution-{layer.metal}", title=title, basis=basis, amount=litres * cost, group="other"
                )
            )
    for key, job_cost, piece_cost in (
        ("consumables", rates.consumables_per_job, rates.consumables_per_piece),
        ("tests", rates.tests_per_job, rates.tests_per_piece),
    ):
        basis = f"{job_cost} a job, {job.pieces} × {piece_cost} a piece"
        lines.append(
            _line(
                rates,
                key=key,
                title=key.capitalize(),
                basis=basis,
                amount=job_cost + job.pieces * piece_cost,
                group="other",
            )
        )
    return lines


def _scrap_line(lines: list[QuoteLine], rates: Rates) -> QuoteLine:
    base = sum((line.amount for line in lines if line.key != "set-up"), Decimal(0))
    basis = f"{percent(rates.scrap)} of the lines above but the set-up, for pieces done again"
    return _line(rates, key="scrap", title="Scrap allowance", basis=basis, amount=base * rates.scrap, group="share")


def _share_lines(lines: list[QuoteLine], rates: Rates) -> list[QuoteLine]:
    labour = sum((line.amount for line in lines if line.group == "labour"), Decimal(0))
    metal = sum((line.amount for line in lines if line.group == "metal"), Decimal(0))
    overhead = _line(
        rates,
        key="overhead",
        title="Overhead",
        basis=f"{percent(rates.overhead)} of labour",
        amount=labour * rates.overhead,
        group="share",
    )
    rest = sum((line.amount for line in lines), Decimal(0)) - metal + overhead.amount
    words = f"{percent(rates.margin)}, on metal {percent(rates.margin_on_metal)}"
    margin = rest * rates.margin + metal * rates.margin_on_metal
    return [overhead, _line(rates, key="margin", title="Margin", basis=words, amount=margin, group="share")]
