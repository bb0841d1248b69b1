"""Pairs that physics ties together, on worked examples of textbooks and handbooks."""

import math

import pytest

from areakit.costing.claims import FIELDS, read_claims
from areakit.costing.verdict import Verdict, check_claims
from areakit.errors import AreakitError
from areakit.uncertainty import Measured, exact, normalised_error


def check(**entries: str) -> Verdict:
    return check_claims(read_claims(entries))


def key(verdict: Verdict, name: str) -> float:
    return next(one for one in verdict.comparisons if one.key == name).ratio


def test_the_normalised_error_is_that_of_the_standard() -> None:
    """ISO 13528: difference over root of the sum of squared expanded uncertainties. 10.4 and 10.0, U 0.3 and 0.4."""
    value = Measured(value=10.4, unit="g", budget={"a": 0.15})
    reference = Measured(value=10.0, unit="g", budget={"b": 0.2})
    assert normalised_error(value, reference) == pytest.approx(0.4 / 0.5)
    assert normalised_error(exact(1.0, "g"), exact(1.0, "g")) == 0.0
    assert normalised_error(exact(2.0, "g"), exact(1.0, "g")) == math.inf


def test_openstax_silver_current_time_and_mass_agree() -> None:
    """OpenStax Chemistry, electrolysis: 10.23 A for 1 h deposit 41.19 g of silver (41.17 with exact constants)."""
    verdict = check(
        metal="silver", current="10.23 A", time="1.000 h", mass="41.19 g", efficiency="100 ± 0 %", uncertainty="0.1%"
    )
    assert verdict.agrees
    assert key(verdict, "mass-charge") == pytest.approx(41.19 / 41.173, rel=1e-4)


def test_openstax_zinc_gives_the_area_of_an_irregular_part() -> None:
    """OpenStax exercise: 2.599 A for 1 h, 0.01123 mm, 7.140 g/cm3, which is 3.170 g on 395.35 cm2."""
    entries = {"metal": "zinc", "current": "2.599 A", "time": "1.000 h", "thickness": "0.01123 mm",
               "density": "7.140 g/cm3", "efficiency": "100 ± 0 %", "uncertainty": "0.1%"}  # fmt: skip
    assert check(**entries, area="395.4 cm2").agrees
    assert not check(**entries, area="197.7 cm2").agrees
    assert "one-face" in {k for one in check(**entries, area="197.7 cm2").explanations for k in one.keys}


def test_textbook_earring_price_of_the_metal() -> None:
    """Disc of 4.00 cm, 0.25 mm of gold on both faces of a pair, 19.3 g/cm3, 320 USD an ounce of 31.10 g: 249.55 USD."""
    verdict = check(
        metal="gold", area="50.27 cm2", thickness="0.2500 mm", density="19.30 g/cm3", price="320.0 USD/ozt",
        metal_line="249.5 USD", uncertainty="0.1%",
    )  # fmt: skip
    assert verdict.agreement["metal-line"]
    assert key(verdict, "metal-line") == pytest.approx(1.0, abs=5e-4)


def test_guidebook_brush_job_agrees_and_with_ampere_minutes_does_not() -> None:
    """Metal Finishing Guidebook: bore of 37.7 in2, 0.002 in, factor 150 A.h/in3: 11.31 A.h; 30 A for 22.6 min."""
    entries = {"bath": "nickel-brush-acid", "area": "37.7 in2", "thickness": "0.00200 in", "factor": "150 A.h/in3",
               "current": "30.0 A", "time": "22.6 min"}  # fmt: skip
    right = check(**entries, charge="11.31 A.h")
    assert right.agreement["charge-factor"]
    assert right.agreement["charge-time"]
    wrong = check(**entries, charge="11.31 A.min")
    assert set(wrong.failing) == {"charge-factor", "charge-time"}
    first = wrong.explanations[0]
    assert first.keys == ("ah-amin-reverse",)
    assert set(first.settles) == {"charge-factor", "charge-time"}


def test_foil_plated_on_both_faces_with_one_face_counted() -> None:
    """Physics textbook: zinc, 130 nm on both faces of 3.0 x 3.0 cm, 7.140 g/cm3: 4.931 C, not half of it."""
    entries = {"metal": "zinc", "thickness": "130 nm", "density": "7.140 g/cm3", "charge": "4.931 C",
               "efficiency": "100 ± 0 %", "uncertainty": "1%"}  # fmt: skip
    assert check(**entries, area="18.0 cm2").agrees
    wrong = check(**entries, area="9.00 cm2")
    assert "one-face" in {k for one in wrong.explanations for k in one.keys}


# 0.5 um of fine gold are 0.966 mg/cm2 (density 19.32); ISO 10713 gives the same rule as mass.
@pytest.mark.parametrize(
    ("mass", "misses", "undecided"), [("8.0 mg", True, False), ("9.6 mg", False, True), ("11.6 mg", False, False)]
)
def test_a_mass_below_the_floor_is_said_to_miss_the_requirement(mass: str, misses: bool, undecided: bool) -> None:
    verdict = check(
        metal="gold", area="10.0 cm2", required="0.5 um", mass=mass, density="19.32 g/cm3", uncertainty="2%"
    )
    assert verdict.floor is not None
    assert verdict.floor.needed.value == pytest.approx(9.66e-6, rel=1e-3)
    assert (verdict.floor.misses, verdict.floor.undecided) == (misses, undecided)
    assert verdict.agrees is not misses


def test_a_metal_line_below_the_floor_misses_it_too() -> None:
    verdict = check(
        metal="gold",
        area="10.0 cm2",
        required="0.5 um",
        price="75.30 EUR/g",
        metal_line="0.55 EUR",
        density="19.32 g/cm3",
    )
    assert verdict.floor is not None
    assert verdict.floor.misses


def test_the_lot_is_not_one_piece() -> None:
    entries = {"metal": "gold", "area": "10.0 cm2", "thickness": "0.5 um", "density": "19.32 g/cm3", "pieces": "20",
               "mass": "193 mg", "uncertainty": "2%"}  # fmt: skip
    assert check(**entries, per="lot").agrees
    wrong = check(**entries, per="piece")
    assert wrong.explanations[0].keys == ("lot",)


@pytest.mark.parametrize(
    "entries",
    [{"area": "12,500 cm2"}, {"area": "-3 cm2"}, {"area": "3 g"}, {"weight": "3 g"}, {"faces": "inside"},
     {"pieces": "2.5"}, {"metal": "unobtainium"}, {"bath": "gold-cyanide", "metal": "nickel"}, {"mass": "1 oz"},
     {"price": "3 EUR/g", "metal_line": "4 USD"}, {"thickness_is": "thick"}, {"area": "1e-300 cm2"},
     {"mass": "1e300 kg"}],
)  # fmt: skip
def test_a_claim_that_cannot_be_read_gets_one_sentence_and_a_remedy(entries: dict[str, str]) -> None:
    with pytest.raises(AreakitError) as caught:
        read_claims(entries)
    assert caught.value.message.endswith(".")
    assert caught.value.remedy


def test_every_field_is_read() -> None:
    values = {
        "name": "x", "metal": "gold", "bath": "gold-cyanide", "faces": "both", "thickness_is": "mean",
        "factor": "60 A.h/in3", "pieces": "2", "per": "lot", "price": "75 EUR/g", "metal_line": "4 EUR",
        "area": "1 cm2", "thickness": "1 um", "required": "1 um", "mass": "2 mg", "charge": "1 A.min",
        "current": "1 A", "time": "1 min", "efficiency": "72 %", "allowance": "1.2", "density": "19 g/cm3",
        "uncertainty": "2 %", "current_density": "1 A/dm2", "footprint": "4 cm2",
    }  # fmt: skip
    assert set(values) == set(FIELDS)
    claims = read_claims(values)
    assert claims.efficiency is not None
    assert claims.efficiency.value == pytest.approx(0.72)
    assert claims.currency == "EUR"
