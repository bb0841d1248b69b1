"""Pictures of a measured part: its surfaces with their areas, and the lanes of a brush over its face."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from areakit.errors import InputError, RangeError
from areakit.geometry.geojson import polygon_from_geojson
from areakit.geometry.surface import plated_surface
from areakit.plating.strokes import plan_strokes
from areakit.reports.maps import lanes_svg
from areakit.reports.surface_drawing import surface_drawing
from areakit.service.entries import read_contact_size
from areakit.service.part_body import part_from_body
from areakit.units import parse

KINDS = ("areas", "lanes")
_OVERLAP, _OVERRUN_MM, _SPEED = "30%", 3.0, "12 m/min"
"""Where nothing is said: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureRequest:
    """One part as the measurement printed it, and what to draw: its ``areas``, or brush ``lanes``.

    ``contact`` is the patch of the brush, across and along the lane, as ``20 x 10 mm``; ``overlap`` the share of a lane
    that the next one covers again; ``hand_speed`` that of the tool.
    """

    part: Mapping[str, Any]
    kind: str = "areas"
    contact: str | None = None
    overlap: str = _OVERLAP
    hand_speed: str = _SPEED


def part_picture(request: PictureRequest) -> str:
    """Return the picture as SVG text, turned as the part lies in the photo.

    Raises
    ------
    InputError, RangeError
        For a part that no measurement printed, or a contact that is no patch.
    """
    if request.kind not in KINDS:
        raise InputError(f"{request.kind[:20]!r} is no picture.", remedy=f"Ask for one of {', '.join(KINDS)}.")
    part = part_from_body(request.part)
    if request.kind == "areas":
        return surface_drawing([(f"Part {request.part.get('id', 1)}", part, plated_surface(part))])
    across, along = read_contact_size(request.contact or "")
    overlap = parse(request.overlap, "ratio", bare_unit="1")
    if not 0.0 <= overlap <= 0.9:
        raise RangeError(f"An overlap of {100 * overlap:.0f} % is outside 0 to 90 %.", remedy="Give it as 30 %.")
    lanes = plan_strokes(
        polygon_from_geojson(request.part["outline"], downwards=True),
        contact_width_mm=across,
        contact_length_mm=along,
        overlap=overlap,
        hand_speed_mm_s=1e3 * parse(request.hand_speed, "speed"),
        overrun_mm=_OVERRUN_MM,
    )
    return lanes_svg(lanes)
