"""The minimum under a brush follows the passes that were made, and nobody is left to guess how many were taken."""

import json
import math

import pytest

from areakit.errors import InputError, RangeError
from areakit.records.codec import quantity_json
from areakit.service.deposit import Deposit, DepositRequest, deposit
from areakit.service.plan import PlanRequest, plan
from areakit.uncertainty import Measured

PLATE = [[0, 0], [60, 0], [60, 40], [0, 40], [0, 0]]
LINE = json.dumps(
    {
        "photo": "a.jpg",
        "status": "measured",
        "flags": [],
        "parts": [
            {
                "id": 1,
                "outline": {"type": "Polygon", "coordinates": [PLATE]},
                "faces": "one",
                "face_area": quantity_json(Measured(value=2400.0, unit="mm2", budget={"scale": 12.0})),
                "plated_area": quantity_json(Measured(value=2400.0, unit="mm2", budget={"scale": 12.0})),
            }
        ],
    }
)


def plated(**entries: str) -> Deposit:
    return deposit(
        DepositRequest(metal="gold", measured=LINE, efficiency="72 % ± 6 %", footprint="20 x 15 mm", **entries)
    )


def codes(answer: Deposit) -> set[str]:
    return {one.code for one in answer.flags}


def allowance(answer: Deposit) -> float:
    assert answer.spread is not None
    return answer.spread.allowance.value


def test_a_usual_number_of_passes_is_said_aloud() -> None:
    answer = plated(charge="0.5 A.min")
    assert "PASSES_ASSUMED" in codes(answer)
    assert any("after 30" in one.message for one in answer.flags)
    assert allowance(answer) == allowance(plated(charge="0.5 A.min", passes="30"))
    assert "PASSES_ASSUMED" not in codes(plated(charge="0.5 A.min", passes="30"))


def test_more_passes_lie_more_evenly() -> None:
    found = [allowance(plated(charge="0.5 A.min", passes=n)) for n in ("2", "10", "100")]
    assert found == sorted(found, reverse=True)
    assert found[0] > found[-1] + 0.05


def test_current_and_time_tell_the_passes_and_agree_with_the_plan() -> None:
    """What a plan promises and what its own current and time did are one figure."""
    planned = plan(
        PlanRequest(
            process="gold-brush",
            layers={"gold": "0.5 um"},
            measured=LINE,
            efficiency={"gold": "72 % ± 6 %"},
            footprint="20 x 15 mm",
            current_density={"gold": "10 A/dm2"},
            base="copper",
        )
    )
    (layer,) = planned.layers
    assert layer.brush is not None
    run = layer.brush
    answer = plated(current=f"{run.mean_current.value} A", time=f"{run.time.value} s")
    assert "PASSES_ASSUMED" not in codes(answer)
    assert allowance(answer) == pytest.approx(layer.layer.allowance.value, rel=1e-6)
    assert answer.mean is not None
    assert answer.mean.value == pytest.approx(layer.mean.value, rel=1e-6)


@pytest.mark.parametrize("wrong", ["0", "0.5", "nan"])
def test_less_than_one_pass_is_refused(wrong: str) -> None:
    with pytest.raises((RangeError, InputError)):
        plated(charge="0.5 A.min", passes=wrong)


def test_passes_without_lanes_are_refused() -> None:
    with pytest.raises(InputError, match="only for lanes"):
        deposit(DepositRequest(metal="gold", area="12 cm2", charge="0.5 A.min", efficiency="72 %", passes="10"))


def test_a_short_time_is_at_least_one_pass() -> None:
    answer = plated(current="0.1 A", time="0.01 s")
    assert math.isfinite(allowance(answer))
    assert allowance(answer) == allowance(plated(charge="0.5 A.min", passes="1"))
