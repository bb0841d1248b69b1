"""Finding damage in a journal, and saving what is whole.

A damaged store is read in two ways: row by row through SQLite, and page by page from the raw bytes (``pages``). Every
row is taken only if it gives the digest that was stored with it, every file only if it gives its hash.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from areakit.errors import AreakitError
from areakit.records.event import FIELDS, Event, from_row
from areakit.records.pages import RawRow, Store, event_rows, file_rows
from areakit.records.stored_file import StoredFile

_COLUMNS = ", ".join(FIELDS)
_LEAST_ROW = 64
"""A row holds at least its digest, in as many letters. [byte]"""


def faults_of(database: sqlite3.Connection) -> tuple[str, ...]:
    """Return one sentence for each fault; empty for a whole store."""
    try:
        found = [f"page check: {row[0]}" for row in database.execute("PRAGMA integrity_check") if row[0] != "ok"]
        found += [f"a row of {row[0]} points to nothing" for row in database.execute("PRAGMA foreign_key_check")]
        found += _broken_chains(database)
        for name, sha256, content in database.execute("SELECT name, sha256, bytes FROM file"):
            if hashlib.sha256(content).hexdigest() != sha256:
                found.append(f"the stored file {name} does not give its hash")
        return tuple(found)
    except sqlite3.Error as error:
        return (f"reading stopped: {error}",)


def _broken_chains(database: sqlite3.Connection) -> Iterator[str]:
    last: dict[tuple[str, str], Event] = {}
    for row in database.execute(f"SELECT {_COLUMNS} FROM event ORDER BY subject, key, sequence"):
        try:
            event = from_row(row)
        except AreakitError as error:
            yield error.message
            continue
        before = last.get((event.subject, event.key))
        expected = (before.sequence + 1, before.digest) if before else (1, "")
        if (event.sequence, event.previous) != expected:
            yield f"before entry {event.sequence} of {event.subject} {event.key} something is missing or was changed"
        last[(event.subject, event.key)] = event


@dataclass(frozen=True, slots=True, kw_only=True)
class Salvaged:
    """What is whole in a damaged store, and how much is known to be lost.

    Parameters
    ----------
    events, files : tuple
        Each once.
    lost_events, lost_files : int
        Entries that were numbered, or that later ones of their record follow, and files that entries speak of. What
        left no trace at all is not in these numbers.
    pages, pages_lost : int
        What the file says that it has, and how many of them lie behind its end: it was cut short.
    """

    events: tuple[Event, ...]
    files: tuple[StoredFile, ...]
    lost_events: int
    lost_files: int
    pages: int = 0
    pages_lost: int = 0


def salvage(path: Path) -> Salvaged:
    """Return everything that is still whole in a damaged store, in a readable order."""
    store = Store(path)
    raw = list(event_rows(store))
    numbered = [*_rows_by_sqlite(path), *raw]
    events = _without_rivals(_whole(numbered))
    files = _files(path)
    wanted = {event.doc["sha256"] for event in events if {"sha256", "media"} <= event.doc.keys()}
    return Salvaged(
        events=tuple(sorted(events, key=lambda e: (e.at, e.subject, e.key, e.sequence))),
        files=tuple(files.values()),
        lost_events=_lost(path, events, max((row.number or 0 for row in numbered), default=0)),
        lost_files=len(wanted - set(files)),
        pages=store.stated,
        pages_lost=max(store.stated - store.count, 0),
    )


def _whole(rows: Iterable[RawRow]) -> dict[str, Event]:
    found: dict[str, Event] = {}
    for row in rows:
        try:
            event = from_row(row.values)
        except AreakitError:
            continue
        found.setdefault(event.id, event)
    return found


def _without_rivals(found: dict[str, Event]) -> list[Event]:
    """Drop what was written and taken back: of two entries in one place stays the one that a later one follows."""
    followed = {event.previous for event in found.values()}
    kept: dict[tuple[str, str, int], Event] = {}
    for event in found.values():
        place = (event.subject, event.key, event.sequence)
        if place not in kept or (event.digest in followed and kept[place].digest not in followed):
            kept[place] = event
    return list(kept.values())


def _lost(path: Path, events: list[Event], highest: int) -> int:
    """Return how many entries are known to have been there and are not: by their numbers, or by gaps in records."""
    last: Counter[tuple[str, str]] = Counter()
    for event in events:
        last[event.subject, event.key] = max(last[event.subject, event.key], event.sequence)
    database = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        counted = _highest(database, path)
    finally:
        database.close()
    return max(sum(last.values()), highest, counted) - len(events)


def _files(path: Path) -> dict[str, StoredFile]:
    found: dict[str, StoredFile] = {}
    for sha256, name, media, content in (*_files_by_sqlite(path), *file_rows(Store(path))):
        if sha256 not in found and hashlib.sha256(content).hexdigest() == sha256:
            found[sha256] = StoredFile(sha256=sha256, name=name, media=media, content=content)
    return found


def _files_by_sqlite(path: Path) -> Iterator[tuple[str, str, str, bytes]]:
    database = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        for number in range(1, _highest(database, path, "file", "rowid") + 1):
            try:
                row = database.execute(
                    "SELECT sha256, name, media, bytes FROM file WHERE rowid = ?", (number,)
                ).fetchone()
            except sqlite3.Error:
                continue
            if row is not None:
                yield row
    finally:
        database.close()


def _rows_by_sqlite(path: Path) -> Iterator[RawRow]:
    """Read row by row, going on behind a row that cannot be read."""
    database = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        for number in range(1, _highest(database, path) + 1):
            try:
                row = database.execute(f"SELECT {_COLUMNS} FROM event WHERE number = ?", (number,)).fetchone()
            except sqlite3.Error:
                continue
            if row is not None:
                yield RawRow(number=number, values=row)
    finally:
        database.close()


def _highest(database: sqlite3.Connection, path: Path, table: str = "event", column: str = "number") -> int:
    """Return the highest number of a row; none is higher than the rows that a store of this size can hold."""
    most = path.stat().st_size // _LEAST_ROW + 1
    queries = (f"SELECT max({column}) FROM {table}", f"SELECT seq FROM sqlite_sequence WHERE name = '{table}'")
    for query in queries:
        try:
            row = database.execute(query).fetchone()
        except sqlite3.Error:
            continue
        if row and isinstance(row[0], int):
            return min(row[0], most)
    return 0
