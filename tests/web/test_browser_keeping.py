"""What is said of one part stays with it, arithmetic needs no photo, and neither a slip nor a reload loses a number."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bench_page import DEMO, PHOTO, Server, area, drop, open_job, open_typing, opened, plain, plan, unfold

pytestmark = [pytest.mark.browser, pytest.mark.thorough, pytest.mark.timeout(240)]
SEVERAL = DEMO / "several-parts.jpg"


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Server]:
    running = Server(tmp_path / "own.sqlite").start()
    yield running
    running.stop()


def plated(page: Any) -> list[str]:
    """The plated area of each part, from the table of the part."""
    page.locator("#area .figure:not(.stale):not(.quiet)").wait_for()
    return [plain(text) for text in page.locator("[data-step=Part] .parts tbody td:last-child").all_text_contents()]


def choose(page: Any, number: int) -> None:
    unfold(page, "Part")
    page.locator("[data-step=Part] .parts tbody button").nth(number - 1).click()
    page.locator("[data-step=Part] .parts tr.chosen").wait_for()


def settled(page: Any, words: str) -> None:
    page.locator("#area:has(.figure:not(.stale))", has_text=words).wait_for()


def test_thickness_faces_and_plan_belong_to_their_part_and_a_reload_keeps_them(
    browser: Any, here: str, said: list[str]
) -> None:
    page = opened(browser, here, said, (360, 740), has_touch=True)
    measured: list[str] = []
    page.on("request", lambda asked: measured.append(asked.url) if "/api/measure" in asked.url else None)
    drop(page, SEVERAL)
    before = plated(page)
    assert len(before) == 5
    choose(page, 2)
    assert "part 2 alone" in page.locator("#whose").inner_text()
    page.locator("#thickness").fill("1")
    page.locator("#thickness").press("Enter")
    page.locator("input[name=faces][value=all]:not(:disabled)").wait_for(state="attached")
    settled(page, "part 2")
    asked = len(measured)
    page.locator("input[name=faces][value=all]").check(force=True)
    settled(page, "all over")
    assert len(measured) == asked, "other faces are arithmetic"
    after = plated(page)
    assert [one == other for one, other in zip(before, after, strict=True)] == [True, False, True, True, True]

    plan(page)
    second = plain(page.locator("#settings").inner_text())
    choose(page, 3)
    assert page.locator("#thickness").input_value() == "", "another part, another thickness"
    assert page.locator("#settings").inner_text() == "", "it has no plan yet"
    open_typing(page)
    page.locator("[data-metal=nickel]").fill("9")
    page.locator("#plan-go").click()
    page.locator("#settings", has_text="nickel").wait_for()
    assert plain(page.locator("#settings").inner_text()) != second
    choose(page, 2)
    assert plain(page.locator("#settings").inner_text()) == second
    assert page.locator("[data-metal=nickel]").input_value() == "3"

    drop(page, PHOTO)
    area(page)
    unfold(page, "Part")
    page.locator("#thickness").fill("3")
    page.locator("#thickness").press("Enter")
    page.locator("input[name=faces][value=all]:not(:disabled)").wait_for(state="attached")
    area(page)
    asked = len(measured)
    page.locator("#queue button").first.click()
    assert plated(page) == after, "what was said of the second photo is not said of the first"
    choose(page, 2)
    assert len(measured) == asked

    choose(page, 4)
    page.locator("summary", has_text="Not flat?").click()
    page.locator("#form").select_option("domed")
    page.locator("#form-figures").fill("rise 1 ± 0.1 mm")
    page.locator("#form-figures").press("Enter")
    page.wait_for_timeout(300)
    domed = plated(page)
    assert [one == other for one, other in zip(after, domed, strict=True)] == [True, True, True, False, True]
    choose(page, 2)
    assert page.locator("#form").input_value() == ""
    after = domed

    page.locator("#job-part").fill("five tags")
    with page.expect_response("**/api/drafts/*"):
        page.locator("[data-metal=gold]").evaluate("input => input.dispatchEvent(new Event('change', {bubbles: true}))")
    asks: list[str] = []
    page.on("dialog", lambda dialog: (asks.append(dialog.type), dialog.accept()))
    page.reload()
    assert asks == ["beforeunload"]
    page.locator("#queue .state", has_text="±").nth(1).wait_for()
    settled(page, "part 2")
    assert plated(page) == after
    assert page.locator("#thickness").input_value() == "1"
    assert page.locator("#job-part").input_value() == "five tags"
    page.locator("#settings", has_text="nickel").wait_for()
    assert plain(page.locator("#settings").inner_text()) == second
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    refused = [one for one in said if "422" in one]
    assert said == refused, "a dome without its rise is refused until it is typed, and nothing else is"


def test_the_last_good_number_stays_marked_while_a_slip_stands_or_the_server_is_away(
    browser: Any, own: Server, said: list[str], tmp_path: Path
) -> None:
    page = opened(browser, own.url, said, (820, 1180), color_scheme="dark")
    drop(page, PHOTO)
    area(page)
    page.locator("#thickness").fill("1.2")
    page.locator("#thickness").press("Enter")
    page.locator("input[name=faces][value=all]:not(:disabled)").wait_for(state="attached")
    page.locator("input[name=faces][value=all]").check(force=True)
    settled(page, "all over")
    plan(page)
    good, settings = area(page), plain(page.locator("#settings").inner_text())
    why = page.locator("#plan-out > .notes li", has_text="No current or time is planned for")
    assert [one.is_visible() for one in why.all()] == [True, True], "why amperes and minutes are missing stands in view"
    assert "“Current density” in step 3 for gold" in why.nth(1).inner_text()
    assert "general" not in page.locator("#plan-out .danger h3").inner_text()

    unfold(page, "Part")
    page.locator("#thickness").fill("1.2.3")
    page.locator("#thickness").press("Enter")
    page.locator("#area .last-good", has_text="what is typed now gives none").wait_for()
    slip = page.locator("[data-step=Part] .said")
    slip.filter(has_text="is not one plain number").filter(has_text="“Thickness” in step 2").wait_for()
    assert page.locator("#thickness").get_attribute("aria-invalid") == "true", (
        "the field is marked as long as it stands"
    )
    page.screenshot(path=str(tmp_path / "slip.png"))
    assert plain(page.locator("#area .figure.stale").inner_text()) == good
    assert plain(page.locator("#settings .stale").inner_text()) == settings
    assert page.locator("#plan-out.stale").count() == 1
    page.locator("#thickness").fill("1.2")
    page.locator("#thickness").press("Enter")
    settled(page, "all over")
    assert area(page) == good
    slip.wait_for(state="detached")
    assert page.locator("#thickness").get_attribute("aria-invalid") is None

    own.kill()
    page.locator("input[name=faces][value=both]").check(force=True)
    page.locator("#area .last-good", has_text="the server does not answer").wait_for()
    assert plain(page.locator("#area .figure.stale").inner_text()) == good
    open_typing(page)
    page.locator("[data-metal=nickel]").fill("5")
    page.locator("[data-metal=nickel]").press("Enter")
    page.locator("#settings .stale").wait_for()
    assert plain(page.locator("#settings").inner_text()) == settings
    own.start()
    settled(page, "both faces")
    assert area(page) != good
    page.locator("#settings > span:not(.stale)").wait_for()
    assert plain(page.locator("#settings").inner_text()) != settings


def test_a_new_tab_offers_the_last_photo_and_a_photo_is_kept_nowhere_else(
    browser: Any, own: Server, said: list[str]
) -> None:
    page = opened(browser, own.url, said, (1366, 700))
    drop(page, PHOTO)
    number = area(page)
    page.locator("#thickness").fill("1.2")
    with page.expect_response("**/api/drafts/*"):
        page.locator("#thickness").press("Enter")
    drafts = own.journal.parent / "drafts"
    (folder,) = drafts.iterdir()
    assert json.loads((folder / "draft.json").read_text(encoding="utf-8"))["photos"][0]["name"] == PHOTO.name
    assert len(list(folder.iterdir())) == 2
    other = opened(browser, own.url, said, context=page.context)
    other.locator("#go-on", has_text=PHOTO.name).click()
    assert area(other).endswith("cm²")
    assert other.locator("#thickness").input_value() == "1.2"
    assert number
    other.on("dialog", lambda dialog: dialog.accept())
    other.locator("#clear").click()
    other.locator("#area", has_text="no area yet").wait_for()
    other.locator("#welcome").wait_for()
    while folder.exists():
        other.wait_for_timeout(50)
    assert said == []


def test_equal_parts_are_planned_and_recorded_as_pieces(browser: Any, own: Server, said: list[str]) -> None:
    """Six equal tags in one photo: the page plans six pieces, and the job that it opens is of six."""
    page = opened(browser, own.url, said, (820, 1180))
    drop(page, DEMO / "six-tags.jpg")
    area(page)
    unfold(page, "Part")
    page.locator("#thickness").fill("0.8")
    page.locator("#thickness").press("Enter")
    page.locator("input[name=faces][value=all]:not(:disabled)").wait_for(state="attached")
    page.locator("input[name=faces][value=all]").check(force=True)
    settled(page, "all over")
    plan(page)
    planned = page.evaluate("fetch('/api/jobs').then((one) => one.json())")
    assert planned["jobs"] == []
    number = open_job(page, "tags")
    job = page.evaluate(f"fetch('/api/jobs/{number}').then((one) => one.json())")
    assert job["order"]["quantity"] == 6
    (kept,) = [one["doc"]["plan"] for one in job["entries"] if one["kind"] == "planned"]
    assert kept["pieces"] == 6
    # One tag has 649.36 mm2 a face and 164.9 mm of outlines (stadium 46 x 17 mm, slot, hole): 1430.6 mm2 at 0.8 mm.
    assert kept["area"]["per_piece"]["value"] == pytest.approx(1430.6, rel=0.01)
    assert "6 pieces" in plain(page.locator("body").inner_text())
    assert said == []
