"""Checks of stacks and sequences: each says why, by which source, and what to do."""

import re

import pytest

from areakit.errors import InputError
from areakit.plating.checks import CheckedLayer, check_sequence, check_stack
from areakit.plating.metals import all_baths
from areakit.plating.preparation import prepared
from areakit.plating.process import BASE_GROUPS, Process, all_cautions, all_processes, all_steps, process_from
from areakit.plating.requirements import all_requirements, requirement
from areakit.sources import all_sources, source
from areakit.units import convert


def stack(*layers: tuple[str, float], base: str | None = "brass", **more: str | None) -> set[str]:
    seen = [CheckedLayer(metal=metal, minimum=um * 1e-6) for metal, um in layers]
    found = check_stack(seen, base=base, market=more.get("market"), use=more.get("use"))
    for finding in found:
        assert finding.why
        assert finding.remedy
        assert finding.source in all_sources()
    return {finding.code for finding in found}


@pytest.mark.parametrize("base", ["copper", "brass", "bronze"])
def test_gold_on_copper_alloy_needs_a_barrier(base: str) -> None:
    # MIL-DTL-45204D: a copper-rich base takes an anti-diffusion layer such as nickel
    assert "GOLD_WITHOUT_BARRIER" in stack(("gold", 0.5), base=base)
    assert "GOLD_WITHOUT_BARRIER" in stack(("copper", 5), ("gold", 0.5), base="nickel")
    assert "GOLD_WITHOUT_BARRIER" in stack(("silver", 5), ("gold", 0.5), base=base)
    assert "GOLD_WITHOUT_BARRIER" not in stack(("nickel", 2), ("gold", 0.5), base=base)
    assert "GOLD_WITHOUT_BARRIER" not in stack(("palladium", 1), ("gold", 0.5), base=base)
    assert "GOLD_WITHOUT_BARRIER" not in stack(("gold", 0.5), base="nickel")


def test_silver_does_not_go_directly_on_every_base() -> None:
    # FAA AC 43.13-1B: silver, and on steel copper, must not go directly on the base
    assert "SILVER_ON_BASE" in stack(("silver", 5), base="brass")
    assert "SILVER_ON_BASE" in stack(("silver", 5), base="steel")
    assert "SILVER_ON_BASE" not in stack(("silver", 5), base="silver")
    assert "SILVER_ON_BASE" not in stack(("nickel", 2), ("silver", 5), base="brass")
    assert "COPPER_ON_STEEL" in stack(("copper", 5), base="steel")
    assert "COPPER_ON_STEEL" not in stack(("copper", 5), base="brass")


def test_silver_under_gold_is_refused_by_the_military_specification() -> None:
    layers = [
        CheckedLayer(metal="silver", minimum=2e-6),
        CheckedLayer(metal="gold", minimum=2e-6, requirement=requirement("mil-dtl-45204-1")),
    ]
    assert "SILVER_UNDER_GOLD" in {f.code for f in check_stack(layers, base="nickel", market=None, use=None)}


def test_nickel_for_the_eu() -> None:
    # REACH Annex XVII entry 27
    layers = (("nickel", 2.0), ("gold", 0.5))
    assert "NICKEL_IN_EU" in stack(*layers, market="eu", use="jewellery")
    assert "NICKEL_IN_EU" in stack(*layers, market="EU")
    assert "NICKEL_IN_EU" not in stack(*layers, market="eu", use="technical")
    assert "NICKEL_IN_EU" not in stack(*layers, market="us", use="jewellery")
    assert "NICKEL_IN_EU" not in stack(("palladium", 1), ("gold", 0.5), market="eu", use="jewellery")
    assert "NICKEL_IN_EU" in stack(("silver", 5), base="nickel-silver", market="eu")
    worn = check_stack([CheckedLayer(metal="nickel", minimum=2e-6)], base="brass", market="eu", use="jewellery")
    assert {f.severity for f in worn if f.code == "NICKEL_IN_EU"} == {"stop"}


# Metal Finishing Guidebook p. 211: flash 2 to 4 µin (0.05 to 0.10 µm)
@pytest.mark.parametrize(
    ("bath", "um", "severity"),
    [("gold-cyanide", 0.1016, None), ("gold-cyanide", 0.11, "check"), ("gold-cyanide", 1.0, "check"),
     ("gold-cyanide", 4.0, "stop"), ("gold-acid-hard", 4.0, None), (None, 4.0, None)],
)  # fmt: skip
def test_a_flash_bath_asked_for_a_thick_layer_is_told(bath: str | None, um: float, severity: str | None) -> None:
    layers = [CheckedLayer(metal="gold", minimum=um * 1e-6, bath=bath)]
    found = [one for one in check_stack(layers, base="nickel", market=None, use=None) if one.code == "FLASH_BATH"]
    assert [one.severity for one in found] == ([severity] if severity else [])
    if severity:
        assert f"{um:.3g} µm of gold are asked of a bath" in found[0].message
        assert "up to 0.102 µm." in found[0].message  # 4 µin


def test_a_thin_underplate_is_told() -> None:
    assert "UNDERPLATE_THIN" in stack(("nickel", 1.0), ("gold", 0.5))
    thin = [CheckedLayer(metal=metal, minimum=um * 1e-6) for metal, um in (("nickel", 1.0), ("gold", 0.5))]
    (told,) = [one for one in check_stack(thin, base="brass", market=None, use=None) if one.code == "UNDERPLATE_THIN"]
    assert told.message == "The nickel underplate of 1 µm is thinner than the usual 1.25 µm."
    assert told.citation == source(told.source).citation
    assert "UNDERPLATE_THIN" not in stack(("nickel", 1.25), ("gold", 0.5))
    assert "UNDERPLATE_THIN" not in stack(("nickel", 1.0))


def below(key: str, um: float, base: str = "silver") -> set[str]:
    needed = requirement(key)
    layers = [CheckedLayer(metal=needed.metal, minimum=um * 1e-6, requirement=needed)]
    return {f.code for f in check_stack(layers, base=base, market=None, use=None)}


def test_a_layer_thinner_than_its_term_is_told() -> None:
    # 16 CFR 23 in secondary texts: gold electroplate 0.175 µm, heavy 2.5 µm; vermeil on sterling
    assert "BELOW_TERM" in below("us-gold-electroplate", 0.17)
    assert not below("us-gold-electroplate", 0.175)
    assert "BELOW_TERM" in below("us-vermeil", 2.0)
    assert "TERM_NEEDS_BASE" in below("us-vermeil", 2.5, base="brass")
    assert not below("us-vermeil", 2.5, base="sterling")
    assert "BELOW_CLASS" in below("mil-dtl-45204-3", 5.0)
    assert not below("mil-dtl-45204-3", 5.08)


# MIL-DTL-45204D in µin; QQ-N-290A in mil, printed as micrometres by rounding; ASTM B488 class is its minimum in µm
@pytest.mark.parametrize(
    ("key", "value", "unit", "tolerance_um"),
    [
        ("mil-dtl-45204-00", 20, "uin", 1e-9),
        ("mil-dtl-45204-6", 1500, "uin", 1e-9),
        ("qq-n-290-a", 1.6, "mil", 0.05),
        ("qq-n-290-c", 1.0, "mil", 0.05),
        ("astm-b488-1.25", 1.25, "um", 1e-9),
        ("iso-10713-a", 5, "um", 1e-9),
        ("ac-43-nickel-flash", 0.00005, "in", 1e-9),
    ],
)
def test_kept_classes_are_the_printed_ones(key: str, value: float, unit: str, tolerance_um: float) -> None:
    kept = requirement(key).minimum
    assert kept is not None
    assert kept.value * 1e6 == pytest.approx(convert(value, unit, "um"), abs=tolerance_um)


def test_iso_10713_category_c_is_one_mass_of_fine_gold() -> None:
    # densities of common gold alloys, from memory: 9 ct about 11.2, 14 ct about 13.8, 18 ct about 15.4 g/cm3
    for fineness, density in ((375, 11.2), (585, 13.8), (750, 15.4)):
        kept = requirement(f"iso-10713-c-{fineness}").minimum
        assert kept is not None
        assert kept.value * density * fineness == pytest.approx(0.5e-6 * 19.32 * 1000, rel=0.02)


def test_unverified_requirements_say_look_it_up() -> None:
    assert len(all_requirements()) == 58
    for one in all_requirements().values():
        assert one.source in all_sources()
        if one.kind == "unverified":
            assert "look it up in the edition that the order names" in one.origin.text


@pytest.mark.parametrize("metal", ["silver", "tin", "zinc", "palladium", "rhodium", "nickel", "copper", "gold"])
def test_every_metal_has_its_standards_and_none_invents_a_figure(metal: str) -> None:
    kept = [one for one in all_requirements().values() if one.metal == metal]
    assert kept
    for one in kept:
        if one.minimum is None:
            with pytest.raises(InputError, match="could not be verified") as refused:
                requirement(one.key)
            assert "edition that the order names" in refused.value.remedy


def test_nothing_says_that_it_was_remembered() -> None:
    told = [source.citation for source in all_sources().values()]
    told += [one.origin.text for one in all_requirements().values()]
    told += [caution.text + caution.citation for caution in all_cautions().values()]
    assert not [words for words in told if "memory" in words]


def sequence(*steps: str, cyanide: frozenset[str] = frozenset({"gold"})) -> set[str]:
    made = process_from("own", {"title": "own", "method": "brush", "steps": list(steps)})
    return {finding.code for finding in check_sequence(made, cyanide_metals=cyanide, base="brass")}


@pytest.mark.parametrize("key", list(all_processes()))
def test_the_processes_that_come_with_areakit_are_in_order(key: str) -> None:
    made = all_processes()[key]
    assert check_sequence(made, cyanide_metals=frozenset({"gold", "silver"}), base="brass") == ()


def test_nickel_without_activation_is_told() -> None:
    assert "ACTIVATION_MISSING" in sequence("degrease", "electroclean", "rinse", "plate-nickel")
    assert not sequence("degrease", "electroclean", "rinse", "activate", "rinse", "plate-nickel")


def test_acid_before_cyanide_without_a_rinse_is_told() -> None:
    assert "ACID_BEFORE_CYANIDE" in sequence("degrease", "electroclean", "activate", "plate-gold")
    assert not sequence("degrease", "electroclean", "activate", "rinse-before-cyanide", "plate-gold")
    assert not sequence("degrease", "electroclean", "activate", "plate-gold", cyanide=frozenset())


def test_a_step_out_of_order_is_told() -> None:
    assert "STEP_OUT_OF_ORDER" in sequence("degrease", "activate", "electroclean", "activate", "rinse", "plate-nickel")
    assert "STEP_OUT_OF_ORDER" in sequence("activate", "plate-nickel", "degrease")
    assert "NOTHING_PLATED" in sequence("degrease", "rinse")


def test_every_step_is_complete_and_its_sources_are_known() -> None:
    for step in all_steps().values():
        assert step.source in all_sources()
        assert step.cautions or step.kind == "inspect"
        assert all(key in all_cautions() for key in step.cautions)
        assert step.look_for
        assert step.next_within
        assert step.tool
    for caution in all_cautions().values():
        assert caution.source in all_sources()


def every_process() -> list[Process]:
    """Every process on every base, as a plan would have it."""
    return [prepared(one, base) for one in all_processes().values() for base in (None, *BASE_GROUPS)]


def test_no_step_in_a_tank_speaks_of_a_sleeve_and_none_by_brush_of_a_tank() -> None:
    for one in every_process():
        words = " ".join(
            f"{step.title} {step.brief} {step.tool} {step.look_for} {step.next_within}" for step in one.steps
        )
        assert not re.search(r"sleeve|brush" if one.method == "tank" else r"\btank\b", words), one.key
    by_brush = next(one for one in every_process() if one.key == "nickel-gold-brush")
    assert "sleeve" in " ".join(step.tool for step in by_brush.steps)


def test_volts_of_the_brush_table_are_not_those_of_a_tank() -> None:
    """The volts of AC 43.13-1B, 4-62, are for plating by brush; a cleaner tank runs at what its label says."""
    for one in every_process():
        clean = [step for step in one.steps if step.key == "electroclean"]
        assert all((step.voltage("brass") is not None) == (one.method == "brush") for step in clean), one.key


def test_voltages_follow_the_base() -> None:
    # FAA AC 43.13-1B 4-62: copper alloys 8 to 12 V, steels and nickel 12 to 20 V
    clean = all_steps()["electroclean"]
    ends = {base: clean.voltage(base) for base in ("brass", "steel", "silver")}
    assert ends["brass"] is not None
    assert ends["steel"] is not None
    assert [end.value for end in ends["brass"]] == [8, 12]
    assert [end.value for end in ends["steel"]] == [12, 20]
    assert ends["silver"] is None
    etch = all_steps()["etch-steel"]
    window = etch.voltage("steel")
    assert "reverse" in etch.polarity
    assert window is not None
    assert [end.value for end in window] == [8, 10]  # reverse etch of cast iron and high-carbon steel


def hazards(key: str) -> set[str]:
    """Cautions that a bath brings along, by what it is called in the trade."""
    return set(all_baths()[key].contains)


# Hazards by substance: REACH and workshop slides for nickel, OSHA for chromium(VI); the rest are working figures of the
# trade, to be read in the safety data sheets.
@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("gold-acid-hard", {"cobalt", "nickel", "cyanide", "acid"}),
        ("gold-sulfite", {"sulfur-dioxide"}),
        ("rhodium-sulfate", {"rhodium", "acid"}),
        ("palladium-tank", {"palladium"}),
        ("platinum-2", {"platinum"}),
        ("platinum-brush", {"platinum"}),
        ("cobalt-sulfate", {"cobalt"}),
        ("nickel-watts", {"nickel", "food-contact"}),
        ("nickel-brush", {"nickel", "acid"}),
        ("copper-cyanide", {"cyanide", "food-contact"}),
    ],
)
def test_a_bath_brings_the_cautions_of_what_it_holds(key: str, expected: set[str]) -> None:
    assert expected <= hazards(key)


def test_refiners_are_for_precious_metals_only() -> None:
    for key, bath in all_baths().items():
        precious = bath.metal in {"gold", "silver", "palladium", "platinum", "rhodium"}
        assert ("precious-waste" in bath.contains) == precious, key
    shared = [caution.text for key, caution in all_cautions().items() if key != "precious-waste"]
    assert not [text for text in shared if "refiner" in text]
    assert not [step.key for step in all_steps().values() if "refiner" in step.tool]


def test_baking_is_given_in_both_scales_and_defers_to_the_specification() -> None:
    text = all_cautions()["hydrogen"].text
    fahrenheit, spread = (int(number) for number in re.findall(r"(\d+) ± (\d+) °F", text)[0])
    celsius, spread_c = (int(number) for number in re.findall(r"(\d+) ± (\d+) °C", text)[0])
    assert celsius == round((fahrenheit - 32) / 1.8)
    assert spread_c == round(spread / 1.8)
    assert "specification that governs the part" in text


def test_nickel_by_inhalation_is_not_played_down() -> None:
    text = all_cautions()["nickel"].text
    assert "cause cancer when breathed in" in text
    assert "suspected" not in text
