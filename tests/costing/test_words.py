"""Findings in words: they say what was found, no more, and what could not be compared."""

import math
from dataclasses import replace

import pytest

from areakit.costing.claims import read_claims
from areakit.costing.consistency import Comparison
from areakit.costing.measured_part import MeasuredPart, read_choice
from areakit.costing.verdict import Verdict, check_claims
from areakit.costing.words import (
    agreement_words,
    chance_words,
    claim_words,
    error_words,
    explanation_words,
    floor_words,
    gap_words,
    headline,
    value_words,
)
from areakit.errors import InputError
from areakit.uncertainty import Measured, exact

SIDE = 20.0  # mm; a square foil: one face 4.00 cm2, both 8.00 cm2


def foil(thickness: float | None = None, *, masked_mm2: float = 0.0) -> MeasuredPart:
    corners = ((0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (0.0, SIDE), (0.0, 0.0))
    face = Measured(value=SIDE**2, unit="mm2", budget={"scale": 2.0})
    plated = Measured(value=SIDE**2 - masked_mm2, unit="mm2", budget={"scale": 2.0})
    return MeasuredPart(
        name="foil", rings=(corners,), face=face, perimeter_outer=exact(4 * SIDE, "mm"),
        perimeter_holes=exact(0.0, "mm"), thickness=None if thickness is None else exact(thickness, "mm"),
        faces="one", plated=plated,
    )  # fmt: skip


def check(part: MeasuredPart | None = None, **entries: str) -> Verdict:
    return check_claims(read_claims(entries), part)


@pytest.mark.parametrize(
    ("error", "words"), [(0.4321, "+0.43"), (-3.25, "−3.25"), (123.4, "+123"), (-math.inf, "no limit")]
)
def test_a_normalised_error_has_two_digits_and_a_sign(error: float, words: str) -> None:
    assert error_words(error) == words


def test_the_one_choice_of_faces_that_fits_is_named() -> None:
    verdict = check(foil(3.0), area="8.00 cm2", uncertainty="1%")
    assert headline(verdict) == "Everything agrees; the area is that of both faces."


def test_choices_that_cannot_be_told_apart_are_both_named() -> None:
    """The edges of 10 um foil add 80 mm x 0.01 mm, a thousandth of both faces."""
    verdict = check(foil(0.01), area="8.00 cm2", uncertainty="1%")
    assert headline(verdict) == (
        "Everything agrees; the area fits that of both faces and of all over (both faces and the edges), "
        "which cannot be told apart."
    )


def test_only_the_claimed_choice_decides() -> None:
    verdict = check(foil(3.0), area="6.40 cm2", faces="front-and-edges", uncertainty="1%")  # 400 + 80 x 3 mm2
    assert verdict.agrees
    assert headline(verdict) == "Everything agrees within the stated uncertainty."
    assert [one.choice for one in verdict.comparisons if one.decides] == ["front-and-edges"]
    without_edges = check(foil(3.0), area="4.00 cm2", faces="front-and-edges", uncertainty="1%")
    assert without_edges.explanations[0].keys == ("edges",)


def test_a_masked_part_is_compared_as_it_was_masked_too() -> None:
    verdict = check(foil(3.0, masked_mm2=100.0), area="3.00 cm2", uncertainty="1%")
    assert headline(verdict) == "Everything agrees; the area is that of the surface as it was masked."
    wrong = check(foil(3.0, masked_mm2=100.0), area="4.00 cm2", faces="given", uncertainty="1%")
    assert wrong.failing == ("area",)
    assert wrong.explanations == ()


def test_without_a_claimed_area_the_measured_one_is_used() -> None:
    """4 cm2 of gold, 0.5 um, 19.32 g/cm3: 3.864 mg (product of the three)."""
    verdict = check(foil(), metal="gold", density="19.32 g/cm3", thickness="0.5 um", mass="3.864 mg", uncertainty="1%")
    assert verdict.agrees
    assert verdict.comparisons[0].ratio == pytest.approx(1.0, rel=1e-6)
    assert verdict.comparisons[0].uses == ("mass", "faces", "thickness")


def test_a_slip_behind_two_disagreements_says_how_many_it_settles() -> None:
    """Metal Finishing Guidebook: 37.7 in2, 0.002 in, 150 A.h/in3: 11.31 A.h, here written as A.min."""
    verdict = check(bath="nickel-brush-acid", area="37.7 in2", thickness="0.00200 in", factor="150 A.h/in3",
                    current="30.0 A", time="22.6 min", charge="11.31 A.min")  # fmt: skip
    words = explanation_words(verdict.explanations[0], verdict)
    assert "settles 2 of 2 disagreements" in words
    assert headline(verdict) == f"2 of {len(verdict.agreement)} comparisons do not agree."


def test_a_slip_that_would_upset_what_agrees_says_so() -> None:
    """One face was counted for two, and the mass worked out from it: 4 cm2 x 0.5 um x 19.32 g/cm3 are 3.864 mg."""
    verdict = check(foil(3.0), metal="gold", density="19.32 g/cm3", faces="both", area="4.00 cm2", thickness="0.5 um",
                    mass="3.864 mg", uncertainty="1%")  # fmt: skip
    assert verdict.failing == ("area",)
    slip = next(one for one in verdict.explanations if one.keys == ("one-face",))
    words = explanation_words(slip, verdict)
    assert "what agrees now (metal mass against area" in words
    assert words.endswith("would then rest on the same slip.")


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        ({"area": "4 cm2", "mass": "3 mg"}, "The mass was not compared"),
        ({"area": "4 cm2", "thickness": "1 um", "density": "19.3 g/cm3", "charge": "1 A.min"}, "The charge was not"),
        ({"factor": "60 A.h/in3", "density": "19.3 g/cm3", "area": "4 cm2"}, "The plating factor was not compared"),
    ],
)
def test_what_needs_a_metal_is_said_to_have_been_left_out(entries: dict[str, str], told: str) -> None:
    """A density alone weighs a layer, but Faraday's law wants the ion's charge and molar mass too."""
    verdict = check(foil(3.0), **entries)
    (gap,) = gap_words(verdict)
    assert told in gap
    assert gap.endswith("because no metal was named.")


def test_a_missing_thickness_is_said_to_hide_the_edges() -> None:
    verdict = check(foil(), area="4.00 cm2", metal="gold")
    assert ["The area all over could not be compared" in gap for gap in gap_words(verdict)] == [True]


def test_a_part_that_is_not_flat_misses_no_thickness_but_other_faces() -> None:
    part = replace(foil(), form="turned", faces="all")
    told = [gap_words(check(part, area="4.00 cm2", faces=faces, metal="gold")) for faces in ("all", "one")]
    assert told[0] == []
    (gap,) = told[1]
    assert "The area of one face could not be compared" in gap
    assert "turned part, all over" in gap


@pytest.mark.parametrize(
    ("mass", "words"),
    [("9.6 mg", "so it cannot be told."), ("8.0 mg", "misses the requirement."), ("11.6 mg", "enough")],
)
def test_the_floor_is_told_in_words(mass: str, words: str) -> None:
    """10 cm2 x 0.5 um x 19.32 g/cm3 are 9.66 mg (product of the three)."""
    verdict = check(
        metal="gold", area="10.0 cm2", required="0.5 um", mass=mass, density="19.32 g/cm3", uncertainty="2%"
    )
    assert verdict.floor is not None
    assert words in floor_words(verdict.floor)


def test_the_claims_are_repeated_with_what_they_stand_for() -> None:
    claims = read_claims(
        {"thickness": "0.5 um", "thickness_is": "minimum", "allowance": "1.2", "area": "4 cm2", "pieces": "20",
         "per": "lot", "charge": "3 A.min"}
    )  # fmt: skip
    lines = claim_words(claims)
    assert lines[0].startswith("thickness: 0.5")
    assert lines[0].endswith(", minimum")
    assert any(line.startswith("mean over minimum thickness: 1.2") for line in lines)
    assert lines[-1] == "mass, charge and cost are of the lot of 20"
    assert claim_words(read_claims({"area": "4 cm2", "faces": "front"})) == ["faces: one face"]


def test_each_kind_of_quantity_is_shown_in_the_unit_of_its_trade() -> None:
    def words(value: float, unit: str) -> str:
        side = Measured(value=value, unit=unit, budget={"a": 0.01 * value})
        return value_words(Comparison(key="k", title="t", claimed=side, expected=side, uses=()))[0]

    inch3 = 0.0254**3  # exact
    assert words(60 * 3600 / inch3, "C/m3") == "60 ± 1.2 A·h/in³"
    assert words(0.72, "1") == "72 ± 1.4 %"
    assert words(4e-4, "m2").startswith("4.00")
    assert words(12.5, "EUR").endswith("EUR")


def test_how_far_off_is_a_percentage_or_a_multiple() -> None:
    one = Comparison(key="k", title="t", claimed=exact(1.0, "kg"), expected=exact(1.0, "kg"), uses=())
    assert agreement_words(one) == "agrees"
    assert agreement_words(replace(one, claimed=exact(1.5, "kg"))) == "does not agree: +50.0 %"
    assert agreement_words(replace(one, claimed=exact(6.4516, "kg"))) == "does not agree: 6.45 times"
    assert agreement_words(replace(one, claimed=exact(0.25, "kg"))) == "does not agree: 1/4 of it"


def test_an_efficiency_that_nobody_stated_is_implied() -> None:
    """0.5 C of Ag at 1.118 mg/C (molar mass 107.868 over Faraday's constant) are 0.559 mg; 0.4 mg imply 71.6 %."""
    verdict = check(bath="silver-cyanide", mass="0.4000 mg", charge="0.5000 C")
    (one,) = verdict.comparisons
    assert one.claimed.value == pytest.approx(0.4 / 0.559, rel=1e-3)
    assert verdict.agrees
    assert one.note.startswith("implies a cathode efficiency of 71.6 %")
    assert one.note.endswith("(usual for this bath: 98 to 100 %, working figures)")
    assert headline(check(bath="silver-cyanide", mass="0.9000 mg", charge="0.5000 C")) == "The figures do not agree."
    # a chart of the Nickel Institute stands behind nickel's range
    (nickel,) = check(bath="nickel-watts", mass="0.1400 mg", charge="0.5000 C").comparisons
    assert "(usual for this bath: 93 to " in nickel.note
    assert "working figures" not in nickel.note


@pytest.mark.parametrize(("thickness", "note", "agrees"), [("2 um", "meets it", True), ("1.5 um", "", False)])
def test_a_layer_is_held_against_what_was_asked_for(thickness: str, note: str, agrees: bool) -> None:
    verdict = check(metal="gold", thickness=f"{thickness} ± 0.1 um", required="2 um", thickness_is="minimum")
    one = next(one for one in verdict.comparisons if one.key == "requirement")
    assert (one.note, one.agrees) == (note, agrees)


def test_faces_are_read_as_people_write_them() -> None:
    assert [read_choice(text) for text in ("Both", "front", "all over", " edges ")] == ["both", "one", "all", "walls"]
    with pytest.raises(InputError, match="'lid' is not a choice of faces"):
        read_choice("lid")


def test_how_often_chance_explains_is_said_where_a_slip_would_explain() -> None:
    wrong = check(foil(3.0), area="4.00 cm2", faces="both", uncertainty="1%")
    assert "of random figures" in chance_words(wrong).lower()
    assert chance_words(wrong).endswith("An explanation is a question to ask, not a proof.")
    assert chance_words(check(foil(3.0), area="8.00 cm2", faces="both", uncertainty="1%")) == ""
    assert chance_words(check(foil(3.0), area="11.1 cm2", faces="both", uncertainty="1%")) == ""


def test_a_named_bath_is_repeated() -> None:
    assert claim_words(read_claims({"bath": "gold-cyanide", "area": "4 cm2"}))[0].startswith("metal: gold(I)")
