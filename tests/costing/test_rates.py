"""The settings file of a shop."""

import tomllib
from decimal import Decimal

import pytest

from areakit.costing.rates import rates_text, read_rates, share
from areakit.errors import InputError


def test_the_example_reads_back_as_written() -> None:
    rates = read_rates(rates_text(example=True, currency="CHF"))
    assert rates.currency == "CHF"
    assert rates.per_hour == Decimal("48.00")
    assert rates.set_up * 60 == pytest.approx(Decimal(20))
    assert rates.labour_share(9) == 1
    assert rates.labour_share(10) == Decimal("0.9")
    assert rates.labour_share(500) == Decimal("0.8")


def test_a_new_file_is_valid_toml_with_a_comment_for_each_entry_and_no_amount_made_up() -> None:
    text = rates_text(currency="EUR")
    body = tomllib.loads(text)
    assert body["labour"]["per_hour"] == ""
    assert body["limits"]["minimum_charge"] == ""
    lines = text.splitlines()
    for number, line in enumerate(lines):
        if "=" in line and not line.startswith("#"):
            assert lines[number - 1].startswith("#"), line


def test_everything_to_mend_is_named_at_once() -> None:
    text = rates_text(currency="EUR", example=True)
    text = text.replace('"48.00"', '"much"').replace('"15 %"', '"5000 %"').replace("scrap =", "scarp =")
    with pytest.raises(InputError) as caught:
        read_rates(text)
    for where in ("labour.per_hour", "shares.margin of", "shares.scrap is empty", "shares.scarp is not known"):
        assert where in caught.value.message, caught.value.message


def test_a_currency_is_asked_for_and_made_up_only_in_the_example() -> None:
    """ISO 4217; a new file without one leaves it empty."""
    codes = [tomllib.loads(rates_text(**more))["currency"] for more in ({}, {"example": True}, {"currency": "CHF"})]
    assert codes == ["", "EUR", "CHF"]
    with pytest.raises(InputError):
        rates_text(currency="euro")


@pytest.mark.parametrize(("entries", "more"), [(22, False), (23, True)])
def test_two_dozen_entries_to_mend_are_named_and_no_more(entries: int, more: bool) -> None:
    """Two are wrong anyway: the currency, and a table that is none."""
    strange = "\n".join(f'strange_{number} = "1"' for number in range(entries))
    text = rates_text(currency="EUR", example=True).replace('"EUR"', '"euro"', 1).replace('"48.00"', '"much"')
    with pytest.raises(InputError) as caught:
        read_rates(f"{strange}\n{text}")
    assert f"hold {entries + 2} entries to fix" in caught.value.message
    assert caught.value.message.endswith(" and more.") == more


@pytest.mark.parametrize(("text", "share_of_one"), [("0 %", 0.0), ("1000 %", 10.0), ("12.5 %", 0.125)])
def test_a_share_reaches_from_nothing_to_ten_times(text: str, share_of_one: float) -> None:
    assert float(share(text)) == share_of_one
    for wrong in ("-0.1 %", "1000.1 %"):
        with pytest.raises(ValueError, match="outside 0 to 1000 %"):
            share(wrong)


def test_days_are_whole_numbers() -> None:
    text = rates_text(currency="EUR", example=True)
    assert read_rates(text).valid_days == 14


@pytest.mark.parametrize(
    "tail",
    ['[metals.gold]\nprice = "75 USD/g"\ndate = "2026-01-31"', '[metals.gold]\nprice = "75 EUR/g"',
     '[metals.gold]\nprice = "75"\ndate = "2026-01-31"'],
)  # fmt: skip
def test_a_metal_price_in_another_currency_or_without_its_day_is_refused(tail: str) -> None:
    with pytest.raises(InputError):
        read_rates(rates_text(example=True) + "\n" + tail)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("valid_days", '"soon"', "is not a number of days"),
        ("per_hour", '"-1"', "'-1' is not an amount of zero or more"),
        ("per_hour", '"Infinity"', "'Infinity' is not an amount of zero or more"),
        ("rounding", '"0"', "must be above zero"),
    ],
)
def test_an_entry_out_of_its_bounds_is_named(old: str, new: str, told: str) -> None:
    text = rates_text(currency="EUR", example=True)
    line = next(line for line in text.splitlines() if old in line.split(" = ")[0] and not line.startswith("#"))
    with pytest.raises(InputError, match=told):
        read_rates(text.replace(line, f"{line.split(' = ')[0]} = {new}"))


@pytest.mark.parametrize(
    ("tail", "told"),
    [
        ('[breaks]\n"many" = "90 %"', "breaks.many is not for a number of pieces"),
        ('[solutions]\n"gold-brush" = "dear"', "solutions.gold-brush 'dear' is not a plain amount"),
        ('[metals]\ngold = "75 EUR/g"', "table metals of the rates is not understood"),
        ('[solutions.gold-brush]\nprice = "3"', "table solutions of the rates is not understood"),
    ],
)
def test_a_table_that_is_not_understood_says_how_to_write_it(tail: str, told: str) -> None:
    text = rates_text(currency="EUR", example=True)
    without_tables = text[: text.index("[solutions]")]
    with pytest.raises(InputError, match=told) as caught:
        read_rates(f"{without_tables}\n{tail}")
    assert caught.value.remedy


def test_wrong_rows_of_solutions_and_breaks_are_named_with_all_others() -> None:
    text = rates_text(currency="EUR", example=True)
    right = read_rates(text)
    assert (set(right.solutions), set(right.breaks)) == ({"gold", "nickel"}, {10, 50})
    wrong = text.replace('nickel = "25.00"', 'nickel = "-1"').replace('50 = "80 %"', '50 = "1001 %"')
    with pytest.raises(InputError, match="hold 3 entries to fix") as caught:
        read_rates(wrong.replace('days = "14"', 'days = "soon"'))
    named = caught.value.fields["areakit rates"].split("\n")
    assert named[1:] == ["solutions.nickel", "breaks.50"]
    assert named[0].endswith("days")
