"""The edge of a part on raw pixels: where light is half way between metal and sheet, and how well it is seen there."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from areakit.imaging import colours
from areakit.imaging.closed_ring import mean_along, median, outward_normals, running_median, stretches_with
from areakit.imaging.contrast import GREY_HUE, ColourMetric, change_along, in_shadow, log_colours, outermost_sharp
from areakit.imaging.edge import LUMINANCE, Crossings, Profiles, half_level, read_profiles
from areakit.imaging.edge_ring import EdgeRing
from areakit.imaging.glare import GLARE_SOFT, like_glare, unlike_metal
from areakit.imaging.photo import Photo
from areakit.imaging.sheet_colour import SheetDistance

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]

FINE_HALF_PX = 11
WEAK_CONTRAST = 0.02
"""Difference in linear light below which an edge is not trusted."""
OUTLIER_PX = 2.0
UNCLEAR = 0.25
"""Sharpness, relative to the frame's usual, below which a stretch of it is unclear."""
LEAST_COLOUR, LEAST_AT_WALLS = 0.015, 0.03
"""Linear light across the sheet's colour from which an edge is placed by colour rather than by light; from twice as
much, by colour alone. Dark metal has little of it, and a shadow beside it would draw its half level out by a pixel and
more. The second: below a wall, which may mirror the sheet and would then be taken for it (drawn dark parts)."""
WALL_FROM_PX, OUTSIDE = 1.0, 0.75
"""Width of a wall from which that is so, and share of top edge from which it stands outside the edge."""
CLEAR_COLOUR, NOISY_REACH = 0.06, 1
"""Colour up to which an edge placed by it is noisy, and averaged over so many neighbours on either side; from twice as
much, not at all."""
DARK_RATIO = 0.6
"""Light from the metal over that from the ground beside it from which metal counts as dark, wholly at half of it."""
DARK_SHIFT_PX, DARK_SHIFT_PALE_PX = 0.32, 0.2
"""How far out the half level of dark metal lies on a coloured sheet and on paper: shadow at its foot looks like more of
it, and sharpening lifts the bright side (accuracy study, seeds 1000 to 2291: the median of 129 dark parts on blue is
left at 0). [px]"""
BURNT = 254
"""Stored value from which a channel counts as burnt out."""
SOFT_PX, LOOKS = 1.4, 2
"""Usual softness of an outline from which its place is looked at again, and how often. What is softer only here and
there is a shadow at the foot of a sharp part, and a second look moves it with the shadow (good scenes of the accuracy
study; drawn motions of 7 px moved edges by 0.20 px, looked at again once by 0.12). [px]"""


def refined(
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
    """Return the edge where light is half way between both sides, on raw pixels, and how it was seen.

    Parameters
    ----------
    points, normals : ndarray, shape (n, 2)
        The outermost sharp edge, closed, and its unit normals out of the metal. [px]
    face_hue, hole, top, wall_px, doubt_px
        As in :class:`EdgeRing`.
    """
    profiles = read_profiles(photo.pixels, points, normals, FINE_HALF_PX)
    linear = profiles.linear
    inside, outside = _either_side(linear)
    difference, noisy = outside - inside, np.zeros(len(points))
    light = signal = _signal(linear, difference)
    if sheet.coloured or face_hue >= GREY_HUE:  # else what colour there is drowns in noise
        least = (
            _least_colour(wall_px, top, shadows=face_hue > 0.0)
            if sheet.coloured
            else np.full(len(points), CLEAR_COLOUR)
        )
        counted, noisy = _by_colour(difference, metric, least=least)
        signal = _signal(linear, counted)
    rows = np.arange(len(points))
    middle = FINE_HALF_PX
    change = change_along(profiles.encoded, metric)
    shadowed = in_shadow(log_colours(profiles.raw, metric), face_hue)[:, middle - 5 : middle + 5]
    centre = outermost_sharp(change[:, middle - 5 : middle + 5], shadowed) + middle - 5
    near, far = 3, 5
    cross = half_level(signal, centre, near=near, far=far, smooth=4)
    sigma = _softness_px(cross, profiles)
    for _ in range(LOOKS if sigma > SOFT_PX else 0):
        # A soft slope may be as steep at its end as in its middle: levels count from there, and further out.
        wide = min(FINE_HALF_PX - 3, round(2.4 * sigma) + 1)
        centre = np.where(cross.found, cross.position, centre).astype(np.intp)
        near, far = wide - 1, wide + 1
        cross = half_level(signal, centre, near=near, far=far, smooth=4)
        sigma = _softness_px(cross, profiles)
    # On a pale sheet colour, of which JPEG keeps a quarter, is softer than the picture is.
    lit = cross if sheet.coloured else half_level(light, centre, near=near, far=far, smooth=4)
    found_px = profiles.start_px + cross.position[:, None] * profiles.step_px
    offset = np.einsum("ij,ij->i", found_px - points, normals)
    seen = cross.found & profiles.inside_frame & (np.abs(cross.outer - cross.inner) > WEAK_CONTRAST)
    usual = running_median(np.where(seen, offset, np.nan), 7)
    seen &= np.abs(offset - usual) <= OUTLIER_PX
    bridged = points + np.nan_to_num(usual)[:, None] * normals
    edge = np.where(seen[:, None], found_px, bridged)
    edge += _evened(np.where(seen, offset, np.nan_to_num(usual)), noisy)[:, None] * normals
    dark = _darkness(inside @ LUMINANCE, outside @ LUMINANCE)
    bright = _darkness(outside @ LUMINANCE, inside @ LUMINANCE)
    edge -= ((DARK_SHIFT_PX if sheet.coloured else DARK_SHIFT_PALE_PX) * dark)[:, None] * normals
    strength = change[rows, centre]
    unclear = strength < UNCLEAR * median(strength)
    soft = (cross.sigma_px * profiles.across > GLARE_SOFT * sigma) | unclear
    usual_inside = np.median(inside, axis=0)
    glare = soft & like_glare(inside, outside, usual_inside) & unlike_metal(inside, usual_inside)
    last = linear.shape[1] - 1
    at = np.clip(np.rint(cross.position).astype(int), 2, last - 2)
    beside = np.stack([profiles.raw[rows, at - 2], profiles.raw[rows, at + 2]])
    beyond = linear[rows, np.minimum(at + 5, last)] @ LUMINANCE
    return EdgeRing(
        points_px=edge,
        normals=outward_normals(edge, 3, hole),
        hole=hole,
        seen=seen,
        top=top,
        wall_px=wall_px,
        doubt_px=doubt_px,
        dark_share=float(dark.mean()),
        sigma_px=min(sigma, _softness_px(lit, profiles)),
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


def _softness_px(cross: Crossings, profiles: Profiles) -> float:
    """Return the median softness of the edges found; more than can be measured where there are none."""
    if not cross.found.any():
        return 9.0
    return float(np.median(cross.sigma_px[cross.found] * profiles.across[cross.found]))


def _either_side(linear: Singles) -> tuple[Singles, Singles]:
    """Return the colour on both sides of the middle of each profile, averaged along the outline, shape (n, 3) each."""
    middle = FINE_HALF_PX
    inside, outside = linear[:, middle - 6 : middle - 2], linear[:, middle + 3 : middle + 7]
    return mean_along(inside.mean(axis=1), 6), mean_along(outside.mean(axis=1), 6)


def _darkness(inside: Singles, outside: Singles) -> Floats:
    """Tell from its light, shape (n,), where metal is much darker than the ground beside it (1), or not (0)."""
    ratio = inside / np.maximum(outside, 1e-6)
    return np.asarray(np.clip((DARK_RATIO - ratio) / (0.5 * DARK_RATIO), 0.0, 1.0), dtype=float)


def _least_colour(wall_px: Floats, top: Floats, *, shadows: bool) -> Floats:
    """Return from how much colour on an edge is placed by it, shape (n,).

    Without ``shadows`` a person said that dark ground of the sheet's hue is part of the metal: paint of little colour.
    """
    at_walls = (wall_px > WALL_FROM_PX) & (top < OUTSIDE)
    return np.where(at_walls, LEAST_AT_WALLS, LEAST_COLOUR) if shadows else np.full(len(top), CLEAR_COLOUR)


def _by_colour(difference: Singles, metric: ColourMetric, *, least: Floats) -> tuple[Singles, Floats]:
    """Return what of the difference across an edge, shape (n, 3), tells metal from the sheet.

    Only colour across the sheet's own counts, if the metal has enough of it: a shadow moves light along the sheet's
    colour, and would draw the half level outward. Returned too is how noisy the little colour is, 0 to 1, shape (n,).
    """
    unit = metric.linear / np.linalg.norm(metric.linear)
    across = difference - (difference @ unit)[:, None] * unit
    size = colours.size(across)
    enough = np.clip(size / least - 1.0, 0.0, 1.0).astype(np.float32)
    clear = np.clip(size / CLEAR_COLOUR - 1.0, 0.0, 1.0)
    counted = across + (1.0 - enough)[:, None] * (difference - across)
    return counted, np.asarray(enough - clear, dtype=float)


def _evened(offset: Floats, noisy: Floats) -> Floats:
    """Return how far to move points along their normals to average a noisy edge, from offsets of shape (n,). [px]"""
    return np.asarray(noisy * (mean_along(offset[:, None].astype(np.float32), NOISY_REACH)[:, 0] - offset))


def _signal(linear: Singles, difference: Singles) -> Singles:
    """Project profiles, shape (n, m, 3), on differences of colour, shape (n, 3)."""
    towards = difference / np.maximum(colours.size(difference), np.float32(1e-6))[:, None]
    return colours.dot(linear, towards[:, None].astype(np.float32))
