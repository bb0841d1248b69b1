"""A job's record, folded from its events: the entries as they stand now, and the history of every one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from areakit.errors import InputError
from areakit.records.codec import quantity_from_json
from areakit.records.entries import checked
from areakit.records.event import Event
from areakit.uncertainty import Measured
from areakit.units import in_unit

State = Literal["open", "signed", "changed after sign-off"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """Who gave an entry which new values, when and why; ``before`` holds the values that stood until then."""

    number: int
    at: str
    who: str
    reason: str
    fields: Mapping[str, Any]
    before: Mapping[str, Any]
    withdrawn: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry of a record as it stands, with the corrections that made it so."""

    number: int
    at: str
    who: str
    kind: str
    doc: Mapping[str, Any]
    corrections: tuple[Correction, ...] = ()

    @property
    def withdrawn(self) -> bool:
        """Whether it no longer counts."""
        return bool(self.corrections) and self.corrections[-1].withdrawn

    def quantity(self, name: str) -> Measured | None:
        """Return one of its quantities, or None where it was not given."""
        body = self.doc.get(name)
        return None if body is None else quantity_from_json(body)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A job: its number and all entries that count, in the order in which they were written.

    ``last`` is the number of the last event, which an author names to be sure of having seen everything.
    """

    number: str
    entries: tuple[Entry, ...]
    history: tuple[Event, ...]

    @property
    def last(self) -> int:
        """Sequence of the last event."""
        return self.history[-1].sequence

    def all_of(self, kind: str) -> tuple[Entry, ...]:
        """Return the entries of a kind that count."""
        return tuple(entry for entry in self.entries if entry.kind == kind and not entry.withdrawn)

    def latest(self, kind: str) -> Entry | None:
        """Return the last entry of a kind that counts, or None."""
        found = self.all_of(kind)
        return found[-1] if found else None

    def entry(self, number: int) -> Entry:
        """Return the entry of a number; InputError if there is none that can be spoken of."""
        for entry in self.entries:
            if entry.number == number:
                return entry
        raise InputError(
            f"Job {self.number} has no entry {number}.",
            remedy="Look up the number among the entries of the job.",
            fields={f"areakit job history {self.number}": ""},
        )

    @property
    def opened(self) -> Mapping[str, Any]:
        """The order."""
        entry = self.latest("opened")
        return (
            entry.doc if entry else {"date": "", "part": "", "quantity": 1, "customer": "", "base": "", "condition": ""}
        )

    @property
    def quantity(self) -> int:
        """Number of pieces."""
        return int(self.opened["quantity"])

    @property
    def state(self) -> State:
        """``signed`` until something is written after the sign-off."""
        signed = self.latest("signed")
        if signed is None:
            return "open"
        return "changed after sign-off" if self.after_sign_off else "signed"

    @property
    def after_sign_off(self) -> tuple[Event, ...]:
        """What was written after the sign-off that counts; a certificate is no change."""
        signed = self.latest("signed")
        return tuple(
            event
            for event in self.history
            if signed is not None and event.sequence > signed.number and event.kind not in ("signed", "certified")
        )

    @property
    def measured_part(self) -> Mapping[str, Any] | None:
        """The measured part that this job is about, or None."""
        entry = self.latest("measured")
        if entry is None:
            return None
        parts = entry.doc["line"].get("parts", [])
        number = entry.doc["part"]
        return parts[number - 1] if 0 < number <= len(parts) else None

    @property
    def area(self) -> Measured | None:
        """Plated area of one piece [mm2]: as planned, else as measured, else None."""
        planned = self.latest("planned")
        if planned is not None:
            body = planned.doc["plan"].get("area", {}).get("per_piece")
            if body is not None:
                return in_unit(quantity_from_json(body), "mm2")
        part = self.measured_part
        return in_unit(quantity_from_json(part["plated_area"]), "mm2") if part and part.get("plated_area") else None

    @property
    def gain(self) -> Measured | None:
        """Mass after less mass before [kg], of the last weighing of each kind; None where one is missing."""
        before, after = (self._weighed(when) for when in ("before", "after"))
        return mass_gained(before, after) if before is not None and after is not None else None

    def _weighed(self, when: str) -> Entry | None:
        found = [entry for entry in self.all_of("weighed") if entry.doc["when"] == when]
        return found[-1] if found else None


def mass_gained(before: Entry, after: Entry) -> Measured:
    """Return the mass of one weighing less that of another before it. [kg]"""
    budget: dict[str, float] = {}
    values = []
    for entry, sign, word in ((after, 1.0, "after"), (before, -1.0, "before")):
        mass = in_unit(quantity_from_json(entry.doc["mass"]), "kg")
        values.append(sign * mass.value)
        budget |= {f"{name} {word}": sign * share for name, share in mass.budget.items()}
    return Measured(value=sum(values), unit="kg", budget=budget)


def fold(number: str, events: Iterable[Event]) -> Job:
    """Return the job that its events make; corrections change what stands, never what was written."""
    history = tuple(events)
    entries: dict[int, Entry] = {}
    for event in history:
        if event.kind != "corrected":
            entries[event.sequence] = Entry(
                number=event.sequence, at=event.at, who=event.who, kind=event.kind, doc=event.doc
            )
            continue
        target = entries.get(event.doc["entry"])
        if target is not None:
            entries[target.number] = _corrected(target, event)
    return Job(number=number, entries=tuple(entries.values()), history=history)


def _corrected(entry: Entry, event: Event) -> Entry:
    fields = event.doc["fields"]
    made = Correction(
        number=event.sequence,
        at=event.at,
        who=event.who,
        reason=event.doc["reason"],
        fields=fields,
        before={name: entry.doc.get(name) for name in fields},
        withdrawn=event.doc["withdrawn"],
    )
    return replace(entry, doc={**entry.doc, **fields}, corrections=(*entry.corrections, made))


def refuse_no_change(correction: Mapping[str, Any]) -> None:
    """Raise InputError for a correction that neither changes a field nor withdraws the entry."""
    if not correction["fields"] and not correction["withdrawn"]:
        raise InputError(
            "The correction changes nothing.",
            remedy="Change a field, or withdraw the entry.",
            fields={"set": "field=value", "withdraw": ""},
        )


def check_correction(job: Job, doc: Mapping[str, Any]) -> dict[str, Any]:
    """Return a correction that fits the entry it speaks of.

    InputError if there is no such entry, if nothing changes, or if the corrected entry could not be kept.
    """
    body = checked("corrected", doc)
    entry = job.entry(body["entry"])
    refuse_no_change(body)
    unknown = [name for name in body["fields"] if name not in entry.doc]
    if unknown:
        raise InputError(
            f"Entry {entry.number} ({entry.kind}) has no field {unknown[0][:40]!r}.",
            remedy=f"Its fields are {', '.join(entry.doc)}.",
        )
    if not body["withdrawn"]:
        whole = checked(entry.kind, {**entry.doc, **body["fields"]})
        body["fields"] = {name: whole[name] for name in body["fields"]}
    return body
