"""A typed figure whose ± is larger than itself is refused wherever it is typed, with the number and what to do."""

import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.errors import InputError, RangeError
from areakit.geometry.part import thickness_mm
from areakit.units import parse_with_tolerance

PLAN = ("plan", "--process", "nickel-gold-brush", "--layer", "nickel=3 um", "--layer", "gold=0.5 um")
FOIL = "demo_images/foil-shape.jpg"


@pytest.mark.parametrize(
    ("text", "kind"), [("1 mm ± 2 mm", "length"), ("10 cm2 +/- 10.1 cm2", "area"), ("5% ± 6%", "ratio")]
)
def test_less_than_nothing_is_refused(text: str, kind: str) -> None:
    with pytest.raises(RangeError, match="less than nothing") as refusal:
        parse_with_tolerance(text, kind)
    assert text in refusal.value.message
    assert refusal.value.remedy


@pytest.mark.parametrize(("text", "kind"), [("1 mm ± 1 mm", "length"), ("0 mm ± 1 mm", "length"), ("2° ± 5°", "angle")])
def test_what_may_be_nothing_or_on_either_side_is_read(text: str, kind: str) -> None:
    value, tolerance = parse_with_tolerance(text, kind)
    assert tolerance is not None
    assert value >= 0.0


@pytest.mark.parametrize("tolerance", [1.0, 1.2])
def test_a_thickness_that_may_be_nothing_is_refused(tolerance: float) -> None:
    with pytest.raises(RangeError, match="may be nothing or less") as refusal:
        thickness_mm(1.0, tolerance)
    assert f"{tolerance:g}" in refusal.value.message


@pytest.mark.parametrize(
    "arguments",
    [
        ("measure", FOIL, "--thickness", "1 mm ± 2 mm"),
        ("measure", FOIL, "--thickness", "1 ± 1 mm"),
        (*PLAN, "--area", "10 cm2 ± 11 cm2"),
        (*PLAN, "--area", "10 cm2", "--area-uncertainty", "11 cm2"),
        (*PLAN, "--area", "10 cm2", "--area-uncertainty", "110%"),
        (*PLAN[:5], "--area", "10 cm2", "--efficiency", "gold=handbook", "--layer", "gold=3 um ± 4 um"),
        (*PLAN, "--area", "10 cm2", "--efficiency", "gold=72% ± 80%"),
        ("surface", "--shape", "disk 20 mm", "--thickness", "1 ± 2 mm"),
        ("surface", "--shape", "disk 20 ± 21 mm", "--thickness", "1 mm"),
        ("deposit", "--area", "10 cm2", "--metal", "gold", "--charge", "3.2 ± 5 A.min", "--efficiency", "handbook"),
        ("deposit", "--area", "10 cm2", "--metal", "gold", "--weighed", "5 ± 6 mg"),
        ("check", "--metal", "gold", "--charge", "3 A.min", "--faces", "one", "--area", "10 cm2 ± 120%"),
    ],
    ids=lambda arguments: " ".join(arguments[:2] + arguments[-2:]),
)
def test_every_command_refuses_it_in_one_sentence(arguments: tuple[str, ...]) -> None:
    result = CliRunner().invoke(group, list(arguments))
    error = result.exception
    assert isinstance(error, InputError), result.output
    assert "nothing" in error.message or "not smaller than" in error.message
    assert error.remedy
