"""Thin straight lines in light drawn by formula: found where they are, and none where there is none."""

import numpy as np
import numpy.typing as npt
import pytest

from areakit.imaging.straight_lines import _lengths, _peaks, _strong, _votes, seen_lines

Singles = npt.NDArray[np.float32]
SIZE = 120
ALL = np.ones((SIZE, SIZE), dtype=bool)


def face(*lines: tuple[float, float], depth: float = 0.3, noise: float = 0.01, share: float = 1.0) -> Singles:
    """Log light of an even face with dark lines, by angle of the normal in degrees and distance from the middle.

    Each is a Gaussian of 0.8 px; ``share`` of its length is drawn.
    """
    y, x = np.mgrid[:SIZE, :SIZE] - SIZE / 2.0
    light = np.random.default_rng(3).normal(0.0, noise, (SIZE, SIZE))
    for angle, offset in lines:
        toward = np.radians(angle)
        away = x * np.cos(toward) + y * np.sin(toward) - offset
        along = np.abs(y * np.cos(toward) - x * np.sin(toward))
        light -= depth * np.exp(-0.5 * (away / 0.8) ** 2) * (along < share * SIZE / 2.0)
    return light.astype(np.float32)


def miss(found: tuple[float, float], line: tuple[float, float]) -> tuple[float, float]:
    """By how many degrees and pixels a line found, from the corner, differs from one drawn, from the middle."""
    angle, distance = found
    middle = distance - SIZE / 2.0 * (np.cos(angle) + np.sin(angle))
    turn = np.degrees(angle) - line[0]
    turned = (turn + 90.0) % 180.0 - 90.0
    same = abs(turn - turned) % 360.0 < 1.0
    return abs(turned), abs((middle if same else -middle) - line[1])


@pytest.mark.parametrize("line", [(0.0, 10.0), (30.0, -20.0), (90.0, 5.0), (135.0, 0.0), (178.0, 15.0)])
def test_a_line_is_found_where_it_was_drawn(line: tuple[float, float]) -> None:
    turned, beside = miss(seen_lines(face(line), ALL, shortest_px=16)[0][0], line)
    assert turned <= 1.5
    assert beside <= 2.0


def test_two_lines_are_both_among_the_first() -> None:
    lines = (20.0, 15.0), (110.0, -10.0)
    found, _ = seen_lines(face(*lines), ALL, shortest_px=16)
    for line in lines:
        assert any(np.hypot(*miss(one, line)) < 3.0 for one in found[:4])


def test_a_line_outside_the_face_is_not_looked_at() -> None:
    left = ALL.copy()
    left[:, SIZE // 2 :] = False
    found, _ = seen_lines(face((0.0, 30.0)), left, shortest_px=16)
    assert all(np.hypot(*miss(one, (0.0, 30.0))) > 3.0 for one in found)


def test_bright_lines_are_told_apart_from_dark_ones() -> None:
    light = np.asarray(-face((40.0, 8.0), noise=0.002), dtype=np.float32)
    dark, bright = seen_lines(light, ALL, shortest_px=16)
    assert np.hypot(*miss(bright[0], (40.0, 8.0))) < 2.0
    assert np.hypot(*miss(dark[0], (40.0, 8.0))) > 2.0


def test_a_ridge_counts_from_one_and_a_half_times_the_usual_noise_on() -> None:
    noise = np.random.default_rng(5).normal(0.0, 1.0, (SIZE, SIZE)).astype(np.float32)
    noise[3, 3], noise[4, 4] = 1.35, 1.65
    strong = _strong(noise, ALL)
    assert not strong[3, 3]
    assert strong[4, 4]


def test_a_ridge_votes_for_seven_degrees_to_either_side_by_halves() -> None:
    angles = np.radians(np.arange(0.0, 180.0, 0.5))
    strong, normal = np.zeros((SIZE, SIZE), dtype=bool), np.zeros((SIZE, SIZE), dtype=np.float32)
    strong[30, 40], normal[30, 40] = True, np.radians(60.0)
    directions, places = np.nonzero(_votes(strong, normal, angles, 200))
    assert np.degrees(angles[directions]) == pytest.approx(np.arange(53.0, 67.1, 0.5))
    assert places - 200 == pytest.approx(40.0 * np.cos(angles[directions]) + 30.0 * np.sin(angles[directions]), abs=0.5)


@pytest.mark.parametrize(("angle", "true_px"), [(0, 80.0), (90, 60.0), (45, 60.0 * np.sqrt(2.0))])
def test_the_length_of_a_line_is_that_of_its_chord(angle: int, true_px: float) -> None:
    """Chords through the middle of a rectangle of 60 by 80 px; at 45 degrees the shorter side limits them."""
    block = np.zeros((SIZE, SIZE), dtype=bool)
    block[20:100, 20:80] = True
    angles = np.radians(np.arange(180.0))
    middle = 50.0 * np.cos(angles[angle]) + 60.0 * np.sin(angles[angle])
    assert _lengths(block, angles, 200)[angle, round(middle) + 200] == pytest.approx(true_px, rel=0.12)


@pytest.mark.parametrize(("count", "told"), [(3, 3), (12, 8)])
def test_eight_lines_are_told_at_most(count: int, told: int) -> None:
    share = np.full((10, 401), 0.1, dtype=np.float32)
    share[5, 20 : 20 + 30 * count : 30] = np.linspace(0.5, 0.9, count)
    assert len(_peaks(share, np.ones_like(share), np.radians(np.arange(10.0)))) == told


def peaked(spread: float, peak: float) -> npt.NDArray[np.float64]:
    """Shares of parallel lines that differ by ``spread``, one of which stands out by ``peak``."""
    row = 0.4 + spread * (-1.0) ** np.arange(400)
    row[200] = 0.4 + peak
    return row


@pytest.mark.parametrize(
    ("others", "strong"),
    [((0.0, 0.03), (0.2, 0.25)), ((0.17, 0.25), (0.02, 0.1))],
    ids=["small differences count little", "and differences beside them count too"],
)
def test_a_line_stands_out_by_more_than_the_spread_and_a_twentieth(
    others: tuple[float, float], strong: tuple[float, float]
) -> None:
    share = np.array([peaked(*others), *[np.full(400, 0.4)] * 19, peaked(*strong)], dtype=np.float32)
    angle, _ = _peaks(share, np.ones_like(share), np.radians(np.arange(21.0)))[0]
    assert np.degrees(angle) == pytest.approx(20.0)
