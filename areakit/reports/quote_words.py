"""The sentences of a quote, the same on the screen and on paper."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from areakit.costing.prices import as_decimal, money_words, rounded, step_of
from areakit.costing.quote import Quote
from areakit.costing.quote_lines import QuoteLine
from areakit.units import show

CUSTOMER = frozenset({"FACES_NOT_STATED", "PRICE_STALE", "PRICE_IN_FUTURE"})
"""Flags that a customer should know; the others are the shop's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerLine:
    """One line of the price as a customer sees it, with its amount."""

    title: str
    amount: Decimal


def customer_lines(quote: Quote) -> tuple[CustomerLine, ...]:
    """Return the metal, and all the rest as one line: how the rest comes about is the shop's own. They add up."""
    metal = sum((line.amount for line in quote.lines if line.group == "metal"), Decimal(0))
    names = " and ".join(dict.fromkeys(price.metal for price in quote.metal_prices))
    work = CustomerLine(title="Plating work, with everything that belongs to it", amount=quote.price - metal)
    return (work, CustomerLine(title=f"Metal: {names}", amount=metal)) if metal else (work,)


def area_words(quote: Quote) -> str:
    """Return the area of one piece, and which faces it is."""
    faces = quote.job.faces or "which faces is not stated"
    return f"Plated area of one piece: {show(quote.job.area, 'cm2')}, {faces}."


def layer_words(quote: Quote) -> list[str]:
    """Return area and faces, and each layer with its thickness, minimum or mean."""
    lines = [area_words(quote)]
    for layer in quote.job.layers:
        start = f"{layer.bath[:1].upper()}{layer.bath[1:]}: "
        if layer.thickness_is == "minimum":
            thick = f"{layer.thickness * 1e6:.4g} µm minimum thickness on significant surfaces"
            thick += f" ({layer.mean * 1e6:.3g} µm mean)"
        else:
            thick = f"{layer.thickness * 1e6:.4g} µm mean thickness; thin places may have less"
        lines.append(f"{start}{thick}.")
    return lines


def pieces_words(count: int) -> str:
    """Return a number of pieces in words."""
    return "1 piece" if count == 1 else f"{count} pieces"


def price_line(quote: Quote) -> str:
    """Return the price of the lot and of one piece."""
    each = f", {money_words(quote.each, quote.currency)} each" if quote.job.pieces > 1 else ""
    return f"Price for {pieces_words(quote.job.pieces)}: {money_words(quote.price, quote.currency)}{each}"


def metal_words(quote: Quote) -> str:
    """Return the metal in the price with its uncertainty, to the digits that it has."""
    spread = quote.metal.expanded_uncertainty
    step = step_of(spread, quote.rates.rounding)
    value = rounded(as_decimal(quote.metal.value), step)
    wide = rounded(as_decimal(spread), step)
    return f"{value:f} ± {wide:f} {quote.currency}"


def basis_words(line: QuoteLine, quote: Quote) -> str:
    """Return how a line comes about, with its expanded uncertainty where it has one."""
    spread = rounded(as_decimal(line.uncertainty), step_of(line.uncertainty, quote.rates.rounding))
    return f"{line.basis}; ± {spread:f}" if spread else line.basis


def terms(quote: Quote) -> list[str]:
    """Return what the price rests on: the metal line, the validity, and what is left out."""
    lines = []
    if quote.metal.value:
        lines.append(
            f"Metal in the price: {metal_words(quote)} (coverage factor 2: area, density, efficiency and metal price)."
        )
    later = " Later the metal line follows the metal price." if quote.metal_prices else ""
    basis = "the date of the metal price" if quote.metal_prices else "today"
    lines.append(
        f"Quoted on {quote.quoted_on.isoformat()}; holds until {quote.valid_until.isoformat()} "
        f"({quote.rates.valid_days} days from {basis}).{later}"
    )
    lines.append("Amounts are without any tax. This page gives no tax or legal advice.")
    return lines
