"""What a plan takes from the record: own factors of its metals. Without a journal nothing of the record is loaded."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from areakit.errors import FileError, InputError, RecordError
from areakit.flags import flag
from areakit.plating.solutions import read_solutions
from areakit.service.shop_fill import Filled

if TYPE_CHECKING:
    from areakit.records.recorded_factor import RecordedFactor

NONE = "none"
"""Names no journal: plan without asking the record."""


def usual_journal() -> Path:
    """Return the journal that is asked where nobody names one: that of the environment, else of the data folder."""
    from platformdirs import user_data_path

    named = os.environ.get("AREAKIT_JOURNAL")
    return Path(named) if named else user_data_path("areakit") / "journal.sqlite"


def own_factors(
    path: Path, *, solutions: Mapping[str, tuple[str, ...]], bottles: Mapping[str, str], brush: str = ""
) -> dict[str, RecordedFactor]:
    """Return the own factor of each metal for which a solution or a bottle is named and the record has runs enough.

    Parameters
    ----------
    path : Path
        The journal; one that is not there says nothing.
    solutions : mapping of metal to names
        Under which bottles of its solution may go.
    bottles : mapping of metal to label
        Go before solutions.

    Raises
    ------
    InputError
        If a named bottle is not there, or holds another metal or solution.
    """
    opened = None
    if path.is_file() and (solutions or bottles):
        from areakit.records.journal import begun

        opened = begun(path)
    if opened is None:
        if bottles:
            raise InputError(
                f"There is no journal {path} to find a bottle in.", remedy="Name the journal.", fields={"journal": ""}
            )
        return {}
    from areakit.service.own_factor import of_metal

    found: dict[str, RecordedFactor] = {}
    with opened as journal:
        for metal in {**solutions, **bottles}:
            made = of_metal(journal, metal, solutions.get(metal, ()), bottles.get(metal), brush)
            if made is not None and made.factor is not None:
                found[metal] = made
    return found


def with_own(found: Filled, typed: Mapping[str, Any]) -> Filled:
    """Return the entries of a plan with the own factors of what it will plate from.

    A metal whose efficiency or factor was typed keeps that; a journal that cannot be read is told of, and stops no
    plan.

    Parameters
    ----------
    typed : mapping
        The entries before the shop profile completed them.

    Raises
    ------
    InputError
        If a bottle is named that is not there, or holds something else.
    FileError
        If a journal is named that is not there.
    """
    brush = _brush(found)
    entries = {**found.entries, "brush_taken": brush or found.entries.get("brush_taken")}
    path = _asked(entries)
    if path is None or entries.get("own"):
        return replace(found, entries=entries)
    said = {metal for name in ("efficiency", "factor") for metal in typed.get(name) or {}}
    bottles = dict(entries.get("bottle") or {})
    named = {m: n for m, n in (entries.get("solution") or {}).items() if m and m not in said and "" not in said}
    solutions = {metal: names_of(name, entries.get("solutions")) for metal, name in named.items()}
    try:
        own = own_factors(path, solutions=solutions, bottles=bottles, brush=brush)
    except RecordError as error:
        return replace(found, entries={**entries, "record_flags": (flag("RECORD_NOT_ASKED", reason=str(error)),)})
    kept = {metal: factor for metal, factor in own.items() if metal not in said and "" not in said}
    return replace(found, entries={**entries, "own": kept})


def _asked(entries: Mapping[str, Any]) -> Path | None:
    """Return the journal that is asked, None for none; one that was named has to be there, the usual one has not."""
    named = entries.get("journal")
    if named == NONE:
        if entries.get("bottle"):
            raise InputError("A bottle was named, and no journal is asked.", remedy="Name the journal, or no bottle.")
        return None
    path = usual = usual_journal()
    if named is not None and (path := Path(named)) != usual and not path.is_file():
        raise FileError(
            f"There is no journal {path}.",
            remedy="Check its name; none asks no journal, and without it the usual one is asked.",
            fields={"journal": NONE},
        )
    return path


def names_of(name: str, text: str | None) -> tuple[str, ...]:
    """Return a solution's name and its title: a bottle may carry either on its label."""
    known = read_solutions(text or "").get(name)
    return (name,) if known is None or known.title == name else (name, known.title)


def _brush(found: Filled) -> str:
    """Return the name of the brush of the profile that was taken, if one was."""
    where = found.origins.get("footprint", "")
    return where.split(".")[1] if where.startswith("brushes.") else ""
