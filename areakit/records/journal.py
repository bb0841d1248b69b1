"""The journal: one SQLite file that only grows.

Every change is an event; jobs, bottles, sheets and checks are folded from their events. Photos are kept inside, by
their hash. A write is acknowledged only after SQLite has flushed it to the disk (write-ahead log, synchronous FULL).
"""

from __future__ import annotations

import hashlib
import heapq
import os
import sqlite3
import threading
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from pathlib import Path
from types import TracebackType
from typing import Any

from areakit.errors import FileError, InputError, RecordChanged, RecordNotWritten, RecordUnreadable
from areakit.output import put_new
from areakit.records import event as events
from areakit.records.damage import faults_of
from areakit.records.disk import BUSY_SECONDS, make_folder, sync_folder, told
from areakit.records.event import FIELDS, Event
from areakit.records.stored_file import StoredFile
from areakit.records.tables import BOTTLES_NAMED, INDEXES, MIGRATIONS, SOLUTION, check_version, migrate

_FOUNDING = threading.RLock()
"""Held by the thread that makes a file: the first entries of one server wait for each other."""
_COLUMNS = ", ".join(FIELDS)
_INSERT = f"INSERT INTO event ({_COLUMNS}) VALUES ({', '.join('?' * len(FIELDS))})"
_LARGEST_FILE = 200_000_000


def _size(path: Path) -> int:
    """Return the size of a file; 0 where it is not there, also where another program takes it away just now."""
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


NAMED = {"job": "job", "bottle": "bottle", "sheet": "sheet copy", "check": "check piece"}
"""Subject to what people call it."""
_LISTED = {"sheet": "areakit sheet-check", "check": "areakit verify --trend"}
"""Commands that list records; those of the others are named for them."""


class Journal:
    """An open journal; use it in a ``with`` statement.

    Parameters
    ----------
    path : Path
        The file; if it is not there and ``write`` is true, it is made, with its folder, by the first write that ends.
    write : bool
        Open to add. Otherwise nothing on the disk is changed, and a journal that is not there is an error.
    new_id : callable
        Gives each event a name of its own.
    acknowledged : callable
        Called with the journal after each transaction that ended.
    """

    def __init__(
        self,
        path: Path,
        *,
        write: bool = True,
        new_id: Callable[[], str] = lambda: uuid.uuid4().hex,
        acknowledged: Callable[[Journal], None] = lambda journal: None,
    ) -> None:
        self.path = path
        self._new_id, self._acknowledged = new_id, acknowledged
        self.copy_before_migration: Path | None = None
        self._unfounded = write and not path.exists()
        with told(path):
            if self._unfounded:
                self._database = self._in_memory()
            else:
                self._database = self._open_to_write() if write else self._open_to_read()

    def _in_memory(self) -> sqlite3.Connection:
        """Return an empty store that has no file yet."""
        database = sqlite3.connect(":memory:", isolation_level=None)
        database.execute("PRAGMA foreign_keys = ON")
        migrate(database, self.path, MIGRATIONS)
        for index in INDEXES:
            database.execute(index)
        return database

    def _found(self) -> None:
        """Make the file with what was written in memory: so a command that is refused leaves no file behind.

        It gets its name once it is whole and on the disk; a disk that is full leaves nothing, in memory neither.
        """
        try:
            self._name_once_whole()
        except FileExistsError:  # somebody else made it meanwhile
            self._join()
        except BaseException:
            self._database.close()
            self._database = self._in_memory()
            raise
        else:
            try:
                self._take_up(self._open_to_write())
            except sqlite3.Error:  # what was written is there; there is no room for more
                self._take_up(self._open_to_read())

    def _name_once_whole(self) -> None:
        make_folder(self.path.parent)
        half = self.path.with_name(f".{os.getpid()}-{self.path.name[-200:]}")
        half.unlink(missing_ok=True)
        real = sqlite3.connect(half, isolation_level=None)
        try:
            self._database.backup(real)
            real.close()
            put_new(half, self.path)
        finally:
            real.close()
            for left in (half, half.with_name(f"{half.name}-journal")):
                left.unlink(missing_ok=True)
        sync_folder(self.path.parent)

    def _join(self) -> None:
        """Add what was written in memory to the file that another program made."""
        memory, real = self._database, self._open_to_write()
        try:
            real.execute("BEGIN IMMEDIATE")
            real.executemany(
                "INSERT INTO file VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING", memory.execute("SELECT * FROM file")
            )
            numbers = {}
            for number, *row in memory.execute(f"SELECT number, {_COLUMNS} FROM event ORDER BY number"):
                numbers[number] = real.execute(_INSERT, row).lastrowid
            for number, sha256 in memory.execute("SELECT event, sha256 FROM event_file"):
                real.execute("INSERT INTO event_file (event, sha256) VALUES (?, ?)", (numbers[number], sha256))
            real.execute("COMMIT")
        except BaseException as error:
            real.close()
            self._database.close()
            self._database = self._in_memory()
            if isinstance(error, sqlite3.IntegrityError):
                raise RecordChanged(
                    f"Another program began the journal {self.path} at the same moment; nothing was written here.",
                    remedy="Do the same again.",
                ) from None
            raise
        self._take_up(real)

    def _take_up(self, real: sqlite3.Connection) -> None:
        self._database.close()
        self._database, self._unfounded = real, False

    def _open_to_write(self) -> sqlite3.Connection:
        make_folder(self.path.parent)
        database = sqlite3.connect(self.path, timeout=BUSY_SECONDS, isolation_level=None)
        try:
            check_version(database, self.path, len(MIGRATIONS))
            database.execute("PRAGMA journal_mode = WAL")
            database.execute("PRAGMA synchronous = FULL")
            database.execute("PRAGMA foreign_keys = ON")
            self.copy_before_migration = migrate(database, self.path, MIGRATIONS)
            for index in INDEXES:
                database.execute(index)
        except BaseException:
            database.close()
            raise
        return database

    def _open_to_read(self) -> sqlite3.Connection:
        if not self.path.is_file():
            raise FileError(
                f"There is no journal {self.path}.",
                remedy="Check its name; the first entry makes a new one.",
            )
        if not _size(self.path) and not _size(self.path.with_name(f"{self.path.name}-wal")):  # left by a full disk
            raise self._empty()
        error: Exception | None = None
        log = self.path.with_name(f"{self.path.name}-wal")
        # In a read-only folder only a store without a log can be opened: nothing newer can be missed then.
        modes = ["mode=ro"] if _size(log) else ["mode=ro", "mode=ro&immutable=1"]
        for mode in modes:
            database = sqlite3.connect(f"{self.path.absolute().as_uri()}?{mode}", uri=True, timeout=BUSY_SECONDS)
            try:
                version = check_version(database, self.path, len(MIGRATIONS))
                if not version:  # another program makes it just now
                    raise self._empty()
                if version < len(MIGRATIONS):
                    raise RecordUnreadable(
                        f"{self.path} has the older schema version {version}.",
                        remedy="Open it once for writing; a copy is made before it is brought up to date.",
                    )
                return database
            except sqlite3.OperationalError as refused:
                database.close()
                error = refused
            except BaseException:
                database.close()
                raise
        assert error is not None
        raise error

    def _empty(self) -> FileError:
        return FileError(
            f"There is nothing in {self.path} yet.", remedy="Add the first job, bottle or sheet copy again."
        )

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; the log is folded into it when nobody else has it open."""
        self._database.close()

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """One transaction: everything in it is written, or nothing. It is acknowledged when the block is left."""
        with _FOUNDING if self._unfounded else nullcontext(), told(self.path):
            if self._unfounded and self.path.exists():  # somebody else made it meanwhile
                self._take_up(self._open_to_write())
            self._database.execute("BEGIN IMMEDIATE")
            try:
                yield Writer(self, self._database, self._new_id)
                self._database.execute("COMMIT")
                if self._unfounded:
                    self._found()
            except BaseException:
                if self._database.in_transaction:
                    self._database.execute("ROLLBACK")
                raise
            self._acknowledged(self)

    def append(self, subject: str, key: str, kind: str, *, at: str, who: str, doc: Mapping[str, Any]) -> Event:
        """Append one event in a transaction of its own."""
        with self.writing() as writer:
            return writer.append(subject, key, kind, at=at, who=who, doc=doc)

    def history(self, subject: str, key: str) -> tuple[Event, ...]:
        """Return the events of one record in their order; InputError if there is no such record."""
        with told(self.path):
            rows = self._database.execute(
                f"SELECT {_COLUMNS} FROM event WHERE subject = ? AND key = ? ORDER BY sequence", (subject, key)
            ).fetchall()
        if not rows:
            raise InputError(
                f"There is no {NAMED[subject]} {key[:40]} in {self.path}.",
                code=f"NO_{subject.upper()}",
                remedy=self._look_for(subject, key),
                fields={_LISTED.get(subject, f"areakit {subject} list"): ""},
            )
        return tuple(events.from_row(row) for row in rows)

    def event(self, id: str) -> Event | None:
        """Return the event of that name, or None."""
        with told(self.path):
            row = self._database.execute(f"SELECT {_COLUMNS} FROM event WHERE id = ?", (id,)).fetchone()
        return events.from_row(row) if row else None

    def newest(self) -> tuple[int, str, str] | None:
        """Return number in the whole journal, digest and time of the entry that was written last; None if empty."""
        with told(self.path):
            row = self._database.execute("SELECT number, digest, at FROM event ORDER BY number DESC LIMIT 1").fetchone()
        return (row[0], row[1], row[2]) if row else None

    def digest_of(self, number: int) -> str | None:
        """Return the digest of the entry of that number in the whole journal, or None."""
        with told(self.path):
            row = self._database.execute("SELECT digest FROM event WHERE number = ?", (number,)).fetchone()
        return row[0] if row else None

    def names_like(self, subject: str, key: str) -> list[str]:
        """Return the other names that differ from one in capitals alone; a few looks into the index a letter."""
        found = [""]
        with told(self.path):
            for letter in key[:80]:
                longer = (start + one for start in found for one in {letter, letter.lower(), letter.upper()})
                found = [start for start in longer if self._starts(subject, start)]
        return sorted(one for one in found if one != key and self.holds(subject, one))

    def _starts(self, subject: str, start: str) -> bool:
        bounds = (subject, start, start + chr(0x10FFFF))
        query = "SELECT 1 FROM event WHERE subject = ? AND key >= ? AND key < ? LIMIT 1"
        return self._database.execute(query, bounds).fetchone() is not None

    def _look_for(self, subject: str, key: str) -> str:
        """Return where to look for a record that is not there under this name: capitals count in names."""
        like = self.names_like(subject, key)
        return f"There is {like[0]}; capitals count in names." if like else "Look up what is there."

    def keys(self, subject: str) -> tuple[str, ...]:
        """Return the numbers or labels of all records of a subject, in the order in which they were opened."""
        with told(self.path):
            rows = self._database.execute(
                "SELECT key FROM event WHERE subject = ? AND sequence = 1 ORDER BY number", (subject,)
            ).fetchall()
        return tuple(row[0] for row in rows)

    def bottles_of(self, names: Iterable[str]) -> Iterator[str]:
        """Yield the bottles that were ever said to hold a solution of one of these names, the newest first.

        Only so many are looked up as are asked for.
        """
        query = f"SELECT -number, key FROM event WHERE {BOTTLES_NAMED} AND {SOLUTION} = ? ORDER BY number DESC"
        with told(self.path):
            rows = heapq.merge(*(self._database.execute(query, (name,)) for name in dict.fromkeys(names)))
            found = set()
            for _, key in rows:
                if key not in found:
                    found.add(key)
                    yield key

    def has_kind(self, subject: str, key: str, kinds: Sequence[str]) -> bool:
        """Tell whether a record has an entry of one of these kinds."""
        query = "SELECT 1 FROM event WHERE subject = ? AND key = ? AND kind IN "
        with told(self.path):
            found = self._database.execute(f"{query}({', '.join('?' * len(kinds))}) LIMIT 1", (subject, key, *kinds))
            return found.fetchone() is not None

    def holds(self, subject: str, key: str) -> bool:
        """Tell whether there is such a record."""
        with told(self.path):
            found = self._database.execute("SELECT 1 FROM event WHERE subject = ? AND key = ? LIMIT 1", (subject, key))
            return found.fetchone() is not None

    def keys_starting(self, subject: str, start: str, *, backwards: bool = False) -> Iterator[str]:
        """Yield the records whose name starts so, by their names; each costs one look into the index, not a scan."""
        above, below = (">", "ORDER BY key") if not backwards else ("<", "ORDER BY key DESC")
        last = start if not backwards else start + chr(0x10FFFF)
        query = f"SELECT key FROM event WHERE subject = ? AND key {above} ? {below} LIMIT 1"
        while True:
            with told(self.path):
                row = self._database.execute(query, (subject, last)).fetchone()
            if row is None or not row[0].startswith(start):
                return
            last = row[0]
            yield last

    def keys_with(self, subject: str, words: str) -> tuple[str, ...]:
        """Return the records that ever held all of ``words``, in any script, without regard to case."""
        wanted = words.casefold().split()
        with told(self.path):
            self._database.create_function("holds", 1, lambda text: all(w in text.casefold() for w in wanted))
            rows = self._database.execute(
                "SELECT key, min(number) AS first FROM event WHERE subject = ? "
                "GROUP BY key HAVING holds(key || ' ' || group_concat(who || ' ' || kind || ' ' || doc, ' ')) "
                "ORDER BY first",
                (subject,),
            ).fetchall()
        return tuple(row[0] for row in rows)

    def every_event(self) -> Iterator[Event]:
        """Yield all events in the order in which they were written."""
        with told(self.path):
            for row in self._database.execute(f"SELECT {_COLUMNS} FROM event ORDER BY number"):
                yield events.from_row(row)

    def file(self, sha256: str) -> StoredFile:
        """Return a stored file; RecordUnreadable if its content does not give its hash."""
        with told(self.path):
            row = self._database.execute(
                "SELECT sha256, name, media, bytes FROM file WHERE sha256 = ?", (sha256,)
            ).fetchone()
        if row is None:
            raise InputError(
                f"There is no stored file {sha256[:12]}.",
                remedy="Look at the photos of the job.",
                fields={"areakit job show": ""},
            )
        if hashlib.sha256(row[3]).hexdigest() != sha256:
            raise RecordUnreadable(f"The stored file {row[1]} is damaged.", remedy="Go back to a backup.")
        return StoredFile(sha256=row[0], name=row[1], media=row[2], content=row[3])

    def file_hashes(self) -> tuple[str, ...]:
        """Return the hashes of all stored files."""
        with told(self.path):
            return tuple(row[0] for row in self._database.execute("SELECT sha256 FROM file ORDER BY sha256"))

    def back_up(self, target: Path) -> None:
        """Copy the whole journal, also while others write, and name the copy once it is whole; overwrite no file."""
        taken = FileError(f"{target} is there already.", remedy="Choose another name for the backup.")
        if target.exists():
            raise taken
        half = target.with_name(f".{os.getpid()}-{target.name[-200:]}")
        try:
            with told(target):
                make_folder(target.parent)
                other = sqlite3.connect(half)
                try:
                    self._database.backup(other)
                    other.execute("PRAGMA journal_mode = DELETE")  # a copy that is looked at needs no files beside it
                finally:
                    other.close()
            put_new(half, target)
        except FileExistsError:
            raise taken from None
        except RecordNotWritten as error:
            raise RecordNotWritten(
                f"The backup {target} was not written: the disk is full, or refuses it.",
                remedy="Free some space, or name another disk; the journal itself is as it was.",
            ) from error
        finally:
            half.unlink(missing_ok=True)

    def faults(self) -> tuple[str, ...]:
        """Return one sentence for each fault found in pages, references, digests, chains and files."""
        return faults_of(self._database)


def begun(path: Path) -> Journal | None:
    """Open a journal to look into it; None where nothing was written yet, or its first entry is being written."""
    try:
        return Journal(path, write=False)
    except FileError:
        return None


class Writer:
    """What can be done inside one transaction."""

    def __init__(self, journal: Journal, database: sqlite3.Connection, new_id: Callable[[], str]) -> None:
        self._journal = journal
        self._database = database
        self._new_id = new_id

    def append(
        self,
        subject: str,
        key: str,
        kind: str,
        *,
        at: str,
        who: str,
        doc: Mapping[str, Any],
        files: tuple[str, ...] = (),
        after: int | None = None,
    ) -> Event:
        """Append one event.

        Parameters
        ----------
        files : tuple of str
            Hashes of stored files that it speaks of.
        after : int, optional
            The last sequence that the author has seen; RecordChanged if there is a later one.
        """
        before = self.last(subject, key)
        seen = before.sequence if before else 0
        if after is not None and after != seen:
            raise RecordChanged(
                f"{subject.capitalize()} {key} was changed meanwhile: entry {seen} is there, you saw {after}.",
                remedy="Look at it again and repeat what you did.",
                fields={f"areakit {subject} show {key}": ""},
            )
        if before is None:
            self._check_capitals(subject, key)
        made = events.make_event(
            before=before, id=self._new_id(), subject=subject, key=key, at=at, who=who, kind=kind, doc=doc
        )
        self.put(made, files)
        return made

    def _check_capitals(self, subject: str, key: str) -> None:
        """Refuse a new name that differs from another by capitals alone: people would take one for the other."""
        for one in self._journal.names_like(subject, key):
            raise InputError(
                f"There is a {NAMED[subject]} {one} already, and {key[:40]} differs from it in capitals only.",
                remedy=f"Write {one}, or choose another name.",
            )

    def put(self, made: Event, files: tuple[str, ...] = ()) -> None:
        """Write one event as it is."""
        cursor = self._database.execute(_INSERT, events.to_row(made))
        for sha256 in files:
            self._database.execute("INSERT INTO event_file (event, sha256) VALUES (?, ?)", (cursor.lastrowid, sha256))

    def last(self, subject: str, key: str) -> Event | None:
        """Return the last event of a record, or None."""
        row = self._database.execute(
            f"SELECT {_COLUMNS} FROM event WHERE subject = ? AND key = ? ORDER BY sequence DESC LIMIT 1", (subject, key)
        ).fetchone()
        return events.from_row(row) if row else None

    def history(self, subject: str, key: str) -> tuple[Event, ...]:
        """Return the events of one record, as seen inside the transaction."""
        return self._journal.history(subject, key)

    def keys(self, subject: str) -> tuple[str, ...]:
        """Return the keys of a subject, as seen inside the transaction."""
        return self._journal.keys(subject)

    def holds(self, subject: str, key: str) -> bool:
        """Tell whether there is such a record, as seen inside the transaction."""
        return self._journal.holds(subject, key)

    def keys_starting(self, subject: str, start: str, *, backwards: bool = False) -> Iterator[str]:
        """Yield the records whose name starts so, as seen inside the transaction."""
        return self._journal.keys_starting(subject, start, backwards=backwards)

    def has_event(self, id: str) -> str | None:
        """Return the digest of the event of that name, or None."""
        row = self._database.execute("SELECT digest FROM event WHERE id = ?", (id,)).fetchone()
        return row[0] if row else None

    def keep_file(self, *, name: str, media: str, content: bytes) -> str:
        """Store a file once, whatever the number of times it is given; return its hash."""
        if len(content) > _LARGEST_FILE:
            raise FileError(f"{name} is {len(content) / 1e6:.0f} MB.", remedy="Keep files below 200 MB.")
        sha256 = hashlib.sha256(content).hexdigest()
        self._database.execute(
            "INSERT INTO file (sha256, name, media, bytes) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
            (sha256, name, media, content),
        )
        return sha256
