"""Places too narrow for an outline: taken off by their light, told, and covered; wide ones are left to the outline."""

import pytest
from shapely.geometry import Polygon, box

from areakit.imaging.checks.slits import BY_LIGHT, BY_LIGHT_SPREAD, LEAST_SHARE, Slits
from areakit.imaging.outlines import FoundParts
from tests.imaging.drawn_photos import BLOCK, found_in, scene_of


def comb(width_mm: float, *, count: int = 12, opened: bool = True) -> Polygon:
    """The block with slits across it."""
    shape = BLOCK
    for i in range(count):
        x = -30.0 + 60.0 * i / (count - 1)
        shape = shape.difference(box(x - width_mm / 2, -21.0 if opened else -12.0, x + width_mm / 2, 12.0))
    return shape


def told(found: FoundParts) -> bool:
    return "NARROW_SLITS" in {flag.code for flag in found.parts[0].outline.flags}


@pytest.mark.parametrize("opened", [True, False])
@pytest.mark.parametrize("width_mm", [0.3, 0.5])
def test_slits_that_cannot_be_followed_are_told_and_covered(width_mm: float, opened: bool) -> None:
    shape = comb(width_mm, opened=opened)
    found = found_in(scene_of(shape))
    area = found.parts[0].outline.area
    assert told(found)
    assert abs(area.value - shape.area) < area.expanded_uncertainty
    assert area.budget["narrow slits"] < 0.03 * shape.area


@pytest.mark.parametrize("shape", [BLOCK, comb(3.0)], ids=["no slits", "wide slits"])
def test_what_the_outline_follows_is_not_taken_off(shape: Polygon) -> None:
    found = found_in(scene_of(shape))
    assert not told(found)
    assert found.parts[0].outline.area.value == pytest.approx(shape.area, rel=0.003)


def test_slits_count_from_three_thousandths_of_the_part_on() -> None:
    few, many = Slits(area_mm2=2.9, place_mm=(0.0, 0.0)), Slits(area_mm2=3.1, place_mm=(0.0, 0.0))
    assert few.taken_off(1000.0) == (0.0, 1.45)
    assert many.taken_off(1000.0)[0] == 3.1
    assert pytest.approx(0.003) == LEAST_SHARE
    assert many.taken_off(1000.0)[1] == pytest.approx(3.1 * BY_LIGHT_SPREAD / BY_LIGHT)
