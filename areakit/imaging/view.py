"""One photo with all that is known of it before its parts are measured."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from areakit.geometry.edge_forms import SHARP, EdgeForm
from areakit.geometry.edge_makes import EdgeMake
from areakit.imaging.answers import Answer
from areakit.imaging.budget import UNKNOWN_HEIGHT_MM
from areakit.imaging.checks.ground import Height, surround_of, with_holes_doubted
from areakit.imaging.closer import look_closer
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import PlaneScale
from areakit.imaging.segment import Region
from areakit.imaging.sheet_colour import SheetDistance
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]

GAP_PX = 6.0
"""How far apart two pieces of one part may be found: either's own edge is three pixels wide."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One photo with its scale and its sheet."""

    photo: Photo
    small: Overview
    sheet: SheetDistance
    scale: PlaneScale
    edge: EdgeMake
    edge_form: EdgeForm = SHARP
    answers: tuple[Answer, ...] = ()
    coarseness: float = 1.0
    enlarged: float = 1.0

    def in_sheet(self, ring: Floats) -> Floats:
        """Return a coarse ring of a region in sheet millimetres, y upwards, shape (n, 2)."""
        flat = self.scale.camera.to_sheet(self.small.to_full(ring + [self.sheet.left, self.sheet.top]))
        return self.scale.turned_up(flat)

    def height_of(self, region: Region, thickness: Measured | None) -> Height:
        """Return how high a part is at most, and how wide its walls are seen, in pixels of the overself."""
        height_mm = UNKNOWN_HEIGHT_MM if thickness is None else thickness.value
        outer, camera = self.small.to_full(region.rings[0] + [self.sheet.left, self.sheet.top]), self.scale.camera
        lifted = (camera.project(camera.to_sheet(outer), height_mm) - outer) / self.small.factor
        return Height(
            part_px=height_mm / (self.scale.mm_per_px * self.small.factor),
            wall_px=float(np.max(np.linalg.norm(lifted, axis=1))),
            lean_px=(float(lifted[:, 0].mean()), float(lifted[:, 1].mean())),
        )

    def closer(self, region: Region, thickness: Measured | None) -> tuple[View, Region]:
        """Look again at a small region, and doubt holes whose ground is not the sheet.

        The view returned is that in which the region was found; its holes are looked at there, and not before.
        """
        near, found = self, region
        if not region.beside:
            small, sheet, found = look_closer(self.photo, self.small, self.sheet, region)
            near = replace(self, small=small, sheet=sheet)
        if len(found.rings) == 1:
            return near, found
        surround = surround_of(self.sheet, region, near.small.factor / self.small.factor)
        # Metal of a clear colour on a pale sheet is told by it, as on a coloured one: so is the ground of its holes.
        sheet = replace(near.sheet, coloured=near.sheet.coloured or found.by_colour)
        return near, with_holes_doubted(sheet, found, near.height_of(found, thickness), surround)

    def with_piece(self, region: Region, other: View, piece: Region) -> Region | None:
        """Return a region beside which another, found in another look, may belong to it; None where they are apart.

        On a coloured sheet only: on a pale one a shadow beside a grey part is a piece of its own.
        """
        corner, its_corner = [self.sheet.left, self.sheet.top], [other.sheet.left, other.sheet.top]
        full = other.small.to_full(piece.rings[0] + its_corner)
        beside = Polygon(self.small.from_full(full) - corner).buffer(0.0)
        gap = float(beside.distance(Polygon(region.rings[0])))
        if gap > GAP_PX or not self.sheet.coloured:
            return None
        grown = max(shapely.get_parts(beside.buffer(gap + 1.0)), key=shapely.area)
        return replace(region, beside=(*region.beside, np.asarray(grown.exterior.coords)[:-1]))
