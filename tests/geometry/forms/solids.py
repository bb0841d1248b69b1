"""Solids whose surface is known, as outlines and as a camera above a table sees them."""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, MultiPoint, Point, Polygon

from areakit.geometry.drawing import drawn_outline
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.table import typed_outline
from areakit.geometry.forms.words import read_form
from areakit.geometry.part import Faces, Part
from areakit.geometry.surface import Surface, plated_surface
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]


def formed(
    polygon: Polygon | None,
    form: str,
    *,
    view: View | None = None,
    thickness: Measured | None = None,
    faces: Faces = "all",
    **more: Any,
) -> Surface:
    """Return the surface of a drawn or wholly typed part of a form."""
    text = read_form(form)
    outline = typed_outline(text) if polygon is None else drawn_outline(polygon, sagitta_mm=1e-4)
    return plated_surface(Part(outline=outline, thickness=thickness, faces=faces, form=text, view=view, **more))


def areas(surface: Surface) -> dict[str, float]:
    return {line.name: line.area.value for line in surface.lines}


def rod(length: float, width: float) -> Polygon:
    return LineString([(0, 0), (length, 0)]).buffer(width / 2.0, cap_style="flat")


def ring(middle: float, width: float) -> Polygon:
    return disk(middle + width).difference(disk(middle - width))


def disk(diameter: float) -> Polygon:
    return Point(0, 0).buffer(diameter / 2.0, quad_segs=256)


def cone(base: float, top: float, height: float) -> Polygon:
    return Polygon([(0, -base / 2), (0, base / 2), (height, top / 2), (height, -top / 2)])


def seen(points: Floats, view: View) -> Floats:
    """Return where the rays through points of space, shape (n, 3), meet the sheet, shape (n, 2). [mm]"""
    share = view.height_mm / (view.height_mm - points[:, 2])
    foot = np.array([view.x_mm, view.y_mm])
    return foot + (points[:, :2] - foot) * share[:, None]


def swept_shadow(sections: list[Floats], view: View) -> Polygon:
    """Return the outline on the sheet of a solid given by sections, each shape (n, 3): hulls of neighbours together."""
    flat = [seen(section, view) for section in sections]
    hulls = [MultiPoint(np.concatenate([a, b])).convex_hull for a, b in pairwise(flat)]
    whole = shapely.union_all(hulls)
    assert isinstance(whole, Polygon)
    return whole


def tube_sections(path: Floats, radius: Callable[[float], float] | float) -> list[Floats]:
    """Return circular sections along a path that lies in a plane, the stock resting on the sheet. [mm]"""
    around = np.linspace(0.0, 2.0 * math.pi, 96, endpoint=False)
    along = np.gradient(path, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    share = np.linspace(0.0, 1.0, len(path))
    sections = []
    for place, way, s in zip(path, along, share, strict=True):
        r = radius(float(s)) if callable(radius) else radius
        square = np.array([-way[1], way[0]])
        flat = place + r * np.cos(around)[:, None] * square
        sections.append(np.column_stack([flat, r + r * np.sin(around)]))
    return sections


def turned_sections(x: Floats, radius: Floats, *, height: float, turn: float, at: tuple[float, float]) -> list[Floats]:
    """Return circular sections of a turned part whose axis lies level at a height, turned in the sheet. [mm, rad]"""
    around = np.linspace(0.0, 2.0 * math.pi, 96, endpoint=False)
    way, square = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    sections = []
    for place, r in zip(x, radius, strict=True):
        flat = np.array(at) + place * way + r * np.cos(around)[:, None] * square
        sections.append(np.column_stack([flat, height + r * np.sin(around)]))
    return sections
