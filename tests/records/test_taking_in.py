"""An export taken into another journal: what is there stays, what is new is added, nothing is merged by guessing."""

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from areakit.errors import FileError, RecordChanged
from areakit.records.exchange import (
    Taken,
    chosen_events,
    files_of,
    read_export,
    take_in,
    to_csv,
    to_lines,
)
from areakit.records.journal import Journal
from areakit.service.desk import Desk
from areakit.service.store import take_in as take_all_in

AT = "2026-03-14T09:30:00+01:00"


def journal_of(path: Path, *keys: str, photo: bytes = b"") -> Journal:
    journal = Journal(path)
    for key in keys:
        doc: dict[str, object] = {"text": f"=about {key}"}
        if photo:
            with journal.writing() as writer:
                doc["sha256"] = writer.keep_file(name="a.jpg", media="image/jpeg", content=photo)
        journal.append("job", key, "remarked", at=AT, who="Ana", doc=doc)
    return journal


def test_a_journal_goes_into_an_empty_one_whole_and_once(tmp_path: Path) -> None:
    with journal_of(tmp_path / "a.sqlite", "1", "1", "2", photo=b"picture") as here:
        events = list(chosen_events(here))
        files = list(files_of(here, events))
        text = "\n".join(to_lines(events, files))
    assert [file.content for file in files] == [b"picture"]
    assert text.count('"file"') == 1
    with Journal(tmp_path / "b.sqlite") as there:
        assert take_in(there, *read_export(text)) == Taken(added=3, known=0, files=1)
        assert take_in(there, *read_export(text)) == Taken(added=0, known=3, files=0)
        assert [event.digest for event in there.every_event()] == [event.digest for event in events]
        assert list(files_of(there, events)) == files
        assert there.faults() == ()


def test_chosen_records_alone_are_exported(tmp_path: Path) -> None:
    with journal_of(tmp_path / "a.sqlite", "1", "2", "1") as here:
        assert [event.key for event in chosen_events(here)] == ["1", "2", "1"]
        assert [event.key for event in chosen_events(here, [("job", "1")])] == ["1", "1"]


def test_an_event_that_names_a_file_elsewhere_or_no_text_brings_none(tmp_path: Path) -> None:
    with journal_of(tmp_path / "a.sqlite", "1", photo=b"picture") as here:
        (event,) = here.every_event()
        other = [replace(event, doc={"sha256": 7}), replace(event, doc={"sha256": "0" * 64}), replace(event, doc={})]
        assert list(files_of(here, other)) == []


def test_a_record_that_went_on_is_brought_up_to_date(tmp_path: Path) -> None:
    with journal_of(tmp_path / "a.sqlite", "1", "1") as here, Journal(tmp_path / "b.sqlite") as there:
        events = list(here.every_event())
        assert take_in(there, events[:1], []) == Taken(added=1, known=0, files=0)
        assert take_in(there, events, []) == Taken(added=1, known=1, files=0)


def test_a_record_that_differs_is_refused_and_nothing_taken(tmp_path: Path) -> None:
    with (
        journal_of(tmp_path / "a.sqlite", "1", "1") as here,
        journal_of(tmp_path / "b.sqlite", "1") as there,
        Journal(tmp_path / "c.sqlite") as empty,
    ):
        events = list(here.every_event())
        with pytest.raises(RecordChanged, match="job 1 differs from entry 1 on"):
            take_in(there, events, [])
        assert len(list(there.every_event())) == 1
        with pytest.raises(RecordChanged, match="differs from entry 2 on"):  # its first entry is missing
            take_in(empty, events[1:], [])
        assert take_in(empty, events[1:], [], gaps=True) == Taken(added=1, known=0, files=0)
        assert len(empty.faults()) == 1


def test_a_gap_is_taken_only_beyond_the_last_entry(tmp_path: Path) -> None:
    with journal_of(tmp_path / "a.sqlite", *["1"] * 4) as here, Journal(tmp_path / "b.sqlite") as there:
        events = list(here.every_event())
        assert take_in(there, [events[0], events[3]], [], gaps=True).added == 2
        with pytest.raises(RecordChanged, match="differs from entry 2 on"):
            take_in(there, [events[1]], [], gaps=True)


def test_a_table_of_events_holds_no_formula_and_is_read_back(tmp_path: Path) -> None:
    with journal_of(tmp_path / "=a.sqlite", "=1") as here:
        events = list(here.every_event())
        text = to_csv(events)
    assert "'=1" in text
    assert read_export(text) == (events, [])
    assert json.loads(next(iter(to_lines(events))))["schema"] == "areakit.journal/1"


@pytest.mark.parametrize("text", ["", "\n", '{"schema":"areakit.journal/1"}\n'])
def test_an_export_of_nothing_begins_no_journal(text: str, tmp_path: Path) -> None:
    export = tmp_path / "e.jsonl"
    export.write_text(text)
    desk = Desk(path=tmp_path / "new" / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    with pytest.raises(FileError, match="holds no entry and no file"):
        take_all_in(desk, export)
    assert list(tmp_path.iterdir()) == [export]
    with journal_of(tmp_path / "a.sqlite", "1") as here:
        export.write_text("\n".join(to_lines(chosen_events(here))))
    assert take_all_in(desk, export) == Taken(added=1, known=0, files=0)
    assert desk.path.is_file()
