"""A plan of gold on nickel by brush, and the metal that one A.min deposits, as the tests of the record weigh it."""

import json

from areakit.records.plan_json import plan_json
from areakit.service.plan import plan
from areakit.service.plan_request import PlanRequest

GOLD = 196.96657 / 96485.33212 * 60e3  # mg for one A.min of gold(I) at 100 %
NICKEL = 58.6934 / (2 * 96485.33212) * 60e3  # mg for one A.min of nickel(II) at 100 %


def planned(*, pieces: int | None = None) -> str:
    request = PlanRequest(
        process="nickel-gold-brush", layers={"gold": "0.5 um", "nickel": "3 um"}, area="25 cm2",
        area_uncertainty="2 %", efficiency={"gold": "72% ± 6%", "nickel": "90 % ± 4 %"},
        allowance={"": "1.25"}, bath={"gold": "gold-cyanide"}, base="brass", pieces=pieces, shop="none",
    )  # fmt: skip
    return json.dumps(plan_json(plan(request)))
