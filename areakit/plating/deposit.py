"""Charge, thickness and mass of one layer, with their uncertainty budgets."""

from __future__ import annotations

from dataclasses import dataclass

from areakit.errors import RangeError
from areakit.plating import allowance as allowance_formulas
from areakit.plating import faraday
from areakit.plating.metals import Bath, figure
from areakit.plating.premise import Origin, Premise, from_figure
from areakit.sources import source
from areakit.uncertainty import Measured, propagate
from areakit.units import in_unit

_ROUNDING = 1e-12  # what is left of an input that cancels


@dataclass(frozen=True, slots=True, kw_only=True)
class Chemistry:
    """What Faraday's law needs to know of a bath: molar mass, electrons per ion, density, cathode efficiency."""

    bath: Bath
    molar_mass: Premise
    electrons_per_ion: Premise
    density: Premise
    efficiency: Premise

    @property
    def premises(self) -> tuple[Premise, ...]:
        """The four numbers, for the list of origins."""
        return (self.molar_mass, self.electrons_per_ion, self.density, self.efficiency)


def square_metres(area: Measured) -> Measured:
    """Return an area of geometry in SI: the one place where mm2 become m2."""
    if not area.value > 0:
        raise RangeError(f"An area of {area.value:g} {area.unit} cannot be plated.", remedy="Give an area above zero.")
    return in_unit(area, "m2")


def table_density(bath: Bath) -> Premise:
    """Return the density of the deposit: the element's, with the spread of electrodeposits as its uncertainty."""
    row, spread = figure(bath.deposit, "density"), figure("deposit", "density_spread")
    value = row.measured().value
    origin = from_figure(row)
    words = f"{origin.text}; the ± for electrodeposits: {source(spread.source).citation.lower()}"
    return Premise(
        name=f"{bath.metal} density",
        quantity=Measured(value=value, unit="kg/m3", budget={f"{bath.metal} density": value * spread.value}),
        origin=Origin(kind="unverified", text=words, source=row.source),
    )


def chemistry(bath: Bath, efficiency: Premise, *, density: Premise | None = None) -> Chemistry:
    """Return the figures of a bath from the tables, with the efficiency and, if given, the density of the user."""
    molar, electrons = figure(bath.metal, "molar_mass"), figure(bath.key, "electrons_per_ion")
    return Chemistry(
        bath=bath,
        molar_mass=Premise(name=f"{bath.metal} molar mass", quantity=molar.measured(), origin=from_figure(molar)),
        electrons_per_ion=Premise(
            name=f"{bath.metal} electrons per ion", quantity=electrons.measured(), origin=from_figure(electrons)
        ),
        density=density or table_density(bath),
        efficiency=efficiency,
    )


def charge_for_thickness(figures: Chemistry, *, thickness: Measured, area: Measured) -> Measured:
    """Return the charge for a mean thickness [m] on an area [m2], in C."""
    return propagate(
        lambda d, a, rho, eta: faraday.charge_for_thickness(
            thickness=d,
            area=a,
            density=rho,
            molar_mass=figures.molar_mass.value,
            electrons_per_ion=figures.electrons_per_ion.value,
            cathode_efficiency=eta,
        ),
        thickness,
        area,
        figures.density.quantity,
        figures.efficiency.quantity,
        unit="C",
    )


def thickness_for_charge(figures: Chemistry, *, charge: Measured, area: Measured) -> Measured:
    """Return the mean thickness that a charge [C] reaches on an area [m2], in m."""
    return propagate(
        lambda q, a, rho, eta: faraday.thickness_for_charge(
            charge=q,
            area=a,
            density=rho,
            molar_mass=figures.molar_mass.value,
            electrons_per_ion=figures.electrons_per_ion.value,
            cathode_efficiency=eta,
        ),
        charge,
        area,
        figures.density.quantity,
        figures.efficiency.quantity,
        unit="m",
    )


def mass_for_charge(figures: Chemistry, *, charge: Measured) -> Measured:
    """Return the mass that a charge [C] deposits, in kg."""
    return propagate(
        lambda q, eta: faraday.mass_for_charge(
            charge=q,
            molar_mass=figures.molar_mass.value,
            electrons_per_ion=figures.electrons_per_ion.value,
            cathode_efficiency=eta,
        ),
        charge,
        figures.efficiency.quantity,
        unit="kg",
    )


def thickness_for_mass(*, mass: Measured, area: Measured, density: Measured) -> Measured:
    """Return the mean thickness of a weighed deposit [kg] on an area [m2], in m."""
    return propagate(
        lambda m, a, rho: faraday.thickness_for_mass(mass=m, area=a, density=rho), mass, area, density, unit="m"
    )


def efficiency_for_coupon(bath: Bath, *, mass: Measured, charge: Measured) -> Measured:
    """Return the cathode efficiency from a weight gain [kg] and a charge [C]; above 1 is a RangeError."""
    molar, electrons = figure(bath.metal, "molar_mass").measured(), figure(bath.key, "electrons_per_ion").value
    found = propagate(
        lambda m, q: faraday.efficiency_for_coupon(
            mass=m, charge=q, molar_mass=molar.value, electrons_per_ion=electrons
        ),
        mass,
        charge,
        unit="1",
    )
    if found.value > 1.0 + found.expanded_uncertainty:
        raise RangeError(
            f"The coupon implies a cathode efficiency of {found.value * 100:.0f} %, which cannot be.",
            remedy="Check the weighing (dry, no residue), A·min against A·h, and the valence of the bath.",
        )
    return found


def minimum_for_mean(mean: Measured, allowance: Measured) -> Measured:
    """Return the minimum local thickness [m] from a mean [m] and the distribution allowance."""
    return propagate(lambda d, k: allowance_formulas.minimum_for_mean(mean=d, allowance=k), mean, allowance, unit="m")


def mean_for_minimum(minimum: Measured, allowance: Measured) -> Measured:
    """Return the mean [m] that a required minimum [m] asks for; the allowance enters with its value alone."""
    mean = allowance_formulas.mean_for_minimum(minimum=minimum.value, allowance=allowance.value)
    return Measured(value=mean, unit="m")


def variance_shares(quantity: Measured) -> dict[str, float]:
    """Return the share of each input in the variance, largest first; empty for an exact quantity."""
    variance = quantity.standard_uncertainty**2
    if variance == 0.0:
        return {}
    shares = {name: share * share / variance for name, share in quantity.budget.items()}
    shares = {name: share for name, share in shares.items() if share > _ROUNDING}
    return dict(sorted(shares.items(), key=lambda item: -item[1]))
