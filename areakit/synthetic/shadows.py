"""Shadows and stray light that a part throws on the sheet around it."""

from __future__ import annotations

import math

import cv2
import numpy as np
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from areakit.synthetic.coverage import Floats, Plane, around, coverage
from areakit.synthetic.prism import cast_shadow
from areakit.synthetic.projection import View
from areakit.synthetic.scene import Scene
from areakit.synthetic.sheet_print import sheet_edges

FINEST_SIGMA_PX = 4.0
"""A blur wider than this is done on a reduced picture."""


def darken_beside(picture: Plane, scene: Scene, view: View, *, polygon: Polygon, thickness_mm: float) -> None:
    """Darken the picture, in place, by the contact shadow and the cast shadow of one part; brighten its lit side."""
    light = scene.light
    if light.bounce and thickness_mm > 0.0:
        toward = math.radians(light.azimuth_deg)
        reach = 0.7 * thickness_mm
        moved = affinity.translate(polygon, reach * math.cos(toward), reach * math.sin(toward))
        gain = -light.bounce * np.array(scene.metal.reflectance)
        _darken(picture, scene, view, figure=moved, width_mm=0.8 * thickness_mm, depth=gain, gain=1.0)
    if light.contact_depth:
        away = math.radians(light.azimuth_deg + 180.0)
        shift = light.contact_shift_mm
        moved = affinity.translate(polygon, shift * math.cos(away), shift * math.sin(away))
        # Half of a wide blur lies outside the outline, hence the factor 2: the depth is that at a straight edge.
        _darken(
            picture, scene, view, figure=moved, width_mm=light.contact_width_mm, depth=light.contact_depth, gain=2.0
        )
    if light.cast_depth and thickness_mm > 0.0:
        shadow = cast_shadow(
            polygon, thickness_mm=thickness_mm, azimuth_deg=light.azimuth_deg, elevation_deg=light.elevation_deg
        )
        _darken(picture, scene, view, figure=shadow, width_mm=light.cast_softness_mm, depth=light.cast_depth, gain=1.0)


def _darken(
    picture: Plane,
    scene: Scene,
    view: View,
    *,
    figure: BaseGeometry,
    width_mm: float,
    depth: float | Floats,
    gain: float,
) -> None:
    sigma = max(0.3, width_mm / 2.0 * view.pixels_per_mm)
    edges = sheet_edges(scene, view, figure, printed=False)
    window = around(edges, margin_px=3.5 * sigma + 2.0, shape=picture.shape[:2])
    mask = np.minimum(soft(coverage(edges, window), sigma) * gain, np.float32(1.0))
    picture[window.slices] *= 1.0 - mask[..., None] * np.asarray(depth, dtype=np.float32)


def soft(mask: Plane, sigma: float) -> Plane:
    """Blur a mask by a Gaussian, on a reduced copy if it is wide."""
    shrink = max(1, int(sigma / FINEST_SIGMA_PX))
    if shrink == 1:
        return np.asarray(cv2.GaussianBlur(mask, (0, 0), sigma), dtype=np.float32)
    height, width = mask.shape
    size = (max(1, round(width / shrink)), max(1, round(height / shrink)))
    small = cv2.GaussianBlur(cv2.resize(mask, size, interpolation=cv2.INTER_AREA), (0, 0), sigma / shrink)
    return np.asarray(cv2.resize(small, (width, height), interpolation=cv2.INTER_LINEAR), dtype=np.float32)
