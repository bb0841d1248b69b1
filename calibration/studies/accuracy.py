"""How accurate areas from a photo are: simulated photos of parts whose area is known, measured as a user would.

    python -m calibration.studies.accuracy [--scenes 640] [--card-scenes 80] [--jobs 2] [--out FOLDER]
                                           [--seed-base 100000]

Each scene is drawn at random, rendered, packed as a JPEG, and measured with a thickness and two check lengths that are
wrong by just the uncertainty stated for them. The CSV grows row by row: a stopped run goes on where it was, and rows
made by the same code are not made twice. Summary and plot are written beside it at the end.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import replace
from math import nan
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

from areakit.errors import MeasurementError
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.photo import read_photo
from areakit.synthetic import Scene, jpeg_bytes, render, truth
from areakit.uncertainty import Measured
from calibration.studies.accuracy_answers import after_answers, main_part
from calibration.studies.accuracy_hand import hand_readings
from calibration.studies.accuracy_plot import plot_svg
from calibration.studies.accuracy_report import summary_markdown
from calibration.studies.accuracy_rows import R, Row, append_row, read_rows, write_rows
from calibration.studies.accuracy_scenes import (
    CARD_SEEDS,
    FIRST_SEED,
    Entry,
    entry_of,
    field_of,
    is_good,
    judged_scene,
)

HERE = Path(__file__).resolve().parent
ROWS, RESULTS, PLOT = "accuracy_rows.csv", "accuracy_results.md", "accuracy_results.svg"


def photo_of(scene: Scene) -> bytes:
    """Return the JPEG that the scene's camera would store."""
    return jpeg_bytes(render(scene), scene)


def measure(data: bytes, entry: Entry) -> FoundParts:
    """Measure a photo as a user would."""
    return find_outlines(read_photo(data), thickness=entry.thickness, reading=entry.reading)


def fingerprint(*more: str) -> str:
    """Return a hash of all code that makes a row, so that rows of older code are made again.

    ``more`` are names of further modules of this folder that a study of its own draws with.
    """
    root = HERE.parents[1]
    names = (*(f"accuracy{name}" for name in ("", "_answers", "_scenes", "_hand", "_rows")), *more)
    judged = [*(root / "areakit").rglob("*.py"), *(HERE / f"{name}.py" for name in names)]
    rooms = {"imaging", "synthetic", "geometry"}
    made_by = [path for path in judged if path.parent == HERE or path.relative_to(root).parts[1] in rooms]
    return hashlib.sha256(b"".join(path.read_bytes() for path in sorted(made_by))).hexdigest()[:12]


def judge(seed: int, code: str = "", **limits: Any) -> Row:
    """Return the row of one seed; whatever goes wrong becomes part of the row."""
    row = Row(seed=seed, code=code)
    try:
        scene = judged_scene(seed, **limits)
        entry = entry_of(scene, seed)
        row = replace(facts_row(scene, seed, entry), code=code)
        data = photo_of(scene)
        start = time.perf_counter()
        found = measure(data, entry)
        row = with_result(row, scene, found, time.perf_counter() - start)
        return with_answers(row, scene, entry, data, found)
    except MeasurementError as error:
        return replace(row, refused=error.code)
    except Exception as error:  # one scene must not stop the study; the summary counts these apart
        return replace(row, refused=f"CRASH {type(error).__name__}")


def facts_row(scene: Scene, seed: int, entry: Entry) -> Row:
    """Return the row of a scene before it is measured."""
    facts, part, light, chain = truth(scene)[0], scene.parts[0], scene.light, scene.chain
    hand = hand_readings(part.polygon, np.random.default_rng([seed, 2]))
    return Row(
        seed=seed,
        layout=scene.layout,
        width_px=scene.camera.width_px,
        height_px=scene.camera.height_px,
        shape_holes=facts.holes,
        metal=scene.metal.name,
        finish=scene.metal.finish,
        brightness=scene.metal.brightness,
        card=int(light.card_mm > 0.0),
        field=field_of(scene),
        good=int(is_good(scene)),
        gradient=light.gradient,
        contact=light.contact_depth,
        cast=light.cast_depth,
        veil=light.veil_depth,
        exposure=chain.exposure,
        thickness_mm=facts.thickness_mm,
        tilt_deg=scene.camera.tilt_deg,
        area_cm2=facts.face_mm2 / 100.0,
        perimeter_mm=facts.perimeter_outer_mm + facts.perimeter_holes_mm,
        k1=scene.camera.k1,
        blur_px=chain.blur_px,
        full_well=chain.full_well,
        s_curve=chain.s_curve,
        sharpening=chain.sharpening,
        jpeg=chain.jpeg_quality,
        scale_x=scene.print.scale_x,
        scale_y=scene.print.scale_y,
        bow_mm=scene.print.edge_lift_mm,
        entered_mm=entry.thickness.value,
        box=_percent(hand["box"], facts.face_mm2),
        squares=_percent(hand["squares"], facts.face_mm2),
        paper_10mg=_percent(hand["paper_10mg"], facts.face_mm2),
        paper_1mg=_percent(hand["paper_1mg"], facts.face_mm2),
    )


def _percent(value: float, true: float) -> float:
    return 100.0 * (value / true - 1.0)


def with_result(row: R, scene: Scene, found: FoundParts, seconds: float) -> R:
    """Return the row with what was measured."""
    part, facts = main_part(found), truth(scene)[0]
    outline = part.outline
    error = outline.area.value - facts.face_mm2
    around = facts.perimeter_outer_mm
    codes = {flag.code for flag in (*found.flags, *outline.flags)}
    return replace(
        row,
        area_found_cm2=outline.area.value / 100.0,
        error=100.0 * error / facts.face_mm2,
        expanded=100.0 * outline.area.expanded_uncertainty / facts.face_mm2,
        e_n=error / outline.area.expanded_uncertainty if outline.area.expanded_uncertainty else nan,
        perimeter_error=100.0 * (outline.perimeter_outer.value / around - 1.0),
        perimeter_expanded=100.0 * outline.perimeter_outer.expanded_uncertainty / around,
        holes_found=len(part.rings_px) - 1,
        parts_found=len(found.parts),
        flags=";".join(sorted(codes)),
        budget=_shares(outline.area, facts.face_mm2),
        seconds=seconds,
    )


def with_answers(row: R, scene: Scene, entry: Entry, data: bytes, found: FoundParts) -> R:
    """Return the row with what is measured after true answers to all questions about the part."""
    try:
        found, asked = after_answers(data, scene, entry, found)
    except MeasurementError as error:
        return replace(row, asked=1, answered_refused=error.code)
    if not asked:
        return row
    area, true = main_part(found).outline.area, truth(scene)[0].face_mm2
    return replace(
        row,
        asked=asked,
        answered_error=_percent(area.value, true),
        answered_expanded=100.0 * area.expanded_uncertainty / true,
        answered_budget=_shares(area, true),
    )


def _shares(area: Measured, true_mm2: float) -> str:
    return ";".join(f"{name}={100.0 * abs(share) / true_mm2:.4g}" for name, share in area.budget.items())


def _judged(seeds: list[int], code: str, jobs: int) -> Iterator[Row]:
    if jobs == 1:
        yield from (judge(seed, code) for seed in seeds)
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn"), initializer=one_thread) as pool:
        for future in as_completed([pool.submit(judge, seed, code) for seed in seeds]):
            yield future.result()


def one_thread() -> None:
    """Let the processes of a study share the cores: one thread each."""
    import cv2

    cv2.setNumThreads(1)


def run(seeds: list[int], *, jobs: int, folder: Path) -> list[Row]:
    """Judge every seed that has no row of this code in the folder's CSV yet; return the rows of all seeds asked for."""
    folder.mkdir(parents=True, exist_ok=True)
    path, code = folder / ROWS, fingerprint()
    done = [row for row in read_rows(path) if row.code == code]
    write_rows(path, done)
    missing = sorted(set(seeds) - {row.seed for row in done})
    for count, row in enumerate(_judged(missing, code, jobs), start=1):
        append_row(path, row)
        words = row.refused or f"{row.error:+.3f} % of ± {row.expanded:.3f} %"
        sys.stdout.write(f"{count}/{len(missing)} seed {row.seed}: {words} {row.flags}\n")
        sys.stdout.flush()
    wanted = set(seeds)
    rows = [row for row in read_rows(path) if row.seed in wanted]
    write_rows(path, read_rows(path))
    return rows


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--scenes", type=int, default=640)
    options.add_argument("--card-scenes", type=int, default=80, help="further scenes with a dark card")
    options.add_argument("--jobs", type=int, default=2)
    options.add_argument("--out", type=Path, default=HERE, help="folder of the CSV, the summary and the plot")
    options.add_argument("--seed-base", type=int, default=FIRST_SEED)
    options.add_argument("--summary-only", action="store_true", help="summarise the rows that are there")
    chosen = options.parse_args()
    seeds = [*range(chosen.seed_base, chosen.seed_base + chosen.scenes), *CARD_SEEDS[: chosen.card_scenes]]
    if chosen.summary_only:
        rows = [row for row in read_rows(chosen.out / ROWS) if row.seed in set(seeds)]
    else:
        rows = run(seeds, jobs=chosen.jobs, folder=chosen.out)
    if not rows:
        sys.exit("There are no rows to summarise yet: run without --summary-only first.")
    (chosen.out / RESULTS).write_text(summary_markdown(rows), encoding="utf-8")
    (chosen.out / PLOT).write_text(plot_svg([row for row in rows if not row.card]), encoding="utf-8")


if __name__ == "__main__":
    main()
