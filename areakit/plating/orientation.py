"""Which way a part lies, and turning points by an angle. Positive angles turn x towards y."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import rotate
from shapely.geometry import Polygon

Floats = NDArray[np.float64]


def long_side_deg(polygon: Polygon) -> float:
    """Return the direction of the long side of the smallest rectangle around the outline, 0 to 180. [deg]"""
    sides = np.diff(shapely.get_coordinates(polygon.minimum_rotated_rectangle)[:3], axis=0)
    dx, dy = sides[np.argmax(np.hypot(sides[:, 0], sides[:, 1]))]
    return math.degrees(math.atan2(dy, dx)) % 180.0


def turned_polygon(polygon: Polygon, angle_deg: float) -> Polygon:
    """Turn an outline about the origin."""
    result: Polygon = rotate(polygon, angle_deg, origin=(0.0, 0.0))
    return result


def simplified(polygon: Polygon, tolerance_mm: float) -> Polygon:
    """Leave out corners that move the outline by less than the tolerance; holes stay."""
    result = polygon.simplify(tolerance_mm)
    return result if isinstance(result, Polygon) and not result.is_empty else polygon


def turned(points: Floats, angle_deg: float) -> Floats:
    """Turn points (n, 2) or (2,) about the origin."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    result: Floats = points @ np.array([[c, s], [-s, c]])
    return result
