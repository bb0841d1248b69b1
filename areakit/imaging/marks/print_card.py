"""How true a print is that nobody measured, by an identification card (ISO/IEC 7810, ID-1) that lies in its field."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound
from areakit.imaging.marks.field import rectangle
from areakit.imaging.marks.print_weighing import ROUND_MM, Told, check_clear, weighed_print
from areakit.imaging.marks.reference_objects import ReferenceObject, reference_objects
from areakit.imaging.marks.sides import all_sides, find_quads
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import ConfirmedPrint, PlaneScale

Floats = npt.NDArray[np.float64]

SMALLEST, LARGEST = 0.004, 0.5
"""Share of the picture that the card may take."""
LIMIT_MM = 0.2
"""Limit of either side of a card in use: ISO/IEC 7810 allows 0.13 and 0.06 mm when new (from memory), wear the rest."""
READ_MM = 0.12
"""Standard uncertainty of a distance between two sides as read in the photo: contact shadow, rounded rim (own study on
drawn photos). [mm]"""
LEVEL_MM = 0.3
"""Standard uncertainty of how flat the card lies: embossing and bend (practice). [mm]"""
ALIKE = 0.05
"""Share by which a four-sided thing may differ from a card, and still be one on a print of the wrong size."""
MARGIN_MM = 3.0
BY_CARD = "card in its field"
SHARE = "sheet by a card"


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenCard:
    """A card in the field: width and height as the frame reads them, where it lies and how it is turned. [mm, rad]"""

    read_mm: Floats
    middle_mm: Floats
    turn_rad: float

    def misfit(self, size_mm: Floats) -> float:
        """Return by how much either side differs from a card's, as share of it."""
        return float(np.abs(self.read_mm / size_mm - 1.0).max())


def print_by_card(photo: Photo, small: Overview, scale: PlaneScale) -> tuple[ConfirmedPrint, tuple[Floats, ...]]:
    """Return the print's true size by the card in its field, and what the card takes of it, shape (4, 2). [mm]

    Each side of the card says how long the print is along it; what is believed of any print and both sides are put
    together by least squares (JCGM 100:2008, 5.1.2).

    Raises
    ------
    MarkNotFound
        If no card is seen in the field.
    ScaleUnreliable
        If it touches something, or contradicts the print.
    """
    card = reference_objects()["id-1"]
    size = card.size_mm
    seen = _find(photo, small, scale, card, size)
    if seen is None:
        raise MarkNotFound(
            f"No card of {size[0]:g} x {size[1]:g} mm was found in the field of the sheet.",
            remedy="Lay a card of that size flat in the field beside the part, all of it in view, or measure the check "
            "lengths with a ruler.",
            code="NO_CARD",
        )
    _check_clear(seen, scale, small)
    return _weighed(seen, scale, size), (_placed(seen, size, MARGIN_MM),)


def _find(photo: Photo, small: Overview, scale: PlaneScale, card: ReferenceObject, size: Floats) -> SeenCard | None:
    """Return the four-sided thing in the field that is most like a card."""
    left, top, right, bottom = scale.field_mm
    found = []
    for quad in find_quads(small, smallest=SMALLEST, largest=LARGEST)[:40]:
        quad_px = small.to_full(quad)
        corners = scale.camera.to_sheet(quad_px, card.thickness_mm)
        inside = (corners >= [left, top]).all() and (corners <= [right, bottom]).all()
        lengths = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        if not inside or np.abs(np.sort(lengths) / size[[1, 1, 0, 0]] - 1.0).max() > 3 * ALIKE:
            continue
        read = all_sides(photo, quad_px)
        if read is not None:
            found.append(_seen(scale, read, card.thickness_mm))
    alike = [one for one in found if one.misfit(size) < ALIKE]
    return min(alike, key=lambda one: one.misfit(size)) if alike else None


def _seen(scale: PlaneScale, sides: tuple[Floats, ...], thickness_mm: float) -> SeenCard:
    """Return the card of four sides, shape (n, 2) each in pixels: its longer way first."""
    flat = [_on_edge(scale, side, thickness_mm) for side in sides]
    middles = np.array([side.mean(axis=0) for side in flat])
    middle = middles.mean(axis=0)
    ways = [_way(flat[0], flat[2]), _way(flat[1], flat[3])]  # along sides 0 and 2, along sides 1 and 3
    across = [np.array([-way[1], way[0]]) for way in ways]
    apart = [abs(float((middles[i + 2] - middles[i]) @ across[i])) for i in (0, 1)]
    long = 0 if apart[0] >= apart[1] else 1  # this pair lies the longer way apart
    turn = math.atan2(across[long][1], across[long][0])
    return SeenCard(read_mm=np.array([apart[long], apart[1 - long]]), middle_mm=middle, turn_rad=turn)


def _on_edge(scale: PlaneScale, side_px: Floats, thickness_mm: float) -> Floats:
    """Return points of one side on the table: of the card's top edge, or of its foot where its wall is seen."""
    camera = scale.camera
    middle = camera.to_sheet(side_px, thickness_mm).mean(axis=0)
    way = _way(camera.to_sheet(side_px, thickness_mm))
    outward = np.array([way[1], -way[0]])  # sides run clockwise in a picture whose y runs down: outside to the left
    seen = float((camera.centre_mm[:2] - middle) @ outward) > 0.0
    return camera.to_sheet(side_px, 0.0 if seen else thickness_mm)


def _way(*sides: Floats) -> Floats:
    """Return the common direction of sides, from the first point of the first to its last, shape (2,)."""
    apart = np.vstack([side - side.mean(axis=0) for side in sides])
    way = np.linalg.svd(apart, full_matrices=False)[2][0]
    return np.asarray(way if (sides[0][-1] - sides[0][0]) @ way > 0 else -way)


def _weighed(seen: SeenCard, scale: PlaneScale, size: Floats) -> ConfirmedPrint:
    cos2, sin2 = math.cos(seen.turn_rad) ** 2, math.sin(seen.turn_rad) ** 2
    spread = np.hypot(LIMIT_MM / math.sqrt(3.0) / size, READ_MM / size)
    spread = np.hypot(spread, LEVEL_MM / scale.camera.height_mm)
    told = Told(
        said=size / seen.read_mm - 1.0,
        along=np.array([[cos2, sin2], [sin2, cos2]]),
        covariance=np.diag(spread**2),
        thing="card",
        check="it is a card of 85.60 x 53.98 mm",
    )
    return ConfirmedPrint(known=weighed_print(scale, told, SHARE), by=BY_CARD)


def _check_clear(seen: SeenCard, scale: PlaneScale, small: Overview) -> None:
    """Refuse a card whose sides may be those of something else that lies against it."""
    steps = np.linspace(0.0, 1.0, 24, endpoint=False)[:, None]
    rings = [_placed(seen, seen.read_mm, away) for away in ROUND_MM]
    points = [a + steps * (b - a) for ring in rings for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True)]
    check_clear(scale, small, np.vstack(points), thing="card")


def _placed(seen: SeenCard, size: Floats, margin_mm: float) -> Floats:
    """Return the corners of a rectangle of some size where the card lies, shape (4, 2). [mm]"""
    corners = rectangle(-size / 2, size / 2, margin_mm)
    cos, sin = math.cos(seen.turn_rad), math.sin(seen.turn_rad)
    return np.asarray(corners @ np.array([[cos, sin], [-sin, cos]]) + seen.middle_mm)
