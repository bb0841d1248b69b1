"""A bottle takes what its stored solution says, and what is said beside it wins."""

from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pypdfium2
import pytest

from areakit.errors import AreakitError, InputError
from areakit.records import bottles
from areakit.records.bottle_json import passed_words, usable_words
from areakit.service.bottle import NewBottle, add_bottle, draw, from_solution, list_bottles, show_bottle, top_up, write
from areakit.service.desk import Desk
from areakit.service.job import add
from areakit.service.plan import plan
from areakit.service.plan_request import PlanRequest
from areakit.service.shop_profile import example_text

STORED = """
[solutions.shelf-gold]
metal = "gold"
bath = "gold-cyanide"
metal_content = "8.2 g/L"
allowed_charge = "5 A·h/L"
usable_fraction = "30 %"
"""


def bottle(**fields: str) -> NewBottle:
    return from_solution(NewBottle(label="G7", solution="shelf-gold", volume="500 mL", **fields), STORED)


def test_everything_that_the_solution_says_is_taken() -> None:
    made = bottle()
    assert (made.metal, made.bath) == ("gold", "gold-cyanide")
    assert (made.metal_content, made.allowed_charge, made.usable_fraction) == ("8.2 g/L", "5 A.h/L", "30 %")


def test_what_is_said_beside_it_wins() -> None:
    made = bottle(metal="gold", metal_content="7.9 g/L", usable_fraction="25 %")
    assert (made.metal_content, made.usable_fraction, made.allowed_charge) == ("7.9 g/L", "25 %", "5 A.h/L")


def test_a_solution_of_the_shop_profile_is_found_by_key_and_by_title(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bottle bears the name that plans give to the solution, so that a step takes it."""
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path))
    (tmp_path / "default.toml").write_text(example_text(), encoding="utf-8")
    for name in ("nickel-bench", "nickel for brushes"):
        made = from_solution(NewBottle(label="N3", solution=name, volume="500 mL"), None)
        assert (made.solution, made.metal, made.metal_content) == ("nickel for brushes", "nickel", "60 g/L")
    planned = plan(PlanRequest(area="12 cm2", process="nickel-brush", base="brass", layers={"nickel": "3 um"}))
    assert {one.layer.solution for one in planned.layers} == {"nickel for brushes"}
    own = STORED.replace("shelf-gold", "gold-bench")
    assert from_solution(NewBottle(label="G7", solution="gold-bench", volume="1 L"), own).metal_content == "8.2 g/L"


def test_another_metal_is_refused() -> None:
    with pytest.raises(InputError, match="deposits gold, not nickel"):
        bottle(metal="nickel")


def test_without_a_stored_solution_the_metal_must_be_said() -> None:
    for text in (None, STORED):
        request = NewBottle(label="N3", solution="my-nickel", volume="1 L")
        with pytest.raises(InputError, match="metal of the bottle is not known"):
            from_solution(request, text)
    named = NewBottle(label="N3", solution="my-nickel", metal="nickel", volume="1 L")
    assert from_solution(named, STORED) == named


def test_a_refused_entry_makes_no_journal(tmp_path: Path) -> None:
    desk = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    for refused in (
        lambda: write(desk, "G7", "discarded", doc={"reason": "spent"}),
        lambda: draw(desk, "G7", volume="5 mL"),
        lambda: add(desk, "2026-0001", "remarked", doc={"text": "late"}),
    ):
        with pytest.raises(AreakitError, match="There is no"):
            refused()
    assert list(tmp_path.iterdir()) == []


def test_hazards_of_the_solution_stand_on_the_label_beside_those_of_its_bath(tmp_path: Path) -> None:
    from areakit.reports.bottle_label import write_label

    desk = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    request = from_solution(
        NewBottle(label="G7", solution="shelf-gold", volume="500 mL", lot="31"), STORED + 'contains = ["cobalt"]\n'
    )
    made = add_bottle(desk, request)
    assert made.contains == ("cobalt",)
    write_label(made, tmp_path / "g7.pdf", today="2026-03-14")
    told = pypdfium2.PdfDocument(tmp_path / "g7.pdf")[0].get_textpage().get_text_bounded()
    assert "CYANIDE" in told
    assert "COBALT" in told


def test_top_ups_keep_their_lots_and_the_bottle_what_went_through_it(tmp_path: Path) -> None:
    desk = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    add_bottle(desk, bottle(lot="31"))
    for lot in ("32", "32", "33"):
        top_up(desk, "G7", volume="10 mL", mass="82 mg", lot=lot)
    draw(desk, "G7", charge="0.4 A.h", mass="1 g")
    made = draw(desk, "G7", charge="0.1 A.h", mass="1 g")
    assert made.topped_up == ("32", "33")
    assert passed_words(made) == (
        "Charge passed: 0.5 A·h. Carried away by sleeves and parts: 0 mL. Topped up with lot 32, 33."
    )
    # 500 mL of 8.2 g/L and three times 82 mg, of which 30 % can be plated out: 1.304 g, and 2 g were taken
    assert usable_words(made, "g") == "none"


def test_an_entry_folds_the_account_once_and_each_quantity_is_read_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a long account costs is its entries times the readings of each: one reading, whatever the command."""
    desk = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    add_bottle(desk, bottle())
    for _ in range(20):
        draw(desk, "G7", volume="1 mL", charge="0.01 A.h", mass="1 mg")
    seen = Counter[str]()

    def counted(name: str, inner: Callable[..., object]) -> Callable[..., object]:
        def count(*args: object) -> object:
            seen[name] += 1
            return inner(*args)

        return count

    for name in ("fold", "quantity_from_json"):
        monkeypatch.setattr(bottles, name, counted(name, getattr(bottles, name)))
    for act in (lambda: show_bottle(desk, "G7"), lambda: list_bottles(desk), lambda: draw(desk, "G7", mass="1 mg")):
        seen.clear()
        act()
        assert seen["fold"] == 1
        assert 60 <= seen["quantity_from_json"] <= 60 + 5
