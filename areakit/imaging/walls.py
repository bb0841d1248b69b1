"""Side walls that the camera sees below an edge: how wide, and on which side of the edge found they stand."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from areakit.imaging import colours
from areakit.imaging.camera import Camera
from areakit.imaging.closed_ring import mean_along, mean_of_neighbours
from areakit.imaging.contrast import LOG_FLOOR, NEIGHBOURS, ColourMetric, hue
from areakit.imaging.edge import read_profiles
from areakit.imaging.photo import Photo

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]

NARROWEST_WALL_PX = 3.0
WIDEST_REACH_PX = 250
OPEN_WALL = 0.75
"""Share of open walls that are taken as unseen, mirroring the sheet."""
NEIGHBOURHOOD = 15
CLEAR_WALL_PX = 8.0
"""Width from which a wall is told from face and sheet with certainty; a narrower one is lost in the edge's softness."""
WALL_SHADE = 0.15
"""Change of log colour that counts as another surface."""
WALL_HUE = 0.3
"""Hue outside an edge, relative to the metal's, from which a wall and not the sheet is seen there."""
TELLING_HUE = 0.35
"""Difference in log colour between metal and sheet from which hue tells them apart."""


def seen_wall(camera: Camera, points: Floats, normals: Floats, height_mm: float) -> Floats:
    """Return how wide the wall is seen below each edge point, shape (n,); negative where it faces away. [px]"""
    if height_mm == 0.0:
        return np.zeros(len(points))
    flat = camera.to_sheet(points)
    lifted = camera.project(flat, height_mm)
    return np.asarray(-np.einsum("ij,ij->i", lifted - points, normals))


def top_share(photo: Photo, metric: ColourMetric, points: Floats, normals: Floats, wall_px: Floats) -> Floats:
    """Tell for each edge point, shape (n,), whether it lies on the top edge (1), the bottom edge (0), or which is open.

    Where the wall faces away only the top edge can be seen. Where the wall is seen it stands on one side of the edge
    found: outside, between the edge and the bare sheet, if that is the top edge; inside, between face and edge, if that
    is the bottom edge. A polished wall mirrors the sheet beside it and cannot be seen at all; then neither shows.
    """
    share = (wall_px <= 0.0).astype(float)
    seen = wall_px > 0.0
    reach = int(np.ceil(1.9 * np.max(wall_px))) + 6 if seen.any() else 0
    if not seen.any() or reach > WIDEST_REACH_PX:
        return share
    profiles = read_profiles(photo.pixels, points, normals, reach)
    steps = (np.arange(2 * reach + 1) - reach)[None, :] * profiles.across[:, None]
    colour = mean_of_neighbours(np.log(profiles.linear / metric.linear + LOG_FLOOR), 2 * NEIGHBOURS)
    width = np.maximum(wall_px, NARROWEST_WALL_PX)[:, None]
    near, far = np.maximum(0.25 * width, 1.5), np.maximum(0.85 * width, 2.5)
    outside, inside = _band(colour, steps, near, far), _band(colour, steps, -far, -near)
    face = _band(colour, steps, -1.7 * width - 4.0, -1.2 * width - 1.0)
    sheet = _band(colour, steps, 1.2 * width + 1.0, 1.7 * width + 4.0)
    metal = hue(face)
    if float(np.median(metal)) > TELLING_HUE:
        wall_outside = hue(outside) > WALL_HUE * metal
    else:
        wall_outside = (sheet - outside).mean(axis=1) > WALL_SHADE
    wall_inside = colours.size(inside - face) > WALL_SHADE
    votes = wall_outside.astype(np.float32) - wall_inside.astype(np.float32)
    verdict, certainty = _neighbours_verdict(votes, np.where(seen, wall_px, 0.0))
    return np.where(seen, np.clip(OPEN_WALL + verdict * certainty, 0.0, 1.0), share)


def _neighbours_verdict(votes: Singles, wall_px: Floats) -> tuple[Floats, Floats]:
    """Average votes along the ring, wide walls counting more; a narrow wall goes with the wide one that it runs into.

    Returns the verdict, -1 to 1, and how certain it is, 0 to 1, shape (n,) each.
    """
    width = wall_px.astype(np.float32)
    stacked = np.column_stack([votes * width, width, width**2]).astype(np.float32)
    ballot, weight, square = mean_along(stacked, NEIGHBOURHOOD).T.astype(float)
    weight = np.maximum(weight, 1e-9)
    return ballot / weight, np.minimum(1.0, square / weight / CLEAR_WALL_PX)


def _band(colour: Singles, steps: Floats, low: Floats, high: Floats) -> Singles:
    """Mean colour, shape (n, 3), of the samples between two distances from the edge, shape (n, 1) each."""
    inside = ((steps >= low) & (steps <= high)).astype(np.float32)
    count = np.maximum(inside.sum(axis=1, keepdims=True), 1.0)
    return np.asarray(np.einsum("nm,nmc->nc", inside, colour) / count, dtype=np.float32)
