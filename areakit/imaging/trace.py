"""Follow the edge of a region at full size: out of shadows first, then along the outermost sharp change of colour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import Camera
from areakit.imaging.closed_ring import majority, median, resampled, running_median
from areakit.imaging.contrast import (
    LOG_FLOOR,
    ColourMetric,
    change_along,
    colour_metric,
    doubt_of_edge,
    hue,
    in_shadow,
    log_colours,
    outermost_sharp,
)
from areakit.imaging.edge import Profiles, read_profiles
from areakit.imaging.edge_ring import EdgeRing
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.raw_edge import refined
from areakit.imaging.sheet_colour import SheetDistance
from areakit.imaging.walls import seen_wall, top_share

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

SPACING_PX = 2.5
MOST_POINTS = 2000
"""About how many points a ring gets at the most; a long one is followed at wider spacing."""
SHADOW_STEPS = 3


def trace_ring(
    photo: Photo,
    small: Overview,
    sheet: SheetDistance,
    ring: Floats,
    *,
    hole: bool,
    camera: Camera,
    height_mm: float,
    shadows: bool = True,
) -> EdgeRing:
    """Refine one coarse ring to the edge at full size: the outermost sharp edge first, then half level on raw pixels.

    Parameters
    ----------
    ring : ndarray, shape (n, 2)
        In overview pixels of the crop.
    height_mm : float
        Thickness of the part; where its wall faces the camera, it tells how far apart top and bottom edge are seen.
    shadows : bool
        Whether dark ground of the sheet's hue is a shadow; not where a person said that it is metal.
    """
    half = _first_reach(small)
    near = max(6, half // 2)
    # Where the second reach is the first, the points keep the spacing of the overview.
    spacing = float(small.factor) if near == half else max(SPACING_PX, small.factor * len(ring) / MOST_POINTS)
    points, normals = _coarse(small, sheet, ring, hole=hole)
    metric, face_hue = _metal_colour(photo, sheet, points, normals, 2 * half)
    face_hue = face_hue if shadows else 0.0
    follow = _Follower(photo=photo, metric=metric, face_hue=face_hue, hole=hole)
    points, normals, across = follow.out_of_shadow(points, normals, half)
    points, normals, _ = follow.onto_edge(points, normals, across, spacing_px=float(small.factor))
    across = follow.across(points, normals, near)
    points, normals, change = follow.onto_edge(points, normals, across, spacing_px=spacing)
    wall_px = seen_wall(camera, points, normals, height_mm)
    doubt_px = float(np.mean(doubt_of_edge(change) * across.profiles.across))
    top = top_share(photo, metric, points, normals, wall_px, pale=not (sheet.coloured or sheet.dark))
    return refined(
        photo, sheet, metric, points, normals, face_hue=face_hue, hole=hole, top=top, wall_px=wall_px, doubt_px=doubt_px
    )


def hue_of_face(photo: Photo, small: Overview, sheet: SheetDistance, ring: Floats) -> float:
    """Return how far the metal's colour is from that of the sheet, whatever its shade, inside one coarse outer ring."""
    points, normals = _coarse(small, sheet, ring, hole=False)
    return _metal_colour(photo, sheet, points, normals, 2 * _first_reach(small))[1]


def _coarse(small: Overview, sheet: SheetDistance, ring: Floats, *, hole: bool) -> tuple[Floats, Floats]:
    """Return the points of a coarse ring at full size, and their normals, shape (n, 2) each. [px]"""
    return resampled(small.to_full(ring + [sheet.left, sheet.top]), float(small.factor), smooth=1, hole=hole)


def _first_reach(small: Overview) -> int:
    """Return how far on either side of a coarse ring its edge is looked for first. [px]"""
    return small.factor + small.factor // 2 + 3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Across:
    """Profiles across a ring, that far to either side, and which of their steps lie just outside a shadow."""

    profiles: Profiles
    shadowed: Flags
    reach: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Follower:
    """Moves a ring, points and normals of shape (n, 2) each, by what is seen across it."""

    photo: Photo
    metric: ColourMetric
    face_hue: float
    hole: bool

    def across(self, points: Floats, normals: Floats, reach: int) -> _Across:
        profiles = read_profiles(self.photo.pixels, points, normals, reach)
        shadowed = in_shadow(log_colours(profiles.raw, self.metric), self.face_hue)
        return _Across(profiles=profiles, shadowed=shadowed, reach=reach)

    def out_of_shadow(self, points: Floats, normals: Floats, reach: int) -> tuple[Floats, Floats, _Across]:
        """Move stretches of a coarse ring that run along a shadow's rim inward, until metal is inside them."""
        for _ in range(SHADOW_STEPS):
            across = self.across(points, normals, reach)
            dark = majority(across.shadowed[:, 1 : reach // 2].mean(axis=1) > 0.5, 10)
            if not dark.any():
                return points, normals, across
            moved = points - np.where(dark, float(reach), 0.0)[:, None] * normals
            points, normals = resampled(moved, float(reach) / 2, smooth=1, hole=self.hole)
        return points, normals, self.across(points, normals, reach)

    def onto_edge(
        self, points: Floats, normals: Floats, across: _Across, *, spacing_px: float
    ) -> tuple[Floats, Floats, Singles]:
        """Move a ring onto the outermost sharp edge; returns the change of colour along its old profiles too."""
        change, profiles = change_along(across.profiles.encoded, self.metric), across.profiles
        found = profiles.start_px + (outermost_sharp(change, across.shadowed)[:, None] + 0.5) * profiles.step_px
        offset = np.einsum("ij,ij->i", found - points, normals)
        moved = points + _despiked(offset, float(across.reach))[:, None] * normals
        return *resampled(moved, spacing_px, smooth=1, hole=self.hole), change


def _metal_colour(
    photo: Photo, sheet: SheetDistance, points: Floats, normals: Floats, depth: int
) -> tuple[ColourMetric, float]:
    """Return how colour counts for this part, and the usual hue of its face, from samples deep inside."""
    profiles = read_profiles(photo.pixels, points, normals, depth, only=4)
    metric = colour_metric(sheet.colour, profiles.encoded.mean(axis=1))
    colour = np.log(profiles.linear.mean(axis=1) / metric.linear + LOG_FLOOR)
    return metric, median(hue(colour))


def _despiked(offset: Floats, limit: float) -> Floats:
    middle = running_median(offset, 7)
    return np.clip(np.where(np.abs(offset - middle) > 3.0, middle, offset), -limit, limit)
