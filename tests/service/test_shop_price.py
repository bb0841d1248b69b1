"""Price and bench time of a plan by the rates of the profile: those that areakit quote finds."""

from datetime import date
from pathlib import Path

import pytest

from areakit.costing.prices import money_words
from areakit.costing.rates import rates_text
from areakit.service.plan import plan
from areakit.service.plan_request import PlanRequest
from areakit.service.quote import QuoteRequest, quote
from areakit.service.shop import with_value
from areakit.service.shop_price import shop_price
from areakit.service.shop_profile import example_text, read_profile

EXAMPLE = read_profile(example_text(), name="example")
TANK = PlanRequest(process="nickel-tank", layers={"nickel": "5 um"}, area="20 cm2", pieces=6, shop="none",
                   current_density={"nickel": "3 A/dm2"})  # fmt: skip
GOLD = PlanRequest(process="gold-brush", layers={"gold": "0.5 um"}, efficiency={"gold": "72 %"}, area="20 cm2",
                   footprint="3 cm2", current_density={"gold": "10 A/dm2"}, shop="none")  # fmt: skip


def test_the_price_is_that_of_a_quote_with_the_same_rates() -> None:
    found = plan(GOLD)
    quoted = quote(
        QuoteRequest(
            plan=found, rates=rates_text(example=True), metal_prices={"gold": "75.30 EUR/g ± 2 %"},
            price_date="2026-01-31", quoted_on=date(2026, 2, 1),
        )
    )  # fmt: skip
    assert shop_price([found], EXAMPLE).price == money_words(quoted.quote.price, "EUR")


def test_the_bench_time_is_set_up_preparation_masking_and_plating() -> None:
    """Example rates: 20 min set-up, then 6 × (4 + 1) min, and 6 × 2 min handling while the tank runs: 62 min."""
    assert shop_price([plan(TANK)], EXAMPLE).bench_time == "62 min"


def test_a_profile_without_rates_has_no_price() -> None:
    for profile in (None, with_value(EXAMPLE, "rates.file", None)):
        found = shop_price([plan(TANK)], profile)
        assert (found.price, found.bench_time, found.notes) == ("", "", ())


@pytest.mark.parametrize(
    ("entry", "value", "words"),
    [("rates.file", "/nowhere/rates.toml", "cannot be read"), ("prices.gold", None, "no price for gold"),
     ("rates.price_date", None, "no date")],
)  # fmt: skip
def test_what_hinders_a_price_is_a_note_and_no_refusal(entry: str, value: str | None, words: str) -> None:
    found = shop_price([plan(GOLD)], with_value(EXAMPLE, entry, value))
    assert found.price == ""
    assert words in found.notes[0]


def test_the_rates_lie_beside_the_profile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path))
    (tmp_path / "mine.toml.rates").write_text(rates_text(example=True), encoding="utf-8")
    beside = with_value(EXAMPLE, "rates.file", "mine.toml.rates")
    assert shop_price([plan(GOLD)], beside) == shop_price([plan(GOLD)], EXAMPLE)


def test_kinds_are_priced_as_jobs_of_their_own_and_said_so() -> None:
    two = shop_price([plan(TANK), plan(TANK)], EXAMPLE)
    assert any("job of its own" in one for one in two.notes)
