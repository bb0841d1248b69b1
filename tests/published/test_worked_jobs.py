"""Worked jobs from area to price, each recomputed here by hand arithmetic from constants that stand here.

Faraday's constant is exact (CODATA 2018); molar masses are the IUPAC/CIAAW standard atomic weights; densities those of
NIST SRD 126, unless the row says else. Nickel and copper are of valence 2, gold and silver of 1, palladium of 2,
rhodium of 3, chromium of 6. A row whose figures are published says so in its title; the other jobs are invented, and
so are all prices. By brush: peak current = density x footprint; mean current = contact fraction x peak; time = charge
over mean current; passes = charge x lane pitch x hand speed over area, density and footprint. In a tank: current =
density x area x parts of a load; time = charge over the current of one part. Labour is the working time by brush, but
for each piece at least the two minutes of handling of the example rates; the metal is billed as it is deposited.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date
from math import pi

import pytest

from areakit.costing.rates import rates_text
from areakit.plating.run import BrushRun
from areakit.service.plan import PlanRequest, plan
from areakit.service.quote import QuoteRequest, quote

FARADAY = 96485.33212  # C/mol
MOLAR = {"gold": 196.96657, "nickel": 58.6934, "copper": 63.546, "silver": 107.8682, "palladium": 106.42,
         "rhodium": 102.90549, "chromium": 51.9961}  # fmt: skip
DENSITY = {"gold": 19.32, "nickel": 8.902, "copper": 8.96, "silver": 10.5, "palladium": 12.02, "rhodium": 12.41,
           "chromium": 7.18}  # fmt: skip
VALENCE = {"gold": 1, "nickel": 2, "copper": 2, "silver": 1, "palladium": 2, "rhodium": 3, "chromium": 6}
PRICES = {"gold": 75.30, "silver": 0.90, "palladium": 31.0, "rhodium": 150.0}  # EUR/g, invented
PER_HOUR, HANDLING_MIN = 48.0, 2.0  # EUR, of the example rates
SQUARE_INCH, INCH = 6.4516, 25.4


@dataclass(frozen=True, kw_only=True)
class Coat:
    """One layer: mean thickness in um, efficiency in %, current density in A/dm2, density in g/cm3 where not pure."""

    metal: str
    microns: float
    efficiency: float
    density: float
    weight: float | None = None
    bath: str | None = None


@dataclass(frozen=True, kw_only=True)
class Work:
    """One job. Area of a piece in cm2; the footprint as two sides in mm, which give its area; speed in m/min."""

    title: str
    process: str
    area: float
    coats: tuple[Coat, ...]
    pieces: int = 1
    footprint: tuple[float, float] | None = None
    fraction: float = 100.0
    speed: float = 12.0
    rack: int | None = None
    minutes: tuple[float, ...] = field(default=())  # printed or worked by hand beforehand, where known


def gold(microns: float, efficiency: float = 72.0, density: float = 10.0) -> Coat:
    return Coat(metal="gold", microns=microns, efficiency=efficiency, density=density)


def nickel(microns: float, efficiency: float = 50.0, density: float = 30.0) -> Coat:
    return Coat(metal="nickel", microns=microns, efficiency=efficiency, density=density)


JOBS = [
    Work(
        title="bore 6 in wide and 2 in long, turned under its anode; Metal Finishing Guidebook, p. 349: 22.6 min",
        process="nickel-brush", area=pi * 6 * 2 * SQUARE_INCH,
        coats=(Coat(metal="nickel", microns=0.002 * INCH * 1e3, efficiency=88.83, density=5 / SQUARE_INCH * 100),),
        footprint=(6 * INCH, INCH), speed=50 * 0.3048, minutes=(22.6,),
    ),
    Work(title="badge, both faces and edges, nickel and gold by brush", process="nickel-gold-brush", area=45.05,
         coats=(nickel(3.3), gold(0.55)), pieces=2, footprint=(20, 15), fraction=43.0),
    Work(title="foil strip 200 x 10 mm, both faces", process="gold-brush", area=2 * 20.0 * 1.0, coats=(gold(0.5),),
         footprint=(12, 8), fraction=60.0),
    Work(title="rack of five brackets 60 x 25 x 3 mm with two holes of 6 mm, 3 + 2 on a rack of four",
         process="nickel-tank", area=35.10, coats=(nickel(25.0, 95.0, 3.0),), pieces=5, rack=4,
         minutes=(45.06 / (0.3510 * 3.0),)),
    Work(title="disk 24.26 x 1.75 mm all over, gold 2.5 um", process="gold-tank",
         area=2 * pi * 2.426**2 / 4 + pi * 2.426 * 0.175, coats=(gold(2.5, 72.0, 0.5),), minutes=(0.581 / 0.05289,)),
    Work(title="wire 1 mm thick and 2 m long, nickel", process="nickel-tank", area=pi * 0.1 * 200.0,
         coats=(nickel(5.0, 95.0, 3.0),)),
    Work(title="stack of nickel and chromium in tanks", process="nickel-chromium-tank", area=100.0, pieces=3,
         coats=(nickel(10.0, 95.0, 3.0), Coat(metal="chromium", microns=0.3, efficiency=13.0, density=12.0))),
    Work(title="nickel strike of 1.27 um (AC 43.13-1B: 0.00005 in at once, while wet)", process="nickel-brush",
         area=20.0, coats=(nickel(1.27, 40.0, 40.0),), footprint=(20, 20), fraction=70.0),
    Work(title="hard gold alloy 0.762 um on 200 spots of 4 x 6 mm (MIL-DTL-45204D class 0 is 0.00003 in)",
         process="gold-tank", area=0.24, pieces=200, rack=50,
         coats=(Coat(metal="gold", microns=0.762, efficiency=35.0, density=1.0, weight=17.3, bath="gold-acid-hard"),)),
    Work(title="silver footprint by brush", process="silver-brush", area=8.0, footprint=(10, 10), fraction=50.0,
         coats=(Coat(metal="silver", microns=5.0, efficiency=98.0, density=8.0),)),
    Work(title="copper build-up by brush", process="copper-brush", area=25.0, footprint=(25, 15), fraction=80.0,
         coats=(Coat(metal="copper", microns=50.0, efficiency=95.0, density=40.0),)),
    Work(title="palladium under gold, without nickel", process="palladium-gold-brush", area=6.0, pieces=5,
         footprint=(10, 8), fraction=55.0,
         coats=(Coat(metal="palladium", microns=1.0, efficiency=52.0, density=6.0), gold(0.175))),
    Work(title="rhodium flash over nickel", process="nickel-rhodium-brush", area=4.0, footprint=(8, 8), fraction=50.0,
         coats=(nickel(2.0), Coat(metal="rhodium", microns=0.1, efficiency=53.0, density=5.0))),
    Work(title="large plaque 300 x 200 mm, one face", process="nickel-gold-brush", area=600.0, footprint=(50, 30),
         fraction=90.0, coats=(nickel(5.0), gold(0.25))),
]  # fmt: skip


def request_of(job: Work) -> PlanRequest:
    brush = {} if job.footprint is None else {
        "footprint": f"{job.footprint[0] * job.footprint[1] / 100:.10f} cm2", "contact_fraction": f"{job.fraction}%",
        "hand_speed": f"{job.speed} m/min",
    }  # fmt: skip
    return PlanRequest(
        process=job.process,
        area=f"{job.area:.8f} cm2",
        layers={coat.metal: f"{coat.microns} um mean" for coat in job.coats},
        pieces=job.pieces,
        pieces_per_load=job.rack,
        efficiency={coat.metal: f"{coat.efficiency}%" for coat in job.coats},
        density={coat.metal: f"{coat.weight or DENSITY[coat.metal]} g/cm3" for coat in job.coats},
        current_density={coat.metal: f"{coat.density} A/dm2" for coat in job.coats},
        bath={coat.metal: coat.bath for coat in job.coats if coat.bath},
        **brush,
    )


def grams(job: Work, coat: Coat) -> float:
    """Metal on one piece. [g]"""
    return (coat.weight or DENSITY[coat.metal]) * job.area * coat.microns * 1e-4


def coulombs(job: Work, coat: Coat) -> float:
    moles = grams(job, coat) / MOLAR[coat.metal]
    return VALENCE[coat.metal] * FARADAY * moles / (coat.efficiency / 100)


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.title[:40])
def test_a_worked_job(job: Work) -> None:
    result = plan(request_of(job))
    rates = rates_text(currency="EUR", example=True)
    metals = {coat.metal: f"{PRICES[coat.metal]} EUR/g" for coat in job.coats if coat.metal in PRICES}
    priced = quote(
        QuoteRequest(plan=result, rates=rates, metal_prices=metals, price_date="2026-01-31", faces="all",
                     quoted_on=date(2026, 1, 31))
    ).quote  # fmt: skip
    lines = {line.key: float(line.amount) for line in priced.lines}
    for coat, planned in zip(job.coats, result.layers, strict=True):
        charge, metal = coulombs(job, coat), grams(job, coat)
        assert planned.charge_set == pytest.approx(charge, rel=1e-4)
        assert planned.mass.value * 1e3 == pytest.approx(metal, rel=1e-4)
        if job.footprint is None:
            one = coat.density * job.area / 100
            seconds, loads = charge / one, math.ceil(job.pieces / (job.rack or job.pieces))
            fullest = math.ceil(job.pieces / loads)
            assert planned.tank is not None
            assert planned.tank.time.value == pytest.approx(seconds, rel=1e-4)
            assert planned.tank.groups[0].current.value == pytest.approx(one * fullest, rel=1e-4)
            assert sum(group.loads for group in planned.tank.groups) == loads
        else:
            assert planned.brush is not None
            seconds = by_brush(job, coat, planned.brush, charge)
            labour = job.pieces * max(seconds / 60, HANDLING_MIN) / 60 * PER_HOUR
            assert lines[f"plating-{coat.metal}"] == pytest.approx(labour, abs=0.011)
        if coat.metal in PRICES:
            assert lines[f"metal-{coat.metal}"] == pytest.approx(metal * job.pieces * PRICES[coat.metal], abs=0.011)
        if job.minutes:
            assert seconds / 60 == pytest.approx(job.minutes[0], rel=3e-3)
    assert math.isclose(sum(lines.values()), float(priced.price), abs_tol=0.05)


def by_brush(job: Work, coat: Coat, run: BrushRun, charge: float) -> float:
    """Check currents, time and passes of a layer, and return the time. [s]"""
    assert job.footprint is not None
    footprint = job.footprint[0] * job.footprint[1] / 100  # cm2
    peak = coat.density * footprint / 100
    mean = peak * job.fraction / 100
    # a footprint that is typed as an area is taken as round and as wide as long: its lanes lie 45 % of that apart
    pitch = 2 * math.sqrt(footprint / pi) * 0.45 / 100  # m
    touched = coat.density * 100 * footprint * 1e-4 / (pitch * job.speed / 60)  # C/m2 in one pass
    assert run.peak_current.value == pytest.approx(peak, rel=1e-4)
    assert run.mean_current.value == pytest.approx(mean, rel=1e-4)
    assert run.time.value == pytest.approx(charge / mean, rel=1e-4)
    assert run.passes.value == pytest.approx(charge / (job.area * 1e-4) / touched, rel=1e-3)
    assert run.passes.value * run.seconds_per_pass.value == pytest.approx(run.time.value, rel=1e-9)
    return charge / mean
