"""Typed shapes as parts: one outline from shapes added and taken away, or a solid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from areakit.errors import InputError, OutlineInvalid
from areakit.flags import Flag, flag
from areakit.geometry.differences import differenced
from areakit.geometry.edge_forms import SHARP, EdgeForm
from areakit.geometry.features import Dome, Side, Taper
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.geometry.part import Faces
from areakit.geometry.plane_shapes import plane_shape
from areakit.geometry.shape_text import SOLIDS, ShapeText
from areakit.uncertainty import Measured, exact

_DEPTH_OF = {"washer": ("ring", 2), "bar": ("rectangle", 2), "tube": ("ring", 2), "wire": ("disk", 1),
             "cylinder": ("disk", 1)}  # fmt: skip
_DOMED = frozenset({"sphere", "cap"})
_BOTH: frozenset[Side] = frozenset({"front", "back"})


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedShape:
    """A shape from typed dimensions: outline, thickness where the shape has one, and what a solid adds.

    ``faces`` is what a solid is plated on unless told otherwise; None for a plane shape. ``form``, ``view`` and
    ``edge_form`` are those of a part that was measured.
    """

    outline: Outline
    thickness: Measured | None = None
    faces: Faces | None = None
    taper: Taper | None = None
    dome: Dome | None = None
    form: FormText | None = None
    view: View | None = None
    edge_form: EdgeForm = SHARP


def typed_shape(base: ShapeText, *, plus: Sequence[ShapeText] = (), minus: Sequence[ShapeText] = ()) -> TypedShape:
    """Return the outline of ``base`` with plane shapes added and taken away, and what makes it a solid.

    Every tolerance moves area and perimeter together, by drawing the whole again with that dimension shifted.

    Raises OutlineInvalid if a shape to take away lies outside, takes everything, or the outline falls into pieces;
    InputError if a solid is to be added or taken away in the plane, or a solid of a round form is to be cut.
    """
    if (plus or minus) and base.name in {*_DOMED, "cone"}:
        raise InputError(f"Nothing can be cut from a {base.name} here.", remedy="Describe it as a drawing or as parts.")
    for extra in (*plus, *minus):
        if extra.name in SOLIDS:
            raise InputError(f"A {extra.name} is a solid.", remedy="Add or take away plane shapes such as a disk.")
    outline = _outline([base, *plus], list(minus), _tolerance_flags([base, *plus, *minus]))
    sizes = base.dimensions
    if base.name in _DEPTH_OF:
        return TypedShape(outline=outline, thickness=sizes[_DEPTH_OF[base.name][1]], faces="all")
    if base.name == "sphere":
        height = sizes[0].times(0.5)
        return TypedShape(outline=outline, faces="both", dome=Dome(height=height, sides=_BOTH))
    if base.name == "cap":
        return TypedShape(outline=outline, faces="both", dome=Dome(height=sizes[1]))
    if base.name == "cone":
        return TypedShape(outline=outline, thickness=sizes[1], faces="all", taper=_cone(sizes))
    return TypedShape(outline=outline)


def placed_region(shape: ShapeText) -> MultiPolygon:
    """Return the region of a plane shape at its places, as for a mask. [mm]"""
    if shape.name in SOLIDS:
        raise InputError(f"A {shape.name} is a solid.", remedy="Give a plane shape such as a disk or a rectangle.")
    pieces = shapely.union_all(_drawn(shape, [d.value for d in shape.dimensions], _corner(shape)))
    return MultiPolygon(shapely.get_parts(pieces).tolist())


def shape_perimeter(shape: ShapeText) -> Measured:
    """Return the length round a plane shape and all its copies. [mm]"""
    (length,) = differenced(
        lambda *sizes: [math.fsum(p.length for p in _drawn(shape, sizes, _corner(shape)))], shape.dimensions, ["mm"]
    )
    return length


def _outline(solid: list[ShapeText], cut: list[ShapeText], flags: tuple[Flag, ...]) -> Outline:
    inputs: list[Measured] = []
    for shape in (*solid, *cut):
        inputs += [*shape.dimensions, *([shape.corner] if shape.corner else [])]

    def figures(*values: float) -> list[float]:
        polygon = _combined(solid, cut, values)
        return [polygon.area, polygon.exterior.length, math.fsum(ring.length for ring in polygon.interiors)]

    area, outer, holes = differenced(figures, inputs, ["mm2", "mm", "mm"])
    polygon = _combined(solid, cut, [quantity.value for quantity in inputs])
    return Outline(
        polygon=polygon, area=area, perimeter_outer=outer, perimeter_holes=holes, origin="dimensions", flags=flags
    )


def _combined(solid: list[ShapeText], cut: list[ShapeText], values: Sequence[float]) -> Polygon:
    """Draw everything with the given dimensions, in the order base, plus, minus."""
    left = list(values)
    drawn: list[list[Polygon]] = []
    for shape in (*solid, *cut):
        sizes, left = left[: len(shape.dimensions)], left[len(shape.dimensions) :]
        corner = left.pop(0) if shape.corner else 0.0
        drawn.append(_drawn(shape, sizes, corner))
    whole: BaseGeometry = shapely.union_all([p for pieces in drawn[: len(solid)] for p in pieces])
    for pieces in drawn[len(solid) :]:
        whole = _without(whole, pieces)
    if not isinstance(whole, Polygon):
        raise OutlineInvalid(
            f"The shapes make {len(shapely.get_parts(whole))} separate pieces.",
            remedy="Measure separate pieces as parts of their own, or say where they join with at.",
        )
    return whole


def _without(whole: BaseGeometry, pieces: list[Polygon]) -> BaseGeometry:
    for number, piece in enumerate(pieces):
        if not whole.intersects(piece):
            raise OutlineInvalid("A shape to take away lies outside the part.", remedy="Say where it lies with at.")
        if any(piece.overlaps(other) or piece.equals(other) for other in pieces[:number]):
            raise OutlineInvalid("Copies of a hole overlap.", remedy="Check their count and their pitch circle.")
        whole = whole.difference(piece)
        if whole.is_empty:
            raise OutlineInvalid("The shapes to take away leave nothing.", remedy="Check the dimensions.")
    return whole


def _drawn(shape: ShapeText, sizes: Sequence[float], corner: float) -> list[Polygon]:
    name = _DEPTH_OF.get(shape.name, (shape.name, 0))[0]
    plain = plane_shape("disk" if name in {*_DOMED, "cone"} else name, sizes[:2], corner=corner, sides=shape.sides)
    turned = affinity.rotate(plain, shape.turn_deg, origin=(0.0, 0.0)) if shape.turn_deg else plain
    return [affinity.translate(turned, x, y) for x, y in shape.places]


def _corner(shape: ShapeText) -> float:
    return shape.corner.value if shape.corner else 0.0


def _cone(sizes: Sequence[Measured]) -> Taper:
    """Return the wall and the top of a cone, or of one cut off: pi (R + r) times the slant height (closed form)."""
    top = sizes[2] if len(sizes) == 3 else exact(0.0, "mm")

    def wall(base: float, height: float, upper: float) -> list[float]:
        return [math.pi * (base + upper) / 2.0 * math.hypot(height, (base - upper) / 2.0), math.pi * upper**2 / 4.0]

    lean, front = differenced(wall, [sizes[0], sizes[1], top], ["mm2", "mm2"])
    circle = plane_shape("disk", [top.value]) if top.value else None
    return Taper(front=circle, front_area=front, walls=(lean,))


def _tolerance_flags(shapes: Sequence[ShapeText]) -> tuple[Flag, ...]:
    untold = dict.fromkeys(name for shape in shapes for name in shape.untold)
    return tuple(flag("NO_TOLERANCE", dimension=name) for name in untold)
