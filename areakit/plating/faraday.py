r"""Faraday's law and what follows from it, as plain formulas in SI floats.

Every formula also runs on quantities with units and on numbers with an uncertainty: only arithmetic and comparisons
are used. The unit of each argument stands in its annotation; a test runs the formulas on quantities and compares.
"""

from __future__ import annotations

from typing import Annotated

from areakit.errors import RangeError

Metre = Annotated[float, "m"]
SquareMetre = Annotated[float, "m2"]
CubicMetre = Annotated[float, "m3"]
Kilogram = Annotated[float, "kg"]
KilogramPerMole = Annotated[float, "kg/mol"]
KilogramPerCubicMetre = Annotated[float, "kg/m3"]
KilogramPerCoulomb = Annotated[float, "kg/C"]
Coulomb = Annotated[float, "C"]
CoulombPerCubicMetre = Annotated[float, "C/m3"]
Ampere = Annotated[float, "A"]
AmperePerSquareMetre = Annotated[float, "A/m2"]
Second = Annotated[float, "s"]
MetrePerSecond = Annotated[float, "m/s"]
CubicMetrePerSquareMetre = Annotated[float, "m3/m2"]
Ratio = Annotated[float, "1"]
Count = Annotated[float, "1"]

ELEMENTARY_CHARGE = 1.602176634e-19
"""Elementary charge, exact. [C]"""
AVOGADRO_CONSTANT = 6.02214076e23
"""Avogadro constant, exact. [1/mol]"""
FARADAY_CONSTANT = ELEMENTARY_CHARGE * AVOGADRO_CONSTANT
"""Faraday constant, exact product of the two. [C/mol] Source: [si]."""


def best(value: float) -> float:
    """Return the best estimate of a number that may carry an uncertainty: only that can be compared with a limit."""
    estimate: float = getattr(value, "nominal_value", value)
    return estimate


def check_ratio(value: float, name: str) -> None:
    """Raise RangeError unless ``0 < value <= 1``."""
    value = best(value)
    if not 0 < value <= 1:
        raise RangeError(
            f"The {name} of {value * 100:.4g} % is outside 0 to 100 %.",
            remedy="Give the share as a percentage, such as 72 %, or a fraction of one.",
        )


def check_positive(**values: float) -> None:
    """Raise RangeError naming the first value that is not above zero."""
    for name, value in values.items():
        if not best(value) > 0:
            raise RangeError(
                f"The {name.replace('_', ' ')} must be above zero.", remedy="Check the figure and its unit."
            )


def electrochemical_equivalent(*, molar_mass: KilogramPerMole, electrons_per_ion: Count) -> KilogramPerCoulomb:
    r"""Return the mass deposited by one coulomb at full efficiency.

    .. math:: k = \frac{M}{z F}

    Raises RangeError if a figure is not above zero. Source: [si] Faraday constant; Faraday's law as in any
    general-chemistry text.
    """
    check_positive(molar_mass=molar_mass, electrons_per_ion=electrons_per_ion)
    return molar_mass / (electrons_per_ion * FARADAY_CONSTANT)


def mass_for_charge(
    *, charge: Coulomb, molar_mass: KilogramPerMole, electrons_per_ion: Count, cathode_efficiency: Ratio
) -> Kilogram:
    r"""Return the mass of metal that a charge deposits.

    .. math:: m = \frac{\eta Q M}{z F}

    Raises RangeError if the efficiency is not within 0 to 1. Source: [si] Faraday constant; Faraday's law.
    """
    check_ratio(cathode_efficiency, "cathode efficiency")
    return cathode_efficiency * charge * molar_mass / (electrons_per_ion * FARADAY_CONSTANT)


def charge_for_mass(
    *, mass: Kilogram, molar_mass: KilogramPerMole, electrons_per_ion: Count, cathode_efficiency: Ratio
) -> Coulomb:
    r"""Return the charge that deposits a mass of metal.

    .. math:: Q = \frac{z F m}{\eta M}

    Raises RangeError if the efficiency is not within 0 to 1. Source: [si] Faraday constant; Faraday's law.
    """
    check_ratio(cathode_efficiency, "cathode efficiency")
    return electrons_per_ion * FARADAY_CONSTANT * mass / (cathode_efficiency * molar_mass)


def charge_for_thickness(
    *,
    thickness: Metre,
    area: SquareMetre,
    density: KilogramPerCubicMetre,
    molar_mass: KilogramPerMole,
    electrons_per_ion: Count,
    cathode_efficiency: Ratio,
) -> Coulomb:
    r"""Return the charge that deposits a layer of the given mean thickness.

    .. math:: Q = \frac{z F \rho A d}{\eta M}

    Raises RangeError if the efficiency is not within 0 to 1. Source: [si] Faraday constant; Faraday's law.
    """
    mass = density * area * thickness
    return charge_for_mass(
        mass=mass, molar_mass=molar_mass, electrons_per_ion=electrons_per_ion, cathode_efficiency=cathode_efficiency
    )


def thickness_for_charge(
    *,
    charge: Coulomb,
    area: SquareMetre,
    density: KilogramPerCubicMetre,
    molar_mass: KilogramPerMole,
    electrons_per_ion: Count,
    cathode_efficiency: Ratio,
) -> Metre:
    r"""Return the mean thickness that a charge reaches.

    .. math:: d = \frac{\eta Q M}{z F \rho A}

    Raises RangeError if the area or the density is not above zero, or the efficiency is not within 0 to 1. Source: [si]
    Faraday constant; Faraday's law.
    """
    mass = mass_for_charge(
        charge=charge, molar_mass=molar_mass, electrons_per_ion=electrons_per_ion, cathode_efficiency=cathode_efficiency
    )
    return thickness_for_mass(mass=mass, area=area, density=density)


def thickness_for_mass(*, mass: Kilogram, area: SquareMetre, density: KilogramPerCubicMetre) -> Metre:
    r"""Return the mean thickness of a weighed deposit.

    .. math:: d = \frac{m}{\rho A}

    Raises RangeError if the area or the density is not above zero. Source: definition of density.
    """
    check_positive(area=area, density=density)
    return mass / (density * area)


def efficiency_for_coupon(
    *, mass: Kilogram, charge: Coulomb, molar_mass: KilogramPerMole, electrons_per_ion: Count
) -> Ratio:
    r"""Return the cathode efficiency from the weight gain of a coupon; above 1 is returned as it comes out.

    .. math:: \eta = \frac{z F m}{M Q}

    Raises RangeError if the charge or the mass is not above zero. Source: [si] Faraday constant; Faraday's law.
    """
    check_positive(weight_gain=mass, charge=charge)
    return electrons_per_ion * FARADAY_CONSTANT * mass / (molar_mass * charge)
