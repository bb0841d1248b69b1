"""Claimed figures as they are written: what is read of them, and how sure each is."""

from dataclasses import replace

import pytest

from areakit.costing.claims import Claims, other_valences, read_claims, read_figure, valence_words
from areakit.errors import AreakitError
from areakit.plating.metals import bath

ROOT3 = 3**0.5


@pytest.mark.parametrize(
    ("text", "name", "overall", "value", "standard"),
    [
        ("12.5 cm2", "area", None, 12.5e-4, 0.05e-4 / ROOT3),  # half a unit of the last digit, rectangular (GUM 4.3.7)
        ("12 cm2", "area", None, 12e-4, 0.5e-4 / ROOT3),
        ("12.5 cm2 ± 1 cm2", "area", None, 12.5e-4, 0.5e-4),  # a stated ± has coverage factor 2
        ("12.5 cm2", "area", 0.02, 12.5e-4, 0.125e-4),  # 2 % overall
        ("12.5 cm2 ± 1 cm2", "area", 0.02, 12.5e-4, 0.5e-4),
        ("0.5 um", "required", 0.02, 0.5e-6, 0.0),  # a demand is exact
        ("1/2 in", "thickness", None, 0.0127, 0.0),  # a fraction has no last digit
        ("2.50e1 mg", "mass", None, 25e-6, 0.05e-6 / ROOT3),
    ],
)
def test_a_claim_is_as_sure_as_it_was_written(
    text: str, name: str, overall: float | None, value: float, standard: float
) -> None:
    found = read_figure(text, name, overall)
    assert found.value == pytest.approx(value)
    assert found.standard_uncertainty == pytest.approx(standard)
    assert set(found.budget) <= {f"{name} as claimed"}


@pytest.mark.parametrize("text", ["0 cm2", "-1 cm2", "1e-16 m2", "1e16 m2", "1e15 m2", "1e-15 m2"])
def test_a_claim_that_no_job_could_have_is_refused(text: str) -> None:
    with pytest.raises(AreakitError):
        read_figure(text, "area")


def test_the_largest_and_smallest_claims_are_read() -> None:
    for text in ("2e-15 m2", "9e14 m2"):
        assert read_figure(text, "area").value == float(text.split(" ")[0])


def test_claims_left_empty_are_none() -> None:
    found = read_claims({"area": " ", "mass": None, "metal": "gold"})  # type: ignore[dict-item]
    assert (found.area, found.mass, found.metal) == (None, None, "gold")
    assert found.pieces == 1


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        ({"colour": "red"}, "no claim called 'colour'"), ({"pieces": "0"}, "not a number of pieces"),
        ({"pieces": "12345678"}, "not a number of pieces"), ({"per": "dozen"}, "per 'dozen' is not known"),
        ({"thickness_is": "least"}, "thickness_is 'least'"),
        ({"bath": "gold-brush", "metal": "silver"}, "deposits gold, not silver"),
        ({"price": "75 EUR/g", "metal_line": "40 USD"}, "two currencies, EUR and USD"),
    ],
)  # fmt: skip
def test_what_is_no_claim_is_refused(entries: dict[str, str], told: str) -> None:
    with pytest.raises(AreakitError, match=told):
        read_claims(entries)


def test_money_of_one_currency_and_units_as_written_are_kept() -> None:
    found = read_claims({"price": "75.30 EUR/ozt", "metal_line": "40.00 EUR", "area": "2 in2", "pieces": "1234567"})
    assert (found.currency, found.pieces) == ("EUR", 1234567)
    assert found.units == {"price": "ozt", "area": "in2"}
    assert found.metal_line is not None
    assert found.metal_line.standard_uncertainty == pytest.approx(0.005 / ROOT3)


def test_a_metal_is_named_with_its_valence_and_the_others_that_its_baths_have() -> None:
    """Gold plates as gold(I) from cyanide and as gold(III) from acid baths; nickel as nickel(II) alone."""
    gold = read_claims({"bath": "gold-cyanide"})
    assert valence_words(gold) == "gold(I)"
    assert [words for _, words in other_valences(bath("gold-cyanide"))] == ["gold(III)"]
    assert valence_words(replace(gold, electrons=3.0)) == "gold(III)"
    assert other_valences(bath("nickel-watts")) == []


def test_a_factor_is_as_sure_as_it_was_written() -> None:
    plain = read_claims({"factor": "60 A.h/in3", "uncertainty": "4 %"}).factor
    said = read_claims({"factor": "60 ± 6 A.h/in3", "uncertainty": "4 %"}).factor
    assert plain is not None
    assert said is not None
    assert plain.standard_uncertainty / plain.value == pytest.approx(0.02)
    assert said.standard_uncertainty / said.value == pytest.approx(0.05)
    assert isinstance(read_claims({}), Claims)
