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
from statistics import median
from typing import NoReturn

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import OutlineNotFound
from areakit.imaging.edge import LUMINANCE, linear_table
from areakit.imaging.sheet_colour import FLARE, SheetDistance
from areakit.imaging.straight_lines import lengths, seen_lines

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]

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
    height, width = sheet.distance.shape
    low = np.clip(np.floor(rings[0].min(axis=0)).astype(int) - 1, 0, [width, height])
    high = np.clip(np.ceil(rings[0].max(axis=0)).astype(int) + 2, 0, [width, height])
    if min(high - low) < LEAST_RUN_PX:
        return None
    pixels = sheet.pixels[low[1] : high[1], low[0] : high[0]]
    light = np.log(cv2.transform(linear_table()[pixels], LUMINANCE[None]) + np.float32(FLARE))
    moved = [ring - low for ring in rings]
    filled, face = _masks(moved, light.shape)
    if not face.any():
        return None
    metal, length = _Metal(light=light, filled=filled, face=face), lengths(face)
    found = [
        joint
        for metal in (metal, replace(metal, light=-light))
        for angle, offset in seen_lines(metal.light, face, shortest_px=LEAST_RUN_PX, length=length)
        for joint in _crossing(metal, angle, offset)
    ]
    best = max(found, key=lambda joint: joint.contrast, default=None)
    return None if best is None else Joint(ends=best.ends + low, contrast=best.contrast)


def contrast_along(sheet: SheetDistance, rings: Sequence[Floats], ends: Floats) -> float | None:
    """Return the contrast, in log light, of the clearest line near to where one is looked for; None if it is not seen.

    Parameters
    ----------
    rings : sequence of ndarray, shape (n, 2) each
        The traced outline, outer ring first, in pixels of the crop.
    ends : ndarray, shape (2, 2)
        Where the line should run, in the same pixels.
    """
    height, width = sheet.distance.shape
    low = np.clip(np.floor(rings[0].min(axis=0)).astype(int) - 1, 0, [width, height])
    high = np.clip(np.ceil(rings[0].max(axis=0)).astype(int) + 2, 0, [width, height])
    pixels = sheet.pixels[low[1] : high[1], low[0] : high[0]]
    light = np.log(cv2.transform(linear_table()[pixels], LUMINANCE[None]) + np.float32(FLARE))
    filled, face = _masks([ring - low for ring in rings], light.shape)
    metal, found = _Metal(light=light, filled=filled, face=face), []
    for either in (metal, replace(metal, light=-light)):
        band = _band(either, _straightened(either, ends - low), FLANK[1] + NEAR_PX)
        dips = _dips(band.light)
        known = np.asarray(band.known.all(axis=1))
        if known.sum() < max(HALF * len(known), LEAST_RUN_PX / 2):
            return None
        found.append(float(np.median(dips[known], axis=0).max()))
    return max(found)


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
    """Light of a part, where the part is with its holes filled, and where its face is, clear of all edges."""

    light: Singles
    filled: Flags
    face: Flags

    @cached_property
    def pixels(self) -> tuple[npt.NDArray[np.intp], ...]:
        """Rows and columns of the part, holes filled."""
        return np.nonzero(self.filled)

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
        return across is not None and bool(abs(_normal(ends) @ across) > np.cos(GRAIN_TURN))


def _crossing(metal: _Metal, angle: float, offset: float) -> Iterator[Joint]:
    """Return each stretch of a line, by normal and offset, that crosses the part and is a joint by all rules."""
    shape = metal.light.shape
    normal = np.array([np.cos(angle), np.sin(angle)])
    along = np.array([-normal[1], normal[0]])
    reach = int(np.hypot(*shape)) + 1
    steps = np.arange(-reach, reach + 1)
    places = np.rint(offset * normal + steps[:, None] * along).astype(int)
    known = ((places >= 0) & (places < shape[::-1])).all(axis=1)
    inside = np.zeros(len(steps) + 2, dtype=bool)
    inside[1:-1][known] = metal.filled[places[known, 1], places[known, 0]]
    edges = np.flatnonzero(inside[1:] != inside[:-1])
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        if last - first < LEAST_RUN_PX:
            continue
        ends = offset * normal + np.array([steps[first], steps[last - 1]])[:, None] * along
        if _sides(metal, ends) < LEAST_SIDE:
            continue
        ends = _straightened(metal, ends)
        contrast = _joint_contrast(metal, ends)
        if contrast:
            yield Joint(ends=ends, contrast=contrast)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Band:
    """Light on and beside a line, one pixel apart, shape (n, 2 reach + 1), and where it is that of the face."""

    light: Singles
    known: Flags

    def mean(self, size: tuple[int, int]) -> Singles:
        """Return means over boxes, width by height, of what is known; NaN where nothing is."""
        border = cv2.BORDER_CONSTANT
        total = cv2.blur(np.where(self.known, self.light, np.float32(0.0)), size, borderType=border)
        count = cv2.blur(self.known.astype(np.float32), size, borderType=border)
        return np.asarray(np.where(count > 1e-4, total / np.maximum(count, 1e-4), np.nan), dtype=np.float32)


def _normal(ends: Floats) -> Floats:
    """Return the unit normal of a line."""
    along = ends[1] - ends[0]
    return np.asarray(np.array([along[1], -along[0]]) / np.hypot(*along))


def _band(metal: _Metal, ends: Floats, reach: int) -> _Band:
    """Return light on and beside a line."""
    normal = _normal(ends)
    along = np.array([-normal[1], normal[0]])
    beside, steps = np.arange(-reach, reach + 1), np.arange(int(np.hypot(*(ends[1] - ends[0]))) + 1)[:, None]
    x, y = ((ends[0, i] + steps * along[i] + beside * normal[i]).astype(np.float32) for i in (0, 1))
    values = cv2.remap(metal.light, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    known = cv2.remap(metal.face.view(np.uint8), x, y, cv2.INTER_NEAREST, borderMode=cv2.BORDER_CONSTANT)
    return _Band(light=np.asarray(values, dtype=np.float32), known=np.asarray(known, dtype=np.uint8).view(bool))


def _straightened(metal: _Metal, ends: Floats) -> Floats:
    """Return the line moved and turned onto the darkest places near it."""
    for _ in range(2):
        band = _band(metal, ends, NEAR_PX + FLANK[1])
        count = len(band.light)
        step = max(count // 8, 4)
        dips = _dips(band.mean((1, 2 * (step // 2) + 1))[step // 2 :: step])
        places = step // 2 + step * np.arange(len(dips))
        usable = np.isfinite(dips).all(axis=1)
        places, offsets = places[usable], dips[usable].argmax(axis=1) - float(NEAR_PX)
        if len(places) < 3:
            return ends
        for _ in range(2):
            start, slope = _line_through(places, offsets)
            miss = np.abs(start + slope * places - offsets)
            near = miss <= max(1.0, 1.5 * median(miss.tolist()))
            if near.sum() < 3:
                break
            places, offsets = places[near], offsets[near]
        ends = ends + np.array([[start], [start + slope * (count - 1)]]) * _normal(ends)
    return ends


def _line_through(x: npt.NDArray[np.intp], y: Floats) -> tuple[float, float]:
    """Return start and slope of the straight line of least squares."""
    middle = x.sum() / len(x)
    away = x - middle
    slope = float(away @ y / (away @ away))
    return float(y.sum() / len(y) - slope * middle), slope


def _dips(profiles: Singles) -> Singles:
    """Return how much darker profiles are at each place than the mean of both sides, where both are there."""
    near, far = FLANK
    sums = np.lib.stride_tricks.sliding_window_view(profiles, far - near + 1, axis=1).sum(axis=2)
    sides = (sums[:, : -far - near] + sums[:, far + near :]) / np.float32(2 * (far - near + 1))
    return np.asarray(sides - profiles[:, far:-far], dtype=np.float32)


def _joint_contrast(metal: _Metal, ends: Floats) -> float:
    """Return the contrast of a line, in log light; 0 where it is no joint."""
    dips, left, right, own = _beside(metal, ends, _AWAY + WIDE_PX + 1)  # as far as the line itself is judged by
    line = dips[:, WIDE_PX + 1]
    if not _enough(dips)[1:-1].all():
        return 0.0
    contrast = _median(line)
    sides = [_median(one[:, WIDE_PX + 1]) for one in (left, right)]
    middle = own.shape[1] // 2
    wide = min(sides) - min(_median(own[:, middle + beside]) for beside in (-WIDE_PX, WIDE_PX))
    if contrast < max(CONTRAST, OVER_STEP * abs(sides[0] - sides[1])) or wide > NARROW * contrast:
        return 0.0
    if _share_seen(line, HALF_SEEN * contrast) < SEEN:
        return 0.0
    dips, *_ = _beside(metal, ends, REACH_PX)
    usual = np.array([_median(one) if enough else np.nan for one, enough in zip(dips.T, _enough(dips), strict=True)])
    middle, (_, far) = len(usual) // 2, FLANK
    usual[middle - far - 2 : middle + far + 3] = np.nan
    alone = _alone(wide / max(contrast, 1e-6), along_grain=metal.along_grain(ends))
    return contrast if contrast >= alone * _strongest(usual) else 0.0


def _beside(metal: _Metal, ends: Floats, reach: int) -> tuple[Singles, Singles, Singles, Singles]:
    """Return how much darker a line and those beside it are than both of their sides, both sides, and the light."""
    band, (near, far) = _band(metal, ends, reach), FLANK
    flank, own = band.mean((far - near + 1, 9)), band.mean((1, 3))
    left, right = flank[:, : -2 * _AWAY], flank[:, 2 * _AWAY :]
    dips = np.minimum(left, right) - own[:, _AWAY:-_AWAY]
    dips[~band.known[:, _AWAY:-_AWAY]] = np.nan
    return dips, left, right, own


def _enough(dips: Singles) -> Flags:
    """Tell which lines lie on the face far enough to be judged."""
    known = np.isfinite(dips).sum(axis=0)
    return np.asarray(known > max(HALF * len(dips), LEAST_RUN_PX / 2))


def _median(values: Singles) -> float:
    """Return the median of what is known; NaN where nothing is."""
    ordered = np.sort(values[np.isfinite(values)]).tolist()
    return (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2 if ordered else np.nan


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


def _sides(metal: _Metal, ends: Floats) -> float:
    """Return the smaller of the shares of a part on both sides of a line."""
    rows, columns = metal.pixels
    along = ends[1] - ends[0]
    share = np.count_nonzero(along[0] * rows - along[1] * columns > along[0] * ends[0, 1] - along[1] * ends[0, 0])
    return min(share, len(rows) - share) / len(rows)
