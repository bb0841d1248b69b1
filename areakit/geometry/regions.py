"""One outline of which regions have forms of their own: a leaf with a wire stem, a plate with a boss."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry import MultiLineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from areakit.errors import OutlineInvalid, RangeError
from areakit.geometry.features import MASK_EDGE_MM, Region
from areakit.geometry.forms.result import Floats
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.size import is_scale
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import SEAM_REACH_MM, Outline
from areakit.uncertainty import Measured, total

FLAT_FORMS = frozenset({"flat", "domed", "folded"})
"""Forms whose walls stand along the outline, so that a seam takes them away."""
_NOTHING_MM2 = 1e-6
_SLIVER, _MOST_ALONG = 3.0, 8.0
"""A seam runs along the outline when it is nearer to it than the first, in doubts of its place, over a length of the
second, in these distances."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FormRegion:
    """A region of an outline with a form or a thickness of its own.

    - ``region``: in part coordinates; it may reach past the outline. [mm]
    - ``form``: None for a flat region.
    - ``thickness``: None where it is that of the part. [mm]
    - ``edge_mm``: standard uncertainty of where the seam lies. [mm]
    - ``text``: the words that were said of it.
    """

    region: Region
    form: FormText | None
    thickness: Measured | None
    edge_mm: float = MASK_EDGE_MM / math.sqrt(3.0)
    text: str = ""


Regions = tuple[FormRegion, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One connected piece of a part: region ``number``, or what is left, number 0."""

    name: str
    number: int
    outline: Outline
    form: FormText | None
    thickness: Measured | None

    @property
    def is_flat(self) -> bool:
        """Whether its walls stand along its outline."""
        return self.form is None or self.form.name in FLAT_FORMS


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """Where two pieces go on into each other: their places in the list, and the line between them. [mm]"""

    first: int
    second: int
    line: BaseGeometry

    @property
    def width_mm(self) -> float:
        """From end to end; of a closed line, the diameter of the circle of its area."""
        ends = self.line.boundary
        if ends.is_empty:
            return 2.0 * math.sqrt(Polygon(self.line.coords).area / math.pi)
        one, other = shapely.get_parts(ends)
        return float(one.distance(other))


def forms_word(form: FormText | None, regions: Sequence[FormRegion]) -> str:
    """Return the forms of a part in a few words: ``flat and round``."""
    names = [one.name if one is not None else "flat" for one in (form, *(region.form for region in regions))]
    return " and ".join(dict.fromkeys(names))


def rings_on(polygon: Polygon, region: Region) -> list[Floats]:
    """Return the outer rings of what of a region lies on an outline, shape (n, 2) each, not closed. [mm]"""
    return [shapely.get_coordinates(one.exterior)[:-1] for one in polygons_of(polygon.intersection(region))]


def tagged(region: FormRegion, number: int) -> FormRegion:
    """Return a region whose typed figures are its own: two regions do not share their tolerances."""
    form = region.form
    if form is not None:
        figures = {name: _renamed(figure, number) for name, figure in form.figures.items()}
        form = replace(form, figures=figures)
    thickness = None if region.thickness is None else _renamed(region.thickness, number)
    return replace(region, form=form, thickness=thickness)


def pieces(
    outline: Outline,
    regions: Regions,
    *,
    form: FormText | None,
    thickness: Measured | None,
    view: View | None,
) -> tuple[list[Piece], list[Seam]]:
    """Return the connected pieces that regions cut an outline into, what is left of it first, and their seams.

    Each piece has its share of the measured area: what goes with the scale by its area, what goes with the edge by its
    length of edge. A seam may lie to either side of where it was drawn; what one piece gains the other loses.

    - ``form``, ``thickness``: of all that lies in no region.
    - ``view``: where the camera stood: flat pieces at another height than that of the outline are seen larger or
      smaller.

    Raises RangeError if a region lies outside, or regions lie over each other; OutlineInvalid if a region leaves a
    sliver of the part beside it.
    """
    zones = _zones(outline.polygon, regions)
    seams = _seams([polygon for _, polygon in zones])
    _check_slivers(outline.polygon, seams, zones, regions)
    found = []
    for place, (number, polygon) in enumerate(zones):
        region = regions[number - 1] if number else None
        own = region.form if region is not None else form
        thick = region.thickness if region is not None and region.thickness is not None else thickness
        mine = [seam for seam in seams if place in (seam.first, seam.second)]
        flat = own is None or own.name in FLAT_FORMS
        cut = _cut(outline, polygon, mine, by_edges=flat)
        cut = replace(cut, area=_with_seams(cut.area, place, mine, zones, regions))
        if flat and view is not None:
            cut = _lifted(cut, view, thick)
        same = [one for one, _ in zones].count(number)
        count = f" {1 + [one for one, _ in zones[:place]].count(number)}" if same > 1 else ""
        name = f"region {number}{f' piece{count}' if count else ''}" if number else f"rest{count}"
        found.append(Piece(name=name, number=number, outline=cut, form=own, thickness=thick))
    return found, seams


def _zones(whole: Polygon, regions: Regions) -> list[tuple[int, Polygon]]:
    zones: list[tuple[int, Polygon]] = []
    left: BaseGeometry = whole
    for number, one in enumerate(regions, start=1):
        here = polygons_of(whole.intersection(one.region))
        if not here:
            raise RangeError(
                f"Region {number} lies outside the part.",
                remedy="Give it in the millimetres that stand beside the outline.",
            )
        shared = sum(piece.intersection(other).area for piece in here for _, other in zones)
        if shared > _NOTHING_MM2:
            raise RangeError(
                f"Region {number} lies over another by {shared:.3g} mm2.", remedy="Let regions meet, not overlap."
            )
        zones += [(number, piece) for piece in here]
        left = left.difference(one.region)
    return [*((0, piece) for piece in polygons_of(left)), *zones]


def depth_in(polygon: Polygon, x: float, y: float) -> float:
    """Return how deep a point lies inside a polygon, negative outside and in its holes. [mm]"""
    point = Point(x, y)
    depth = float(polygon.boundary.distance(point))
    return depth if polygon.covers(point) else -depth


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons of a shape that have an area, the largest first."""
    parts = [one for one in shapely.get_parts(shape) if isinstance(one, Polygon) and one.area > _NOTHING_MM2]
    return sorted(parts, key=lambda one: -one.area)


def _seams(zones: list[Polygon]) -> list[Seam]:
    found = []
    for first, one in enumerate(zones):
        for second in range(first + 1, len(zones)):
            near = one.boundary.intersection(zones[second].boundary.buffer(SEAM_REACH_MM))
            lines = [line for line in shapely.get_parts(near) if line.length > 1e3 * SEAM_REACH_MM]
            merged = shapely.line_merge(MultiLineString(lines)) if lines else None
            found += [Seam(first=first, second=second, line=line) for line in shapely.get_parts(merged) if lines]
    return found


def _cut(outline: Outline, polygon: Polygon, seams: list[Seam], *, by_edges: bool) -> Outline:
    """Return a piece as an outline of its own; ``by_edges`` leaves seams out of its perimeters."""
    whole = outline.polygon
    seam = shapely.union_all([one.line for one in seams]) if seams else None
    gone = seam.buffer(SEAM_REACH_MM) if seam is not None else Polygon()
    around = total([outline.perimeter_outer, outline.perimeter_holes], "mm")
    by_area, by_edge = polygon.area / whole.area, polygon.boundary.difference(gone).length / whole.length
    budget = {n: share * (by_area if is_scale(n) else by_edge) for n, share in outline.area.budget.items()}
    lengths = [ring.difference(gone).length if by_edges else ring.length for ring in (
        polygon.exterior, shapely.union_all(list(polygon.interiors)))]  # fmt: skip
    outer, holes = (around.times(length / whole.length, unit="mm") for length in lengths)
    return Outline(
        polygon=polygon,
        area=Measured(value=outline.area.value * by_area, unit="mm2", budget=budget),
        perimeter_outer=outer,
        perimeter_holes=holes,
        origin=outline.origin,
        seam=seam,
    )


def _with_seams(
    area: Measured, place: int, seams: list[Seam], zones: list[tuple[int, Polygon]], regions: Regions
) -> Measured:
    """Add what a seam drawn to one side does: a region grows by it, its neighbour shrinks. [mm2]"""
    budget = dict(area.budget)
    for seam in seams:
        # What is left of the part comes first in the list, so the second piece is always a region.
        number = zones[seam.second][0]
        share = seam.line.length * regions[number - 1].edge_mm * (1.0 if place == seam.second else -1.0)
        name = f"edge of region {number}"
        budget[name] = budget.get(name, 0.0) + share
    return Measured(value=area.value, unit="mm2", budget=budget)


def _lifted(outline: Outline, view: View, thickness: Measured | None) -> Outline:
    """Return a flat piece at its own height: what is nearer to the camera is seen larger."""
    if thickness is None or thickness.value == view.level_mm:
        return outline
    scale = float(view.lifted(thickness.value))
    area = outline.area.times(scale * scale)
    slope = -2.0 * area.value / (view.height_mm - thickness.value)
    budget = dict(area.budget)
    for name, share in thickness.budget.items():
        budget[name] = budget.get(name, 0.0) + slope * share
    return replace(
        outline,
        area=Measured(value=area.value, unit="mm2", budget=budget),
        perimeter_outer=outline.perimeter_outer.times(scale),
        perimeter_holes=outline.perimeter_holes.times(scale),
    )


def _check_slivers(whole: Polygon, seams: list[Seam], zones: list[tuple[int, Polygon]], regions: Regions) -> None:
    """Refuse a seam that runs along the outline: what lies between the two was left over by a slip."""
    for seam in seams:
        reach = _SLIVER * regions[zones[seam.second][0] - 1].edge_mm
        along = seam.line.intersection(whole.boundary.buffer(reach))
        if along.length > _MOST_ALONG * reach:
            where = along.interpolate(0.5, normalized=True) if along.geom_type == "LineString" else along.centroid
            raise OutlineInvalid(
                f"Region {zones[seam.second][0]} leaves a thin strip of the part over, near {where.x:.1f}, "
                f"{where.y:.1f} mm.",
                remedy="Let the region reach past the outline of the part.",
            )


def _renamed(figure: Measured, number: int) -> Measured:
    budget = {f"region {number} {name}": share for name, share in figure.budget.items()}
    return Measured(value=figure.value, unit=figure.unit, budget=budget)
