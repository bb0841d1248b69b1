"""A job from order to sign-off through the service: nothing lost, bottles kept in step, stops told before the start."""

import json
import os
import threading
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from areakit.errors import FileError, InputError, NotReady, RangeError, RecordChanged, RecordUnreadable
from areakit.records.bottle_json import metal_words
from areakit.records.entry_words import entry_words
from areakit.records.plan_json import plan_json
from areakit.records.runs import run_json, runs_of
from areakit.service.bottle import NewBottle, add_bottle, draw, list_bottles, recover, show_bottle, top_up, write
from areakit.service.desk import Desk, read_date, read_time, temperature
from areakit.service.job import (
    NewJob,
    add,
    attach_json,
    list_jobs,
    open_job,
    show_job,
)
from areakit.service.job_entries import Correction, Defect, Requirement, Rework, SignOff, Trial
from areakit.service.job_run import StepRequest, begin_step, log_reading, progress
from areakit.service.plan import PlanRequest
from areakit.service.plan import plan as make_plan
from areakit.service.store import back_up, check, export, salvage, take_in

NOW = datetime(2026, 3, 14, 9, 0, tzinfo=timezone(timedelta(hours=1)))
PLAN = json.dumps(
    plan_json(
        make_plan(
            PlanRequest(
                process="nickel-gold-brush",
                layers={"gold": "0.5 um", "nickel": "3 um"},
                area="12.5 cm2",
                area_uncertainty="2 %",
                efficiency={"gold": "72% ± 6%", "nickel": "90 % ± 4 %"},
                current_density={"gold": "10 A/dm2", "nickel": "20 A/dm2"},
                footprint="4 cm2",
                base="brass",
                pieces=2,
            )
        )
    )
)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "j.sqlite", who="Ana", now=NOW)


def later(desk: Desk, seconds: float) -> Desk:
    return replace(desk, now=desk.now + timedelta(seconds=seconds))


def planned_job(desk: Desk) -> str:
    number = open_job(desk, NewJob(part="club badge", quantity=2, customer="Заказ 31", base="brass")).number
    attach_json(desk, number, "planned", PLAN)
    return number


def nickel(desk: Desk, label: str = "N3", **fields: str) -> None:
    given = {"volume": "100 mL", "metal_content": "50 ± 1 g/L", "allowed_charge": "40 A.h/L", "expiry": "2027-01-01"}
    add_bottle(desk, NewBottle(label=label, solution="my-nickel", metal="nickel", **{**given, **fields}))


CARRIED = (2.5 * 4.0 + 80e-6 * 2 * 12.5e-4 * 1e6) / 100.0
"""Share of a bottle of 100 mL in the sleeve (2.5 mL/cm2 on 4 cm2) and on two pieces (80 mL/m2 on 12.5 cm2 each)."""


def test_the_sleeve_is_drawn_once_and_drag_out_with_the_pieces(desk: Desk) -> None:
    number = planned_job(desk)
    nickel(desk)
    for _ in range(2):
        begin_step(desk, number, StepRequest(step=6, bottle="N3", pieces=1, charge="1 A.min"))
    assert show_bottle(desk, "N3").volume.value == pytest.approx(100e-6 * (1 - CARRIED))


def test_a_bottle_that_the_coming_sleeve_would_empty_is_stopped_before_the_start(desk: Desk) -> None:
    """1 A.min of 40 A.h/L takes 0.42 mL; the 10.2 mL of sleeve and drag-out are what a bottle of 5 mL cannot give."""
    number = planned_job(desk)
    nickel(desk, "small", volume="5 mL")
    with pytest.raises(InputError, match="run past its limit"):
        begin_step(desk, number, StepRequest(step=6, bottle="small", pieces=1, charge="1 A.min"))
    nickel(desk, "enough", volume="100 mL")
    begin_step(desk, number, StepRequest(step=6, bottle="enough", pieces=1, charge="1 A.min"))


def test_numbers_follow_each_other_and_are_never_given_twice(desk: Desk) -> None:
    assert [open_job(desk, NewJob(part="x")).number for _ in range(3)] == ["2026-0001", "2026-0002", "2026-0003"]
    with pytest.raises(InputError, match="2026-0002 already"):
        open_job(desk, NewJob(part="x", number="2026-0002"))
    assert open_job(desk, NewJob(part="x", date="2025-12-30")).number == "2025-0001"


def test_writers_in_step_get_numbers_of_their_own(desk: Desk) -> None:
    open_job(desk, NewJob(part="first"))
    found: list[str] = []

    def work() -> None:
        found.extend(open_job(desk, NewJob(part="x")).number for _ in range(5))

    threads = [threading.Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found) == [f"2026-{n:04d}" for n in range(2, 17)]


def test_a_run_takes_its_target_from_the_plan_and_reaches_the_planned_thickness(desk: Desk) -> None:
    number = planned_job(desk)
    nickel(desk)
    run = begin_step(desk, number, StepRequest(step=6, bottle="N3", meter_step="0.01 A")).run
    assert run.target is not None
    seconds = 2 * round(run.target.value / 4.0)  # at 2 A; times are written to whole seconds
    log_reading(desk, number, "2 A")
    half = log_reading(later(desk, seconds / 2), number, "2 A").run
    assert half.time_left is not None
    assert half.time_left.value == pytest.approx(seconds / 2, abs=1.0)  # times are kept to whole seconds
    done = log_reading(later(desk, seconds), number, "0 A").run
    layer = next(one for one in json.loads(PLAN)["layers"] if one["metal"] == "nickel")
    assert done.reached is not None
    # the plan, computed the other way round, is the reference
    assert done.reached.minimum.value * 1e6 == pytest.approx(layer["minimum_reached"]["value"], rel=0.01)
    assert done.reached.mean.value * 1e6 == pytest.approx(layer["mean_reached"]["value"], rel=0.01)
    assert run_json(done)["mass"]["value"] == pytest.approx(layer["mass_total"]["value"], rel=0.01)
    bottle = show_bottle(desk, "N3")
    assert bottle.charge_left is not None
    assert bottle.metal is not None
    assert bottle.charge_left.value == pytest.approx(4 * 3600 * (1 - CARRIED) - done.log.charge.value)
    assert bottle.metal.value == pytest.approx(5e-3 * (1 - CARRIED) - done.reached.mass.value)
    assert bottle.volume.value == pytest.approx(100e-6 * (1 - CARRIED))


def test_a_corrected_reading_moves_charge_thickness_and_bottle(desk: Desk) -> None:
    number = planned_job(desk)
    nickel(desk)
    begin_step(desk, number, StepRequest(step=6, bottle="N3"))
    first = log_reading(desk, number, "2 A").written.number
    log_reading(later(desk, 60), number, "2 A", stop=True)
    Correction(entry=first, fields={"current": 3.0}, reason="misread").write(later(desk, 90), number)
    job = show_job(desk, number)
    assert runs_of(job)[0].log.charge.value == pytest.approx(150.0)
    bottle = show_bottle(desk, "N3")
    assert bottle.charge_left is not None
    assert bottle.charge_left.value == pytest.approx(4 * 3600 * (1 - CARRIED) - 150.0)
    Correction(entry=job.all_of("step")[0].number, fields={}, reason="other job", withdraw=True).write(
        later(desk, 99), number
    )
    given_back = show_bottle(desk, "N3").charge_left
    assert given_back is not None
    assert given_back.value == pytest.approx(4 * 3600)


def test_a_bottle_that_cannot_carry_the_run_stops_it_before_it_starts(desk: Desk) -> None:
    number = planned_job(desk)
    nickel(desk, "low", allowed_charge="0.01 A.h")
    nickel(desk, "old", expiry="2026-03-13")
    for label, said in (("low", "run past its limit"), ("old", "expired on 2026-03-13")):
        with pytest.raises(InputError, match=said):
            begin_step(desk, number, StepRequest(step=6, bottle=label))
    assert show_job(desk, number).all_of("step") == ()
    done = begin_step(desk, number, StepRequest(step=6, bottle="old", despite="maker extended it by mail"))
    assert "despite a stop: Bottle old expired on" in done.run.step.doc["remarks"]
    assert done.run.step.doc["remarks"].endswith("Why: maker extended it by mail")
    assert [finding.code for finding in done.findings] == ["BOTTLE_EXPIRED"]
    with pytest.raises(InputError, match="plates gold; bottle low holds nickel"):
        begin_step(desk, number, StepRequest(step=10, bottle="low"))


def test_a_pause_asks_for_activation_while_it_lasts_and_after(desk: Desk) -> None:
    number = planned_job(desk)
    begin_step(desk, number, StepRequest(step=6))
    log_reading(desk, number, "2 A")
    log_reading(later(desk, 20), number, None, stop=True)
    assert progress(later(desk, 70), number).findings == ()
    assert [f.code for f in progress(later(desk, 90), number).findings] == ["REACTIVATE"]
    done = log_reading(later(desk, 200), number, "2 A")
    assert [f.code for f in done.findings] == ["REACTIVATE"]
    log_reading(later(desk, 230), number, "0 A")
    with pytest.raises(InputError, match="The current is off already"):
        log_reading(later(desk, 240), number, "0 A")


def test_a_reading_before_the_last_one_is_put_in_its_place(desk: Desk) -> None:
    number = planned_job(desk)
    begin_step(desk, number, StepRequest(step=6, at="08:30"))
    log_reading(desk, number, "2 A", at="08:31")
    log_reading(desk, number, "2 A", at="08:35")
    run = log_reading(desk, number, "4 A", at="08:33").run
    assert run.log.charge.value == pytest.approx(60 * (3 * 2 + 3 * 2))


def test_a_stop_counts_the_current_before_it_also_once_that_was_corrected(desk: Desk) -> None:
    number = planned_job(desk)
    begin_step(desk, number, StepRequest(step=6, at="08:30"))
    first = log_reading(desk, number, "2 A", at="08:31").written.number
    log_reading(desk, number, "4 A", at="08:40")
    run = log_reading(desk, number, stop=True, at="08:35").run
    assert run.log.charge.value == pytest.approx(4 * 60 * 2)  # 2 A for 4 min; from 08:40 on nothing was read yet
    with pytest.raises(InputError, match="The current is off already"):
        log_reading(desk, number, "0 A", at="08:38")
    Correction(entry=first, fields={"current": 3.0}, reason="misread").write(later(desk, 90), number)
    assert runs_of(show_job(desk, number))[0].log.charge.value == pytest.approx(4 * 60 * 3)


def test_metered_charge_stands_in_for_readings(desk: Desk) -> None:
    number = planned_job(desk)
    nickel(desk)
    run = begin_step(desk, number, StepRequest(step=6, bottle="N3", charge="4.6 ± 0.2 A.min")).run
    assert run.log.charge.value == pytest.approx(276.0)
    assert run.log.charge.expanded_uncertainty == pytest.approx(12.0)
    bottle = show_bottle(desk, "N3")
    assert bottle.charge_left is not None
    assert bottle.charge_left.value == pytest.approx(4 * 3600 * (1 - CARRIED) - 276.0)


def test_a_run_without_an_efficiency_leaves_the_metal_open_and_says_so(desk: Desk) -> None:
    nickel(desk)
    number = open_job(desk, NewJob(part="trial")).number
    begin_step(desk, number, StepRequest(title="Plate", metal="nickel", bottle="N3", charge="6 A.min"))
    bottle = show_bottle(desk, "N3")
    assert bottle.charge_left is not None
    assert bottle.charge_left.value == pytest.approx(4 * 3600 - 360)
    assert bottle.metal_unknown == 1
    assert metal_words(bottle, "g") == "at most 5.00 ± 0.10 g (1 run not counted)"


def test_run_off_gets_its_own_bottle_and_nothing_is_counted_twice(desk: Desk) -> None:
    nickel(desk)
    kept = recover(desk, "N3", into="N3-R", volume="40 mL")
    source = show_bottle(desk, "N3")
    assert kept.recovered
    for one, other, whole in (
        (kept.metal, source.metal, 5e-3),
        (kept.charge_left, source.charge_left, 4 * 3600.0),
        (kept.volume, source.volume, 1e-4),
    ):
        assert one is not None
        assert other is not None
        assert one.value == pytest.approx(0.4 * whole)
        assert one.value + other.value == pytest.approx(whole)
    again = recover(desk, "N3", into="N3-R", volume="10 mL")
    assert again.volume.value == pytest.approx(5e-5)
    add_bottle(desk, NewBottle(label="G1", solution="my-gold", metal="gold", volume="50 mL"))
    with pytest.raises(InputError, match="never mixed"):
        recover(desk, "N3", into="G1", volume="5 mL")
    nickel(desk, "N4")
    with pytest.raises(InputError, match="holds fresh solution"):
        recover(desk, "N3", into="N4", volume="5 mL")
    with pytest.raises(InputError, match="holds 50 mL"):
        recover(desk, "N3", into="N3-R", volume="60 mL")


def test_bottles_are_drawn_topped_up_corrected_and_discarded(desk: Desk) -> None:
    nickel(desk)
    draw(desk, "N3", charge="1 A.h", mass="1 g")
    top_up(desk, "N3", volume="20 mL", mass="1 g", charge="0.5 A.h")
    state = write(desk, "N3", "corrected", doc={"entry": 2, "withdrawn": True, "reason": "trial was with N4"})
    assert state.charge_left is not None
    assert state.charge_left.value == pytest.approx(4.5 * 3600)
    assert write(desk, "N3", "discarded", doc={"reason": "spent"}).discarded
    with pytest.raises(InputError, match="was discarded"):
        draw(desk, "N3", charge="1 A.h")
    assert list_bottles(desk) == ()
    assert len(list_bottles(desk, every=True)) == 1


def test_tests_defects_and_photos_find_their_place(desk: Desk, tmp_path: Path) -> None:
    number = planned_job(desk)
    (tmp_path / "badge.png").write_bytes(b"\x89PNG picture")
    kept = add(desk, number, "photographed", doc={}, file=tmp_path / "badge.png")
    assert kept.job.entry(kept.number).doc["media"] == "image/png"
    Trial(method="tape", result="pass", place="front, across the edge").write(desk, number)
    Trial(method="xrf", result="value", value="0.61 ± 0.06 um", place_mm=(3.0, 4.0)).write(desk, number)
    with pytest.raises(InputError, match="gives a thickness"):
        Trial(method="xrf", result="pass").write(desk, number)
    Defect(what="blister", points_mm=((1.0, 2.0),)).write(desk, number)
    Defect(
        what="burnt",
        points_mm=(
            (0.0, 0.0),
            (6.0, 0.0),
            (6.0, 3.0),
        ),
    ).write(desk, number)
    with pytest.raises(InputError, match="2 were given"):
        Defect(
            what="line",
            points_mm=(
                (0.0, 0.0),
                (6.0, 0.0),
            ),
        ).write(desk, number)
    job = show_job(desk, number)
    assert [entry.doc["geometry"]["type"] for entry in job.all_of("defect")] == ["Point", "Polygon"]
    with pytest.raises(FileError, match="cannot be read"):
        add(desk, number, "photographed", doc={}, file=tmp_path / "none.png")


def test_a_measurement_of_several_photos_is_not_cut_down_silently(desk: Desk) -> None:
    number = open_job(desk, NewJob(part="x")).number
    with pytest.raises(InputError, match="holds 2 measured photos"):
        attach_json(desk, number, "measured", '{"parts": []}\n{"parts": []}\n')
    with pytest.raises(InputError, match="no measured part"):
        attach_json(desk, number, "measured", '{"parts": []}')
    with pytest.raises(InputError, match="not a plan"):
        attach_json(desk, number, "planned", '{"parts": []}')
    with pytest.raises(InputError, match="not a quote"):
        attach_json(desk, number, "quoted", '{"parts": []}')
    quote = '{"price": "120.00", "currency": "EUR", "pieces": 3, "valid_until": "2026-04-01"}'
    (made,) = attach_json(desk, number, "quoted", quote)
    assert entry_words(made.job.entry(made.number)) == "120.00 EUR for 3 pieces, valid until 2026-04-01"


def test_search_sees_what_stands_in_any_script_not_what_was_corrected_away(desk: Desk) -> None:
    number = planned_job(desk)
    open_job(desk, NewJob(part="leaf", customer="order 32"))
    assert [job.number for job in list_jobs(desk, "ЗАКАЗ badge")] == [number]
    Correction(entry=1, fields={"customer": "order 33"}, reason="other shop").write(desk, number)
    assert list_jobs(desk, "заказ") == ()
    assert len(list_jobs(desk)) == 2


def test_seeing_an_old_state_is_told(desk: Desk) -> None:
    number = planned_job(desk)
    add(desk, number, "remarked", doc={"text": "a"}, after=2)
    with pytest.raises(RecordChanged, match="you saw 2"):
        add(desk, number, "remarked", doc={"text": "b"}, after=2)


@pytest.mark.parametrize("form", ["jsonl", "csv"])
def test_an_export_comes_back_whole_and_only_once(desk: Desk, tmp_path: Path, form: str) -> None:
    number = planned_job(desk)
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8\xff" + bytes(range(256)))
    add(desk, number, "photographed", doc={}, file=tmp_path / "a.jpg")
    nickel(desk)
    export(desk, form=form, output=tmp_path / "out")
    other = replace(desk, path=tmp_path / "other.sqlite")
    taken = take_in(other, tmp_path / "out")
    assert (taken.added, taken.known, taken.files) == (4, 0, 1 if form == "jsonl" else 0)
    assert take_in(other, tmp_path / "out").added == 0
    assert show_job(other, number).history == show_job(desk, number).history
    assert check(other) == 4
    with pytest.raises(FileError, match="is there already"):
        export(desk, form=form, output=tmp_path / "out")
    add(desk, number, "remarked", doc={"text": "here"})
    add(other, number, "remarked", doc={"text": "there"})
    export(desk, form=form, output=tmp_path / "out2")
    with pytest.raises(RecordChanged, match="differs from entry 4 on: nothing was taken"):
        take_in(other, tmp_path / "out2")


def test_a_changed_export_is_refused(desk: Desk, tmp_path: Path) -> None:
    planned_job(desk)
    export(desk, output=tmp_path / "out")
    text = (tmp_path / "out").read_text(encoding="utf-8")
    (tmp_path / "out").write_text(text.replace("club badge", "club wedge"), encoding="utf-8")
    with pytest.raises(RecordUnreadable, match="Entry 1 of job 2026-0001 is damaged"):
        take_in(replace(desk, path=tmp_path / "other.sqlite"), tmp_path / "out")
    (tmp_path / "words").write_text("hello\n")
    with pytest.raises(InputError, match="not JSON"):
        take_in(desk, tmp_path / "words")


def test_what_was_saved_from_a_damaged_journal_can_be_taken_in_with_its_gaps(desk: Desk, tmp_path: Path) -> None:
    number = planned_job(desk)
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8\xff" + b"photo" * 100)
    add(desk, number, "photographed", doc={}, file=tmp_path / "a.jpg")
    for n in range(5):
        add(desk, number, "remarked", doc={"text": f"remark number {n}"})
    data = desk.path.read_bytes()
    desk.path.write_bytes(data.replace(b"remark number 2", b"remark number 7"))
    with pytest.raises(RecordUnreadable, match="Entry 6 of job 2026-0001 is damaged"):
        check(desk)
    saved = salvage(desk, tmp_path / "saved")
    assert (len(saved.events), len(saved.files), saved.lost_events, saved.lost_files) == (7, 1, 1, 0)
    other = replace(desk, path=tmp_path / "new.sqlite")
    with pytest.raises(RecordChanged):
        take_in(other, tmp_path / "saved")
    assert take_in(other, tmp_path / "saved", gaps=True).added == 7
    with pytest.raises(RecordUnreadable, match="something is missing"):
        check(other)


def test_a_backup_is_checked_as_it_is_made(desk: Desk, tmp_path: Path) -> None:
    planned_job(desk)
    assert back_up(desk, tmp_path / "copies" / "b.sqlite") == 2
    assert os.listdir(tmp_path / "copies") == ["b.sqlite"]


def test_times_and_temperatures_are_read_as_typed() -> None:
    assert read_time("8:30", NOW) == ("2026-03-14T08:30:00+01:00", 60.0)
    assert read_time("08:30:15", NOW) == ("2026-03-14T08:30:15+01:00", 1.0)
    assert read_time("2026-03-13T23:59", NOW) == ("2026-03-13T23:59:00+01:00", 60.0)
    assert read_time(None, NOW) == ("2026-03-14T09:00:00+01:00", 1.0)
    for text in ("25:00", "noon", "09:30"):
        with pytest.raises(InputError):
            read_time(text, NOW)
    assert read_date("2026-02-28", NOW) == "2026-02-28"
    with pytest.raises(InputError, match="not a date"):
        read_date("2026-02-30", NOW)
    assert temperature("55 °C") == temperature("55") == 55.0
    assert temperature("131 °F") == 55.0  # closed form: (131 - 32) / 1.8
    with pytest.raises(InputError, match="not a temperature"):
        temperature("warm")


def test_a_release_is_refused_with_all_that_is_open_and_goes_on_only_for_a_reason(desk: Desk) -> None:
    number = planned_job(desk)
    with pytest.raises(NotReady, match="points are open") as refused:
        SignOff(statement="Released").write(desk, number)
    assert "Plate gold: nothing was recorded" in refused.value.message
    assert "despite" in refused.value.fields
    with pytest.raises(NotReady):
        SignOff(statement="Released", despite="the customer takes it bare").write(desk, number)  # nobody answers
    assert show_job(desk, number).state == "open"
    made = SignOff(statement="Released", despite="the customer takes it bare", role="owner").write(desk, number)
    assert made.job.state == "signed"
    words = entry_words(made.job.entries[-1])
    assert "although the customer takes it bare" in words
    assert "Plate gold: nothing was recorded" in words


@pytest.mark.parametrize("content", [b"", b"hello, a text\n", b"%PDF-1.7 a drawing", bytes(range(256))])
def test_what_is_no_picture_is_not_kept_as_a_photo(desk: Desk, tmp_path: Path, content: bytes) -> None:
    number = open_job(desk, NewJob(part="badge")).number
    (tmp_path / "a.jpg").write_bytes(content)
    with pytest.raises(FileError, match=r"a\.jpg is not a JPEG"):
        add(desk, number, "photographed", doc={}, file=tmp_path / "a.jpg")
    for name in ("badge.webp", "badge.heic", "badge.tif"):
        kind = {"webp": b"RIFF\x10\0\0\0WEBPVP8 ", "heic": b"\0\0\0\x18ftypheic", "tif": b"MM\0*"}[name.split(".")[1]]
        (tmp_path / name).write_bytes(kind)
        assert add(desk, number, "photographed", doc={}, file=tmp_path / name).number > 1


def test_figures_that_no_job_can_have_are_refused_with_the_figure(desk: Desk) -> None:
    number = planned_job(desk)
    for text in ("-5 mm", "0 mm", "21 mm", "1e300 mm"):
        with pytest.raises(RangeError, match="is no thickness of a deposit"):
            Requirement(text="gold", minimum=text).write(desk, number)
    for text in ("-0.1 um", "21 mm"):
        with pytest.raises(RangeError, match="is no thickness of a deposit"):
            Trial(method="xrf", result="value", value=text).write(desk, number)
    assert Trial(method="xrf", result="value", value="0 um").write(desk, number)  # a gauge that finds nothing says so
    assert Requirement(text="gold", minimum="20 mm").write(desk, number)
    for text in ("-21", "151 °C", "400 °F", "9" * 400):
        with pytest.raises(RangeError, match="is outside -20 to 150 °C"):
            temperature(text)
    assert (temperature("-20"), temperature("150 °C")) == (-20.0, 150.0)
    with pytest.raises(InputError, match="pieces"):
        begin_step(desk, number, StepRequest(step=6, pieces=0))
    with pytest.raises(InputError, match="pieces"):
        begin_step(desk, number, StepRequest(step=6, pieces=1_000_001))
    with pytest.raises(InputError, match="no entry 99"):
        Rework(what="stripped", because=99).write(desk, number)
    assert Rework(what="stripped", because=1).write(desk, number)
