"""Text to number and back: how figures of the bench are read and shown."""

import pint
import pytest

from areakit.errors import RangeError, UnitError
from areakit.uncertainty import Measured, exact
from areakit.units import (
    as_quantity,
    convert,
    dimension,
    from_quantity,
    in_unit,
    parse,
    parse_with_tolerance,
    pretty_unit,
    registry,
    show,
    show_found,
    spellings,
    three_digits,
    unit_written,
)


def known(value: float, unit: str, share: float) -> Measured:
    return Measured(value=value, unit=unit, budget={"edge": share})


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("1/16 in", "length", 0.0254 / 16), ("1 1/2 in", "length", 1.5 * 0.0254), ("3/4 in", "length", 0.75 * 0.0254),
        ("0 1/2 in", "length", 0.0127), ("1.25", "number", 1.25), ("80 %", "number", 0.8), ("72 %", "ratio", 0.72),
        ("3", "angle", 3 * 3.141592653589793 / 180), ("3 deg", "angle", 3 * 3.141592653589793 / 180),
        ("2 A min", "charge", 120.0), ("20 A·h", "charge", 72000.0), ("1e-3 m", "length", 1e-3),
        (".5 mm", "length", 5e-4),
        ("-4 mm", "length", -4e-3), ("1.2 Inches", "length", 1.2 * 0.0254), ("5 m²", "area", 5.0),
    ],
)  # fmt: skip
def test_a_figure_of_the_bench_is_read(text: str, kind: str, value: float) -> None:
    """Inch, ampere-hour and percent by their definitions (NIST SP 811, appendix B)."""
    assert parse(text, kind) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "kind", "told"),
    [
        ("1.2", "length", "1.2 has no unit"), ("0.7", "ratio", "has no unit"), ("2 oz", "mass", "troy or avoirdupois"),
        ("1 Ounces", "mass", "troy or avoirdupois"), ("3 g", "length", "'g' is not a unit of length"),
        ("3 furlong", "length", "'furlong' is not a unit"),
        ("1,200 mm", "length", "1,200 can be read as 1200 or as 1.200"),
        ("3 1/0 in", "length", "not one plain number"), ("1e999 mm", "length", "not one plain number"),
        ("2 3 mm", "length", "not one plain number"), ("mm", "length", "not one plain number"),
        ("1 ± 2 ± 3 mm", "length", "not one plain number"), ("1" * 58 + " mm", "length", "too long"),
        ("1 ± -2 mm", "length", "is negative"),
    ],
)  # fmt: skip
def test_what_can_be_read_in_two_ways_or_none_is_refused(text: str, kind: str, told: str) -> None:
    with pytest.raises(UnitError, match=told) as refusal:
        parse_with_tolerance(text, kind)
    assert refusal.value.remedy


def test_a_text_of_60_letters_is_read() -> None:
    assert parse("1." + "0" * 55 + " mm", "length") == pytest.approx(1e-3)
    with pytest.raises(UnitError, match="too long"):
        parse("1." + "0" * 56 + " mm", "length")


@pytest.mark.parametrize(
    ("text", "kind", "value", "tolerance"),
    [
        ("1.2 ± 0.05 mm", "length", 1.2e-3, 5e-5), ("1.2 mm ± 4 %", "length", 1.2e-3, 4.8e-5),
        ("1.2 mm +/- 50 um", "length", 1.2e-3, 5e-5), ("72 % ± 6 %", "ratio", 0.72, 0.06),
        ("1.2 +- 0.1", "number", 1.2, 0.1),
        ("1.2 mm", "length", 1.2e-3, None), ("2 ± 2 mm", "length", 2e-3, 2e-3), ("0 ± 1 mm", "length", 0.0, 1e-3),
        ("1 ± 3 deg", "angle", 3.141592653589793 / 180, 3 * 3.141592653589793 / 180),
    ],
)  # fmt: skip
def test_a_tolerance_is_in_the_unit_of_its_figure_or_a_share_of_it(
    text: str, kind: str, value: float, tolerance: float | None
) -> None:
    """A ratio's tolerance is in points; an angle may lie on either side of nothing."""
    found = parse_with_tolerance(text, kind)
    assert found[0] == pytest.approx(value)
    assert found[1] == (None if tolerance is None else pytest.approx(tolerance))


def test_a_figure_that_may_be_below_nothing_is_refused() -> None:
    with pytest.raises(RangeError, match=r"its ± is 1\.5 times the figure itself"):
        parse_with_tolerance("2 ± 3 mm", "length")


@pytest.mark.parametrize(
    ("text", "kind", "code"),
    [("3 ± 1 in", "length", "in"), ("3 in ± 4 %", "length", "in"), ("5 Microns", "length", "um"), ("5", "length", None),
     ("5 g", "length", None), ("5 furlong", "length", None), ("nothing", "length", None), ("1/8 inch", "length", "in")],
)  # fmt: skip
def test_the_unit_that_was_written_is_told(text: str, kind: str, code: str | None) -> None:
    assert unit_written(text, kind) == code


def test_only_like_units_are_converted() -> None:
    assert convert(25.4, "mm", "in") == pytest.approx(1.0)
    assert (convert(7.0, "mm", "mm"), dimension("ft2")) == (7.0, "area")
    with pytest.raises(UnitError, match="mm is a unit of length, g of mass"):
        convert(1.0, "mm", "g")
    found = in_unit(Measured(value=2.0, unit="in", budget={"edge": -0.1}, coverage_factor=3.0), "mm")
    assert (found.value, found.unit, found.coverage_factor) == (pytest.approx(50.8), "mm", 3.0)
    assert dict(found.budget) == pytest.approx({"edge": -2.54})


def test_a_quantity_of_pint_keeps_its_unit_where_it_has_a_code() -> None:
    theirs: pint.UnitRegistry[float] = pint.UnitRegistry()
    assert from_quantity(2.0 * theirs.inch, "length") == (2.0, "in")
    assert from_quantity(2.0 * theirs.parsec, "length") == (pytest.approx(2 * 3.0856775814913673e16), "m")
    # a thousandth of an inch is a unit here, and no unit by itself there
    assert from_quantity(registry().Quantity(3.0, "1/meter**-1"), "length") == (3.0, "m")
    assert as_quantity(exact(3.0, "mil")).to("um").magnitude == pytest.approx(76.2)
    for wrong in (2.0 * theirs.gram, theirs.Quantity([1.0, 2.0], "inch"), 3.0):
        with pytest.raises(UnitError, match="is not one length"):
            from_quantity(wrong, "length")


@pytest.mark.parametrize(
    ("quantity", "shown"),
    [
        # two digits of the uncertainty, the value to the same place (JCGM 100:2008, 7.2.6)
        (known(12.34567, "mm", 0.0617), "12.35 ± 0.12 mm"), (known(1234.5, "mm2", 61.7), "1230 ± 120 mm²"),
        (known(12.3456, "um", 4.4), "12.3 ± 8.8 µm"), (known(0.1, "g", 2e-11), "(0.1 ± 4e-11) g"),
        (known(1.0, "g", 1.5e-8), "1.000000000 ± 0.000000030 g"), (exact(1234567.8, "A.min"), "1.23457e+06 A·min"),
        (known(1.0, "g", 1.5e-9), "(1 ± 3e-09) g"), (exact(0.5, "1"), "0.5"), (known(0.5, "1", 0.05), "0.50 ± 0.10"),
        (known(50.0, "mm", 25.0), "50 ± 50 mm"),
    ],
)  # fmt: skip
def test_a_figure_is_shown_to_two_digits_of_its_uncertainty(quantity: Measured, shown: str) -> None:
    assert show(quantity) == shown


def test_a_figure_is_shown_in_the_unit_asked_for() -> None:
    assert show(known(1.0, "in", 0.01), "mm") == "25.40 ± 0.51 mm"


def test_what_was_found_on_the_way_has_three_digits() -> None:
    assert [three_digits(value) for value in (0.012345, 999.4, 1000.0, 12345.0)] == ["0.0123", "999", "1000", "12300"]
    assert show_found(exact(12345.0, "mm2")) == "12300 mm²"
    assert show_found(exact(0.5, "1")) == "0.5"
    assert show_found(known(12.34567, "mm", 0.0617)) == "12.35 ± 0.12 mm"


@pytest.mark.parametrize(
    ("code", "pretty"),
    [("mm2", "mm²"), ("cm3", "cm³"), ("um", "µm"), ("uin", "µin"), ("A.min", "A·min"), ("1", ""), ("%", "%"),
     ("A.h/in2/0.0001in", "A.h/in2/0.0001in")],
)  # fmt: skip
def test_units_read_as_people_write_them(code: str, pretty: str) -> None:
    assert pretty_unit(code) == pretty


def test_a_page_parses_with_the_spellings_of_one_kind() -> None:
    lengths = spellings("length")
    assert lengths["inches"] == lengths["in"] == pytest.approx(0.0254)
    assert "g" not in lengths
