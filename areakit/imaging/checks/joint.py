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
from dataclasses import dataclass
from typing import NoReturn

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import OutlineNotFound
from areakit.imaging.edge import LUMINANCE, linear_table
from areakit.imaging.sheet_colour import FLARE, SheetDistance
from areakit.imaging.straight_lines import seen_lines

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
    found = [
        joint
        for sign in (1.0, -1.0)
        for angle, offset in seen_lines(np.float32(sign) * light, face, shortest_px=LEAST_RUN_PX)
        for joint in _crossing(np.float32(sign) * light, filled, face, angle, offset)
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
    _, face = _masks([ring - low for ring in rings], light.shape)
    found = []
    for way in (np.float32(1.0), np.float32(-1.0)):
        band, _ = _band(way * light, face, _straightened(way * light, face, ends - low), FLANK[1] + NEAR_PX)
        dips = np.stack([_dip(band.light, FLANK[1] + i) for i in range(2 * NEAR_PX + 1)], axis=1)
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


def _crossing(light: Singles, filled: Flags, face: Flags, angle: float, offset: float) -> Iterator[Joint]:
    """Return each stretch of a line, by normal and offset, that crosses the part and is a joint by all rules."""
    normal = np.array([np.cos(angle), np.sin(angle)])
    along = np.array([-normal[1], normal[0]])
    reach = int(np.hypot(*light.shape)) + 1
    steps = np.arange(-reach, reach + 1)
    places = np.rint(offset * normal + steps[:, None] * along).astype(int)
    known = ((places >= 0) & (places < light.shape[::-1])).all(axis=1)
    inside = np.zeros(len(steps), dtype=bool)
    inside[known] = filled[places[known, 1], places[known, 0]]
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        if last - first < LEAST_RUN_PX:
            continue
        ends = offset * normal + np.array([steps[first], steps[last - 1]])[:, None] * along
        if _sides(filled, ends) < LEAST_SIDE:
            continue
        ends = _straightened(light, face, ends)
        contrast = _joint_contrast(light, face, ends)
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


def _band(light: Singles, face: Flags, ends: Floats, reach: int) -> tuple[_Band, Floats]:
    """Return light on and beside a line, and the line's unit normal."""
    along = ends[1] - ends[0]
    count = int(np.hypot(*along)) + 1
    along = along / np.hypot(*along)
    normal = np.array([along[1], -along[0]])
    beside = np.arange(-reach, reach + 1)
    points = ends[0] + np.arange(count)[:, None, None] * along + beside[None, :, None] * normal
    x, y = (points[..., i].astype(np.float32) for i in (0, 1))
    values = cv2.remap(light, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    known = cv2.remap(face.view(np.uint8), x, y, cv2.INTER_NEAREST, borderMode=cv2.BORDER_CONSTANT)
    return _Band(light=np.asarray(values, dtype=np.float32), known=np.asarray(known, dtype=np.uint8).view(bool)), normal


def _straightened(light: Singles, face: Flags, ends: Floats) -> Floats:
    """Return the line moved and turned onto the darkest places near it."""
    for _ in range(2):
        band, normal = _band(light, face, ends, NEAR_PX + FLANK[1])
        count = len(band.light)
        step = max(count // 8, 4)
        profiles = band.mean((1, 2 * (step // 2) + 1))[step // 2 :: step]
        dips = np.stack([_dip(profiles, FLANK[1] + i) for i in range(2 * NEAR_PX + 1)], axis=1)
        usable = np.isfinite(dips).all(axis=1)
        if usable.sum() < 3:
            return ends
        places = (step // 2 + step * np.arange(len(profiles)))[usable]
        offsets = dips[usable].argmax(axis=1) - float(NEAR_PX)
        for _ in range(2):
            slope, start = np.polyfit(places, offsets, 1)
            miss = np.abs(start + slope * places - offsets)
            near = miss <= max(1.0, 1.5 * float(np.median(miss)))
            if near.sum() < 3:
                break
            places, offsets = places[near], offsets[near]
        ends = ends + np.array([[start], [start + slope * (count - 1)]]) * normal
    return ends


def _dip(profiles: Singles, middle: int) -> Singles:
    """Return how much darker profiles, shape (n, m), are at a place than the mean of both sides."""
    near, far = FLANK
    sides = profiles[:, middle - far : middle - near + 1].mean(axis=1) + profiles[
        :, middle + near : middle + far + 1
    ].mean(axis=1)
    return np.asarray(sides / 2 - profiles[:, middle], dtype=np.float32)


def _joint_contrast(light: Singles, face: Flags, ends: Floats) -> float:
    """Return the contrast of a line, in log light; 0 where it is no joint."""
    band, normal = _band(light, face, ends, REACH_PX)
    near, far = FLANK
    flank = band.mean((far - near + 1, 9))
    own = band.mean((1, 3))
    away, width = (near + far) // 2, own.shape[1]
    left, right = flank[:, : width - 2 * away], flank[:, 2 * away :]
    dips = np.minimum(left, right) - own[:, away : width - away]
    dips[~band.known[:, away : width - away]] = np.nan
    middle = REACH_PX - away
    line = dips[:, middle]
    enough = np.isfinite(dips).sum(axis=0) > max(HALF * len(line), LEAST_RUN_PX / 2)
    if not enough[middle - WIDE_PX : middle + WIDE_PX + 1].all():
        return 0.0
    medians = np.nanmedian(dips[:, enough], axis=0)
    usual = np.full(len(enough), np.nan)
    usual[enough] = medians
    contrast = float(usual[middle])
    sides = [float(np.nanmedian(one[:, middle])) for one in (left, right)]
    wide = max(min(sides) - float(np.nanmedian(own[:, REACH_PX + beside])) for beside in (-WIDE_PX, WIDE_PX))
    step = abs(sides[0] - sides[1])
    usual[middle - far - 2 : middle + far + 3] = np.nan
    beside = _strongest(usual)
    alone = _alone(wide / max(contrast, 1e-6), along_grain=_along_grain(light, face, normal))
    if contrast < max(CONTRAST, OVER_STEP * step, alone * beside) or wide > NARROW * contrast:
        return 0.0
    return contrast if _share_seen(line, HALF_SEEN * contrast) >= SEEN else 0.0


def _alone(width: float, *, along_grain: bool) -> float:
    """Return how many times as strong as the lines beside it a joint must be, by the contrast left beside it."""
    if not along_grain:
        return ALONE
    return FINE_ALONE if width < FINE else ALONG_GRAIN


def _strongest(beside: Floats) -> float:
    """Return the contrast of the strongest line beside a joint, NaN where none could be looked at."""
    known = np.abs(beside[np.isfinite(beside)])
    return float(known.max(initial=USUAL_BESIDE if len(known) < FEW_BESIDE else 0.0))


def _along_grain(light: Singles, face: Flags, normal: Floats) -> bool:
    """Tell whether a line with this normal runs with the grain of the metal, if it has one."""
    soft = cv2.GaussianBlur(light, (0, 0), 1.0)
    dx, dy = (cv2.Sobel(soft, cv2.CV_32F, *way, ksize=3)[face] for way in ((1, 0), (0, 1)))
    xx, yy, xy = float(dx @ dx), float(dy @ dy), float(dx @ dy)
    if np.hypot(xx - yy, 2 * xy) < GRAIN * (xx + yy):
        return False
    across = 0.5 * np.arctan2(2 * xy, xx - yy)
    return bool(abs(normal @ [np.cos(across), np.sin(across)]) > np.cos(GRAIN_TURN))


def _share_seen(line: Singles, least: float) -> float:
    """Return the share of stretches of a line, NaN where it is unknown, that are darker than their sides by enough."""
    size = max(5, len(line) // 16)
    stretches = [line[i : i + size] for i in range(0, max(len(line) - size // 2, 1), max(size // 2, 1))]
    means = [float(np.nanmean(one)) for one in stretches if np.isfinite(one).sum() >= size // 2]
    return float(np.mean(np.array(means) > least)) if means else 0.0


def _sides(filled: Flags, ends: Floats) -> float:
    """Return the smaller of the shares of a part on both sides of a line."""
    rows, columns = np.nonzero(filled)
    along = ends[1] - ends[0]
    side = along[0] * (rows - ends[0, 1]) - along[1] * (columns - ends[0, 0])
    share = float(np.mean(side > 0.0))
    return min(share, 1.0 - share)
