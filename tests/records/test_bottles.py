"""Bottles: what is left is what went in, less what was drawn, with the uncertainty of both."""

from pathlib import Path
from typing import Any

import pytest

from areakit.errors import InputError
from areakit.records.bottle_json import event_words
from areakit.records.bottles import Bottle, check_merge, check_start, checked, fold
from areakit.records.codec import quantity_json
from areakit.records.journal import Journal
from areakit.uncertainty import Measured, exact

AT = "2026-03-14T09:00:00Z"


def amount(value: float, unit: str, spread: float = 0.0, name: str = "label") -> dict[str, Any]:
    return quantity_json(Measured(value=value, unit=unit, budget={name: spread}))


FULL = {
    "solution": "bench-gold",
    "metal": "gold",
    "volume": amount(0.5, "L", 0.005, "volume"),
    "metal_content": amount(8.2, "g/L", 0.2, "content"),
    "allowed_charge": amount(2.0, "A.h"),
    "expiry": "2026-12-31",
    "lot": "lot 4",
}


def bottle_of(tmp_path: Path, *entries: tuple[str, dict[str, Any]], label: str = "G1") -> Bottle:
    with Journal(tmp_path / f"{label}.sqlite") as journal:
        for kind, doc in entries:
            journal.append("bottle", label, kind, at=AT, who="Ana", doc=checked(kind, doc))
        return fold(label, journal.history("bottle", label))


def run(number: int, charge: float, mass: float) -> tuple[str, dict[str, Any]]:
    doc = {
        "job": "2026-0001",
        "run": number,
        "charge": amount(charge, "A.h", charge * 0.02, "ammeter"),
        "metal_mass": amount(mass, "mg", mass * 0.05, "gold efficiency"),
    }
    return "drew", doc


def test_a_fresh_bottle_holds_volume_times_content(tmp_path: Path) -> None:
    bottle = bottle_of(tmp_path, ("filled", FULL))
    assert bottle.charge_left is not None
    assert bottle.metal is not None
    assert bottle.charge_left.value == pytest.approx(7200.0)
    assert bottle.metal.value == pytest.approx(4.1e-3)
    # product rule (JCGM 100, 5.1.6): relative shares in quadrature
    assert bottle.metal.standard_uncertainty / bottle.metal.value == pytest.approx(
        ((0.2 / 8.2) ** 2 + (0.005 / 0.5) ** 2) ** 0.5
    )


def test_runs_draw_and_their_common_meter_adds_up_in_line(tmp_path: Path) -> None:
    bottle = bottle_of(tmp_path, ("filled", FULL), run(4, 0.5, 100.0), run(9, 0.3, 60.0))
    assert bottle.charge_left is not None
    assert bottle.metal is not None
    assert bottle.charge_left.value == pytest.approx(1.2 * 3600)
    assert bottle.charge_left.standard_uncertainty == pytest.approx(0.02 * 0.8 * 3600)  # one meter: linear, not squared
    assert bottle.metal.value == pytest.approx(3.94e-3)
    assert bottle.metal.budget["gold efficiency"] == pytest.approx(-0.05 * 160e-6)


def test_a_run_that_goes_on_replaces_its_own_draw(tmp_path: Path) -> None:
    bottle = bottle_of(tmp_path, ("filled", FULL), run(4, 0.5, 100.0), run(4, 0.7, 140.0))
    assert bottle.charge_left is not None
    assert bottle.charge_left.value == pytest.approx(1.3 * 3600)


def test_top_up_and_return_add_and_a_correction_applies(tmp_path: Path) -> None:
    added = {
        "why": "top-up",
        "volume": amount(100, "mL"),
        "metal_mass": amount(820, "mg"),
        "charge": amount(0.4, "A.h"),
    }
    bottle = bottle_of(
        tmp_path,
        ("filled", FULL),
        ("added", added),
        ("added", {"why": "returned", "volume": amount(20, "mL")}),
        ("corrected", {"entry": 3, "withdrawn": True, "reason": "poured into the rinse"}),
        ("corrected", {"entry": 1, "fields": {"lot": "lot 5"}, "reason": "misread"}),
    )
    assert bottle.charge_left is not None
    assert bottle.metal is not None
    assert bottle.volume.value == pytest.approx(0.6e-3)
    assert bottle.charge_left.value == pytest.approx(2.4 * 3600)
    assert bottle.metal.value == pytest.approx(4.92e-3)
    assert bottle.lot == "lot 5"


def codes(bottle: Bottle, **wanted: Any) -> list[tuple[str, str]]:
    asked = {"today": "2026-06-01", "solution": None, "charge": None, "metal": None, **wanted}
    return [(finding.code, finding.severity) for finding in check_start(bottle, **asked)]


def test_a_plan_that_the_bottle_cannot_carry_is_told_before_it_starts(tmp_path: Path) -> None:
    bottle = bottle_of(tmp_path, ("filled", FULL), run(4, 1.5, 300.0))
    assert codes(bottle, charge=exact(0.3 * 3600, "C")) == []
    assert codes(bottle, charge=exact(0.6 * 3600, "C")) == [("BOTTLE_CHARGE", "stop")]
    assert codes(bottle, charge=exact(0.47 * 3600, "C")) == [("BOTTLE_CHARGE", "check")]  # 0.50 less 2 x 0.03 A.h
    assert codes(bottle, metal=exact(5e-3, "kg")) == [("BOTTLE_METAL", "stop")]


def test_what_sleeve_and_part_will_carry_away_counts_before_the_start(tmp_path: Path) -> None:
    """500 mL with 2 A.h and 4.1 g: 10 mL in the sleeve take 0.04 A.h and 82 mg along, beside what is plated."""
    bottle = bottle_of(tmp_path, ("filled", FULL))
    sleeve = exact(10e-6, "m3")
    for wanted, there, along, code in (
        ("charge", 2.0 * 3600, 0.04 * 3600, "BOTTLE_CHARGE"),
        ("metal", bottle.usable.value if bottle.usable else 0.0, 0.082e-3, "BOTTLE_METAL"),
    ):
        unit = "C" if wanted == "charge" else "kg"
        over, under = (exact((there - along) * share, unit) for share in (1.01, 0.5))
        assert (code, "stop") in codes(bottle, carried=sleeve, **{wanted: over})
        assert (code, "stop") not in codes(bottle, **{wanted: over})
        assert (code, "stop") not in codes(bottle, carried=sleeve, **{wanted: under})


def test_an_expired_or_discarded_bottle_and_a_wrong_label_are_told(tmp_path: Path) -> None:
    bottle = bottle_of(tmp_path, ("filled", FULL), ("discarded", {"reason": "spent"}))
    assert codes(bottle, today="2026-12-31") == [("BOTTLE_DISCARDED", "stop")]
    assert codes(bottle, today="2027-01-01", solution="other") == [
        ("BOTTLE_DISCARDED", "stop"), ("BOTTLE_EXPIRED", "stop"), ("BOTTLE_OTHER_SOLUTION", "stop"),
    ]  # fmt: skip


def test_run_off_is_never_poured_into_fresh_solution_or_another_label(tmp_path: Path) -> None:
    fresh = bottle_of(tmp_path, ("filled", FULL))
    kept, also = (bottle_of(tmp_path, ("filled", {**FULL, "recovered": True}), label=name) for name in ("R1", "R2"))
    other = bottle_of(tmp_path, ("filled", {**FULL, "solution": "other-gold", "recovered": True}), label="R3")
    check_merge(kept, also)
    for into, said in ((fresh, "holds fresh"), (other, "never mixed")):
        with pytest.raises(InputError, match=said):
            check_merge(kept, into)
    with pytest.raises(InputError, match="Recovered run-off"):
        check_merge(fresh, kept)


def test_a_bottle_without_a_limit_on_its_label_shows_none(tmp_path: Path) -> None:
    silent = {name: value for name, value in FULL.items() if name not in ("allowed_charge", "metal_content", "expiry")}
    bottle = bottle_of(tmp_path, ("filled", silent), run(1, 5.0, 100.0))
    assert (bottle.charge_left, bottle.metal) == (None, None)
    assert codes(bottle, today="2099-01-01", charge=exact(1e6, "C")) == []


def test_a_wrong_field_is_named() -> None:
    with pytest.raises(InputError, match="expiry"):
        checked("filled", {**FULL, "expiry": "next year"})


def test_a_correction_is_told_in_words_and_one_of_nothing_changes_nothing(tmp_path: Path) -> None:
    bottle = bottle_of(
        tmp_path,
        ("filled", FULL),
        ("corrected", {"entry": 1, "fields": {"lot": "lot 5"}, "reason": "misread"}),
        ("corrected", {"entry": 9, "fields": {}, "withdrawn": True, "reason": "no such entry"}),
    )
    words = [event_words(event) for event in bottle.history]
    assert words[0].startswith("500 ± 10 mL; 8.20 ± 0.40 g/L metal")
    assert words[1:] == ["entry 1: lot (misread)", "entry 9: withdrawn (no such entry)"]
    assert bottle.volume == bottle_of(tmp_path, ("filled", FULL), label="G2").volume


def test_the_usable_share_limits_what_a_bottle_can_do(tmp_path: Path) -> None:
    """4.1 g in the bottle, 30 % of it usable; after 1.0 g was plated 0.23 g are left, though 3.1 g are there."""
    full = {**FULL, "usable_fraction": amount(0.3, "1")}
    bottle = bottle_of(tmp_path, ("filled", full), run(1, 0.1, 1000.0))
    assert bottle.metal is not None
    assert bottle.usable is not None
    assert bottle.metal.value == pytest.approx(3.1e-3)
    assert bottle.usable.value == pytest.approx(0.23e-3)
    asked = {"today": "2026-03-14", "solution": None, "charge": None}
    assert "BOTTLE_METAL" in {one.code for one in check_start(bottle, metal=exact(0.5e-3, "kg"), **asked)}
    assert not check_start(bottle_of(tmp_path, ("filled", full), label="G2"), metal=exact(0.5e-3, "kg"), **asked)


def test_what_is_carried_away_takes_its_metal_and_its_charge_along(tmp_path: Path) -> None:
    """20 mL of 500 mL in sleeve and drag-out: 4 % of the metal (164 mg) and of the charge (288 C) go with it."""
    kind, doc = run(1, 0.1, 100.0)
    bottle = bottle_of(tmp_path, ("filled", FULL), (kind, {**doc, "volume": amount(20.0, "mL")}))
    assert bottle.metal is not None
    assert bottle.charge_left is not None
    assert bottle.volume.value == pytest.approx(480e-6)
    assert bottle.metal.value == pytest.approx((4100 - 100 - 164) * 1e-6)
    assert bottle.charge_left.value == pytest.approx(7200 - 360 - 288)


def test_solution_drawn_by_hand_takes_its_metal_along(tmp_path: Path) -> None:
    bottle = bottle_of(tmp_path, ("filled", FULL), ("drew", {"volume": amount(50.0, "mL")}))
    assert bottle.metal is not None
    assert bottle.metal.value == pytest.approx(4.1e-3 * 0.9)
