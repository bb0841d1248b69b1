"""What lies round a part is counted without the part, and what mending cuts off of it."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon

from areakit.errors import OutlineNotFound
from areakit.imaging.one_part import _check_whole, _undecided


class Flat:
    """A view in which a pixel is a millimetre."""

    small = SimpleNamespace(to_full=lambda ring: ring)
    sheet = SimpleNamespace(left=0.0, top=0.0)

    def in_sheet(self, ring: Any) -> Any:
        return np.asarray(ring, dtype=float)


def square(half: float) -> Any:
    return np.array([[-half, -half], [half, -half], [half, half], [-half, half]])


def test_ground_all_round_a_part_is_counted_without_the_part() -> None:
    view: Any = Flat()
    (whole,) = _undecided(view, (square(10.0),))
    (beside,) = _undecided(view, (square(10.0),), without=square(6.0))
    assert whole.area_mm2 == pytest.approx(400.0)
    assert beside.area_mm2 == pytest.approx(400.0 - 144.0)
    assert np.abs(beside.point_mm).max() > 6.0
    assert _undecided(view, (square(5.0),), without=square(6.0)) == []


@pytest.mark.parametrize(("left", "refused"), [(0.96, False), (0.94, True)])
def test_mending_an_outline_cuts_off_a_twentieth_of_it_at_the_most(left: float, refused: bool) -> None:
    if not refused:
        _check_whole(Polygon(square(10.0 * left**0.5)), (square(10.0),))
        return
    with pytest.raises(OutlineNotFound, match="6 % of it would be cut off") as why:
        _check_whole(Polygon(square(10.0 * left**0.5)), (square(10.0),))
    assert why.value.code == "OUTLINE_CROSSES_ITSELF"
