"""Processes as data: which steps, in which order, with which cautions, and how long a surface may wait for current."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from areakit.errors import InputError
from areakit.plating.allowance import Method
from areakit.plating.metals import Bath, Figure, find_figure, read_figures
from areakit.plating.premise import Premise, premise_of
from areakit.sources import source

BASE_GROUPS = {
    "copper": "copper-alloy",
    "brass": "copper-alloy",
    "nickel-silver": "copper-alloy",
    "bronze": "copper-alloy",
    "clad": "copper-alloy",
    "steel": "steel",
    "stainless": "stainless",
    "nickel": "nickel",
    "nickel-phosphorus": "nickel-phosphorus",
    "silver": "silver",
    "sterling": "silver",
    "gold": "gold",
    "tin-lead": "soft",
    "pewter": "soft",
    "zinc": "zinc",
    "aluminium": "aluminium",
    "titanium": "titanium",
}
"""Base metal to the group whose volts and checks it shares; clad is copper on a laminate, gold any gold alloy."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution, in words, with the key of its source."""

    key: str
    text: str
    source: str

    @property
    def citation(self) -> str:
        """The source in words."""
        return source(self.source).citation


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: what is done, what to see when it worked, and how soon the next must follow.

    ``brief`` and ``see`` are ``title`` and ``look_for`` in few words.
    ``in_tank`` holds the words that differ where the work hangs in a tank.
    """

    key: str
    kind: str
    title: str
    brief: str
    metal: str | None
    polarity: str
    look_for: str
    see: str
    next_within: str
    tool: str
    source: str
    conditional: bool
    cautions: tuple[str, ...]
    voltage_keys: tuple[tuple[str, str], ...]
    in_tank: tuple[tuple[str, str], ...] = ()

    def by(self, method: Method) -> Step:
        """Return the step in the words of a method: a tank has no sleeve, and a brush's volts do not hold there."""
        if method == "brush":
            return self
        words = dict(self.in_tank)
        names = ("title", "brief", "tool")
        return replace(self, **{name: words.get(name, getattr(self, name)) for name in names}, voltage_keys=())

    def voltage(self, base: str | None) -> tuple[Premise, Premise] | None:
        """Return the lower and upper voltage for a base metal; None where the label decides."""
        keys = dict(self.voltage_keys)
        subject = keys.get(BASE_GROUPS.get(base or "", ""), keys.get(""))
        return voltage_window(subject, self.title) if subject else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """A sequence of steps, by brush or in tanks."""

    key: str
    title: str
    method: Method
    steps: tuple[Step, ...]

    @property
    def metals(self) -> tuple[str, ...]:
        """The plated metals, from the base upwards."""
        return tuple(step.metal for step in self.steps if step.kind == "plate" and step.metal)


def voltage_window(subject: str, title: str) -> tuple[Premise, Premise] | None:
    """Return the voltage range that the tables hold for a subject; None where there is none."""
    low, high = find_figure(subject, "voltage_low"), find_figure(subject, "voltage_high")
    if low is None or high is None:
        return None
    return premise_of(low, f"{title}: lowest voltage"), premise_of(high, f"{title}: highest voltage")


@cache
def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("areakit").joinpath(f"data/{name}").read_text(encoding="utf-8"))


@cache
def all_cautions() -> dict[str, Caution]:
    """Return every caution by its key."""
    return {
        key: Caution(key=key, text=row["text"], source=row["source"]) for key, row in _read("cautions.toml").items()
    }


@cache
def all_steps() -> dict[str, Step]:
    """Return every step by its key."""
    return {key: _step(key, row) for key, row in _read("processes.toml")["steps"].items()}


def _step(key: str, row: dict[str, Any]) -> Step:
    voltages = {name.removeprefix("voltage").lstrip("_"): row[name] for name in row if name.startswith("voltage")}
    return Step(
        key=key,
        kind=row["kind"],
        title=row["title"],
        brief=row.get("brief", row["title"]),
        metal=row.get("metal"),
        polarity=row["polarity"],
        look_for=row["look_for"],
        see=row["see"],
        next_within=row["next_within"],
        tool=row["tool"],
        source=row["source"],
        conditional=row.get("conditional", False),
        cautions=tuple(row["cautions"]),
        voltage_keys=tuple(voltages.items()),
        in_tank=tuple((name, row[f"{name}_tank"]) for name in ("title", "brief", "tool") if f"{name}_tank" in row),
    )


@cache
def all_processes() -> dict[str, Process]:
    """Return every process that comes with areakit, by its key."""
    return {key: process_from(key, row) for key, row in _read("processes.toml")["processes"].items()}


def process(key: str) -> Process:
    """Return a process by its key; InputError lists the known ones."""
    try:
        return all_processes()[key]
    except KeyError:
        raise InputError(
            f"There is no process {key!r}.", remedy=f"Known processes: {', '.join(all_processes())}."
        ) from None


def process_from(key: str, row: dict[str, Any]) -> Process:
    """Return a process from a table with ``title``, ``method`` and ``steps``, as a user may write it too.

    Raises InputError for a missing entry, an unknown method or an unknown step.
    """
    method = row.get("method")
    if method not in ("brush", "tank"):
        raise InputError(f"The process {key} has the method {method!r}.", remedy='Write method = "brush" or "tank".')
    names = row.get("steps")
    if not isinstance(names, list) or not names:
        raise InputError(f"The process {key} has no list of steps.", remedy='Write steps = ["degrease", ...].')
    unknown = [str(name) for name in names if name not in all_steps()]
    if unknown:
        raise InputError(
            f"The process {key} names the unknown step {unknown[0]!r}.",
            remedy=f"Known steps: {', '.join(all_steps())}.",
        )
    steps = tuple(all_steps()[name].by(method) for name in names)
    return Process(key=key, title=str(row.get("title", key)), method=method, steps=steps)


def cautions_for(step: Step, bath: Bath | None, contains: Iterable[str] = ()) -> tuple[Caution, ...]:
    """Return the cautions of a step and of what its bath contains, each once, and always the general one."""
    keys = [*step.cautions, *(bath.contains if bath else ()), *contains, "general"]
    return tuple(all_cautions()[key] for key in dict.fromkeys(keys))


@cache
def _rows() -> dict[str, Figure]:
    return {row.subject: row for row in read_figures("pauses.csv")}


def allowed_pause(metal: str, *, kind: str = "plate") -> Figure:
    """Return the longest pause on a metal before it has to be activated again; a strike bears less. [s]"""
    rows = _rows()
    own = rows.get(metal, rows["other"])
    strike = rows["strike"]
    return strike if kind == "strike" and strike.value < own.value else own


def rinse_time() -> float:
    """Return the time that a rinse takes. [s]"""
    return _rows()["rinse"].value
