"""A user's solutions file: read field by field, with one sentence for each that is wrong."""

import pytest

from areakit.errors import InputError
from areakit.plating.solutions import parse_range, read_solutions, write_solution

GOOD = """
[solutions.shelf-gold]
metal = "gold"
bath = "gold-cyanide"
metal_content = "1 ozt/gal"
plating_factor = "0.006 A·h/in²/0.0001in"
allowed_charge = "5 A·h/L"
usable_fraction = "30 %"
voltage = "4 to 10 V"
current_density = "5 A/dm2 to 15 A/dm2"
speed = "8 m/min to 20 m/min"
contains = ["cyanide"]
"""


def test_a_label_becomes_si() -> None:
    gold = read_solutions(GOOD)["shelf-gold"]
    assert gold.metal_content == pytest.approx(8.2, abs=0.05)  # ASM Handbook: 8.2 g/L is 1 ozt/gal
    assert gold.allowed_charge == pytest.approx(5 * 3600 / 1e-3)
    assert gold.voltage == (4.0, 10.0)
    assert gold.current_density == pytest.approx((500.0, 1500.0))
    assert gold.plating_factor is not None
    assert gold.plating_factor.value == pytest.approx(60 * 3600 / 0.0254**3)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('metal = "unobtainium"', "no metal"),
        ('bath = "nickel-watts"', "deposits nickel, not gold"),
        ('bath = "gold-wishful"', "is not known; for gold"),
        ('metal_content = "8.2 g"', "not a unit of concentration"),
        ("metal_content = 8.2", "must be text with its unit"),
        ('metal_content = "0 g/L"', "above zero"),
        ('plating_factor = "6 A.h/in3"', "718 %"),
        ('efficiency = "72 %"', "stands beside a plating factor"),
        ('allowed_charge = "5 A.h"', "not a unit of charge per volume"),
        ('usable_fraction = "130 %"', "outside 0 to 100 %"),
        ('voltage = "10 V to 4 V"', "runs downwards"),
        ('voltage = "4 V to 6 V to 8 V"', "not a range"),
        ('speed = "fast"', "not one plain number"),
        ('contains = ["poison"]', "is not one of"),
        ('contains = "cyanide"', "must be a list"),
        ('colour = "yellow"', "is not known"),
    ],
)
def test_each_wrong_field_gets_one_sentence(line: str, words: str) -> None:
    field = line.split(" = ")[0]
    kept = [old for old in GOOD.splitlines() if not old.startswith(f"{field} =")]
    with pytest.raises(InputError) as caught:
        read_solutions("\n".join([*kept, line]))
    assert words in caught.value.message
    assert f"shelf-gold, {field}:" in caught.value.message


def test_every_wrong_field_is_named_at_once() -> None:
    with pytest.raises(InputError) as caught:
        read_solutions('[solutions.a]\nmetal = "gold"\nvoltage = "x"\nspeed = "y"\n[solutions.b]\ntitle = "no metal"\n')
    for words in ("a, voltage", "a, speed", "b, metal"):
        assert words in caught.value.message


@pytest.mark.parametrize("text", ["[solutions", "solutions = 3", "[solutions]\nx = 3"])
def test_text_that_is_no_solutions_file_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_solutions(text)


def test_what_is_written_can_be_read() -> None:
    text = write_solution("my-nickel", {"metal": "nickel", "title": 'a "quoted" µ', "metal_content": "37 g/L"})
    kept = read_solutions(text)["my-nickel"]
    assert kept.title == 'a "quoted" µ'
    assert kept.metal_content == pytest.approx(37)
    with pytest.raises(InputError, match="name"):
        write_solution("My Nickel", {"metal": "nickel"})


def test_a_range_may_name_its_unit_once() -> None:
    assert parse_range("4 to 10 V", "voltage") == (4.0, 10.0)
    assert parse_range("6 V", "voltage") == (6.0, 6.0)
