"""A part that covers the field is refused, on both sides of each limit."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from areakit.errors import OutlineNotFound
from areakit.imaging.checks import field
from areakit.imaging.checks.field import check_guard_bare, check_not_filled, hidden_share, strange_share
from areakit.imaging.marks.frame_layout import layouts

PAPER = np.full((20, 3), 0.8)
BLUE = np.array([0.061, 0.17, 0.546])
"""Linear light of sRGB (70, 115, 195), the printed field, by IEC 61966-2-1."""
BRASS = np.array([0.70, 0.56, 0.30])
"""A yellow metal: far from paper in blue light, and never bluer than red. Invented."""


def ground(*colours: np.ndarray) -> np.ndarray:
    return np.array([colours[i % len(colours)] for i in range(20)])


def test_blue_paper_and_their_shade_are_a_sheet() -> None:
    for share in (1.0, 0.7, 1.4):
        assert strange_share(PAPER, ground(BLUE * share)) == 0.0
        assert strange_share(PAPER, ground(PAPER[0] * share)) == 0.0
    assert strange_share(PAPER * 0.3, ground(PAPER[0] * 0.3)) == 0.0, "light that falls off takes both alike"


@pytest.mark.parametrize(("factor", "strange"), [(0.66, 0.0), (0.61, 1.0)])
def test_paper_may_be_darker_by_the_edge_of_a_shadow_only(factor: float, strange: float) -> None:
    assert strange_share(PAPER, ground(PAPER[0] * factor)) == strange


@pytest.mark.parametrize(("times", "strange"), [(2.2, 0.0), (1.8, 1.0)])
def test_blue_is_twice_as_blue_as_it_is_red(times: float, strange: float) -> None:
    assert strange_share(PAPER, ground(np.array([0.2, 0.3, 0.2 * times]))) == strange


@pytest.mark.parametrize(("blues", "strange"), [(1, 0.05), (3, 0.85), (6, 0.7)])
def test_where_a_tenth_is_blue_all_should_be(blues: int, strange: float) -> None:
    """One to six of twenty places are blue, the others as white as paper: metal on a printed field."""
    ground_ = np.array([BLUE] * blues + [PAPER[0]] * (20 - blues))
    assert strange_share(PAPER, ground_) == pytest.approx(strange)


def test_metal_is_strange_and_so_is_a_field_of_two_minds() -> None:
    assert strange_share(PAPER, ground(BRASS)) == 1.0
    assert strange_share(PAPER, ground(BLUE, BLUE, BLUE, BRASS)) == pytest.approx(0.25)
    assert strange_share(PAPER, ground(BLUE, PAPER[0])) == pytest.approx(0.5)


@pytest.mark.parametrize(("light", "hidden"), [(0.36, 0.0), (0.44, 1.0)])
def test_a_black_square_that_is_not_dark_is_hidden(light: float, hidden: float) -> None:
    assert hidden_share(np.full((9, 3), light), PAPER) == hidden


def test_one_thing_at_the_edge_may_take_half_the_field() -> None:
    check_not_filled(49.0, 100.0)
    with pytest.raises(OutlineNotFound, match="51 % of the field") as refused:
        check_not_filled(51.0, 100.0)
    assert refused.value.code == "FIELD_COVERED"
    assert "larger scale sheet" in refused.value.remedy


def guard(usual: float) -> Any:
    """A field whose empty band lies so far from what was learnt from it, and its rest on it."""
    band = np.zeros((40, 40), dtype=bool)
    band[:6] = True
    return SimpleNamespace(distance=np.where(band, usual, 0.0), guard=band)


@pytest.mark.parametrize(
    ("usual", "mark", "refused"), [(1.6, "frame", False), (1.8, "frame", True), (5.0, "coin", False)]
)
def test_an_empty_band_unlike_what_was_learnt_from_it_is_refused(usual: float, mark: str, refused: bool) -> None:
    scale: Any = SimpleNamespace(mark=mark)
    if not refused:
        check_guard_bare(guard(usual), scale)
        return
    with pytest.raises(OutlineNotFound) as why:
        check_guard_bare(guard(usual), scale)
    assert why.value.code == "GUARD_BAND_COVERED"


def printed_scale() -> Any:
    return SimpleNamespace(mark="frame", sheet="A4-r1", sheet_scale=SimpleNamespace(x=1.0, y=1.0))


@pytest.mark.parametrize(("strange", "refused"), [(7, False), (9, True)])
def test_two_fifths_of_the_fields_edge_may_be_covered(
    monkeypatch: pytest.MonkeyPatch, strange: int, refused: bool
) -> None:
    """So many of twenty places are brass, the others paper."""
    rim = np.array([BRASS] * strange + [PAPER[0]] * (20 - strange))
    monkeypatch.setattr(field, "rim_pairs", lambda small, scale, layout: (PAPER, rim))
    monkeypatch.setattr(field, "frame_row", lambda small, scale, layout: (PAPER[:0], PAPER[:0]))
    small: Any = None
    if not refused:
        field.check_field_seen(small, printed_scale())
        return
    with pytest.raises(OutlineNotFound) as why:
        field.check_field_seen(small, printed_scale())
    assert why.value.code == "FIELD_COVERED"


def test_the_field_is_looked_at_between_the_frame_and_what_must_stay_empty(monkeypatch: pytest.MonkeyPatch) -> None:
    """One to two millimetres inside: a printer shifts ink by less than one, and three must stay empty."""
    monkeypatch.setattr(field, "_light", lambda small, scale, points: np.pad(points, ((0, 0), (0, 1))))
    small: Any = None
    layout = layouts()["A4-r1"]
    square, beside = field.rim_pairs(small, printed_scale(), layout)
    inside = np.linalg.norm(beside - square, axis=1) - layout.square_mm / 2
    assert (inside > 1.0).all()
    assert (inside < 2.0).all()


def test_black_squares_are_looked_at_in_the_half_toward_the_field(monkeypatch: pytest.MonkeyPatch) -> None:
    """What reaches over the frame covers that half first; a tenth of a square at its edge is blurred."""
    monkeypatch.setattr(field, "_light", lambda small, scale, points: np.pad(points, ((0, 0), (0, 1))))
    small: Any = None
    layout = layouts()["A4-r1"]
    black, white = (side[:, :2] / layout.square_mm for side in field.frame_row(small, printed_scale(), layout))
    inward = np.abs(black - np.floor(black) - 0.5)
    assert inward.min(axis=1) == pytest.approx(np.zeros(len(black)), abs=1e-9)
    assert (inward.max(axis=1) > 0.15).all()
    assert (inward.max(axis=1) < 0.4).all()
    middle = np.array([layout.columns, layout.rows]) / 2
    assert (np.abs(black - middle) <= np.abs(np.floor(black) + 0.5 - middle)).all()
    assert white - np.floor(white) == pytest.approx(np.full(white.shape, 0.5))


@pytest.mark.parametrize(("paper", "ground_", "strange"), [(0.006, 0.003, 0.0), (0.010, 0.004, 1.0)])
def test_in_light_of_some_thousandths_half_as_much_is_noise(paper: float, ground_: float, strange: float) -> None:
    assert strange_share(np.full((20, 3), paper), np.full((20, 3), ground_)) == strange
