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
class Claimed:
    """The figures that can be claimed, each as text, by the names of :data:`areakit.costing.claims.FIELDS`."""

    name: Annotated[Text, About("Whose claim it is.")] = None
    area: Annotated[Text, About("Claimed area of one piece.", example="12.5 cm2 ± 2%")] = None
    faces: Annotated[Text, About(
        "Which faces that is: one, both, all, front-and-edges, walls, given.", shape="NAME",
    )] = None
    metal: Annotated[Text, About("Metal of the layer.", example="gold", shape="NAME")] = None
    bath: Annotated[Text, About(
        "Kind of bath, which says the valence; areakit plan --list-baths.", shape="NAME",
    )] = None
    thickness: Annotated[Text, About("Claimed thickness.", example="0.5 um")] = None
    thickness_is: Annotated[Text, About("What that thickness is.", choices=("minimum", "mean"))] = None
    required: Annotated[Text, About("Minimum thickness that was asked for.", example="0.5 um")] = None
    allowance: Annotated[Text, About("Mean over minimum thickness; else 1.1 to 1.3 (even brush work).")] = None
    density: Annotated[Text, About("Density of the deposit; else that of the metal, ± 4 %.")] = None
    mass: Annotated[Text, About("Claimed metal.", example="21 mg")] = None
    charge: Annotated[Text, About("Claimed charge.", example="0.58 A.min")] = None
    current: Annotated[Text, About("Claimed current.", example="0.4 A")] = None
    time: Annotated[Text, About("Claimed time.", example="8 min")] = None
    current_density: Annotated[Text, About("Claimed.", example="10 A/dm2")] = None
    footprint: Annotated[Text, About("Brush footprint that carries it; else the whole area does.")] = None
    factor: Annotated[Text, About("Claimed plating factor.", example="60 A.h/in3")] = None
    efficiency: Annotated[Text, About("Claimed cathode efficiency.", example="72 %")] = None
    price: Annotated[Text, About("Claimed price of the metal.", example="75.30 EUR/g")] = None
    metal_line: Annotated[Text, About("Claimed cost of the metal.", example="4.10 EUR")] = None
    pieces: Annotated[Text, About("Number of pieces.", shape="N")] = None
    per: Annotated[Text, About("What mass, charge, time and metal line are of.", choices=("piece", "lot"))] = None
    uncertainty: Annotated[Text, About("Expanded, of every claim that states none; else its last digit.")] = None


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
