"""How a base is made ready for its first layer, by brush or in a tank: a table, and what speaks against a plan."""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Literal

from areakit.plating.allowance import Method
from areakit.plating.findings import Finding
from areakit.plating.process import Process, Step, all_steps
from areakit.sources import source

Verdict = Literal["do", "undercoat", "specialist"]
STRIKES = ("strike-nickel", "activate-passive")
"""Steps without which a passive base does not hold its first nickel."""
OWN_PREPARATION = "etch-steel"
"""A process with this step brings the preparation of its base along."""
UNDERCOATS = ("nickel", "palladium")


@dataclass(frozen=True, slots=True, kw_only=True)
class Preparation:
    """One cell of the table: what is done before the first layer, or that an undercoat or a specialist is needed."""

    base: str
    method: Method
    first: str
    verdict: Verdict
    steps: tuple[str, ...]
    source: str
    place: str
    note: str

    @property
    def citation(self) -> str:
        """Source with its edition, and the place in it."""
        words = source(self.source).citation
        return f"{words}; {self.place}" if self.place else words


@cache
def all_preparations() -> dict[tuple[str, str, str], Preparation]:
    """Return every cell by base, method and first layer."""
    text = files("areakit").joinpath("data/preparation.csv").read_text(encoding="utf-8")
    return {
        (base, method, first): Preparation(
            base=base,
            method="brush" if method == "brush" else "tank",
            first=first,
            verdict=_verdict(row["verdict"]),
            steps=tuple(row["steps"].split()),
            source=row["source"],
            place=row["place"],
            note=row["note"],
        )
        for row in csv.DictReader(text.splitlines())
        for base in row["bases"].split()
        for method in row["methods"].split()
        for first in row["first"].split()
    }


def _verdict(word: str) -> Verdict:
    known: dict[str, Verdict] = {"do": "do", "undercoat": "undercoat", "specialist": "specialist"}
    return known[word]


def preparation(process: Process, base: str | None) -> Preparation | None:
    """Return the cell of a process on a base; None where the base is not said or the table has no such cell."""
    if base is None or not process.metals:
        return None
    return all_preparations().get((base, process.method, process.metals[0]))


def prepared(process: Process, base: str | None) -> Process:
    """Return the process with the preparation of its base in place of the general one.

    A process without a base, or that brings the preparation of its base along, stays as it is.
    """
    cell = preparation(process, base)
    keys = [step.key for step in process.steps]
    if cell is None or cell.verdict != "do" or OWN_PREPARATION in keys:
        return process
    start = next(index for index, step in enumerate(process.steps) if step.kind in ("plate", "strike"))
    before = list(cell.steps)
    if start and keys[start - 1] == "rinse-before-cyanide":
        before = [*(before[:-1] if before[-1] == "rinse" else before), "rinse-before-cyanide"]
    steps: tuple[Step, ...] = (*(all_steps()[key].by(process.method) for key in before), *process.steps[start:])
    return replace(process, steps=steps)


def check_preparation(process: Process, base: str | None) -> tuple[Finding, ...]:
    """Return what speaks against a process on a base: no cell, an undercoat, a specialist, a missing strike, a note."""
    if base is None or not process.metals:
        return ()
    cell, first = preparation(process, base), process.metals[0]
    if cell is None:
        return (_unknown(base, first),)
    if cell.verdict == "specialist":
        return (_specialist(cell),)
    if cell.verdict == "undercoat":
        return (_undercoat(cell),)
    found = []
    keys = {step.key for step in process.steps}
    needed = set(STRIKES) & set(cell.steps)
    if needed and not needed & keys:
        found.append(_no_strike(cell))
    if cell.note:
        found.append(_note(cell))
    return tuple(found)


def _unknown(base: str, first: str) -> Finding:
    return Finding(
        code="PREPARATION_NOT_KEPT",
        severity="check",
        message=f"How {base} is made ready for {first} is not kept here.",
        why="A layer holds only on a surface that was cleaned and activated for it.",
        source="practice",
        remedy="Ask the maker of the solution, and try it on a coupon of the same base.",
    )


def _specialist(cell: Preparation) -> Finding:
    return Finding(
        code="PREPARATION_SPECIALIST",
        severity="stop",
        message=f"{cell.first.capitalize()} on {cell.base} ({cell.method}): not without a specialist.",
        why=f"{_sentence(cell.note)}",
        source=cell.source,
        remedy="Give the work to a plant that has the pre-treatment for this base, or ask the maker of the solutions.",
    )


def _undercoat(cell: Preparation) -> Finding:
    takes = (metal for metal in UNDERCOATS if _takes(cell, metal))
    undercoat = " or ".join(takes)
    return Finding(
        code="BASE_NEEDS_UNDERCOAT",
        severity="stop" if cell.base not in ("silver", "sterling") else "check",
        message=f"{cell.first.capitalize()} would lie directly on {cell.base}.",
        why=_sentence(cell.note) if cell.note else "It does not hold, or the base wanders into it and stains it.",
        source=cell.source,
        remedy=f"Plate {undercoat} first, in a process that has it.",
    )


def _takes(cell: Preparation, metal: str) -> bool:
    other = all_preparations().get((cell.base, cell.method, metal))
    return other is not None and other.verdict == "do"


def _no_strike(cell: Preparation) -> Finding:
    return Finding(
        code="STRIKE_MISSING",
        severity="stop",
        message=f"{cell.base.capitalize()} would be plated without a nickel strike or flash at once after activation.",
        why="Its passive film grows back within seconds, and what is plated on it peels.",
        source=cell.source,
        remedy=f"Put these steps before the first layer: {', '.join(cell.steps)}.",
    )


def _note(cell: Preparation) -> Finding:
    return Finding(
        code="PREPARATION_NOTE",
        severity="note",
        message=f"{cell.base.capitalize()}: {cell.note}.",
        why="The base decides how it is made ready.",
        source=cell.source,
        remedy="Try it on a spare piece of the same base before the order.",
    )


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
