"""Pictures for a page: what it draws over the photo of a measurement, a preview of the photo, a part with its areas."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from areakit.errors import MeasurementError
from areakit.flags import place_asked
from areakit.geometry.surface import plated_surface
from areakit.imaging.photo import read_photo
from areakit.imaging.sight import Sight, look, mark_rings
from areakit.reports.overlay import jpeg_bytes
from areakit.reports.surface_drawing import surface_drawing
from areakit.service.measure import MeasuredPart, MeasureResult
from areakit.service.part_body import part_from_body

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt

    from areakit.imaging.scale import PlaneScale

_DECIMALS = 2


def overlay_json(result: MeasureResult, *, mark: str = "auto") -> dict[str, Any]:
    """Return what is drawn over the photo, in pixels of the upright photo.

    ``rings_px`` holds one list of rings a part, outer ring first; ``regions_px`` the stop-offs that somebody said, a
    list a part; ``questions`` what somebody may decide; ``seen`` what was seen of a refused photo; ``camera`` lets a
    corrected outline be turned into millimetres again.
    """
    photo = result.photo
    if photo is None:
        none: dict[str, Any] = {name: [] for name in ("mark_px", "rings_px", "regions_px", "questions")}
        return {"image": None, **none, "seen": None, "camera": None}
    seen = None
    if isinstance(result.error, MeasurementError):
        seen = look(photo, mark=mark)
    found = result.found
    return {
        "image": {"width_px": photo.width_px, "height_px": photo.height_px},
        "mark_px": _rings(mark_rings(found.scale) if found else seen.mark_px if seen else ()),
        "rings_px": [_rings(part.rings_px) for part in result.parts],
        "regions_px": [_said_regions(part, found.scale) for part in result.parts] if found else [],
        "questions": [*_questions(result), *_offered(result)],
        "seen": _seen(seen),
        "camera": None
        if found is None
        else {"parameters": found.scale.camera.parameters.tolist(), "k3": found.scale.camera.k3},
    }


def preview_jpeg(content: bytes, *, name: str, longest_px: int, largest_pixels: int) -> bytes:
    """Return a photo upright and small, as JPEG, for browsers that cannot show its format.

    FileError if it cannot be read.
    """
    photo = read_photo(content, name=name, largest_pixels=largest_pixels)
    return jpeg_bytes(photo.pixels, longest_px=longest_px)


def _questions(result: MeasureResult) -> list[dict[str, Any]]:
    """Return where a person can decide what the photo leaves open: is it a hole, or metal?"""
    found = []
    for told in result.flags:
        place = place_asked(told)
        if place is None or result.found is None:
            continue
        scale, point = result.found.scale, np.array([[float(axis) for axis in place.split(",")]])
        (at_px,) = scale.camera.project(scale.turned_up(point))
        about = "joint" if told.code == "JOINT_UNDECIDED" else "region"
        seen = result.found.parts[told.part - 1].stop_offs if told.part else ()
        found.append(
            {
                "part": told.part,
                "about": about,
                "at": place,
                "at_px": [round(float(x), _DECIMALS) for x in at_px],
                "stop_off": any(one.covers((float(point[0, 0]), float(point[0, 1])), 0.0) for one in seen),
            }
        )
    return found


def _said_regions(part: MeasuredPart, scale: PlaneScale) -> list[dict[str, Any]]:
    """Return the stop-offs of a part, each with the answer that named it."""
    return [
        {"kind": one.kind, "sides": one.sides, "at": one.at, "ring": _seen_at(part, scale, one.ring_mm)}
        for one in part.drawn
    ]


def _offered(result: MeasureResult) -> list[dict[str, Any]]:
    """Return the regions of another colour that may be stopped off, with their areas."""
    if result.found is None:
        return []
    scale = result.found.scale
    return [
        {
            "part": part.part_id,
            "about": "stop_off",
            "at": one.at,
            "at_px": _seen_at(part, scale, [one.seen.place_mm])[0],
            "area_mm2": one.seen.area_mm2,
            "ring": _seen_at(part, scale, one.ring_mm),
        }
        for part in result.parts
        for one in part.offered
    ]


def _seen_at(part: MeasuredPart, scale: PlaneScale, points_mm: Any) -> list[list[float]]:
    """Return where the camera sees points of a part's face, of shape (n, 2). [px]"""
    level = part.part.view.level_mm if part.part.view is not None else 0.0
    (ring,) = _rings([scale.camera.project(scale.turned_up(np.array(points_mm, dtype=float)), level)])
    return ring


def _seen(seen: Sight | None) -> dict[str, Any] | None:
    if seen is None:
        return None
    return {"whole_px": _rings(seen.whole_px), "crossing_px": _rings(seen.crossing_px)}


def _rings(rings: Iterable[npt.NDArray[np.float64]]) -> list[list[list[float]]]:
    return [[[round(float(x), _DECIMALS), round(float(y), _DECIMALS)] for x, y in ring] for ring in rings]


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureRequest:
    """One part as the measurement printed it."""

    part: Mapping[str, Any]


def part_picture(request: PictureRequest) -> str:
    """Return the picture as SVG text, turned as the part lies in the photo.

    InputError, RangeError for a part that no measurement printed.
    """
    part = part_from_body(request.part)
    return surface_drawing([(f"Part {request.part.get('id', 1)}", part, plated_surface(part))])
