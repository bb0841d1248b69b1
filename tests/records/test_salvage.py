"""Every entry whose bytes are whole comes back from a damaged store, and what is lost is counted."""

import os
import random
import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from areakit.errors import RecordUnreadable
from areakit.records.damage import salvage
from areakit.records.event import FIELDS, Event, digest_of, from_row, to_row
from areakit.records.journal import Journal
from areakit.service.desk import Desk
from areakit.service.newest import Marks
from areakit.service.store import salvage as salvage_to

AT = "2026-03-14T09:30:00+01:00"
PAGE = 4096


def fill(path: Path, entries: int) -> None:
    """Write short entries, entries over several pages, and two files."""
    with Journal(path) as journal:
        for n in range(entries):
            doc = {"n": n, "filler": f"word {n} " * (n % 7) * 150}
            journal.append("job", str(n % 3), "remarked", at=AT, who="Ana", doc=doc)
        with journal.writing() as writer:
            for n in range(2):
                sha = writer.keep_file(name=f"{n}.jpg", media="image/jpeg", content=bytes([n]) * 9000)
                doc = {"sha256": sha, "media": "image/jpeg"}
                writer.append("job", "p", "photographed", at=AT, who="Ana", doc=doc, files=(sha,))


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sound") / "j.sqlite"
    fill(path, 90)
    return path


def row_bytes(data: bytes, event: Event) -> list[tuple[int, int]]:
    """Return where the bytes of an entry lie: those of its record, and the pointers between its pages.

    Written for this test by the SQLite file format, sections 1.5 and 1.6, from the text of the entry, not by our walk.
    """
    columns = [str(value) for value in to_row(event) if not isinstance(value, int)]
    body = "".join(columns[:3]).encode()  # id, subject and key stand together at the start
    at = data.index(body)
    length = sum(len(str(value).encode()) for value in columns) + (event.sequence > 1)
    sizes = [len(value.encode()) for value in columns]
    head = 1 + 1 + sum(1 if 13 + 2 * size < 128 else 2 if 13 + 2 * size < 16384 else 3 for size in sizes) + 1
    start, whole = at - head, head + length
    if whole <= PAGE - 35:
        return [(start, start + whole)]
    least = (PAGE - 12) * 32 // 255 - 23
    local = least + (whole - least) % (PAGE - 4)
    local = local if local <= PAGE - 35 else least
    spans, left, pointer = [(start, start + local + 4)], whole - local, start + local
    while left > 0:
        page = int.from_bytes(data[pointer : pointer + 4], "big")
        pointer = (page - 1) * PAGE
        here = min(left, PAGE - 4)
        spans.append((pointer, pointer + 4 + here))
        left -= here
    return spans


def events_of(path: Path) -> list[Event]:
    with Journal(path, write=False) as journal:
        return list(journal.every_event())


def damages(data: bytes, count: int, seed: int) -> Iterator[tuple[str, bytes]]:
    """Yield damaged copies: a flipped bit, a page lost or overwritten, an index broken, the end cut off."""
    rng = random.Random(seed)
    pages = len(data) // PAGE
    for number in range(count):
        broken = bytearray(data)
        kind = ("bit", "zeros", "noise", "headers", "cut")[number % 5]
        place = rng.randrange(pages) * PAGE
        if kind == "bit":
            broken[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
        elif kind == "zeros":
            broken[place : place + PAGE] = bytes(PAGE)
        elif kind == "noise":
            broken[place : place + PAGE] = rng.randbytes(PAGE)
        elif kind == "headers":  # no page header, and so no tree and no index, can be trusted
            for start in range(0, len(data), PAGE):
                broken[start : start + 8] = rng.randbytes(8)
        else:
            del broken[place + rng.randrange(PAGE) :]
        yield kind, bytes(broken)


def check_salvage(path: Path, folder: Path, count: int, seed: int) -> dict[str, int]:
    data, events = path.read_bytes(), events_of(path)
    spans = {event.id: row_bytes(data, event) for event in events}
    seen = {"damaged": 0, "entries lost": 0}
    for number, (kind, broken) in enumerate(damages(data, count, seed)):
        copy = folder / f"{number}.sqlite"
        copy.write_bytes(broken)
        whole = {key for key, places in spans.items() if all(broken[a:b] == data[a:b] for a, b in places)}
        saved = salvage(copy)
        found = {event.id for event in saved.events}
        assert whole <= found, f"{kind} {number}: {len(whole - found)} whole entries were not given back"
        assert found <= spans.keys(), "an entry was made up"
        assert saved.events == tuple(e for e in saved.events if from_row(to_row(e)) == e)
        lost = len(events) - len(found)
        assert saved.lost_events <= lost
        if kind in {"zeros", "noise", "bit"} and lost:
            assert saved.lost_events == lost, f"{kind} {number}"
        seen["damaged"] += bool(lost)
        seen["entries lost"] += lost
        copy.unlink()
    return seen


def test_every_whole_entry_comes_back_and_losses_are_counted(sound: Path, tmp_path: Path) -> None:
    assert salvage(sound).lost_events == 0
    seen = check_salvage(sound, tmp_path, 60, 1)
    assert seen["damaged"] >= 20  # the damage does reach entries


@pytest.mark.slow
def test_of_six_hundred_damages_none_costs_a_whole_entry(sound: Path, tmp_path: Path) -> None:
    print(check_salvage(sound, tmp_path, 600, 2))


@pytest.mark.parametrize("pages", [0, 1, 5, 12, 30, 60])
def test_what_a_cut_journal_lost_is_counted_by_the_number_kept_outside(pages: int, sound: Path, tmp_path: Path) -> None:
    """Nothing in a file that was cut short says how much it had; only with the number seen last the count is true."""
    data, events = sound.read_bytes(), events_of(sound)
    copy = tmp_path / "j.sqlite"
    copy.write_bytes(data)
    marks = Marks(tmp_path / "seen.json")
    desk = Desk(path=copy, who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC), marks=marks)
    desk.accept()
    whole = salvage_to(desk, tmp_path / "whole.jsonl")
    assert (whole.lost_events, whole.pages, whole.pages_lost) == (0, len(data) // PAGE, 0)
    copy.write_bytes(data[: pages * PAGE])
    saved = salvage_to(desk, tmp_path / "saved.jsonl")
    assert saved.lost_events == len(events) - len(saved.events) > 0
    assert saved.pages_lost == (len(data) // PAGE - pages if pages else 0)  # of an empty file nothing is known
    blind = salvage_to(replace(desk, marks=None), tmp_path / "blind.jsonl")
    assert blind.lost_events <= saved.lost_events


def test_where_the_entries_lie_is_known_to_this_test(sound: Path) -> None:
    """The yardstick itself: a changed byte inside a span makes the entry unreadable, one outside all of them none."""
    data = bytearray(sound.read_bytes())
    events = events_of(sound)
    assert sum(len(row_bytes(bytes(data), event)) > 1 for event in events) >= 10
    for event in events[:20]:
        for start, end in row_bytes(bytes(data), event):
            at = max(start + 20, end - 30)  # the digest, or the text before it
            data[at] ^= 0x01
    copy = sound.with_name("copy.sqlite")
    copy.write_bytes(data)
    assert {event.id for event in salvage(copy).events} == {event.id for event in events[20:]}


def test_entries_that_are_only_in_the_log_are_saved(tmp_path: Path) -> None:
    """A store that was copied while it was open: its newest entries stand in the log, and its own pages are damaged."""
    path, copy = tmp_path / "j.sqlite", tmp_path / "copy.sqlite"
    fill(path, 5)
    with Journal(path) as journal:
        for n in range(5, 30):
            journal.append("job", str(n), "remarked", at=AT, who="Ana", doc={"n": n, "filler": "long " * 2000})
        wanted = {event.id for event in journal.every_event()}
        shutil.copy(path, copy)
        shutil.copy(f"{path}-wal", f"{copy}-wal")
    data = bytearray(copy.read_bytes())
    assert {event.id for event in salvage(copy).events} == wanted
    data[:PAGE] = os.urandom(PAGE)  # not even the file's header is left
    copy.write_bytes(data)
    found = {event.id for event in salvage(copy).events}
    assert found == wanted


def test_files_come_back_behind_a_broken_index(sound: Path, tmp_path: Path) -> None:
    data = bytearray(sound.read_bytes())
    for start in range(0, len(data), PAGE):
        if data[start] in {0x02, 0x05, 0x0A, 0x0D}:  # a page of a tree; overflow pages start with a pointer below that
            data[start : start + 8] = bytes(8)
    copy = tmp_path / "j.sqlite"
    copy.write_bytes(data)
    saved = salvage(copy)
    assert sorted(file.content for file in saved.files) == [bytes([n]) * 9000 for n in range(2)]
    assert saved.lost_files == 0
    copy.write_bytes(bytes(data).replace(b"\x01" * 500, b"\x02" * 500, 1))
    assert (len(salvage(copy).files), salvage(copy).lost_files) == (1, 1)


def test_of_two_entries_in_one_place_the_one_that_others_follow_is_kept(tmp_path: Path) -> None:
    """What was taken back can still stand in freed bytes; it must not push out what was acknowledged."""
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        for n in range(3):
            journal.append("job", "1", "remarked", at=AT, who="Ana", doc={"n": n})
    _, second, _ = events_of(path)
    rival = replace(second, id="0" * 32, doc={"n": 99})
    row = to_row(rival)[:-1]
    rival = replace(rival, digest=digest_of(row))
    other = sqlite3.connect(tmp_path / "other.sqlite")
    other.execute(f"CREATE TABLE event (number INTEGER PRIMARY KEY, {', '.join(FIELDS)})")
    for event in (rival, *events_of(path)):
        other.execute(f"INSERT INTO event ({', '.join(FIELDS)}) VALUES ({', '.join('?' * 10)})", to_row(event))
    other.commit()
    other.close()
    assert [event.doc["n"] for event in salvage(tmp_path / "other.sqlite").events] == [0, 1, 2]


def other_value(name: str, value: object) -> object:
    if name == "sequence":
        return 2
    if name == "doc":
        return '{"n":2}'
    return "f" * 64 if name == "previous" else f"{value}x"


@pytest.mark.parametrize("name", FIELDS[:-1])
def test_the_digest_covers_each_field(name: str, tmp_path: Path) -> None:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        journal.append("job", "1", "remarked", at=AT, who="Ana", doc={"n": 1})
    (event,) = events_of(path)
    row = to_row(event)
    at = FIELDS.index(name)
    changed = (*row[:at], other_value(name, row[at]), *row[at + 1 :])
    assert from_row(row) == event
    with pytest.raises(RecordUnreadable, match="does not give the digest"):
        from_row(changed)


@pytest.mark.parametrize("name", FIELDS[:-1])
def test_a_field_changed_in_the_store_is_told_in_use_and_in_check(name: str, tmp_path: Path) -> None:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        journal.append("job", "1", "remarked", at=AT, who="Ana", doc={"n": 1})
    (event,) = events_of(path)
    raw = sqlite3.connect(path)
    raw.execute("PRAGMA ignore_check_constraints = ON")
    raw.execute("DROP TRIGGER event_keeps_update")
    raw.execute(f"UPDATE event SET {name} = ?", (other_value(name, to_row(event)[FIELDS.index(name)]),))
    raw.commit()
    raw.close()
    with Journal(path, write=False) as journal:
        assert any("does not give the digest" in fault for fault in journal.faults())
        with pytest.raises(RecordUnreadable):
            list(journal.every_event())


def test_moving_letters_between_fields_changes_the_digest() -> None:
    """Fields are told apart: a letter that moves from the end of one to the start of the next is another content."""
    row = ("id", "job", "1", 1, AT, "Ana", "kind", "{}", "")
    for i in (0, 1, 4, 5, 6):
        moved = list(row)
        if isinstance(row[i + 1], str) and isinstance(row[i], str) and row[i]:
            moved[i], moved[i + 1] = str(row[i])[:-1], str(row[i])[-1] + str(row[i + 1])
            assert digest_of(tuple(moved)) != digest_of(row)
