"""Follow the edge of each region at full size, and bring it to millimetres.

This is the only place where pixels become millimetres. The silhouette of a part of height t is its top edge where the
wall faces away from the camera, and its bottom edge where the wall is seen: the height rule moves the former back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import Camera
from areakit.imaging.edge import LUMINANCE, Profiles, half_level, read_profiles
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.sheet_colour import GAMMA, SheetDistance

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

SPACING_PX = 2.5
FINE_HALF_PX = 11
WEAK_CONTRAST = 0.02
"""Difference in linear light below which an edge is not trusted."""
OUTLIER_PX = 2.0
NARROWEST_WALL_PX = 3.0
WIDEST_REACH_PX = 250
TELLING_HUE = 0.35
"""Difference in log colour between metal and sheet from which hue tells them apart."""
BROAD_PX = 9
FAINT_EDGE = 0.15
"""Sharpness, relative to the part's usual edge, of the foot of a wall that counts as seen."""
COLOUR_SHARE = 0.15
"""Share of colour in the difference between metal and sheet from which shade counts less."""
LEAST_SHADE_WEIGHT = 0.05
NEIGHBOURS = 2
NOISE_FACTOR = 6.0
SHARP_ENOUGH = 0.35
"""A peak of change this share of the sharpest counts as an edge; a soft shadow stays far below."""


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
    top : ndarray of bool, shape (n,)
        Whether the point lies on the top edge of the part; otherwise on its bottom edge.
    wall_px : ndarray, shape (n,)
        How wide the wall is seen there; negative where it faces away from the camera. [px]
    doubt_px : float
        Mean distance between the outermost edge that can be made out and the sharpest one. [px]
    sigma_px : float
        Median softness of the edge. [px]
    clipped_share : float
        Share of the ring along which pixels are burnt out.
    shade_outside : float
        Share of the ring outside of which the sheet is clearly darker than bare sheet.
    width_px : float
        Smaller side of the ring's box.
    """

    points_px: Floats
    normals: Floats
    hole: bool
    seen: Flags
    top: Flags
    wall_px: Floats
    doubt_px: float
    sigma_px: float
    clipped_share: float
    shade_outside: float
    width_px: float


def trace_ring(
    photo: Photo, small: Overview, sheet: SheetDistance, ring: Floats, *, hole: bool, camera: Camera, height_mm: float
) -> EdgeRing:
    """Refine one coarse ring to the edge at full size: the outermost sharp edge first, then half level on raw pixels.

    Parameters
    ----------
    ring : ndarray, shape (n, 2)
        In overview pixels of the crop.
    height_mm : float
        Thickness of the part; where its wall faces the camera, it tells how far apart top and bottom edge are seen.
    """
    coarse = small.to_full(ring + [sheet.left, sheet.top])
    points, normals = _resample(coarse, float(small.factor), smooth=1, hole=hole)
    half = small.factor + small.factor // 2 + 3
    metric = None
    for reach in (half, max(6, half // 2)):
        profiles = read_profiles(photo.pixels, points, normals, reach)
        metric = metric or _colour_metric(sheet.colour, profiles.encoded[:, :3].mean(axis=1))
        centre = _outermost_sharp(_change(profiles.encoded, metric))
        found = profiles.start_px + (centre[:, None] + 0.5) * profiles.step_px
        offset = np.einsum("ij,ij->i", found - points, normals)
        points = points + _despiked(offset, float(reach))[:, None] * normals
        points, normals = _resample(points, float(small.factor) if reach == half else SPACING_PX, smooth=1, hole=hole)
    wall_px = _seen_wall(camera, points, normals, height_mm)
    assert metric is not None
    doubt_px = float(np.mean(_doubt(_change(profiles.encoded, metric)) * profiles.across))
    top = _on_top_edge(photo, metric, points, normals, wall_px)
    return _refine(photo, sheet, metric, points, normals, hole=hole, top=top, wall_px=wall_px, doubt_px=doubt_px)


def _seen_wall(camera: Camera, points: Floats, normals: Floats, height_mm: float) -> Floats:
    """Return how wide the wall is seen below each edge point, shape (n,); negative where it faces away. [px]"""
    if height_mm == 0.0:
        return np.zeros(len(points))
    flat = camera.to_sheet(points)
    lifted = camera.project(flat, height_mm)
    return -np.einsum("ij,ij->i", lifted - points, normals)


def _on_top_edge(photo: Photo, metric: _ColourMetric, points: Floats, normals: Floats, wall_px: Floats) -> Flags:
    """Tell for each edge point, shape (n,), whether it lies on the top edge of the part or on its bottom edge.

    Where the wall faces away only the top edge can be seen. Where the wall is seen, its colour must stand on one side of
    the edge found: outside it, between the edge and the bare sheet, if that is the top edge.
    """
    top = wall_px <= 0.0
    wide = wall_px >= NARROWEST_WALL_PX
    reach = int(np.ceil(1.9 * wall_px.max())) + 6 if wide.any() else 0
    if not wide.any() or reach > WIDEST_REACH_PX:
        return top
    profiles = read_profiles(photo.pixels, points, normals, reach)
    steps = (np.arange(2 * reach + 1) - reach)[None, :] * profiles.across[:, None]
    colour = _along_ring(np.log(profiles.values / metric.linear + np.float32(0.03)), 2 * NEIGHBOURS)
    width = np.maximum(wall_px, NARROWEST_WALL_PX)[:, None]
    beside = _band(colour, steps, 0.2 * width, 0.8 * width)
    beyond = _band(colour, steps, 1.2 * width + 1.0, 1.7 * width + 4.0)
    within = _band(colour, steps, -0.8 * width, -0.2 * width)
    metal, outside = _hue(within), _hue(beside)
    by_hue = outside > 0.4 * metal
    change = _change(profiles.encoded, metric)
    middles = (steps[:, :-1] + steps[:, 1:]) / 2
    foot = np.where(np.abs(middles - width) <= 0.35 * np.maximum(width, 4.0), change, 0.0).max(axis=1)
    darker = (beyond - beside).mean(axis=1) > 0.15
    usual = float(np.median(np.where(np.abs(middles) <= 2.0, change, 0.0).max(axis=1)))
    by_foot = (foot > FAINT_EDGE * usual) & darker
    chosen = np.where(metal > TELLING_HUE, by_hue, by_foot)
    return np.asarray(top | (_vote(chosen & wide, 9) & (wall_px > 0.0)))


def _band(colour: Singles, steps: Floats, low: Floats, high: Floats) -> Singles:
    """Mean colour, shape (n, 3), of the samples between two distances from the edge, shape (n, 1) each."""
    inside = ((steps >= low) & (steps <= high)).astype(np.float32)
    count = np.maximum(inside.sum(axis=1, keepdims=True), 1.0)
    return np.asarray(np.einsum("nm,nmc->nc", inside, colour) / count, dtype=np.float32)


def _hue(colour: Singles) -> Singles:
    """How far log colours, shape (n, 3), are from that of the sheet, whatever their shade."""
    return np.asarray(np.linalg.norm(colour - colour.mean(axis=1, keepdims=True), axis=1), dtype=np.float32)


def _vote(chosen: Flags, reach: int) -> Flags:
    """Let neighbours along a closed ring decide by majority."""
    share = _round_mean3(chosen[:, None].astype(np.float32), reach)[:, 0]
    return np.asarray(share > 0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class _ColourMetric:
    """How a change of colour counts, in encoded values relative to the bare sheet.

    A shadow moves colour along the sheet's own; that direction counts less, the more the metal differs across it.
    """

    linear: Singles
    unit: Singles
    size: float
    shade_weight: float


def _colour_metric(sheet_colour: Singles, inside: Singles) -> _ColourMetric:
    """Weigh shade against colour by how the metal differs from the sheet; encoded samples inside have shape (n, 3)."""
    sheet = sheet_colour ** np.float32(1.0 / GAMMA)
    size = float(np.linalg.norm(sheet))
    unit = sheet / size
    difference = np.median(inside, axis=0) - sheet
    shade = abs(float(difference @ unit))
    colour = float(np.linalg.norm(difference - (difference @ unit) * unit))
    share = colour / max(shade + colour, 1e-6)
    weight = np.clip((COLOUR_SHARE / max(share, 1e-6)) ** 2, LEAST_SHADE_WEIGHT, 1.0)
    return _ColourMetric(linear=sheet_colour, unit=unit, size=size, shade_weight=float(weight))


def _change(encoded: Singles, metric: _ColourMetric) -> Singles:
    """Return how sharply colour changes along each profile, shape (n, m - 1), relative to the bare sheet.

    A broad slope, such as a soft shadow's, is taken off.
    """
    step = np.diff(encoded, axis=1) / np.float32(metric.size)
    step = step + np.float32(metric.shade_weight - 1.0) * (step @ metric.unit)[..., None] * metric.unit
    step = _along_ring(step, NEIGHBOURS)
    narrow = np.linalg.norm((_box(step, 3) * 3 + step) / 4, axis=2)
    broad = np.linalg.norm(_box(step, BROAD_PX), axis=2)
    return np.asarray(np.maximum(narrow - 1.5 * broad, 0.0), dtype=np.float32)


def _along_ring(values: Singles, reach: int) -> Singles:
    """Average rows over neighbours along a closed ring."""
    flat = values.reshape(len(values), -1)
    return _round_mean3(flat, reach).reshape(values.shape)


def _box(values: Singles, width: int) -> Singles:
    """Moving average along the second axis, same length; the ends are repeated."""
    before, after = (width - 1) // 2, width // 2
    padded = np.concatenate(
        [np.repeat(values[:, :1], before + 1, axis=1), values, np.repeat(values[:, -1:], after, axis=1)], axis=1
    )
    summed = np.cumsum(padded, axis=1, dtype=np.float32)
    return np.asarray((summed[:, width:] - summed[:, :-width]) / width, dtype=np.float32)


def _doubt(change: Singles) -> Floats:
    """Return for each profile how far the outermost faint edge lies beyond the sharpest, shape (n,). [steps]"""
    outermost = _outermost_sharp(change, enough=FAINT_EDGE / 2)
    return np.maximum(outermost - change.argmax(axis=1), 0).astype(float)


def _outermost_sharp(change: Singles, enough: float = SHARP_ENOUGH) -> npt.NDArray[np.intp]:
    """Return for each profile the outermost local peak of change that is nearly as sharp as the sharpest.

    Inside the part relief and highlights can be sharper than its edge; outside it there is only sheet and soft shadow.
    """
    strongest = change.max(axis=1)
    usual = float(np.median(strongest))
    noise = NOISE_FACTOR * float(np.median(change))
    least = np.maximum(enough * np.minimum(strongest, usual), noise)[:, None]
    peak = np.zeros(change.shape, dtype=bool)
    peak[:, 1:-1] = (change[:, 1:-1] >= change[:, :-2]) & (change[:, 1:-1] > change[:, 2:])
    peak &= change >= np.maximum(least, 1e-6)
    last = change.shape[1] - 1 - peak[:, ::-1].argmax(axis=1)
    return np.where(peak.any(axis=1), last, change.argmax(axis=1))


def _refine(
    photo: Photo,
    sheet: SheetDistance,
    metric: _ColourMetric,
    points: Floats,
    normals: Floats,
    *,
    hole: bool,
    top: Flags,
    wall_px: Floats,
    doubt_px: float,
) -> EdgeRing:
    profiles = read_profiles(photo.pixels, points, normals, FINE_HALF_PX)
    signal = _contrast_signal(profiles)
    rows = np.arange(len(points))
    middle = FINE_HALF_PX
    change = _change(profiles.encoded, metric)
    centre = _outermost_sharp(change[:, middle - 5 : middle + 5]) + middle - 5
    cross = half_level(signal, centre, near=3, far=5, smooth=4)
    sigma = float(np.median(cross.sigma_px[cross.found] * profiles.across[cross.found])) if cross.found.any() else 9.0
    if sigma > 1.4:
        wide = min(FINE_HALF_PX - 3, round(2.4 * sigma) + 1)
        cross = half_level(signal, centre, near=wide - 1, far=wide + 1, smooth=4)
    found_px = profiles.start_px + cross.position[:, None] * profiles.step_px
    offset = np.einsum("ij,ij->i", found_px - points, normals)
    seen = cross.found & profiles.inside_frame & (np.abs(cross.outer - cross.inner) > WEAK_CONTRAST)
    usual = _running_median(np.where(seen, offset, np.nan), 7)
    seen &= np.abs(offset - usual) <= OUTLIER_PX
    bridged = points + np.nan_to_num(usual)[:, None] * normals
    edge = np.where(seen[:, None], found_px, bridged)
    near = np.clip(np.rint(cross.position).astype(int), 2, profiles.values.shape[1] - 3)
    burnt = profiles.clipped[rows, near - 2] | profiles.clipped[rows, near + 2]
    outside = profiles.values[rows, np.clip(near + 5, 0, profiles.values.shape[1] - 1)] @ LUMINANCE
    return EdgeRing(
        points_px=edge,
        normals=_normals(edge, 3, hole),
        hole=hole,
        seen=seen,
        top=top,
        wall_px=wall_px,
        doubt_px=doubt_px,
        sigma_px=sigma,
        clipped_share=float(burnt.mean()),
        shade_outside=float((outside < 0.8 * sheet.level).mean()),
        width_px=float(np.ptp(edge, axis=0).min()),
    )


def _contrast_signal(profiles: Profiles) -> Singles:
    """Project each profile on the colour difference across its middle, smoothed along the outline."""
    values, middle = profiles.values, FINE_HALF_PX
    inside = _round_mean3(values[:, middle - 6 : middle - 2].mean(axis=1), 6)
    outside = _round_mean3(values[:, middle + 3 : middle + 7].mean(axis=1), 6)
    difference = outside - inside
    size = np.maximum(np.linalg.norm(difference, axis=1, keepdims=True), 1e-6)
    return np.asarray(np.einsum("nmc,nc->nm", values, difference / size), dtype=np.float32)


def _round_mean3(values: Singles, reach: int) -> Singles:
    """Average colours over neighbours along a closed ring."""
    reach = min(reach, (len(values) - 1) // 2)
    wrapped = np.concatenate([values[len(values) - reach :], values, values[:reach]])
    summed = np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(wrapped, axis=0, dtype=np.float64)])
    return np.asarray((summed[2 * reach + 1 :] - summed[: -(2 * reach + 1)]) / (2 * reach + 1), dtype=np.float32)


def _resample(ring: Floats, spacing_px: float, *, smooth: int, hole: bool) -> tuple[Floats, Floats]:
    """Return a smoothed closed ring at even spacing, and its normals out of the metal, shape (n, 2) each."""
    soft = _round_mean3(ring.astype(np.float32) - ring[0].astype(np.float32), smooth) + ring[0]
    closed = np.concatenate([soft, soft[:1]])
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(16, round(lengths[-1] / spacing_px))
    at = np.linspace(0.0, lengths[-1], count, endpoint=False)
    points = np.column_stack([np.interp(at, lengths, closed[:, 0]), np.interp(at, lengths, closed[:, 1])])
    return points, _normals(points, 2, hole)


def _normals(points: Floats, reach: int, hole: bool) -> Floats:
    """Unit normals that point out of the metal, whichever way the ring runs."""
    along = np.roll(points, -reach, axis=0) - np.roll(points, reach, axis=0)
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    normal /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    turn = signed_area(points)
    return normal * (1.0 if (turn > 0) != hole else -1.0)


def signed_area(points: Floats) -> float:
    """Return the area enclosed by a ring, shape (n, 2); positive if x turns to y along it (shoelace formula)."""
    x, y = (points - points.mean(axis=0)).T
    return float(0.5 * (np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


def _despiked(offset: Floats, limit: float) -> Floats:
    middle = _running_median(offset, 7)
    return np.clip(np.where(np.abs(offset - middle) > 3.0, middle, offset), -limit, limit)


def _running_median(values: Floats, width: int) -> Floats:
    """Median over neighbours along a closed ring; nan is left out, and nan comes back where all are."""
    half = width // 2
    stacked = np.stack([np.roll(values, shift) for shift in range(-half, half + 1)])
    known = ~np.isnan(stacked)
    if known.all():
        return np.asarray(np.median(stacked, axis=0))
    count = known.sum(axis=0)
    ordered = np.sort(stacked, axis=0)  # nan sorts last
    columns = np.arange(stacked.shape[1])
    low, high = np.maximum((count - 1) // 2, 0), np.maximum(count // 2, 0)
    return np.asarray((ordered[low, columns] + ordered[high, columns]) / 2)


def to_millimetres(camera: Camera, ring: EdgeRing, height_mm: float) -> Floats:
    """Return the part's own edge in sheet millimetres, shape (n, 2).

    A point of the top edge is moved along the normal by what the height pushes it out (or in, where a wall below it is
    seen but its foot is not); a point of the bottom edge lies in the sheet already.
    """
    flat = camera.to_sheet(ring.points_px)
    if height_mm == 0.0:
        return flat
    normals = _normals(flat, 3, ring.hole)
    centre = camera.centre_mm
    outward = np.einsum("ij,ij->i", normals, flat - centre[:2])
    shrink = height_mm / -centre[2]  # 1 - (H - t)/H
    return np.asarray(flat - np.where(ring.top, outward * shrink, 0.0)[:, None] * normals)


def top_plane(camera: Camera, ring: EdgeRing, height_mm: float) -> Floats:
    """Return the ring as if all of it lay in the plane of the top face, shape (n, 2)."""
    return camera.to_sheet(ring.points_px, height_mm)
