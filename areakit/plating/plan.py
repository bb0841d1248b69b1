"""From an area, a process and its layers to a plan: charge, current, time, metal and solution for each step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from areakit.errors import InputError
from areakit.flags import Flag, flag
from areakit.plating import deposit
from areakit.plating.checks import CheckedLayer, check_sequence, check_stack
from areakit.plating.consumption import Consumption, SolutionUse, consume
from areakit.plating.coupon import Coupon, CouponRun, coupon_run
from areakit.plating.deposit import Chemistry
from areakit.plating.findings import Finding
from areakit.plating.hands import HandWork, hand_work, hands_finding
from areakit.plating.premise import Origin, Premise
from areakit.plating.preparation import check_preparation
from areakit.plating.process import Caution, Process, Step, cautions_for
from areakit.plating.requirements import Requirement
from areakit.plating.run import (
    AllowedDensity,
    Bench,
    BrushRun,
    SharedLoad,
    TankRun,
    brush_run,
    outside_allowed,
    tank_run,
)
from areakit.uncertainty import Measured, exact, total
from areakit.units import show, three_digits

if TYPE_CHECKING:
    from areakit.plating.spread import Spread

DEADLY = ("cyanide", "hexavalent-chromium", "fluoride")
"""Cautions that are told before all others, in this order."""
ROUNDS = 8
"""Rounds in which allowance and passes settle; the passes change by less than a millionth in the last."""
MOST_SPREAD = 2.0 / 3.0
"""Relative half-width of the 95 % interval of a minimum up to which the charge is raised: threefold. Own choice."""
USUAL_THICKEST = 200e-6
"""Plated layers are seldom thicker; common practice, no source. A layer in mm for µm lies far above. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer as ordered: how thick at least (or in the mean), from which bath, with which figures.

    ``minimum`` and ``mean`` are in m; exactly one is given, and the allowance turns one into the other.
    ``standard`` is the class or term that the layer is checked against. ``predicted`` says that the allowance is that
    of the order's distribution, which then follows the number of passes. ``coupon`` tells what a pass deposits by volts
    and watch.
    """

    metal: str
    chemistry: Chemistry
    allowance: Premise
    use: SolutionUse
    minimum: Premise | None = None
    mean: Premise | None = None
    standard: Requirement | None = None
    current_density: Premise | None = None
    allowed: AllowedDensity | None = None
    voltage: tuple[Premise, Premise] | None = None
    solution: str | None = None
    contains: tuple[str, ...] = ()
    flags: tuple[Flag, ...] = ()
    findings: tuple[Finding, ...] = ()
    predicted: bool = False
    coupon: Coupon | None = None

    def __post_init__(self) -> None:
        if (self.minimum is None) == (self.mean is None):
            raise InputError(
                f"The {self.metal} layer needs a minimum or a mean thickness, and only one of them.",
                remedy="Give its minimum, or its mean as in 0.5 um mean.",
                fields={f"layer.{self.metal}": "0.5 um"},
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is to be plated, and for whom. ``area`` is that of one piece, in mm2.

    ``spread`` is the distribution predicted over an outline, None where the allowances come from elsewhere.
    ``even_chance`` aims at the minimum itself, which half of such jobs then miss, not at a sure minimum. ``parts`` are
    the numbers of the equal parts that were measured, empty for a typed area. ``asked`` is what was asked for, as text,
    so that it can be asked again for other pieces. Where other kinds hang in the same load, ``shared_area`` is the area
    of one piece as the load knows it [m2], and ``charge_per_area`` the smallest charge by metal [C/m2].
    ``brush`` is the name of the brush in the shop profile, empty where none of it was taken.
    """

    area: Measured
    area_origin: Origin
    process: Process
    layers: tuple[Layer, ...]
    bench: Bench
    base: str | None = None
    market: str | None = None
    use: str | None = None
    meter_uncertainty: float = 0.0
    even_chance: bool = False
    flags: tuple[Flag, ...] = ()
    spread: Spread | None = None
    parts: tuple[int, ...] = ()
    asked: Mapping[str, Any] = field(default_factory=dict)
    shared_area: Measured | None = None
    charge_per_area: Mapping[str, float] = field(default_factory=dict)
    brush: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLayer:
    """One layer worked out, in SI.

    ``mean_target`` is raised so that the minimum is met with about 97 % confidence, unless an even chance was asked
    for. ``charge`` is the charge for it on one piece, with the uncertainty of what is really needed; ``charge_set`` is
    the number to run to. ``charge_even_chance`` would meet the minimum in half of such jobs, None where a mean was
    ordered. ``mean`` and ``minimum`` are what the charge to run reaches. ``by_volts`` is the way without an
    ampere-minute meter, None without a coupon. ``hands`` is what a layer by brush asks of the hand.
    """

    layer: Layer
    minimum_needed: float | None
    mean_target: float
    charge: Measured
    charge_set: float
    charge_even_chance: float | None
    charge_total: Measured
    mean: Measured
    minimum: Measured
    mass: Measured
    mass_total: Measured
    brush: BrushRun | None
    tank: TankRun | None
    consumption: Consumption
    by_volts: CouponRun | None = None
    hands: HandWork | None = None

    @property
    def mean_by_efficiency(self) -> tuple[Measured, Measured] | None:
        """Mean thickness [m] at the lower and upper end of the efficiency; None for an efficiency without spread."""
        eta = self.layer.chemistry.efficiency.quantity
        spread = eta.expanded_uncertainty / eta.value
        if spread == 0.0:
            return None
        mean = self.mean.value
        return exact(mean * max(0.0, 1.0 - spread), "m"), exact(mean * min(1.0 + spread, 1.0 / eta.value), "m")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """One step of the sequence, with its voltage range, its layer if it plates, and its cautions."""

    number: int
    step: Step
    voltage: tuple[Premise, Premise] | None
    layer: PlannedLayer | None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The whole sequence, the layers from the base upwards, the findings, the flags and every premise.

    ``shared`` are the loads, one a layer, in which other kinds of parts hang as well.
    """

    order: Order
    layers: tuple[PlannedLayer, ...]
    steps: tuple[PlannedStep, ...]
    findings: tuple[Finding, ...]
    flags: tuple[Flag, ...]
    premises: tuple[Premise, ...]
    charge_total: Measured
    shared: tuple[SharedLoad, ...] = ()

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Every caution of every step, each once; the deadly ones first."""
        once = dict.fromkeys(caution for step in self.steps for caution in step.cautions)
        first = {key: rank for rank, key in enumerate(DEADLY)}
        return tuple(sorted(once, key=lambda caution: first.get(caution.key, len(first))))


def make_plan(order: Order) -> Plan:
    """Return the plan for an order.

    Raises InputError if the layers are not those of the process; RangeError if a figure lies where no plan would mean
    anything.
    """
    layers = _in_process_order(order)
    area = order.shared_area or deposit.square_metres(order.area)
    planned, flags = [], [*order.flags]
    for layer in layers:
        result, raised = _plan_layer(order, layer, area)
        planned.append(result)
        flags += [*layer.flags, *raised]
    order = _at_fewest_passes(order, planned)
    premises = _premises(order, planned, area)
    flags += _unverified(premises)
    return Plan(
        order=order,
        layers=tuple(planned),
        steps=_plan_steps(order, planned),
        findings=_findings(order, planned),
        flags=tuple(dict.fromkeys(flags)),
        premises=premises,
        charge_total=total([result.charge_total for result in planned], "C"),
    )


def _at_fewest_passes(order: Order, planned: Sequence[PlannedLayer]) -> Order:
    """Return the order with the distribution of its most uneven layer, the one with the fewest passes."""
    settled = [one.layer.allowance for one in planned if one.layer.predicted and one.brush is not None]
    if order.spread is None or not settled:
        return order
    worst = max(settled, key=lambda allowance: allowance.value)
    return replace(order, spread=replace(order.spread, allowance=worst.quantity, origin=worst.origin))


def _in_process_order(order: Order) -> list[Layer]:
    given = {layer.metal: layer for layer in order.layers}
    wanted = order.process.metals
    missing = [metal for metal in wanted if metal not in given]
    if missing:
        hint = " (1.25 µm under gold is a usual working figure)" if missing[0] == "nickel" else ""
        raise InputError(
            f"The process {order.process.key} plates {missing[0]}, and no thickness was given for it.",
            remedy=f"Give its thickness{hint}, or choose another process.",
            fields={f"layer.{missing[0]}": "0.5 um"},
        )
    extra = [metal for metal in given if metal not in wanted]
    if extra:
        raise InputError(
            f"The process {order.process.key} does not plate {extra[0]}.",
            remedy=f"It plates {', '.join(wanted) or 'nothing'}; choose another process or leave the layer out.",
        )
    return [given[metal] for metal in wanted]


def _plan_layer(order: Order, layer: Layer, area: Measured) -> tuple[PlannedLayer, tuple[Flag, ...]]:
    pieces = order.bench.pieces
    layer = _settled(order, layer, area)
    needed, mean_of_minimum, even, charge = _aim(order, layer, area)
    setting = charge.value
    run_charge = _metered(order, setting)
    mean = deposit.thickness_for_charge(layer.chemistry, charge=run_charge, area=area)
    minimum = deposit.minimum_for_mean(mean, layer.allowance.quantity)
    mass = deposit.mass_for_charge(layer.chemistry, charge=run_charge)
    brush, tank, flags = _run(order, layer, charge=charge, area=area)
    mass_total, charge_total = mass.times(pieces), charge.times(pieces)
    used = consume(layer.use, charge=charge_total, deposited=mass_total, area=area.times(pieces))
    result = PlannedLayer(
        layer=layer,
        minimum_needed=needed,
        mean_target=mean_of_minimum * setting / even,
        charge=charge,
        charge_set=setting,
        charge_even_chance=None if needed is None else even,
        charge_total=charge_total,
        mean=mean,
        minimum=minimum,
        mass=mass,
        mass_total=mass_total,
        brush=brush,
        tank=tank,
        consumption=used,
        by_volts=_by_volts(order, layer, mean=mean_of_minimum, area=area),
        hands=_hands(order, layer, brush, area),
    )
    return result, (*flags, *_layer_flags(order, result))


def _hands(order: Order, layer: Layer, brush: BrushRun | None, area: Measured) -> HandWork | None:
    if brush is None:
        return None
    return hand_work(brush, order.bench, metal=layer.metal, area=area, allowed=layer.allowed, spread=order.spread)


def _by_volts(order: Order, layer: Layer, *, mean: float, area: Measured) -> CouponRun | None:
    if layer.coupon is None or order.process.method != "brush":
        return None
    return coupon_run(
        layer.coupon,
        mean=mean,
        allowance=layer.allowance if layer.minimum is not None else None,
        density=layer.chemistry.density.quantity,
        area=area,
        sure=not order.even_chance,
    )


def _settled(order: Order, layer: Layer, area: Measured) -> Layer:
    """Return the layer with the allowance for the passes that its own charge takes; a few rounds settle it."""
    spread = order.spread
    if not layer.predicted or spread is None or order.process.method != "brush":
        return layer
    for _ in range(ROUNDS):
        *_, charge = _aim(order, layer, area)
        brush, _, _ = _run(order, layer, charge=charge, area=area)
        if brush is None:
            return layer
        layer = replace(layer, allowance=spread.at_passes(brush.passes).premise(layer.metal))
    return layer


def _aim(order: Order, layer: Layer, area: Measured) -> tuple[float | None, float, float, Measured]:
    """Return the needed minimum, the mean [m] and charge [C] for it at an even chance, and the charge to run."""
    needed, mean_of_minimum = _thicknesses(layer)
    even = deposit.charge_for_thickness(layer.chemistry, thickness=exact(mean_of_minimum, "m"), area=area)
    raised = 1.0 if needed is None or order.even_chance else _raise(order, layer, area=area, charge=even.value)
    raised = max(raised, order.charge_per_area.get(layer.metal, 0.0) * area.value / even.value)
    return needed, mean_of_minimum, even.value, even.times(raised)


def _thicknesses(layer: Layer) -> tuple[float | None, float]:
    """Return the needed minimum, None where only a mean was ordered, and the mean to aim at. [m]"""
    if layer.minimum is not None:
        return layer.minimum.value, deposit.mean_for_minimum(layer.minimum.quantity, layer.allowance.quantity).value
    assert layer.mean is not None
    return None, layer.mean.value


def _raise(order: Order, layer: Layer, *, area: Measured, charge: float) -> float:
    """Return the factor on a charge at which the lower end of the 95 % interval of the minimum meets the need.

    One, where the minimum is so little known that no sensible factor does.
    """
    mean = deposit.thickness_for_charge(layer.chemistry, charge=_metered(order, charge), area=area)
    minimum = deposit.minimum_for_mean(mean, layer.allowance.quantity)
    spread = minimum.relative_expanded_uncertainty
    return 1.0 / (1.0 - spread) if spread <= MOST_SPREAD else 1.0


def _metered(order: Order, charge: float) -> Measured:
    return Measured(value=charge, unit="C", budget={"charge metering": charge * order.meter_uncertainty})


def _run(
    order: Order, layer: Layer, *, charge: Measured, area: Measured
) -> tuple[BrushRun | None, TankRun | None, tuple[Flag, ...]]:
    if layer.current_density is None:
        fields = {f"current_density.{layer.metal}": "10 A/dm2"}
        told = flag("CURRENT_NOT_PLANNED", metal=layer.metal, missing="the current density", fields=fields)
        return None, None, (told,)
    density, allowed = layer.current_density, layer.allowed
    if order.process.method == "brush":
        brush, flags = brush_run(
            order.bench,
            metal=layer.metal,
            charge=_metered(order, charge.value),  # the time is that of the charge to run, whatever is really needed
            area=area,
            density=density,
            allowed=allowed,
            lanes=order.spread.lanes if order.spread is not None else None,
        )
        extra = outside_allowed(layer.metal, density.value, allowed) if brush is None else []
        return brush, None, (*flags, *extra)
    tank, flags = tank_run(order.bench, metal=layer.metal, charge=charge, area=area, density=density, allowed=allowed)
    return None, tank, flags


def _microns(thickness: float) -> str:
    return f"{three_digits(thickness * 1e6)} µm"


def _layer_flags(order: Order, planned: PlannedLayer) -> list[Flag]:
    flags: list[Flag] = []
    metal, needed = planned.layer.metal, planned.minimum_needed
    asked = needed if needed is not None else _thicknesses(planned.layer)[1]
    if asked > USUAL_THICKEST:
        flags.append(flag("LAYER_VERY_THICK", metal=metal, thickness=_microns(asked), usual=_microns(USUAL_THICKEST)))
    minimum, even = planned.minimum, planned.charge_even_chance
    if needed is not None and minimum.expanded_uncertainty > 0 and planned.charge_set == even:
        advice, fields = "Lessen the uncertainty: measure the efficiency on a coupon and the thickness on the part.", {}
        if order.even_chance:
            advice = "Aim at a mean that meets the minimum with about 97 % confidence: do not ask for an even chance."
            fields = {"even_chance": ""}
        flags.append(
            flag(
                "MINIMUM_NOT_ASSURED",
                metal=metal,
                minimum=show(minimum, "um"),
                needed=_microns(needed),
                advice=advice,
                fields=fields,
            )
        )
    ratio = planned.consumption.sleeve_over_deposit
    if ratio is not None and ratio > 1.0:
        flags.append(
            flag(
                "SLEEVE_HOLDS_MORE",
                held_mg=ratio * planned.mass_total.value * 1e6,
                metal=metal,
                times=ratio,
                deposit_mg=planned.mass_total.value * 1e6,
            )
        )
    return flags


def _plan_steps(order: Order, planned: Sequence[PlannedLayer]) -> tuple[PlannedStep, ...]:
    layers = {result.layer.metal: result for result in planned}
    steps = []
    for number, step in enumerate(order.process.steps, start=1):
        result = layers.get(step.metal or "") if step.kind == "plate" else None
        bath = result.layer.chemistry.bath if result else None
        contains = result.layer.contains if result else ()
        steps.append(
            PlannedStep(
                number=number,
                step=step,
                voltage=result.layer.voltage if result else step.voltage(order.base),
                layer=result,
                cautions=cautions_for(step, bath, contains),
            )
        )
    return tuple(steps)


def _findings(order: Order, planned: Sequence[PlannedLayer]) -> tuple[Finding, ...]:
    seen = [
        CheckedLayer(
            metal=result.layer.metal,
            minimum=result.minimum_needed
            if result.minimum_needed is not None
            else result.mean_target / result.layer.allowance.value,
            requirement=result.layer.standard,
            cyanide="cyanide" in (*result.layer.chemistry.bath.contains, *result.layer.contains),
            bath=result.layer.chemistry.bath.key if result.layer.solution is None else None,
        )
        for result in planned
    ]
    cyanide = frozenset(layer.metal for layer in seen if layer.cyanide)
    stacked = check_stack(seen, base=order.base, market=order.market, use=order.use)
    return (
        *(finding for result in planned for finding in result.layer.findings),
        *stacked,
        *_new(check_preparation(order.process, order.base), stacked),
        *check_sequence(order.process, cyanide_metals=cyanide, base=order.base),
        *((one,) if (one := hands_finding({r.layer.metal: r.hands for r in planned if r.hands})) else ()),
    )


def _new(found: tuple[Finding, ...], told: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Leave out the missing undercoat where the stack of layers has said so in its own words."""
    said = any(one.code in ("GOLD_WITHOUT_BARRIER", "SILVER_ON_BASE", "COPPER_ON_STEEL") for one in told)
    return tuple(one for one in found if not (said and one.code == "BASE_NEEDS_UNDERCOAT"))


def _premises(order: Order, planned: Sequence[PlannedLayer], area: Measured) -> tuple[Premise, ...]:
    found: list[Premise] = [Premise(name="area of one piece", quantity=area, origin=order.area_origin)]
    if order.bench.footprint is not None:
        found.append(order.bench.footprint)
    found += order.spread.premises if order.spread is not None else ()
    for result in planned:
        layer = result.layer
        ordered = layer.minimum or layer.mean
        assert ordered is not None
        found += [ordered, *layer.chemistry.premises, layer.allowance]
        if layer.current_density is not None:
            found.append(layer.current_density)
        if result.brush is not None:
            found += [result.brush.contact_fraction, result.brush.hand_speed]
        found += [*layer.use.premises, *(layer.voltage or ())]
    for step in order.process.steps:
        if step.kind != "plate":
            found += step.voltage(order.base) or ()
    return tuple({premise.name: premise for premise in found}.values())


def _unverified(premises: Sequence[Premise]) -> list[Flag]:
    """Return one flag for each figure that was not verified; the two ends of a voltage range count as one."""
    notes = {
        premise.name.replace(": lowest voltage", ": voltage").replace(": highest voltage", ": voltage"): premise.origin
        for premise in premises
        if premise.origin.kind == "unverified"
    }
    return [
        flag("UNVERIFIED_FIGURE", figure=name[:1].upper() + name[1:], note=origin.text.rstrip("."))
        for name, origin in notes.items()
    ]
