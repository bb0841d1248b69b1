"""The stroke plan against closed forms for rectangles and against conservation of charge."""

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from shapely import Point, Polygon, box
from shapely.affinity import rotate

from areakit.errors import OutlineInvalid, RangeError
from areakit.plating.lanes import Move
from areakit.plating.strokes import StrokePlan, overlap_for, plan_strokes

BRUSH: dict[str, Any] = {
    "footprint_width_mm": 10.0,
    "footprint_length_mm": 8.0,
    "overlap": 0.5,
    "hand_speed_mm_s": 200.0,
    "overrun_mm": 5.0,
    "rounded": False,
}
# 45 mm plus twice the side overrun of 2.5 mm is ten pitches of 5 mm.
PLATE = box(0.0, 0.0, 90.0, 45.0)
BADGE = Point(30.0, 30.0).buffer(30.0).difference(Point(30.0, 18.0).buffer(6.0)).difference(box(20.0, 38.0, 40.0, 44.0))


def mean_contact_mm2(plan: StrokePlan) -> float:
    """Return the area of metal in contact, averaged over the time of a pass; times the density: the mean current."""
    return plan.dose.mean_s * plan.polygon.area / plan.seconds_per_pass


def test_a_rectangle_has_the_closed_form_path() -> None:
    # n lanes of length + 2 overrun, and n - 1 steps of one pitch.
    plan = plan_strokes(PLATE, **BRUSH)
    assert plan.direction_deg == pytest.approx(0.0)
    assert len(plan.lanes) == 10
    assert plan.path_length_mm == pytest.approx(10 * (90.0 + 10.0) + 9 * 5.0)
    assert plan.seconds_per_pass == pytest.approx(plan.path_length_mm / 200.0)
    assert plan.lifts == 0


def test_lanes_lie_one_pitch_apart_and_join_up() -> None:
    plan = plan_strokes(PLATE, **BRUSH)
    rows = [lane.start[1] for lane in plan.lanes]
    assert np.diff(rows) == pytest.approx(5.0)
    assert all(a.end == pytest.approx(b.start) for a, b in pairwise(plan.moves))
    # Each lane runs against the one before.
    signs = [math.copysign(1.0, lane.end[0] - lane.start[0]) for lane in plan.lanes]
    assert signs == [(-1.0) ** index * signs[0] for index in range(10)]


@pytest.mark.parametrize(("overlap", "times"), [(0.0, 1.0), (0.5, 2.0), (0.75, 4.0)])
def test_interior_dose_is_contact_time_times_number_of_lanes(overlap: float, times: float) -> None:
    # A point is in contact for footprint length over speed in each of width / pitch lanes.
    plan = plan_strokes(PLATE, **{**BRUSH, "overlap": overlap})
    grid = plan.dose.grid
    x = grid.left + (np.arange(grid.columns) + 0.5) * grid.cell_x
    y = grid.low + (np.arange(grid.rows) + 0.5) * grid.cell_y
    inside = plan.dose.contact_s[np.ix_((y > 15.0) & (y < 30.0), (x > 20.0) & (x < 70.0))]
    assert inside == pytest.approx(times * 8.0 / 200.0, rel=1e-3)


def test_enough_overrun_leaves_an_even_dose() -> None:
    assert plan_strokes(PLATE, **BRUSH).minimum_over_mean == pytest.approx(1.0, abs=0.01)


def test_no_overrun_leaves_half_the_dose_at_the_ends() -> None:
    # The footprint stops with its middle over the edge: a point x inside it is in contact for half the length plus x.
    plan = plan_strokes(box(0.0, 0.0, 90.0, 10.0), **{**BRUSH, "overrun_mm": 0.0})
    assert len(plan.lanes) == 1
    grid = plan.dose.grid
    row = int((5.0 - grid.low) / grid.cell_y)
    edge = int((0.0 - grid.left) / grid.cell_x) + 1
    inward = grid.left + (edge + 0.5) * grid.cell_x
    middle = plan.dose.contact_s[row, grid.columns // 2]
    assert plan.dose.contact_s[row, edge] / middle == pytest.approx(0.5 + inward / 8.0, abs=0.005)


def footprint_integral(plan_moves: tuple[Move, ...], shape: Polygon, *, width: float, length: float) -> float:
    """Return metal in contact integrated over the way, by clipping and the midpoint rule; lanes along x. [mm3]"""
    total = 0.0
    for move in plan_moves:
        if move.kind == "lift" or move.length_mm == 0.0:
            continue
        count = math.ceil(move.length_mm / 0.5)
        for index in range(count):
            at = (index + 0.5) / count
            x = move.start[0] + at * (move.end[0] - move.start[0])
            y = move.start[1] + at * (move.end[1] - move.start[1])
            foot = box(x - length / 2, y - width / 2, x + length / 2, y + width / 2)
            total += foot.intersection(shape).area * move.length_mm / count
    return total


def test_charge_is_conserved() -> None:
    # Dose summed over the metal = density times footprint area integrated over time, computed by polygon clipping.
    plan = plan_strokes(BADGE, **BRUSH, direction_deg=0.0)
    grid = plan.dose.grid
    deposited = float((plan.dose.contact_s * plan.dose.metal).sum()) * grid.cell_x * grid.cell_y
    expected = footprint_integral(plan.moves, BADGE, width=10.0, length=8.0) / 200.0
    assert deposited == pytest.approx(expected, rel=2e-3)
    assert mean_contact_mm2(plan) * plan.seconds_per_pass == pytest.approx(expected, rel=2e-3)


def test_a_constant_current_brings_current_times_time() -> None:
    # Footprint never leaves this bar by more than the crowding limit allows, so every second counts in full.
    bar = box(0.0, 0.0, 90.0, 10.0)
    plan = plan_strokes(bar, **{**BRUSH, "overlap": 0.0, "overrun_mm": 0.0, "supply": "current"})
    assert mean_contact_mm2(plan) == pytest.approx(10.0 * 8.0, rel=2e-3)


def test_a_constant_current_crowds_onto_the_ends() -> None:
    bar = box(0.0, 0.0, 90.0, 10.0)
    settings = {**BRUSH, "overlap": 0.0, "overrun_mm": 4.0}
    voltage, current = (plan_strokes(bar, **{**settings, "supply": s}) for s in ("voltage", "current"))
    assert voltage.dose.ratio[voltage.dose.metal > 0.999].max() < 1.02
    assert current.dose.ratio[current.dose.metal > 0.999].max() > 1.1


@pytest.mark.parametrize("angle_deg", [0.0, 33.0, 117.0])
def test_lanes_run_along_a_long_bar(angle_deg: float) -> None:
    bar = rotate(box(0.0, 0.0, 120.0, 25.0), angle_deg, origin=(0.0, 0.0))
    plan = plan_strokes(bar, **BRUSH)
    assert math.cos(math.radians(2.0 * (plan.direction_deg - angle_deg))) == pytest.approx(1.0, abs=1e-6)
    straight = plan_strokes(box(0.0, 0.0, 120.0, 25.0), **BRUSH)
    assert plan.path_length_mm == pytest.approx(straight.path_length_mm)
    assert plan.minimum_over_mean == pytest.approx(straight.minimum_over_mean, abs=0.01)


def test_the_chosen_direction_is_no_longer_than_others() -> None:
    chosen = plan_strokes(BADGE, **BRUSH)
    others = [plan_strokes(BADGE, **BRUSH, direction_deg=float(a)).path_length_mm for a in range(0, 180, 15)]
    assert chosen.path_length_mm <= 1.006 * min(others)


def test_a_hole_is_skipped_only_where_the_lift_pays() -> None:
    # Hole 40 mm long, overrun 5 mm each side: 30 mm of air. Sliding takes 30 / v, lifting 0.5 + 30 / 400 = 0.575 s:
    # even at v = 52.2 mm/s.
    window = PLATE.difference(box(25.0, 10.0, 65.0, 35.0))
    slow = plan_strokes(window, **{**BRUSH, "hand_speed_mm_s": 50.0}, direction_deg=0.0)
    fast = plan_strokes(window, **{**BRUSH, "hand_speed_mm_s": 55.0}, direction_deg=0.0)
    assert fast.lifts == 0
    # Lanes at 0, 5, ... 45 mm, 10 mm wide: those at 15 to 30 mm meet nothing but hole there.
    assert slow.lifts == 4
    assert len(slow.lanes) == 14
    assert slow.path_length_mm == pytest.approx(fast.path_length_mm)
    # By hand: four times 30 mm at 400 mm/s plus 0.5 s in place of 50 mm/s.
    assert slow.seconds_per_pass == pytest.approx(fast.path_length_mm / 50.0 - 4 * (30.0 / 50.0 - 0.575))


def test_lifted_moves_leave_no_dose() -> None:
    two_arms = box(0.0, 0.0, 100.0, 30.0).difference(box(30.0, 10.0, 70.0, 30.0))
    plan = plan_strokes(two_arms, **{**BRUSH, "hand_speed_mm_s": 20.0}, direction_deg=0.0)
    assert plan.lifts > 0
    grid = plan.dose.grid
    column = int((50.0 - grid.left) / grid.cell_x)
    rows = grid.low + (np.arange(grid.rows) + 0.5) * grid.cell_y > 20.5
    assert plan.dose.contact_s[rows, column].max() == pytest.approx(0.0, abs=1e-9)


def test_overlap_for_a_target_is_the_least_that_reaches_it() -> None:
    plan = plan_strokes(BADGE, **{**BRUSH, "rounded": True, "overrun_mm": 8.0})
    overlap = overlap_for(plan, target=0.85)
    again = {**BRUSH, "rounded": True, "overrun_mm": 8.0, "direction_deg": plan.direction_deg}
    assert plan_strokes(BADGE, **{**again, "overlap": overlap}).minimum_over_mean >= 0.85
    assert overlap > 0.0
    assert plan_strokes(BADGE, **{**again, "overlap": overlap - 0.05}).minimum_over_mean < 0.85


def test_overlap_for_says_when_no_overlap_is_enough() -> None:
    plan = plan_strokes(PLATE, **{**BRUSH, "overrun_mm": 0.0})
    with pytest.raises(RangeError, match=r"No overlap reaches a minimum of 0\.95"):
        overlap_for(plan, target=0.95)
    with pytest.raises(RangeError, match="target of 1"):
        overlap_for(plan, target=1.0)


def test_a_point_meets_the_passes_of_a_worked_figure() -> None:
    # By hand: gold at 10 A/dm2, footprint 10 mm long, 10 m/min: 0.06 s a pass, so 60 C/dm2 ask for 100 touches; with
    # half overlap every pass touches a point twice, so 50 passes.
    area_dm2, density = 0.9 * 0.45, 10.0
    plan = plan_strokes(PLATE, **{**BRUSH, "footprint_length_mm": 10.0, "hand_speed_mm_s": 10000.0 / 60.0})
    current = density * mean_contact_mm2(plan) / 1e4
    passes = 60.0 * area_dm2 / (current * plan.seconds_per_pass)
    assert passes == pytest.approx(50.0, rel=0.01)


def test_one_lane_covers_a_narrow_part() -> None:
    plan = plan_strokes(box(0.0, 0.0, 50.0, 4.0), **{**BRUSH, "rounded": True})
    assert len(plan.lanes) == 1
    assert plan.path_length_mm == pytest.approx(60.0)


def test_minimum_is_taken_on_the_significant_surface() -> None:
    settings = {**BRUSH, "overrun_mm": 0.0}
    whole = plan_strokes(PLATE, **settings)
    middle = plan_strokes(PLATE, **settings, significant=box(20.0, 15.0, 70.0, 30.0))
    assert whole.minimum_over_mean < 0.6
    assert middle.minimum_over_mean > 1.0
    with pytest.raises(OutlineInvalid, match="does not lie on the part"):
        plan_strokes(PLATE, **settings, significant=box(200.0, 200.0, 210.0, 210.0))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"overlap": 1.0}, "overlap of 1 is outside"),
        ({"overlap": -0.1}, "overlap of -0.1 is outside"),
        ({"footprint_width_mm": 0.0}, "footprint width of 0 mm is outside"),
        ({"hand_speed_mm_s": math.nan}, "hand speed of nan mm/s is outside"),
        ({"overrun_mm": -1.0}, "overrun of -1 mm is outside"),
        ({"supply": "power"}, "supply that holds its power"),
        ({"footprint_width_mm": 0.02}, r"needs \d{4} lanes"),
    ],
)
def test_senseless_settings_are_refused(change: dict[str, Any], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        plan_strokes(PLATE, **{**BRUSH, **change})


def test_a_footprint_too_small_for_the_raster_is_refused() -> None:
    tiny = {**BRUSH, "footprint_width_mm": 0.5, "footprint_length_mm": 0.5}
    with pytest.raises(RangeError, match="too small for a part of 300 mm by 200 mm"):
        plan_strokes(box(0.0, 0.0, 300.0, 200.0), **tiny, direction_deg=0.0)
