"""A check for two parts that lie flush: a thin straight line that crosses a part from edge to edge may be their joint.

Straight lines are voted for by ridges of light in the metal, and those of which most was seen are looked at once more
along their whole length. A joint is dark, or bright where its edges are broken, on all of its way; it is darker than
the metal on both of its sides, which an edge of a reflection is not; and it stands alone, which grain, threads and
knurls do not. A scratch or an engraved line that ends in the metal is no joint.

The figures were set on the scenes of ``calibration/studies/silent_part.py`` (joint), on good scenes of the accuracy
study and on real photos, which must stay quiet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NoReturn

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import OutlineNotFound
from areakit.imaging.bare_sheet import FLARE
from areakit.imaging.edge import LUMINANCE, linear_table
from areakit.imaging.sheet_colour import SheetDistance
from areakit.imaging.straight_lines import seen_lines

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]
Places = npt.NDArray[np.intp]

LEAST_RUN_PX = 16
"""Length below which a line is not looked at, in pixels of the overview."""
RIM_PX = 3
"""Pixels inside an outline in which its own edge speaks."""
SEEN = 0.9
"""Share of its length along which a joint must be seen."""
HALF_SEEN = 0.35
"""Share of a line's usual contrast from which a stretch of it counts as seen."""
CONTRAST = 0.04
"""Least contrast of a joint, in log light."""
OVER_STEP = 0.25
"""The same as a share of the change from one side to the other: sharpening leaves a faint line along any edge."""
ALONE, ALONG_GRAIN = 2.2, 4.0
"""Contrast of a joint over that of any line parallel to it, across the grain of the metal and along it."""
FEW_BESIDE, USUAL_BESIDE = 8, 0.1
"""Lines beside a joint below which its surroundings do not tell how strong the metal's own lines are, and what is taken
for them then, in log light (drawn brushed metal: 0.05 to 0.16): on a strip hardly wider than a line any streak of its
grain stands alone."""
FINE, FINE_ALONE = 0.15, 1.3
"""Contrast left beside a line (as for NARROW) below which it is finer than grain, and what it must have over the lines
beside it then (drawn brushed metal: grain as fine as that has 1.0 at most, most grain is broader)."""
GRAIN, GRAIN_TURN = 0.3, np.radians(12.0)
"""Share of the changes of light that have one direction from which metal has a grain, and what counts as along it."""
NARROW, WIDE_PX = 0.5, 2
"""Contrast left that far beside a line, as a share of its own, above which it is a streak or a reflection."""
LEAST_SIDE = 0.05
"""Share of the part that must lie on either side: nearer to the outline it is a bevel or a rim."""
HALF = 0.5
"""Share of a line that must lie on the face, clear of holes, so that it can be judged."""
NEAR_PX = 3
"""How far from where it was voted for a line may lie."""
FLANK = (3, 5)
"""How far beside a line the metal is looked at."""
_AWAY = sum(FLANK) // 2
REACH_PX = 40
"""How far the lines beside it lie at most."""
APART = 4
"""Pixels along a line, either way, over which its sides are averaged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """A line that may be a joint: its ends, shape (2, 2), in pixels of the crop, and its contrast in log light."""

    ends: Floats
    contrast: float


def two_parts(x_mm: float, y_mm: float) -> NoReturn:
    """Refuse what a person said is two parts: one outline has neither the area of each nor their walls at the joint.

    Raises
    ------
    OutlineNotFound
    """
    raise OutlineNotFound(
        f"Two parts lie flush along a joint at ({x_mm:.1f}, {y_mm:.1f}) mm and have one outline.",
        remedy="Move the parts at least 3 mm apart, and take the photo again.",
        code="PARTS_FLUSH",
    )


def joint_line(sheet: SheetDistance, rings: Sequence[Floats]) -> Joint | None:
    """Return the line across a part that may be a joint between two.

    Parameters
    ----------
    rings : sequence of ndarray, shape (n, 2) each
        The traced outline, outer ring first, in pixels of the crop.
    """
    metal = _metal(sheet, rings)
    if min(metal.light.shape) < LEAST_RUN_PX or not metal.face.any():
        return None
    found = [
        joint
        for metal, lines in zip((metal, metal.turned()), seen_lines(metal.light, metal.face, LEAST_RUN_PX), strict=True)
        for joint in _joints(metal, _crossing(metal, lines))
    ]
    best = max(found, key=lambda joint: joint.contrast, default=None)
    return None if best is None else replace(best, ends=best.ends + metal.corner)


def contrast_along(sheet: SheetDistance, rings: Sequence[Floats], ends: Floats) -> float | None:
    """Return the contrast, in log light, of the clearest line near to where one is looked for; None if it is not seen.

    Parameters
    ----------
    rings : sequence of ndarray, shape (n, 2) each
        The traced outline, outer ring first, in pixels of the crop.
    ends : ndarray, shape (2, 2)
        Where the line should run, in the same pixels.
    """
    metal, found = _metal(sheet, rings), []
    for either in (metal, metal.turned()):
        band = _band(either, _straightened(either, (ends - metal.corner)[None]), FLANK[1] + NEAR_PX)
        (line,) = band.lines
        dips = _dips(band.light[line])
        known = np.asarray(band.known[line].all(axis=1))
        if known.sum() < max(HALF * len(known), LEAST_RUN_PX / 2):
            return None
        found.append(float(np.median(dips[known], axis=0).max()))
    return max(found)


def _metal(sheet: SheetDistance, rings: Sequence[Floats]) -> _Metal:
    """Return the light of a part in its box."""
    limit = sheet.distance.shape[::-1]
    low = np.clip(np.floor(rings[0].min(axis=0)).astype(int) - 1, 0, limit)
    high = np.clip(np.ceil(rings[0].max(axis=0)).astype(int) + 2, 0, limit)
    linear = cv2.LUT(sheet.pixels[low[1] : high[1], low[0] : high[0]], linear_table())
    light = np.log(cv2.transform(linear, LUMINANCE[None]) + np.float32(FLARE))
    filled, face = _masks([ring - low for ring in rings], light.shape)
    return _Metal(light=light, filled=filled, face=face, corner=low)


def _masks(rings: Sequence[Floats], shape: tuple[int, ...]) -> tuple[Flags, Flags]:
    """Return where the part is, its holes filled, and where its face is clear of all edges."""
    filled, face = np.zeros(shape, dtype=np.uint8), np.zeros(shape, dtype=np.uint8)
    for i, ring in enumerate(rings):
        corners = [np.rint(ring * 16).astype(np.int32)]
        cv2.fillPoly(face, corners, 0 if i else 1, shift=4)
        if not i:
            cv2.fillPoly(filled, corners, 1, shift=4)
    return _clear(filled), _clear(face)


def _clear(mask: Bytes) -> Flags:
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * RIM_PX + 1,) * 2)
    kept = cv2.erode(mask, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0)
    return np.asarray(kept, dtype=np.uint8).view(bool)


@dataclass(frozen=True, kw_only=True)
class _Metal:
    """Light of a part, where the part is with its holes filled, where its face is, clear of all edges, and where."""

    light: Singles
    filled: Flags
    face: Flags
    corner: Places

    @cached_property
    def pixels(self) -> Singles:
        """Rows and columns of the part, holes filled, shape (2, n)."""
        return np.stack(np.nonzero(self.filled)).astype(np.float32)

    def turned(self) -> _Metal:
        """Return the same with dark for bright."""
        return replace(self, light=-self.light)

    @cached_property
    def across_grain(self) -> Floats | None:
        """The direction across the grain of the metal, None where it has none."""
        soft = cv2.GaussianBlur(self.light, (0, 0), 1.0)
        dx, dy = (cv2.Sobel(soft, cv2.CV_32F, *way, ksize=3)[self.face] for way in ((1, 0), (0, 1)))
        xx, yy, xy = float(dx @ dx), float(dy @ dy), float(dx @ dy)
        if np.hypot(xx - yy, 2 * xy) < GRAIN * (xx + yy):
            return None
        across = 0.5 * np.arctan2(2 * xy, xx - yy)
        return np.array([np.cos(across), np.sin(across)])

    def along_grain(self, ends: Floats) -> bool:
        """Tell whether a line goes along the grain of the metal."""
        across = self.across_grain
        return across is not None and bool(abs(_normals(ends[None])[0] @ across) > np.cos(GRAIN_TURN))


def _crossing(metal: _Metal, lines: Sequence[tuple[float, float]]) -> Floats:
    """Return the ends, shape (n, 2, 2), of each stretch of lines, by normal and offset, that crosses the part."""
    shape = metal.light.shape
    angle, offset = np.array(lines).reshape(-1, 2).T
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    along = np.stack([-normal[:, 1], normal[:, 0]], axis=1)
    reach = int(np.hypot(*shape)) + 1
    steps = np.arange(-reach, reach + 1)
    middle = offset[:, None] * normal
    places = np.rint(middle[:, None] + steps[:, None] * along[:, None]).astype(int)
    known = ((places >= 0) & (places < shape[::-1])).all(axis=2)
    inside = np.zeros((len(lines), len(steps) + 2), dtype=bool)
    inside[:, 1:-1][known] = metal.filled[places[known, 1], places[known, 0]]
    line, edge = np.nonzero(inside[:, 1:] != inside[:, :-1])
    line, first, last = line[::2], edge[::2], edge[1::2]
    ends = middle[line, None] + np.stack([steps[first], steps[last - 1]], axis=1)[:, :, None] * along[line, None]
    ends = ends[last - first >= LEAST_RUN_PX]
    return np.asarray(ends[_sides(metal, ends) >= LEAST_SIDE])


def _joints(metal: _Metal, ends: Floats) -> Iterator[Joint]:
    """Return which of some lines are joints by all rules."""
    ends = _straightened(metal, ends)
    for line, contrast in zip(ends, _joint_contrasts(metal, ends), strict=True):
        if contrast:
            yield Joint(ends=line, contrast=contrast)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Band:
    """Light on and beside lines, one pixel apart, shape (n, 2 reach + 1), and where it is that of the face.

    The lines follow each other, row by row, with some unknown rows after each; ``lines`` tells which rows are whose.
    """

    light: Singles
    known: Flags
    lines: list[slice]

    def mean(self, size: tuple[int, int]) -> Singles:
        """Return means over boxes, width by height, of what is known; NaN where nothing is."""
        border = cv2.BORDER_CONSTANT
        total = cv2.blur(np.where(self.known, self.light, np.float32(0.0)), size, borderType=border)
        count = cv2.blur(self.known.astype(np.float32), size, borderType=border)
        return np.asarray(np.where(count > 1e-4, total / np.maximum(count, 1e-4), np.nan), dtype=np.float32)

    def means(self, first: Places, last: Places) -> Floats:
        """Return means of what is known from one row to before another, both (...,), shape (..., width), else NaN."""
        sums = np.zeros((2, len(self.light) + 1, self.light.shape[1]))
        np.cumsum(np.where(self.known, self.light, np.float32(0.0)), axis=0, dtype=float, out=sums[0, 1:])
        np.cumsum(self.known, axis=0, dtype=float, out=sums[1, 1:])
        total, count = sums[:, last] - sums[:, first]
        return np.asarray(np.where(count > 0.5, total / np.maximum(count, 0.5), np.nan))


def _normals(ends: Floats) -> Floats:
    """Return the unit normals, shape (n, 2), of lines."""
    along = ends[:, 1] - ends[:, 0]
    return np.asarray(np.stack([along[:, 1], -along[:, 0]], axis=1) / np.hypot(along[:, 0], along[:, 1])[:, None])


def _band(metal: _Metal, ends: Floats, reach: int) -> _Band:
    """Return light on and beside lines, by their ends, shape (n, 2, 2)."""
    counts = np.hypot(*(ends[:, 1] - ends[:, 0]).T).astype(int) + 1
    starts = np.cumsum(counts + APART) - (counts + APART)
    line = np.repeat(np.arange(len(ends)), counts + APART)
    beside, steps = np.arange(-reach, reach + 1), (np.arange(len(line)) - starts[line])[:, None]
    normal = _normals(ends)[line, None]
    x, y = (
        (ends[line, None, 0, i] + steps * along + beside * normal[..., i]).astype(np.float32)
        for i, along in enumerate((-normal[..., 1], normal[..., 0]))
    )
    values = cv2.remap(metal.light, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    face = cv2.remap(metal.face.view(np.uint8), x, y, cv2.INTER_NEAREST, borderMode=cv2.BORDER_CONSTANT)
    known = np.asarray(face, dtype=np.uint8).view(bool) & (steps < counts[line, None])
    rows = [slice(start, start + count) for start, count in zip(starts.tolist(), counts.tolist(), strict=True)]
    return _Band(light=np.asarray(values, dtype=np.float32), known=known, lines=rows)


def _straightened(metal: _Metal, ends: Floats) -> Floats:
    """Return lines, by their ends, shape (n, 2, 2), moved and turned onto the darkest places near them."""
    for _ in range(2 if len(ends) else 0):
        band = _band(metal, ends, NEAR_PX + FLANK[1])
        starts = np.array([rows.start for rows in band.lines])[:, None]
        counts = np.array([rows.stop for rows in band.lines])[:, None] - starts
        step = np.maximum(counts // 8, 4)
        places = step // 2 + step * np.arange(int(np.max(counts // step)) + 1)
        first = np.minimum(places - step // 2, counts)
        last = np.minimum(places + step // 2 + 1, counts)
        dips = _dips(band.means(starts + first, starts + last))
        usable = np.isfinite(dips).all(axis=2) & (places < counts)
        offsets = dips.argmax(axis=2) - float(NEAR_PX)
        settled = usable.sum(axis=1) < 3
        usable[settled] = True
        start, slope = _lines_through(places, offsets, usable)
        miss = np.abs(start + slope * places - offsets)
        near = usable & (miss <= np.maximum(1.0, 1.5 * _medians(np.where(usable, miss, np.nan).T)[:, None]))
        few = near.sum(axis=1) < 3
        near[few] = usable[few]
        start, slope = _lines_through(places, offsets, near)
        shift = np.where(settled[:, None], 0.0, np.concatenate([start, start + slope * (counts - 1)], axis=1))
        ends = ends + shift[:, :, None] * _normals(ends)[:, None]
    return ends


def _lines_through(x: Places, y: Floats, chosen: Flags) -> tuple[Floats, Floats]:
    """Return start and slope, shape (n, 1) each, of the lines of least squares through chosen places, shape (n, m)."""
    count = chosen.sum(axis=1, keepdims=True)
    middle = (x * chosen).sum(axis=1, keepdims=True) / count
    away = (x - middle) * chosen
    slope = (away * y).sum(axis=1, keepdims=True) / np.maximum((away * away).sum(axis=1, keepdims=True), 1e-9)
    return (y * chosen).sum(axis=1, keepdims=True) / count - slope * middle, slope


def _dips(profiles: npt.NDArray[Any]) -> Singles:
    """Return how much darker profiles, shape (..., m), are than the mean of both sides, where both are there."""
    near, far = FLANK
    sums = np.lib.stride_tricks.sliding_window_view(profiles, far - near + 1, axis=-1).sum(axis=-1)
    sides = (sums[..., : -far - near] + sums[..., far + near :]) / np.float32(2 * (far - near + 1))
    return np.asarray(sides - profiles[..., far:-far], dtype=np.float32)


def _joint_contrasts(metal: _Metal, ends: Floats) -> list[float]:
    """Return the contrasts of lines, in log light; 0 where one is no joint."""
    found = [0.0] * len(ends)
    if not found:
        return found
    beside, lines = _beside(metal, ends, _AWAY + WIDE_PX + 1)  # as far as the line itself is judged by
    for i, rows in enumerate(lines):
        contrast, wide = _contrast(*(one[rows] for one in beside))
        if contrast and contrast >= _needed(metal, ends[i], wide / max(contrast, 1e-6)):
            found[i] = contrast
    return found


def _contrast(dips: Singles, left: Singles, right: Singles, own: Singles) -> tuple[float, float]:
    """Return the contrast of a line, 0 where it is no joint by itself, and what is left of it beside it."""
    line, at = dips[:, WIDE_PX + 1], own.shape[1] // 2
    five = (line, left[:, WIDE_PX + 1], right[:, WIDE_PX + 1], own[:, at - WIDE_PX], own[:, at + WIDE_PX])
    contrast, one_side, other, *beside = _medians(np.stack(five, axis=1)).tolist()
    if contrast < CONTRAST or not _enough(dips)[1:-1].all():
        return 0.0, 0.0
    wide = min(one_side, other) - min(beside)
    faint = contrast < OVER_STEP * abs(one_side - other) or wide > NARROW * contrast
    return (0.0 if faint or _share_seen(line, HALF_SEEN * contrast) < SEEN else contrast), wide


def _needed(metal: _Metal, ends: Floats, width: float) -> float:
    """Return what contrast a line must have among those beside it."""
    (dips, *_), _ = _beside(metal, ends[None], REACH_PX)
    usual = np.where(_enough(dips), _medians(dips), np.nan)
    middle, (_, far) = len(usual) // 2, FLANK
    usual[middle - far - 2 : middle + far + 3] = np.nan
    return _alone(width, along_grain=metal.along_grain(ends)) * _strongest(usual)


def _beside(metal: _Metal, ends: Floats, reach: int) -> tuple[tuple[Singles, ...], list[slice]]:
    """Return how much darker lines and those beside them are than both of their sides, both sides, and the light.

    Which rows are whose comes last.
    """
    band, (near, far) = _band(metal, ends, reach), FLANK
    flank, own = band.mean((far - near + 1, 2 * APART + 1)), band.mean((1, 3))
    left, right = flank[:, : -2 * _AWAY], flank[:, 2 * _AWAY :]
    dips = np.minimum(left, right) - own[:, _AWAY:-_AWAY]
    dips[~band.known[:, _AWAY:-_AWAY]] = np.nan
    return (dips, left, right, own), band.lines


def _enough(dips: Singles) -> Flags:
    """Tell which lines lie on the face far enough to be judged."""
    known = np.isfinite(dips).sum(axis=0)
    return np.asarray(known > max(HALF * len(dips), LEAST_RUN_PX / 2))


def _medians(values: npt.NDArray[Any]) -> Floats:
    """Return the median of what is known in each column, shape (n, m); NaN where nothing is."""
    ordered = np.sort(values, axis=0)  # NaN sorts last
    count, columns = np.isfinite(values).sum(axis=0), np.arange(values.shape[1])
    low, high = ordered[np.maximum(count - 1, 0) // 2, columns], ordered[count // 2 - (count == 0), columns]
    return np.asarray((low.astype(float) + high) / 2)


def _alone(width: float, *, along_grain: bool) -> float:
    """Return how many times as strong as the lines beside it a joint must be, by the contrast left beside it."""
    if not along_grain:
        return ALONE
    return FINE_ALONE if width < FINE else ALONG_GRAIN


def _strongest(beside: Floats) -> float:
    """Return the contrast of the strongest line beside a joint, NaN where none could be looked at."""
    known = np.abs(beside[np.isfinite(beside)])
    return float(known.max(initial=USUAL_BESIDE if len(known) < FEW_BESIDE else 0.0))


def _share_seen(line: Singles, least: float) -> float:
    """Return the share of stretches of a line, NaN where it is unknown, that are darker than their sides by enough."""
    size = max(5, len(line) // 16)
    first = np.arange(0, max(len(line) - size // 2, 1), max(size // 2, 1))
    last = np.minimum(first + size, len(line))
    known = np.isfinite(line)
    count, total = (
        np.concatenate([[0.0], np.cumsum(one)]) for one in (known, np.where(known, line, np.float32(0.0)).astype(float))
    )
    there = count[last] - count[first]
    judged = there >= size // 2
    means = (total[last] - total[first])[judged] / there[judged]
    return float(np.mean(means > least)) if judged.any() else 0.0


def _sides(metal: _Metal, ends: Floats) -> Floats:
    """Return the smaller of the shares of a part on both sides of lines, shape (n,)."""
    down, across = (ends[:, 1] - ends[:, 0]).T[::-1]
    toward = np.stack([across, -down], axis=1)
    limit = (toward * ends[:, 0, ::-1]).sum(axis=1, keepdims=True)
    count = metal.pixels.shape[1]
    share = np.count_nonzero(toward.astype(np.float32) @ metal.pixels > limit, axis=1)
    return np.asarray(np.minimum(share, count - share) / max(count, 1))
