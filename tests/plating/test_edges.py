"""Edge build-up under a brush against the boundary-integral solver and the integral of its own closed form."""

import math

import numpy as np
import pytest
from shapely import box

from areakit.errors import RangeError
from areakit.plating.edges import edge_density, edge_gain, excess_strip
from areakit.plating.panels import Floats, Panels, lay_panels, potential_matrix

SIDE, SLEEVE = 40.0, 3.0
IMAGES = 60


def solved(wagner: float, count: int = 1100) -> tuple[Panels, Floats]:
    """Return panels of a square in a layer under an anode plane, and the density on each over that far from edges.

    Images of every panel in the anode and in the insulating plane alternate in sign; half of the last one sums the
    alternating tail. The rest is the solver of the tank.
    """
    tiles = lay_panels(box(0.0, 0.0, SIDE, SIDE), count=count)
    x, y = tiles.centres.T
    squared = (x[:, None] - x) ** 2 + (y[:, None] - y) ** 2
    matrix = potential_matrix(tiles)
    for image in range(1, IMAGES + 1):
        weight = 2.0 * (-1.0) ** image * (0.5 if image == IMAGES else 1.0)
        matrix += weight * tiles.areas / np.sqrt(squared + (2.0 * image * SLEEVE) ** 2)
    matrix /= 2.0 * math.pi
    matrix[np.diag_indices(len(tiles))] += wagner * SLEEVE
    return tiles, np.linalg.solve(matrix, np.ones(len(tiles))) * SLEEVE * (1.0 + wagner)


@pytest.mark.parametrize("wagner", [0.0, 0.1, 0.5, 1.0])
def test_the_excess_is_that_of_the_boundary_integral(wagner: float) -> None:
    tiles, density = solved(wagner)
    gain = float(density @ tiles.areas) / SIDE**2
    expected = edge_gain(area=SIDE**2, perimeter=4.0 * SIDE, thickness=SLEEVE, wagner=wagner)
    assert gain - 1.0 == pytest.approx(expected - 1.0, rel=0.07)


def test_the_density_falls_inwards_as_the_conformal_map_says() -> None:
    tiles, density = solved(0.0, count=1800)
    x, y = tiles.centres.T
    for low, high in ((0.5, 1.3), (1.3, 2.5), (2.5, 5.0)):  # rim panels are blunted by their own size
        seen = (x > low) & (x < high) & (np.abs(y - SIDE / 2) < 8.0)
        expected = [edge_density(float(at), thickness=SLEEVE) for at in x[seen]]
        assert density[seen].mean() == pytest.approx(np.mean(expected), rel=0.03)


def test_the_strip_is_the_integral_of_the_excess() -> None:
    # substitution x = u^2 takes the root out of the integrand; midpoint rule
    u = (np.arange(20_000) + 0.5) / 20_000 * math.sqrt(12.0 * SLEEVE)
    excess = np.array([edge_density(float(at) ** 2, thickness=SLEEVE) - 1.0 for at in u])
    assert float((excess * 2.0 * u).mean() * u[-1]) == pytest.approx(excess_strip(thickness=SLEEVE), rel=1e-3)
    assert excess_strip(thickness=SLEEVE) / SLEEVE == pytest.approx(2.0 * math.log(2.0) / math.pi)


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ({"thickness": 0.0}, "0 mm thick"),
        ({"thickness": 3.0, "wagner": -0.1}, "Wagner number of -0.1"),
    ],
)
def test_senseless_sleeves_are_refused(figures: dict[str, float], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        excess_strip(**figures)
    with pytest.raises(RangeError, match="distance of 0"):
        edge_density(0.0, thickness=3.0)
