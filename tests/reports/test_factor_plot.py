"""The plot of an own factor: every run stands where its age and deposit put it."""

import re
import xml.etree.ElementTree as ET

import pytest

from areakit.plating.own_factor import Observation, fold
from areakit.records.observations import Seen
from areakit.records.recorded_factor import RecordedFactor
from areakit.reports.factor_plot import BOTTOM, LEFT, RIGHT, TOP, _ticks, factor_svg
from areakit.uncertainty import Measured

PER_CHARGE, PER_AGE = 1e-3 / 3600.0, 3.6e6
SVG = "{http://www.w3.org/2000/svg}"


def recorded(*runs: tuple[str, float, float | None], now: float = 4.0) -> RecordedFactor:
    """Kind, deposit in g/A.h and age in A.h/L of each run; all known to 1 %."""
    seen = tuple(
        Observation(
            name=f"job {number}", run=f"job {number}", kind=kind, at=f"2026-03-{number:02d}T09:00:00Z", bottle="G7",
            brush="", age=None if age is None else age * PER_AGE,
            deposit=Measured(value=value * PER_CHARGE, unit="kg/C", budget={"balance": 0.01 * value * PER_CHARGE}),
        )
        for number, (kind, value, age) in enumerate(runs, start=1)
    )  # fmt: skip
    return RecordedFactor(
        solution="my <gold>", metal="gold", bottle="G7", bottles=("G7",), brush="", basis="bottle G7",
        factor=fold(seen, age=now * PER_AGE), seen=Seen(observations=seen),
    )  # fmt: skip


def test_runs_stand_by_age_and_deposit_with_a_sign_of_their_kind() -> None:
    page = ET.fromstring(factor_svg(recorded(("weighing", 4.5, 1.0), ("coupon", 4.6, 2.0), ("reading", 4.4, 3.0))))
    dots, squares = page.findall(f"{SVG}circle"), page.findall(f"{SVG}rect")[1:]
    assert (len(dots), len(squares)) == (1, 2)
    assert [one.get("transform") is not None for one in squares] == [False, True]
    x = [float(dots[0].get("cx", 0)), *(float(one.get("x", 0)) + 6.0 for one in squares)]
    assert x[2] - x[1] == pytest.approx(x[1] - x[0], abs=0.2)  # ages 1, 2, 3
    y = [float(dots[0].get("cy", 0)), *(float(one.get("y", 0)) + 6.0 for one in squares)]
    assert y[2] - y[0] == pytest.approx(y[0] - y[1], abs=0.2)  # 4.4, 4.5, 4.6 upwards
    for across, down in zip(x, y, strict=True):
        assert LEFT < across < RIGHT
        assert TOP < down < BOTTOM
    words = "".join(page.itertext())
    assert "now" in words
    assert "Dot: weighed; square: coupon; diamond: thickness read only." in words


def test_an_outlier_has_a_ring_and_is_named() -> None:
    plain = [("weighing", 4.5 + 0.02 * number, float(number)) for number in range(5)]
    assert "ringed" not in factor_svg(recorded(*plain))
    svg = factor_svg(recorded(*plain, ("weighing", 3.0, 5.0)))
    assert "ringed: not borne out by the others" in svg
    assert len(re.findall("<circle", svg)) == 7


def test_runs_without_an_age_are_counted_in_the_order_of_time() -> None:
    svg = factor_svg(recorded(("weighing", 4.5, None), ("weighing", 4.6, 1.0)))
    assert "run, in order of time" in svg
    assert ">now<" not in svg


@pytest.mark.parametrize(
    ("low", "high", "expected"), [(0.0, 6.0, [0, 1, 2, 3, 4, 5, 6]), (0.9, 2.1, [1.0, 1.2, 1.4, 1.6, 1.8, 2.0])]
)
def test_ticks_are_round(low: float, high: float, expected: list[float]) -> None:
    assert _ticks(low, high) == pytest.approx(expected)
