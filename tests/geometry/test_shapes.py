import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areakit.errors import AreakitError, InputError, OutlineInvalid, RangeError, UnitError
from areakit.geometry.shape_text import SHAPES, read_shape
from areakit.geometry.shapes import TypedShape, placed_region, typed_shape

sizes = st.floats(1.0, 300.0)


def shape(text: str, *, plus: tuple[str, ...] = (), minus: tuple[str, ...] = ()) -> TypedShape:
    return typed_shape(
        read_shape(text),
        plus=[read_shape(t, tag=f"plus {i} ") for i, t in enumerate(plus)],
        minus=[read_shape(t, tag=f"minus {i} ") for i, t in enumerate(minus)],
    )


def test_the_perimeter_of_an_oval_is_that_of_the_elliptic_integral() -> None:
    from scipy.special import ellipe

    oval = shape("oval 30 x 20 mm").outline
    assert oval.area.value == pytest.approx(math.pi * 150, rel=1e-9)
    assert oval.perimeter_outer.value == pytest.approx(4 * 15 * ellipe(1 - (10 / 15) ** 2), rel=3e-6)


@pytest.mark.parametrize("sides", [3, 4, 5, 8, 12])
def test_a_regular_polygon_has_n_tan_pi_over_n_times_the_square_of_its_inner_radius(sides: int) -> None:
    found = shape(f"polygon 10 mm, sides {sides}").outline
    assert found.area.value == pytest.approx(sides * math.tan(math.pi / sides) * 25)
    assert found.perimeter_outer.value == pytest.approx(2 * sides * math.tan(math.pi / sides) * 5)


def test_every_dimension_carries_its_tolerance_and_area_and_perimeter_move_together() -> None:
    outline = shape("rectangle 40 ± 0.2 mm x 20 ± 0.1 mm").outline
    a, b = 0.2 / math.sqrt(3), 0.1 / math.sqrt(3)
    assert outline.area.budget == pytest.approx({"rectangle length": 20 * a, "rectangle width": 40 * b})
    assert outline.perimeter_outer.budget == pytest.approx({"rectangle length": 2 * a, "rectangle width": 2 * b})
    assert not outline.flags


def test_a_hole_moves_area_and_hole_perimeter_in_opposite_ways() -> None:
    outline = shape("disk 30 mm ± 0.1 mm", minus=("disk 6 mm ± 0.2 mm",)).outline
    spread = 0.2 / math.sqrt(3)
    assert outline.area.budget["minus 0 disk diameter"] == pytest.approx(-math.pi * 3 * spread, rel=1e-4)
    assert outline.perimeter_holes.budget["minus 0 disk diameter"] == pytest.approx(math.pi * spread, rel=1e-4)


def test_a_missing_tolerance_is_said() -> None:
    assert [flag.code for flag in shape("rectangle 40 ± 0.2 mm x 20 mm").outline.flags] == ["NO_TOLERANCE"]


@given(outer=st.floats(20.0, 300.0), share=st.floats(0.05, 0.45))
@settings(max_examples=30, deadline=None)
def test_the_area_of_a_difference_is_the_difference_of_areas(outer: float, share: float) -> None:
    hole = outer * share
    whole, cut = shape(f"disk {outer} mm").outline, shape(f"square {hole} mm").outline
    both = shape(f"disk {outer} mm", minus=(f"square {hole} mm",)).outline
    assert both.area.value == pytest.approx(whole.area.value - cut.area.value, rel=1e-9)
    assert both.perimeter_holes.value == pytest.approx(cut.perimeter_outer.value, rel=1e-9)


@given(length=sizes, width=sizes, factor=st.floats(0.1, 10.0))
@settings(max_examples=30, deadline=None)
def test_scaling_multiplies_area_by_the_square_and_perimeter_by_the_factor(
    length: float, width: float, factor: float
) -> None:
    one = shape(f"oval {length} x {width} mm").outline
    other = shape(f"oval {length * factor} x {width * factor} mm").outline
    assert other.area.value == pytest.approx(one.area.value * factor**2, rel=1e-9)
    assert other.perimeter_outer.value == pytest.approx(one.perimeter_outer.value * factor, rel=1e-9)


@given(turn=st.floats(-180, 180), x=st.floats(-50, 50), y=st.floats(-50, 50))
@settings(max_examples=30, deadline=None)
def test_place_and_turn_change_nothing(turn: float, x: float, y: float) -> None:
    here = shape("slot 30 x 10 mm").outline
    there = shape(f"slot 30 x 10 mm, at {x:.6f} {y:.6f} mm, turn {turn:.6f}").outline
    assert there.area.value == pytest.approx(here.area.value, rel=1e-9)
    assert there.perimeter_outer.value == pytest.approx(here.perimeter_outer.value, rel=1e-9)


def test_copies_on_a_pitch_circle_are_all_cut() -> None:
    outline = shape("disk 60 mm", minus=("disk 5 mm, count 6, circle 40 mm",)).outline
    assert len(outline.polygon.interiors) == 6
    assert outline.area.value == pytest.approx(math.pi * (900 - 6 * 6.25), rel=1e-9)


def test_plus_joins_overlapping_shapes_once() -> None:
    cross = shape("rectangle 40 x 10 mm", plus=("rectangle 10 x 40 mm",)).outline
    assert cross.area.value == pytest.approx(700)
    assert cross.perimeter_outer.value == pytest.approx(160)


@pytest.mark.parametrize(
    ("text", "error", "words"),
    [
        ("blob 3 mm", InputError, "not a shape"),
        ("disk", InputError, "needs 1 dimension"),
        ("disk 3 mm x 4 mm", InputError, "needs 1 dimension"),
        ("disk 3", UnitError, "no unit"),
        ("disk 0 mm", RangeError, "outside 0"),
        ("disk -3 mm", RangeError, "outside 0"),
        ("disk nan mm", UnitError, "not one plain number"),
        ("disk 1e9 mm", RangeError, "outside 0"),
        ("disk 3 mm ± 4 mm", RangeError, "less than nothing"),
        ("disk 3 mm ± 3 mm", RangeError, "is not smaller than"),
        ("ring 10 x 10 mm", RangeError, "not below"),
        ("ring 10 x 12 mm", RangeError, "not below"),
        ("slot 10 x 12 mm", RangeError, "not below"),
        ("rectangle 10 x 12 mm, corner 6 mm", RangeError, "does not fit"),
        ("polygon 10 mm, sides 2", InputError, "sides from 3"),
        ("disk 3 mm, count 4", InputError, "pitch circle"),
        ("disk 3 mm, colour red", InputError, "Options are"),
        ("disk 3 mm, at 4 mm", InputError, "not a place"),
        ("disk 3 mm, at 4 nan mm", InputError, "'nan' is not a number for place"),
        ("disk 3 mm, turn right", InputError, "'right' is not a number for turn"),
        ("disk " + "3" * 300 + " mm", InputError, "too long"),
        ("disk 3 mm, count 4, circle 40 mm", OutlineInvalid, "4 separate pieces"),
    ],
)
def test_nonsense_gets_one_sentence(text: str, error: type[AreakitError], words: str) -> None:
    with pytest.raises(error, match=words) as caught:
        shape(text)
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("base", "minus", "words"),
    [
        ("disk 30 mm", "disk 5 mm, at 40 0 mm", "outside the part"),
        ("disk 30 mm", "disk 40 mm", "leave nothing"),
        ("disk 30 mm", "rectangle 40 x 2 mm", "2 separate pieces"),
        ("disk 60 mm", "disk 5 mm, count 6, circle 8 mm", "overlap"),
        ("disk 60 mm", "cylinder 5 x 8 mm", "is a solid"),
        ("sphere 60 mm", "disk 5 mm", "Nothing can be cut"),
    ],
)
def test_cuts_that_make_no_sense_are_refused(base: str, minus: str, words: str) -> None:
    with pytest.raises(AreakitError, match=words):
        shape(base, minus=(minus,))


def test_a_mask_is_a_plane_shape_with_all_its_copies() -> None:
    region = placed_region(read_shape("disk 4 mm, count 3, circle 20 mm"))
    assert region.area == pytest.approx(3 * math.pi * 4, rel=1e-3)
    with pytest.raises(InputError, match="A sphere is a solid") as caught:
        placed_region(read_shape("sphere 4 mm"))
    assert "plane shape" in caught.value.remedy


@given(name=st.sampled_from(sorted(SHAPES)), text=st.text(max_size=60))
@settings(max_examples=200, deadline=None)
def test_no_text_escapes_as_a_defect(name: str, text: str) -> None:
    with contextlib.suppress(AreakitError):
        typed_shape(read_shape(f"{name} {text}"))
