"""The scale of one photo: a camera above a flat sheet, and how well the sheet itself is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from areakit.flags import Flag
from areakit.imaging.camera import Camera

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetScale:
    """How true the sheet's millimetres are.

    Parameters
    ----------
    x, y : float
        True length over nominal length along the sheet's axes.
    shares : mapping of str to tuple of float
        Input name to relative standard uncertainty along x and y, independent of each other.
    """

    x: float = 1.0
    y: float = 1.0
    shares: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneScale:
    """What a reference mark says of one photo.

    Parameters
    ----------
    camera : Camera
        In true sheet millimetres.
    mark : str
        Kind of mark: ``ring`` (printed scale sheet) or ``paper`` (plain sheet by its edges).
    sheet : str
        Which one, such as ``A4-r1``.
    window_mm : tuple of float
        Left, top, right, bottom of the clear field in which parts may lie. [mm]
    guard_mm : float
        Width of the band along the window's edge that must stay empty. [mm]
    sheet_scale : SheetScale
    flatness_mm : float
        Standard uncertainty of the sheet's level under the part. [mm]
    corners_used, corners_total : int
        Reference points that carried the fit.
    """

    camera: Camera
    mark: str
    sheet: str
    window_mm: tuple[float, float, float, float]
    guard_mm: float
    sheet_scale: SheetScale
    flatness_mm: float
    corners_used: int
    corners_total: int
    focal_known: bool
    flags: tuple[Flag, ...] = ()

    @property
    def centre_mm(self) -> Floats:
        """Middle of the window, shape (2,)."""
        left, top, right, bottom = self.window_mm
        return np.array([(left + right) / 2, (top + bottom) / 2])

    @property
    def mm_per_px(self) -> float:
        """Pixel size on the sheet in the middle of the window."""
        return self.camera.mm_per_px(self.centre_mm)


def with_flags(scale: PlaneScale, *cautions: Flag) -> PlaneScale:
    """Return the same scale with further cautions."""
    return replace(scale, flags=(*scale.flags, *cautions))
