"""What a traveller says about each step: what to set, for how long, what to see, and the hazards by name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from areakit.plural import rows_of
from areakit.records.codec import quantity_from_json
from areakit.records.entry_words import clock, quantity_words
from areakit.records.release import step_met
from areakit.records.runs import Run
from areakit.reports.bench_words import exact_setting, setting
from areakit.units import in_unit, show

GENERAL_CAUTION = (
    "The safety data sheet of each product, local codes and licensed practice come before anything on this page."
)
QUIET = "general"
"""The caution that holds for every step: it stands first in the box, and beside no step."""
NO_CURRENT = "no current"
BY_LABEL = "current and time as the label says"


@dataclass(frozen=True, slots=True, kw_only=True)
class StepFacts:
    """One step of the plan, or one that was done beside it; the blanks are filled where it was done.

    ``planned`` is what to set and for how long; ``hazards`` are names that the box on the first page explains.
    """

    number: str
    title: str
    planned: tuple[str, ...]
    notes: tuple[str, ...]
    hazards: tuple[str, ...]
    plates: bool
    powered: bool
    runs: tuple[Mapping[str, str], ...]
    met: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """One hazard: its name, the steps that bring it along, and its words; without a name it holds for all."""

    name: str
    steps: str
    text: str

    @property
    def where(self) -> str:
        """The steps in words: ``step 4``, ``steps 2, 6 to 8``."""
        return f"step{'' if self.steps.isdigit() else 's'} {self.steps}"


def steps_of(plan: Mapping[str, Any], runs: tuple[Run, ...], *, pieces: int) -> tuple[StepFacts, ...]:
    """Return the steps of a plan, each with what was done of it, and after them what was done beside it."""
    layers = {str(layer["metal"]): layer for layer in plan.get("layers", [])}
    steps = plan.get("steps", [])
    made = [_step(step, layers, runs, pieces=pieces) for step in steps]
    known = {step["number"] for step in steps}
    return (*made, *(_beside(run) for run in runs if run.step.doc["step"] not in known))


def hazards_of(plan: Mapping[str, Any]) -> tuple[Hazard, ...]:
    """Return every hazard of a plan once, the deadly first, and what comes before them all."""
    found = [Hazard(name="", steps="", text=GENERAL_CAUTION)]
    for caution in plan.get("cautions", []):
        key = str(caution["key"])
        if key != QUIET:
            numbers = [int(step["number"]) for step in plan.get("steps", []) if key in _keys(step)]
            found.append(Hazard(name=_name(key), steps=_listed(numbers), text=str(caution["text"])))
    return tuple(found)


def run_line(run: Mapping[str, str]) -> str:
    """Return what was recorded of a run in one line."""
    times = f"{run['begun']} to {run['ended']}" if run["ended"] else f"from {run['begun']}"
    pieces = f"{run['pieces']} piece{'s' * (run['pieces'] != '1')}"
    parts = [
        run[key] for key in ("bottle", "voltage", "current", "temperature", "charge", "thickness", "who", "remarks")
    ]
    return "; ".join([times, pieces, *(part for part in parts if part)])


def _step(
    step: Mapping[str, Any], layers: Mapping[str, Mapping[str, Any]], runs: tuple[Run, ...], *, pieces: int
) -> StepFacts:
    plates = step.get("kind") == "plate"
    return StepFacts(
        number=str(step["number"]),
        title=str(step["title"]) + (" (if needed)" if step.get("conditional") else ""),
        planned=_planned(step, layers.get(str(step.get("metal"))) if step.get("charge_set") else None),
        notes=_notes(step),
        hazards=tuple(_name(key) for key in _keys(step) if key != QUIET),
        plates=plates,
        powered=plates or bool(step.get("voltage")) or step.get("polarity", NO_CURRENT) != NO_CURRENT,
        runs=tuple(_run_facts(run) for run in runs if run.step.doc["step"] == step["number"]),
        met=step_met(step, runs, pieces=pieces),
    )


def _beside(run: Run) -> StepFacts:
    doc = run.step.doc
    return StepFacts(
        number="+",
        title=doc["title"],
        planned=(),
        notes=(),
        hazards=(),
        plates=bool(doc["metal"]),
        powered=True,
        runs=(_run_facts(run),),
        met=True,
    )


def _keys(step: Mapping[str, Any]) -> list[str]:
    return [str(caution["key"]) for caution in step.get("cautions", [])]


def _name(key: str) -> str:
    return key.replace("-", " ")


def _listed(numbers: Sequence[int]) -> str:
    """Return step numbers in words, runs of them drawn together: ``2, 6 and 8 to 11``."""
    rows = rows_of(numbers)
    return ", ".join(f"{row[0]} to {row[-1]}" if len(row) > 2 else " and ".join(map(str, row)) for row in rows)


def _planned(step: Mapping[str, Any], layer: Mapping[str, Any] | None) -> tuple[str, ...]:
    """Return amperes, time, passes, volts and charge of a step, as far as the plan knows them."""
    polarity = str(step.get("polarity", NO_CURRENT))
    if polarity == NO_CURRENT:
        return (NO_CURRENT,)
    volts = _volts(step, polarity)
    if layer is None:
        return (volts, BY_LABEL)
    charge = exact_setting(in_unit(quantity_from_json(step["charge_set"]), "C").value, "C")
    return (*_amperes(layer), f"{charge} a piece by the meter", volts)


def _volts(step: Mapping[str, Any], polarity: str) -> str:
    asked = polarity.startswith("as ")
    if not step.get("voltage"):
        return f"volts and polarity {polarity}" if asked else f"volts as the label says, {polarity}"
    low, high = (end["quantity"]["value"] for end in step["voltage"])
    volts = f"{low:g} to {high:g} V" if low != high else f"{low:g} V"
    return f"{volts}, polarity {polarity}" if asked else f"{volts}, {polarity}"


def _amperes(layer: Mapping[str, Any]) -> tuple[str, ...]:
    """Return mean and peak current, time and passes by brush, or the current of each load in a tank."""
    brush, tank = layer.get("brush"), layer.get("tank")
    if brush:
        mean, peak, time = (_set(brush, *entry) for entry in _BRUSH[:3])
        passes, each = (_set(brush, *entry) for entry in _BRUSH[3:])
        return (f"{mean} mean, {peak} peak", f"{time} a piece", f"{passes} passes of {each}")
    if tank:
        time = _set(tank, "time", "s")
        loads = [f"{_loads(one)}: {_set(one, 'current', 'A')} for {time}" for one in tank.get("loads_alike", [])]
        return tuple(loads) or (f"{_set(tank, 'current', 'A')} for {time} a load",)
    return (BY_LABEL,)


_BRUSH = (
    ("mean_current", "A"),
    ("peak_current", "A"),
    ("time", "s"),
    ("passes", "1"),
    ("seconds_per_pass", "s"),
)


def _set(body: Mapping[str, Any], name: str, unit: str) -> str:
    return setting(in_unit(quantity_from_json(body[name]), unit))


def _loads(group: Mapping[str, Any]) -> str:
    loads, pieces = int(group["loads"]), int(group["pieces"])
    count = f"{pieces} piece{'s' * (pieces != 1)}"
    return f"{loads} loads of {count}" if loads > 1 else f"1 load of {count}"


def _notes(step: Mapping[str, Any]) -> tuple[str, ...]:
    words = (("Look for: ", "look_for"), ("Next: ", "next_within"), ("Use: ", "tool"))
    return tuple(f"{lead}{step[name]}." for lead, name in words if step.get(name))


def _day_and_clock(at: str) -> str:
    return f"{at[:10]} {clock(at)}"


def _run_facts(run: Run) -> dict[str, str]:
    doc, done = run.step.doc, run.reached
    times = [e.doc["at"] for e in run.readings]
    currents = [e.doc["current"] for e in run.readings if e.doc["current"]]
    low, high = (min(currents), max(currents)) if currents else (0.0, 0.0)
    return {
        "bottle": " / ".join(part for part in (doc["solution"], doc["bottle"]) if part),
        "voltage": quantity_words(run.step, "voltage", "V"),
        "current": "" if not currents else f"{low:g} A" if low == high else f"{low:g} to {high:g} A",
        "begun": _day_and_clock(min([doc["at"], *times])),
        "ended": clock(max(times)) if times else "",
        "charge": show(run.log.charge, "A.min") if run.log.charge.value else "",
        "temperature": f"{doc['temperature_c']:g} °C" if doc["temperature_c"] is not None else "",
        "pieces": str(doc["pieces"]),
        "thickness": f"mean {show(done.mean, 'um')}, minimum {show(done.minimum, 'um')}" if done else "",
        "who": run.step.who,
        "remarks": doc["remarks"],
    }
