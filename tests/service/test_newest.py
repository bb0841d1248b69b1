"""An older copy in the place of a record is told and not written to; so is a clock that went back."""

import json
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from areakit.cli.main import group
from areakit.errors import RecordChanged, in_shell
from areakit.service.desk import Desk
from areakit.service.job import NewJob, add, open_job, show_job
from areakit.service.newest import MOST_RECORDS, Marks, Newest, clock_words
from areakit.service.store import check

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "record" / "j.sqlite", who="Ana", now=NOW, marks=Marks(tmp_path / "state" / "m.json"))


def remark(desk: Desk, text: str = "good") -> None:
    add(desk, "2026-0001", "remarked", doc={"text": text})


def older(desk: Desk) -> None:
    """Two entries, copied, one more; then the copy is put in place."""
    copy = desk.path.with_name("copy")
    open_job(desk, NewJob(part="clip"))
    remark(desk)
    shutil.copy(desk.path, copy)
    remark(desk, "sealed")
    shutil.copy(copy, desk.path)


def forked(desk: Desk) -> None:
    """As many entries as before, but the last is another."""
    older(desk)
    remark(Desk(path=desk.path, who="Bo", now=NOW), "not sealed")


@pytest.mark.parametrize("swap", [older, forked])
def test_nothing_is_added_to_an_older_or_another_copy(desk: Desk, swap: Callable[[Desk], None]) -> None:
    swap(desk)
    before = desk.path.read_bytes()
    for refused in (remark, check, lambda desk: open_job(desk, NewJob(part="other"))):
        with pytest.raises(RecordChanged, match="entry 3 of 2026-03-14T09:30:00") as told:
            refused(desk)
        assert told.value.code == "OLDER_COPY"
        assert "--as-it-is" in in_shell(told.value.remedy, told.value.fields)
    assert desk.path.read_bytes() == before
    assert show_job(desk, "2026-0001").number == "2026-0001"  # reading goes on
    assert "older copy" in desk.notes()[0]
    desk.accept()
    assert desk.notes() == ()
    remark(desk)
    assert check(desk) == (4 if swap is forked else 3)


def test_what_others_added_is_no_older_copy(desk: Desk) -> None:
    open_job(desk, NewJob(part="clip"))
    remark(Desk(path=desk.path, who="Bo", now=NOW))  # by a program of another user, who keeps marks of his own
    remark(desk)
    assert check(desk) == 3
    assert desk.notes() == ()


def test_a_record_that_is_gone_is_told_and_a_new_one_can_begin(desk: Desk) -> None:
    older(desk)
    desk.path.unlink()
    assert "entry 3 of" in desk.notes()[0]
    open_job(desk, NewJob(part="clip"))
    assert desk.notes() == ()


@pytest.mark.parametrize("kept", [b"", b"[1]", b"\xff{", b'{"x": 3}', None])
def test_marks_that_cannot_be_read_are_as_good_as_none(desk: Desk, tmp_path: Path, kept: bytes | None) -> None:
    open_job(desk, NewJob(part="clip"))
    state = tmp_path / "state" / "m.json"
    state.unlink()
    if kept is None:
        state.mkdir()
    else:
        body = json.dumps({str(desk.path.resolve()): {"number": "3", "digest": 5}}).encode()
        state.write_bytes(body if kept == b'{"x": 3}' else kept)
    remark(desk)
    assert check(desk) == 2


def test_marks_of_many_records_stay_few(tmp_path: Path) -> None:
    marks = Marks(tmp_path / "m.json")
    one = Newest(number=1, digest="0" * 64, at="2026-03-14T09:30:00Z")
    for n in range(MOST_RECORDS + 5):
        marks.keep(tmp_path / str(n), one)
    assert marks.of(tmp_path / "4") is None
    assert marks.of(tmp_path / "5") == one
    assert MOST_RECORDS == 200


@pytest.mark.parametrize(("back", "told"), [(119, False), (121, True), (-600, False)])
def test_a_clock_that_went_back_is_told(back: int, *, told: bool) -> None:
    newest = Newest(number=1, digest="0" * 64, at="2026-03-14T10:30:00+01:00")
    assert bool(clock_words(newest, NOW - timedelta(seconds=back))) is told
    assert clock_words(None, NOW) == ""
    assert clock_words(Newest(number=1, digest="", at="some day"), NOW) == ""


def run(tmp_path: Path, *arguments: str) -> Result:
    environment = {"XDG_STATE_HOME": str(tmp_path / "home"), "AREAKIT_WHO": "Ana"}
    return CliRunner().invoke(group, ["job", *arguments, "--journal", str(tmp_path / "j.sqlite")], env=environment)


def test_the_command_line_tells_refuses_and_goes_on_when_it_is_told_to(tmp_path: Path) -> None:
    assert run(tmp_path, "new", "clip").exit_code == 0
    shutil.copy(tmp_path / "j.sqlite", tmp_path / "copy")
    assert run(tmp_path, "remark", "2026-0001", "good").exit_code == 0
    shutil.copy(tmp_path / "copy", tmp_path / "j.sqlite")
    shown = run(tmp_path, "show", "2026-0001")
    assert shown.exit_code == 0
    assert shown.stderr.count("An older copy of") == 1
    for arguments in (("remark", "2026-0001", "good"), ("check",)):
        assert isinstance(run(tmp_path, *arguments).exception, RecordChanged)
    accepted = run(tmp_path, "check", "--as-it-is")
    assert accepted.exit_code == 0, accepted.exception
    assert run(tmp_path, "remark", "2026-0001", "good").exit_code == 0
    assert "note:" not in run(tmp_path, "show", "2026-0001").stderr


def test_the_command_line_tells_of_its_clock(tmp_path: Path) -> None:
    late = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime.now(UTC) + timedelta(days=2))
    open_job(late, NewJob(part="clip", number="J1"))
    assert "The clock of this computer says" in run(tmp_path, "remark", "J1", "good").stderr
