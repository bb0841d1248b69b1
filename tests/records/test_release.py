"""What is open before a release, by a job whose plan is written by hand; figures recomputed from Faraday's law."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from areakit.records.bottles import Bottle
from areakit.records.codec import quantity_json
from areakit.records.entries import checked
from areakit.records.job import Job, fold
from areakit.records.journal import Journal
from areakit.records.release import open_points
from areakit.uncertainty import Measured, exact

AT = "2026-03-14T09:00:00+01:00"
AREA_CM2, EFFICIENCY, FARADAY = 10.0, 0.9, 96485.33212
PER_UM = FARADAY * 2 * 8.902 * 1e-4 * AREA_CM2 / (58.6934 * EFFICIENCY)
"""Charge for 1 um of nickel in the mean on one piece: z F rho A d / (eta M), with CODATA and IUPAC figures. [C]"""


def um(value: float, spread: float = 0.0) -> dict[str, Any]:
    return quantity_json(Measured(value=value, unit="um", budget={"instrument": spread / 2}))


def plan(*, allowance: float = 1.25, minimum: float = 2.0, findings: tuple[dict[str, str], ...] = ()) -> dict[str, Any]:
    charge = quantity_json(exact(PER_UM * minimum * allowance / 60, "A.min"))
    premise = {"origin": {"kind": "given", "text": "given", "source": None}}
    layer = {
        "metal": "nickel", "bath": "nickel-brush-acid", "minimum_needed": um(minimum),
        "efficiency": {"quantity": quantity_json(exact(EFFICIENCY, "1")), **premise},
        "density": {"quantity": quantity_json(exact(8.902, "g/cm3")), **premise},
        "distribution_allowance": {"quantity": quantity_json(exact(allowance, "1")), **premise},
    }  # fmt: skip
    steps = [
        {"number": 1, "title": "Clean", "conditional": False},
        {"number": 2, "title": "Desmut", "conditional": True},
        {"number": 3, "title": "Plate nickel", "conditional": False, "charge_set": charge},
    ]
    area = {"per_piece": quantity_json(Measured(value=AREA_CM2 * 100, unit="mm2", budget={"outline": 0.0}))}
    return {"layers": [layer], "steps": steps, "findings": list(findings), "area": area}


def job(folder: Path, *entries: tuple[str, dict[str, Any]], pieces: int = 1) -> Job:
    order = {"date": "2026-03-14", "part": "tag", "quantity": pieces}
    with Journal(folder / "j.sqlite") as journal, journal.writing() as writer:
        for kind, doc in (("opened", order), *entries):
            writer.append("job", "J1", kind, at=AT, who="Ana", doc=checked(kind, doc))
    with Journal(folder / "j.sqlite", write=False) as journal:
        return fold("J1", journal.history("job", "J1"))


def cleaned() -> tuple[str, dict[str, Any]]:
    return ("step", {"title": "Clean", "step": 1, "at": AT})


def plated(share: float = 1.0, *, minimum: float = 2.0, **fields: Any) -> tuple[str, dict[str, Any]]:
    charge = quantity_json(exact(share * PER_UM * minimum * 1.25, "C"))
    return ("step", {"title": "Plate nickel", "step": 3, "metal": "nickel", "charge": charge, "at": AT, **fields})


def trial(method: str, result: str, **fields: Any) -> tuple[str, dict[str, Any]]:
    return ("tested", {"method": method, "result": result, **fields})


def codes(made: Job, **bottles: Bottle) -> list[str]:
    return [point.code for point in open_points(made, bottles)]


WHOLE = (("planned", {"plan": plan()}), cleaned(), plated())


def test_a_job_that_did_all_is_ready(tmp_path: Path) -> None:
    assert open_points(job(tmp_path, *WHOLE), {}) == ()


def test_without_a_plan_nothing_says_what_was_to_be_done(tmp_path: Path) -> None:
    assert codes(job(tmp_path)) == ["NO_PLAN"]


def test_a_step_left_out_is_open_but_not_one_that_is_done_only_if_needed(tmp_path: Path) -> None:
    made = job(tmp_path, ("planned", {"plan": plan()}), plated())
    (point,) = open_points(made, {})
    assert point.code == "STEP_NOT_DONE"
    assert "Step 1, Clean" in point.message


@pytest.mark.parametrize(("share", "open_"), [(0.975, True), (0.985, False)])
def test_a_charge_counts_as_reached_to_the_meter_s_two_per_cent(tmp_path: Path, share: float, open_: bool) -> None:
    proof = trial("xrf", "value", value=um(2.4, 0.2))
    assert codes(job(tmp_path, *WHOLE[:2], plated(share), proof)) == (["CHARGE_NOT_REACHED"] if open_ else [])


def test_a_thousandth_of_the_charge_is_told_with_its_share_and_its_thickness(tmp_path: Path) -> None:
    points = open_points(job(tmp_path, *WHOLE[:2], plated(0.0007)), {})
    assert [point.code for point in points] == ["CHARGE_NOT_REACHED", "THICKNESS_NOT_PROVEN"]
    assert "0.07 %" in points[0].message


def test_charges_add_up_over_runs_and_pieces(tmp_path: Path) -> None:
    one = job(tmp_path, *WHOLE[:2], plated(0.4), plated(0.6))
    assert codes(one) == []
    (tmp_path / "two").mkdir()
    two = job(tmp_path / "two", *WHOLE, pieces=2)
    assert codes(two) == ["CHARGE_NOT_REACHED", "THICKNESS_NOT_PROVEN"]


@pytest.mark.parametrize(("value", "spread", "expected"), [
    (1.9, 0.1, ["READING_BELOW"]), (2.05, 0.1, ["THICKNESS_NOT_PROVEN"]), (2.15, 0.1, []),
])  # fmt: skip
def test_a_reading_proves_a_minimum_only_by_its_lower_end(
    tmp_path: Path, value: float, spread: float, expected: list[str]
) -> None:
    body = plan()
    body["layers"][0]["efficiency"]["quantity"] = quantity_json(Measured(value=0.9, unit="1", budget={"e": 0.1}))
    reading = trial("xrf", "value", value=um(value, spread), place="rim")
    assert codes(job(tmp_path, ("planned", {"plan": body}), cleaned(), plated(), reading)) == expected


def test_a_reading_below_the_class_is_open_even_where_the_charge_was_run(tmp_path: Path) -> None:
    (point,) = open_points(job(tmp_path, *WHOLE, trial("xrf", "value", value=um(1.2, 0.1), place="rim")), {})
    assert point.code == "READING_BELOW"
    assert "rim" in point.message
    assert "2 µm is asked for" in point.message


def test_the_larger_of_plan_and_requirement_counts(tmp_path: Path) -> None:
    asked = ("required", {"text": "nickel", "metal": "nickel", "minimum": um(2.5)})
    assert codes(job(tmp_path, *WHOLE, asked)) == ["THICKNESS_NOT_PROVEN"]


def test_a_failed_test_is_open_until_rework_and_a_pass(tmp_path: Path) -> None:
    fail, again, mended = trial("tape", "fail"), trial("tape", "pass"), ("reworked", {"what": "stripped, done again"})
    for name, more, expected in (
        ("fail", (fail,), ["TEST_FAILED"]), ("pass without rework", (fail, again), ["TEST_FAILED"]),
        ("rework without pass", (fail, mended), ["TEST_FAILED"]), ("mended", (fail, mended, again), []),
    ):  # fmt: skip
        folder = tmp_path / name
        folder.mkdir()
        assert codes(job(folder, *WHOLE, *more)) == expected


def test_a_test_that_the_order_names_must_be_recorded(tmp_path: Path) -> None:
    asked = ("required", {"text": "gold, minimum 0.5 um, tape test"})
    assert codes(job(tmp_path, *WHOLE, asked)) == ["TEST_MISSING"]
    (tmp_path / "done").mkdir()
    assert codes(job(tmp_path / "done", *WHOLE, asked, trial("tape", "pass"))) == []
    (tmp_path / "other").mkdir()
    assert codes(job(tmp_path / "other", *WHOLE, ("required", {"text": "keep the file; bend nothing"}))) == []


def test_a_defect_is_open_until_rework_names_it(tmp_path: Path) -> None:
    seen = ("defect", {"what": "blister", "geometry": {"type": "Point", "coordinates": [1.0, 2.0]}})
    assert codes(job(tmp_path, *WHOLE, seen)) == ["DEFECT_OPEN"]
    (tmp_path / "b").mkdir()
    assert codes(job(tmp_path / "b", *WHOLE, seen, ("reworked", {"what": "done again", "because": 5}))) == []


def test_a_stop_of_the_plan_is_open(tmp_path: Path) -> None:
    stop = {"code": "X", "severity": "stop", "message": "Gold straight on steel."}
    caution = {**stop, "severity": "check"}
    assert codes(job(tmp_path, ("planned", {"plan": plan(findings=(stop, caution))}), cleaned(), plated())) == [
        "OPEN_STOP"
    ]


@pytest.mark.parametrize(("expiry", "expected"), [("2026-03-13", ["BOTTLE_EXPIRED"]), ("2026-03-14", [])])
def test_a_bottle_must_have_been_in_date_on_the_day(tmp_path: Path, expiry: str, expected: list[str]) -> None:
    bottle = Bottle(
        label="N3", solution="n", metal_name="nickel", bath="", lot="", expiry=expiry, recovered=False, discarded=False,
        allowed=None, charge_left=None, metal=None, usable=None, volume=exact(1e-4, "m3"), metal_unknown=0, last=1,
        history=(),
    )  # fmt: skip
    assert codes(job(tmp_path, *WHOLE[:2], plated(bottle="N3")), N3=bottle) == expected
