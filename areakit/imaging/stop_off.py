"""Regions of another colour on a part: stop-off, tape, enamel, or another metal. They are offered, never assumed.

Metals differ from each other in colour by less than lacquers and tapes differ from metal, and reflections of coloured
things fade; so a region counts where its colour is far from that of most of the part, alike all over, and sharp along
its border. One as grey as the metal counts by its brightness, where it is plain in shape, and even like the metal round
it, as on matt metal: a mirror shows such regions of its own. A shadow darkens the sheet beside it too, and is none.

The figures were set on drawn scenes (``tests/imaging/test_stop_off.py``) and on real photos of bare parts, which must
stay quiet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from shapely.geometry import MultiPolygon, Point, Polygon
from skimage.measure import find_contours

from areakit.imaging.bare_sheet import FLARE
from areakit.imaging.edge import linear_table
from areakit.imaging.sheet_colour import SheetDistance

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

FAR = 0.5
"""Difference in log colour (red over green, blue over green) from which a region is of another colour."""
FAR_GREY = 0.3
"""Difference in log brightness from which a region as grey as the metal is told of."""
EVEN = 0.06
"""Spread of the log brightness of such a region, and of the metal round it, up to which both are even."""
SOLID = 0.9
"""Share of its convex hull that such a region fills: a piece of tape, a dot, a dipped end."""
ALIKE = 0.2
"""Spread of that difference inside a region, over its middle, up to which it is one colour."""
SHARP = 0.6
"""Share of the difference that must fall within a few pixels of the border of a region."""
BORDER_PX = 3
"""Half of that width, and the width along a part's own edge that is not looked at. [px of the overview]"""
BESIDE_PX = 15
"""How far beside a part the sheet is looked at for a shadow that lies on both. [px of the overview]"""
LEAST_PX, LEAST_SHARE = 60, 0.01
"""Pixels of the overview, and share of the part, below which a region is not told of. The colour of more than half of
the part counts as that of the part."""
MIRROR_ASIDE, MIRROR_ALONG = 0.35, 0.25
"""A region is the sheet, mirrored in the metal, when its difference in colour from the metal is that of the sheet from
white, to a share of it, and when at least this share of its border runs along the part's edge."""
RING_TRUE_PX = 0.25
EDGE_PX = 0.5
"""Standard uncertainty of the border of a region. [px of the overview]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherColour:
    """The outline of a region of another colour, shape (n, 2), and whether that is the colour of the sheet. [px]"""

    ring: Floats
    like_sheet: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StopOff:
    """A region of another colour on one part.

    Parameters
    ----------
    polygon : shapely.Polygon
        In the coordinates of the part's outline; it reaches to the outline where the region does. [mm]
    area_mm2 : float
        What of it lies on the part.
    edge_mm : float
        Standard uncertainty of its border.
    mirrored : bool
        Whether it is probably the sheet, mirrored in the metal near its edge: nobody is asked about it.
    """

    polygon: Polygon
    area_mm2: float
    edge_mm: float
    mirrored: bool = False

    @property
    def place_mm(self) -> tuple[float, float]:
        """A point inside."""
        point = self.polygon.representative_point()
        return float(point.x), float(point.y)

    def covers(self, point_mm: tuple[float, float], reach_mm: float) -> bool:
        """Tell whether a point lies in it, or within some distance."""
        return bool(self.polygon.distance(Point(point_mm)) <= reach_mm)


def other_colours(sheet: SheetDistance, rings: Sequence[Floats]) -> list[OtherColour]:
    """Return the regions of another colour on one part.

    Parameters
    ----------
    sheet : SheetDistance
    rings : sequence of ndarray, shape (n, 2)
        The part's rings, outer first. [px of the sheet's crop]

    Returns
    -------
    list of OtherColour
        The largest first; in pixels of the sheet's crop.
    """
    low, high = _box(rings[0], sheet.field.shape)
    if min(high - low) < 4 * BORDER_PX:
        return []
    part = _filled([ring - low for ring in rings], (high - low)[::-1])
    inner = _shrunk(part, BORDER_PX)
    if inner.sum() < LEAST_PX:
        return []
    light = np.asarray(cv2.LUT(sheet.pixels[low[1] : high[1], low[0] : high[0]], linear_table()), dtype=np.float32)
    colours = _log_colours(light)
    metal = np.median(colours[inner], axis=0)
    away = np.asarray(cv2.magnitude(*cv2.split(colours - metal)), dtype=np.float32)
    found, coloured = [], np.zeros_like(inner)
    for size, core in _alike(away > FAR, inner):
        ring = _region(light, away, core, inner)
        coloured |= core
        if ring is not None:
            way = np.median(colours[core], axis=0) - metal
            found.append((size, OtherColour(ring=ring + low, like_sheet=_like(way, sheet.colour))))
    found += [
        (size, OtherColour(ring=ring + low, like_sheet=False)) for size, ring in _greys(light, part, inner & ~coloured)
    ]
    return [one for _, one in sorted(found, key=lambda one: -one[0])]


def _alike(far: Flags, inner: Flags) -> Iterator[tuple[int, Flags]]:
    """Yield size and pixels of each connected region that is large enough to be told of."""
    count, labels, sizes, _ = cv2.connectedComponentsWithStats((far & inner).astype(np.uint8), connectivity=4)
    least = max(LEAST_PX, LEAST_SHARE * inner.sum())
    for number in range(1, count):
        size = int(sizes[number, cv2.CC_STAT_AREA])
        if size >= least:
            yield size, labels == number


def _greys(light: Singles, part: Flags, inner: Flags) -> Iterator[tuple[int, Floats]]:
    """Yield size and ring of the regions of another brightness: plain in shape, and even like the metal round them."""
    grey = cv2.transform(light, np.full((1, 3), 1.0 / 3.0))
    logs = np.log(cv2.GaussianBlur(grey, (0, 0), 0.7) + np.float32(FLARE))
    if not inner.any():
        return
    metal = float(np.median(logs[inner]))
    away = np.abs(logs - metal)
    for size, core in _alike(away > FAR_GREY, inner):
        rest = inner & ~_grown(core, 2 * BORDER_PX)
        if not rest.any() or _spread(logs[rest]) > EVEN or _spread(logs[core]) > EVEN or _solidity(core) < SOLID:
            continue
        if not _is_shadow(logs, core, part, level=float(np.median(logs[core])) - metal):
            ring = _region(light, away, core, inner)
            if ring is not None:
                yield size, ring


def _is_shadow(logs: Singles, core: Flags, part: Flags, *, level: float) -> bool:
    """Tell whether the sheet beside a region that reaches the part's edge is darkened by as much as half of it."""
    beside = _grown(part, BESIDE_PX) & ~_grown(part, BORDER_PX)
    near = _grown(core, BESIDE_PX + 2 * BORDER_PX) & beside
    if near.sum() < BORDER_PX or not (beside & ~near).any():
        return False
    step = float(np.median(logs[near]) - np.median(logs[beside & ~near]))
    return math.copysign(step, step * level) > abs(level) / 2.0


def _spread(values: Singles) -> float:
    return float(np.median(np.abs(values - np.median(values))))


def _solidity(core: Flags) -> float:
    """Return the share of its convex hull that a region fills."""
    outlines, _ = cv2.findContours(core.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    largest = max(outlines, key=cv2.contourArea)
    return float(cv2.contourArea(largest) / max(cv2.contourArea(cv2.convexHull(largest)), 1.0))


def _like(way: Singles, sheet: Singles) -> bool:
    """Tell whether a difference in log colour is that of light from the sheet, which metal multiplies by its own."""
    logs = np.log(sheet + np.float32(FLARE))
    own = logs[[0, 2]] - logs[1]
    size = float(np.linalg.norm(own))
    if size < FAR:
        return False
    aside = way - own * float(way @ own) / size**2
    return float(way @ own) > 0.0 and float(np.linalg.norm(aside)) < MIRROR_ASIDE * float(np.linalg.norm(way))


def stop_off(ring_mm: Floats, outline: Polygon, *, pixel_mm: float, like_sheet: bool = False) -> StopOff | None:
    """Return the region of a ring on a part; None where nothing of it is left.

    Near the part's own edge nothing was looked at, so a region that comes near it is taken to reach it.
    """
    reach = 1.5 * BORDER_PX * pixel_mm
    region = Polygon(ring_mm).buffer(0.0).intersection(outline.buffer(-0.6 * reach))
    along = outline.buffer(-reach).boundary.intersection(region)
    whole = region.union(along.buffer(1.5 * reach, cap_style="flat"))
    if isinstance(whole, MultiPolygon):
        whole = max(whole.geoms, key=lambda one: one.area)
    on_part = whole.intersection(outline).area
    if not isinstance(whole, Polygon) or on_part <= 0.0:
        return None
    return StopOff(
        polygon=Polygon(whole.exterior),
        area_mm2=float(on_part),
        edge_mm=EDGE_PX * pixel_mm,
        mirrored=like_sheet and along.length > MIRROR_ALONG * region.length,
    )


def _box(ring: Floats, shape: tuple[int, ...]) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    limit = np.array([shape[1], shape[0]])
    low = np.clip(np.floor(ring.min(axis=0)).astype(int) - BESIDE_PX, 0, limit)
    return low, np.clip(np.ceil(ring.max(axis=0)).astype(int) + BESIDE_PX + 1, 0, limit)


def _filled(rings: Sequence[Floats], size: npt.NDArray[np.intp]) -> Flags:
    mask = np.zeros((int(size[0]), int(size[1])), dtype=np.uint8)
    for i, ring in enumerate(rings):
        cv2.fillPoly(mask, [np.rint(ring * 16).astype(np.int32)], int(i == 0), shift=4)
    return mask > 0


def _shrunk(mask: Flags, by_px: int) -> Flags:
    padded = cv2.copyMakeBorder(mask.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    return np.asarray(cv2.distanceTransform(padded, cv2.DIST_L2, 3)[1:-1, 1:-1] > by_px)


def _log_colours(light: Singles) -> Singles:
    """Return red and blue over green as logarithms, shape (h, w, 2), a little smoothed."""
    logs = np.log(cv2.GaussianBlur(light, (0, 0), 0.7) + np.float32(FLARE))
    return np.asarray(logs[..., [0, 2]] - logs[..., [1]], dtype=np.float32)


def _region(light: Singles, away: Singles, core: Flags, inner: Flags) -> Floats | None:
    """Return the ring of one region, half way between its light and that beside it; None where it is not of one colour.

    A pixel across the border holds both lights in proportion, so half way is where the border lies.
    """
    inside, beside = _shrunk(core, BORDER_PX), _grown(core, 2 * BORDER_PX) & ~_grown(core, BORDER_PX - 1) & inner
    if not inside.any() or beside.sum() < BORDER_PX:
        return None
    level, left = float(np.median(away[inside])), float(np.median(away[beside]))
    spread = float(np.median(np.abs(away[inside] - level)))
    if spread > ALIKE * level or level - left < SHARP * level:
        return None
    metal, own = (np.median(light[where], axis=0) for where in (beside, inside))
    way = own - metal
    share = (light - metal) @ way / float(way @ way)
    field = np.where(_grown(core, BORDER_PX) & _grown(inner, 1), share, 0.0)
    rings: list[Floats] = find_contours(np.pad(field, 1), 0.5)  # type: ignore[no-untyped-call]
    if not rings:
        return None
    ring = max(rings, key=lambda one: abs(_area(one)))[:, ::-1] - 1.0
    plain = Polygon(ring).simplify(RING_TRUE_PX) if len(ring) > 3 else Polygon()
    return np.asarray(plain.exterior.coords)[:-1] if isinstance(plain, Polygon) and not plain.is_empty else None


def _grown(mask: Flags, by_px: int) -> Flags:
    return np.asarray(cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 3) <= by_px)


def _area(ring: Floats) -> float:
    x, y = ring.T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
