"""Flat patches on a face or on the sheet: paint, tape, a mirrored sheet, the line of a joint, glare."""

from __future__ import annotations

import cv2
import numpy as np

from areakit.synthetic.coverage import Plane, around, coverage
from areakit.synthetic.prism import see_prism
from areakit.synthetic.projection import View
from areakit.synthetic.scene import Patch, Scene
from areakit.synthetic.sheet_print import height_of_sheet


def draw_patches(picture: Plane, scene: Scene, view: View, *, on: int | None) -> None:
    """Draw the patches of one part's face, or of the sheet (None), over a picture, shape (height, width, 3)."""
    for patch in scene.patches:
        if patch.on == on:
            _draw(picture, scene, view, patch)


def _draw(picture: Plane, scene: Scene, view: View, patch: Patch) -> None:
    middle = np.array([patch.polygon.centroid.coords[0]])
    part = None if patch.on is None else scene.parts[patch.on]
    height_mm = float(height_of_sheet(scene, middle)[0]) + (part.thickness_mm if part else 0.0)
    soft_px = patch.softness_mm * view.pixels_per_mm
    edges = see_prism(view, patch.polygon, base_mm=height_mm, thickness_mm=0.0).top
    window = around(edges, margin_px=2.0 + 4.0 * soft_px, shape=picture.shape[:2])
    weight = coverage(edges, window)
    if soft_px:
        weight = np.asarray(cv2.GaussianBlur(weight, (0, 0), soft_px), dtype=np.float32)
    if part:
        face = see_prism(view, part.placed(), base_mm=height_mm, thickness_mm=0.0).top
        weight = weight * np.clip(coverage(face, window), np.float32(0.0), np.float32(1.0))
    crop = picture[window.slices]
    crop *= (1.0 - np.float32(patch.opacity) * weight)[..., None]
    crop += weight[..., None] * np.array(patch.colour, dtype=np.float32)
