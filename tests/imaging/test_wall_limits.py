"""On which side of an edge a wall is seen: discs drawn by formula, a face, its wall as a ring, and sheet beyond."""

from typing import Any

import numpy as np
import pytest

from areakit.imaging import walls
from areakit.imaging.contrast import colour_metric
from areakit.imaging.photo import Photo
from areakit.imaging.sheet_colour import encoded_colours
from areakit.imaging.walls import _colour_balance, _votes, top_share
from tests.imaging.test_edge_ring import AWAY, BLUE, STEEL, TURN, ring_at, stored

FACE_PX, WALL_PX = 50.0, 16.0


def share(
    at: float, *, wall: Any, face: Any = STEEL, sheet: Any = BLUE, wall_px: float = WALL_PX, drawn_px: float = WALL_PX,
    pale: bool = False,
) -> float:  # fmt: skip
    """How much of an edge is top edge, as it is told, where a wall lies from 50 to 66 px."""
    beyond = AWAY - FACE_PX
    colours = np.select([(beyond < 0.0)[..., None], (beyond < drawn_px)[..., None]], [face, wall], sheet)
    pixels = stored(colours)
    photo = Photo(name="wall", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")
    metric = colour_metric(np.asarray(sheet, np.float32), encoded_colours(stored(np.asarray(face)))[None])
    points, normals = ring_at(at)
    return float(np.median(top_share(photo, metric, points, normals, np.full(len(points), wall_px), pale=pale)))


def test_a_wall_outside_an_edge_makes_it_the_top_edge_and_one_inside_the_bottom_edge() -> None:
    dull = 0.3 * STEEL
    assert share(FACE_PX, wall=dull) == 1.0
    assert share(FACE_PX + WALL_PX, wall=dull) == 0.0


def test_where_no_wall_shows_on_either_side_three_quarters_are_taken_as_unseen() -> None:
    """A polished wall mirrors the sheet beside it: own study of drawn walls."""
    assert share(FACE_PX, wall=BLUE) == pytest.approx(0.75)


def grey(light: float) -> Any:
    return np.full(3, light)


@pytest.mark.parametrize(("darker", "top"), [(0.12, 0.75), (0.18, 1.0)])
def test_a_grey_wall_differs_from_a_grey_sheet_by_fifteen_hundredths_of_log_light(darker: float, top: float) -> None:
    wall = 0.5 * np.exp(-darker) - 0.03 * (1.0 - np.exp(-darker)) * 0.5
    assert share(FACE_PX, face=grey(0.15), wall=grey(wall), sheet=grey(0.5)) == pytest.approx(top, abs=0.01)


@pytest.mark.parametrize(("hue", "top"), [(0.09, 0.75), (0.15, 1.0)])
def test_a_wall_has_a_tenth_of_the_metals_hue(hue: float, top: float) -> None:
    """Beside coloured metal the ground outside an edge takes more and more of the metal's colour."""
    wall = np.exp((1.0 - hue) * np.log(BLUE + 0.004) + hue * np.log(STEEL + 0.004)) - 0.004
    assert share(FACE_PX, wall=wall) == pytest.approx(top, abs=0.01)


@pytest.mark.parametrize(("hue", "top"), [(0.19, 0.75), (0.31, 1.0)])
def test_beside_metal_of_little_hue_a_wall_has_twelve_hundredths_of_log_colour(hue: float, top: float) -> None:
    """Metal of half a unit of log hue on a grey sheet: the same light as the sheet, so that only hue can tell."""
    pale = 0.4 * np.exp(0.5 * np.array([1.0, 0.0, -1.0]) / np.sqrt(2.0))
    wall = np.exp((1.0 - hue) * np.log(0.4) + hue * np.log(pale))
    assert share(FACE_PX, face=pale, wall=wall, sheet=grey(0.4)) == pytest.approx(top, abs=0.01)


@pytest.mark.parametrize(("wall_px", "top"), [(7.5, 1.0), (8.5, 0.75)])
def test_a_wall_of_which_nothing_shows_is_taken_for_a_polished_one_below_eight_pixels(
    wall_px: float, top: float
) -> None:
    assert share(FACE_PX, wall=BLUE, wall_px=wall_px) == pytest.approx(top, abs=0.01)


@pytest.mark.parametrize(("kept", "top"), [(0.78, 0.0), (0.88, 1.0)])
def test_a_narrow_wall_inside_an_edge_wants_a_sixth_of_the_colour_of_the_face(kept: float, top: float) -> None:
    """In linear light, where half of a mixture has half of the colour."""
    dull = BLUE + kept * (STEEL - BLUE)
    assert share(FACE_PX + 7.0, wall=dull, wall_px=7.0, drawn_px=7.0) == pytest.approx(top, abs=0.01)


def test_a_face_too_narrow_to_show_its_colour_counts_as_a_tenth_of_the_usual_one() -> None:
    """Behind the third of three edges the other side of a web is read, of a twentieth of the colour."""
    metal, at = np.array([1.0, 0.0, -1.0], np.float32), np.arange(-20.0, 21.0)
    light = np.ones((3, len(at), 3), np.float32)
    light[:, at < -5.0] += metal
    light[2, at < -5.0] += -0.95 * metal
    light[:, (at > 0.0) & (at < 5.0)] += 0.02 * metal
    balance = _colour_balance(light, np.tile(at, (3, 1)), np.full((3, 1), 6.0))
    assert balance == pytest.approx([0.02 - 1.0, 0.02 - 1.0, 0.02 / 0.1 - 1.0], abs=1e-3)


@pytest.mark.parametrize(("bluer", "by_hue"), [(1.3, False), (2.2, True)])
def test_hue_tells_from_a_third_of_log_colour_on(bluer: float, by_hue: bool) -> None:
    """Metal a little or much bluer than a grey sheet, its wall of the sheet's hue and half as light: seen by shade."""
    metal = np.array([0.3, 0.3, 0.3 * bluer])
    told = share(FACE_PX, face=metal, wall=grey(0.25), sheet=grey(0.5))
    assert told == pytest.approx(0.75 if by_hue else 1.0, abs=0.01)


@pytest.mark.parametrize(("wall_px", "looked"), [(120.0, True), (140.0, False)])
def test_walls_wider_than_can_be_looked_at_are_taken_as_bottom_edge(wall_px: float, looked: bool) -> None:
    """Twice as far and a little more is read on either side: up to 250 px."""
    same = grey(0.5)
    assert share(FACE_PX, face=same, wall=same, sheet=same, wall_px=wall_px) == (0.75 if looked else 0.0)


@pytest.mark.parametrize("metal", ["grey", "coloured"])
@pytest.mark.parametrize(("reach", "told"), [(1.4, False), (2.1, True)])
def test_what_lies_within_a_pixel_and_a_half_of_a_narrow_walls_edge_is_its_softness(
    metal: str, reach: float, told: bool
) -> None:
    """Of a wall of 4 px the strip from 1.5 px on is looked at. Grey: a dark line as far out as ``reach`` is a wall's or
    not. Coloured: a line of the sheet's hue that ends there leaves a wall of the metal's hue as it is or breaks it.
    """
    at = np.arange(-20.0, 20.1, 0.25)
    light = np.ones((1, len(at), 3), np.float32)
    width = np.full((1, 1), 4.0)
    if metal == "grey":
        light[:, (at > 0.0) & (at <= reach)] = 0.4
        assert _votes(light, at[None], width)[0][0] == (1.0 if told else 0.0)
        return
    light[:, (at < 0.0) | ((at > reach) & (at < 4.0))] = np.exp([1.0, 0.0, -1.0])
    colour = np.log(light)
    outside = walls._hue_up_to_the_foot(colour, at[None], width, colour[:, 0])
    assert bool(outside[0]) != told


@pytest.mark.parametrize(("points", "heard"), [(160, 4), (32, 2)])
def test_colours_are_averaged_over_an_eighth_of_a_small_ring_at_most(
    monkeypatch: pytest.MonkeyPatch, points: int, heard: int
) -> None:
    """One odd direction is seen by so many neighbours to either side as look the same way: a sixteenth of a turn."""
    odd = np.abs(TURN) < np.pi / points
    colours = np.where((odd & (AWAY > 45.0))[..., None], 1.5 * BLUE, BLUE)
    seen: list[Any] = []
    monkeypatch.setattr(
        walls, "_votes", lambda light, *_, pale: seen.append(light) or (np.zeros(len(light), np.float32), 0.75)
    )
    photo = Photo(name="ring", pixels=stored(colours), sha256="", focal_px=None, dpi=None, camera="")
    metric = colour_metric(BLUE.astype(np.float32), encoded_colours(stored(STEEL))[None])
    at, normals = ring_at(60.0, points)
    top_share(photo, metric, at, normals, np.full(points, 4.0))
    lighter = seen[0].mean(axis=(1, 2))
    (where,) = np.nonzero(lighter > lighter[points // 2] + 0.02)
    assert sorted(int(i + points // 2) % points - points // 2 for i in where) == list(range(-heard, heard + 1))


@pytest.mark.parametrize(("wall_px", "certain"), [(1.0, 0.2), (2.9, 0.58)])
def test_beside_a_wall_of_a_pixel_face_and_edge_are_read_as_beside_one_of_three(wall_px: float, certain: float) -> None:
    """Four and a half darker pixels inside an edge: face lies beyond them where a wall is narrow, and a narrow one is
    as certain as it is wide, over 5 px.
    """
    darker = 0.5 * np.exp(-0.18)
    told = share(FACE_PX + 4.5, face=grey(0.5), wall=grey(darker), sheet=grey(0.15), wall_px=wall_px, drawn_px=4.5)
    assert told == pytest.approx(0.75 - certain, abs=0.01)


GOLD = np.array([0.7, 0.5, 0.2])


def test_on_paper_a_gold_wall_that_looks_like_the_face_lies_inside_the_edge() -> None:
    """On a coloured sheet an edge of which nothing shows may be the top edge of a mirror; gold turns paper gold."""
    same: dict[str, Any] = {"face": GOLD, "wall": GOLD, "sheet": grey(0.8)}
    assert share(FACE_PX + WALL_PX, **same) == pytest.approx(0.75)
    assert share(FACE_PX + WALL_PX, **same, pale=True) == 0.0
    assert share(FACE_PX + 7.0, **same, wall_px=7.0, drawn_px=7.0, pale=True) == 0.0
    assert share(FACE_PX, face=GOLD, wall=0.4 * GOLD, sheet=grey(0.8), pale=True) == 1.0


@pytest.mark.parametrize(("kept", "top"), [(0.14, 0.0), (0.26, 1.0)])
def test_on_paper_a_narrow_wall_outside_an_edge_has_a_fifth_of_the_colour_of_the_face(kept: float, top: float) -> None:
    """In linear light, relative to the paper, where half of a mixture has half of the colour."""
    dull = 0.8 + kept * (GOLD - 0.8)
    told = share(FACE_PX, face=GOLD, wall=dull, sheet=grey(0.8), wall_px=7.0, drawn_px=7.0, pale=True)
    assert told == pytest.approx(top, abs=0.01)


@pytest.mark.parametrize(("wall_px", "top"), [(0.5, 0.3), (1.5, 0.1)])
def test_on_paper_two_fifths_of_walls_too_narrow_to_be_told_are_top_edge(wall_px: float, top: float) -> None:
    """Less what certainty there is: a fifth of the width in pixels."""
    told = share(FACE_PX, face=GOLD, wall=GOLD, sheet=grey(0.8), wall_px=wall_px, drawn_px=0.0, pale=True)
    assert told == pytest.approx(top, abs=0.01)
