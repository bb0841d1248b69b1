"""Budgets through arithmetic are those of the library `uncertainties`, whatever the formula."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from areakit.uncertainty import Measured, propagate
from tests.properties.effort import effort

FORMULAS: list[Callable[..., Any]] = [
    lambda a, b, c: a * b / c + 2.0,
    lambda a, b, c: 3.0 - a * (b - c) / (1.0 + a),
    lambda a, b, c: -a / b**2 + c**0.5 - b,
    lambda a, b, c: (a - 1.5) ** 3 - 2.0 / (b * c) + c / 4.0,
    lambda a, b, c: 5.0 * a - a + c * b - b * c,
]
size = st.floats(min_value=0.1, max_value=10.0)
share = st.floats(min_value=-0.5, max_value=0.5).filter(lambda x: x == 0.0 or abs(x) > 1e-6)
budget = st.dictionaries(st.sampled_from(["print", "edge", "meter"]), share, max_size=3)
measured = st.builds(lambda value, shares: Measured(value=value, unit="1", budget=shares), size, budget)


@effort
@given(inputs=st.tuples(measured, measured, measured), formula=st.sampled_from(FORMULAS))
def test_shares_are_those_of_the_reference_library(
    inputs: tuple[Measured, Measured, Measured], formula: Callable[..., Any]
) -> None:
    ones = {name: ufloat(0.0, 1.0, tag=name) for name in ("print", "edge", "meter")}
    numbers = [one.value + sum(share * ones[name] for name, share in one.budget.items()) for one in inputs]
    reference = formula(*numbers)
    found = propagate(formula, *inputs, unit="1")
    slopes = {variable.tag: slope for variable, slope in getattr(reference, "derivatives", {}).items()}
    assert found.value == pytest.approx(getattr(reference, "nominal_value", reference), rel=1e-12)
    for name in ones:
        assert found.budget.get(name, 0.0) == pytest.approx(slopes.get(name, 0.0), rel=1e-9, abs=1e-12)


def test_a_formula_may_ask_which_is_larger() -> None:
    low, high = (Measured(value=value, unit="1", budget={"edge": 0.1}) for value in (1.0, 2.0))
    told: list[bool] = []

    def formula(a: Any, b: Any) -> Any:
        told.extend([a < b, a <= b, a > b, a >= b, a < 1.0, a <= 1.0, a > 1.0, a >= 1.0])
        return a

    propagate(formula, low, high, unit="1")
    assert told == [True, True, False, False, False, True, False, True]


def test_a_formula_that_would_drop_the_uncertainty_is_refused() -> None:
    with pytest.raises(TypeError):
        propagate(lambda a: float(a), Measured(value=1.0, unit="1", budget={"edge": 0.1}), unit="1")
