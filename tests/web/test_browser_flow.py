"""The whole way from a photo to a signed record, by mouse, by touch and by keyboard, at three sizes."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from bench_page import PHOTO, Keys, Mouse, Server, Touch, area, opened, plain, unfold
from click.testing import CliRunner

from areakit.cli.main import group

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]

SIZES = {"phone": (360, 740), "tablet": (820, 1180), "desk": (1400, 900)}
WAYS = [("mouse", Mouse, "desk"), ("touch", Touch, "phone"), ("keyboard", Keys, "tablet")]
ALL = [(name, hands, size) for name, hands, _ in WAYS for size in SIZES]


def named(case: tuple[str, type, str]) -> str:
    return f"{case[0]}-{case[2]}"


def when(case: tuple[str, type, str]) -> list[pytest.MarkDecorator]:
    """The phone by touch in every run, each way at one size in thorough ones, all ways at all sizes in slow ones."""
    return [] if named(case) == "touch-phone" else [pytest.mark.thorough if case in WAYS else pytest.mark.slow]


CASES = [pytest.param(*case, id=named(case), marks=when(case)) for case in ALL]


@pytest.fixture(scope="module")
def printed() -> str:
    """What the command line says of the same photo."""
    command = CliRunner().invoke(group, ["measure", str(PHOTO), "--thickness", "1.2 mm", "--faces", "all"])
    return plain(command.stdout)


@pytest.mark.parametrize(("way", "hands", "size"), CASES)
def test_from_photo_to_signed_record(
    browser: Any, server: Server, said: list[str], tmp_path: Path, printed: str, way: str, hands: type[Mouse], size: str
) -> None:
    width, height = SIZES[size]
    light = "dark" if size == "tablet" else "light"
    page = opened(browser, server.url, said, (width, height), has_touch=way == "touch", color_scheme=light)
    hand = hands(page)

    with page.expect_file_chooser() as chosen:
        hand.press(page.get_by_role("button", name="Take a photo" if way == "touch" else "Choose photos"))
    chosen.value.set_files(str(PHOTO))
    first = area(page)
    page.screenshot(path=str(tmp_path / "1-found.png"))

    part = page.locator("#over .part")
    hand.choose_part(part)
    page.locator("#over .part.chosen").wait_for()
    hand.write(page.locator("#thickness"), "1.2")
    page.locator("#thickness").blur()
    all_over = page.locator("input[name=faces][value=all]")
    page.wait_for_function("() => !document.querySelector('input[name=faces][value=all]').disabled")
    if way == "keyboard":
        hand.reach(page.locator("input[name=faces]:checked"))  # type: ignore[attr-defined]
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowRight")
    else:
        hand.press(page.locator("label", has=all_over))
    page.locator("#area:has(.figure:not(.stale))", has_text="all over").wait_for()
    assert area(page) in printed
    assert area(page) != first

    measured = area(page)
    hand.press(page.locator("#mend-start"))
    hand.drag(page.locator("#over .handle[data-r='0']").nth(6), (-40, 0))
    page.locator("#area", has_text="corrected by hand").wait_for()
    assert area(page) != measured
    for _ in range(4 if way == "keyboard" else 1):
        hand.press(page.locator("[data-mend=undo]"))
    page.locator("#area").filter(has_not_text="corrected by hand").wait_for()
    assert area(page) == measured

    hand.press(page.locator("[data-mend=significant]"))
    box = page.locator("#stage").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    hand.set_points([(x - 70, y - 20), (x - 70, y + 70), (x + 70, y + 70)])
    page.screenshot(path=str(tmp_path / "2-region.png"))
    hand.press(page.get_by_role("button", name="Close the line"))
    page.locator("#area", has_text="significant").wait_for()
    hand.press(page.locator("[data-mend=done]"))
    assert area(page) == measured, "a significant surface takes nothing away"

    hand.write(page.locator("[data-metal=nickel]"), "3")
    hand.write(page.locator("[data-metal=gold]"), "0.5")
    hand.write(page.get_by_label("Footprint, across"), "20 x 15")
    hand.press(page.locator("#plan-go"))
    page.locator("#plan-out .layer").nth(1).wait_for()
    assert "cyanide" in page.locator("#plan-out .danger h3").inner_text(), "hazards are named without opening a fold"
    assert "Cyanide" in page.locator("#plan-out .danger").text_content()
    told = page.locator("#plan-out").text_content()
    assert "solution used up" in told
    assert "solution to have ready" in told
    hand.press(page.locator("summary", has_text="Lanes of the brush"))
    brush = page.locator(".strokes g")
    before = brush.get_attribute("transform")
    page.wait_for_function("was => document.querySelector('.strokes g').getAttribute('transform') !== was", arg=before)

    unfold(page, "Price", hand.press)
    hand.press(page.get_by_role("button", name="Invented, to try out"))
    price = page.get_by_label("Price of gold")
    page.locator("label", has=price).locator(".unit", has_text="EUR/g").wait_for()
    hand.write(price, "75,30 ± 2 %")
    assert price.get_attribute("inputmode") == "decimal"
    day = page.get_by_label("Day of the prices")
    assert day.input_value() == page.evaluate("new Date().toLocaleDateString('sv')"), "the day of the prices is today"
    day.fill("2026-01-31")
    hand.press(page.get_by_role("button", name="Price it"))
    page.locator("#price-out .big").wait_for()
    assert "at 75,30 EUR/g ± 2 % of 2026-01-31" in plain(page.locator("#price-out").inner_text())
    unfold(page, "Check somebody's figures", hand.press)
    hand.write(page.get_by_label("Area of one piece"), "46")
    hand.press(page.get_by_role("button", name="Check them"))
    page.locator("#check-out .big").wait_for()
    for label, claim in (("Current", "0.4"), ("Current density", "10"), ("Brush footprint", "4")):
        hand.write(page.locator("#check-out").locator("..").get_by_label(label, exact=False).first, claim)
    hand.press(page.get_by_role("button", name="Check them"))
    page.locator("#check-out", has_text="current density").wait_for()

    hand.write(page.locator("#job-part"), f"badge by {way}")
    hand.press(page.locator("#job-open"))
    page.locator("#begin").wait_for()
    number = page.locator(".job h3").inner_text().removeprefix("Job ")
    hand.press(page.locator("#begin"))
    page.locator("#panel[open]").wait_for()
    hand.write(page.locator("#current"), "300")
    hand.press(page.locator("#set-current"))
    page.locator("#charge-to-go", has_text="at 300 A").wait_for()
    page.screenshot(path=str(tmp_path / "3-run.png"))
    page.locator("#panel[data-reached=yes]").wait_for()
    page.wait_for_function("() => window.tones >= 3")
    page.screenshot(path=str(tmp_path / "4-reached.png"))
    page.wait_for_timeout(
        2_100
    )  # at 300 A a reading's time, kept to the second, is worth 5 A·min: pass the target by more
    hand.press(page.locator("#current-off"))
    page.locator("#panel[data-live=no]").wait_for()
    tall = page.locator("#to-go").bounding_box()["height"]
    assert tall >= 100, "the countdown must be read at two metres"
    assert re.match(r"\+?[\d.:]+ ?(min|h|A·min over)", plain(page.locator(".readout .large").inner_text()))
    assert "does not switch the supply" in page.locator(".panel-foot").inner_text()
    hand.press(page.locator("#panel-close"))

    hand.press(page.locator("summary", has_text="Weigh"))
    hand.write(page.get_by_label("Mass of all pieces"), "41.2 ± 0.002")
    keep = page.locator("details[open]", has_text="Mass of all pieces").get_by_role("button", name="Keep")
    hand.press(keep)
    page.locator(".entries", has_text="41.2").wait_for()
    hand.press(page.locator("summary", has_text="Sign off"))
    hand.write(page.get_by_label("Role"), "inspector")
    hand.press(page.get_by_role("button", name="Sign as it stands above"))
    page.locator(".said", has_text="not ready for release").wait_for()
    assert "409" in said.pop(), "the console tells of the refusal, and of nothing else"
    hand.write(page.locator("details[open]", has_text="Statement").get_by_label("Why go on all the same"), "a trial")
    hand.press(page.get_by_role("button", name="Sign as it stands above"))
    page.locator(".job", has_text="signed").wait_for()
    with page.expect_download() as written:
        hand.press(page.get_by_role("link", name="PDF, A4"))
    assert written.value.suggested_filename == f"traveller-{number}.pdf"
    assert written.value.path().read_bytes().startswith(b"%PDF-")
    with page.expect_download() as certified:
        hand.press(page.get_by_role("button", name="Certificate of conformance"))
    assert certified.value.suggested_filename == f"certificate-{number}.pdf"
    page.locator(".entries", has_text="certificate").wait_for()
    page.screenshot(path=str(tmp_path / "5-all.png"), full_page=True)

    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate("scrollTo(0, 10000)")
    assert page.locator("#area .figure").bounding_box()["y"] >= 0, "the area must stay in sight"
    assert page.locator("#area .figure").bounding_box()["height"] >= 30
    assert said == []
    the_journal_holds(server, number, area=measured, part=f"badge by {way}")


def the_journal_holds(server: Server, number: str, *, area: str, part: str) -> None:
    shown = CliRunner().invoke(group, ["job", "show", number, "--json", "--journal", str(server.journal)])
    job = json.loads(shown.stdout)
    assert job["order"]["part"] == part
    assert job["state"] == "signed"
    value, spread = (float(text) for text in re.findall(r"[\d.]+", area)[:2])
    assert job["area"]["value"] / 100 == pytest.approx(value, abs=0.05)
    assert job["area"]["expanded_uncertainty"] / 100 == pytest.approx(spread, abs=0.05)
    kinds = [entry["kind"] for entry in job["entries"]]
    assert kinds == [
        "opened", "photographed", "measured", "planned", "quoted", "step", "reading", "reading", "weighed", "signed",
        "certified",
    ]  # fmt: skip
    (run,) = job["runs"]
    readings = [entry["doc"] for entry in job["entries"] if entry["kind"] == "reading"]
    assert [one["stop"] for one in readings] == [False, True]
    assert run["charge"]["value"] == pytest.approx(300 * run["live_seconds"] / 60)
    assert run["charge"]["value"] >= 0.9 * run["target"]["value"]
