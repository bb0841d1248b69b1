r"""Edge build-up under a brush: current that reaches the part through the wet sleeve beside it.

The model: a part flush with its insulating surroundings, a sleeve of even thickness h soaked with solution, and an
anode that overhangs the edge. Far from the edge the density is j0. In the primary limit, from the conformal map of the
layer,

.. math:: \frac{j}{j_0} = \left(1 - e^{-\pi x / h}\right)^{-1/2}

at the distance x from a straight edge. Its excess, summed up across the edge, is that of a strip 2 ln 2 / pi h = 0.44 h
wide. Polarisation, with the Wagner number Wa that has h as its length, softens the excess to 0.44 h / (1 + 1.9 Wa).
Edges closer to each other than about 2 h take more than this model says.
"""

from __future__ import annotations

import math

from areakit.errors import RangeError

SOFTENING = 1.9
"""Softening of the excess by the Wagner number: set against the boundary-integral solver, within 6 % for Wagner numbers
up to 1, see the tests. [1]"""


def edge_density(distance: float, *, thickness: float) -> float:
    """Return the primary local density over that far from edges.

    - ``distance``: from the edge, above zero. [mm]
    - ``thickness``: of the wet sleeve. [mm]

    Raises RangeError if the distance or the thickness is not above zero. Source: own derivation from the conformal map;
    checked against the boundary-integral solver in the tests.
    """
    _check(thickness, 0.0)
    if not distance > 0.0:
        raise RangeError(f"A distance of {distance:g} mm is not above zero.", remedy="Give it from the edge inwards.")
    return 1.0 / math.sqrt(1.0 - math.exp(-math.pi * distance / thickness))


def excess_strip(*, thickness: float, wagner: float = 0.0) -> float:
    r"""Return the width of a strip at j0 that carries as much as the excess along an edge. [same unit as thickness]

    .. math:: e = \frac{2 h \ln 2}{\pi\,(1 + 1.9\,Wa)}

    - ``thickness``: of the wet sleeve. [mm]
    - ``wagner``: Wagner number with the thickness as its length; 0 is the primary limit. [1]

    Raises RangeError if the thickness is not above zero or the Wagner number negative. Source: the integral of
    :func:`edge_density` less one; its softening is fitted to the boundary-integral solver.
    """
    _check(thickness, wagner)
    return 2.0 * math.log(2.0) / math.pi * thickness / (1.0 + SOFTENING * wagner)


def edge_gain(*, area: float, perimeter: float, thickness: float, wagner: float = 0.0) -> float:
    """Return mean density over that far from edges: one, and a strip along the whole perimeter over the area. [1]"""
    return 1.0 + excess_strip(thickness=thickness, wagner=wagner) * perimeter / area


def _check(thickness: float, wagner: float) -> None:
    if not thickness > 0.0:
        raise RangeError(f"A sleeve {thickness:g} mm thick is none.", remedy="Give its thickness wet, such as 3 mm.")
    if not wagner >= 0.0:
        raise RangeError(f"A Wagner number of {wagner:g} is negative.", remedy="Give 0 or a positive number.")
