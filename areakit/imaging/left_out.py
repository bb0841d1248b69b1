"""What stood out in the field and was not measured: where it lies, and why."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.errors import OutlineNotFound
from areakit.imaging.photo import Overview
from areakit.imaging.segment import Region
from areakit.imaging.sheet_colour import SheetDistance
from areakit.plural import counted

Floats = npt.NDArray[np.float64]

LEFT_OUT_SHARE = 0.1
"""A region at the field's edge counts as a part if it has this share of the area of the middling part."""
SMALLEST_CROSSING_PX = 60.0
CROSSES = "It crosses the edge of the field, the frame or a mark."


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """One region without an area: its outer ring, shape (n, 2) in pixels of the photo, and the reason in words."""

    ring_px: Floats
    reason: str


def inside_and_crossing(regions: list[Region]) -> tuple[list[Region], list[Region]]:
    """Separate parts that lie wholly in the field from those that cross its edge and are large enough for parts."""
    inside = [region for region in regions if not region.crosses]
    middling = float(np.median([region.area_px for region in inside])) if inside else 0.0
    least = max(LEFT_OUT_SHARE * middling, SMALLEST_CROSSING_PX)
    return inside, [region for region in regions if region.crosses and region.area_px > least]


def left_out(small: Overview, sheet: SheetDistance, region: Region, reason: str) -> LeftOut:
    """Return a region of an overview that was left out."""
    return LeftOut(ring_px=small.to_full(region.rings[0] + [sheet.left, sheet.top]), reason=reason)


def nothing_found(crossing: int) -> OutlineNotFound:
    """Return the refusal of a photo without one part that lies wholly in the field."""
    if crossing:
        return OutlineNotFound(
            f"No part lies wholly inside: {counted(crossing, 'part')} cross{'es' if crossing == 1 else ''} "
            "the edge of the field, the marker frame or a mark.",
            remedy="Move every part fully inside the field, clear of the marker frame, and take the photo again.",
            code="PART_CROSSES_EDGE",
        )
    return OutlineNotFound(
        "No part was found in the field of the sheet.",
        remedy="Lay the part in the field; if it has the sheet's colour, use a field of another colour.",
        code="NO_PART",
    )
