"""Finding damage in a journal, and saving what is whole.

A damaged store is read in two ways: row by row through SQLite, and page by page from the raw bytes (SQLite file format,
sections 1.5 and 2). Every row is taken only if it gives the digest that was stored with it.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from areakit.errors import AreakitError
from areakit.records.event import FIELDS, Event, from_row
from areakit.records.journal import StoredFile

_COLUMNS = ", ".join(FIELDS)
_LEAF = 0x0D
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


def salvage(path: Path) -> tuple[Event, ...]:
    """Return every event that is still whole in a damaged store, each once, in a readable order."""
    found: dict[str, Event] = {}
    for row in (*_rows_by_sqlite(path), *_rows_of_pages(path)):
        try:
            event = from_row(row)
        except AreakitError:
            continue
        found[event.id] = event
    return tuple(sorted(found.values(), key=lambda e: (e.at, e.subject, e.key, e.sequence)))


def salvage_files(path: Path) -> tuple[StoredFile, ...]:
    """Return every stored file that can still be read and gives its hash."""
    database = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    found = []
    try:
        for number in range(1, _highest(database, path, "file", "rowid") + 1):
            try:
                row = database.execute(
                    "SELECT sha256, name, media, bytes FROM file WHERE rowid = ?", (number,)
                ).fetchone()
            except sqlite3.Error:
                continue
            if row is not None and hashlib.sha256(row[3]).hexdigest() == row[0]:
                found.append(StoredFile(sha256=row[0], name=row[1], media=row[2], content=row[3]))
    finally:
        database.close()
    return tuple(found)


def _rows_by_sqlite(path: Path) -> Iterator[tuple[Any, ...]]:
    """Read row by row, going on behind a row that cannot be read."""
    database = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        for number in range(1, _highest(database, path) + 1):
            try:
                row = database.execute(f"SELECT {_COLUMNS} FROM event WHERE number = ?", (number,)).fetchone()
            except sqlite3.Error:
                continue
            if row is not None:
                yield row
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


def _rows_of_pages(path: Path) -> Iterator[tuple[Any, ...]]:
    """Read every table leaf page in the raw bytes and yield the rows that look like events."""
    data = path.read_bytes()
    size = int.from_bytes(data[16:18], "big") if data[:15] == b"SQLite format 3" else 4096
    size = 65536 if size == 1 else size
    if size < 512 or size & (size - 1):
        size = 4096
    pages = _Pages(data, size)
    for start in range(0, len(data) - size + 1, size):
        header = start + (100 if start == 0 else 0)
        if data[header] == _LEAF:
            yield from pages.rows(start, header)


class _Pages:
    """The raw pages of a store; anything that does not fit is passed over."""

    def __init__(self, data: bytes, size: int) -> None:
        self.data = data
        self.size = size

    def rows(self, start: int, header: int) -> Iterator[tuple[Any, ...]]:
        cells = int.from_bytes(self.data[header + 3 : header + 5], "big")
        for index in range(min(cells, self.size // 2)):
            place = header + 8 + 2 * index
            try:
                row = self._cell(start, start + int.from_bytes(self.data[place : place + 2], "big"))
            except (IndexError, ValueError, UnicodeDecodeError):
                continue
            if row is not None and len(row) == len(FIELDS) + 1:
                yield row[1:]

    def _cell(self, start: int, place: int) -> tuple[Any, ...] | None:
        length, place = _varint(self.data, place)
        _, place = _varint(self.data, place)
        if not 0 < length < 100_000_000:
            return None
        return _record(self._payload(place, length))

    def _payload(self, place: int, length: int) -> bytes:
        """Return a cell's payload with its overflow pages (file format, section 1.6)."""
        usable = self.size
        if length <= usable - 35:
            return self.data[place : place + length]
        least = (usable - 12) * 32 // 255 - 23
        local = least + (length - least) % (usable - 4)
        local = local if local <= usable - 35 else least
        parts, kept = [self.data[place : place + local]], local
        page = int.from_bytes(self.data[place + local : place + local + 4], "big")
        while kept < length:
            at = (page - 1) * self.size
            if page < 2 or at + self.size > len(self.data):
                raise ValueError("an overflow page is missing")
            part = self.data[at + 4 : at + 4 + min(usable - 4, length - kept)]
            parts.append(part)
            kept += len(part)
            page = int.from_bytes(self.data[at : at + 4], "big")
        return b"".join(parts)


def _varint(data: bytes, place: int) -> tuple[int, int]:
    """Return a number of up to nine bytes, and the place behind it (file format, section 1.6)."""
    value = 0
    for index in range(8):
        byte = data[place + index]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, place + index + 1
    return value << 8 | data[place + 8], place + 9


def _record(payload: bytes) -> tuple[Any, ...] | None:
    """Return the values of one record: integers and text, as an event has them; None for anything else."""
    head, place = _varint(payload, 0)
    kinds = []
    while place < head:
        kind, place = _varint(payload, place)
        kinds.append(kind)
    values: list[Any] = []
    at = head
    for kind in kinds:
        if kind == 0 or kind in (8, 9):
            values.append({0: None, 8: 0, 9: 1}[kind])
        elif 1 <= kind <= 6:
            width = (1, 2, 3, 4, 6, 8)[kind - 1]
            values.append(int.from_bytes(payload[at : at + width], "big", signed=True))
            at += width
        elif kind >= 13 and kind % 2:
            width = (kind - 13) // 2
            values.append(payload[at : at + width].decode("utf-8"))
            at += width
        else:
            return None
    return tuple(values) if at <= len(payload) else None
