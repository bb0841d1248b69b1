"""The shop profile: read, checked, written, and what it gives to a plan."""

import errno
import os
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from areakit.errors import FileError, InputError
from areakit.service import shop
from areakit.service.plan import PlanRequest
from areakit.service.shop_fill import filled
from areakit.service.shop_profile import (
    Profile,
    check_value,
    example_text,
    profile_from,
    profile_text,
    read_profile,
    shop_entries,
)
from areakit.service.spread import SpreadRequest

EXAMPLE = read_profile(example_text(), name="example")


def test_the_example_says_that_it_is_invented() -> None:
    assert EXAMPLE.invented
    assert "invented" in example_text().splitlines()[1]


def test_a_written_profile_reads_back_to_the_same_values() -> None:
    again = read_profile(profile_text(EXAMPLE), name="example")
    assert again == EXAMPLE


def test_an_empty_profile_is_a_form_with_every_entry_explained() -> None:
    text = profile_text(Profile(name="new", title="new", values={}))
    assert read_profile(text, name="new").values == {}
    for entry in shop_entries():
        assert entry.asked in text, entry.path


@pytest.mark.parametrize("entry", [one for one in shop_entries() if one.example], ids=lambda one: one.path)
def test_every_example_is_what_its_entry_must_be(entry) -> None:  # type: ignore[no-untyped-def]
    check_value(entry, entry.example)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ({"usual": {"base": "wood"}}, "usual.base: 'wood'"),
        ({"supply": {"largest_current": "10 V"}}, "supply.largest_current"),
        ({"brushes": {"small": {"footprint": "20 mm"}}}, "brushes.small.footprint"),
        ({"brushes": {"small": {"colour": "red"}}}, "brushes.small.colour is not known"),
        ({"tank": {"pieces_per_load": "0"}}, "tank.pieces_per_load"),
        ({"layers": {"gold": "thick"}}, "layers.gold"),
        ({"stock": {"foil": "-1 mm"}}, "stock.foil"),
        ({"solutions": {"a": {"metal": "gold", "voltage": "4 A"}}}, "solutions: a, voltage"),
        ({"solutions": {"a": {"metal": "gold", "method": "pen"}}}, "solutions.a.method"),
        ({"lamps": {}}, "lamps is not known"),
        ({"usual": "brass"}, "usual must be a table"),
        ({"invented": "yes"}, "invented must be"),
        ({"sheet": {"check_lengths": "150 mm"}}, "sheet.check_lengths"),
        ({"rates": {"price_date": "31.1.2026"}}, "rates.price_date"),
    ],
)
def test_a_wrong_entry_is_named_with_its_place(body: dict, words: str) -> None:
    with pytest.raises(InputError, match=re.escape(words)):
        profile_from(body, name="mine")


def test_all_wrong_entries_are_named_at_once() -> None:
    with pytest.raises(InputError) as told:
        profile_from({"usual": {"base": "wood", "faces": "seven"}, "supply": {"largest_volts": "9 A"}}, name="mine")
    assert "3 entries" in told.value.message
    for place in ("usual.base", "usual.faces", "supply.largest_volts"):
        assert place in told.value.message


@pytest.mark.parametrize("name", ["../etc", "a/b", "", ".hidden", "A B"])
def test_a_name_that_could_be_a_path_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError):
        profile_from({}, name=name)
    if name:
        with pytest.raises(InputError):
            shop.load_shop(name)


@given(st.dictionaries(st.text(max_size=8), st.text(max_size=20), max_size=4))
def test_any_text_reads_back_or_is_refused(rows: dict[str, str]) -> None:
    try:
        profile = profile_from({"stock": {}, "prices": rows}, name="any")
    except InputError:
        return
    assert read_profile(profile_text(profile), name="any").values == profile.values


@pytest.fixture
def shops(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path))
    return tmp_path


def test_which_profile_holds(shops: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def keep(name: str) -> None:
        shop.save_shop(profile_from({"usual": {"base": "brass"}}, name=name))

    assert shop.load_shop(None) is None
    keep("day")
    assert shop.chosen_name(None) == "day"  # the only one
    keep("night")
    assert shop.chosen_name(None) is None  # two, and none is the default
    keep("default")
    assert shop.chosen_name(None) == "default"
    monkeypatch.setenv("AREAKIT_SHOP", "night")
    assert shop.chosen_name(None) == "night"
    assert shop.chosen_name("day") == "day"
    assert shop.chosen_name("none") is None
    with pytest.raises(InputError, match="no shop profile 'noon'"):
        shop.load_shop("noon")


def test_a_value_is_set_and_taken_out() -> None:
    one = shop.with_value(EXAMPLE, "brushes.small.footprint", "10 x 8 mm")
    assert one.table("brushes")["small"]["footprint"] == "10 x 8 mm"
    assert one.table("brushes")["small"]["sleeve"] == EXAMPLE.table("brushes")["small"]["sleeve"]
    gone = shop.with_value(one, "usual.base", None)
    assert gone.one("usual", "base") is None
    for wrong in ("usual", "usual.base.x", "brushes.small", "nothing.at"):
        with pytest.raises(InputError, match="There is no entry"):
            shop.with_value(EXAMPLE, wrong, "1")


def test_a_file_that_cannot_be_read_leaves_the_kept_one(shops: Path) -> None:
    path = shop.save_shop(EXAMPLE)
    before = path.read_text(encoding="utf-8")
    with pytest.raises(InputError):
        shop.write_shop('[usual]\nbase = "wood"\n', path, name="example")
    assert path.read_text(encoding="utf-8") == before
    assert os.listdir(shops) == ["example.toml"]


def test_a_full_disk_leaves_the_kept_profile_and_no_half_of_one(shops: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = shop.save_shop(EXAMPLE)
    before = path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="The disk is full"):
        shop.save_shop(EXAMPLE)
    assert path.read_bytes() == before
    assert os.listdir(shops) == ["example.toml"]


def test_the_profile_fills_what_nobody_typed() -> None:
    got = filled({"process": "nickel-gold-brush"}, EXAMPLE)
    assert got.entries["base"] == "brass"
    assert got.entries["layers"] == {"nickel": "3 um", "gold": "0.5 um"}
    assert got.entries["footprint"] == "20 x 15 mm"
    assert got.entries["solution"] == {"nickel": "nickel-bench", "gold": "gold-bench"}
    assert got.entries["supply"] == "3 A"  # the brush carries less than the supply gives
    assert got.origins["supply"] == "brushes.small.largest_current"


def test_what_is_typed_goes_before_the_profile() -> None:
    typed = {"process": "nickel-gold-brush", "base": "sterling", "footprint": "4 cm2", "layers": {"gold": "1 um"},
             "efficiency": {"gold": "80 %"}, "supply": "2 A"}  # fmt: skip
    got = filled(typed, EXAMPLE)
    assert got.entries["base"] == "sterling"
    assert got.entries["footprint"] == "4 cm2"
    assert "sleeve" not in got.entries  # that of another brush
    sized = filled({"process": "nickel-gold-brush", "footprint_size": "30 x 15 mm"}, EXAMPLE)
    assert not {"footprint", "footprint_corners", "sleeve"} & set(sized.entries), "one footprint, however it was typed"
    assert got.entries["layers"] == {"gold": "1 um", "nickel": "3 um"}
    assert got.entries["efficiency"] == {"gold": "80 %", "nickel": "60 % ± 10 %"}
    assert got.entries["supply"] == "2 A"
    assert not {"base", "footprint", "supply", "layers gold", "efficiency gold"} & set(got.origins)


def test_a_tank_gets_nothing_of_the_brush_and_no_metal_but_its_own() -> None:
    got = filled({"process": "nickel-tank"}, shop.with_value(EXAMPLE, "tank.pieces_per_load", "4"))
    assert got.entries.get("footprint") is None
    assert got.entries["pieces_per_load"] == 4
    assert list(got.entries["layers"]) == ["nickel"]
    assert got.entries.get("solution") is None  # those of the profile are for brushes
    assert got.entries["supply"] == "10 A"


def test_a_stock_stands_for_its_thickness() -> None:
    assert filled({"photo": "a.jpg", "thickness": "thin-strip"}, EXAMPLE).entries["thickness"] == "0.10 ± 0.01 mm"
    assert filled({"photo": "a.jpg", "thickness": "2 mm"}, EXAMPLE).entries["thickness"] == "2 mm"


def test_an_unknown_brush_is_refused_with_the_known_ones() -> None:
    with pytest.raises(InputError, match="no brush 'huge'") as told:
        filled({"process": "gold-brush"}, EXAMPLE, brush="huge")
    assert "small, wide" in told.value.remedy


def test_every_plain_entry_of_a_profile_fills_a_field_of_the_plan() -> None:
    """Nothing can be said in a profile that a plan then does not hear."""
    hearing = {*PlanRequest.__dataclass_fields__, *SpreadRequest.__dataclass_fields__}
    full = shop.with_value(EXAMPLE, "hand.overlap", "40 %")
    full = shop.with_value(shop.with_value(full, "hand.stroke", "50 mm"), "hand.speed", "10 m/min")
    got = filled({"process": "nickel-gold-brush"}, full)
    assert {"hand_speed", "stroke", "overlap", "meter_uncertainty", "sleeve"} <= set(got.origins)
    assert {name.split()[0] for name in got.origins} - hearing <= {"faces", "check_lengths", "copy_name"}


def test_no_two_names_in_a_profile_differ_by_capitals_alone() -> None:
    one, two = {"footprint": "4 cm2"}, {"footprint": "2 cm2"}
    with pytest.raises(InputError, match=r"brushes\.small and brushes\.Small differ by capitals alone"):
        profile_from({"brushes": {"small": one, "Small": two}}, name="night")
    assert profile_from({"brushes": {"Small": one, "wide": two}}, name="night").table("brushes").keys() == {
        "Small",
        "wide",
    }
    with pytest.raises(InputError, match="differ by capitals alone"):
        profile_from({"stock": {"shim": "0.2 mm", "SHIM": "0.3 mm"}}, name="night")


def test_a_profile_asked_for_in_capitals_is_not_to_be_made_under_them(shops: Path) -> None:
    shop.save_shop(Profile(name="night", title="night", values={}))
    for name, made in (("NIGHT", False), ("Day", True)):
        with pytest.raises(InputError) as refused:
            shop.load_shop(name)
        assert ("areakit shop day" in " ".join(refused.value.fields)) is made
        assert "small letters" in refused.value.remedy


@pytest.mark.parametrize("name", ["../x", "9" * 5000, "a\0b", "x/../x", "NIGHT"])
def test_a_name_that_is_none_reads_no_file(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "x.toml").write_text('[usual]\nbase = "brass"\n')
    folder = tmp_path / "shops"
    folder.mkdir()
    monkeypatch.setenv("AREAKIT_SHOPS", str(folder))
    (folder / "x.toml").write_text('[usual]\nbase = "brass"\n')
    with pytest.raises(InputError, match="There is no shop profile"):
        shop.load_shop(name)
    assert shop.load_shop("x") is not None
