"""Price a plan, and check somebody else's figures, from Python."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from os import PathLike
from typing import Any

from areakit.api.keywords import documented, texts_of
from areakit.api.parts import HasParts
from areakit.api.plans import Plan, measured_text
from areakit.api.values import Entry, entry_text, plain_json
from areakit.costing.consistency import Comparison
from areakit.costing.verdict import Verdict
from areakit.errors import InputError
from areakit.flags import Flag
from areakit.service.check import check
from areakit.service.quote import Quoted
from areakit.service.quote import quote as make_quote
from areakit.service.quote_request import CheckRequest, QuoteRequest


@dataclass(frozen=True, slots=True)
class Quote:
    """A quote: every line, the price, and how long it holds; in a notebook it shows them."""

    result: Quoted

    @property
    def price(self) -> Decimal:
        """Price of all pieces, in ``currency``, without tax."""
        return self.result.quote.price

    @property
    def each(self) -> Decimal:
        """Price of one piece, in ``currency``."""
        return self.result.quote.each

    @property
    def currency(self) -> str:
        """Three letters of the currency (ISO 4217)."""
        return self.result.quote.currency

    @property
    def lines(self) -> Mapping[str, Decimal]:
        """Every line by its title, in ``currency``."""
        return {line.title: line.amount for line in self.result.quote.lines}

    @property
    def valid_until(self) -> date:
        """The last day on which it holds."""
        return self.result.quote.valid_until

    @property
    def flags(self) -> tuple[Flag, ...]:
        """Cautions: code, message, remedy."""
        return self.result.quote.flags

    def to_json(self) -> dict[str, Any]:
        """Return what ``areakit quote --json`` prints."""
        from areakit.records.quote_json import quote_json

        return plain_json(quote_json(self.result.quote, self.result.part))

    def __repr__(self) -> str:
        return f"<{self.price} {self.currency}, valid until {self.valid_until}>"

    def _repr_html_(self) -> str:
        from areakit.reports.notebook import quote_view

        return quote_view(self.result.quote)


@dataclass(frozen=True, slots=True)
class CheckedClaims:
    """The verdict on one set of claimed figures; in a notebook it shows every comparison."""

    verdict: Verdict

    @property
    def agrees(self) -> bool:
        """Whether nothing disagrees, and there is metal enough for the minimum thickness that was asked for."""
        return self.verdict.agrees

    @property
    def headline(self) -> str:
        """The outcome in one sentence."""
        from areakit.costing.words import headline

        return headline(self.verdict)

    @property
    def comparisons(self) -> tuple[Comparison, ...]:
        """Each claim beside what it should be, with its normalised error (ISO 13528), in SI."""
        return self.verdict.comparisons

    @property
    def explanations(self) -> tuple[str, ...]:
        """Slips that would explain a disagreement, the most economical first: questions to ask, no proof."""
        from areakit.costing.words import explanation_words

        return tuple(explanation_words(one, self.verdict) for one in self.verdict.explanations)

    def to_json(self) -> dict[str, Any]:
        """Return what ``areakit check --json`` prints."""
        from areakit.records.check_json import verdict_json

        return plain_json(verdict_json(self.verdict))

    def __repr__(self) -> str:
        return f"<{self.verdict.claims.name}: {self.headline}>"

    def _repr_html_(self) -> str:
        from areakit.reports.notebook import verdict_view

        return verdict_view(self.verdict)


@documented(QuoteRequest)
def quote(
    plan: Plan | Mapping[str, Any],
    *,
    rates: str | PathLike[str],
    metal_prices: Mapping[str, str] | None = None,
    price_date: str | date | None = None,
    price_basis: str = "",
    part: HasParts | Mapping[str, Any] | None = None,
    part_number: int | None = None,
    faces: str | None = None,
    valid_days: int | None = None,
) -> Quote:
    """Price a planned job.

    Parameters
    ----------
    plan : Plan or mapping
        A plan, or its JSON.
    Fields of QuoteRequest

    Raises
    ------
    InputError
        If plan, rates or a price cannot be read, or a precious metal has no price.
    """
    told = {
        "plan": plan.plan if isinstance(plan, Plan) else json.dumps(plan),
        "price_date": price_date.isoformat() if isinstance(price_date, date) else price_date,
        "part": None if part is None else measured_text(part),
    }
    request = QuoteRequest(**texts_of(QuoteRequest, {**locals(), **told}))
    return Quote(make_quote(request))


@documented(CheckRequest)
def check_quote(
    claims: Mapping[str, Entry | int] | str | PathLike[str],
    *,
    part: HasParts | Mapping[str, Any] | None = None,
    part_number: int | None = None,
    two_slips: bool = False,
) -> tuple[CheckedClaims, ...]:
    """Check claimed figures against each other and against a measured part, and name the slip.

    Parameters
    ----------
    claims : mapping or path
        Any subset of the figures of ``areakit check``, with ``_`` for ``-``: ``area``, ``thickness``, ``mass``,
        ``charge``, ``price``, ``metal_line`` and so on, as text or pint quantities; or a JSON or CSV file of such
        claims, one a row.
    Fields of CheckRequest

    Returns
    -------
    tuple of CheckedClaims
        One for each row.

    Raises
    ------
    InputError
        If a claim cannot be read, or no two of them can be compared.

    Examples
    --------
    >>> import areakit
    >>> (verdict,) = areakit.check_quote({"area": "12.5 cm2", "metal": "gold", "thickness": "0.5 um",
    ...                                   "thickness_is": "mean", "mass": "21 mg"})
    >>> verdict.agrees
    False
    """
    typed = {name: _claim(name, entry) for name, entry in claims.items()} if isinstance(claims, Mapping) else {}
    file = None if isinstance(claims, Mapping) else claims
    told = {"claims": typed, "part": None if part is None else measured_text(part)}
    request = CheckRequest(**texts_of(CheckRequest, {**locals(), **told}))
    return tuple(CheckedClaims(verdict) for verdict in check(request))


def _claim(name: str, entry: Entry | int) -> str:
    """Return one claim as text; a count may be a whole number."""
    from areakit.costing.claims import KINDS

    if isinstance(entry, int) and name == "pieces":
        return str(entry)
    kinds = {**{known: kind for known, (kind, _) in KINDS.items()}, "factor": "plating factor", "uncertainty": "ratio"}
    if isinstance(entry, str) or name in kinds:
        return entry_text(entry, kinds.get(name, ""))  # type: ignore[arg-type]
    raise InputError(f"The claim {name[:30]!r} is not text.", remedy='Write it as text, such as "75.30 EUR/g".')
