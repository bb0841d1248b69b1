"""A stored lens: what several photos of one sheet said of one camera, as the prior of its next photo.

A lens is kept in the axes of the picture as the camera stored it, and relative to what the file states: focal length
over that of EXIF, centre from the middle of the picture. A photo that EXIF turns gets the lens turned with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from areakit.imaging.camera import Prior
from areakit.imaging.photo import Photo

Floats = npt.NDArray[np.float64]

NAMES = ("focal length", "centre x", "centre y", "k1", "k2", "p1", "p2", "k3")
"""The eight figures of a lens, in order: log of the focal length over that stated, centre [px], distortion."""
_TURNS: dict[int, tuple[tuple[int, int], tuple[int, int]]] = {
    1: ((1, 0), (0, 1)), 2: ((-1, 0), (0, 1)), 3: ((-1, 0), (0, -1)), 4: ((1, 0), (0, -1)),
    5: ((0, 1), (1, 0)), 6: ((0, -1), (1, 0)), 7: ((0, -1), (-1, 0)), 8: ((0, 1), (-1, 0)),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraKey:
    """What tells one camera from another: maker and model, size of the stored picture, stated focal length.

    The focal length in 35 mm terms tells the lenses of one phone apart. [mm]
    """

    camera: str
    width_px: int
    height_px: int
    focal_35mm: float

    def __str__(self) -> str:
        return f"{self.camera}, {self.width_px} x {self.height_px} px, {self.focal_35mm:g} mm"


def camera_key(photo: Photo) -> CameraKey | None:
    """Return what tells the camera of a photo, or None where the file does not say."""
    if not photo.camera or photo.focal_35mm is None:
        return None
    width, height = photo.width_px, photo.height_px
    if photo.orientation >= 5:
        width, height = height, width
    return CameraKey(camera=photo.camera, width_px=width, height_px=height, focal_35mm=photo.focal_35mm)


def turn_of(photo: Photo) -> Floats:
    """Return the matrix, shape (2, 2), from axes of the stored picture to those of the upright one."""
    return np.array(_TURNS[photo.orientation], dtype=float)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lens:
    """One stored lens.

    Parameters
    ----------
    key : CameraKey
    mean : tuple of float, 8 of them
        In the order of ``NAMES``.
    covariance : tuple of tuple of float, 8 rows of 8
        What is not known of the next photo's lens: that of the fit, and the spread from shot to shot.
    photos : int
        How many photos it rests on.
    date : str
        Day of the check.
    """

    key: CameraKey
    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    photos: int
    date: str = ""

    def prior(self, photo: Photo) -> Prior:
        """Return what is believed of the camera of a photo that has this lens."""
        assert photo.focal_px is not None
        turn = np.eye(8)
        rotation = turn_of(photo)
        turn[1:3, 1:3] = rotation
        # The tangential terms shift a point x by 2 (p.x) x + p |x|^2 with p = (p2, p1): a vector that turns with x.
        turn[np.ix_([6, 5], [6, 5])] = rotation
        mean, covariance = turn @ np.array(self.mean), turn @ np.array(self.covariance) @ turn.T
        mean[:3] += [np.log(photo.focal_px), (photo.width_px - 1) / 2, (photo.height_px - 1) / 2]
        return Prior(mean=mean[:7], sigma=np.sqrt(np.diag(covariance))[:7], k3=float(mean[7]), covariance=covariance)


def lens_for(photo: Photo, lenses: Iterable[Lens]) -> Lens | None:
    """Return the lens of the photo's camera, or None."""
    key = camera_key(photo)
    return next((lens for lens in lenses if lens.key == key), None) if key else None
