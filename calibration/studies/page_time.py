"""How long the page takes from dropping a 12 megapixel photo to its number, against the command line.

    python -m calibration.studies.page_time --repeats 7

The photo is the demo badge, resampled to 4000 x 3000 pixels. Both are timed in turn on the same machine; the page in
Chromium, from handing it the file until a figure that is not stale stands in the strip.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
PORT = 8199
SIZE = (4000, 3000)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--repeats", type=int, default=7)
    ask.add_argument("--chromium", default="/usr/bin/chromium")
    given = ask.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        photo = Path(folder) / "badge-12mp.jpg"
        with Image.open(ROOT / "demo_images" / "pierced-badge.jpg") as image:
            image.resize(SIZE, Image.Resampling.LANCZOS).save(photo, quality=92, exif=image.getexif())
        print(f"{photo.name}: {SIZE[0]} x {SIZE[1]} pixels, {photo.stat().st_size / 1e6:.1f} MB")
        environment = {**os.environ, "AREAKIT_JOURNAL": str(Path(folder) / "journal.sqlite")}
        command = [sys.executable, "-m", "areakit"]
        with subprocess.Popen([*command, "serve", "--port", str(PORT)], cwd=ROOT, env=environment) as server:
            try:
                rows = timed(photo, command, given.repeats, given.chromium)
                rows["measurement alone, in a warm process"] = alone(photo, given.repeats)
            finally:
                server.terminate()
    for name, seconds in rows.items():
        print(f"{name}: median {statistics.median(seconds):.2f} s, from {min(seconds):.2f} to {max(seconds):.2f} s")
    line, page = (statistics.median(rows[name]) for name in ("command line", "page"))
    print(f"page less command line: {page - line:+.2f} s; page over command line: {page / line:.2f}")


def alone(photo: Path, repeats: int) -> list[float]:
    from areakit.service.measure import MeasureRequest, measure

    found = []
    for _ in range(repeats + 1):
        started = time.perf_counter()
        assert next(measure([photo], MeasureRequest())).error is None
        found.append(time.perf_counter() - started)
    return found[1:]


def timed(photo: Path, command: list[str], repeats: int, chromium: str) -> dict[str, list[float]]:
    from playwright.sync_api import sync_playwright

    rows: dict[str, list[float]] = {"command line": [], "page": []}
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        for _ in range(repeats):
            started = time.perf_counter()
            subprocess.run([*command, "measure", str(photo)], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
            rows["command line"].append(time.perf_counter() - started)
            page = browser.new_page()
            page.goto(f"http://127.0.0.1:{PORT}/")
            page.locator("#process option").first.wait_for(state="attached")
            started = time.perf_counter()
            page.locator("#files").set_input_files(str(photo))
            page.locator("#area .figure:not(.stale):not(.quiet)").wait_for()
            rows["page"].append(time.perf_counter() - started)
            page.close()
        browser.close()
    return rows


if __name__ == "__main__":
    main()
