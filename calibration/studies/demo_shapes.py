"""Outlines of the parts in the demo pictures, in mm, each a plain shapely polygon round the origin (x right, y down).

Smooth stretches are cut into chords whose sagitta stays under SAGITTA_MM. The polygon itself is what is drawn, so its
area and perimeters are the truth, not those of the smooth curve.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.ops import unary_union

Floats = npt.NDArray[np.float64]
SAGITTA_MM = 2e-4
QUARTER_CHORDS = 96


def circle(radius: float, centre: tuple[float, float] = (0.0, 0.0)) -> Polygon:
    chords = math.ceil(math.pi / math.acos(1.0 - SAGITTA_MM / radius))
    turn = np.linspace(0.0, 2.0 * math.pi, chords, endpoint=False)
    return Polygon(np.column_stack([centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn)]))


def ellipse(semi_x: float, semi_y: float) -> Polygon:
    return affinity.scale(circle(max(semi_x, semi_y)), semi_x / max(semi_x, semi_y), semi_y / max(semi_x, semi_y))


def stadium(length: float, width: float) -> Polygon:
    half = (length - width) / 2.0
    return _whole(LineString([(-half, 0.0), (half, 0.0)]).buffer(width / 2.0, quad_segs=QUARTER_CHORDS))


def arc_slot(radius: float, width: float, *, from_deg: float, to_deg: float) -> Polygon:
    turn = np.radians(np.linspace(from_deg, to_deg, 400))
    middle = LineString(np.column_stack([radius * np.cos(turn), radius * np.sin(turn)]))
    return _whole(middle.buffer(width / 2.0, quad_segs=QUARTER_CHORDS))


def rounded(shape: Polygon, radius: float) -> Polygon:
    """Round the outer corners of a shape."""
    return _whole(shape.buffer(-radius, quad_segs=QUARTER_CHORDS).buffer(radius, quad_segs=QUARTER_CHORDS))


def filleted(shape: Polygon, radius: float) -> Polygon:
    """Round the inner corners of a shape."""
    return _whole(shape.buffer(radius, quad_segs=QUARTER_CHORDS).buffer(-radius, quad_segs=QUARTER_CHORDS))


def polar(radius: Callable[[Floats], Floats], points: int = 2400) -> Polygon:
    turn = np.linspace(0.0, 2.0 * math.pi, points, endpoint=False)
    r = radius(turn)
    return Polygon(np.column_stack([r * np.cos(turn), r * np.sin(turn)]))


def pierced(plate: Polygon, holes: Sequence[Polygon]) -> Polygon:
    return _whole(plate.difference(unary_union(holes)))


def leaf() -> Polygon:
    """An irregular lobed leaf with a curved stem."""
    along = (1.0 - np.cos(np.linspace(0.0, math.pi, 1600))) / 2.0
    swell = 24.9 * np.sin(math.pi * along**0.8) ** 0.85
    upper = swell * (1.0 + 0.17 * np.sin(2.0 * math.pi * (4.6 * along + 0.10)))
    lower = swell * (0.93 + 0.15 * np.sin(2.0 * math.pi * (4.1 * along + 0.35)))
    x = 74.0 * along - 32.0
    sway = 2.5 * np.sin(math.pi * along)
    blade = Polygon(
        np.vstack([np.column_stack([x, sway - upper]), np.column_stack([x[::-1], (sway + lower)[::-1]])[1:-1]])
    )
    bend = np.linspace(0.0, 1.0, 300)
    stem = LineString(np.column_stack([-28.0 - 24.0 * bend, 6.0 * bend**2])).buffer(1.3, quad_segs=QUARTER_CHORDS)
    return filleted(_whole(blade.union(stem)), 1.5)


def shield_badge() -> Polygon:
    """A shield, pierced by six petals, a star, two rounds and two curved slots."""
    low = circle(27.0, (-4.0, 4.0)).intersection(circle(27.0, (4.0, 4.0))).intersection(box(-40.0, 4.0, 40.0, 60.0))
    plate = rounded(_whole(low.union(box(-23.0, -27.0, 23.0, 4.001))), 2.0)
    plate = _whole(plate.difference(circle(60.0, (0.0, -84.5))))
    petal = affinity.translate(ellipse(3.9, 2.1), 7.6, 0.0)
    holes = [affinity.rotate(petal, 60.0 * k + 30.0, origin=(0.0, 0.0)) for k in range(6)]
    holes += [circle(2.6, (-15.5, -17.0)), circle(2.6, (15.5, -17.0))]
    holes += [affinity.translate(star(5, 4.6, 2.2), 0.0, -18.2)]
    holes += [arc_slot(16.5, 2.4, from_deg=28.0, to_deg=74.0), arc_slot(16.5, 2.4, from_deg=106.0, to_deg=152.0)]
    return pierced(plate, holes)


def star(points: int, outer: float, inner: float) -> Polygon:
    turn = np.arange(2 * points) * math.pi / points - math.pi / 2.0
    r = np.where(np.arange(2 * points) % 2 == 0, outer, inner)
    return Polygon(np.column_stack([r * np.cos(turn), r * np.sin(turn)]))


def bracket() -> Polygon:
    """A plate 60 x 25 mm with corners of 4 mm radius and two 6 mm holes."""
    return pierced(rounded(box(-30.0, -12.5, 30.0, 12.5), 4.0), [circle(3.0, (-20.0, 0.0)), circle(3.0, (20.0, 0.0))])


def washer() -> Polygon:
    return pierced(circle(17.0), [circle(7.0)])


def gear() -> Polygon:
    tooth = Polygon([(13.0, -2.6), (18.5, -1.5), (18.5, 1.5), (13.0, 2.6)])
    teeth = [affinity.rotate(tooth, 30.0 * k, origin=(0.0, 0.0)) for k in range(12)]
    return pierced(filleted(rounded(_whole(unary_union([circle(14.5), *teeth])), 0.4), 0.6), [circle(4.0)])


def drop() -> Polygon:
    """A drop-shaped pendant: a round and its tangent cone, an eye at the tip, an oval piercing below."""
    hull = _whole(unary_union([circle(13.0, (0.0, 6.0)), circle(3.6, (0.0, -19.0))]).convex_hull)
    return pierced(hull, [circle(1.8, (0.0, -19.0)), affinity.translate(ellipse(4.0, 6.0), 0.0, 6.0)])


def tag() -> Polygon:
    return pierced(stadium(46.0, 17.0), [circle(2.2, (-16.5, 0.0)), affinity.translate(stadium(18.0, 3.2), 5.0, 0.0)])


def blossom() -> Polygon:
    return polar(lambda a: 14.0 + 2.6 * np.cos(5.0 * a) + 0.7 * np.cos(2.0 * a + 0.4))


def angle_plate() -> Polygon:
    """An L with an inner fillet of 6 mm radius and two 5 mm holes."""
    ell = _whole(box(-30.0, 10.0, 30.0, 25.0).union(box(-30.0, -25.0, -14.0, 25.0)))
    return pierced(filleted(rounded(ell, 2.5), 6.0), [circle(2.5, (-22.0, -17.0)), circle(2.5, (22.0, 17.5))])


def strap() -> Polygon:
    return pierced(stadium(120.0, 20.0), [circle(4.0, (-50.0, 0.0)), circle(4.0, (50.0, 0.0))])


def cam_disc() -> Polygon:
    plate = polar(lambda a: 29.0 + 5.0 * np.cos(a - 0.7) + 1.5 * np.cos(3.0 * a))
    return pierced(plate, [circle(5.0), circle(2.5, (14.0, 10.0)), circle(2.5, (-13.0, -9.0))])


def trefoil() -> Polygon:
    lobes = [circle(13.0, (14.0 * math.cos(a), 14.0 * math.sin(a))) for a in np.radians([-90.0, 30.0, 150.0])]
    eyes = [circle(3.5, (15.0 * math.cos(a), 15.0 * math.sin(a))) for a in np.radians([-90.0, 30.0, 150.0])]
    return pierced(filleted(_whole(unary_union(lobes)), 3.0), eyes)


def holes_perimeter_mm(shape: Polygon) -> float:
    return float(sum(Polygon(ring).exterior.length for ring in shape.interiors))


def placed(shape: Polygon, centre_mm: tuple[float, float], turn_deg: float) -> Polygon:
    """Turn a shape about its origin (clockwise on the sheet) and move the origin to a point of the sheet."""
    turned = affinity.rotate(shape, turn_deg, origin=(0.0, 0.0))
    return affinity.translate(turned, *centre_mm)


def _whole(shape: object) -> Polygon:
    if isinstance(shape, MultiPolygon) or not isinstance(shape, Polygon) or not shape.is_valid or shape.is_empty:
        raise ValueError("a demo part must be one sound polygon")
    return shape
