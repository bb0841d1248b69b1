"""Draw every picture of the tour: ``python -m calibration.studies.tour_pictures``.

Runs the commands of ``demo_images/tour.md`` in a folder of its own and makes small pictures of what they write; the
bench page is photographed in Chromium. ``--only NAME`` redraws one.
"""

from __future__ import annotations

import argparse
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from calibration.studies.tour import ROOT, Shop, clean_environment, tour

RESULTS = ROOT / "demo_images" / "results"
CHROMIUM = "/usr/bin/chromium"
MOST_BYTES, WIDEST_PX = 120_000, 820
BENCH_PX = (1280, 860)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--only", choices=sorted(PICTURES), metavar="NAME")
    only = ask.parse_args().only
    clean_environment()
    with tempfile.TemporaryDirectory() as folder:
        shop = Shop(Path(folder))
        for step in tour():
            if not step.commands[0].startswith("areakit serve"):
                shop.run(step)
        for name, draw in PICTURES.items():
            if only in (None, name):
                draw(shop.here, RESULTS / name)
                print(f"{name}: {(RESULTS / name).stat().st_size / 1000:.0f} kB")


def sheet(here: Path, target: Path) -> None:
    _page(here / "areakit-sheet-A5-r1-blue.pdf", target, width_px=420)


def photo(here: Path, target: Path) -> None:
    _small(here / "badge.jpg", target, width_px=420)


def outline(here: Path, target: Path) -> None:
    """Cut the part out of the overlay, with what is written beside it."""
    from PIL import Image

    with Image.open(here / "badge-outline.jpg") as image:
        wide, high = image.size
        part = image.crop((round(0.28 * wide), round(0.16 * high), round(0.76 * wide), round(0.82 * high)))
        part.thumbnail((640, 640))
        part.save(target, quality=80)


def surfaces(here: Path, target: Path) -> None:
    shutil.copy(here / "badge-surfaces.svg", target)


def lanes(here: Path, target: Path) -> None:
    shutil.copy(here / "badge-lanes.svg", target)


def dose(here: Path, target: Path) -> None:
    shutil.copy(here / "badge-dose.svg", target)


def quote(here: Path, target: Path) -> None:
    _page(here / "quote.pdf", target, width_px=720, upper=0.572)


def traveller(here: Path, target: Path) -> None:
    _page(here / "traveller.pdf", target, width_px=720, upper=0.773)


def bench(here: Path, target: Path) -> None:
    """Photograph the page in Chromium, with the tour's photo measured and planned."""
    from playwright.sync_api import sync_playwright

    port = _free_port()
    environment = {**os.environ, "AREAKIT_JOURNAL": str(here / "bench.sqlite"), "AREAKIT_WHO": "bench"}
    command = [sys.executable, "-m", "areakit", "serve", "--port", str(port)]
    with subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL) as server:
        try:
            _wait_for(port)
            with sync_playwright() as driver:
                browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
                _photograph(browser, f"http://127.0.0.1:{port}/", here)
                browser.close()
        finally:
            server.terminate()
    _small(here / "bench.png", target, width_px=800)


def _photograph(browser: Any, url: str, here: Path) -> None:
    page = browser.new_page(viewport={"width": BENCH_PX[0], "height": BENCH_PX[1]}, device_scale_factor=2)
    page.goto(url)
    page.locator("#process option").first.wait_for(state="attached")
    page.locator("#files").set_input_files(str(here / "badge.jpg"))
    page.locator("#area .figure:not(.stale):not(.quiet)").wait_for()
    page.locator("[data-step=Scale] .head").click()
    page.locator("#check-lengths").fill("150 x 90")
    page.locator("#check-lengths").press("Tab")
    page.locator("[data-step=Scale] .head").click()
    page.locator("#thickness").fill("1.2")
    page.locator("#thickness").press("Tab")
    page.locator("input[name=faces][value=all]:not(:disabled)").wait_for(state="attached")
    page.locator("input[name=faces][value=all]").check(force=True)
    page.locator("#area:has(.figure:not(.stale))", has_text="all over").wait_for()
    page.wait_for_timeout(1500)
    page.screenshot(path=str(here / "bench.png"))


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for(port: int) -> None:
    for _ in range(150):
        try:
            socket.create_connection(("127.0.0.1", port), 0.2).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise SystemExit("The server did not start.")


def _page(pdf: Path, target: Path, *, width_px: int, upper: float = 1.0) -> None:
    """Draw the first page of a PDF, or the upper share of it; as PNG in few enough colours to be small."""
    import pypdfium2

    page = pypdfium2.PdfDocument(pdf)[0]
    image = page.render(scale=2 * width_px / page.get_width()).to_pil().convert("RGB")
    image = image.crop((0, 0, image.width, round(upper * image.height)))
    image.thumbnail((width_px, 10_000))
    if target.suffix == ".png":
        image.quantize(160).save(target, optimize=True)
    else:
        image.save(target, quality=82)


def _small(picture: Path, target: Path, *, width_px: int) -> None:
    from PIL import Image

    with Image.open(picture) as image:
        small = image.convert("RGB")
        small.thumbnail((width_px, 10_000))
        small.save(target, quality=82)


PICTURES: dict[str, Callable[[Path, Path], None]] = {
    "tour-sheet.png": sheet,
    "tour-photo.jpg": photo,
    "tour-outline.jpg": outline,
    "tour-surfaces.svg": surfaces,
    "tour-lanes.svg": lanes,
    "tour-dose.svg": dose,
    "tour-quote.png": quote,
    "tour-traveller.jpg": traveller,
    "tour-bench.jpg": bench,
}


if __name__ == "__main__":
    main()
