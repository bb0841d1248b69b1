"""Parts that are not flat, on the page: forms of parts and regions, offered stop-offs, a dome from the side."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from bench_page import area, drop, opened, plain
from shapely.geometry import Point, box

from areakit.service.measure import MeasureRequest, measure
from areakit.synthetic import Patch, ScenePart, render, save_photo
from areakit.synthetic.sheet_print import linear
from tests.imaging.drawn_photos import BLOCK, MIDDLE_MM, scene_of
from tests.service.test_side_photo import DISK, RISE, THICK, WIDTH, photographed, segment

pytestmark = [pytest.mark.browser, pytest.mark.thorough, pytest.mark.timeout(240)]
X, Y = MIDDLE_MM
SPOT = Point(X - 12.0, Y).buffer(6.0)
LENGTHS = "200 x 120 mm"


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Draw a block with a red spot, a leaf with a stem beside a bar, and a dome from above and from the side."""
    folder = tmp_path_factory.mktemp("forms")
    red = scene_of(BLOCK, 1.0, patches=(Patch(polygon=SPOT, colour=linear((180, 30, 40)), on=0),))
    leaf = Point(0, 0).buffer(12, quad_segs=64).union(box(-1, -37, 1, 0))
    parts = tuple(
        ScenePart(polygon=polygon, thickness_mm=1.0, position_mm=at)
        for polygon, at in ((leaf, (X - 30.0, Y + 5.0)), (box(-20, -2, 20, 2), (X + 30.0, Y)))
    )
    two = scene_of(BLOCK, parts=parts)
    return {
        "spot": save_photo(folder / "spot.jpg", render(red), red),
        "leaf": save_photo(folder / "leaf.jpg", render(two), two),
        "above": photographed(folder / "above.jpg", DISK, THICK, red.middle_mm),
        "side": photographed(folder / "side.jpg", segment(WIDTH, RISE + THICK), WIDTH / 2, red.middle_mm),
    }


def cm2(page: Any) -> float:
    return float(area(page).split("±")[0].strip())


def settled(page: Any, photo: Path, thickness: str = "") -> None:
    """Measure a photo on the page with its check lengths and thickness."""
    page.evaluate("() => { document.querySelector('[data-step=Scale] .head').click() }")
    page.locator("#check-lengths").fill(LENGTHS)
    page.locator("#check-lengths").press("Tab")
    drop(page, photo)
    if thickness:
        page.locator("#thickness").fill(thickness)
        page.locator("#thickness").press("Tab")
    area(page)


def on_screen(page: Any, points_px: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return where points of the photo are on the screen."""
    script = """points => {
      const box = document.querySelector('#view').getBoundingClientRect();
      const moved = document.querySelector('#over g').getAttribute('transform');
      const [left, top, zoom] = moved.match(/-?[\\d.]+/g).map(Number);
      return points.map(([x, y]) => [box.left + left + zoom * (x + 0.5), box.top + top + zoom * (y + 0.5)]);
    }"""
    found: list[tuple[float, float]] = page.evaluate(script, points_px)
    return found


def test_a_stop_off_is_offered_with_its_area_and_taken_only_when_somebody_says_so(
    browser: Any, here: str, said: list[str], photos: dict[str, Path]
) -> None:
    page = opened(browser, here, said)
    settled(page, photos["spot"])
    whole = cm2(page)
    question = page.locator(".notes li", has_text="is it stopped off?")
    assert re.search(r"Another colour or brightness on 1\.1[0-9]* cm²", plain(question.inner_text()))
    page.locator("#over .region.offered").wait_for(state="attached")
    question.get_by_role("button", name="It is stopped off").click()
    page.locator("#over .region.stop_off").wait_for(state="attached")
    assert cm2(page) == pytest.approx(whole - SPOT.area / 100, abs=0.03)
    assert page.locator(".key.stop_off").is_visible()

    page.locator("#mend-start").click()
    assert page.locator("#over .region.stop_off").count() == 1
    page.locator("#over .handle[data-r='0']").nth(3).focus()
    page.keyboard.press("ArrowLeft")
    page.locator("#area", has_text="corrected by hand").wait_for()
    assert cm2(page) == pytest.approx(whole - SPOT.area / 100, abs=0.2)
    page.locator(".mend-bar [data-mend=done]").click()

    page.get_by_role("button", name="Take back").click()
    page.locator("#over .region.stop_off").wait_for(state="detached")
    assert cm2(page) == pytest.approx(whole, abs=0.2)
    page.locator("#over .asks").click()
    page.locator("#prompt").get_by_role("button", name="Metal", exact=True).click()
    page.locator("#over .asks").wait_for(state="detached")
    assert cm2(page) == pytest.approx(whole, abs=0.2)
    assert said == []


def test_parts_and_regions_of_one_photo_have_their_own_forms(
    browser: Any, here: str, said: list[str], photos: dict[str, Path]
) -> None:
    stem_mm = f"rectangle 4 x 30 mm, at {X - 30} {Y + 21.9} mm"
    words: dict[str, Any] = {"thickness": "1 mm", "faces": "all", "check_lengths": LENGTHS, "parts": ("2: form round",)}
    told = next(measure([photos["leaf"]], MeasureRequest(**words, regions=(f"{stem_mm}: form round",))))
    assert told.found is not None
    scale = told.found.scale
    corners = [(X - 32, Y + 6.9), (X - 28, Y + 6.9), (X - 28, Y + 36.9), (X - 32, Y + 36.9)]
    px = [tuple(map(float, scale.camera.project(scale.turned_up(np.array([one])), 1.0)[0])) for one in corners]

    page = opened(browser, here, said)
    settled(page, photos["leaf"], "1")
    page.locator("input[name=faces][value=all]").check(force=True)
    rows = page.locator(".parts tbody tr")
    page.locator("#area:has(.figure:not(.stale))", has_text="all over").wait_for()
    assert [plain(one) for one in rows.locator("td:first-child").all_inner_texts()] == ["Part 1 flat", "Part 2 flat"]

    asked = page.locator(".notes li", has_text="Nobody said the form")
    asked.get_by_role("button", name="It is wire or rod").click()
    rows.nth(1).filter(has_text="round").wait_for()
    asked.wait_for(state="detached")
    rows.nth(1).get_by_role("button").click()
    assert page.locator("#form").input_value() == "round"
    page.locator("#form").select_option("")
    rows.nth(1).filter(has_text="flat").wait_for()
    assert asked.count() == 0, "somebody said flat"
    page.locator("#form").select_option("round")
    rows.nth(1).filter(has_text="round").wait_for()
    assert page.locator("#thickness").is_disabled()
    assert page.locator("#thickness").input_value() == ""
    rows.nth(0).get_by_role("button").click()
    assert page.locator("#form").input_value() == ""
    assert page.locator("#thickness").input_value() == "1"

    page.locator("#mend-start").click()
    page.locator("#region-form").select_option("round")
    page.locator("#mend-form button").click()
    page.locator("[data-zoom=out]").click()  # clear of what is said above the picture
    page.locator("[data-zoom=out]").click()
    for x, y in on_screen(page, px):
        page.mouse.click(x, y)
    page.get_by_role("button", name="Close the line").click()
    rows.nth(0).filter(has_text="flat; form round").wait_for()
    page.locator("#over .region.form").wait_for(state="attached")
    page.locator(".mend-bar [data-mend=done]").click()
    shown = [plain(one).split("±")[0].strip() for one in rows.locator("td:last-child").all_inner_texts()]
    for text, part in zip(shown, told.parts, strict=True):
        assert float(text) == pytest.approx(part.surface.plated.value / 100, rel=0.01)
    page.reload()
    rows.nth(0).filter(has_text="flat; form round").wait_for()
    assert plain(rows.nth(1).locator("td:first-child").inner_text()) == "Part 2 round"
    assert said == []


def test_a_dome_gets_its_rise_from_a_second_photo(
    browser: Any, here: str, said: list[str], photos: dict[str, Path]
) -> None:
    page = opened(browser, here, said)
    settled(page, photos["above"], "1 ± 0.02")
    page.locator("#form").evaluate("one => { one.closest('details').open = true }")
    assert page.locator("#side").is_hidden()
    page.locator("#form").select_option("domed")
    page.locator("#refusal", has_text="needs its rise").wait_for()
    page.locator("#side-file").set_input_files(str(photos["side"]))
    row = page.locator(".parts tbody tr", has_text="domed, rise")
    row.wait_for()
    rise = re.search(r"rise ([\d.]+) ± ([\d.]+) mm", plain(row.inner_text()))
    assert rise is not None
    assert float(rise[1]) == pytest.approx(RISE, abs=float(rise[2]))
    page.reload()
    row.wait_for()
    assert page.locator("#side", has_text="side.jpg").is_visible()
    page.locator("#side").get_by_role("button", name="Take it off").click()
    page.locator("#refusal", has_text="needs its rise").wait_for()
    assert [one for one in said if "422" not in one] == []
