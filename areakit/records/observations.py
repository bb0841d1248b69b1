"""What a bottle's jobs and coupons say of its deposit per charge: one observation for each weighing, coupon or reading.

A run log by itself gives the charge of an observation and no deposit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import Any

from areakit.plating.deposit import square_metres
from areakit.plating.own_factor import Kind, Observation
from areakit.records.bottles import DRAWS, Bottle, standing
from areakit.records.codec import quantity_from_json
from areakit.records.job import Entry, Job
from areakit.records.methods import METHODS
from areakit.records.release import plan_of, readings_of
from areakit.records.runs import Run, layer_of, runs_of
from areakit.records.weight_gain import Span, charge_of, spans_of
from areakit.uncertainty import Measured, propagate, total
from areakit.units import in_unit

CALCULATED = ("charge-and-area",)
"""Methods that give back the charge, and so say nothing of what it deposited."""
EVIDENCE = ("weighed", "tested")
"""Kinds of entries without which a job says nothing of a deposit."""
OF_THE_WHOLE = ("weight-gain",)
"""Methods that give the mean over the part, not the thickness at a place."""


_Ages = Mapping[tuple[str, int], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Observations, and what could not become one, in words."""

    observations: tuple[Observation, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def runs(self) -> frozenset[str]:
        """Names of the runs that were observed."""
        return frozenset(one.run for one in self.observations)

    def newest(self, most: int) -> Seen:
        """Return what the newest runs say, so many of them."""
        last = sorted(self.observations, key=lambda one: one.at, reverse=True)
        kept = set(list(dict.fromkeys(one.run for one in last))[:most])
        return replace(self, observations=tuple(one for one in self.observations if one.run in kept))


@dataclass(frozen=True, slots=True, kw_only=True)
class BathAge:
    """Charge that a volume of a bottle had passed in the middle of each draw, and by now; None without a volume.

    [C/m3]
    """

    draws: _Ages
    now: float | None


def bath_age(bottle: Bottle) -> BathAge:
    """Return the age of a bottle's solution: charge passed over all solution put in by then.

    A draw of a run is named by job and run, one without by no job and its entry.
    """
    entries = standing(bottle.history)
    last = {_key(number, doc): doc for number, kind, doc in entries if kind in DRAWS}
    charge = volume = 0.0
    ages: dict[tuple[str, int], float] = {}
    for number, kind, doc in entries:
        if kind in ("filled", "added"):
            volume += _plain(doc, "volume", "m3")
        elif kind in DRAWS and (key := _key(number, doc)) not in ages:
            taken = _plain(last[key], "charge", "C")
            if volume > 0.0:
                ages[key] = (charge + taken / 2.0) / volume
            charge += taken
    return BathAge(draws=ages, now=charge / volume if volume > 0.0 else None)


def _key(number: int, doc: Mapping[str, Any]) -> tuple[str, int]:
    run = doc["run"]
    return (str(doc["job"]), run) if isinstance(run, int) else ("", number)


def _plain(doc: Mapping[str, Any], name: str, unit: str) -> float:
    body = doc.get(name)
    return in_unit(quantity_from_json(body), unit).value if isinstance(body, dict) else 0.0


def coupons_of(bottle: Bottle) -> Seen:
    """Return what the coupons plated from a bottle outside jobs say."""
    ages = bath_age(bottle).draws
    at = {event.sequence: event.at for event in bottle.history}
    made = [_coupon(bottle, number, doc, at[number], ages) for number, kind, doc in standing(bottle.history)
            if kind == "coupon"]  # fmt: skip
    return _sorted(made)


def _coupon(bottle: Bottle, number: int, doc: Mapping[str, Any], at: str, ages: _Ages) -> Observation | str:
    mass = in_unit(quantity_from_json(doc["metal_mass"]), "kg")
    charge = in_unit(quantity_from_json(doc["charge"]), "C")
    where = f"coupon, entry {number} of bottle {bottle.label}"
    if not (mass.value > 0.0 and charge.value > 0.0):
        return f"{where}: {mass.value * 1e6:.3g} mg for {charge.value / 60.0:.3g} A·min is no deposit."
    return Observation(
        name=where,
        run=f"{bottle.label} entry {number}",
        kind="coupon",
        at=at,
        bottle=bottle.label,
        brush=doc.get("brush", ""),
        deposit=_per_charge(mass, charge),
        age=ages.get(("", number)),
    )


def _sorted(made: Sequence[Observation | str | None]) -> Seen:
    return Seen(
        observations=tuple(one for one in made if isinstance(one, Observation)),
        left_out=tuple(one for one in made if isinstance(one, str)),
    )


def observations_of(job: Job, bottle: Bottle, ages: BathAge | None = None) -> Seen:
    """Return what one job says of a bottle's deposit per charge; ``ages`` are those of the bottle, where known."""
    spans = spans_of(job)
    drawn = (ages or bath_age(bottle)).draws
    made = [_weighing(job, bottle, span, drawn) for span in spans]
    made += [
        _readings(job, bottle, entries, drawn)
        for entries in _read_together(job, bottle.metal_name, weighed=bool(spans))
    ]
    return _sorted(made)


def together(found: Sequence[Seen]) -> Seen:
    """Return what several say, as one."""
    return Seen(
        observations=tuple(one for each in found for one in each.observations),
        left_out=tuple(words for each in found for words in each.left_out),
    )


def _read_together(job: Job, metal: str, *, weighed: bool) -> list[list[Entry]]:
    """Return the thickness readings of a metal by method, those after the same run together."""
    found: dict[tuple[str, int], list[Entry]] = {}
    for entry in readings_of(job, plan_of(job), metal):
        method, before = entry.doc["method"], runs_before(job, metal, entry)
        if before and method not in CALCULATED and not (weighed and method in OF_THE_WHOLE):
            found.setdefault((method, before[-1].step.number), []).append(entry)
    return list(found.values())


def runs_before(job: Job, metal: str, entry: Entry) -> tuple[Run, ...]:
    """Return the runs of a metal that stand before an entry and passed a charge."""
    return tuple(
        run
        for run in runs_of(job)
        if run.step.doc["metal"] == metal and run.step.number < entry.number and run.log.charge.value > 0.0
    )


def _weighing(job: Job, bottle: Bottle, span: Span, ages: _Ages) -> Observation | str | None:
    runs, where = span.of(bottle.metal_name), f"job {job.number}, weighed (entry {span.after.number})"
    strange = _strange(runs, bottle)
    if strange is not None:
        return f"{where}: {strange}" if strange else None
    gain = span.gain_of(bottle.metal_name)
    if gain is None:
        return f"{where}: what the other metals weigh is not known, for want of their efficiency."
    return _observation(job, bottle, runs, where, ages=ages, kind="weighing", mass=gain)


def _readings(job: Job, bottle: Bottle, entries: Sequence[Entry], ages: _Ages) -> Observation | str | None:
    runs, method = runs_before(job, bottle.metal_name, entries[-1]), METHODS[entries[0].doc["method"]]
    places = f"{len(entries)} place{'s' * (len(entries) > 1)}"
    where = f"job {job.number}, {method.title}, {places} (entry {entries[-1].number})"
    strange = _strange(runs, bottle)
    if strange is not None:
        return f"{where}: {strange}" if strange else None
    layer, area = layer_of(job, bottle.metal_name), job.area
    if layer is None or area is None or not area.value > 0.0:
        return f"{where}: the job has no {'plan for this metal' if layer is None else 'area'}."
    mean = _mean_thickness(entries, quantity_from_json(layer["distribution_allowance"]["quantity"]).value)
    density = in_unit(quantity_from_json(layer["density"]["quantity"]), "kg/m3")
    pieces = job.quantity
    mass = propagate(lambda d, a, rho: d * a * rho * pieces, mean, square_metres(area), density, unit="kg")
    return _observation(job, bottle, runs, where, ages=ages, kind="reading", mass=mass)


def _mean_thickness(entries: Sequence[Entry], allowance: float) -> Measured:
    """Return the mean thickness that readings at some places stand for. [m]

    The gauge is wrong by the same at every place and in every job; each place lies by its own, see
    :func:`place_share`.
    """
    values = [in_unit(quantity_from_json(entry.doc["value"]), "m") for entry in entries]
    mean = total(values, "m").value / len(values)
    gauge = sum(one.standard_uncertainty for one in values) / len(values)
    whole = entries[0].doc["method"] in OF_THE_WHOLE
    places = 0.0 if whole else mean * place_share(allowance) / sqrt(len(values))
    title = METHODS[entries[0].doc["method"]].title
    return Measured(value=mean, unit="m", budget={f"{title} gauge": gauge, "places of the readings": places})


def place_share(allowance: float) -> float:
    """Return the relative standard uncertainty of taking the thickness at one place for the mean. [1]

    Sources
    -------
    [gum] 4.3.7: nothing is known of the place, so it is rectangular from the minimum to as far above the mean.
    """
    return max(0.0, 1.0 - 1.0 / allowance) / sqrt(3.0)


def _strange(runs: Sequence[Run], bottle: Bottle) -> str | None:
    """Return why runs say nothing of a bottle: empty where none of them drew from it; None where all did."""
    labels = list(dict.fromkeys(run.step.doc["bottle"] for run in runs))
    if bottle.label not in labels:
        return ""
    if len(labels) == 1:
        return None
    others = ", ".join(label or "none named" for label in labels)
    return f"its {bottle.metal_name} came from several bottles ({others}), which cannot be told apart."


def _observation(
    job: Job, bottle: Bottle, runs: Sequence[Run], where: str, *, ages: _Ages, kind: Kind, mass: Measured
) -> Observation | str:
    if not mass.value > 0.0:
        return f"{where}: {mass.value * 1e6:.3g} mg of {bottle.metal_name} is no deposit."
    known = [(ages[key], run.log.charge.value) for run in runs if (key := (job.number, run.step.number)) in ages]
    brushes = {run.step.doc.get("brush", "") for run in runs}
    return Observation(
        name=where,
        run=f"job {job.number}, run {runs[-1].step.number}",
        kind=kind,
        at=runs[-1].step.doc["at"],
        bottle=bottle.label,
        brush=brushes.pop() if len(brushes) == 1 else "",
        deposit=_per_charge(mass, charge_of(runs)),
        age=sum(age * q for age, q in known) / sum(q for _, q in known) if known else None,
    )


def _per_charge(mass: Measured, charge: Measured) -> Measured:
    return propagate(lambda m, q: m / q, mass, charge, unit="kg/C")
