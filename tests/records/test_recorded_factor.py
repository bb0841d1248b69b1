"""Whose runs make the factor of a solution, and how it is told and printed."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from test_bottles import FULL, amount, bottle_of

from areakit.plating.metals import bath
from areakit.plating.own_factor import Observation
from areakit.records.bottles import Bottle
from areakit.records.observations import Seen, bath_age, coupons_of
from areakit.records.recorded_factor import (
    RecordedFactor,
    factor_json,
    kinds_counted,
    per_age,
    plating_factor,
    recorded_factor,
)
from areakit.uncertainty import Measured, exact

GOLD = bath("gold-cyanide")
FARADAY = 196.96657 / 96485.33212 * 3600.0  # g for one A.h of gold(I) at 100 %: 7.349


def seen(number: int, grams: float, *, bottle: str = "G1", brush: str = "", kind: Any = "weighing") -> Observation:
    per = 1e-3 / 3600.0
    return Observation(
        name=f"job {number}", run=f"{bottle} {number}", kind=kind, at=f"2026-03-{number:02d}T09:00:00Z", bottle=bottle,
        brush=brush, deposit=Measured(value=grams * per, unit="kg/C", budget={"balance": 0.01 * grams * per}), age=None,
    )  # fmt: skip


@pytest.fixture
def bottle(tmp_path: Path) -> Bottle:
    return bottle_of(tmp_path, ("filled", FULL))


def found(observations: tuple[Observation, ...], bottles: list[Bottle], **more: Any) -> RecordedFactor:
    given = {"solution": "bench-gold", "metal": "gold", "bottle": None, **more}
    return recorded_factor(bottles, Seen(observations=observations), **given)


MIXED = (
    *(seen(number, 5.0, brush="broad") for number in (1, 2, 3)), *(seen(number, 5.5, bottle="G2") for number in (4, 5)),
    *(seen(number, 6.0, bottle="G2", brush="broad", kind="coupon") for number in (6,)),
)  # fmt: skip


def test_a_bottle_or_brush_with_three_runs_stands_alone(bottle: Bottle) -> None:
    other = replace(bottle, label="G2")
    both = [bottle, other]
    all_runs = found(MIXED, both)
    assert all_runs.basis == "bench-gold (bottles G1, G2)"
    assert all_runs.factor is not None
    assert len(all_runs.factor.runs) == 6
    assert (all_runs.bottle, all_runs.bottles) == (None, ("G1", "G2"))
    alone = found(MIXED, both, bottle=bottle)
    assert (alone.basis, alone.bottle) == ("bottle G1", "G1")
    assert alone.factor is not None
    assert [run.bottle for run in alone.factor.runs] == ["G1"] * 3
    two = found(MIXED[:5], both, bottle=other)  # two runs of G2 are too few to stand alone
    assert two.basis == "bench-gold (bottles G1, G2)"
    brushed = found(MIXED, both, brush="broad")
    assert brushed.basis == "bench-gold (bottles G1, G2) with brush broad"
    assert brushed.factor is not None
    assert len(brushed.factor.runs) == 4
    assert found(MIXED, both, brush="fine").basis == all_runs.basis
    assert found(MIXED[:3], [bottle]).basis == "bench-gold (bottle G1)"


def test_without_runs_there_is_no_factor(bottle: Bottle) -> None:
    none = found((), [bottle])
    assert (none.basis, none.factor) == ("bench-gold", None)
    assert none.premise(GOLD) is None
    assert factor_json(none, GOLD, exact(19.32e3, "kg/m3"))["factor"] is None


def test_the_only_bottle_in_use_tells_the_age(tmp_path: Path) -> None:
    """0.5 A.h through half a litre: 1 A.h/L."""
    drew = ("drew", {"job": "2026-0001", "run": 4, "charge": amount(0.5, "A.h"), "metal_mass": amount(2.0, "g")})
    one = bottle_of(tmp_path, ("filled", FULL), drew)
    runs = tuple(replace(seen(number, 5.0 - 0.1 * number), age=3.6e6 * 0.2 * number) for number in range(1, 8))
    used = found(runs, [one])
    assert used.factor is not None
    assert used.factor.age == pytest.approx(3.6e6)
    assert found(runs, [one, replace(one, label="G2")]).factor.age is None  # type: ignore[union-attr]
    spent = replace(one, label="G3", discarded=True)
    assert found(runs, [spent, one]).factor.age == pytest.approx(3.6e6)  # type: ignore[union-attr]
    body = factor_json(used, GOLD, exact(19.32e3, "kg/m3"))["factor"]
    assert body["bath_age"] == pytest.approx(1.0)
    # a fifth of an A.h/L a run, 0.1 g of about 4.6: some 10 % an A.h/L
    assert body["drift_per_bath_age"] == pytest.approx(-0.1 / 0.2 / 4.6, rel=0.1)
    assert per_age(1e-7) == pytest.approx(0.36)


def test_a_factor_tells_its_days_runs_and_kinds(bottle: Bottle) -> None:
    told = found(MIXED, [bottle]).words()
    assert told.startswith("own factor of bench-gold (bottles G1, G2): ")
    assert "g/A·h from 6 runs, 2026-03-01 to 2026-03-06 (5 weighings, 1 coupon)" in told
    day = tuple(replace(seen(number, 5.0), at=f"2026-03-01T0{number}:00:00Z") for number in (1, 2, 3))
    assert "from 3 runs, 2026-03-01 (3 weighings)" in found(day, [bottle]).words()
    assert kinds_counted([seen(1, 5.0, kind="reading")] * 2) == "2 readings"


@pytest.mark.parametrize(("grams", "possible"), [(0.99 * FARADAY, True), (1.02 * FARADAY, False)])
def test_an_efficiency_above_one_is_no_premise(bottle: Bottle, grams: float, possible: bool) -> None:
    runs = tuple(seen(number, grams) for number in (1, 2, 3))
    premise = found(runs, [bottle]).premise(GOLD)
    assert (premise is not None) == possible
    if premise is not None:
        assert premise.name == "gold efficiency"
        assert premise.quantity.value == pytest.approx(grams / FARADAY, rel=1e-4)
        assert {name for name in premise.quantity.budget if "run" in name} == {"gold next run"}
        assert premise.origin.kind == "measured"


def test_the_factor_is_printed_as_labels_write_it(bottle: Bottle) -> None:
    """5 g/A.h of 19.32 g/cm3: a layer of 1 um on 1 dm2 weighs 193.2 mg and takes 2.3184 A.min."""
    runs = tuple(seen(number, 5.0) for number in (1, 2, 3))
    body = json.loads(json.dumps(factor_json(found(runs, [bottle]), GOLD, exact(19.32e3, "kg/m3"))))
    factor = body["factor"]
    assert (factor["runs"], factor["mean"]["unit"]) == (3, "g/A.h")
    assert factor["mean"]["value"] == factor["next_run"]["value"] == pytest.approx(5.0)
    assert factor["efficiency"]["value"] == pytest.approx(5.0 / FARADAY, rel=1e-4)
    assert (factor["plating_factor"]["value"], factor["plating_factor"]["unit"]) == (
        pytest.approx(193.2e-3 / 5.0 * 60.0), "A.min/dm2/um",
    )  # fmt: skip
    assert (factor["bath_age"], factor["drift_per_bath_age"], factor["outliers"]) == (0.0, None, [])
    two = factor_json(found(runs, [bottle, replace(bottle, label="G2")]), GOLD, exact(19.32e3, "kg/m3"))
    assert two["factor"]["bath_age"] is None
    first = body["observations"][0]
    assert (first["name"], first["run"], first["kind"], first["bottle"], first["brush"]) == (
        "job 1", "G1 1", "weighing", "G1", None,
    )  # fmt: skip
    assert (first["deposit"]["value"], first["bath_age"]) == (pytest.approx(5.0), None)
    assert first["efficiency"]["value"] == pytest.approx(5.0 / FARADAY, rel=1e-4)
    branded = found(tuple(seen(number, 5.0, brush="broad") for number in (1, 2)), [bottle])
    assert factor_json(branded, GOLD, exact(19.32e3, "kg/m3"))["observations"][0]["brush"] == "broad"
    relative = plating_factor(Measured(value=1.0, unit="kg/C", budget={"m": 0.01}), exact(1.0, "kg/m3"))
    assert relative.standard_uncertainty / relative.value == pytest.approx(0.01)


def test_a_run_apart_from_the_others_is_printed_with_what_would_be_without_it(bottle: Bottle) -> None:
    runs = (*(seen(number, 5.0 + 0.01 * number) for number in range(1, 6)), seen(7, 7.0))
    (outlier,) = factor_json(found(runs, [bottle]), GOLD, exact(19.32e3, "kg/m3"))["factor"]["outliers"]
    assert (outlier["run"], outlier["ratio"]) == ("G1 7", pytest.approx(1.39, abs=0.01))
    assert outlier["e_n"] > 1.5
    assert outlier["next_run_without"]["value"] == pytest.approx(5.03, abs=0.01)


def test_coupons_of_a_bottle_become_observations_and_one_of_nothing_is_told(tmp_path: Path) -> None:
    """100 mg for 0.02 A.h are 5 g/A.h; the first is plated when half of its own charge has passed."""
    coupon = {"charge": amount(0.02, "A.h"), "metal_mass": amount(100.0, "mg"), "brush": "broad"}
    bottle = bottle_of(
        tmp_path, ("filled", FULL), ("coupon", coupon), ("coupon", coupon),
        ("coupon", {**coupon, "metal_mass": amount(0.0, "mg")}),
    )  # fmt: skip
    told = coupons_of(bottle)
    assert [one.deposit.value * 3.6e6 for one in told.observations] == pytest.approx([5.0, 5.0])
    assert [one.age and one.age / 3.6e6 for one in told.observations] == pytest.approx([0.02, 0.06])
    assert [(one.kind, one.brush, one.bottle) for one in told.observations] == [("coupon", "broad", "G1")] * 2
    (left,) = told.left_out
    assert left == "coupon, entry 4 of bottle G1: 0 mg for 1.2 A·min is no deposit."
    assert bath_age(bottle).now == pytest.approx(3.6e6 * 0.12)
