"""What is worked on one flat face has no place on a part of another form, or of several."""

from typing import Any

import pytest

from areakit.errors import RangeError
from areakit.geometry.features import Dome, Rim
from areakit.geometry.forms.words import read_form
from areakit.geometry.part import Part
from areakit.geometry.regions import FormRegion
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import placed_region, typed_shape
from areakit.geometry.surface import plated_surface
from areakit.geometry.unseen import relief_from_coupon
from areakit.uncertainty import exact

OUTLINE = typed_shape(read_shape("rectangle 60 x 2 mm")).outline
WORKED = {
    "a dome": {"dome": Dome(height=exact(2.0, "mm"), sides=frozenset({"front"}))},
    "a rim": {"rim": Rim(width=exact(1.0, "mm"), height=exact(0.3, "mm"))},
    "a bend": {"bend_radius": exact(9.0, "mm")},
    "relief": {"relief": {"front": relief_from_coupon(1.1, 0.02)}},
}
STEM = FormRegion(
    region=placed_region(read_shape("rectangle 40 x 2 mm, at 10 0 mm")), form=read_form("round, ends flat"),
    thickness=None, edge_mm=0.1, text="form round, ends flat",
)  # fmt: skip


@pytest.mark.parametrize("named", WORKED)
def test_a_part_of_another_form_refuses_it_by_name(named: str) -> None:
    worked: dict[str, Any] = WORKED[named]
    part = Part(outline=OUTLINE, thickness=None, faces="all", form=read_form("round, ends flat"), **worked)
    with pytest.raises(RangeError, match=f"A part of the form round cannot have {named} here"):
        plated_surface(part)


@pytest.mark.parametrize("named", WORKED)
def test_a_part_of_several_forms_refuses_it_by_name(named: str) -> None:
    worked: dict[str, Any] = WORKED[named]
    part = Part(outline=OUTLINE, thickness=exact(1.0, "mm"), faces="all", regions=(STEM,), **worked)
    with pytest.raises(RangeError, match=f"regions of several forms cannot have {named} here"):
        plated_surface(part)


def test_a_significant_surface_is_refused_on_another_form_and_taken_on_several() -> None:
    place = placed_region(read_shape("rectangle 5 x 1 mm, at -22 0 mm"))
    round_part = Part(outline=OUTLINE, thickness=None, form=read_form("round, ends flat"), significant=place)
    with pytest.raises(RangeError, match="cannot have a significant surface here"):
        plated_surface(round_part)
    joined = Part(outline=OUTLINE, thickness=exact(1.0, "mm"), faces="all", regions=(STEM,), significant=place)
    found = plated_surface(joined).significant
    assert found is not None
    assert found.value == pytest.approx(5.0)
