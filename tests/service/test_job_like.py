"""A job opened like another one: the new plan and quote are those that planning and pricing by hand would give."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from areakit.costing.rates import rates_text
from areakit.errors import InputError
from areakit.records.plan_json import plan_json
from areakit.records.quote_json import quote_json
from areakit.service.desk import Desk
from areakit.service.job import Attached, NewEntry, NewJob, add_all, attach, open_job, show_job
from areakit.service.job_entries import Correction, Remark, Requirement, SignOff, Trial
from areakit.service.job_like import open_like
from areakit.service.plan import PlanRequest
from areakit.service.plan import plan as make_plan
from areakit.service.quote import QuoteRequest, quote
from areakit.service.shop import NONE
from areakit.service.surface import find_surfaces, surface_json
from areakit.service.surface_request import SurfaceRequest

NOW = datetime(2026, 3, 14, 9, 0, tzinfo=timezone(timedelta(hours=1)))
REQUEST = PlanRequest(
    process="gold-brush", layers={"gold": "0.5 um"}, efficiency={"gold": "72% ± 6%"}, footprint="20 x 15 mm",
    current_density={"gold": "4 A/dm2"}, pieces=12, base="nickel", shop=NONE,
)  # fmt: skip
RATES = rates_text(currency="EUR", example=True)
QUOTE = {"metal_prices": {"gold": "75.30 EUR/g ± 2%"}, "price_date": "2026-03-12"}


def measured(shape: str = "disk 60 mm") -> dict[str, Any]:
    return surface_json(find_surfaces(SurfaceRequest(shapes=(shape,), thickness="1 mm")))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "j.sqlite", who="Ana", now=NOW)


def pattern(desk: Desk, *, request: PlanRequest = REQUEST, part: dict[str, Any] | None = None) -> str:
    line = measured() if part is None else part
    body = plan_json(make_plan(replace(request, measured=json.dumps(line))))
    priced = quote(QuoteRequest(plan=json.dumps(body), rates=RATES, **QUOTE))  # type: ignore[arg-type]
    number = open_job(
        desk, NewJob(part="plate", quantity=12, base="nickel", number="J12", remarks="hang by the hole")
    ).number
    photo = NewEntry(kind="photographed", doc={}, file=Attached(name="plate.jpg", content=b"\xff\xd8\xffpicture"))
    add_all(desk, number, [photo, NewEntry(kind="measured", doc={"line": line, "part": 1})])
    attach(desk, number, "planned", body)
    attach(desk, number, "quoted", quote_json(priced.quote))
    Requirement(text="gold, tape test", metal="gold", minimum="0.5 um").write(desk, number)
    Remark(text="lacquer on the pin").write(desk, number)
    SignOff(statement="Released", role="inspector", despite="a trial").write(desk, number)
    return number


def test_area_masks_requirement_notes_and_photo_are_those_of_the_pattern(desk: Desk) -> None:
    made = open_like(desk, NewJob(like=pattern(desk), quantity=5, customer="order 40"))
    before, after = show_job(desk, "J12"), made.job
    assert after.number == "2026-0001"
    assert (after.quantity, after.opened["customer"], after.opened["like"]) == (5, "order 40", "J12")
    for name in ("part", "base", "remarks"):
        assert after.opened[name] == before.opened[name]
    for kind in ("photographed", "measured", "required", "remarked"):
        (one,), (other,) = before.all_of(kind), after.all_of(kind)
        assert one.doc == other.doc
    with desk.to_read() as journal:
        assert journal.file(after.all_of("photographed")[0].doc["sha256"]).content == b"\xff\xd8\xffpicture"
    assert (after.state, after.all_of("step"), after.all_of("tested")) == ("open", (), ())


def test_the_plan_is_that_of_planning_the_same_for_other_pieces(desk: Desk) -> None:
    made = open_like(desk, NewJob(like=pattern(desk), quantity=5))
    planned = made.job.latest("planned")
    assert planned is not None
    by_hand = plan_json(make_plan(replace(REQUEST, pieces=5, measured=json.dumps(measured()))))
    assert planned.doc["plan"] == json.loads(json.dumps(by_hand))
    assert planned.doc["plan"]["pieces"] == 5


def test_the_quote_is_that_of_pricing_the_new_plan(desk: Desk) -> None:
    made = open_like(desk, NewJob(like=pattern(desk), quantity=5))
    planned, quoted = made.job.latest("planned"), made.job.latest("quoted")
    assert planned is not None
    assert quoted is not None
    text = json.dumps(planned.doc["plan"])
    by_hand = quote(QuoteRequest(plan=text, rates=RATES, **QUOTE)).quote  # type: ignore[arg-type]
    assert quoted.doc["quote"]["price"] == str(by_hand.price)
    assert quoted.doc["quote"]["pieces"] == 5


def test_a_typed_area_needs_no_measurement(desk: Desk) -> None:
    request = replace(REQUEST, area="24 cm2", area_uncertainty="2 %", footprint="3 cm2")
    number = open_job(desk, NewJob(part="plate", quantity=12, number="J12")).number
    attach(desk, number, "planned", plan_json(make_plan(request)))
    planned = open_like(desk, NewJob(like=number, quantity=30)).job.latest("planned")
    assert planned is not None
    assert planned.doc["plan"] == json.loads(json.dumps(plan_json(make_plan(replace(request, pieces=30)))))


def test_equal_parts_of_one_photo_keep_their_mean(desk: Desk) -> None:
    line = measured()
    twin = json.loads(json.dumps(line["parts"][0]))
    twin["id"] = 2
    line["parts"].append(twin)
    made = open_like(desk, NewJob(like=pattern(desk, request=replace(REQUEST, pieces=None), part=line), quantity=7))
    planned = made.job.latest("planned")
    assert planned is not None
    assert (planned.doc["plan"]["parts"], planned.doc["plan"]["pieces"]) == ([1, 2], 7)


def test_what_speaks_against_the_pattern_is_told(desk: Desk) -> None:
    number = pattern(desk)
    assert "LIKE_NOT_SIGNED" not in [one.code for one in open_like(desk, NewJob(like=number)).findings]
    Trial(method="tape", result="fail").write(desk, number)
    told = {one.code: one.message for one in open_like(desk, NewJob(like=number)).findings}
    assert "changed after sign-off" in told["LIKE_NOT_SIGNED"]
    assert told["LIKE_HAD_FAULTS"] == "Job J12 had 1 failed test and 0 defects."


def test_another_measurement_than_the_plan_s_is_refused_and_nothing_is_written(desk: Desk) -> None:
    number = pattern(desk)
    attach(desk, number, "measured", measured("disk 61 mm"))
    with pytest.raises(InputError, match=r"was made for .* gives"):
        open_like(desk, NewJob(like=number, quantity=5))
    Correction(entry=3, fields={}, reason="another part", withdraw=True).write(desk, number)
    with desk.to_read() as journal:
        assert journal.keys("job") == ("J12",)


def test_a_plan_of_before_is_taken_for_the_same_pieces_only(desk: Desk) -> None:
    number = pattern(desk)
    old = {
        name: value for name, value in show_job(desk, number).latest("planned").doc["plan"].items() if name != "asked"
    }  # type: ignore[union-attr]
    attach(desk, number, "planned", old)
    same = open_like(desk, NewJob(like=number))
    assert same.job.latest("planned").doc["plan"] == old  # type: ignore[union-attr]
    other = open_like(desk, NewJob(like=number, quantity=5))
    assert other.job.latest("planned") is None
    assert "LIKE_OLD_PLAN" in [one.code for one in other.findings]


def test_without_a_job_of_that_number_nothing_is_opened(desk: Desk) -> None:
    pattern(desk)
    with pytest.raises(InputError, match="There is no job J13"):
        open_like(desk, NewJob(like="J13"))
