"""On which side of an edge a wall is seen: discs drawn by formula, a face, its wall as a ring, and sheet beyond."""

from typing import Any

import numpy as np
import pytest

from areakit.imaging.contrast import colour_metric
from areakit.imaging.photo import Photo
from areakit.imaging.sheet_colour import encoded_colours
from areakit.imaging.walls import top_share
from tests.imaging.test_edge_ring import AWAY, BLUE, STEEL, ring_at, stored

FACE_PX, WALL_PX = 50.0, 16.0


def share(at: float, *, wall: Any, face: Any = STEEL, sheet: Any = BLUE, wall_px: float = WALL_PX) -> float:
    """How much of an edge is top edge, as it is told, where a wall lies from 50 to 66 px."""
    colours = np.select([(AWAY < FACE_PX)[..., None], (AWAY < FACE_PX + WALL_PX)[..., None]], [face, wall], sheet)
    pixels = stored(colours)
    photo = Photo(name="wall", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")
    metric = colour_metric(np.asarray(sheet, np.float32), encoded_colours(stored(np.asarray(face)))[None])
    points, normals = ring_at(at)
    return float(np.median(top_share(photo, metric, points, normals, np.full(len(points), wall_px))))


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


@pytest.mark.parametrize(("hue", "top"), [(0.22, 0.75), (0.40, 1.0)])
def test_a_wall_has_three_tenths_of_the_metals_hue(hue: float, top: float) -> None:
    """Beside coloured metal the ground outside an edge takes more and more of the metal's colour."""
    wall = np.exp((1.0 - hue) * np.log(BLUE + 0.004) + hue * np.log(STEEL + 0.004)) - 0.004
    assert share(FACE_PX, wall=wall) == pytest.approx(top, abs=0.01)


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
