"""How area and lengths of a part answer to small changes of camera and height: many trials, so all rings at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import Camera
from areakit.imaging.trace import EdgeRing, shift_taken

Floats = npt.NDArray[np.float64]

POINTS_PER_RING = 120
LEAST_HEIGHT_MM = 1e-6
"""Height at which the shift's direction is taken where the part has none."""


def trial_sizes(camera: Camera, rings: tuple[EdgeRing, ...], height_mm: float) -> Callable[[Camera, float], Floats]:
    """Return a function from camera and height to area less holes, outer length and length of holes, shape (3,).

    What part of the shift from sheet to top plane each point takes is settled once, with the camera as it was found.
    """
    steps = [max(1, len(ring.points_px) // POINTS_PER_RING) for ring in rings]
    points = [ring.points_px[::step] for ring, step in zip(rings, steps, strict=True)]
    taken = [_taken(camera, ring, height_mm)[::step] for ring, step in zip(rings, steps, strict=True)]
    joined, blend = np.concatenate(points), np.concatenate(taken)
    counts = np.array([len(ring) for ring in points])
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    following = np.arange(len(joined)) + 1
    following[starts + counts - 1] = starts

    def sizes(trial: Camera, height: float) -> Floats:
        rays = trial.rays(joined)
        flat = trial.meet(rays)
        if height != 0.0:
            flat = flat + np.einsum("nij,nj->ni", blend, trial.meet(rays, height) - flat)
        x, y = (flat - flat[0]).T
        areas = np.abs(np.add.reduceat(x * y[following] - y * x[following], starts)) / 2
        lengths = np.add.reduceat(np.hypot(x[following] - x, y[following] - y), starts)
        return np.array([areas[0] - areas[1:].sum(), lengths[0], lengths[1:].sum()])

    return sizes


def _taken(camera: Camera, ring: EdgeRing, height_mm: float) -> Floats:
    flat = camera.to_sheet(ring.points_px)
    return shift_taken(ring, flat, camera.to_sheet(ring.points_px, max(height_mm, LEAST_HEIGHT_MM)) - flat)
