"""Formulas: inverses, scaling, refusals, and the proof that their units agree."""

import inspect
import re
from typing import Any, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from areakit.errors import RangeError
from areakit.plating import allowance, consumption, contact, coupon, efficiency, faraday, own_factor, run
from areakit.uncertainty import Measured
from areakit.units import as_quantity

FORMULAS = [
    f
    for module in (faraday, efficiency, allowance, run, consumption, contact, coupon, own_factor)
    for _, f in inspect.getmembers(module, inspect.isfunction)
    if f.__module__ == module.__name__ and ".. math::" in (f.__doc__ or "")
]
# One plausible SI value for each unit that an annotation can name; an allowance must be at least 1.
PLAUSIBLE = {
    "m": 2.5e-6,
    "m2": 1.25e-3,
    "kg": 4e-5,
    "kg/mol": 0.19696657,
    "kg/m3": 19320.0,
    "kg/m2": 0.05,
    "kg/C": 1.4e-6,
    "C": 192.0,
    "C/m3": 1.3e10,
    "A": 0.4,
    "A/m2": 1000.0,
    "m3": 2e-4,
    "m3/m2": 8e-5,
    "s": 480.0,
    "m/s": 0.2,
    "1": 0.72,
}
SPECIAL = {"allowance": 1.2, "electrons_per_ion": 3.0}


def quantity(value: float, unit: str) -> Any:
    if unit == "kg/m2":  # nothing in areakit is written in it
        return quantity(value, "kg") / quantity(1.0, "m2")
    return as_quantity(Measured(value=value, unit=unit))


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f.__name__)
def test_units_of_each_formula_agree(formula: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    hints = get_type_hints(formula, include_extras=True)
    units = {name: hint.__metadata__[0] for name, hint in hints.items()}
    result_unit = units.pop("return")
    values = {name: SPECIAL.get(name, PLAUSIBLE[unit]) for name, unit in units.items()}
    plain = formula(**values)

    mole = quantity(1.0, "kg") / quantity(1.0, "kg/mol")
    monkeypatch.setattr(faraday, "FARADAY_CONSTANT", faraday.FARADAY_CONSTANT * quantity(1.0, "C") / mole)
    with_units = formula(**{name: quantity(value, units[name]) for name, value in values.items()})
    assert (with_units / quantity(1.0, result_unit)).to("dimensionless").magnitude == pytest.approx(plain, rel=1e-12)


def test_the_proof_sees_a_wrong_formula() -> None:
    import pint

    with pytest.raises(pint.DimensionalityError):
        faraday.thickness_for_mass(
            mass=quantity(1.0, "C"), area=quantity(1.0, "m2"), density=quantity(1.0, "kg/m3")
        ).to(quantity(1.0, "m").units)


def test_the_faraday_constant_is_the_one_pint_carries() -> None:
    carried = quantity(1.0, "C")._REGISTRY.parse_expression("faraday_constant").to("coulomb / mole").magnitude
    assert pytest.approx(carried, rel=1e-12) == faraday.FARADAY_CONSTANT


def test_all_formulas_are_seen() -> None:
    assert len(FORMULAS) >= 17


def test_every_formula_names_its_source_and_units() -> None:
    for formula in FORMULAS:
        assert re.search(r"Sources?: ", inspect.getdoc(formula) or ""), f"{formula.__name__} lacks its source"
        hints = get_type_hints(formula, include_extras=True)
        assert all(hasattr(hint, "__metadata__") for hint in hints.values()), f"{formula.__name__} lacks a unit"


positive = st.floats(1e-3, 1e3)
ratio = st.floats(0.01, 1.0)
GOLD = {"density": 19320.0, "molar_mass": 0.19696657, "electrons_per_ion": 1}


@given(thickness=st.floats(1e-9, 1e-3), area=st.floats(1e-8, 10.0), efficiency=ratio)
def test_charge_and_thickness_are_inverses(thickness: float, area: float, efficiency: float) -> None:
    charge = faraday.charge_for_thickness(thickness=thickness, area=area, **GOLD, cathode_efficiency=efficiency)
    back = faraday.thickness_for_charge(charge=charge, area=area, **GOLD, cathode_efficiency=efficiency)
    assert back == pytest.approx(thickness, rel=1e-12)


@given(area=st.floats(1e-8, 10.0), scale=positive, efficiency=ratio)
def test_charge_grows_with_the_area(area: float, scale: float, efficiency: float) -> None:
    one = faraday.charge_for_thickness(thickness=1e-6, area=area, **GOLD, cathode_efficiency=efficiency)
    many = faraday.charge_for_thickness(thickness=1e-6, area=area * scale, **GOLD, cathode_efficiency=efficiency)
    assert many == pytest.approx(one * scale, rel=1e-12)


@given(mean=st.floats(1e-9, 1e-3), times=st.floats(1.0, 10.0))
def test_the_minimum_never_exceeds_the_mean(mean: float, times: float) -> None:
    minimum = allowance.minimum_for_mean(mean=mean, allowance=times)
    assert minimum <= mean
    assert allowance.mean_for_minimum(minimum=minimum, allowance=times) == pytest.approx(mean, rel=1e-12)


@given(efficiency=ratio, charge=positive)
def test_a_coupon_gives_back_the_efficiency(efficiency: float, charge: float) -> None:
    gained = faraday.mass_for_charge(
        charge=charge, molar_mass=0.0586934, electrons_per_ion=2, cathode_efficiency=efficiency
    )
    back = faraday.efficiency_for_coupon(mass=gained, charge=charge, molar_mass=0.0586934, electrons_per_ion=2)
    assert back == pytest.approx(efficiency, rel=1e-12)


@pytest.mark.parametrize("efficiency", [0.0, -0.5, 1.0001, 72.0, float("nan")])
def test_an_efficiency_outside_0_to_100_percent_is_refused(efficiency: float) -> None:
    with pytest.raises(RangeError, match="cathode efficiency"):
        faraday.mass_for_charge(charge=1.0, molar_mass=0.1, electrons_per_ion=1, cathode_efficiency=efficiency)


def test_an_allowance_below_one_is_refused() -> None:
    with pytest.raises(RangeError, match="below 1"):
        allowance.minimum_for_mean(mean=1e-6, allowance=0.9)


def test_a_current_of_zero_is_refused() -> None:
    with pytest.raises(RangeError, match="current"):
        run.time_for_charge(charge=1.0, current=0.0)
