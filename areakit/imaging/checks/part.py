"""Checks of a part and its outline: each has its number here, its words in flags or errors.

The numbers were set on simulated photos (tuning scenes of the accuracy study) unless a line says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from areakit.errors import MeasurementError, OutlineNotFound
from areakit.flags import DARK_CARD, Flag, flag
from areakit.imaging.budget import HIDDEN_MM, UNKNOWN_HEIGHT_MM, Sizes
from areakit.imaging.camera import Camera
from areakit.imaging.checks.slits import NO_SLITS, Slits
from areakit.imaging.closed_ring import longest_run
from areakit.imaging.contrast import GREY_HUE
from areakit.imaging.edge_ring import EdgeRing
from areakit.imaging.scale import PlaneScale
from areakit.imaging.segment import Region
from areakit.imaging.sheet_colour import BURNT_LIMIT, SheetDistance
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]

BLUR_REFUSED_PX = 3.0
BLUR_LIMIT_PX = 2.0
UNCLEAR_REFUSED = 0.45
UNCLEAR_LIMIT = 0.03
GREY_UNCLEAR_REFUSED = 0.10
"""The same for a part as grey as its pale sheet: where its edge fades, the outline runs on through the metal."""
FADES, FADES_PX, DARK_FROM = 1.4, 70.0, 0.7
"""Softness over the usual one from which an outline fades, how long a stretch of it may, and from which share of dark
edge that counts (drawn parts that a card covers wholly or in part: to 53 px, and from 86 px)."""
TOLD_BY_LIGHT = 0.9
"""Share of its edge that is much darker, or much brighter, than its ground from which light tells them apart."""
RIVAL_REFUSED = 0.25
RIVAL_LIMIT = 0.01
"""Share of its area by which two independent thresholds may differ: refused, and told of."""
GLARE_REFUSED = 0.065
"""Share of the outline that parts the sheet from a lamp's reflection on it (glare of the study of traps: 0.075 and more
where it was taken for metal; good scenes 0.054 at most)."""
CLIPPED_LIMIT = 0.2
SHADE_LIMIT = 0.4
UNEVEN_LIMIT = 1.0
COARSE_REFUSED = 0.035
COARSE_LIMIT = 0.014
NARROW_PX = 8.0
"""Width of a hole below which it is not measured well."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One part as it was seen: its region in the overview, its edges and sizes, and where.

    ``print_px`` is how soft the sharpest edges of the photo are; 0 where nobody asked.
    """

    rings: tuple[EdgeRing, ...]
    sizes: Sizes
    scale: PlaneScale
    sheet: SheetDistance
    region: Region
    height_mm: float
    slits: Slits = NO_SLITS
    print_px: float = 0.0

    @property
    def grey(self) -> bool:
        """Whether neither the sheet's colour nor the metal's tells them apart."""
        return grey_on_pale(self.rings[0], self.sheet)

    @property
    def unclear(self) -> float:
        """Share of all edges that is unclear."""
        lengths = [len(ring.seen) for ring in self.rings]
        return float(np.average([ring.unclear_share for ring in self.rings], weights=lengths))

    @property
    def edge_share(self) -> float:
        """Standard uncertainty of the area for the place of the edge alone, as a share."""
        return self.sizes.area.budget["edge position"] / self.sizes.area.value

    @property
    def hidden_mm(self) -> float:
        """How wide a hole of this depth may be and still show no sheet from where the camera stood. [mm]"""
        return hidden_mm(self.scale.camera, self.rings[0], self.height_mm)


def hidden_mm(camera: Camera, outer: EdgeRing, height_mm: float) -> float:
    """Return how wide a hole in a part of this height may be and still show no sheet. [mm]"""
    sight = camera.rays(outer.points_px.mean(axis=0))
    return float(np.linalg.norm(camera.meet(sight) - camera.meet(sight, height_mm)))


def grey_on_pale(outer: EdgeRing, sheet: SheetDistance) -> bool:
    """Tell whether neither colour nor light tells metal and sheet apart."""
    told = max(outer.dark_share, outer.bright_share) >= TOLD_BY_LIGHT
    return not sheet.coloured and outer.face_hue < GREY_HUE and not told


def told_by_darkness(outer: EdgeRing, sheet: SheetDistance) -> bool:
    """Tell whether the metal is known from its ground by being dark alone."""
    return not sheet.coloured and outer.face_hue < GREY_HUE and outer.dark_share >= DARK_FROM


def fades_px(outer: EdgeRing, print_px: float) -> float:
    """Return how long the longest stretch of an outline is that is soft beside the print and the rest of it. [px]

    A mirrored card is twice as far away as the metal, and its border out of focus.
    """
    usual = min(outer.sigma_px, print_px or outer.sigma_px)
    spacing = float(np.hypot(*(outer.points_px - np.roll(outer.points_px, 1, axis=0)).T).mean())
    return longest_run(outer.softness_px > FADES * usual) * spacing


def check_part(seen: Seen) -> None:
    """Refuse a part whose outline cannot be trusted.

    Raises
    ------
    MeasurementError
        With its number and what to do.
    """
    outer = seen.rings[0]
    if outer.sigma_px > BLUR_REFUSED_PX:
        raise MeasurementError(
            f"The edges of the part are blurred over {outer.sigma_px:.1f} px; up to {BLUR_REFUSED_PX:.1f} px can be "
            "measured.",
            remedy="Tap the part to focus, hold the camera still, and take the photo again.",
            code="BLURRED",
        )
    if outer.unclear_share > (GREY_UNCLEAR_REFUSED if seen.grey else UNCLEAR_REFUSED):
        raise OutlineNotFound(
            f"{100 * outer.unclear_share:.0f} % of the part's edge cannot be told from the sheet.",
            remedy=_other_ground(seen.sheet),
            code="EDGE_NOT_SEEN",
        )
    if outer.glare_share > GLARE_REFUSED:
        raise OutlineNotFound(
            f"A lamp's reflection on the sheet touches the part: {100 * outer.glare_share:.0f} % of the outline runs "
            "along it instead of the metal.",
            remedy="Move the lamp or the sheet until no reflection is near the part, and take the photo again.",
            code="GLARE_AT_EDGE",
        )
    fades = fades_px(outer, seen.print_px)
    if told_by_darkness(outer, seen.sheet) and fades > FADES_PX:
        raise OutlineNotFound(
            f"The dark metal fades along {fades:.0f} px of its outline: it may go on there, as bright as the ground.",
            remedy=f"Use a field of another colour; or {DARK_CARD} all over.",
            code="PART_FADES",
        )
    share = seen.edge_share
    if share > COARSE_REFUSED:
        raise MeasurementError(
            f"The part is only {outer.width_px:.0f} px wide: its edge alone leaves {200 * share:.0f} % open.",
            remedy="Move closer, or use a smaller scale sheet.",
            code="TOO_SMALL_IN_PHOTO",
        )
    if seen.region.rival_share > RIVAL_REFUSED:
        raise OutlineNotFound(
            f"Two ways of telling the part from the sheet differ by {100 * seen.region.rival_share:.0f} % of its area.",
            remedy=_other_ground(seen.sheet),
            code="OUTLINES_DISAGREE",
        )


def _other_ground(sheet: SheetDistance) -> str:
    """Return what to do where a part cannot be told from its sheet."""
    card = "" if sheet.coloured else f" If the metal is shiny, {DARK_CARD}."
    return f"Use a field of another colour, or softer light from two sides.{card}"


def part_flags(seen: Seen) -> tuple[Flag, ...]:
    """Return what is said of one part."""
    outer, hidden = seen.rings[0], seen.hidden_mm
    narrow = [ring for ring in seen.rings[1:] if ring.width_px < NARROW_PX]
    rules: tuple[tuple[bool, str, dict[str, Any]], ...] = (
        (seen.unclear > UNCLEAR_LIMIT, "WEAK_EDGE", {"percent": 100 * seen.unclear}),
        (seen.region.rival_share > RIVAL_LIMIT, "OUTLINES_DIFFER", {"percent": 100 * seen.region.rival_share}),
        (seen.grey, "GREY_ON_PALE", {}),
        (outer.sigma_px > BLUR_LIMIT_PX, "SLIGHT_BLUR", {"sigma_px": outer.sigma_px}),
        (outer.clipped_share > CLIPPED_LIMIT, "OVER_EXPOSED_PART", {"percent": 100 * outer.clipped_share}),
        (outer.shade_outside > SHADE_LIMIT, "SHADOW_AT_EDGE", {"percent": 100 * outer.shade_outside}),
        (
            2 * seen.edge_share > COARSE_LIMIT,
            "LOW_RESOLUTION",
            {"width_px": outer.width_px, "percent": 200 * seen.edge_share},
        ),
        (seen.region.touching > 1, "PARTS_TOUCH", {"count": seen.region.touching}),
        (hidden > HIDDEN_MM, "HOLES_HIDDEN", {"width_mm": hidden}),
        (
            seen.slits.told(seen.sizes.area.value),
            "NARROW_SLITS",
            {"area_mm2": seen.slits.area_mm2, "x_mm": seen.slits.place_mm[0], "y_mm": seen.slits.place_mm[1]},
        ),
        (bool(narrow), "SMALL_HOLES", {"count": len(narrow), "limit_mm": NARROW_PX * seen.scale.mm_per_px}),
    )
    return tuple(flag(code, part=None, **figures) for applies, code, figures in rules if applies)


@dataclass(frozen=True, slots=True, kw_only=True)
class Undecided:
    """A region that may be metal or not: its area, a point inside, and its outline in the photo. [mm2, mm, px]"""

    area_mm2: float
    point_mm: tuple[float, float]
    ring_px: Floats


def questions(
    undecided: list[Undecided], sizes: Sizes, *, code: str = "LOOKS_UNDECIDED"
) -> list[tuple[Flag, Undecided]]:
    """Ask about the largest of some undecided regions, at most three, each only if it matters."""
    least = max(0.001 * sizes.area.value, sizes.area.expanded_uncertainty / 6)
    largest = sorted(undecided, key=lambda one: -one.area_mm2)[:3]
    return [
        (
            flag(
                code,
                area_mm2=one.area_mm2,
                x_mm=one.point_mm[0],
                y_mm=one.point_mm[1],
                percent=100 * one.area_mm2 / sizes.area.value,
            ),
            one,
        )
        for one in largest
        if one.area_mm2 > least
    ]


def photo_flags(scale: PlaneScale, sheet: SheetDistance, thickness: Measured | None, left_out: int) -> tuple[Flag, ...]:
    """Return what is said of the photo as a whole."""
    flags = list(scale.flags)
    if thickness is None:
        percent = 200.0 / scale.camera.height_mm
        flags.append(flag("THICKNESS_NOT_GIVEN", percent_per_mm=percent, covered_mm=2 * UNKNOWN_HEIGHT_MM))
    if left_out:
        flags.append(flag("PART_LEFT_OUT", count=left_out))
    if sheet.burnt > BURNT_LIMIT:
        flags.append(flag("OVER_EXPOSED_SHEET", percent=100 * sheet.burnt))
    if sheet.unevenness > UNEVEN_LIMIT:
        flags.append(flag("UNEVEN_LIGHT", percent=100 * sheet.unevenness))
    return tuple(flags)
