"""What lies round a part is counted without the part."""

from typing import Any

import numpy as np
import pytest

from areakit.imaging.one_part import _undecided_mm2


class Flat:
    """A view in which a pixel is a millimetre."""

    def in_sheet(self, ring: Any) -> Any:
        return np.asarray(ring, dtype=float)


def square(half: float) -> Any:
    return np.array([[-half, -half], [half, -half], [half, half], [-half, half]])


def test_ground_all_round_a_part_is_counted_without_the_part() -> None:
    view: Any = Flat()
    ((whole, _),) = _undecided_mm2(view, (square(10.0),))
    ((beside, point),) = _undecided_mm2(view, (square(10.0),), without=square(6.0))
    assert whole == pytest.approx(400.0)
    assert beside == pytest.approx(400.0 - 144.0)
    assert np.abs(point).max() > 6.0
    assert _undecided_mm2(view, (square(5.0),), without=square(6.0)) == []
