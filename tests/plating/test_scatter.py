"""The minimum under a hand that scatters, against closed forms and an independent simulation in one dimension."""

import json
import math

import numpy as np
import pytest
from shapely import box

from areakit.errors import RangeError
from areakit.plating.footprint import ripple as ripple_of
from areakit.plating.footprint import usual_overlap, usual_scatter_mm
from areakit.plating.lanes import Brush
from areakit.plating.premise import Premise, given
from areakit.plating.scatter import Scatter, ScatteredDose, scattered_dose
from areakit.plating.strokes import plan_strokes
from areakit.service.spread import SpreadRequest, predict_spread
from areakit.uncertainty import exact

ACROSS, ALONG, RADIUS, PITCH = 20.0, 15.0, 7.5, 10.0
FLAT, INNER = box(0.0, 0.0, 150.0, 95.0), box(20.0, 20.0, 130.0, 75.0)


def brush(across: float = ACROSS, along: float = ALONG, overlap: float = 0.5, *, rounded: bool = True) -> Brush:
    return Brush(
        footprint_width_mm=across, footprint_length_mm=along, overlap=overlap, hand_speed_mm_s=200.0, overrun_mm=7.5,
        rounded=rounded,
    )  # fmt: skip


def ripple(one: Brush) -> float:
    return ripple_of(one.footprint_width_mm, one.footprint_length_mm, pitch=one.pitch_mm, rounded=one.rounded)


def chord(y: np.ndarray) -> np.ndarray:
    """Length of a 20 x 15 mm footprint with round corners at y from its middle; elementary geometry."""
    beyond = np.clip(np.abs(y) - (ACROSS / 2 - RADIUS), 0.0, None)
    return np.where(beyond < RADIUS, ALONG - 2 * RADIUS + 2 * np.sqrt(np.clip(RADIUS**2 - beyond**2, 0.0, None)), 0.0)


def simulated(scatter_mm: float, passes: int, whole_mm: float = 0.0) -> float:
    """Mean over minimum of lanes that are drawn one by one in one dimension, mean of eight jobs."""
    drawn = np.random.default_rng(5)
    y = np.arange(0.0, 60.0, 0.1)
    found = []
    for _ in range(8):
        dose = np.zeros_like(y)
        for _ in range(passes):
            lanes = np.arange(-20.0, 81.0, PITCH)
            for lane in lanes + drawn.normal(0.0, scatter_mm, lanes.size) + drawn.normal(0.0, whole_mm):
                dose += chord(y - lane)
        found.append(dose.mean() / dose.min())
    return float(np.mean(found))


def allowance(scatter: Scatter, passes: float) -> float:
    dose = scattered_dose(FLAT, brush(), scatter, direction_deg=0.0, significant=INNER)
    # the mean over the whole plate is up to 3 % below that inside; taken out, since the simulation has no rim
    least, _ = dose.minimum_over_mean(passes)
    return float(dose.mean.mean()) / least


def test_one_pass_has_the_ripple_of_its_closed_form() -> None:
    # In the middle of a lane its neighbours just end: 15 mm of chord against the mean, area over pitch.
    area = ACROSS * ALONG - (4.0 - math.pi) * RADIUS**2
    exact = ALONG / (area / PITCH)
    assert exact == pytest.approx(0.596, abs=0.0005)
    assert ripple(brush()) == pytest.approx(exact, rel=1e-9)
    plan = plan_strokes(
        FLAT, footprint_width_mm=ACROSS, footprint_length_mm=ALONG, overlap=0.5, hand_speed_mm_s=200.0, overrun_mm=7.5,
        direction_deg=0.0,
    )  # fmt: skip
    inside = area / (PITCH * 200.0)
    assert plan.minimum_over_mean * plan.dose.mean_s / inside == pytest.approx(exact, rel=0.01)


@pytest.mark.parametrize(("overlap", "even"), [(0.5, 1.0), (0.0, 1.0), (0.4, 0.6)])
def test_a_square_footprint_is_even_where_its_width_is_whole_lanes(overlap: float, even: float) -> None:
    # width over pitch of 10/6 = 1.67: one footprint in places where the mean is 1.67
    assert ripple(brush(10.0, 8.0, overlap, rounded=False)) == pytest.approx(even, abs=1e-9)


def test_the_default_overlap_follows_from_the_footprint() -> None:
    disk = [ripple(brush(20.0, 20.0, step / 20.0)) for step in range(6, 13)]
    assert usual_overlap(20.0, 20.0, rounded=True) == pytest.approx((6 + int(np.argmax(disk))) / 20.0)
    assert ripple(brush(20.0, 20.0, usual_overlap(20.0, 20.0, rounded=True))) > 0.9
    assert ripple(brush(20.0, 20.0, 0.5)) < 0.65  # half is near the worst of a round one
    assert usual_overlap(10.0, 8.0, rounded=False) == pytest.approx(0.5)


@pytest.mark.parametrize(("scatter_mm", "audited"), [(1.0, 1.22), (3.0, 1.10)])
def test_scattered_lanes_agree_with_lanes_drawn_one_by_one(scatter_mm: float, audited: float) -> None:
    # ``audited``: figures of an independent audit for lanes scattered over 91 passes, to its two digits
    lanes_only = Scatter(lanes_mm=scatter_mm, whole_mm=0.0, direction_deg=0.0, spacing=0.0, dwell=0.0)
    found = allowance(lanes_only, 91)
    assert found == pytest.approx(simulated(scatter_mm, 91), rel=0.02)
    assert found == pytest.approx(audited, abs=0.02)


def test_a_pass_that_strays_as_a_whole_agrees_too() -> None:
    found = allowance(Scatter(lanes_mm=2.0, whole_mm=2.0, direction_deg=0.0, spacing=0.0, dwell=0.0), 40)
    assert found == pytest.approx(simulated(2.0, 40, whole_mm=2.0), rel=0.02)


def test_more_passes_lie_more_evenly_and_exact_lanes_never_do() -> None:
    hand = scattered_dose(FLAT, brush(), Scatter(lanes_mm=2.0, whole_mm=2.0), direction_deg=0.0, significant=INNER)
    least = [hand.minimum_over_mean(passes)[0] for passes in (5, 20, 100, 500)]
    assert least == sorted(least)
    assert least[0] < 0.85 < 0.93 < least[-1]
    assert hand.minimum_over_mean(100)[1] < hand.minimum_over_mean(5)[1] / 3.0


def test_speed_direction_and_spacing_of_the_lanes_each_lower_the_minimum() -> None:
    none = Scatter(lanes_mm=1.0, whole_mm=0.0, direction_deg=0.0, spacing=0.0, dwell=0.0)
    plain = allowance(none, 10)
    # with few passes the speed of each lane shows: a tenth on each of two lanes that meet
    dwell = allowance(Scatter(lanes_mm=1.0, whole_mm=0.0, direction_deg=0.0, spacing=0.0, dwell=0.3), 10)
    assert dwell > plain + 0.02


def test_the_sum_of_passes_scatters_as_one_over_their_root() -> None:
    dose = ScatteredDose(mean=np.ones(2), deviations=np.array([[0.3, -0.3], [-0.3, 0.3]], dtype=np.float32))
    assert dose.minimum_over_mean(9)[0] == pytest.approx(0.9)
    assert dose.minimum_over_mean(0.1)[0] == pytest.approx(0.7)  # never fewer than one pass


def test_the_usual_scatter_is_a_tenth_of_the_width_and_two_millimetres_at_most() -> None:
    assert usual_scatter_mm(8.0) == pytest.approx(0.8)
    assert usual_scatter_mm(20.0) == usual_scatter_mm(60.0) == pytest.approx(2.0)


def test_a_scatter_wider_than_the_footprint_is_refused() -> None:
    part = {"type": "Polygon", "coordinates": [[[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]]]}
    outline = json.dumps({"parts": [{"plated_area": {"value": 100.0, "unit": "mm2"}, "outline": part}]})
    footprint = Premise(name="footprint", quantity=exact(4e-4, "m2"), origin=given())
    with pytest.raises(RangeError, match="lane scatter of 30 mm is outside 0"):
        predict_spread(SpreadRequest(lane_scatter="30 mm"), "brush", measured=outline, part=None, footprint=footprint)
