"""The plating factor: charge per area and thickness, and the cathode efficiency it implies."""

from __future__ import annotations

from areakit.plating import faraday
from areakit.plating.faraday import (
    CoulombPerCubicMetre,
    Count,
    KilogramPerCubicMetre,
    KilogramPerMole,
    Ratio,
    check_positive,
    check_ratio,
)


def charge_factor(
    *,
    density: KilogramPerCubicMetre,
    molar_mass: KilogramPerMole,
    electrons_per_ion: Count,
    cathode_efficiency: Ratio,
) -> CoulombPerCubicMetre:
    r"""Return the charge per area and thickness.

    .. math:: f = \frac{z F \rho}{\eta M}

    Raises RangeError if the efficiency is not within 0 to 1. Source: [asmsel] Table 1 defines the plating factor as
    charge per area and thickness.
    """
    check_ratio(cathode_efficiency, "cathode efficiency")
    return electrons_per_ion * faraday.FARADAY_CONSTANT * density / (cathode_efficiency * molar_mass)


def implied_efficiency(
    *,
    plating_factor: CoulombPerCubicMetre,
    density: KilogramPerCubicMetre,
    molar_mass: KilogramPerMole,
    electrons_per_ion: Count,
) -> Ratio:
    r"""Return the cathode efficiency that a plating factor implies; above 1 is returned as it comes out.

    .. math:: \eta = \frac{z F \rho}{f M}

    Raises RangeError if the factor is not above zero. Source: [asmsel] Table 1, definition of the plating factor.
    """
    check_positive(plating_factor=plating_factor)
    return electrons_per_ion * faraday.FARADAY_CONSTANT * density / (plating_factor * molar_mass)
