"""How a loose sheet bends: gently, and in one direction only, since paper bends and does not stretch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

REACH_MM = 100.0
"""Distance from the middle at which a bow is stated. [mm]"""
BOW_MM = 1.0
"""Standard deviation of how far a sheet that lies loose on a table lifts, or hangs, at REACH_MM from its middle: its
edges lift by up to 3 mm (practice, 80 g paper). [mm]"""
DIRECTIONS, HEIGHTS, SPAN = 36, 161, 4.0
"""Trials of the direction in which a sheet bends, and of how far, out to so many standard deviations."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bow:
    """Height of a sheet above a plane through its middle: a u² + b u v + c v², where u and v count in REACH_MM.

    Parameters
    ----------
    figures : ndarray, shape (3,)
        a, b, c. [mm]
    middle_mm : ndarray, shape (2,)
    """

    figures: Floats
    middle_mm: Floats

    def __post_init__(self) -> None:
        for array in (self.figures, self.middle_mm):
            array.setflags(write=False)

    def terms(self, points_mm: Floats) -> Floats:
        """Return by what the figures count at points, shape (n, 2): shape (n, 3)."""
        u, v = ((points_mm - self.middle_mm) / REACH_MM).T
        return np.column_stack([u * u, u * v, v * v])

    def height_mm(self, points_mm: Floats) -> Floats:
        """Return the height at points, shape (n, 2). [mm]"""
        return np.asarray(self.terms(points_mm) @ self.figures)

    def slope(self, points_mm: Floats) -> Floats:
        """Return how steeply the sheet rises along x and y at points, shape (n, 2)."""
        a, b, c = self.figures
        return np.asarray((points_mm - self.middle_mm) @ np.array([[2 * a, b], [b, 2 * c]]) / REACH_MM**2)

    def seen_from(self, turn: Floats, origin_mm: Floats) -> Bow:
        """Return the same bow in axes that start at another point, shape (2,), and are turned: old = turn @ new."""
        a, b, c = self.figures
        form = turn.T @ np.array([[a, b / 2], [b / 2, c]]) @ turn
        return Bow(
            figures=np.array([form[0, 0], 2 * form[0, 1], form[1, 1]]), middle_mm=turn.T @ (self.middle_mm - origin_mm)
        )


def as_one_bend(mean: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Return mean and covariance of a bow's figures once it is known that a sheet bends in one direction only.

    What was seen of the figures, shape (3,) and (3, 3), weighs every bend of one direction and height; a bend is
    believed to be BOW_MM high (Bayes' rule on a grid, then mean and covariance of what is left).
    """
    angle = np.linspace(0.0, np.pi, DIRECTIONS, endpoint=False)
    high = np.linspace(-SPAN, SPAN, HEIGHTS) * BOW_MM
    along = np.column_stack([np.cos(angle) ** 2, 2 * np.cos(angle) * np.sin(angle), np.sin(angle) ** 2])
    bends = (high[:, None, None] * along).reshape(-1, 3)
    away = bends - mean
    chi2 = np.einsum("ni,ij,nj->n", away, np.linalg.inv(covariance), away) + np.repeat((high / BOW_MM) ** 2, DIRECTIONS)
    weight = np.exp(-0.5 * (chi2 - chi2.min()))
    weight /= weight.sum()
    middle = weight @ bends
    spread = bends - middle
    return middle, np.einsum("n,ni,nj->ij", weight, spread, spread)
