"""How soft the sharpest edges of a photo are, before anything else is known of it."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.edge import LUMINANCE, half_level, read_profiles, steepest
from areakit.imaging.photo import Overview, Photo

Floats = npt.NDArray[np.float64]

EDGES = 400


def softness_px(photo: Photo, small: Overview) -> float:
    """Return the usual softness of the strongest edges, as the sigma of a Gaussian. [px]"""
    grey = cv2.cvtColor(small.pixels, cv2.COLOR_RGB2GRAY)
    across, down = cv2.Sobel(grey, cv2.CV_32F, 1, 0), cv2.Sobel(grey, cv2.CV_32F, 0, 1)
    strength = cv2.magnitude(across, down)
    strength[:4], strength[-4:], strength[:, :4], strength[:, -4:] = 0.0, 0.0, 0.0, 0.0
    peaks = np.where(strength >= cv2.dilate(strength, np.ones((9, 9), np.uint8)), strength, 0.0).ravel()
    there = np.flatnonzero(peaks > 0)
    rows, columns = np.unravel_index(there[np.argsort(peaks[there])[-EDGES:]], strength.shape)
    if len(rows) < 8:
        return 0.0
    points = small.to_full(np.column_stack([columns, rows]).astype(float))
    slopes = np.column_stack([across[rows, columns], down[rows, columns]]).astype(float)
    normals = slopes / np.maximum(np.hypot(*slopes.T), 1e-9)[:, None]
    half = max(16, 3 * small.factor)
    profiles = read_profiles(photo.pixels, points, normals, half)
    fine = np.asarray(profiles.linear @ LUMINANCE)
    # noise must not pass for a sharp edge
    signal = np.asarray((fine[:, :-2] + fine[:, 1:-1] + fine[:, 2:]) / 3, dtype=np.float32)
    centre, _ = steepest(signal)
    cross = half_level(signal, centre, near=half - 5, far=half - 2, smooth=0)
    sigma = (cross.sigma_px * profiles.across)[
        cross.found & profiles.inside_frame & (np.abs(cross.outer - cross.inner) > 0.05)
    ]
    return float(np.median(sigma)) if len(sigma) else 0.0
