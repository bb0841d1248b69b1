"""The picture of a measured part: its faces, walls and masked regions with their areas."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from areakit.geometry.surface import plated_surface
from areakit.reports.surface_drawing import surface_drawing
from areakit.service.part_body import part_from_body


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureRequest:
    """One part as the measurement printed it."""

    part: Mapping[str, Any]


def part_picture(request: PictureRequest) -> str:
    """Return the picture as SVG text, turned as the part lies in the photo.

    Raises
    ------
    InputError, RangeError
        For a part that no measurement printed.
    """
    part = part_from_body(request.part)
    return surface_drawing([(f"Part {request.part.get('id', 1)}", part, plated_surface(part))])
