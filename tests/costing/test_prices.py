"""Money: codes, ounces, digits."""

from datetime import date
from decimal import Decimal

import pytest

from areakit.costing.prices import (
    check_currency,
    money_words,
    read_money,
    read_price,
    rounded,
    step_of,
    valid_until,
)
from areakit.errors import AreakitError, InputError, UnitError


def test_a_price_per_troy_ounce_and_per_gram_are_the_same_price() -> None:
    """One troy ounce is 31.1034768 g exactly (480 grains of 64.79891 mg)."""
    ounce, _ = read_price("2342.00 EUR/ozt", "price")
    gram, _ = read_price("75.2970 EUR/g", "price")
    assert ounce.value == pytest.approx(2342.00 / 0.0311034768)
    assert ounce.value == pytest.approx(gram.value, rel=1e-5)


def test_a_price_carries_its_stated_uncertainty_or_that_of_its_last_digit() -> None:
    stated, _ = read_price("75.30 EUR/g ± 2 %", "price")
    assert stated.relative_expanded_uncertainty == pytest.approx(0.02)
    printed, _ = read_price("75.30 EUR/g", "price")
    assert printed.standard_uncertainty == pytest.approx(5.0 / 3**0.5)  # 0.005 EUR/g as a rectangle, per kg


@pytest.mark.parametrize(
    "text", ["75.30", "EUR/g", "75.30 €/g", "75.30 EUR", "75.30 eur/g", "75.30 EUR/oz", "75.30 EUR/g ± 1 ± 2",
             "-4 EUR/g", "1,200 EUR/kg", "9**9 EUR/g", "0 EUR/g"],
)  # fmt: skip
def test_a_price_that_could_be_guessed_at_is_refused_with_a_remedy(text: str) -> None:
    with pytest.raises(AreakitError) as caught:
        read_price(text, "price")
    assert caught.value.remedy


def test_an_amount_that_can_be_read_in_two_ways_names_it() -> None:
    with pytest.raises(InputError, match="1,200 can be read in two ways"):
        read_price("1,200 EUR/kg", "price")


def test_plain_ounces_are_refused() -> None:
    with pytest.raises(UnitError, match="troy or avoirdupois"):
        read_price("2342 EUR/oz", "price")


def test_currencies_are_three_capitals_as_the_user_writes_them() -> None:
    """ISO 4217: three letters. No symbol is guessed."""
    assert check_currency("XAF") == "XAF"
    for wrong in ("€", "eur", "EURO", ""):
        with pytest.raises(InputError):
            check_currency(wrong)


@pytest.mark.parametrize(
    ("amount", "step", "result"),
    [("2.675", "0.01", "2.68"), ("2.665", "0.01", "2.67"), ("12.37", "0.05", "12.35"), ("1049", "10", "1050"),
     ("0.5", "1", "1"), ("-0.005", "0.01", "-0.01"), ("9", "2", "10"), ("7.4", "5", "5")],
)  # fmt: skip
def test_money_is_rounded_half_up_in_decimals(amount: str, step: str, result: str) -> None:
    assert str(rounded(Decimal(amount), Decimal(step))) == result


@pytest.mark.parametrize(
    ("spread", "step"), [(0.0, "0.01"), (0.034, "0.01"), (0.34, "0.01"), (7.5, "0.1"), (75.0, "1"), (750.0, "1E+1")]
)
def test_an_uncertain_amount_keeps_two_digits_of_its_uncertainty_at_most(spread: float, step: str) -> None:
    """JCGM 100:2008, 7.2.6."""
    assert step_of(spread, Decimal("0.01")) == Decimal(step)


def test_money_with_one_decimal_is_written_with_two() -> None:
    written = [money_words(Decimal(amount), "EUR") for amount in ("116.9", "705", "0.125")]
    assert written == ["116.90 EUR", "705 EUR", "0.125 EUR"]


def test_words_and_days() -> None:
    assert money_words(Decimal("1234567.50"), "EUR").replace("\N{NARROW NO-BREAK SPACE}", " ") == "1 234 567.50 EUR"
    assert valid_until(date(2026, 12, 25), 14) == date(2027, 1, 8)
    assert valid_until(date(2026, 1, 1), 0) == date(2026, 1, 1)
    assert valid_until(date(2026, 1, 1), 3650) == date(2035, 12, 30)
    for days in (-1, 3651):
        with pytest.raises(InputError, match=f"{days} days"):
            valid_until(date(2026, 1, 1), days)
    with pytest.raises(InputError):
        read_money("87.40", "line")
