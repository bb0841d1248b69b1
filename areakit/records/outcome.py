"""What came out of a run against what its charge let expect: E_n, and what would have to be wrong where they differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Any

from areakit.plating.deposit import square_metres, thickness_for_charge
from areakit.records.codec import picked, quantity_from_json, quantity_json
from areakit.records.job import Entry, Job
from areakit.records.methods import METHODS
from areakit.records.observations import CALCULATED, OF_THE_WHOLE, place_share, runs_before
from areakit.records.release import plan_of
from areakit.records.runs import Run, layer_of
from areakit.records.weight_gain import Span, charge_of, spans_of
from areakit.uncertainty import Measured, normalised_error, propagate, total
from areakit.units import in_unit, show

BLUNT = 0.30
"""Relative ± of the difference beyond which agreement says little; estimate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One weighing or reading beside what was to be expected.

    Parameters
    ----------
    entry : int
        Of the weighing or reading.
    what, metal : str
        In words; the metal that it is about, several joined.
    found, expected : Measured
        Independent, in one unit: kg or m.
    meanings : tuple of str
        What would have to be wrong, each by itself; empty where the two agree.
    """

    entry: int
    what: str
    metal: str
    found: Measured
    expected: Measured
    meanings: tuple[str, ...] = ()

    @property
    def e_n(self) -> float:
        """Difference over the expanded uncertainty of the difference.

        Sources
        -------
        [iso13528] E_n score, as in ISO/IEC 17043.
        """
        return normalised_error(self.found, self.expected)

    @property
    def agrees(self) -> bool:
        """Whether E_n is no larger than 1 in size."""
        return abs(self.e_n) <= 1.0

    @property
    def blunt(self) -> bool:
        """Whether the two are known so badly that agreement says little."""
        spread = sqrt(self.found.expanded_uncertainty**2 + self.expected.expanded_uncertainty**2)
        return spread > BLUNT * abs(self.expected.value)


def outcomes_of(job: Job) -> tuple[Outcome, ...]:
    """Return every weight gain and thickness reading of a job that its charge lets expect, by number of entry."""
    weighed = [one for span in spans_of(job) if (one := _weighed(job, span)) is not None]
    read = [one for entry in job.all_of("tested") if (one := _read(job, entry, weighed)) is not None]
    return tuple(sorted([*weighed, *read], key=lambda one: one.entry))


def told_of(job: Job, entry: int) -> list[str]:
    """Return what an entry just made says against the prediction, in lines; or why nothing was to be expected."""
    found = [words for one in outcomes_of(job) if one.entry == entry for words in outcome_words(one)]
    if found:
        return found
    made = job.entry(entry)
    gained = made.kind == "weighed" and made.doc["when"] == "after" and job.gain is not None
    read = made.kind == "tested" and _is_reading(made)
    return ["Nothing to hold it against: no run before it has both a charge and a plan of its metal."] * (
        gained or read
    )


def outcome_words(one: Outcome) -> list[str]:
    """Return an outcome in lines: both figures, E_n and what it says; then what would have to be wrong."""
    unit = "mg" if one.found.unit == "kg" else "um"
    where = "on all pieces" if unit == "mg" else "there"
    if one.agrees:
        says = "they agree, but so wide a ± says little" if one.blunt else "they agree"
    else:
        side = "more" if one.e_n > 0 else "less"
        says = f"{abs(one.found.value / one.expected.value - 1.0) * 100:.0f} % {side} than expected; they do not agree"
    first = (
        f"{one.what}: {show(one.found, unit)} {where}; by the charge {show(one.expected, unit)}. "
        f"E_n {one.e_n:+.2f}: {says}."
    )
    return [first, *one.meanings]


def outcome_json(one: Outcome) -> dict[str, Any]:
    """Return an outcome as JSON, mass in mg, thickness in um."""
    unit = "mg" if one.found.unit == "kg" else "um"
    return {
        **picked(one, "entry", "what", "metal"),
        "found": quantity_json(in_unit(one.found, unit)),
        "expected": quantity_json(in_unit(one.expected, unit)),
        **picked(one, "e_n", "agrees"),
        "says": outcome_words(one)[0],
        "meanings": list(one.meanings),
        "words": " ".join(outcome_words(one)),
    }


def _weighed(job: Job, span: Span) -> Outcome | None:
    expected = span.predicted
    if expected is None or not expected.value > 0.0:
        return None
    made = Outcome(
        entry=span.after.number,
        what="Weight gain",
        metal=" and ".join(span.metals),
        found=span.gain,
        expected=expected,
    )
    return made if made.agrees else _with(made, _weight_meanings(job, span, expected))


def _with(one: Outcome, meanings: tuple[str, ...]) -> Outcome:
    return Outcome(
        entry=one.entry, what=one.what, metal=one.metal, found=one.found, expected=one.expected, meanings=meanings
    )


def _weight_meanings(job: Job, span: Span, expected: Measured) -> tuple[str, ...]:
    """Say what efficiency, or what charge, would explain a weight gain; the area is no part of it."""
    metal = max(span.metals, key=lambda name: sum(run.mass.value for run in span.of(name) if run.mass))
    ratio = span.gain.value / expected.value
    left = span.gain_of(metal)
    own = span.of(metal)
    charge = charge_of(own)
    found = []
    if left is not None and left.value > 0.0:
        share = left.value / sum(run.mass.value for run in own if run.mass)
        found += [_efficiency_words(own, metal, share), _meter_words(charge, share)]
    if span.gain.value < 0.0:
        found.append(
            "The pieces lost mass: was a piece or a mask left out of one weighing, or did base metal dissolve?"
        )
    elif ratio < 1.0:
        found.append(
            "Or cleaning and activation took off metal between the weighings: weigh after them, just before plating."
        )
    else:
        found.append("Or what was weighed was not dry, or still carried mask, tape or sleeve fibres: weigh again.")
    found.append("The area is no part of this: a wrong area shifts the thickness, not the mass.")
    return tuple(found)


def _efficiency_words(runs: tuple[Run, ...], metal: str, ratio: float) -> str:
    figures = runs[-1].figures
    assert figures is not None
    efficiency = figures.efficiency.value
    needed = efficiency * ratio
    if needed > 1.0:
        return f"The {metal} efficiency cannot explain it alone: it would be {needed * 100:.0f} %."
    return f"If only the {metal} efficiency is off, it was {needed * 100:.1f} % in place of {efficiency * 100:.1f} %."


def _meter_words(charge: Measured, ratio: float) -> str:
    side = "low" if ratio > 1.0 else "high"
    return (
        f"If only the meter is off, {charge.value * ratio / 60.0:.3g} A·min passed in place of "
        f"{charge.value / 60.0:.3g}: it reads {abs(1.0 / ratio - 1.0) * 100:.0f} % too {side}."
    )


def _read(job: Job, entry: Entry, weighed: list[Outcome]) -> Outcome | None:
    if not _is_reading(entry):
        return None
    method = METHODS[entry.doc["method"]]
    layers = plan_of(job).get("layers", [])
    metal = entry.doc.get("metal") or (layers[-1]["metal"] if layers else "")
    layer, area, runs = layer_of(job, metal), job.area, runs_before(job, metal, entry)
    if layer is None or area is None or not area.value > 0.0 or not runs:
        return None
    mean = _mean_by_charge(runs, area, job.quantity)
    if mean is None:
        return None
    share = 0.0 if method.key in OF_THE_WHOLE else place_share(_allowance(layer))
    where = f", {entry.doc['place']}" if entry.doc["place"] else ""
    made = Outcome(
        entry=entry.number,
        what=f"{method.title}{where}, {metal}",
        metal=metal,
        found=in_unit(quantity_from_json(entry.doc["value"]), "m"),
        expected=mean.plus_shares(place_of_the_reading=share * mean.value),
    )
    return made if made.agrees else _with(made, _reading_meanings(made, runs, area, weighed))


def _mean_by_charge(runs: tuple[Run, ...], area: Measured, pieces: int) -> Measured | None:
    """Return the mean on one piece by the charge of runs, shared evenly [m]; None where an efficiency is not known."""
    means = [
        thickness_for_charge(
            run.figures,
            charge=propagate(lambda q: q / pieces, run.log.charge, unit="C"),
            area=square_metres(area),
        )
        for run in runs
        if run.figures is not None
    ]
    return total(means, "m") if len(means) == len(runs) else None


def _is_reading(entry: Entry) -> bool:
    """Tell whether a test gave a thickness that was not worked out from the charge itself."""
    method = METHODS.get(entry.doc["method"])
    measured = method is not None and method.purpose == "thickness" and method.key not in CALCULATED
    return measured and entry.doc["value"] is not None


def _allowance(layer: Mapping[str, Any]) -> float:
    return quantity_from_json(layer["distribution_allowance"]["quantity"]).value


def _reading_meanings(made: Outcome, runs: tuple[Run, ...], area: Measured, weighed: list[Outcome]) -> tuple[str, ...]:
    """Say what would explain a thickness; a weight gain of the same metal tells the area from the rest."""
    ratio = made.found.value / made.expected.value
    if not ratio > 0.0:
        return ("A thickness of nothing is no reading: look at the gauge and at where it stood.",)
    needed = area.value / ratio
    by_area = (
        f"If only the area is off, it was {needed / 100.0:.3g} cm² in place of {area.value / 100.0:.3g} cm²: "
        "look at faces, side walls and masks."
    )
    others = (_efficiency_words(runs, made.metal, ratio), _meter_words(charge_of(runs), ratio))
    scale = next((one for one in weighed if made.metal in one.metal.split(" and ")), None)
    if scale is None:
        return (by_area, *others, "A weight gain tells the area from the other two: weigh before and after.")
    if scale.agrees and not scale.blunt:
        return (by_area, "The weight gain agrees, so efficiency and meter do: it is the area, the place or the gauge.")
    if scale.agrees or (scale.e_n > 0) != (made.e_n > 0):
        return (by_area, *others, "The weight gain does not settle which of them it is.")
    if abs(normalised_error(made.found, _by_weight(made, scale))) <= 1.0:
        return (*others, "The weight gain is off by as much, so it is efficiency or meter, not the area.")
    return (
        *others,
        "The weight gain explains a part of it by efficiency or meter; the rest is the area, the place or the gauge.",
    )


def _by_weight(made: Outcome, scale: Outcome) -> Measured:
    """Return the thickness that a reading should show by the weight gain; charge and efficiency cancel. [m]"""
    return propagate(lambda d, g, e: d * g / e, made.expected, scale.found, scale.expected, unit="m")
