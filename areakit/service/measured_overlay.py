"""The overlay of a measured or refused photo, and the names under which overlays of many photos are kept."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from areakit.reports.overlay import Labelled, draw_overlay, save_overlay
from areakit.units import show

if TYPE_CHECKING:
    from areakit.service.measure import MeasureResult


def write_overlay(result: MeasureResult, path: Path) -> None:
    """Write the photo with outlines and areas, or with the reason of a refusal.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    assert result.photo is not None
    few = len(result.parts) <= 12
    labelled = [
        Labelled(
            rings_px=part.rings_px,
            lines=(f"{part.part_id}:  {show(part.surface.face, 'cm2')}",) if few else (f"{part.part_id}",),
        )
        for part in result.parts
    ]
    if result.error is not None:
        caption = f"{result.name}: refused. {result.error}"
    else:
        assert result.found is not None
        scale = result.found.scale
        caption = (
            f"{result.name}: scale from {scale.mark} {scale.sheet}, {1 / scale.mm_per_px:.1f} px/mm, tilt "
            f"{scale.camera.tilt_deg:.0f}°. "
            + ("Area of one face, ± expanded uncertainty (k = 2)." if few else "Numbers as in the table of areas.")
        )
    save_overlay(draw_overlay(result.photo.pixels, labelled, caption), path)


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
