"""The journal keeps what it acknowledged, refuses cleanly what it cannot do, and shows damage."""

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from areakit.errors import FileError, InputError, RecordChanged, RecordNotWritten, RecordUnreadable
from areakit.records import journal as journal_module
from areakit.records.damage import salvage
from areakit.records.event import FIELDS, check_words, make_event, to_row
from areakit.records.journal import Journal
from areakit.records.tables import APPLICATION_ID, MIGRATIONS

ROOT = Path(__file__).resolve().parents[2]
AT = "2026-03-14T09:30:00+01:00"


def add(journal: Journal, key: str, **doc: object) -> str:
    return journal.append("job", key, "remarked", at=AT, who="Ana", doc=doc).id


def test_what_was_written_is_read_back_in_any_script(tmp_path: Path) -> None:
    words = {"customer": "Ångström & Чайка 金继", "lines": [1, 2.5, None, "½"]}
    with Journal(tmp_path / "deep" / "j.sqlite") as journal:
        add(journal, "1", **words)
        add(journal, "1", second=True)
    with Journal(tmp_path / "deep" / "j.sqlite", write=False) as journal:
        first, second = journal.history("job", "1")
        assert dict(first.doc) == words
        assert (second.sequence, second.previous) == (2, first.digest)
        assert journal.faults() == ()
        assert journal.keys_with("job", "чайка") == ("1",)
        assert journal.keys_with("job", "ÅNGSTRÖM second") == ("1",)
        assert journal.keys_with("job", "osprey") == ()


def test_nothing_can_be_changed_or_removed_even_by_sql(tmp_path: Path) -> None:
    with Journal(tmp_path / "j.sqlite") as journal:
        add(journal, "1", a=1)
    raw = sqlite3.connect(tmp_path / "j.sqlite")
    for statement in ("UPDATE event SET who = 'x'", "DELETE FROM event"):
        with pytest.raises(sqlite3.IntegrityError, match="only grows"):
            raw.execute(statement)
    raw.close()


def test_two_authors_who_saw_the_same_state_do_not_both_win(tmp_path: Path) -> None:
    with Journal(tmp_path / "j.sqlite") as journal:
        add(journal, "1", a=1)
        with journal.writing() as writer:
            writer.append("job", "1", "remarked", at=AT, who="Ana", doc={}, after=1)
        with pytest.raises(RecordChanged, match="entry 2 is there, you saw 1"), journal.writing() as writer:
            writer.append("job", "1", "remarked", at=AT, who="Bo", doc={}, after=1)
        assert len(journal.history("job", "1")) == 2


def test_what_a_transaction_wrote_is_seen_inside_it(tmp_path: Path) -> None:
    with Journal(tmp_path / "j.sqlite") as journal, journal.writing() as writer:
        writer.append("job", "1", "remarked", at=AT, who="Ana", doc={"a": 1})
        assert writer.keys("job") == ("1",)
        assert (writer.keys("bottle"), writer.holds("job", "1"), writer.holds("job", "2")) == ((), True, False)
        assert [event.sequence for event in writer.history("job", "1")] == [1]


def test_a_transaction_is_whole_or_not_at_all(tmp_path: Path) -> None:
    with Journal(tmp_path / "j.sqlite") as journal:
        with pytest.raises(InputError, match="not a time"), journal.writing() as writer:  # noqa: PT012
            writer.append("job", "1", "remarked", at=AT, who="Ana", doc={})
            writer.append("job", "1", "remarked", at="yesterday", who="Ana", doc={})
        assert journal.keys("job") == ()


def test_the_store_is_strict_logged_ahead_and_knows_its_version(tmp_path: Path) -> None:
    with Journal(tmp_path / "j.sqlite") as journal:
        add(journal, "1", a=1)
        assert (tmp_path / "j.sqlite-wal").exists()
    raw = sqlite3.connect(tmp_path / "j.sqlite")
    assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert raw.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS),)
    tables = raw.execute("SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND name NOT LIKE 'sqlite%'")
    assert dict(tables) == {"event": 1, "file": 1, "event_file": 1}
    raw.close()


def test_a_newer_store_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        add(journal, "1", a=1)
    raw = sqlite3.connect(path)
    raw.execute("PRAGMA user_version = 99")
    raw.close()
    before = path.read_bytes()
    for write in (True, False):
        with pytest.raises(RecordUnreadable, match="schema version 99, and this areakit knows"):
            Journal(path, write=write)
    assert path.read_bytes() == before


def test_another_programs_file_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    raw = sqlite3.connect(path)
    raw.execute("CREATE TABLE birds (name TEXT)")
    raw.close()
    before = path.read_bytes()
    with pytest.raises(RecordUnreadable, match="not a journal"):
        Journal(path)
    (tmp_path / "text.sqlite").write_text("a" * 5000)
    with pytest.raises(RecordUnreadable, match="not a journal"):
        Journal(tmp_path / "text.sqlite")
    assert path.read_bytes() == before


def test_an_older_store_is_copied_and_then_brought_up_step_by_step(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        add(journal, "1", a=1)
        assert journal.copy_before_migration is None
    steps = (*MIGRATIONS, ("CREATE TABLE extra (n INTEGER) STRICT",), ("INSERT INTO extra VALUES (7)",))
    monkeypatch.setattr(journal_module, "MIGRATIONS", steps)
    with pytest.raises(RecordUnreadable, match="older schema version 1"):
        Journal(path, write=False)
    with Journal(path) as journal:
        copy = journal.copy_before_migration
        assert [dict(e.doc) for e in journal.history("job", "1")] == [{"a": 1}]
    raw = sqlite3.connect(path)
    assert raw.execute("SELECT n FROM extra").fetchall() == [(7,)]
    assert raw.execute("PRAGMA user_version").fetchone() == (len(steps),)
    raw.close()
    assert copy is not None
    old = sqlite3.connect(copy)
    assert old.execute("PRAGMA user_version").fetchone() == (1,)
    assert old.execute("SELECT count(*) FROM event").fetchone() == (1,)
    old.close()


def test_a_step_that_fails_leaves_the_older_store_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        add(journal, "1", a=1)
    steps = (*MIGRATIONS, ("CREATE TABLE extra (n INTEGER) STRICT", "NONSENSE"))
    with monkeypatch.context() as patch:
        patch.setattr(journal_module, "MIGRATIONS", steps)
        with pytest.raises(RecordUnreadable, match="was not understood") as told:
            Journal(path)
        assert "NONSENSE" in str(told.value.__cause__)
    with Journal(path) as journal:
        assert journal.faults() == ()
        assert len(journal.history("job", "1")) == 1


def test_a_full_disk_is_told_and_loses_nothing_acknowledged(tmp_path: Path) -> None:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        kept = [add(journal, "1", a=1)]
        pages = journal._database.execute("PRAGMA page_count").fetchone()[0]
        journal._database.execute(f"PRAGMA max_page_count = {pages + 20}")
        with pytest.raises(RecordNotWritten, match="disk is full"):  # noqa: PT012
            for _ in range(100):
                kept.append(add(journal, "1", filler="x" * 5000))
    assert 1 < len(kept) < 100
    with Journal(path) as journal:
        assert [e.id for e in journal.history("job", "1")] == kept
        assert journal.faults() == ()


def in_a_child(code: str) -> "subprocess.CompletedProcess[str]":
    start = f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
    command = [sys.executable, "-c", start + textwrap.dedent(code)]
    return subprocess.run(command, capture_output=True, text=True, timeout=100, check=False)


def test_a_file_that_the_system_will_not_let_grow_is_told_in_one_sentence(tmp_path: Path) -> None:
    code = f"""
        import resource, signal
        from pathlib import Path
        from areakit.errors import AreakitError
        from areakit.records.journal import Journal
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        with Journal(Path({str(tmp_path / "j.sqlite")!r})) as journal:
            resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
            try:
                for n in range(200):
                    journal.append("job", "1", "remarked", at={AT!r}, who="Ana", doc={{"x": "y" * 5000}})
            except AreakitError as error:
                print(type(error).__name__, n)
    """
    kind, number = in_a_child(code).stdout.split()
    assert kind == "RecordNotWritten"
    with Journal(tmp_path / "j.sqlite") as journal:
        assert len(journal.history("job", "1")) == int(number) > 0
        assert journal.faults() == ()


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs to step down from root to lose rights"
)
def test_a_read_only_store_can_be_read_but_not_written() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "j.sqlite"
        with Journal(path) as journal:
            add(journal, "1", a=1)
        path.chmod(0o444)
        Path(folder).chmod(0o555)
        code = f"""
            import os
            import urllib.parse  # a path as URI asks for it, from a folder that only root may read
            from pathlib import Path
            from areakit.errors import AreakitError
            from areakit.records import journal as loaded, damage
            from areakit.records.journal import Journal
            os.setgid(65534)
            os.setuid(65534)
            path = Path({str(path)!r})
            with Journal(path, write=False) as journal:
                print(len(journal.history("job", "1")))
            try:
                with Journal(path) as journal:
                    journal.append("job", "1", "remarked", at={AT!r}, who="Ana", doc={{}})
            except AreakitError as error:
                print(type(error).__name__)
            """
        done = in_a_child(code)
        assert done.stdout.split() == ["1", "RecordNotWritten"], done.stderr


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with Journal(tmp_path / "file" / "j.sqlite") as journal, pytest.raises(RecordNotWritten, match="cannot be reached"):
        journal.append("job", "1", "opened", at=AT, who="Ana", doc={})


def test_a_journal_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no journal"):
        Journal(tmp_path / "none.sqlite", write=False)


@pytest.mark.skipif(not hasattr(signal, "SIGXFSZ"), reason="a limit on the size of files is of POSIX")
def test_a_backup_that_finds_no_room_leaves_no_file_of_its_name(tmp_path: Path) -> None:
    import resource

    with Journal(tmp_path / "j.sqlite") as journal:
        add(journal, "1", a=1)
        before = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (8192, before[1]))
        try:
            with pytest.raises(RecordNotWritten, match=r"The backup .*b\.sqlite was not written"):
                journal.back_up(tmp_path / "full" / "b.sqlite")
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
        assert list((tmp_path / "full").iterdir()) == []
        journal.back_up(tmp_path / "full" / "b.sqlite")


def test_backup_is_a_whole_journal_and_overwrites_nothing(tmp_path: Path) -> None:
    with Journal(tmp_path / "j.sqlite") as journal:
        add(journal, "1", a=1)
        journal.back_up(tmp_path / "b.sqlite")
        with pytest.raises(FileError, match="is there already"):
            journal.back_up(tmp_path / "b.sqlite")
    with Journal(tmp_path / "b.sqlite", write=False) as copy:
        assert copy.faults() == ()
        assert len(copy.history("job", "1")) == 1


def test_photos_are_kept_once_and_checked_by_their_hash(tmp_path: Path) -> None:
    with Journal(tmp_path / "j.sqlite") as journal:
        with journal.writing() as writer:
            names = {writer.keep_file(name="a.jpg", media="image/jpeg", content=b"picture") for _ in range(2)}
            (name,) = names
            writer.append("job", "1", "photographed", at=AT, who="Ana", doc={"sha256": name}, files=(name,))
        assert journal.file(name).content == b"picture"
        assert journal.file_hashes() == (name,)
        with pytest.raises(RecordUnreadable, match="was not understood") as told, journal.writing() as writer:
            writer.append("job", "1", "photographed", at=AT, who="Ana", doc={}, files=("0" * 64,))
        assert "FOREIGN KEY" in str(told.value.__cause__)


WRITER = """
import random, sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from areakit.records.journal import Journal
path, seed, count = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
chance = random.Random(seed)
with Journal(path) as journal:
    print("ready", flush=True)
    for n in range(count):
        key = str(chance.randrange(5))
        doc = {"seed": seed, "n": n, "filler": "z" * chance.choice((10, 3000, 20000))}
        made = journal.append("job", key, "remarked", at="2026-03-14T09:30:00Z", who="w", doc=doc)
        print(made.id, made.digest, flush=True)
"""


def start_writer(path: Path, seed: int, count: int) -> "subprocess.Popen[str]":
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", WRITER, str(path), str(seed), str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)


def kill_writers(path: Path, kills: int) -> int:
    """Kill a writing process again and again; return the number of acknowledged entries, all of them found whole.

    What is waited for is a number of entries, not a time: on a busy machine the same is killed, only later.
    """
    chance = random.Random(20260314)
    acknowledged: dict[str, str] = {}
    for seed in range(kills):
        writer = start_writer(path, seed, 100_000)
        assert writer.stdout is not None
        if seed % 5:
            told = [writer.stdout.readline() for _ in range(chance.randrange(1, 8))]  # "ready", then entries
            time.sleep(chance.uniform(0.0, 0.005))  # somewhere within the entries that come next
        else:
            told = []
            time.sleep(chance.uniform(0.0, 0.15))  # every fifth is killed while it may still be opening the store
        writer.send_signal(signal.SIGKILL)
        told += writer.stdout.read().splitlines()
        writer.stdout.close()
        assert writer.wait() == -signal.SIGKILL
        lines = [line.split() for line in told]
        acknowledged |= {words[0]: words[1] for words in lines if len(words) == 2 and len(words[1]) == 64}
        if seed % 10 == 9 or seed == kills - 1:
            with Journal(path) as journal:
                assert journal.faults() == ()
                found = {event.id: event.digest for event in journal.every_event()}
            missing = [name for name, digest in acknowledged.items() if found.get(name) != digest]
            assert missing == []
    return len(acknowledged)


def test_a_killed_writer_loses_no_acknowledged_entry(tmp_path: Path) -> None:
    assert kill_writers(tmp_path / "j.sqlite", 30) > 30


@pytest.mark.slow
@pytest.mark.timeout(900)
def test_hundreds_of_killed_writers_lose_no_acknowledged_entry(tmp_path: Path) -> None:
    assert kill_writers(tmp_path / "j.sqlite", 400) > 400


def test_writers_at_the_same_time_wait_for_each_other(tmp_path: Path) -> None:
    """Two that begin a store in the same moment are another matter: see tests/service/test_one_write.py."""
    with Journal(tmp_path / "j.sqlite") as journal:
        journal.append("sheet", "bench", "checked", at=AT, who="Ana", doc={})
    writers = [start_writer(tmp_path / "j.sqlite", seed, 40) for seed in range(3)]
    printed = [writer.communicate(timeout=100)[0] for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0, 0]
    assert sum(len(text.splitlines()) - 1 for text in printed) == 120
    with Journal(tmp_path / "j.sqlite") as journal:
        assert len(list(journal.every_event())) == 121
        assert journal.faults() == ()


def damaged_copy(tmp_path: Path, page: int, *, whole: bool = False) -> tuple[Path, list[str]]:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        kept = [add(journal, str(n % 3), n=n, filler="word " * (n % 7) * 300) for n in range(60)]
    data = bytearray(path.read_bytes())
    data[(page - 1) * 4096 : page * 4096] = bytes(4096) if whole else os.urandom(4096)
    path.write_bytes(data)
    return path, kept


@pytest.mark.parametrize("page", [2, 9, 25, 40])
def test_a_damaged_page_is_detected_and_the_rest_is_saved(tmp_path: Path, page: int) -> None:
    path, kept = damaged_copy(tmp_path, page)
    try:
        with Journal(path, write=False) as journal:
            faults = journal.faults()
    except RecordUnreadable as error:
        faults = (error.message,)
    assert faults
    saved = [event.id for event in salvage(path).events]
    assert set(saved) <= set(kept)
    assert len(saved) >= 50


def test_a_store_without_its_first_page_still_gives_its_entries(tmp_path: Path) -> None:
    path, kept = damaged_copy(tmp_path, 1, whole=True)
    with pytest.raises(RecordUnreadable):
        Journal(path, write=False)
    assert sorted(event.id for event in salvage(path).events) == sorted(kept)


def test_a_changed_letter_is_detected(tmp_path: Path) -> None:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        for n in range(3):
            add(journal, "1", remark="held at 6 V", n=n)
    path.write_bytes(path.read_bytes().replace(b'"n":1,"remark":"held at 6 V', b'"n":1,"remark":"held at 9 V'))
    with Journal(path, write=False) as journal:
        assert any("Entry 2 of job 1 is damaged" in fault for fault in journal.faults())
        with pytest.raises(RecordUnreadable, match="damaged"):
            journal.history("job", "1")
    assert [json.loads(json.dumps(dict(e.doc)))["n"] for e in salvage(path).events] == [0, 2]


def test_the_file_says_whose_it_is(tmp_path: Path) -> None:
    with Journal(tmp_path / "j.sqlite") as journal:
        add(journal, "1")
    # SQLite file format, section 1.3: application id at offset 68
    assert int.from_bytes((tmp_path / "j.sqlite").read_bytes()[68:72], "big") == APPLICATION_ID


def test_a_row_number_of_nine_bytes_is_salvaged_too(tmp_path: Path) -> None:
    """SQLite file format, section 1.6: a number of 64 bits takes nine bytes, the last of them with all its bits."""
    with Journal(tmp_path / "j.sqlite") as journal:
        add(journal, "1", remark="kept")
        (event,) = journal.every_event()
    raw = sqlite3.connect(tmp_path / "big.sqlite")
    for statement in MIGRATIONS[0]:
        raw.execute(statement)
    columns = ("number", *FIELDS)
    row = (2**62 + 5, *to_row(event))
    raw.execute(f"INSERT INTO event ({', '.join(columns)}) VALUES ({', '.join('?' * len(row))})", row)
    raw.commit()
    raw.close()
    assert salvage(tmp_path / "big.sqlite").events == (event,)


def stored_photo(path: Path) -> str:
    with Journal(path) as journal, journal.writing() as writer:
        name = writer.keep_file(name="a.jpg", media="image/jpeg", content=b"the picture of a part" * 20)
        writer.append(
            "job", "1", "photographed", at=AT, who="Ana", doc={"sha256": name, "media": "image/jpeg"}, files=(name,)
        )
    return name


def test_a_photo_that_changed_on_the_disk_is_told_and_not_given_out(tmp_path: Path) -> None:
    path = tmp_path / "j.sqlite"
    name = stored_photo(path)
    assert [file.sha256 for file in salvage(path).files] == [name]
    path.write_bytes(path.read_bytes().replace(b"the picture of a part", b"the picture of a cart", 1))
    with Journal(path, write=False) as journal:
        assert any("a.jpg does not give its hash" in fault for fault in journal.faults())
        with pytest.raises(RecordUnreadable, match=r"a\.jpg is damaged"):
            journal.file(name)
        with pytest.raises(InputError, match="no stored file 000000000000"):
            journal.file("0" * 64)
    assert salvage(path).files == ()
    assert salvage(path).lost_files == 1


def test_what_is_too_large_or_has_no_name_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(journal_module, "_LARGEST_FILE", 1_000_000)
    with Journal(tmp_path / "j.sqlite") as journal:
        with pytest.raises(FileError, match=r"a\.jpg is 2 MB"), journal.writing() as writer:
            writer.keep_file(name="a.jpg", media="image/jpeg", content=bytes(2_000_000))
        with pytest.raises(InputError, match="An entry of 30 MB is too large"):
            add(journal, "1", filler="x" * 30_000_000)
        for key, who in (("", "Ana"), ("1", " "), ("x" * 81, "Ana"), ("1", "Ana\n")):
            with pytest.raises(InputError, match="is empty, longer than"):
                journal.append("job", key, "remarked", at=AT, who=who, doc={})
        assert list(journal.every_event()) == []


def test_a_journal_that_another_program_holds_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(journal_module, "BUSY_SECONDS", 0.01)
    with Journal(tmp_path / "j.sqlite") as journal:
        add(journal, "1", a=1)
        other = sqlite3.connect(tmp_path / "j.sqlite", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordChanged, match="Another program kept the journal") as caught:
            add(journal, "1", a=2)
        assert "try again" in caught.value.remedy
        other.execute("ROLLBACK")
        other.close()
        assert len(journal.history("job", "1")) == 1


def test_a_copy_before_an_upgrade_goes_over_no_other_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "j.sqlite"
    with Journal(path) as journal:
        add(journal, "1", a=1)
    (tmp_path / "j.sqlite.version-1").write_bytes(b"an earlier copy")
    monkeypatch.setattr(journal_module, "MIGRATIONS", (*MIGRATIONS, ("CREATE TABLE extra (n INTEGER) STRICT",)))
    with Journal(path) as journal:
        assert journal.copy_before_migration == tmp_path / "j.sqlite.version-1-2"
    assert (tmp_path / "j.sqlite.version-1").read_bytes() == b"an earlier copy"


@pytest.mark.parametrize("sign", ["\x00", "\x1b", "\x7f", "\x9b", "\udcff"])
def test_signs_that_are_no_letters_are_not_kept(sign: str) -> None:
    for doc in ({"part": f"a{sign}"}, {"deep": [{"name": f"{sign}b"}]}, {f"k{sign}": 1}):
        with pytest.raises(InputError, match="no letter"):
            make_event(
                before=None, id="1", subject="job", key="J1", at="2026-03-14T00:00:00Z", who="me", kind="x", doc=doc
            )
    for names in ({"key": f"J{sign}", "who": "me"}, {"key": "J1", "who": f"m{sign}"}):
        with pytest.raises(InputError, match="control characters"):
            make_event(before=None, id="1", subject="job", at="2026-03-14T00:00:00Z", kind="x", doc={}, **names)


def test_lines_and_tabs_are_kept_in_text_and_not_in_names() -> None:
    event = make_event(
        before=None, id="1", subject="job", key="J1", at="2026-03-14T00:00:00Z", who="me", kind="x", doc={"r": "a\n\tb"}
    )
    assert event.doc["r"] == "a\n\tb"
    with pytest.raises(InputError, match="control characters"):
        check_words(key="J\n1", who="me", at="2026-03-14T00:00:00Z")


@pytest.mark.parametrize(
    ("subject", "named", "listed"),
    [("job", "job", "job list"), ("bottle", "bottle", "bottle list"), ("sheet", "sheet copy", "sheet-check"),
     ("check", "check piece", "verify --trend")],
)  # fmt: skip
def test_capitals_count_in_names_and_no_two_names_differ_in_them_alone(
    tmp_path: Path, subject: str, named: str, listed: str
) -> None:
    said = {"at": "2026-03-14T09:00:00Z", "who": "me", "doc": {}}
    with Journal(tmp_path / "j.sqlite") as journal:
        journal.append(subject, "Čajka-7", "opened", **said)
        with pytest.raises(InputError, match=f"There is a {named} Čajka-7 already") as told:
            journal.append(subject, "ČAJKA-7", "opened", **said)
        assert told.value.remedy == "Write Čajka-7, or choose another name."
        journal.append(subject, "Čajka-7", "remarked", **said)
        journal.append(subject, "2026-0001", "opened", **said)
        with pytest.raises(InputError, match=f"There is no {named} čajka-7") as told:
            journal.history(subject, "čajka-7")
        assert told.value.remedy == "There is Čajka-7; capitals count in names."
        with pytest.raises(InputError) as told:
            journal.history(subject, "other")
        assert (told.value.remedy, list(told.value.fields)) == ("Look up what is there.", [f"areakit {listed}"])


def test_an_empty_store_tells_what_makes_it(tmp_path: Path) -> None:
    with pytest.raises(FileError) as told, Journal(tmp_path / "j.sqlite", write=False):
        pass
    assert told.value.remedy == "Check its name; the first entry makes a new one."


def test_the_first_entries_of_one_program_wait_for_each_other(tmp_path: Path) -> None:
    """Threads of a server that all open the first job at one moment: each gets its own."""
    path, start = tmp_path / "new" / "j.sqlite", threading.Barrier(8)

    def first(number: int) -> int:
        with Journal(path) as journal:  # none of them sees a file yet
            start.wait()
            with journal.writing() as writer:
                taken = sum(writer.holds("job", f"J{n}") for n in range(8))
                writer.append("job", f"J{taken}", "opened", at=AT, who="Ana", doc={"n": number})
            return taken

    with ThreadPoolExecutor(8) as pool:
        assert sorted(pool.map(first, range(8))) == list(range(8))


def test_a_file_that_a_full_disk_left_empty_is_told_and_written_to(tmp_path: Path) -> None:
    path = tmp_path / "j.sqlite"
    path.touch()
    with pytest.raises(FileError, match="There is nothing in"):
        Journal(path, write=False)
    with Journal(path) as journal:
        journal.append("job", "J1", "opened", at=AT, who="Ana", doc={})
    with Journal(path, write=False) as journal:
        assert journal.keys("job") == ("J1",)
