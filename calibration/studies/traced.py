"""How accurate areas are in path-traced photos: a check of the accuracy study in light that nobody drew by hand.

    python -m calibration.studies.traced [--scenes 60] [--rays 256] [--out FOLDER] [--photos FOLDER] [--worst 12]
    python -m calibration.studies.traced --scenes 0       # ideal scenes only: they must come out true
    python -m calibration.studies.traced --summary-only   # write the summary of the rows that are there

Needs the optional ``study`` dependencies. The variant cuda_ad_rgb needs an NVIDIA driver with OptiX, llvm_ad_rgb a
libLLVM (see render_demo). One process renders while others develop and measure. The CSV grows row by row: a stopped
run goes on where it was, and rows made by the same code are not made twice.
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, as_completed, wait
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MeasurementError
from areakit.imaging.scale import CheckReading
from areakit.uncertainty import Measured
from calibration.studies.accuracy import HERE, fingerprint, measure, with_result
from calibration.studies.accuracy_overlay import look_at, worst_of
from calibration.studies.accuracy_rows import append_row, read_rows, write_rows
from calibration.studies.accuracy_scenes import Entry, entry_of
from calibration.studies.check_demo import area_error
from calibration.studies.demo_chain import develop, save
from calibration.studies.render_demo import render
from calibration.studies.traced_report import summary_markdown
from calibration.studies.traced_rows import TracedRow, row_of
from calibration.studies.traced_scenes import EVEN, FIRST_SEED, TracedScene, ideal_scene, traced_scene

ROWS, RESULTS = "traced_rows.csv", "traced_results.md"
DRAWS_WITH = (
    "render_demo", "demo_camera", "demo_chain", "demo_scenes", "demo_sheet",
    "traced", "traced_rows", "traced_scenes",
)  # fmt: skip
RAYS_AT_ONCE = {"cuda_ad_rgb": 1 << 25, "llvm_ad_rgb": 1 << 21}
IDEAL_SCENES = 4
WAITING = 20
"""Rendered pictures that may wait to be measured; each is some 150 MB."""
Pixels = npt.NDArray[np.float32]


class Renderer:
    """Mitsuba in one variant."""

    def __init__(self, variant: str, rays: int) -> None:
        import drjit as dr
        import mitsuba as mi

        mi.set_variant(variant)
        self.mi, self.dr, self.rays, self.at_once = mi, dr, rays, RAYS_AT_ONCE.get(variant, 1 << 20)
        self.words = f"mitsuba {mi.__version__} {variant}"

    def picture(self, traced: TracedScene, *, coverage_only: bool = False) -> Pixels:
        return render(
            self.mi, self.dr, traced.view, samples=self.rays, coverage_only=coverage_only, at_once=self.at_once
        )


def photo_of(traced: TracedScene, linear: Pixels) -> bytes:
    """Return the JPEG that the scene's camera would store."""
    file = io.BytesIO()
    save(develop(linear, traced.view), traced.view, file)
    return file.getvalue()


def judge(traced: TracedScene, linear: Pixels, row: TracedRow, photo: Path | None) -> TracedRow:
    """Return the row with what was measured; whatever goes wrong becomes part of the row."""
    try:
        data = photo_of(traced, linear)
        if photo is not None:
            photo.write_bytes(data)
        start = time.perf_counter()
        found = measure(data, entry_for(traced))
        return with_result(row, traced.drawn, found, time.perf_counter() - start)
    except MeasurementError as error:
        return replace(row, refused=error.code)
    except Exception as error:  # one scene must not stop the study; the summary counts these apart
        return replace(row, refused=f"CRASH {type(error).__name__}")


def entry_for(traced: TracedScene) -> Entry:
    """Return what the user enters: as in the accuracy study, or the truth for an ideal scene."""
    if traced.light != EVEN:
        return entry_of(traced.drawn, traced.seed)
    thickness = Measured(value=traced.view.thickness_mm, unit="mm", budget={"thickness as entered": 0.01})
    return Entry(thickness=thickness, reading=CheckReading(read_mm=traced.drawn.sheet.check_lengths_mm))


def judge_file(seed: int, linear: Path, row: TracedRow, photo: Path | None) -> TracedRow:
    """Judge a picture that was handed over as a file, and remove the file."""
    cv2.setNumThreads(1)
    picture = np.load(linear)
    linear.unlink()
    return judge(scene_of(seed), picture, row, photo)


def scene_of(seed: int) -> TracedScene:
    """Return the scene of a seed; those below the first are the ideal ones."""
    return traced_scene(seed) if seed >= FIRST_SEED else ideal_scene(FIRST_SEED - 1 - seed)


def judged(
    renderer: Renderer, seeds: Sequence[int], *, code: str, jobs: int, photos: Path | None
) -> Iterator[TracedRow]:
    """Render the scenes one by one and yield their rows as they are measured."""
    context = get_context("spawn")
    with ProcessPoolExecutor(jobs, mp_context=context) as pool, tempfile.TemporaryDirectory() as folder:
        waiting: set[Future[TracedRow]] = set()
        for seed in seeds:
            traced = scene_of(seed)
            row = row_of(traced, entry_for(traced), rays=renderer.rays, renderer=renderer.words, code=code)
            if traced.light == EVEN:
                seen = renderer.picture(traced, coverage_only=True)[..., 0].astype(float)
                row = replace(row, drawn=100.0 * area_error(traced.view, seen))
            path = Path(folder) / f"{seed}.npy"
            np.save(path, renderer.picture(traced))
            photo = photos / f"{seed}.jpg" if photos else None
            waiting.add(pool.submit(judge_file, seed, path, row, photo))
            done = {future for future in waiting if future.done()}
            while len(waiting) - len(done) >= WAITING:
                done |= wait(waiting, return_when=FIRST_COMPLETED).done
            waiting -= done
            yield from (future.result() for future in done)
        yield from (future.result() for future in as_completed(waiting))


def run(renderer: Renderer, seeds: Sequence[int], *, jobs: int, folder: Path, photos: Path | None) -> None:
    """Judge every seed that has no row of this code in the folder's CSV yet."""
    path, code = folder / ROWS, fingerprint(*DRAWS_WITH)
    done = [row for row in read_rows(path, TracedRow) if row.code == code]
    write_rows(path, done, TracedRow)
    missing = sorted(set(seeds) - {row.seed for row in done})
    began = time.monotonic()
    for count, row in enumerate(judged(renderer, missing, code=code, jobs=jobs, photos=photos), start=1):
        append_row(path, row)
        words = row.refused or f"{row.error:+.3f} % of ± {row.expanded:.3f} %"
        print(
            f"{time.monotonic() - began:.0f} s, {count}/{len(missing)} seed {row.seed}: {words} {row.flags}", flush=True
        )
    write_rows(path, read_rows(path, TracedRow), TracedRow)


def look_at_worst(rows: Sequence[TracedRow], count: int, photos: Path, folder: Path) -> None:
    """Write overlays of refusals and of the scenes with the largest error over U."""
    folder.mkdir(parents=True, exist_ok=True)
    for row in worst_of(rows, count):
        data = (photos / f"{row.seed}.jpg").read_bytes()
        print(look_at(scene_of(row.seed).drawn, row.seed, data, folder), flush=True)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--scenes", type=int, default=60)
    options.add_argument("--ideal", type=int, default=IDEAL_SCENES, help="ideal scenes, which must come out true")
    options.add_argument("--rays", type=int, default=256, help="rays a pixel, a square number")
    options.add_argument("--variant", default="llvm_ad_rgb", choices=sorted(RAYS_AT_ONCE))
    options.add_argument("--jobs", type=int, default=2, help="processes that measure")
    options.add_argument("--out", type=Path, default=HERE, help="folder of the CSV and the summary")
    options.add_argument("--photos", type=Path, help="keep the photos in this folder")
    options.add_argument("--worst", type=int, default=0, help="overlays of that many scenes, beside the photos")
    options.add_argument("--seed-base", type=int, default=FIRST_SEED)
    options.add_argument("--summary-only", action="store_true", help="summarise the rows that are there")
    chosen = options.parse_args()
    seeds = [FIRST_SEED - 1 - i for i in range(chosen.ideal)]
    seeds += range(chosen.seed_base, chosen.seed_base + chosen.scenes)
    for folder in filter(None, (chosen.out, chosen.photos)):
        folder.mkdir(parents=True, exist_ok=True)
    if not chosen.summary_only:
        run(Renderer(chosen.variant, chosen.rays), seeds, jobs=chosen.jobs, folder=chosen.out, photos=chosen.photos)
    rows = [row for row in read_rows(chosen.out / ROWS, TracedRow) if row.seed in set(seeds)]
    if not rows:
        sys.exit("There are no rows to summarise yet: run without --summary-only first.")
    if chosen.worst and chosen.photos:
        look_at_worst(rows, chosen.worst, chosen.photos, chosen.photos)
    (chosen.out / RESULTS).write_text(summary_markdown(rows), encoding="utf-8")


if __name__ == "__main__":
    main()
