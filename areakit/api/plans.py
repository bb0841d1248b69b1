"""Plan the plating of an area from Python."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from os import PathLike
from typing import Any, Literal, cast

from areakit.api.keywords import documented, texts_of
from areakit.api.parts import HasParts
from areakit.api.values import Entry, UncertainValue, entry_text, plain_json
from areakit.flags import Flag
from areakit.plating.findings import Finding
from areakit.plating.plan import Plan as FoundPlan
from areakit.plating.plan import PlannedLayer as FoundLayer
from areakit.plating.process import Caution
from areakit.records.codec import shown
from areakit.records.plan_json import plan_json
from areakit.service.plan import plan as make_plan
from areakit.service.plan_request import PlanRequest, SpreadRequest
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
        return f"<{self.metal}: minimum {self.minimum}, {self.charge}, {self.mass}>"


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
        return plain_json(plan_json(self.plan))

    def __repr__(self) -> str:
        layers = "; ".join(f"{one.metal} minimum {one.minimum}, {one.charge}" for one in self.layers)
        return f"<{self.plan.order.process.key} on {self.area}: {layers}>"

    def _repr_html_(self) -> str:
        from areakit.reports.notebook import plan_view

        return plan_view(self.plan)


@documented(PlanRequest, SpreadRequest)
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
    footprint: Entry | None = None,
    contact_fraction: Entry | None = None,
    footprint_corners: Literal["round", "square"] | None = None,
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
    Fields of PlanRequest, SpreadRequest

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
    holds = holds_parts(area)
    request = PlanRequest(
        **texts_of(PlanRequest, {**locals(), "area": None, "area_uncertainty": uncertainty_text(area_uncertainty)}),
        area=None if holds else area_text(area),
        measured=measured_text(area) if holds else None,
        spread=SpreadRequest(**texts_of(SpreadRequest, locals())),
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
