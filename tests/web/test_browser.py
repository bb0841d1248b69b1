"""The page in a browser: photo in, number out, the same as on the command line; at three sizes."""

from __future__ import annotations

import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]

ROOT = Path(__file__).resolve().parents[2]
PHOTO = ROOT / "demo_images" / "pierced-badge.jpg"
CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--no-first-run",
]  # fmt: skip
SIZES = [(360, 740), (820, 1180), (1400, 900)]

if not CHROMIUM.exists():
    pytest.skip("Chromium is not at /usr/bin/chromium (apt-get install chromium)", allow_module_level=True)
playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")


@pytest.fixture(scope="module")
def here() -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "areakit", "serve", "--port", str(port)], cwd=ROOT, stdout=subprocess.DEVNULL
    )
    try:
        _wait_for(port)
        yield f"http://127.0.0.1:{port}/"
    finally:
        server.terminate()
        server.wait(10)


def _wait_for(port: int) -> None:
    for _ in range(150):
        try:
            socket.create_connection(("127.0.0.1", port), 0.2).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError("the server did not start")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield running
        running.close()


@pytest.fixture
def said() -> list[str]:
    return []


def opened(browser: Any, here: str, said: list[str], size: tuple[int, int] = (1400, 900), **options: Any) -> Any:
    page = browser.new_context(viewport={"width": size[0], "height": size[1]}, **options).new_page()
    page.set_default_timeout(30_000)
    page.on("pageerror", lambda error: said.append(f"error: {error}"))
    page.on("console", lambda message: said.append(message.text) if message.type in {"error", "warning"} else None)
    page.on("request", lambda asked: said.append(f"left: {asked.url}") if not _inside(asked.url, here) else None)
    page.goto(here)
    return page


def _inside(url: str, here: str) -> bool:
    return url.startswith((here, f"blob:{here}", "data:"))


def drop(page: Any, path: Path) -> None:
    page.locator("#files").set_input_files(str(path))


def area(page: Any) -> str:
    page.locator("#area .figure:not(.stale):not(.quiet)").wait_for()
    return re.sub(r"\s+", " ", page.locator("#area .figure").inner_text()).strip()


def set_part(page: Any) -> None:
    page.locator("#thickness").fill("1.2 mm")
    page.locator("#thickness").press("Tab")
    page.locator("input[name=faces][value=all]").check(force=True)
    page.locator("#area:has(.figure:not(.stale))", has_text="all over").wait_for()


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_from_photo_to_plan(browser: Any, here: str, said: list[str], tmp_path: Path, size: tuple[int, int]) -> None:
    page = opened(
        browser, here, said, size, has_touch=size[0] < 900, color_scheme="dark" if size[0] == 820 else "light"
    )
    drop(page, PHOTO)
    set_part(page)
    from areakit.cli.main import group

    command = CliRunner().invoke(group, ["measure", str(PHOTO), "--thickness", "1.2 mm", "--faces", "all"])
    assert area(page) in re.sub(r"\s+", " ", command.stdout)
    page.locator("[data-metal=nickel]").fill("3 um")
    page.locator("[data-metal=gold]").fill("0.5 um")
    page.locator("#plan-go").click()
    page.locator("#plan-out .layer").nth(1).wait_for()
    assert "Cyanide" in page.locator("#plan-out .danger").inner_text()
    page.screenshot(path=str(tmp_path / f"bench-{size[0]}.png"), full_page=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    assert page.locator("#area .figure").bounding_box()["height"] >= 30
    page.evaluate("scrollTo(0, 10000)")
    assert page.locator("#area .figure").bounding_box()["y"] >= 0, "the area must stay in sight"
    assert said == []


def test_a_refusal_shows_on_the_picture(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    drop(page, ROOT / "demo_images" / "refused-crossing.jpg")
    words = page.locator("#refusal")
    words.wait_for()
    assert "cross the edge of the window" in words.inner_text()
    assert "Move every part fully inside" in words.inner_text()
    assert page.locator("#over .crossing").count() == 1
    assert page.locator("#plan-go").is_hidden()


def test_several_photos_queue_and_each_keeps_its_number(browser: Any, here: str, said: list[str]) -> None:
    page = opened(browser, here, said)
    names = ("pierced-badge.jpg", "white-window.jpg")
    page.locator("#files").set_input_files([str(ROOT / "demo_images" / name) for name in names])
    states = page.locator("#queue .state")
    for index in range(2):
        states.nth(index).filter(has_text="±").wait_for()
    first, second = (re.sub(r"\s+", " ", states.nth(index).inner_text()) for index in range(2))
    assert first != second
    page.locator("#queue button").nth(1).click()
    assert area(page) == second


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


def test_a_doubtful_region_is_decided_by_a_person(browser: Any, here: str, said: list[str], tmp_path: Path) -> None:
    page = opened(browser, here, said)
    asked: list[str] = []

    def with_question(route: Any) -> None:
        """Let the server measure, and put a question into its answer where nobody has decided yet."""
        asked.append(route.request.url)
        answer = route.fetch()
        body = answer.json()
        if "metal=" not in route.request.url:
            body["questions"] = [{"part": 1, "at": "81.2,62.1", "at_px": [1480, 1120]}]
        route.fulfill(response=answer, json=body)

    page.route("**/api/measure*", with_question)
    drop(page, PHOTO)
    page.locator("#over .question").wait_for()
    page.screenshot(path=str(tmp_path / "question.png"))
    page.get_by_text("It is metal").click()
    page.locator("#over .question").wait_for(state="detached")
    assert "metal=81.2%2C62.1" in asked[-1]


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
    with Image.open(PHOTO) as image:
        exif = image.getexif()
        image.resize((8064, 6048)).save(large, quality=90, exif=exif)
    page = opened(browser, here, said)
    drop(page, large)
    page.locator("#busy").wait_for()  # it takes longer than half a second, so it says so
    assert area(page).endswith("cm²")
    assert page.locator("#photo").evaluate("image => image.naturalWidth") <= 4000
    assert said == []


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The source of axe-core (MPL-2.0), fetched for this test only."""
    if shutil.which("npm") is None:
        pytest.skip("npm is not installed, so axe-core cannot be fetched")
    folder = tmp_path_factory.mktemp("axe")
    try:
        done = subprocess.run(["npm", "pack", "axe-core@4", "--silent"], cwd=folder, capture_output=True, timeout=60)
    except subprocess.TimeoutExpired:
        pytest.skip("axe-core could not be fetched in a minute")
    packs = list(folder.glob("*.tgz"))
    if done.returncode or not packs:
        pytest.skip("axe-core could not be fetched from the registry")
    import tarfile

    with tarfile.open(packs[0]) as pack:
        source = pack.extractfile("package/axe.min.js")
        assert source is not None
        return source.read().decode()


@pytest.mark.parametrize("light", ["light", "dark"])
def test_no_barrier_is_found(browser: Any, here: str, said: list[str], axe: str, light: str) -> None:
    page = opened(browser, here, said, color_scheme=light)
    faults = found_faults(page, axe)
    drop(page, PHOTO)
    set_part(page)
    page.locator("[data-metal=nickel]").fill("3 um")
    page.locator("[data-metal=gold]").fill("0.5 um")
    page.locator("#plan-go").click()
    page.locator("#plan-out .layer").nth(1).wait_for()
    assert faults + found_faults(page, axe) == []


def found_faults(page: Any, axe: str) -> list[str]:
    page.evaluate(axe + "; 0")
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    result = page.evaluate("tags => axe.run(document, { runOnly: { type: 'tag', values: tags } })", tags)
    return [f"{one['id']}: {node['html'][:160]}" for one in result["violations"] for node in one["nodes"]]
