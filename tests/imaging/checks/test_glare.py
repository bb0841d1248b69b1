"""A lamp's reflection on the sheet that touches a part: refused where it was taken for metal, else let pass."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from shapely.geometry import Point

from areakit.errors import OutlineNotFound
from areakit.imaging.glare import like_glare, unlike_metal
from areakit.synthetic import Metal, Patch, Print
from areakit.synthetic.scene import BLUE_FIELD_SRGB
from areakit.synthetic.sheet_print import linear
from tests.imaging.drawn_photos import BLOCK, MIDDLE_MM, found_in, scene_of

Singles = npt.NDArray[np.float32]
X, Y = MIDDLE_MM
SHEET = np.array(linear(BLUE_FIELD_SRGB), dtype=np.float32)


def glare(beside_mm: float) -> Patch:
    """A soft white spot 9 mm in radius, so far from the middle of the block, on its long side."""
    spot = Point(X, Y + beside_mm).buffer(9.0)
    return Patch(polygon=spot, colour=(0.5, 0.5, 0.5), opacity=0.0, softness_mm=1.0, on=None)


def test_glare_that_was_taken_for_metal_is_refused() -> None:
    with pytest.raises(OutlineNotFound) as refused:
        found_in(scene_of(BLOCK, patches=(glare(22.0),)))
    assert refused.value.code == "GLARE_AT_EDGE"


def test_light_of_the_metals_colour_that_was_taken_for_metal_is_refused() -> None:
    """A brass-coloured wall mirrored in the gloss of pale paper, beside brass."""
    brass = Metal(name="brass", reflectance=(0.9, 0.79, 0.45), brightness=0.6)
    light = replace(glare(22.0), colour=(0.64, 0.56, 0.32), softness_mm=1.7)
    pale = Print(field_srgb=None, paper_srgb=(200, 218, 236))
    with pytest.raises(OutlineNotFound) as refused:
        found_in(scene_of(BLOCK, patches=(light,), metal=brass, print=pale))
    assert refused.value.code == "GLARE_AT_EDGE"


def test_glare_clear_of_the_part_changes_nothing() -> None:
    found = found_in(scene_of(BLOCK, patches=(glare(42.0),)))
    area = max((part.outline.area for part in found.parts), key=lambda area: area.value)
    assert area.value == pytest.approx(BLOCK.area, rel=0.003)


STEEL = np.array([0.56, 0.56, 0.56], dtype=np.float32)
GOLD = np.array([0.8, 0.62, 0.3], dtype=np.float32)


def told(added: tuple[float, float, float], metal: Singles = STEEL) -> bool:
    inside = np.array([SHEET + np.array(added, dtype=np.float32)])
    return bool(like_glare(inside, SHEET[None], metal)[0])


@pytest.mark.parametrize(("added", "seen"), [(0.02, False), (0.05, True)])
def test_glare_adds_light(added: float, seen: bool) -> None:
    assert told((added, added, added)) == seen


@pytest.mark.parametrize(("blue", "seen"), [(0.08, False), (0.13, True)])
def test_glare_is_white(blue: float, seen: bool) -> None:
    assert told((0.2, 0.2, blue)) == seen


@pytest.mark.parametrize(("blue", "seen"), [(0.035, False), (0.05, True), (0.25, False)])
def test_or_of_the_metals_colour(blue: float, seen: bool) -> None:
    """Gold's own blue beside its red is 0.375: half of that is enough, and twice its green is too much."""
    assert told((0.2, 0.155 if blue < 0.2 else 0.05, blue), GOLD) == seen


@pytest.mark.parametrize(("blue", "seen"), [(0.95, False), (0.99, True)])
def test_a_channel_at_its_end_does_not_count(blue: float, seen: bool) -> None:
    inside = np.array([[0.6, 0.7, blue]], dtype=np.float32)
    outside = np.array([[0.1, 0.2, 0.9]], dtype=np.float32)
    assert bool(like_glare(inside, outside, STEEL)[0]) == seen


def test_metal_on_a_blue_sheet_is_no_glare() -> None:
    for metal in ((0.57, 0.56, 0.55), (0.9, 0.9, 0.88), (0.9, 0.65, 0.3)):
        inside = np.array([metal], dtype=np.float32)
        assert not bool(like_glare(inside, SHEET[None], inside[0])[0])


@pytest.mark.parametrize(("sheets", "seen"), [(0.05, False), (0.08, False), (0.2, True)])
def test_glare_has_more_of_the_sheets_hue_than_the_metal(sheets: float, seen: bool) -> None:
    """Silver, and silver with some of the sheet's colour in it, as white light on the sheet has."""
    silver = np.array([0.6, 0.6, 0.58], dtype=np.float32)
    inside = (1.0 - sheets) * silver + sheets * SHEET
    assert bool(unlike_metal(inside[None].astype(np.float32), silver)[0]) == seen


@pytest.mark.parametrize("shade", [0.7, 1.4])
def test_metal_in_other_light_is_still_metal(shade: float) -> None:
    brass = np.array([0.5, 0.42, 0.25], dtype=np.float32)
    assert not bool(unlike_metal(np.float32(shade) * brass[None], brass)[0])


@pytest.mark.parametrize(
    ("inside", "metal", "seen"),
    [((0.002, 0.002, 0.004), (0.003, 0.003, 0.003), False), ((0.02, 0.02, 0.03), (0.02, 0.02, 0.02), True)],
)
def test_hue_says_nothing_in_light_of_less_than_two_hundredths(
    inside: tuple[float, ...], metal: tuple[float, ...], seen: bool
) -> None:
    """Twice the blue of 0.002 is noise; half as much again of 0.02 is not."""
    assert bool(unlike_metal(np.array([inside], np.float32), np.array(metal, np.float32))[0]) == seen
