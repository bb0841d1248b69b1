"""Plans of any size: charge follows area and thickness, and a deposit gives the plan back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from areakit.plating.plan import Plan
from areakit.records.plan_json import plan_json
from areakit.service.deposit import DepositRequest, deposit
from areakit.service.plan import PlanRequest, plan
from tests.properties.effort import effort

# Faraday constant from the exact SI values (BIPM, The International System of Units, 9th edition, 2019, 2.2).
FARADAY = 1.602176634e-19 * 6.02214076e23
NICKEL_MOLAR_MASS = 58.6934e-3
"""IUPAC standard atomic weight of nickel, abridged. [kg/mol]"""

areas = st.floats(0.05, 500.0)
microns = st.floats(0.1, 50.0)
efficiencies = st.floats(20.0, 100.0)


def planned(area: float, thickness: float, efficiency: float, pieces: int = 1, allowance: float = 1.0) -> dict:
    made: Plan = plan(
        PlanRequest(
            process="nickel-tank", area=f"{area:.9f} cm2", layers={"nickel": f"{thickness:.9f} um"}, pieces=pieces,
            efficiency={"nickel": f"{efficiency:.9f} %"}, allowance={"nickel": f"{allowance:.9f}"},
            even_chance=True,
        )
    )  # fmt: skip
    (layer,) = plan_json(made)["layers"]
    return layer


@effort
@given(area=areas, thickness=microns, efficiency=efficiencies)
def test_charge_is_that_of_faradays_law(area: float, thickness: float, efficiency: float) -> None:
    layer = planned(area, thickness, efficiency)
    mass = layer["mass"]["value"] * 1e-6
    coulombs = 2 * FARADAY * mass / (NICKEL_MOLAR_MASS * efficiency / 100)
    assert layer["charge"]["value_coulomb"] == pytest.approx(coulombs, rel=1e-4)
    # Density of nickel, 8.9 g/cm3: a value from memory, so within 2 % only.
    assert mass == pytest.approx(8900 * area * 1e-4 * thickness * 1e-6, rel=0.02)


@effort
@given(area=areas, thickness=microns, times=st.floats(1.1, 8.0), pieces=st.integers(1, 400))
def test_charge_grows_in_step_with_area_thickness_and_pieces(
    area: float, thickness: float, times: float, pieces: int
) -> None:
    one = planned(area, thickness, 95.0)["charge"]["value"]
    assert planned(area * times, thickness, 95.0)["charge"]["value"] == pytest.approx(times * one, rel=1e-6)
    assert planned(area, thickness * times, 95.0)["charge"]["value"] == pytest.approx(times * one, rel=1e-6)
    many = planned(area, thickness, 95.0, pieces=pieces)
    assert many["charge_total"]["value"] == pytest.approx(pieces * one, rel=1e-6)


@effort
@given(area=areas, thickness=microns, efficiency=efficiencies)
def test_a_deposit_gives_the_plan_back(area: float, thickness: float, efficiency: float) -> None:
    layer = planned(area, thickness, efficiency)
    found = deposit(
        DepositRequest(
            metal="nickel", area=f"{area:.9f} cm2", charge=f"{layer['charge']['value']:.12f} A.min",
            efficiency=f"{efficiency:.9f} %", allowance="1",
        )
    )  # fmt: skip
    assert found.mean is not None
    assert found.mean.value * 1e6 == pytest.approx(thickness, rel=1e-6)


@effort
@given(area=areas, thickness=microns, allowance=st.floats(1.0, 4.0))
def test_the_least_thickness_is_met_and_the_mean_pays_for_it(area: float, thickness: float, allowance: float) -> None:
    layer = planned(area, thickness, 95.0, allowance=allowance)
    assert layer["minimum_reached"]["value"] == pytest.approx(thickness, rel=1e-6)
    assert layer["mean_reached"]["value"] == pytest.approx(allowance * thickness, rel=1e-6)
