"""One change to a record: who, when, what. Changes are only ever appended, so the history is the record."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from areakit.errors import InputError, RecordUnreadable

SUBJECTS = ("job", "bottle", "sheet", "check")
FIELDS = ("id", "subject", "key", "sequence", "at", "who", "kind", "doc", "previous", "digest")
"""The columns of an event, in the order in which they are stored, exported and read back."""

_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)")
_UNKEPT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
_BREAKS = set("\t\n\r")
_LARGEST_DOC = 8_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One appended change.

    Parameters
    ----------
    id : str
        A name of its own, by which an import knows an event that is there already.
    subject, key : str
        What it is about: ``job`` and its number, ``bottle`` and its label.
    sequence : int
        1, 2, 3 ... within one subject and key.
    at : str
        When, as ISO 8601 with its offset from UTC.
    who : str
    kind : str
        What happened, such as ``opened``.
    doc : mapping
        The particulars, as JSON.
    previous, digest : str
        SHA-256 of the event before, and of this one together with it.
    """

    id: str
    subject: str
    key: str
    sequence: int
    at: str
    who: str
    kind: str
    doc: Mapping[str, Any]
    previous: str
    digest: str


def make_event(
    *, before: Event | None, id: str, subject: str, key: str, at: str, who: str, kind: str, doc: Any
) -> Event:
    """Return the event that follows ``before`` in the record of one subject and key.

    InputError for a time without an offset, an empty name, or particulars that are not JSON.
    """
    check_words(key=key, who=who, at=at)
    check_letters(doc)
    sequence, previous = (before.sequence + 1, before.digest) if before else (1, "")
    text = canonical(doc)
    if len(text) > _LARGEST_DOC:
        raise InputError(
            f"An entry of {len(text) / 1e6:.0f} MB is too large for the journal.", remedy="Attach it as a file."
        )
    row = (id, subject, key, sequence, at, who, kind, text, previous)
    return Event(
        id=id, subject=subject, key=key, sequence=sequence, at=at, who=who, kind=kind, doc=json.loads(text),
        previous=previous, digest=digest_of(row),
    )  # fmt: skip


def check_words(*, key: str, who: str, at: str) -> None:
    """Raise InputError for a name that is empty or overlong, or a time that is not ISO 8601 with an offset."""
    for name, value, limit in (("number or label", key, 80), ("name of who did it", who, 120)):
        if not value.strip() or len(value) > limit or _UNKEPT.search(value) or set(value) & _BREAKS:
            raise InputError(
                f"The {name} {value[:20]!r} is empty, longer than {limit} characters or holds control characters.",
                remedy="Give a short plain name.",
            )
    if not _TIME.fullmatch(at):
        raise InputError(f"{at[:40]!r} is not a time.", remedy="Write it as 2026-03-14T09:30:00+01:00.")


def check_letters(doc: Any) -> None:
    """Raise InputError for text with control characters or half letters: no page shows them, terminals obey them."""
    left: list[tuple[str, Any]] = [("entry", doc)]
    while left:
        name, value = left.pop()
        if isinstance(value, Mapping):
            left += [("entry", str(key)) for key in value]
            left += [(str(key), inner) for key, inner in value.items()]
        elif isinstance(value, list | tuple):
            left += [(name, inner) for inner in value]
        elif isinstance(value, str) and (found := _UNKEPT.search(value)):
            raise InputError(
                f"The text under {name[:40]!a} holds {found.group()!a}, which is no letter: {value[:40]!a}.",
                remedy="Rename or type it without that sign.",
            )


def canonical(doc: Any) -> str:
    """Return JSON that is the same for the same content: sorted keys, no blanks, text as it is."""
    try:
        return json.dumps(doc, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
    except (TypeError, ValueError) as error:
        raise InputError(f"An entry cannot be written as JSON: {error}.", remedy="Check its figures.") from None


def digest_of(row: tuple[Any, ...]) -> str:
    """Return the SHA-256 of an event's columns, digest left out, in the order of ``FIELDS``."""
    joined = "\x1f".join(str(value) for value in row)
    return hashlib.sha256(joined.encode("utf-8", "surrogatepass")).hexdigest()


def from_row(row: tuple[Any, ...]) -> Event:
    """Return the event of one row of columns.

    RecordUnreadable if the row does not give the digest that was stored with it.
    """
    *content, digest = row
    try:
        whole = digest_of(tuple(content)) == digest
        values = dict(zip(FIELDS, row, strict=True))
        values["doc"] = json.loads(values["doc"])
    except (TypeError, ValueError):
        whole = False
    if not whole:
        raise RecordUnreadable(
            f"Entry {row[3]} of {row[1]} {row[2]} is damaged: its content does not give the digest stored with it.",
            remedy="Have the journal checked, and save what is whole.",
            fields={"areakit job check": "", "areakit job salvage": ""},
        )
    return Event(**values)


def to_row(event: Event) -> tuple[Any, ...]:
    """Return the columns of an event, in the order of ``FIELDS``."""
    return tuple(canonical(event.doc) if name == "doc" else getattr(event, name) for name in FIELDS)


def event_json(event: Event) -> dict[str, Any]:
    """Return an event as one JSON object, in the order of ``FIELDS``."""
    return {name: getattr(event, name) for name in FIELDS}


def event_from_json(body: Any) -> Event:
    """Return the event of one exported line; InputError for anything else."""
    remedy, fields = "Import a file that was exported from a journal.", {"areakit job export": ""}
    if not isinstance(body, dict) or any(name not in body for name in FIELDS):
        raise InputError("A line is not an exported entry.", remedy=remedy, fields=fields)
    if body["subject"] not in SUBJECTS or not isinstance(body["sequence"], int) or not isinstance(body["doc"], dict):
        raise InputError(
            f"An exported entry about {str(body['subject'])[:20]!r} is not known.", remedy=remedy, fields=fields
        )
    row = tuple(canonical(body["doc"]) if name == "doc" else body[name] for name in FIELDS)
    return from_row(row)
