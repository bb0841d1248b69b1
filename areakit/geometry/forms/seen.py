"""What a camera above a lying solid makes of it: its widest line stands higher than the sheet, and is seen aslant."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
_ROUNDS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """Where the camera stood, in part coordinates, y upwards. [mm]

    ``level_mm`` is the height above the sheet at which the outline was read; ``level_open_mm`` the standard
    uncertainty of that height: 0 where the outline was read at the sheet on purpose. ``pixel_mm`` is the size of a
    pixel there, 0 where nobody says.
    """

    x_mm: float
    y_mm: float
    height_mm: float
    level_mm: float = 0.0
    level_open_mm: float = 0.0
    pixel_mm: float = 0.0

    def lifted(self, height_mm: float | Floats) -> float | Floats:
        """Return by what lengths of the outline shrink when it is laid at another height."""
        return (self.height_mm - height_mm) / (self.height_mm - self.level_mm)


def true_radius(seen: Floats | float, *, across: Floats | float, distance_mm: Floats | float) -> Floats:
    r"""Return the radius of a round rod from its half width in the plane of its axis. [mm]

    - ``seen`` (n,): half the distance between the two lines where the rays that graze the rod meet the plane of its
      axis. [mm]
    - ``across`` (n,): distance from the camera's foot to the axis, square to the axis. [mm]
    - ``distance_mm``: height of the camera above that plane. [mm]

    The rays leave at the angles :math:`\varphi \pm \alpha` from upright, :math:`\sin \alpha = r \cos \varphi / D`, and
    meet the plane :math:`D (\tan(\varphi + \alpha) - \tan(\varphi - \alpha))` apart (elementary geometry).
    """
    seen = np.asarray(seen, dtype=float)
    phi = np.arctan2(np.asarray(across, dtype=float), distance_mm)
    radius = seen * np.cos(phi)
    for _ in range(_ROUNDS):
        alpha = np.arcsin(np.minimum(radius * np.cos(phi) / distance_mm, 0.9))
        model = distance_mm * np.sin(2.0 * alpha) / (np.cos(2.0 * phi) + np.cos(2.0 * alpha))
        radius = np.where(model > 0.0, radius * seen / np.maximum(model, 1e-12), radius)
    return np.asarray(radius)


def radius_at_half_height(half_width: Floats, *, points: Floats, normals: Floats, view: View) -> tuple[Floats, Floats]:
    """Return radius and scale of round stock that lies on the sheet, its axis at the height of its own radius.

    - ``half_width`` (n,): half of the local width as read at ``view.level_mm``. [mm]
    - ``points``, ``normals`` (n, 2): places on the middle line, and unit vectors square to it. [mm]

    Returns radius [mm], and by what lengths along the middle line shrink.
    """
    across = np.abs(np.einsum("ni,ni->n", points - [view.x_mm, view.y_mm], normals))
    radius = half_width.copy()
    scale = np.ones_like(radius)
    for _ in range(_ROUNDS):
        scale = np.asarray(view.lifted(radius))
        radius = true_radius(half_width * scale, across=across * scale, distance_mm=view.height_mm - radius)
    return radius, scale


def tilt_deg(view: View, x_mm: float, y_mm: float, height_mm: float) -> float:
    """Return how far from upright the ray to a place runs. [deg]"""
    return math.degrees(math.atan2(math.hypot(x_mm - view.x_mm, y_mm - view.y_mm), view.height_mm - height_mm))
