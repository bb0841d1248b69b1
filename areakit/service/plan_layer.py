"""One layer of a plan, as typed, labelled or from tables: thickness, bath, current density, voltage, solution used."""

from __future__ import annotations

from typing import TYPE_CHECKING

from areakit.errors import RangeError
from areakit.plating.allowance import Method, default_allowance, entered_allowance
from areakit.plating.consumption import SolutionUse
from areakit.plating.metals import Bath, figure, find_figure
from areakit.plating.plan import Layer
from areakit.plating.premise import Origin, Premise, from_figure, given, premise_of, premise_of_range
from areakit.plating.process import voltage_window
from areakit.plating.requirements import Requirement
from areakit.plating.run import AllowedDensity, table_allowed
from areakit.plating.solutions import Solution, default_bath
from areakit.service.bath_entry import BathEntry, choose_bath
from areakit.service.coupon_entry import read_coupon
from areakit.service.entries import choose_solution, per_metal, read_premise, read_quantity
from areakit.sources import source
from areakit.uncertainty import exact, propagate

if TYPE_CHECKING:
    from areakit.plating.spread import Spread
    from areakit.service.plan_request import PlanRequest


def layer_of(
    request: PlanRequest,
    method: Method,
    metal: str,
    *,
    standard: Requirement | None,
    spread: Spread | None,
    footprint: Premise | None = None,
) -> Layer:
    """Return the layer of one metal: what the request says, else the solution's label, else the tables.

    Raises
    ------
    InputError
        If a text cannot be read, or names a bath or solution that there is not.
    RangeError
        If a thickness or current density is not above zero.
    """
    chosen = _chosen(request, method, metal)
    solution = chosen.solution
    minimum, mean = _thickness(request.layers.get(metal), metal, standard)
    allowed = _allowed_density(method, chosen)
    return Layer(
        metal=metal,
        chemistry=chosen.chemistry,
        allowance=allowance_of(per_metal(request.allowance, metal), metal, method, spread),
        use=_use(request, method, chosen, footprint),
        minimum=minimum,
        mean=mean,
        standard=standard,
        current_density=_current_density(request, method, metal=metal, chosen=chosen, allowed=allowed),
        allowed=allowed,
        voltage=_voltage(method, metal, chosen),
        solution=solution.title if solution else None,
        contains=solution.contains if solution else (),
        flags=chosen.flags,
        findings=chosen.findings,
        predicted=spread is not None and per_metal(request.allowance, metal) is None,
        coupon=read_coupon(request.coupons[metal], metal) if metal in request.coupons else None,
    )


def _chosen(request: PlanRequest, method: Method, metal: str) -> BathEntry:
    return choose_bath(
        metal,
        method=method,
        bath=per_metal(request.bath, metal),
        efficiency=per_metal(request.efficiency, metal),
        factor=per_metal(request.factor, metal),
        density=per_metal(request.density, metal),
        solution=choose_solution(per_metal(request.solution, metal), request.solutions),
        own=request.own.get(metal),
    )


def _thickness(text: str | None, metal: str, standard: Requirement | None) -> tuple[Premise | None, Premise | None]:
    """Return minimum and mean, one of them None: as typed, or the minimum that the requirement asks for."""
    if text is None:
        assert standard is not None
        assert standard.minimum is not None
        name = f"{metal} thickness, minimum"
        words = f"{standard.title}: {standard.origin.text}"
        origin = Origin(kind=standard.origin.kind, text=words, source=standard.origin.source)
        return Premise(name=name, quantity=standard.minimum, origin=origin), None
    words = text.strip()
    is_mean = words.lower().endswith("mean")
    value = read_quantity(words[: -len("mean")] if is_mean else words, "length", metal).value
    if not value > 0:
        raise RangeError(f"The {metal} thickness must be above zero.", remedy='Write it as "0.5 um".')
    premise = Premise(
        name=f"{metal} thickness, {'mean' if is_mean else 'minimum'}", quantity=exact(value, "m"), origin=given()
    )
    return (None, premise) if is_mean else (premise, None)


def allowance_of(text: str | None, metal: str, method: Method, spread: Spread | None) -> Premise:
    """Return mean over minimum thickness: as typed, else as predicted, else the usual one of the method."""
    if text is None:
        return spread.premise(metal) if spread is not None else default_allowance(method, metal)
    entered = read_quantity(text, "number", "allowance")
    return entered_allowance(entered.value, metal=metal, standard=entered.standard_uncertainty)


def _allowed_density(method: Method, chosen: BathEntry) -> AllowedDensity | None:
    if chosen.solution is not None and chosen.solution.current_density is not None:
        low, high = chosen.solution.current_density
        return AllowedDensity(low=low, high=high, origin=f"label of solution {chosen.solution.key}")
    bath = chosen.chemistry.bath
    return table_allowed(bath.key) if _fits(bath, method) else None


def _fits(bath: Bath, method: Method) -> bool:
    """Tell whether the range of a table for a bath speaks of this method: ranges of tanks say nothing of a brush."""
    return bath.for_brush == (method == "brush")


def _current_density(
    request: PlanRequest, method: Method, *, metal: str, chosen: BathEntry, allowed: AllowedDensity | None
) -> Premise | None:
    name = f"{metal} current density"
    text = per_metal(request.current_density, metal)
    if text is not None:
        premise = read_premise(text, "current density", name)
        if not premise.value > 0:
            raise RangeError(f"The {name} must be above zero.", remedy='Write it as "10 A/dm2".')
        return premise
    if allowed is not None and allowed.low is not None and allowed.high is not None:
        words = f"low end of the range {allowed.low / 100:.3g} to {allowed.high / 100:.3g} A/dm²: {allowed.origin}"
        row = find_figure(chosen.chemistry.bath.key, "current_density_low")
        labelled = chosen.solution is not None and chosen.solution.current_density is not None
        origin = given(words) if labelled or row is None else _as_kind(row.source, words)
        return Premise(name=name, quantity=exact(allowed.low, "A/m2"), origin=origin)
    return None


def tank_density(request: PlanRequest, metal: str) -> float | None:
    """Return the mean current density of a metal in a tank, as its layer will take it; None where nothing says it.

    [A/m2]
    """
    chosen = _chosen(request, "tank", metal)
    allowed = _allowed_density("tank", chosen)
    density = _current_density(request, "tank", metal=metal, chosen=chosen, allowed=allowed)
    return None if density is None else density.value


def _as_kind(key: str, words: str) -> Origin:
    return Origin(kind=source(key).kind, text=words, source=key)


def _voltage(method: Method, metal: str, chosen: BathEntry) -> tuple[Premise, Premise] | None:
    names = (f"Plate {metal}: lowest voltage", f"Plate {metal}: highest voltage")
    if chosen.solution is not None and chosen.solution.voltage is not None:
        low, high = chosen.solution.voltage
        origin = given(f"label of solution {chosen.solution.key}")
        return (
            Premise(name=names[0], quantity=exact(low, "V"), origin=origin),
            Premise(name=names[1], quantity=exact(high, "V"), origin=origin),
        )
    key = chosen.chemistry.bath.key
    return voltage_window(key if method == "tank" else f"{metal}-brush", f"Plate {metal}")


def _use(request: PlanRequest, method: Method, chosen: BathEntry, footprint: Premise | None) -> SolutionUse:
    bath, solution = chosen.chemistry.bath, chosen.solution
    metal = bath.metal
    sleeve = None
    if method == "brush":
        sleeve = _sleeve(request.sleeve, footprint)
    return SolutionUse(
        metal_content=_metal_content(request, bath, solution),
        usable_fraction=_usable_fraction(metal, solution),
        allowed_charge=_allowed_charge(bath, solution),
        sleeve_hold_up=sleeve,
        soluble_anode=method == "tank" and _soluble(bath, solution),
        drag_out=_entered_or_table(request.drag_out, "volume per area", "drag-out", row=(method, "drag_out")),
        recovered=tuple((place, read_quantity(text, "ratio", place).value) for place, text in request.recover.items()),
    )


def _soluble(bath: Bath, solution: Solution | None) -> bool:
    """Tell whether the anodes are of the metal: as the label says, else as is usual for the bath."""
    if solution is not None and solution.anode is not None:
        return solution.anode == "soluble"
    return bath.soluble_anode


def _sleeve(text: str | None, footprint: Premise | None) -> Premise:
    """Return what the sleeve holds: as entered, else in proportion to the footprint, else of a middling tool."""
    name = "sleeve hold-up"
    if text is not None or footprint is None:
        return _entered_or_table(text, "volume", name, row=("brush", "sleeve_hold_up"))
    row = figure("brush", "sleeve_hold_up_of_contact")
    quantity = propagate(lambda h, a: h * a, row.measured(name), footprint.quantity, unit="m3")
    words = f"{row.value:g} mL for each cm² of brush footprint; {from_figure(row).text}"
    return Premise(name=name, quantity=quantity, origin=Origin(kind=row.kind, text=words, source=row.source))


def _usable_fraction(metal: str, solution: Solution | None) -> Premise | None:
    name = f"{metal} usable fraction"
    labelled = _label(solution.usable_fraction if solution else None, "1", name, solution=solution)
    return labelled or premise_of_range(metal, "usable_fraction", name)


def _label(value: float | None, unit: str, name: str, *, solution: Solution | None) -> Premise | None:
    if value is None or solution is None:
        return None
    return Premise(name=name, quantity=exact(value, unit), origin=given(f"label of solution {solution.key}"))


def _metal_content(request: PlanRequest, bath: Bath, solution: Solution | None) -> Premise | None:
    name = f"{bath.metal} metal content"
    text = per_metal(request.metal_content, bath.metal)
    if text is not None:
        return read_premise(text, "concentration", name)
    labelled = _label(solution.metal_content if solution else None, "g/L", name, solution=solution)
    keys = (bath.key, bath.metal, default_bath(bath.metal).key)
    row = next((found for key in keys if (found := find_figure(key, "metal_content"))), None)
    return labelled or (premise_of(row, name) if row else None)


def _allowed_charge(bath: Bath, solution: Solution | None) -> Premise | None:
    name = f"{bath.metal} allowed charge"
    row = find_figure(bath.key, "allowed_charge")
    labelled = _label(solution.allowed_charge if solution else None, "C/m3", name, solution=solution)
    return labelled or (premise_of(row, name) if row else None)


def _entered_or_table(text: str | None, kind: str, name: str, *, row: tuple[str, str]) -> Premise:
    if text is not None:
        return read_premise(text, kind, name)
    return premise_of(figure(*row), name)
