"""Make a plan from what was asked for: one request in, one plan out."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from areakit.errors import InputError, RangeError
from areakit.flags import Flag
from areakit.foreign_text import toml_from
from areakit.plating.allowance import Method, default_allowance, entered_allowance
from areakit.plating.consumption import SolutionUse
from areakit.plating.metals import Bath, figure, find_figure
from areakit.plating.plan import Layer, Order, Plan, make_plan
from areakit.plating.premise import Origin, Premise, given, premise_of, premise_of_range
from areakit.plating.process import BASE_GROUPS, Process, process, process_from, voltage_window
from areakit.plating.requirements import Requirement, requirement
from areakit.plating.run import Bench, Window, table_window
from areakit.plating.solutions import Solution
from areakit.service.entries import (
    BathEntry,
    choose_bath,
    choose_solution,
    per_metal,
    read_area,
    read_premise,
    read_quantity,
)
from areakit.service.spread import SpreadRequest, contact_entry, predict_spread, sized
from areakit.sources import source
from areakit.uncertainty import COVERAGE_FACTOR, exact

if TYPE_CHECKING:
    from areakit.plating.spread import Spread

logger = logging.getLogger(__name__)

USES = ("jewellery", "decorative", "technical")
MARKETS = ("eu", "us", "other")
RECOVERED_FROM = ("sleeve", "drag-out", "run-off")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """A plan as asked for at the bench: text with units, by metal where a mapping is given.

    ``measured`` is what ``areakit measure --json`` printed; ``solutions`` is the text of a solutions file. A mapping
    from an empty name holds for every metal.
    """

    process: str
    layers: Mapping[str, str] = field(default_factory=dict)
    area: str | None = None
    area_uncertainty: str | None = None
    measured: str | None = None
    part: int | None = None
    pieces: int = 1
    requirements: tuple[str, ...] = ()
    bath: Mapping[str, str] = field(default_factory=dict)
    solution: Mapping[str, str] = field(default_factory=dict)
    solutions: str | None = None
    processes: str | None = None
    efficiency: Mapping[str, str] = field(default_factory=dict)
    factor: Mapping[str, str] = field(default_factory=dict)
    density: Mapping[str, str] = field(default_factory=dict)
    current_density: Mapping[str, str] = field(default_factory=dict)
    allowance: Mapping[str, str] = field(default_factory=dict)
    metal_content: Mapping[str, str] = field(default_factory=dict)
    recover: Mapping[str, str] = field(default_factory=dict)
    contact: str | None = None
    supply: str | None = None
    pieces_per_load: int | None = None
    stroke: str | None = None
    hand_speed: str | None = None
    sleeve: str | None = None
    drag_out: str | None = None
    meter_uncertainty: str | None = None
    base: str | None = None
    market: str | None = None
    use: str | None = None
    assured: bool = False
    spread: SpreadRequest = field(default_factory=SpreadRequest)


def plan(request: PlanRequest) -> Plan:
    """Return the plan that a request asks for.

    Raises
    ------
    InputError
        For an entry that cannot be read, or that the plan cannot do without.
    RangeError
        For a figure outside what a plan can mean.
    """
    _check_words(request)
    spread, contact = sized(request.spread, request.contact)
    request = replace(request, spread=spread, contact=contact)
    area = read_area(
        area=request.area, area_uncertainty=request.area_uncertainty, measured=request.measured, part=request.part
    )
    sequence = _process(request)
    standards = {needed.metal: needed for needed in (requirement(key) for key in request.requirements)}
    metals = list(dict.fromkeys([*request.layers, *standards]))
    _check_metals(request, [*metals, *sequence.metals])
    bench = _bench(request, sequence.method)
    predicted, told = _spread(request, sequence.method, metals=metals, bench=bench)
    order = Order(
        area=area.area,
        area_origin=area.origin,
        process=sequence,
        layers=tuple(
            _layer(request, sequence.method, metal, standard=standards.get(metal), spread=predicted) for metal in metals
        ),
        bench=bench,
        base=request.base,
        market=request.market,
        use=request.use,
        meter_uncertainty=_meter(request),
        assured=request.assured,
        flags=(*area.flags, *told),
        spread=predicted,
    )
    result = make_plan(order)
    logger.info("planned %s: %d layers, %d findings", sequence.key, len(result.layers), len(result.findings))
    return result


def pictured(request: PlanRequest, what: str) -> Any:
    """Return what a plan predicts over an outline: its ``map`` or ``lanes`` as SVG text, its ``strokes`` as JSON.

    Raises
    ------
    InputError
        As for :func:`plan`, and where there is nothing to predict.
    """
    from areakit.service.spread import spread_strokes, spread_svg

    spread = plan(replace(request, spread=replace(request.spread, pictures=True))).order.spread
    if spread is None:
        raise InputError("Nothing was predicted that could be drawn.", remedy="Give the contact of the tool.")
    return spread_strokes(spread) if what == "strokes" else spread_svg(spread, what)


def _check_words(request: PlanRequest) -> None:
    if request.base is not None and request.base not in BASE_GROUPS:
        raise InputError(
            f"The base {request.base!r} has no preparation here.",
            remedy=f"Known bases: {', '.join(BASE_GROUPS)}. Zinc, lead, aluminium and titanium need a pre-treatment of "
            "their own: look it up.",
        )
    if request.use is not None and request.use not in USES:
        raise InputError(f"The use {request.use!r} is not known.", remedy=f"Choose one of {', '.join(USES)}.")
    if request.market is not None and request.market.lower() not in MARKETS:
        raise InputError(f"The market {request.market!r} is not known.", remedy=f"Choose one of {', '.join(MARKETS)}.")
    strange = [place for place in request.recover if place not in RECOVERED_FROM]
    if strange:
        raise InputError(
            f"Nothing is recovered from {strange[0]!r}.", remedy=f"Choose among {', '.join(RECOVERED_FROM)}."
        )


def _check_metals(request: PlanRequest, metals: list[str]) -> None:
    """Refuse an option for a metal that the plan does not plate: it is a slip of the pen."""
    by_metal = (
        ("--efficiency", request.efficiency),
        ("--factor", request.factor),
        ("--density", request.density),
        ("--current-density", request.current_density),
        ("--allowance", request.allowance),
        ("--metal-content", request.metal_content),
        ("--bath", request.bath),
        ("--solution", request.solution),
    )
    for option, entries in by_metal:
        strange = [metal for metal in entries if metal and metal not in metals]
        if strange:
            raise InputError(
                f"{option} names {strange[0]}, which this plan does not plate.",
                remedy=f"The plan plates {', '.join(dict.fromkeys(metals)) or 'nothing'}.",
            )


def _process(request: PlanRequest) -> Process:
    if request.processes is None:
        return process(request.process)
    try:
        own = toml_from(request.processes).get("processes", {})
    except ValueError as error:
        raise InputError(f"The process file is not valid TOML: {error}.", remedy='Write key = "value" lines.') from None
    if isinstance(own, dict) and isinstance(own.get(request.process), dict):
        return process_from(request.process, own[request.process])
    return process(request.process)


def _bench(request: PlanRequest, method: Method) -> Bench:
    return Bench(
        contact=contact_entry(request.spread, request.contact, method),
        supply=_plain(request.supply, "current", "supply"),
        pieces=request.pieces,
        pieces_per_load=request.pieces_per_load,
        stroke=_plain(request.stroke, "length", "stroke"),
        hand_speed=read_premise(request.hand_speed, "speed", "hand speed") if request.hand_speed else None,
    )


def _plain(text: str | None, kind: str, name: str) -> float | None:
    return None if text is None else read_quantity(text, kind, name).value


def _meter(request: PlanRequest) -> float:
    if request.meter_uncertainty is None:
        return 0.0
    expanded = read_quantity(request.meter_uncertainty, "ratio", "meter").value
    if not 0.0 <= expanded < 1.0:
        raise RangeError("The uncertainty of the meter is outside 0 to 100 %.", remedy="Give it as a percentage.")
    return expanded / COVERAGE_FACTOR


def _spread(
    request: PlanRequest, method: Method, *, metals: list[str], bench: Bench
) -> tuple[Spread | None, tuple[Flag, ...]]:
    """Return the predicted distribution unless every allowance was typed and no picture is wanted."""
    wanted = request.spread.asks or any(per_metal(request.allowance, metal) is None for metal in metals)
    if not wanted:
        return None, ()
    return predict_spread(
        request.spread,
        method,
        measured=request.measured,
        part=request.part,
        contact=bench.contact,
        hand_speed=request.hand_speed,
    )


def _layer(
    request: PlanRequest, method: Method, metal: str, *, standard: Requirement | None, spread: Spread | None
) -> Layer:
    solution = choose_solution(per_metal(request.solution, metal), request.solutions)
    chosen = choose_bath(
        metal,
        method=method,
        bath=per_metal(request.bath, metal),
        efficiency=per_metal(request.efficiency, metal),
        factor=per_metal(request.factor, metal),
        density=per_metal(request.density, metal),
        solution=solution,
    )
    minimum, mean = _thickness(request.layers.get(metal), metal, standard)
    window = _window(method, chosen)
    return Layer(
        metal=metal,
        chemistry=chosen.chemistry,
        allowance=_allowance(per_metal(request.allowance, metal), metal, method, spread),
        use=_use(request, method, chosen),
        minimum=minimum,
        mean=mean,
        standard=standard,
        current_density=_current_density(request, method, metal=metal, chosen=chosen, window=window),
        window=window,
        voltage=_voltage(method, metal, chosen),
        solution=solution.title if solution else None,
        contains=solution.contains if solution else (),
        flags=chosen.flags,
        findings=chosen.findings,
    )


def _thickness(text: str | None, metal: str, standard: Requirement | None) -> tuple[Premise | None, Premise | None]:
    """Return minimum and mean, one of them None: as typed, or the minimum that the requirement asks for."""
    if text is None:
        assert standard is not None
        assert standard.minimum is not None
        name = f"{metal} thickness, least"
        words = f"{standard.title}: {standard.origin.text}"
        origin = Origin(kind=standard.origin.kind, text=words, source=standard.origin.source)
        return Premise(name=name, quantity=standard.minimum, origin=origin), None
    words = text.strip()
    is_mean = words.lower().endswith("mean")
    value = read_quantity(words[: -len("mean")] if is_mean else words, "length", metal).value
    if not value > 0:
        raise RangeError(f"The {metal} thickness must be above zero.", remedy='Write it as "0.5 um".')
    premise = Premise(
        name=f"{metal} thickness, {'mean' if is_mean else 'least'}", quantity=exact(value, "m"), origin=given()
    )
    return (None, premise) if is_mean else (premise, None)


def _allowance(text: str | None, metal: str, method: Method, spread: Spread | None) -> Premise:
    if text is None:
        return spread.premise(metal) if spread is not None else default_allowance(method, metal)
    entered = read_quantity(text, "ratio", "allowance", bare_unit="1")
    return entered_allowance(entered.value, metal=metal, standard=entered.standard_uncertainty)


def _window(method: Method, chosen: BathEntry) -> Window | None:
    if chosen.solution is not None and chosen.solution.current_density is not None:
        low, high = chosen.solution.current_density
        return Window(low=low, high=high, origin=f"label of solution {chosen.solution.key}")
    bath = chosen.chemistry.bath
    return table_window(bath.key) if _fits(bath, method) else None


def _fits(bath: Bath, method: Method) -> bool:
    """Tell whether the table's window for a bath speaks of this method: tank windows say nothing of a brush."""
    return ("-brush" in bath.key) == (method == "brush")


def _current_density(
    request: PlanRequest, method: Method, *, metal: str, chosen: BathEntry, window: Window | None
) -> Premise | None:
    name = f"{metal} current density"
    text = per_metal(request.current_density, metal)
    if text is not None:
        premise = read_premise(text, "current density", name)
        if not premise.value > 0:
            raise RangeError(f"The {name} must be above zero.", remedy='Write it as "10 A/dm2".')
        return premise
    if window is not None and window.low is not None and window.high is not None:
        middle = (window.low + window.high) / 2
        words = f"middle of the window {window.low / 100:.3g} to {window.high / 100:.3g} A/dm²: {window.origin}"
        row = find_figure(chosen.chemistry.bath.key, "current_density_low")
        labelled = chosen.solution is not None and chosen.solution.current_density is not None
        origin = given(words) if labelled or row is None else _as_kind(row.source, words)
        return Premise(name=name, quantity=exact(middle, "A/m2"), origin=origin)
    return None


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


def _use(request: PlanRequest, method: Method, chosen: BathEntry) -> SolutionUse:
    bath, solution = chosen.chemistry.bath, chosen.solution
    metal = bath.metal
    sleeve = None
    if method == "brush":
        sleeve = _entered_or_table(request.sleeve, "volume", "sleeve hold-up", row=("brush", "sleeve_hold_up"))
    return SolutionUse(
        metal_content=_metal_content(request, bath, solution),
        usable_fraction=_usable_fraction(metal, solution),
        allowed_charge=_allowed_charge(bath, solution),
        sleeve_hold_up=sleeve,
        drag_out=_entered_or_table(request.drag_out, "volume per area", "drag-out", row=(method, "drag_out")),
        recovered=tuple((place, read_quantity(text, "ratio", place).value) for place, text in request.recover.items()),
    )


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
    row = find_figure(bath.key, "metal_content") or find_figure(bath.metal, "metal_content")
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
