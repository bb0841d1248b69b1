"""How many pieces, how thick and how small: on both sides of each limit."""

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from areakit.errors import OutlineNotFound, RangeError
from areakit.imaging import outlines
from areakit.imaging.one_part import _polygon
from areakit.uncertainty import Measured


def pieces(count: int, area_px: float = 100.0) -> Any:
    return [SimpleNamespace(area_px=area_px)] * count


def test_three_hundred_pieces_are_measured_and_one_more_is_not() -> None:
    outlines._check_count(pieces(300))
    with pytest.raises(OutlineNotFound, match="301 separate pieces") as refused:
        outlines._check_count(pieces(301))
    assert refused.value.code == "TOO_MANY_PARTS"


def test_a_stain_is_smaller_than_a_fiftieth_of_the_largest() -> None:
    outlines._check_count(pieces(1) + pieces(400, area_px=1.9))
    with pytest.raises(OutlineNotFound):
        outlines._check_count(pieces(1) + pieces(400, area_px=2.1))


def test_a_part_reaches_less_than_four_tenths_of_the_way_to_the_camera() -> None:
    scale: Any = SimpleNamespace(camera=SimpleNamespace(height_mm=100.0))
    outlines._check_thickness(Measured(value=39.0, unit="mm"), scale)
    with pytest.raises(RangeError, match="41 mm cannot be"):
        outlines._check_thickness(Measured(value=41.0, unit="mm"), scale)


@dataclass(frozen=True)
class Piece:
    """A part of an area, in mm2."""

    outline: Any
    region: int = 0


@pytest.mark.parametrize(("area_mm2", "kept"), [(1.9, 0), (2.1, 1)])
def test_a_part_has_two_square_millimetres(monkeypatch: pytest.MonkeyPatch, area_mm2: float, kept: int) -> None:
    found = Piece(outline=SimpleNamespace(area=SimpleNamespace(value=area_mm2), flags=()))
    monkeypatch.setattr(outlines, "part_of", lambda view, region, thickness: found)
    view: Any = SimpleNamespace(small=SimpleNamespace(factor=1))
    region: Any = SimpleNamespace(area_px=500.0)
    parts, failures = outlines._measured([(view, region)], None)
    assert (len(parts), failures) == (kept, [])


def test_a_mended_outline_keeps_holes_from_a_twentieth_of_a_square_millimetre_on() -> None:
    """Its outer ring crosses itself by a hair, as noise makes it."""
    outer = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 5.0], [0.01, 5.02], [-0.01, 5.01]])

    def square(x: float, area_mm2: float) -> Any:
        side = area_mm2**0.5
        return np.array([[x, 3.0], [x + side, 3.0], [x + side, 3.0 + side], [x, 3.0 + side]])

    mended = _polygon((outer, square(3.0, 0.045), square(6.0, 0.055)))
    assert mended.is_valid
    assert len(mended.interiors) == 1
