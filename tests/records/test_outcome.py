"""Weight gain and readings against the prediction: E_n by hand, and what would have to be wrong."""

from datetime import UTC, datetime
from math import hypot, sqrt
from pathlib import Path

import pytest
from gold_on_nickel import GOLD, NICKEL, planned

from areakit.records.outcome import Outcome, outcome_json, outcomes_of, told_of
from areakit.reports.job_facts import facts_of
from areakit.reports.job_page import job_page
from areakit.service.desk import Desk
from areakit.service.job import NewJob, attach_json, open_job, show_job
from areakit.service.job_entries import Trial, Weighing
from areakit.service.job_run import StepRequest, begin_step

PLAN = planned()
CHARGE, EXPECTED = 0.4, 0.4 * 0.72 * GOLD  # A.min, mg: 35.28 mg


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))


def gold_run(desk: Desk, *, pieces: int = 1, plan: bool = True) -> str:
    """A job with 0.4 A.min of gold in all, weighed before at 10 g to 0.2 mg."""
    number = open_job(desk, NewJob(part="tag", quantity=pieces)).number
    if plan:
        attach_json(desk, number, "planned", PLAN)
    Weighing(when="before", mass="10.0000 ± 0.0002 g").write(desk, number)
    begin_step(desk, number, StepRequest(title="gold", metal="gold", charge="0.4 ± 0.008 A.min"))
    return number


def weigh(desk: Desk, number: str, gain_mg: float) -> list[str]:
    made = Weighing(when="after", mass=f"{10 + gain_mg * 1e-3:.7f} ± 0.0002 g").write(desk, number)
    return told_of(made.job, made.number)


def read(desk: Desk, number: str, value: str, method: str = "xrf", metal: str = "") -> list[str]:
    made = Trial(method=method, result="value", value=value, metal=metal).write(desk, number)
    return told_of(made.job, made.number)


def only(desk: Desk, number: str) -> Outcome:
    (found,) = outcomes_of(show_job(desk, number))
    return found


def test_a_weight_gain_against_charge_times_efficiency(desk: Desk) -> None:
    """E_n of ISO 13528: difference over the root sum of squares of both expanded uncertainties."""
    number = gold_run(desk)
    (words,) = weigh(desk, number, 33.0)
    found = only(desk, number)
    assert found.expected.value == pytest.approx(EXPECTED * 1e-6)
    spread_found = sqrt(2) * 0.2
    spread_expected = EXPECTED * hypot(0.008 / 0.4, 0.06 / 0.72)
    assert found.e_n == pytest.approx((33.0 - EXPECTED) / hypot(spread_found, spread_expected), rel=1e-4)
    assert found.agrees
    assert found.meanings == ()
    assert words == "Weight gain: 33.00 ± 0.28 mg on all pieces; by the charge 35.3 ± 3.0 mg. E_n -0.75: they agree."


@pytest.mark.parametrize(("share", "agrees"), [(0.99, True), (1.01, False), (-0.99, True), (-1.01, False)])
def test_they_agree_up_to_an_e_n_of_one(desk: Desk, share: float, agrees: bool) -> None:
    number = gold_run(desk)
    edge = hypot(sqrt(2) * 0.2, EXPECTED * hypot(0.008 / 0.4, 0.06 / 0.72))
    weigh(desk, number, EXPECTED + share * edge)
    assert only(desk, number).agrees is agrees


def test_what_a_light_gain_would_mean(desk: Desk) -> None:
    """24 mg of 35.28: 72 % becomes 49.0 %, or 0.4 A.min were 0.272 and the meter reads 47 % high."""
    words = weigh(desk, gold_run(desk), 24.0)
    ratio = 24.0 / EXPECTED
    assert f"{100 * (1 - ratio):.0f} % less than expected; they do not agree" in words[0]
    assert words[1] == f"If only the gold efficiency is off, it was {72 * ratio:.1f} % in place of 72.0 %."
    assert words[2] == (
        f"If only the meter is off, {0.4 * ratio:.3g} A·min passed in place of 0.4: "
        f"it reads {100 * (1 / ratio - 1):.0f} % too high."
    )
    assert "cleaning and activation" in words[3]
    assert words[4].startswith("The area is no part of this")


def test_a_heavy_gain_cannot_be_explained_beyond_faraday(desk: Desk) -> None:
    words = weigh(desk, gold_run(desk), 1.5 * EXPECTED)
    assert words[1] == "The gold efficiency cannot explain it alone: it would be 108 %."
    assert words[2].endswith("it reads 33 % too low.")
    assert "not dry" in words[3]


def test_lost_mass_is_named(desk: Desk) -> None:
    words = weigh(desk, gold_run(desk), -5.0)
    assert "The pieces lost mass" in " ".join(words)
    assert not any(line.startswith("If only") for line in words)


def test_two_metals_are_expected_together_and_the_larger_is_asked_about(desk: Desk) -> None:
    number = gold_run(desk)
    begin_step(desk, number, StepRequest(title="nickel", metal="nickel", charge="4 A.min"))
    nickel = 4 * 0.9 * NICKEL
    words = weigh(desk, number, EXPECTED + 0.8 * nickel)
    found = only(desk, number)
    assert found.metal == "gold and nickel"
    assert found.expected.value == pytest.approx((EXPECTED + nickel) * 1e-6)
    assert words[1] == "If only the nickel efficiency is off, it was 72.0 % in place of 90.0 %."


def test_a_reading_against_the_mean_by_the_charge(desk: Desk) -> None:
    """0.4 A.min over two pieces of 25 cm2 and 19.32 g/cm3: 17.64 mg, 0.365 um on each.

    The place adds a rectangle from the minimum (mean over 1.25) to as far above the mean.
    """
    number = gold_run(desk, pieces=2)
    (words,) = read(desk, number, "0.34 ± 0.02 um")
    found = only(desk, number)
    mean = EXPECTED / 2 * 1e-6 / (25e-4 * 19320)
    assert found.expected.value == pytest.approx(mean, rel=1e-4)
    relative = hypot(0.008 / 0.4, 0.06 / 0.72, 0.02, 2 * 0.02, 2 * 0.2 / sqrt(3))  # charge, efficiency, area, density
    assert found.expected.expanded_uncertainty == pytest.approx(mean * relative, rel=1e-3)
    assert found.e_n == pytest.approx((0.34e-6 - mean) / hypot(0.02e-6, mean * relative), rel=1e-3)
    assert words.startswith("X-ray fluorescence, gold: 0.340 ± 0.020 µm there; by the charge 0.365 ± 0.091 µm.")


def test_a_reading_by_itself_leaves_area_efficiency_and_meter_open(desk: Desk) -> None:
    """Half of the expected thickness: twice the area, half the efficiency, or half the charge."""
    number = gold_run(desk)
    mean = EXPECTED * 1e-6 / (25e-4 * 19320) * 1e6
    words = read(desk, number, f"{mean / 2:.6f} ± 0.02 um")
    assert words[1] == (
        "If only the area is off, it was 50 cm² in place of 25 cm²: look at faces, side walls and masks."
    )
    assert words[2] == "If only the gold efficiency is off, it was 36.0 % in place of 72.0 %."
    assert "0.2 A·min passed in place of 0.4: it reads 100 % too high" in words[3]
    assert words[4] == "A weight gain tells the area from the other two: weigh before and after."


@pytest.mark.parametrize(
    ("weight", "thickness", "said"),
    [
        (1.0, 0.5, "The weight gain agrees, so efficiency and meter do"),
        (0.5, 0.5, "The weight gain is off by as much, so it is efficiency or meter, not the area."),
        (0.7, 0.3, "The weight gain explains a part of it"),
        (1.4, 0.5, "The weight gain does not settle"),
    ],
)
def test_a_weight_gain_tells_the_area_from_the_rest(desk: Desk, weight: float, thickness: float, said: str) -> None:
    number = gold_run(desk)
    weigh(desk, number, weight * EXPECTED)
    mean = EXPECTED * 1e-6 / (25e-4 * 19320) * 1e6
    words = read(desk, number, f"{thickness * mean:.6f} ± 0.02 um")
    assert words[-1].startswith(said)
    assert any("area is off" in line for line in words) is not ("not the area" in said or "a part of it" in said)


def test_the_mean_by_weight_has_no_place_and_an_estimate_by_charge_is_no_reading(desk: Desk) -> None:
    number = gold_run(desk)
    read(desk, number, "0.5 um", method="charge-and-area")
    assert outcomes_of(show_job(desk, number)) == ()
    read(desk, number, "0.7 um", method="weight-gain")
    assert "place of the reading" not in only(desk, number).expected.budget


@pytest.mark.parametrize(("spread", "blunt"), [(0.29, False), (0.31, True)])
def test_so_wide_an_agreement_is_called_by_its_name(desk: Desk, spread: float, blunt: bool) -> None:
    """From 30 % of what was expected on, the ± of both together is too wide to say much."""
    number = gold_run(desk)
    own = sqrt((spread * EXPECTED) ** 2 - (EXPECTED * hypot(0.008 / 0.4, 0.06 / 0.72)) ** 2 - 0.2**2)
    made = Weighing(when="after", mass=f"10.0345 ± {own * 1e-3:.7f} g").write(desk, number)
    words = told_of(made.job, made.number)[0]
    assert words.endswith("they agree, but so wide a ± says little." if blunt else "they agree.")


def test_without_a_plan_nothing_is_expected_and_that_is_said(desk: Desk) -> None:
    number = gold_run(desk, plan=False)
    (words,) = weigh(desk, number, 30.0)
    assert words.startswith("Nothing to hold it against")
    assert read(desk, number, "0.4 um")[0].startswith("Nothing to hold it against")
    made = Trial(method="tape", result="pass").write(desk, number)
    assert told_of(made.job, made.number) == []


def test_record_paper_and_json_hold_the_same(desk: Desk) -> None:
    number = gold_run(desk)
    words = weigh(desk, number, 24.0)
    job = show_job(desk, number)
    body = outcome_json(only(desk, number))
    assert (body["agrees"], body["found"]["unit"], body["words"]) == (False, "mg", " ".join(words))
    assert body["e_n"] == pytest.approx(only(desk, number).e_n)
    assert facts_of(job).outcomes == (" ".join(words),)
    page = job_page(facts_of(job), photo=None, printed="2026-03-14")
    assert "Against the prediction" in page
    assert "they do not agree" in page
