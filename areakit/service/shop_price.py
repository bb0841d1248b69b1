"""What planned work costs, and how long it takes at the bench, by the rates that a shop profile names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from areakit.errors import AreakitError
from areakit.plating.plan import Plan
from areakit.service.shop import EXAMPLE, shop_folder
from areakit.service.shop_profile import Profile
from areakit.service.text_file import text_of
from areakit.uncertainty import exact

if TYPE_CHECKING:
    from areakit.service.quote import Quoted, QuoteRequest

_HOUR = 3600.0
_NOTES = ("PRICE_IN_FUTURE", "PRICE_STALE")
"""Flags of a quote that make its price another one than it seems."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopPrice:
    """Price in words, hours at the bench as seconds in words, and what there is to say about either."""

    price: str = ""
    bench_time: str = ""
    notes: tuple[str, ...] = ()


def shop_price(plans: Sequence[Plan], profile: Profile | None) -> ShopPrice:
    """Return price and bench time of planned work; empty where the profile names no rates.

    Several kinds of parts are priced as a job each. A file that cannot be read, or a price that is missing, is a note:
    it is no reason to withhold a plan.
    """
    named = profile.one("rates", "file") if profile is not None else None
    if profile is None or named is None:
        return ShopPrice()
    from areakit.service.quote import quote  # brings shapely

    try:
        rates = rates_of(named)
        found = [quote(_request(plan, rates, profile)) for plan in plans]
    except AreakitError as error:
        return ShopPrice(notes=(f"No price: {error.message} {error.remedy}",))
    return _said(found)


def rates_of(name: str) -> str:
    """Return the text of the rates: a file, beside the profiles unless its whole path is said, or the example."""
    from areakit.costing.rates import rates_text

    if name == EXAMPLE:
        return rates_text(example=True)
    path = Path(name).expanduser()
    return text_of(path if path.is_absolute() else shop_folder() / path) or ""


def _request(plan: Plan, rates: str, profile: Profile) -> QuoteRequest:
    from areakit.service.quote import QuoteRequest

    prices = {metal: str(price) for metal, price in profile.table("prices").items()}
    metals = {one.layer.metal for one in plan.layers}
    return QuoteRequest(
        plan=plan,
        rates=rates,
        metal_prices={metal: price for metal, price in prices.items() if metal in metals},
        price_date=profile.one("rates", "price_date"),
    )


def _said(found: Sequence[Quoted]) -> ShopPrice:
    from areakit.costing.prices import money_words
    from areakit.costing.quote_lines import bench_hours
    from areakit.reports.bench_words import setting

    quotes = [one.quote for one in found]
    price = money_words(sum((one.price for one in quotes), Decimal(0)), quotes[0].currency)
    pieces = quotes[0].job.pieces
    if len(quotes) == 1 and pieces > 1:
        price += f", {money_words(quotes[0].each, quotes[0].currency)} each"
    hours = sum((bench_hours(one.job, one.rates) for one in quotes), Decimal(0))
    flags = dict.fromkeys(told for one in quotes for told in one.flags if told.code in _NOTES)
    notes = [f"Price: {told.message}" for told in flags]
    if len(quotes) > 1:
        notes.append("Price: each kind of part is priced as a job of its own, with its own set-up.")
    return ShopPrice(price=price, bench_time=setting(exact(float(hours) * _HOUR, "s"), digits=2), notes=tuple(notes))
