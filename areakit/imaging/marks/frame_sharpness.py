"""How soft the printed squares of the sheet are, and in which direction: blur by motion is longer one way.

Blur of covariance M softens a straight side by the root of its variance across that side. A corner of the chequer, seen
as sign(x) sign(y), takes in its middle the value (2 / pi) asin(rho), rho the correlation of M along the sheet's axes:
twice the chance of two normal numbers having one sign, less one (Sheppard's formula).
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.blur import Blur
from areakit.imaging.camera import Camera
from areakit.imaging.edge import LUMINANCE, half_level, linear_table, read_profiles, steepest
from areakit.imaging.marks.frame_layout import FrameLayout
from areakit.imaging.photo import Photo

Floats = npt.NDArray[np.float64]

FEWEST = 12
"""Sides of squares in one direction below which nothing is said."""
CLEAR = 0.05
"""Difference of linear light between black and white from which a corner is read."""
QUIET_SHARE, LONGEST_PX, SHORTEST_PX = 0.9, 14, 4
"""How much of the way to a marker's ink a profile goes, and between which lengths. [px]"""


def frame_blur(photo: Photo, camera: Camera, layout: FrameLayout, true: Floats) -> Blur | None:
    """Return how the squares of the frame are blurred, or None where they are too small in the photo to tell.

    Parameters
    ----------
    true : ndarray, shape (2,)
        Printed length over designed length along x and y.
    """
    quiet_px = (layout.square_mm - layout.marker_mm) / 2 / camera.mm_per_px(np.array(layout.corners_mm.mean(axis=0)))
    half = int(min(QUIET_SHARE * quiet_px, LONGEST_PX))
    if half < SHORTEST_PX:
        return None
    x, y = (_softness(photo, camera, _sides(layout, axis) * true, axis, half) for axis in (0, 1))
    rho = _correlation(photo, camera, layout, true, half)
    if x is None or y is None or rho is None:
        return None
    sizes, ways = np.linalg.eigh(np.array([[x * x, rho * x * y], [rho * x * y, y * y]]))
    nodes = layout.corners_mm.mean(axis=0) * true
    along = np.diff(camera.project(np.array([nodes, nodes + ways[:, 1]])), axis=0)[0]
    return Blur(
        longest_px=float(np.sqrt(sizes[1])),
        shortest_px=float(np.sqrt(max(sizes[0], 0.0))),
        direction_deg=float(np.degrees(np.arctan2(along[1], along[0])) % 180.0),
    )


def _correlation(photo: Photo, camera: Camera, layout: FrameLayout, true: Floats, half: int) -> float | None:
    """Return the correlation of the blur along the sheet's axes, from the light in the middle of the corners."""
    nodes = layout.corners_mm * true
    step = 0.7 * half * camera.mm_per_px(nodes.mean(axis=0))
    places = [nodes, *(nodes + step * np.array(way) for way in ((1, 1), (-1, -1), (1, -1), (-1, 1)))]
    pixels = np.array([camera.project(place) for place in places])
    inside = ((pixels >= 1) & (pixels <= np.array([photo.width_px, photo.height_px]) - 2)).all(axis=(0, 2))
    if inside.sum() < FEWEST:
        return None
    x, y = np.moveaxis(pixels[:, inside].astype(np.float32), 2, 0)
    light = cv2.remap(photo.pixels, x, y, cv2.INTER_LINEAR)
    middle, *around = linear_table()[light] @ LUMINANCE
    down, up = (around[0] + around[1]) / 2, (around[2] + around[3]) / 2
    apart = down - up
    kinds = [apart > CLEAR, apart < -CLEAR]
    if not all(kind.any() for kind in kinds):
        return None
    value = middle - (down + up) / 2
    bright = [float(np.median(value[kind] / np.abs(apart[kind]) * 2)) for kind in kinds]
    # Ink that spreads darkens the middle of every corner alike; the two kinds of corner take it out.
    return float(np.clip(np.sin(np.pi / 2 * np.clip((bright[0] - bright[1]) / 2, -1.0, 1.0)), -0.99, 0.99))


def _sides(layout: FrameLayout, axis: int) -> Floats:
    """Return the middles of the sides between neighbouring squares of the frame along an axis, shape (n, 2). [mm]"""
    squares = set(layout.frame_squares)
    step = np.array([1, 0]) if axis == 0 else np.array([0, 1])
    pairs = [place for place in layout.frame_squares if (place[0] + step[0], place[1] + step[1]) in squares]
    return (np.array(pairs) + 0.5 + step / 2) * layout.square_mm


def _softness(photo: Photo, camera: Camera, places_mm: Floats, axis: int, half: int) -> float | None:
    ahead = np.zeros(2)
    ahead[axis] = 0.1
    points = camera.project(places_mm)
    normals = camera.project(places_mm + ahead) - points
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    profiles = read_profiles(photo.pixels, points, normals, half)
    signal = np.asarray(profiles.linear @ LUMINANCE, dtype=np.float32)
    centre, _ = steepest(signal)
    cross = half_level(signal, centre, near=half - 1, far=half, smooth=0)
    contrast = np.abs(cross.outer - cross.inner)
    good = cross.found & profiles.inside_frame & (contrast > 0.5 * np.median(contrast))
    return float(np.median((cross.sigma_px * profiles.across)[good])) if good.sum() >= FEWEST else None
