"""What one photo asks, answered by another of the same parts where it can tell; where it cannot, the question stays.

A hole, a dab of paint and a joint stay where they are; a reflection, a highlight and a shadow do not. So a place that
shows the plain face in the other photo, where sheet would be seen through it, is metal; ground that is bare there, with
no edge in it, is none; a line that is gone there was no joint. What stays the same in both tells nothing: paint of the
sheet's colour and metal that mirrors the sheet stay as well, and so such a place is a hole only where the other photo
shows sheet that is bare in every way. Colour decides, whatever the shade; grey metal on a sheet without colour is left
to the person.

The figures were set on the drawn pairs of ``calibration/studies/second_view.py`` of other seeds than its table's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
import numpy.typing as npt
from shapely.geometry import Polygon

from areakit.imaging.checks.ground import ground_colour
from areakit.imaging.checks.joint import contrast_along
from areakit.imaging.one_part import FoundPart, OpenPlace
from areakit.imaging.outlines import FoundParts
from areakit.imaging.sheet_colour import encoded_colours
from areakit.imaging.view import View

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]
Bytes = npt.NDArray[np.uint8]
Box = tuple[slice, slice]
Kind = Literal["hole", "metal"]

SAME_PLACE = 0.85
"""Least overlap, over their union, of the outlines of one part that kept its place on the sheet."""
LEAST_PX, LEAST_SHARE = 12, 0.25
"""Pixels of the overview, and share of a place, that both its face and the sheet below it would take up."""
RIM_PX = 2
"""Pixels along the border of a place, and along a part's edge, that are not looked at."""
FACE_PX, FACE_REACH = 60, 26
"""Pixels of plain face that are looked for round a place, and how far away at most."""
TELLING = 0.12
"""Difference of hue between face and sheet from which hue tells them apart."""
LIKE_FACE, NEARLY_ALL = 0.2, 0.92
"""Share of that difference by which a pixel may be off the face's hue, and share of the pixels that must not be."""
BARE_HUE, BARE_SHADE = 1.5, (0.3, 1.03)
"""Hue, in units of the sheet's own, below which ground is bare, and its light as a share of that on open sheet."""
BARE = 1.5
"""Distance from bare sheet below which ground beside a part is lit like the rest."""
NO_EDGE = 2.0
"""Times as sharp as the sharpest of the empty band that ground without an edge may be."""
OVERLAP = 0.6
"""Least overlap, over their union, of a place with the hole that the other photo shows."""
GONE, GONE_SHARE = 0.02, 0.25
"""Contrast of a line, in log light and as a share of what the first photo shows, below which it is gone."""
AS_NEAR = 1.5
"""Times as large as in the first photo that a pixel of the other may be, so that it would show the line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A question that the other photo answered: its code, its point, what lies there, and by what. [mm]"""

    code: str
    point_mm: tuple[float, float]
    kind: Kind
    how: str

    @property
    def at(self) -> str:
        """The point as an answer names it."""
        return f"{self.point_mm[0]:.2f},{self.point_mm[1]:.2f}"


FACE_SEEN = "the other photo shows plain metal there"
SHEET_SEEN = "the other photo shows bare sheet through it"
GROUND_SEEN = "the other photo shows bare sheet there, and no edge"
PART_SEEN = "the other photo shows metal there, inside the part's outline"
LINE_GONE = "no line crosses there in the other photo"


def settle(asking: FoundParts, other: FoundParts, height_mm: float) -> tuple[Settled, ...]:
    """Return the answers that another photo of the same parts gives to what a photo asks.

    Parameters
    ----------
    height_mm : float
        Thickness of the parts.
    """
    if asking.view is None or other.view is None:
        return ()
    found = []
    for move, pairs in _frames(asking, other):
        for part, same in pairs:
            look = _Look(first=asking.view, second=other.view, part=same, move=move, height_mm=height_mm)
            found += [answer for place in _places(part, asking.view) if (answer := _answer(look, place)) is not None]
    return tuple(found)


def _places(part: FoundPart, view: View) -> Iterator[OpenPlace]:
    """Return what is asked of a part; while it is open whether a region is metal, its colour is not asked about."""
    yield from part.open_places
    camera = view.scale.camera
    for one in part.stop_offs:
        if not one.mirrored and not any(one.covers(place.point_mm, 0.0) for place in part.open_places):
            ring = view.scale.turned_up(np.array(one.polygon.exterior.coords)[:-1])
            yield OpenPlace(code="STOP_OFF_SEEN", point_mm=one.place_mm, seen_px=camera.project(ring))


Move = Callable[[Floats], Floats]


def _frames(first: FoundParts, second: FoundParts) -> list[tuple[Move, list[tuple[FoundPart, FoundPart]]]]:
    """Return how places of the first photo's sheet are named in the second, with the parts that kept their place.

    Those of a printed sheet have one name. The axes of a plain sheet begin at any of its corners: then all parts must
    have kept their places for one corner only. Of marks that lie beside the parts nothing is known.
    """
    if (first.scale.mark, first.scale.sheet) != (second.scale.mark, second.scale.sheet):
        return []
    if first.scale.mark == "frame":
        pairs = _kept(first, second, lambda points: points)
        return [(lambda points: points, pairs)] if pairs else []
    if first.scale.mark != "paper":
        return []
    size = np.array(second.scale.field_mm[2:])
    turns: list[Move] = [
        lambda p: p,
        lambda p: size - p,
        lambda p: np.column_stack([p[:, 1], size[1] - p[:, 0]]),
        lambda p: np.column_stack([size[0] - p[:, 1], p[:, 0]]),
    ]
    tried = [(turn, _kept(first, second, turn)) for turn in turns]
    whole = [one for one in tried if len(one[1]) == len(first.parts) == len(second.parts)]
    return whole if len(whole) == 1 else []


def _kept(first: FoundParts, second: FoundParts, move: Move) -> list[tuple[FoundPart, FoundPart]]:
    outer = [Polygon(second.scale.turned_up(np.array(p.outline.polygon.exterior.coords))) for p in second.parts]
    pairs = []
    for part in first.parts:
        ring = Polygon(move(first.scale.turned_up(np.array(part.outline.polygon.exterior.coords)))).buffer(0.0)
        shares = [ring.intersection(one).area / max(ring.union(one).area, 1e-9) for one in outer]
        if shares and max(shares) >= SAME_PLACE:
            pairs.append((part, second.parts[int(np.argmax(shares))]))
    return pairs


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """How a place of one photo is looked at in another."""

    first: View
    second: View
    part: FoundPart
    move: Move
    height_mm: float

    def crop_px(self, seen_px: Floats, height_mm: float) -> Floats:
        """Return where what lies at a height is seen in the other photo, in pixels of its crop, shape (n, 2)."""
        flat = self.first.scale.camera.to_sheet(seen_px, height_mm)
        return self.in_crop(self.second.scale.camera.project(self.move(flat), height_mm))

    def in_crop(self, full_px: Floats) -> Floats:
        """Return pixels of the other photo as pixels of its crop."""
        return np.asarray(self.second.small.from_full(full_px) - [self.second.sheet.left, self.second.sheet.top])


def _answer(look: _Look, place: OpenPlace) -> Settled | None:
    told: tuple[Kind, str] | None
    if place.code == "JOINT_UNDECIDED":
        told = ("metal", LINE_GONE) if _line_gone(look, place) else None
    else:
        told = _region_told(look, place)
    return None if told is None else Settled(code=place.code, point_mm=place.point_mm, kind=told[0], how=told[1])


def _line_gone(look: _Look, place: OpenPlace) -> bool:
    near, far = look.first, look.second
    if far.scale.mm_per_px * far.small.factor > AS_NEAR * near.scale.mm_per_px * near.small.factor:
        return False
    rings = [look.in_crop(ring) for ring in look.part.rings_px]
    seen = contrast_along(far.sheet, rings, look.crop_px(place.seen_px, look.height_mm))
    return seen is not None and seen < min(GONE, GONE_SHARE * place.contrast)


def _region_told(look: _Look, place: OpenPlace) -> tuple[Kind, str] | None:
    area = _area_of(look, place)
    if area is None:
        return None
    beside = place.code == "BESIDE_UNDECIDED"
    if _is_face(look, area):
        if not beside:
            return "metal", FACE_SEEN
        inside = area.part[area.both].mean() > NEARLY_ALL if area.both.any() else False
        return ("metal", PART_SEEN) if inside else None
    if beside:
        return ("hole", GROUND_SEEN) if _is_open_ground(look, area) else None
    if place.code == "LOOKS_UNDECIDED" and _is_hole(look, area):
        return "hole", SHEET_SEEN
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Area:
    """A place in the other photo, as masks of a box of its crop, shape (h, w) each.

    ``both`` would be seen as the place whether it lies on the face or on the sheet; ``either`` one of them; ``part``
    is the part's face there, ``filled`` the same with its holes.
    """

    box: Box
    both: Flags
    either: Flags
    part: Flags
    filled: Flags


def _area_of(look: _Look, place: OpenPlace) -> _Area | None:
    """Return a place in the other photo, or None where it is out of sight or too small to be told."""
    rings = [look.crop_px(place.seen_px, height) for height in (0.0, look.height_mm)]
    every = np.concatenate(rings)
    height, width = look.second.sheet.distance.shape
    low = np.floor(every.min(axis=0)).astype(int) - FACE_REACH
    high = np.ceil(every.max(axis=0)).astype(int) + FACE_REACH + 1
    low, high = np.clip(low, 0, [width, height]), np.clip(high, 0, [width, height])
    shape = int(high[1] - low[1]), int(high[0] - low[0])
    if min(shape) < 3 or not look.second.sheet.field[low[1] : high[1], low[0] : high[0]].any():
        return None
    on_sheet, on_face = (_filled(ring - low, shape) for ring in rings)
    size = 2 * RIM_PX + 1
    both = cv2.erode(on_sheet & on_face, np.ones((size, size), np.uint8)).astype(bool)
    if both.sum() < max(LEAST_PX, LEAST_SHARE * on_face.sum()):
        return None
    outer, *holes = (_filled(look.in_crop(ring) - low, shape) for ring in look.part.rings_px)
    part = outer.copy()
    for hole in holes:
        part &= ~hole & 1
    return _Area(
        box=(slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))),
        both=both,
        either=(on_sheet | on_face).astype(bool),
        part=part.astype(bool),
        filled=outer.astype(bool),
    )


def _filled(ring: Floats, shape: tuple[int, int]) -> Bytes:
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [np.rint(ring * 16).astype(np.int32)], 1, shift=4)
    return mask


def _grown(mask: Flags, by: int) -> Flags:
    return np.asarray(cv2.dilate(mask.astype(np.uint8), np.ones((2 * by + 1,) * 2, np.uint8))).astype(bool)


def _is_face(look: _Look, area: _Area) -> bool:
    """Tell whether a place has the hue of the face round it, which differs from that of the sheet."""
    plain = ~_grown(~area.part, RIM_PX) & ~_grown(area.either, RIM_PX)
    near = next((by for by in range(6, FACE_REACH, 4) if (plain & _grown(area.either, by)).sum() >= FACE_PX), None)
    if near is None:
        return False
    sheet = look.second.sheet
    ratio = encoded_colours(sheet.pixels[area.box]) / sheet.bare[area.box]
    hue = ratio / ratio.mean(axis=2, keepdims=True) - 1.0
    face = np.median(hue[plain & _grown(area.either, near)], axis=0)
    if float(np.linalg.norm(face)) < TELLING:
        return False
    off = np.linalg.norm(hue[area.both] - face, axis=1)
    return bool(np.mean(off < LIKE_FACE * np.linalg.norm(face)) >= NEARLY_ALL)


def _is_hole(look: _Look, area: _Area) -> bool:
    """Tell whether a hole of the other photo is at a place, with the very sheet in it."""
    hole = area.filled & ~area.part & _grown(area.either, RIM_PX)
    union = (hole | area.either).sum()
    shade, hue = ground_colour(look.second.sheet, area.both, area.box)
    bare = hue < BARE_HUE and BARE_SHADE[0] < shade < BARE_SHADE[1]
    return bool(bare and (hole & area.either).sum() >= OVERLAP * union)


def _is_open_ground(look: _Look, area: _Area) -> bool:
    """Tell whether a place beside a part is bare sheet with no edge in it: metal that mirrors the sheet has one."""
    sheet = look.second.sheet
    clear = area.both & ~_grown(area.filled, RIM_PX + 1)
    if clear.sum() < max(LEAST_PX, LEAST_SHARE * area.both.sum()):
        return False
    _, hue = ground_colour(sheet, clear, area.box)
    lit = float(np.mean(sheet.distance[area.box][clear] < BARE))
    if hue >= BARE_HUE or lit < NEARLY_ALL:
        return False
    around = _grown(area.either, RIM_PX + 2) & ~_grown(area.filled, RIM_PX + 2)
    sharp = sheet.sharpness(*area.box, shade_weight=1.0)[around]
    return bool(np.percentile(sharp, 98.0) <= NO_EDGE * _usual_sharpness(look.second))


def _usual_sharpness(view: View) -> float:
    """Return how sharp the sharpest of the empty band is, clear of its own borders."""
    rows, columns = view.sheet.distance.shape
    sharp = view.sheet.sharpness(slice(0, rows), slice(0, columns), shade_weight=1.0)
    inner = view.sheet.guard & ~_grown(~view.sheet.guard, RIM_PX)
    return float(np.percentile(sharp[inner], 98.0)) if inner.any() else 0.0
