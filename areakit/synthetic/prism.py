"""What of a prism can be seen: its top face, its silhouette, its visible walls, its footprint and cast shadow.

The silhouette of a prism is its top face and every wall that faces the camera. No pixel is composited twice: the walls
show where the silhouette is covered and the top face is not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from areakit.synthetic.coverage import Floats, edges_of, rings_of
from areakit.synthetic.projection import View, project

STEP_PX = 4.0
"""Longest straight piece of an outline in the picture. The lens bends 4 px by less than 0.001 px."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """Visible walls: corners in the picture, shape (n, 4, 2), and outward normals on the sheet, shape (n, 2)."""

    quads_px: Floats
    normals: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Prism:
    """A part as the camera sees it; edge lists of shape (n, 4) in pixels."""

    top: Floats
    silhouette: Floats
    base: Floats
    walls: Walls


def see_prism(view: View, polygon: Polygon, *, base_mm: float, thickness_mm: float) -> Prism:
    """Project a prism that stands on the given height."""
    rings_mm = rings_of(densified(view, polygon))
    top = [project(view, ring, base_mm + thickness_mm) for ring in rings_mm]
    base = [project(view, ring, base_mm) for ring in rings_mm]
    if thickness_mm <= 0.0:
        edges = edges_of(top)
        none = Walls(quads_px=np.empty((0, 4, 2)), normals=np.empty((0, 2)))
        return Prism(top=edges, silhouette=edges, base=edges, walls=none)
    walls, strips = _visible_walls(view, rings_mm, top=top, base=base)
    outline = shapely.union_all([_polygon_of(top), *strips])
    return Prism(top=edges_of(top), silhouette=edges_of(rings_of(outline)), base=edges_of(base), walls=walls)


def densified(view: View, geometry: BaseGeometry) -> BaseGeometry:
    """Cut the edges of a geometry on the sheet into pieces short enough to follow the lens."""
    return shapely.segmentize(geometry, STEP_PX / view.pixels_per_mm)


def cast_shadow(polygon: Polygon, *, thickness_mm: float, azimuth_deg: float, elevation_deg: float) -> BaseGeometry:
    """Return the shadow of a prism on the sheet in parallel light, its own footprint included. [mm]

    Its length is thickness times the cotangent of the lamp's elevation.
    """
    length = thickness_mm / math.tan(math.radians(elevation_deg))
    away = math.radians(azimuth_deg + 180.0)
    shift = length * np.array([math.cos(away), math.sin(away)])
    rings = rings_of(shapely.segmentize(polygon, 2.0))
    quads = [_quads(ring, ring + shift) for ring in rings]
    pieces = [p for group in quads for p in _polygons(group) if p.is_valid and p.area > 0.0]
    return shapely.union_all([polygon, shapely.affinity.translate(polygon, *shift), *pieces])


def quad_edges(quads: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """Return the edges of quads, shape (n, 4, 2), turned positive, and the weight of each edge."""
    following = np.roll(quads, -1, axis=1)
    area = np.sum(quads[..., 0] * following[..., 1] - following[..., 0] * quads[..., 1], axis=1) / 2
    edges = np.concatenate([quads, following], axis=2).reshape(-1, 4)
    return edges, np.repeat(weights * np.sign(area), 4)


def _visible_walls(
    view: View, rings_mm: list[Floats], *, top: list[Floats], base: list[Floats]
) -> tuple[Walls, list[Polygon]]:
    quads, normals, strips = [], [], []
    for ring, above, below in zip(rings_mm, top, base, strict=True):
        step = np.diff(ring, axis=0)
        normal = np.column_stack([step[:, 1], -step[:, 0]])
        seen = np.sum(normal * (view.eye_mm[:2] - ring[:-1]), axis=1) > 0.0
        quads.append(_quads(above, below)[seen])
        normals.append(normal[seen] / np.linalg.norm(normal[seen], axis=1, keepdims=True))
        strips += _strips(above, below, seen)
    return Walls(quads_px=np.concatenate(quads), normals=np.concatenate(normals)), strips


def _strips(above: Floats, below: Floats, seen: npt.NDArray[np.bool_]) -> list[Polygon]:
    """Return the band between two rings wherever it is seen, as few sound polygons."""
    found = []
    ends = np.flatnonzero(np.diff(np.concatenate([[False], seen, [False]]).astype(int)))
    for first, last in zip(ends[::2], ends[1::2], strict=True):
        band = Polygon(np.concatenate([above[first : last + 1], below[first : last + 1][::-1]]))
        pieces = [band] if band.is_valid else (_polygons(_quads(above, below)[first:last]))
        found += [piece for piece in pieces if piece.is_valid and piece.area > 0.0]
    return found


def _quads(above: Floats, below: Floats) -> Floats:
    return np.stack([above[:-1], above[1:], below[1:], below[:-1]], axis=1)


def _polygons(quads: Floats) -> list[Polygon]:
    return [Polygon(quad) for quad in quads]


def _polygon_of(rings: list[Floats]) -> BaseGeometry:
    """Rebuild a polygon from its rings, the first one outside."""
    return Polygon(rings[0], rings[1:])
