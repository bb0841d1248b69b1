"""What a charge, or a weight gain, says about one part: thickness, mass, cathode efficiency."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from areakit.errors import InputError, RangeError
from areakit.flags import Flag, flag
from areakit.plating import deposit as formulas
from areakit.plating.deposit import Chemistry, square_metres, table_density
from areakit.plating.findings import Finding
from areakit.plating.metals import Bath
from areakit.plating.metals import bath as find_bath
from areakit.plating.premise import Premise, given
from areakit.plating.process import Caution, all_cautions
from areakit.plating.solutions import default_bath
from areakit.records.codec import as_json, charge_json, picked
from areakit.records.plan_json import distribution_json
from areakit.service.bath_entry import BathEntry, choose_bath
from areakit.service.entries import AreaEntry, choose_solution, read_area, read_quantity
from areakit.service.plan_layer import allowance_of
from areakit.service.plan_request import DepositRequest as DepositRequest
from areakit.service.spread import footprint_entry, predict_spread, sized
from areakit.uncertainty import Measured, exact, propagate

if TYPE_CHECKING:
    from areakit.plating.spread import Spread

logger = logging.getLogger(__name__)

SCHEMA = "areakit.deposit/1"
_QUANTITIES = (
    "area", "mass", "mean", "minimum", "weighed_mass", "weighed_mean", "weighed_minimum", "coupon_efficiency",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Deposit:
    """The answer, in SI; None where the request did not hold what it takes.

    ``mean`` and ``minimum`` rest on the charge where there is one; ``weighed_*`` on the weight gain.
    ``coupon_efficiency`` is what weight gain and charge together say; ``spread`` the distribution behind the minimum.
    """

    bath: Bath
    area: Measured | None
    charge: Measured | None
    mass: Measured | None
    mean: Measured | None
    minimum: Measured | None
    weighed_mass: Measured | None
    weighed_mean: Measured | None
    weighed_minimum: Measured | None
    coupon_efficiency: Measured | None
    premises: tuple[Premise, ...]
    findings: tuple[Finding, ...]
    flags: tuple[Flag, ...]
    cautions: tuple[Caution, ...]
    spread: Spread | None = None


_NAMED = ("efficiency", "factor", "density", "bath", "solution", "allowance")
"""Entries that a plan takes by metal; a deposit has one metal, and takes them with its name or without."""


def _of_the_metal(request: DepositRequest) -> DepositRequest:
    entries = {name: getattr(request, name) for name in _NAMED}
    bare: dict[str, Any] = {
        name: text.removeprefix(f"{request.metal}=") for name, text in entries.items() if isinstance(text, str)
    }
    return replace(request, **bare)


def deposit(request: DepositRequest) -> Deposit:
    """Return what a charge or a weight gain says.

    InputError if there is neither a charge nor a weight gain, or a charge without a known efficiency and nothing
    weighed; RangeError if the figures imply the impossible.
    """
    spread_request, footprint = sized(request.spread, request.footprint)
    request = _of_the_metal(request)
    request = replace(request, spread=spread_request, footprint=footprint)
    area = _area(request)
    charge = _charge(request)
    _refuse_idle(request, area=area is not None, charge=charge is not None)
    weighed = read_quantity(request.weighed, "mass", "weighing") if request.weighed else None
    if charge is None and weighed is None:
        raise InputError(
            "There is neither a charge nor a weight gain.",
            remedy="Give the charge, the current and the time, or what was weighed.",
            fields={"charge": "3.2 A.min", "current": "", "time": "", "weighed": "38 mg"},
        )
    wet = square_metres(area.area) if area else None
    spread, told = _after_passes(request, *_spread(request, wet), wet=wet)
    if (not told or request.method == "tank") and (spread is None or spread.lanes is None):
        typed = {"footprint": footprint or spread_request.footprint_size, "hand_speed": request.hand_speed}
        _refuse_given(typed, "matters only for lanes of a brush over an outline")
    allowance = allowance_of(request.allowance, request.metal, request.method, spread)
    bath, entry = _bath(request, charge, weighed)
    density = entry.chemistry.density if entry else _density(request, bath)
    mass, mean = _by_charge(entry.chemistry if entry else None, charge, wet)
    by_weight = (
        formulas.thickness_for_mass(mass=weighed, area=wet, density=density.quantity) if weighed and wet else None
    )
    coupon = formulas.efficiency_for_coupon(bath, mass=weighed, charge=charge) if weighed and charge else None
    logger.info("worked out a deposit of %s", bath.metal)
    premises = _premises(
        area=area, wet=wet, entry=entry, density=density, allowance=allowance, thickness=mean or by_weight
    )
    return Deposit(
        bath=bath,
        area=wet,
        charge=charge,
        mass=mass,
        mean=mean,
        minimum=formulas.minimum_for_mean(mean, allowance.quantity) if mean else None,
        weighed_mass=weighed,
        weighed_mean=by_weight,
        weighed_minimum=formulas.minimum_for_mean(by_weight, allowance.quantity) if by_weight else None,
        coupon_efficiency=coupon,
        premises=premises,
        findings=entry.findings if entry else (),
        flags=(*told, *_flags(area, entry, premises)),
        spread=spread,
        cautions=tuple(
            all_cautions()[key] for key in dict.fromkeys([*bath.contains, "electricity", "waste", "general"])
        ),
    )


def _refuse_idle(request: DepositRequest, *, area: bool, charge: bool) -> None:
    """Refuse entries that would change nothing, since whoever made them expects that they do."""
    if not area:
        typed = {"area_uncertainty": request.area_uncertainty, "part": request.part, "allowance": request.allowance}
        if request.factor is None:
            typed["density"] = request.density
        _refuse_given(typed, "is about a part with an area, and there is none")
    if not charge:
        typed = {"efficiency": request.efficiency, "factor": request.factor}
        _refuse_given(typed, "is about a charge, and there is none")


def _refuse_given(typed: Mapping[str, object], why: str) -> None:
    for name, value in typed.items():
        if value is not None:
            words = f"What was said of {name.replace('_', ' ')} {why}."
            raise InputError(words, remedy="Leave it out.", fields={name: ""})


def _area(request: DepositRequest) -> AreaEntry | None:
    if request.area is None and request.measured is None:
        return None
    return read_area(
        area=request.area, area_uncertainty=request.area_uncertainty, measured=request.measured, part=request.part
    )


def _charge(request: DepositRequest) -> Measured | None:
    """Return the charge as metered, or as current times time."""
    if request.charge is not None:
        if request.current is not None or request.time is not None:
            raise InputError(
                "The charge was given twice.",
                remedy="Give the charge, or the current and the time.",
                fields={"charge": "", "current": "", "time": ""},
            )
        charge = read_quantity(request.charge, "charge", "charge metering")
    elif request.current is not None and request.time is not None:
        current = read_quantity(request.current, "current", "current")
        time = read_quantity(request.time, "time", "time")
        charge = propagate(lambda i, t: i * t, current, time, unit="C")
    elif request.current is not None or request.time is not None:
        raise InputError(
            "A charge takes both current and time.",
            remedy="Give the current and the time, or the charge.",
            fields={"current": "", "time": "", "charge": ""},
        )
    else:
        return None
    if not charge.value > 0:
        raise InputError("The charge must be above zero.", remedy='Write it as "3.2 A.min".')
    return charge


def _bath(request: DepositRequest, charge: Measured | None, weighed: Measured | None) -> tuple[Bath, BathEntry | None]:
    """Return the bath, and its efficiency where one is known or needed: a weighed coupon needs none."""
    solution = choose_solution(request.solution, request.solutions)
    said = request.efficiency or request.factor or solution
    if charge is None or (weighed is not None and not said):
        bath = (
            find_bath(request.bath)
            if request.bath
            else (solution.bath if solution else default_bath(request.metal, request.method))
        )
        if bath.metal != request.metal:
            raise InputError(f"The bath {bath.key} deposits {bath.metal}.", remedy="Name the metal of the bath.")
        return bath, None
    entry = choose_bath(
        request.metal,
        method=request.method,
        bath=request.bath,
        efficiency=request.efficiency,
        factor=request.factor,
        density=request.density,
        solution=solution,
    )
    return entry.chemistry.bath, entry


def _density(request: DepositRequest, bath: Bath) -> Premise:
    if request.density is None:
        return table_density(bath)
    name = f"{bath.metal} density"
    return Premise(name=name, quantity=read_quantity(request.density, "density", name), origin=given())


def _spread(request: DepositRequest, wet: Measured | None) -> tuple[Spread | None, tuple[Flag, ...]]:
    if request.allowance is not None and not request.spread.asks:
        return None, ()
    current = None if request.current is None else read_quantity(request.current, "current", "current").value
    return predict_spread(
        request.spread,
        request.method,
        measured=request.measured,
        part=request.part,
        footprint=footprint_entry(request.spread, request.footprint, request.method),
        hand_speed=request.hand_speed,
        current_density=None if current is None or wet is None else current / wet.value,
    )


def _after_passes(
    request: DepositRequest, spread: Spread | None, told: tuple[Flag, ...], *, wet: Measured | None
) -> tuple[Spread | None, tuple[Flag, ...]]:
    """Return the distribution after the passes that were made: as said, by the time they took, or as usual."""
    if spread is None or spread.lanes is None:
        if request.passes is not None:
            raise InputError(
                "The passes matter only for lanes of a brush over an outline.",
                remedy="Leave them out.",
                fields={"passes": ""},
            )
        return spread, told
    if request.passes is not None:
        count = read_quantity(request.passes, "number", "passes")
        if not count.value >= 1.0:
            raise RangeError(f"{count.value:g} passes are less than one.", remedy="Give the number of brush-overs.")
        return spread.at_passes(count), told
    if request.time is None or wet is None:
        from areakit.plating.scatter import USUAL_PASSES  # brings shapely

        return spread, (*told, flag("PASSES_ASSUMED", passes=USUAL_PASSES))
    each = spread.lanes.seconds.value * wet.value / spread.lanes.area
    count = exact(max(1.0, read_quantity(request.time, "time", "time").value / each), "1")
    return spread.at_passes(count), told


def _by_charge(
    chemistry: Chemistry | None, charge: Measured | None, area: Measured | None
) -> tuple[Measured | None, Measured | None]:
    if chemistry is None or charge is None:
        return None, None
    mass = formulas.mass_for_charge(chemistry, charge=charge)
    mean = formulas.thickness_for_charge(chemistry, charge=charge, area=area) if area else None
    return mass, mean


def _premises(
    *,
    area: AreaEntry | None,
    wet: Measured | None,
    entry: BathEntry | None,
    density: Premise,
    allowance: Premise,
    thickness: Measured | None,
) -> tuple[Premise, ...]:
    found = []
    if area is not None and wet is not None:
        found.append(Premise(name="area of one piece", quantity=wet, origin=area.origin))
    if entry is not None:
        found += [entry.chemistry.molar_mass, entry.chemistry.electrons_per_ion]
        found.append(entry.chemistry.efficiency)
    if thickness is not None:
        found += [density, allowance]
    return tuple(found)


def _flags(area: AreaEntry | None, entry: BathEntry | None, premises: tuple[Premise, ...]) -> tuple[Flag, ...]:
    unverified = [
        flag("UNVERIFIED_FIGURE", figure=premise.name[:1].upper() + premise.name[1:], note=premise.origin.text)
        for premise in premises
        if premise.origin.kind == "unverified"
    ]
    return (*(area.flags if area else ()), *(entry.flags if entry else ()), *unverified)


def deposit_as_json(answer: Deposit) -> dict[str, Any]:
    """Return an answer as one JSON object; ``shares`` tells for each quantity which input moves it how much."""
    found = {name: getattr(answer, name) for name in _QUANTITIES}
    return {
        "schema": SCHEMA,
        "metal": answer.bath.metal,
        "bath": answer.bath.key,
        "charge": charge_json(answer.charge) if answer.charge else None,
        **as_json(found),
        "shares": {name: formulas.variance_shares(one) for name, one in found.items() if one is not None},
        **picked(answer, "premises", "findings", "flags", "cautions"),
        "distribution": distribution_json(answer.spread),
    }
