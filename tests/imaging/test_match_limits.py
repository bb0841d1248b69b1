"""Which outlines of two photos can be one part, and how far parts may lie from where the others put them."""

from typing import Any

import numpy as np
import pytest

from areakit.imaging import part_match


@pytest.mark.parametrize("figure", range(4))
@pytest.mark.parametrize(("further", "alike"), [(0.92, True), (1.08, False)])
def test_figures_of_one_part_differ_by_five_to_eight_percent(
    monkeypatch: pytest.MonkeyPatch, figure: int, further: float, alike: bool
) -> None:
    """Area, perimeter, length and breadth: 5, 6, 8 and 8 %."""
    monkeypatch.setattr(part_match, "_figures", lambda outline: outline)
    one: Any = np.array([900.0, 130.0, 12.0, 7.0])
    other = one * np.exp(further * np.array([0.05, 0.06, 0.08, 0.08])[figure] * (np.arange(4) == figure))
    assert bool(part_match._alike([one], [other])[0, 0]) == alike


@pytest.mark.parametrize(("off_mm", "found"), [(4.5, True), (5.5, False)])
def test_a_part_lies_within_three_millimetres_and_two_percent_of_its_place(off_mm: float, found: bool) -> None:
    """The parts that lie farthest apart do so by 100 mm: 5 mm."""
    first = np.array([[0.0, 0.0], [100.0, 0.0], [30.0, 40.0]])
    second = first + [[0.0, 0.0], [0.0, 0.0], [0.0, off_mm]]
    assert ((0, 1, 2) in part_match._ways(first, second, np.ones((3, 3), dtype=bool))) == found
