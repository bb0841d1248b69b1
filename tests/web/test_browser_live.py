"""The camera in the page: what is wrong is said while aiming, and a good picture is taken by itself."""

from __future__ import annotations

import io
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from bench_page import ARGUMENTS, CHROMIUM, DEMO, area, opened
from PIL import Image, ImageFilter

from areakit.service.aim import aim

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]
WIDE = 960


def frame(name: str, *, soft: float = 0.0) -> Image.Image:
    with Image.open(DEMO / f"{name}.jpg") as image:
        small = image.convert("RGB").resize((WIDE, round(image.height * WIDE / image.width)))
    return small.filter(ImageFilter.GaussianBlur(soft)) if soft else small


def jpeg(image: Image.Image) -> bytes:
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=88)
    return stream.getvalue()


def wrong(image: Image.Image) -> set[str]:
    return {one["key"] for one in aim(jpeg(image))["checks"] if not one["good"]}


def test_a_good_frame_is_good_and_each_fault_is_named() -> None:
    good = frame("pierced-badge")
    assert wrong(good) == set()
    assert "part" in wrong(frame("refused-crossing"))
    assert wrong(Image.new("RGB", (WIDE, 720), (120, 120, 120))) >= {"ring", "part", "distance"}
    assert "sharp" not in wrong(frame("pierced-badge", soft=1.2))
    assert "sharp" in wrong(frame("pierced-badge", soft=2.4))
    for tenths, near in ((8, True), (4, False)):
        small = Image.new("RGB", good.size, (120, 90, 60))
        small.paste(good.resize((good.width * tenths // 10, good.height * tenths // 10)), (60, 60))
        assert ("distance" not in wrong(small)) == near
    (ring,) = aim(jpeg(good))["whole_px"]
    x, y = (int(value) for value in np.mean(ring, axis=0))
    for half, fine in ((16, True), (34, False)):
        pixels = np.array(good)
        pixels[y - half : y + half, x - half : x + half] = 255
        assert ("glare" not in wrong(Image.fromarray(pixels))) == fine


def test_a_frame_is_judged_five_times_a_second() -> None:
    content = jpeg(frame("pierced-badge"))
    aim(content)
    began = time.process_time()
    for _ in range(5):
        aim(content)
    assert time.process_time() - began < 2.5, (
        "two cores of processor time for five frames, with room for a slow machine"
    )


@pytest.fixture
def camera(tmp_path: Path) -> Iterator[Any]:
    """A browser whose camera shows a file: first a part that lies across the frame, then a good one."""
    if not CHROMIUM.exists():
        pytest.skip("Chromium is not at /usr/bin/chromium (apt-get install chromium)")
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    film = tmp_path / "camera.mjpeg"
    film.write_bytes(jpeg(frame("refused-crossing")) * 60 + jpeg(frame("pierced-badge")) * 3000)
    more = [
        "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={film}",
    ]  # fmt: skip
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=str(CHROMIUM), args=[*ARGUMENTS, *more])
        yield running
        running.close()


def test_the_picture_is_taken_when_all_is_well(camera: Any, here: str, said: list[str], tmp_path: Path) -> None:
    page = opened(camera, here, said, (360, 740), has_touch=True)
    page.locator("#aim-start").tap()
    page.locator("#aim .say", has_text="Lay the part fully inside").wait_for()
    page.screenshot(path=str(tmp_path / "aim.png"))
    page.locator("#aim").wait_for(state="hidden")
    page.locator("#queue .file", has_text="camera-").wait_for()
    assert area(page).endswith("cm²")
    assert page.evaluate("document.querySelector('#aim video').srcObject") is None, "the camera is let go"
    assert said == []
