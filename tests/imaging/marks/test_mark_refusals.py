"""Marks that are there and yet fix no scale: each is refused with its number and what to do."""

from collections.abc import Callable

import numpy as np
import pytest
from mark_drawing import FOCAL, HEIGHT, WIDTH, blank, developed, paint

from areakit.errors import AreakitError
from areakit.imaging.marks import find_scale
from areakit.imaging.photo import Photo, overview


def shown(outline_px: np.ndarray, size: tuple[int, int] = (WIDTH, HEIGHT)) -> Photo:
    picture = blank(size=size)
    paint(picture, outline_px + np.array(size) / 2, (0.8, 0.8, 0.75))
    return developed(picture, np.random.default_rng(3), focal_px=FOCAL)


def disc(width_px: float) -> Photo:
    turn = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    return shown(np.column_stack([np.cos(turn), np.sin(turn)]) * width_px / 2)


def card(width_px: float) -> Photo:
    """ISO/IEC 7810, ID-1: 85.60 mm x 53.98 mm; corners left sharp, which is nothing to this size."""
    half = np.array([width_px, width_px * 53.98 / 85.60]) / 2
    return shown(np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half, size=(1200, 900))


def table() -> Photo:
    return developed(blank(), np.random.default_rng(3), focal_px=FOCAL)


@pytest.mark.parametrize(
    ("draw", "mark", "code", "told"),
    [
        (lambda: disc(56.0), "coin:eur-1", "MARK_TOO_SMALL", "px are needed"),
        (lambda: card(140.0), "card", "MARK_TOO_SMALL", "140 px wide; 150 px are needed"),
        (table, "coin:eur-1", "NO_MARK", "No coin of 23.25 mm was found"),
        (table, "card", "NO_MARK", "No card was found"),
        (table, "coin:25.75 mm,2.2 mm,3 mm", None, "coin:25.75 mm"),
        (table, "taps:300,600,1300,600,9 mm", "SCALE_IMPOSSIBLE", "mm above the sheet, which cannot be"),
    ],
)
def test_a_mark_that_fixes_no_scale_is_refused(
    draw: Callable[[], Photo], mark: str, code: str | None, told: str
) -> None:
    photo = draw()
    with pytest.raises(AreakitError) as caught:
        find_scale(photo, overview(photo), mark=mark, reading=None)
    assert told in caught.value.message + caught.value.remedy
    assert code is None or caught.value.code == code
    assert caught.value.remedy
