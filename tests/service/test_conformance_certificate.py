"""A certificate is only for a released job, states what the record holds, and does not outlive a change of it."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from areakit.errors import AreakitError, CodeChanged, FileError, InputError, NotReady, OtherJob, RecordDiffers
from areakit.records import event as events
from areakit.records.certificate import CHECK_DIGITS, DIGITS, read_code
from areakit.records.event import FIELDS, digest_of
from areakit.records.plan_json import plan_json
from areakit.reports.certificate import certificate_pdf
from areakit.reports.certificate_facts import read_certificate
from areakit.service.bottle import NewBottle, add_bottle, draw, write
from areakit.service.certificate import Certificate, certify, verify, verify_file
from areakit.service.desk import Desk
from areakit.service.job import NewJob, add, attach, open_job, show_job
from areakit.service.job_entries import Correction, Requirement, SignOff, Trial
from areakit.service.job_run import StepRequest, begin_step
from areakit.service.plan import PlanRequest
from areakit.service.plan import plan as make_plan

NOW = datetime(2026, 3, 14, 9, 0, tzinfo=timezone(timedelta(hours=1)))
PLAN = json.loads(
    json.dumps(
        plan_json(
            make_plan(
                PlanRequest(
                    process="nickel-tank",
                    requirements=("qq-n-290-e",),
                    area="12.5 cm2",
                    area_uncertainty="2 %",
                    efficiency={"nickel": "90 % ± 4 %"},
                    current_density={"nickel": "3 A/dm2"},
                    allowance={"": "1.4 ± 0.1"},
                    pieces_per_load=2,
                    pieces=2,
                    base="brass",
                )
            )
        )
    )
)
SQUARE = {"type": "Polygon", "coordinates": [[[0, 0], [25, 0], [25, 20], [0, 20], [0, 0]]]}


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "j.sqlite", who="Ana", now=NOW)


def finished(desk: Desk, number: str = "J1") -> str:
    """A job with plan, outline, bottle, all steps and a reading, not signed yet."""
    open_job(desk, NewJob(part="hinge", quantity=2, customer="order 7", number=number))
    add(desk, number, "measured", doc={"line": {"photo": "hinge.jpg", "parts": [{"outline": SQUARE}]}, "part": 1})
    attach(desk, number, "planned", PLAN)
    Requirement(text="nickel, tape test", metal="nickel", minimum="5 um", standard="QQ-N-290A").write(desk, number)
    label = f"N-{number}"
    add_bottle(desk, NewBottle(label=label, solution="my-nickel", metal="nickel", volume="5 L", lot="L-44"))
    for step in PLAN["steps"]:
        plates = step["charge_set"] is not None
        charge = f"{2.04 * step['charge_set']['value']:.3f} ± 0.1 A.min" if plates else None
        begin_step(desk, number, StepRequest(step=step["number"], bottle=label if plates else None, charge=charge))
    Trial(method="tape", result="pass", place="edge").write(desk, number)
    return number


def released(desk: Desk, number: str = "J1") -> str:
    finished(desk, number)
    SignOff(statement="Released", role="inspector").write(desk, number)
    return number


def words(made: Certificate) -> str:
    return read_certificate(made.content)[2]


def test_only_a_released_job_gets_one_and_else_one_sentence_says_what_is_missing(desk: Desk) -> None:
    number = finished(desk)
    with pytest.raises(NotReady, match=r"Job J1 is not released: it lacks its sign-off\.") as told:
        certify(desk, number)
    assert "areakit job sign J1" in next(iter(told.value.fields))
    Trial(method="bend", result="fail", place="rim").write(desk, number)
    with pytest.raises(
        NotReady, match=r"sign-off, and 1 point is open: Bend test: fail, rim .* came after it\. Sign the release"
    ):
        certify(desk, number)
    assert not show_job(desk, number).all_of("certified")


def test_a_job_changed_after_its_sign_off_is_not_released(desk: Desk) -> None:
    number = released(desk)
    certify(desk, number)
    made = Trial(method="visual", result="pass").write(desk, number)
    with pytest.raises(NotReady, match=rf"entry {made.number} \(tested, Ana\) came after"):
        certify(desk, number)


def test_a_sign_off_that_nobody_answered_for_is_no_release(desk: Desk) -> None:
    """Such as one written before releases were checked: straight into the journal."""
    number = finished(desk)
    Trial(method="bend", result="fail", place="rim").write(desk, number)
    add(desk, number, "signed", doc={"statement": "Released", "role": "inspector"})
    with pytest.raises(NotReady, match="nobody answered for what is open: 1 point is open: Bend test"):
        certify(desk, number)


def test_it_states_order_area_requirement_work_tests_lots_and_release(desk: Desk) -> None:
    made = certify(desk, released(desk))
    told = words(made)
    area = made.statement["area"]
    assert ["Plated area of one piece", "12.50 ± 0.25 cm²"] in area
    for expected in (
        "Certificateofconformance", "hinge", "order7", "12.50±0.25cm²", "QQ-N-290A", "QQ-N-290Aclass1gradeE",
        "Tapetest", "pass", "my-nickel", "L-44", "inspector", "Released", "None.", str(made.code).replace(" ", ""),
    ):  # fmt: skip
        assert expected in told, expected
    (nickel,) = made.statement["thickness"]
    assert nickel[1] == "15.2 µm"
    assert "±" in nickel[2]
    assert "exceptions" not in made.statement["title"]


def test_an_exception_stands_with_its_reason_name_and_role(desk: Desk) -> None:
    number = finished(desk)
    Trial(method="bend", result="fail", place="rim").write(desk, number)
    SignOff(statement="Released", role="foreman", despite="the buyer takes it").write(replace(desk, who="Bo"), number)
    made = certify(desk, number)
    assert made.statement["title"].endswith("with exceptions")
    assert made.statement["exceptions"][0].startswith("Open at the release: Bend test: fail, rim")
    assert made.statement["exceptions"][1] == "Released all the same by Bo, foreman: the buyer takes it"
    assert "thebuyertakesit" in words(made)


def test_a_step_begun_despite_a_stop_is_an_exception(desk: Desk) -> None:
    number = finished(desk)
    add_bottle(desk, NewBottle(label="old", solution="my-nickel", metal="nickel", volume="5 L", expiry="2026-01-01"))
    begin_step(desk, number, StepRequest(title="Plate again", bottle="old", charge="1 A.min", despite="lab says good"))
    SignOff(statement="Released", role="foreman", despite="as agreed").write(desk, number)
    told = certify(desk, number).statement["exceptions"]
    assert any("lab says good" in one and "Bottle old expired on 2026-01-01." in one for one in told)


def test_the_same_record_gives_the_same_bytes_and_is_kept_once(desk: Desk) -> None:
    number = released(desk)
    first = certify(desk, number)
    again = certify(replace(desk, who="Bo", now=NOW + timedelta(days=3)), number)
    assert again.content == first.content
    job = show_job(desk, number)
    assert len(job.all_of("certified")) == 1
    assert job.state == "signed"


def test_code_and_file_agree_with_the_record_they_were_made_from(desk: Desk) -> None:
    made = certify(desk, released(desk))
    assert verify(desk, "J1", str(made.code)).statement["order"] == made.statement["order"]
    assert verify(desk, "J1", str(made.code).upper()).code == made.code
    assert verify_file(desk, "J1", made.content).words
    letter = certify(desk, "J1", paper="letter")
    assert verify_file(desk, "J1", letter.content).words


def test_every_changed_digit_of_a_code_is_told_as_such(desk: Desk) -> None:
    text = str(certify(desk, released(desk)).code)
    head = len(text) - DIGITS - 4 - 1 - CHECK_DIGITS
    for at in range(head, len(text)):
        if text[at] in "-/":
            continue
        other = "0" if text[at] != "0" else "1"
        with pytest.raises(CodeChanged, match="is not whole"):
            read_code(text[:at] + other + text[at + 1 :])
    with pytest.raises(CodeChanged):
        read_code(text.replace("J1/", "J2/"))
    with pytest.raises(CodeChanged):
        read_code(text.replace("/", "/x", 3).replace("/x", "/", 2))
    with pytest.raises(InputError, match="is not the code"):
        read_code("J1 2026")


def test_a_code_shows_80_bits_of_the_digest_and_16_of_check(desk: Desk) -> None:
    code = certify(desk, released(desk)).code
    assert (DIGITS, CHECK_DIGITS) == (20, 4)
    assert code.digest == show_job(desk, "J1").history[-1].digest[:20]


def test_another_job_is_told_by_its_number(desk: Desk) -> None:
    made = certify(desk, released(desk))
    released(desk, "J2")
    with pytest.raises(OtherJob, match="is of job J1, not of job J2"):
        verify(desk, "J2", str(made.code))


def test_any_later_entry_makes_a_certificate_void_but_another_print_does_not(desk: Desk) -> None:
    number = released(desk)
    made = certify(desk, number)
    Correction(entry=1, fields={"part": "hinge, left"}, reason="asked").write(desk, number)
    with pytest.raises(RecordDiffers, match="Ana corrected entry 1"):
        verify(desk, number, str(made.code))
    SignOff(statement="Released", role="inspector").write(desk, number)
    assert verify(desk, number, str(certify(desk, number).code))
    with pytest.raises(RecordDiffers):
        verify(desk, number, str(made.code))


def rewritten(path: Path, number: str, sequence: int, change: dict[str, Any], *, to_the_end: bool) -> None:
    """Do what the triggers forbid: change one entry in the file, and make all digests after it fit again."""
    with contextlib.closing(sqlite3.connect(path)) as opened, opened as database:
        database.execute("DROP TRIGGER event_keeps_update")
        query = f"SELECT {', '.join(FIELDS)} FROM event WHERE subject = 'job' AND key = ? ORDER BY sequence"
        rows = [dict(zip(FIELDS, row, strict=True)) for row in database.execute(query, (number,))]
        previous = ""
        for row in rows:
            if row["sequence"] == sequence:
                row["doc"] = events.canonical({**json.loads(row["doc"]), **change})
            if to_the_end and row["sequence"] > 1:
                row["previous"] = previous
            digest = digest_of(tuple(row[name] for name in FIELDS[:-1]))
            previous = digest
            values = (row["doc"], row["previous"], digest, row["id"])
            database.execute("UPDATE event SET doc = ?, previous = ?, digest = ? WHERE id = ?", values)


@pytest.mark.parametrize(("to_the_end", "told"), [(True, "is not the one that this"), (False, "do not join")])
def test_a_record_rewritten_in_its_file_is_told(desk: Desk, *, to_the_end: bool, told: str) -> None:
    made = certify(desk, released(desk))
    rewritten(desk.path, "J1", 1, {"quantity": 20}, to_the_end=to_the_end)
    with pytest.raises(RecordDiffers, match=told):
        verify(desk, "J1", str(made.code))


def test_a_bottle_s_lot_corrected_later_is_told_but_what_other_jobs_draw_is_not(desk: Desk) -> None:
    made = certify(desk, released(desk))
    draw(desk, "N-J1", charge="1 A.min")
    assert verify(desk, "J1", str(made.code))
    change = {"entry": 1, "fields": {"lot": "L-45"}, "withdrawn": False, "reason": "misread"}
    write(desk, "N-J1", "corrected", doc=change)
    with pytest.raises(RecordDiffers, match="its lot was L-44, and is L-45 now"):
        verify(desk, "J1", str(made.code))


def test_a_figure_changed_in_the_file_is_told_where(desk: Desk) -> None:
    made = certify(desk, released(desk))
    forged = json.loads(json.dumps(made.statement))
    forged["area"] = [[name, value.replace("12.50", "13.50")] for name, value in forged["area"]]
    with pytest.raises(RecordDiffers, match=r"13\.50.* where the record of job J1 says .*12\.50"):
        verify_file(desk, "J1", certificate_pdf(forged, made.code, rings=[[(0, 0), (25, 0), (25, 20), (0, 20)]]))


def test_other_files_are_refused(desk: Desk) -> None:
    released(desk)
    for data in (b"", b"%PDF-1.4 nothing", b"words"):
        with pytest.raises(FileError):
            verify_file(desk, "J1", data)


@pytest.mark.thorough
def test_a_long_record_takes_more_pages_and_still_agrees(desk: Desk) -> None:
    number = finished(desk)
    for place in range(40):
        Trial(method="xrf", result="value", value="19.1 ± 0.2 um", place=f"place {place}").write(desk, number)
    SignOff(statement="Released", role="inspector").write(desk, number)
    made = certify(desk, number)
    assert verify_file(desk, number, made.content).words
    assert "place39" in words(made)
    assert "page1of1" not in words(made)


def test_each_way_to_differ_has_an_exit_code_of_its_own() -> None:
    kinds: tuple[type[AreakitError], ...] = (InputError, NotReady, CodeChanged, OtherJob, RecordDiffers)
    assert [kind.exit_code for kind in kinds] == [2, 4, 6, 7, 8]
