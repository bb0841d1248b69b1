"""Plan the plating of an area from Python."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from os import PathLike
from typing import Any, Literal, cast

from areakit.api.parts import HasParts
from areakit.api.values import Entry, UncertainValue, entry_text, entry_texts, optional_text
from areakit.flags import Flag
from areakit.plating.findings import Finding
from areakit.plating.plan import Plan as FoundPlan
from areakit.plating.plan import PlannedLayer as FoundLayer
from areakit.plating.process import Caution
from areakit.records.figures_json import shown
from areakit.records.plan_json import plan_json
from areakit.service.plan import plan as make_plan
from areakit.service.plan_request import PlanRequest
from areakit.service.spread import SpreadRequest
from areakit.service.text_file import text_of
from areakit.units import in_unit

Source = HasParts | Mapping[str, Any] | Entry
"""What is planned: a measurement, the surfaces of a drawing, the JSON of either, or a typed area of one piece."""


@dataclass(frozen=True, slots=True)
class PlannedLayer:
    """One layer of a plan."""

    layer: FoundLayer

    @property
    def metal(self) -> str:
        """What is deposited."""
        return self.layer.layer.metal

    @property
    def minimum(self) -> UncertainValue:
        """Least thickness that the charge reaches. [um]"""
        return UncertainValue(shown(self.layer.minimum))

    @property
    def mean(self) -> UncertainValue:
        """Mean thickness that the charge reaches. [um]"""
        return UncertainValue(shown(self.layer.mean))

    @property
    def charge(self) -> UncertainValue:
        """Charge for the thickness on one piece. [A.min]"""
        return UncertainValue(in_unit(self.layer.charge, "A.min"))

    @property
    def mass(self) -> UncertainValue:
        """Metal deposited on one piece. [mg]"""
        return UncertainValue(shown(self.layer.mass))

    @property
    def current(self) -> UncertainValue | None:
        """Current of one load in the tank; None by brush, and where nothing says it. [A]"""
        return None if self.layer.tank is None else UncertainValue(shown(self.layer.tank.current))

    @property
    def mean_current(self) -> UncertainValue | None:
        """Current of the brush averaged over the working time; None in a tank, and where nothing says it. [A]"""
        return None if self.layer.brush is None else UncertainValue(self.layer.brush.mean_current)

    @property
    def peak_current(self) -> UncertainValue | None:
        """Current of the brush where most metal is under it; None in a tank, and where nothing says it. [A]"""
        return None if self.layer.brush is None else UncertainValue(self.layer.brush.peak_current)

    @property
    def contact_fraction(self) -> UncertainValue | None:
        """Metal in contact averaged over the working time, over the brush footprint; None in a tank. [1]"""
        return None if self.layer.brush is None else UncertainValue(self.layer.brush.contact_fraction.quantity)

    @property
    def time(self) -> UncertainValue | None:
        """Working time on one piece by brush, or of one load in the tank; None where nothing says it. [min]"""
        run = self.layer.brush or self.layer.tank
        return None if run is None else UncertainValue(shown(run.time))

    @property
    def passes(self) -> UncertainValue | None:
        """How often the brush goes over the whole plated area; None in a tank. [1]"""
        return None if self.layer.brush is None else UncertainValue(self.layer.brush.passes)

    @property
    def seconds_per_pass(self) -> UncertainValue | None:
        """Time of one pass over the whole plated area; None in a tank. [s]"""
        return None if self.layer.brush is None else UncertainValue(self.layer.brush.seconds_per_pass)

    def __repr__(self) -> str:
        return f"<{self.metal}: {self.minimum} at least, {self.charge}, {self.mass}>"


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan for the bench; in a notebook it shows layers, findings and cautions."""

    plan: FoundPlan

    @property
    def layers(self) -> tuple[PlannedLayer, ...]:
        """The layers, from the base upwards."""
        return tuple(PlannedLayer(one) for one in self.plan.layers)

    @property
    def charge(self) -> UncertainValue:
        """Charge of all layers on all pieces. [A.min]"""
        return UncertainValue(in_unit(self.plan.charge_total, "A.min"))

    @property
    def area(self) -> UncertainValue:
        """Area of one piece that the plan is for. [mm2]"""
        return UncertainValue(self.plan.order.area)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What speaks against the plan: severity, message, reason, remedy."""
        return self.plan.findings

    @property
    def flags(self) -> tuple[Flag, ...]:
        """Cautions on its figures: code, message, remedy."""
        return self.plan.flags

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What can hurt: follow safety data sheets, local codes and licensed practice."""
        return self.plan.cautions

    def to_json(self) -> dict[str, Any]:
        """Return what ``areakit plan --json`` prints, described by ``areakit schema plan``."""
        found: dict[str, Any] = json.loads(json.dumps(plan_json(self.plan)))
        return found

    def __repr__(self) -> str:
        layers = "; ".join(f"{one.metal} {one.minimum} at least, {one.charge}" for one in self.layers)
        return f"<{self.plan.order.process.key} on {self.area}: {layers}>"

    def _repr_html_(self) -> str:
        from areakit.reports.notebook import plan_view

        return plan_view(self.plan)


def plan(
    area: Source,
    *,
    process: str | None = None,
    layers: Mapping[str, Entry] | None = None,
    area_uncertainty: Entry | None = None,
    part: int | None = None,
    pieces: int | None = None,
    requirements: Sequence[str] = (),
    efficiency: Mapping[str, Entry] | None = None,
    factor: Mapping[str, Entry] | None = None,
    bath: Mapping[str, str] | None = None,
    solution: Mapping[str, str] | None = None,
    solutions: str | PathLike[str] | None = None,
    processes: str | PathLike[str] | None = None,
    density: Mapping[str, Entry] | None = None,
    current_density: Mapping[str, Entry] | None = None,
    allowance: Entry | Mapping[str, Entry] | None = None,
    contact: Entry | None = None,
    contact_fraction: Entry | None = None,
    contact_corners: Literal["round", "square"] | None = None,
    overlap: Entry | None = None,
    overrun: Entry | None = None,
    target_minimum: Entry | None = None,
    lane_scatter: Entry | None = None,
    sleeve_thickness: Entry | None = None,
    wagner: Entry | None = None,
    conductivity: Entry | None = None,
    tafel_slope: Entry | None = None,
    supply: Entry | None = None,
    pieces_per_load: int | None = None,
    stroke: Entry | None = None,
    hand_speed: Entry | None = None,
    metal_content: Mapping[str, Entry] | None = None,
    sleeve: Entry | None = None,
    drag_out: Entry | None = None,
    recover: Mapping[str, Entry] | None = None,
    meter_uncertainty: Entry | None = None,
    base: str | None = None,
    market: str | None = None,
    use: str | None = None,
    even_chance: bool = False,
    shop: str | None = None,
    brush: str | None = None,
    bottle: Mapping[str, str] | None = None,
    journal: str | PathLike[str] | None = None,
) -> Plan:
    """Turn an area into charge, current, time, metal and solution for each step of a process.

    Parameters
    ----------
    area : Measurement, Surfaces, mapping, str or pint area
        What is plated; a measurement brings its outlines, over which the spread of the deposit is predicted. ± of a
        typed area is its expanded uncertainty (k = 2).
    process : str, optional
        Sequence of steps, as ``areakit plan --list-processes`` shows them; that of the shop profile where it has one.
    layers : mapping of metal to length
        Least thickness, or the mean where the text says so: ``{"gold": "0.5 um", "nickel": "3 um mean"}``.
    area_uncertainty : str or pint quantity, optional
        Expanded, of a typed area: ``"2 %"``, or an area.
    part : int, optional
        Part of the measurement, from 1; without it equal parts are the pieces of one plan, and parts that differ are
        refused.
    pieces : int, optional
        Number of equal pieces; as many as were measured unless said, one of a typed area.
    requirements : sequence of str
        Classes or terms to meet, as ``areakit plan --list-requirements`` shows them.
    efficiency, factor, bath, solution, density, current_density, metal_content : mapping of metal to entry
        Cathode efficiency (or a table row by its name, as ``handbook``), plating factor of the label (as text), kind
        of bath, name in the solutions file, density of the deposit, current density, metal in the solution.
    solutions, processes : path, optional
        TOML files with solutions and processes of your own.
    allowance : str, pint ratio, or mapping of metal to one, optional
        Mean over least thickness.
    contact : str or pint area, optional
        Contact of the brush: an area, or its size across and along the lanes as text, ``"20 x 15 mm"``.
    contact_fraction : str or pint ratio, optional
        Metal under the brush averaged over the working time; from the lanes of an outline where left out. [1]
    contact_corners, overlap, overrun, target_minimum, hand_speed, stroke : optional
        How the brush is led: its corners, overlap of lanes [1], way past the edge, least dose over the mean [1], speed
        of the hand, length of a stroke.
    lane_scatter, sleeve_thickness : str or pint length, optional
        How far single lanes stray, a standard deviation; thickness of the wet sleeve, which adds the edges' build-up.
    wagner, conductivity, tafel_slope : optional
        Wagner number of the part in a tank, or of a sleeve of known thickness [1]; or, for a tank, conductivity of the
        solution and Tafel slope of a decade, from which it follows.
    supply, pieces_per_load, sleeve, drag_out, recover, meter_uncertainty : optional
        Largest current, parts on one rack, solution that the sleeve holds, solution that the part carries away,
        shares brought back, expanded uncertainty of the ampere-minute meter.
    base, market, use : str, optional
        Base metal; where it is sold (``eu``, ``us``, ``other``); ``jewellery``, ``decorative`` or ``technical``.
    even_chance : bool
        Aim at the minimum itself, which half of such jobs miss; else it is met with about 97 % confidence.
    shop, brush : str, optional
        Shop profile that says what is not said here, and one of its brushes; the profile that holds (``areakit shop
        --list``) where none is named, and none at all for ``"none"``.
    bottle : mapping of metal to label, optional
        Bottle to plate from.
    journal : path, optional
        Asked for the own factor of a named bottle or solution, which counts where it is surer than label and tables;
        the usual journal unless said, and none at all for ``"none"``.

    Raises
    ------
    InputError
        For an entry that cannot be read, or that the plan cannot do without.

    Examples
    --------
    >>> import areakit
    >>> ureg = areakit.ureg
    >>> gold = areakit.plan(
    ...     "12.5 ± 0.25 cm2", process="gold-brush", layers={"gold": 0.5 * ureg.um}, efficiency={"gold": "72% ± 6%"}
    ... ).layers[0]
    >>> gold.metal, gold.charge.value.check("[current] * [time]")
    ('gold', True)
    """
    request = PlanRequest(
        process=process or "",
        layers=entry_texts(layers, "length"),
        area=None if holds_parts(area) else area_text(area),
        area_uncertainty=uncertainty_text(area_uncertainty),
        measured=measured_text(area) if holds_parts(area) else None,
        part=part,
        pieces=pieces,
        requirements=tuple(requirements),
        bath=dict(bath or {}),
        solution=dict(solution or {}),
        solutions=text_of(solutions),
        processes=text_of(processes),
        efficiency=entry_texts(efficiency, "ratio"),
        factor=entry_texts(factor, "plating factor"),
        density=entry_texts(density, "density"),
        current_density=entry_texts(current_density, "current density"),
        allowance=_allowance(allowance),
        metal_content=entry_texts(metal_content, "concentration"),
        recover=entry_texts(recover, "ratio"),
        contact=optional_text(contact, "area"),
        contact_fraction=optional_text(contact_fraction, "ratio"),
        supply=optional_text(supply, "current"),
        pieces_per_load=pieces_per_load,
        stroke=optional_text(stroke, "length"),
        hand_speed=optional_text(hand_speed, "speed"),
        sleeve=optional_text(sleeve, "volume"),
        drag_out=optional_text(drag_out, "volume per area"),
        meter_uncertainty=optional_text(meter_uncertainty, "ratio"),
        base=base,
        market=market,
        use=use,
        even_chance=even_chance,
        shop=shop,
        brush=brush,
        bottle=bottle or {},
        journal=None if journal is None else str(journal),
        spread=SpreadRequest(
            wagner=optional_text(wagner, "ratio"),
            conductivity=optional_text(conductivity, "conductivity"),
            tafel_slope=optional_text(tafel_slope, "voltage"),
            contact_corners=contact_corners,
            overlap=optional_text(overlap, "ratio"),
            overrun=optional_text(overrun, "length"),
            target_minimum=optional_text(target_minimum, "ratio"),
            lane_scatter=optional_text(lane_scatter, "length"),
            sleeve_thickness=optional_text(sleeve_thickness, "length"),
        ),
    )
    return Plan(make_plan(request))


def measured_text(source: Any) -> str:
    """Return the JSON text of a measurement, of surfaces, or of what either printed."""
    body = source if isinstance(source, Mapping) else source.to_json()
    return json.dumps(body, ensure_ascii=False)


def area_text(source: Source) -> str:
    """Return a typed area as text."""
    assert not isinstance(source, Mapping)
    return entry_text(cast(Entry, source), "area")


def holds_parts(source: Source) -> bool:
    """Tell whether this is a measurement, or surfaces, or what either printed: not a typed area."""
    return isinstance(source, Mapping) or hasattr(source, "to_json")


def uncertainty_text(entry: Entry | None) -> str | None:
    """Return the expanded uncertainty of a typed area as text: a share of it, or an area."""
    if entry is None or isinstance(entry, str):
        return entry
    plain = entry.value if isinstance(entry, UncertainValue) else entry
    return entry_text(entry, "ratio" if plain.check("[]") else "area")


def _allowance(entry: Entry | Mapping[str, Entry] | None) -> dict[str, str]:
    if entry is None:
        return {}
    return entry_texts(entry if isinstance(entry, Mapping) else {"": entry}, "ratio")
