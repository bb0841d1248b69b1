"""Where a cathode efficiency comes from, and whether a plating factor, charge per area and thickness, can be right."""

from __future__ import annotations

import re
from math import sqrt

from areakit.errors import InputError, RangeError
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
from areakit.plating.findings import Finding
from areakit.plating.metals import Bath, all_baths, figure, find_figure, range_figure
from areakit.plating.premise import Origin, OriginKind, Premise, from_figure, given
from areakit.sources import source
from areakit.uncertainty import Measured, propagate
from areakit.units import si_factor

HIGHEST, LOWEST = 1.0, 0.05
"""Outside these an implied efficiency is flagged: above, Faraday forbids it; below, a slip is likelier than a bath."""
# What a slip multiplies the entered factor by, and how to say it.
_SLIPS = (
    (10.0, "a factor of ten too small"),
    (0.1, "a factor of ten too large"),
    (60.0, "the number fits A·h, not A·min"),
    (1 / 60.0, "the number fits A·min, not A·h"),
    (100.0, "a factor of a hundred too small (cm² against dm²)"),
    (0.01, "a factor of a hundred too large (dm² against cm²)"),
)
FACTOR_UNITS = ("A.h/in3", "A.h/in2/0.0001in", "A.min/dm2/um")


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


def half_digit(text: str) -> float:
    """Return half a unit of the last printed digit of the number that a text starts with: 0.0005 for ``0.006``."""
    match = re.match(r"\s*[+-]?(\d*)(?:[.,](\d+))?(?:[eE]([+-]?\d+))?", text)
    decimals = len(match.group(2) or "") if match else 0
    exponent = int(match.group(3) or 0) if match else 0
    return float(0.5 * 10.0 ** (exponent - decimals))


def from_factor(bath: Bath, factor: Measured, *, density: Measured, origin: Origin) -> Premise:
    """Return the cathode efficiency that a plating factor [C/m3] implies.

    The density enters with its budget, so it cancels where the factor is turned back into charge. A factor that implies
    more than 100 %, but not beyond its printed digits, is taken as 100 %.

    Raises RangeError if the implied efficiency is impossible; the message names the likely slip.
    """
    name = f"{bath.metal} plating factor"
    implied = propagate(lambda f, rho: _implied(bath, f, rho), factor, density, unit="1")
    finding = judge_factor(bath, factor, density=density.value)
    if finding is not None and implied.value > HIGHEST:
        raise RangeError(finding.message, remedy=finding.remedy, fields=finding.fields)
    quantity = Measured(value=min(implied.value, HIGHEST), unit="1", budget=implied.budget)
    words = f"{implied.value * 100:.0f} % implied by the {name}; {origin.text}"
    return _premise(bath, quantity, words, origin.kind, origin.source)


def judge_factor(bath: Bath, factor: Measured, *, density: float, unit: str | None = None) -> Finding | None:
    """Return a finding where a plating factor [C/m3] implies more than 100 % or less than 5 %; else None.

    Printed digits are allowed for: the uncertainty of the factor is a rectangular half digit.
    """
    implied = _implied(bath, factor.value, density)
    reach = sqrt(3.0) * factor.standard_uncertainty / factor.value
    if implied / (1.0 + reach) <= HIGHEST and implied >= LOWEST:
        return None
    side = "above 100 %" if implied > HIGHEST else "below 5 %"
    slips = likely_slips(bath, factor.value, density=density, unit=unit)
    slip = f"Likely slip: {'; or '.join(slips)}." if slips else "No single slip explains it."
    return Finding(
        code="FACTOR_IMPLAUSIBLE",
        severity="stop" if implied > HIGHEST else "check",
        message=f"The {bath.metal} plating factor implies a cathode efficiency of {_percent(implied)}, {side}.",
        why="Faraday's law gives the smallest charge per volume of deposit; a good factor lies above it, not far "
        "above.",
        source="si",
        remedy=f"{slip} Check the label's number, unit and valence.",
    )


def likely_slips(bath: Bath, factor: float, *, density: float, unit: str | None = None) -> list[str]:
    """Return, in words, the single slips that would bring the implied efficiency into its usual range."""
    found: list[str] = []
    electrons = figure(bath.key, "electrons_per_ion").value
    for other in all_baths().values():
        valence = figure(other.key, "electrons_per_ion").value
        if other.metal == bath.metal and valence != electrons:
            words = f"valence ({bath.metal} with {valence:g} electrons per ion instead of {electrons:g})"
            if _plausible(_implied(bath, factor, density) * valence / electrons) and words not in found:
                found.append(words)
    for code in FACTOR_UNITS:
        ratio = si_factor(code) / si_factor(unit) if unit else 1.0
        if unit and code != unit and _plausible(_implied(bath, factor * ratio, density)):
            found.append(f"unit (the number fits {code}, not {unit})")
    for times, words in _SLIPS:
        if _plausible(_implied(bath, factor * times, density)):
            found.append(words)
    return found[:3]


def _implied(bath: Bath, factor: float, density: float) -> float:
    return implied_efficiency(
        plating_factor=factor,
        density=density,
        molar_mass=figure(bath.metal, "molar_mass").measured().value,
        electrons_per_ion=figure(bath.key, "electrons_per_ion").value,
    )


def _premise(bath: Bath, quantity: Measured, words: str, kind: OriginKind, key: str | None) -> Premise:
    origin = Origin(kind=kind, text=words, source=key)
    return Premise(name=f"{bath.metal} efficiency", quantity=quantity, origin=origin)


def _percent(share: float) -> str:
    return f"{share * 100:.0f} %" if share >= 0.1 else f"{share * 100:.2g} %"


def _plausible(efficiency: float) -> bool:
    return 0.2 <= efficiency <= HIGHEST


def stated_default(bath: Bath, *, method: str | None = None, density: Measured) -> Premise:
    """Return a published efficiency as a stated default; refuse where there is none of this bath and method.

    In a tank that is the published range of the bath. By brush it is the span of all published factors of the metal,
    where there are several: solutions differ, and the label alone says which one stands on the bench. A single factor
    is never taken unasked, because it says nothing of another maker's solution.

    Raises InputError for a bath without a published range, gold above all.
    """
    if method == "tank" and bath.for_brush:
        raise _nothing_to_assume(bath)
    if method == "brush" or bath.for_brush:
        return _brush_span(bath, density)
    low = find_figure(bath.key, "cathode_efficiency_low")
    quantity = range_figure(bath.key, "cathode_efficiency", name=f"{bath.metal} efficiency")
    if low is None or quantity is None or low.kind != "published":
        raise _nothing_to_assume(bath)
    high = figure(bath.key, "cathode_efficiency_high")
    words = f"stated default, range {low.value:g} to {high.value:g} %: {source(low.source).citation}"
    return _premise(bath, quantity, words, low.kind, low.source)


def _nothing_to_assume(bath: Bath) -> InputError:
    return InputError(
        f"No cathode efficiency was given for {bath.metal}, and there is no published value to assume.",
        remedy="Measure it on a weighed coupon, or give it, or the factor or the solution of the "
        "label, or pick a row of the tables by its name, such as handbook.",
        fields={"areakit deposit --weighed": "", f"efficiency.{bath.metal}": "72% ± 6%", "factor": "", "solution": ""},
    )


def brush_rows(metal: str, *, density: Measured) -> tuple[Premise, ...]:
    """Return the efficiency that each published brush factor of a metal implies, lowest first."""
    baths = [
        one
        for one in all_baths().values()
        if one.metal == metal and one.for_brush and find_figure(one.key, "plating_factor") is not None
    ]
    return tuple(sorted((named_row(one, density=density) for one in baths), key=lambda row: row.value))


def _brush_span(bath: Bath, density: Measured) -> Premise:
    """Return the middle of the published brush factors of a metal, the whole span in its uncertainty.

    Sources: [asmsel] and [mfg349] factors; [gum] 4.3.7: between the ends, nothing is known.
    """
    rows = brush_rows(bath.metal, density=density)
    if len(rows) < 2:
        raise _nothing_to_assume(bath)
    low, high = rows[0].value, rows[-1].value
    name = f"{bath.metal} efficiency"
    listed = ", ".join(f"{row.value * 100:.0f}" for row in rows)
    words = f"middle of the published brush factors, which imply {listed} %; ± spans them all: {_citations(rows)}"
    quantity = Measured(value=(low + high) / 2, unit="1", budget={name: (high - low) / 2 / sqrt(3.0)})
    return _premise(bath, quantity, words, "published", rows[0].origin.source)


def _citations(rows: tuple[Premise, ...]) -> str:
    return " and ".join(dict.fromkeys(source(row.origin.source or "practice").citation for row in rows))


def named_row(bath: Bath, *, density: Measured) -> Premise:
    """Return the efficiency of a bath's table row, because the user picked the row by name."""
    row = find_figure(bath.key, "plating_factor")
    if row is not None:
        factor = row.measured(f"{bath.metal} plating factor")
        reach = row.standard_uncertainty * sqrt(3.0) / row.value
        origin = from_figure(row)
        premise = from_factor(bath, factor, density=density, origin=origin)
        low, high = premise.value / (1 + reach), premise.value / (1 - reach)
        words = f"{premise.origin.text}; {low * 100:.0f} to {min(high, 1.0) * 100:.0f} % for the printed digits"
        return _premise(bath, premise.quantity, words, origin.kind, origin.source)
    low_row = find_figure(bath.key, "cathode_efficiency_low")
    quantity = range_figure(bath.key, "cathode_efficiency", name=f"{bath.metal} efficiency")
    if low_row is None or quantity is None:
        raise InputError(
            f"The tables hold no efficiency for the bath {bath.key}.",
            remedy="Give a value, or measure it on a weighed coupon.",
            fields={f"efficiency.{bath.metal}": "72% ± 6%"},
        )
    high_row = figure(bath.key, "cathode_efficiency_high")
    words = f"picked table row, {low_row.value:g} to {high_row.value:g} %: {source(low_row.source).citation}"
    return _premise(bath, quantity, words, low_row.kind, low_row.source)


def handbook_bath(metal: str) -> Bath:
    """Return the one bath whose plating factor the selective-plating handbook table gives for a metal."""
    found = [
        candidate
        for candidate in all_baths().values()
        if candidate.metal == metal
        and (row := find_figure(candidate.key, "plating_factor")) is not None
        and row.source == "asmsel"
    ]
    if len(found) == 1:
        return found[0]
    if not found:
        raise InputError(
            f"The handbook table holds no plating factor for {metal}.", remedy="Give the efficiency as a value."
        )
    names = ", ".join(candidate.key for candidate in found)
    raise InputError(
        f"The handbook table holds {len(found)} rows for {metal}: {names}.",
        remedy="Pick one.",
        fields={f"efficiency.{metal}": found[0].key},
    )


def entered(bath: Bath, value: float, *, standard: float, origin: Origin | None = None) -> Premise:
    """Return an efficiency as the user gave it."""
    check_ratio(value, f"{bath.metal} cathode efficiency")
    name = f"{bath.metal} efficiency"
    return Premise(
        name=name, quantity=Measured(value=value, unit="1", budget={name: standard}), origin=origin or given()
    )
