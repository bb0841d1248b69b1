"""Real photographs with known sizes: how many truths lie inside the uncertainty that areakit states, set by set.

``python -m calibration.studies.real_photos [--photos FOLDER] [--out FILE]``; the folder is AREAKIT_PHOTOS unless named,
with one sub-folder a set. Nothing of a photo is kept: the table holds counts and errors. What is known of the sets:

- coins on a plain A4 sheet: areas from the mint's diameters (from memory, unverified), which the set holds to 2 % of
  area;
- coins beside a coin: the same, one coin as the mark of the others;
- boards of chequers and of coded markers: squares of one print are equal, so part of the board measures the rest of it,
  and the share for the print's own size is left out of the uncertainty;
- machined parts: no scale, but holes over outline, which repeats in the set; stated is what 1.5 px of edge leave open.
"""

from __future__ import annotations

import argparse
import csv
import os
import re
import statistics
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import permutations
from pathlib import Path

import numpy as np
import numpy.typing as npt
from shapely.geometry import Polygon

from areakit.errors import AreakitError
from areakit.flags import place_asked
from areakit.imaging.camera import usual_prior
from areakit.imaging.marks.grid import Pattern, board_scale, find_pattern
from areakit.imaging.marks.wanted import read_mark
from areakit.imaging.photo import overview, read_photo
from areakit.imaging.scale import PlaneScale
from areakit.service.measure import MeasuredPart, MeasureRequest, MeasureResult, measure

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

COIN_HEIGHT = "1.7 ± 0.4 mm"
COIN_SHARE = 0.02
"""How well the set of coins on A4 holds its own truth, share of area (manifest: 1 % of diameter)."""
COLOURED_COINS = {"10new", "10old"}
"""Those of copper and brass in that set; the others are of cupronickel."""
COLOURED, GREY, BY_COIN, BOARD, DARK = (
    "coins on A4, coloured metal",
    "coins on A4, grey metal",
    "coins beside a coin, grey metal on pale",
    "boards",
    "bare metal on dark ground",
)
KM_DIAMETERS = {2.0: 25.75, 1.0: 23.25, 0.05: 18.0}
"""Diameters of the coins in set km_coins_sum, from memory, unverified. [mm]"""
KM_CONTENTS = {"4i05KM": (2.0, 1.0, 1.0, 0.05), "5i05KM": (2.0, 1.0, 1.0, 1.0, 0.05), "7KM": (2.0, *[1.0] * 5),
               "7i05KM": (2.0, *[1.0] * 5, 0.05)}  # fmt: skip
HOLE_SHARE = {"B": 0.383, "D": 0.154}
EDGE_PX = 1.5
"""What chamfers, countersinks and seen walls leave open of an edge of the machined parts. [px]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One truth in one photo: what was measured, its expanded uncertainty, or the code of a refusal; flags."""

    set: str
    photo: str
    stratum: str = ""
    true: float = 0.0
    value: float = 0.0
    expanded: float = 0.0
    refused: str = ""
    flags: tuple[str, ...] = ()

    @property
    def inside(self) -> bool:
        """Whether the truth lies inside the stated uncertainty."""
        return abs(self.value - self.true) <= self.expanded


def coins_on_paper(folder: Path) -> Iterator[Row]:
    """46 coins by the edges of an A4 sheet; a frame whose sheet is cut off is refused."""
    with (folder / "layout_1531xx_truth.csv").open(encoding="utf-8", newline="") as file:
        listed = list(csv.DictReader(file))
    for path in sorted(folder.glob("*.jpg")):
        result = next(measure([path], MeasureRequest(thickness=COIN_HEIGHT)))
        if result.error is not None:
            yield Row(set=folder.name, photo=path.name, refused=result.error.code)
        elif path.name.startswith("20201011_1531"):
            yield from _paired(folder.name, result, listed)


def _paired(name: str, result: MeasureResult, listed: list[dict[str, str]]) -> Iterator[Row]:
    """Pair each part with the coin where it lies."""
    for part, nearest in zip(result.parts, nearest_coins(result, listed), strict=True):
        true = float(listed[nearest]["area_mm2"])
        expanded = float(np.hypot(part.surface.face.expanded_uncertainty, COIN_SHARE * true))
        yield Row(
            set=name, photo=result.name, true=true, value=part.surface.face.value, expanded=expanded,
            flags=_codes(result, part), stratum=COLOURED if listed[nearest]["coin"] in COLOURED_COINS else GREY,
        )  # fmt: skip


def nearest_coins(result: MeasureResult, listed: list[dict[str, str]]) -> list[int]:
    """Return for each part the number of the coin where it lies; the axes of a plain sheet may start at any corner."""
    assert result.found is not None
    scale = result.found.scale
    places = np.array([(float(row["x_mm_on_sheet"]), float(row["y_mm_on_sheet"])) for row in listed])
    middles = np.array([scale.camera.to_sheet(part.rings_px[0]).mean(axis=0) for part in result.parts])
    width, height = scale.field_mm[2:]
    x, y = places.T
    turned = [(x, y), (width - x, height - y), (y, height - x), (width - y, x)]
    apart = [np.linalg.norm(middles[:, None] - np.column_stack(pair)[None], axis=2) for pair in turned]
    best = min(apart, key=lambda distances: float(distances.min(axis=1).sum()))
    return [int(number) for number in best.argmin(axis=1)]


def coins_by_a_coin(folder: Path) -> Iterator[Row]:
    """Coins of a known sum, one of them the mark; which it was, the ratios of sizes tell (they are 10 % apart)."""
    for path in sorted(folder.glob("*.jpg")):
        contents = KM_CONTENTS.get(path.stem)
        if contents is None:
            continue
        tries = [list(_as_coin(folder.name, path, taken, contents)) for taken in (2.0, 1.0)]
        yield from min(tries, key=lambda rows: sum(abs(row.value - row.true) + 1e6 * bool(row.refused) for row in rows))


def _as_coin(name: str, path: Path, taken: float, contents: tuple[float, ...]) -> Iterator[Row]:
    mark = f"coin:{KM_DIAMETERS[taken]} mm"
    result = next(measure([path], MeasureRequest(mark=mark, thickness="1.9 ± 0.3 mm")))
    if result.error is not None and result.error.code == "COIN_AMONG_OTHERS":
        # The widest is the coin of 2 or, where there is none, of 1: that one is pointed at.
        places = re.findall(r"(\d+,\d+) \((\d+) px", result.error.remedy)
        tapped = max(places, key=lambda place: int(place[1]))[0]
        result = next(measure([path], MeasureRequest(mark=f"{mark}@{tapped}", thickness="1.9 ± 0.3 mm")))
    if result.error is not None:
        yield Row(set=name, photo=path.name, refused=result.error.code)
        return
    left = list(contents)
    left.remove(taken)
    true = [np.pi / 4 * KM_DIAMETERS[coin] ** 2 for coin in left]
    faces = [part.surface.face for part in result.parts]
    # Coins beside the mark may be left out, or be more than the sum says; the nearest pairing counts.
    chosen = min(
        permutations(true, min(len(faces), len(true))),
        key=lambda order: sum(abs(f.value - t) for f, t in zip(faces, order, strict=False)),
    )
    for part, area in zip(result.parts, chosen, strict=False):
        face = part.surface.face
        yield Row(
            set=name, photo=path.name, true=float(area), value=face.value, expanded=face.expanded_uncertainty,
            flags=_codes(result, part), stratum=BY_COIN,
        )  # fmt: skip


def chequer_blocks(columns: int, rows: int) -> Callable[[Path], Iterator[Row]]:
    """Return what lets the 2 x 2 squares in the middle of a chequerboard measure the whole of it."""

    def of(folder: Path) -> Iterator[Row]:
        for path in sorted(folder.glob("*.jpg")):
            yield from _by_the_middle(folder.name, path, columns, rows)

    return of


def _by_the_middle(name: str, path: Path, columns: int, rows: int) -> Iterator[Row]:
    def near(points: Floats, pitch: float) -> Mask:
        middle = points[np.linalg.norm(points - np.median(points, axis=0), axis=1).argmin()]
        return np.asarray(np.abs(points - middle).max(axis=1) < 1.2 * pitch)

    return _whole_by_part(name, path, f"chequer:{columns}x{rows},30 mm", near)


def marker_blocks(folder: Path) -> Iterator[Row]:
    """A board of 4 x 5 coded markers (37.5 mm, gap 5 mm): four in one corner measure the block of all twenty."""

    def near(points: Floats, pitch: float) -> Mask:
        return np.asarray((points <= points.min(axis=0) + 2 * pitch).all(axis=1))

    for path in sorted(folder.glob("*.jpg")):
        yield from _whole_by_part(folder.name, path, "markers:6x6,4x5,37.5 mm,5 mm", near)


def _whole_by_part(name: str, path: Path, mark: str, near: Callable[[Floats, float], Mask]) -> Iterator[Row]:
    """Take the corners of a pattern that are near as the mark, and measure the whole of it by its four ends."""
    wanted = read_mark(mark)
    try:
        photo = read_photo(path)
        pattern = find_pattern(photo, overview(photo), wanted)
        prior = usual_prior(photo.width_px, photo.height_px, photo.focal_px)
        board_scale(photo, pattern, prior, kind=wanted.kind)  # refuses a board that is not flat
        chosen = near(pattern.points_mm, pattern.pitch_mm)
        scale = board_scale(photo, _part_of(pattern, chosen), prior, kind=wanted.kind)
    except AreakitError as error:
        yield Row(set=name, photo=path.name, refused=error.code)
        return
    low, high = pattern.points_mm.min(axis=0), pattern.points_mm.max(axis=0)
    ends = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    seen = np.array([pattern.points_px[np.linalg.norm(pattern.points_mm - end, axis=1).argmin()] for end in ends])
    value, expanded = area_and_u(scale, seen)
    true = float(np.prod(high - low))
    yield Row(set=name, photo=path.name, true=true, value=value, expanded=expanded, stratum=BOARD)


def _part_of(pattern: Pattern, chosen: Mask) -> Pattern:
    points = pattern.points_mm[chosen]
    return replace(
        pattern, points_mm=points, points_px=pattern.points_px[chosen], low_mm=points.min(axis=0),
        high_mm=points.max(axis=0), total=len(points),
    )  # fmt: skip


MOST_ANSWERS = 30


def machined_parts(folder: Path) -> Iterator[Row]:
    """Holes over outline of the parts on a plain ground, by two taps of any length: the ratio needs no scale."""
    for path in sorted(folder.glob("[BD][5-9].jpg")):
        photo = read_photo(path)
        width, height = photo.width_px, photo.height_px
        taps = f"taps:{0.02 * width:.0f},{0.02 * height:.0f},{0.98 * width:.0f},{0.02 * height:.0f},100 mm"
        result, known = next(measure([path], MeasureRequest(mark=taps))), tuple[str, ...]()
        while asked := _asked(result):  # three at a time; whoever holds the part knows that these are holes
            known = (*known, *asked)
            result = next(measure([path], MeasureRequest(mark=taps, holes=known)))
            if len(known) > MOST_ANSWERS:
                break
        if result.error is not None:
            yield Row(set=folder.name, photo=path.name, refused=result.error.code)
            continue
        part = max(result.parts, key=lambda one: one.surface.face.value)
        rings = [Polygon(ring) for ring in part.rings_px]
        outer, holes = rings[0].area, sum(ring.area for ring in rings[1:])
        edges = sum(ring.length for ring in rings[1:]) / outer + holes * rings[0].length / outer**2
        yield Row(
            set=folder.name, photo=path.name, true=HOLE_SHARE[path.stem[0]], value=holes / outer,
            expanded=EDGE_PX * edges, flags=_codes(result, part), stratum=DARK,
        )  # fmt: skip


def _asked(result: MeasureResult) -> tuple[str, ...]:
    """Return the points that a result asks about, as they are given back."""
    places = (place_asked(flag) for flag in result.flags)
    return tuple(place for place in places if place)


SETS: dict[str, tuple[str, Callable[[Path], Iterator[Row]]]] = {
    "won_coins_a4": ("coins by the edges of A4", coins_on_paper),
    "km_coins_sum": ("coins by one of them", coins_by_a_coin),
    "phone_chess_30mm": ("board by 2 x 2 squares in its middle", chequer_blocks(7, 9)),
    "wideangle_chess": ("the same, wide angle", chequer_blocks(9, 6)),
    "marker_board_375": ("block of 20 markers by 4 in a corner", marker_blocks),
    "machined_parts_holes": ("holes over outline, to 1.5 px of edge", machined_parts),
}


def area_and_u(scale: PlaneScale, outline_px: Floats) -> tuple[float, float]:
    """Area of an outline at the level of the sheet, and what the scale leaves open, print size left out (k = 2).

    First-order propagation of the camera's covariance (JCGM 100:2008, 5.2.2) by central differences.
    """
    camera = scale.camera
    middle = _area(camera.to_sheet(outline_px))
    root = np.linalg.cholesky(camera.covariance + 1e-24 * np.eye(len(camera.parameters)))
    slopes = []
    for column in root.T:
        ends = [
            _area(camera.with_parameters(camera.parameters + s * column).to_sheet(outline_px)) for s in (0.02, -0.02)
        ]
        slopes.append((ends[0] - ends[1]) / 0.04 / middle)
    shares = [
        np.square(pair).sum() for name, pair in scale.sheet_scale.shares.items() if name != "unverified sheet copy"
    ]
    level = 2 * scale.flatness_mm / camera.height_mm
    return middle, 2 * middle * float(np.sqrt(np.sum(np.square(slopes)) + sum(shares) + level**2))


def _area(ring: Floats) -> float:
    x, y = ring.T
    return 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


def _codes(result: MeasureResult, part: MeasuredPart) -> tuple[str, ...]:
    assert result.found is not None
    return tuple(sorted({flag.code for flag in (*result.found.flags, *part.surface.flags)}))


def rows_of(photos: Path) -> list[Row]:
    """Return every row of the sets that are there."""
    return [row for name, (_, of) in SETS.items() if (photos / name).is_dir() for row in of(photos / name)]


def table(rows: list[Row]) -> str:
    """Return the table: how many truths lie inside, how far off they are, how wide the uncertainty is."""
    lines = [
        "| photos of | truths | inside what is stated | error, median (largest) | stated, median | refused photos |",
        "|---|---|---|---|---|---|",
    ]
    for name, (what, _) in SETS.items():
        here = [row for row in rows if row.set == name]
        found = [row for row in here if not row.refused]
        codes = sorted({row.refused for row in here if row.refused})
        refused = f"{sum(bool(row.refused) for row in here)} ({', '.join(codes)})" if codes else "0"
        if not found:
            lines.append(f"| {what} | 0 | - | - | - | {refused} |")
            continue
        errors = [100 * (row.value / row.true - 1) for row in found]
        largest = max(errors, key=abs)
        stated = statistics.median(100 * row.expanded / row.true for row in found)
        inside = sum(row.inside for row in found)
        lines.append(
            f"| {what} | {len(found)} | {inside} ({100 * inside / len(found):.0f} %) | "
            f"{statistics.median(errors):+.1f} % ({largest:+.1f} %) | ± {stated:.1f} % | {refused} |"
        )
    return "\n".join(lines) + "\n"


def strata(rows: list[Row]) -> str:
    """Return the table by ground and metal: coverage, median U, median size of the errors, mean error."""
    lines = [
        "| stratum | truths | inside | stated U, median | size of error, median | error, mean |",
        "|---|---|---|---|---|---|",
    ]
    for stratum in (COLOURED, GREY, BY_COIN, BOARD, DARK):
        here = [row for row in rows if row.stratum == stratum]
        if not here:
            continue
        errors = [100 * (row.value / row.true - 1) for row in here]
        lines.append(
            f"| {stratum} | {len(here)} | {100 * sum(row.inside for row in here) / len(here):.0f} % | "
            f"{statistics.median(100 * row.expanded / row.true for row in here):.1f} % | "
            f"{statistics.median(map(abs, errors)):.1f} % | {statistics.fmean(errors):+.1f} % |"
        )
    return "\n".join(lines) + "\n"


def sums_of_coins(rows: list[Row]) -> dict[str, float]:
    """Return by how much the sum of all coins of a photo is off, as a share."""
    found: dict[str, list[Row]] = {}
    for row in rows:
        if row.set == "won_coins_a4" and not row.refused:
            found.setdefault(row.photo, []).append(row)
    return {photo: sum(r.value for r in here) / sum(r.true for r in here) - 1 for photo, here in found.items()}


def report(rows: list[Row]) -> str:
    """Return the whole page."""
    sums = sums_of_coins(rows)
    words = "; ".join(f"photo {i}: {100 * share:+.1f} %" for i, share in enumerate(sums.values(), start=1))
    outside = [row for row in rows if not row.refused and not row.inside]
    told = sum(bool(set(row.flags) & DOUBTS) for row in outside)
    measured = sum(not row.refused for row in rows)
    return f"""# Real photographs

Made by `python -m calibration.studies.real_photos`; the photographs are no part of the project. The command's docstring says
where the truths are from, and what is stated.

{table(rows)}
By ground and metal; of the coins on A4, U holds 2 % for their truth:

{strata(rows)}
Sum of the 46 coins on A4: {words}. The second photo is over-exposed, and flagged.

Outside: {len(outside)} of {measured} truths, {told} of them in a photo or part with a flag that doubts its outline.
"""  # noqa: E501


DOUBTS = {"OVER_EXPOSED_SHEET", "OVER_EXPOSED_PART", "WEAK_EDGE", "PART_NOT_MEASURED", "SHADOW_AT_EDGE", "SMALL_HOLES"}
"""Flags that tell a person to look at the outline."""


def main() -> None:
    """Measure, print the table, and write it where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=Path, default=os.environ.get("AREAKIT_PHOTOS"))
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    if options.photos is None or not Path(options.photos).is_dir():
        parser.error("the photographs are not here: set AREAKIT_PHOTOS or name their folder with --photos")
    page = report(rows_of(Path(options.photos)))
    print(page)
    if options.out:
        options.out.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
