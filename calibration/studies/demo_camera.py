"""The phone of the drawn photos: where its lens is and how it sees, and what its sensor and its software do."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """A phone camera over the sheet. Pixel centres are whole numbers.

    Lens model x_d = x (1 + k1 r^2 + k2 r^4) + tangential terms p1, p2 (Brown, as in OpenCV's camera model).
    """

    width_px: int
    height_px: int
    distance_mm: float
    tilt_deg: float
    tilt_towards_deg: float
    roll_deg: float
    aim_mm: tuple[float, float]
    f35_mm: float = 26
    stated_f35_mm: int = 26
    """What the photo claims."""
    centre_offset_px: tuple[float, float] = (0.0, 0.0)
    k1: float = 0.0
    k2: float = 0.0
    p1: float = 0.0
    p2: float = 0.0
    psf_px: float = 0.85
    """Standard deviation of the Gaussian point spread, pixel aperture included."""

    @property
    def focal_px(self) -> float:
        return self.f35_mm * math.hypot(self.width_px, self.height_px) / FULL_FRAME_DIAGONAL_MM

    @property
    def centre_px(self) -> tuple[float, float]:
        dx, dy = self.centre_offset_px
        return (self.width_px - 1) / 2.0 + dx, (self.height_px - 1) / 2.0 + dy

    @property
    def rotation(self) -> Floats:
        """Sheet frame (x right, y down, z into the table) to camera frame."""
        return (
            _turn_z(self.roll_deg)
            @ _turn_z(-self.tilt_towards_deg)
            @ _turn_y(self.tilt_deg)
            @ _turn_z(self.tilt_towards_deg)
        )

    @property
    def position_mm(self) -> Floats:
        """Camera centre in the sheet frame."""
        return np.array([*self.aim_mm, 0.0]) - self.distance_mm * self.rotation[2]

    @property
    def height_mm(self) -> float:
        return float(-self.position_mm[2])

    def lens(self, x: Any, y: Any) -> tuple[Any, Any, Any]:
        """Return the radial factor and the two tangential shifts at undistorted x, y, of any kind of array."""
        r2 = x * x + y * y
        radial = 1.0 + self.k1 * r2 + self.k2 * r2 * r2
        tx = 2.0 * self.p1 * x * y + self.p2 * (r2 + 2.0 * x * x)
        ty = self.p1 * (r2 + 2.0 * y * y) + 2.0 * self.p2 * x * y
        return radial, tx, ty

    def undistorted(self, seen_x: Any, seen_y: Any, *, steps: int) -> tuple[Any, Any]:
        """Undo the lens by fixed-point steps."""
        x, y = seen_x, seen_y
        for _ in range(steps):
            radial, tx, ty = self.lens(x, y)
            x, y = (seen_x - tx) / radial, (seen_y - ty) / radial
        return x, y

    def project(self, points_mm: Floats) -> Floats:
        """Return where points (n, 2 or 3) of the sheet frame appear, shape (n, 2). [px]"""
        points = np.asarray(points_mm, dtype=float)
        if points.shape[1] == 2:
            points = np.column_stack([points, np.zeros(len(points))])
        ray = (points - self.position_mm) @ self.rotation.T
        x, y = ray[:, 0] / ray[:, 2], ray[:, 1] / ray[:, 2]
        radial, tx, ty = self.lens(x, y)
        return np.column_stack([x * radial + tx, y * radial + ty]) * self.focal_px + np.array(self.centre_px)

    def on_plane(self, pixels: Floats, height_mm: float) -> Floats:
        """Return the points (n, 2) of the plane that far above the sheet which appear at pixels (n, 2). [mm]"""
        seen = (np.asarray(pixels, dtype=float) - np.array(self.centre_px)) / self.focal_px
        x, y = self.undistorted(seen[:, 0], seen[:, 1], steps=12)
        ray = np.column_stack([x, y, np.ones(len(x))]) @ self.rotation
        reach = (-height_mm - self.position_mm[2]) / ray[:, 2]
        return np.asarray(self.position_mm[:2] + ray[:, :2] * reach[:, None], dtype=float)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """From linear light on the sensor to the bytes of a file."""

    full_well: float = 6000.0
    """Electrons at full scale; 0 is no noise."""
    read_noise: float = 6.0
    s_curve: float = 0.10
    sharpening: float = 0.35
    sharpening_sigma_px: float = 1.1
    vignetting: float = 0.16
    white_balance: float = 0.85
    """Share of the light's tint that the camera takes out."""
    jpeg_quality: int = 90


USUAL_SENSOR = Sensor()
PLAIN_SENSOR = Sensor(full_well=0.0, s_curve=0.0, sharpening=0.0, vignetting=0.0, jpeg_quality=98)
"""No noise, no tone but the sRGB curve, no sharpening, no loss of light in the corners."""


def _turn_z(degrees: float) -> Floats:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])


def _turn_y(degrees: float) -> Floats:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, 0.0, -s], [0.0, 1.0, 0.0], [s, 0.0, c]])
