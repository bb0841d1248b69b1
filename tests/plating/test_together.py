"""Several kinds of parts in one tank load: the areas add, each kind gets its share, and the neediest is met."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.errors import InputError
from areakit.plating.plan import Plan
from areakit.records.plan_json import plan_json
from areakit.records.planned_job import job_from_body
from areakit.service.plan import PlanRequest, plan_all
from areakit.service.shop import NONE

FARADAY = 96485.33212


def measured(*areas_cm2: float, spreads: tuple[float, ...] = ()) -> str:
    """Parts with areas of their own names of uncertainty, so that their sum is less uncertain than each."""
    parts: list[dict[str, Any]] = [
        {
            "id": number,
            "plated_area": {
                "value": area * 100.0,
                "unit": "mm2",
                "budget": {f"edge {number}": (spreads[number - 1] if spreads else 0.01) * area * 50.0},
            },
        }
        for number, area in enumerate(areas_cm2, start=1)
    ]
    return json.dumps({"photo": "rack.jpg", "flags": [], "parts": parts})


REQUEST = PlanRequest(
    process="nickel-tank", layers={"nickel": "5 um"}, current_density={"nickel": "3 A/dm2"}, base="brass",
    efficiency={"nickel": "95 %"}, density={"nickel": "8.902 g/cm3"}, allowance={"": "1.25"}, together=True,
    even_chance=True, shop=NONE,
)  # fmt: skip


def plans(*areas_cm2: float, **fields: Any) -> tuple[Plan, ...]:
    spreads = fields.pop("spreads", ())
    return plan_all(replace(REQUEST, measured=measured(*areas_cm2, spreads=spreads), **fields))


def test_the_current_is_the_density_times_the_sum_and_each_kind_has_its_share_by_area() -> None:
    """3 A/dm2 on 10 + 30 cm2: 1.2 A; a quarter of it on the first."""
    made = plans(10.0, 30.0)
    (load,) = made[0].shared
    assert made[1].shared == made[0].shared
    assert load.current.value == pytest.approx(1.2)
    assert [one.share for one in load.shares] == pytest.approx([0.25, 0.75])
    assert [one.current.value for one in load.shares] == pytest.approx([0.3, 0.9])
    assert [plan.layers[0].tank.current.value for plan in made] == pytest.approx([0.3, 0.9])  # type: ignore[union-attr]


def test_time_and_charge_are_those_of_faraday_s_law_on_the_sum() -> None:
    """5 um times 1.25 of nickel at 95 %: z F rho d / (eta M) of charge for a unit of area."""
    (load,) = plans(10.0, 30.0)[0].shared
    per_area = 2 * FARADAY * 8902.0 * 6.25e-6 / (0.95 * 0.0586934)
    assert load.charge == pytest.approx(per_area * 40e-4, rel=1e-5)
    assert load.time.value == pytest.approx(per_area / 300.0, rel=1e-5)
    assert load.charge == pytest.approx(load.current.value * load.time.value)


def test_the_kind_that_needs_most_sets_the_charge_and_every_minimum_is_met() -> None:
    """Two plates of unlike shape have unlike allowances; the neediest sets the charge for a unit of area."""
    words = ["plan", "--shape", "disk 40 mm", "--shape", "rectangle 80 x 8 mm", "--thickness", "1 mm", "--base",
             "brass", "--process", "nickel-tank", "--layer", "nickel=5 um", "--together", "--shop", "none",
             "--current-density", "nickel=3 A/dm2", "--efficiency", "nickel=95 % ± 2 %", "--json"]  # fmt: skip
    made = CliRunner().invoke(group, words)
    bodies = [json.loads(line) for line in made.stdout.splitlines()]
    layers = [body["layers"][0] for body in bodies]
    per_area = [
        layer["charge_set"]["value"] / body["area"]["per_piece"]["value"]
        for layer, body in zip(layers, bodies, strict=True)
    ]
    assert per_area[0] == pytest.approx(per_area[1])
    allowances = [layer["distribution_allowance"]["quantity"]["value"] for layer in layers]
    assert allowances[0] != pytest.approx(allowances[1], rel=0.01)
    low = [layer["minimum_reached"]["value"] - layer["minimum_reached"]["expanded_uncertainty"] for layer in layers]
    assert min(low) == pytest.approx(5.0, rel=1e-6)
    assert max(low) > 5.0
    shares = bodies[0]["loads_shared"][0]["shares"]
    assert [one["minimum_reached"]["value"] for one in shares] == pytest.approx(
        [layer["minimum_reached"]["value"] for layer in layers]
    )


def test_the_thickness_carries_the_uncertainty_of_the_whole_area() -> None:
    """A small part known to 0 % hangs with a large one known to 10 %: 30 of 40 cm2 make 7.5 % of the sum."""
    small, _ = plans(10.0, 30.0, spreads=(0.0, 0.1))
    mean = small.layers[0].mean
    assert mean.budget["edge 2"] / mean.value == pytest.approx(-0.0375)
    assert mean.budget.get("edge 1", 0.0) == 0.0


def test_alone_and_together_agree_for_kinds_that_need_the_same() -> None:
    together, alone = plans(10.0, 30.0), plans(10.0, 30.0, together=False)
    for one, other in zip(together, alone, strict=True):
        assert one.layers[0].charge_set == pytest.approx(other.layers[0].charge_set)
        assert one.layers[0].mean.value == pytest.approx(other.layers[0].mean.value)
        assert not other.shared


@pytest.mark.parametrize(("supply", "current"), [("1.3 A", 1.2), ("0.8 A", 0.8)])
def test_the_supply_bounds_the_current_of_the_whole_load(supply: str, current: float) -> None:
    made = plans(10.0, 30.0, supply=supply)
    (load,) = made[0].shared
    assert load.current.value == pytest.approx(current)
    assert ("SUPPLY_LIMIT" in [one.code for one in made[0].flags]) is (current < 1.2)
    assert load.current.value * load.time.value == pytest.approx(load.charge)


@pytest.mark.parametrize(("rack", "fits"), [(2, True), (1, False)])
def test_all_pieces_must_find_room_on_the_rack(rack: int, *, fits: bool) -> None:
    if fits:
        assert plans(10.0, 30.0, pieces_per_load=rack)[0].shared
    else:
        with pytest.raises(InputError, match="2 pieces are to hang together, and the rack takes 1"):
            plans(10.0, 30.0, pieces_per_load=rack)


def test_a_brush_takes_no_parts_together() -> None:
    with pytest.raises(InputError, match="brush work"):
        plans(10.0, 30.0, process="nickel-brush", footprint="4 cm2")


def test_one_kind_is_planned_as_ever() -> None:
    (made,) = plans(10.0)
    assert made.shared == ()


def test_the_time_of_a_load_is_priced_once_over_all_kinds() -> None:
    made = plans(10.0, 30.0)
    times = [job_from_body(json.loads(json.dumps(plan_json(one)))).layers[0].time for one in made]
    (load,) = made[0].shared
    assert sum(time for time in times if time is not None) == pytest.approx(load.time.value)


def test_card_and_details_tell_the_load_and_each_share(tmp_path: Path) -> None:
    path = tmp_path / "rack.json"
    path.write_text(measured(10.0, 30.0))
    words = ["plan", "--from", str(path), "--process", "nickel-tank", "--layer", "nickel=5 um", "--together",
             "--shop", "none", "--current-density", "nickel=3 A/dm2", "--efficiency", "nickel=95 %", "--allowance",
             "1.25", "--even-chance", "--base", "brass"]  # fmt: skip
    card = CliRunner().invoke(group, words).stdout
    assert "1.200 A" in card
    assert "2 on the rack together" in card
    assert "Part 1, 1 piece: 25 % of the current; minimum nickel 5.0" in card
    details = CliRunner().invoke(group, [*words, "--details"]).stdout
    assert "One load of nickel, 2 pieces" in details
    assert "75.0 %" in details
