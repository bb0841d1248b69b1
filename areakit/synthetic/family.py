"""The part family of the studies: shapes of our own, each drawn at random.

Every builder returns a sound polygon of roughly unit size; the caller scales it to the area wanted.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

QUARTER = 48
"""Straight pieces in a quarter of a round."""


def _disc(x: float, y: float, radius: float) -> BaseGeometry:
    return Point(x, y).buffer(radius, quad_segs=QUARTER)


def _around(angle: float, radius: float) -> tuple[float, float]:
    return radius * math.cos(angle), radius * math.sin(angle)


def _whole(shape: BaseGeometry) -> Polygon:
    """Return the largest piece of a shape."""
    pieces = [g for g in shapely.get_parts(shape) if isinstance(g, Polygon)]
    return max(pieces, key=lambda p: p.area)


def pierced_disc(rng: np.random.Generator) -> Polygon:
    """A round disc with one to six round holes."""
    count = int(rng.integers(1, 7))
    start = float(rng.uniform(0.0, 2 * math.pi))
    shape = _disc(0.0, 0.0, 1.0)
    for i in range(count):
        x, y = _around(start + 2 * math.pi * i / count, 0.58 if count > 1 else 0.3)
        shape = shape.difference(_disc(x, y, float(rng.uniform(0.07, 0.22))))
    return _whole(shape)


def star(rng: np.random.Generator) -> Polygon:
    """A star of five to nine points, tips slightly rounded, at times with a hole."""
    count, inner = int(rng.integers(5, 10)), float(rng.uniform(0.45, 0.7))
    points = [_around(math.pi * i / count, 1.0 if i % 2 == 0 else inner) for i in range(2 * count)]
    shape: BaseGeometry = Polygon(points).buffer(-0.02).buffer(0.02, quad_segs=QUARTER)
    if rng.random() < 0.5:
        shape = shape.difference(_disc(0.0, 0.0, float(rng.uniform(0.08, 0.2))))
    return _whole(shape)


def blob(rng: np.random.Generator) -> Polygon:
    """A smooth irregular shape with up to three holes."""
    angle = np.linspace(0.0, 2 * math.pi, 720, endpoint=False)
    radius = np.ones_like(angle)
    for order in range(2, 7):
        radius += float(rng.normal(0.0, 0.22 / order)) * np.cos(order * angle + float(rng.uniform(0, 2 * math.pi)))
    radius = np.clip(radius, 0.55, 1.6)
    shape: BaseGeometry = Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))
    for i in range(int(rng.integers(0, 4))):
        x, y = _around(2.1 * i + 0.4, 0.3)
        hole = affinity.scale(_disc(x, y, float(rng.uniform(0.06, 0.15))), 1.0, float(rng.uniform(0.7, 1.3)))
        shape = shape.difference(hole)
    return _whole(shape)


def bracket(rng: np.random.Generator) -> Polygon:
    """An angled bracket with rounded corners, two round holes and a slot."""
    leg = float(rng.uniform(0.45, 0.7))
    shape = box(-1.0, -0.8, 1.0, -0.8 + leg).union(box(-1.0, -0.8, -1.0 + leg, 0.9))
    shape = shape.buffer(-0.08).buffer(0.16, quad_segs=QUARTER).buffer(-0.08, quad_segs=QUARTER)
    middle, hole = -0.8 + leg / 2, float(rng.uniform(0.08, 0.15))
    shape = shape.difference(_disc(-1.0 + leg / 2, 0.6, hole)).difference(_disc(0.72, middle, hole))
    slot = LineString([(-0.2, middle), (0.3, middle)]).buffer(float(rng.uniform(0.05, 0.11)), quad_segs=QUARTER)
    return _whole(shape.difference(slot))


def gear(rng: np.random.Generator) -> Polygon:
    """A toothed wheel with a bore and a ring of lightening holes."""
    teeth, depth = int(rng.integers(14, 33)), float(rng.uniform(0.08, 0.14))
    pitch = 2 * math.pi / teeth
    points = []
    for i in range(teeth):
        for share, radius in ((0.0, 1.0 - depth), (0.22, 1.0 - depth), (0.36, 1.0), (0.64, 1.0), (0.78, 1.0 - depth)):
            points.append(_around((i + share) * pitch, radius))
    shape: BaseGeometry = Polygon(points).difference(_disc(0.0, 0.0, float(rng.uniform(0.12, 0.22))))
    count = int(rng.integers(4, 8))
    for i in range(count):
        x, y = _around(2 * math.pi * i / count, 0.55)
        shape = shape.difference(_disc(x, y, float(rng.uniform(0.08, 0.14))))
    return _whole(shape)


def filigree(rng: np.random.Generator) -> Polygon:
    """A rounded plate with five to nine slots."""
    count, height = int(rng.integers(5, 10)), float(rng.uniform(0.5, 0.75))
    shape: BaseGeometry = box(-0.9, -height + 0.1, 0.9, height - 0.1).buffer(0.1, quad_segs=QUARTER)
    pitch = 1.7 / count
    for i in range(count):
        x, reach = -0.85 + (i + 0.5) * pitch, height * float(rng.uniform(0.5, 0.75))
        slot = LineString([(x, -reach), (x, reach)]).buffer(pitch * float(rng.uniform(0.18, 0.3)), quad_segs=QUARTER)
        shape = shape.difference(slot)
    return _whole(shape)


def leaf(rng: np.random.Generator) -> Polygon:
    """A pointed leaf with a serrated rim and a stalk."""
    share = np.linspace(0.0, 1.0, 201)
    fullness = float(rng.uniform(0.35, 0.55))
    teeth = int(rng.integers(9, 19))
    half = fullness * np.sin(math.pi * share) ** 0.8 * (1.0 - 0.35 * share)
    half *= 1.0 + float(rng.uniform(0.02, 0.07)) * (2.0 * ((share * teeth) % 1.0) - 1.0)
    x = 2.0 * share - 1.0
    blade = Polygon(np.concatenate([np.column_stack([x, half]), np.column_stack([x, -half])[::-1][1:-1]]))
    stalk = LineString([(-1.35, 0.03), (-0.9, 0.0)]).buffer(0.035, quad_segs=QUARTER)
    return _whole(blade.buffer(0).union(stalk).buffer(0.004).buffer(-0.004))


FAMILY: dict[str, Callable[[np.random.Generator], Polygon]] = {
    "pierced-disc": pierced_disc,
    "star": star,
    "blob": blob,
    "bracket": bracket,
    "gear": gear,
    "filigree": filigree,
    "leaf": leaf,
}


def draw_shape(rng: np.random.Generator, name: str, area_mm2: float) -> Polygon:
    """Return one member of the family with the area wanted, its centroid at the origin. [mm]"""
    shape = FAMILY[name](rng)
    scale = math.sqrt(area_mm2 / shape.area)
    moved = affinity.translate(shape, -shape.centroid.x, -shape.centroid.y)
    return affinity.scale(moved, scale, scale, origin=(0.0, 0.0, 0.0))
