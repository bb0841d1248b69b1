"""One closed edge as it was followed in the photo, and its place in millimetres.

This is the only place where pixels become millimetres. The silhouette of a part of height t is its top edge where the
wall faces away from the camera, and its bottom edge where the wall is seen: the height rule moves the former back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import Camera
from areakit.imaging.closed_ring import mean_along, outward_normals
from areakit.imaging.hidden_edge import joined

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

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
    placed = np.asarray(flat + np.einsum("nij,nj->ni", shift_taken(ring, flat, shift), shift))
    return joined(placed, flat, shift, top=ring.top, wall_px=ring.wall_px, hole=ring.hole)


def shift_taken(ring: EdgeRing, flat: Floats, shift: Floats) -> Floats:
    """Return how much of the shift from sheet to top plane each point takes, as matrices of shape (n, 2, 2)."""
    normals = outward_normals(flat, 3, ring.hole)
    across = np.einsum("ni,nj->nij", normals, normals)
    turned = np.abs(np.einsum("ij,ij->i", shift, normals)) / np.maximum(np.linalg.norm(shift, axis=1), 1e-12)
    steady = mean_along(ring.top[:, None].astype(np.float32), FADE_REACH)[:, 0] ** 4  # 1 where all is top edge
    fade = np.maximum(np.clip(turned / FADE_ALONG, 0.0, 1.0), steady)[:, None, None]
    return np.asarray(ring.top[:, None, None] * (across + fade * (np.eye(2) - across)))
