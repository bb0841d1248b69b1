"""Price a planned job: one request in, one quote out. The only place of costing that looks at the calendar."""

from __future__ import annotations

import json
import logging
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from areakit.costing.measured_part import WORDS, MeasuredPart, read_choice
from areakit.costing.quote import Quote, make_quote
from areakit.costing.rates import Rates, metal_price, read_rates
from areakit.errors import InputError, RangeError
from areakit.flags import flag
from areakit.plating.deposit import square_metres
from areakit.records.measured_parts import part_asked
from areakit.records.plan_json import plan_json
from areakit.records.planned_job import read_planned_job
from areakit.service.pieces import equal_area
from areakit.service.quote_request import QuoteRequest as QuoteRequest

logger = logging.getLogger(__name__)

_SAME_AREA = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Quoted:
    """The quote, and the measured part where one was given."""

    quote: Quote
    part: MeasuredPart | None


def quote(request: QuoteRequest) -> Quoted:
    """Return the quote that a request asks for.

    InputError for a plan, rates or a price that cannot be read, or a precious metal without a price.
    """
    plan = request.plan
    job = read_planned_job(plan if isinstance(plan, str) else json.dumps(plan_json(plan)))
    part = part_asked(request.part, request.part_number, usual=next(iter(job.parts), None))
    job = replace(job, faces=_faces(request, part))
    rates = _rates(request)
    result = make_quote(job, rates, quoted_on=request.quoted_on or date.today())
    result = replace(_compare_area(result, part, request, job.parts), asked=_asked(request))
    logger.info("quoted %s: %d lines, %d flags", job.title, len(result.lines), len(result.flags))
    return Quoted(quote=result, part=part)


_AGAIN = ("rates", "metal_prices", "price_date", "price_basis", "faces", "valid_days")
"""What a quote keeps of its request: everything but plan, part and day."""


def _asked(request: QuoteRequest) -> dict[str, Any]:
    found = {name: getattr(request, name) for name in _AGAIN}
    return {name: dict(value) if name == "metal_prices" else value for name, value in found.items() if value}


def _faces(request: QuoteRequest, part: MeasuredPart | None) -> str | None:
    """Return in words which faces are plated: those of the measurement, or as the user says."""
    if part is not None:
        if request.faces is not None and read_choice(request.faces) != part.faces:
            raise InputError(
                f"The part was measured for {WORDS[part.faces]}, the quote is to say {request.faces[:20]}.",
                remedy="Measure and plan again for the right faces, or do not say the faces here.",
                fields={"faces": ""},
            )
        return part.words
    return WORDS[read_choice(request.faces)] if request.faces is not None else None


def _rates(request: QuoteRequest) -> Rates:
    rates = read_rates(request.rates)
    if request.valid_days is not None:
        if not 0 <= request.valid_days <= 3650:
            raise RangeError(f"A validity of {request.valid_days} days is outside 0 to 3650.", remedy="Give days.")
        rates = replace(rates, valid_days=request.valid_days)
    if request.price_date is None and request.metal_prices:
        raise InputError(
            "The metal prices have no date.", remedy="Give their day.", fields={"price_date": "2026-01-31"}
        )
    entered = {
        metal: metal_price(
            metal, text, dated=request.price_date or "", basis=request.price_basis, currency=rates.currency
        )
        for metal, text in request.metal_prices.items()
    }
    return replace(rates, metals={**rates.metals, **entered})


def _compare_area(result: Quote, part: MeasuredPart | None, request: QuoteRequest, parts: tuple[int, ...]) -> Quote:
    if part is None or request.part is None:
        return result
    same = len(parts) > 1 and request.part_number is None
    area = equal_area(request.part, parts) if same else part.plated
    planned, measured = result.job.area.value, square_metres(area).value
    if abs(planned / measured - 1.0) <= _SAME_AREA:
        return result
    told = flag("PLAN_OTHER_AREA", planned_cm2=planned * 1e4, measured_cm2=measured * 1e4)
    return replace(result, flags=(*result.flags, told))
