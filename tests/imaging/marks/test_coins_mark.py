"""Several discs with walls, drawn: they tell the tilt that one cannot, and cover what they state."""

import numpy as np
import pytest
import shapely
from mark_drawing import FOCAL, Floats, area_and_u, blank, covered, dense, developed, paint, square, true_camera

from areakit.errors import ScaleUnreliable
from areakit.imaging.camera import Camera
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.coin import length_share
from areakit.imaging.marks.disc import Coin, known_disc
from areakit.imaging.marks.round_edge import RoundEdge
from areakit.imaging.marks.wanted import read_mark
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import PlaneScale

ANGLE = np.linspace(0, 2 * np.pi, 180, endpoint=False)
EURO, FIFTY, TWENTY = ("eur-1", 23.25, 2.33), ("eur-0.50", 24.25, 2.38), ("eur-0.20", 22.25, 2.14)
PLACES = ((0.0, 0.0), (85.0, 10.0), (20.0, -70.0))
"""Of the three coins on the table. [mm]"""


def coins_photo(rng: np.random.Generator, camera: Camera) -> Photo:
    """Three discs: the wall of each is the hull of both circles, the face lies on it."""
    picture = blank((0.8, 0.78, 0.74))
    for (_, diameter, thickness), place in zip((EURO, FIFTY, TWENTY), PLACES, strict=True):
        circle = diameter / 2 * np.column_stack([np.cos(ANGLE), np.sin(ANGLE)]) + place
        top, foot = camera.project(circle, thickness), camera.project(circle)
        hull: Floats = np.array(shapely.convex_hull(shapely.MultiPoint(np.vstack([top, foot]))).exterior.coords)[:-1]
        paint(picture, hull, (0.05, 0.05, 0.05))
        paint(picture, top, (0.3, 0.26, 0.2))
    return developed(picture, rng, focal_px=FOCAL)


def mark_of(camera: Camera, count: int) -> str:
    middles = camera.project(np.array(PLACES))
    named = zip((EURO, FIFTY, TWENTY), middles, strict=True)
    return "; ".join(f"coin:{one[0]}@{x:.0f},{y:.0f}" for one, (x, y) in [*named][:count])


def scale_of(photo: Photo, mark: str) -> PlaneScale:
    return find_scale(photo, overview(photo), mark=mark, reading=None)


def drawn_camera(rng: np.random.Generator, tilt_deg: float) -> Camera:
    return true_camera(rng, tilt_deg=tilt_deg, height_mm=310.0, k1=rng.normal(0, 0.02), aside_mm=10.0)


@pytest.mark.thorough
def test_stated_uncertainty_covers_squares_between_three_coins_and_is_less_than_that_of_one() -> None:
    rng = np.random.default_rng(31)
    hits: list[bool] = []
    widths: list[tuple[float, float]] = []
    for _ in range(5):
        camera = drawn_camera(rng, float(np.hypot(*rng.normal(0, 3.0, 2))))
        photo = coins_photo(rng, camera)
        three, one = scale_of(photo, mark_of(camera, 3)), scale_of(photo, mark_of(camera, 1))
        places = rng.uniform((10.0, -50.0), (70.0, 0.0), (6, 2))
        hits += covered(three, camera, places)
        seen = camera.project(dense(square(places[0], 20.0)))
        widths.append((area_and_u(three, seen)[1], area_and_u(one, seen)[1]))
    assert np.mean(hits) >= 0.9
    assert np.median([a / b for a, b in widths]) < 0.6


def test_three_coins_tell_a_tilt_that_one_does_not() -> None:
    rng = np.random.default_rng(33)
    camera = drawn_camera(rng, 7.0)
    photo = coins_photo(rng, camera)
    scales = [scale_of(photo, mark_of(camera, count)) for count in (1, 3)]
    missed = [np.linalg.norm(scale.camera.rotation[:, 2] - camera.rotation[:, 2]) for scale in scales]
    spread = [float(np.sqrt(np.trace(scale.camera.covariance[7:9, 7:9]))) for scale in scales]
    assert spread[1] < 0.6 * spread[0]
    assert missed[1] < 2.5 * spread[1]
    assert scales[1].sheet == "eur-1 + eur-0.50 + eur-0.20"
    assert [one.code for one in scales[1].flags].count("COIN_TAKEN") == 3
    assert "COINS_BESIDE_PART" in [one.code for one in scales[1].flags]
    assert len(scales[1].excluded_mm) == 3


def test_coins_that_contradict_each_other_are_refused() -> None:
    rng = np.random.default_rng(35)
    camera = drawn_camera(rng, 2.0)
    photo = coins_photo(rng, camera)
    (x, y), (u, v) = camera.project(np.array(PLACES))[:2]
    with pytest.raises(ScaleUnreliable, match="at one place"):
        scale_of(photo, f"coin:eur-1@{x:.0f},{y:.0f}; coin:eur-0.50@{x + 3:.0f},{y:.0f}")
    with pytest.raises(ScaleUnreliable, match=r"scales \d\d % apart"):
        scale_of(photo, f"coin:eur-1@{x:.0f},{y:.0f}; coin:16.25 mm@{u:.0f},{v:.0f}")
    assert scale_of(photo, f"coin:eur-1@{x:.0f},{y:.0f}; coin:eur-0.50@{u:.0f},{v:.0f}").corners_used > 200


def test_what_one_light_makes_of_all_rims_does_not_average_out() -> None:
    """Half of the variance is common (JCGM 100:2008, equation 16): four equal coins are known to the root of 5/8."""
    camera = true_camera(np.random.default_rng(7), tilt_deg=0.0, aside_mm=0.0)
    edge = RoundEdge(
        points_px=np.zeros((4, 2)), centre_px=camera.project(np.zeros((1, 2)))[0], axes_px=(100.0, 100.0),
        turn_deg=0.0, misfit_px=0.2, seen=1.0,
    )  # fmt: skip
    disc = known_disc(read_mark("coin:26.5 mm"))
    shares = [length_share(camera, (Coin(edge=edge, disc=disc),) * count) for count in (1, 4)]
    assert shares[1] / shares[0] == pytest.approx(np.sqrt(0.5 + 0.5 / 4.0), rel=1e-3)
