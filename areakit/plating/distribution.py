"""How a tank spreads the deposit over a flat part: the primary and secondary current distribution.

The model: a thin flat plate in open solution, far from the anodes, the walls and other parts, plated on both faces
alike. Each face then carries the same current as if it lay in an insulating plane with solution on one side only, so
a single face that lies flush in a board is covered too; a masked back in open solution is not.
Side walls are left out. Polarisation is linear in current density. Depletion of metal ions is left out.

Lengths are in millimetres here: only ratios leave this module, and the constriction resistance says its unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from areakit.errors import OutlineInvalid, RangeError
from areakit.geometry.outline import check_polygon
from areakit.plating.faraday import best
from areakit.plating.orientation import long_side_deg, turned, turned_polygon
from areakit.plating.panels import FEWEST_PANELS, MOST_PANELS, Floats, Integers, Panels, lay_panels, potential_matrix


@dataclass(frozen=True, slots=True, kw_only=True)
class ThicknessMap:
    """Local over mean thickness on one face, panel by panel.

    - ``polygon``: the outline. [mm]
    - ``centres``, ``areas``: centroids (n, 2) and areas (n,) of the panels. [mm, mm2]
    - ``ratio``: local over mean thickness, (n,); the mean is over the whole face. [1]
    - ``spot_mm``: standard deviation of the bell-shaped spot over which a local thickness is taken for the minimum.
      [mm]
    - ``minimum_over_mean``: minimum local ratio on the significant surface. [1]
    - ``minimum_at_mm``: where that is. [mm]
    - ``wagner``: Wagner number, with the radius of the disk of equal area as its length. [1]
    - ``constriction_per_mm``: resistance from one face to far away times the conductivity, polarisation included.
      [1/mm]
    """

    polygon: Polygon
    centres: Floats
    areas: Floats
    ratio: Floats
    spot_mm: float
    minimum_over_mean: float
    minimum_at_mm: tuple[float, float]
    wagner: float
    constriction_per_mm: float

    def __post_init__(self) -> None:
        for array in (self.centres, self.areas, self.ratio):
            array.setflags(write=False)

    @property
    def allowance(self) -> float:
        """Distribution allowance: mean over minimum thickness. [1]"""
        return 1.0 / self.minimum_over_mean

    @property
    def panel_count(self) -> int:
        """Number of panels."""
        return len(self.areas)


def predict_tank(
    polygon: Polygon, *, wagner: float, significant: Polygon | MultiPolygon | None = None, panels: int = 1800
) -> ThicknessMap:
    r"""Predict the spread of the deposit over both faces of a flat part in a tank.

    .. math:: W\!a\,L\,j(x) + \frac{1}{2\pi}\int_S \frac{j(x')}{|x - x'|}\,\mathrm{d}A' = \text{const}

    with L the radius of the disk of equal area and Wa the Wagner number (:func:`wagner_number`). Wa = 0 gives the
    primary, Wa > 0 the secondary distribution, infinity a uniform deposit. The density is constant on each panel and
    the equation holds at the panels' centroids.

    A primary distribution has no limit at an edge or at the rim of a hole, so the ratio on the rim panels depends on
    their size. The minimum does not: the density falls from every edge inwards. Every panel whose centre lies
    in the significant surface counts for the minimum, rim panels included. It is judged by the mean over a spot as
    wide as the middle one of all panels, much as a gauge would see it: where limbs are hardly wider than panels, the
    values of single panels scatter while their mean is right.

    - ``polygon``: outline with its holes. [mm]
    - ``wagner``: Wagner number, 0 to infinity. [1]
    - ``significant``: where the requirement holds; the whole face if left out. [mm]
    - ``panels``: most panels to use. The face of a disk is then right to 1 % at the centre (see the tests).

    Raises OutlineInvalid if the outline encloses no honest area, or the significant surface lies outside it; RangeError
    if the Wagner number is negative or the number of panels is out of range. Sources: [newman-disk] for the disk that
    this is checked against; [wagner-1951] for the number.
    """
    check_polygon(polygon)
    _check_numbers(wagner, panels)
    turn_deg = long_side_deg(polygon)
    tiles = lay_panels(turned_polygon(polygon, -turn_deg), count=panels)
    density = _density(tiles, wagner * equal_disk_radius_mm(polygon))
    total = float(density @ tiles.areas)
    ratio = density * (tiles.areas.sum() / total)
    spot = float(np.median(np.sqrt(tiles.areas)))
    local = _local_means(tiles, ratio, spot)
    centres: Floats = turned(tiles.centres, turn_deg)
    counted = _on_significant(centres, polygon, significant)
    thinnest = counted[np.argmin(local[counted])]
    return ThicknessMap(
        polygon=polygon,
        centres=centres,
        areas=tiles.areas,
        ratio=ratio,
        spot_mm=spot,
        minimum_over_mean=float(local[thinnest]),
        minimum_at_mm=(float(centres[thinnest, 0]), float(centres[thinnest, 1])),
        wagner=wagner,
        constriction_per_mm=1.0 / total if math.isfinite(wagner) else math.inf,
    )


def wagner_number(*, conductivity: float, polarisation_slope: float, length: float) -> float:
    r"""Return the Wagner number, polarisation over ohmic resistance.

    .. math:: W\!a = \frac{\kappa}{L}\,\frac{\mathrm{d}\eta}{\mathrm{d}j}

    For Tafel kinetics the slope at the mean density is the Tafel slope (natural logarithm) over that density.

    - ``conductivity``: of the solution. [S/m]
    - ``polarisation_slope``: change of overpotential with current density. [ohm m2]
    - ``length``: radius of the disk of equal area, :func:`equal_disk_radius_mm`. [m]

    Raises RangeError if a figure is not positive and finite (a slope of zero is allowed). Source: [wagner-1951].
    """
    for name, value in (("conductivity", conductivity), ("length", length)):
        if not (math.isfinite(best(value)) and best(value) > 0.0):
            raise RangeError(f"A {name} of {best(value):g} is not positive.", remedy=f"Give a positive {name}.")
    if not (math.isfinite(best(polarisation_slope)) and best(polarisation_slope) >= 0.0):
        raise RangeError(
            f"A polarisation slope of {best(polarisation_slope):g} ohm m2 is negative or not finite.",
            remedy="Give the slope of overpotential against current density, zero or more.",
        )
    return conductivity * polarisation_slope / length


def equal_disk_radius_mm(polygon: Polygon) -> float:
    """Return the radius of the disk that has the area of the face; the length of the Wagner number here. [mm]"""
    return math.sqrt(polygon.area / math.pi)


def _density(tiles: Panels, polarisation_mm: float) -> Floats:
    """Return the density at unit potential, (n,); ``polarisation_mm`` is Wagner number times length. [1/mm]"""
    if math.isinf(polarisation_mm):
        return np.ones(len(tiles))
    matrix = potential_matrix(tiles) / (2.0 * math.pi)
    matrix[np.diag_indices(len(tiles))] += polarisation_mm
    return np.asarray(np.linalg.solve(matrix, np.ones(len(tiles))), dtype=np.float64)


def _local_means(tiles: Panels, ratio: Floats, spot_mm: float) -> Floats:
    """Return the mean ratio over a bell-shaped spot about each centre, (n,)."""
    x, y = tiles.centres.T
    squared = (x[:, None] - x[None, :]) ** 2 + (y[:, None] - y[None, :]) ** 2
    weights = np.exp(squared / (-2.0 * spot_mm**2)) * tiles.areas[None, :]
    means: Floats = (weights @ ratio) / weights.sum(axis=1)
    return means


def _check_numbers(wagner: float, panels: int) -> None:
    if not wagner >= 0.0:
        raise RangeError(
            f"A Wagner number of {wagner:g} is not zero or more.",
            remedy="Give 0 for the primary distribution, or a positive number.",
        )
    if not FEWEST_PANELS <= panels <= MOST_PANELS:
        raise RangeError(
            f"{panels} panels is outside {FEWEST_PANELS} to {MOST_PANELS}.",
            remedy="Leave the number of panels at 1800.",
        )


def _on_significant(centres: Floats, polygon: Polygon, significant: Polygon | MultiPolygon | None) -> Integers:
    if significant is None:
        return np.arange(len(centres))
    inside = np.flatnonzero(shapely.contains_xy(significant, centres[:, 0], centres[:, 1]))
    if not len(inside):
        raise OutlineInvalid(
            f"The significant surface covers {significant.intersection(polygon).area:.3g} mm2 of the part.",
            remedy="Place it on the metal, and make it wider than a few tenths of a millimetre.",
        )
    return inside
