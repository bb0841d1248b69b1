"""Photos drawn by the simulator, for tests that know the truth."""

from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
from shapely.geometry import Point, Polygon, box

from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.photo import DIAGONAL_35MM, Photo
from areakit.imaging.scale import CheckReading
from areakit.synthetic import Camera, Chain, Metal, Print, Scene, ScenePart, render
from areakit.uncertainty import Measured

MIDDLE_MM = (130.0, 90.0)
STEEL = Metal(reflectance=(0.57, 0.56, 0.55), brightness=0.9)
"""Matte and neutral, dark enough not to clip."""
CLEAN = Chain(blur_px=0.8, exposure=0.8)
SMALL = Camera(width_px=2016, height_px=1512, distance_mm=270.0)
LENS: dict[str, Any] = {
    "k1": -0.05,
    "k2": 0.01,
    "p1": 0.0004,
    "p2": -0.0003,
    "centre_offset_px": (6.0, -9.0),
    "f35_mm": 26.2,
}
FOIL = Measured(value=0.0, unit="mm")

WASHER = Point(0, 0).buffer(28.0, quad_segs=256).difference(Point(6, 0).buffer(9.0, quad_segs=256))
BLOCK = box(-35.0, -20.0, 35.0, 20.0)


def scene_of(polygon: Polygon, thickness_mm: float = 0.0, **changes: Any) -> Scene:
    """Lay one part in the middle of the sheet, slightly turned."""
    part = ScenePart(polygon=polygon, thickness_mm=thickness_mm, position_mm=MIDDLE_MM, turn_deg=12.0)
    return replace(Scene(parts=(part,), metal=STEEL, chain=CLEAN, camera=SMALL, print=Print()), **changes)


def photo_of(scene: Scene, pixels: npt.NDArray[np.uint8] | None = None) -> Photo:
    """Return the photo of a scene as if it had been read from a file that states its focal length."""
    pixels = render(scene) if pixels is None else pixels
    stated = scene.camera.stated_f35_mm
    focal_px = stated * float(np.hypot(*pixels.shape[:2])) / DIAGONAL_35MM if stated else None
    return Photo(name="drawn", pixels=pixels, sha256="", focal_px=focal_px, dpi=None, camera="")


def true_reading(scene: Scene) -> CheckReading:
    """Return what a perfect rule reads off the printed check lengths."""
    x, y = scene.sheet.check_lengths_mm
    return CheckReading(read_mm=(x * scene.print.scale_x, y * scene.print.scale_y))


def found_in(scene: Scene, thickness: Measured | None = FOIL) -> FoundParts:
    """Draw and measure a scene."""
    return find_outlines(photo_of(scene), thickness=thickness, reading=true_reading(scene))
