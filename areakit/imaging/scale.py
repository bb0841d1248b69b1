"""The scale of one photo: a camera above a flat sheet, and how well the sheet itself is known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from areakit.errors import RangeError
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


def common_share(share: float) -> tuple[float, float]:
    """Return the shares along x and y of one relative uncertainty that holds for both at once.

    Shares along x and y count as independent; with root two of it along each, the area still gets twice the share.
    """
    return math.sqrt(2.0) * share, math.sqrt(2.0) * share


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckReading:
    """The two check lengths of a sheet copyed sheet as read with a ruler.

    Parameters
    ----------
    read_mm : tuple of float
        Along x, along y. [mm]
    uncertainty_mm : float
        Standard uncertainty of one reading: a rule's marks and two eyes (practice). [mm]
    more_mm : tuple
        Readings of sheets of other sizes, where it is not known which of them lies in the photo. [mm]
    """

    read_mm: tuple[float, float]
    uncertainty_mm: float = 0.1
    more_mm: tuple[tuple[float, float], ...] = ()

    def sheet_scale(self, nominal_mm: tuple[float, float]) -> SheetScale:
        """Return how true a sheet is whose check lengths should be ``nominal_mm``.

        Raises
        ------
        RangeError
            If a reading is more than 3 % off.
        """
        every = [(read_mm, _ratios(read_mm, nominal_mm)) for read_mm in (self.read_mm, *self.more_mm)]
        read_mm, ratios = min(every, key=lambda one: _worst(one[1]))
        if _worst(ratios) > LARGEST_PRINT_ERROR:
            raise RangeError(
                f"Check lengths of {read_mm[0]:g} and {read_mm[1]:g} mm were read where the sheet should "
                f"have {nominal_mm[0]:g} and {nominal_mm[1]:g} mm: more than {100 * LARGEST_PRINT_ERROR:.0f} % off.",
                remedy="Print the sheet again at actual size, or check the readings and their order: along x, along y.",
            )
        shares = tuple(self.uncertainty_mm / nominal for nominal in nominal_mm)
        return SheetScale(x=ratios[0], y=ratios[1], shares={CHECKED: (shares[0], shares[1])})


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmedPrint:
    """The size of a printed sheet that nobody measured, as something else in the photo tells it.

    Parameters
    ----------
    known : SheetScale
    by : str
        What told it, in words.
    """

    known: SheetScale
    by: str

    def sheet_scale(self, nominal_mm: tuple[float, float]) -> SheetScale:
        """Return how true the sheet is."""
        return self.known


def _ratios(read_mm: tuple[float, float], nominal_mm: tuple[float, float]) -> list[float]:
    return [read / nominal for read, nominal in zip(read_mm, nominal_mm, strict=True)]


def _worst(ratios: list[float]) -> float:
    return max(abs(ratio - 1.0) for ratio in ratios)


CHECKED = "check length"
BY_LENGTHS = "check lengths"
LARGEST_PRINT_ERROR = 0.03
UNVERIFIED = SheetScale(shares={"unverified sheet copy": (0.01, 0.01)})
"""A printed sheet that nobody measured: office printers are true to about 1 % (practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneScale:
    """What a reference mark says of one photo.

    Parameters
    ----------
    camera : Camera
        In true sheet millimetres.
    mark : str
        Kind of mark: ``frame`` (printed scale sheet), ``paper`` (plain sheet by its edges), or one of the further
        references: ``scan``, ``card``, ``coin``, ``taps``, ``rule``, ``chequer``, ``markers``.
    sheet : str
        Which one, such as ``A4-r1``.
    field_mm : tuple of float
        Left, top, right, bottom of the clear field in which parts may lie. [mm]
    guard_mm : float
        Width of the band along the field's edge that must stay empty. [mm]
    sheet_scale : SheetScale
    flatness_mm : float
        Standard uncertainty of the sheet's level under the part. [mm]
    corners_used, corners_total : int
        Reference points that carried the fit.
    excluded_mm : tuple of ndarray, shape (n, 2) each
        Polygons inside the field that the mark itself takes, margin included. [mm]
    focal_open : float
        Log of how far off a stated focal length may be without the mark contradicting it; 0 where none was taken.
    confirmed : str
        What told how large the sheet was printed: the check lengths, or what was seen; empty where nothing did.
    lens : str
        Day of the stored lens that the camera rests on; empty where the photo alone told the lens.
    """

    camera: Camera
    mark: str
    sheet: str
    field_mm: tuple[float, float, float, float]
    guard_mm: float
    sheet_scale: SheetScale
    flatness_mm: float
    corners_used: int
    corners_total: int
    focal_known: bool
    flags: tuple[Flag, ...] = ()
    excluded_mm: tuple[Floats, ...] = ()
    confirmed: str = ""
    lens: str = ""
    focal_open: float = 0.0

    def turned_up(self, points_mm: Floats) -> Floats:
        """Return sheet points, shape (n, 2), with y upwards instead of downwards, or back.

        Inside imaging y runs down, as in pixels; outlines, like drawings, have it run up. The field keeps its place.
        """
        return np.asarray([0.0, self.field_mm[1] + self.field_mm[3]] + points_mm * [1.0, -1.0], dtype=float)

    @property
    def centre_mm(self) -> Floats:
        """Middle of the field, shape (2,)."""
        left, top, right, bottom = self.field_mm
        return np.array([(left + right) / 2, (top + bottom) / 2])

    @property
    def mm_per_px(self) -> float:
        """Pixel size on the sheet in the middle of the field."""
        return self.camera.mm_per_px(self.centre_mm)


def with_flags(scale: PlaneScale, *cautions: Flag) -> PlaneScale:
    """Return the same scale with further cautions."""
    return replace(scale, flags=(*scale.flags, *cautions))
