"""A plating factor becomes an implied efficiency, and what cannot be is flagged with the likely slip."""

import pytest

from areakit.errors import RangeError
from areakit.plating.deposit import table_density
from areakit.plating.efficiency import from_factor, half_digit, judge_factor
from areakit.plating.metals import bath
from areakit.plating.premise import given
from areakit.plating.solutions import read_factor


def judge(key: str, text: str):  # type: ignore[no-untyped-def]
    factor, unit = read_factor(text)
    kind = bath(key)
    return judge_factor(kind, factor, density=table_density(kind).value, unit=unit)


# ASM Handbook volume 5, selective plating Table 1: rows as printed. Every row but two is possible.
@pytest.mark.parametrize(
    ("key", "printed"),
    [
        ("gold-brush", "0.006"),
        ("nickel-brush-alkaline", "0.017"),
        ("nickel-brush-acid", "0.047"),
        ("copper-brush", "0.013"),
        ("silver-brush", "0.004"),  # 107 %, but 95 to 122 % for its digits
        ("palladium-brush", "0.019"),
        ("platinum-brush", "0.015"),
        ("rhodium-brush", "0.030"),
        ("cobalt-brush", "0.014"),
        ("chromium-brush", "0.200"),
    ],
)
def test_printed_rows_pass(key: str, printed: str) -> None:
    assert judge(key, f"{printed} A.h/in2/0.0001in") is None


def test_the_printed_row_for_noncyanide_silver_is_flagged() -> None:
    finding = judge("silver-brush", "0.750 A.h/in2/0.0001in")  # 0.6 %: a misprint
    assert finding is not None
    assert "below 5 %" in finding.message
    assert "factor of a hundred" in finding.remedy


def test_platinum_four_is_named_as_the_wrong_valence() -> None:
    finding = judge("platinum-4", "0.015 A.h/in2/0.0001in")
    assert finding is not None
    assert finding.severity == "stop"
    assert "129 %" in finding.message
    assert "valence (platinum with 2 electrons" in finding.remedy


def test_a_number_under_the_wrong_unit_is_named() -> None:
    finding = judge("gold-cyanide", "60 A.min/dm2/um")  # 60 is the number in A·h/in³
    assert finding is not None
    assert "A.h/in3" in finding.remedy
    finding = judge("gold-cyanide", "2.2 A.h/in3")  # 2.2 is the number in A·min/dm²/µm
    assert finding is not None
    assert "A.min/dm2/um" in finding.remedy


@pytest.mark.parametrize(("text", "words"), [("600 A.h/in3", None), ("6 A.h/in3", "factor of ten too small")])
def test_a_lost_decimal_is_named(text: str, words: str | None) -> None:
    finding = judge("gold-cyanide", text)
    if words is None:
        assert finding is None  # 7 %: poor, but a gold strike can be so
    else:
        assert finding is not None
        assert words in finding.remedy


def test_an_impossible_factor_is_refused_with_its_remedy() -> None:
    kind = bath("gold-cyanide")
    factor, _ = read_factor("6 A.h/in3")
    with pytest.raises(RangeError, match="718 %"):
        from_factor(kind, factor, density=table_density(kind).quantity, origin=given())


def test_the_trade_units_agree_with_each_other() -> None:
    # definition: 1e4 x the handbook's factor is the factor per cubic inch; 1 A·h/in³ = 0.03662 A·min/(dm²·µm)
    per_cubic_inch = read_factor("60 A.h/in3")[0].value
    assert read_factor("0.006 A·h/in²/0.0001in")[0].value == pytest.approx(per_cubic_inch)
    assert read_factor(f"{60 * 0.03662} A·min/dm²/µm")[0].value == pytest.approx(per_cubic_inch, rel=2e-4)


@pytest.mark.parametrize(
    ("text", "half"), [("0.006", 0.0005), ("0.030 x", 0.0005), ("150", 0.5), ("2,2", 0.05), ("6e-3", 0.0005)]
)
def test_half_a_digit(text: str, half: float) -> None:
    assert half_digit(text) == pytest.approx(half)
