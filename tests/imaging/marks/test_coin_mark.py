"""Drawn discs with a wall, real coins, and the table of coins against the published diameters."""

import numpy as np
import pytest
import shapely
from mark_drawing import FOCAL, PHOTOS, Floats, area_and_u, blank, covered, dense, developed, paint, square, true_camera

from areakit.errors import MarkNotFound, RangeError, ScaleUnreliable
from areakit.imaging.camera import Camera
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.coin import known_disc
from areakit.imaging.marks.reference_objects import reference_objects
from areakit.imaging.marks.round_edge import RoundEdge, find_round
from areakit.imaging.marks.wanted import read_mark
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import Photo, overview, read_photo
from areakit.sources import source
from areakit.uncertainty import Measured

ANGLE = np.linspace(0, 2 * np.pi, 180, endpoint=False)


def disc_photo(rng: np.random.Generator, camera: Camera, diameter: float = 23.25, thickness: float = 2.33) -> Photo:
    """A disc: the wall is the hull of both circles, the face lies on it."""
    circle = diameter / 2 * np.column_stack([np.cos(ANGLE), np.sin(ANGLE)])
    top, foot = camera.project(circle, thickness), camera.project(circle)
    hull: Floats = np.array(shapely.convex_hull(shapely.MultiPoint(np.vstack([top, foot]))).exterior.coords)[:-1]
    picture = blank((0.8, 0.78, 0.74))
    paint(picture, hull, (0.05, 0.05, 0.05))
    paint(picture, top, (0.3, 0.26, 0.2))
    return developed(picture, rng, focal_px=FOCAL)


@pytest.mark.thorough
def test_stated_uncertainty_covers_squares_beside_a_coin() -> None:
    rng = np.random.default_rng(21)
    hits: list[bool] = []
    for _ in range(10):
        tilt = float(np.hypot(*rng.normal(0, 2.5, 2)))
        camera = true_camera(rng, tilt_deg=tilt, height_mm=250.0, k1=rng.normal(0, 0.03), aside_mm=50.0)
        photo = disc_photo(rng, camera)
        scale = find_scale(photo, overview(photo), mark="coin:eur-1", reading=None)
        hits += covered(scale, camera, rng.uniform(-60, 60, (6, 2)))
    assert np.mean(hits) >= 0.9


def test_flags_say_which_round_thing_was_taken() -> None:
    rng = np.random.default_rng(4)
    camera = true_camera(rng, tilt_deg=1.0, height_mm=250.0)
    photo = disc_photo(rng, camera)
    scale = find_scale(photo, overview(photo), mark="coin:23.25 mm,2.33 mm", reading=None)
    x, y = camera.project(np.zeros((1, 2)), 2.33)[0]
    (taken,) = [f for f in scale.flags if f.code == "COIN_TAKEN"]
    numbers = [
        float(n) for n in taken.message.replace("(", " ").replace(")", " ").replace(",", " ").split() if n.isdigit()
    ]
    assert numbers[0] == pytest.approx(x, abs=8)
    assert numbers[1] == pytest.approx(y, abs=8)
    assert "LEVEL_CAMERA_ASSUMED" in [f.code for f in scale.flags]
    with pytest.raises(MarkNotFound, match=r"was found at \(60, 60\) px"):
        find_scale(photo, overview(photo), mark="coin:eur-1@60,60", reading=None)


def test_tilted_coin_is_refused() -> None:
    rng = np.random.default_rng(8)
    photo = disc_photo(rng, true_camera(rng, tilt_deg=24.0, height_mm=250.0, aside_mm=5.0), thickness=0.3)
    with pytest.raises(ScaleUnreliable, match=r"tilted by \d\d°; up to 10°"):
        find_scale(photo, overview(photo), mark="coin:23.25 mm,0.3 mm", reading=None)


@pytest.mark.parametrize(
    ("code", "diameter", "thickness"),
    [
        ("usd-cent", 19.05, 1.52),  # US Mint coin specifications
        ("usd-quarter", 24.26, 1.75),
        ("eur-0.50", 24.25, 2.38),  # Council Regulation (EU) 729/2014, Annex I; thickness: European Commission
        ("eur-1", 23.25, 2.33),
        ("eur-2", 25.75, 2.20),
    ],
)
def test_named_coins_have_their_published_size(code: str, diameter: float, thickness: float) -> None:
    disc = known_disc(read_mark(f"coin:{code}"))
    assert (disc.diameter_mm, disc.thickness_mm) == (diameter, thickness)


def test_every_reference_object_names_a_published_source() -> None:
    rows = reference_objects()
    assert len(rows) >= 15
    for row in rows.values():
        assert source(row.source).kind == "published"
        assert (row.diameter_mm is None) is (row.kind == "card")


def test_unknown_coin_is_refused_with_the_list() -> None:
    with pytest.raises(RangeError, match="no coin 'florin'") as caught:
        known_disc(read_mark("coin:florin"))
    assert "eur-1" in caught.value.remedy
    with pytest.raises(RangeError, match="is no mark"):
        read_mark("coin")


# Real photos: convertible-mark coins of 25.75, 23.25 and 18.0 mm, about 1.9 mm thick (from memory, unverified);
# middles read off the photos. [px]
KM = {
    "5i05KM.jpg": ((447, 494), [(572, 794, 23.25), (383, 1119, 23.25), (252, 796, 18.0)]),
    "7i05KM.jpg": ((428, 432), [(576, 767, 23.25), (788, 1253, 23.25), (377, 1123, 23.25), (220, 775, 18.0)]),
}


@pytest.mark.thorough
@pytest.mark.parametrize("name", KM)
def test_one_real_coin_gives_the_others(name: str) -> None:
    path = PHOTOS / "km_coins_sum" / name
    if not path.is_file():
        pytest.skip(f"no photo {path}")
    photo = read_photo(path)
    small = overview(photo)
    (x, y), others = KM[name]
    scale = find_scale(photo, small, mark=f"coin:25.75 mm@{x},{y}", reading=None)
    for x, y, diameter in others:
        edge = find_round(photo, small, (x, y))
        assert edge is not None
        value, spread = area_and_u(scale, _ellipse(edge))
        # the wall that is seen counts half: the silhouette of a disc 1.9 mm high is that much longer one way
        true = np.pi / 4 * diameter**2
        wall = 1.9 * np.hypot(*(scale.camera.to_sheet(edge.centre_px[None])[0] - scale.camera.centre_mm[:2]))
        grown = diameter * wall / scale.camera.height_mm
        assert abs(value - true - grown / 2) <= spread + grown / 2
        assert value == pytest.approx(true + grown / 2, rel=0.08)


def _ellipse(edge: RoundEdge) -> Floats:
    turn = np.radians(edge.turn_deg)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    local = np.column_stack([edge.axes_px[0] * np.cos(ANGLE), edge.axes_px[1] * np.sin(ANGLE)])
    return np.asarray(local @ spin.T + edge.centre_px)


@pytest.mark.slow
def test_a_real_coin_and_the_sheet_below_it_agree() -> None:
    """One coin of 24.0 mm (100 won, from memory, unverified) against the A4 sheet (ISO 216) that all coins lie on."""
    path = PHOTOS / "won_coins_a4" / "20201011_153140.jpg"
    if not path.is_file():
        pytest.skip(f"no photo {path}")
    photo, thickness = read_photo(path), Measured(value=1.9, unit="mm", budget={"thickness": 0.3})
    by_coin = find_outlines(photo, thickness=thickness, mark="coin:24 mm@1541,2051").parts
    by_sheet = find_outlines(photo, thickness=thickness, mark="A4").parts
    places = np.array([part.rings_px[0].mean(axis=0) for part in by_sheet])
    agree = []
    for part in by_coin:
        away = np.hypot(*(places - part.rings_px[0].mean(axis=0)).T)
        if away.min() < 20:
            first, second = part.outline.area, by_sheet[int(np.argmin(away))].outline.area
            spread = np.hypot(first.expanded_uncertainty, second.expanded_uncertainty)
            agree.append(abs(first.value - second.value) <= spread)
            assert first.value == pytest.approx(second.value, rel=0.25)
    assert len(agree) > 35
    assert np.mean(agree) >= 0.9


def test_field_ends_with_the_paper_that_the_coin_lies_on() -> None:
    rng = np.random.default_rng(12)
    camera = true_camera(rng, tilt_deg=0.5, height_mm=250.0, aside_mm=1.0)
    circle = 23.25 / 2 * np.column_stack([np.cos(ANGLE), np.sin(ANGLE)])
    picture = blank((0.25, 0.12, 0.05))
    paint(picture, camera.project(dense(square(np.array([10.0, 5.0]), 110.0))), (0.8, 0.8, 0.8))
    paint(picture, camera.project(circle, 2.33), (0.3, 0.26, 0.2))
    photo = developed(picture, rng, focal_px=FOCAL)
    scale = find_scale(photo, overview(photo), mark="coin:eur-1", reading=None)
    left, top, right, bottom = scale.field_mm
    # the axes run along the picture, the paper does not: the field is no larger than the square, and inside the frame
    assert 60.0 < right - left < 113.0
    assert 60.0 < bottom - top < 113.0
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    seen = camera.to_sheet(scale.camera.project(corners))
    assert np.abs(seen - [10.0, 5.0]).max() < 62.0
