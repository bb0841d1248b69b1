"""Bottles of solution: what went in, what every run drew, what is left of charge and metal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from areakit.errors import InputError
from areakit.plating.findings import Finding
from areakit.plating.metals import range_figure
from areakit.records.codec import quantity_from_json
from areakit.records.entries import Date, Document, Name, Quantity, Text, kept
from areakit.records.event import Event
from areakit.uncertainty import Measured, exact, propagate, total
from areakit.units import in_unit, show


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    remarks: Text = ""


class Filled(_Entry):
    """A new bottle, as its label says. A bottle of recovered run-off names the one solution that it came from."""

    solution: Name
    metal: Name
    bath: Text = ""
    lot: Text = ""
    volume: Quantity
    metal_content: Quantity | None = None
    allowed_charge: Quantity | None = None
    usable_fraction: Quantity | None = None
    expiry: Date | None = None
    recovered: bool = False
    contains: list[Name] = Field(default_factory=list)


class Drew(_Entry):
    """What a run of a job took; a later entry for the same run takes its place.

    Of a run, ``charge`` and ``metal_mass`` are what was plated; ``volume`` is what sleeve and part carried away, with
    the metal in it. Without a run, ``volume`` alone stands for the metal in it too.
    """

    job: Text = ""
    run: int | None = None
    charge: Quantity | None = None
    metal_mass: Quantity | None = None
    volume: Quantity | None = None


class Added(_Entry):
    """What was put in: a top-up from stock, or solution that came back from a run of this same bottle."""

    why: Literal["top-up", "returned"]
    volume: Quantity
    metal_mass: Quantity | None = None
    charge: Quantity | None = None
    source: Text = ""
    lot: Text = ""


class Coupon(Drew):
    """A coupon plated from the bottle outside a job: ``metal_mass`` is what it gained on the balance."""

    charge: Quantity
    metal_mass: Quantity
    brush: Text = ""


class Discarded(_Entry):
    """The bottle is empty or was given to disposal."""

    reason: Name


class Set(_Entry):
    """Corrects an entry of the bottle; what was written stays to be seen."""

    entry: Annotated[int, Field(ge=1)]
    fields: Document = Field(default_factory=dict)
    withdrawn: bool = False
    reason: Name


KINDS: Mapping[str, type[_Entry]] = {
    "filled": Filled,
    "drew": Drew,
    "coupon": Coupon,
    "added": Added,
    "discarded": Discarded,
    "corrected": Set,
}


DRAWS = ("drew", "coupon")
"""Entries that take charge and metal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottle:
    """A bottle as it stands, in SI.

    Parameters
    ----------
    allowed, charge_left : Measured or None
        Charge allowed in all and what is left of it [C]; None where the label gives none.
    metal, volume : Measured or None
        Metal left [kg] and solution left [m3].
    usable : Measured or None
        Metal that can still be plated out before the solution is spent [kg]; None where no share is known.
    metal_unknown : int
        Number of runs whose metal is not known, for want of an efficiency; so much less than ``metal`` is left.
    content, charge_content : Measured or None
        Metal [kg/m3] and allowed charge [C/m3] that each volume carries away with it, by the label.
    contains : tuple of str
        Hazards that the label names besides those of the bath.
    topped_up : tuple of str
        Lots that were added from stock.
    passed, carried : Measured
        Charge that was run through it [C], and solution that sleeves and parts carried away [m3].
    """

    label: str
    solution: str
    metal_name: str
    bath: str
    lot: str
    expiry: str | None
    recovered: bool
    discarded: bool
    allowed: Measured | None
    charge_left: Measured | None
    metal: Measured | None
    usable: Measured | None
    volume: Measured
    metal_unknown: int
    last: int
    history: tuple[Event, ...] = field(repr=False)
    content: Measured | None = None
    charge_content: Measured | None = None
    contains: tuple[str, ...] = ()
    topped_up: tuple[str, ...] = ()
    passed: Measured = field(default_factory=lambda: exact(0.0, "C"))
    carried: Measured = field(default_factory=lambda: exact(0.0, "m3"))


def checked(kind: str, doc: Mapping[str, Any]) -> Document:
    """Return a bottle's entry with its defaults; InputError names every wrong field."""
    return kept(KINDS[kind], doc, f"entry ({kind})")


def standing(events: Iterable[Event]) -> list[tuple[int, str, Mapping[str, Any]]]:
    """Return number, kind and particulars of the entries that count, corrections applied."""
    entries: dict[int, tuple[str, Mapping[str, Any]]] = {}
    gone: set[int] = set()
    for event in events:
        if event.kind != "corrected":
            entries[event.sequence] = (event.kind, event.doc)
            continue
        number = event.doc["entry"]
        if number in entries:
            kind, doc = entries[number]
            entries[number] = (kind, {**doc, **event.doc["fields"]})
            (gone.add if event.doc["withdrawn"] else gone.discard)(number)
    return [(number, kind, doc) for number, (kind, doc) in entries.items() if number not in gone]


def fold(label: str, events: Iterable[Event]) -> Bottle:
    """Return the bottle that its events make; each quantity is read once."""
    history = tuple(events)
    entries = standing(history)
    filled = next((doc for _, kind, doc in entries if kind == "filled"), history[0].doc)
    last_draws: dict[tuple[str, int | None, int], Mapping[str, Any]] = {}
    for number, kind, doc in entries:
        if kind in DRAWS:
            last_draws[(doc["job"], doc["run"], number if doc["run"] is None else 0)] = doc
    draw_docs, add_docs = list(last_draws.values()), [doc for _, kind, doc in entries if kind == "added"]
    draws, adds = _amounts(draw_docs, "draw"), _amounts(add_docs, "addition")
    content, volume = _read(filled, "metal_content", "g/L", "label"), _read(filled, "volume", "m3", "volume")
    assert volume is not None
    metal = propagate(lambda c, v: c * v, content, volume, unit="kg") if content else None
    allowed = _read(filled, "allowed_charge", "C", "label")
    by_runs = _sum([one for one, doc in zip(draws, draw_docs, strict=True) if doc["run"] is not None], "volume")
    put_in = _balance(metal, adds, [], "metal_mass")
    left = _less_along(_balance(metal, adds, draws, "metal_mass"), content, draws, draw_docs)
    return Bottle(
        label=label,
        solution=filled["solution"],
        metal_name=filled["metal"],
        bath=filled["bath"],
        lot=filled["lot"],
        expiry=filled["expiry"],
        recovered=filled["recovered"],
        discarded=any(kind == "discarded" for _, kind, _ in entries),
        allowed=_balance(allowed, adds, [], "charge"),
        charge_left=_less_carried(_balance(allowed, adds, draws, "charge"), allowed, volume, by_runs),
        metal=left,
        usable=_usable(left, put_in, _share(filled)),
        volume=_balance(volume, adds, draws, "volume") or volume,
        metal_unknown=sum(1 for doc in draw_docs if _metal_unknown(doc)),
        last=history[-1].sequence,
        history=history,
        content=content,
        charge_content=propagate(lambda q, v: q / v, allowed, volume, unit="C/m3") if allowed else None,
        contains=tuple(filled.get("contains") or ()),
        topped_up=tuple(dict.fromkeys(doc["lot"] for doc in add_docs if doc.get("lot"))),
        passed=_sum(draws, "charge"),
        carried=by_runs,
    )


Amounts = dict[str, Measured]
_UNITS = {"charge": "C", "metal_mass": "kg", "volume": "m3"}


def _amounts(docs: Iterable[Mapping[str, Any]], what: str) -> list[Amounts]:
    """Return charge, metal and volume of each entry in SI, where they are stated."""
    found = []
    for number, doc in enumerate(docs, start=1):
        read = ((name, _read(doc, name, unit, f"{what} {number}")) for name, unit in _UNITS.items())
        found.append({name: amount for name, amount in read if amount is not None})
    return found


def _read(doc: Mapping[str, Any], name: str, unit: str, what: str) -> Measured | None:
    """Return a quantity in SI; what it does not know of itself is named after the field."""
    body = doc.get(name)
    if body is None:
        return None
    quantity = quantity_from_json(body)
    quantity = quantity if quantity.unit == unit else in_unit(quantity, unit)
    if set(quantity.budget) == {name}:
        return Measured(value=quantity.value, unit=unit, budget={f"{what} {name}": quantity.budget[name]})
    return quantity


def _sum(amounts: Iterable[Amounts], name: str) -> Measured:
    return total([one[name] for one in amounts if name in one], _UNITS[name])


def _balance(start: Measured | None, adds: list[Amounts], draws: list[Amounts], name: str) -> Measured | None:
    """Return what was there, plus what was added, less what was drawn; None where the start is not known."""
    if start is None:
        return None
    come, gone = _sum(adds, name), _sum(draws, name)
    return propagate(lambda a, b, c: a + b - c, start, come, gone, unit=_UNITS[name])


def _metal_unknown(doc: Mapping[str, Any]) -> bool:
    return bool(doc["charge"] and not doc["metal_mass"] and (doc["run"] is not None or not doc["volume"]))


def _less_along(
    left: Measured | None, content: Measured | None, draws: list[Amounts], docs: list[Mapping[str, Any]]
) -> Measured | None:
    """Take off the metal that went along in the solution carried away; its content is the label's.

    Of what was drawn by hand the metal stated beside the volume is all of it.
    """
    if left is None or content is None:
        return left
    along = [one for one, doc in zip(draws, docs, strict=True) if doc["run"] is not None or "metal_mass" not in one]
    return propagate(lambda m, c, v: m - c * v, left, content, _sum(along, "volume"), unit="kg")


def _less_carried(left: Measured | None, allowed: Measured | None, start: Measured, gone: Measured) -> Measured | None:
    """Take off the charge that the solution carried away by runs could still have passed."""
    if left is None or allowed is None or gone.value == 0.0:
        return left
    return propagate(lambda q, a, v, v0: q - a * v / v0, left, allowed, gone, start, unit="C")


def _share(filled: Mapping[str, Any]) -> Measured | None:
    """Return the share of the metal that can be plated out: the label's, else the usual one of the metal."""
    labelled = _read(filled, "usable_fraction", "1", "label")
    return labelled or range_figure(filled["metal"], "usable_fraction", name=f"{filled['metal']} usable fraction")


def _usable(left: Measured | None, put_in: Measured | None, share: Measured | None) -> Measured | None:
    """Return the metal left above the part of all metal put in that cannot be plated out."""
    if left is None or put_in is None or share is None:
        return None
    return propagate(lambda m, m0, f: m - (1.0 - f) * m0, left, put_in, share, unit="kg")


def check_start(
    bottle: Bottle,
    *,
    today: str,
    solution: str | None,
    charge: Measured | None,
    metal: Measured | None,
    carried: Measured | None = None,
) -> tuple[Finding, ...]:
    """Return what speaks against drawing a charge [C] and metal [kg] from a bottle for a solution today.

    Parameters
    ----------
    today : str
        ISO date.
    solution : str, optional
        The solution that the step asks for by its label.
    carried : Measured, optional
        Solution that sleeve and part carry away [m3]; its metal and its charge go with it.
    """
    charge = _with_carried(charge, carried, bottle.charge_content, "C")
    metal = _with_carried(metal, carried, bottle.content, "kg")
    found = []
    if bottle.discarded:
        found.append(_stop("BOTTLE_DISCARDED", f"Bottle {bottle.label} was discarded.", "Take another bottle."))
    if bottle.expiry is not None and today > bottle.expiry:
        found.append(
            _stop(
                "BOTTLE_EXPIRED",
                f"Bottle {bottle.label} expired on {bottle.expiry}.",
                "Take a bottle within its expiry, or ask the maker of the solution.",
            )
        )
    if solution and solution != bottle.solution:
        found.append(
            _stop(
                "BOTTLE_OTHER_SOLUTION",
                f"The step asks for {solution}; bottle {bottle.label} holds {bottle.solution}.",
                "Take the bottle with the right label; solutions are never mixed across labels.",
            )
        )
    found += _short(bottle, "BOTTLE_CHARGE", "charge", bottle.charge_left, charge, "A.min")
    if bottle.usable is None:
        found += _short(bottle, "BOTTLE_METAL", "metal", bottle.metal, metal, "mg")
    else:
        found += _short(bottle, "BOTTLE_METAL", "metal that can be plated out", bottle.usable, metal, "mg")
    return tuple(found)


def _with_carried(
    wanted: Measured | None, carried: Measured | None, content: Measured | None, unit: str
) -> Measured | None:
    if wanted is None or carried is None or content is None:
        return wanted
    return propagate(lambda w, v, c: w + v * c, wanted, carried, content, unit=unit)


def _short(
    bottle: Bottle, code: str, what: str, there: Measured | None, wanted: Measured | None, unit: str
) -> list[Finding]:
    """A stop where the best estimates do not reach, a caution where they may not within the expanded uncertainty."""
    if there is None or wanted is None or wanted.value <= 0:
        return []
    after = propagate(lambda a, b: a - b, there, wanted, unit=there.unit)
    if after.value - after.expanded_uncertainty >= 0:
        return []
    message = (
        f"The run draws {show(wanted, unit)} of {what}; bottle {bottle.label} has {show(there, unit)} left, so "
        f"{'it would run past its limit' if after.value < 0 else 'it may not reach'}."
    )
    return [
        Finding(
            code=code,
            severity="stop" if after.value < 0 else "check",
            message=message,
            why="A spent solution plates thin, dark or loose, whatever the meter says.",
            source="mil2197",
            remedy="Take a fuller bottle, or split the run and say so in the record.",
        )
    ]


def _stop(code: str, message: str, remedy: str) -> Finding:
    return Finding(
        code=code,
        severity="stop",
        message=message,
        why="Solutions are used within their expiry and their ampere-hours, and never mixed across labels.",
        source="mil2197",
        remedy=remedy,
    )


def check_merge(source: Bottle, into: Bottle) -> None:
    """Raise InputError unless solution may go from one bottle into another: same solution, and both fresh or both not.

    Sources
    -------
    [mil2197] recovered solution is kept apart and never mixed across labels.
    """
    if source.solution != into.solution or source.metal_name != into.metal_name:
        raise InputError(
            f"{source.label} holds {source.solution}, {into.label} holds {into.solution}: they are never mixed.",
            remedy="Give the recovered solution a bottle of its own.",
            fields={"areakit bottle recover --into LABEL": ""},
        )
    if source.recovered != into.recovered or not into.recovered:
        raise InputError(
            f"Recovered run-off is not poured into {into.label}, which holds fresh solution.",
            remedy="Give it a bottle of its own.",
            fields={"areakit bottle recover --into LABEL": ""},
        )
