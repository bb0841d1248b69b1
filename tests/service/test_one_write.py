"""One press is one entry, and what belongs together is written together: killed in between, sent twice, refused."""

from __future__ import annotations

import contextlib
import json
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import nullcontext
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.errors import AreakitError, FileError, InputError, RecordChanged
from areakit.records.journal import Journal
from areakit.service.bottle import NewBottle, add_bottle
from areakit.service.desk import Desk
from areakit.service.job import Attached, NewEntry, NewJob, add, add_all, open_job, show_job
from areakit.service.job_entries import Remark
from areakit.service.lens import stored_lenses
from areakit.service.plan_factors import own_factors

NOW = datetime(2026, 3, 14, 9, 0, tzinfo=timezone(timedelta(hours=1)))
AREA = {"value": 100.0, "unit": "mm2", "budget": {"scale": 1.0}}
LINE = {"photo": "a.jpg", "flags": [], "parts": [{"id": 1, "plated_area": AREA, "face_area": AREA}]}


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "new" / "j.sqlite", who="Ana", now=NOW)


KILLED = """
import os, signal, sys
from areakit.records.journal import Writer
honest = Writer.append
def append(self, subject, key, kind, **more):
    if kind == sys.argv[1]:
        os.kill(os.getpid(), signal.SIGKILL)
    return honest(self, subject, key, kind, **more)
Writer.append = append
from areakit.cli.main import group
group(sys.argv[2:], standalone_mode=False)
"""


@pytest.mark.thorough
@pytest.mark.parametrize("at", ["measured", "photographed", None])
def test_killed_between_outline_and_photo_neither_is_kept(tmp_path: Path, at: str | None) -> None:
    journal = tmp_path / "j.sqlite"
    open_job(Desk(path=journal, who="Ana", now=NOW), NewJob(part="x", number="J1"))
    (tmp_path / "a.json").write_text(json.dumps(LINE))
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8\xffpicture")
    words = ["job", "measured", "J1", str(tmp_path / "a.json"), "--photo", str(tmp_path / "a.jpg")]
    done = subprocess.run(
        [sys.executable, "-c", KILLED, at or "nothing", *words, "--journal", str(journal)],
        capture_output=True,
        check=False,
    )
    assert done.returncode == (0 if at is None else -signal.SIGKILL), done.stderr
    kinds = [entry.kind for entry in show_job(Desk(path=journal, who="Ana", now=NOW), "J1").entries]
    assert kinds == (["opened", "measured", "photographed"] if at is None else ["opened"])
    with Journal(journal, write=False) as store:
        assert len(store.file_hashes()) == (at is None)
        assert store.faults() == ()


def test_one_entry_that_cannot_be_kept_keeps_all_others_out(desk: Desk) -> None:
    open_job(desk, NewJob(part="x", number="J1"))
    photo = NewEntry(kind="photographed", doc={}, file=Attached(name="a.jpg", content=b"\xff\xd8\xffpicture"))
    with pytest.raises(InputError, match="measured"):
        add_all(desk, "J1", [photo, NewEntry(kind="measured", doc={"line": LINE, "part": 0})])
    assert [entry.kind for entry in show_job(desk, "J1").entries] == ["opened"]
    with desk.to_read() as journal:
        assert journal.file_hashes() == ()


def test_a_job_opens_with_its_first_entries_or_not_at_all(desk: Desk) -> None:
    with pytest.raises(InputError, match="measured"):
        open_job(desk, NewJob(part="x"), [NewEntry(kind="measured", doc={"line": LINE, "part": 0})])
    assert not desk.path.exists()
    made = open_job(desk, NewJob(part="x"), [NewEntry(kind="measured", doc={"line": LINE, "part": 1})])
    assert [entry.kind for entry in made.entries] == ["opened", "measured"]


REFUSED = (
    ["job", "new", ""],
    ["job", "new", "x", "--number", "a\nb"],
    ["job", "new", "x", "--date", "yesterday"],
    ["job", "new", "--like", "J1"],
    ["job", "photo", "J1", "PHOTO"],
    ["job", "measured", "J1", "PHOTO"],
    ["job", "weigh", "J1", "before", "12 g"],
    ["job", "sign", "J1", "Released"],
    ["job", "certificate", "J1", "--output", "c.pdf"],
    ["job", "verify", "J1", "J1/1/aaaa/bbbb"],
    ["job", "import", "PHOTO"],
    ["bottle", "add", "a\nb", "--solution", "s", "--metal", "nickel", "--volume", "1 L"],
    ["bottle", "add", "N1", "--solution", "s", "--metal", "nickel", "--volume", "1 kg"],
    ["bottle", "top-up", "N1", "--volume", "1 L"],
    ["sheet-check", "bench-1", "--sheet", "a9", "--lengths", "150 x 90 mm"],
)


@pytest.mark.parametrize("words", REFUSED, ids=lambda words: " ".join(words[:3]))
def test_a_refused_command_makes_no_store(words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "PHOTO").write_bytes(b"\xff\xd8\xffpicture")
    journal = tmp_path / "new" / "j.sqlite"
    done = CliRunner().invoke(group, words, env={"AREAKIT_JOURNAL": str(journal), "AREAKIT_WHO": "Ana"})
    assert isinstance(done.exception, AreakitError | SystemExit), done.exception
    assert done.exit_code != 0
    assert not journal.parent.exists()
    assert {path.name for path in tmp_path.iterdir()} == {"PHOTO"}


@pytest.mark.parametrize(("other", "lost"), [("J1", True), ("J2", False)])
def test_two_that_begin_a_store_in_the_same_moment_keep_both_unless_they_are_one_job(
    desk: Desk, other: str, *, lost: bool
) -> None:
    told = pytest.raises(RecordChanged, match="same moment; nothing was written here") if lost else nullcontext()
    with desk.to_write() as first, desk.to_write() as second, told, second.writing() as later:
        with first.writing() as writer:
            writer.append("job", "J1", "opened", at=desk.at, who="Ana", doc={})
        later.append("job", other, "opened", at=desk.at, who="Bo", doc={})
    with desk.to_read() as journal:
        assert [event.who for event in journal.every_event()] == (["Ana"] if lost else ["Ana", "Bo"])
        assert journal.faults() == ()


def test_a_store_that_another_began_meanwhile_is_taken_up(desk: Desk) -> None:
    with desk.to_write() as first, desk.to_write() as second:
        first.append("job", "J1", "opened", at=desk.at, who="Ana", doc={})
        second.append("job", "J1", "remarked", at=desk.at, who="Bo", doc={})
    with desk.to_read() as journal:
        assert [(event.sequence, event.who) for event in journal.history("job", "J1")] == [(1, "Ana"), (2, "Bo")]


def test_the_same_key_is_one_entry(desk: Desk) -> None:
    keyed = replace(desk, key="press 1")
    assert keyed.kept_before() is None
    open_job(keyed, NewJob(part="x"))
    kept = replace(desk, key="press 1").kept_before()
    assert kept is not None
    assert (kept.key, kept.kind) == ("2026-0001", "opened")
    assert replace(desk, key="press 2").kept_before() is None
    assert desk.kept_before() is None


def test_two_presses_at_the_same_moment_are_one_entry(desk: Desk) -> None:
    open_job(desk, NewJob(part="x", number="J1"))
    refused: list[RecordChanged] = []

    def press() -> None:
        try:
            Remark(text="once").write(Desk(path=desk.path, who="Ana", now=NOW, key="press"), "J1")
        except RecordChanged as error:
            refused.append(error)

    threads = [threading.Thread(target=press) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(show_job(desk, "J1").all_of("remarked")) == 1
    assert len(refused) == 1
    assert "nothing was written twice" in refused[0].message


@pytest.mark.parametrize(
    ("key", "fits"), [("k", True), ("k" * 200, True), ("k" * 201, False), (" ", False), ("a\nb", False)]
)
def test_a_key_has_1_to_200_plain_characters(desk: Desk, key: str, *, fits: bool) -> None:
    if fits:
        assert replace(desk, key=key).kept_before() is None
    else:
        with pytest.raises(InputError, match="1 to 200"):
            replace(desk, key=key).kept_before()


def test_a_command_given_again_with_its_key_says_what_was_kept(tmp_path: Path) -> None:
    def run(*words: str) -> tuple[str, str]:
        done = CliRunner().invoke(group, list(words), env={"AREAKIT_JOURNAL": str(tmp_path / "j.sqlite")})
        assert done.exit_code == 0, done.output
        return done.stdout, done.stderr

    first, again = run("job", "new", "x", "--key", "a"), run("job", "new", "x", "--key", "a")
    assert first[0] == again[0]
    assert "Kept already with this key: opened" in again[1]
    number = first[0].strip()
    for words in (
        ("job", "remark", number, "words"), ("job", "weigh", number, "before", "12.4 g"),
        ("job", "step", number, "--title", "Clean"), ("job", "test", number, "tape", "pass"),
    ):  # fmt: skip
        once, twice = run(*words, "--key", words[1]), run(*words, "--key", words[1])
        assert "Kept already" not in once[1]
        assert "Kept already" in twice[1]
    run("bottle", "add", "N1", "--solution", "s", "--metal", "nickel", "--volume", "1 L", "--key", "b")
    assert run("bottle", "add", "N1", "--solution", "s", "--metal", "nickel", "--volume", "1 L", "--key", "b")[0] == (
        "Bottle N1, entry 1.\n"
    )
    job = json.loads(run("job", "show", number, "--json")[0])
    assert [entry["kind"] for entry in job["entries"]] == ["opened", "remarked", "weighed", "step", "tested"]


def test_draws_of_a_keyed_run_are_written_with_it(desk: Desk) -> None:
    """The bottle's entry takes the next name of the key, so both stand or neither."""
    open_job(desk, NewJob(part="x", number="J1"))
    add_bottle(desk, NewBottle(label="N1", solution="s", metal="nickel", volume="1 L", allowed_charge="1 A.h"))
    charge = {"value": 60.0, "unit": "C", "budget": {}}
    doc = {"title": "Plate", "metal": "nickel", "bottle": "N1", "charge": charge, "at": desk.at}
    add(replace(desk, key="k"), "J1", "step", doc=doc)
    with desk.to_read() as journal:
        assert [event.kind for event in journal.history("bottle", "N1")] == ["filled", "drew"]


@pytest.mark.parametrize("made", [False, True], ids=["an empty file", "a file without tables"])
def test_a_journal_that_somebody_makes_just_now_holds_nothing_yet(tmp_path: Path, made: bool) -> None:
    desk = Desk(path=tmp_path / "j.sqlite", who="Ana", now=NOW, key="pressed")
    desk.path.touch()
    with contextlib.closing(sqlite3.connect(desk.path)) as other:
        if made:
            other.execute("PRAGMA journal_mode = WAL")
        with pytest.raises(FileError, match="There is nothing in"):
            desk.to_read()
        assert stored_lenses(desk) == ()
        assert desk.kept_before() is None
        assert own_factors(desk.path, solutions={"gold": ("my-gold",)}, bottles={}) == {}
        with pytest.raises(InputError, match="no journal"):
            own_factors(desk.path, solutions={}, bottles={"gold": "G7"})
