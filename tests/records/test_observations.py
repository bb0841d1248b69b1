"""Observations of deposit per charge in a record, recomputed by hand from Faraday's law."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import sqrt
from pathlib import Path

import pytest
from gold_on_nickel import GOLD, NICKEL, planned

from areakit.errors import InputError
from areakit.records.bottles import checked
from areakit.records.observations import bath_age, coupons_of, observations_of, place_share
from areakit.records.weight_gain import spans_of
from areakit.service.bottle import NewBottle, add_bottle, show_bottle, write
from areakit.service.desk import Desk
from areakit.service.job import NewJob, attach_json, open_job, show_job
from areakit.service.job_entries import Correction, Trial, Weighing
from areakit.service.job_run import StepRequest, begin_step
from areakit.service.own_factor import add_coupon
from areakit.service.record_requests import NewCoupon

PLAN = planned(pieces=2)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    made = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    for label, metal, bath in (("G7", "gold", "gold-cyanide"), ("G8", "gold", "gold-cyanide"), ("N3", "nickel", "")):
        add_bottle(made, NewBottle(label=label, solution=f"my-{metal}", metal=metal, bath=bath, volume="500 mL"))
    return made


def job_with_plan(desk: Desk) -> str:
    number = open_job(desk, NewJob(part="tag", quantity=2)).number
    attach_json(desk, number, "planned", PLAN)
    return number


def plate(desk: Desk, number: str, metal: str, charge: str, bottle: str, *, brush: str | None = None) -> None:
    begin_step(desk, number, StepRequest(title=metal, metal=metal, bottle=bottle, charge=charge, brush=brush))


def weigh(desk: Desk, number: str, when: str, mass: str) -> None:
    Weighing(when=when, mass=mass).write(desk, number)  # type: ignore[arg-type]


def test_a_weight_gain_over_a_charge(desk: Desk) -> None:
    number = job_with_plan(desk)
    weigh(desk, number, "before", "41.2000 ± 0.0002 g")
    plate(desk, number, "gold", "0.400 ± 0.008 A.min", "G7", brush="small")
    weigh(desk, number, "after", f"{41.2 + 0.4 * 0.6 * GOLD * 1e-3:.7f} ± 0.0002 g")
    (one,) = observations_of(show_job(desk, number), show_bottle(desk, "G7")).observations
    assert one.deposit.value == pytest.approx(0.6 * GOLD * 1e-6 / 60.0, rel=1e-5)
    gain = 0.4 * 0.6 * GOLD  # mg
    assert one.own == pytest.approx(sqrt(2) * 0.1 / gain, rel=1e-4)  # U = 0.2 mg on each weighing
    assert one.common == {"ampere-minute meter": pytest.approx(-0.01)}
    assert (one.kind, one.bottle, one.brush) == ("weighing", "G7", "small")
    assert one.age == pytest.approx(0.2 * 60 / 0.5e-3)  # half of its own charge, over half a litre


def test_the_metal_of_another_bath_is_taken_off_by_its_charge(desk: Desk) -> None:
    number = job_with_plan(desk)
    weigh(desk, number, "before", "10.0000 g")
    plate(desk, number, "nickel", "2.0 A.min", "N3")
    plate(desk, number, "gold", "0.4 A.min", "G7")
    nickel, gold = 2.0 * 0.9 * NICKEL, 0.4 * 0.6 * GOLD
    weigh(desk, number, "after", f"{10 + (nickel + gold) * 1e-3:.7f} g")
    job = show_job(desk, number)
    (one,) = observations_of(job, show_bottle(desk, "G7")).observations
    assert one.deposit.value == pytest.approx(0.6 * GOLD * 1e-6 / 60.0, rel=1e-5)
    assert one.common["nickel efficiency"] == pytest.approx(-(0.02 / 0.9) * nickel / gold, rel=1e-4)
    (other,) = observations_of(job, show_bottle(desk, "N3")).observations
    expected = (nickel + gold - 0.4 * 0.72 * GOLD) / 2.0  # gold as planned, 72 %
    assert other.deposit.value == pytest.approx(expected * 1e-6 / 60.0, rel=1e-5)


def test_layers_weighed_one_by_one_are_each_their_own(desk: Desk) -> None:
    number = job_with_plan(desk)
    nickel, gold = 2.0 * 0.88 * NICKEL * 1e-3, 0.4 * 0.6 * GOLD * 1e-3
    weigh(desk, number, "before", "10.0000 g")
    plate(desk, number, "nickel", "2.0 A.min", "N3")
    weigh(desk, number, "after", f"{10 + nickel + 0.5:.7f} g")
    weigh(desk, number, "after", f"{10 + nickel:.7f} g")  # once more, dry this time
    plate(desk, number, "gold", "0.4 A.min", "G7")
    weigh(desk, number, "after", f"{10 + nickel + gold:.7f} g")
    first, second = spans_of(show_job(desk, number))
    assert (first.metals, second.metals) == (("nickel",), ("gold",))
    assert first.gain.value == pytest.approx(nickel * 1e-3, rel=1e-5)
    assert second.gain.value == pytest.approx(gold * 1e-3, rel=1e-5)


def test_weighings_written_down_after_the_work_hold_all_of_it(desk: Desk) -> None:
    number = job_with_plan(desk)
    plate(desk, number, "gold", "0.4 A.min", "G7")
    weigh(desk, number, "before", "10.000 g")
    weigh(desk, number, "after", "10.030 g")
    (span,) = spans_of(show_job(desk, number))
    assert len(span.runs) == 1
    assert span.gain.value == pytest.approx(30e-6)


def test_readings_over_area_and_density(desk: Desk) -> None:
    """Two places of 0.50 and 0.60 um on 25 cm2 of gold, density 19.32 g/cm3, two pieces with 0.2 A.min each."""
    number = job_with_plan(desk)
    plate(desk, number, "gold", "0.4 A.min", "G7")
    for value in ("0.50 ± 0.02 um", "0.60 ± 0.02 um"):
        Trial(method="xrf", result="value", value=value).write(desk, number)
    (one,) = observations_of(show_job(desk, number), show_bottle(desk, "G7")).observations
    assert one.deposit.value == pytest.approx(0.55e-6 * 25e-4 * 19320 / (0.2 * 60), rel=1e-3)
    assert one.common["X-ray fluorescence gauge"] == pytest.approx(0.01 / 0.55)
    assert one.common["gold density"] == pytest.approx(0.02)
    place = (1 - 1 / 1.25) / sqrt(3) / sqrt(2)  # from minimum to as far above the mean, over two places
    assert one.own == pytest.approx(sqrt(place**2 + 0.01**2), rel=1e-6)  # and 2 % expanded on the area
    assert place_share(1.0) == 0.0


def test_what_only_gives_back_the_charge_is_no_evidence(desk: Desk) -> None:
    number = job_with_plan(desk)
    plate(desk, number, "gold", "0.4 A.min", "G7")
    Trial(method="charge-and-area", result="value", value="0.5 um").write(desk, number)
    assert observations_of(show_job(desk, number), show_bottle(desk, "G7")).observations == ()


def test_what_cannot_count_is_told(desk: Desk) -> None:
    number = job_with_plan(desk)
    weigh(desk, number, "before", "10.000 g")
    plate(desk, number, "gold", "0.2 A.min", "G7")
    plate(desk, number, "gold", "0.2 A.min", "G8")
    weigh(desk, number, "after", "10.030 g")
    found = observations_of(show_job(desk, number), show_bottle(desk, "G7"))
    assert found.observations == ()
    assert "several bottles (G7, G8)" in found.left_out[0]
    lighter = job_with_plan(desk)
    weigh(desk, lighter, "before", "10.000 g")
    plate(desk, lighter, "gold", "0.2 A.min", "G7")
    weigh(desk, lighter, "after", "9.990 g")
    assert (
        "-10 mg of gold is no deposit" in observations_of(show_job(desk, lighter), show_bottle(desk, "G7")).left_out[0]
    )
    assert observations_of(show_job(desk, lighter), show_bottle(desk, "N3")).left_out == ()


def test_a_withdrawn_weighing_no_longer_counts(desk: Desk) -> None:
    number = job_with_plan(desk)
    weigh(desk, number, "before", "10.000 g")
    plate(desk, number, "gold", "0.2 A.min", "G7")
    weigh(desk, number, "after", "10.015 g")
    assert len(observations_of(show_job(desk, number), show_bottle(desk, "G7")).observations) == 1
    Correction(entry=show_job(desk, number).last, reason="wet", withdraw=True).write(desk, number)
    assert observations_of(show_job(desk, number), show_bottle(desk, "G7")).observations == ()


def test_a_coupon_is_drawn_and_seen_and_ages_the_bath(desk: Desk) -> None:
    bottle = add_coupon(
        desk, "G7", NewCoupon(charge="0.5 ± 0.01 A.min", gain=f"{0.5 * 0.6 * GOLD:.6f} ± 0.2 mg", brush="small")
    )
    later = replace(desk, now=desk.now + timedelta(days=1))
    bottle = add_coupon(later, "G7", NewCoupon(charge="0.3 A.min", gain="20 mg"))
    first, second = coupons_of(bottle).observations
    assert first.deposit.value == pytest.approx(0.6 * GOLD * 1e-6 / 60.0, rel=1e-5)
    assert (first.kind, first.brush, second.at[:10]) == ("coupon", "small", "2026-03-15")
    assert second.age == pytest.approx((0.5 + 0.15) * 60 / 0.5e-3)
    assert bath_age(bottle).now == pytest.approx(0.8 * 60 / 0.5e-3)
    assert bottle.volume.value == pytest.approx(0.5e-3)


def test_a_coupon_without_charge_or_gain_is_refused_and_left_out_where_it_came_in_otherwise(desk: Desk) -> None:
    for charge, gain, said in (("0 A.min", "3 mg", "charge of 0 A.min"), ("1 A.min", "-3 mg", "gain of -3 mg")):
        with pytest.raises(InputError, match=said):
            add_coupon(desk, "G7", NewCoupon(charge=charge, gain=gain))
    bottle = add_coupon(desk, "G7", NewCoupon(charge="1 A.min", gain="70 mg"))
    nothing = {"value": 0.0, "unit": "C", "budget": {}}
    correction = {"entry": bottle.last, "fields": {"charge": nothing}, "reason": "not switched on"}
    with pytest.raises(InputError, match="not above zero"):
        write(desk, "G7", "corrected", doc=correction)
    with desk.to_write() as journal:
        journal.append("bottle", "G7", "corrected", at=desk.at, who="Ana", doc=checked("corrected", correction))
    found = coupons_of(show_bottle(desk, "G7"))
    assert found.observations == ()
    assert "70 mg for 0 A·min is no deposit" in found.left_out[0]


def test_a_bottle_whose_filling_was_withdrawn_has_no_age(desk: Desk) -> None:
    add_coupon(desk, "G7", NewCoupon(charge="1 A.min", gain="70 mg"))
    bottle = write(desk, "G7", "corrected", doc={"entry": 1, "withdrawn": True, "reason": "another bottle"})
    assert bath_age(bottle).now is None
    assert [one.age for one in coupons_of(bottle).observations] == [None]
