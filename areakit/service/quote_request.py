"""A quote, or a check of one, as asked for, each field once, as in ``measure_request``."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Union

from areakit.service.asked import About, ByMetal, Text, Whole

if TYPE_CHECKING:
    from datetime import date

    from areakit.plating.plan import Plan

# fmt: off
_PART = About(
    "What areakit measure --json printed, for outline, area and faces of the part.", shape="FILE", document=True,
)
_PART_NUMBER = About("Part of that file, from 1.", shape="N")


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteRequest:
    """A quote as asked for; ``plan`` is a plan or its JSON, ``rates`` the text of a settings file."""

    plan: Annotated[Union["Plan", str], About(
        "What areakit plan --json printed; - for stdin.", shape="FILE", document=True,
    )]
    rates: Annotated[str, About("Your rates; areakit rates writes such a file.", shape="FILE", file=True)]
    part: Annotated[Text, _PART] = None
    part_number: Annotated[Whole, _PART_NUMBER] = None
    faces: Annotated[Text, About(
        "Which faces are plated, without a measured part: one, both, all, front-and-edges, walls.", shape="NAME",
    )] = None
    metal_prices: Annotated[ByMetal, About(
        "Price of a metal, in place of that in the rates.", example={"gold": "75.30 EUR/g ± 2%"},
        shape="METAL=PRICE", one="metal_price",
    )] = field(default_factory=dict)
    price_date: Annotated[Text, About("The day of these prices.", example="2026-01-31", shape="DATE")] = None
    price_basis: Annotated[str, About("Where the prices were read.")] = ""
    valid_days: Annotated[Whole, About(
        "Days from that date for which the quote holds.", "as in the rates", shape="N",
    )] = None
    quoted_on: "date | None" = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRequest:
    """Claims to be checked: typed (``claims``), or the text of a JSON or CSV file (``file``), or both.

    What is typed holds for every row of the file that does not say it.
    """

    claims: Annotated[ByMetal, About("Claimed figures by their names.", typed=False)] = field(default_factory=dict)
    file: Annotated[Text, About(
        "JSON or CSV with the same names, one claim a row; - for stdin.", shape="FILE", one="claims", file=True,
    )] = None
    part: Annotated[Text, _PART] = None
    part_number: Annotated[Whole, _PART_NUMBER] = None
    two_slips: Annotated[bool, About("Try two slips together where no single one helps.")] = False
