"""Outlines of solids whose surface is known."""

from typing import Any

import numpy as np
import numpy.typing as npt
from shapely.geometry import LineString, Point, Polygon

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
