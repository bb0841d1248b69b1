"""How long the page takes from dropping a 12 megapixel photo to its number, against the command line.

    python -m calibration.studies.page_time --repeats 7

The photo is the demo badge, resampled to 4000 x 3000 pixels. Both are timed in turn on the same machine; the page in
Chromium, from handing it the file until a figure that is not stale stands in the strip.

    python -m calibration.studies.page_time --aim

takes instead the small frames of a camera that is aimed: processor time of each, which a busy machine hardly changes.

    python -m calibration.studies.page_time --live

aims in Chromium with a camera that shows a drawn sheet, 1920 x 1440 pixels and 30 times a second: frames a second that
were judged and shown, and the processor time of server and browser for each.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image, ImageFilter, ImageOps

ROOT = Path(__file__).resolve().parents[2]
PORT = 8199
SIZE = (4000, 3000)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--repeats", type=int, default=7)
    ask.add_argument("--chromium", default="/usr/bin/chromium")
    ask.add_argument("--aim", action="store_true", help="Time the frames of a camera that is aimed.")
    ask.add_argument("--live", action="store_true", help="Count the frames that are judged while a camera is aimed.")
    given = ask.parse_args()
    if given.aim:
        for name, seconds in aimed(given.repeats).items():
            middle = statistics.median(seconds)
            print(f"{name}: {1000 * middle:.0f} ms of processor time a frame, {1 / middle:.0f} a second on one core")
        return
    with tempfile.TemporaryDirectory() as folder:
        photo = Path(folder) / "badge-12mp.jpg"
        with Image.open(ROOT / "demo_images" / "pierced-badge.jpg") as image:
            image.resize(SIZE, Image.Resampling.LANCZOS).save(photo, quality=92, exif=image.getexif())
        print(f"{photo.name}: {SIZE[0]} x {SIZE[1]} pixels, {photo.stat().st_size / 1e6:.1f} MB")
        environment = {**os.environ, "AREAKIT_JOURNAL": str(Path(folder) / "journal.sqlite")}
        command = [sys.executable, "-m", "areakit"]
        with subprocess.Popen([*command, "serve", "--port", str(PORT)], cwd=ROOT, env=environment) as server:
            try:
                _wait_for_server()
                if given.live:
                    print(live(Path(folder), server.pid, given.chromium))
                    return
                rows = timed(photo, command, given.repeats, given.chromium)
                rows["measurement alone, in a warm process"] = alone(photo, given.repeats)
            finally:
                server.terminate()
    for name, seconds in rows.items():
        print(f"{name}: median {statistics.median(seconds):.2f} s, from {min(seconds):.2f} to {max(seconds):.2f} s")
    line, page = (statistics.median(rows[name]) for name in ("command line", "page"))
    print(f"page less command line: {page - line:+.2f} s; page over command line: {page / line:.2f}")


def aimed(repeats: int) -> dict[str, list[float]]:
    """Return the processor time of each frame: good ones, a ring cut off, a blurred one, and one without a sheet."""
    from areakit.service.aim import aim

    frames = {path.stem: _frame(path) for path in sorted((ROOT / "demo_images").glob("*.jpg"))}
    good = frames["pierced-badge"]
    frames["ring cut off"] = good.crop((good.width // 3, 0, good.width, good.height))
    frames["blurred"] = good.filter(ImageFilter.GaussianBlur(3))
    frames["no sheet"] = Image.effect_noise(good.size, 60).convert("RGB").filter(ImageFilter.GaussianBlur(2))
    found: dict[str, list[float]] = {}
    for name, image in frames.items():
        stream = io.BytesIO()
        image.save(stream, "JPEG", quality=75)
        aim(stream.getvalue())
        for _ in range(repeats):
            started = time.process_time()
            aim(stream.getvalue())
            found.setdefault(name, []).append(time.process_time() - started)
    return found


def _frame(path: Path) -> Image.Image:
    """The picture as wide as the page sends a frame of the camera."""
    with Image.open(path) as image:
        return ImageOps.exif_transpose(image).convert("RGB").resize((960, round(image.height * 960 / image.width)))


def _wait_for_server() -> None:
    while True:
        with contextlib.suppress(OSError):
            socket.create_connection(("127.0.0.1", PORT), 1.0).close()
            return
        time.sleep(0.1)


def live(folder: Path, server: int, chromium: str, seconds: float = 20.0) -> str:
    """Return what one aim of the camera gave; a part across the frame keeps the picture from being taken."""
    from playwright.sync_api import sync_playwright

    film = _film(folder / "camera.y4m")
    camera = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"]
    arguments = ["--no-sandbox", "--disable-gpu", *camera, f"--use-file-for-fake-video-capture={film}"]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=arguments)
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(f"http://127.0.0.1:{PORT}/")
        page.locator("#aim-start").click()
        page.locator("#aim .say", has_text="Lay the part fully inside").wait_for()
        answers: list[str] = []
        page.on("response", lambda one: answers.append(one.url) if one.url.endswith("/api/aim") else None)
        before, began = _processor_seconds(server), time.perf_counter()
        page.wait_for_timeout(1000 * seconds)
        took, spent = time.perf_counter() - began, _processor_seconds(server)
        browser.close()
    count = len(answers)
    shares = ", ".join(f"{name} {1000 * (spent[name] - before[name]) / count:.0f} ms" for name in spent)
    return f"{count / took:.1f} frames a second; processor time of each: {shares} (load {os.getloadavg()[0]:.1f})"


def _film(path: Path) -> Path:
    """Write a sheet as raw video, which a browser needs not decode."""
    with Image.open(ROOT / "demo_images" / "refused-crossing.jpg") as image:
        planes = image.convert("YCbCr").resize((1920, 1440)).split()
    pixels = b"".join(plane.resize((1920, 1440) if i == 0 else (960, 720)).tobytes() for i, plane in enumerate(planes))
    path.write_bytes(b"YUV4MPEG2 W1920 H1440 F30:1 Ip A1:1 C420\n" + 4 * (b"FRAME\n" + pixels))
    return path


def _processor_seconds(server: int) -> dict[str, float]:
    """Return what the server used so far, and every process of the browser together."""

    def used(process: int) -> float:
        words = Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")

    parents = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            parents[int(stat.parent.name)] = int(stat.read_text().rsplit(")", 1)[1].split()[1])
    mine, fresh = set(), {os.getpid()}
    while fresh:
        mine |= fresh
        fresh = {one for one, parent in parents.items() if parent in fresh}
    return {"server": used(server), "browser": sum(used(one) for one in mine - {os.getpid(), server})}


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
