"""Rounded edges by closed forms: a disc with a full rounding is two flat discs and the outer half of a torus."""

import math

import numpy as np
import pytest

from areakit.errors import InputError, RangeError
from areakit.geometry.edge_forms import SHARE, EdgeForm, broken_inset, read_edge_form
from areakit.geometry.part import Part, thickness_mm
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import typed_shape
from areakit.geometry.surface import Surface, plated_surface
from areakit.geometry.unseen import tapered
from areakit.uncertainty import Measured, exact

RADIUS, THICK = 15.0, 4.0


def disc(form: str, faces: str = "all", shape: str = "disk 30 mm") -> Surface:
    outline = typed_shape(read_shape(shape)).outline
    return plated_surface(
        Part(outline=outline, thickness=thickness_mm(THICK, 0.1), faces=faces, edge_form=read_edge_form(form))  # type: ignore[arg-type]
    )


def half_torus(radius: float, r: float) -> float:
    """Outer half of the surface of a torus whose outermost circle has a radius (second theorem of Pappus)."""
    return math.pi * r * 2.0 * math.pi * (radius - r + 2.0 * r / math.pi)


@pytest.mark.parametrize("r", [0.5, 1.0, 2.0])
def test_a_rounded_disc_is_flats_a_wall_and_half_a_torus(r: float) -> None:
    flats, wall = 2.0 * math.pi * (RADIUS - r) ** 2, 2.0 * math.pi * RADIUS * (THICK - 2.0 * r)
    found = disc(f"rounded {r} mm")
    assert found.plated.value == pytest.approx(flats + wall + half_torus(RADIUS, r), rel=1e-4)
    assert found.side_wall is not None
    assert found.side_wall.value == pytest.approx(wall, rel=1e-5, abs=1e-6)


def test_a_face_goes_to_the_widest_line() -> None:
    one = disc("rounded 1 mm", "one").plated.value
    assert one == pytest.approx(math.pi * 14.0**2 + half_torus(RADIUS, 1.0) / 2.0, rel=1e-4)
    assert disc("sharp", "one").plated.value == pytest.approx(math.pi * RADIUS**2, rel=1e-4)


def test_holes_are_rounded_too() -> None:
    """A ring that is all rounding is a torus: 4 pi² r R (second theorem of Pappus)."""
    assert disc("rounded 2 mm", shape="ring 30 x 22 mm").plated.value == pytest.approx(
        4.0 * math.pi**2 * 2.0 * 13.0, rel=2e-3
    )


def test_an_unknown_form_is_anything_from_sharp_to_fully_rounded() -> None:
    unknown, sharp, full = (disc(form).plated for form in ("unknown", "sharp", "rounded 2 mm"))
    assert unknown.value == pytest.approx((sharp.value + full.value) / 2.0, rel=1e-3)
    half_width = (sharp.value - full.value) / 2.0
    assert abs(unknown.budget[SHARE]) == pytest.approx(half_width / math.sqrt(3.0), rel=0.02)
    assert SHARE not in sharp.budget


def test_a_radius_with_a_limit_carries_it() -> None:
    (plain, open_) = (disc(form).plated for form in ("rounded 1 mm", "rounded 1 ± 0.3 mm"))
    assert plain.value == open_.value
    by_hand = (disc("rounded 1.3 mm").plated.value - disc("rounded 0.7 mm").plated.value) / 2.0
    assert open_.budget[SHARE] == pytest.approx(by_hand / math.sqrt(3.0), rel=0.01)
    assert plain.budget.get(SHARE, 0.0) == 0.0


def test_the_inset_of_each_form() -> None:
    thick = Measured(value=2.0, unit="mm")
    assert read_edge_form("sharp").inset(thick).value == 0.0
    assert read_edge_form("rounded 0.4 mm").inset(thick).value == pytest.approx(0.4)
    unknown = read_edge_form("unknown").inset(thick)
    assert (unknown.value, unknown.standard_uncertainty) == pytest.approx((0.5, 0.5 / math.sqrt(3.0)))


@pytest.mark.parametrize("text", ["sharp", "unknown", "rounded 0.5 mm", "rounded 0.5 ± 0.1 mm", "rounded 0.02 in"])
def test_a_form_is_read_back_from_its_text(text: str) -> None:
    form = read_edge_form(text)
    again = read_edge_form(form.text)
    assert again.name == form.name
    if form.radius is not None and again.radius is not None:
        assert again.radius.value == pytest.approx(form.radius.value, rel=1e-5)
        assert again.radius.standard_uncertainty == pytest.approx(form.radius.standard_uncertainty, rel=1e-5)


@pytest.mark.parametrize("text", ["blunt", "rounded", "sharp 1 mm", "unknown 1 mm", "rounded -1 mm", "rounded 0 mm",
                                  "rounded 1 ± 1 mm", "rounded 1 g", ""])  # fmt: skip
def test_what_is_no_form_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_edge_form(text)


def test_roundings_must_fit_the_part() -> None:
    assert disc("rounded 2 mm").plated.value > 0.0
    with pytest.raises(RangeError, match=r"rounded by 2\.01 mm .* 4 mm thick") as refusal:
        disc("rounded 2.01 mm")
    assert "half the thickness, 2 mm" in refusal.value.remedy
    with pytest.raises(RangeError, match="leave nothing of the face"):
        disc("rounded 2 mm", shape="rectangle 30 x 3.9 mm")
    outline, rounded = typed_shape(read_shape("disk 30 mm")).outline, read_edge_form("rounded 1 mm")
    with pytest.raises(RangeError, match="without the thickness"):
        Part(outline=outline, thickness=None, edge_form=rounded)
    assert Part(outline=outline, thickness=None, edge_form=EdgeForm(name="unknown")).thickness is None
    thick = thickness_mm(4.0)
    lean = tapered(outline, thick, angle_deg=Measured(value=3.0, unit="deg"))
    with pytest.raises(RangeError, match="flat part with upright walls"):
        Part(outline=outline, thickness=thick, taper=lean, edge_form=rounded)


@pytest.mark.parametrize(("thickness", "most"), [(4.0, 0.6), (1.2, 0.6), (0.4, 0.2)])
def test_an_edge_of_which_nobody_speaks_is_broken_by_up_to_six_tenths_of_a_millimetre(
    thickness: float, most: float
) -> None:
    """From sharp to a struck rim, or half of a thin part (common practice); sharp is likeliest where a rim is seen."""
    rng = np.random.default_rng(7)
    for seen, drawn in ((False, rng.uniform(0.0, most, 200_000)), (True, rng.triangular(0.0, 0.0, most, 200_000))):
        inset = broken_inset(exact(thickness, "mm"), seen=seen)
        assert inset.value == pytest.approx(drawn.mean(), rel=0.01)
        assert inset.standard_uncertainty == pytest.approx(drawn.std(), rel=0.01)
