"""Readings become charge, thickness and time to go, with what meter and clock add."""

import numpy as np
import pytest
from hypothesis import given as draw
from hypothesis import strategies as st
from uncertainties import ufloat

from areakit.errors import InputError
from areakit.plating.deposit import chemistry
from areakit.plating.metals import all_baths
from areakit.plating.premise import Premise, given
from areakit.records.runlog import Allowed, Instruments, Sample, integrate, left, pause_findings, reached
from areakit.uncertainty import Measured, exact
from tests.properties.effort import effort

FINE = Instruments(meter_share=0.0, meter_step=1e-12, clock_step=1e-12)


def samples(*points: tuple[float, float] | tuple[float, float, bool]) -> tuple[Sample, ...]:
    return tuple(Sample(time=p[0], current=p[1], stop=len(p) > 2) for p in points)


def test_a_ramp_is_integrated_exactly() -> None:
    # closed form: a current from 2 A to 6 A over 100 s passes 400 C
    assert integrate(samples((0, 2.0), (100, 6.0)), FINE, name="run").charge.value == pytest.approx(400.0)


@effort
@draw(st.lists(st.tuples(st.floats(0.1, 500), st.floats(0.01, 100)), min_size=2, max_size=30))
def test_readings_give_the_trapezoid_sum(steps: list[tuple[float, float]]) -> None:
    times = np.cumsum([step[0] for step in steps])
    currents = np.array([step[1] for step in steps])
    log = integrate(samples(*zip(times, currents, strict=True)), FINE, name="run")
    # numpy's trapezoid is the reference
    assert log.charge.value == pytest.approx(float(np.trapezoid(currents, times)), rel=1e-9, abs=1e-9)


def test_nothing_flows_between_a_stop_and_the_next_reading() -> None:
    log = integrate(samples((0, 5.0), (60, 5.0, True), (200, 5.0), (260, 5.0)), FINE, name="run")
    assert log.charge.value == pytest.approx(600.0)
    assert (log.live, log.current) == (120.0, 5.0)
    assert [(pause.start, pause.length, pause.after) for pause in log.pauses] == [(60, 140, 2)]


def test_a_supply_stands_at_its_current_until_it_is_cut() -> None:
    # 2 A for 600 s are 1200 C (definition of the ampere second); 0 A is what an ammeter shows once it is switched off
    cut = integrate(samples((0, 2.0), (600, 0.0, True)), FINE, name="run")
    zero = integrate(samples((0, 2.0), (600, 0.0), (900, 2.0), (960, 2.0)), FINE, name="run")
    assert cut.charge.value == pytest.approx(1200.0)
    assert zero.charge.value == pytest.approx(1200.0 + 120.0)
    assert cut.charge.standard_uncertainty < 1e-6
    assert [(pause.start, pause.length) for pause in zero.pauses] == [(600, 300)]
    assert (cut.live, cut.current) == (600.0, 0.0)
    assert integrate(samples((0, 0.0), (60, 0.0)), FINE, name="run").charge.value == 0.0


def test_a_digit_of_the_only_reading_counts_for_the_whole_run() -> None:
    coarse = Instruments(meter_share=0.0, meter_step=0.1, clock_step=1e-12)
    log = integrate(samples((0, 2.0), (600, 0.0, True)), coarse, name="run")
    # a rectangle of one digit, 0.1 A, for 600 s (JCGM 100, 4.3.7)
    assert log.charge.standard_uncertainty == pytest.approx(600 * 0.1 / 12**0.5)


def test_meter_and_clock_shares_are_those_of_the_reference_library() -> None:
    meter, clock, share = 0.1 / 12**0.5, 1.0 / 12**0.5, 0.02
    points = samples((0, 4.0), (50, 5.0), (130, 3.0, True), (300, 6.0), (410, 6.5))
    log = integrate(points, Instruments(meter_share=share, meter_step=0.1, clock_step=1.0), name="run")
    # the same sum in the `uncertainties` library, every digit of every reading an independent variable
    gain = ufloat(1.0, share)
    times = [ufloat(p.time, clock) for p in points]
    currents = [ufloat(p.current, meter) * gain for p in points]
    pairs = [(0, 1), (1, 2), (3, 4)]
    reference = sum((currents[a] + currents[b]) / 2 * (times[b] - times[a]) for a, b in pairs)
    ours = {name: share for name, share in log.charge.budget.items() if "between" not in name}
    assert log.charge.value == pytest.approx(reference.nominal_value)
    assert sum(s * s for s in ours.values()) ** 0.5 == pytest.approx(reference.std_dev, rel=1e-6)


def test_what_may_have_happened_between_readings_widens_the_charge() -> None:
    # the change from 2 A to 6 A may have come at once or at the end: 200 to 600 C, rectangular (JCGM 100, 4.3.7)
    log = integrate(samples((0, 2.0), (100, 6.0)), FINE, name="run")
    assert log.charge.standard_uncertainty == pytest.approx(200.0 / 3**0.5)


def test_a_time_that_runs_backwards_is_refused() -> None:
    with pytest.raises(InputError, match="Reading 3 is 10 s earlier"):
        integrate(samples((0, 1.0), (60, 1.0), (50, 1.0)), FINE, name="run")


def test_the_printed_brush_job_is_reached_when_its_charge_has_passed() -> None:
    # Metal Finishing Guidebook, brush plated bore: 37.7 in2, 0.002 in of nickel, factor 150 A.h/in3, 30 A, 22.6 min
    bath = all_baths()["nickel-watts"]
    efficiency = Premise(name="efficiency", quantity=exact(0.888, "1"), origin=given())
    figures = chemistry(bath, efficiency)
    area, allowance = exact(37.699 * 0.0254**2, "m2"), exact(1.2, "1")
    target = exact(150 * 37.699 * 0.002 * 3600, "C")
    half = integrate(samples((0, 30.0), (11.3 * 60, 30.0)), FINE, name="run")
    whole = integrate(samples((0, 30.0), (22.62 * 60, 30.0)), FINE, name="run")
    now = reached(half, figures, area=area, allowance=allowance, pieces=1, target=target)
    assert now.time_left is not None
    assert now.time_left.value / 60 == pytest.approx(22.62 - 11.3, abs=0.02)
    done = reached(whole, figures, area=area, allowance=allowance, pieces=1, target=target)
    assert done.mean.value * 1e6 == pytest.approx(50.8, rel=0.002)
    assert done.minimum.value * 1e6 == pytest.approx(50.8 / 1.2, rel=0.002)
    assert done.mass.value * 1e3 == pytest.approx(11.0, rel=0.005)


def test_many_pieces_share_the_charge() -> None:
    bath = all_baths()["silver-cyanide"]
    figures = chemistry(bath, Premise(name="efficiency", quantity=exact(1.0, "1"), origin=given()))
    log = integrate(samples((0, 10.23), (3600, 10.23)), FINE, name="run")
    one, four = (
        reached(log, figures, area=exact(0.01, "m2"), allowance=exact(1.0, "1"), pieces=n, target=None) for n in (1, 4)
    )
    # OpenStax Chemistry, electrolysis: 10.23 A for 1 h deposits 41.19 g of silver
    assert one.mass.value * 1e3 == pytest.approx(41.19, rel=1e-3)
    assert four.mass.value == one.mass.value
    assert four.mean.value == pytest.approx(one.mean.value / 4)


def test_once_the_target_is_passed_no_time_is_left() -> None:
    log = integrate(samples((0, 5.0), (60, 5.0)), FINE, name="run")
    remaining, time_left = left(log, exact(250.0, "C"))
    assert remaining is not None
    assert (remaining.value, time_left) == (pytest.approx(-50.0), None)


def test_two_runs_under_one_meter_stay_correlated() -> None:
    meter = Instruments(meter_share=0.02, meter_step=1e-12, clock_step=1e-12)
    one, two = (integrate(samples((0, 5.0), (60, 5.0)), meter, name=name).charge for name in ("a", "b"))
    assert one.budget["ammeter"] == two.budget["ammeter"] == pytest.approx(6.0)
    assert isinstance(one, Measured)


def test_only_a_pause_beyond_the_limit_asks_for_activation() -> None:
    log = integrate(samples((0, 5.0), (60, 5.0, True), (120, 5.0), (180, 5.0, True), (400, 5.0)), FINE, name="run")
    minute, more = (Allowed(seconds=one, origin="as the step allows", why="It dried.") for one in (60.0, 300.0))
    told = pause_findings(log, allowed=minute, title="Nickel")
    assert [finding.code for finding in told] == ["REACTIVATE"]
    assert "220 s went by without current; 60 s are allowed (as the step allows)" in told[0].message
    assert pause_findings(log, allowed=more, title="Nickel") == ()
