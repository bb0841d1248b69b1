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
Flags = npt.NDArray[np.bool_]

NARROWEST_WALL_PX = 3.0
WIDEST_REACH_PX = 250
OPEN_WALL, OPEN_PALE_WALL = 0.75, 0.4
"""Share of open walls that are taken as unseen, mirroring the sheet; and of those of coloured metal on a pale one: they
are seen, and in 95 of 100 drawn ones the bottom edge is found. Real coins, with rounded rims, speak for more."""
NEAREST_WALL_PX = 1.5
"""Distance from an edge below which its own softness hides what is beside it."""
NEIGHBOURHOOD = 5
TURNS_IN = 16
"""Neighbours over which colours are averaged look the same way on rings of so many times as many points."""
CLEAR_WALL_PX = 5.0
"""Width from which a wall is told from face and sheet with certainty; a narrower one is lost in the edge's softness."""
CLEAR_HUE_PX = 8.0
"""Width from which the hue in a wall's middle is its own; in a narrower one it is mixed with that of face and sheet."""
BALANCE, LEAST_OWN = -0.17, 0.1
"""Balance of colour from which a wall stands outside its edge, not inside (the same scenes: -0.14 and more in 95 % of
walls of 5 px outside, -0.24 and less in 95 % of those inside), and the least of a face's colour, of the usual."""
PALE_BALANCE = 0.2
"""The same on a sheet without colour, where a wall has the metal's colour and none of the sheet's, whatever it mirrors:
outside an edge it adds what it has, inside it may look like the face (drawn copper, brass and gold of 0.8 mm and more:
0.16 and less in 95 % of walls of 3 to 8 px inside, 0.12 and more in 95 % of the few outside)."""
WALL_SHADE = 0.15
"""Change of log colour that counts as another surface."""
WALL_HUE = 0.1
"""Hue outside an edge, relative to the metal's, from which a wall and not the sheet is seen there: a polished wall
throws back the sheet before it, but never quite as it is (thick parts of the accuracy study, seeds 20000 to 20400: 0.2
and more beside 95 % of top edges, 0.05 at the most beside 95 % of bottom edges)."""
LEAST_WALL_HUE = 0.12
"""The same in log colour, where the metal itself has little: light from beside tints a shadow as much."""
TELLING_HUE = 0.35
"""Difference in log colour between metal and sheet from which hue tells them apart."""


def seen_wall(camera: Camera, points: Floats, normals: Floats, height_mm: float) -> Floats:
    """Return how wide the wall is seen below each edge point, shape (n,); negative where it faces away. [px]"""
    if height_mm == 0.0:
        return np.zeros(len(points))
    flat = camera.to_sheet(points)
    lifted = camera.project(flat, height_mm)
    return np.asarray(-np.einsum("ij,ij->i", lifted - points, normals))


def top_share(
    photo: Photo, metric: ColourMetric, points: Floats, normals: Floats, wall_px: Floats, *, pale: bool = False
) -> Floats:
    """Tell for each edge point, shape (n,), whether it lies on the top edge (1), the bottom edge (0), or which is open.

    Where the wall faces away only the top edge can be seen. Where the wall is seen it stands on one side of the edge
    found: outside, between the edge and the bare sheet, if that is the top edge; inside, between face and edge, if that
    is the bottom edge. A polished wall mirrors the sheet beside it and cannot be seen at all; then neither shows.
    On a ``pale`` sheet, bright and without colour, a wall of coloured metal is always seen by its own.
    """
    share = (wall_px <= 0.0).astype(float)
    seen = wall_px > 0.0
    reach = int(np.ceil(1.9 * np.max(wall_px))) + 6 if seen.any() else 0
    if not seen.any() or reach > WIDEST_REACH_PX:
        return share
    profiles = read_profiles(photo.pixels, points, normals, reach)
    middle = profiles.start_px + reach * profiles.step_px
    off = np.einsum("ij,ij->i", middle - points, normals)[:, None]
    steps = (np.arange(2 * reach + 1) - reach)[None, :] * profiles.across[:, None] + off
    alike = min(2 * NEIGHBOURS, len(points) // TURNS_IN)
    light = mean_of_neighbours(profiles.linear / metric.linear, alike)
    votes, open_wall = _votes(light, steps, np.maximum(wall_px, NARROWEST_WALL_PX)[:, None], pale=pale)
    verdict, certainty = _neighbours_verdict(votes, np.where(seen, wall_px, 0.0))
    return np.where(seen, np.clip(open_wall + verdict * certainty, 0.0, 1.0), share)


def _votes(light: Singles, steps: Floats, width: Floats, *, pale: bool = False) -> tuple[Singles, float]:
    """Tell for each profile whether a wall stands outside the edge (1), inside (-1), or neither shows (0), shape (n,).

    Returned too is the share of walls that are taken to stand outside where that is open.

    ``light``, shape (n, m, 3), is relative to the bare sheet, and ``steps``, shape (n, m), its distance from the edge.
    """
    colour = np.log(light + LOG_FLOOR)
    near, far = np.maximum(0.25 * width, NEAREST_WALL_PX), np.maximum(0.85 * width, 2.5)
    face = _band(colour, steps, -1.7 * width - 4.0, -1.2 * width - 1.0)
    inside = colours.size(_band(colour, steps, -far, -near) - face) > WALL_SHADE
    if float(np.median(hue(face))) <= TELLING_HUE:
        sheet = _band(colour, steps, 1.2 * width + 1.0, 1.7 * width + 4.0)
        outside = (sheet - _band(colour, steps, near, far)).mean(axis=1) > WALL_SHADE
        return np.asarray(outside.astype(np.float32) - inside.astype(np.float32)), OPEN_WALL
    outside = _hue_up_to_the_foot(colour, steps, width, face)
    # Where both show, a narrow face ended before its own colour could be read.
    wide = outside.astype(np.float32) - ((inside | pale) & ~outside).astype(np.float32)
    least = PALE_BALANCE if pale else BALANCE
    narrow = np.where(_colour_balance(light, steps, width) > least, np.float32(1.0), np.float32(-1.0))
    return np.where(width[:, 0] < CLEAR_HUE_PX, narrow, wide), OPEN_PALE_WALL if pale else OPEN_WALL


def _hue_up_to_the_foot(colour: Singles, steps: Floats, width: Floats, face: Singles) -> Flags:
    """Tell where all that lies outside an edge, half as far as a wall is wide, has some of the metal's hue.

    Beside the foot bare sheet is seen at once, if only a strip of it before the other side of a hole.
    """
    metal = np.median(_without_shade(face), axis=0)
    size = max(float(np.linalg.norm(metal)), 1e-6)
    share = colours.dot(_without_shade(colour), metal) / np.float32(size**2)
    near, far = np.maximum(0.15 * width, NEAREST_WALL_PX), np.maximum(0.6 * width, 2.5)
    least = np.where((steps >= near) & (steps <= far), share, np.inf).min(axis=1)
    return np.asarray(least > max(WALL_HUE, LEAST_WALL_HUE / size))


def _colour_balance(light: Singles, steps: Floats, width: Floats) -> Singles:
    """Return how much of the face's colour lies outside an edge, less how much of it is wanting inside, shape (n,).

    Blur moves as much out as it takes away inside, in linear light, so it leaves the balance alone.
    """
    near, far = np.maximum(0.3 * width, 1.0), np.maximum(0.75 * width, 2.0)
    bands = (-2.2 * width, -1.3 * width), (-far, -near), (near, far)
    face, inside, outside = (_without_shade(_band(light, steps, low, high)) for low, high in bands)
    metal = np.median(face, axis=0)
    own, within, beyond = (colours.dot(each, metal) for each in (face, inside, outside))
    own = np.maximum(own, LEAST_OWN * np.float32(max(float(metal @ metal), 1e-9)))
    return np.asarray(beyond / own - np.abs(1.0 - within / own))


def _without_shade(colour: Singles) -> Singles:
    return np.asarray(colour - colours.mean(colour)[..., None])


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
