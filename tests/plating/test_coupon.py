"""Passes and seconds from a weighed coupon, held against hand arithmetic, a simulation, and the way by amperes."""

import math
from dataclasses import replace

import numpy as np
import pytest

from areakit.errors import InputError, RangeError
from areakit.plating.coupon import MOST_SPREAD, USUAL_REPEAT, Coupon, coupon_run
from areakit.plating.premise import Premise, given
from areakit.service.coupon_entry import read_coupon
from areakit.service.plan import plan
from areakit.service.plan_request import PlanRequest
from areakit.uncertainty import Measured, exact

SAID = {"volts": "8 V", "passes": "30", "area": "25 ± 0.5 cm2", "gain": "9.4 ± 0.3 mg", "time": "150 ± 3 s",
        "repeat": "20 %"}  # fmt: skip
COUPON = read_coupon(SAID, "gold")
GOLD = Measured(value=19300.0, unit="kg/m3", budget={"density": 100.0})
AREA = Measured(value=40e-4, unit="m2", budget={"area": 0.2e-4})
ALLOWANCE = Premise(name="allowance", quantity=Measured(value=1.2, unit="1", budget={"k": 0.05}), origin=given())


def run(coupon: Coupon = COUPON, *, mean: float = 0.6e-6, sure: bool = False, allowance: Premise | None = None):  # type: ignore[no-untyped-def]
    return coupon_run(coupon, mean=mean, allowance=allowance, density=GOLD, area=AREA, sure=sure)


def test_the_arithmetic_of_the_bench_by_hand() -> None:
    """9.4 mg over 25 cm2 in 30 passes is 0.012533 mg/cm2 a pass; 0.6 um of gold at 19.3 g/cm3 is 1.158 mg/cm2."""
    assert COUPON.per_pass.value * 1e2 == pytest.approx(9.4 / 25 / 30)  # 1 kg/m2 is 100 mg/cm2
    assert run().passes.value == pytest.approx(0.6e-4 * 19300 / (9.4 / 25 / 30), rel=1e-9)
    assert run().passes_set == 93
    assert run().seconds_per_pass.value == pytest.approx(150 / 30 * 40 / 25)
    assert run().time.value == pytest.approx(93 * 8.0)


def test_a_coupon_planned_as_a_part_takes_its_own_passes_and_time() -> None:
    mean = COUPON.gain.value / (COUPON.area.value * GOLD.value)
    again = coupon_run(COUPON, mean=mean, allowance=None, density=GOLD, area=COUPON.area, sure=False)
    assert again.passes_set == COUPON.passes
    assert again.time.value == pytest.approx(COUPON.time.value)
    assert again.mass.value == pytest.approx(COUPON.gain.value)


def test_a_plan_by_volts_is_as_sure_as_it_was_asked_to_be() -> None:
    """What meets the minimum with about 97 % confidence takes more passes than an even chance."""
    order = PlanRequest(
        process="gold-brush", layers={"gold": "0.5 um"}, area="25 cm2", efficiency={"gold": "72 %"}, base="nickel",
        bath={"gold": "gold-acid-hard"}, coupons={"gold": SAID}, footprint="4 cm2", shop="none",
    )  # fmt: skip
    (sure,), (even,) = (plan(replace(order, even_chance=chance)).layers for chance in (False, True))
    assert sure.by_volts is not None
    assert even.by_volts is not None
    assert sure.by_volts.passes_set > even.by_volts.passes_set
    assert even.by_volts.passes_set == math.ceil(even.by_volts.passes.value - 1e-9)


def test_a_thin_layer_takes_one_whole_pass() -> None:
    """A tenth of what one pass gives is one pass; so is exactly one, and a hair more is two."""
    each = COUPON.gain.value / (COUPON.passes * COUPON.area.value * GOLD.value)
    for passes, whole in ((0.1, 1), (1.0, 1), (1.01, 2)):
        assert run(mean=passes * each).passes_set == whole
    one = replace(COUPON, passes=1)
    assert one.per_pass.value == pytest.approx(30 * COUPON.per_pass.value)


def test_the_uncertainty_is_the_root_sum_of_squares_of_relative_shares() -> None:
    """JCGM 100:2008, 5.1.6: a product of powers adds the squares of relative standard uncertainties."""
    gain, area, density, repeat = 0.15 / 9.4, 0.25 / 25, 100 / 19300, 0.10
    expected = math.sqrt(gain**2 + area**2 + density**2 + 2 * repeat**2)
    assert run().passes.standard_uncertainty / run().passes.value == pytest.approx(expected, rel=1e-9)
    own = math.sqrt((1.5 / 150) ** 2 + area**2 + (0.2 / 40) ** 2)
    assert run().seconds_per_pass.standard_uncertainty / run().seconds_per_pass.value == pytest.approx(own, rel=1e-9)


def test_the_uncertainty_agrees_with_a_simulation_of_many_shops() -> None:
    """JCGM 101:2008: draw every input, and look how the thickness after the planned passes scatters."""
    rng, count = np.random.default_rng(20), 400_000
    true_gain = rng.normal(9.4e-6, 0.15e-6, count)
    true_area = rng.normal(25e-4, 0.25e-4, count)
    coupon_off, job_off = rng.normal(1.0, 0.10, (2, count))
    density = rng.normal(19300.0, 100.0, count)
    shop = true_gain / (30 * true_area) / coupon_off  # what this brush leaves in the mean
    reached = 93 * shop * job_off / density
    assert run().mean.value == pytest.approx(np.median(reached), rel=0.005)
    assert run().mean.standard_uncertainty == pytest.approx(reached.std(), rel=0.03)


def test_raised_passes_meet_the_minimum_in_about_97_percent_of_jobs() -> None:
    sure = run(sure=True, allowance=ALLOWANCE, mean=0.6e-6)
    assert sure.passes_set > run().passes_set
    low = sure.minimum.value - sure.minimum.expanded_uncertainty
    assert low == pytest.approx(0.5e-6, rel=1.5 / sure.passes_set)
    rng = np.random.default_rng(21)
    ratio = rng.normal(1.0, sure.minimum.standard_uncertainty / sure.minimum.value, 400_000)
    assert 0.965 < float(np.mean(sure.minimum.value * ratio >= 0.5e-6)) < 0.985


def test_a_minimum_too_little_known_is_not_raised() -> None:
    """Both sides of the limit beyond which no number of passes makes the minimum sure."""
    assert pytest.approx(2 / 3) == MOST_SPREAD
    bare = replace(COUPON, gain=exact(9.4e-6, "kg"), area=exact(25e-4, "m2"))
    one = Premise(name="k", quantity=exact(1.2, "1"), origin=given())
    for repeat, raised in ((0.235, True), (0.237, False)):  # 2 sqrt(2) s crosses 2/3 at 0.2357
        found = coupon_run(
            replace(bare, repeat=repeat), mean=0.6e-6, allowance=one, density=exact(19300.0, "kg/m3"), area=AREA,
            sure=True,
        )  # fmt: skip
        assert (found.passes_set > 2 * found.passes.value) is raised


def test_the_usual_repeat_is_twenty_percent_expanded() -> None:
    assert USUAL_REPEAT == 0.10
    assert read_coupon({**SAID, "repeat": ""}, "gold").repeat == 0.10
    assert read_coupon({**SAID, "repeat": "8 %"}, "gold").repeat == pytest.approx(0.04)


def test_a_weighed_coupon_and_the_amperes_of_the_plan_come_to_the_same_passes() -> None:
    """Plate by the plan's amperes, weigh what they deposit, and plan by that coupon: two ways to one number."""
    order = PlanRequest(
        process="gold-brush", layers={"gold": "0.5 um mean"}, efficiency={"gold": "72 %"}, area="40 cm2",
        density={"gold": "19.3 g/cm3"}, footprint="3 cm2", contact_fraction="60 %", hand_speed="12 m/min",
        current_density={"gold": "10 A/dm2"}, allowance={"": "1.2"}, shop="none",
    )  # fmt: skip
    (layer,) = plan(order).layers
    assert layer.brush is not None
    passes, seconds = layer.brush.passes.value, layer.brush.seconds_per_pass.value
    gain = layer.mass.value * 1e6 * 30 / passes
    coupon = {"volts": "8 V", "passes": "30", "area": "40 cm2", "gain": f"{gain} mg", "time": f"{30 * seconds} s"}
    (again,) = plan(replace(order, coupons={"gold": coupon})).layers
    assert again.by_volts is not None
    assert again.by_volts.passes.value == pytest.approx(passes, rel=1e-6)
    assert again.by_volts.seconds_per_pass.value == pytest.approx(seconds, rel=1e-6)
    assert again.by_volts.mass.value == pytest.approx(layer.mass.value, rel=1.0 / passes)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"passes": "0"}, "passes"),
        ({"passes": "2.5"}, "passes"),
        ({"gain": ""}, "lacks gain"),
        ({"gain": "0 mg"}, "no passes, area, gain or time"),
        ({"area": "25 mm"}, "area"),
        ({"colour": "red"}, "'colour'"),
        ({"repeat": "200 %"}, "says nothing"),
    ],
)
def test_a_coupon_that_makes_no_sense_is_refused(changed: dict[str, str], words: str) -> None:
    with pytest.raises((InputError, RangeError), match=words):
        read_coupon({**SAID, **changed}, "gold")
