"""One to four coins as the mark: how true a square between them is, on drawn discs and on real coins.

``python -m calibration.studies.coins [--scenes 6] [--photos FOLDER] [--out FILE]``. Drawn: discs with rounded rims on
white paper (those of ``rounded_rims``), some of them the mark, by their true diameter; squares of 20 mm elsewhere on
the sheet, by their exact corners, are what is measured. Real: the photos of coins on A4 (set won_coins_a4); coins of
one kind are the mark, by the mint's diameter from memory, unverified, and the sheet itself, cut to 1 %, is measured
by the corners that its edges have; the second of these photos is over-exposed.
"""

from __future__ import annotations

import argparse
import csv
import os
import statistics
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from areakit.errors import AreakitError
from areakit.imaging.marks import find_scale
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import PlaneScale
from areakit.service.measure import MeasureRequest, measure
from areakit.synthetic.projection import project, view_of
from calibration.studies.real_photos import COIN_HEIGHT, area_and_u, nearest_coins
from calibration.studies.rounded_rims import coins_photo
from calibration.studies.study_page import show

Floats = npt.NDArray[np.float64]

FIRST_SEED = 43_000
COUNTS = (1, 2, 3, 4)
ORDER = (4, 0, 2, 3)
"""Discs of a drawn scene that are the mark, in this order: one in the middle, then corners."""
SIDE_MM = 20.0
SPOTS = ((0.35, 0.5), (0.65, 0.5), (0.5, 0.5), (0.1, 0.5))
"""Where squares lie, as shares of the sheet. The last lies outside of all coins."""
WON_500_MM = 26.5
"""Diameter of the coin of 500 won, from memory, unverified. [mm]"""
A4_MM2 = 297.0 * 210.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One square or sheet: how many coins were the mark, its error and U as shares, or the code of a refusal."""

    kind: str
    count: int
    error: float = 0.0
    expanded: float = 0.0
    refused: str = ""


def drawn(seed: int) -> Iterator[Row]:
    """Measure squares on one drawn sheet by one coin to four."""
    scene, discs, photo, _ = coins_photo(seed)
    size, middle = np.array(scene.sheet.paper_mm), np.array(scene.middle_mm)
    half = SIDE_MM / 2 * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    squares = [project(view_of(scene), (np.array(spot) - 0.5) * size + middle + half) for spot in SPOTS]
    marks = []
    for place in ORDER:
        at, disc = discs[place]
        x, y = project(view_of(scene), at[None], disc.thickness)[0]
        marks.append(f"coin:{2 * disc.radius:.3f} mm@{x:.0f},{y:.0f}")
    for count in COUNTS:
        yield from _measured("drawn", photo, marks[:count], squares, [SIDE_MM**2] * len(squares))


def real(folder: Path) -> Iterator[Row]:
    """Measure the sheet below real coins by one to four of them, chosen far apart."""
    with (folder / "layout_1531xx_truth.csv").open(encoding="utf-8", newline="") as file:
        listed = list(csv.DictReader(file))
    for path in sorted(folder.glob("20201011_1531*.jpg")):
        result = next(measure([path], MeasureRequest(thickness=COIN_HEIGHT)))
        if result.found is None or result.photo is None:
            continue
        scale = result.found.scale
        (left, top), (right, bottom) = np.array(scale.field_mm).reshape(2, 2)
        corners = scale.camera.project(np.array([(left, top), (right, top), (right, bottom), (left, bottom)]))
        pairs = zip(result.parts, nearest_coins(result, listed), strict=True)
        seen = np.array([part.rings_px[0].mean(axis=0) for part, coin in pairs if listed[coin]["coin"] == "500"])
        marks = [f"coin:{WON_500_MM} mm@{x:.0f},{y:.0f}" for x, y in seen[_spread(seen, len(COUNTS))]]
        for count in COUNTS:
            yield from _measured("real", result.photo, marks[:count], [corners], [A4_MM2])


def _spread(places: Floats, count: int) -> list[int]:
    """Return the numbers of places, shape (n, 2): one in the middle, each further one far from those before."""
    chosen = [int(np.linalg.norm(places - places.mean(axis=0), axis=1).argmin())]
    while len(chosen) < count:
        apart = np.linalg.norm(places[:, None] - places[chosen][None], axis=2).min(axis=1)
        chosen.append(int(apart.argmax()))
    return chosen


def _measured(kind: str, photo: Photo, marks: list[str], figures: list[Floats], true: list[float]) -> Iterator[Row]:
    try:
        scale: PlaneScale = find_scale(photo, overview(photo), mark="; ".join(marks), reading=None)
    except AreakitError as error:
        yield Row(kind=kind, count=len(marks), refused=error.code)
        return
    for figure, area in zip(figures, true, strict=True):
        value, expanded = area_and_u(scale, figure)
        yield Row(kind=kind, count=len(marks), error=value / area - 1.0, expanded=expanded / area)


def table(rows: list[Row]) -> str:
    """Return the table by the number of coins."""
    lines = [
        "| photos | coins | measured | refused | error, median of size | largest | stated U, median | inside |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for kind in ("drawn", "real"):
        for count in COUNTS:
            here = [row for row in rows if (row.kind, row.count) == (kind, count)]
            found = [row for row in here if not row.refused]
            codes = sorted({row.refused for row in here if row.refused})
            refused = f"{len(here) - len(found)} ({', '.join(codes)})" if codes else "0"
            if found:
                sizes = [100 * abs(row.error) for row in found]
                inside = 100 * statistics.fmean(abs(row.error) <= row.expanded for row in found)
                stated = 100 * statistics.median(row.expanded for row in found)
                lines.append(
                    f"| {kind} | {count} | {len(found)} | {refused} | {statistics.median(sizes):.1f} % | "
                    f"{max(sizes):.1f} % | {stated:.1f} % | {inside:.0f} % |"
                )
            elif here:
                lines.append(f"| {kind} | {count} | 0 | {refused} | - | - | - | - |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Measure, print the table, and write it where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenes", type=int, default=6)
    parser.add_argument("--photos", type=Path, default=os.environ.get("AREAKIT_PHOTOS"))
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    rows = [row for seed in range(FIRST_SEED, FIRST_SEED + options.scenes) for row in drawn(seed)]
    if options.photos is not None and (options.photos / "won_coins_a4").is_dir():
        rows += real(options.photos / "won_coins_a4")
    page = f"""# Several coins as the mark

Made by `python -m calibration.studies.coins`, whose docstring says what is measured.

{table(rows)}"""
    show(page, options.out)


if __name__ == "__main__":
    main()
