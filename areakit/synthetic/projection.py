"""From the sheet to the picture and back, with the lens exactly as stated."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.synthetic.scene import Camera, Scene

Floats = npt.NDArray[np.float64]

UNDISTORT_STEPS = 20
"""Fixed-point steps of the inverse lens model."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One camera pose: world = (x, y, -height), camera = rotation @ world + translation.

    ``eye_mm`` is the camera centre as x, y, height.
    """

    camera: Camera
    rotation: Floats
    translation: Floats
    eye_mm: Floats

    @property
    def pixels_per_mm(self) -> float:
        """Scale on the optical axis at sheet level."""
        return self.camera.focal_px / self.camera.distance_mm

    @property
    def matrix(self) -> Floats:
        """Camera matrix, shape (3, 3)."""
        f, (cx, cy) = self.camera.focal_px, self.camera.centre_px
        return np.array([[f, 0.0, cx], [0.0, f, cy], [0.0, 0.0, 1.0]])

    @property
    def distortion(self) -> Floats:
        """Coefficients in OpenCV's order, shape (5,)."""
        c = self.camera
        return np.array([c.k1, c.k2, c.p1, c.p2, c.k3])


def view_of(scene: Scene) -> View:
    """Return the pose of the scene's camera."""
    camera = scene.camera
    tilt, side = math.radians(camera.tilt_deg), math.radians(camera.tilt_direction_deg)
    axis = tilt * np.array([math.sin(side), -math.cos(side), 0.0])
    turn = cv2.Rodrigues(axis)[0]
    roll = cv2.Rodrigues(np.array([0.0, 0.0, math.radians(camera.roll_deg)]))[0]
    rotation = np.asarray(roll @ turn.T, dtype=float)
    target = np.array(
        [scene.middle_mm[0] + camera.look_offset_mm[0], scene.middle_mm[1] + camera.look_offset_mm[1], 0.0]
    )
    centre = target - camera.distance_mm * turn[:, 2]
    eye = np.array([centre[0], centre[1], -centre[2]])
    return View(camera=camera, rotation=rotation, translation=-rotation @ centre, eye_mm=eye)


def project(view: View, points_mm: Floats, heights_mm: Floats | float = 0.0) -> Floats:
    """Return where points of the sheet, shape (n, 2), at the given heights appear in the picture, shape (n, 2). [px]

    The distortion is that of OpenCV's camera model (Brown: three radial terms, two tangential).
    """
    world = np.column_stack([points_mm, -np.broadcast_to(heights_mm, len(points_mm))])
    cam = world @ view.rotation.T + view.translation
    x, y = cam[:, 0] / cam[:, 2], cam[:, 1] / cam[:, 2]
    c = view.camera
    radial, tx, ty = _lens(c, x, y)
    cx, cy = c.centre_px
    return np.column_stack([c.focal_px * (x * radial + tx) + cx, c.focal_px * (y * radial + ty) + cy])


def sheet_points(view: View, points_px: Floats) -> Floats:
    """Return where sight lines through pixels, shape (n, 2), meet the flat sheet, shape (n, 2). [mm]"""
    c = view.camera
    goal = (points_px - np.array(c.centre_px)) / c.focal_px
    flat = goal
    for _ in range(UNDISTORT_STEPS):
        radial, tx, ty = _lens(c, flat[:, 0], flat[:, 1])
        flat = (goal - np.column_stack([tx, ty])) / radial[:, None]
    rays = np.column_stack([flat, np.ones(len(flat))]) @ view.rotation
    eye = view.eye_mm
    return np.asarray(eye[:2] + rays[:, :2] * (eye[2] / rays[:, 2])[:, None], dtype=float)


def _lens(camera: Camera, x: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the radial factor and the two tangential shifts at undistorted normalised coordinates."""
    r2 = x * x + y * y
    radial = 1.0 + r2 * (camera.k1 + r2 * (camera.k2 + r2 * camera.k3))
    tx = 2 * camera.p1 * x * y + camera.p2 * (r2 + 2 * x * x)
    ty = camera.p1 * (r2 + 2 * y * y) + 2 * camera.p2 * x * y
    return radial, tx, ty
