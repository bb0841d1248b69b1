"""What areakit printed is read back as it was; anything else is refused in one sentence with what to do."""

import base64
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from areakit.costing.claims import read_claims
from areakit.costing.verdict import check_claims
from areakit.errors import AreakitError, FileError, InputError, RecordUnreadable
from areakit.records.area_lines import read_part_areas
from areakit.records.batch_log import SCHEMA as BATCH
from areakit.records.batch_log import BatchLog
from areakit.records.check_json import read_claim_rows, verdict_json
from areakit.records.event import event_json, make_event
from areakit.records.exchange import SCHEMA as EXPORT
from areakit.records.exchange import read_export, to_csv
from areakit.records.measure_json import surface_result_json
from areakit.records.measured_parts import choose_part, read_measured_parts
from areakit.records.part_outlines import read_rings
from areakit.records.plan_json import plan_json
from areakit.records.planned_job import read_planned_job
from areakit.service.part_description import SurfaceRequest
from areakit.service.plan import PlanRequest, plan
from areakit.service.surface import find_surfaces

Body = dict[str, Any]
HUGE = int("9" * 400)  # sound JSON, and no floating-point number


def copy(body: Body) -> Body:
    found: Body = json.loads(json.dumps(body))
    return found


@pytest.fixture(scope="module")
def washer() -> Body:
    found = find_surfaces(SurfaceRequest(shapes=("washer 16 x 8.4 x 1.6 mm",), faces="all"))
    parts = [(one.part_id, one.surface, one.part.outline, one.part.thickness) for one in found.parts]
    return copy(surface_result_json(parts, found.plated, count=1, flags=found.flags))


@pytest.fixture(scope="module")
def planned() -> Body:
    layers, efficiency = {"nickel": "3 um", "gold": "0.5 um"}, {"gold": "72% ± 6%"}
    request = PlanRequest(process="nickel-gold-brush", area="12.5 cm2 ± 0.2 cm2", layers=layers,
                          efficiency=efficiency, pieces=3, base="brass")  # fmt: skip
    return copy(plan_json(plan(request)))


# measured parts


def test_a_measured_part_has_its_figures_again(washer: Body) -> None:
    """ISO 7089, M8: 16 mm, 8.4 mm, 1.6 mm; areas and lengths of circles."""
    part = choose_part(json.dumps(washer))
    assert part.face.value == pytest.approx(math.pi / 4 * (16**2 - 8.4**2))
    assert part.perimeter_holes.value == pytest.approx(math.pi * 8.4)
    assert (part.faces, part.thickness and part.thickness.value) == ("all", 1.6)


def test_one_of_several_parts_is_chosen_by_its_number(washer: Body) -> None:
    lines = json.dumps(washer) + "\n" + json.dumps(washer)
    assert len(read_measured_parts(lines)) == 2
    assert choose_part(lines, 2).name == choose_part(lines, 1).name
    with pytest.raises(InputError, match="holds 2 parts") as caught:
        choose_part(lines)
    assert "part_number" in caught.value.fields
    with pytest.raises(InputError, match="no part 3 among 2"):
        choose_part(lines, 3)


def broken_part(body: Body, change: Callable[[Body], Any]) -> str:
    body = copy(body)
    change(body["parts"][0])
    return json.dumps(body)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda part: part.pop("perimeter"), "Part 1 has no perimeter"),
        (lambda part: part["perimeter"].pop("holes"), "Part 1 has no perimeter"),
        (lambda part: part["face_area"].update(unit="kg"), "'kg' where mm2 is due"),
        (lambda part: part["face_area"].update(value=None), "lacks its value"),
        (lambda part: part["face_area"].update(coverage_factor=math.inf), "lacks its value"),
        (lambda part: part.update(faces="lid"), "'lid' is not a choice of faces"),
        (lambda part: part["outline"].update(type="Point"), "Part 1 has no outline"),
        (lambda part: part["outline"].update(coordinates=[[[HUGE, 0.0]] * 4]), "Part 1 has no outline"),
        (lambda part: part["outline"].update(coordinates=[[[math.inf, 0.0]] * 4]), "not a closed, finite polygon"),
        (lambda part: part["outline"].update(coordinates=[]), "not a closed, finite polygon"),
    ],
)
def test_a_part_that_lacks_something_is_refused(washer: Body, change: Callable[[Body], Any], told: str) -> None:
    with pytest.raises(AreakitError, match=told) as caught:
        read_measured_parts(broken_part(washer, change))
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("text", "told"),
    [("[1]", "is not an object"), ("{}", "holds no list of parts"), ('{"parts": []}', "holds no measured part"),
     ("nonsense", "is not JSON")],
)  # fmt: skip
def test_text_that_holds_no_part_is_refused(text: str, told: str) -> None:
    for read in (read_measured_parts, read_part_areas):
        with pytest.raises(InputError, match=told):
            read(text)


def test_rings_need_four_points(washer: Body) -> None:
    """RFC 7946, 3.1.6: a linear ring is closed, with four or more positions."""
    assert len(read_rings(washer["parts"][0]["outline"], 1)) == 2
    with pytest.raises(InputError, match="not a closed"):
        read_rings({"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [0, 0]]]}, 1)


# plans


def test_a_plan_is_priced_as_it_was_planned(planned: Body) -> None:
    job = read_planned_job(json.dumps(planned))
    assert job.pieces == 3
    assert job.area.value == pytest.approx(12.5e-4)
    assert job.layers[0].mean == pytest.approx(planned["layers"][0]["mean_target"]["value"] * 1e-6, rel=1e-9)


@pytest.mark.parametrize(
    "change",
    [
        *(lambda body, count=count: body.update(pieces=count) for count in (0, -3, 2.5, True, 1e300, math.inf, "3")),
        lambda body: body["layers"][0]["charge_total"].update(value=0.0),
        lambda body: body["layers"][0]["mass_total"].update(value=-5.0),
        lambda body: body["area"]["per_piece"].update(value=-1.0),
        lambda body: body.pop("cautions"),
    ],
)
def test_a_plan_with_a_figure_that_none_has_is_refused(planned: Body, change: Callable[[Body], Any]) -> None:
    body = copy(planned)
    change(body)
    with pytest.raises(InputError, match="holds a figure that no plan has") as caught:
        read_planned_job(json.dumps(body))
    assert "areakit plan --json" in caught.value.fields


@pytest.mark.parametrize(
    ("text", "told"),
    [("{", "not JSON"), ("[]", "not a plan of schema"), ('{"schema": "areakit.plan/0"}', "it says 'areakit.plan/0'")],
)
def test_what_is_no_plan_is_refused(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_planned_job(text)


def test_a_plan_that_plates_nothing_is_refused(planned: Body) -> None:
    with pytest.raises(InputError, match="plates nothing"):
        read_planned_job(json.dumps({**planned, "layers": []}))


# claims


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("  ", "file of claims is empty"),
        ("[1, 2]", "not JSON objects"),
        ("[]", "holds 0 claims; 1 to 10000 are read"),
        ("{", "not valid JSON"),
        ('{"area": ["3 cm2"]}', "not one figure as text"),
        ('{"area": true}', "not one figure as text"),
        ("area,mass\n1,2,3", "Line 2 of the table has too many cells"),
        ("area\n" + "1 cm2\n" * 10_001, "holds 10001 claims"),
    ],
)
def test_a_file_of_claims_that_is_none_is_refused(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told) as caught:
        read_claim_rows(text)
    assert caught.value.remedy


def test_claims_stand_in_an_object_of_their_own_too() -> None:
    assert read_claim_rows('{"claims": [{"area": "3 cm2", "mass": null}, {"area": 4}]}') == [
        {"area": "3 cm2"}, {"area": "4"},
    ]  # fmt: skip


def test_a_plating_factor_is_shown_as_the_trade_writes_it() -> None:
    body = verdict_json(check_claims(read_claims({"bath": "gold-brush", "factor": "60 A.h/in3"})))
    text = json.dumps(body["comparisons"][0])
    assert body["comparisons"], text
    body = verdict_json(check_claims(read_claims({"bath": "gold-brush", "factor": "60 A.h/in3", "efficiency": "72 %"})))
    claimed = body["comparisons"][0]["claimed"]
    assert (claimed["value"], claimed["unit"]) == (pytest.approx(60.0), "A.h/in3")


# exports of the journal


def exported() -> Body:
    event = make_event(before=None, id="1", subject="job", key="7", at="2026-03-14T09:30:00Z", who="Ana",
                       kind="remarked", doc={"text": "held at 6 V"})  # fmt: skip
    return copy(event_json(event))


def lines(*bodies: Body) -> str:
    return "\n".join(json.dumps(body) for body in ({"schema": EXPORT}, *bodies))


def test_an_export_is_read_back_in_both_forms() -> None:
    events, files = read_export(lines({"event": exported()}) + "\n\n")
    assert (events[0].doc, files) == ({"text": "held at 6 V"}, [])
    assert read_export(to_csv(events))[0] == events


def stored(content: bytes, sha256: str) -> Body:
    return {"sha256": sha256, "name": "a.jpg", "media": "image/jpeg", "base64": base64.b64encode(content).decode()}


@pytest.mark.parametrize(
    ("text", "error", "told"),
    [
        ('{"schema": "other"}', InputError, "first line does not say"),
        (lines({"event": {"id": "1"}}), InputError, "not an exported entry"),
        (lines({"event": {**exported(), "subject": "weather"}}), InputError, "about 'weather' is not known"),
        (lines({"event": {**exported(), "doc": {"text": "held at 9 V"}}}), RecordUnreadable, "is damaged"),
        (lines({"file": stored(b"abc", "0" * 64)}), InputError, "a.jpg in line 2 does not give its hash"),
        (lines({"file": {}}), InputError, "file in line 2 cannot be read"),
        (lines() + "\n{", InputError, "Line 2 is not JSON"),
    ],
)
def test_an_export_that_was_changed_is_refused(text: str, error: type[AreakitError], told: str) -> None:
    with pytest.raises(error, match=told):
        read_export(text)


# the log of a batch


def test_a_row_of_the_log_that_cannot_be_added_up_is_measured_again(washer: Body, tmp_path: Path) -> None:
    row: Body = {"schema": BATCH, "photo": "a.jpg", "sha256": "0" * 64, "settings": "0" * 64, "overlay": None,
                 "exit_code": 0, "answer": {"status": "measured", "photo": "a.jpg", **washer}}  # fmt: skip
    changes: list[Callable[[Body], Any]] = [
        lambda body: None,
        lambda body: body.update(schema="areakit.batch/0"),
        lambda body: body["answer"]["parts"][0]["face_area"].update(unit="kg"),
        lambda body: body["answer"]["parts"][0].update(id="one"),
        lambda body: body["answer"]["parts"][0]["perimeter"].update(value=HUGE),
        lambda body: body.update(overlay="../elsewhere.jpg"),
        lambda body: body.update(more=1),
    ]
    rows = []
    for change in changes:
        body = copy(row)
        change(body)
        rows.append(json.dumps(body))
    path = tmp_path / "results.jsonl"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert [one.photo for one in BatchLog(path).rows()] == ["a.jpg"]
    path.write_text("\n".join(rows[1:]) + "\n", encoding="utf-8")
    with pytest.raises(FileError, match="not the log of a batch"):  # so nothing of another kind is added to
        BatchLog(path).rows()
