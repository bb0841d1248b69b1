"""Jobs of a small tank, worked through from drawing to price and recomputed here by hand.

Nothing of the formulas under test is used: molar masses are IUPAC/CIAAW standard atomic weights, densities those of
NIST SRD 126, the Faraday constant that of the 2019 SI, current densities those of the Metal Finishing Guidebook (p.
655). Sizes, efficiencies, prices and hourly rates of the jobs are invented.
"""

import json
import math
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.costing.quote import Quote, make_quote
from areakit.costing.rates import Rates, metal_price
from areakit.plating.plan import Plan, PlannedLayer
from areakit.records.plan_json import plan_json
from areakit.records.planned_job import job_from_body
from areakit.service.plan import PlanRequest, plan

FARADAY = 96485.33212  # C/mol
MOLAR = {"nickel": 58.6934, "gold": 196.966570, "silver": 107.8682}  # g/mol
DENSITY = {"nickel": 8.902, "gold": 19.32, "silver": 10.50}  # g/cm3
FOOT = 0.3048  # m
DAY = date(2026, 3, 10)


def coulombs(metal: str, z: int, um: float, cm2: float, efficiency: float, density: float | None = None) -> float:
    """Charge for a mean thickness on an area. [C]"""
    grams = um * 1e-4 * cm2 * (density or DENSITY[metal])
    return grams / MOLAR[metal] * z * FARADAY / efficiency


def milligrams(metal: str, um: float, cm2: float, density: float | None = None) -> float:
    return um * 1e-4 * cm2 * (density or DENSITY[metal]) * 1e3


def layer(made: Plan, metal: str) -> PlannedLayer:
    return next(one for one in made.layers if one.layer.metal == metal)


def priced(made: Plan, **metals: str) -> Quote:
    """60 an hour; set-up 30 min, preparation 6 min and handling 3 min a piece; nothing else but the metal."""
    zero = Decimal(0)
    rates = Rates(
        currency="EUR", rounding=Decimal("0.01"), per_hour=Decimal(60), set_up=Decimal("0.5"),
        preparation=Decimal("0.1"), masking=zero, handling=Decimal("0.05"), consumables_per_job=zero,
        consumables_per_piece=zero, tests_per_job=zero, tests_per_piece=zero, refiner_return=Decimal(1), scrap=zero,
        overhead=zero, margin=zero, margin_on_metal=zero, minimum_charge=zero, valid_days=14,
        metals={
            metal: metal_price(metal, f"{price} ± 0 %", dated=DAY.isoformat(), basis="", currency="EUR")
            for metal, price in metals.items()
        },
    )  # fmt: skip
    return make_quote(replace(job_from_body(plan_json(made)), faces="all over"), rates, quoted_on=DAY)


def amounts(quote: Quote) -> dict[str, float]:
    return {line.key: float(line.amount) for line in quote.lines if line.group in ("labour", "metal")}


# A bracket 60 x 25 x 3 mm with two holes of 6 mm: faces 2 (1500 - 18 pi), edges 170 x 3, hole walls 2 x 6 pi x 3
BRACKET = (2 * (1500 - 18 * math.pi) + 510 + 36 * math.pi) / 100.0  # cm2


def test_rack_of_brackets() -> None:
    """Five brackets, nickel 25 µm in the mean, rack of 4: loads of 3 and 2, each with its current for one time."""
    assert pytest.approx(35.100, abs=0.0005) == BRACKET
    made = plan(
        PlanRequest(
            process="nickel-tank", layers={"nickel": "25 um mean"}, area=f"{BRACKET:.6f} cm2 ± 1 %", pieces=5,
            pieces_per_load=4, efficiency={"nickel": "95 % ± 2 %"}, base="bronze", supply="10 A",
        )
    )  # fmt: skip
    nickel = layer(made, "nickel")
    charge = coulombs("nickel", 2, 25, BRACKET, 0.95)
    assert charge / 60 == pytest.approx(45.06, abs=0.005)
    assert nickel.charge_set == pytest.approx(charge, rel=1e-6)
    assert nickel.mass.value * 1e6 == pytest.approx(milligrams("nickel", 25, BRACKET), rel=1e-6)
    run = nickel.tank
    assert run is not None
    each = 20 / FOOT**2 * BRACKET * 1e-4  # low end of 20 to 100 A/ft2
    assert [(one.pieces, one.loads) for one in run.groups] == [(3, 1), (2, 1)]
    assert [one.current.value for one in run.groups] == pytest.approx([3 * each, 2 * each], rel=1e-6)
    assert run.time.value == pytest.approx(charge / each, rel=1e-6)
    assert run.time.value / 60 == pytest.approx(59.6, abs=0.05)
    # 1 A·min on 1 dm2 gives 0.205 µm (handbook-style table): 59.6 min at 2.153 A/dm2 and 95 %
    assert pytest.approx(25, rel=0.005) == 59.6 * 20 / FOOT**2 / 100 * 0.95 * 0.205
    # 30 + 5 x 6 + 5 x 3 min at 1 EUR a minute; the two loads run unattended
    quote = priced(made)
    assert amounts(quote) == {"set-up": 30.0, "preparation": 30.0, "plating-nickel": 15.0}
    assert quote.price == Decimal("75.00")


def surface(*arguments: str) -> str:
    result = CliRunner().invoke(group, ["surface", *arguments, "--json"])
    assert result.exit_code == 0, result.output
    return result.output


def test_disk_whose_middle_gets_half_the_mean() -> None:
    """A disk of 30 mm, nickel 5 µm minimum, primary distribution.

    Newman, J. Electrochem. Soc. 113 (1966) 501: the middle of a disk gets half of the mean, so the mean is 10 µm.
    """
    measured = surface("--shape", "disk 30 mm ± 0.1 mm", "--faces", "both")
    made = plan(
        PlanRequest(
            process="nickel-tank", layers={"nickel": "5 um"}, measured=measured, base="brass", even_chance=True,
            efficiency={"nickel": "95 % ± 2 %"}, current_density={"nickel": "3 A/dm2"},
        )
    )  # fmt: skip
    nickel, area = layer(made, "nickel"), 2 * math.pi * 1.5**2
    assert nickel.layer.allowance.value == pytest.approx(2.0, rel=0.01)
    charge = coulombs("nickel", 2, 10, area, 0.95)
    assert nickel.charge_set == pytest.approx(charge, rel=0.01)
    assert nickel.tank is not None
    assert nickel.tank.current.value == pytest.approx(3 * area / 100, rel=1e-4)
    assert nickel.tank.time.value == pytest.approx(charge / (3 * area / 100), rel=0.01)
    assert nickel.mass.value * 1e6 == pytest.approx(milligrams("nickel", 10, area), rel=0.01)
    assert "WAGNER_NOT_SAID" in {told.code for told in made.flags}


SILVER_TANK = '[processes.silver-tank]\ntitle = "Silver in a tank"\nmethod = "tank"\nsteps = ["degrease", \
"electroclean", "rinse", "activate-dip", "rinse-before-cyanide", "plate-silver", "rinse-and-save", "inspect"]\n'


def test_wire_on_a_frame() -> None:
    """2 m of silver wire of 1 mm, silver 10 µm in the mean: area pi x 1 x 2000 mm2, ends left out."""
    area = math.pi * 0.1 * 200
    made = plan(
        PlanRequest(
            process="silver-tank", processes=SILVER_TANK, layers={"silver": "10 um mean"}, area=f"{area:.6f} cm2 ± 2 %",
            efficiency={"silver": "99 % ± 1 %"}, base="silver",
        )
    )  # fmt: skip
    silver = layer(made, "silver")
    charge = coulombs("silver", 1, 10, area, 0.99)
    assert silver.charge_set == pytest.approx(charge, rel=1e-6)
    current = 5 / FOOT**2 * area * 1e-4  # low end of 5 to 30 A/ft2
    assert silver.tank is not None
    assert silver.tank.current.value == pytest.approx(current, rel=1e-6)
    assert silver.tank.time.value == pytest.approx(charge / current, rel=1e-6)
    mass = milligrams("silver", 10, area)
    assert silver.mass.value * 1e6 == pytest.approx(mass, rel=1e-6)
    # anodes of silver give it back; 80 mL/m2 of a bath of 37 g/L (ASM Handbook vol. 5) go with the wire
    dragged = 80e-6 * area * 1e-4 * 37e6
    assert silver.consumption.top_up_metal.value * 1e6 == pytest.approx(dragged, rel=1e-6)
    quote = priced(made, silver="0.90 EUR/g")
    found = amounts(quote)
    assert found["metal-silver"] == pytest.approx(mass / 1e3 * 0.90, abs=0.005)
    assert found["plating-silver"] == 3.0
    assert found["loss-silver"] == pytest.approx(dragged / 1e3 * 0.90, abs=0.005)


def test_strike_of_trivalent_gold() -> None:
    """0.08 µm of gold from a gold(III) strike at 10 %: three electrons an ion, so thirty times gold(I) at 100 %."""
    made = plan(
        PlanRequest(
            process="gold-tank", layers={"gold": "0.08 um mean"}, area="20 cm2 ± 2 %", base="nickel",
            bath={"gold": "gold-chloride"}, efficiency={"gold": "10 % ± 5 %"}, current_density={"gold": "2 A/dm2"},
        )
    )  # fmt: skip
    gold = layer(made, "gold")
    charge = coulombs("gold", 3, 0.08, 20, 0.10)
    assert gold.charge_set == pytest.approx(charge, rel=1e-6)
    # handbook-style table: 0.212 µm for 1 A·min on 1 dm2 of gold(III) at 100 %
    assert charge / 60 == pytest.approx(0.08 / 0.212 / 0.10 * 0.20, rel=0.005)
    assert gold.tank is not None
    assert gold.tank.current.value == pytest.approx(0.4)
    assert gold.tank.time.value == pytest.approx(charge / 0.4, rel=1e-6)
    assert "FLASH_BATH" not in {one.code for one in made.findings}


def test_alloy_of_hard_gold_on_clips() -> None:
    """200 spots of 4 x 6 mm, hard gold, 30 µin in the mean, 17.3 g/cm3, 35 %: 0.316 mg a piece, 63.3 mg in all."""
    area, um = 0.24, 30 * 0.0254
    made = plan(
        PlanRequest(
            process="gold-tank", layers={"gold": "30 uin mean"}, area="0.24 cm2 ± 3 %", pieces=200, pieces_per_load=60,
            bath={"gold": "gold-acid-hard"}, density={"gold": "17.3 ± 0.3 g/cm3"}, base="nickel",
            efficiency={"gold": "35 % ± 5 %"},
        )
    )  # fmt: skip
    gold = layer(made, "gold")
    mass = milligrams("gold", um, area, 17.3)
    assert mass == pytest.approx(0.316, abs=0.0005)
    assert gold.mass_total.value * 1e6 == pytest.approx(200 * mass, rel=1e-6)
    charge = coulombs("gold", 1, um, area, 0.35, 17.3)
    assert gold.charge_set == pytest.approx(charge, rel=1e-6)
    run = gold.tank
    assert run is not None
    each = 10 / FOOT**2 * area * 1e-4  # low end of 10 to 30 A/ft2
    assert [(one.pieces, one.loads) for one in run.groups] == [(50, 4)]
    assert run.current.value == pytest.approx(50 * each, rel=1e-6)
    assert run.time.value == pytest.approx(charge / each, rel=1e-6)
    # without a refiner's share every milligram of gold is paid: deposit, and drag-out of 8.2 g/L (ASM Handbook vol. 5)
    dragged = 80e-6 * 200 * area * 1e-4 * 8.2e6
    found = amounts(priced(made, gold="80.00 EUR/g"))
    assert found["metal-gold"] == pytest.approx(200 * mass / 1e3 * 80, rel=0.01)
    assert found["loss-gold"] == pytest.approx(dragged / 1e3 * 80, rel=0.01)
    assert {"cobalt", "nickel"} <= {caution.key for caution in made.cautions}


def test_stack_of_nickel_and_gold() -> None:
    """Nickel 3 µm and gold 0.5 µm minimum, mean over minimum 1.6 for both, at an even chance."""
    made = plan(
        PlanRequest(
            process="nickel-gold-tank", layers={"nickel": "3 um", "gold": "0.5 um"}, area="12.5 cm2 ± 2 %", pieces=6,
            allowance={"": "1.6"}, efficiency={"nickel": "95 % ± 2 %", "gold": "90 % ± 5 %"}, base="brass",
            even_chance=True, bath={"gold": "gold-acid-hard"}, density={"gold": "19.32 ± 0.4 g/cm3"}, market="us",
            current_density={"gold": "1.5 A/dm2"},
        )
    )  # fmt: skip
    nickel = coulombs("nickel", 2, 4.8, 12.5, 0.95)
    gold = coulombs("gold", 1, 0.8, 12.5, 0.90)
    assert layer(made, "nickel").charge_set == pytest.approx(nickel, rel=1e-6)
    assert layer(made, "gold").charge_set == pytest.approx(gold, rel=1e-6)
    assert made.charge_total.value == pytest.approx(6 * (nickel + gold), rel=1e-6)
    currents = [run.current.value for one in made.layers if (run := one.tank)]
    assert currents == pytest.approx([6 * 20 / FOOT**2 * 12.5e-4, 6 * 1.5 * 0.125], rel=1e-6)
    times = [run.time.value for one in made.layers if (run := one.tank)]
    assert times == pytest.approx([6 * nickel / currents[0], 6 * gold / currents[1]], rel=1e-6)
    found = amounts(priced(made, gold="80.00 EUR/g"))
    assert found["metal-gold"] == pytest.approx(6 * milligrams("gold", 0.8, 12.5) / 1e3 * 80, rel=0.02)
    assert found["plating-nickel"] == found["plating-gold"] == 18.0


def test_a_sure_minimum_takes_more_charge() -> None:
    """Independent shares of the minimum in quadrature: area 2 %, density 4 %, efficiency 2/95, allowance 0.1/1.6."""
    request = PlanRequest(
        process="nickel-tank", layers={"nickel": "10 um"}, area="20 cm2 ± 2 %", allowance={"": "1.6 ± 0.1"},
        density={"nickel": "8.902 ± 0.356 g/cm3"}, efficiency={"nickel": "95 % ± 2 %"}, base="brass",
    )  # fmt: skip
    spread = math.hypot(0.02, 0.356 / 8.902, 2 / 95, 0.1 / 1.6)
    even = coulombs("nickel", 2, 16, 20, 0.95)
    assert layer(plan(replace(request, even_chance=True)), "nickel").charge_set == pytest.approx(even, rel=1e-6)
    assert layer(plan(request), "nickel").charge_set == pytest.approx(even / (1 - spread), rel=1e-3)


# Nickel-plating chart at 95 % (secondary copy): µm, g/dm2, A·h/dm2, minutes at 1 A/dm2; half of the last digit
@pytest.mark.parametrize(
    ("um", "grams", "hours", "minutes"), [(2, 0.18, 0.17, 10), (4, 0.36, 0.34, 20), (6, 0.53, 0.51, 31)]
)
def test_the_nickel_chart_as_a_plan(um: float, grams: float, hours: float, minutes: float) -> None:
    made = plan(
        PlanRequest(
            process="nickel-tank", layers={"nickel": f"{um} um mean"}, area="1 dm2 ± 1 %", base="brass",
            efficiency={"nickel": "95 %"}, current_density={"nickel": "1 A/dm2"},
        )
    )  # fmt: skip
    nickel = layer(made, "nickel")
    assert nickel.tank is not None
    assert nickel.mass.value * 1e3 == pytest.approx(grams, abs=0.005)
    assert nickel.charge_set / 3600 == pytest.approx(hours, abs=0.005)
    assert nickel.tank.time.value / 60 == pytest.approx(minutes, abs=0.55)


def test_the_worked_numbers_stand_in_the_json_too() -> None:
    made = plan(
        PlanRequest(
            process="nickel-tank", layers={"nickel": "25 um mean"}, area="35.1 cm2 ± 1 %", pieces=5, pieces_per_load=4,
            efficiency={"nickel": "95 % ± 2 %"}, base="bronze",
        )
    )  # fmt: skip
    body = json.loads(json.dumps(plan_json(made)))["layers"][0]
    each = 20 / FOOT**2 * 35.1e-4
    assert [one["pieces"] for one in body["tank"]["loads_alike"]] == [3, 2]
    assert [one["current"]["value"] for one in body["tank"]["loads_alike"]] == pytest.approx([3 * each, 2 * each])
    assert body["tank"]["rack"] == 4
