"""What one pass of the brush does: contact fraction and dose from lanes, from what was stated, or from the default."""

import math

import pytest

from areakit.errors import RangeError
from areakit.plating.contact import LaneContact, stroking, usual_fraction
from areakit.plating.premise import Premise, given
from areakit.uncertainty import Measured, exact

FOOTPRINT = exact(4e-4, "m2")
LANES = LaneContact(
    area=25e-4, seconds=Measured(value=10.0, unit="s", budget={"speed": 0.5}),
    dose=Measured(value=0.8, unit="s", budget={"speed": 0.04}), largest=3e-4, gain=0.9,
)  # fmt: skip


def stated(value: float) -> Premise:
    return Premise(name="contact fraction", quantity=exact(value, "1"), origin=given())


def test_lanes_tell_the_fraction_as_dose_times_face_over_time_times_contact() -> None:
    """0.8 s on each place of 25 cm2, under 4 cm2 for 10 s: half of the contact is on metal in the mean."""
    found = stroking(footprint=FOOTPRINT, stated=None, lanes=LANES, pitch=0.01, speed=exact(0.1, "m/s"))
    assert found.fraction.value == pytest.approx(0.5)
    assert found.largest == pytest.approx(0.75)
    assert (found.dose, found.gain) == (LANES.dose, 0.9)
    # hand speed moves dose and time alike; what is left is a tenth, a judgement about lanes
    assert dict(found.fraction.quantity.budget) == {"contact fraction": pytest.approx(0.05)}


def test_no_more_metal_than_the_contact_is_under_it() -> None:
    wide = LaneContact(area=25e-4, seconds=LANES.seconds, dose=LANES.dose, largest=5e-4)
    found = stroking(footprint=FOOTPRINT, stated=None, lanes=wide, pitch=0.01, speed=exact(0.1, "m/s"))
    assert (found.largest, found.gain) == (1.0, 1.0)


def test_a_stated_fraction_wins_over_the_lanes() -> None:
    for fraction in (1.0, 0.01):
        found = stroking(footprint=FOOTPRINT, stated=stated(fraction), lanes=LANES, pitch=0.01, speed=exact(0.1, "m/s"))
        assert found.fraction.value == fraction
    for wrong in (0.0, -0.1, 1.01):
        with pytest.raises(RangeError, match="not above 0 and at most 1"):
            stroking(footprint=FOOTPRINT, stated=stated(wrong), lanes=LANES, pitch=0.01, speed=exact(0.1, "m/s"))


def test_without_lanes_a_place_is_under_the_brush_for_contact_over_pitch_and_speed() -> None:
    """4 cm2 moved by 0.1 m/s in lanes of 10 mm: each place 0.4 s (every place of a large face is passed once)."""
    found = stroking(footprint=FOOTPRINT, stated=None, lanes=None, pitch=0.01, speed=exact(0.1, "m/s"))
    assert found.dose.value == pytest.approx(4e-4 / (0.01 * 0.1))
    assert found.fraction == usual_fraction()
    assert found.largest == 1.0


def test_the_usual_fraction_is_the_middle_of_a_range_that_is_its_uncertainty() -> None:
    """From 0.3 to 1 (common practice, no source), rectangular: half-width over the root of three (GUM 4.3.7)."""
    usual = usual_fraction().quantity
    low, high = (usual.value + side * usual.standard_uncertainty * math.sqrt(3.0) for side in (-1.0, 1.0))
    assert (low, high) == (pytest.approx(0.3), pytest.approx(1.0))
    assert "0.3 to 1" in usual_fraction().origin.text
