"""A bench's own deposit per charge: runs averaged, few runs widened, outliers told, drift only where it shows."""

import math

import numpy as np
import pytest

from areakit.plating.mandel_paule import coverage
from areakit.plating.metals import bath
from areakit.plating.own_factor import (
    FEWEST_FOR_DRIFT,
    Observation,
    OwnFactor,
    efficiency_of,
    fold,
    runs_of,
)
from areakit.uncertainty import Measured, surer

PER_VOLUME = 3.6e6  # C/m3 in one A.h/L


def seen(deposit: float, own: float = 0.01, *, run: str = "1", age: float | None = None, **more: float) -> Observation:
    """One observation of so many g/A.h; ``own`` and what else is named are relative standard shares."""
    per = 1e-3 / 3600.0
    budget = {"balance": own * deposit * per, **{name.replace("_", " "): s * deposit * per for name, s in more.items()}}
    return Observation(
        name=f"job {run}", run=run, kind="weighing", at=f"2026-03-{len(run):02d}T0{run[-1]}:00:00Z", bottle="G7",
        brush="", deposit=Measured(value=deposit * per, unit="kg/C", budget=budget),
        age=None if age is None else age * PER_VOLUME,
    )  # fmt: skip


def folded(observations: list[Observation], age: float | None = None) -> OwnFactor:
    found = fold(observations, age=age)
    assert found is not None
    return found


def grams(quantity: Measured) -> float:
    return quantity.value * 3.6e6


def test_one_run_is_no_factor_and_two_are_a_wide_one() -> None:
    assert fold([seen(4.5)]) is None
    assert fold([seen(4.5), seen(4.6)]) is None  # two weighings of the same run
    found = folded([seen(4.5, run="1"), seen(4.6, run="2")])
    assert found.deposit.relative_expanded_uncertainty > 0.1


def test_equal_weights_give_the_geometric_mean_and_students_factor() -> None:
    """Ten runs that scatter by far more than each is known to: mean, standard deviation and t of a plain sample."""
    values = [4.1, 4.9, 4.4, 4.7, 4.2, 4.8, 4.5, 4.6, 4.3, 5.0]
    found = folded([seen(value, 1e-4, run=str(number)) for number, value in enumerate(values)])
    logs = np.log(values)
    assert grams(found.mean) == pytest.approx(math.exp(logs.mean()))
    assert found.between == pytest.approx(logs.std(ddof=1), rel=1e-4)
    expected = coverage(9) / 2.0 * logs.std(ddof=1) / math.sqrt(10)
    assert found.mean.budget["mean of the runs"] / found.mean.value == pytest.approx(expected, rel=1e-4)


def test_evidence_of_one_run_is_averaged_before_runs_are_compared() -> None:
    """Weights 4 and 1 for half and whole the uncertainty; the charge that both rest on does not average out."""
    (run,) = runs_of([seen(4.0, 0.01, run_1__digits=0.03), seen(5.0, 0.02, run_1__digits=0.03)])
    assert run.deposit * 3.6e6 == pytest.approx(math.exp((4 * math.log(4.0) + math.log(5.0)) / 5))
    assert run.standard == pytest.approx(math.hypot(1.0 / math.sqrt(1 / 0.01**2 + 1 / 0.02**2), 0.03))


def test_what_all_runs_share_does_not_average_out() -> None:
    found = folded([seen(4.5, 0.001, run=str(n), ammeter=-0.02) for n in range(20)])
    assert found.deposit.budget["ammeter"] / found.deposit.value == pytest.approx(-0.02)
    assert found.deposit.relative_expanded_uncertainty == pytest.approx(0.04, rel=0.01)


def test_an_outlier_is_told_counted_and_set_beside_what_the_others_say() -> None:
    good = [seen(value, run=str(n)) for n, value in enumerate((4.5, 4.55, 4.45, 4.52, 4.48))]
    plain = folded(good)
    assert plain.outliers == ()
    found = folded([*good, seen(3.0, run="9")])
    (outlier,) = found.outliers
    assert outlier.run == "9"
    assert outlier.ratio == pytest.approx(3.0 / grams(plain.deposit), rel=1e-6)
    expected = math.log(outlier.ratio) / (
        2.0 * math.hypot(0.01, plain.deposit.budget["next run"] / plain.deposit.value)
    )
    assert outlier.e_n == pytest.approx(expected)
    assert grams(outlier.without) == pytest.approx(grams(plain.deposit))
    assert len(found.runs) == 6
    assert found.deposit.relative_expanded_uncertainty > 3 * plain.deposit.relative_expanded_uncertainty


@pytest.mark.parametrize(("e_n", "told"), [(1.45, False), (1.55, True), (-1.45, False), (-1.55, True)])
def test_an_outlier_lies_three_standard_uncertainties_off(e_n: float, told: bool) -> None:
    good = [seen(value, run=str(n)) for n, value in enumerate((4.5, 4.55, 4.45, 4.52, 4.48))]
    plain = folded(good)
    reach = 2.0 * math.hypot(0.01, plain.deposit.budget["next run"] / plain.deposit.value)
    found = folded([*good, seen(grams(plain.deposit) * math.exp(e_n * reach), run="9")])
    assert [one.run for one in found.outliers] == ["9"] * told
    assert folded([*good[:2], seen(0.5, run="9")]).outliers == ()  # too few to judge one by the others
    assert len(folded([*good[:3], seen(0.5, run="9")]).outliers) == 1


def test_a_drift_counts_only_where_it_shows() -> None:
    ages = [0.1, 0.5, 1.0, 1.5, 2.0, 2.5]
    falling = [seen(4.5 * math.exp(-0.05 * age), 0.003, run=str(n), age=age) for n, age in enumerate(ages)]
    found = folded(falling, age=3.0 * PER_VOLUME)
    assert found.drift is not None
    assert found.drift.value * PER_VOLUME == pytest.approx(-0.05)
    assert grams(found.deposit) == pytest.approx(4.5 * math.exp(-0.15))
    fewer = folded(falling[: FEWEST_FOR_DRIFT - 1], age=3.0 * PER_VOLUME)
    assert fewer.drift is None
    enough = folded(falling[:FEWEST_FOR_DRIFT], age=3.0 * PER_VOLUME)
    assert enough.drift is not None
    assert FEWEST_FOR_DRIFT == 5
    level = [seen(4.5 * (1.02 if n % 2 else 0.98), 0.003, run=str(n), age=age) for n, age in enumerate(ages)]
    flat = folded(level, age=3.0 * PER_VOLUME)
    assert flat.drift is None


def test_the_efficiency_of_a_deposit_is_faradays() -> None:
    """Gold(I): 196.96657 g/mol over 96485.33212 C/mol, 7.349 g/A.h at 100 %."""
    full = 196.96657 / 96485.33212 * 3600.0
    half = seen(full / 2).deposit
    assert efficiency_of(half, bath("gold-cyanide")).value == pytest.approx(0.5)


def test_the_surer_of_two_is_the_better_and_a_bare_number_is_not_sure() -> None:
    narrow, wide, bare = (Measured(value=0.7, unit="1", budget={"e": share}) for share in (0.02, 0.03, 0.0))
    assert surer(narrow, wide)
    assert not surer(wide, narrow)
    assert surer(wide, bare)
