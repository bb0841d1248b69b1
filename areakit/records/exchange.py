"""A journal, or some of its records, as JSON Lines or CSV, and back."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from areakit.errors import InputError, RecordChanged
from areakit.foreign_text import json_from
from areakit.records.event import FIELDS, Event, event_from_json, event_json, to_row
from areakit.records.journal import Journal
from areakit.records.spreadsheet import as_text, from_text
from areakit.records.stored_file import StoredFile

SCHEMA = "areakit.journal/1"
_REMEDY = "Import a file that was exported from a journal."
_FIELDS = {"areakit job export": ""}


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What an import did: events added, events that were there already, files added."""

    added: int
    known: int
    files: int


def chosen_events(journal: Journal, keys: Iterable[tuple[str, str]] = ()) -> Iterator[Event]:
    """Yield the events of the named records, or of all."""
    wanted = tuple(keys)
    if not wanted:
        yield from journal.every_event()
    for subject, key in wanted:
        yield from journal.history(subject, key)


def to_lines(events: Iterable[Event], files: Iterable[StoredFile] = ()) -> Iterator[str]:
    """Yield JSON Lines: a heading, the files in base 64, then the events."""
    yield json.dumps({"schema": SCHEMA})
    for file in files:
        content = base64.b64encode(file.content).decode("ascii")
        body = {"sha256": file.sha256, "name": file.name, "media": file.media, "base64": content}
        yield json.dumps({"file": body}, ensure_ascii=False)
    for event in events:
        yield json.dumps({"event": event_json(event)}, ensure_ascii=False)


def files_of(journal: Journal, events: Iterable[Event]) -> Iterator[StoredFile]:
    """Yield the stored files that events speak of, each once."""
    there, seen = set(journal.file_hashes()), set()
    for event in events:
        sha256 = event.doc.get("sha256")
        if isinstance(sha256, str) and sha256 in there and sha256 not in seen:
            seen.add(sha256)
            yield journal.file(sha256)


def to_csv(events: Iterable[Event]) -> str:
    """Return CSV with one event a row, particulars as JSON; files are left out, and no cell is taken for a formula."""
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(FIELDS)
    for event in events:
        writer.writerow(map(as_text, to_row(event)))
    return page.getvalue()


def read_export(text: str) -> tuple[list[Event], list[StoredFile]]:
    """Return events and files of an export in either form.

    InputError for text that is no export, with the number of the line.
    """
    if text.startswith(",".join(FIELDS)):
        return _read_csv(text), []
    events: list[Event] = []
    files: list[StoredFile] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            _read_line(number, line, events, files)
    return events, files


def _read_line(number: int, line: str, events: list[Event], files: list[StoredFile]) -> None:
    try:
        body = json_from(line)
    except ValueError:
        raise InputError(f"Line {number} is not JSON.", remedy=_REMEDY, fields=_FIELDS) from None
    if number == 1 and (not isinstance(body, dict) or body.get("schema") != SCHEMA):
        raise InputError(
            "The first line does not say that this is an export of a journal.", remedy=_REMEDY, fields=_FIELDS
        )
    if isinstance(body, dict) and "event" in body:
        events.append(event_from_json(body["event"]))
    elif isinstance(body, dict) and "file" in body:
        files.append(_file(number, body["file"]))


def _file(number: int, body: Any) -> StoredFile:
    try:
        content = base64.b64decode(body["base64"], validate=True)
        made = StoredFile(sha256=body["sha256"], name=str(body["name"]), media=str(body["media"]), content=content)
    except (KeyError, TypeError, ValueError):
        raise InputError(f"The file in line {number} cannot be read.", remedy=_REMEDY, fields=_FIELDS) from None
    if hashlib.sha256(content).hexdigest() != made.sha256:
        raise InputError(f"The file {made.name} in line {number} does not give its hash.", remedy="Export it again.")
    return made


def _read_csv(text: str) -> list[Event]:
    csv.field_size_limit(16_000_000)
    events = []
    for number, row in enumerate(_table(text), start=2):
        try:
            body: dict[str, Any] = {name: from_text(cell) for name, cell in row.items()}
            body |= {"sequence": int(body["sequence"]), "doc": json_from(body["doc"])}
        except (KeyError, TypeError, ValueError, AttributeError):
            raise InputError(f"Row {number} cannot be read.", remedy=_REMEDY, fields=_FIELDS) from None
        events.append(event_from_json(body))
    return events


def _table(text: str) -> list[dict[str, Any]]:
    try:
        return list(csv.DictReader(io.StringIO(text)))
    except csv.Error as error:
        raise InputError(f"This is not a table: {error}.", remedy=_REMEDY, fields=_FIELDS) from None


def take_in(journal: Journal, events: Iterable[Event], files: Iterable[StoredFile], *, gaps: bool = False) -> Taken:
    """Add what is not there yet, all or nothing.

    RecordChanged if a record went on differently here and there: nothing is merged by guessing.

    Parameters
    ----------
    gaps : bool
        Take also records with missing entries, such as those saved from a damaged store; the journal's check will
        name the gaps.
    """
    added = known = kept = 0
    with journal.writing() as writer:
        here = set(journal.file_hashes())
        for file in files:
            if file.sha256 not in here:
                writer.keep_file(name=file.name, media=file.media, content=file.content)
                here.add(file.sha256)
                kept += 1
        for event in sorted(events, key=lambda e: (e.subject, e.key, e.sequence)):
            digest = writer.has_event(event.id)
            if digest == event.digest:
                known += 1
                continue
            last = writer.last(event.subject, event.key)
            fits = (event.sequence, event.previous) == ((last.sequence + 1, last.digest) if last else (1, ""))
            beyond = gaps and digest is None and (last is None or event.sequence > last.sequence)
            if not fits and not beyond:
                raise RecordChanged(
                    f"{event.subject} {event.key} differs from entry {event.sequence} on: nothing was taken.",
                    remedy="Import into an empty journal and compare the two.",
                    fields={"journal": "NEW"},
                )
            sha256 = event.doc.get("sha256")
            writer.put(event, (sha256,) if isinstance(sha256, str) and sha256 in here else ())
            added += 1
    return Taken(added=added, known=known, files=kept)
