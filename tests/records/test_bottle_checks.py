"""Bottles of nothing that is known, and amounts that no bottle has, are refused: each limit from both sides."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from areakit.errors import AreakitError, InputError, RangeError
from areakit.records.bottle_checks import check_left
from areakit.records.journal import Journal
from areakit.service.bottle import NewBottle, add_bottle, draw, recover, show_bottle, top_up, write
from areakit.service.desk import Desk, quantity
from areakit.uncertainty import Measured

FULL = NewBottle(
    label="G1",
    solution="bench-gold",
    metal="gold",
    volume="500 mL",
    metal_content="8 g/L",
    allowed_charge="2 A.h",
    usable_fraction="100 %",
)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"metal": "unobtanium"}, "Known metals: .*gold"),
        ({"metal": "Gold"}, "Known metals: .*gold"),
        ({"bath": "gold-marmalade"}, "Known baths: .*gold-cyanide"),
        ({"bath": "nickel-watts"}, "deposits nickel, not gold"),
    ],
)
def test_an_unknown_metal_or_bath_is_refused_with_the_known_names(
    fields: dict[str, Any], said: str, desk: Desk
) -> None:
    with pytest.raises(InputError) as refused:
        add_bottle(desk, replace(FULL, **fields))
    assert re.search(said, f"{refused.value.message} {refused.value.remedy}")
    assert not desk.path.exists()
    assert add_bottle(desk, replace(FULL, bath="gold-cyanide")).bath == "gold-cyanide"


@pytest.mark.parametrize(
    ("field", "wrong", "right"),
    [
        ("volume", ("0 mL", "-5 mL", "1e-300 mL", "0.9e-6 mL", "10.01 m3"), ("1.1e-6 mL", "10 m3")),
        ("metal_content", ("0 g/L", "-1 g/L", "1001 g/L"), ("0.001 g/L", "1000 g/L")),
        ("allowed_charge", ("0 A.h", "-1 A.h/L", "1000001 A.h"), ("0.001 A.h", "1000000 A.h")),
        ("usable_fraction", ("0 %", "-3 %", "100.1 %"), ("0.1 %", "100 %")),
    ],
)
def test_what_no_label_can_say_is_refused_and_what_is_just_within_is_taken(
    field: str, wrong: tuple[str, ...], right: tuple[str, ...], desk: Desk
) -> None:
    for text in wrong:
        with pytest.raises(RangeError, match=r"not above zero|too little|the most of any bottle"):
            add_bottle(desk, replace(FULL, **{field: text}))
    assert not desk.path.exists()
    for number, text in enumerate(right):
        add_bottle(desk, replace(FULL, label=f"R{number}", **{field: text}))


DRAWS: dict[str, Callable[[Desk, str], object]] = {
    "volume": lambda desk, text: draw(desk, "G1", volume=text),
    "mass": lambda desk, text: draw(desk, "G1", mass=text),
    "charge": lambda desk, text: draw(desk, "G1", charge=text),
    "recovered": lambda desk, text: recover(desk, "G1", into="R1", volume=text),
    "recovered mass": lambda desk, text: recover(desk, "G1", into="R1", volume="50 mL", mass=text),
    "recovered charge": lambda desk, text: recover(desk, "G1", into="R1", volume="50 mL", charge=text),
    "poured in": lambda desk, text: top_up(desk, "G1", volume=text),
    "metal poured in": lambda desk, text: top_up(desk, "G1", volume="10 mL", mass=text),
    "corrected": lambda desk, text: write(
        desk, "G1", "corrected",
        doc={"entry": 1, "fields": {"volume": quantity(text, "volume", "measure")}, "reason": "misread"},
    ),
}  # fmt: skip


@pytest.mark.parametrize(
    ("what", "wrong", "right"),
    [
        ("volume", ("0 mL", "-1 mL", "501 mL"), "500 mL"),
        ("mass", ("0 mg", "-1 mg", "4.01 g"), "4 g"),
        ("charge", ("0 A.h", "-1 A.h", "1000001 A.h"), "2.1 A.h"),  # past its label, as it happens
        ("recovered", ("0 mL", "-1 mL", "501 mL"), "500 mL"),
        ("recovered mass", ("0 g", "-1 g", "4.01 g"), "4 g"),
        ("recovered charge", ("0 A.h", "-1 A.h", "1000001 A.h"), "1 A.h"),
        ("poured in", ("0 mL", "-1 mL", "10.01 m3"), "9 m3"),
        ("metal poured in", ("0 g", "-1 g", "10.1 g"), "10 g"),
        ("corrected", ("0 mL", "-1 mL", "10.01 m3"), "450 mL"),
    ],
)
def test_an_entry_that_no_bottle_can_hold_or_give_is_refused(
    what: str, wrong: tuple[str, ...], right: str, desk: Desk
) -> None:
    before = add_bottle(desk, FULL)
    for text in wrong:
        with pytest.raises(AreakitError) as refused:
            DRAWS[what](desk, text)
        assert isinstance(refused.value, InputError)
    assert show_bottle(desk, "G1") == before
    DRAWS[what](desk, right)
    assert show_bottle(desk, "G1").last == before.last + 1


@pytest.mark.parametrize("text", ["nan mL", "inf mL", "1e999 mL", "500", "5 kg", "", "five mL"])
def test_what_is_no_number_with_its_unit_is_refused(text: str, desk: Desk) -> None:
    with pytest.raises(InputError):
        add_bottle(desk, replace(FULL, volume=text))
    assert not desk.path.exists()


def test_what_the_uncertainty_still_allows_may_be_drawn(desk: Desk) -> None:
    """500 ± 20 mL gave 510 mL: that agrees. 530 ± 5 mL is 30 mL more, of which the root of 425 explains 21."""
    add_bottle(desk, replace(FULL, volume="500 ± 20 mL"))
    with pytest.raises(RangeError, match="more than bottle G1 holds"):
        draw(desk, "G1", volume="530 ± 5 mL")
    assert draw(desk, "G1", volume="510 mL").volume.value == pytest.approx(-10e-6)


def test_an_account_below_zero_may_be_brought_up_but_not_further_down(desk: Desk) -> None:
    """A run of a job is kept as it was, so an account can go below zero; an entry by hand then mends it."""
    made = add_bottle(desk, FULL)
    low, lower = (replace(made, volume=Measured(value=-value, unit="m3", budget={"v": 1e-9})) for value in (1e-6, 2e-6))
    check_left(lambda: lower, low)
    with pytest.raises(RangeError, match="nothing is left"):
        check_left(lambda: low, lower)


def test_a_correction_cannot_take_away_what_was_drawn_already(desk: Desk) -> None:
    add_bottle(desk, FULL)
    draw(desk, "G1", volume="300 mL")
    DRAWS["corrected"](desk, "301 mL")
    with pytest.raises(RangeError, match="more than bottle G1 holds"):
        DRAWS["corrected"](desk, "299 mL")
    with pytest.raises(InputError, match="There is no metal"):
        write(desk, "G1", "corrected", doc={"entry": 1, "fields": {"metal": "lead-ish"}, "reason": "misread"})


def test_what_a_refused_entry_said_is_not_kept(desk: Desk) -> None:
    add_bottle(desk, FULL)
    with pytest.raises(RangeError):
        recover(desk, "G1", into="R1", volume="50 mL", mass="5 g")
    with Journal(desk.path, write=False) as journal:
        assert [event.kind for event in journal.every_event()] == ["filled"]
