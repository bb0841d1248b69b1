"""What the page says where it is refused: readings that do not get in, a device without a pass, nothing at a path."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from bench_page import Server, opened, plain
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.web.entry import NO_PASS_PAGE, entry_page

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]
STAMP = "2026-03-02T09:30:00+00:00"


def test_a_reading_of_a_job_that_is_gone_is_shown_copied_and_thrown_away_by_a_person_only(
    browser: Any, server: Server, said: list[str]
) -> None:
    result = CliRunner().invoke(group, ["job", "new", "tag", "--number", "HERE", "--journal", str(server.journal)])
    assert result.exit_code == 0, result.output
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, permissions=["clipboard-read", "clipboard-write"]
    )
    page = opened(browser, server.url, said, context=context)
    bodies = ("GONE", {"current": "0.8 A"}), ("GONE", {"stop": True}), ("HERE", {"current": "2 A"})
    waiting = [
        {"number": number, "key": f"{order:032x}", "body": {"run": 3, "at": STAMP, **body}}
        for order, (number, body) in enumerate(bodies)
    ]
    page.evaluate("list => localStorage.setItem('areakit.outbox', JSON.stringify(list))", waiting)
    page.reload()
    stuck = page.locator("#stuck .said")
    stuck.nth(1).wait_for()
    first, second = (plain(one.inner_text()) for one in stuck.all())
    assert first.startswith("2 readings of job GONE cannot be kept yet: the record of this server has no job GONE.")
    assert second.startswith("1 reading of job HERE cannot be kept: Job HERE has no entry 3."), "it is not lost unseen"
    stuck.first.get_by_role("button", name="Copy").click()
    stuck.first.get_by_role("button", name="Copied").wait_for()
    copy = page.evaluate("navigator.clipboard.readText()")
    assert copy == f"job GONE, run 3, {STAMP}: 0.8 A\njob GONE, run 3, {STAMP}: switched off\n"
    with page.expect_download() as saved:
        stuck.first.get_by_role("button", name="Save as a file").click()
    assert Path(saved.value.path()).read_text(encoding="utf-8") == copy
    other = opened(browser, server.url, said, context=context)
    other.locator("#stuck .said").nth(1).wait_for()
    page.once("dialog", lambda ask: ask.dismiss())
    stuck.first.get_by_role("button", name="Discard").click()
    assert stuck.count() == 2, "nothing goes unless it is meant"
    page.on("dialog", lambda ask: ask.accept())
    for _ in range(2):
        stuck.first.get_by_role("button", name="Discard").click()
    page.locator("#stuck").wait_for(state="hidden")
    assert page.evaluate("localStorage.getItem('areakit.outbox')") == "[]"
    other.locator("#stuck").wait_for(state="hidden")  # two tabs hold one list
    assert [one for one in said if "422" not in one] == []


LOOK = """() => {
  const [red, green, blue] = getComputedStyle(document.documentElement).backgroundColor.match(/\\d+/g);
  const small = [...document.querySelectorAll('button, a')].filter(one => one.getBoundingClientRect().height < 44);
  return [Number(red) + Number(green) + Number(blue) < 200, small.length, document.documentElement.scrollWidth];
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_for_a_device_without_a_pass_and_refusals_follow_the_light_of_the_device(
    browser: Any, here: str, scheme: str
) -> None:
    page = browser.new_context(viewport={"width": 390, "height": 844}, color_scheme=scheme).new_page()
    texts = [entry_page("k"), entry_page(None), NO_PASS_PAGE]
    page.route(
        "**/enter?*",
        lambda route: route.fulfill(body=texts[int(route.request.url[-1])], content_type="text/html"),
    )
    for number, words in enumerate(("in?", "never fitted", "no pass yet", "nothing at")):
        page.goto(f"{here}enter?page={number}" if number < len(texts) else f"{here}no-such-page")
        assert words in page.locator("h1").inner_text()
        assert page.evaluate(LOOK) == [scheme == "dark", 0, 390]
