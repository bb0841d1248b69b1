"""Ring bands: from the front (two circles and a typed width) or standing on the sheet (from the side)."""

from __future__ import annotations

import math

import shapely
from shapely.geometry import Polygon, box

from areakit.errors import OutlineInvalid, RangeError
from areakit.geometry.differences import differenced
from areakit.geometry.features import Basis
from areakit.geometry.forms.result import FormLine, FormSurface
from areakit.geometry.forms.seen import View, true_radius
from areakit.geometry.forms.words import FormText
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured, exact, propagate

COMFORT_RISE = 0.25
"""How much thicker a comfort-fit band is in its middle than at its edges, over its wall; from 0 to twice this
(common practice, no source)."""
_ROUNDEST = 0.03


def band(outline: Outline, form: FormText, *, view: View | None) -> FormSurface:
    """Return the outer and the inner cylinder of a band, and its two edges.

    From the front the outline is the ring itself, read at the height of its upper edge like that of any flat part:
    pi D w outside, pi d w inside (closed forms), the ring twice for the edges. From the side the outline is a rectangle
    D long and w wide, and the wall is typed.

    Raises InputError if the width (front) or the wall (side) was not typed; OutlineInvalid if from the front the
    outline is not one ring, or not round.
    """
    if form.word("seen", "front") == "side":
        outer, inner, width, edges = _from_side(outline, form, view)
        basis: Basis = "computed"
    else:
        outer, inner, width, edges = _from_front(outline, form)
        basis = "measured" if outline.origin in {"photo", "scan"} else "computed"
    return _surfaces(outer, inner, width, edges, form, basis)


def _surfaces(
    outer: Measured, inner: Measured, width: Measured, edges: Measured, form: FormText, basis: Basis
) -> FormSurface:
    profile, wall = form.word("profile", "flat"), (outer.value - inner.value) / (2.0 * math.pi)
    outside = inside = 1.0
    spread, high = 0.0, width.value
    if profile == "half-round":
        outside, edges = _bow(wall, high, around=outer.value, outward=True), exact(0.0, "mm2")
    if profile == "comfort":
        rise = COMFORT_RISE * wall
        inside = _bow(rise, high, around=inner.value, outward=False)
        spread = (_bow(2.0 * rise, high, around=inner.value, outward=False) - 1.0) / 2.0 / math.sqrt(3.0)
        edges = _narrowed(edges, 2.0 * inner.value * rise)
    within = propagate(lambda p, w: p * w * inside, inner, width, unit="mm2")
    areas = (
        propagate(lambda p, w: p * w * outside, outer, width, unit="mm2"),
        Measured(value=within.value, unit="mm2", budget={**within.budget, "form: profile": spread * within.value}),
    )
    lines = [
        FormLine(name="outside", side="front", basis=basis, area=areas[0]),
        FormLine(name="inside", side="back", basis=basis, area=areas[1]),
    ]
    if edges.value:
        lines.append(FormLine(name="edges", side="wall", basis=basis, area=edges))
    around = outer.value
    return FormSurface(
        lines=tuple(lines),
        figures={
            "outer diameter": propagate(lambda p: p / math.pi, outer, unit="mm"),
            "inner diameter": propagate(lambda p: p / math.pi, inner, unit="mm"),
            "width": width,
        },
        unrolled=box(0.0, -width.value / 2.0, around, width.value / 2.0),
    )


def _bow(rise: float, chord: float, *, around: float, outward: bool) -> float:
    """Return what a bowed face has over the cylinder of its top: longer across, and on the mean closer to its edges.

    The bow is an arc over its chord; its centroid lies r - r sin(a) / a below its top (Pappus, closed forms).
    ``around`` is the length round the top. [mm]
    """
    half = chord / 2.0
    radius = (half * half + rise * rise) / (2.0 * rise)
    angle = math.atan2(half, radius - rise)
    sagging = radius - radius * math.sin(angle) / angle
    longer = radius * angle / half
    return longer * (1.0 + (-1.0 if outward else 1.0) * 2.0 * math.pi * sagging / around)


def _narrowed(edges: Measured, area: float) -> Measured:
    """Return the edges of a comfort-fit band, narrower by its rise, which is open by as much as itself. [mm2]"""
    spread = area / math.sqrt(3.0)
    return Measured(value=edges.value - area, unit="mm2", budget={**edges.budget, "form: profile": -spread})


def _from_front(outline: Outline, form: FormText) -> tuple[Measured, Measured, Measured, Measured]:
    width = form.needed("width")
    polygon = outline.polygon
    if len(polygon.interiors) != 1:
        raise OutlineInvalid(
            f"A band seen from the front has one hole; this outline has {len(polygon.interiors)}.",
            remedy="Lay it flat on its edge, or write: band, seen side, wall 1.5 mm.",
        )
    for ring in (polygon.exterior, polygon.interiors[0]):
        spots = shapely.get_coordinates(shapely.segmentize(ring, ring.length / 200.0))
        radii = shapely.distance(shapely.points(spots), Polygon(ring).centroid)
        if radii.std() / radii.mean() > _ROUNDEST:
            raise OutlineInvalid(
                f"The band is {200 * radii.std() / radii.mean():.0f} % out of round.",
                remedy="A shaped band is a flat part with its width as thickness.",
                fields={"form": "flat"},
            )
    edges = outline.area.times(2.0)
    return outline.perimeter_outer, outline.perimeter_holes, width, edges


def _from_side(outline: Outline, form: FormText, view: View | None) -> tuple[Measured, Measured, Measured, Measured]:
    wall = form.needed("wall", "seen from the side")
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline.polygon))
    sides = [math.dist(corners[i], corners[i + 1]) for i in (0, 1)]
    long, wide = max(sides), min(sides)
    if outline.area.value < 0.93 * long * wide:
        raise OutlineInvalid(
            f"The outline fills {100 * outline.area.value / long / wide:.0f} % of its rectangle; a band from the side "
            "fills it all.",
            remedy="Stand the band upright on the sheet, or lay it flat: band, width 4 mm.",
        )
    shrink = 1.0
    if view is not None:
        middle, radius = outline.polygon.centroid, long / 2.0
        across = math.hypot(middle.x - view.x_mm, middle.y - view.y_mm)
        for _ in range(6):
            shrink = float(view.lifted(radius))
            radius = float(true_radius(long / 2.0 * shrink, across=across, distance_mm=view.height_mm - radius))
        long, wide = 2.0 * radius, wide * shrink
    relative = {n: s / outline.area.value / 2.0 for n, s in outline.area.budget.items()}
    diameter = Measured(value=long, unit="mm", budget={n: s * long for n, s in relative.items()})
    width = Measured(value=wide, unit="mm", budget={n: s * wide for n, s in relative.items()})
    if wall.value * 2.0 >= long:
        raise RangeError(f"A wall of {wall.value:g} mm leaves no inside.", remedy="Check the wall and its unit.")
    (edges,) = differenced(lambda d, t: [2.0 * math.pi * (d - t) * t], [diameter, wall], ["mm2"])
    outer = diameter.times(math.pi)
    inner = propagate(lambda d, t: math.pi * (d - 2.0 * t), diameter, wall, unit="mm")
    return outer, inner, width, edges
