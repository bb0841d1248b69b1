"""Follow the edge of each region at full size, and bring it to millimetres.

This is the only place where pixels become millimetres. The silhouette of a part of height t is its top edge where the
wall faces away from the camera, and its bottom edge where the wall is seen: the height rule moves the former back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.imaging import colours
from areakit.imaging.camera import Camera
from areakit.imaging.closed_ring import (
    majority,
    mean_along,
    median,
    outward_normals,
    resampled,
    running_median,
    stretches_with,
)
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
from areakit.imaging.edge import LUMINANCE, Crossings, Profiles, half_level, read_profiles
from areakit.imaging.glare import GLARE_SOFT, like_glare, unlike_metal
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.sheet_colour import SheetDistance
from areakit.imaging.walls import seen_wall, top_share

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

SPACING_PX = 2.5
MOST_POINTS = 2000
"""About how many points a ring gets at the most; a long one is followed at wider spacing."""
FINE_HALF_PX = 11
WEAK_CONTRAST = 0.02
"""Difference in linear light below which an edge is not trusted."""
OUTLIER_PX = 2.0
UNCLEAR = 0.25
"""Sharpness, relative to the ring's usual, below which a stretch of it is unclear."""
COLOUR_ENOUGH = 0.06
"""Linear light across the sheet's colour from which an edge is placed by colour rather than by light; from twice as
much, by colour alone."""
DARK_RATIO = 0.6
"""Light from the metal over that from the ground beside it from which metal counts as dark, wholly at half of it."""
DARK_SHIFT_PX, DARK_SHIFT_PALE_PX = 0.32, 0.2
"""How far out the half level of dark metal lies on a coloured sheet and on paper: shadow at its foot looks like more of
it, and sharpening lifts the bright side (accuracy study, seeds 1000 to 2291: the median of 129 dark parts on blue is
left at 0). [px]"""
BURNT = 254
"""Stored value from which a channel counts as burnt out."""
SOFT_PX, LOOKS = 1.4, 2
"""Softness of a tenth of an outline from which its place is looked at again, and how often (drawn motions of 5 and 7 px
moved edges by 0.06 and 0.20 px; looked at again once, by 0.01 and 0.09). [px]"""
SHADOW_STEPS = 3
FADE_ALONG, FADE_REACH = 0.3, 15
"""Sine of the angle between edge and shift below which the shift along the edge fades out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRing:
    """One closed edge at full size.

    Parameters
    ----------
    points_px : ndarray, shape (n, 2)
        On the edge, in order.
    normals : ndarray, shape (n, 2)
        Unit normals that point out of the metal.
    hole : bool
    seen : ndarray of bool, shape (n,)
        False where the edge was bridged.
    top : ndarray, shape (n,)
        1 where the point lies on the top edge of the part, 0 where on its bottom edge, between where that is open.
    wall_px : ndarray, shape (n,)
        How wide the wall is seen there; negative where it faces away from the camera. [px]
    doubt_px : float
        Mean distance between the outermost edge that can be made out and the sharpest one. [px]
    dark_share : float
        Share of the ring along which the metal is much darker than the sheet.
    bright_share : float
        Share of the ring along which the metal is much brighter than the ground.
    sigma_px : float
        Median softness of the edge. [px]
    unclear_share : float
        Share of the ring that was not seen, or is much less sharp than the rest: it may run through metal or a shadow.
    face_hue : float
        How far the metal's colour is from that of the sheet, whatever its shade.
    clipped_share : float
        Share of the ring along which pixels are burnt out.
    shade_outside : float
        Share of the ring outside of which the sheet is clearly darker than bare sheet; not
        beside bright metal on a dark ground, where no shadow passes for metal.
    width_px : float
        Smaller side of the ring's box.
    softness_px : ndarray, shape (n,)
        Softness at each point, infinite where the edge is unclear. [px]
    glare_share : float
        Share of the ring along which it parts the sheet from a lamp's soft reflection on it, not from metal.
    glare_stretch : float
        Share of the ring in stretches without a clear edge that have some of it.
    """

    points_px: Floats
    normals: Floats
    hole: bool
    seen: Flags
    top: Floats
    wall_px: Floats
    doubt_px: float
    dark_share: float
    sigma_px: float
    unclear_share: float
    face_hue: float
    clipped_share: float
    shade_outside: float
    width_px: float
    softness_px: Floats
    glare_share: float = 0.0
    glare_stretch: float = 0.0
    bright_share: float = 0.0


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
    spacing = max(SPACING_PX, small.factor * len(ring) / MOST_POINTS)
    points, normals = _coarse(small, sheet, ring, hole=hole)
    metric, face_hue = _metal_colour(photo, sheet, points, normals, 2 * half)
    face_hue = face_hue if shadows else 0.0
    points, normals = _out_of_shadow(photo, metric, face_hue, points, normals, half, hole=hole)
    for reach in (half, max(6, half // 2)):
        profiles = read_profiles(photo.pixels, points, normals, reach)
        change = change_along(profiles.encoded, metric)
        centre = outermost_sharp(change, in_shadow(log_colours(profiles.raw, metric), face_hue))
        found = profiles.start_px + (centre[:, None] + 0.5) * profiles.step_px
        offset = np.einsum("ij,ij->i", found - points, normals)
        points = points + _despiked(offset, float(reach))[:, None] * normals
        points, normals = resampled(points, float(small.factor) if reach == half else spacing, smooth=1, hole=hole)
    wall_px = seen_wall(camera, points, normals, height_mm)
    doubt_px = float(np.mean(doubt_of_edge(change) * profiles.across))
    top = top_share(photo, metric, points, normals, wall_px)
    return _refine(
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


def _out_of_shadow(
    photo: Photo,
    metric: ColourMetric,
    face_hue: float,
    points: Floats,
    normals: Floats,
    reach: int,
    *,
    hole: bool,
) -> tuple[Floats, Floats]:
    """Move stretches of a coarse ring that run along a shadow's rim inward, until metal is inside them."""
    for _ in range(SHADOW_STEPS):
        profiles = read_profiles(photo.pixels, points, normals, reach)
        inside = in_shadow(log_colours(profiles.raw, metric), face_hue)[:, 1 : reach // 2]
        dark = majority(inside.mean(axis=1) > 0.5, 10)
        if not dark.any():
            break
        moved = points - np.where(dark, float(reach), 0.0)[:, None] * normals
        points, normals = resampled(moved, float(reach) / 2, smooth=1, hole=hole)
    return points, normals


def _metal_colour(
    photo: Photo, sheet: SheetDistance, points: Floats, normals: Floats, depth: int
) -> tuple[ColourMetric, float]:
    """Return how colour counts for this part, and the usual hue of its face, from samples deep inside."""
    profiles = read_profiles(photo.pixels, points, normals, depth, only=4)
    metric = colour_metric(sheet.colour, profiles.encoded.mean(axis=1))
    colour = np.log(profiles.linear.mean(axis=1) / metric.linear + LOG_FLOOR)
    return metric, median(hue(colour))


def _refine(
    photo: Photo,
    sheet: SheetDistance,
    metric: ColourMetric,
    points: Floats,
    normals: Floats,
    *,
    face_hue: float,
    hole: bool,
    top: Floats,
    wall_px: Floats,
    doubt_px: float,
) -> EdgeRing:
    profiles = read_profiles(photo.pixels, points, normals, FINE_HALF_PX)
    linear = profiles.linear
    inside, outside = _either_side(linear)
    signal = _contrast_signal(linear, outside - inside, metric, coloured=sheet.coloured)
    rows = np.arange(len(points))
    middle = FINE_HALF_PX
    change = change_along(profiles.encoded, metric)
    shadowed = in_shadow(log_colours(profiles.raw, metric), face_hue)[:, middle - 5 : middle + 5]
    centre = outermost_sharp(change[:, middle - 5 : middle + 5], shadowed) + middle - 5
    cross = half_level(signal, centre, near=3, far=5, smooth=4)
    sigma = _softness_px(cross, profiles)
    for _ in range(LOOKS if _softness_px(cross, profiles, share=0.9) > SOFT_PX else 0):
        # A soft slope may be as steep at its end as in its middle: levels count from there, and further out.
        wide = min(FINE_HALF_PX - 3, max(round(2.4 * sigma) + 1, 4))
        centre = np.where(cross.found, cross.position, centre).astype(np.intp)
        cross = half_level(signal, centre, near=wide - 1, far=wide + 1, smooth=4)
        sigma = _softness_px(cross, profiles)
    found_px = profiles.start_px + cross.position[:, None] * profiles.step_px
    offset = np.einsum("ij,ij->i", found_px - points, normals)
    seen = cross.found & profiles.inside_frame & (np.abs(cross.outer - cross.inner) > WEAK_CONTRAST)
    usual = running_median(np.where(seen, offset, np.nan), 7)
    seen &= np.abs(offset - usual) <= OUTLIER_PX
    bridged = points + np.nan_to_num(usual)[:, None] * normals
    edge = np.where(seen[:, None], found_px, bridged)
    dark = _darkness(inside @ LUMINANCE, outside @ LUMINANCE)
    bright = _darkness(outside @ LUMINANCE, inside @ LUMINANCE)
    edge -= ((DARK_SHIFT_PX if sheet.coloured else DARK_SHIFT_PALE_PX) * dark)[:, None] * normals
    strength = change[rows, centre]
    unclear = strength < UNCLEAR * median(strength)
    soft = (cross.sigma_px * profiles.across > GLARE_SOFT * sigma) | unclear
    usual_inside = np.median(inside, axis=0)
    glare = soft & like_glare(inside, outside, usual_inside) & unlike_metal(inside, usual_inside)
    last = linear.shape[1] - 1
    near = np.clip(np.rint(cross.position).astype(int), 2, last - 2)
    beside = np.stack([profiles.raw[rows, near - 2], profiles.raw[rows, near + 2]])
    beyond = linear[rows, np.minimum(near + 5, last)] @ LUMINANCE
    return EdgeRing(
        points_px=edge,
        normals=outward_normals(edge, 3, hole),
        hole=hole,
        seen=seen,
        top=top,
        wall_px=wall_px,
        doubt_px=doubt_px,
        dark_share=float(dark.mean()),
        sigma_px=sigma,
        unclear_share=float((unclear | ~seen).mean()),
        face_hue=face_hue,
        clipped_share=float((beside >= BURNT).any(axis=(0, 2)).mean()),
        shade_outside=float(((beyond < 0.8 * sheet.level) & ~(sheet.dark & (bright >= 1.0))).mean()),
        width_px=float(np.ptp(edge, axis=0).min()),
        # On a dark ground bright metal is its light with white added too, so nothing tells the two apart there.
        softness_px=np.where(unclear | ~seen, np.inf, cross.sigma_px * profiles.across),
        glare_share=0.0 if sheet.dark else float(glare.mean()),
        glare_stretch=0.0 if sheet.dark else float(stretches_with(soft | ~seen, glare).mean()),
        bright_share=float(bright.mean()),
    )


def _softness_px(cross: Crossings, profiles: Profiles, *, share: float = 0.5) -> float:
    """Return what a share of the edges found is as soft as at most; more than can be measured where there are none."""
    if not cross.found.any():
        return 9.0
    return float(np.quantile(cross.sigma_px[cross.found] * profiles.across[cross.found], share))


def _either_side(linear: Singles) -> tuple[Singles, Singles]:
    """Return the colour on both sides of the middle of each profile, averaged along the outline, shape (n, 3) each."""
    middle = FINE_HALF_PX
    inside, outside = linear[:, middle - 6 : middle - 2], linear[:, middle + 3 : middle + 7]
    return mean_along(inside.mean(axis=1), 6), mean_along(outside.mean(axis=1), 6)


def _darkness(inside: Singles, outside: Singles) -> Floats:
    """Tell from its light, shape (n,), where metal is much darker than the ground beside it (1), or not (0)."""
    ratio = inside / np.maximum(outside, 1e-6)
    return np.asarray(np.clip((DARK_RATIO - ratio) / (0.5 * DARK_RATIO), 0.0, 1.0), dtype=float)


def _contrast_signal(linear: Singles, difference: Singles, metric: ColourMetric, *, coloured: bool) -> Singles:
    """Project profiles, shape (n, m, 3), on the colour difference across the edge, shape (n, 3).

    On a coloured sheet only colour across the sheet's own counts, if the metal has enough of it: a shadow moves light
    along the sheet's colour, and would draw the half level outward.
    """
    if coloured:
        unit = metric.linear / np.linalg.norm(metric.linear)
        across = difference - (difference @ unit)[:, None] * unit
        enough = np.clip(colours.size(across)[:, None] / COLOUR_ENOUGH - 1.0, 0.0, 1.0)
        difference = across + (1.0 - enough) * (difference - across)
    towards = difference / np.maximum(colours.size(difference), np.float32(1e-6))[:, None]
    return colours.dot(linear, towards[:, None].astype(np.float32))


def _despiked(offset: Floats, limit: float) -> Floats:
    middle = running_median(offset, 7)
    return np.clip(np.where(np.abs(offset - middle) > 3.0, middle, offset), -limit, limit)


def to_millimetres(camera: Camera, ring: EdgeRing, height_mm: float) -> Floats:
    """Return the part's own edge in sheet millimetres, shape (n, 2).

    A point of the top edge is mapped in the plane of the top face, one of the bottom edge in the sheet; where it is
    open which it is, in between. Where the silhouette passes from one to the other it runs along an upright line of
    the wall, whose points have all the same place: there the shift along the edge is faded out.
    """
    rays = camera.rays(ring.points_px)
    flat = camera.meet(rays)
    if height_mm == 0.0:
        return flat
    shift = camera.meet(rays, height_mm) - flat
    return np.asarray(flat + np.einsum("nij,nj->ni", shift_taken(ring, flat, shift), shift))


def shift_taken(ring: EdgeRing, flat: Floats, shift: Floats) -> Floats:
    """Return how much of the shift from sheet to top plane each point takes, as matrices of shape (n, 2, 2)."""
    normals = outward_normals(flat, 3, ring.hole)
    across = np.einsum("ni,nj->nij", normals, normals)
    turned = np.abs(np.einsum("ij,ij->i", shift, normals)) / np.maximum(np.linalg.norm(shift, axis=1), 1e-12)
    steady = mean_along(ring.top[:, None].astype(np.float32), FADE_REACH)[:, 0] ** 4  # 1 where all is top edge
    fade = np.maximum(np.clip(turned / FADE_ALONG, 0.0, 1.0), steady)[:, None, None]
    return np.asarray(ring.top[:, None, None] * (across + fade * (np.eye(2) - across)))
