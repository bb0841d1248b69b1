"""Units as a bench writes them, against their definitions."""

import pytest

from areakit.errors import InputError
from areakit.units import parse, parse_with_tolerance, unit_written

FOOT = 0.3048  # m, exact since 1959
GRAIN = 64.79891e-6  # kg, exact since 1959; a pennyweight is 24 grains


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("3 amp-min", "charge", 180.0),
        ("3 A-min", "charge", 180.0),
        ("2 amp-hours", "charge", 7200.0),
        ("250 mAh", "charge", 900.0),
        ("250 mA·h", "charge", 900.0),
        ("30 A/sqft", "current density", 30 / FOOT**2),
        ("30 A/sq ft", "current density", 30 / FOOT**2),
        ("5 A/sq in", "current density", 5 / 0.0254**2),
        ("2 dwt", "mass", 48 * GRAIN),
        ("1 pennyweight", "mass", 24 * GRAIN),
        ("20 millionths", "length", 20 * 0.0254e-6),
        ("20 millionths of an inch", "length", 20 * 0.0254e-6),
        ("0.8 g/100 mL", "concentration", 8.0),
        ("2.5 mL/cm2", "volume per area", 2.5e-6 / 1e-4),
    ],
)
def test_units_of_the_bench(text: str, kind: str, value: float) -> None:
    assert parse(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "tolerance"),
    [
        ("12.5 cm2 ± 2 %", "area", 25e-6),
        ("12.5 cm2 +/- 2%", "area", 25e-6),
        ("12.5 cm2 ± 0.25 cm2", "area", 25e-6),
        ("12.5 ± 0.25 cm2", "area", 25e-6),
        ("1.2 mm ± 5 percent", "length", 0.06e-3),
        ("72 ± 6 %", "ratio", 0.06),  # of a ratio, percent are points
        ("72 % ± 6 %", "ratio", 0.06),
    ],
)
def test_percent_behind_a_quantity_is_a_share_and_behind_a_ratio_are_points(
    text: str, kind: str, tolerance: float
) -> None:
    assert parse_with_tolerance(text, kind)[1] == pytest.approx(tolerance, rel=1e-12)


def test_a_percentage_does_not_lend_its_unit() -> None:
    with pytest.raises(InputError, match="has no unit"):
        parse_with_tolerance("12.5 ± 2 %", "area")
    with pytest.raises(InputError, match="less than nothing"):
        parse_with_tolerance("12.5 cm2 ± 120 %", "area")


def test_the_unit_that_was_written_is_known() -> None:
    assert unit_written("12.5 ± 0.1 in2", "area") == "in2"
    assert unit_written("12.5 in2 ± 2 %", "area") == "in2"
    assert unit_written("12.5", "area") is None
    assert unit_written("60 A.h/in3", "plating factor") == "A.h/in3"
