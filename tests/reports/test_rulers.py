"""Figures along the edges of drawings."""

import re

import pytest

from areakit.reports.drawing import ruler_figures, ruler_step
from areakit.reports.job_facts import MarkFacts
from areakit.reports.job_page import outline_svg


@pytest.mark.parametrize(
    ("least", "step"), [(1.0, 1.0), (1.01, 2.0), (2.1, 5.0), (5.1, 10.0), (0.07, 0.1), (70.0, 100.0)]
)
def test_figures_stand_at_ones_twos_and_fives(least: float, step: float) -> None:
    assert ruler_step(least) == pytest.approx(step)


def test_figures_are_the_multiples_inside() -> None:
    assert ruler_figures(-12.0, 21.0, 10.0) == [-10.0, 0.0, 10.0, 20.0]
    assert ruler_figures(10.0, 20.0, 10.0) == [10.0, 20.0]


def test_a_mark_lies_where_the_figures_of_the_job_page_say() -> None:
    ring = ((40.0, 50.0), (90.0, 50.0), (90.0, 90.0), (40.0, 90.0))
    mark = MarkFacts(sign="D1", words="blister", points=((60.0, 70.0),), defect=True)
    text = outline_svg((ring,), (mark,))
    x, y = (float(v) for v in re.search(r'circle cx="([\d.-]+)" cy="([\d.-]+)"', text).groups())
    figures = re.findall(r'<text x="([\d.-]+)" y="([\d.-]+)"[^>]*text-anchor="(middle|end)"[^>]*>([\d.-]+)<', text)
    across = {float(word): float(at) for at, _, anchor, word in figures if anchor == "middle"}
    up = {float(word): float(at) for _, at, anchor, word in figures if anchor == "end"}
    assert across[60.0] == pytest.approx(x)
    assert up[70.0] == pytest.approx(y, abs=0.6)
