"""From one photo to the outlines of the parts in it: scale, sheet, regions, edges, millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from areakit.errors import MeasurementError, OutlineNotFound, RangeError
from areakit.flags import Flag, flag
from areakit.geometry.edge_forms import SHARP, EdgeForm
from areakit.geometry.edge_makes import EdgeMake, edge_make
from areakit.imaging.answers import Answer, answered
from areakit.imaging.checks.field import check_field_seen, check_guard_bare, check_not_filled
from areakit.imaging.checks.ground import with_ground_doubted
from areakit.imaging.checks.part import photo_flags
from areakit.imaging.checks.photo import check_packing, coarseness, packing_step
from areakit.imaging.checks.unread_frame import check_frame_read
from areakit.imaging.enlarged import enlargement
from areakit.imaging.left_out import CROSSES, LeftOut, inside_and_crossing, left_out, nothing_found
from areakit.imaging.lens import Lens, lens_for
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.wanted import Wanted
from areakit.imaging.one_part import FoundPart, part_of
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import CheckReading, PlaneScale
from areakit.imaging.segment import Region, find_regions
from areakit.imaging.sheet_colour import sheet_distance
from areakit.imaging.view import View
from areakit.plural import counted
from areakit.uncertainty import Measured

MOST_PARTS = 300
"""More pieces than anybody lays out; a spotted or damaged picture falls into thousands."""
SMALLEST_PART_MM2 = 2.0
HIGHEST_PART = 0.4
"""Thickness over the camera's height above which the height rule means nothing."""
STAIN_SHARE = 0.02
"""A region this small beside the largest, and without a clear edge, is a stain or a crumb."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundParts:
    """What a photo gave, in reading order; ``view`` is the photo as it was looked at."""

    scale: PlaneScale
    parts: tuple[FoundPart, ...]
    flags: tuple[Flag, ...] = field(default=())
    left_out: tuple[LeftOut, ...] = ()
    view: View | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnWords:
    """What is said of one part: its height, None where nobody gave it [mm], how its edge was made, and its form."""

    height: Measured | None
    edge: EdgeMake
    form: EdgeForm = SHARP


def find_outlines(
    photo: Photo,
    *,
    thickness: Measured | None,
    edge: EdgeMake | None = None,
    edge_form: EdgeForm = SHARP,
    own: Mapping[int, OwnWords] | None = None,
    mark: str = "auto",
    reading: CheckReading | None = None,
    answers: tuple[Answer, ...] = (),
    lenses: tuple[Lens, ...] = (),
    laid: Wanted | None = None,
) -> FoundParts:
    """Return the outlines of all parts in a photo.

    Parameters
    ----------
    photo : Photo
    thickness : Measured or None
        Height of the faces above the sheet, of all parts that have none of their own. [mm]
    edge : EdgeMake or None
        How the edges were made; None where nobody said.
    edge_form : EdgeForm
        Whether the edges are rounded, so that their widest lines lie off the faces.
    own : mapping of int to OwnWords
        Heights and edges of single parts by their number in reading order, from 1.
    mark : str
        Which reference mark to look for.
    reading : CheckReading or None
        The check lengths of the printed sheet; None where nobody measured them.
    answers : tuple of Answer
        What a person said of doubtful regions.
    lenses : tuple of Lens
        Stored lenses; the one of the photo's camera is used.
    laid : Wanted or None
        The card or the coins that lie in the field of the printed sheet, to tell its size where nobody measured it.

    Raises
    ------
    MeasurementError
        With what is wrong and what to do, where no trustworthy number can be had.
    """
    small = overview(photo)
    step = packing_step(photo.pixels)
    packed = check_packing(step, photo.name)
    scale = find_scale(photo, small, mark=mark, reading=reading, lens=lens_for(photo, lenses), laid=laid)
    _check_thickness(thickness, scale)
    check_frame_read(small, scale)
    check_field_seen(small, scale)
    sheet = sheet_distance(small, scale)
    check_guard_bare(sheet, scale)
    inside, crossing = inside_and_crossing(find_regions(sheet))
    check_not_filled(max((region.area_px for region in crossing), default=0.0), float(np.count_nonzero(sheet.field)))
    if not inside:
        raise nothing_found(len(crossing))
    _check_count(inside)
    view = View(
        photo=photo,
        small=small,
        sheet=sheet,
        scale=scale,
        answers=answers,
        coarseness=coarseness(step),
        enlarged=enlargement(photo.pixels),
        edge=edge or edge_make(""),
        edge_form=edge_form,
    )
    inside = with_ground_doubted(sheet, inside, [view.height_of(region, thickness) for region in inside])
    closer = [view.closer(region, thickness) for region in inside]
    decided = [(near, answered(region, answers, near.in_sheet)) for near, region in closer]
    kept, failures = _measured(decided, thickness)
    if not kept:
        raise failures[0][0] if failures else nothing_found(len(crossing))
    ordered = _with_own_words(_reading_order(kept), decided, own or {}, scale)
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
        view=view,
    )


def _with_own_words(
    parts: list[FoundPart], regions: list[tuple[View, Region]], own: Mapping[int, OwnWords], scale: PlaneScale
) -> list[FoundPart]:
    """Return the parts, those with a height or an edge of their own traced again with it."""
    strange = [number for number in own if not 1 <= number <= len(parts)]
    if strange:
        raise RangeError(
            f"There is no part {strange[0]}: the photo shows {counted(len(parts), 'part')}.",
            remedy="Number them as on the overlay.",
        )
    done = list(parts)
    for number, said in own.items():
        _check_thickness(said.height, scale)
        before = parts[number - 1]
        view, region = regions[before.region]
        view = replace(view, edge=said.edge, edge_form=said.form)
        done[number - 1] = replace(part_of(view, region, said.height), region=before.region)
    return done


def _check_thickness(thickness: Measured | None, scale: PlaneScale) -> None:
    height = scale.camera.height_mm
    if thickness is not None and thickness.value > HIGHEST_PART * height:
        raise RangeError(
            f"A thickness of {thickness.value:g} mm cannot be: the camera stood {height:.0f} mm above the sheet.",
            remedy="Check the thickness and its unit.",
        )


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


def _measured(
    regions: list[tuple[View, Region]], thickness: Measured | None
) -> tuple[list[FoundPart], list[tuple[MeasurementError, LeftOut]]]:
    """Measure each region; one that cannot be measured is told of, unless it is a mere stain."""
    sizes = [region.area_px * view.small.factor**2 for view, region in regions]
    parts: list[FoundPart] = []
    failures, kept = [], 0.0
    for place, size in sorted(enumerate(sizes), key=lambda item: -item[1]):
        view, region = regions[place]
        try:
            part = replace(part_of(view, region, thickness), region=place)
        except MeasurementError as failure:
            if size > STAIN_SHARE * max(sizes) and not _asked_beside(parts, regions, place, thickness):
                failures.append((size, failure, left_out(view.small, view.sheet, region, failure.message)))
            continue
        if part.outline.area.value >= SMALLEST_PART_MM2:
            parts.append(part)
            kept += size
    crumbs = all("GREY_ON_PALE" in {f.code for f in part.outline.flags} for part in parts)
    if failures and (crumbs or failures[0][0] > kept):
        return [], [failures[0][1:]]  # what was measured is pieces of it, or does not matter without it
    return parts, [(failure, place) for _, failure, place in failures]


def _asked_beside(
    parts: list[FoundPart], regions: list[tuple[View, Region]], place: int, thickness: Measured | None
) -> bool:
    """Ask of a piece that cannot be measured whether it belongs to a part that it touches; tell whether it was."""
    for i, part in enumerate(parts):
        view, region = regions[part.region]
        joined = view.with_piece(region, *regions[place])
        if joined is not None:
            regions[part.region] = view, answered(joined, view.answers, view.in_sheet)
            parts[i] = replace(part_of(*regions[part.region], thickness), region=part.region)
            return True
    return False


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
