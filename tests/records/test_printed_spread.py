"""A predicted distribution and the strokes of a pass as JSON, against their plan and plain geometry."""

import json
import math
from itertools import pairwise
from typing import Any

import pytest
from shapely.geometry import box

from areakit.plating.distribution import ThicknessMap
from areakit.plating.strokes import StrokePlan
from areakit.records.codec import quantity_json
from areakit.records.spread_json import spread_json, strokes_json
from areakit.service.plan import plan
from areakit.service.plan_request import PlanRequest, SpreadRequest
from areakit.uncertainty import exact

PART: dict[str, Any] = {
    "id": 1, "plated_area": quantity_json(exact(2000.0, "mm2")), "face_area": quantity_json(exact(2000.0, "mm2")),
    "outline": {"type": "Polygon", "coordinates": [[[0, 0], [50, 0], [50, 40], [0, 40], [0, 0]]]}, "faces": "one",
    "thickness": None,
}  # fmt: skip
MEASURED = json.dumps({"photo": "a", "flags": [], "parts": [PART]})


def spread_of(**more: Any) -> Any:
    request = PlanRequest(
        layers={"nickel": "3 um"}, measured=MEASURED, efficiency={"nickel": "90 %"},
        current_density={"nickel": "10 A/dm2"}, base="brass", shop="none", **more,
    )  # fmt: skip
    found = plan(request).order.spread
    assert found is not None
    return found


@pytest.fixture(scope="module")
def brushed() -> Any:
    return spread_of(process="nickel-brush", footprint="20 x 15 mm", hand_speed="6 m/min",
                     spread=SpreadRequest(pictures=True, overlap="50%", target_minimum="50%"))  # fmt: skip


def test_a_brushed_distribution_prints_its_contact_lanes_and_target(brushed: Any) -> None:
    body = spread_json(brushed)
    strokes = brushed.predicted
    assert isinstance(strokes, StrokePlan)
    assert (body["method"], body["tank"]) == ("brush", None)
    assert body["minimum_over_mean"] == pytest.approx(brushed.minimum_over_mean) or body["minimum_over_mean"]["value"]
    x, y = body["minimum_at_mm"]
    assert (x, -y) == pytest.approx(strokes.dose.minimum_at_mm)
    told = body["brush"]
    assert (told["footprint_width"]["value"], told["footprint_length"]["value"]) == (20.0, 15.0)
    assert (told["footprint_corners"], told["lanes"], told["lifts"]) == ("round", len(strokes.lanes), strokes.lifts)
    assert (told["overlap"], told["direction_deg"]) == (strokes.brush.overlap, strokes.direction_deg)
    assert (told["path_length"]["value"], told["path_length"]["unit"]) == (pytest.approx(strokes.path_length_mm), "mm")
    # 6 m/min are 100 mm/s
    assert told["time_per_pass"]["value"] == pytest.approx(strokes.path_length_mm / 100.0, rel=0.3)
    assert told["time_per_pass"]["unit"] == "s"
    assert told["target"]["minimum_over_mean"] == brushed.reach.target == 0.5


def test_square_contacts_and_no_target_are_told() -> None:
    body = spread_json(
        spread_of(process="nickel-brush", footprint="20 x 15 mm", hand_speed="6 m/min",
                  spread=SpreadRequest(pictures=True, footprint_corners="square"))
    )  # fmt: skip
    assert (body["brush"]["footprint_corners"], body["brush"]["target"]) == ("square", None)


def test_a_tank_prints_its_wagner_number_and_no_brush() -> None:
    found = spread_of(process="nickel-tank", spread=SpreadRequest(wagner="0.1", pictures=True))
    body = spread_json(found)
    assert isinstance(found.predicted, ThicknessMap)
    assert body["brush"] is None
    assert body["tank"] == {
        "wagner": found.predicted.wagner, "panels": found.predicted.panel_count, "spot_mm": found.predicted.spot_mm,
    }  # fmt: skip
    x, y = body["minimum_at_mm"]
    assert (x, -y) == pytest.approx(found.predicted.minimum_at_mm)


def test_strokes_can_be_played(brushed: Any) -> None:
    """Each move begins where the one before ended, takes its length at the hand's speed, and all make the pass."""
    strokes = brushed.predicted
    body = json.loads(json.dumps(strokes_json(strokes)))
    assert body["rings_mm"] == [[[round(x, 3), round(y, 3)] for x, y in strokes.polygon.exterior.coords]]
    assert box(*strokes.polygon.bounds).area == pytest.approx(2000.0)
    moves = body["moves"]
    assert len(moves) == len(strokes.moves)
    for one, following in pairwise(moves):
        assert one["end_mm"] == following["start_mm"]
    for one, made in zip(moves, strokes.moves, strict=True):
        assert one["kind"] == made.kind
        assert math.dist(one["start_mm"], one["end_mm"]) == pytest.approx(made.length_mm, abs=0.002)
        assert one["seconds"] == pytest.approx(strokes.brush.seconds(made.length_mm, made.kind))
    assert sum(one["seconds"] for one in moves) == pytest.approx(body["seconds_per_pass"], rel=1e-6)
    assert (body["footprint_width_mm"], body["footprint_length_mm"], body["rounded"]) == (20.0, 15.0, True)
    assert (body["lanes"], body["lifts"], body["hand_speed_mm_s"]) == (
        len(strokes.lanes),
        strokes.lifts,
        pytest.approx(100.0),
    )
    assert body["path_length_mm"] == pytest.approx(strokes.path_length_mm)
