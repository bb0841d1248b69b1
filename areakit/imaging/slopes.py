"""How area and lengths of a part answer to camera and height: from few points, so all rings at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import Camera
from areakit.imaging.edge_ring import EdgeRing, shift_taken

Floats = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]

POINTS_PER_RING = 120
LEAST_HEIGHT_MM = 1e-6
"""Height at which the shift's direction is taken where the part has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinnedRings:
    """Every few points of all rings of a part, ring after ring.

    Parameters
    ----------
    camera : Camera
    rays : ndarray, shape (n, 3)
        Their sight lines.
    taken : ndarray, shape (n, 2, 2)
        What part of the shift from sheet to top plane each point takes, settled once.
    starts : ndarray, shape (rings,)
        Where each ring begins.
    after, before : ndarray, shape (n,)
        The neighbours of each point on its ring.
    """

    camera: Camera
    rays: Floats
    taken: Floats
    starts: Places
    after: Places
    before: Places

    def sizes(self, height_mm: float) -> Floats:
        """Return area less holes, outer length and length of holes, shape (3,)."""
        x, y = self._places(height_mm).T
        areas = np.abs(np.add.reduceat(x * y[self.after] - y * x[self.after], self.starts)) / 2
        lengths = np.add.reduceat(np.hypot(x[self.after] - x, y[self.after] - y), self.starts)
        return np.array([areas[0] - areas[1:].sum(), lengths[0], lengths[1:].sum()])

    def camera_slopes(self, height_mm: float) -> Floats:
        """Return how the three sizes change with each parameter of the camera, shape (parameters, 3)."""
        flat, lifted = self._planes(height_mm)
        moves = self.camera.moves(flat)
        if height_mm != 0.0:
            moves = moves + self.taken @ (self.camera.moves(lifted, height_mm) - moves)
        places = self._between(flat, lifted)
        onward, back = places[self.after] - places, places - places[self.before]
        # Moving a corner of a polygon changes its area by half the turned chord between its neighbours (shoelace
        # formula), and its length by the difference of the unit vectors along both sides.
        chord = onward + back
        by_area = np.stack([chord[:, 1], -chord[:, 0]], axis=1) / 2
        by_length = back / _length(back) - onward / _length(onward)
        turned = np.sign(np.add.reduceat(np.einsum("ni,ni->n", by_area, places), self.starts))
        areas, lengths = (
            np.add.reduceat(np.einsum("ni,nip->np", by, moves), self.starts, axis=0) for by in (by_area, by_length)
        )
        areas *= turned[:, None]
        return np.stack([areas[0] - areas[1:].sum(axis=0), lengths[0], lengths[1:].sum(axis=0)], axis=1)

    def _places(self, height_mm: float) -> Floats:
        return self._between(*self._planes(height_mm))

    def _between(self, flat: Floats, lifted: Floats) -> Floats:
        places = flat + np.einsum("nij,nj->ni", self.taken, lifted - flat)
        return np.asarray(places - places[0])

    def _planes(self, height_mm: float) -> tuple[Floats, Floats]:
        """Return where the points would lie in the sheet, and where in the top plane, shape (n, 2) each. [mm]"""
        return self.camera.meet(self.rays), self.camera.meet(self.rays, height_mm)


def thinned(camera: Camera, rings: tuple[EdgeRing, ...], height_mm: float) -> ThinnedRings:
    """Thin out the rings of a part of a height above the sheet. [mm]"""
    steps = [max(1, len(ring.points_px) // POINTS_PER_RING) for ring in rings]
    rays = [camera.rays(ring.points_px) for ring in rings]
    taken = [
        _taken(camera, ring, sight, height_mm)[::step] for ring, sight, step in zip(rings, rays, steps, strict=True)
    ]
    rays = [sight[::step] for sight, step in zip(rays, steps, strict=True)]
    counts = np.array([len(sight) for sight in rays])
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    here = np.arange(int(counts.sum()))
    after, before = here + 1, here - 1
    after[starts + counts - 1], before[starts] = starts, starts + counts - 1
    return ThinnedRings(
        camera=camera,
        rays=np.concatenate(rays),
        taken=np.concatenate(taken),
        starts=starts,
        after=after,
        before=before,
    )


def _taken(camera: Camera, ring: EdgeRing, rays: Floats, height_mm: float) -> Floats:
    flat = camera.meet(rays)
    return shift_taken(ring, flat, camera.meet(rays, max(height_mm, LEAST_HEIGHT_MM)) - flat)


def _length(along: Floats) -> Floats:
    return np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)[:, None]
