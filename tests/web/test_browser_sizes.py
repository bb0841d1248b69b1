"""Phone, tablet and laptop: few presses, nothing cut off, targets for a glove, text twice as large, and on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bench_page import DEMO, PHOTO, Server, area, drop, opened, plain, unfold

from areakit.service.shop_profile import example_text

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]
SIZES = {"phone": (360, 740), "tablet": (820, 1180), "laptop": (1366, 700)}
TARGET_PX = 44
"""A target for a finger: WCAG 2.2, success criterion 2.5.5, whose exception for links in a sentence holds here too."""
SMALL = """least => [...document.querySelectorAll(
    'button, a[href], summary, select, textarea, input:not([type=file]), [role=button].asks')]
  .map(one => [one, one.matches('[type=radio], [type=checkbox]') ? one.closest('label') : one])
  .filter(([one, box]) => one.checkVisibility() && !one.closest('p, .skip') && !one.disabled)
  .map(([one, box]) => [one, box.getBoundingClientRect()])
  .filter(([one, box]) => box.width && (box.width < least - 0.5 || box.height < least - 0.5))
  .map(([one, box]) => `${one.outerHTML.slice(0, 90)} ${Math.round(box.width)} x ${Math.round(box.height)}`)"""
CUT = """() => [...document.querySelectorAll('.picture > *:not([hidden]), .picture button')]
  .filter(one => one.checkVisibility() && !one.closest('.queue'))
  .filter(one => one.getBoundingClientRect().bottom > innerHeight + 1)
  .map(one => one.id || one.className)"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Server]:
    folder = tmp_path / "shops"
    folder.mkdir()
    (folder / "default.toml").write_text(example_text(), encoding="utf-8")
    monkeypatch.setenv("AREAKIT_SHOPS", str(folder))
    running = Server(tmp_path / "shop.sqlite").start()
    yield running
    running.stop()


def fits(page: Any, width: int) -> None:
    """No sideways scroll, also with text twice as large; and targets that a finger hits."""
    assert page.evaluate(SMALL, TARGET_PX) == []
    for size in ("", "200%"):
        page.evaluate("size => { document.documentElement.style.fontSize = size }", size)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, size or "as it is"
    page.evaluate("document.documentElement.style.fontSize = ''")


@pytest.mark.thorough
@pytest.mark.parametrize("size", SIZES)
def test_every_state_fits(browser: Any, shop: Server, said: list[str], tmp_path: Path, size: str) -> None:
    width, height = SIZES[size]
    touch = size != "laptop"
    scheme = "dark" if size == "tablet" else "light"
    page = opened(browser, shop.url, said, (width, height), has_touch=touch, color_scheme=scheme)
    assert page.locator("[data-step=Run] .head").get_attribute("aria-expanded") == "false", "nothing can be run yet"
    page.locator("#sheets summary").click()
    assert page.locator("#sheets a").count() == 8
    page.evaluate("import('/static/outbox.js').then(one => one.put('GONE', { run: 3, stop: true })).catch(() => {})")
    page.locator("#stuck .actions").wait_for()
    fits(page, width)
    page.once("dialog", lambda ask: ask.accept())
    page.locator("#stuck button", has_text="Discard").click()

    drop(page, DEMO / "refused-crossing.jpg")
    page.locator("#take-again").wait_for()
    seen, below = page.locator("#over .crossing").bounding_box(), page.locator("#refusal").bounding_box()
    assert seen["y"] + seen["height"] <= below["y"], "the words do not cover the place that they are about"
    assert seen["width"] > 0.3 * page.locator("#stage").bounding_box()["width"], "the place fills the picture"
    fits(page, width)
    with page.expect_file_chooser() as chosen:
        page.locator("#take-again").click()
    chosen.value.set_files(str(PHOTO))
    area(page)
    assert page.locator("#queue .file").count() == 1, "the new photo stands in the place of the refused one"

    page.locator("#thickness").click()
    page.keyboard.type("1.2")
    page.keyboard.press("Enter")
    page.locator("#settings .layer-line").nth(1).wait_for()
    assert page.locator("#thickness").get_attribute("inputmode") == "decimal"
    page.locator("#area .figure:not(.stale)").wait_for()
    page.screenshot(path=str(tmp_path / "planned.png"))
    fits(page, width)
    label = plain(page.locator("#over .tag text").text_content())
    assert label == f"1: {area(page)}", "the picture and the strip name the same area"
    part = page.locator("#over .part").bounding_box()
    stage = page.locator("#stage").bounding_box()
    assert part["height"] > 0.5 * stage["height"] or part["width"] > 0.5 * stage["width"], "the part fills the picture"
    page.evaluate("scrollTo(0, document.body.scrollHeight)")
    for name in ("#area .figure", "#settings .layer-line"):
        assert page.locator(name).first.bounding_box()["y"] >= 0, "area, amperes and minutes never scroll away"
    page.evaluate("scrollTo(0, 0)")

    page.locator("#mend-start").click()
    page.locator("#over .handle").first.wait_for(state="attached")
    if size == "laptop":
        assert page.evaluate(CUT) == []
        assert page.locator("#stage").bounding_box()["height"] > 240, "the tools leave room for the picture"
    if size == "phone":
        for form, rows in (("tube", 2), ("flat", 1)):
            page.locator("#region-form").select_option(form)
            assert page.locator("#mend-form").bounding_box()["height"] < rows * 100, (
                "a region of another form is compact"
            )
    fits(page, width)
    page.locator("[data-mend=significant]").click()
    fits(page, width)
    lens, own = page.locator("#lens").bounding_box(), page.locator("#prompt").bounding_box()
    assert lens["y"] >= own["y"] + own["height"] or lens["x"] >= own["x"] + own["width"], "nothing lies over the zoom"
    assert not page.locator("#mend-bar").is_visible()
    page.get_by_role("button", name="Cancel").click()
    page.locator("[data-mend=done]").click()

    page.locator("#job-open").click()
    page.locator("#begin").wait_for()
    fits(page, width)
    if size == "phone":
        assert page.evaluate("document.documentElement.scrollHeight") <= 6 * height, "the whole job is six screens"
    unfold(page, "Record")
    kinds = [one.bounding_box() for one in page.locator(".entries .kind").all()]
    assert len(kinds) > 2
    assert all(one["height"] < 40 for one in kinds), "a word stands on one line"
    foot = page.locator(".entries li").last.bounding_box(), page.locator(".entries li summary").last.bounding_box()
    assert size == "phone" or foot[1]["y"] < foot[0]["y"] + 20, "an entry and what can be done with it stand in one row"
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    texts = [one.bounding_box() for one in page.locator(".entries li > span:nth-child(3)").all()]
    whole = page.locator(".entries").bounding_box()["width"]
    assert all(one["width"] > whole / 3 for one in texts), "large text is not broken into letters"
    page.evaluate("document.documentElement.style.fontSize = ''")
    figure = area(page)
    page.emulate_media(media="print")
    assert not page.locator("#begin").is_visible()
    assert figure in plain(page.locator("#area").inner_text())
    assert page.locator("#plan-out .layer").nth(1).is_visible(), "a step that is folded on the screen is on the paper"
    assert page.locator("[data-step=Part] .line", has_text="1.2 mm, ").is_visible()
    assert not page.get_by_text("Traveller", exact=True).is_visible(), "what is pressed has no head on paper"
    before = page.locator("#over .part").bounding_box()
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    stage, part = page.locator("#stage").bounding_box(), page.locator("#over .part").bounding_box()
    for start, long in (("x", "width"), ("y", "height")):
        off = part[start] + part[long] / 2 - stage[start] - stage[long] / 2
        assert abs(off) < 0.1 * stage[long], "the part stands in the middle of its picture on paper"
        assert part[long] < stage[long]
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.locator("#over .part").bounding_box() == before
    page.emulate_media(media="screen")

    page.locator("#begin").click()
    page.locator("#panel[open]").wait_for()
    assert plain(page.locator("#passes").inner_text()) == "about 560 of 560 passes to go", "of 560 ± 270"
    left = page.locator("#to-go").inner_text().split(":")
    page.locator("#planned-current").click()
    page.locator("#charge-to-go", has_text="A·min to go at 0.31 A").wait_for()
    assert [int(one) for one in page.locator("#to-go").inner_text().split(":")] <= [int(one) for one in left]
    assert plain(page.locator("#passes").inner_text()) == "about 560 of 560 passes to go", "ten are not done yet"
    page.locator(".figures", has_text=re.compile(r"run: \d\.\d A·min")).wait_for()  # of 15.0 A·min
    for wide, high in ((width, height), (740, 360)) if touch else ((width, height),):
        page.set_viewport_size({"width": wide, "height": high})
        gauge, foot = page.locator(".gauge").bounding_box(), page.locator(".panel-foot").bounding_box()
        assert gauge["y"] + gauge["height"] <= high, "the gauge is in view"
        above, beside = gauge["y"] + gauge["height"] <= foot["y"] + 1, gauge["x"] + gauge["width"] <= foot["x"] + 1
        assert above or beside, "nothing covers the gauge"
        page.screenshot(path=str(tmp_path / f"run-{wide}.png"))
    page.set_viewport_size({"width": width, "height": height})
    fits(page, width)
    page.locator("#current-off").click()
    page.locator("#panel-close").click()
    if size == "laptop":
        page.locator("#step").select_option("11")  # gold, which the profile plates by volts and a watch
        page.locator("#begin").click()
        page.locator("#panel[open] h2", has_text="Plate gold").wait_for()
        strip = plain(page.locator("#settings .layer-line").last.text_content()).removeprefix("gold ")
        assert plain(page.locator("#passes").inner_text()) == f"planned: {strip}, 123 passes"
        assert page.locator("#planned-current").is_hidden(), "no current is planned"
    assert [one for one in said if "422" not in one] == []


def test_from_a_photo_to_amperes_and_minutes_in_five_presses(browser: Any, shop: Server, said: list[str]) -> None:
    """Taking the photo and accepting it are two presses in the camera itself (common practice, no source)."""
    page = opened(browser, shop.url, said, (360, 740), has_touch=True)
    presses, keys = 2, 0
    with page.expect_file_chooser() as chosen:
        page.get_by_role("button", name="Take a photo").tap()
        presses += 1
    chosen.value.set_files(str(PHOTO))
    area(page)
    page.locator("#thickness").tap()
    presses += 1
    for key in ("1", ".", "2", "Enter"):
        page.keyboard.press(key)
        keys += 1
    page.locator("#settings .layer-line", has_text="A, ").wait_for()
    assert presses <= 5
    assert keys <= 6
    unfold(page, "Part")
    page.locator("[data-stock=thin-strip]").tap()
    page.locator("#thickness").and_(page.locator(":not(:focus)")).wait_for()
    assert page.locator("#thickness").input_value() == "0.10 ± 0.01"
    assert said == []
