"""Each limit of a line that may be a joint, from both sides, on light drawn by hand: logarithms, so no exposure."""

from typing import Any

import numpy as np
import pytest

from areakit.imaging.checks.joint import (
    _beside,
    _clear,
    _crossing,
    _dips,
    _joint_contrasts,
    _joints,
    _Metal,
    _straightened,
)

ROWS, COLUMNS, AT, DEEP = 80, 160, 80, 0.2
ENDS = np.array([[AT, 5.0], [AT, 74.0]])
"""A line of 70 px down the middle of a face of 160 by 80 px."""
FACE = np.ones((ROWS, COLUMNS), dtype=bool)


def face_with(*lines: tuple[int, float], step: float = 0.0) -> Any:
    """Light of a face with dark lines of a pixel, by column and depth; right of the middle it is lighter by a step."""
    light = np.zeros((ROWS, COLUMNS), dtype=np.float32)
    light[:, AT + 1 :] = step
    for column, depth in lines:
        light[:, column] = -depth
    return light


def metal(light: Any, face: Any = FACE, filled: Any = FACE) -> _Metal:
    return _Metal(light=light, filled=filled, face=face, corner=np.zeros(2, dtype=int))


def is_joint(light: Any, face: Any = FACE) -> bool:
    return _joint_contrasts(metal(light, face), ENDS[None])[0] > 0.0


@pytest.mark.parametrize(
    ("light", "joint"),
    [
        # At least 0.04 of contrast, and a quarter of the step that it lies on.
        (face_with((AT, 0.033)), False),
        (face_with((AT, 0.047)), True),
        (face_with((AT, 0.08), step=0.4), False),
        (face_with((AT, 0.12), step=0.4), True),
        # Two pixels beside it no more than half of its own contrast is left.
        (face_with((AT, DEEP), (AT + 2, 0.09)), True),
        (face_with((AT, DEEP), (AT + 2, 0.11)), False),
        # One as strong beside it is grain or a thread: up to 40 px away, less what is looked at beside each line.
        (face_with((AT, DEEP), (AT + 34, DEEP)), False),
        (face_with((AT, DEEP), (AT + 44, DEEP)), True),
    ],
)
def test_a_joint_stands_out_alone(light: Any, joint: bool) -> None:
    assert is_joint(light) == joint


@pytest.mark.parametrize(
    ("along_grain", "left", "times", "joint"),
    [
        # Across the grain 2.2 times as strong as any line parallel to it.
        (False, 0.0, 2.0, False), (False, 0.0, 2.4, True), (False, 0.09, 2.4, True),
        # Along it 4 times, or 1.3 times if it is finer than grain.
        (True, 0.045, 3.6, False), (True, 0.045, 4.4, True), (True, 0.0, 1.2, False), (True, 0.0, 1.4, True),
        # It is finer where less than 0.15 of its contrast is left two pixels beside it: here 0.13 and 0.17.
        (True, 0.026, 2.0, True), (True, 0.034, 2.0, False),
    ],
)  # fmt: skip
def test_how_much_stronger_than_the_lines_of_the_metal_a_joint_is(
    monkeypatch: pytest.MonkeyPatch, along_grain: bool, left: float, times: float, joint: bool
) -> None:
    monkeypatch.setattr(_Metal, "along_grain", lambda metal, ends: along_grain)
    assert is_joint(face_with((AT, DEEP), (AT + 2, left), (AT - 20, DEEP / times))) == joint


@pytest.mark.parametrize(
    ("beside", "depth", "joint"), [(7, 0.12, False), (7, 0.14, True), (9, 0.12, True), (9, 0.05, True)]
)
def test_where_less_than_eight_lines_lie_beside_it_the_metals_own_are_taken_for_a_tenth(
    monkeypatch: pytest.MonkeyPatch, beside: int, depth: float, joint: bool
) -> None:
    """A face so narrow that so many lines, more than 7 px from it and with metal on both sides, can be compared: a
    fine line needs 1.3 times theirs.
    """
    monkeypatch.setattr(_Metal, "along_grain", lambda metal, ends: True)
    face = np.zeros_like(FACE)
    face[:, AT - 10 - (beside + 1) // 2 : AT + 10 + beside // 2 + 1] = True
    assert is_joint(face_with((AT, depth)), face) == joint


def test_the_metal_beside_a_line_is_averaged_over_four_pixels_either_way() -> None:
    light = np.zeros((ROWS, COLUMNS), dtype=np.float32)
    light[40, AT + 4] = 1.0
    (_, left, right, _), _ = _beside(metal(light), ENDS[None], 7)
    assert not left[:, 3].any()
    assert np.flatnonzero(right[:, 3] > 1e-6).tolist() == list(range(31, 40))


def test_its_contrast_is_that_of_the_line() -> None:
    assert _joint_contrasts(metal(face_with((AT, DEEP))), ENDS[None]) == pytest.approx([DEEP], rel=1e-4)


@pytest.mark.parametrize(
    ("rows", "left", "joint"),
    # Of 70 px: a gap of 3 or of 14; and 14 px that are 0.30 or 0.42 times as dark as the rest.
    [(3, 0.0, True), (14, 0.0, False), (14, 0.30, False), (14, 0.42, True)],
)
def test_a_joint_is_seen_along_nine_tenths_of_its_length(rows: int, left: float, joint: bool) -> None:
    light = face_with((AT, DEEP))
    light[30 : 30 + rows, AT] = -left * DEEP
    assert is_joint(light) == joint


@pytest.mark.parametrize(("rows", "joint"), [(32, False), (40, True)])
def test_half_of_a_line_lies_on_the_face(rows: int, joint: bool) -> None:
    face = np.zeros_like(FACE)
    face[20 : 20 + rows] = True
    assert is_joint(face_with((AT, DEEP)), face) == joint


def crossings(filled: Any, at: int) -> int:
    part = metal(face_with((at, DEEP)), filled=filled)
    return len(list(_joints(part, _crossing(part, [(0.0, float(at))]))))


@pytest.mark.parametrize(("inside", "found"), [(3, 0), (8, 1)])
def test_a_twentieth_of_the_part_lies_on_either_side(inside: int, found: int) -> None:
    """A part of 100 columns from the 30th on."""
    filled = np.zeros_like(FACE)
    filled[:, 30:130] = True
    assert crossings(filled, 30 + inside) == found


@pytest.mark.parametrize(("rows", "found"), [(14, 0), (19, 1)])
def test_a_joint_is_looked_for_where_a_part_is_sixteen_pixels_wide(rows: int, found: int) -> None:
    filled = np.zeros_like(FACE)
    filled[30 : 30 + rows, 30:130] = True
    assert crossings(filled, AT) == found


@pytest.mark.parametrize(("beside", "moved"), [(3, True), (8, False)])
def test_a_line_is_looked_for_three_pixels_from_where_it_was_voted_for(beside: int, moved: bool) -> None:
    (ends,) = _straightened(metal(face_with((AT + beside, DEEP))), ENDS[None])
    assert (np.abs(ends[:, 0] - (AT + beside)) < 0.1).all() == moved


def test_the_metal_beside_a_line_is_that_from_three_to_five_pixels_away() -> None:
    profile = np.zeros((1, 41), dtype=np.float32)
    profile[0, 20] = -0.3
    profile[0, [18, 22, 14, 26]] = -5.0
    assert _dips(profile)[0, 15] == pytest.approx(0.3)
    profile[0, [15, 25]] = -0.3
    assert _dips(profile)[0, 15] == pytest.approx(0.2)


def test_the_outer_three_pixels_of_a_part_are_its_edge() -> None:
    mask = np.zeros((40, 40), dtype=np.uint8)
    mask[10:30, 10:30] = 1
    kept = _clear(mask)
    assert (np.flatnonzero(kept.any(axis=0)).min(), np.flatnonzero(kept.any(axis=0)).max()) == (13, 26)


def waves(across: float, down: float) -> Any:
    y, x = np.mgrid[:100, :100] * (2 * np.pi / 10)
    return (across * np.sin(x) + down * np.sin(y)).astype(np.float32)


def goes_along(light: Any, turn_deg: float) -> bool:
    """Whether a line that is turned by so much against the vertical goes along the grain of this light."""
    whole, turn = np.ones((100, 100), dtype=bool), np.radians(turn_deg)
    return metal(light, whole, whole).along_grain(np.array([[0.0, 0.0], [-50.0 * np.sin(turn), 50.0 * np.cos(turn)]]))


@pytest.mark.parametrize(("one_way", "grain"), [(0.25, False), (0.35, True)])
def test_metal_has_a_grain_where_three_tenths_of_its_changes_go_one_way(one_way: float, grain: bool) -> None:
    assert goes_along(waves(np.sqrt(1.0 + one_way), np.sqrt(1.0 - one_way)), 0.0) == grain


@pytest.mark.parametrize(("turn_deg", "along"), [(9.0, True), (15.0, False), (90.0, False)])
def test_a_line_goes_along_the_grain_within_twelve_degrees(turn_deg: float, along: bool) -> None:
    assert goes_along(waves(1.0, 0.0), turn_deg) == along
