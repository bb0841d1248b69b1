"""A value with its budget: what it states, what it refuses, and how two of them compare."""

import math
import pickle
from collections.abc import Callable
from typing import Any

import pytest

from areakit.errors import RangeError
from areakit.uncertainty import Measured, exact, normalised_error, propagate, surer, total


def known(value: float, unit: str = "mm", factor: float = 2.0, **shares: float) -> Measured:
    return Measured(value=value, unit=unit, budget=shares, coverage_factor=factor)


def test_shares_add_as_a_root_of_squares_and_are_doubled_for_95_percent() -> None:
    """JCGM 100:2008, 5.1.2 and 6.3.3: 3 and 4 make 5, expanded 10."""
    found = known(-50.0, edge=3.0, scale=-4.0)
    assert (found.standard_uncertainty, found.expanded_uncertainty) == (5.0, 10.0)
    assert found.relative_expanded_uncertainty == pytest.approx(0.2)
    assert known(1.0, factor=3.0, edge=1.0).expanded_uncertainty == 3.0
    assert known(0.0, edge=1.0).relative_expanded_uncertainty == math.inf


def test_a_share_of_nothing_is_not_told_and_one_of_1_is() -> None:
    assert dict(known(1.0, edge=0.0, scale=1.0).budget) == {"scale": 1.0}
    with pytest.raises(TypeError):
        known(1.0, edge=1.0).budget["edge"] = 2.0  # type: ignore[index]


@pytest.mark.parametrize(
    ("value", "share", "factor"),
    [(math.inf, 0.0, 2.0), (math.nan, 0.0, 2.0), (1.0, math.nan, 2.0), (1.0, 1.1e150, 2.0), (1.0, -1.1e150, 2.0),
     (1.0, 0.1, 0.0), (1.0, 0.1, -2.0), (1.0, 0.1, 1.1e6), (1.0, 0.1, math.nan)],
)  # fmt: skip
def test_what_is_no_finite_number_is_refused(value: float, share: float, factor: float) -> None:
    with pytest.raises(RangeError, match="not a finite number"):
        known(value, factor=factor, edge=share)


@pytest.mark.parametrize(("share", "factor"), [(1e150, 2.0), (0.1, 0.5), (0.1, 1e6), (0.1, 1e-9)])
def test_the_largest_that_still_has_a_finite_uncertainty_is_taken(share: float, factor: float) -> None:
    assert math.isfinite(known(1.0, factor=factor, edge=share).expanded_uncertainty)


def test_further_shares_keep_value_and_coverage_and_replace_their_like() -> None:
    more = known(7.0, factor=3.0, edge=1.0, scale=2.0).plus_shares(edge=5.0, form_of_edge=6.0)
    assert (more.value, more.unit, more.coverage_factor) == (7.0, "mm", 3.0)
    assert dict(more.budget) == {"edge": 5.0, "scale": 2.0, "form of edge": 6.0}


def test_a_quantity_goes_to_another_process_whole() -> None:
    sent = known(7.0, factor=3.0, edge=1.0)
    assert pickle.loads(pickle.dumps(sent)) == sent


def test_a_sum_is_one_of_like_units_and_of_nothing_is_zero() -> None:
    found = total([known(1.0, edge=0.3), known(2.0, edge=-0.1, scale=0.5), exact(4.0, "mm")], "mm")
    assert (found.value, found.unit) == (7.0, "mm")
    assert dict(found.budget) == pytest.approx({"edge": 0.2, "scale": 0.5})
    assert total([], "mm") == exact(0.0, "mm")
    with pytest.raises(RangeError, match=r"A sum in mm was given um\."):
        total([known(1.0), exact(1.0, "um")], "mm")


def test_a_formula_of_exact_figures_is_exact() -> None:
    found = propagate(lambda a, b: a / b, exact(3.0, "mm"), exact(2.0, "mm"), unit="1")
    assert found == exact(1.5, "1")


@pytest.mark.parametrize(
    ("formula", "slope"),
    # the chain rule at a = 2 (share 1): d(5 - a), d(5 / a) = -5 / a^2, d(a^3) = 3 a^2, d(-a), d(a + a a)
    [(lambda a: 5.0 - a, -1.0), (lambda a: 5.0 / a, -1.25), (lambda a: a**3, 12.0), (lambda a: -a, -1.0),
     (lambda a: a + a * a, 5.0), (lambda a: a / 4.0, 0.25), (lambda a: 3.0 * a, 3.0), (lambda a: 1.0 + a - 2.0, 1.0)],
)  # fmt: skip
def test_each_step_of_arithmetic_moves_as_its_derivative_says(formula: Callable[[Any], Any], slope: float) -> None:
    found = propagate(formula, known(2.0, edge=1.0), unit="mm")
    assert found.value == pytest.approx(formula(2.0))
    assert dict(found.budget) == pytest.approx({"edge": slope})


@pytest.mark.parametrize("other", [1.0, 2.0, 3.0])
def test_a_formula_compares_values_as_numbers_do(other: float) -> None:
    asked = [lambda a, b: a < b, lambda a, b: a <= b, lambda a, b: a > b, lambda a, b: a >= b]
    told: list[bool] = []
    propagate(lambda a: told.extend(ask(a, other) for ask in asked) or a, known(2.0, edge=1.0), unit="mm")
    assert told == [ask(2.0, other) for ask in asked]


@pytest.mark.parametrize(
    ("value", "reference", "score"),
    [
        (known(10.0, edge=1.5), known(5.0, scale=2.0), 1.0),  # 5 apart, 3 and 4 expanded: ISO 13528, E_n = 5 / 5
        (known(5.0, edge=1.5), known(10.0, scale=2.0), -1.0),
        (exact(1.0, "mm"), exact(1.0 + 1e-12, "mm"), 0.0),
        (exact(1.0, "mm"), exact(1.1, "mm"), -math.inf),
        (exact(1.1, "mm"), exact(1.0, "mm"), math.inf),
    ],
)
def test_figures_agree_up_to_a_score_of_one(value: Measured, reference: Measured, score: float) -> None:
    assert normalised_error(value, reference) == pytest.approx(score)


def test_the_surer_of_two_has_the_smaller_relative_uncertainty() -> None:
    coarse, fine = known(10.0, edge=0.5), known(100.0, edge=1.0)
    assert surer(fine, coarse)
    assert not surer(coarse, fine)
    assert not surer(coarse, coarse)
    assert surer(coarse, exact(10.0, "mm"))  # nobody said how sure the other is
    assert not surer(known(1.0, edge=0.2), known(1000.0, edge=1.0))
