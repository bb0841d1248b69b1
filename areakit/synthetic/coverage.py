"""Exact area coverage: which share of each pixel lies inside a polygon.

Every edge is cut at the pixel grid. Each piece adds the area between itself and the right-hand border of its pixel,
and its height to all pixels further right; a running sum along the rows then gives the coverage (Green's theorem,
area = closed integral of x dy). Sums of coverage equal polygon areas up to rounding.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Plane = npt.NDArray[np.float32]

BAND_ROWS = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A rectangle of whole pixels: first column, first row, columns, rows."""

    left: int
    top: int
    width: int
    height: int

    @property
    def slices(self) -> tuple[slice, slice]:
        """Index of the rectangle in a picture."""
        return slice(self.top, self.top + self.height), slice(self.left, self.left + self.width)


def rings_of(geometry: BaseGeometry) -> list[Floats]:
    """Return the closed rings of polygons, shape (n + 1, 2) each: outer ones positive, holes negative."""
    polygons: Iterable[Polygon] = ()
    if isinstance(geometry, Polygon):
        polygons = () if geometry.is_empty else (geometry,)
    elif isinstance(geometry, MultiPolygon):
        polygons = geometry.geoms
    else:
        polygons = [g for g in getattr(geometry, "geoms", ()) if isinstance(g, Polygon)]
    found = []
    for polygon in polygons:
        turned = orient(polygon, 1.0)
        found += [np.asarray(ring.coords)[:, :2] for ring in (turned.exterior, *turned.interiors)]
    return found


def edges_of(rings: list[Floats]) -> Floats:
    """Return all edges of closed rings as x0, y0, x1, y1, shape (n, 4)."""
    if not rings:
        return np.empty((0, 4))
    return np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings])


def around(edges: Floats, *, margin_px: float, shape: tuple[int, int]) -> Window:
    """Return the rectangle that holds the edges and a margin, cut to the picture of (height, width)."""
    x, y = edges[:, [0, 2]], edges[:, [1, 3]]
    left, top = (max(0, int(np.floor(np.min(v) - margin_px))) for v in (x, y))
    right = min(shape[1], int(np.ceil(np.max(x) + margin_px)) + 1)
    bottom = min(shape[0], int(np.ceil(np.max(y) + margin_px)) + 1)
    return Window(left=left, top=top, width=max(1, right - left), height=max(1, bottom - top))


def coverage(edges: Floats, window: Window, weights: Floats | None = None) -> Plane:
    """Return the coverage of every pixel of a window by the polygons whose edges are given.

    Parameters
    ----------
    edges : ndarray, shape (n, 4)
        Edges of closed rings, positive turn for the outside. [px, pixel centres at whole numbers]
    window : Window
        Pixels wanted.
    weights : ndarray, shape (n,), optional
        A factor for each edge; edges of one ring must share theirs.
    """
    moved = edges + 0.5 - np.array([window.left, window.top, window.left, window.top], dtype=float)
    factor = np.ones(len(edges)) if weights is None else weights
    column, row, share, height = _pieces(moved, factor, window)
    out = np.empty((window.height, window.width), dtype=np.float32)
    for first in range(0, window.height, BAND_ROWS):
        last = min(first + BAND_ROWS, window.height)
        a, b = np.searchsorted(row, [first, last])
        out[first:last] = _band(
            (row[a:b] - first) * (window.width + 1) + column[a:b],
            share[a:b],
            height[a:b],
            shape=(last - first, window.width),
        )
    return out


def _pieces(edges: Floats, factor: Floats, window: Window) -> tuple[Ints, Ints, Floats, Floats]:
    """Cut edges at the pixel grid; return column, row, position in the pixel, signed height, sorted by row."""
    owner, at = _cuts(edges)
    start, stop = at[:-1], at[1:]
    same = (owner[:-1] == owner[1:]) & (stop > start)
    owner, start, stop = owner[:-1][same], start[same], stop[same]
    x0, y0 = edges[owner, 0], edges[owner, 1]
    dx, dy = edges[owner, 2] - x0, edges[owner, 3] - y0
    half = (start + stop) / 2
    x, row = x0 + half * dx, np.floor(y0 + half * dy).astype(np.int64)
    height = -(stop - start) * dy * factor[owner]
    inside = (row >= 0) & (row < window.height) & (x < window.width) & (height != 0.0)
    x, row, height = np.maximum(x[inside], 0.0), row[inside], height[inside]
    column = np.floor(x).astype(np.int64)
    order = np.argsort(row, kind="stable")
    return column[order], row[order], (x - column)[order], height[order]


def _cuts(edges: Floats) -> tuple[Ints, Floats]:
    """Return where each edge is cut by the grid, ends included: edge number and position 0 to 1, sorted."""
    count = len(edges)
    owners = [np.repeat(np.arange(count), 2)]
    places = [np.tile([0.0, 1.0], count)]
    for axis in (0, 1):
        a, b = edges[:, axis], edges[:, axis + 2]
        low, high = np.floor(np.minimum(a, b)), np.floor(np.maximum(a, b))
        crossings = (high - low).astype(np.int64)
        owner = np.repeat(np.arange(count), crossings)
        step = np.arange(len(owner)) - np.repeat(np.cumsum(crossings) - crossings, crossings)
        line = low[owner] + 1 + step
        owners.append(owner)
        places.append(np.clip((line - a[owner]) / (b - a)[owner], 0.0, 1.0))
    owner, place = np.concatenate(owners), np.concatenate(places)
    order = np.lexsort((place, owner))
    return owner[order], place[order]


def _band(index: Ints, share: Floats, height: Floats, *, shape: tuple[int, int]) -> Floats:
    rows, columns = shape
    size = rows * (columns + 1)
    total: Floats = np.bincount(index, weights=height * (1.0 - share), minlength=size).astype(float)
    total += np.bincount(index + 1, weights=height * share, minlength=size)
    table = total.reshape(rows, columns + 1)
    np.cumsum(table, axis=1, out=table)
    return table[:, :columns]
