"""Ask the record for the shop's own factor of a solution or a bottle."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

from areakit.errors import InputError
from areakit.plating.deposit import table_density
from areakit.plating.metals import Bath, all_baths
from areakit.plating.solutions import default_bath
from areakit.records.bottles import Bottle
from areakit.records.job import fold as fold_job
from areakit.records.journal import Journal
from areakit.records.observations import EVIDENCE, Seen, bath_age, coupons_of, observations_of, together
from areakit.records.recorded_factor import RecordedFactor, factor_json, recorded_factor
from areakit.service.bottle import read_bottle, show_bottle, write
from areakit.service.desk import Desk, quantity
from areakit.service.record_requests import NewCoupon

MOST_BOTTLES, MOST_RUNS = 20, 60
"""The newest of a solution that are looked at, so that a long record costs no more than a short one: their mean is
known eight times better than they differ, and older ones tell more of the past than of the next run."""


def bottle_factor(desk: Desk, label: str, *, brush: str = "") -> RecordedFactor:
    """Return the factor of a bottle's solution, for that bottle; InputError if there is no such bottle."""
    with desk.to_read() as journal:
        return _of_bottle(journal, read_bottle(journal, label), brush)


def factor_as_json(desk: Desk, label: str, *, brush: str = "") -> dict[str, Any]:
    """Return what ``areakit bottle factor --json`` prints; its plating factor is for the table's density."""
    bath = bath_of(show_bottle(desk, label))
    return factor_json(bottle_factor(desk, label, brush=brush), bath, table_density(bath).quantity)


def factor_drawing(desk: Desk, label: str, *, brush: str = "") -> str:
    """Return the factor over the bottle's age as SVG text; InputError where the runs are too few."""
    from areakit.reports.factor_plot import factor_svg

    found = bottle_factor(desk, label, brush=brush)
    if found.factor is None:
        raise InputError("There is no own factor to draw yet.", remedy="Weigh, or measure, two runs and more.")
    return factor_svg(found)


def _of_bottle(journal: Journal, bottle: Bottle, brush: str) -> RecordedFactor:
    same = (
        one
        for one in _bottles(journal, (bottle.solution,), bottle.metal_name)
        if one.recovered == bottle.recovered and one.label != bottle.label
    )
    return _factor(journal, [bottle, *islice(same, MOST_BOTTLES - 1)], bottle=bottle, brush=brush)


def _bottles(journal: Journal, names: tuple[str, ...], metal: str) -> Iterator[Bottle]:
    """Yield the bottles of a solution, the newest first, each read when it is asked for."""
    found = (read_bottle(journal, label) for label in journal.bottles_of(names))
    return (one for one in found if one.solution in names and one.metal_name == metal)


def _factor(journal: Journal, bottles: Sequence[Bottle], *, bottle: Bottle | None, brush: str) -> RecordedFactor:
    seen: list[Seen] = []
    for one in bottles:
        seen.append(_seen(journal, one, room=MOST_RUNS - len(together(seen).runs)))
    return recorded_factor(
        bottles,
        together(seen),
        solution=bottles[0].solution,
        metal=bottles[0].metal_name,
        bottle=bottle,
        brush=brush,
    )


def _seen(journal: Journal, bottle: Bottle, *, room: int) -> Seen:
    """Return what the newest runs of a bottle say, so many of them; only their jobs are read."""
    if not room:
        return Seen()
    seen, ages = coupons_of(bottle), bath_age(bottle)
    drawn = (event.doc["job"] for event in reversed(bottle.history) if event.kind == "drew" and event.doc["job"])
    found = Seen()
    for key in dict.fromkeys(drawn):
        if len(found.runs) >= room:
            break
        if journal.has_kind("job", key, EVIDENCE):
            job = fold_job(key, journal.history("job", key))
            found = together([observations_of(job, bottle, ages), found])
    return together([seen, found]).newest(room)


def of_metal(
    journal: Journal, metal: str, names: tuple[str, ...], label: str | None, brush: str
) -> RecordedFactor | None:
    """Return the own factor of a metal's bottle, or of all bottles of its solution; None where there are none.

    InputError if the named bottle is not there, or holds another metal or solution.
    """
    if label is not None:
        bottle = read_bottle(journal, label)
        if bottle.metal_name != metal or (names and bottle.solution not in names):
            raise InputError(
                f"Bottle {label} holds {bottle.solution} ({bottle.metal_name}), not {names[-1] if names else metal}.",
                remedy="Name a bottle of that solution, or the solution of that bottle.",
                fields={"solution": ""},
            )
        return _of_bottle(journal, bottle, brush)
    fresh = list(islice((one for one in _bottles(journal, names, metal) if not one.recovered), MOST_BOTTLES))
    return _factor(journal, fresh, bottle=None, brush=brush) if fresh else None


def bath_of(bottle: Bottle) -> Bath:
    """Return the kind of bath that a bottle holds: as it says, else the usual one of its metal for a brush."""
    return all_baths()[bottle.bath] if bottle.bath in all_baths() else default_bath(bottle.metal_name, "brush")


def add_coupon(desk: Desk, label: str, request: NewCoupon) -> Bottle:
    """Record a coupon plated from a bottle outside a job: it draws from the bottle, and tells of its factor.

    InputError if charge or gain is not above zero.
    """
    passed = quantity(request.charge, "charge", "ampere-minute meter")
    gained = quantity(request.gain, "mass", "balance")
    for what, body, text in (("charge", passed, request.charge), ("gain", gained, request.gain)):
        if body is None or not body["value"] > 0.0:
            raise InputError(f"A {what} of {text.strip()} is no coupon's.", remedy="Give charge and gain above zero.")
    doc = {"charge": passed, "metal_mass": gained, "brush": request.brush, "remarks": request.remarks}
    return write(desk, label, "coupon", doc=doc)
