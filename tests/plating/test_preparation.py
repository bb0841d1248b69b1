"""The table of preparations: every base, layer and method has one cell; what a passive or wrong base needs is said."""

import csv
from dataclasses import replace
from importlib.resources import files
from itertools import product

import pytest

from areakit.errors import InputError
from areakit.plating.metals import all_figures
from areakit.plating.preparation import all_preparations, check_preparation, prepared
from areakit.plating.process import BASE_GROUPS, Process, all_processes, all_steps, process, process_from
from areakit.service.plan import PlanRequest, plan
from areakit.sources import all_sources

FIRST = ("nickel", "copper", "gold", "silver", "palladium", "rhodium", "chromium")
COPPER_ALLOYS = ("copper", "brass", "bronze", "nickel-silver", "clad")
SPECIALIST = ("tin-lead", "pewter", "zinc", "aluminium", "titanium")


def test_the_table_covers_every_base_layer_and_method_once() -> None:
    rows = csv.DictReader(files("areakit").joinpath("data/preparation.csv").read_text(encoding="utf-8").splitlines())
    cells = [
        cell
        for row in rows
        for cell in product(row["bases"].split(), row["methods"].split(), row["first"].split())
    ]  # fmt: skip
    assert len(cells) == len(set(cells))
    for base, method, first in product(BASE_GROUPS, ("brush", "tank"), FIRST):
        assert (base, method, first) in set(cells), (base, method, first)
    assert len(BASE_GROUPS) >= 17


def test_every_cell_names_known_steps_and_sources() -> None:
    for cell in all_preparations().values():
        assert cell.source in all_sources()
        assert cell.citation
        assert set(cell.steps) <= set(all_steps())
        assert bool(cell.steps) == (cell.verdict == "do")
        if cell.verdict == "specialist":
            assert cell.note


# FAA AC 43.13-1B, 4-62: copper alloys 8 to 12 V; steels, nickel and stainless 12 to 20 V, forward
@pytest.mark.parametrize(
    ("base", "volts"),
    [("brass", (8, 12)), ("copper", (8, 12)), ("clad", (8, 12)), ("steel", (12, 20)), ("stainless", (12, 20)),
     ("nickel", (12, 20)), ("sterling", None), ("gold", None), ("nickel-phosphorus", None), (None, None)],
)  # fmt: skip
def test_electrocleaning_has_volts_only_where_the_source_gives_them(
    base: str | None, volts: tuple[int, int] | None
) -> None:
    window = all_steps()["electroclean"].voltage(base)
    assert (tuple(end.value for end in window) if window else None) == volts


@pytest.mark.parametrize("base", [None, *BASE_GROUPS])
def test_six_to_twenty_volts_are_for_stainless_and_nickel_alone(base: str | None) -> None:
    made = prepared(process("nickel-brush"), base)
    activations = [step for step in made.steps if step.kind == "activate" and not step.conditional]
    for step in activations:
        window = step.voltage(base)
        if base in ("stainless", "nickel"):
            assert window is not None
            assert [end.value for end in window] == [6.0, 20.0]
            assert {end.origin.kind for end in window} == {"unverified"}
        else:
            assert window is None
    assert all_figures()[("activate-passive", "voltage_low")].source == "ac43-order"


@pytest.mark.parametrize(
    ("base", "rinsed"), [("stainless", False), ("nickel", False), ("brass", True), ("steel", True)]
)
def test_no_rinse_stands_between_activation_and_nickel_on_a_passive_base(base: str, rinsed: bool) -> None:
    keys = [step.key for step in prepared(process("nickel-brush"), base).steps]
    before = keys[keys.index("plate-nickel") - 1]
    assert (before == "rinse") is rinsed
    assert rinsed or before == "activate-passive"


def test_stainless_in_a_tank_gets_a_strike_and_goes_on_at_once() -> None:
    keys = [step.key for step in prepared(process("nickel-tank"), "stainless").steps]
    assert keys[keys.index("strike-nickel") + 1] == "plate-nickel"
    assert keys.index("activate-dip") < keys.index("strike-nickel")


def own(*steps: str, method: str = "tank") -> Process:
    return process_from("own", {"title": "own", "method": method, "steps": list(steps)})


def codes(made: Process, base: str | None) -> dict[str, str]:
    return {finding.code: finding.severity for finding in check_preparation(made, base)}


def test_stainless_without_a_strike_is_told() -> None:
    bare = own("degrease", "electroclean", "rinse", "activate-dip", "rinse", "plate-nickel")
    assert codes(bare, "stainless")["STRIKE_MISSING"] == "stop"
    assert "STRIKE_MISSING" not in codes(bare, "brass")
    struck = own("degrease", "electroclean", "rinse", "activate-dip", "rinse", "strike-nickel", "plate-nickel")
    assert "STRIKE_MISSING" not in codes(struck, "stainless")
    assert "STRIKE_MISSING" not in codes(prepared(process("nickel-tank"), "stainless"), "stainless")


@pytest.mark.parametrize(
    ("base", "severity"),
    [("steel", "stop"), ("stainless", "stop"), ("sterling", "check"), ("nickel", None), ("gold", None)],
)
def test_gold_straight_on_a_wrong_base_is_told(base: str, severity: str | None) -> None:
    for key in ("gold-brush", "gold-tank"):
        found = codes(process(key), base)
        assert found.get("BASE_NEEDS_UNDERCOAT") == severity


@pytest.mark.parametrize("base", SPECIALIST)
def test_some_bases_are_not_for_this_bench(base: str) -> None:
    for made in all_processes().values():
        assert codes(made, base) == {"PREPARATION_SPECIALIST": "stop"}


def test_clad_copper_says_where_to_clip_and_minds_heat_bowing_and_a_wet_laminate() -> None:
    (note,) = check_preparation(process("nickel-brush"), "clad")
    assert all(word in note.message for word in ("heat", "bows", "wet laminate", "clip"))
    assert codes(process("nickel-tank"), "clad") == {"PREPARATION_SPECIALIST": "stop"}
    assert "degrease-clad" in [step.key for step in prepared(process("nickel-brush"), "clad").steps]


@pytest.mark.parametrize(("key", "base"), list(product(all_processes(), BASE_GROUPS)))
def test_a_prepared_process_keeps_its_layers_and_its_order(key: str, base: str) -> None:
    from areakit.plating.checks import check_sequence

    made = prepared(process(key), base)
    assert made.metals == process(key).metals
    assert check_sequence(made, cyanide_metals=frozenset({"gold", "silver"}), base=base) == ()
    if key == "nickel-carbon-steel-brush":
        assert made.steps == process(key).steps


def test_the_plan_carries_the_preparation_and_its_findings() -> None:
    request = PlanRequest(process="gold-tank", layers={"gold": "0.5 um"}, area="10 cm2", efficiency={"gold": "90%"})
    wanted = {"BASE_NEEDS_UNDERCOAT", "GOLD_WITHOUT_BARRIER"}
    for base, code in (("stainless", "BASE_NEEDS_UNDERCOAT"), ("brass", "GOLD_WITHOUT_BARRIER")):
        found = plan(replace(request, base=base)).findings
        assert [one.code for one in found if one.code in wanted] == [code]
    nickel = replace(request, process="nickel-tank", layers={"nickel": "5 um"}, base="stainless", efficiency={})
    assert "strike-nickel" in [step.step.key for step in plan(nickel).steps]
    with pytest.raises(InputError, match="no preparation"):
        plan(replace(request, base="wood"))
