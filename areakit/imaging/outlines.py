"""From one photo to the outlines of the parts in it: scale, sheet, regions, edges, millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from areakit.errors import MeasurementError, OutlineNotFound, RangeError
from areakit.flags import Flag, flag
from areakit.geometry.outline import Outline
from areakit.imaging.budget import UNKNOWN_HEIGHT_MM, measure_rings
from areakit.imaging.checks.field import check_field_seen, check_not_filled
from areakit.imaging.checks.ground import Height, with_doubts
from areakit.imaging.checks.joint import joint_line, two_parts
from areakit.imaging.checks.part import Seen, check_part, grey_on_pale, part_flags, photo_flags, questions
from areakit.imaging.checks.photo import check_packing, coarseness, packing_step
from areakit.imaging.checks.sheet import focal_unchecked
from areakit.imaging.checks.slits import NO_SLITS, Slits, narrow_places
from areakit.imaging.checks.unread_frame import check_frame_read
from areakit.imaging.closed_ring import signed_area
from areakit.imaging.closer import look_closer
from areakit.imaging.left_out import CROSSES, LeftOut, inside_and_crossing, left_out, nothing_found
from areakit.imaging.lens import Lens, lens_for
from areakit.imaging.marks import find_scale
from areakit.imaging.photo import Overview, Photo, overview
from areakit.imaging.scale import CheckReading, PlaneScale
from areakit.imaging.segment import Region, find_regions
from areakit.imaging.sheet_colour import SheetDistance, sheet_distance
from areakit.imaging.trace import EdgeRing, to_millimetres, trace_ring
from areakit.plural import counted
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]

MOST_PARTS = 300
"""More pieces than anybody lays out; a spotted or damaged picture falls into thousands."""
SMALLEST_PART_MM2 = 2.0
SMALLEST_HOLE_MM2 = 0.05
HIGHEST_PART = 0.4
"""Thickness over the camera's height above which the height rule means nothing."""
ANSWER_REACH_MM = 0.5
STAIN_SHARE = 0.02
"""A region this small beside the largest, and without a clear edge, is a stain or a crumb."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPart:
    """One part: its outline, and its edges in the photo, outer ring first, shape (n, 2) each. [px]

    ``region`` is its place among the regions that were looked at.
    """

    outline: Outline
    rings_px: tuple[Floats, ...]
    region: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundParts:
    """What a photo gave, in reading order."""

    scale: PlaneScale
    parts: tuple[FoundPart, ...]
    flags: tuple[Flag, ...] = field(default=())
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a person says of a doubtful region: the point in sheet millimetres, y upwards, is in a hole or on metal."""

    point_mm: tuple[float, float]
    hole: bool


def find_outlines(
    photo: Photo,
    *,
    thickness: Measured | None,
    own: Mapping[int, Measured | None] | None = None,
    mark: str = "auto",
    reading: CheckReading | None = None,
    answers: tuple[Answer, ...] = (),
    lenses: tuple[Lens, ...] = (),
) -> FoundParts:
    """Return the outlines of all parts in a photo.

    Parameters
    ----------
    photo : Photo
    thickness : Measured or None
        Height of the faces above the sheet, of all parts that have none of their own. [mm]
    own : mapping of int to Measured or None
        Heights of single parts by their number in reading order, from 1. [mm]
    mark : str
        Which reference mark to look for.
    reading : CheckReading or None
        The check lengths of the printed sheet; None where nobody measured them.
    answers : tuple of Answer
        What a person said of doubtful regions.
    lenses : tuple of Lens
        Stored lenses; the one of the photo's camera is used.

    Raises
    ------
    MeasurementError
        With what is wrong and what to do, where no trustworthy number can be had.
    """
    small = overview(photo)
    step = packing_step(photo.pixels)
    packed = check_packing(step, photo.name)
    scale = find_scale(photo, small, mark=mark, reading=reading, lens=lens_for(photo, lenses))
    _check_thickness(thickness, scale)
    check_frame_read(small, scale)
    check_field_seen(small, scale)
    sheet = sheet_distance(small, scale)
    inside, crossing = inside_and_crossing(find_regions(sheet))
    check_not_filled(max((region.area_px for region in crossing), default=0.0), float(np.count_nonzero(sheet.window)))
    if not inside:
        raise nothing_found(len(crossing))
    _check_count(inside)
    view = _View(photo=photo, small=small, sheet=sheet, scale=scale, answers=answers, coarseness=coarseness(step))
    inside = with_doubts(sheet, inside, [_height(view, region, thickness) for region in inside])
    closer = [_closer(view, region) for region in inside]
    decided = [(near, _decided(near, region)) for near, region in closer]
    kept, failures = _measured(decided, thickness)
    if not kept:
        raise failures[0][0] if failures else nothing_found(len(crossing))
    ordered = _with_own_heights(_reading_order(kept), decided, own or {}, scale)
    return FoundParts(
        scale=scale,
        parts=tuple(_numbered(part, i + 1) for i, part in enumerate(ordered)),
        flags=(
            *photo_flags(scale, sheet, thickness, len(crossing)),
            *packed,
            *(flag("PART_NOT_MEASURED", reason=failure.message) for failure, _ in failures),
        ),
        left_out=(
            *(left_out(small, sheet, region, CROSSES) for region in crossing),
            *(place for _, place in failures),
        ),
    )


def _with_own_heights(
    parts: list[FoundPart],
    regions: list[tuple[_View, Region]],
    own: Mapping[int, Measured | None],
    scale: PlaneScale,
) -> list[FoundPart]:
    """Return the parts, those with a height of their own traced again at it."""
    strange = [number for number in own if not 1 <= number <= len(parts)]
    if strange:
        raise RangeError(
            f"There is no part {strange[0]}: the photo shows {counted(len(parts), 'part')}.",
            remedy="Number them as on the overlay.",
        )
    done = list(parts)
    for number, height in own.items():
        _check_thickness(height, scale)
        before = parts[number - 1]
        view, region = regions[before.region]
        done[number - 1] = replace(_part(view, region, height), region=before.region)
    return done


def _check_thickness(thickness: Measured | None, scale: PlaneScale) -> None:
    height = scale.camera.height_mm
    if thickness is not None and thickness.value > HIGHEST_PART * height:
        raise RangeError(
            f"A thickness of {thickness.value:g} mm cannot be: the camera stood {height:.0f} mm above the sheet.",
            remedy="Check the thickness and its unit.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _View:
    """One photo with its scale and its sheet."""

    photo: Photo
    small: Overview
    sheet: SheetDistance
    scale: PlaneScale
    answers: tuple[Answer, ...] = ()
    coarseness: float = 1.0

    def in_sheet(self, ring: Floats) -> Floats:
        """Return a coarse ring of a region in sheet millimetres, y upwards, shape (n, 2)."""
        flat = self.scale.camera.to_sheet(self.small.to_full(ring + [self.sheet.left, self.sheet.top]))
        return self.scale.turned_up(flat)


def _check_count(inside: list[Region]) -> None:
    """Refuse a picture that falls into countless pieces of like size; stains and crumbs beside a part do not count."""
    largest = max(region.area_px for region in inside)
    count = sum(region.area_px > STAIN_SHARE * largest for region in inside)
    if count > MOST_PARTS:
        raise OutlineNotFound(
            f"{count} separate pieces were found on the sheet; up to {MOST_PARTS} are measured.",
            remedy="Take the parts in several photos; wipe the sheet if it is spotted, and use softer light.",
            code="TOO_MANY_PARTS",
        )


def _height(view: _View, region: Region, thickness: Measured | None) -> Height:
    """Return how high a part is at most, and how wide its walls are seen, in pixels of the overview."""
    height_mm = UNKNOWN_HEIGHT_MM if thickness is None else thickness.value
    outer, camera = view.small.to_full(region.rings[0] + [view.sheet.left, view.sheet.top]), view.scale.camera
    lifted = camera.project(camera.to_sheet(outer), height_mm)
    wall_px = float(np.max(np.linalg.norm(lifted - outer, axis=1))) / view.small.factor
    return Height(part_px=height_mm / (view.scale.mm_per_px * view.small.factor), wall_px=wall_px)


def _closer(view: _View, region: Region) -> tuple[_View, Region]:
    """Look again at a small region; the view is that in which it was found."""
    if region.beside:
        return view, region
    small, sheet, found = look_closer(view.photo, view.small, view.sheet, region)
    return replace(view, small=small, sheet=sheet), found


def _decided(view: _View, region: Region) -> Region:
    """Apply the answers that fall into holes or doubtful regions of one region, or into ground beside it."""
    region = _claimed(view, region)
    outer, *holes = region.rings
    doubtful, certain = list(region.doubtful), 0
    for answer in view.answers:
        point = Point(answer.point_mm)
        near = [
            ring for ring in (*holes, *doubtful) if Polygon(view.in_sheet(ring)).buffer(ANSWER_REACH_MM).contains(point)
        ]
        holes = [ring for ring in holes if not any(ring is one for one in near)]
        doubtful = [ring for ring in doubtful if not any(ring is one for one in near)]
        if answer.hole:
            holes, certain = near + holes, certain + len(near)
    return replace(region, rings=(outer, *holes), doubtful=tuple(doubtful), certain_holes=certain)


def _claimed(view: _View, region: Region) -> Region:
    """Add ground beside a region that a person said is metal, and forget what they said is not."""
    outer: BaseGeometry = Polygon(region.rings[0])
    beside = []
    for ring in region.beside:
        zone = Polygon(view.in_sheet(ring)).buffer(ANSWER_REACH_MM)
        told = [answer.hole for answer in view.answers if zone.contains(Point(answer.point_mm))]
        if not told:
            beside.append(ring)
        elif not told[-1]:
            outer = outer.union(Polygon(ring).buffer(1.0))
    if not isinstance(outer, Polygon):
        return region
    claimed = not outer.equals(Polygon(region.rings[0]))
    rings = (np.asarray(outer.exterior.coords)[:-1], *region.rings[1:]) if claimed else region.rings
    return replace(region, rings=rings, beside=tuple(beside), claimed=claimed)


def _asked(region: Region) -> Region:
    """Ask about every hole that nobody confirmed: in grey metal on a pale sheet a highlight looks just like one."""
    kept = 1 + region.certain_holes
    return replace(region, rings=region.rings[:kept], doubtful=(*region.rings[kept:], *region.doubtful))


def _measured(
    regions: list[tuple[_View, Region]], thickness: Measured | None
) -> tuple[list[FoundPart], list[tuple[MeasurementError, LeftOut]]]:
    """Measure each region; one that cannot be measured is told of, unless it is a mere stain."""
    sizes = [region.area_px * view.small.factor**2 for view, region in regions]
    parts, failures, kept = [], [], 0.0
    for place, size in sorted(enumerate(sizes), key=lambda item: -item[1]):
        view, region = regions[place]
        try:
            part = replace(_part(view, region, thickness), region=place)
        except MeasurementError as failure:
            if size > STAIN_SHARE * max(sizes):
                failures.append((size, failure, left_out(view.small, view.sheet, region, failure.message)))
            continue
        if part.outline.area.value >= SMALLEST_PART_MM2:
            parts.append(part)
            kept += size
    crumbs = all("GREY_ON_PALE" in {f.code for f in part.outline.flags} for part in parts)
    if failures and (crumbs or failures[0][0] > kept):
        return [], [failures[0][1:]]  # what was measured is pieces of it, or does not matter without it
    return parts, [(failure, place) for _, failure, place in failures]


def _part(view: _View, region: Region, thickness: Measured | None) -> FoundPart:
    scale, height_mm = view.scale, thickness.value if thickness else 0.0
    rings = tuple(
        trace_ring(
            view.photo,
            view.small,
            view.sheet,
            ring,
            hole=i > 0,
            camera=scale.camera,
            height_mm=height_mm,
            shadows=i > 0 or not region.claimed,
        )
        for i, ring in enumerate(region.rings)
    )
    if grey_on_pale(rings[0], view.sheet):
        region = _asked(region)
        rings = rings[: len(region.rings)]
    rings_mm = tuple(to_millimetres(scale.camera, ring, height_mm) for ring in rings)
    slits = _slits(view, rings)
    undecided, beside = _undecided_mm2(view, region.doubtful), _undecided_mm2(view, region.beside)
    sizes = measure_rings(
        scale,
        rings,
        rings_mm,
        thickness,
        sheet=view.sheet,
        undecided_mm2=sum(area for area, _ in undecided),
        beside_mm2=sum(area for area, _ in beside),
        rival_share=region.rival_share,
        slits=slits,
        coarseness=view.coarseness,
    )
    polygon = _polygon(tuple(scale.turned_up(ring) for ring in rings_mm))
    seen = Seen(
        rings=rings, sizes=sizes, scale=scale, sheet=view.sheet, region=region, height_mm=height_mm, slits=slits
    )
    check_part(seen)
    joint = _joint(view, rings)
    outline = Outline(
        polygon=polygon,
        area=sizes.area,
        perimeter_outer=sizes.outer,
        perimeter_holes=sizes.holes,
        origin="photo",
        flags=(
            *part_flags(seen),
            *focal_unchecked(scale, height_mm, sizes.area),
            *questions(undecided, sizes),
            *questions(beside, sizes, code="BESIDE_UNDECIDED"),
            *joint,
        ),
    )
    return FoundPart(outline=outline, rings_px=tuple(ring.points_px for ring in rings))


def _slits(view: _View, rings: tuple[EdgeRing, ...]) -> Slits:
    """Return what is too narrow for the outline; on a pale sheet, relief in the metal looks just like it."""
    corner = [view.sheet.left, view.sheet.top]
    if not view.sheet.coloured:
        return NO_SLITS
    found = narrow_places(view.sheet, [view.small.from_full(ring.points_px) - corner for ring in rings])
    middle = view.small.to_full(found.place + corner)
    pixel_mm = view.small.factor * view.scale.camera.mm_per_px(view.scale.camera.to_sheet(middle[None])[0])
    return found.in_sheet(pixel_mm, view.in_sheet(found.place[None])[0])


def _joint(view: _View, rings: tuple[EdgeRing, ...]) -> tuple[Flag, ...]:
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
    return (flag("JOINT_UNDECIDED", x_mm=middle.x, y_mm=middle.y),)


def _undecided_mm2(view: _View, rings: tuple[Floats, ...]) -> list[tuple[float, Floats]]:
    """Return area and a point inside of each outline that is open. [mm2, mm]"""
    flat = [view.in_sheet(ring) for ring in rings]
    inside = [np.array(Polygon(ring).buffer(0.0).representative_point().coords[0]) for ring in flat]
    return [(abs(signed_area(ring)), point) for ring, point in zip(flat, inside, strict=True)]


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


def _reading_order(parts: list[FoundPart]) -> list[FoundPart]:
    """Sort into rows as one reads the upright photo: a part joins a row whose height its middle falls into."""
    boxes = [(part.rings_px[0].min(axis=0), part.rings_px[0].max(axis=0)) for part in parts]
    order = sorted(range(len(parts)), key=lambda i: boxes[i][0][1] + boxes[i][1][1])
    rows: list[list[int]] = []
    for i in order:
        middle = (boxes[i][0][1] + boxes[i][1][1]) / 2
        if rows and boxes[rows[-1][0]][0][1] <= middle <= boxes[rows[-1][0]][1][1]:
            rows[-1].append(i)
        else:
            rows.append([i])
    return [parts[i] for row in rows for i in sorted(row, key=lambda i: boxes[i][0][0])]


def _numbered(part: FoundPart, number: int) -> FoundPart:
    flags = tuple(replace(f, part=number) for f in part.outline.flags)
    return replace(part, outline=replace(part.outline, flags=flags))
