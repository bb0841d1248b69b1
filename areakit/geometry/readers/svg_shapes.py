"""The basic shapes of SVG 2 (chapter 10) as chains of points in user units."""

from __future__ import annotations

import math
from xml.etree.ElementTree import Element

import numpy as np

from areakit.errors import FileError
from areakit.geometry.curves import Points, ellipse_arc
from areakit.geometry.readers.limits import Meter
from areakit.geometry.readers.svg_frame import numbers, user_length
from areakit.geometry.readers.svg_path import path_chains

Chains = list[tuple[Points, bool]]
SHAPES = frozenset({"path", "rect", "circle", "ellipse", "polygon", "polyline", "line"})


def chains(tag: str, element: Element, *, sagitta: float, meter: Meter) -> Chains:
    """Return the chains of one basic shape, each with whether it is closed."""
    if tag == "path":
        return path_chains(element.get("d", ""), sagitta, meter)
    if tag in {"polygon", "polyline"}:
        found = _listed(element, closed=tag == "polygon")
    elif tag == "line":
        ends = [[user_length(element.get(name)) for name in pair] for pair in (("x1", "y1"), ("x2", "y2"))]
        found = [(np.array(ends), False)]
    elif tag == "rect":
        found = _rectangle(element, sagitta)
    else:
        found = _round(tag, element, sagitta)
    meter.take_vertices(sum(len(points) for points, _ in found))
    return found


def _listed(element: Element, *, closed: bool) -> Chains:
    given = numbers(element.get("points", ""))
    if len(given) % 2:
        raise FileError("A polygon of the drawing has an odd count of numbers.", remedy="Export the drawing again.")
    return [(np.array(given).reshape(-1, 2), closed)] if given else []


def _round(tag: str, element: Element, sagitta: float) -> Chains:
    centre = user_length(element.get("cx")), user_length(element.get("cy"))
    if tag == "circle":
        radii = (user_length(element.get("r")),) * 2
    else:
        radii = user_length(element.get("rx")), user_length(element.get("ry"))
    if min(radii) <= 0.0:
        return []
    return [(ellipse_arc(centre, radii, sagitta=sagitta)[:-1], True)]


def _rectangle(element: Element, sagitta: float) -> Chains:
    x, y, width, height = (user_length(element.get(name)) for name in ("x", "y", "width", "height"))
    if width <= 0.0 or height <= 0.0:
        return []
    given_x, given_y = element.get("rx", "auto"), element.get("ry", "auto")
    rx = user_length(given_y if given_x == "auto" else given_x) if given_x != given_y or given_x != "auto" else 0.0
    ry = rx if given_y == "auto" else user_length(given_y)
    rx, ry = min(rx, width / 2.0), min(ry, height / 2.0)
    if rx <= 0.0 or ry <= 0.0:
        return [(np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)]), True)]
    middles = [
        (x + width - rx, y + height - ry),
        (x + rx, y + height - ry),
        (x + rx, y + ry),
        (x + width - rx, y + ry),
    ]
    quarter = math.pi / 2.0
    corners = [
        ellipse_arc(middle, (rx, ry), start=i * quarter, sweep=quarter, sagitta=sagitta)
        for i, middle in enumerate(middles)
    ]
    return [(np.vstack(corners), True)]
