"""Which regions are looked at again, left out or answered: both sides of each limit, on regions made by hand."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from drawn_rings import bare_sheet

from areakit.imaging import closer
from areakit.imaging.answers import Answer, answered
from areakit.imaging.left_out import inside_and_crossing
from areakit.imaging.photo import Overview
from areakit.imaging.segment import Region
from areakit.imaging.view import View

SQUARE = np.array([[20.0, 20.0], [39.0, 20.0], [39.0, 39.0], [20.0, 39.0]])


def region(area_px: float, **changes: Any) -> Region:
    usual = Region(rings=(SQUARE,), area_px=area_px, threshold=3.0, rival_px=0.0, crosses=False)
    return replace(usual, **changes)


def looked(monkeypatch: pytest.MonkeyPatch, area_px: float, again_px: float) -> Overview:
    """Look again at a region of an overview reduced by four, and find so many pixels of that overview in it."""
    monkeypatch.setattr(closer, "region_again", lambda sheet, where: region(4.0 * again_px))
    small = Overview(pixels=np.zeros((80, 80, 3), np.uint8), factor=4)
    field = np.ones((80, 80), dtype=bool)
    sheet = bare_sheet(
        distance=np.zeros((80, 80), np.float32), field=field, guard=field, bare=np.full((80, 80, 3), 0.7, np.float32)
    )
    photo: Any = SimpleNamespace(pixels=np.zeros((320, 320, 3), np.uint8))
    return closer.look_closer(photo, small, sheet, region(area_px))[0]


@pytest.mark.parametrize(("area_px", "again_px", "closer"), [
    (8000.0, 8000.0, True), (10_000.0, 10_000.0, False),  # smaller than 9000 px
    (400.0, 480.0, True), (400.0, 520.0, False), (400.0, 320.0, True), (400.0, 280.0, False),  # a quarter more or less
])  # fmt: skip
def test_a_small_part_is_looked_at_again_and_must_be_the_same(
    monkeypatch: pytest.MonkeyPatch, area_px: float, again_px: float, closer: bool
) -> None:
    assert (looked(monkeypatch, area_px, again_px).factor == 2) == closer


def test_a_closer_look_sees_six_pixels_of_ground_round_the_part(monkeypatch: pytest.MonkeyPatch) -> None:
    assert looked(monkeypatch, 400.0, 400.0).pixels.shape == (64, 64, 3)  # 20 and 12 px, twice as fine


@pytest.mark.parametrize(
    ("whole", "crossing", "told"), [([1000.0] * 3, 90.0, 0), ([1000.0] * 3, 110.0, 1), ([], 55.0, 0), ([], 65.0, 1)]
)
def test_what_crosses_the_edge_counts_from_a_tenth_of_a_part_or_sixty_pixels_on(
    whole: list[float], crossing: float, told: int
) -> None:
    inside, over = inside_and_crossing([*map(region, whole), region(crossing, crosses=True)])
    assert (len(inside), len(over)) == (len(whole), told)


@pytest.mark.parametrize(("beside_mm", "meant"), [(0.4, True), (0.6, False)])
def test_an_answer_may_lie_half_a_millimetre_beside_its_place(beside_mm: float, meant: bool) -> None:
    """Of a place from 0 to 10 mm."""
    place = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    asked = region(400.0, doubtful=(place,))
    settled = answered(asked, [Answer(point_mm=(10.0 + beside_mm, 5.0), hole=True)], lambda ring: ring)
    assert (len(settled.rings), len(settled.doubtful)) == ((2, 0) if meant else (1, 1))


@pytest.mark.parametrize(("apart", "coloured", "joined"), [(5.0, True, True), (7.0, True, False), (5.0, False, False)])
def test_a_piece_may_belong_to_a_part_within_six_pixels_on_a_coloured_sheet(
    apart: float, coloured: bool, joined: bool
) -> None:
    looks: Any = SimpleNamespace(
        small=Overview(pixels=np.zeros((80, 80, 3), np.uint8), factor=4),
        sheet=SimpleNamespace(left=0, top=0, coloured=coloured),
    )
    piece = region(400.0, rings=(SQUARE + [19.0 + apart, 0.0],))
    found = View.with_piece(looks, region(400.0), looks, piece)
    assert (found is not None and len(found.beside) == 1) == joined


@pytest.mark.parametrize(("gap", "coloured", "one"), [(5.5, True, True), (6.5, True, False), (5.5, False, False)])
def test_pieces_within_six_pixels_on_a_coloured_sheet_may_be_one_part(gap: float, coloured: bool, one: bool) -> None:
    """Either's own edge is three pixels wide. What may belong to the part reaches over the gap and no further."""
    small = Overview(pixels=np.zeros((80, 80, 3), np.uint8), factor=4)
    sheet, anything = bare_sheet(coloured=coloured), cast(Any, SimpleNamespace())
    view = View(photo=anything, small=small, sheet=sheet, scale=anything, edge=anything)
    part = region(361.0)
    piece = region(361.0, rings=(SQUARE + [19.0 + gap, 0.0],))
    found = view.with_piece(part, view, piece)
    assert (found is not None) == one
    if found is not None:
        (beside,) = found.beside
        assert beside[:, 0].min() == pytest.approx(39.0 - 1.0, abs=0.01)
