"""Each limit of what counts as ground, shadow or wall beside a part, from both sides, on fields made by hand."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from areakit.imaging.checks.ground import (
    Height,
    Surround,
    _beside,
    _excused,
    _hole_is_doubtful,
    _other_ground,
    _touches,
    _Zone,
    surround_of,
    with_ground_doubted,
)
from areakit.imaging.segment import Region
from areakit.imaging.sheet_colour import COLOUR_UNIT, encoded_colours

Floats = npt.NDArray[np.float64]
SHAPE = (60, 100)
BARE = np.array([0.30, 0.45, 0.75])
"""The bare sheet, encoded as colours are compared; between two stored values the nearest is taken."""
WHOLE = (slice(0, SHAPE[0]), slice(0, SHAPE[1]))
FLAT = Height(part_px=0.0, wall_px=0.0)


def stored(shade: float, hue: float) -> Floats:
    """Stored values of ground so dark beside bare sheet and so far from its colour, in units of distance."""
    across = np.cross(BARE, [1.0, 0.0, 0.0])
    across *= np.linalg.norm(BARE) / np.linalg.norm(across)
    table = encoded_colours(np.arange(256, dtype=np.uint8))
    return np.interp(shade * BARE + hue * COLOUR_UNIT * across, table, np.arange(256.0))


def field_of(*layers: tuple[Any, float, float, float], sharp: float = 1.0) -> Any:
    """A bare field on which masks of a shade, a hue and a distance from bare sheet lie; as sharp everywhere."""
    pixels, distance = np.tile(stored(1.0, 0.0), (*SHAPE, 1)), np.zeros(SHAPE, dtype=np.float32)
    field = np.zeros(SHAPE, dtype=bool)
    field[2:-2, 2:-2] = True
    for mask, shade, hue, far in layers:
        pixels[mask], distance[mask] = stored(shade, hue), far
    return SimpleNamespace(
        pixels=np.rint(pixels).astype(np.uint8), distance=distance, field=field, coloured=True, guard=field,
        bare=np.tile(BARE, (*SHAPE, 1)).astype(np.float32),
        sharpness=lambda rows, columns, shade_weight: np.full(field[rows, columns].shape, sharp, np.float32),
    )  # fmt: skip


def area(rows: slice, columns: slice) -> Any:
    mask = np.zeros(SHAPE, dtype=bool)
    mask[rows, columns] = True
    return mask


PART = area(slice(20, 40), slice(20, 40))
ZONE = area(slice(20, 40), slice(43, 54))
"""Begins where the part's edge ends; itself it ends 14 px beside the part, by chamfers of 0.955: a reach of 7.4."""


def excused(shade: float, hue: float, *, sharp: float, part_px: float, wall_px: float = 0.0) -> bool:
    zone, part = ZONE.astype(np.uint8), PART.astype(np.uint8)
    both = (ZONE | PART | area(slice(20, 40), slice(40, 43))).astype(np.uint8)
    sheet = field_of((ZONE, shade, hue, 9.0), sharp=sharp)
    return _excused(sheet, _Zone(mask=zone, box=WHOLE), part, both, Height(part_px=part_px, wall_px=wall_px))


SOFT, HARD, LOW, HIGH = 0.0, 1.0, 0.1, 20.0


@pytest.mark.parametrize(
    ("shade", "hue", "sharp", "part_px", "no_part"),
    [
        # Ground of 2.5 units of colour is a shadow only if it is both soft and near its part.
        (0.8, 2.0, SOFT, LOW, True),
        (0.8, 3.1, SOFT, LOW, False),
        # Twice as much is none at all.
        (0.8, 4.5, SOFT, HIGH, True),
        (0.8, 5.6, SOFT, HIGH, False),
        # A rim that changes by a fifth of the zone's own difference from pixel to pixel is sharp: here by 0.06.
        (0.7, 0.0, 0.053, LOW, True),
        (0.7, 0.0, 0.067, LOW, False),
        # A shadow reaches two and a half heights: 7.4 px at 2.95.
        (0.7, 0.0, HARD, 3.1, True),
        (0.7, 0.0, HARD, 2.8, False),
        # Ground lighter than the sheet is no mirror, but may be paint.
        (1.1, 0.0, HARD, LOW, True),
        (1.1, 3.1, SOFT, HIGH, False),
    ],
)
def test_what_excuses_ground_beside_a_part(
    shade: float, hue: float, sharp: float, part_px: float, no_part: bool
) -> None:
    assert excused(shade, hue, sharp=sharp, part_px=part_px) == no_part


@pytest.mark.parametrize(("wall_px", "no_part"), [(6.9, True), (6.0, False)])
def test_a_wall_may_be_seen_a_pixel_further_than_its_height_says(wall_px: float, no_part: bool) -> None:
    """The zone reaches 7.4 px, and has a colour that no shadow has."""
    assert excused(0.8, 5.6, sharp=HARD, part_px=LOW, wall_px=wall_px) == no_part


@pytest.mark.parametrize("limit", [0.55 * 2.2, 2.2, 1.8 * 2.2, 3.0 * 2.2])
def test_ground_is_told_from_the_uneven_light_round_it_at_four_distances(limit: float) -> None:
    """All round it the ground is a sixth nearer to bare sheet than a limit, and it is a sixth further."""
    around = area(slice(2, -2), slice(2, -2)) & ~ZONE
    sheet = field_of((around, 0.9, 0.0, limit * 5 / 6), (ZONE, 0.6, 8.0, limit * 7 / 6))
    ring = np.array([[20.0, 20.0], [39.0, 20.0], [39.0, 39.0], [20.0, 39.0]])
    part = Region(rings=(ring,), area_px=400.0, threshold=3.0, rival_px=0.0, crosses=False)
    (doubted,) = with_ground_doubted(sheet, [part], [FLAT])
    (beside,) = doubted.beside
    assert beside[:, 0].max() == pytest.approx(53.0, abs=2.0)


@pytest.mark.parametrize(("height", "left", "found"), [(3, 44, False), (5, 44, True), (5, 60, False)])
def test_ground_has_thirty_pixels_and_comes_near_a_part(height: int, left: int, found: bool) -> None:
    """A mean of nine pixels makes 3 by 3 of them 5 by 5, and 3 by 5 of them 5 by 7."""
    sheet = field_of((area(slice(25, 25 + height), slice(left, left + 3)), 0.5, 0.0, 90.0))
    assert bool(_other_ground(sheet, PART.astype(np.uint8))) == found


@pytest.mark.parametrize(("part_px", "found"), [(50_000.0, 1), (60_000.0, 0)])
def test_ground_of_less_than_four_thousandths_of_its_part_does_not_matter(part_px: float, found: int) -> None:
    zone = _Zone(mask=ZONE.astype(np.uint8), box=WHOLE)  # 220 px
    sheet = field_of((ZONE, 0.6, 8.0, 9.0))
    assert len(_beside(sheet, PART, [zone], np.zeros(SHAPE, dtype=bool), part_px, FLAT)) == found


@pytest.mark.parametrize(("gap", "touches"), [(4, True), (7, False)])
def test_ground_touches_a_part_across_its_own_edge_of_three_pixels(gap: int, touches: bool) -> None:
    beside = area(slice(20, 40), slice(40 + gap, 60))
    assert _touches(beside.astype(np.uint8), PART.astype(np.uint8)) == touches


HOLE = np.array([[40.0, 15.0], [69.0, 15.0], [69.0, 44.0], [40.0, 44.0]])
INSIDE = area(slice(15, 45), slice(40, 70))


ROUND = Surround(away_px=np.full(400, 9.0), shade=np.ones(400))
"""Bare sheet outside the part, as far from it as the ground of the hole is from its walls: 9.5 px for the most part."""
THIN, DEEP = 0.1, 9.0


def doubtful(
    shade: float, hue: float, part_px: float = THIN, hole: Floats = HOLE, where: Any = INSIDE, round_: Surround = ROUND
) -> bool:
    return _hole_is_doubtful(field_of((where, shade, hue, 9.0)), hole, Height(part_px=part_px, wall_px=0.0), round_)


@pytest.mark.parametrize(
    ("shade", "hue", "part_px", "asked"),
    [
        # Darker or lighter by 0.06 than the sheet outside.
        (0.95, 0.0, THIN, False),
        (0.93, 0.0, THIN, True),
        (1.05, 0.0, THIN, False),
        (1.07, 0.0, THIN, True),
        # A wall as high as the place is deep hides half of the sky, and leaves 0.73 of encoded light, less 0.06.
        (0.69, 0.0, DEEP, False),
        (0.62, 0.0, DEEP, True),
        # Of another colour by 2.5 units, in the shade of walls by 4.
        (0.98, 2.2, THIN, False),
        (0.98, 2.8, THIN, True),
        (0.95, 3.6, DEEP, False),
        (0.95, 4.4, DEEP, True),
        # Walls throw their shade two and a half times as far as they are high.
        (0.98, 3.2, 3.1, True),
        (0.98, 3.2, 3.9, False),
    ],
)
def test_what_makes_a_hole_doubtful(shade: float, hue: float, part_px: float, asked: bool) -> None:
    assert doubtful(shade, hue, part_px) == asked


@pytest.mark.parametrize(
    ("away_px", "dark", "asked"),
    # From 0.8 to 1.5 times as far outside as inside, and more than a fiftieth of it.
    [(9.0, 40, False), (6.5, 40, True), (8.5, 40, False), (13.5, 40, False), (14.5, 40, True), (9.0, 12, False),
     (9.0, 4, True)],
)  # fmt: skip
def test_a_hole_may_be_as_dark_as_the_sheet_outside_is_somewhere(away_px: float, dark: int, asked: bool) -> None:
    away, shade = np.full(400, 9.0), np.ones(400)
    away[:dark], shade[:dark] = away_px, 0.7
    assert doubtful(0.7, 0.0, round_=Surround(away_px=away, shade=shade)) == asked


@pytest.mark.parametrize(("count", "asked"), [(20, True), (40, False)])
def test_the_sheet_outside_is_known_from_thirty_pixels_on(count: int, asked: bool) -> None:
    assert doubtful(0.7, 0.0, round_=Surround(away_px=np.full(count, 9.0), shade=np.full(count, 0.7))) == asked


@pytest.mark.parametrize(("side", "asked"), [(10, False), (12, True)])
def test_a_hole_is_looked_at_from_half_its_depth_on(side: int, asked: bool) -> None:
    """Its innermost 16 by 16 px of 30 by 30: more than half of them are paint, or less."""
    low = 55 - side // 2
    assert doubtful(0.98, 5.0, where=area(slice(low - 25, low - 25 + side), slice(low, low + side))) == asked


@pytest.mark.parametrize(("side", "asked"), [(8, False), (9, True)])
def test_a_hole_is_looked_at_from_nine_pixels_on_without_its_rim(side: int, asked: bool) -> None:
    """Without three pixels of rim all round, 8 px of side leave 2 by 2, and 9 px leave 3 by 3."""
    hole = np.array([[42.0, 17.0], [41.0 + side, 17.0], [41.0 + side, 16.0 + side], [42.0, 16.0 + side]])
    assert doubtful(0.95, 5.0, hole=hole) == asked


@pytest.mark.parametrize(("hue", "counts"), [(2.0, True), (3.0, False)])
def test_the_sheet_round_a_part_is_what_has_its_colour(hue: float, counts: bool) -> None:
    ring = np.array([[20.0, 20.0], [39.0, 20.0], [39.0, 39.0], [20.0, 39.0]])
    hole = np.array([[24.0, 24.0], [35.0, 24.0], [35.0, 35.0], [24.0, 35.0]])
    part = Region(rings=(ring, hole), area_px=300.0, threshold=3.0, rival_px=0.0, crosses=False)
    round_ = surround_of(field_of((ZONE, 0.7, hue, 9.0)), part, 0.5)
    assert round_.away_px.min() > 3.0
    lowest, highest = round_.span(12.0)  # 6 px of the overview
    assert (highest, lowest < 0.75, lowest > 0.85) == (1.0, counts, not counts)
