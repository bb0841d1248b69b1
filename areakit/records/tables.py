"""The tables of the journal, their versions, and the steps from one version to the next."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path

from areakit.errors import RecordUnreadable

APPLICATION_ID = 0x61726B74
"""Written into the file's header, so that another program's file is not taken for a journal."""

MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        """
        CREATE TABLE event (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            id TEXT NOT NULL UNIQUE,
            subject TEXT NOT NULL CHECK (subject IN ('job', 'bottle', 'sheet', 'check')),
            key TEXT NOT NULL CHECK (length(key) > 0),
            sequence INTEGER NOT NULL CHECK (sequence > 0),
            at TEXT NOT NULL,
            who TEXT NOT NULL CHECK (length(who) > 0),
            kind TEXT NOT NULL,
            doc TEXT NOT NULL CHECK (json_valid(doc)),
            previous TEXT NOT NULL,
            digest TEXT NOT NULL CHECK (length(digest) = 64),
            UNIQUE (subject, key, sequence)
        ) STRICT
        """,
        """
        CREATE TABLE file (
            sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
            name TEXT NOT NULL,
            media TEXT NOT NULL,
            bytes BLOB NOT NULL
        ) STRICT
        """,
        """
        CREATE TABLE event_file (
            event INTEGER NOT NULL REFERENCES event (number),
            sha256 TEXT NOT NULL REFERENCES file (sha256),
            PRIMARY KEY (event, sha256)
        ) STRICT, WITHOUT ROWID
        """,
        *(
            f"""
            CREATE TRIGGER {table}_keeps_{verb} BEFORE {verb} ON {table}
            BEGIN SELECT RAISE(ABORT, 'the journal only grows'); END
            """
            for table in ("event", "file", "event_file")
            for verb in ("update", "delete")
        ),
    ),
)
"""Step n takes a store of version n to version n + 1."""

SOLUTION = "coalesce(json_extract(doc, '$.solution'), json_extract(doc, '$.fields.solution'))"
BOTTLES_NAMED = "subject = 'bottle' AND kind IN ('filled', 'corrected')"
INDEXES = (f"CREATE INDEX IF NOT EXISTS solution_of_bottle ON event ({SOLUTION}) WHERE {BOTTLES_NAMED}",)
"""Made where they are missing when a store is opened to write: they hold nothing of their own, so no version tells of
them, and a store without them is only slower to look into."""


def version_of(database: sqlite3.Connection) -> int:
    """Return the schema version in the header."""
    return int(database.execute("PRAGMA user_version").fetchone()[0])


def check_version(database: sqlite3.Connection, path: Path, known: int) -> int:
    """Return the version of a store; RecordUnreadable for a newer one and for a file that is no journal."""
    database.execute("BEGIN")  # one snapshot for the three questions
    try:
        tables = int(database.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])
        version = version_of(database)
        identity = int(database.execute("PRAGMA application_id").fetchone()[0])
    finally:
        if database.in_transaction:
            database.execute("COMMIT")
    if identity != APPLICATION_ID and (identity or version or tables):
        raise RecordUnreadable(
            f"{path} is not a journal of areakit.", remedy="Use another file.", fields={"journal": ""}
        )
    if version > known:
        raise RecordUnreadable(
            f"{path} has schema version {version}, and this areakit knows {known}.",
            remedy="Use the newer areakit that wrote it; nothing was changed.",
        )
    return version


def migrate(database: sqlite3.Connection, path: Path, steps: Sequence[Sequence[str]] = MIGRATIONS) -> Path | None:
    """Bring a store to the newest version, one step a transaction; return the copy made before, if there was data.

    The copy stands beside the store, named after the version that it holds.
    """
    version = check_version(database, path, len(steps))
    if version == len(steps):
        return None
    copy = _copy_before(database, path, version) if version else None
    for number in range(version, len(steps)):
        database.execute("BEGIN IMMEDIATE")
        try:
            if version_of(database) == number:
                for statement in steps[number]:
                    database.execute(statement)
                database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                database.execute(f"PRAGMA user_version = {number + 1}")
            database.execute("COMMIT")
        except BaseException:
            if database.in_transaction:
                database.execute("ROLLBACK")
            raise
    return copy


def _copy_before(database: sqlite3.Connection, path: Path, version: int) -> Path:
    """Copy the whole store beside itself through SQLite, never over another copy."""
    target = path.with_name(f"{path.name}.version-{version}")
    extra = 1
    while target.exists():
        extra += 1
        target = path.with_name(f"{path.name}.version-{version}-{extra}")
    other = sqlite3.connect(target)
    try:
        database.backup(other)
    finally:
        other.close()
    return target
