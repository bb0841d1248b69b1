"""Ask the record for the shop's own factor of a solution or a bottle."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from areakit.errors import InputError, RecordError
from areakit.flags import flag
from areakit.plating.deposit import table_density
from areakit.plating.metals import Bath, all_baths
from areakit.plating.solutions import default_bath, read_solutions
from areakit.records.bottles import Bottle
from areakit.records.job import fold as fold_job
from areakit.records.journal import Journal
from areakit.records.observations import Seen, coupons_of, observations_of, together
from areakit.records.recorded_factor import RecordedFactor, factor_json, recorded_factor
from areakit.service.bottle import read_bottle, show_bottle, write
from areakit.service.desk import Desk, quantity
from areakit.service.shop_fill import Filled

NONE = "none"
"""Names no journal: plan without asking the record."""


def usual_journal() -> Path:
    """Return the journal that is asked where nobody names one: that of the environment, else of the data folder."""
    from platformdirs import user_data_path

    named = os.environ.get("AREAKIT_JOURNAL")
    return Path(named) if named else user_data_path("areakit") / "journal.sqlite"


def bottle_factor(desk: Desk, label: str, *, brush: str = "") -> RecordedFactor:
    """Return the factor of a bottle's solution, for that bottle.

    Raises
    ------
    InputError
        If there is no such bottle.
    """
    with desk.to_read() as journal:
        return _of_bottle(journal, read_bottle(journal, label), brush)


def factor_as_json(desk: Desk, label: str, *, brush: str = "") -> dict[str, Any]:
    """Return what ``areakit bottle factor --json`` prints; its plating factor is for the table's density."""
    bath = bath_of(show_bottle(desk, label))
    return factor_json(bottle_factor(desk, label, brush=brush), bath, table_density(bath).quantity)


def factor_drawing(desk: Desk, label: str, *, brush: str = "") -> str:
    """Return the factor over the bottle's age as SVG text.

    Raises
    ------
    InputError
        Where the runs are too few.
    """
    from areakit.reports.factor_plot import factor_svg

    found = bottle_factor(desk, label, brush=brush)
    if found.factor is None:
        raise InputError("There is no own factor to draw yet.", remedy="Weigh, or measure, two runs and more.")
    return factor_svg(found)


def _of_bottle(journal: Journal, bottle: Bottle, brush: str) -> RecordedFactor:
    same = [
        one
        for one in _bottles(journal, (bottle.solution,), bottle.metal_name)
        if one.recovered == bottle.recovered and one.label != bottle.label
    ]
    return _factor(journal, [bottle, *same], bottle=bottle, brush=brush)


def _bottles(journal: Journal, names: tuple[str, ...], metal: str) -> list[Bottle]:
    found = (read_bottle(journal, label) for label in journal.keys("bottle"))
    return [one for one in found if one.solution in names and one.metal_name == metal]


def _factor(journal: Journal, bottles: Sequence[Bottle], *, bottle: Bottle | None, brush: str) -> RecordedFactor:
    seen = [_seen(journal, one) for one in bottles]
    return recorded_factor(
        bottles,
        together(seen),
        solution=bottles[0].solution,
        metal=bottles[0].metal_name,
        bottle=bottle,
        brush=brush,
    )


def _seen(journal: Journal, bottle: Bottle) -> Seen:
    drawn = dict.fromkeys(event.doc["job"] for event in bottle.history if event.kind == "drew" and event.doc["job"])
    jobs = [observations_of(fold_job(key, journal.history("job", key)), bottle) for key in drawn]
    return together([coupons_of(bottle), *jobs])


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
    if not path.is_file() or not (solutions or bottles):
        if bottles:
            raise InputError(f"There is no journal {path} to find a bottle in.", remedy="Name it with --journal.")
        return {}
    found: dict[str, RecordedFactor] = {}
    with Journal(path, write=False) as journal:
        for metal in {**solutions, **bottles}:
            made = _of_metal(journal, metal, solutions.get(metal, ()), bottles.get(metal), brush)
            if made is not None and made.factor is not None:
                found[metal] = made
    return found


def _of_metal(
    journal: Journal, metal: str, names: tuple[str, ...], label: str | None, brush: str
) -> RecordedFactor | None:
    if label is not None:
        bottle = read_bottle(journal, label)
        if bottle.metal_name != metal or (names and bottle.solution not in names):
            raise InputError(
                f"Bottle {label} holds {bottle.solution} ({bottle.metal_name}), not {names[-1] if names else metal}.",
                remedy="Name a bottle of that solution, or the solution of that bottle with --solution.",
            )
        return _of_bottle(journal, bottle, brush)
    fresh = [one for one in _bottles(journal, names, metal) if not one.recovered]
    return _factor(journal, fresh, bottle=None, brush=brush) if fresh else None


def bath_of(bottle: Bottle) -> Bath:
    """Return the kind of bath that a bottle holds: as it says, else the usual one of its metal for a brush."""
    return all_baths()[bottle.bath] if bottle.bath in all_baths() else default_bath(bottle.metal_name, "brush")


def add_coupon(desk: Desk, label: str, *, charge: str, gain: str, brush: str = "", remarks: str = "") -> Bottle:
    """Record a coupon plated from a bottle outside a job: it draws from the bottle, and tells of its factor.

    Raises
    ------
    InputError
        If charge or gain is not above zero.
    """
    passed, gained = (quantity(charge, "charge", "ampere-minute meter"), quantity(gain, "mass", "balance"))
    for what, body, text in (("charge", passed, charge), ("gain", gained, gain)):
        if body is None or not body["value"] > 0.0:
            raise InputError(f"A {what} of {text.strip()} is no coupon's.", remedy="Give charge and gain above zero.")
    doc = {
        "charge": passed,
        "metal_mass": gained,
        "brush": brush,
        "remarks": remarks,
    }
    return write(desk, label, "coupon", doc=doc)


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
    """
    brush = _brush(found)
    entries = {**found.entries, "brush_taken": brush or found.entries.get("brush_taken")}
    path = entries.get("journal")
    if path == NONE and entries.get("bottle"):
        raise InputError("A bottle was named, and no journal is asked.", remedy="Name the journal, or no bottle.")
    if path == NONE or entries.get("own"):
        return replace(found, entries=entries)
    said = {metal for name in ("efficiency", "factor") for metal in typed.get(name) or {}}
    bottles = dict(entries.get("bottle") or {})
    named = {m: n for m, n in (entries.get("solution") or {}).items() if m and m not in said and "" not in said}
    solutions = {metal: names_of(name, entries.get("solutions")) for metal, name in named.items()}
    try:
        own = own_factors(Path(path) if path else usual_journal(), solutions=solutions, bottles=bottles, brush=brush)
    except RecordError as error:
        return replace(found, entries={**entries, "record_flags": (flag("RECORD_NOT_ASKED", reason=str(error)),)})
    kept = {metal: factor for metal, factor in own.items() if metal not in said and "" not in said}
    return replace(found, entries={**entries, "own": kept})


def names_of(name: str, text: str | None) -> tuple[str, ...]:
    """Return a solution's name and its title: a bottle may carry either on its label."""
    known = read_solutions(text or "").get(name)
    return (name,) if known is None or known.title == name else (name, known.title)


def _brush(found: Filled) -> str:
    """Return the name of the brush of the profile that was taken, if one was."""
    where = found.origins.get("contact", "")
    return where.split(".")[1] if where.startswith("brushes.") else ""
