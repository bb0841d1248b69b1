"""Tell parts from sheet in the overview: coarse outlines with holes, and what could not be decided."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.sheet_colour import SheetDistance

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]
Bytes = npt.NDArray[np.uint8]

THRESHOLDS = (3.0, 4.5, 6.5, 9.0, 13.0)
"""Distances from bare sheet that are tried; the one whose outline runs along the sharpest edges wins."""
SHARES = (0.2, 0.3, 0.4, 0.5, 0.6)
"""The same, as shares of the region's own usual distance: a soft edge is half metal where the distance is half."""
RESPLIT = (5.0, 8.0)
"""Thresholds at which a region that reaches the field's edge is split again."""
CLEAR_HOLE = 0.6
"""The inside of a hole is bare sheet: its usual distance lies below this share of the threshold."""
NECK = 0.4
"""A neck narrower than this share of the widest place parts a region."""
COMPACT = 0.93
"""Share of its convex hull that a compact piece fills."""
CLEAR_OF_METAL = 0.45
"""The same as a share of the metal's own usual distance: the sheet in a hole lies in the shade of its walls."""
SMALLEST_PART_PX = 60
SMALLEST_HOLE_PX = 9
EDGE_PIXELS = 0.75
"""Share of the pixels along an outline by which two sound thresholds may differ."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """One part in the overview.

    Parameters
    ----------
    rings : tuple of ndarray, shape (n, 2) each
        Outer ring first, then holes, through pixel centres of the overview.
    area_px : float
        Pixels of the region.
    threshold : float
    rival_px : float
        By how many pixels a second, independent threshold would change the area, beyond what an edge pixel allows.
    crosses : bool
        Whether it reaches the edge of the field.
    doubtful : tuple of ndarray, shape (n, 2) each
        Outlines of regions that may be metal or a hole.
    beside : tuple of ndarray, shape (n, 2) each
        Outlines of ground beside the part that may belong to it.
    claimed : bool
        Whether a person said that ground beside it belongs to it: what looks like a shadow is metal there.
    touching : int
        How many compact parts it looks like.
    certain_holes : int
        How many holes a person confirmed; they come first.
    """

    rings: tuple[Floats, ...]
    area_px: float
    threshold: float
    rival_px: float
    crosses: bool
    doubtful: tuple[Floats, ...] = ()
    beside: tuple[Floats, ...] = ()
    claimed: bool = False
    touching: int = 1
    certain_holes: int = 0
    by_colour: bool = False

    @property
    def rival_share(self) -> float:
        """By what share of the area a second threshold would change it."""
        return self.rival_px / self.area_px


def find_regions(sheet: SheetDistance) -> list[Region]:
    """Return the parts in the field, each by the threshold that suits it best."""
    border, by_colour = _border(sheet.field), None
    regions = []
    for blob in _components(sheet.distance > THRESHOLDS[0], SMALLEST_PART_PX):
        for piece in _off_border(blob, sheet, border):
            told = sheet.told_by_colour(*piece.box, piece.mask)
            if told and by_colour is None:
                by_colour = sheet.by_colour()
            found = _best_split(piece, by_colour if told and by_colour else sheet, border)
            regions += [replace(region, by_colour=told) for region in found]
    return regions


def region_again(sheet: SheetDistance, where: Flags) -> Region | None:
    """Return the one part that fills ``where``, shape (h, w), in a closer look at it; None where it is not one part."""
    blobs = _components(sheet.distance > THRESHOLDS[0], SMALLEST_PART_PX)
    blobs = [blob for blob in blobs if (blob.cut(where) & blob.mask).any()]
    if len(blobs) != 1:
        return None
    told = sheet.told_by_colour(*blobs[0].box, blobs[0].mask)
    found = _best_split(blobs[0], sheet.by_colour() if told else sheet, np.zeros_like(where))
    return replace(found[0], by_colour=told) if len(found) == 1 else None


def _off_border(blob: _Blob, sheet: SheetDistance, border: Flags) -> list[_Blob]:
    """Split a region that reaches the field's edge at higher thresholds: a shadow may join a part to the edge."""
    pieces = [blob]
    for threshold in RESPLIT:
        parted: list[_Blob] = []
        for piece in pieces:
            if not (piece.cut(border) & piece.mask).any():
                parted.append(piece)
                continue
            inside = _solid(piece.mask & (piece.cut(sheet.distance) > threshold))
            parted += [piece.within(part) for part in _components(inside, SMALLEST_PART_PX)]
        pieces = parted
    return pieces


@dataclass(frozen=True, slots=True, kw_only=True)
class _Blob:
    """A connected mask in a box of the crop."""

    mask: Flags
    left: int
    top: int

    def within(self, part: _Blob) -> _Blob:
        """Return a blob found in this one's box, in coordinates of the crop."""
        return _Blob(mask=part.mask, left=self.left + part.left, top=self.top + part.top)

    def cut(self, whole: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """Return the same box of another array."""
        return whole[self.box]

    @property
    def box(self) -> tuple[slice, slice]:
        """The rows and columns of the crop."""
        height, width = self.mask.shape
        return slice(self.top, self.top + height), slice(self.left, self.left + width)


def _components(mask: Flags, smallest: int) -> list[_Blob]:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.view(np.uint8), connectivity=8)
    blobs = []
    for i in range(1, count):
        x, y, w, h, area = (int(v) for v in stats[i])
        if area < smallest:
            continue
        top, left = max(y - 1, 0), max(x - 1, 0)
        box = labels[top : y + h + 1, left : x + w + 1]
        blobs.append(_Blob(mask=box == i, left=left, top=top))
    return blobs


def _border(field: Flags) -> Flags:
    """The pixels of the field along its edge."""
    inner = cv2.erode(field.view(np.uint8), np.ones((5, 5), np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0)
    return np.asarray(field & ~inner.astype(bool))


def _best_split(blob: _Blob, sheet: SheetDistance, border: Flags) -> list[Region]:
    """Try every threshold on one blob, and keep the parts of the sharpest."""
    distance, sharp = blob.cut(sheet.distance), sheet.sharpness(*blob.box)
    usual = float(np.percentile(distance[blob.mask], 70))
    thresholds = sorted({*THRESHOLDS, *(share * usual for share in SHARES)})
    least = max(SMALLEST_PART_PX, 0.25 * np.count_nonzero(blob.mask))
    best_score, best_mask, best_threshold = -1.0, blob.mask, THRESHOLDS[0]
    for threshold in (t for t in thresholds if THRESHOLDS[0] <= t <= max(SHARES[-1] * usual, THRESHOLDS[0])):
        mask = _solid(blob.mask & (distance > threshold))
        if np.count_nonzero(mask) < least:
            break
        score = _outline_sharpness(mask, sharp)
        if score > 1.01 * best_score:
            best_score, best_mask, best_threshold = score, mask, threshold
    rival = _rival(blob, distance)
    regions = []
    for part in _components(best_mask, SMALLEST_PART_PX):
        regions.append(_region(blob.within(part), best_threshold, part.cut(rival), sheet, border))
    return regions


def _solid(mask: Flags) -> Flags:
    """Drop threads and specks one pixel wide, and close pinholes."""
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    return cv2.morphologyEx(mask.view(np.uint8), cv2.MORPH_OPEN, kernel).view(bool)


def _outline_sharpness(mask: Flags, sharp: npt.NDArray[Any]) -> float:
    """Mean sharpness along the outer outlines of a mask; holes would let texture inside speak.

    A mask that fills its crop has no outline: minus infinity, so that it is never the sharpest.
    """
    square = np.ones((3, 3), np.uint8)
    metal, filled = mask.view(np.uint8), _filled_blob(mask).view(np.uint8)
    inner = metal & ~np.asarray(cv2.erode(filled, square), dtype=np.uint8)
    on_outline = (inner | (np.asarray(cv2.dilate(metal, square), dtype=np.uint8) & ~filled)) & 1
    return float(cv2.mean(sharp, on_outline)[0]) if on_outline.any() else -np.inf


def _rival(blob: _Blob, distance: npt.NDArray[Any]) -> Flags:
    """Segment the blob a second time, by Otsu's threshold on the square root of the distance."""
    near = cv2.dilate(blob.mask.view(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
    root = np.sqrt(np.minimum(np.asarray(distance, dtype=np.float32), 60.0))
    eight = np.rint(root * (255.0 / np.sqrt(60.0))).astype(np.uint8)
    threshold, _ = cv2.threshold(eight[near].reshape(-1, 1), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    return _solid(near & (eight > threshold))


def _region(blob: _Blob, threshold: float, rival: npt.NDArray[Any], sheet: SheetDistance, border: Flags) -> Region:
    padded = np.pad(blob.mask.view(np.uint8), 1)
    contours, tree = cv2.findContours(padded, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    offset = np.array([blob.left - 1, blob.top - 1], dtype=float)
    distance = np.pad(blob.cut(sheet.distance), 1)
    usual = float(np.percentile(blob.cut(sheet.distance)[blob.mask], 70))
    clear = max(CLEAR_HOLE * threshold, CLEAR_OF_METAL * usual)
    if sheet.dark:  # a hole is no brighter than the ground; a dull patch of bright metal is
        clear = CLEAR_HOLE * THRESHOLDS[0]
    outer, holes, doubtful, filled = np.empty((0, 2)), [], [], 0.0
    for contour, link in zip(contours, tree[0], strict=True):
        ring = contour.reshape(-1, 2).astype(float)
        if link[3] < 0:
            outer = ring if len(ring) > len(outer) else outer
            continue
        pixels = _hole_pixels(np.asarray(contour))
        if pixels >= SMALLEST_HOLE_PX and _usual_inside(contour, distance) < min(clear, threshold):
            holes.append(ring)
            continue
        filled += pixels
        if pixels >= SMALLEST_HOLE_PX:
            doubtful.append(ring + offset)
    metal, whole = float(np.count_nonzero(blob.mask)), _filled_blob(blob.mask)
    other = float(np.count_nonzero(rival & whole))
    around = sum(len(ring) for ring in (outer, *holes))
    return Region(
        rings=tuple(ring + offset for ring in (outer, *holes)),
        area_px=metal + filled,
        threshold=threshold,
        rival_px=max(0.0, abs(other - metal) - EDGE_PIXELS * around),
        crosses=bool((blob.cut(border) & blob.mask).any()),
        doubtful=tuple(doubtful),
        touching=_compact_pieces(whole),
    )


def _compact_pieces(mask: Flags) -> int:
    """Count the compact pieces into which a narrow neck parts a region; 1 where it is one part, or no piece is compact.

    Two coins that touch come apart at a neck much narrower than themselves; the limbs of a badge are not compact.
    """
    depth = cv2.distanceTransform(np.pad(mask, 1).astype(np.uint8), cv2.DIST_L2, 5)
    cores = depth > NECK * float(np.max(depth))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(cores.astype(np.uint8), connectivity=8)
    if count <= 2:
        return 1
    compact = 0
    for i in range(1, count):
        contours, _ = cv2.findContours((labels == i).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        hull = float(cv2.contourArea(cv2.convexHull(contours[0])))
        area = float(cv2.contourArea(contours[0]))
        large = stats[i, cv2.CC_STAT_AREA] > 0.15 * float(cores.sum())
        compact += bool(large and hull > 0 and area > COMPACT * hull)
    return max(1, compact)


def _usual_inside(contour: Any, distance: Singles) -> float:
    """Median distance from bare sheet strictly inside a hole's contour."""
    x, y, w, h = cv2.boundingRect(contour)
    mask = np.zeros((h, w), dtype=np.uint8)
    cv2.drawContours(mask, [contour - [x, y]], 0, 1, thickness=cv2.FILLED)
    cv2.drawContours(mask, [contour - [x, y]], 0, 0, thickness=1)
    inside = distance[y : y + h, x : x + w][mask > 0]
    return float(np.median(inside)) if len(inside) else float("inf")


def _hole_pixels(contour: npt.NDArray[np.int32]) -> float:
    """Count the pixels strictly inside a hole's contour, which runs through pixels of the part (Pick's theorem)."""
    return max(0.0, float(cv2.contourArea(contour)) - len(contour) / 2 + 1)


def _filled_blob(mask: Flags) -> Flags:
    contours, _ = cv2.findContours(mask.view(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    filled = np.zeros(mask.shape, dtype=np.uint8)
    cv2.drawContours(filled, contours, -1, 1, thickness=cv2.FILLED)
    return filled.view(bool)
