"""A job is what its events make of it: corrections append, and every state can be seen again."""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from areakit.errors import InputError
from areakit.records import lenses, sheets
from areakit.records.codec import quantity_json
from areakit.records.entries import KINDS, checked
from areakit.records.entry_words import entry_words
from areakit.records.job import Job, check_correction, fold
from areakit.records.journal import Journal
from areakit.records.methods import METHODS, method
from areakit.records.runs import planned_step, run_of
from areakit.sources import source
from areakit.uncertainty import Measured

AT = "2026-03-14T09:{:02d}:00+01:00"


def job_of(tmp_path: Path, *entries: tuple[str, dict[str, Any]]) -> Job:
    with Journal(tmp_path / "j.sqlite") as journal:
        for minute, (kind, doc) in enumerate(entries):
            current = fold("1", journal.history("job", "1")) if minute else None
            body = check_correction(current, doc) if kind == "corrected" and current else checked(kind, doc)
            journal.append("job", "1", kind, at=AT.format(minute), who=f"author {minute}", doc=body)
        return fold("1", journal.history("job", "1"))


ORDER = ("opened", {"date": "2026-03-14", "part": "leaf pendant", "quantity": 12, "customer": "order 77"})


def mass(value: float, spread: float) -> dict[str, Any]:
    return quantity_json(Measured(value=value, unit="g", budget={"balance": spread}))


def test_a_correction_changes_what_stands_and_keeps_what_was_written(tmp_path: Path) -> None:
    job = job_of(
        tmp_path,
        ORDER,
        ("corrected", {"entry": 1, "fields": {"quantity": 13}, "reason": "miscounted"}),
        ("corrected", {"entry": 1, "fields": {"quantity": 14, "customer": "order 78"}, "reason": "one more came"}),
    )
    assert (job.quantity, job.opened["customer"], job.opened["part"]) == (14, "order 78", "leaf pendant")
    assert job.history[0].doc["quantity"] == 12
    first, second = job.entry(1).corrections
    assert (first.before, first.fields, first.who, first.reason) == (
        {"quantity": 12}, {"quantity": 13}, "author 1", "miscounted",
    )  # fmt: skip
    assert (second.before, second.at) == ({"quantity": 13, "customer": "order 77"}, AT.format(2))


def test_a_withdrawn_entry_no_longer_counts_and_can_be_taken_back_in(tmp_path: Path) -> None:
    entries = (
        ORDER,
        ("weighed", {"when": "before", "mass": mass(10.0, 0.001)}),
        ("corrected", {"entry": 2, "withdrawn": True, "reason": "wrong part"}),
    )
    assert job_of(tmp_path, *entries).all_of("weighed") == ()
    back = ("corrected", {"entry": 2, "fields": {"remarks": "right after all"}, "reason": "was right"})
    assert len(job_of(tmp_path / "b", *entries, back).all_of("weighed")) == 1


def test_the_weight_gain_carries_both_weighings(tmp_path: Path) -> None:
    job = job_of(
        tmp_path,
        ORDER,
        ("weighed", {"when": "before", "mass": mass(10.000, 0.003)}),
        ("weighed", {"when": "after", "mass": mass(10.051, 0.004)}),
    )
    assert job.gain is not None
    assert job.gain.value == pytest.approx(51e-6)
    assert job.gain.standard_uncertainty == pytest.approx(5e-6)  # 3, 4, 5: independent readings of one balance


def test_a_change_after_the_sign_off_shows(tmp_path: Path) -> None:
    signed = ("signed", {"statement": "Released", "role": "inspector"})
    assert job_of(tmp_path, ORDER).state == "open"
    assert job_of(tmp_path / "b", ORDER, signed).state == "signed"
    later = ("remarked", {"text": "customer called"})
    assert job_of(tmp_path / "c", ORDER, signed, later).state == "changed after sign-off"
    assert job_of(tmp_path / "d", ORDER, signed, later, signed).state == "signed"


@pytest.mark.parametrize(
    ("kind", "doc", "said"),
    [
        ("opened", {"date": "14.3.2026", "part": "x"}, "date"),
        ("opened", {"date": "2026-03-14", "part": "x", "quantity": 0}, "quantity"),
        ("opened", {"date": "2026-03-14", "part": "x", "quantity": "3"}, "quantity"),
        ("opened", {"date": "2026-03-14", "part": "x", "colour": "red"}, "colour"),
        ("reading", {"run": 1, "at": "2026-03-14T09:00:00Z", "current": -1.0}, "current"),
        ("weighed", {"when": "before", "mass": {"value": 1.0}}, "mass"),
        ("tested", {"method": "tape", "result": "perhaps"}, "result"),
        ("danced", {}, "danced"),
    ],
)
def test_an_entry_that_makes_no_sense_is_refused_by_name(kind: str, doc: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        checked(kind, doc)


def test_a_correction_must_fit_its_entry(tmp_path: Path) -> None:
    job = job_of(tmp_path, ORDER)
    for doc, said in (
        ({"entry": 9, "fields": {"part": "y"}, "reason": "r"}, "no entry 9"),
        ({"entry": 1, "fields": {"wings": 2}, "reason": "r"}, "no field 'wings'"),
        ({"entry": 1, "fields": {"quantity": -1}, "reason": "r"}, "quantity"),
        ({"entry": 1, "fields": {}, "reason": "r"}, "changes nothing"),
    ):
        with pytest.raises(InputError, match=said):
            check_correction(job, doc)


def test_every_test_method_of_the_adhesion_standard_is_there_with_its_source() -> None:
    # ASTM B571, list of adhesion tests, as read in its contents
    b571 = {key for key, one in METHODS.items() if one.source == "b571"}
    assert b571 == {
        "bend", "burnishing", "chisel-knife", "draw", "file", "grind-saw", "heat-quench", "impact", "peel", "push",
        "scribe-grid",
    }  # fmt: skip
    assert all(source(one.source).citation for one in METHODS.values())
    with pytest.raises(InputError, match="bite"):
        method("bite")


def test_every_kind_of_entry_has_words_for_what_it_is() -> None:
    assert all(model.__doc__ for model in KINDS.values())


def test_a_defect_is_told_by_its_point_or_its_corners(tmp_path: Path) -> None:
    """RFC 7946: a point, or a polygon whose last position repeats its first."""
    square = [[0, 0], [2, 0], [2, 2.5], [0, 0]]
    job = job_of(
        tmp_path,
        ORDER,
        ("defect", {"what": "pit", "geometry": {"type": "Point", "coordinates": [1.5, -2]}}),
        ("defect", {"what": "burn", "geometry": {"type": "Polygon", "coordinates": [square]}}),
    )
    assert [entry_words(job.entry(number)) for number in (2, 3)] == [
        "pit at (1.5, -2) mm", "burn inside (0, 0), (2, 0), (2, 2.5) mm",
    ]  # fmt: skip


def test_what_a_newer_areakit_wrote_is_told(tmp_path: Path) -> None:
    entry = replace(job_of(tmp_path, ORDER).entry(1), kind="gilded")
    with pytest.raises(InputError, match="unknown kind 'gilded'") as caught:
        entry_words(entry)
    assert "newer areakit" in caught.value.remedy


def test_a_correction_of_an_entry_that_is_not_there_changes_nothing(tmp_path: Path) -> None:
    job = job_of(tmp_path, ORDER)
    lost = replace(job.history[0], sequence=2, kind="corrected", doc={"entry": 7, "fields": {"quantity": 1}})
    assert fold("1", [*job.history, lost]).entries == job.entries


STEP = {"title": "Plate nickel", "metal": "nickel", "meter_share": 0.02}


@pytest.mark.parametrize(("pause_s", "told"), [(30, 0), (600, 1)])
def test_a_long_gap_between_two_runs_asks_for_activation(tmp_path: Path, pause_s: int, told: int) -> None:
    start = datetime.fromisoformat("2026-03-14T09:00:00+01:00")

    def at(seconds: int) -> str:
        return (start + timedelta(seconds=seconds)).isoformat()

    job = job_of(
        tmp_path,
        ORDER,
        ("step", {**STEP, "at": at(0)}),
        ("reading", {"run": 2, "at": at(0), "current": 1.0}),
        ("reading", {"run": 2, "at": at(120), "current": 0.0, "stop": True}),
        ("step", {**STEP, "title": "Plate nickel again", "at": at(120 + pause_s)}),
        ("reading", {"run": 5, "at": at(120 + pause_s), "current": 1.0}),
    )
    assert len(run_of(job, job.entry(5)).findings) == told
    first = run_of(job, job.entry(2), now=start.timestamp() + 120 + pause_s)
    assert len(first.findings) == told, "a pause that still lasts counts too"
    assert run_of(job, job.entry(2)).findings == ()
    # 1 A for 120 s are 2 A.min: a run that stands still at its target, or within the 2 % of its meter, has no pause
    for minutes, below in ((2.0, False), (2.02, False), (2.2, True)):
        target = quantity_json(Measured(value=60.0 * minutes, unit="C", budget={}))
        aimed = job_of(
            tmp_path / f"{minutes}",
            ORDER,
            ("step", {**STEP, "at": at(0), "target": target}),
            ("reading", {"run": 2, "at": at(0), "current": 1.0}),
            ("reading", {"run": 2, "at": at(120), "current": 1.0, "stop": True}),
        )
        still = run_of(aimed, aimed.entry(2), now=start.timestamp() + 120 + pause_s)
        assert len(still.findings) == told * below
    rinse = job_of(tmp_path / "b", ORDER, ("step", {"title": "Rinse", "at": at(0)}))
    assert run_of(rinse, rinse.entry(2), now=start.timestamp() + pause_s).findings == ()


@pytest.mark.parametrize(
    ("first", "second", "pause_s", "told"),
    [
        ("gold", "gold", 290, 0),  # gold does not turn passive (common practice, no source)
        ("gold", "gold", 310, 1),
        ("chromium", "chromium", 6, 1),  # chromium does, at once
        ("chromium", "chromium", 4, 0),
        ("nickel", "gold", 170, 0),  # 60 s on nickel, and the rinse between of 120 s is no pause
        ("nickel", "gold", 190, 1),
        ("brass", "brass", 61, 1),  # a metal that the table does not hold bears the shortest usual pause
    ],
)
def test_the_allowed_pause_is_that_of_the_metal_that_lies_open(
    tmp_path: Path, first: str, second: str, pause_s: int, told: int
) -> None:
    start = datetime.fromisoformat("2026-03-14T09:00:00+01:00")

    def at(seconds: int) -> str:
        return (start + timedelta(seconds=seconds)).isoformat()

    job = job_of(
        tmp_path,
        ORDER,
        ("step", {**STEP, "metal": first, "at": at(0)}),
        ("reading", {"run": 2, "at": at(0), "current": 1.0}),
        ("reading", {"run": 2, "at": at(60), "current": 0.0, "stop": True}),
        ("step", {**STEP, "metal": second, "at": at(60 + pause_s)}),
        ("reading", {"run": 5, "at": at(60 + pause_s), "current": 1.0}),
    )
    assert len(run_of(job, job.entry(5)).findings) == told


def test_every_rinse_of_the_plan_between_two_steps_adds_its_time(tmp_path: Path) -> None:
    start = datetime.fromisoformat("2026-03-14T09:00:00+01:00")
    kinds = ("plate", "rinse", "rinse", "strike", "plate")
    steps = [{"number": number, "kind": kind, "title": kind} for number, kind in enumerate(kinds, start=1)]

    def findings(first: int, second: int, pause_s: int) -> int:
        end = start + timedelta(seconds=60)
        job = job_of(
            tmp_path / f"{first}-{second}-{pause_s}",
            ORDER,
            ("planned", {"plan": {"steps": steps, "layers": []}}),
            ("step", {**STEP, "step": first, "at": start.isoformat()}),
            ("reading", {"run": 3, "at": start.isoformat(), "current": 1.0}),
            ("reading", {"run": 3, "at": end.isoformat(), "current": 0.0, "stop": True}),
            ("step", {**STEP, "step": second, "at": end.isoformat()}),
            ("reading", {"run": 6, "at": (end + timedelta(seconds=pause_s)).isoformat(), "current": 1.0}),
        )
        return len(run_of(job, job.entry(6)).findings)

    # nickel: 60 s and two rinses of 120 s; a strike of it: 30 s and none
    assert [findings(1, 4, pause_s) for pause_s in (290, 310)] == [0, 1]
    assert [findings(4, 5, pause_s) for pause_s in (29, 31)] == [0, 1]


def test_a_step_of_no_plan_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="Job 1 has no plan"):
        planned_step(job_of(tmp_path, ORDER), 3)


def test_a_sheet_copy_or_a_lens_that_was_never_checked_has_no_figures() -> None:
    assert lenses.fold([]) is None
    with pytest.raises(InputError, match="sheet copy bench-1 was never checked"):
        sheets.fold("bench-1", [])
