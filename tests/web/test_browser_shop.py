"""The shop profile on the page: it fills what is left empty, as the command line does, and its file can be edited."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bench_page import PHOTO, Server, area, drop, opened, plain, unfold
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.service.shop_profile import example_text

pytestmark = [pytest.mark.browser, pytest.mark.thorough, pytest.mark.timeout(240)]


@pytest.fixture
def shops(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "shops"
    folder.mkdir()
    (folder / "default.toml").write_text(example_text(), encoding="utf-8")
    monkeypatch.setenv("AREAKIT_SHOPS", str(folder))
    return folder


@pytest.fixture
def shop_server(shops: Path, tmp_path: Path) -> Iterator[Server]:
    running = Server(tmp_path / "shop.sqlite").start()
    yield running
    running.stop()


def by_command() -> dict[str, Any]:
    """What the command line plans from the same photo and profile, with nothing typed but process and thickness."""
    result = CliRunner().invoke(
        group, ["plan", str(PHOTO), "--process", "nickel-gold-brush", "--thickness", "1.2 mm", "--json"]
    )
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads(result.stdout)
    return found


def test_the_page_plans_from_the_profile_as_the_command_line_does(
    browser: Any, shop_server: Server, said: list[str]
) -> None:
    page = opened(browser, shop_server.url, said)
    page.locator("text=comes from the shop profile default").wait_for(state="attached")
    drop(page, PHOTO)
    area(page)
    with page.expect_response("**/api/plan") as answer:  # with a profile the thickness is all that is missing
        page.locator("#thickness").fill("1.2")
        page.locator("#thickness").press("Enter")
    page.locator("#area:has(.figure:not(.stale))", has_text="all over").wait_for()
    assert page.locator("#process").input_value() == "nickel-gold-brush"
    assert answer.value.json() == by_command()
    page.locator("#plan-out .layer").nth(1).wait_for()
    strip = plain(page.locator("#settings").inner_text())
    assert re.search(r"nickel [\d.]+ A, [\d.]+ min gold 8 V, [\d.]+ min", strip), strip
    with page.expect_response("**/api/plan") as answer:  # another brush than that of the profile
        page.get_by_label("Footprint, across").evaluate(
            "one => { one.value = '30 x 15'; one.dispatchEvent(new Event('change')); }"
        )
    assert answer.value.json()["distribution"]["brush"]["footprint_width"]["value"] == 30
    unfold(page, "Price")
    day = page.get_by_label("Day of the prices")
    assert day.input_value() == "2026-01-31", "that of the prices in the profile"
    page.get_by_label("Price of gold").fill("80")
    page.get_by_label("Price of gold").press("Tab")
    assert day.input_value() == page.evaluate("new Date().toLocaleDateString('sv')"), "a typed price is of today"
    assert not said


def test_the_file_is_edited_on_the_page_and_kept(
    browser: Any, shop_server: Server, said: list[str], shops: Path
) -> None:
    page = opened(browser, shop_server.url, said)
    page.locator("text=comes from the shop profile default").wait_for(state="attached")
    drop(page, PHOTO)
    area(page)
    page.locator("#shop-fold > summary").click()
    page.locator("#shop-file > summary").click()
    text = page.locator("#shop-text").input_value()
    assert "# Minimum thickness of each metal:" in text
    page.locator("#shop-text").fill(text.replace('gold = "0.5 um"', 'gold = "0.8 um"'))
    page.locator("#shop-keep").click()
    page.locator("#shop-fold [role=status]", has_text="Kept: default").wait_for()
    assert 'gold = "0.8 um"' in (shops / "default.toml").read_text(encoding="utf-8")
    page.locator("#shop-text").fill('[usual]\nbase = "wood"\n')
    page.locator("#shop-keep").click()
    told = page.locator("#shop-fold [role=status]", has_text="wood")
    told.wait_for()
    assert "usual.base" in plain(told.inner_text())
    assert 'gold = "0.8 um"' in (shops / "default.toml").read_text(encoding="utf-8")


ANSWERS = {
    "usual.base": "brass",
    "usual.process": "nickel-brush",
    "usual.faces": "all",
    "layers.nickel": "4 um",
    "current_density.nickel": "25 A/dm2",
    "supply.largest_current": "10 A",
    "brushes.small.footprint": "20 x 15 mm",
    "stock.tag-brass": "1.2 ± 0.05 mm",
}


def test_the_questions_on_the_page_write_the_profile_that_the_terminal_writes(
    browser: Any, shop_server: Server, said: list[str], shops: Path
) -> None:
    (shops / "default.toml").unlink()
    page = opened(browser, shop_server.url, said, (360, 740), has_touch=True)
    page.locator("text=No shop profile yet").wait_for(state="attached")
    drop(page, PHOTO)
    area(page)
    page.locator("#shop-ask").click()
    for section, name in (("stock", "tag-brass"), ("brushes", "small")):
        if section == "brushes":
            page.locator('[data-path="usual.process"]').select_option("nickel-brush")
        add = page.locator(f"[data-add={section}]")
        add.locator("xpath=../preceding-sibling::label[1]//input").fill(name)
        add.click()
    assert page.locator('[data-path="usual.edge_make"] option[value=sawn]').count() == 1, "chosen, not typed"
    labels = page.locator("label:has(select[data-path])").evaluate_all(
        "all => all.map(one => [one.firstChild.textContent, one.querySelector('select').options.length])"
    )
    assert len(labels) >= 8
    assert not [words for words, _ in labels if ":" in words], "a list is not told in its label once more"
    listed = page.locator("select[data-path] option, #plan-typing select option")
    words = listed.evaluate_all("all => all.map(one => [one.value, one.textContent])")
    assert ["eu", "European Union"] in words
    assert [value for value, text in words if text == value and not value.islower()] == []
    assert [value for value, text in words if text == value and "-" in value] == [], "keys are no words"
    for path, text in ANSWERS.items():
        one = page.locator(f'[data-path="{path}"]')
        if one.evaluate("element => element.tagName") == "SELECT":
            one.select_option(text)
        else:
            one.fill(text)
    page.locator('[data-path="supply.largest_current"]').fill("ten")
    page.locator('[data-path="supply.largest_current"]').press("Enter")
    page.locator('[data-path="supply.largest_current"][aria-invalid=true]').wait_for()
    assert page.locator(".shop-form [aria-invalid]").count() == 1
    assert not (shops / "default.toml").exists()
    page.locator('[data-path="supply.largest_current"]').fill("10")  # a keypad has no letters
    page.locator("#shop-answers").click()
    page.locator("#shop-fold [role=status]", has_text="Kept: default").wait_for()
    settings = [part for path, text in ANSWERS.items() for part in ("--set", f"{path}={text}")]
    result = CliRunner().invoke(group, ["shop", "typed", *settings])
    assert result.exit_code == 0, result.output
    told = [(shops / f"{name}.toml").read_text(encoding="utf-8").splitlines() for name in ("default", "typed")]
    assert [line for line in told[0] if not line.startswith("title")] == [
        line for line in told[1] if not line.startswith("title")
    ]
    page.locator("#shop-fold > summary").click()
    page.locator("#thickness").fill("1.2")
    page.locator("#thickness").press("Enter")
    page.locator("#settings .layer-line", has_text="nickel").wait_for()
    assert [one for one in said if "422" not in one] == []


def test_the_usual_edge_of_the_shop_is_chosen_and_another_one_measures_anew(
    browser: Any, shop_server: Server, said: list[str], shops: Path
) -> None:
    text = example_text().replace('brush = "small"', 'brush = "small"\nedge_make = "sawn"', 1)
    (shops / "default.toml").write_text(text, encoding="utf-8")
    page = opened(browser, shop_server.url, said)
    page.locator("text=comes from the shop profile default").wait_for(state="attached")
    with page.expect_response("**/api/measure?*edge_make=sawn*"):
        drop(page, PHOTO)
    area(page)
    page.locator("#edge-fold summary").click()
    assert page.locator("#edge-make").input_value() == "sawn"
    assert page.locator("label", has=page.locator("#edge-make")).inner_text().startswith("How its edge was made")
    page.locator("summary", has_text="Where the area and its ± come from").click()
    page.locator("text=Edge: sawn, sharp.").wait_for()
    row = page.locator(".budget > div", has_text="edge of the part")
    before = int(row.locator("span").last.inner_text().removesuffix(" %"))
    with page.expect_response("**/api/measure?*edge_make=cast*"):
        page.locator("#edge-make").select_option("cast")
    page.locator("text=Edge: cast, sharp.").wait_for(state="attached")
    working = page.locator("summary", has_text="Where the area and its ± come from")
    working.evaluate("one => { one.parentElement.open = true }")
    page.locator("text=Edge: cast, sharp.").wait_for()
    after = int(row.locator("span").last.inner_text().removesuffix(" %"))
    assert after > 2 * before > 0
    assert page.locator("#edge-form").is_disabled()
    page.locator("#thickness").fill("1.2")
    page.locator("#thickness").press("Tab")
    page.locator("#edge-form").select_option("rounded")
    with page.expect_response("**/api/measure?*edge_form=rounded+0.4+mm*"):
        page.locator("#edge-radius").fill("0.4")
        page.locator("#edge-radius").press("Tab")
    page.locator("text=Edge: cast, rounded 0.4 mm.").wait_for(state="attached")
    working.evaluate("one => { one.parentElement.open = true }")
    page.locator("text=Edge: cast, rounded 0.4 mm.").wait_for()
    page.locator("td", has_text="front rounded edge, more than flat").wait_for()
    assert not said
