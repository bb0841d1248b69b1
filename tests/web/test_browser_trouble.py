"""What goes wrong at a bench: a wrong file, a huge file, a refused photo, a server that goes and comes, two tabs."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from bench_page import DEMO, PHOTO, Server, area, drop, open_job, open_typing, opened, plain, plan, set_part, unfold
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.errors import UnitError
from areakit.units import parse_with_tolerance
from areakit.web.entry import code_svg

pytestmark = [pytest.mark.browser, pytest.mark.thorough, pytest.mark.timeout(240)]


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Server]:
    """A server that the test may kill."""
    running = Server(tmp_path / "own.sqlite").start()
    yield running
    running.stop()


def refusal(page: Any) -> str:
    page.locator("#refusal").wait_for()
    return plain(page.locator("#refusal").inner_text())


def test_a_wrong_and_a_huge_file_are_refused_and_the_next_photo_is_measured(
    browser: Any, here: str, said: list[str], tmp_path: Path
) -> None:
    page = opened(browser, here, said)
    words, huge = tmp_path / "letter.jpg", tmp_path / "huge.jpg"
    words.write_text("Dear customer,\n", encoding="utf-8")
    with huge.open("wb") as file:
        file.truncate(61_000_000)
    drop(page, words)
    assert "Do this:" in refusal(page)
    assert "letter.jpg" in refusal(page) or "photo" in refusal(page)
    drop(page, huge)
    page.locator("#refusal", has_text="61 MB").wait_for()
    assert "60 MB are taken" in refusal(page)
    drop(page, PHOTO)
    assert area(page).endswith("cm²")
    page.locator("#queue button").first.click()
    assert page.locator("#photo").get_attribute("src") is None, "no other photo stands under its refusal"
    assert "no number" in page.locator("#area").inner_text()


def test_a_refusal_shows_on_the_picture(browser: Any, here: str, said: list[str], tmp_path: Path) -> None:
    page = opened(browser, here, said, (360, 740), has_touch=True)
    drop(page, DEMO / "refused-crossing.jpg")
    words = refusal(page)
    page.screenshot(path=str(tmp_path / "refused.png"))
    assert "crosses the edge of the field" in words
    assert "Move every part fully inside" in words
    assert page.locator("#over .crossing").count() == 1
    assert page.locator("#plan-go").is_hidden()


def test_a_server_that_is_gone_for_a_while_loses_nothing(
    browser: Any, own: Server, said: list[str], tmp_path: Path
) -> None:
    page = opened(browser, own.url, said)
    drop(page, PHOTO)
    set_part(page)
    before = area(page)
    plan(page)
    number = open_job(page)
    page.locator("#begin").click()
    page.locator("#panel[open]").wait_for()
    page.locator("#current").fill("6")
    page.locator("#set-current").click()
    page.locator("#charge-to-go", has_text="at 6 A").wait_for()
    page.locator(".entries", has_text="6 A at").wait_for(state="attached")
    own.kill()
    page.locator("#current-off").click()
    page.locator(".figures .waiting", has_text="1 reading not kept yet").wait_for()
    assert "waits on this device" in page.locator("#panel").inner_text()
    page.screenshot(path=str(tmp_path / "gone.png"))
    page.locator("#panel-close").click()
    assert "What was kept is safe" in page.locator("#gone").inner_text()
    heads = [page.locator(f"[data-step={name}] .head") for name in ("Part", "Plan")]
    assert [one.get_attribute("aria-expanded") for one in heads] == ["false", "false"], "a job folds what is done"
    drop(page, DEMO / "white-field.jpg")
    page.locator("#queue .state", has_text="server gone").wait_for()
    assert heads[0].get_attribute("aria-expanded") == "true", "of another photo the thickness is asked"
    assert "goes on by itself" in refusal(page)
    page.wait_for_timeout(1500)
    own.start()
    page.locator("#gone").wait_for(state="hidden")
    page.locator("#queue .state", has_text="±").nth(1).wait_for()
    page.locator("#queue button").first.click()
    assert area(page) == before
    page.locator(".entries", has_text="current cut").wait_for()
    job = shown(own, number)
    readings = [entry for entry in job["entries"] if entry["kind"] == "reading"]
    assert [one["doc"]["stop"] for one in readings] == [False, True]
    late = readings[1]["at"], readings[1]["doc"]["at"]
    assert late[0] > late[1], "the reading keeps the time at which it was read"
    assert page.evaluate("localStorage.getItem('areakit.outbox')") == "[]"


def charge_to_go(page: Any) -> float:
    return float(page.locator("#charge-to-go").inner_text().split()[0])


def shown(server: Server, number: str) -> dict[str, Any]:
    result = CliRunner().invoke(group, ["job", "show", number, "--json", "--journal", str(server.journal)])
    found: dict[str, Any] = json.loads(result.stdout)
    return found


def test_two_tabs_write_to_one_job_and_see_each_other(browser: Any, server: Server, said: list[str]) -> None:
    one = opened(browser, server.url, said)
    drop(one, PHOTO)
    area(one)
    plan(one)
    number = open_job(one, "two tabs")
    unfold(one, "Plan")
    open_typing(one)
    other = one.locator("[data-step=Run] .last-good", has_text="not the one in view above")
    for microns, state in (("4", "visible"), ("3", "detached")):
        one.locator("[data-metal=nickel]").fill(microns)
        one.locator("[data-metal=nickel]").press("Tab")
        other.wait_for(state=state)
    other = opened(browser, server.url, said, context=one.context)
    other.locator(".job h3", has_text=number).wait_for()
    for page, words in ((one, "from the first"), (other, "from the second")):
        page.locator("summary", has_text="Remark").click()
        page.get_by_label("Words").fill(words)
        page.locator("details[open]", has_text="It is a").get_by_role("button", name="Keep").click()
    for page in (one, other):
        page.locator(".entries", has_text="from the first").filter(has_text="from the second").wait_for()
    texts = [entry["doc"]["text"] for entry in shown(server, number)["entries"] if entry["kind"] == "remarked"]
    assert sorted(texts) == ["from the first", "from the second"]
    other.locator("#begin").click()
    other.locator("#panel[open]").wait_for()
    other.locator("#current").fill("1.5")
    other.locator("#set-current").click()
    one.locator(".runs li", has_text="Plate nickel").get_by_role("button", name="Panel").click()
    one.locator("#charge-to-go", has_text="at 1.5 A").wait_for()
    first, second = (charge_to_go(page) for page in (one, other))
    assert abs(first - second) < 0.1
    phone = opened(browser, server.url, said, (390, 844), has_touch=True)
    unfold(phone, "Run")
    phone.locator("#job-list").select_option(number)
    phone.locator(".runs", has_text="current on").wait_for()
    other.locator("#current").fill("3")
    other.locator("#set-current").click()
    phone.locator(".runs li").get_by_role("button", name="Panel").tap()
    phone.locator("#charge-to-go", has_text="at 3 A").wait_for()
    other.locator("#current-off").click()
    phone.locator("#panel[data-live=no]").wait_for()  # nobody pressed anything on the phone
    assert phone.locator("#current-off").is_disabled()
    assert said == []


def test_a_page_loaded_anew_goes_on_with_its_job(browser: Any, server: Server, said: list[str]) -> None:
    page = opened(browser, server.url, said)
    drop(page, PHOTO)
    area(page)
    plan(page)
    number = open_job(page, "reloaded")
    page.reload()
    page.locator(".job h3", has_text=number).wait_for()
    page.locator("#begin").click()
    page.locator("#panel[open]").wait_for()
    assert charge_to_go(page) > 1
    page.locator("#current").fill("60")
    page.locator("#set-current").click()
    page.locator("#charge-to-go", has_text="at 60 A").wait_for()
    page.locator("#panel-close").click()
    page.reload()
    page.locator(".runs", has_text="current on").wait_for()
    page.locator("#panel[open][data-reached=yes]").wait_for()  # it opens by itself at the target
    page.locator("#current-off").click()
    assert said == []


def test_a_reading_refused_for_anything_but_itself_waits_and_gets_in_later(
    browser: Any, server: Server, said: list[str]
) -> None:
    page = opened(browser, server.url, said)
    drop(page, PHOTO)
    area(page)
    plan(page)
    number = open_job(page, "no pass for a while")
    page.locator("#begin").click()
    page.locator("#panel[open]").wait_for()
    refusal = {"code": "NO_PASS", "message": "This device has no pass.", "remedy": "Open the one-time link."}
    page.route("**/entries/reading*", lambda route: route.fulfill(status=401, json=refusal))
    page.locator("#current").fill("800 mA")
    page.locator("#set-current").click()
    page.locator("#panel .said", has_text="no pass").wait_for()
    page.locator("#charge-to-go", has_text="at 0.8 A").wait_for()  # the same unit on both sides
    assert json.loads(page.evaluate("localStorage.getItem('areakit.outbox')"))[0]["body"]["current"] == "800 mA"
    page.unroute("**/entries/reading*")
    refusals = ((408, "TIME"), (413, "LARGE"), (422, "NO_JOB"), (422, "FILE_ERROR"), (500, "SERVER"))
    answers = {f"no-{code}": (status, {**refusal, "code": code}) for status, code in refusals}
    answers["wrong"] = 422, {**refusal, "code": "UNIT_ERROR"}

    def refuse(route: Any) -> None:
        job = route.request.url.split("/")[-3]
        status, body = answers.get(job, (401, refusal))
        route.fulfill(status=status, json=body)

    page.route("**/entries/reading*", refuse)
    kept = page.evaluate(
        """async jobs => {
          const outbox = await import('/static/outbox.js');
          for (const job of jobs) await outbox.put(job, { run: 1, current: '1 A' }).catch(() => {});
          await outbox.pump().catch(() => {});
          const waiting = JSON.parse(localStorage.getItem('areakit.outbox')).map(({ number }) => number);
          localStorage.setItem('areakit.outbox', JSON.stringify(
            JSON.parse(localStorage.getItem('areakit.outbox')).filter((one) => !jobs.includes(one.number))));
          return waiting;
        }""",
        list(answers),
    )
    assert kept == [number, *(job for job in answers if job != "wrong")], "those of other jobs go past one that waits"
    page.unroute("**/entries/reading*")
    page.reload()
    page.locator(".entries", has_text="0.8 A at").wait_for(state="attached")
    # the entry may show before its answer
    page.wait_for_function("() => localStorage.getItem('areakit.outbox') === '[]'")
    readings = [entry["doc"]["current"] for entry in shown(server, number)["entries"] if entry["kind"] == "reading"]
    assert readings == [0.8]
    page.locator("#arm", has_text="will not ring").wait_for()  # after a reload no browser lets a page ring unasked
    page.locator("#arm").click()
    page.locator("#arm").wait_for(state="hidden")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_code_for_the_next_device_can_be_scanned(browser: Any, here: str, said: list[str], scheme: str) -> None:
    """Read by OpenCV, which knows nothing of the library that drew it."""
    link = "https://192.0.2.2:8788/enter?key=a-key_of-the-test"
    page = opened(browser, here, said, color_scheme=scheme)
    about = {**page.evaluate("fetch('/api/about').then(answer => answer.json())"), "lan": True}
    page.route("**/api/about", lambda route: route.fulfill(json=about))
    page.route("**/api/invite", lambda route: route.fulfill(json={"link": link, "svg": code_svg(link)}))
    page.reload()
    page.locator("#phone").click()
    page.wait_for_function("() => document.querySelector('dialog img')?.naturalWidth > 100")
    picture = page.get_by_alt_text("Code with the one-time link").screenshot()
    pixels = cv2.imdecode(np.frombuffer(picture, np.uint8), cv2.IMREAD_GRAYSCALE)
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(cv2.resize(pixels, None, fx=2, fy=2))
    assert text == link
    told = page.locator("dialog[open]").inner_text().replace("\n", "")
    assert link in told
    assert "made its certificate itself" in told


def test_an_unlikely_current_is_asked_about_and_the_planned_one_is_one_press(
    browser: Any, server: Server, said: list[str], tmp_path: Path
) -> None:
    page = opened(browser, server.url, said)
    drop(page, PHOTO)
    area(page)
    page.get_by_label("Footprint, across").fill("20 x 15")
    page.locator("fieldset", has_text="nickel").get_by_label("Current density").fill("30")
    plan(page)
    number = open_job(page, "slips")
    page.locator("#begin").click()
    page.locator("#panel[open]").wait_for()
    layer = next(one for one in page.evaluate(PLAN_OF, number)["layers"] if one["metal"] == "nickel")
    mean, peak = (layer["brush"][name]["value"] for name in ("mean_current", "peak_current"))
    page.set_viewport_size({"width": 844, "height": 390})  # a phone on its side
    for amps in (4.1 * peak, mean / 4.1):
        page.locator("#current").fill(f"{amps:.3f}")
        page.locator("#set-current").click()
        page.locator("#panel [role=alert]", has_text="Is it meant?").wait_for()
        question = page.locator("#meant").bounding_box()
        assert question["y"] + question["height"] <= 390, "the question is in view"
        page.get_by_role("button", name="Type it again").click()
    page.screenshot(path=str(tmp_path / "panel.png"))
    page.set_viewport_size({"width": 1400, "height": 900})
    assert page.evaluate("localStorage.getItem('areakit.outbox')") in (None, "[]")
    for amps in (3.9 * peak, mean / 3.9):
        page.locator("#current").fill(f"{amps:.3f}")
        page.locator("#set-current").click()
        page.locator("#charge-to-go", has_text=f"at {amps:.3f}".rstrip("0")).wait_for()
    hours = page.locator("#to-go").inner_text()
    assert re.fullmatch(r"\d+h[0-5]\d", hours), f"{hours}: from afar hours are not taken for minutes"
    assert page.locator(".large .of").inner_text().strip() == "hours and minutes"
    page.locator("#current").fill("60")
    page.locator("#set-current").click()
    page.locator("#meant").click()
    page.locator("#charge-to-go", has_text="at 60 A").wait_for()
    page.locator("#panel[data-over=yes]").wait_for()
    assert "over, cut now" in page.locator(".readout").inner_text()
    assert "past the target" in page.locator(".readout .label").text_content()
    filled = "one => getComputedStyle(one).backgroundColor !== 'rgba(0, 0, 0, 0)'"
    buttons = [page.locator(f"#{name}") for name in ("current-off", "set-current", "planned-current")]
    assert [one.evaluate(filled) for one in buttons] == [True, False, False], "one button is prominent at the target"
    assert not re.search("to go", page.locator(".readout").inner_text()), "nothing is left to be counted"
    page.set_viewport_size({"width": 390, "height": 844})
    for _ in range(4):  # the figure grows by a digit now and then
        digits = page.locator("#to-go").bounding_box()
        assert digits["x"] >= 0
        assert digits["x"] + digits["width"] <= 390
        page.wait_for_timeout(700)
    page.locator("#planned-current", has_text="as planned").click()
    page.locator("#charge-to-go", has_text=f"at {float(f'{mean:.2g}'):g} A").wait_for()
    page.locator("#current-off").click()


WAKE_LOCKS = """
  window.locks = { asked: 0, held: new Set() };
  class Lock extends EventTarget {
    async release() { locks.held.delete(this); this.dispatchEvent(new Event("release")); }
  }
  Object.defineProperty(navigator, "wakeLock", { value: { request: async kind => {
    if (kind !== "screen" || document.hidden) throw new DOMException("not now", "NotAllowedError");
    locks.asked += 1;
    await new Promise(done => setTimeout(done, locks.slow || 0));
    const lock = new Lock();
    locks.held.add(lock);
    return lock;
  } } });
  let hidden = false;
  Object.defineProperty(document, "hidden", { get: () => hidden });
  window.hide = on => {
    hidden = on;
    if (on) for (const one of [...locks.held]) one.release();
    document.dispatchEvent(new Event("visibilitychange"));
  };
"""
"""A screen lock as browsers have it (W3C Screen Wake Lock): a page that is hidden loses it, and has to ask again."""


def test_the_screen_stays_on_during_a_run(browser: Any, server: Server, said: list[str]) -> None:
    context = browser.new_context(viewport={"width": 1400, "height": 900})
    context.add_init_script(WAKE_LOCKS)
    page = opened(browser, server.url, said, context=context)

    def held(count: int, *, asked: int) -> None:
        page.wait_for_function("count => locks.held.size === count", arg=count)
        assert page.evaluate("locks.asked") == asked

    drop(page, PHOTO)
    area(page)
    plan(page)
    open_job(page, "awake")
    held(0, asked=0)
    page.locator("#begin").click()
    page.locator("#panel[open]").wait_for()
    held(1, asked=1)
    page.locator("#current").fill("0.1")
    page.locator("#set-current").click()
    page.locator("#panel[data-live=yes]").wait_for()
    page.evaluate("hide(true)")
    held(0, asked=1)
    page.wait_for_timeout(2500)
    held(0, asked=1)
    page.evaluate("hide(false)")
    held(1, asked=2)
    page.locator("#panel-close").click()
    page.wait_for_timeout(2500)
    held(1, asked=2)
    page.get_by_role("button", name="Panel", exact=True).first.click()
    page.locator("#current-off").click()
    page.locator("#panel[data-live=no]").wait_for()
    held(1, asked=2)
    page.locator("#panel-close").click()
    held(0, asked=2)
    page.evaluate("locks.slow = 1500")
    page.get_by_role("button", name="Panel", exact=True).first.click()
    page.locator("#panel[open]").wait_for()
    page.locator("#panel-close").click()
    page.wait_for_timeout(2500)
    held(0, asked=3)


PLAN_OF = """async number => {
  const job = await (await fetch(`/api/jobs/${number}`)).json();
  return job.entries.filter((one) => one.kind === 'planned').at(-1).doc.plan;
}"""


PASSES = [
    ((555.3, 270.0), 1.0, "about 560 of 560 passes to go"),
    ((555.3, 270.0), 0.999, "about 560 of 560 passes to go"),  # ten are not done yet
    ((555.3, 270.0), 0.982, "about 550 of 560 passes to go"),
    ((564.9, 270.0), 1.0, "about 560 of 560 passes to go"),
    ((555.3, 270.0), 0.1, "about 56 of 560 passes to go"),
    ((555.3, 270.0), 0.0001, "about 1 of 560 passes to go"),
    ((122.2, 6.2), 1.0, "about 123 of 123 passes to go"),
    ((122.2, 6.0), 0.9, "111 of 123 passes to go"),
    ((122.2, 0.0), 1.0, "123 of 123 passes to go"),
    ((0.4, 0.0), 0.5, "1 of 1 pass to go"),
]
"""Planned passes with their ±, the share of the charge that is left, and what is said of it."""


def test_passes_to_go_are_never_more_than_planned_and_no_finer_than_known(
    browser: Any, here: str, said: list[str]
) -> None:
    page = opened(browser, here, said)
    script = """async all => {
      const { passesLeft } = await import('/static/runpanel.js');
      return all.map(([[value, expanded_uncertainty], share]) => {
        const shown = document.createElement('p');
        shown.append(...passesLeft({ value, expanded_uncertainty }, share));
        return shown.textContent;
      });
    }"""
    assert page.evaluate(script, [one[:2] for one in PASSES]) == [words for _, _, words in PASSES]


def test_the_page_reads_a_current_as_the_server_does(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    texts = [
        "800 mA",
        "0.8 A",
        "0,8 amps",
        ".5 A",
        "1.2 ± 0.1 A",
        "1.2 A ± 0.1",
        "1,200 A",
        "3 V",
        "8",
        "two A",
        "",
        "7 MA",
    ]
    script = """async texts => {
      const { number } = await import('/static/units.js');
      return texts.map(one => { const found = number(one, 'current'); return Number.isNaN(found) ? null : found; });
    }"""
    assert page.evaluate(script, texts) == [_parsed(text) for text in texts]


def _parsed(text: str) -> float | None:
    try:
        return parse_with_tolerance(text, "current")[0]
    except UnitError:
        return None
