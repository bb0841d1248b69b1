"""Which input moves a result how much, and the way from minimum to mean and back."""

import pytest

from areakit.plating.deposit import mean_for_minimum, square_metres, variance_shares
from areakit.uncertainty import Measured, exact


def test_shares_of_the_variance_go_with_the_square_of_each_input() -> None:
    """3 and 4 of 5: 9 / 25 and 16 / 25 (JCGM 100:2008, 5.1.2), the largest first, whatever their sign."""
    quantity = Measured(value=1.0, unit="m", budget={"area": 0.3, "charge": -0.4})
    found = variance_shares(quantity)
    assert found == pytest.approx({"charge": 0.64, "area": 0.36})
    assert list(found) == ["charge", "area"]


def test_what_cancels_but_for_rounding_is_not_told() -> None:
    quantity = Measured(value=1.0, unit="m", budget={"area": 1.0, "cancelled": 0.9e-6, "small": 1.1e-6})
    assert set(variance_shares(quantity)) == {"area", "small"}


def test_an_exact_figure_has_no_shares() -> None:
    assert variance_shares(exact(1.0, "m")) == {}


def test_the_mean_for_a_minimum_takes_the_allowance_by_its_value_alone() -> None:
    mean = mean_for_minimum(Measured(value=2e-6, unit="m", budget={"asked": 1e-7}),
                            Measured(value=1.25, unit="1", budget={"allowance": 0.1}))  # fmt: skip
    assert (mean.value, dict(mean.budget)) == (pytest.approx(2.5e-6), {})


def test_square_millimetres_become_square_metres_with_their_budget() -> None:
    found = square_metres(Measured(value=1250.0, unit="mm2", budget={"edge": -12.5}))
    assert (found.value, found.unit) == (pytest.approx(1.25e-3), "m2")
    assert dict(found.budget) == {"edge": pytest.approx(-1.25e-5)}
