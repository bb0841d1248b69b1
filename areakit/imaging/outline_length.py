"""How long an outline is that was followed by points: their noise lengthens it, softness and spacing round it off."""

from __future__ import annotations

import math

import cv2
import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LinearRing, Polygon

from areakit.imaging.closed_ring import mean_along
from areakit.imaging.edge_ring import EdgeRing

Floats = npt.NDArray[np.float64]

NOISE_PX = 0.5
"""How far points may lie off a straight piece of the outline, and still be noise. [px]"""
WHISKER_PX = 1.2
"""Half the width below which a spit or a slit is none: where the silhouette passes from the upper edge of a part to the
lower one, the points of an upright line of its wall are drawn out into one. [px]"""
SOFT_PX = 2.5
"""Standard deviation of a smoothing that takes from an outline what being photographed and followed took from it
(tuning scenes of the accuracy study). [px]"""
MITRE = 3.0
WHOLE = 0.97
"""Share of its area that an outline keeps without whiskers; one that loses more is left as it is."""
SOUND, RAGGED_FROM, STEPS_MM = 0.03, 0.08, 2.4
"""Unclear share of an edge on a ground without colour up to which it is what it seems, and from which it steps between
relief and shadow all along; and how far it is averaged then, either way, at a thickness of 1 mm and more (46 coins on
paper: 95 % of their rims within 6 %, where they read up to 20 % long; drawn parts stay as they are). [mm]"""
ROUNDED_SHARE, NOISE_SHARE, STEPPING_SHARE, LEAST_SHARE, PALE_LEAST_SHARE = 0.6, 0.6, 0.6, 0.0025, 0.007
"""Standard uncertainty of a length: share of what is put back, of what is taken off, and at least of itself, on a
coloured ground and on one without colour (tuning scenes of the accuracy study and the same coins: 96 % of the truths
within twice that)."""


def raggedness(ring: EdgeRing) -> float:
    """Tell from how much of an edge without colour is unclear whether it steps between relief and shadow, 0 to 1."""
    return float(np.clip((ring.unclear_share - SOUND) / (RAGGED_FROM - SOUND), 0.0, 1.0))


def outline_length(
    ring_mm: Floats, pixel_mm: float, *, ragged: float | None = None, height_mm: float = 1.0
) -> tuple[float, float]:
    """Return the length of a closed outline and its standard uncertainty. [mm]

    Noise and whiskers are taken off. What softness took from corners and teeth is what the same smoothing takes again
    (Richardson's extrapolation), less what it takes from a circle of that length, which is rounded off nowhere.

    Parameters
    ----------
    ring_mm : ndarray, shape (n, 2)
    pixel_mm : float
        Size of a pixel where it lies. [mm]
    ragged : float or None
        On a ground without colour, 0 where the edge is what it seems, 1 where it steps in and out: then it is as long
        as its average along itself. None on a coloured ground.
    height_mm : float
        Thickness of the part, with which such steps grow. [mm]
    """
    followed = ring_mm / pixel_mm
    clean = _without_whiskers(_without_noise(followed))
    length = float(LinearRing(clean).length)
    lost = max(0.0, _lost_by_smoothing(clean) - 2.0 * (math.pi * SOFT_PX) ** 2 / length)
    noise = abs(float(LinearRing(followed).length) - length)
    stepping = 0.0
    if ragged:
        stepping = ragged * (length + lost - _averaged(followed, STEPS_MM * min(height_mm, 1.0) / pixel_mm))
    spread = math.hypot(
        ROUNDED_SHARE * lost,
        NOISE_SHARE * noise,
        STEPPING_SHARE * stepping,
        (LEAST_SHARE if ragged is None else PALE_LEAST_SHARE) * length,
    )
    return (length + lost - stepping) * pixel_mm, spread * pixel_mm


def _averaged(ring: Floats, reach_px: float) -> float:
    """Return the length of a ring after averaging each point with neighbours, not so far that its form goes. [px]"""
    spacing = float(LinearRing(ring).length) / len(ring)
    reach = max(1, int(np.clip(reach_px / spacing, min(4, len(ring) // 30), len(ring) // 12)))
    return float(LinearRing(mean_along((ring - ring[0]).astype(np.float32), reach)).length)


def _without_noise(ring: Floats) -> Floats:
    """Return the corners of the ring in straight pieces; they begin at its outermost point, which is no noise.

    A ring as narrow as noise stays as it is.
    """
    start = int(np.argmax(np.hypot(*(ring - ring.mean(axis=0)).T)))
    pieces = LinearRing(np.roll(ring, -start, axis=0)).simplify(NOISE_PX, preserve_topology=False)
    corners = np.array(pieces.coords)[:-1]
    return corners if len(corners) >= 3 else ring


def _without_whiskers(ring: Floats) -> Floats:
    """Return the ring after opening and closing with mitred corners, which leaves everything wider as it is."""
    whole = shapely.make_valid(Polygon(ring))
    opened = whole
    for away in (-WHISKER_PX, 2.0 * WHISKER_PX, -WHISKER_PX):
        opened = opened.buffer(away, join_style="mitre", mitre_limit=MITRE)
    pieces = [piece for piece in shapely.get_parts(opened) if isinstance(piece, Polygon)]
    largest = max(pieces, key=lambda piece: piece.area, default=None)
    if largest is None or largest.area < WHOLE * whole.area:
        return ring
    return np.array(largest.exterior.coords)[:-1]


def _lost_by_smoothing(ring: Floats) -> float:
    """Return how much shorter a Gaussian along it makes the ring. [px]"""
    closed = np.concatenate([ring, ring[:1]])
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0.0, lengths[-1], max(16, round(lengths[-1])), endpoint=False)
    points = np.column_stack([np.interp(at, lengths, closed[:, i]) for i in (0, 1)])
    reach = min(math.ceil(4.0 * SOFT_PX), len(points) - 1)
    wrapped = np.concatenate([points[len(points) - reach :], points, points[:reach]])
    sigma = SOFT_PX * len(at) / lengths[-1]
    smooth = cv2.GaussianBlur(wrapped, (1, 2 * reach + 1), sigmaX=1.0, sigmaY=sigma)[reach : reach + len(points)]
    return float(LinearRing(points).length - LinearRing(smooth).length)
