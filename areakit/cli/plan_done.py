"""From what was typed, asked and kept to plans and the card: where ``areakit plan`` does its work."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from areakit.cli.photo import OF_A_PHOTO, has_outline, take_measured
from areakit.errors import options

if TYPE_CHECKING:
    from areakit.cli.page import Page
    from areakit.plating.plan import Plan
    from areakit.reports.card import Card, Drawn
    from areakit.service.shop_fill import Filled
    from areakit.service.shop_profile import Profile


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which profile and brush, whether questions can be asked, and whether pictures are to be drawn."""

    shop: str | None
    brush: str | None
    asks: bool
    pictures: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """The plans, one for each kind of part, and their card."""

    plans: tuple[Plan, ...]
    card: Card
    drawn: tuple[Drawn, ...]
    filled: Filled
    profile: Profile | None

    @property
    def lines(self) -> list[str]:
        """The card as lines of text."""
        from areakit.reports.card_text import card_lines

        return card_lines(self.card)

    @property
    def from_profile(self) -> Page:
        """What came from the shop profile."""
        from areakit.cli.page import Page

        page = Page()
        if self.profile is not None and self.filled.origins:
            page.heading(f"From the shop profile {self.profile.name}")
            rows = [(name, path) for name, path in self.filled.origins.items()]
            page.table(rows, header=("what", "entry"))
        return page


def planned(typed: dict[str, Any], wanted: Wanted) -> Done:
    """Return the plans and the card for what was typed.

    AreakitError if a photo or drawing is refused; where entries are missing and nobody can be asked.
    """
    from areakit.cli.plan_ask import ask_pieces, completed
    from areakit.records.area_lines import text_left_out, without_words
    from areakit.service.pieces import read_pieces
    from areakit.service.plan import plan_all
    from areakit.service.shop import load_shop
    from areakit.service.shop_request import request_of

    profile = load_shop(wanted.shop)
    found = completed(typed, profile, brush=wanted.brush, asks=wanted.asks)
    entries = {name: value for name, value in found.entries.items() if value is not None or name in typed}
    name = _name(entries)
    measured = _measured(entries, found.origins)
    if measured is not None and entries.get("part") is None:
        name += without_words(text_left_out(measured))
    if wanted.asks and measured is not None and entries.get("pieces") is None and entries.get("part") is None:
        kinds = read_pieces(measured)
        if len(kinds) == 1:
            entries["pieces"] = ask_pieces(kinds[0].count)
    request = request_of({**entries, "measured": measured}, pictures=wanted.pictures)
    plans = plan_all(request)
    card, drawn = _card(plans, name, found, profile, measured)
    return Done(plans=plans, card=card, drawn=drawn, filled=found, profile=profile)


def _name(entries: Mapping[str, Any]) -> str:
    if entries.get("photo") is not None:
        return Path(entries["photo"]).name
    if entries.get("shape"):
        return "; ".join(entries["shape"])
    return "typed area" if entries.get("area") else "measured part"


def _measured(entries: dict[str, Any], origins: Mapping[str, str]) -> str | None:
    """Take out of the entries what the part is, and return what its measurement prints; None for a typed area.

    What the profile says of photos is left out where there is a drawing.
    """
    if has_outline(entries):
        for name in OF_A_PHOTO:
            if name in origins:
                entries.pop(name, None)
    return take_measured(entries)


def _card(
    plans: tuple[Plan, ...], name: str, found: Filled, profile: Profile | None, measured: str | None
) -> tuple[Card, tuple[Drawn, ...]]:
    from areakit.reports.card import make_card
    from areakit.service.card_outlines import outlines_drawn
    from areakit.service.plan_gaps import gaps
    from areakit.service.shop_price import shop_price

    entries = {**found.entries, "area": True}
    lacking = [
        one for gap in gaps(entries, profile) if not gap.needed and gap.entry != "base" for one in options(gap.fields)
    ]
    drawn = outlines_drawn(plans, measured) if measured is not None else ()
    cost = shop_price(plans, profile)
    card = make_card(
        plans,
        name=name,
        price=cost.price,
        bench_time=cost.bench_time,
        notes=cost.notes,
        open_entries=lacking,
        volts_first=profile is not None and profile.one("supply", "by") == "volts",
    )
    return card, drawn
