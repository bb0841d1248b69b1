"""How a base is made ready for its first layer, by brush or in a tank: a table, and what speaks against a plan."""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Literal

from areakit.plating.allowance import Method
from areakit.plating.findings import Finding, finding
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
        return (finding("PREPARATION_NOT_KEPT", base=base, first=first),)
    written, named = cell.source, cell.base.capitalize()
    if cell.verdict == "specialist":
        why = _sentence(cell.note)
        return (
            finding(
                "PREPARATION_SPECIALIST",
                source=written,
                base=base,
                first=first.capitalize(),
                method=cell.method,
                why=why,
            ),
        )
    if cell.verdict == "undercoat":
        return (_undercoat(cell),)
    found = []
    needed = set(STRIKES) & set(cell.steps)
    if needed and not needed & {step.key for step in process.steps}:
        found.append(finding("STRIKE_MISSING", source=written, base=named, steps=", ".join(cell.steps)))
    if cell.note:
        found.append(finding("PREPARATION_NOTE", source=written, base=named, note=cell.note))
    return tuple(found)


def _undercoat(cell: Preparation) -> Finding:
    return finding(
        "BASE_NEEDS_UNDERCOAT",
        severity="stop" if cell.base not in ("silver", "sterling") else "check",
        source=cell.source,
        first=cell.first.capitalize(),
        base=cell.base,
        why=_sentence(cell.note) if cell.note else "It does not hold, or the base wanders into it and stains it.",
        undercoat=" or ".join(metal for metal in UNDERCOATS if _takes(cell, metal)),
    )


def _takes(cell: Preparation, metal: str) -> bool:
    other = all_preparations().get((cell.base, cell.method, metal))
    return other is not None and other.verdict == "do"


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
