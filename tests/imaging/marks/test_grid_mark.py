"""Chequerboards and marker grids: drawn with lens and bend, and real photos against OpenCV's own corner finder."""

from dataclasses import replace
from itertools import product
from pathlib import Path

import cv2
import numpy as np
import pytest
from mark_drawing import (
    FOCAL,
    HEIGHT,
    PHOTOS,
    WIDTH,
    Floats,
    area_and_u,
    blank,
    covered,
    dense,
    developed,
    paint,
    square,
    true_camera,
)

from areakit.errors import MarkNotFound, RangeError, ScaleUnreliable
from areakit.imaging.camera import Camera, usual_prior
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.grid import board_scale, find_pattern, grid_scale
from areakit.imaging.marks.wanted import read_mark
from areakit.imaging.photo import Photo, overview, read_photo
from areakit.imaging.scale import PlaneScale

PITCH = 12.0


def board_photo(rng: np.random.Generator, camera: Camera, bend_mm: float = 0.0) -> Photo:
    """A board of 7 x 6 squares (6 x 5 inner corners), its middle at the origin, bent like a trough."""
    picture = blank((0.35, 0.3, 0.22))
    half = np.array([3.5, 3.0]) * PITCH

    def seen(outline: Floats) -> Floats:
        points = dense(outline, 6)
        return camera.project(points, bend_mm * (points[:, 0] / half[0]) ** 2)

    low, high = -half - PITCH, half + PITCH
    paint(picture, seen(np.array([low, (high[0], low[1]), high, (low[0], high[1])])), (0.85, 0.85, 0.85))
    for i, j in product(range(7), range(6)):
        if (i + j) % 2 == 0:
            paint(picture, seen(square(-half + PITCH * np.array([i + 0.5, j + 0.5]), PITCH)), (0.03, 0.03, 0.03))
    return developed(picture, rng, focal_px=FOCAL * (1 + rng.normal(0, 0.02)))


@pytest.mark.thorough
def test_stated_uncertainty_covers_squares_beside_a_board() -> None:
    rng = np.random.default_rng(31)
    hits: list[bool] = []
    for _ in range(8):
        camera = true_camera(rng, tilt_deg=rng.uniform(0, 18), height_mm=300.0, k1=rng.normal(0, 0.03))
        photo = board_photo(rng, camera, bend_mm=rng.uniform(0, 0.4))
        scale = find_scale(photo, overview(photo), mark="chequer:6x5,12 mm", reading=None)
        hits += covered(scale, camera, rng.uniform(-100, 100, (6, 2)))
    assert np.mean(hits) >= 0.9


def test_a_measured_pitch_takes_the_place_of_the_printers_share() -> None:
    """Limits of ± 0.1 % on a length are 0.1/root 3 % of it as a standard uncertainty, and twice that of an area."""
    rng = np.random.default_rng(5)
    camera = true_camera(rng, tilt_deg=4.0, height_mm=300.0)
    photo = board_photo(rng, camera)
    patch = camera.project(dense(square(np.array([60.0, 0.0]), 20.0)))
    stated, measured = (
        find_scale(photo, overview(photo), mark=f"chequer:6x5,{pitch}", reading=None)
        for pitch in ("12 mm", "12 ± 0.012 mm")
    )
    along_x, along_y = measured.sheet_scale.shares["measured pattern"]
    assert np.hypot(along_x, along_y) == pytest.approx(2 * 0.001 / 3**0.5)
    assert stated.sheet_scale.shares["unverified sheet copy"] == (0.01, 0.01)
    assert "unverified sheet copy" not in measured.sheet_scale.shares
    (area, u_stated), (same, u_measured) = (area_and_u(scale, patch) for scale in (stated, measured))
    assert same == area
    # 1 % along x and along y, independent: root two percent of area, twice that in U; the measured pitch is nothing
    assert u_stated**2 - u_measured**2 == pytest.approx((2 * 0.01 * 2**0.5 * 400.0) ** 2, rel=0.03)
    assert abs(area - 400.0) < u_measured
    told = [flag.message for flag in measured.flags if flag.code == "GRID_BESIDE_PART"]
    assert told != [flag.message for flag in stated.flags if flag.code == "GRID_BESIDE_PART"]


@pytest.mark.parametrize("pitch", ["12 ± 12 mm", "12 ± 13 mm", "0 mm", "12 ± wide"])
def test_a_pitch_that_says_nothing_is_refused(pitch: str) -> None:
    rng = np.random.default_rng(6)
    photo = developed(blank(), rng, focal_px=FOCAL)
    with pytest.raises(RangeError):
        grid_scale(photo, overview(photo), usual_prior(WIDTH, HEIGHT, FOCAL), read_mark(f"chequer:6x5,{pitch}"))


@pytest.mark.parametrize("height_mm", [150.0, 300.0, 600.0])
@pytest.mark.parametrize("light", [0.25, 1.0])
def test_a_drawn_board_is_found_near_and_far_in_bright_and_dim_light(height_mm: float, light: float) -> None:
    rng = np.random.default_rng(7)
    photo = board_photo(rng, true_camera(rng, tilt_deg=6.0, height_mm=height_mm, aside_mm=5.0))
    dim = replace(photo, pixels=(photo.pixels * light).astype(np.uint8))
    assert find_pattern(dim, overview(dim), read_mark("chequer:6x5,12 mm")).total == 30


def test_counts_may_be_named_either_way_round() -> None:
    rng = np.random.default_rng(1)
    camera = true_camera(rng, tilt_deg=5.0, height_mm=300.0)
    photo = board_photo(rng, camera)
    patch = camera.project(dense(square(np.array([60.0, 0.0]), 20.0)))
    marks = ("chequer:6x5,12 mm", "chequer:5x6,12 mm")
    areas = [area_and_u(find_scale(photo, overview(photo), mark=mark, reading=None), patch)[0] for mark in marks]
    assert areas[0] == pytest.approx(400.0, rel=0.01)
    assert areas[1] == pytest.approx(areas[0], rel=1e-3)


def test_boards_that_cannot_be_used_are_refused() -> None:
    rng = np.random.default_rng(2)
    photo = developed(blank(), rng, focal_px=FOCAL)
    small, prior = overview(photo), usual_prior(WIDTH, HEIGHT, FOCAL)
    with pytest.raises(MarkNotFound, match="No chequerboard of 9 x 7"):
        grid_scale(photo, small, prior, read_mark("chequer:9x7,30 mm"))
    with pytest.raises(MarkNotFound, match="Only 0 of 20 markers"):
        grid_scale(photo, small, prior, read_mark("markers:6x6,4x5,37.5 mm,5 mm"))
    with pytest.raises(RangeError, match="2 x 7 inner corners"):
        grid_scale(photo, small, prior, read_mark("chequer:2x7,30 mm"))
    for text in ("chequer:9x7", "chequer:9-7,30 mm", "chequer:9x7,wide", "markers:6x6,4x5,37.5 mm"):
        with pytest.raises(RangeError, match="cannot be understood"):
            grid_scale(photo, small, prior, read_mark(text))
    with pytest.raises(RangeError, match="8 x 8 bits"):
        grid_scale(photo, small, prior, read_mark("markers:8x8,4x5,37.5 mm,5 mm"))


def test_bent_board_is_refused() -> None:
    rng = np.random.default_rng(3)
    photo = board_photo(rng, true_camera(rng, tilt_deg=3.0, height_mm=200.0, aside_mm=5.0), bend_mm=16.0)
    with pytest.raises(ScaleUnreliable, match=r"miss a flat .* by \d.*% of its pitch"):
        find_scale(photo, overview(photo), mark="chequer:6x5,12 mm", reading=None)


def photos(folder: str) -> list[Path]:
    return sorted((PHOTOS / folder).glob("*.jpg"))


def real_scale(photo: Photo, mark: str) -> PlaneScale:
    """The scale in the board's plane; the boards are held by hand before a cluttered room, so no field is asked for."""
    prior = usual_prior(photo.width_px, photo.height_px, photo.focal_px)
    wanted = read_mark(mark)
    return board_scale(photo, find_pattern(photo, overview(photo), wanted), prior, kind=wanted.kind)


def test_board_before_a_cluttered_room_is_refused() -> None:
    path = PHOTOS / "phone_chess_30mm" / "IMG_20210417_010329.jpg"
    if not path.is_file():
        pytest.skip(f"no photo {path}")
    photo = read_photo(path)
    with pytest.raises(ScaleUnreliable, match="plain ground"):
        find_scale(photo, overview(photo), mark="chequer:7x9,30 mm", reading=None)


def square_hits(photo: Photo, mark: str, columns: int, rows: int, side: float) -> list[bool]:
    """Each square of a real board, by corners that OpenCV finds, against its stated area."""
    scale = real_scale(photo, mark)
    small = overview(photo, longest_px=1300)
    grey = cv2.cvtColor(small.pixels, cv2.COLOR_RGB2GRAY)
    found, corners = cv2.findChessboardCornersSB(grey, (columns, rows), flags=cv2.CALIB_CB_ACCURACY)
    assert found
    grid = small.to_full(np.asarray(corners, dtype=float).reshape(rows, columns, 2))
    hits = []
    for i, j in product(range(0, columns - 1, 2), range(0, rows - 1, 2)):
        quad = np.array([grid[j, i], grid[j, i + 1], grid[j + 1, i + 1], grid[j + 1, i]])
        value, spread = area_and_u(scale, quad)
        hits.append(abs(value - side**2) <= spread)
    return hits


@pytest.mark.parametrize("name", ["IMG_20210417_010329.jpg", "IMG_20210417_010433.jpg"])
def test_squares_of_a_real_board(name: str) -> None:
    path = PHOTOS / "phone_chess_30mm" / name  # squares of 30 mm, stated by its owner
    if not path.is_file():
        pytest.skip(f"no photo {path}")
    assert np.mean(square_hits(read_photo(path), "chequer:7x9,30 mm", 7, 9, 30.0)) >= 0.9


@pytest.mark.thorough
def test_squares_of_a_real_board_through_a_wide_lens() -> None:
    """The side is not stated: any will do, the squares are equal."""
    hits: list[bool] = []
    for name in ("calibration17.jpg", "calibration6.jpg", "calibration20.jpg"):
        path = PHOTOS / "wideangle_chess" / name
        if not path.is_file():
            pytest.skip(f"no photo {path}")
        hits += square_hits(read_photo(path), "chequer:9x6,25 mm", 9, 6, 25.0)
    assert np.mean(hits) >= 0.9


@pytest.mark.thorough
def test_markers_of_a_real_board() -> None:
    """Each marker of 37.5 mm (stated by its owner; measured 1.4 % small in area), by OpenCV's own corners."""
    hits: list[bool] = []
    for path in photos("marker_board_375"):
        photo = read_photo(path)
        scale = real_scale(photo, "markers:6x6,4x5,37.5 mm,5 mm")
        family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
        parameters = cv2.aruco.DetectorParameters()
        parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
        quads, _, _ = cv2.aruco.ArucoDetector(family, parameters).detectMarkers(
            cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY)
        )
        for quad in quads:
            value, spread = area_and_u(scale, np.asarray(quad, dtype=float).reshape(4, 2))
            hits.append(abs(value - 37.5**2) <= spread)
    if not hits:
        pytest.skip(f"no photos in {PHOTOS / 'marker_board_375'}")
    assert np.mean(hits) >= 0.9
