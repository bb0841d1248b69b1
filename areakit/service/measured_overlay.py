"""The overlay of a measured or refused photo, and the names under which overlays of many photos are kept."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from areakit.errors import MeasurementError
from areakit.flags import Flag, place_asked
from areakit.geometry.regions import forms_word, rings_on
from areakit.imaging.sight import look, mark_rings
from areakit.reports.field_ruler import Field, Tick
from areakit.reports.overlay import Labelled, draw_overlay, save_overlay
from areakit.units import show

if TYPE_CHECKING:
    import numpy.typing as npt
    from PIL import Image

    from areakit.imaging.scale import PlaneScale
    from areakit.service.measure import MeasuredPart, MeasureResult

FEW = 12
"""Up to so many parts carry their areas on the picture; more carry their numbers."""
TICKS_MM, OUT_MM = 10.0, 5.0
DIAMOND_MM = 0.8
REASON_WIDTH = 36


def write_overlay(result: MeasureResult, path: Path, *, mark: str = "auto") -> None:
    """Write the photo with outlines and areas, or with the reason of a refusal.

    ``mark`` is the kind of mark that was asked for: a refused photo is looked at again for what it shows. FileError if
    it cannot be written.
    """
    assert result.photo is not None
    if result.found is None:
        save_overlay(_refused(result, mark), path)
        return
    few = len(result.parts) <= FEW
    labelled = [
        Labelled(
            rings_px=part.rings_px,
            lines=(_words(part) if few else f"{part.part_id}",),
        )
        for part in result.parts
    ]
    labelled += [_left_out(out.ring_px, f"not measured: {out.reason}") for out in result.found.left_out]
    scale = result.found.scale
    labelled += [one for part in result.parts for one in _regions(part, scale)]
    labelled += [one for part in result.parts for one in _stop_offs(part, scale)]
    labelled += _asked(result.flags, scale)
    caption = (
        f"{result.name}: scale from {scale.mark} {scale.sheet}, {1 / scale.mm_per_px:.1f} px/mm, tilt "
        f"{scale.camera.tilt_deg:.0f}°. "
        + (f"{_areas_named(result)}, ± expanded uncertainty (k = 2). " if few else "Numbers as in the table of areas. ")
        + "Figures along the field: mm, x,y as answers about a place take them."
    )
    picture = draw_overlay(result.photo.pixels, labelled, caption, field=field_of(scale))
    save_overlay(picture, path)


def _areas_named(result: MeasureResult) -> str:
    """Return what the figures of the labels are: of a flat part that of a face, of another all that is plated of it."""
    shaped = [part.part.form is not None or bool(part.part.regions) for part in result.parts]
    return "Plated area" if all(shaped) else "Area of one face, or as named" if any(shaped) else "Area of one face"


def field_of(scale: PlaneScale) -> Field:
    """Return the field in the photo, with ticks that count as answers do: x to the right, y upwards. [px, mm]"""
    left, top, right, bottom = scale.field_mm
    rings = mark_rings(scale)
    shown = [*rings, *(scale.camera.project(polygon) for polygon in scale.excluded_mm)]
    across, up = _tens(left, right), _tens(top, bottom)
    sides = (
        _ticks(scale, [(x, top) for x in across], (0.0, -OUT_MM), axis=0),
        _ticks(scale, [(x, bottom) for x in across], (0.0, OUT_MM), axis=0),
        _ticks(scale, [(left, top + bottom - y) for y in up], (-OUT_MM, 0.0), axis=1),
        _ticks(scale, [(right, top + bottom - y) for y in up], (OUT_MM, 0.0), axis=1),
    )
    return Field(edge_px=rings[-1], sides=sides, shown_px=np.concatenate(shown))


def _tens(low: float, high: float) -> list[float]:
    """Return the tens of millimetres from ``low`` to ``high``."""
    return [float(x) for x in np.arange(np.ceil(low / TICKS_MM), np.floor(high / TICKS_MM) + 1) * TICKS_MM]


def _ticks(
    scale: PlaneScale, points: list[tuple[float, float]], out_mm: tuple[float, float], *, axis: int
) -> tuple[Tick, ...]:
    """Return ticks at points of the sheet, y downwards; their figures count y upwards."""
    if not points:
        return ()
    at_mm = np.array(points)
    at, out = scale.camera.project(at_mm), scale.camera.project(at_mm + out_mm)
    figures = scale.turned_up(at_mm)[:, axis]
    return tuple(Tick(at_px=a, out_px=o, text=f"{f + 0.0:.0f}") for a, o, f in zip(at, out, figures, strict=True))


def _left_out(ring_px: npt.NDArray[np.float64], reason: str) -> Labelled:
    return Labelled(rings_px=(ring_px,), lines=tuple(textwrap.wrap(reason, REASON_WIDTH)), kind="left out")


def _regions(part: MeasuredPart, scale: PlaneScale) -> list[Labelled]:
    """Return the regions of a part with forms of their own, numbered as in the table."""
    level = part.part.view.level_mm if part.part.view is not None else 0.0
    found = []
    for number, one in enumerate(part.part.regions, start=1):
        rings = rings_on(part.part.outline.polygon, one.region)
        rings_px = [scale.camera.project(scale.turned_up(ring), level) for ring in rings]
        word = one.form.name if one.form is not None else "flat"
        found.append(Labelled(rings_px=tuple(rings_px), lines=(f"region {number}: {word}",), kind="region"))
    return found


def _stop_offs(part: MeasuredPart, scale: PlaneScale) -> list[Labelled]:
    """Return the stop-offs of a part, and what may be some, numbered."""
    level = part.part.view.level_mm if part.part.view is not None else 0.0

    def drawn(ring: Any, lines: tuple[str, ...], kind: Literal["asked", "region"]) -> Labelled:
        ring_px = scale.camera.project(scale.turned_up(np.array(ring, dtype=float)), level)
        return Labelled(rings_px=(ring_px,), lines=lines, kind=kind)

    return [
        *(drawn(one.ring_mm, ("stopped off",), "region") for one in part.drawn),
        *(drawn(one.ring_mm, (f"place {one.place}: stopped off?", one.at), "asked") for one in part.offered),
    ]


def _asked(flags: Iterable[Flag], scale: PlaneScale) -> list[Labelled]:
    """Return a small diamond for each place that is a hole or metal, with the point as an answer names it."""
    diamond = DIAMOND_MM * np.array([(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)])
    asked = []
    for told in flags:
        place = place_asked(told)
        if place is not None:
            at_mm = scale.turned_up(np.array([[float(axis) for axis in place.split(",")]]))
            words = "one part or two?" if told.code == "JOINT_UNDECIDED" else "hole or metal?"
            lines = (f"place {told.place}: {words}" if told.place else words, place)
            asked.append(Labelled(rings_px=(scale.camera.project(at_mm + diamond),), lines=lines, kind="asked"))
    return asked


def _refused(result: MeasureResult, mark: str) -> Image.Image:
    """Draw a refused photo: what crosses the edge and what lies inside, as far as the photo shows it."""
    assert result.photo is not None
    assert result.error is not None
    caption = f"{result.name}: refused. {result.error.message} {result.error.remedy}"
    if not isinstance(result.error, MeasurementError):
        return draw_overlay(result.photo.pixels, [], caption)
    seen = look(result.photo, mark=mark)
    labelled = [_left_out(ring, "crosses the edge of the field, the frame or a mark") for ring in seen.crossing_px]
    labelled += [_left_out(ring, "not measured") for ring in seen.whole_px]
    field = field_of(seen.scale) if seen.scale is not None else None
    return draw_overlay(result.photo.pixels, labelled, caption, field=field)


def _words(part: MeasuredPart) -> str:
    if part.part.form is not None or part.part.regions:
        words = forms_word(part.part.form, part.part.regions)
        return f"{part.part_id}:  {words}, plated {show(part.surface.plated, 'cm2')}"
    return f"{part.part_id}:  {show(part.surface.face, 'cm2')}"


def overlay_names(photos: Iterable[Path], taken: Iterable[str] = ()) -> list[str]:
    """Return a file name for the overlay of each photo; photos of one stem, from folders or formats, get a number.

    ``taken`` are names that are in use already. Letter case does not tell names apart, since not every disk does.
    """
    used = {name.casefold() for name in taken}
    names = []
    for photo in photos:
        name, number = f"{photo.stem}-overlay.jpg", 1
        while name.casefold() in used:
            number += 1
            name = f"{photo.stem}-{number}-overlay.jpg"
        used.add(name.casefold())
        names.append(name)
    return names
