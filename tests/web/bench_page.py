"""The page in Chromium, for tests: a server of its own, and the hands that use it."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo_images"
LARGE = DEMO / "pierced-badge.jpg"
CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--no-first-run", "--autoplay-policy=user-gesture-required",
]  # fmt: skip
PATIENCE = 90.0
"""How long a server may take to start or to answer, on a machine that is busy with something else. [s]"""
COUNT_TONES = """
  window.tones = 0;
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...when) { window.tones += 1; return start.apply(this, when); };
"""


_FOLDER = tempfile.TemporaryDirectory()


def _reduced() -> Path:
    """The photo at a third of its width: without a graphics card a browser paints 8 megapixels slowly."""
    path = Path(_FOLDER.name) / LARGE.name
    with Image.open(LARGE) as image:
        image.reduce(3).save(path, quality=92, exif=image.getexif())
    return path


PHOTO = _reduced()


class Server:
    """``areakit serve`` on a free port, with a journal of its own; it can be stopped and started again."""

    def __init__(self, journal: Path) -> None:
        self.journal = journal
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}/"
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> Server:
        command = [sys.executable, "-m", "areakit", "serve", "--port", str(self.port)]
        environment = {**os.environ, "AREAKIT_JOURNAL": str(self.journal), "AREAKIT_WHO": "bench"}
        self._process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL)
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline and self._process.poll() is None:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1.0).close()
            except OSError:
                time.sleep(0.05)
            else:
                return self
        self.kill()
        raise AssertionError("the server did not start")

    def kill(self) -> None:
        assert self._process is not None
        self._process.kill()
        self._process.wait(PATIENCE)

    def stop(self) -> None:
        assert self._process is not None
        self._process.terminate()
        self._process.wait(PATIENCE)


def opened(
    browser: Any,
    here: str,
    said: list[str],
    size: tuple[int, int] = (1400, 900),
    *,
    context: Any = None,
    **options: Any,
) -> Any:
    """Return a page that has loaded; whatever it complains of, or asks for elsewhere, goes into ``said``."""
    context = context or browser.new_context(viewport={"width": size[0], "height": size[1]}, **options)
    context.set_default_timeout(30_000)
    page = context.new_page()
    page.add_init_script(COUNT_TONES)
    page.on("pageerror", lambda error: said.append(f"error: {error}"))
    page.on("console", lambda message: said.append(message.text) if message.type in {"error", "warning"} else None)
    page.on("request", lambda asked: said.append(f"left: {asked.url}") if not _inside(asked.url, here) else None)
    page.goto(here)
    page.locator("#process option").first.wait_for(state="attached")
    return page


def _inside(url: str, here: str) -> bool:
    return url.startswith((here, f"blob:{here}", "data:"))


def drop(page: Any, *paths: Path) -> None:
    page.locator("#files").set_input_files([str(path) for path in paths])


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def area(page: Any) -> str:
    page.locator("#area .figure:not(.stale):not(.quiet)").wait_for()
    return plain(page.locator("#area .figure").inner_text())


def set_part(page: Any) -> None:
    page.locator("#thickness").fill("1.2")
    page.locator("#thickness").press("Tab")
    page.locator("input[name=faces][value=all]").check(force=True)
    page.locator("#area:has(.figure:not(.stale))", has_text="all over").wait_for()


def unfold(page: Any, title: str, press: Any = None) -> None:
    """Open a step that is folded to one line."""
    head = page.locator(f".step[data-step={title!r}] .head")
    if head.get_attribute("aria-expanded") == "false":
        (press or (lambda where: where.click()))(head)


def plan(page: Any) -> None:
    open_typing(page)
    page.locator("[data-metal=nickel]").fill("3")
    page.locator("[data-metal=gold]").fill("0.5")
    page.locator("#plan-go").click()
    page.locator("#plan-out .layer").nth(1).wait_for()


def open_typing(page: Any) -> None:
    """Open what a plan is planned from: it folds once there is a plan."""
    page.locator("#plan-typing").evaluate("fold => { fold.open = true }")


def open_job(page: Any, part: str = "club badge") -> str:
    page.locator("#job-part").fill(part)
    page.locator("#job-open").click()
    page.locator("#begin").wait_for()
    return page.locator(".job h3").inner_text().removeprefix("Job ")


class Mouse:
    """Everything with a mouse."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def press(self, where: Any) -> None:
        where.click()

    def choose_part(self, where: Any) -> None:
        box = where.bounding_box()
        self.page.mouse.click(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.16)

    def write(self, where: Any, text: str) -> None:
        where.click()
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def set_points(self, points: list[tuple[float, float]]) -> None:
        for x, y in points:
            self.page.mouse.click(x, y)

    def drag(self, handle: Any, by: tuple[float, float]) -> None:
        box = handle.bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        self.page.mouse.move(x + by[0], y + by[1], steps=4)
        self.page.mouse.up()


class Touch(Mouse):
    """Everything with one finger; text comes from the device's own keyboard."""

    def press(self, where: Any) -> None:
        where.tap()

    def choose_part(self, where: Any) -> None:
        box = where.bounding_box()
        self.page.touchscreen.tap(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.16)

    def write(self, where: Any, text: str) -> None:
        where.tap()
        where.fill(text)
        where.blur()

    def set_points(self, points: list[tuple[float, float]]) -> None:
        for x, y in points:
            self.page.touchscreen.tap(x, y)

    def drag(self, handle: Any, by: tuple[float, float]) -> None:
        box = handle.bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        finger = self.page.context.new_cdp_session(self.page)
        for kind, share in (("touchStart", 0.0), ("touchMove", 0.5), ("touchMove", 1.0)):
            point = {"x": x + by[0] * share, "y": y + by[1] * share, "id": 0}
            finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [point]})
        finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


class Keys(Mouse):
    """Everything with the keyboard alone: whatever is used must be reached by Tab."""

    def reach(self, where: Any) -> None:
        where.wait_for()
        element = where.element_handle()
        for _ in range(260):
            if self.page.evaluate("element => element === document.activeElement", element):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"Tab does not lead to {where}")

    def press(self, where: Any) -> None:
        self.reach(where)
        self.page.keyboard.press("Enter")

    def choose_part(self, where: Any) -> None:
        self.press(where)

    def write(self, where: Any, text: str) -> None:
        self.reach(where)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def set_points(self, points: list[tuple[float, float]]) -> None:
        for key in ("ArrowLeft", "ArrowDown", "ArrowRight"):
            for _ in range(7):
                self.page.keyboard.press(key)
            self.page.keyboard.press("Enter")

    def drag(self, handle: Any, by: tuple[float, float]) -> None:
        self.reach(handle)
        for _ in range(4):
            self.page.keyboard.press("Shift+ArrowLeft")
