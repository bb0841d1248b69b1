"""Which bath, density and cathode efficiency hold for a metal, and where they come from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import TYPE_CHECKING

from areakit.errors import InputError
from areakit.flags import Flag, flag
from areakit.plating import efficiency as efficiencies
from areakit.plating.deposit import Chemistry, chemistry, table_density
from areakit.plating.findings import Finding
from areakit.plating.metals import Bath, all_baths, find_figure
from areakit.plating.metals import bath as find_bath
from areakit.plating.premise import Origin, Premise, given
from areakit.plating.solutions import Solution, default_bath, read_factor
from areakit.service.entries import read_premise
from areakit.uncertainty import COVERAGE_FACTOR, Measured, normalised_error, surer
from areakit.units import parse_with_tolerance, show

if TYPE_CHECKING:
    from areakit.records.recorded_factor import RecordedFactor


@dataclass(frozen=True, slots=True, kw_only=True)
class BathEntry:
    """Bath, density and efficiency chosen for a metal, and what there is to say about the choice."""

    chemistry: Chemistry
    solution: Solution | None
    flags: tuple[Flag, ...] = ()
    findings: tuple[Finding, ...] = ()


def choose_bath(
    metal: str,
    *,
    method: str | None,
    bath: str | None = None,
    efficiency: str | None = None,
    factor: str | None = None,
    density: str | None = None,
    solution: Solution | None = None,
    own: RecordedFactor | None = None,
) -> BathEntry:
    """Return bath, density and efficiency for a metal, from what was typed, a solution's label, or a stated default.

    InputError if nothing says the efficiency and no published default exists; RangeError if a plating factor implies
    the impossible.

    Parameters
    ----------
    own : RecordedFactor, optional
        What the record says of the solution: it takes the place of an efficiency that is not as sure.
    """
    if efficiency is not None and factor is not None:
        raise InputError(
            f"{metal.capitalize()} was given an efficiency and a plating factor.", remedy="Give only one of them."
        )
    picked = _picked_row(metal, efficiency, bath)
    chosen = picked or _named_bath(metal, bath, solution, method)
    thickness_of = read_premise(density, "density", f"{metal} density") if density else table_density(chosen)
    rho = thickness_of.quantity
    mine = own.premise(chosen) if own is not None else None
    try:
        stated = _stated(chosen, picked, rho, method=method, efficiency=efficiency, factor=factor, solution=solution)
    except InputError:
        if mine is None:
            raise
        stated = None
    if own is not None and mine is not None and (stated is None or _outweighs(mine, stated.premise)):
        stated = _own(own, mine, chosen, instead=stated)
    elif own is not None and mine is not None and stated is not None:
        stated = replace(stated, flags=(*stated.flags, _wider(own, mine, chosen)))
    assert stated is not None
    found, flags, findings = stated.premise, list(stated.flags), stated.findings
    if method != "brush":  # the tables' ranges are those of tank baths
        flags += _outside_range(chosen, found)
    return BathEntry(
        chemistry=chemistry(chosen, found, density=thickness_of),
        solution=solution,
        flags=tuple(flags),
        findings=tuple(findings),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stated:
    """An efficiency with what there is to say about it."""

    premise: Premise
    flags: tuple[Flag, ...] = ()
    findings: tuple[Finding, ...] = ()


def _stated(
    chosen: Bath,
    picked: Bath | None,
    rho: Measured,
    *,
    method: str | None,
    efficiency: str | None,
    factor: str | None,
    solution: Solution | None,
) -> _Stated:
    """Return the efficiency that was typed, else the label's, else a stated default."""
    told = solution.findings if solution else ()
    if picked is not None:
        return _Stated(premise=efficiencies.named_row(picked, density=rho), findings=told)
    if efficiency is not None:
        found, flags = _typed_efficiency(chosen, efficiency)
        return _Stated(premise=found, flags=tuple(flags), findings=told)
    if factor is not None:
        found, judged = _typed_factor(chosen, factor, rho)
        return _Stated(premise=found, findings=judged)
    if solution is not None and solution.plating_factor is not None:
        renamed = _renamed(solution.plating_factor, chosen.metal)
        found = efficiencies.from_factor(chosen, renamed, density=rho, origin=_label(solution))
        return _Stated(premise=found, findings=told)
    if solution is not None and solution.efficiency is not None:
        value, standard = solution.efficiency.value, solution.efficiency.standard_uncertainty
        found = efficiencies.entered(chosen, value, standard=standard, origin=_label(solution))
        return _Stated(premise=found, findings=told)
    found = efficiencies.stated_default(chosen, method=method, density=rho)
    return _Stated(premise=found, flags=(_default_flag(chosen.metal, found, method),), findings=told)


def _outweighs(mine: Premise, other: Premise) -> bool:
    """Tell whether an own efficiency takes the place of another: it is surer, or the runs contradict the other."""
    return surer(mine.quantity, other.quantity) or abs(normalised_error(mine.quantity, other.quantity)) > 1.0


def _own(own: RecordedFactor, mine: Premise, chosen: Bath, *, instead: _Stated | None) -> _Stated:
    """Return the shop's own efficiency, and say in place of what it stands and whether the two agree."""
    assert own.factor is not None
    words, metal = mine.origin.text, chosen.metal
    other = "; nothing else is known"
    if instead is not None:
        before = instead.premise
        e_n = normalised_error(mine.quantity, before.quantity)
        why = f"which the runs contradict (E_n {e_n:+.1f})" if abs(e_n) > 1.0 else "which is less certain"
        other = f", in place of {show(before.quantity, '%')} ({before.origin.text.partition(';')[0]}), {why}"
    told = [flag("OWN_FACTOR", metal=metal.capitalize(), value=show(mine.quantity, "%"), words=words, other=other)]
    if own.factor.outliers:
        runs = ", ".join(one.run for one in own.factor.outliers)
        told.append(flag("OWN_FACTOR_OUTLIERS", metal=metal, runs=runs))
    premise = Premise(name=mine.name, quantity=mine.quantity, origin=replace(mine.origin, text=f"{words}{other}"))
    return _Stated(premise=premise, flags=tuple(told))


def _wider(own: RecordedFactor, mine: Premise, chosen: Bath) -> Flag:
    assert own.factor is not None
    runs = f"{len(own.factor.runs)} runs of {own.basis}"
    return flag("OWN_FACTOR_WIDER", metal=chosen.metal, value=show(mine.quantity, "%"), runs=runs)


def _default_flag(metal: str, found: Premise, method: str | None) -> Flag:
    if method != "brush":
        return flag("STATED_DEFAULT", figure=found.name.capitalize(), value=f"{found.value * 100:.0f} %")
    reach = sqrt(3.0) * found.quantity.standard_uncertainty
    low, high = (f"{end * 100:.0f} %" for end in (found.value - reach, found.value + reach))
    return flag("BRUSH_EFFICIENCY_SPAN", metal=metal, low=low, high=high)


def _picked_row(metal: str, efficiency: str | None, bath: str | None) -> Bath | None:
    """Return the bath whose table row the user picked by name; None where the efficiency is a number or missing."""
    if efficiency is None or (any(letter.isdigit() for letter in efficiency) and efficiency not in all_baths()):
        return None
    word = efficiency.strip().lower()
    if word == "handbook":
        named = find_figure(bath or "", "plating_factor")
        return find_bath(bath) if bath and named is not None else efficiencies.handbook_bath(metal)
    row = find_bath(word)
    if row.metal != metal:
        raise InputError(f"{word} deposits {row.metal}, not {metal}.", remedy="Pick a row of the same metal.")
    return row


def _named_bath(metal: str, bath: str | None, solution: Solution | None, method: str | None) -> Bath:
    if solution is not None and solution.metal != metal:
        raise InputError(
            f"The solution {solution.key} deposits {solution.metal}, not {metal}.", remedy="Choose another solution."
        )
    if bath is None:
        return solution.bath if solution is not None else default_bath(metal, method)
    row = find_bath(bath)
    if row.metal != metal:
        raise InputError(f"The bath {bath} deposits {row.metal}, not {metal}.", remedy="Choose another bath.")
    return row


def _typed_efficiency(bath: Bath, text: str) -> tuple[Premise, list[Flag]]:
    value, tolerance = parse_with_tolerance(text, "ratio")
    found = efficiencies.entered(bath, value, standard=(tolerance or 0.0) / COVERAGE_FACTOR)
    told = [] if tolerance is not None else [flag("EFFICIENCY_WITHOUT_UNCERTAINTY", metal=bath.metal)]
    return found, told


def _typed_factor(bath: Bath, text: str, density: Measured) -> tuple[Premise, tuple[Finding, ...]]:
    factor, unit = read_factor(text)
    found = efficiencies.from_factor(
        bath, _renamed(factor, bath.metal), density=density, origin=given(f"plating factor {text} as entered")
    )
    finding = efficiencies.judge_factor(bath, factor, density=density.value, unit=unit)
    return found, (finding,) if finding else ()


def _renamed(factor: Measured, metal: str) -> Measured:
    name = f"{metal} plating factor"
    return Measured(value=factor.value, unit=factor.unit, budget={name: factor.standard_uncertainty})


def _label(solution: Solution) -> Origin:
    return given(f"label of solution {solution.key}")


def _outside_range(bath: Bath, found: Premise) -> list[Flag]:
    """Return a flag where an entered efficiency lies outside the range that the tables hold for its bath."""
    low, high = (find_figure(bath.key, f"cathode_efficiency_{end}") for end in ("low", "high"))
    if found.origin.kind != "given" or low is None or high is None:
        return []
    percent = found.value * 100
    if low.value <= percent <= high.value:
        return []
    name = f"The {bath.metal} efficiency of {percent:.3g} %"
    return [flag("ABOVE_SOURCE_RANGE", figure=name, low=f"{low.value:g} %", high=f"{high.value:g} %")]
