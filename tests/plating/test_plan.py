"""Plans from end to end: published jobs, closed forms, budgets, refusals and cautions."""

import json
import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areakit.errors import InputError, RangeError
from areakit.plating.efficiency import handbook_bath, named_row
from areakit.plating.metals import all_baths, find_figure
from areakit.plating.plan import Plan, PlannedLayer
from areakit.plating.process import process_from
from areakit.plating.requirements import all_requirements
from areakit.plating.run import balanced_loads
from areakit.records.plan_json import plan_json
from areakit.service.bath_entry import choose_bath
from areakit.service.plan import PlanRequest, plan
from areakit.uncertainty import Measured
from areakit.units import convert

BADGE = PlanRequest(
    process="nickel-gold-brush",
    layers={"gold": "0.5 um", "nickel": "3 um"},
    area="12.5 cm2",
    area_uncertainty="2%",
    efficiency={"gold": "72% ± 6%"},
    footprint="4 cm2",
    current_density={"gold": "10 A/dm2"},
    supply="5 A",
    base="brass",
)
EVEN = replace(BADGE, even_chance=True)


def layer(result: Plan, metal: str) -> PlannedLayer:
    return next(one for one in result.layers if one.layer.metal == metal)


def codes(result: Plan) -> set[str]:
    return {flag.code for flag in result.flags} | {finding.code for finding in result.findings}


def test_guidebook_bore_job_as_a_plan() -> None:
    # Metal Finishing Guidebook, selective plating, worked job, p. 349; tolerances from its printed digits
    result = plan(
        PlanRequest(
            process="nickel-brush",
            area=f"{math.pi * 6 * 2:.5f} in2",
            layers={"nickel": "0.002 in mean"},
            bath={"nickel": "nickel-brush"},
            efficiency={"nickel": "handbook"},
            footprint="6 in2",
            contact_fraction="100%",
            current_density={"nickel": "5 A/in2"},
            hand_speed="50 ft/min",
            supply="35 A",
        )
    )
    nickel = layer(result, "nickel")
    assert nickel.brush is not None
    assert convert(nickel.charge.value, "C", "A.h") == pytest.approx(11.31, abs=0.005)
    assert nickel.brush.mean_current.value == pytest.approx(30, abs=0.5)
    assert nickel.brush.peak_current.value == pytest.approx(30, abs=0.5)
    assert nickel.brush.time.value / 60 == pytest.approx(22.6, abs=0.05)
    assert nickel.consumption.volume_by_charge is not None
    assert nickel.consumption.volume_by_charge.value * 1e3 == pytest.approx(0.255, abs=0.001)
    assert nickel.mass.value * 1e3 == pytest.approx(11.0, abs=0.05)
    assert "CURRENT_DENSITY_OUTSIDE" not in codes(result)


def test_a_plating_factor_gives_its_charge_whatever_density_is_assumed() -> None:
    request = replace(
        EVEN, efficiency={}, factor={"gold": "60 A.h/in3"}, density={"gold": "18 ± 1 g/cm3"}, area_uncertainty="0%"
    )
    gold = layer(plan(request), "gold")
    by_hand = 60 * 3600 / 0.0254**3 * 12.5e-4 * 0.6e-6  # charge = factor x area x thickness
    assert gold.charge.value == pytest.approx(by_hand, rel=1e-9)
    assert gold.charge.budget.get("gold density", 0.0) == pytest.approx(0.0, abs=1e-12 * by_hand)


def test_five_brackets_in_the_tank() -> None:
    # closed form: 3510 mm2 x 25 µm x 8.902 g/cm3 = 781.2 mg; z F m / (0.95 M) = 45.06 A·min
    result = plan(
        PlanRequest(
            process="nickel-tank",
            area="3510 mm2",
            area_uncertainty="1%",
            layers={"nickel": "25 um mean"},
            pieces=5,
            current_density={"nickel": "3 A/dm2"},
            supply="10 A",
            base="bronze",
        )
    )
    nickel = layer(result, "nickel")
    assert nickel.mass.value * 1e6 == pytest.approx(781.2, abs=0.1)
    assert nickel.charge.value / 60 == pytest.approx(45.06, abs=0.01)
    assert nickel.charge_total.value == pytest.approx(5 * nickel.charge.value)
    assert nickel.tank is not None
    assert (nickel.tank.pieces_per_load, nickel.tank.loads) == (5, 1)
    assert nickel.tank.current.value == pytest.approx(5 * 0.3510 * 3)
    assert nickel.tank.time.value / 60 == pytest.approx(45.06 / (0.3510 * 3), rel=1e-3)


def test_a_supply_too_small_for_the_rack_makes_more_loads() -> None:
    request = PlanRequest(
        process="nickel-tank",
        area="3510 mm2 ± 10 mm2",
        layers={"nickel": "5 um"},
        pieces=5,
        current_density={"nickel": "3 A/dm2"},
        supply="2.5 A",
    )
    result = plan(request)
    tank = layer(result, "nickel").tank
    assert tank is not None
    assert (tank.pieces_per_load, tank.loads) == (2, 3)
    assert tank.current.value <= 2.5
    assert "SUPPLY_LIMIT" in codes(result)
    lone = plan(replace(request, supply="0.5 A"))
    assert {"SUPPLY_LIMIT", "CURRENT_DENSITY_OUTSIDE"} <= codes(lone)  # 1.4 A/dm2 is below 20 A/ft2
    alone = layer(lone, "nickel").tank
    assert alone is not None
    assert alone.time.value * 0.5 == pytest.approx(layer(lone, "nickel").charge.value)


def test_the_budget_of_a_product_is_the_sum_of_relative_squares() -> None:
    # JCGM 100:2008, 5.1.6: for products of powers the relative variances add
    gold = layer(plan(BADGE), "gold")
    relative = {name: abs(share) / gold.charge.value for name, share in gold.charge.budget.items()}
    assert relative == pytest.approx({"area as entered": 0.01, "gold efficiency": 0.03 / 0.72, "gold density": 0.02})


def test_current_and_time_carry_their_own_shares() -> None:
    gold = layer(plan(replace(BADGE, meter_uncertainty="2%", footprint="4 ± 0.4 cm2")), "gold")
    assert "charge metering" in gold.mean.budget
    assert gold.brush is not None
    assert gold.brush.peak_current.budget["footprint"] == pytest.approx(0.4 * 0.05)


def test_time_is_charge_over_mean_current_and_passes_follow() -> None:
    request = replace(BADGE, hand_speed="10 m/min", footprint="1 cm2", contact_fraction="40% ± 10%", supply=None)
    gold = layer(plan(request), "gold").brush
    assert gold is not None
    charge = layer(plan(request), "gold").charge_set
    # by hand: 10 A/dm2 on 1 cm2 are 0.1 A at the peak, and 0.04 A over 40 % of the time
    assert gold.peak_current.value == pytest.approx(0.1)
    assert gold.mean_current.value == pytest.approx(0.04)
    assert gold.time.value == pytest.approx(charge / 0.04)
    assert gold.time.budget["contact fraction"] / gold.time.value == pytest.approx(-0.05 / 0.4)


def test_passes_times_the_time_of_a_pass_is_the_working_time() -> None:
    for fraction in (None, "40% ± 10%"):
        for one in plan(replace(BADGE, contact_fraction=fraction, current_density={"": "10 A/dm2"})).layers:
            assert one.brush is not None
            product = one.brush.passes.value * one.brush.seconds_per_pass.value
            assert product == pytest.approx(one.brush.time.value, rel=1e-12)


def test_without_outline_or_fraction_a_wide_default_is_taken_and_said() -> None:
    gold = layer(plan(BADGE), "gold").brush
    assert gold is not None
    # JCGM 100:2008, 4.3.7: a rectangle from 0.3 to 1
    assert gold.contact_fraction.value == pytest.approx(0.65)
    assert gold.contact_fraction.quantity.standard_uncertainty == pytest.approx(0.35 / math.sqrt(3.0))
    assert "default, the middle of 0.3 to 1" in gold.contact_fraction.origin.text
    assert gold.contact_fraction in plan(BADGE).premises
    assert gold.time.relative_expanded_uncertainty > 0.5


@pytest.mark.parametrize("fraction", ["0%", "101%"])
def test_a_contact_fraction_outside_its_range_is_refused(fraction: str) -> None:
    with pytest.raises(RangeError, match="not above 0 and at most 1"):
        plan(replace(BADGE, contact_fraction=fraction))
    with pytest.raises(InputError, match="contact fraction speaks of a brush"):
        plan(PlanRequest(process="nickel-tank", area="1 cm2", layers={"nickel": "1 um"}, contact_fraction="50%"))


def test_raising_the_volts_to_hold_the_mean_is_warned_against_where_it_leaves_the_window() -> None:
    solutions = (
        '[solutions.g]\nmetal="gold"\nbath="gold-cyanide"\ncurrent_density="5 A/dm2 to 20 A/dm2"\nefficiency="72%"\n'
    )
    request = replace(BADGE, efficiency={}, solution={"gold": "g"}, solutions=solutions)
    # 10 A/dm2 under the brush become 20 at a contact fraction of one half, and 20.4 at 0.49
    assert "VOLTS_NOT_RAISED" not in codes(plan(replace(request, contact_fraction="50%")))
    told = plan(replace(request, contact_fraction="49%"))
    assert "VOLTS_NOT_RAISED" in codes(told)
    assert "20.4 A/dm²" in next(flag.message for flag in told.flags if flag.code == "VOLTS_NOT_RAISED")


def test_more_current_than_the_supply_gives_is_told_and_takes_longer() -> None:
    short = plan(replace(BADGE, supply="0.2 A", contact_fraction="50%"))
    gold = layer(short, "gold")
    assert "SUPPLY_LIMIT" in codes(short)
    assert gold.brush is not None
    assert gold.brush.peak_current.value == pytest.approx(0.2)
    assert gold.brush.current_density == pytest.approx(500)
    assert gold.brush.time.value == pytest.approx(gold.charge_set / 0.1)


def test_a_footprint_larger_than_the_part_is_told() -> None:
    assert "FOOTPRINT_TOO_LARGE" in codes(plan(replace(BADGE, footprint="20 cm2")))


def test_hand_speed_outside_the_usual_band_is_told() -> None:
    assert "HAND_SPEED" in codes(plan(replace(BADGE, hand_speed="40 m/min", stroke="60 mm")))
    calm = plan(replace(BADGE, hand_speed="12 m/min", stroke="60 mm"))
    assert "HAND_SPEED" not in codes(calm)
    gold = layer(calm, "gold")
    assert gold.brush is not None
    assert gold.brush.strokes_per_minute is not None
    assert gold.brush.strokes_per_minute.value == pytest.approx(200)


def test_the_least_thickness_is_what_was_asked_for_and_the_mean_is_more() -> None:
    gold = layer(plan(EVEN), "gold")
    assert gold.minimum.value == pytest.approx(0.5e-6)
    assert gold.mean.value == pytest.approx(0.6e-6)
    assert gold.layer.chemistry.efficiency.value == pytest.approx(0.72)  # the allowance is not hidden in it


def test_the_allowance_changes_the_charge_and_not_the_efficiency() -> None:
    wide = layer(plan(replace(EVEN, allowance={"gold": "1.67"})), "gold")  # 0.002 in mean for a sure 0.0012 in
    plain = layer(plan(EVEN), "gold")
    assert wide.charge.value / plain.charge.value == pytest.approx(1.67 / 1.2)
    assert wide.layer.chemistry.efficiency == plain.layer.chemistry.efficiency
    assert wide.minimum.value == pytest.approx(plain.minimum.value)


def test_by_default_the_lower_end_of_the_minimum_meets_the_need() -> None:
    sure, even = (layer(plan(replace(BADGE, even_chance=one)), "gold") for one in (False, True))
    assert sure.minimum.value - sure.minimum.expanded_uncertainty == pytest.approx(0.5e-6)
    assert even.minimum.value == pytest.approx(0.5e-6)
    assert sure.charge_even_chance == pytest.approx(even.charge_set)
    assert sure.mean_target == pytest.approx(sure.mean.value)
    assert sure.charge_set == pytest.approx(sure.charge.value)
    assert "MINIMUM_NOT_ASSURED" not in codes(plan(BADGE))
    assert "MINIMUM_NOT_ASSURED" in codes(plan(replace(BADGE, even_chance=True)))


def test_a_minimum_too_little_known_is_not_made_sure_and_said() -> None:
    # one over 1 - 0.66 is 2.94; over 1 - 0.67 it would be more than threefold
    wide = {"gold": "1.2 ± 0.770", "nickel": "1.2"}
    request = replace(BADGE, efficiency={"gold": "72% ± 0%"}, density={"gold": "19.32 g/cm3"}, area_uncertainty="0%")
    sure = plan(replace(request, allowance=wide))
    gold = layer(sure, "gold")
    assert gold.charge_even_chance is not None
    assert gold.charge_set / gold.charge_even_chance == pytest.approx(1.0 / (1.0 - 0.770 / 1.2))
    told = plan(replace(request, allowance={**wide, "gold": "1.2 ± 0.805"}))
    assert layer(told, "gold").charge_set == layer(told, "gold").charge_even_chance
    assert "Lessen the uncertainty" in next(f.remedy for f in told.flags if f.code == "MINIMUM_NOT_ASSURED")


def test_a_mean_is_run_as_ordered() -> None:
    gold = layer(plan(replace(BADGE, layers={"gold": "0.5 um mean", "nickel": "3 um"})), "gold")
    assert gold.charge_even_chance is None
    assert gold.mean.value == pytest.approx(0.5e-6)


def test_the_plan_says_what_the_efficiency_does_to_the_thickness() -> None:
    ends = layer(plan(EVEN), "gold").mean_by_efficiency
    assert ends is not None
    assert [end.value * 1e6 for end in ends] == pytest.approx([0.6 * 66 / 72, 0.6 * 78 / 72])


def test_the_default_charge_holds_in_drawn_jobs() -> None:
    # JCGM 101:2008: draw what is uncertain, and count the jobs whose minimum thickness meets the need. One-sided
    # coverage of k = 2 is 97.7 %; the allowance enters by its reciprocal, which first order does not see.
    import random

    drawn = random.Random(7)
    request = replace(BADGE, allowance={"gold": "1.2 ± 0.12", "nickel": "1.2"})
    gold = layer(plan(request), "gold")
    met, jobs = 0, 20_000
    for _ in range(jobs):
        eta, area = drawn.gauss(0.72, 0.03), drawn.gauss(12.5e-4, 0.125e-4)
        density, k = drawn.gauss(19320.0, 0.02 * 19320.0), drawn.gauss(1.2, 0.06)
        mean = eta * gold.charge_set * 0.19696657 / (96485.33212 * density * area)
        met += mean / k >= 0.5e-6
    assert 0.965 < met / jobs < 0.99


def test_the_minimums_uncertainty_agrees_with_drawn_jobs() -> None:
    import random
    from statistics import fmean, stdev

    drawn = random.Random(11)
    gold = layer(plan(replace(EVEN, allowance={"gold": "1.2 ± 0.12", "nickel": "1.2"})), "gold")
    least = [
        drawn.gauss(0.72, 0.03)
        * gold.charge_set
        * 0.19696657
        / (96485.33212 * drawn.gauss(19320.0, 386.4) * drawn.gauss(12.5e-4, 0.125e-4) * drawn.gauss(1.2, 0.06))
        for _ in range(20_000)
    ]
    assert gold.minimum.standard_uncertainty == pytest.approx(stdev(least), rel=0.03)
    assert gold.minimum.value == pytest.approx(fmean(least), rel=0.01)


def test_hexavalent_chromium_brings_its_caution() -> None:
    request = PlanRequest(
        process="nickel-chromium-tank",
        area="100 cm2 ± 1 cm2",
        layers={"nickel": "10 um", "chromium": "0.3 um"},
        efficiency={"chromium": "13 % ± 3 %"},
        base="brass",
    )
    result = plan(request)
    step = next(one for one in result.steps if one.step.key == "plate-chromium")
    assert "hexavalent-chromium" in {caution.key for caution in step.cautions}
    # 29 CFR 1910.1026: 5 µg/m³ over 8 hours
    assert any("5 µg/m³" in caution.text for caution in result.cautions)
    with pytest.raises(InputError, match="chromium"):
        plan(replace(request, efficiency={}))


def test_gold_has_no_default_efficiency() -> None:
    with pytest.raises(InputError, match="cathode efficiency of gold"):
        plan(replace(BADGE, efficiency={}))


def test_tank_nickel_takes_its_published_range_and_says_so() -> None:
    result = plan(replace(BADGE, process="nickel-gold-tank", footprint=None))
    eta = layer(result, "nickel").layer.chemistry.efficiency
    assert eta.value == pytest.approx(0.95)
    assert "93 to 97 %" in eta.origin.text
    assert "STATED_DEFAULT" in codes(result)
    assert "BRUSH_EFFICIENCY_SPAN" not in codes(result)


def nickel_share(factor_per_in3: float) -> float:
    """Efficiency that a factor in A·h/in3 implies for nickel: 58.6934 g/mol, z = 2, 8.902 g/cm3, F = 96485.33 C/mol."""
    coulombs = 2 * 96485.33212 / 58.6934 * 8.902 * 2.54**3
    return coulombs / 3600.0 / factor_per_in3


def test_brush_nickel_plans_with_the_whole_span_of_published_factors() -> None:
    # ASM Handbook vol. 5, selective plating Table 1: 0.017 and 0.047; Metal Finishing Guidebook p. 349: 150 A·h/in3
    low, middle, high = sorted(nickel_share(factor) for factor in (470.0, 170.0, 150.0))
    assert [round(100 * share) for share in (low, middle, high)] == [28, 78, 89]
    result = plan(BADGE)
    chosen = layer(result, "nickel").layer.chemistry
    assert chosen.bath.key == "nickel-brush"
    eta = chosen.efficiency
    assert eta.value == pytest.approx((low + high) / 2, rel=1e-6)
    assert eta.quantity.standard_uncertainty == pytest.approx((high - low) / 2 / math.sqrt(3.0), rel=1e-6)
    assert "28, 78, 89 %" in eta.origin.text
    assert "BRUSH_EFFICIENCY_SPAN" in codes(result)


@pytest.mark.parametrize(
    "metal", ["gold", "copper", "silver", "palladium", "rhodium", "chromium", "cobalt", "platinum"]
)
def test_a_metal_with_one_published_brush_factor_is_asked_for(metal: str) -> None:
    with pytest.raises(InputError, match=f"efficiency was given for {metal}"):
        choose_bath(metal, method="brush")


def test_a_tank_takes_no_efficiency_of_a_brush_nor_the_other_way_round() -> None:
    with pytest.raises(InputError, match="given for gold"):
        choose_bath("gold", method="tank", bath="gold-brush")
    assert choose_bath("nickel", method="brush", bath="nickel-watts").chemistry.efficiency.value < 0.6
    with pytest.raises(InputError, match="given for nickel"):
        choose_bath("nickel", method="tank", bath="nickel-brush")
    assert choose_bath("nickel", method="tank").chemistry.bath.key == "nickel-watts"
    assert choose_bath("gold", method="brush", efficiency="72 %").chemistry.bath.key == "gold-brush"


def test_the_handbook_row_is_used_when_picked_by_name() -> None:
    eta = layer(plan(replace(BADGE, efficiency={"gold": "handbook"})), "gold").layer.chemistry.efficiency
    assert eta.value == pytest.approx(0.72, abs=0.005)  # ASM Handbook vol. 5, selective plating Table 1: 0.006
    assert "66 to 78 %" in eta.origin.text
    with pytest.raises(InputError, match="nickel-brush-acid"):
        plan(replace(BADGE, efficiency={"gold": "handbook", "nickel": "handbook"}))


def test_a_handbook_row_that_only_rounding_lifts_over_100_percent_is_taken_as_100() -> None:
    request = PlanRequest(
        process="silver-brush", layers={"silver": "5 um"}, area="10 ± 0.1 cm2", efficiency={"silver": "handbook"}
    )
    eta = layer(plan(request), "silver").layer.chemistry.efficiency
    assert eta.value == 1.0  # printed 0.004 implies 107 %, with its digits 95 to 122 %


def test_wrong_valence_shows_as_three_times_the_charge() -> None:
    one = layer(plan(BADGE), "gold")
    three = layer(plan(replace(BADGE, bath={"gold": "gold-chloride"})), "gold")
    assert three.charge.value / one.charge.value == pytest.approx(3.0)


def test_hard_gold_at_a_borrowed_efficiency_is_told() -> None:
    # an efficiency of 95 % on acid hard gold (25 to 45 %) would give a third of the thickness
    request = PlanRequest(
        process="gold-tank",
        layers={"gold": "0.76 um"},
        area="24 mm2 ± 1 mm2",
        bath={"gold": "gold-acid-hard"},
        efficiency={"gold": "95% ± 2%"},
        base="nickel",
    )
    assert "ABOVE_SOURCE_RANGE" in codes(plan(request))


def test_the_sleeve_is_set_against_the_deposit() -> None:
    # closed form: 10 mL at 8.2 g/L hold 82 mg; 1 µm of gold on 20 cm2 is 38.6 mg
    request = replace(
        BADGE, area="20 cm2 ± 0.1 cm2", area_uncertainty=None, layers={"gold": "1 um mean", "nickel": "3 um"}
    )
    result = plan(request)
    gold = layer(result, "gold")
    sleeve = next(loss for loss in gold.consumption.losses if loss.place == "sleeve")
    assert sleeve.held.value * 1e6 == pytest.approx(82, abs=0.5)
    assert gold.mass.value * 1e6 == pytest.approx(38.6, abs=0.05)
    assert "SLEEVE_HOLDS_MORE" in codes(result)
    half = layer(plan(replace(request, recover={"sleeve": "50%"})), "gold")
    back = next(loss for loss in half.consumption.losses if loss.place == "sleeve")
    assert back.recovered.value == pytest.approx(back.held.value / 2)
    assert half.consumption.top_up_metal.value < gold.consumption.top_up_metal.value


def test_metal_is_neither_made_nor_lost() -> None:
    gold = layer(plan(BADGE), "gold")
    used = gold.consumption
    assert used.volume is not None
    content = gold.layer.use.metal_content
    assert content is not None
    held = sum(loss.held.value for loss in used.losses)
    if any(loss.place == "run-off" for loss in used.losses):
        assert used.deposited.value + held == pytest.approx(used.volume.value * content.value)
    lost = sum(loss.lost.value for loss in used.losses)
    assert used.top_up_metal.value == pytest.approx(used.deposited.value + lost)


@pytest.mark.parametrize(("allowed", "winner"), [("0.1 A.h/L", "volume_by_charge"), ("500 A.h/L", "volume_by_metal")])
def test_the_larger_of_the_two_volumes_counts(allowed: str, winner: str) -> None:
    own = f'[solutions.mine]\nmetal = "gold"\nefficiency = "72 %"\nallowed_charge = "{allowed}"\n'
    request = replace(BADGE, efficiency={}, solution={"gold": "mine"}, solutions=own)
    used = layer(plan(request), "gold").consumption
    assert used.volume == getattr(used, winner)
    assert used.volume is not None
    assert used.volume_by_charge is not None
    assert used.volume_by_metal is not None
    assert used.volume.value == max(used.volume_by_charge.value, used.volume_by_metal.value)


def test_scaled_area_scales_the_charge_and_the_stack_is_the_sum() -> None:
    one, two = plan(BADGE), plan(replace(BADGE, area="25 cm2"))
    for metal in ("gold", "nickel"):
        assert layer(two, metal).charge.value == pytest.approx(2 * layer(one, metal).charge.value)
    assert one.charge_total.value == pytest.approx(sum(planned.charge_total.value for planned in one.layers))


@settings(max_examples=25, deadline=None)
@given(
    area=st.floats(0.1, 500),
    gold=st.floats(0.05, 20),
    allowance=st.floats(1.0, 5.0),
    efficiency=st.floats(10, 100),
    pieces=st.integers(1, 500),
)
def test_no_plan_reaches_a_minimum_above_its_mean(
    area: float, gold: float, allowance: float, efficiency: float, pieces: int
) -> None:
    result = plan(
        PlanRequest(
            process="gold-brush",
            area=f"{area:.4f} cm2",
            area_uncertainty="2%",
            layers={"gold": f"{gold:.4f} um"},
            allowance={"": f"{allowance:.4f}"},
            efficiency={"gold": f"{efficiency:.3f}% ± 3%"},
            pieces=pieces,
            even_chance=True,
        )
    )
    planned = layer(result, "gold")
    assert planned.minimum.value <= planned.mean.value * (1 + 1e-12)
    assert planned.minimum.value == pytest.approx(float(f"{gold:.4f}") * 1e-6, rel=1e-9)
    assert planned.mass_total.value == pytest.approx(planned.mass.value * pieces)


def test_a_requirement_sets_the_thickness_or_checks_it() -> None:
    base = replace(BADGE, layers={"nickel": "3 um"}, requirements=("mil-dtl-45204-1",))
    assert layer(plan(base), "gold").minimum_needed == pytest.approx(1.27e-6)  # MIL-DTL-45204D class 1: 50 µin
    thin = plan(replace(BADGE, requirements=("us-heavy-gold-electroplate",)))
    assert "BELOW_TERM" in codes(thin)
    with pytest.raises(InputError, match="could not be verified"):
        plan(replace(BADGE, requirements=("astm-b456",)))


def test_every_step_carries_its_cautions_in_json() -> None:
    body = json.loads(json.dumps(plan_json(plan(BADGE))))
    for step in body["steps"]:
        assert "general" in [caution["key"] for caution in step["cautions"]]
    gold = next(step for step in body["steps"] if step["key"] == "plate-gold")
    assert "cyanide" in [caution["key"] for caution in gold["cautions"]]
    nickel = next(step for step in body["steps"] if step["key"] == "plate-nickel")
    assert {"nickel", "hydrogen", "electricity"} <= {caution["key"] for caution in nickel["cautions"]}
    assert {"coinage", "caustic", "fluoride", "waste"} <= {caution["key"] for caution in body["cautions"]}


def test_every_premise_has_an_origin() -> None:
    result = plan(BADGE)
    for premise in result.premises:
        assert premise.origin.text
        if premise.origin.kind not in ("given", "measured"):
            assert premise.origin.source
    unverified = {p.name.split(":")[0] for p in result.premises if p.origin.kind == "unverified"}
    flagged = " ".join(flag.message for flag in result.flags if flag.code == "UNVERIFIED_FIGURE").lower()
    assert unverified
    assert all(name.lower() in flagged for name in unverified)


def test_a_measured_area_keeps_its_budget_names() -> None:
    part = {"plated_area": {"value": 600.0, "unit": "mm2", "budget": {"scale": 6.0, "edge": 4.0}}, "flags": []}
    request = replace(BADGE, area=None, area_uncertainty=None, measured=json.dumps({"parts": [part, part]}))
    one = plan(replace(request, part=2))
    assert one.order.area.budget == {"scale": 6.0, "edge": 4.0}
    assert {"scale", "edge"} <= set(layer(one, "gold").charge.budget)
    assert one.order.area.value == 600.0
    assert one.order.area_origin.kind == "measured"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "nonsense",
        "[]",
        "{}",
        '{"parts": []}',
        '{"parts": [{}]}',
        '{"parts": [{"plated_area": {"value": "x"}}]}',
        '{"parts": [{"plated_area": {"value": 3, "unit": "kg"}}]}',
        '{"parts": [{"plated_area": {"value": 3, "unit": "?"}}]}',
    ],
)
def test_json_that_is_no_measurement_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        plan(replace(BADGE, area=None, area_uncertainty=None, measured=text))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"process": "magic"}, "no process"),
        ({"layers": {"gold": "0.5 um"}}, "minimum thickness of nickel"),
        ({"layers": {"gold": "0.5 um", "nickel": "3 um", "tin": "1 um"}}, "tin"),
        ({"layers": {"gold": "0.5", "nickel": "3 um"}}, "no unit"),
        ({"layers": {"gold": "0 um", "nickel": "3 um"}}, "above zero"),
        ({"area": "0 cm2"}, "cannot be plated"),
        ({"area": "-3 cm2"}, "negative"),
        ({"area": "1e30 cm2"}, "beyond any bench"),
        ({"area_uncertainty": "-2%"}, "negative"),
        ({"sleeve": "-3 mL"}, "negative"),
        ({"metal_content": {"gold": "1e200 g/L"}}, "beyond any bench"),
        ({"area": None}, "photo or drawing of the part"),
        ({"efficiency": {"gold": "120%"}}, "0 to 100 %"),
        ({"efficiency": {"gold": "best"}}, "no bath 'best'"),
        ({"efficiency": {"gold": "nickel-brush-acid"}}, "deposits nickel"),
        ({"efficiency": {"gold": "72%", "silver": "98%"}}, "does not plate"),
        ({"factor": {"gold": "60 A.h/in3"}}, "only one"),
        ({"allowance": {"": "0.8"}}, "below 1"),
        ({"base": "wood"}, "no preparation"),
        ({"market": "moon"}, "market 'moon'"),
        ({"pieces": 0}, "below one"),
        ({"supply": "0 A"}, "no current"),
        ({"requirements": ("iso-999",)}, "no requirement"),
        ({"solution": {"gold": "mine"}}, "no solutions file"),
        ({"recover": {"floor": "10%"}}, "recovered from"),
        ({"recover": {"sleeve": "140%"}}, "outside 0 to 100 %"),
        ({"current_density": {"gold": "0 A/dm2"}}, "above zero"),
        ({"hand_speed": "0 m/min"}, "above zero"),
    ],
)
def test_a_slip_gets_one_clear_sentence(changes: dict[str, object], words: str) -> None:
    with pytest.raises((InputError, RangeError)) as caught:
        plan(replace(BADGE, **changes))  # type: ignore[arg-type]
    assert words in str(caught.value)
    assert caught.value.remedy


def test_square_millimetres_become_square_metres_in_one_place() -> None:
    from pathlib import Path

    import areakit.plating

    room = Path(areakit.plating.__file__).parent
    found = [path.name for path in room.glob("*.py") if 'in_unit(area, "m2")' in path.read_text(encoding="utf-8")]
    assert found == ["deposit.py"]
    for path in room.glob("*.py"):
        assert not re.search(r"\*\s*1e-6\b|/\s*1e6\b", path.read_text(encoding="utf-8")), path.name


def custom(method: object = "brush", steps: object = ("plate-nickel",)) -> dict[str, object]:
    return {"title": "Own", "method": method, "steps": list(steps) if isinstance(steps, tuple) else steps}


@pytest.mark.parametrize(
    ("row", "told"),
    [
        (custom(method="spray"), "has the method 'spray'"),
        (custom(steps=()), "has no list of steps"),
        (custom(steps="plate-nickel"), "has no list of steps"),
        (custom(steps=("plate-nickel", "polish-twice")), "names the unknown step 'polish-twice'"),
    ],
)
def test_a_process_of_ones_own_says_what_is_wrong_with_it(row: dict[str, object], told: str) -> None:
    with pytest.raises(InputError, match=told) as caught:
        process_from("own", row)
    assert caught.value.remedy


def test_a_layer_that_the_process_does_not_plate_is_refused() -> None:
    with pytest.raises(InputError, match="does not plate silver") as caught:
        plan(replace(BADGE, layers={**BADGE.layers, "silver": "1 um"}, efficiency={"gold": "72%", "silver": "90%"}))
    assert "It plates nickel, gold" in caught.value.remedy


def test_without_a_footprint_the_charge_stands_and_the_current_is_not_made_up() -> None:
    result = plan(replace(BADGE, footprint=None, current_density={}))
    gold = layer(result, "gold")
    assert gold.brush is None
    assert gold.charge.value == pytest.approx(layer(plan(BADGE), "gold").charge.value)
    assert "CURRENT_NOT_PLANNED" in codes(result)


def test_every_handbook_row_that_can_be_picked_gives_its_efficiency_with_its_source() -> None:
    """A row of the tables gives the middle of its range (JCGM 100:2008, 4.3.7), or is refused with what to do."""
    densities = Measured(value=8900.0, unit="kg/m3")
    picked = 0
    for bath in all_baths().values():
        low, high = (find_figure(bath.key, f"cathode_efficiency_{end}") for end in ("low", "high"))
        if find_figure(bath.key, "plating_factor") is not None:
            continue
        if low is None or high is None:
            with pytest.raises(InputError, match="hold no efficiency for the bath"):
                named_row(bath, density=densities)
            continue
        premise = named_row(bath, density=densities)
        assert premise.value == pytest.approx((low.value + high.value) / 200.0)
        assert premise.origin.source == low.source
        picked += 1
    assert picked > 0


def test_a_metal_without_a_handbook_row_asks_for_a_value() -> None:
    with pytest.raises(InputError, match="no plating factor for bismuth"):
        handbook_bath("bismuth")


def test_a_requirement_says_where_it_stands() -> None:
    """A figure of one's own has no source; one from memory asks to be looked up."""
    for requirement in all_requirements().values():
        words = requirement.origin.text
        assert ("look it up" in words) == (requirement.kind == "unverified"), requirement.key
    own = replace(next(iter(all_requirements().values())), source=None)
    assert own.kind == "given"
    assert own.origin.source is None


TANK = PlanRequest(
    process="nickel-tank", layers={"nickel": "10 um"}, area="35.1 cm2 ± 2%", base="brass", pieces=5, pieces_per_load=4
)


def test_loads_are_balanced_and_each_has_its_current() -> None:
    # 5 on a rack of 4: 3 and 2; 35.1 cm2 a piece at the low end of 20 to 100 A/ft2 (1 ft2 = 9.290304 dm2)
    run = layer(plan(TANK), "nickel").tank
    assert run is not None
    each = 20 / 9.290304 * 0.351
    assert [(group.pieces, group.loads) for group in run.groups] == [(3, 1), (2, 1)]
    assert [group.current.value for group in run.groups] == pytest.approx([3 * each, 2 * each])
    assert (run.rack, run.loads, run.pieces_per_load) == (4, 2, 3)
    assert run.current.value == pytest.approx(3 * each)


@given(pieces=st.integers(1, 5000), rack=st.integers(1, 300))
def test_balanced_loads_hang_every_piece_in_as_few_loads_as_can_be(pieces: int, rack: int) -> None:
    groups = balanced_loads(pieces, rack)
    assert sum(size * count for size, count in groups) == pieces
    assert sum(count for _, count in groups) == -(-pieces // rack)
    sizes = [size for size, _ in groups]
    assert max(sizes) <= rack
    assert max(sizes) - min(sizes) <= 1
    assert sizes == sorted(sizes, reverse=True)


def test_the_default_current_density_is_the_low_end_of_its_window() -> None:
    # Metal Finishing Guidebook p. 655: nickel 20 to 100 A/ft2, acid copper 15 to 50, silver 5 to 30
    for process, metal, low in (("nickel-tank", "nickel", 20.0),):
        density = layer(plan(replace(TANK, process=process)), metal).layer.current_density
        assert density is not None
        assert density.value == pytest.approx(low / 0.3048**2)
        assert density.origin.text.startswith("low end of the range")


def test_soluble_anodes_do_not_consume_the_bath() -> None:
    """The anodes give back what the parts take; drag-out, 80 mL/m2 of 37 g/L on 5 x 35.1 cm2, has to be replaced."""
    used = layer(plan(TANK), "nickel").consumption
    assert used.from_anode == used.deposited
    assert used.volume is None
    assert used.volume_by_metal is None
    assert used.top_up_metal.value == pytest.approx(80e-6 * 5 * 35.1e-4 * 37.0)
    text = 'metal = "nickel"\nmetal_content = "37 g/L"\nefficiency = "95 % ± 2 %"\nanode = "insoluble"'
    own = replace(TANK, solution={"nickel": "own"}, solutions=f"[solutions.own]\n{text}")
    spent = layer(plan(own), "nickel").consumption
    assert spent.from_anode is None
    assert spent.volume_by_metal is not None
    assert spent.top_up_metal.value == pytest.approx(used.top_up_metal.value + spent.deposited.value)
    gold = plan(replace(TANK, process="gold-tank", layers={"gold": "1 um"}, efficiency={"gold": "90 % ± 5 %"}))
    assert layer(gold, "gold").consumption.from_anode is None


def test_an_unknown_kind_of_anode_is_refused() -> None:
    text = '[solutions.own]\nmetal = "nickel"\nefficiency = "95 %"\nanode = "carbon"'
    with pytest.raises(InputError, match="anode: 'carbon' is not known"):
        plan(replace(TANK, solution={"nickel": "own"}, solutions=text))


def test_the_sleeve_holds_in_proportion_to_its_footprint() -> None:
    # working figure: 2.5 mL for each cm2 of footprint, ± 60 %; 10 mL ± 60 % where the footprint is not known
    for footprint, millilitres in (("4 cm2", 10.0), ("1 cm2", 2.5), (None, 10.0)):
        hold_up = layer(plan(replace(BADGE, footprint=footprint)), "gold").layer.use.sleeve_hold_up
        assert hold_up is not None
        assert hold_up.value * 1e6 == pytest.approx(millilitres)
        assert hold_up.quantity.relative_expanded_uncertainty == pytest.approx(0.6)
        assert hold_up.origin.kind == "unverified"


def test_used_and_ready_volumes_are_told_apart() -> None:
    used = layer(plan(BADGE), "gold").consumption
    assert used.volume is not None
    assert used.volume_ready is not None
    # sleeve 10 mL, drag-out 80 mL/m2 on 12.5 cm2
    assert used.volume_ready.value - used.volume.value == pytest.approx(10e-6 + 80e-6 * 12.5e-4)
