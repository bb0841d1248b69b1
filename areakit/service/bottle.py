"""Keep account of bottles: fill, draw, top up, recover, discard, correct."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

from areakit.errors import InputError
from areakit.plating.findings import Finding
from areakit.plating.solutions import Solution, read_solutions
from areakit.records import bottles
from areakit.records.bottle_checks import check_entry, check_left
from areakit.records.bottles import Bottle
from areakit.records.event import Event
from areakit.records.job import refuse_no_change
from areakit.records.journal import Journal
from areakit.service.desk import Desk, quantity, read_date
from areakit.service.entries import read_quantity
from areakit.service.record_requests import NewBottle as NewBottle
from areakit.service.shop import load_shop
from areakit.uncertainty import Measured, exact, propagate
from areakit.units import in_unit, parse_with_tolerance


def from_solution(request: NewBottle, solutions: str | None) -> NewBottle:
    """Return a bottle with everything that the stored solution of its name says, where nothing else was said.

    The bottle bears the title of the solution, as plans name it. A solution of the file goes before one of the same
    key in the shop profile.

    Parameters
    ----------
    solutions : str or None
        Text of the solutions file.

    Raises
    ------
    InputError
        If the metal is another than that of the solution, or is known from neither.
    """
    stored = _stored(request.solution, solutions)
    if stored is None:
        if not request.metal:
            raise InputError(
                f"There is no stored solution {request.solution[:40]!r}, so the metal of the bottle is not known.",
                remedy="Name the metal, or store the solution.",
                fields={"metal": "", "areakit solution add": ""},
            )
        return request
    if request.metal not in ("", stored.metal):
        raise InputError(
            f"The solution {request.solution} deposits {stored.metal}, not {request.metal}.",
            remedy="Leave the metal out, or name another solution.",
            fields={"metal": ""},
        )
    told: dict[str, Any] = {
        "metal": stored.metal,
        "bath": stored.bath.key,
        "metal_content": None if stored.metal_content is None else f"{stored.metal_content:.6g} g/L",
        "allowed_charge": None if stored.allowed_charge is None else f"{stored.allowed_charge / 3.6e6:.6g} A.h/L",
        "usable_fraction": None if stored.usable_fraction is None else f"{100.0 * stored.usable_fraction:.6g} %",
        "contains": stored.contains,
    }
    told = {name: text for name, text in told.items() if text and not getattr(request, name)}
    return replace(request, solution=stored.title, **told)


def _stored(name: str, solutions: str | None) -> Solution | None:
    """Return the solution of this key or title, of the file or else of the shop profile."""
    profile = load_shop()
    known = {**(profile.solutions if profile is not None else {}), **read_solutions(solutions or "")}
    return known.get(name) or next((one for one in known.values() if one.title == name), None)


def add_bottle(desk: Desk, request: NewBottle) -> Bottle:
    """Open the account of a bottle; InputError if the label is taken."""
    doc = bottles.checked("filled", _filled(desk, request))
    check_entry("filled", doc)
    with desk.to_write() as journal, journal.writing() as writer:
        if writer.holds("bottle", request.label):
            raise InputError(
                f"There is a bottle {request.label} already.", remedy="Give each bottle a label of its own."
            )
        made = writer.append("bottle", request.label, "filled", at=desk.at, who=desk.who, doc=doc)
    return bottles.fold(request.label, [made])


def _filled(desk: Desk, request: NewBottle) -> dict[str, Any]:
    said = asdict(request)
    label = said.pop("label")
    return {
        **said,
        "volume": quantity(request.volume, "volume", f"{label} volume"),
        "metal_content": quantity(request.metal_content, "concentration", f"{label} metal content"),
        "allowed_charge": _allowed(request),
        "usable_fraction": quantity(request.usable_fraction, "ratio", f"{label} usable fraction"),
        "expiry": read_date(request.expiry, desk.now) if request.expiry else None,
        "contains": list(request.contains),
    }


def _allowed(request: NewBottle) -> dict[str, Any] | None:
    text = request.allowed_charge
    if text is None or "/" not in text:
        return quantity(text, "charge", f"{request.label} allowed charge")
    per_volume = parse_with_tolerance(text, "charge per volume")[0]
    volume = parse_with_tolerance(request.volume, "volume")[0]
    from areakit.records.codec import quantity_json

    return quantity_json(exact(per_volume * volume, "C"))


def read_bottle(journal: Journal, label: str) -> Bottle:
    """Return a bottle as it stands."""
    return bottles.fold(label, journal.history("bottle", label))


def show_bottle(desk: Desk, label: str) -> Bottle:
    """Return a bottle as it stands."""
    with desk.to_read() as journal:
        return read_bottle(journal, label)


def list_bottles(desk: Desk, *, every: bool = False) -> tuple[Bottle, ...]:
    """Return the bottles in use, or also the discarded ones."""
    with desk.to_read() as journal:
        found = [read_bottle(journal, label) for label in journal.keys("bottle")]
    return tuple(bottle for bottle in found if every or not bottle.discarded)


def write(desk: Desk, label: str, kind: str, *, doc: Mapping[str, Any]) -> Bottle:
    """Add one entry to a bottle's account.

    Raises
    ------
    InputError
        If the bottle was discarded, or the entry says what no bottle can hold or give.
    """
    body = bottles.checked(kind, doc)
    if kind != "corrected":
        check_entry(kind, body)
    with desk.to_change() as journal, journal.writing() as writer:
        history = writer.history("bottle", label)
        if kind == "corrected":
            _check_correction(label, history, body)
        elif any(was == "discarded" for _, was, _ in bottles.standing(history)):
            raise InputError(f"Bottle {label} was discarded.", remedy="Take another bottle.")
        made = writer.append("bottle", label, kind, at=desk.at, who=desk.who, doc=body)
        after = bottles.fold(label, [*history, made])
        check_left(lambda: bottles.fold(label, history), after)
    return after


def _check_correction(label: str, history: Sequence[Event], body: dict[str, Any]) -> None:
    """Raise InputError unless the corrected entry is there and could be kept."""
    there = {event.sequence: (event.kind, event.doc) for event in history if event.kind != "corrected"}
    if body["entry"] not in there:
        raise InputError(
            f"Bottle {label} has no entry {body['entry']}.",
            remedy="Look at the entries of the bottle.",
            fields={"areakit bottle show": ""},
        )
    refuse_no_change(body)
    kind, doc = there[body["entry"]]
    check_entry(kind, bottles.checked(kind, {**doc, **body["fields"]}))


def draw(
    desk: Desk, label: str, *, charge: str | None = None, mass: str | None = None, volume: str | None = None,
    remarks: str = "",
) -> Bottle:  # fmt: skip
    """Record what was taken without a job: charge, metal, or solution with the metal in it."""
    if charge is None and mass is None and volume is None:
        raise InputError(
            "Nothing was drawn.",
            remedy="Give the charge, the mass or the volume.",
            fields={"charge": "", "mass": "", "volume": ""},
        )
    doc = {
        "charge": quantity(charge, "charge", "ammeter"),
        "metal_mass": quantity(mass, "mass", "balance"),
        "volume": quantity(volume, "volume", "measure"),
        "remarks": remarks,
    }
    return write(desk, label, "drew", doc=doc)


def top_up(
    desk: Desk, label: str, *, volume: str, mass: str | None = None, charge: str | None = None, remarks: str = "",
    lot: str = "",
) -> Bottle:  # fmt: skip
    """Record what was added from stock, with the lot that it came from."""
    doc = {
        "why": "top-up",
        "volume": quantity(volume, "volume", "measure"),
        "metal_mass": quantity(mass, "mass", "balance"),
        "charge": quantity(charge, "charge", "label"),
        "lot": lot,
        "remarks": remarks,
    }
    return write(desk, label, "added", doc=doc)


def recover(
    desk: Desk, source: str, *, into: str, volume: str, mass: str | None = None, charge: str | None = None,
    remarks: str = "",
) -> Bottle:  # fmt: skip
    """Record run-off of a bottle's solution that was caught, in a bottle of its own.

    ``into`` is opened if it is not there. Otherwise it has to hold recovered solution of the same label. Metal and
    usable charge are as stated, or those of the source for the same volume, with their uncertainty; the source loses
    what the other gains.
    """
    with desk.to_change() as journal, journal.writing() as writer:
        mother = bottles.fold(source, writer.history("bottle", source))
        before = writer.history("bottle", into) if writer.holds("bottle", into) else ()
        caught = _caught(mother, volume, mass, charge)
        taken = bottles.checked("drew", {**caught, "remarks": f"run-off caught in {into}"})
        drawn = writer.append("bottle", source, "drew", at=desk.at, who=desk.who, doc=taken)
        check_left(lambda: mother, bottles.fold(source, [*mother.history, drawn]))
        if before:
            target = bottles.fold(into, before)
            if target.solution != mother.solution or not target.recovered:
                bottles.check_merge(mother, target)
            kind = "added"
            doc = bottles.checked(kind, {"why": "returned", "source": source, "remarks": remarks, **caught})
        else:
            kind, doc = "filled", _recovered(mother, caught, remarks)
        made = writer.append("bottle", into, kind, at=desk.at, who=desk.who, doc=doc)
    return bottles.fold(into, [*before, made])


def _caught(mother: Bottle, volume: str, mass: str | None, charge: str | None) -> dict[str, Any]:
    from areakit.records.codec import quantity_json

    caught = parse_with_tolerance(volume, "volume")[0]
    if not 0 < caught <= mother.volume.value:
        raise InputError(
            f"{volume} were caught of a bottle that holds {mother.volume.value * 1e6:.0f} mL.",
            remedy="Check the volume, or correct what went into the bottle.",
        )
    typed = {
        "volume": quantity(volume, "volume", "measure"),
        "metal_mass": quantity(mass, "mass", "balance"),
        "charge": quantity(charge, "charge", "label"),
    }
    check_entry("added", typed)
    share = caught / mother.volume.value
    for name, there in (("metal_mass", mother.metal), ("charge", mother.charge_left)):
        if typed[name] is None and there is not None:
            typed[name] = quantity_json(_times(there, share))
    return typed


def _times(quantity_of: Measured, share: float) -> Measured:
    budget = {name: part * share for name, part in quantity_of.budget.items()}
    return Measured(value=quantity_of.value * share, unit=quantity_of.unit, budget=budget)


def _still_usable(mother: Bottle) -> dict[str, Any] | None:
    """Return the share of the metal left in a bottle that can still be plated out."""
    from areakit.records.codec import quantity_json

    if mother.usable is None or mother.metal is None or not mother.metal.value > 0 or mother.usable.value < 0:
        return None
    return quantity_json(propagate(lambda u, m: u / m, mother.usable, mother.metal, unit="1"))


def _recovered(mother: Bottle, caught: dict[str, Any], remarks: str) -> dict[str, Any]:
    from areakit.records.codec import quantity_from_json, quantity_json

    content = None
    if caught["metal_mass"] is not None:
        metal = in_unit(quantity_from_json(caught["metal_mass"]), "kg")
        volume = in_unit(quantity_from_json(caught["volume"]), "m3")
        content = quantity_json(
            Measured(
                value=metal.value / volume.value,
                unit="g/L",
                budget={name: part / volume.value for name, part in metal.budget.items()},
            )
        )
    return bottles.checked(
        "filled",
        {
            "solution": mother.solution,
            "metal": mother.metal_name,
            "bath": mother.bath,
            "lot": mother.lot,
            "volume": caught["volume"],
            "metal_content": content,
            "allowed_charge": caught["charge"],
            "usable_fraction": _still_usable(mother),
            "expiry": mother.expiry,
            "recovered": True,
            "contains": list(mother.contains),
            "remarks": f"recovered from {mother.label}. {remarks}".strip(),
        },
    )


def look_ahead(
    desk: Desk,
    label: str,
    *,
    solution: str | None = None,
    charge: str | None = None,
    mass: str | None = None,
    carried: str | None = None,
) -> tuple[Finding, ...]:
    """Return what speaks against drawing a charge and a mass of metal from a bottle today.

    ``carried`` is the solution that sleeve and parts carry away.
    """
    wanted = read_quantity(charge, "charge", "plan") if charge else None
    metal = read_quantity(mass, "mass", "plan") if mass else None
    away = read_quantity(carried, "volume", "carried away") if carried else None
    return bottles.check_start(
        show_bottle(desk, label), today=desk.today, solution=solution, charge=wanted, metal=metal, carried=away
    )
