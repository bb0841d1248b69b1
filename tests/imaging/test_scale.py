"""How far a print may be off, on both sides of what is let pass."""

from math import hypot

import pytest

from areakit.errors import RangeError
from areakit.imaging.scale import UNVERIFIED, CheckReading


@pytest.mark.parametrize(("ratio", "refused"), [(1.029, False), (1.031, True), (0.971, False), (0.969, True)])
def test_check_lengths_may_be_three_hundredths_off(ratio: float, refused: bool) -> None:
    reading = CheckReading(read_mm=(150.0 * ratio, 90.0))
    if refused:
        with pytest.raises(RangeError, match="more than 3 % off"):
            reading.sheet_scale((150.0, 90.0))
    else:
        assert reading.sheet_scale((150.0, 90.0)).x == pytest.approx(ratio)


def test_a_print_that_nobody_measured_leaves_one_percent_along_each_axis() -> None:
    """Common practice, no source: office printers keep to about 1 %; so an area is open by 1.4 %."""
    (shares,) = UNVERIFIED.shares.values()
    assert hypot(*shares) == pytest.approx(0.01414, rel=0.01)
    assert shares[0] == shares[1]
