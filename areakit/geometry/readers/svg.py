"""Outlines from SVG: a walk over the elements with our own caps, so that no file can run away."""

from __future__ import annotations

import math
import re
from collections import Counter
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import numpy as np
from numpy.typing import NDArray

from areakit.errors import FileError
from areakit.flags import Flag, flag
from areakit.geometry.curves import Points, ellipse_arc
from areakit.geometry.readers.limits import Meter
from areakit.geometry.readers.reader import ReadRequest, Tracing, millimetres
from areakit.geometry.readers.svg_frame import (
    PIXELS_PER_INCH,
    Matrix,
    affine,
    alignment,
    length_mm,
    numbers,
    scales,
    stretch,
    transform,
    user_length,
    view_box,
)
from areakit.geometry.readers.svg_path import path_chains
from areakit.geometry.rings import Trace

Chains = list[tuple[Points, bool]]
SHAPES = frozenset({"path", "rect", "circle", "ellipse", "polygon", "polyline", "line"})
_GROUPS = frozenset({"g", "a", "switch", "svg"})
_SILENT = frozenset(
    {"defs", "title", "desc", "metadata", "style", "script", "symbol", "namedview", "clipPath", "mask", "marker",
     "pattern", "filter", "linearGradient", "radialGradient", "view", "cursor", "animate", "set"}
)  # fmt: skip
_CUTS = {"clip-path": "clip", "mask": "mask"}
_OUTER_AT_MOST = 200  # largest lines of one path that are tried as outer ones, so that no file takes long
_HREF = "{http://www.w3.org/1999/xlink}href"
_HIDING_RULE = re.compile(r"\.([\w-]+)\s*\{[^{}]*display\s*:\s*none", re.ASCII)


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


class SvgReader:
    """SVG 1.1 and 2: units, view boxes, transforms, ``use``, every basic shape; y is turned to point upwards."""

    def trace(self, data: bytes, request: ReadRequest) -> Tracing:
        """Return all lines in mm; texts, images, clips and hidden shapes are listed as ignored."""
        request.meter.take_bytes(len(data))
        root = _root(data)
        mm_x, mm_y, unit, flags = _page_scale(root, request.unit)
        walk = _Walk(root, request)
        frame = affine(mm_x, 0.0, 0.0, -mm_y, 0.0, 0.0) @ transform(root.get("transform"))
        walk.children(root, frame, depth=0, wanted=request.layer is None)
        if walk.filled:
            flags = (*flags, flag("FILLED_IN_DRAWING", count=walk.filled))
        return Tracing(unit=unit, traces=tuple(walk.traces), ignored=dict(walk.ignored), flags=flags,
                       layers=tuple(walk.layers))  # fmt: skip


def _root(data: bytes) -> Element:
    if data[:2] == b"\x1f\x8b":
        raise FileError("This SVG file is compressed.", remedy="Unpack it, or save it as plain SVG.")
    try:
        root = ElementTree.fromstring(data)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise FileError(f"This is not a sound SVG file: {error}.", remedy="Export the drawing again as SVG.") from None
    if _tag(root) != "svg":
        raise FileError("This XML file is not an SVG drawing.", remedy="Export the drawing again as SVG.")
    return root


def _page_scale(root: Element, stated: str | None) -> tuple[float, float, str, tuple[Flag, ...]]:
    """Return mm per user unit across and down, the unit, and a flag where 96 px per inch had to be assumed."""
    box = view_box(root.get("viewBox"))
    sides = [length_mm(text) if (text := root.get(name)) else None for name in ("width", "height")]
    if box and sides[0] and sides[1]:
        across, down = scales((box[2], box[3]), (sides[0], sides[1]), root.get("preserveAspectRatio"))
        return across, down, "mm", ()
    if box and (sides[0] or sides[1]):
        one = sides[0] / box[2] if sides[0] else (sides[1] or 0.0) / box[3]
        return one, one, "mm", ()
    if stated is not None:
        one = millimetres(stated)
        return one, one, stated, ()
    one = 25.4 / PIXELS_PER_INCH
    if sides[0] and sides[1]:
        return one, one, "mm", ()
    given = [root.get("width"), root.get("height")]
    if box and all(text and not text.strip().endswith("%") for text in given):
        size = user_length(given[0]), user_length(given[1])
        across, down = scales((box[2], box[3]), size, root.get("preserveAspectRatio"))
        return one * across, one * down, "px", (flag("PIXEL_UNITS"),)
    return one, one, "px", (flag("PIXEL_UNITS"),)


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


class _Walk:
    """Goes through the elements; keeps what was drawn and what was left out."""

    def __init__(self, root: Element, request: ReadRequest) -> None:
        self.traces: list[Trace] = []
        self.ignored: Counter[str] = Counter()
        self.filled = 0
        self.layers: dict[str, None] = {}
        self._request = request
        self._named = {name: element for element in root.iter() if (name := element.get("id"))}
        styles = " ".join(element.text or "" for element in root.iter() if _tag(element) == "style")
        self._hidden_classes = set(_HIDING_RULE.findall(styles))

    def children(self, parent: Element, frame: Matrix, depth: int, *, wanted: bool) -> None:
        for element in parent:
            self.element(element, frame, depth + 1, wanted=wanted)

    def element(self, element: Element, frame: Matrix, depth: int, *, wanted: bool) -> None:
        """Take one element; ``wanted`` tells whether it lies in a group that is read."""
        tag = _tag(element)
        if not tag or tag in _SILENT:
            return
        self._request.meter.take_entity(depth)
        if self._is_hidden(element):
            self.ignored["hidden shape"] += 1
            return
        layer = element.get("id", "").casefold()
        if tag in _GROUPS and layer:
            self.layers[layer] = None
        if layer in self._request.without:
            return
        wanted = wanted or layer == self._request.layer
        self._note_cuts(element)
        inner = frame @ transform(element.get("transform"))
        if tag in SHAPES:
            self._shape(tag, element, inner, wanted=wanted)
        elif tag == "use":
            self._use(element, inner, depth, wanted=wanted)
        elif tag in _GROUPS:
            self.children(element, inner @ _viewport(element) if tag == "svg" else inner, depth, wanted=wanted)
        else:
            self.ignored[tag] += 1

    def _is_hidden(self, element: Element) -> bool:
        style = element.get("style", "").replace(" ", "")
        classes = set(element.get("class", "").split())
        return (
            element.get("display") == "none"
            or element.get("visibility") in {"hidden", "collapse"}
            or "display:none" in style
            or "visibility:hidden" in style
            or bool(classes & self._hidden_classes)
        )

    def _note_cuts(self, element: Element) -> None:
        style = element.get("style", "").replace(" ", "")
        for attribute, name in _CUTS.items():
            if element.get(attribute, "none") != "none" or f"{attribute}:url" in style:
                self.ignored[name] += 1

    def _shape(self, tag: str, element: Element, frame: Matrix, *, wanted: bool) -> None:
        if not wanted:
            return
        longer = stretch(frame)
        if longer == 0.0:
            self.ignored["shape scaled to nothing"] += 1
            return
        drawn = [
            Trace(points_mm=points @ frame[:2, :2].T + frame[:2, 2], closed=closed)
            for points, closed in chains(
                tag, element, sagitta=self._request.sagitta_mm / longer, meter=self._request.meter
            )
        ]
        self.traces += drawn
        self.filled += _filled_inside(element, drawn)

    def _use(self, element: Element, frame: Matrix, depth: int, *, wanted: bool) -> None:
        name = element.get("href", element.get(_HREF, ""))
        target = self._named.get(name.removeprefix("#"))
        if target is None:
            self.ignored["use of something missing"] += 1
            return
        x, y = user_length(element.get("x")), user_length(element.get("y"))
        placed = frame @ affine(1.0, 0.0, 0.0, 1.0, x, y)
        if _tag(target) == "symbol":
            self._request.meter.take_entity(depth)
            self.children(target, placed @ _viewport(target, element), depth + 1, wanted=wanted)
        else:
            self.element(target, placed, depth + 1, wanted=wanted)


def _filled_inside(element: Element, drawn: list[Trace]) -> int:
    """Return how many closed lines of one path lie inside another that winds alike: the nonzero rule fills them."""
    style = element.get("style", "").replace(" ", "")
    if len(drawn) < 2 or "evenodd" in (element.get("fill-rule"), *style.replace(";", ":").split(":")):
        return 0
    if element.get("fill") == "none" or "fill:none" in style:
        return 0
    rings = [trace.points_mm for trace in drawn if trace.closed and len(trace.points_mm) > 2]
    if len(rings) < 2:
        return 0
    lows, highs = np.array([ring.min(axis=0) for ring in rings]), np.array([ring.max(axis=0) for ring in rings])
    turns = np.array([_turn(ring) for ring in rings])
    filled = np.zeros(len(rings), dtype=bool)
    for outer in np.argsort(-np.abs(turns))[:_OUTER_AT_MOST]:
        inside = (lows[outer] < lows).all(axis=1) & (highs < highs[outer]).all(axis=1)
        filled |= inside & (turns * turns[outer] > 0)
    return int(filled.sum())


def _turn(ring: NDArray[np.float64]) -> float:
    """Return twice the signed area of a ring."""
    x, y = (ring - ring[0]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _viewport(element: Element, placed_by: Element | None = None) -> Matrix:
    """Return the matrix of a nested svg or of a symbol: its place, and its view box where it has one."""
    x, y = user_length(element.get("x")), user_length(element.get("y"))
    sized = placed_by if placed_by is not None and placed_by.get("width") else element
    box = view_box(element.get("viewBox"))
    width, height = sized.get("width"), sized.get("height")
    place = affine(1.0, 0.0, 0.0, 1.0, x, y)
    if box is None or not width or not height or "%" in width + height:
        return place
    size = user_length(width), user_length(height)
    across, down = scales((box[2], box[3]), size, element.get("preserveAspectRatio"))
    left, top = alignment(element.get("preserveAspectRatio"))
    shift = affine(1.0, 0.0, 0.0, 1.0, left * (size[0] - across * box[2]), top * (size[1] - down * box[3]))
    return place @ shift @ affine(across, 0.0, 0.0, down, 0.0, 0.0) @ affine(1.0, 0.0, 0.0, 1.0, -box[0], -box[1])
