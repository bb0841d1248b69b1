"""The picture and its numbers: queue, corrections, regions, points, zoom, units, large photos and HEIC."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from bench_page import DEMO, LARGE, PHOTO, area, drop, open_job, open_typing, opened, plain, plan, set_part, unfold

from areakit.flags import flag
from areakit.records.codec import flag_json

pytestmark = [pytest.mark.browser, pytest.mark.thorough, pytest.mark.timeout(240)]


def test_several_photos_queue_and_each_keeps_its_number(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    names = ("pierced-badge.jpg", "white-field.jpg")
    drop(page, *(DEMO / name for name in names))
    states = page.locator("#queue .state")
    for index in range(2):
        states.nth(index).filter(has_text="±").wait_for()
    first, second = (plain(states.nth(index).inner_text()) for index in range(2))
    assert first != second
    page.locator("#queue button").nth(1).click()
    assert area(page) == second
    page.locator("#thickness").fill("1.2")
    page.locator("#thickness").press("Tab")
    states.nth(1).filter(has_not_text=second.split()[0]).filter(has_text="±").wait_for()
    with page.expect_file_chooser() as chosen:
        page.locator("#again").click()
    chosen.value.set_files(str(DEMO / names[0]))
    page.locator("#queue .file").nth(1).filter(has_text=names[0]).wait_for()
    area(page)
    assert page.locator("#queue .file").count() == 2, "a photo that is taken again stands in its place"
    assert page.locator("#thickness").input_value() == "1.2", "what was said of the part stays"


def test_an_outline_is_corrected_and_the_correction_undone(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    drop(page, PHOTO)
    before = area(page)
    page.locator("#mend-start").click()
    handle = page.locator("#over .handle[data-r='0']").nth(6)
    handle.focus()
    for _ in range(6):
        page.keyboard.press("Shift+ArrowLeft")
    page.locator("#area", has_text="corrected by hand").wait_for()
    assert area(page) != before
    for _ in range(6):
        page.keyboard.press("Control+z")
    page.locator("#area").filter(has_not_text="corrected by hand").wait_for()
    assert area(page) == before
    assert said == []


def number(text: str) -> float:
    return float(text.split()[0])


def drawn(page: Any, points: list[list[float]], way: str) -> None:
    """Draw a line through points of the screen."""
    if way == "touch":
        finger = page.context.new_cdp_session(page)
        for i, (x, y) in enumerate(points):
            kind = "touchMove" if i else "touchStart"
            finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y, "id": 0}]})
        finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        return
    page.mouse.move(*points[0])
    page.mouse.down()
    for point in points[1:]:
        page.mouse.move(*point)
    page.mouse.up()


BESIDE = """async off => {
  const { state } = await import('/static/state.js'), ring = state.photos[0].measured.rings_px[0][0];
  const dots = [...document.querySelectorAll("#over .handle[data-r='0']")], sheet = dots[0].getScreenCTM();
  const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const at = [4, 8].map(k => {
    const dot = ['cx', 'cy'].map(name => Number(dots[k].getAttribute(name)) - 0.5);
    return ring.reduce((one, point, i) => (apart(point, dot) < apart(ring[one], dot) ? i : one), 0);
  });
  const points = ring.slice(Math.min(...at), Math.max(...at) + 1).filter((_, i) => i % 4 === 0);
  const line = points.map(([x, y]) => new DOMPoint(x + 0.5, y + 0.5).matrixTransform(sheet)).map(({ x, y }) => [x, y]);
  return line.map(([x, y], i) => {
    const a = line[Math.max(0, i - 1)], b = line[Math.min(line.length - 1, i + 1)], long = apart(a, b) || 1;
    return [x - off * (b[1] - a[1]) / long, y + off * (b[0] - a[0]) / long];
  });
}"""
"""The measured edge from handle 4 to handle 8 on the screen, some pixels to one side."""


@pytest.mark.parametrize("way", ["mouse", "touch"])
def test_a_freehand_line_goes_to_the_edge_of_the_metal(browser: Any, here: str, said: list[str], way: str) -> None:
    size = (390, 844) if way == "touch" else (1400, 900)
    page = opened(browser, here, said, size, has_touch=way == "touch")
    drop(page, PHOTO)
    before = number(area(page))
    page.locator("#mend-start").click()
    page.locator("[data-mend=free]").wait_for()
    page.locator("#over .handle[data-r='0']").nth(6).focus()
    for _ in range(6):
        page.keyboard.press("Shift+ArrowLeft")
    page.locator("#area", has_text="corrected by hand").wait_for()
    spoilt = number(area(page))
    assert abs(spoilt - before) > 0.02 * before
    page.locator("[data-mend=free]").click()
    for off in (6.0, -6.0):
        points = page.evaluate(BESIDE, off)
        drawn(page, points, way)
        page.wait_for_function("spoilt => !document.querySelector('#area').innerText.includes(spoilt)", arg=f"{spoilt}")
        mended = number(area(page))
        assert mended == pytest.approx(before, rel=0.003), "a line six pixels beside the edge is moved to it"
        page.locator("[data-mend=undo]").click()
        page.wait_for_function("spoilt => document.querySelector('#area').innerText.includes(spoilt)", arg=f"{spoilt}")
        assert number(area(page)) == spoilt
    assert said == []


def test_of_many_parts_the_labels_give_way_and_the_chosen_one_is_in_view(
    browser: Any, here: str, said: list[str], tmp_path: Path
) -> None:
    page = opened(browser, here, said, (390, 844), has_touch=True)

    def many(route: Any) -> None:
        """Let the server measure, and lay the one part out 46 times, a seventh as large."""
        answer = route.fetch()
        body = answer.json()
        (part,), (rings,) = body["parts"], body["rings_px"]
        spots = [(120 + 105 * (i % 8), 90 + 105 * (i // 8)) for i in range(46)]
        weak = [flag_json(flag("WEAK_EDGE", part=i + 1, percent=7.0 + i)) for i in range(46)]
        body["parts"] = [{**part, "id": i + 1, "flags": [weak[i]]} for i in range(46)]
        body["rings_px"] = [[[[x + a / 7, y + b / 7] for a, b in ring] for ring in rings] for x, y in spots]
        route.fulfill(response=answer, json=body)

    page.route("**/api/measure*", many)
    drop(page, PHOTO)
    area(page)
    shown = page.locator("#over .tag:not(.hidden-tag)")
    assert (page.locator("#over .tag").count(), shown.count()) == (46, 0), "a label would cover its part"
    note = page.locator(".notes li", has_text="of this outline is unclear")
    assert plain(note.inner_text()).startswith("Parts 1 to 46: 7 to 52 % of this outline is unclear")
    page.locator(".parts button").nth(33).tap()
    page.locator("#over .part.chosen").wait_for(state="attached")
    stage, part = (page.locator(name).bounding_box() for name in ("#stage", "#over .part.chosen"))
    assert 0 <= stage["y"] < 300
    assert part["width"] > 44 or part["height"] > 44
    assert stage["y"] <= part["y"] <= part["y"] + part["height"] <= stage["y"] + stage["height"]
    assert plain(shown.filter(has_text="34").text_content()).startswith("34")
    page.screenshot(path=str(tmp_path / "chosen.png"))
    page.locator("#over .part.chosen").tap()
    page.locator("#over .part.chosen").wait_for(state="detached")
    assert shown.count() == 0, "the whole picture again"
    assert said == []


def test_a_doubtful_region_is_decided_by_a_person(browser: Any, here: str, said: list[str], tmp_path: Path) -> None:
    page = opened(browser, here, said)
    asked: list[str] = []

    def with_question(route: Any) -> None:
        """Let the server measure, and put a question into its answer where nobody has decided yet."""
        asked.append(route.request.url)
        answer = route.fetch()
        body = answer.json()
        if not re.search("metal=|hole=", route.request.url):
            body["questions"] = [{"part": 1, "at": "81.2,62.1", "at_px": [493, 373]}]
        route.fulfill(response=answer, json=body)

    page.route("**/api/measure*", with_question)
    drop(page, PHOTO)
    page.locator("#over .question").wait_for()
    page.screenshot(path=str(tmp_path / "question.png"))
    page.locator("#over .asks").click()
    page.get_by_role("button", name="Metal", exact=True).click()
    page.locator("#over .question").wait_for(state="detached")
    assert "metal=81.2%2C62.1" in asked[-1]
    page.get_by_role("button", name="Take back").click()
    page.locator("#over .asks").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.locator("#over .question").wait_for(state="detached")
    assert "hole=81.2%2C62.1" in asked[-1]
    assert "metal=" not in asked[-1]


@pytest.mark.parametrize(("count", "told"), [(0, ""), (2, "without 2 regions")])
def test_the_total_says_how_many_regions_have_no_area(
    browser: Any, here: str, said: list[str], count: int, told: str
) -> None:
    page = opened(browser, here, said)

    def with_count(route: Any) -> None:
        """Let the server measure, and say in its answer that some regions have no area."""
        answer = route.fetch()
        route.fulfill(response=answer, json={**answer.json(), "regions_left_out": count})

    page.route("**/api/measure*", with_count)
    drop(page, PHOTO)
    area(page)
    for place in ("#area", "#queue .state >> nth=0"):
        words = page.locator(place).inner_text()
        assert ("without" in words) == bool(told)
        assert told in words
    assert said == []


def test_zoom_and_units_by_keyboard(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    drop(page, PHOTO)
    area(page)
    page.locator("#over .part").first.wait_for()
    wide = page.locator("#over .part").first.bounding_box()["width"]
    page.locator("#stage").focus()
    page.keyboard.press("+")
    assert page.locator("#over .part").first.bounding_box()["width"] > 1.2 * wide
    page.keyboard.press("0")
    assert page.locator("#over .part").first.bounding_box()["width"] == pytest.approx(wide, rel=0.01)
    page.locator("#units").click()
    assert area(page).endswith("in²")


def test_two_fingers_zoom(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said, (820, 1180), has_touch=True)
    drop(page, PHOTO)
    area(page)
    part = page.locator("#over .part").first
    part.wait_for()
    wide = part.bounding_box()["width"]
    touch = page.context.new_cdp_session(page)
    for kind, gap in (("touchStart", 60), ("touchMove", 90), ("touchMove", 180)):
        points = [{"x": 400 - gap, "y": 380, "id": 0}, {"x": 400 + gap, "y": 380, "id": 1}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    assert part.bounding_box()["width"] > 1.5 * wide


def test_a_48_megapixel_photo(browser: Any, here: str, said: list[str], tmp_path: Path) -> None:
    from PIL import Image

    large = tmp_path / "large.jpg"
    with Image.open(LARGE) as image:
        exif = image.getexif()
        image.resize((8064, 6048)).save(large, quality=90, exif=exif)
    page = opened(browser, here, said)
    drop(page, large)
    page.locator("#busy").wait_for()  # it takes longer than half a second, so it says so
    assert area(page).endswith("cm²")
    assert page.locator("#photo").evaluate("image => image.naturalWidth") <= 4000
    assert said == []


def test_two_taps_and_a_length_are_a_scale(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    drop(page, PHOTO)
    by_sheet = float(area(page).split(" ")[0])
    unfold(page, "Scale")
    page.locator("#mark").select_option("taps")
    page.locator("#refusal", has_text="no tapped length yet").wait_for()
    page.locator("#tap-length").fill("150")  # the line that the sheet prints below its marker frame: 150 mm
    page.locator("#tap-length").press("Tab")
    page.locator("#tap").click()
    box = page.locator("#stage").bounding_box()
    size = page.locator("#photo").bounding_box()
    scale = size["width"] / 3264  # of the whole photo
    for x, y in ((674, 2270), (2623, 2120)):  # its two ends on the photo, read off the picture by eye
        page.mouse.click(size["x"] + x * scale, size["y"] + y * scale)
    number, spread = re.findall(r"[\d.]+", area(page))[:2]
    assert box["width"] > 0
    assert float(spread) > 0.15 * float(number), "two taps leave a fifth of the area open"
    assert abs(float(number) - by_sheet) < float(spread)
    assert "two tapped points" in page.locator(".step").nth(1).inner_text()


def test_a_coin_is_shown_by_tapping_it(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/api/measure" in request.url else None)
    drop(page, PHOTO)
    area(page)
    unfold(page, "Scale")
    page.locator("#mark").select_option("coin")
    page.get_by_label("Which coin").select_option("eur-1")
    page.locator("#busy").wait_for(state="hidden")
    page.get_by_role("button", name="Show where it lies").click()
    box = page.locator("#stage").bounding_box()
    with page.expect_response("**/api/measure*coin*%40*"):
        page.mouse.click(box["x"] + 300, box["y"] + 300)
    assert re.search(r"mark=coin%3Aeur-1%40\d+\.?\d*%2C\d+", asked[-1])


def test_several_coins_are_named_and_shown_one_by_one(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/api/measure" in request.url else None)
    drop(page, PHOTO)
    area(page)
    unfold(page, "Scale")
    page.locator("#mark").select_option("coins")
    page.locator("#refusal", has_text="no two coins yet").wait_for()
    box = page.locator("#stage").bounding_box()
    for number, code in enumerate(("eur-1", "eur-0.20")):
        page.get_by_label("Which coin").select_option(code)
        page.get_by_role("button", name="Show where it lies").click()
        page.mouse.click(box["x"] + 300 + 60 * number, box["y"] + 300)
    page.locator("#refusal", has_text="coin").wait_for()
    two = r"mark=coin%3Aeur-1%40[\d.]+%2C[\d.]+%3B\+coin%3Aeur-0\.20%40[\d.]+%2C[\d.]+"
    assert re.search(two, asked[-1])
    page.get_by_role("button", name="Take away").first.click()
    page.locator("#refusal", has_text="no two coins yet").wait_for()


def test_a_chequerboard_is_told_by_its_corners_and_its_square(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    drop(page, PHOTO)
    area(page)
    unfold(page, "Scale")
    page.locator("#mark").select_option("chequer")
    page.locator("#chequer-corners").fill("9x7")
    page.locator("#chequer-pitch").fill("30.02 ± 0.02")
    with page.expect_response("**/api/measure?*mark=chequer%3A9x7%2C30.02+%C2%B1+0.02+mm*"):
        page.locator("#chequer-pitch").press("Tab")
    page.locator("#refusal", has_text="No chequerboard of 9 x 7").wait_for()


def test_a_print_is_kept_and_chosen(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    drop(page, PHOTO)
    unchecked = area(page)
    unfold(page, "Scale")
    page.locator("#check-lengths").fill("150.1 x 90.0")
    page.locator("#check-lengths").press("Tab")
    page.locator("#area:has(.figure:not(.stale))").wait_for()
    page.locator("summary", has_text="Keep these lengths").click()
    page.get_by_label("Name written on the sheet copy").fill("bench-1")
    page.get_by_role("button", name="Keep", exact=True).first.click()
    page.locator("#sheet-copy", has_text="bench-1").wait_for()
    page.locator("#check-lengths").fill("")
    page.locator("#check-lengths").press("Tab")
    page.locator(".step", has_text="Check lengths of bench-1").wait_for()
    assert area(page) != unchecked
    again = opened(browser, here, said, context=page.context)
    assert again.locator("#sheet-copy").input_value() == "bench-1"
    assert said == []


SLOW_PLAN = """{
  const fetched = fetch, soon = (done) => setTimeout(done, 1500);
  window.fetch = async (where, ...more) => {
    if (String(where).endsWith("/api/plan")) await new Promise(soon);
    return fetched(where, ...more);
  };
}"""


def test_bare_numbers_have_the_unit_shown(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    drop(page, PHOTO)
    set_part(page)
    metric = area(page)
    plan(page)
    nickel = page.locator("#plan-out .big").first
    before = plain(nickel.inner_text())
    assert re.fullmatch(r"[\d.]+ A·min", before), "the metal is named once, above"
    page.locator("#units").click()
    assert area(page).endswith("in²")
    assert page.locator("#thickness").input_value() == "1.2 mm", "a number typed in mm stays in mm"
    open_typing(page)
    layer = page.locator("[data-metal=nickel]")
    assert layer.input_value() == "3 µm"
    layer.fill("118.11")  # µin: 3 µm by definition of the inch, 25.4 mm
    with page.expect_response("**/api/plan"):
        layer.press("Tab")
    page.locator("#plan-go:not([disabled])").wait_for(state="attached")
    assert plain(nickel.inner_text()) == before
    unfold(page, "Part")
    page.locator("#thickness").fill("0.04724")  # in: 1.2 mm
    page.locator("#thickness").press("Tab")
    page.locator("#area:has(.figure.stale)").wait_for()
    area(page)
    page.locator("#units").click()
    assert area(page) == metric
    page.evaluate(SLOW_PLAN)
    page.locator("#thickness").fill("1.3")
    page.locator("#thickness").press("Tab")
    page.locator("#area:has(.figure.stale)").wait_for()
    area(page)
    number = open_job(page, "warm")  # the plan is still being made for the new area: the job waits for it
    page.locator("#units").click()
    page.locator("summary", has_text="Voltage, temperature").click()
    page.get_by_label("Temperature").fill("77")  # °F: 25 °C, by the definition of the scale
    page.locator("#step").select_option("1")
    with page.expect_response("**/entries/step*"):
        page.locator("#begin").click()
    job = page.evaluate(f"fetch('/api/jobs/{number}').then((one) => one.json())")
    (warm,) = [entry["doc"]["temperature_c"] for entry in job["entries"] if entry["kind"] == "step"]
    assert warm == pytest.approx(25.0)


def test_what_a_keypad_can_type_is_sent_with_the_unit_shown(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said, (390, 844), has_touch=True)
    drop(page, PHOTO)
    area(page)
    page.locator("#mend-start").tap()
    page.locator("[data-mend=keep]").tap()
    assert page.locator("#prompt").bounding_box()["height"] < 120, "what is pressed while drawing stands in one row"
    page.get_by_role("button", name="Cancel").tap()
    page.locator("[data-mend=done]").tap()
    plan(page)
    open_typing(page)
    sent: list[dict[str, Any]] = []
    page.on("request", lambda one: sent.append(one.post_data_json) if one.url.endswith(("/plan", "/check")) else None)
    row = page.locator("fieldset", has_text="nickel")

    def typed(where: Any, text: str) -> None:
        assert where.get_attribute("inputmode") == "decimal", text
        with page.expect_response(lambda answer: answer.url.endswith("/api/plan")):
            where.fill(text)
            where.press("Tab")

    row.get_by_label("Efficiency from").select_option("factor")
    typed(row.get_by_label("Plating factor"), "60")
    assert sent[-1]["factor"] == {"nickel": "60 A.h/in3"}
    row.get_by_label("Efficiency from").select_option("efficiency")
    share = row.get_by_label("Efficiency", exact=False).last
    share.fill("72")
    row.locator(".with-sign:visible .sign-key").tap()  # a keypad has no ±
    assert share.input_value() == "72 ± "
    typed(share, "72 ± 6")
    assert sent[-1]["efficiency"]["nickel"] == "72 ± 6 %"
    size = page.get_by_label("Footprint, across")
    size.fill("20")
    page.locator(".with-sign", has=size).get_by_role("button").tap()
    assert size.input_value() == "20 × "
    key, box = (one.bounding_box() for one in (page.locator(".with-sign", has=size).get_by_role("button"), size))
    assert abs(key["y"] - box["y"]) < 4, "the key stands beside its field"
    assert box["width"] > 200, "what is typed is seen whole"
    typed(size, "20 × 15")
    assert sent[-1]["spread"] == {"footprint_size": "20 × 15 mm"}
    page.locator("#plan-out h3", has_text="How evenly").wait_for()
    page.locator("#process").select_option("nickel-tank")
    typed(page.get_by_label("Wagner number"), "0.1 ± 0.05")
    assert sent[-1]["spread"] == {"wagner": "0.1 ± 0.05"}

    unfold(page, "Check somebody's figures")
    check = page.locator("#check-out").locator("..")
    price = check.get_by_label("Price of the metal")
    assert price.get_attribute("inputmode") == "text", "without rates the currency has to be typed"
    unfold(page, "Price")
    page.locator("[data-rate=currency]").fill("EUR")
    page.locator("[data-rate='shares.scrap']").fill("3")
    page.locator("[data-rate='shares.scrap']").press("Tab")
    assert page.locator("[data-rate='shares.scrap']").input_value() == "3 %"
    page.get_by_role("button", name="Price it").tap()
    page.locator("#rates-fold [aria-invalid]").first.wait_for()
    marked = page.locator("#rates-fold [aria-invalid]")
    wrong = marked.evaluate_all("all => all.map(one => one.dataset.rate)")
    assert "labour.per_hour" in wrong, "it was left empty"
    assert not {"currency", "shares.scrap"} & set(wrong)
    page.get_by_role("button", name="Invented, to try out").tap()
    page.wait_for_function("() => !document.querySelector('#rates-fold [aria-invalid]')")
    page.locator("[data-rate='breaks.50']").fill("1001 %")
    page.locator("[data-rate='solutions.gold']").fill("dear")
    page.locator("#rates-keep").tap()
    page.locator("#rates-fold [role=status]", has_text="2 entries to fix").wait_for()
    assert set(marked.evaluate_all("all => all.map(one => one.dataset.rate)")) == {"solutions.gold", "breaks.50"}
    for label, text in (("Time", "8"), ("Plating factor", "60"), ("Price of the metal", "75"), ("Cost of the", "4.10")):
        one = check.get_by_label(label)
        assert one.get_attribute("inputmode") == "decimal", label
        one.fill(text)
    with page.expect_response("**/api/check"):
        page.get_by_role("button", name="Check them").tap()
    wanted = {"time": "8 min", "factor": "60 A.h/in3", "price": "75 EUR/g", "metal_line": "4.10 EUR"}
    assert sent[-1]["claims"] == wanted
    assert [one for one in said if "422" not in one] == []


@pytest.mark.parametrize("photo_set", ["odd_and_broken_files"], indirect=True)
def test_a_heic_photo_is_shown_by_the_server(browser: Any, here: str, said: list[str], photo_set: Path) -> None:
    page = opened(browser, here, said)
    drop(page, photo_set / "arrow.heic")
    page.wait_for_function("() => document.querySelector('#photo').naturalWidth > 100")
    # It shows no scale sheet, so it is refused, with what to do.
    page.locator("#refusal", has_text="Do this:").wait_for()


def test_what_the_browser_cannot_show_comes_from_the_server(
    browser: Any, here: str, said: list[str], tmp_path: Path
) -> None:
    """A TIFF stands for HEIC: no Chromium shows either, and both are read by the server."""
    from PIL import Image

    tiff = tmp_path / "badge.tiff"
    with Image.open(PHOTO) as image:
        image.save(tiff, exif=image.getexif())
    page = opened(browser, here, said)
    asked: list[str] = []
    page.on("request", lambda one: asked.append(one.url))
    held: list[Any] = []
    page.route("**/api/measure*", lambda route: route.continue_() if held else held.append(route))
    drop(page, tiff)
    page.locator("#placeholder", has_text="The picture of badge.tiff follows.").wait_for()
    while not held:
        page.wait_for_timeout(50)
    held[0].continue_()
    assert area(page).endswith("cm²")
    page.wait_for_function("() => document.querySelector('#photo').naturalWidth > 1000")
    assert page.locator("#photo").get_attribute("src").startswith("blob:")
    assert page.locator("#placeholder").is_hidden()
    set_part(page)
    assert not any("/api/preview" in url for url in asked), "the server decodes it once"
    first, *others = [url for url in asked if "/api/measure?" in url]
    assert "preview_px=" in first
    assert others
    assert not any("preview_px" in url for url in others), "the picture is here already"
