"""One photo with all that is known of it before its parts are measured."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from areakit.geometry.edge_forms import SHARP, EdgeForm
from areakit.geometry.edge_makes import EdgeMake
from areakit.imaging.answers import Answer
from areakit.imaging.budget import UNKNOWN_HEIGHT_MM
from areakit.imaging.checks.ground import Height
from areakit.imaging.closer import look_closer
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import PlaneScale
from areakit.imaging.segment import Region
from areakit.imaging.sheet_colour import SheetDistance
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]


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

    def closer(self, region: Region) -> tuple[View, Region]:
        """Look again at a small region; the view returned is that in which it was found."""
        if region.beside:
            return self, region
        small, sheet, found = look_closer(self.photo, self.small, self.sheet, region)
        return replace(self, small=small, sheet=sheet), found
