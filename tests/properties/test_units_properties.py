"""Whatever is typed: one number and one unit are read right, or refused in words."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from areakit.errors import RangeError, UnitError
from areakit.uncertainty import Measured, total
from areakit.units import _UNITS, convert, in_quantity, in_unit, parse, parse_with_tolerance, show, si_factor
from tests.properties.effort import effort

# Exact by definition: NIST SP 811 (2008), appendix B: 1 in = 25.4 mm, 1 ft = 12 in, 1 troy ounce = 31.1034768 g.
EXACT = {
    ("in", "mm"): 25.4, ("ft", "in"): 12.0, ("mil", "um"): 25.4, ("uin", "nm"): 25.4, ("in2", "mm2"): 645.16,
    ("ozt", "g"): 31.1034768, ("A.h", "C"): 3600.0, ("A.min", "A.s"): 60.0, ("A/dm2", "A/m2"): 100.0,
    ("h", "s"): 3600.0,
}  # fmt: skip
LENGTHS = ("m", "dm", "cm", "mm", "um", "nm", "in", "ft", "mil", "uin")

sound = st.floats(min_value=1e-6, max_value=1e6)
spread = st.floats(min_value=1e-4, max_value=0.3)


def test_every_unit_is_as_large_as_pint_has_it() -> None:
    for code in _UNITS:
        base = in_quantity(1.0, code).to_base_units()
        assert si_factor(code) == pytest.approx(base.magnitude, rel=1e-14), code


@effort
@given(value=sound, pair=st.sampled_from(sorted(EXACT)))
def test_conversion_is_the_defined_one_there_and_back(value: float, pair: tuple[str, str]) -> None:
    unit, to = pair
    assert convert(value, unit, to) == pytest.approx(value * EXACT[pair], rel=1e-12)
    assert convert(convert(value, unit, to), to, unit) == pytest.approx(value, rel=1e-12)


@effort
@given(value=sound, units=st.lists(st.sampled_from(LENGTHS), min_size=2, max_size=6))
def test_a_way_round_through_any_units_changes_nothing(value: float, units: list[str]) -> None:
    here = value
    for unit, to in zip(units, [*units[1:], units[0]], strict=True):
        here = convert(here, unit, to)
    assert here == pytest.approx(value, rel=1e-9)


@effort
@given(value=st.decimals(min_value="0.001", max_value=9999, places=3), unit=st.sampled_from(LENGTHS))
def test_point_and_comma_and_space_read_alike(value: object, unit: str) -> None:
    plain = f"{value} {unit}"
    right = convert(float(str(value)), unit, "m")
    assert parse(plain, "length") == pytest.approx(right, rel=1e-12)
    # A comma with three digits behind it may stand for thousands, so it is refused, not guessed.
    if not (len(str(value).partition(".")[2]) == 3 and len(str(value).partition(".")[0]) <= 3):
        assert parse(plain.replace(".", ","), "length") == pytest.approx(right, rel=1e-12)
    assert parse(f"  {value}{unit} ", "length") == pytest.approx(right, rel=1e-12)


@effort
@given(text=st.text(max_size=40))
def test_any_text_is_a_length_or_refused_in_words(text: str) -> None:
    try:
        value = parse(text, "length")
    except UnitError as error:
        told = (error.message, error.remedy)
    else:
        assert math.isfinite(value)
        return
    assert told[0].endswith(".")
    assert told[1]


@effort
@given(value=sound, share=spread, unit=st.sampled_from(("mm2", "cm2", "in2")))
def test_what_is_shown_is_read_back_within_its_last_digit(value: float, share: float, unit: str) -> None:
    quantity = Measured(value=value, unit=unit, budget={"x": share * value})
    text = show(quantity).replace("mm²", "mm2").replace("cm²", "cm2").replace("in²", "in2")
    if text.startswith("("):
        return
    read, tolerance = parse_with_tolerance(text, "area")
    factor = convert(1.0, unit, "m2")
    assert read / factor == pytest.approx(value, abs=0.051 * quantity.expanded_uncertainty)
    assert tolerance is not None
    # Two digits of the uncertainty (JCGM 100:2008, 7.2.6): at worst 10 rounds by half of one.
    assert tolerance / factor == pytest.approx(quantity.expanded_uncertainty, rel=0.051)


@effort
@given(value=sound, share=spread)
def test_relative_uncertainty_does_not_depend_on_the_unit(value: float, share: float) -> None:
    quantity = Measured(value=value, unit="mm2", budget={"a": share * value, "b": -0.5 * share * value})
    for unit in ("cm2", "in2", "m2"):
        other = in_unit(quantity, unit)
        assert other.relative_expanded_uncertainty == pytest.approx(quantity.relative_expanded_uncertainty, rel=1e-9)


@effort
@given(values=st.lists(sound, min_size=1, max_size=12), share=spread)
def test_a_sum_is_between_independent_and_common_doubt(values: list[float], share: float) -> None:
    """JCGM 100:2008, equations 10 and 16: independent inputs add as squares, fully correlated ones as they are."""
    common = [Measured(value=v, unit="mm2", budget={"scale": share * v}) for v in values]
    own = [Measured(value=v, unit="mm2", budget={f"edge {i}": share * v}) for i, v in enumerate(values)]
    assert total(common, "mm2").standard_uncertainty == pytest.approx(share * math.fsum(values), rel=1e-9)
    assert total(own, "mm2").standard_uncertainty == pytest.approx(share * math.hypot(*values), rel=1e-9)
    mixed = total([*common[::2], *own[1::2]], "mm2")
    assert mixed.value == pytest.approx(math.fsum(values), rel=1e-12)
    assert mixed.standard_uncertainty <= share * math.fsum(values) * (1 + 1e-9)


def test_units_of_different_kinds_are_not_mixed() -> None:
    with pytest.raises(UnitError, match="g is a unit of mass, mm of length"):
        convert(1.0, "g", "mm")
    with pytest.raises(RangeError, match="A sum in mm2 was given mm"):
        total([Measured(value=1.0, unit="mm2"), Measured(value=1.0, unit="mm")], "mm2")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("1 ± 2 ± 3 mm", "is not one plain number and one unit"),
        ("10 ± -1 mm", "is negative"),
        ("1/0 in", "is not one plain number and one unit"),
        ("1e999 mm", "is not one plain number and one unit"),
        ("1" * 70 + " mm", "too long for a number and a unit"),
    ],
)
def test_a_length_that_is_none_is_refused_in_words(text: str, told: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_with_tolerance(text, "length")
    assert told in caught.value.message
    assert caught.value.remedy


@pytest.mark.parametrize(
    "wrong",
    [{"value": math.nan}, {"value": math.inf}, {"budget": {"x": math.nan}}, {"budget": {"x": 1e200}},
     {"coverage_factor": math.inf}, {"coverage_factor": 0.0}, {"coverage_factor": math.nan}],
)  # fmt: skip
def test_a_quantity_that_cannot_be_stated_is_refused(wrong: dict[str, object]) -> None:
    """A root sum of squares overflows long before a share does: 1e200 squared is no floating-point number."""
    with pytest.raises(RangeError, match="not a finite number"):
        Measured(**{"value": 1.0, "unit": "mm", **wrong})  # type: ignore[arg-type]
