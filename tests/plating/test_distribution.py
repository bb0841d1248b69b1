"""The tank's distribution against closed forms for the disk, the ellipse and the square."""

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale

from areakit.errors import OutlineInvalid, RangeError
from areakit.plating.distribution import (
    ThicknessMap,
    equal_disk_radius_mm,
    predict_tank,
    wagner_number,
)

RADIUS = 10.0
DISK = Point(3.0, -2.0).buffer(RADIUS, quad_segs=64)
PLATE = box(0.0, 0.0, 40.0, 25.0)


def disk_errors(result: ThicknessMap, radius: float = RADIUS) -> tuple[float, NDArray[np.float64]]:
    """Relative errors at the centre, and up to r/a = 0.9, against the primary distribution on a disk.

    Newman, J. Electrochem. Soc. 113 (1966) 501: j/j_mean = 0.5 / sqrt(1 - (r/a)^2).
    """
    share = np.hypot(*(result.centres - (3.0, -2.0)).T) / radius
    inner = share < 0.9
    error = result.ratio[inner] * 2.0 * np.sqrt(1.0 - share[inner] ** 2) - 1.0
    return float(error[np.argmin(share[inner])]), error


def test_disk_follows_newmans_primary_distribution() -> None:
    result = predict_tank(DISK, wagner=0.0)
    centre, profile = disk_errors(result)
    assert abs(centre) < 0.01
    assert np.abs(profile).max() < 0.03
    assert result.minimum_over_mean == pytest.approx(0.5, rel=0.01)
    assert result.allowance == pytest.approx(2.0, rel=0.01)
    assert math.dist(result.minimum_at_mm, (3.0, -2.0)) < 0.1 * RADIUS


def test_disk_resistance_is_newmans() -> None:
    # Newman, J. Electrochem. Soc. 113 (1966) 501: R = 1 / (4 kappa a).
    assert predict_tank(DISK, wagner=0.0).constriction_per_mm == pytest.approx(1.0 / (4.0 * RADIUS), rel=0.003)


def test_disk_converges_with_the_number_of_panels() -> None:
    # Printed with -s: panels, error at the centre, largest and rms error to r/a = 0.9, error of the resistance.
    rows = []
    for count in (300, 900, 2700):
        result = predict_tank(DISK, wagner=0.0, panels=count)
        centre, profile = disk_errors(result)
        resistance = result.constriction_per_mm * 4.0 * RADIUS - 1.0
        rows.append((result.panel_count, abs(centre), np.abs(profile).max(), np.sqrt(np.mean(profile**2)), resistance))
        print(*(f"{figure:.4g}" for figure in rows[-1]), sep="  ")
    for coarse, fine in pairwise(rows):
        assert all(f < 0.8 * c for c, f in zip(coarse[1:], fine[1:], strict=True))


def test_ellipse_follows_its_closed_form() -> None:
    # Charge on a thin conducting elliptical plate, a limit of the ellipsoid (Stratton, Electromagnetic Theory, 1941,
    # section 3.27; from memory): j/j_mean = 0.5 / sqrt(1 - (x/a)^2 - (y/b)^2).
    a, b = 15.0, 6.0
    ellipse = rotate(scale(Point(0.0, 0.0).buffer(1.0, quad_segs=64), a, b), 30.0, origin=(0.0, 0.0))
    result = predict_tank(ellipse, wagner=0.0)
    c, s = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    x, y = (result.centres @ np.array([[c, -s], [s, c]])).T
    depth = (x / a) ** 2 + (y / b) ** 2
    inner = depth < 0.81
    error = result.ratio[inner] * 2.0 * np.sqrt(1.0 - depth[inner]) - 1.0
    assert np.abs(error).max() < 0.035
    assert result.minimum_over_mean == pytest.approx(0.5, rel=0.015)


def test_square_has_its_known_capacitance() -> None:
    # Capacitance of a unit square plate over 4 pi epsilon: 0.36679 (Hwang and Mascagni, J. Appl. Phys. 95 (2004)
    # 3798; from memory). The conductance of one face is 2 pi times that.
    result = predict_tank(box(0.0, 0.0, 1.0, 1.0), wagner=0.0)
    assert 1.0 / (2.0 * math.pi * result.constriction_per_mm) == pytest.approx(0.36679, rel=0.004)


def secondary_on_disk(share: NDArray[np.float64], wagner: float) -> NDArray[np.float64]:
    """Return local over mean density on a disk with linear polarisation, by Newman's series.

    Newman, J. Electrochem. Soc. 113 (1966) 1235: potential = sum B_n P_2n(eta) M_2n(xi) in rotational elliptic
    coordinates, with M_2n'(0) = -(2/pi) ((2^n n!)^2 / (2n)!)^2 and eta = sqrt(1 - (r/a)^2) on the disk; the density is
    -(kappa / (a eta)) sum B_n P_2n(eta) M_2n'(0). The boundary condition is met by Galerkin's method.
    """
    terms = 30
    nodes, weights = np.polynomial.legendre.leggauss(200)
    eta, weights = (nodes + 1.0) / 2.0, weights / 2.0
    slopes = np.array([-2.0 * math.exp(2.0 * (math.lgamma(n + 1.0) - math.lgamma(n + 0.5))) for n in range(terms)])

    def even(at: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.polynomial.legendre.legvander(at, 2 * terms - 2)[:, ::2]

    p = even(eta)
    matrix = (p * weights[:, None]).T @ (p * (eta[:, None] - wagner * slopes[None, :]))
    b = np.linalg.solve(matrix, (p * (weights * eta)[:, None]).sum(axis=0))
    place = np.sqrt(1.0 - share**2)
    # The integral of density over the disk keeps n = 0 only.
    mean = -2.0 * slopes[0] * b[0]
    return -(even(place) @ (b * slopes)) / place / mean


@pytest.mark.parametrize("wagner", [0.05, 0.3, 2.0])
def test_disk_follows_the_secondary_distribution(wagner: float) -> None:
    result = predict_tank(DISK, wagner=wagner, panels=1200)
    share = np.hypot(*(result.centres - (3.0, -2.0)).T) / RADIUS
    inner = share < 0.9
    expected = secondary_on_disk(share[inner], wagner)
    assert np.abs(result.ratio[inner] / expected - 1.0).max() < 0.015
    assert result.minimum_over_mean == pytest.approx(secondary_on_disk(np.array([0.0]), wagner)[0], rel=0.008)


def test_newmans_series_has_the_primary_limit() -> None:
    # The reference itself: with little polarisation it must near the closed form.
    share = np.array([0.0, 0.3, 0.6])
    assert secondary_on_disk(share, 1e-4) == pytest.approx(0.5 / np.sqrt(1.0 - share**2), rel=0.01)


def test_infinite_wagner_number_gives_a_uniform_deposit() -> None:
    result = predict_tank(DISK, wagner=math.inf, panels=300)
    assert result.ratio == pytest.approx(np.ones(result.panel_count))
    assert result.allowance == pytest.approx(1.0)


def test_wagner_number_runs_from_primary_to_uniform() -> None:
    minima = [predict_tank(PLATE, wagner=w, panels=400).minimum_over_mean for w in (0.0, 1e-6, 0.1, 1.0, 10.0, 1e4)]
    assert minima[1] == pytest.approx(minima[0], rel=1e-3)
    assert minima == sorted(minima)
    assert minima[-1] == pytest.approx(1.0, abs=1e-4)


def test_mean_of_the_map_is_one() -> None:
    result = predict_tank(PLATE.difference(Point(12.0, 12.0).buffer(4.0)), wagner=0.2, panels=500)
    assert result.ratio @ result.areas / result.areas.sum() == pytest.approx(1.0)
    assert result.areas.sum() == pytest.approx(result.polygon.area, rel=2e-3)


@pytest.mark.parametrize("angle_deg", [17.0, 90.0, 133.0])
def test_turning_shifting_and_scaling_change_nothing(angle_deg: float) -> None:
    plate = PLATE.difference(Point(12.0, 12.0).buffer(4.0))
    moved = rotate(scale(plate, 7.0, 7.0), angle_deg)
    straight, turned = (predict_tank(p, wagner=0.1, panels=500) for p in (plate, moved))
    assert turned.minimum_over_mean == pytest.approx(straight.minimum_over_mean, rel=2e-3)
    assert straight.constriction_per_mm / turned.constriction_per_mm == pytest.approx(7.0, rel=2e-3)


def test_a_hole_draws_current_to_its_rim() -> None:
    hole = Point(20.0, 12.5)
    ring = hole.buffer(4.0).difference(hole.buffer(3.0))

    def mean_on_ring(result: ThicknessMap) -> float:
        on = np.array([ring.contains(Point(c)) for c in result.centres])
        return float(result.ratio[on] @ result.areas[on] / result.areas[on].sum())

    plain = predict_tank(PLATE, wagner=0.0, panels=1500)
    holed = predict_tank(PLATE.difference(hole.buffer(3.0)), wagner=0.0, panels=1500)
    assert mean_on_ring(holed) > 1.3 * mean_on_ring(plain)


def test_minimum_is_taken_on_the_significant_surface() -> None:
    edge_strip = box(0.0, 0.0, 40.0, 4.0)
    whole = predict_tank(PLATE, wagner=0.0, panels=600)
    strip = predict_tank(PLATE, wagner=0.0, panels=600, significant=edge_strip)
    assert strip.minimum_over_mean > 1.1 * whole.minimum_over_mean
    assert strip.minimum_at_mm[1] < 4.0
    with pytest.raises(OutlineInvalid, match="covers 0 mm2"):
        predict_tank(PLATE, wagner=0.0, panels=200, significant=box(100.0, 100.0, 110.0, 110.0))


def test_a_grid_of_narrow_limbs_has_a_steady_minimum() -> None:
    # No closed form here: limbs of 0.8 mm are hardly wider than the panels, and yet the minimum must not hang on them.
    grille = Point(0.0, 0.0).buffer(25.0)
    for row in range(-4, 5):
        for column in range(-4, 5):
            grille = grille.difference(box(column * 2.8 - 1, row * 2.8 - 1, column * 2.8 + 1, row * 2.8 + 1))
    minima = [predict_tank(grille, wagner=0.0, panels=count).minimum_over_mean for count in (1000, 1500, 2200)]
    assert max(minima) / min(minima) < 1.05


def test_wagner_number_has_the_radius_as_its_length() -> None:
    # By hand: 10 S/m times 1e-4 ohm m2 over 0.01 m = 0.1.
    assert wagner_number(conductivity=10.0, polarisation_slope=1e-4, length=0.01) == pytest.approx(0.1)
    assert equal_disk_radius_mm(DISK) == pytest.approx(RADIUS, rel=1e-3)


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ({"conductivity": 0.0, "polarisation_slope": 1.0, "length": 1.0}, "conductivity of 0"),
        ({"conductivity": 1.0, "polarisation_slope": -1.0, "length": 1.0}, "slope of -1"),
        ({"conductivity": 1.0, "polarisation_slope": 1.0, "length": math.nan}, "length of nan"),
    ],
)
def test_wagner_number_refuses_senseless_figures(figures: dict[str, float], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        wagner_number(**figures)


def test_senseless_requests_are_refused() -> None:
    with pytest.raises(RangeError, match="Wagner number of -1"):
        predict_tank(PLATE, wagner=-1.0)
    with pytest.raises(RangeError, match="Wagner number of nan"):
        predict_tank(PLATE, wagner=math.nan)
    with pytest.raises(RangeError, match="50000 panels"):
        predict_tank(PLATE, wagner=0.0, panels=50000)
    with pytest.raises(OutlineInvalid):
        predict_tank(Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), wagner=0.0)
