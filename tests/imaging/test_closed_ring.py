"""Stretches of a closed ring, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from areakit.imaging.closed_ring import median, stretches_with


@pytest.mark.parametrize(
    ("chosen", "told", "kept"),
    [
        ("110011011", "000000010", "110000011"),  # the stretch over the end is one with that at the start
        ("110011010", "000000010", "000000010"),
        ("110011011", "100000000", "110000011"),
        ("111", "010", "111"),
        ("111", "000", "000"),
        ("000", "010", "000"),
    ],
)
def test_only_stretches_with_a_told_point_are_kept(chosen: str, told: str, kept: str) -> None:
    flags = [np.array([one == "1" for one in text]) for text in (chosen, told)]
    found = "".join("01"[int(one)] for one in stretches_with(*flags))
    assert found == kept


@pytest.mark.parametrize("count", [1, 2, 7, 400, 401])
def test_a_median_is_numpys(count: int) -> None:
    values = np.random.default_rng(count).normal(size=count)
    assert median(values) == np.median(values)
