"""Checks of the ground beside a part and in its holes: bare sheet, or paint, tape, metal that mirrors the sheet?

What is sheet-like but not bare sheet may belong to the part. A wall that is seen beside it excuses it, and a shadow: of
the sheet's own hue, and either with a soft rim, or from beyond the field, or no further from the part than its height
throws one. The ground of a hole is the sheet too: as dark and as light as it is somewhere as far outside the part, less
what the walls of the hole hide, and of its hue. On a coloured sheet only: on a pale one neither hue nor shade tells a
shadow from metal, and every hole in grey metal is asked about anyway.

The figures were set on the scenes of ``calibration/studies/silent_part.py`` (paint, mirror) and on good scenes of the
accuracy study, which must stay quiet.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.bare_sheet import GAMMA
from areakit.imaging.segment import Region
from areakit.imaging.sheet_colour import COLOUR_UNIT, SheetDistance, encoded_colours

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]
Bytes = npt.NDArray[np.uint8]

OTHER_GROUND = 2.2
"""Distance from bare sheet, mean of nine pixels, from which ground is not bare."""
APART = (0.55, 1.0, 1.8, 3.0)
"""Times as much at which ground is looked at: a zone may lie in uneven light, which joins it to the rest, and the sheet
in bright metal is hardly darker than itself."""
ZONE_HUE = 2.5
"""Colour, in units of distance, from which ground beside a part is no shadow."""
TINTED = 2.0
"""Times as much that a soft shadow near its part may have: light that comes round the part has a tint of its own."""
HOLE_HUE = 4.0
"""The same in a hole, in the shade of its walls, which throw light of their own colour into it (drawn scenes 2.3 at
most, path-traced ones 1.6; most paints 6 and more)."""
SHARP_RIM = 0.2
"""Change from pixel to pixel along a zone's rim, as a share of its own difference, from which it is no soft shadow."""
SHADOW_HEIGHTS = 2.5
"""How many heights of the part its own shadow reaches at most: a lamp 22 degrees above the sheet."""
WALL_SLACK_PX = 1.0
"""How much further than its height says a wall may be seen: its own edge is a pixel wide."""
CORE, LEAST_HOLE_PX = 0.5, 9
"""Share of its depth from which a hole is looked at, clear of its rim, and fewest pixels there."""
SURROUND, USUAL = (0.8, 1.5), 0.02
"""How far outside a part the sheet is looked at, as shares of how deep in a hole, and which share of the lightest and
darkest of it is left out."""
LIGHT_SLACK = 0.06
"""How much darker or lighter the ground of a hole may be than the sheet outside, less what its walls hide (holes of
drawn and path-traced scenes 0.003 at most; the dark of paint that is nearest to the sheet 0.13)."""
LEAST_SHARE = 0.004
"""Share of its part below which a zone does not matter."""
LEAST_PX = 30
RIM_PX = 3
"""Pixels round a part that its own edge takes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Height:
    """How high a part is, how wide a wall of that height is seen where it lies, and from where to where its top leans.

    All in pixels of the overview.
    """

    part_px: float
    wall_px: float
    lean_px: tuple[float, float] = (0.0, 0.0)


def with_ground_doubted(sheet: SheetDistance, regions: list[Region], heights: list[Height]) -> list[Region]:
    """Return the regions, each with the outlines of what beside it may belong to it."""
    if not sheet.coloured or not regions:
        return regions
    taken = _numbered(regions, sheet.field.shape)
    zones = _other_ground(sheet, taken)
    found, known = list(regions), np.zeros(taken.shape, dtype=bool)
    for i in sorted(range(len(regions)), key=lambda i: -regions[i].area_px):  # crumbs at a zone's rim do not own it
        region, height = regions[i], heights[i]
        beside = _beside(sheet, taken == min(i + 1, 255), zones, known, region.area_px, height) if zones else []
        found[i] = replace(region, beside=tuple(beside))
    return found


def _numbered(regions: list[Region], shape: tuple[int, ...]) -> Bytes:
    """Draw each region, filled, with its number; those beyond 255 share the last."""
    taken = np.zeros(shape, dtype=np.uint8)
    for i, region in enumerate(regions, start=1):
        cv2.fillPoly(taken, [np.rint(region.rings[0]).astype(np.int32)], min(i, 255))
    return taken


@dataclass(frozen=True, slots=True, kw_only=True)
class _Zone:
    """A connected piece of ground that is not bare, in a box of the crop grown by its surroundings."""

    mask: Bytes
    box: tuple[slice, slice]


def _other_ground(sheet: SheetDistance, parts: Bytes) -> list[_Zone]:
    """Return the pieces of ground that are not bare, by each of the limits, clear of the edges of the parts."""
    near, beside = (_grown(parts, 2 * RIM_PX + size) > 0 for size in (1, 5))
    ground = np.where(near | ~sheet.field, np.float32(0.0), cv2.blur(sheet.distance, (3, 3)))
    zones = []
    for limit in (times * OTHER_GROUND for times in APART):
        solid = _grown(_shrunk((ground > limit).view(np.uint8), 3), 3)
        if (solid.view(bool) & beside).any():  # else none touches a part
            zones += _pieces(solid)
    return zones


def _pieces(solid: Bytes) -> list[_Zone]:
    """Return each connected piece that is large enough to matter."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    zones, margin = [], 3 * RIM_PX
    for i in range(1, count):
        x, y, w, h, area = (int(v) for v in stats[i])
        if area >= LEAST_PX:
            box = slice(max(y - margin, 0), y + h + margin), slice(max(x - margin, 0), x + w + margin)
            zones.append(_Zone(mask=(labels[box] == i).astype(np.uint8), box=box))
    return zones


def _beside(
    sheet: SheetDistance, part: Flags, zones: list[_Zone], known: Flags, area_px: float, height: Height
) -> list[Floats]:
    """Return the outlines, shape (n, 2), of the zones that touch a part and may belong to it, and mark them known."""
    found: list[Floats] = []
    for zone in zones:
        own = part[zone.box].astype(np.uint8)
        small = zone.mask.sum() < LEAST_SHARE * area_px
        if small or not own.any() or not _touches(zone.mask, own) or known[zone.box][zone.mask > 0].any():
            continue
        both = _shrunk(_grown(zone.mask | own, 9), 9)
        whole = _grown(both, 3) & ~own & 1  # an outline through its outermost pixels
        if not _excused(sheet, zone, own, both, height):
            known[zone.box] |= zone.mask > 0
            rings, _ = cv2.findContours(whole, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
            largest = max(rings, key=cv2.contourArea).reshape(-1, 2).astype(float)
            found.append(largest + [zone.box[1].start, zone.box[0].start])
    return found


def _grown(mask: Bytes, size: int) -> Bytes:
    return np.asarray(cv2.dilate(mask, np.ones((size, size), np.uint8)), dtype=np.uint8)


def _shrunk(mask: Bytes, size: int) -> Bytes:
    return np.asarray(cv2.erode(mask, np.ones((size, size), np.uint8)), dtype=np.uint8)


def _touches(zone: Bytes, part: Bytes) -> bool:
    size = 2 * RIM_PX + 5
    return bool((_grown(zone, size) & part).any())


def _excused(sheet: SheetDistance, zone: _Zone, part: Bytes, both: Bytes, height: Height) -> bool:
    """Tell whether a zone is no more than a wall, a shadow, or light that falls unevenly."""
    away = cv2.distanceTransform(1 - part, cv2.DIST_L2, 3)
    reach = float(np.max(away[zone.mask > 0])) - 2 * RIM_PX
    if reach <= height.wall_px + WALL_SLACK_PX:
        return True
    shade, hue = ground_colour(sheet, zone.mask > 0, zone.box)
    if hue >= TINTED * ZONE_HUE or (hue >= ZONE_HUE and shade > 1.0):
        return False
    if shade > 1.0:  # lit more, and no mirror: that takes light away
        return True
    rim = (both & ~_shrunk(both, 3) & 1 > 0) & (away > 2 * RIM_PX + 3)
    size = 2 * RIM_PX + 5  # where a thin bright edge lies between zone and sheet, the zone ends that far inside it
    sharp = cv2.dilate(sheet.sharpness(*zone.box, shade_weight=1.0), np.ones((size, size), np.uint8))
    step = float(np.hypot(1.0 - shade, hue * COLOUR_UNIT))
    soft = not rim.any() or float(np.median(sharp[rim])) < SHARP_RIM * step
    own = reach <= SHADOW_HEIGHTS * height.part_px
    if hue >= ZONE_HUE:
        return soft and own
    inner = _shrunk(sheet.field[zone.box].view(np.uint8), 2 * RIM_PX + 1)
    return soft or own or bool((zone.mask & ~inner & 1).any())


def ground_colour(sheet: SheetDistance, where: Flags, box: tuple[slice, slice]) -> tuple[float, float]:
    """Return shade and hue of pixels of a box beside the bare sheet there: 1 and 0 on bare sheet; hue in its units."""
    bare = sheet.bare[box][where]
    ratio = np.median(encoded_colours(sheet.pixels[box][where]) / bare, axis=0)
    usual = np.median(bare, axis=0)
    shade, hue = _shade_and_hue(ratio * usual, usual)
    return float(shade), float(hue)


def _shade_and_hue(seen: Singles, bare: Singles) -> tuple[Floats, Floats]:
    """Return shade and hue of colours beside those of bare sheet, shape (..., 3) each."""
    own = (bare * bare).sum(axis=-1)
    shade = np.asarray((seen * bare).sum(axis=-1) / own, dtype=float)
    apart = np.linalg.norm(seen - shade[..., None] * bare, axis=-1)
    return shade, np.asarray(apart / np.sqrt(own) / COLOUR_UNIT, dtype=float)


def with_holes_doubted(sheet: SheetDistance, region: Region, height: Height, surround: Surround) -> Region:
    """Return a region of which each hole whose ground is not the sheet, bare or in the shade of its walls, is open."""
    if not sheet.coloured:
        return region
    outer, *holes = region.rings
    doubted = [hole for hole in holes if _hole_is_doubtful(sheet, hole, height, surround)]
    kept = [hole for hole in holes if not any(hole is one for one in doubted)]
    return replace(region, rings=(outer, *kept), doubtful=(*region.doubtful, *doubted))


@dataclass(frozen=True, slots=True, kw_only=True)
class Surround:
    """The sheet round a part in the overview.

    Parameters
    ----------
    away_px, shade : ndarray, shape (n,)
        How far each pixel of it lies from the part, and its light beside the bare sheet's.
    per_px : float
        Pixels of the overview to one of the look in which holes are judged.
    """

    away_px: Floats
    shade: Floats
    per_px: float = 1.0

    def span(self, deep_px: float) -> tuple[float, float]:
        """Return the lowest and highest usual light about as far outside a part as a place in a hole lies inside."""
        away = deep_px * self.per_px
        near, far = max(SURROUND[0] * away, RIM_PX + 1.0), max(SURROUND[1] * away, 3.0 * RIM_PX)
        shade = self.shade[(self.away_px >= near) & (self.away_px <= far)]
        if len(shade) < LEAST_PX:
            return 1.0, 1.0
        low, high = np.percentile(shade, [100 * USUAL, 100 * (1.0 - USUAL)])
        return min(float(low), 1.0), max(float(high), 1.0)


def surround_of(sheet: SheetDistance, region: Region, per_px: float) -> Surround:
    """Return the sheet round a region of the overview, as far out as its deepest hole could reach in."""
    outer = region.rings[0]
    margin = int(SURROUND[1] * max((float(np.ptp(hole, axis=0).min()) for hole in region.rings[1:]), default=0.0) / 2)
    low = np.maximum(outer.min(axis=0).astype(int) - margin - 3 * RIM_PX, 0)
    high = outer.max(axis=0).astype(int) + margin + 3 * RIM_PX + 1
    box = slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))
    free = np.ones(sheet.field[box].shape, dtype=np.uint8)
    cv2.fillPoly(free, [np.rint(outer - low).astype(np.int32)], 0)
    away = np.asarray(cv2.distanceTransform(free, cv2.DIST_L2, 3), dtype=float)
    where = (away > RIM_PX) & sheet.field[box]
    seen = encoded_colours(np.asarray(cv2.blur(sheet.pixels[box], (3, 3)), dtype=np.uint8)[where])
    shade, hue = _shade_and_hue(seen, sheet.bare[box][where])
    plain = hue < ZONE_HUE
    return Surround(away_px=away[where][plain], shade=shade[plain], per_px=per_px)


def _hole_is_doubtful(sheet: SheetDistance, hole: Floats, height: Height, surround: Surround) -> bool:
    """Tell whether a hole shows what no sheet below the part can: other light than outside, or another colour.

    Its walls hide part of the sky from its ground: the middle of a round hole sees r^2 / (r^2 + t^2) of an even one.
    """
    low, high = hole.min(axis=0).astype(int), hole.max(axis=0).astype(int) + 1
    box = slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))
    mask = np.zeros((high - low)[::-1], dtype=np.uint8)
    cv2.fillPoly(mask, [np.rint(hole - low).astype(np.int32)], 1)
    deep = cv2.distanceTransform(np.pad(mask & _foot(mask, height), 1), cv2.DIST_L2, 3)[1:-1, 1:-1]
    inside = deep > max(RIM_PX, CORE * float(np.max(deep)))
    if inside.sum() < LEAST_HOLE_PX:
        return False
    shade, hue = ground_colour(sheet, inside, box)
    depth = float(np.median(deep[inside]))
    darkest, lightest = surround.span(depth)
    darkest *= (depth**2 / (depth**2 + height.part_px**2)) ** (1.0 / GAMMA)
    most_hue = ZONE_HUE if depth > SHADOW_HEIGHTS * height.part_px else HOLE_HUE
    return shade < darkest - LIGHT_SLACK or shade > lightest + LIGHT_SLACK or hue >= most_hue


def _foot(mask: Bytes, height: Height) -> Bytes:
    """Return a hole as it lies at the foot of its walls: beyond it a wall is seen, and no ground."""
    back = np.array([[1.0, 0.0, -height.lean_px[0]], [0.0, 1.0, -height.lean_px[1]]])
    return np.asarray(cv2.warpAffine(mask, back, mask.shape[::-1], flags=cv2.INTER_NEAREST), dtype=np.uint8)
