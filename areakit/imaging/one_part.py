"""One region to one part: its edges traced, checked, and carried into millimetres with what is said of them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from areakit.errors import OutlineNotFound
from areakit.flags import Flag, flag
from areakit.geometry.edge_forms import broken_inset
from areakit.geometry.outline import Outline
from areakit.imaging.answers import ANSWER_REACH_MM, all_holes_asked
from areakit.imaging.budget import measure_rings
from areakit.imaging.checks.joint import joint_line, two_parts
from areakit.imaging.checks.part import (
    Seen,
    Undecided,
    check_part,
    grey_on_pale,
    hidden_mm,
    part_flags,
    questions,
    told_by_darkness,
)
from areakit.imaging.checks.sheet import focal_unchecked
from areakit.imaging.checks.slits import NO_SLITS, Slits, narrow_places
from areakit.imaging.closed_ring import signed_area
from areakit.imaging.edge_ring import EdgeRing, to_millimetres
from areakit.imaging.marks.field import lifted
from areakit.imaging.scale import PlaneScale
from areakit.imaging.segment import Region
from areakit.imaging.sharpness import softness_px
from areakit.imaging.stop_off import StopOff, other_colours, stop_off
from areakit.imaging.trace import hue_of_face, trace_ring
from areakit.imaging.view import View
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]

SMALLEST_HOLE_MM2 = 0.05
CLEAR_HUE = 0.5
"""Difference in log colour from which a metal on a sheet without colour is told by it (cupronickel in warm light: up to
0.4, brass from 0.6)."""
CUT_OFF_REFUSED = 0.05
"""Share of an outline that mending a crossing may cut off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPlace:
    """What a photo asks about: the code of its question, the point that names it, and its outline or line. [px, mm]

    ``seen_px``, shape (n, 2), is where it is seen: an outline, or the two ends of a line with its contrast.
    """

    code: str
    point_mm: tuple[float, float]
    seen_px: Floats
    contrast: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPart:
    """One part: its outline, and its edges in the photo, outer ring first, shape (n, 2) each. [px]

    ``region`` is its place among the regions that were looked at, ``stop_offs`` what of another colour lies on it,
    ``open_places`` what else is asked about.
    """

    outline: Outline
    rings_px: tuple[Floats, ...]
    region: int = 0
    stop_offs: tuple[StopOff, ...] = ()
    open_places: tuple[OpenPlace, ...] = ()


def part_of(view: View, region: Region, thickness: Measured | None) -> FoundPart:
    """Return one region as a part.

    Raises
    ------
    MeasurementError
        With its number and what to do, where its outline cannot be trusted.
    """
    scale, height, inset = _between_widest(view, region, thickness)
    rings = _traced(view, region, scale, height)
    if inset is not None and not view.edge_form.said and told_by_darkness(rings[0], view.sheet):
        scale, height, inset = view.scale, thickness, None
        rings = _traced(view, region, scale, height)
    height_mm = height.value if height else 0.0
    if grey_on_pale(rings[0], view.sheet):
        region = all_holes_asked(region)
        rings = rings[: len(region.rings)]
    rings_mm = tuple(to_millimetres(scale.camera, ring, height_mm) for ring in rings)
    slits = _slits(view, rings)
    undecided = _undecided(view, region.doubtful)
    beside = _undecided(view, region.beside, without=region.rings[0])
    sizes = measure_rings(
        scale,
        rings,
        rings_mm,
        height,
        sheet=view.sheet,
        edge_mm=view.edge.open_at(thickness.value if thickness else None),
        hidden_mm=hidden_mm(scale.camera, rings[0], height_mm),
        inset=inset,
        undecided_mm2=sum(one.area_mm2 for one in undecided),
        beside_mm2=sum(one.area_mm2 for one in beside),
        rival_share=region.rival_share,
        slits=slits,
        coarseness=view.coarseness,
        enlarged=view.enlarged,
    )
    polygon = _polygon(tuple(scale.turned_up(ring) for ring in rings_mm))
    _check_whole(polygon, rings_mm)
    seen = Seen(
        rings=rings,
        sizes=sizes,
        scale=scale,
        sheet=view.sheet,
        region=region,
        height_mm=height_mm,
        slits=slits,
        print_px=softness_px(view.photo, view.small) if told_by_darkness(rings[0], view.sheet) else 0.0,
    )
    check_part(seen)
    joint = _joint(view, rings)
    asked = (*questions(undecided, sizes), *questions(beside, sizes, code="BESIDE_UNDECIDED"))
    outline = Outline(
        polygon=polygon,
        area=sizes.area,
        perimeter_outer=sizes.outer,
        perimeter_holes=sizes.holes,
        origin="photo",
        edge_make=view.edge.key,
        flags=(
            *part_flags(seen),
            *focal_unchecked(scale, height_mm, sizes.area),
            *(told for told, _ in asked),
            *(told for told, _ in joint),
        ),
    )
    return FoundPart(
        outline=outline,
        rings_px=tuple(ring.points_px for ring in rings),
        stop_offs=_stop_offs(view, rings, polygon, height_mm),
        open_places=(
            *(OpenPlace(code=told.code, point_mm=one.point_mm, seen_px=one.ring_px) for told, one in asked),
            *(place for _, place in joint),
        ),
    )


def _traced(view: View, region: Region, scale: PlaneScale, height: Measured | None) -> tuple[EdgeRing, ...]:
    """Return the edges of a region, outer ring first."""
    return tuple(
        trace_ring(
            view.photo,
            view.small,
            view.sheet,
            ring,
            hole=i > 0,
            camera=scale.camera,
            height_mm=height.value if height else 0.0,
            shadows=i > 0 or not region.claimed,
        )
        for i, ring in enumerate(region.rings)
    )


def _between_widest(
    view: View, region: Region, thickness: Measured | None
) -> tuple[PlaneScale, Measured | None, Measured | None]:
    """Return scale and height from the lower to the upper widest line of a part, and how far in these lie. [mm]

    They are those of the sheet and the thickness where edges are sharp, or the thickness is not known. On a sheet
    without colour the rim of a rounded edge mirrors the sheet and is lost in it, so there an edge of which nobody said
    that it is sharp counts as broken; not that of dark grey metal, which mirrors nothing bright. A rim of clear colour
    keeps it in what it mirrors.
    """
    form = view.edge_form
    if thickness is None or (form.name == "sharp" and (form.said or view.sheet.coloured)):
        return view.scale, thickness, None
    if form.name == "sharp":
        seen = hue_of_face(view.photo, view.small, view.sheet, region.rings[0]) > CLEAR_HUE
        inset = broken_inset(thickness, seen=seen)
    else:
        inset = form.inset(thickness)
    height = replace(thickness, value=thickness.value - 2.0 * inset.value)
    return replace(view.scale, camera=lifted(view.scale.camera, inset.value)), height, inset


def _stop_offs(view: View, rings: tuple[EdgeRing, ...], outline: Polygon, height_mm: float) -> tuple[StopOff, ...]:
    """Return the regions of another colour on a part."""
    corner = np.array([view.sheet.left, view.sheet.top])
    camera, found = view.scale.camera, []
    for one in other_colours(view.sheet, [view.small.from_full(ring.points_px) - corner for ring in rings]):
        flat = camera.to_sheet(view.small.to_full(one.ring + corner), height_mm)
        pixel_mm = view.small.factor * camera.mm_per_px(flat.mean(axis=0))
        found.append(stop_off(view.scale.turned_up(flat), outline, pixel_mm=pixel_mm, like_sheet=one.like_sheet))
    return tuple(one for one in found if one is not None)


def _slits(view: View, rings: tuple[EdgeRing, ...]) -> Slits:
    """Return what is too narrow for the outline; on a pale sheet, relief in the metal looks just like it."""
    corner = [view.sheet.left, view.sheet.top]
    if not view.sheet.coloured:
        return NO_SLITS
    found = narrow_places(view.sheet, [view.small.from_full(ring.points_px) - corner for ring in rings])
    middle = view.small.to_full(found.place + corner)
    pixel_mm = view.small.factor * view.scale.camera.mm_per_px(view.scale.camera.to_sheet(middle[None])[0])
    return found.in_sheet(pixel_mm, view.in_sheet(found.place[None])[0])


def _joint(view: View, rings: tuple[EdgeRing, ...]) -> tuple[tuple[Flag, OpenPlace], ...]:
    """Ask whether a line across a part is a joint between two, unless somebody said; refuse what is two parts."""
    corner = [view.sheet.left, view.sheet.top]
    found = joint_line(view.sheet, [view.small.from_full(ring.points_px) - corner for ring in rings])
    if found is None:
        return ()
    line = LineString(view.in_sheet(found.ends))
    said = [answer.hole for answer in view.answers if line.distance(Point(answer.point_mm)) < ANSWER_REACH_MM]
    middle = line.interpolate(0.5, normalized=True)
    if said:
        return two_parts(middle.x, middle.y) if said[-1] else ()
    place = OpenPlace(
        code="JOINT_UNDECIDED", point_mm=(middle.x, middle.y), seen_px=view.small.to_full(found.ends + corner),
        contrast=found.contrast,
    )  # fmt: skip
    return ((flag("JOINT_UNDECIDED", x_mm=middle.x, y_mm=middle.y), place),)


def _undecided(view: View, rings: tuple[Floats, ...], *, without: Floats | None = None) -> list[Undecided]:
    """Return each outline that is open, less a part round which it may lie."""
    found = []
    for ring in rings:
        open_: BaseGeometry = Polygon(view.in_sheet(ring)).buffer(0.0)
        if without is not None:
            open_ = open_.difference(Polygon(view.in_sheet(without)).buffer(0.0))
        if open_.area > 0.0:
            point = open_.representative_point()
            ring_px = view.small.to_full(ring + [view.sheet.left, view.sheet.top])
            found.append(Undecided(area_mm2=float(open_.area), point_mm=(point.x, point.y), ring_px=ring_px))
    return found


def _check_whole(polygon: Polygon, rings_mm: tuple[Floats, ...]) -> None:
    """Refuse an outline of which mending a crossing cut off more than a little.

    Raises
    ------
    OutlineNotFound
    """
    outer, *holes = (abs(signed_area(ring)) for ring in rings_mm)
    lost = 1.0 - polygon.area / max(outer - sum(holes), 1e-9)
    if lost > CUT_OFF_REFUSED:
        raise OutlineNotFound(
            f"The outline crosses itself where the part is narrow: {100 * lost:.0f} % of it would be cut off.",
            remedy="Move closer, or use softer light from two sides.",
            code="OUTLINE_CROSSES_ITSELF",
        )


def _polygon(rings_mm: tuple[Floats, ...]) -> Polygon:
    """Build a sound polygon; noise of neighbouring points may cross by a hair, which is mended."""
    polygon = Polygon(rings_mm[0], rings_mm[1:])
    if not polygon.is_valid:
        mended = shapely.make_valid(polygon)
        pieces = [piece for piece in getattr(mended, "geoms", [mended]) if isinstance(piece, Polygon)]
        pieces += [p for piece in getattr(mended, "geoms", []) for p in getattr(piece, "geoms", []) if p.area > 0]
        polygon = max(pieces, key=lambda piece: float(piece.area))
        holes = [hole for hole in polygon.interiors if Polygon(hole).area > SMALLEST_HOLE_MM2]
        polygon = Polygon(polygon.exterior, holes)
    return polygon
