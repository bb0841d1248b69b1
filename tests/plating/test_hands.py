"""What brush work asks of a hand: limits of common practice, each with a test on either side; figures by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from areakit.plating.hands import (
    LARGER,
    LESS,
    hand_work,
    hands_finding,
    pace_of,
    paces,
    schedule_words,
    short_words,
)
from areakit.plating.premise import Premise, given
from areakit.plating.run import AllowedDensity, Bench, BrushRun
from areakit.records.plan_json import plan_json
from areakit.service.plan import PlanRequest, plan
from areakit.uncertainty import exact

AREA = exact(40e-4, "m2")
BENCH = Bench(footprint=Premise(name="footprint", quantity=exact(4e-4, "m2"), origin=given()), stroke=0.06)


def run(*, strokes: float, minutes: float, density: float = 2000.0) -> BrushRun:
    """A run on one piece: strokes of 60 mm, 0.4 A in the mean under 4 cm2."""
    speed = Premise(name="hand speed", quantity=exact(strokes * 0.06 / 60.0, "m/s"), origin=given())
    return BrushRun(
        mean_current=exact(0.4, "A"),
        peak_current=exact(0.8, "A"),
        current_density=density,
        contact_fraction=Premise(name="contact fraction", quantity=exact(0.5, "1"), origin=given()),
        time=exact(minutes * 60.0, "s"),
        passes=exact(1.0, "1"),
        seconds_per_pass=exact(minutes * 60.0, "s"),
        hand_speed=speed,
        strokes_per_minute=None,
    )


def work(
    *, strokes: float, minutes: float, metal: str = "gold", pieces: int = 1, allowed: AllowedDensity | None = None
):  # type: ignore[no-untyped-def]
    bench = replace(BENCH, pieces=pieces)
    return hand_work(run(strokes=strokes, minutes=minutes), bench, metal=metal, area=AREA, allowed=allowed)


def test_the_limits_are_those_of_common_practice() -> None:
    told = [(pace.strokes, pace.spell, pace.rest) for pace in paces()]
    assert told == [(90.0, 1200.0, 300.0), (150.0, 300.0, 300.0), (math.inf, 60.0, 180.0)]


@pytest.mark.parametrize(
    ("strokes", "name"), [(89, "steady"), (90, "steady"), (91, "quick"), (150, "quick"), (151, "burst")]
)
def test_the_slowest_pace_that_holds_the_strokes_counts(strokes: float, name: str) -> None:
    assert pace_of(strokes).name == name


@pytest.mark.parametrize(
    ("strokes", "minutes", "too_fast"), [(180, 15, True), (151, 1.05, True), (151, 0.95, False), (149, 15, False)]
)
def test_more_than_a_hand_can_do_is_more_than_150_a_minute_for_more_than_a_minute(
    strokes: float, minutes: float, *, too_fast: bool
) -> None:
    found = work(strokes=strokes, minutes=minutes)
    assert found.too_fast is too_fast
    assert (hands_finding({"gold": found}) is not None) is too_fast
    assert bool(short_words({"gold": found})) is too_fast


def test_spells_and_breaks_add_up_over_all_pieces() -> None:
    """Three pieces of 15 min at 80 strokes: 45 min in three spells of 15 min, two breaks of 5 min between them."""
    found = work(strokes=80, minutes=15, pieces=3)
    assert (found.spells, found.time, found.whole) == (3, 2700.0, 3300.0)
    assert schedule_words("gold", found) == (
        "Gold: 80 strokes a minute, in 3 spells of 15 min with breaks of 5 min, 55 min in all."
    )


def test_a_spell_is_used_to_its_end_before_a_break() -> None:
    assert work(strokes=80, minutes=20).spells == 1
    assert work(strokes=80, minutes=20.1).spells == 2


@pytest.mark.parametrize(
    ("metal", "minutes", "bears"), [("nickel", 25, 60.0), ("nickel", 19, None), ("gold", 25, None)]
)
def test_a_break_within_a_piece_that_the_metal_does_not_bear_is_told(
    metal: str, minutes: float, bears: float | None
) -> None:
    """Nickel bears 60 s without current, gold 300 s, as long as the break (table of pauses, common practice)."""
    found = work(strokes=80, minutes=minutes, metal=metal)
    assert found.reactivate == bears
    assert ("activate again" in schedule_words(metal, found)) is (bears is not None)


def test_the_offers_keep_what_each_touch_deposits() -> None:
    """180 strokes of 60 mm are 10.8 m/min; 90 would be 5.4, below the usual 8 m/min, so 150 and 9 m/min."""
    larger, less = work(strokes=180, minutes=15).offers
    assert (larger.what, less.what) == (LARGER, LESS)
    for offer in (larger, less):
        assert offer.strokes_per_minute == pytest.approx(150.0)
        assert offer.hand_speed == pytest.approx(9.0 / 60.0)
        assert offer.current_density / offer.hand_speed == pytest.approx(2000.0 / (10.8 / 60.0))
    assert (larger.footprint, larger.mean_current, larger.time) == pytest.approx((4.8e-4, 0.4, 900.0))
    assert (less.footprint, less.mean_current, less.time) == pytest.approx((4e-4, 0.4 / 1.2, 1080.0))
    fast = work(strokes=180, minutes=15)
    assert short_words({"gold": fast}) == (
        "180 strokes a minute are too many: 4.8 cm² of brush at this current, or 83 % of the current"
    )
    slower = replace(fast, offers=fast.offers[1:])
    assert short_words({"gold": slower}) == "180 strokes a minute are too many: 83 % of the current"
    assert short_words({"gold": replace(fast, offers=())}) == "180 strokes a minute are too many for a hand"


def test_the_schedule_of_too_much_names_the_way_out_in_figures() -> None:
    assert schedule_words("gold", work(strokes=180, minutes=15)) == (
        "Gold: 180 strokes a minute for 15 min, more than a hand can do; take a brush of 4.8 cm² footprint at the same "
        "current (150 strokes a minute, 15 min a piece) or 0.333 A mean with this brush (150 strokes a minute, 18 min "
        "a piece)."
    )


def test_the_steady_pace_is_offered_where_the_usual_speeds_hold_it() -> None:
    """Strokes of 120 mm: 90 a minute are 10.8 m/min, within 8 to 20."""
    bench = replace(BENCH, stroke=0.12)
    fast = replace(run(strokes=360, minutes=15), hand_speed=run(strokes=360, minutes=15).hand_speed)
    found = hand_work(fast, bench, metal="gold", area=AREA, allowed=None)
    assert found.strokes_per_minute.value == pytest.approx(180.0)
    assert found.offers[0].strokes_per_minute == pytest.approx(90.0)


@pytest.mark.parametrize(("low", "offered"), [(1600.0, True), (1700.0, False)])
def test_no_offer_leaves_the_window_of_the_solution(low: float, *, offered: bool) -> None:
    """At 150 in place of 180 strokes the density falls from 20 to 16.7 A/dm2."""
    found = work(strokes=180, minutes=15, allowed=AllowedDensity(low=low, high=None, origin="label"))
    assert bool(found.offers) is offered
    told = hands_finding({"gold": found})
    assert told is not None
    assert ("tank" in told.remedy) is not offered


def test_no_brush_is_offered_that_is_larger_than_the_part() -> None:
    small = exact(4.5e-4, "m2")
    found = hand_work(run(strokes=180, minutes=15), BENCH, metal="gold", area=small, allowed=None)
    assert [offer.what for offer in found.offers] == [LESS]


FAST = PlanRequest(
    process="gold-brush", layers={"gold": "3 um"}, area="40 cm2", area_uncertainty="2 %", footprint="2 cm2",
    efficiency={"gold": "72% ± 6%"}, current_density={"gold": "4 A/dm2"}, contact_fraction="60%",
    hand_speed="14 m/min", stroke="70 mm",
)  # fmt: skip


def test_a_plan_tells_it_once_with_figures_and_following_them_ends_it() -> None:
    """14 m/min over 70 mm are 200 strokes a minute."""
    made = plan(FAST)
    (told,) = [one for one in made.findings if one.code == "HANDS_TOO_FAST"]
    assert "200 strokes a minute" in told.message
    hands = plan_json(made)["layers"][0]["hands"]
    assert hands["too_fast"]
    larger, less = hands["offers"]
    for offer in (larger, less):
        followed = replace(
            FAST,
            footprint=f"{offer['footprint']['value']} cm2",
            current_density={"gold": f"{offer['current_density']['value']} A/dm2"},
            hand_speed=f"{offer['hand_speed']['value']} m/min",
        )
        again = plan(followed)
        assert not [one for one in again.findings if one.code == "HANDS_TOO_FAST"]
        brush = plan_json(again)["layers"][0]["brush"]
        assert brush["mean_current"]["value"] == pytest.approx(offer["mean_current"]["value"])
        assert brush["time"]["value"] == pytest.approx(offer["time"]["value"], rel=1e-6)


def test_without_an_outline_a_stroke_is_as_long_as_a_square_of_the_area_is_wide() -> None:
    made = plan(replace(FAST, stroke=None))
    hands = made.layers[0].hands
    assert hands is not None
    assert hands.stroke.value == pytest.approx(math.sqrt(40e-4))
    assert hands.stroke.origin.kind == "practice"


def test_a_tank_asks_nothing_of_a_hand() -> None:
    tank = PlanRequest(
        process="nickel-tank", layers={"nickel": "5 um"}, area="40 cm2", area_uncertainty="2 %",
        current_density={"nickel": "3 A/dm2"}, efficiency={"nickel": "95 %"},
    )  # fmt: skip
    assert plan(tank).layers[0].hands is None
