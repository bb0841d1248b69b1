"""Panels over an outline for the boundary-integral method, and the potential of a panel.

The panels are squares of a quadtree clipped to the outline. They grow with the distance from the edge, because the
current density rises without limit towards an edge and is smooth further in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from areakit.errors import OutlineInvalid
from areakit.plating.orientation import simplified

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]

CELL_OVER_DISTANCE = 0.5
"""A square is split while its side exceeds this share of its distance from the edge (own choice, see the study)."""
LARGEST_CELL = 1.0 / 15.0
"""Side of the largest square over the square root of the face's area."""
FEWEST_PANELS, MOST_PANELS = 100, 3000
NEAR_FIELD = 4.0
"""Closer than this many panel sides the potential of a panel is integrated exactly."""
HALF_DIAGONAL = 0.5**0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Panels:
    """Panels that tile a face.

    ``centres`` (n, 2) and ``areas`` (n,) are the centroids and areas. The sides of all panels stand in one list:
    ``side_start`` and ``side_end`` (m, 2), with panel ``k`` owning ``first_side[k]`` to ``first_side[k + 1]``.
    Every side has the panel on its left. [mm, mm2]
    """

    centres: Floats
    areas: Floats
    side_start: Floats
    side_end: Floats
    first_side: Integers

    def __len__(self) -> int:
        return len(self.areas)


def lay_panels(polygon: Polygon, *, count: int) -> Panels:
    """Tile the polygon with at most about ``count`` panels, finest along its edges.

    The number of panels goes as one over the smallest side or its square, so a few corrections find that side.

    Raises OutlineInvalid if the outline has too much detail for this many panels.
    """
    largest = LARGEST_CELL * polygon.area**0.5
    polygon = simplified(polygon, largest / 300.0)
    smallest, best = largest / 4.0, largest
    for _ in range(8):
        found = len(_squares(polygon, smallest=smallest, largest=largest)[0])
        if found <= count:
            best = min(best, smallest)
        smallest = min(largest, smallest * max((found / (0.97 * count)) ** 0.75, 0.25))
    panels = _clip(simplified(polygon, best / 50.0), smallest=best, largest=largest)
    if len(panels) > MOST_PANELS + count // 2:
        raise OutlineInvalid(
            f"The outline is so fine that it needs {len(panels)} panels; {MOST_PANELS} are possible.",
            remedy="Smooth the outline, or predict one piece of the pattern.",
        )
    return panels


def potential_matrix(panels: Panels) -> Floats:
    r"""Return the potential at each centre of a unit density on each panel, without the constant before the integral.

    .. math:: P_{ik} = \int_{S_k} \frac{\mathrm{d}A}{|x_i - x|}

    Far panels act as points; near ones and the panel itself are integrated exactly.

    Returns row: point, column: panel. (n, n) [mm]
    """
    x, y = panels.centres.T
    distance = np.hypot(x[:, None] - x[None, :], y[:, None] - y[None, :])
    near = distance < NEAR_FIELD * np.sqrt(panels.areas)[None, :]
    np.fill_diagonal(distance, 1.0)
    matrix: Floats = panels.areas[None, :] / distance
    point, panel = np.nonzero(near)
    sides = np.diff(panels.first_side)[panel]
    pair = np.repeat(np.arange(len(panel)), sides)
    side = np.arange(len(pair)) - np.repeat(np.cumsum(sides) - sides - panels.first_side[panel], sides)
    terms = _side_potential(panels.centres[point][pair], panels.side_start[side], panels.side_end[side])
    matrix[point, panel] = np.bincount(pair, weights=terms, minlength=len(panel))
    return matrix


def _side_potential(point: Floats, start: Floats, end: Floats) -> Floats:
    """Return each side's share of the integral of 1/r over its polygon, for points in the plane.

    In polar coordinates about the point the integral is that of r over the angle; along a straight side at distance
    d it becomes d (arsinh(b/d) - arsinh(a/d)), where a and b are the ends counted from the foot of the perpendicular.
    """
    along = end - start
    length = np.hypot(along[:, 0], along[:, 1])
    along = along / length[:, None]
    to_start = start - point
    a = np.einsum("ij,ij->i", to_start, along)
    d = along[:, 1] * to_start[:, 0] - along[:, 0] * to_start[:, 1]
    safe = np.maximum(np.abs(d), 1e-12 * length)
    terms: Floats = d * (np.arcsinh((a + length) / safe) - np.arcsinh(a / safe))
    return terms


def _squares(polygon: Polygon, *, smallest: float, largest: float) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return centres (n, 2), sides (n,) and whether an edge may cross, of the squares that touch the polygon."""
    edge = polygon.boundary
    shapely.prepare([polygon, edge])
    side = smallest * 2.0 ** np.floor(np.log2(largest / smallest))
    centres, kept = _root_squares(polygon, side), []
    while len(centres):
        distance = shapely.distance(shapely.points(centres), edge)
        crossed = distance < HALF_DIAGONAL * side
        touches = crossed | shapely.contains_xy(polygon, centres[:, 0], centres[:, 1])
        split = touches & (side > CELL_OVER_DISTANCE * distance) & (side > 1.5 * smallest)
        keep = touches & ~split
        kept.append((centres[keep], np.full(keep.sum(), side), crossed[keep]))
        side /= 2.0
        quarters = side / 2.0 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
        centres = (centres[split][:, None, :] + quarters).reshape(-1, 2)
    first, second, third = (np.concatenate(column) for column in zip(*kept, strict=True))
    return first, second, third


def _root_squares(polygon: Polygon, side: float) -> Floats:
    left, low, right, high = polygon.bounds
    columns, rows = np.ceil((right - left) / side), np.ceil((high - low) / side)
    x = (left + right) / 2.0 + (np.arange(columns) - (columns - 1) / 2.0) * side
    y = (low + high) / 2.0 + (np.arange(rows) - (rows - 1) / 2.0) * side
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)


def _clip(polygon: Polygon, *, smallest: float, largest: float) -> Panels:
    centres, side, crossed = _squares(polygon, smallest=smallest, largest=largest)
    low, high = centres - side[:, None] / 2.0, centres + side[:, None] / 2.0
    cells: Any = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    cells[crossed] = shapely.intersection(cells[crossed], polygon)
    parts = shapely.get_parts(cells)
    parts = parts[(shapely.get_type_id(parts) == 3) & (shapely.area(parts) > 1e-9 * smallest**2)]
    return _as_panels(shapely.orient_polygons(parts))


def _as_panels(parts: Any) -> Panels:
    rings, owner = shapely.get_rings(parts, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inner = ring[:-1] == ring[1:]
    inner &= np.any(points[:-1] != points[1:], axis=1)
    first_side = np.searchsorted(owner[ring[:-1][inner]], np.arange(len(parts) + 1))
    return Panels(
        centres=shapely.get_coordinates(shapely.centroid(parts)),
        areas=shapely.area(parts),
        side_start=points[:-1][inner],
        side_end=points[1:][inner],
        first_side=first_side,
    )
