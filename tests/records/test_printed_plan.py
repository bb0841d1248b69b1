"""What a plan prints as JSON: every figure that of the plan, in the units that the format chose once."""

import json
import math
from dataclasses import fields, replace
from typing import Any

import pytest

from areakit.costing.prices import MetalPrice
from areakit.costing.quote import make_quote
from areakit.costing.rates import metal_price, rates_text, read_rates
from areakit.errors import InputError
from areakit.plating.metals import bath
from areakit.plating.plan import Plan
from areakit.plating.process import Caution
from areakit.records.codec import quantity_json
from areakit.records.plan_json import layer_json, plan_json
from areakit.records.planned_job import job_from_body, read_planned_job
from areakit.records.quote_json import quote_json
from areakit.service.deposit import Deposit, deposit_as_json
from areakit.service.plan import plan, plan_all
from areakit.service.plan_request import PlanRequest, SpreadRequest
from areakit.uncertainty import Measured, exact

MAKE = PlanRequest(
    process="nickel-gold-brush", layers={"gold": "0.5 um", "nickel": "3 um mean"}, area="25 cm2 ± 0.5 cm2",
    efficiency={"gold": "72% ± 6%", "nickel": "90 % ± 4 %"}, bath={"gold": "gold-cyanide"}, base="brass", pieces=5,
    footprint="4 cm2", contact_fraction="50 %", current_density={"gold": "10 A/dm2", "nickel": "20 A/dm2"},
    stroke="60 mm", hand_speed="12 m/min", supply="10 A", allowance={"": "1.25"}, shop="none",
    coupons={"gold": {"volts": "8 V", "passes": "30", "area": "40 cm2", "gain": "30 mg", "time": "600 s"}},
)  # fmt: skip


@pytest.fixture(scope="module")
def made() -> Plan:
    return plan(MAKE)


@pytest.fixture(scope="module")
def body(made: Plan) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(json.dumps(plan_json(made)))
    return found


def layer(body: dict[str, Any], metal: str) -> dict[str, Any]:
    return next(one for one in body["layers"] if one["metal"] == metal)


def value(one: dict[str, Any], unit: str) -> float:
    assert one["unit"] == unit
    assert one["expanded_uncertainty"] == pytest.approx(2.0 * one["standard_uncertainty"])
    found: float = one["value"]
    return found


def test_the_head_of_a_plan(made: Plan, body: dict[str, Any]) -> None:
    assert body["process"] == {
        "key": "nickel-gold-brush", "title": made.order.process.title, "method": "brush",
    }  # fmt: skip
    assert (body["base"], body["pieces"], body["parts"], body["brush"], body["market"]) == ("brass", 5, [], None, None)
    assert value(body["area"]["per_piece"], "mm2") == pytest.approx(2500.0)
    assert body["area"]["per_piece"]["expanded_uncertainty"] == pytest.approx(50.0)
    assert body["charge_total"]["value_coulomb"] == pytest.approx(60.0 * value(body["charge_total"], "A.min"))
    assert (body["distribution"], body["loads_shared"]) == (None, [])
    assert body["asked"]["area"] == "25 cm2 ± 0.5 cm2"
    assert [one["number"] for one in body["steps"]] == list(range(1, len(made.steps) + 1))


def test_a_layer_obeys_faraday_s_law_in_its_own_units(made: Plan, body: dict[str, Any]) -> None:
    """Gold(I): 196.96657 g/mol over 96485.33 C/mol; 19.32 g/cm3; mass, charge and mean of one piece of 25 cm2."""
    gold, planned = layer(body, "gold"), next(one for one in made.layers if one.layer.metal == "gold")
    charge, mass = value(gold["charge"], "A.min"), value(gold["mass"], "mg")
    assert mass == pytest.approx(charge * 60.0 * 0.72 * 196.96657 / 96485.33212 * 1e3, rel=1e-6)
    assert value(gold["mean_reached"], "um") == pytest.approx(mass / (19.32 * 25.0) * 10.0, rel=1e-6)
    assert value(gold["minimum_reached"], "um") == pytest.approx(gold["mean_reached"]["value"] / 1.25)
    assert value(gold["mass_total"], "mg") == pytest.approx(5.0 * mass)
    assert value(gold["charge_total"], "A.min") == pytest.approx(5.0 * charge)
    assert value(gold["charge_set"], "A.min") == pytest.approx(planned.charge_set / 60.0)
    assert planned.charge_even_chance is not None
    assert value(gold["charge_even_chance"], "A.min") == pytest.approx(planned.charge_even_chance / 60.0)
    assert (value(gold["minimum_needed"], "um"), gold["requirement"], gold["solution"]) == (0.5, None, None)
    assert value(gold["mean_target"], "um") == pytest.approx(planned.mean_target * 1e6)
    assert value(gold["density"]["quantity"], "g/cm3") == pytest.approx(19.32)
    assert sum(gold["charge_shares"].values()) == pytest.approx(1.0)
    assert (gold["bath"], gold["bath_title"]) == ("gold-cyanide", bath("gold-cyanide").title)
    assert gold["tank"] is None
    nickel = layer(body, "nickel")
    assert (nickel["minimum_needed"], nickel["charge_even_chance"], nickel["by_volts"]) == (None, None, None)
    assert value(nickel["mean_target"], "um") == pytest.approx(3.0)


def test_a_brush_run_in_the_units_of_the_bench(body: dict[str, Any]) -> None:
    """10 A/dm2 under 4 cm2: 0.4 A; half of it in the mean. 12 m/min in strokes of 60 mm: 200 a minute."""
    gold = layer(body, "gold")
    run = gold["brush"]
    assert value(run["current_density"], "A/dm2") == pytest.approx(10.0)
    assert value(run["peak_current"], "A") == pytest.approx(0.4)
    assert value(run["mean_current"], "A") == pytest.approx(0.2)
    assert value(run["time"], "min") == pytest.approx(gold["charge"]["value"] / 0.2)
    assert run["seconds_per_pass"]["unit"] == "s"
    assert run["seconds_per_pass"]["value"] * run["passes"]["value"] == pytest.approx(60.0 * run["time"]["value"])
    hands = gold["hands"]
    assert value(hands["strokes_per_minute"], "1/min") == pytest.approx(200.0)
    assert hands["pace"] == "burst"
    assert value(hands["rest"], "min") == pytest.approx(3.0)
    assert value(hands["time"], "min") == pytest.approx(5.0 * run["time"]["value"])  # one pair of hands, five pieces
    assert hands["whole"]["value"] > hands["time"]["value"]
    assert hands["words"]
    for offer in hands["offers"]:
        assert offer["mean_current"]["value"] == pytest.approx(
            0.5 * offer["footprint"]["value"] / 100.0 * offer["current_density"]["value"]
        )
        units = [offer[name]["unit"] for name in ("footprint", "current_density", "mean_current", "hand_speed", "time")]
        assert units == ["cm2", "A/dm2", "A", "m/min", "min"]


def test_a_run_by_volts_follows_from_its_coupon(body: dict[str, Any]) -> None:
    """30 mg of 19.32 g/cm3 on 40 cm2 in 30 passes: 0.01294 um a pass; 600 s for 40 cm2 make 12.5 s for 25."""
    by_volts = layer(body, "gold")["by_volts"]
    per_pass = 30.0 / (19.32 * 40.0 * 30.0) * 10.0
    assert value(by_volts["thickness_per_pass"], "um") == pytest.approx(per_pass)
    assert value(by_volts["volts"], "V") == pytest.approx(8.0)
    assert (by_volts["seconds_per_pass"]["unit"], by_volts["seconds_per_pass"]["value"]) == ("s", pytest.approx(12.5))
    assert by_volts["mean_reached"]["value"] == pytest.approx(by_volts["passes_set"] * per_pass, rel=1e-6)
    assert by_volts["minimum_reached"]["value"] == pytest.approx(by_volts["mean_reached"]["value"] / 1.25)
    assert by_volts["coupon"]


def test_a_step_prints_what_stands_on_its_card(made: Plan, body: dict[str, Any]) -> None:
    for printed, planned in zip(body["steps"], made.steps, strict=True):
        assert (printed["key"], printed["title"]) == (planned.step.key, planned.step.title)
        assert [one["key"] for one in printed["cautions"]] == [one.key for one in planned.cautions]
        if planned.layer is None:
            assert printed["charge_set"] is None
        else:
            assert value(printed["charge_set"], "A.min") == pytest.approx(planned.layer.charge_set / 60.0)
    assert sum(one["charge_set"] is not None for one in body["steps"]) >= 2


def test_the_spread_of_an_outline_is_printed_where_it_was_asked_for() -> None:
    asked = replace(
        MAKE, area=None, coupons={}, footprint="20 x 15 mm", contact_fraction=None, stroke=None,
        measured=json.dumps({"photo": "a", "flags": [], "parts": [PART]}), spread=SpreadRequest(pictures=True),
    )  # fmt: skip
    found = plan_json(plan(asked))["distribution"]
    assert isinstance(found, dict)
    assert found


SQUARE = [[0, 0], [50, 0], [50, 50], [0, 50], [0, 0]]
PART = {
    "id": 1, "plated_area": quantity_json(exact(2500.0, "mm2")), "face_area": quantity_json(exact(2500.0, "mm2")),
    "outline": {"type": "Polygon", "coordinates": [SQUARE]}, "faces": "one", "thickness": None,
}  # fmt: skip


def test_a_rack_of_several_kinds_prints_load_and_shares() -> None:
    """3 A/dm2 on 10 + 30 cm2: 1.2 A, a quarter of it on the first."""
    bodies = [
        {"id": number, "plated_area": quantity_json(Measured(value=area, unit="mm2", budget={f"edge {number}": 5.0}))}
        for number, area in enumerate((1000.0, 3000.0), start=1)
    ]
    request = PlanRequest(
        process="nickel-tank", layers={"nickel": "5 um"}, current_density={"nickel": "3 A/dm2"}, base="brass",
        efficiency={"nickel": "95 %"}, allowance={"": "1.25"}, together=True, shop="none",
        measured=json.dumps({"photo": "rack.jpg", "flags": [], "parts": bodies}),
    )  # fmt: skip
    first = plan_json(plan_all(request)[0])
    (load,) = first["loads_shared"]
    assert (load["metal"], load["pieces"]) == ("nickel", 2)
    assert value(load["current"], "A") == pytest.approx(1.2)
    assert value(load["area"], "mm2") == pytest.approx(4000.0)
    assert value(load["current_density"], "A/dm2") == pytest.approx(3.0)
    assert value(load["charge"], "A.min") == pytest.approx(1.2 * load["time"]["value"], rel=1e-6)
    assert [one["share"] for one in load["shares"]] == pytest.approx([0.25, 0.75])
    assert [value(one["current"], "A") for one in load["shares"]] == pytest.approx([0.3, 0.9])
    assert [value(one["minimum_needed"], "um") for one in load["shares"]] == pytest.approx([5.0, 5.0])
    assert all(one["minimum_reached"]["value"] >= 5.0 for one in load["shares"])
    tank = first["layers"][0]["tank"]
    assert (tank["loads"], tank["pieces_per_load"], tank["share"]) == (1, 1, pytest.approx(0.25))
    assert value(tank["current_density"], "A/dm2") == pytest.approx(3.0)
    assert first["layers"][0]["brush"] is None


# Read back for a quote


def test_a_quote_reads_of_a_plan_what_it_says(made: Plan, body: dict[str, Any]) -> None:
    job = read_planned_job(json.dumps(body))
    assert (job.title, job.pieces, job.area_words) == (made.order.process.title, 5, "as entered")
    assert (job.area.value, job.area.unit) == (pytest.approx(25e-4), "m2")
    gold, nickel = (next(one for one in job.layers if one.metal == metal) for metal in ("gold", "nickel"))
    assert (gold.thickness, gold.thickness_is) == (pytest.approx(0.5e-6), "minimum")
    assert (nickel.thickness, nickel.thickness_is, nickel.mean) == (pytest.approx(3e-6), "mean", pytest.approx(3e-6))
    printed = layer(body, "gold")
    assert gold.mass.value == pytest.approx(printed["mass_total"]["value"] * 1e-6)
    charge = printed["charge_total"]
    relative = charge["standard_uncertainty"] / charge["value"]
    assert gold.mass.standard_uncertainty / gold.mass.value == pytest.approx(relative)
    assert gold.time == pytest.approx(60.0 * printed["brush"]["time"]["value"])
    assert gold.pieces_per_load is None
    volume = printed["consumption"]["volume_by_charge"] or printed["consumption"]["top_up_volume"]
    assert gold.solution_volume == (None if volume is None else pytest.approx(volume["value"] * 1e-6))
    assert [loss.place for loss in gold.losses] == [loss["place"] for loss in printed["consumption"]["losses"]]
    assert job.cautions == tuple(one["text"] for one in body["cautions"])


def test_only_what_stops_or_warns_goes_into_a_quote(body: dict[str, Any]) -> None:
    told = {"message": "M.", "remedy": "R.", "code": "X"}
    kinds = [{**told, "severity": one, "message": one} for one in ("stop", "check", "note")]
    job = job_from_body({**body, "findings": kinds, "flags": [{"code": "OWN_FACTOR", "message": "own"}, {"code": "X"}]})
    assert job.findings == ("stop R.", "check R.")
    assert job.own_factors == ("own",)


def test_older_tanks_and_label_limits_are_read(body: dict[str, Any]) -> None:
    printed = layer(body, "gold")
    tank = {"pieces_per_load": 4, "time": quantity_json(exact(6.0, "min"))}
    used = {**printed["consumption"], "volume_by_charge": None, "top_up_volume": quantity_json(exact(30.0, "mL"))}
    bodies = [
        {**printed, "brush": None, "tank": tank, "consumption": used},
        {**printed, "brush": None, "tank": {**tank, "rack": 7, "share": 0.25},
         "consumption": {**used, "volume_by_charge": quantity_json(exact(50.0, "mL"))}},
        {**printed, "brush": None, "tank": None, "consumption": {**used, "top_up_volume": None}},
    ]  # fmt: skip
    older, newer, none = job_from_body({**body, "layers": bodies}).layers
    assert (older.pieces_per_load, older.time, older.solution_volume) == (4, pytest.approx(360.0), pytest.approx(3e-5))
    assert (newer.pieces_per_load, newer.time, newer.solution_volume) == (7, pytest.approx(90.0), pytest.approx(5e-5))
    assert (none.pieces_per_load, none.time, none.solution_volume) == (None, None, None)


@pytest.mark.parametrize(
    ("wrong", "told"),
    [({"layers": []}, "plates nothing"), ({"pieces": 0}, "lacks an entry"), ({"pieces": True}, "lacks an entry"),
     ({"pieces": 10_000_000}, "lacks an entry"), ({"schema": "areakit.plan/1"}, "not a plan of schema"),
     ({"area": {"per_piece": quantity_json(exact(-1.0, "mm2")), "origin": {"text": ""}}}, "lacks an entry")],
)  # fmt: skip
def test_a_plan_with_an_impossible_figure_is_refused(body: dict[str, Any], wrong: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_planned_job(json.dumps({**body, **wrong}))


def test_the_most_pieces_and_an_area_of_nothing_are_read(body: dict[str, Any]) -> None:
    area = {"per_piece": quantity_json(exact(0.0, "mm2")), "origin": {"text": ""}}
    job = job_from_body({**body, "pieces": 9_999_999, "area": area})
    assert (job.pieces, job.area.value) == (9_999_999, 0.0)


# The quote itself


def test_a_quote_is_printed_in_money_and_metal() -> None:
    rates = read_rates(rates_text(example=True, currency="EUR"))
    price: MetalPrice = metal_price("gold", "80.00 EUR/g ± 2 %", dated="2026-03-09", basis="fix", currency="EUR")
    from datetime import date

    job = job_from_body(plan_json(plan(replace(MAKE, coupons={}))))
    quote = make_quote(job, replace(rates, metals={"gold": price}), quoted_on=date(2026, 3, 10))
    body = json.loads(json.dumps(quote_json(quote)))
    assert (body["currency"], body["pieces"], body["price"]) == ("EUR", 5, str(quote.price))
    assert sum(float(line["amount"]) for line in body["lines"]) == pytest.approx(float(body["price"]))
    assert body["price_per_piece"] == str(quote.each)
    (gold,) = body["metal_prices"]
    per_gram = gold["per_gram"]
    assert (per_gram["unit"], per_gram["value"]) == ("EUR/g", pytest.approx(80.0))
    assert per_gram["expanded_uncertainty"] == pytest.approx(1.6)
    assert (gold["metal"], gold["as_written"], gold["dated"]) == ("gold", "80.00 EUR/g ± 2 %", "2026-03-09")
    printed = next(one for one in body["layers"] if one["metal"] == "gold")
    assert (printed["thickness"]["value"], printed["thickness"]["unit"]) == (pytest.approx(0.5), "um")
    assert printed["mean_thickness"]["value"] == pytest.approx(
        next(one for one in job.layers if one.metal == "gold").mean * 1e6
    )
    assert printed["thickness_is"] == "minimum"
    assert (body["area"]["faces"], body["quoted_on"]) == (None, "2026-03-10")
    assert body["area"]["per_piece"]["value"] == pytest.approx(2500.0)
    assert body["cautions"] == [*job.findings, *job.cautions]


# The answer about one deposit


def test_a_deposit_prints_each_quantity_with_what_moves_it() -> None:
    mean = Measured(value=0.5e-6, unit="m", budget={"area": 3e-9, "charge": 4e-9})
    caution = Caution(key="waste", text="Keep it.", source="practice")
    nothing = dict.fromkeys(one.name for one in fields(Deposit))
    answer = Deposit(
        **{**nothing, "bath": bath("gold-cyanide"), "charge": exact(120.0, "C"), "mean": mean, "cautions": (caution,)}
    )
    body = deposit_as_json(answer)
    assert (body["metal"], body["bath"]) == ("gold", "gold-cyanide")
    assert (body["charge"]["value"], body["charge"]["value_coulomb"]) == (pytest.approx(2.0), 120.0)
    assert (body["mean"]["value"], body["mean"]["unit"], body["minimum"]) == (pytest.approx(0.5), "um", None)
    assert body["shares"] == {"mean": pytest.approx({"area": 0.36, "charge": 0.64})}  # 9 and 16 of 25
    assert body["cautions"][0]["key"] == "waste"
    assert deposit_as_json(replace(answer, charge=None))["charge"] is None


def test_a_layer_alone_prints_as_in_its_plan(made: Plan, body: dict[str, Any]) -> None:
    assert json.loads(json.dumps(layer_json(made.layers[-1]))) == body["layers"][-1]
    assert math.isfinite(body["layers"][-1]["charge"]["value"])
