"""A drawn ID-1 card (ISO/IEC 7810: 85.60 x 53.98 x 0.76 mm, corners of 3.18 mm) beside squares of known area."""

import numpy as np
import pytest
from mark_drawing import FOCAL, HEIGHT, WIDTH, Floats, blank, covered, dense, developed, paint, true_camera

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.imaging.camera import Camera, usual_prior
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.card import card_scale
from areakit.imaging.photo import Photo, overview


def card_outline() -> Floats:
    w, h, r = 85.60 / 2, 53.98 / 2, 3.18
    angle = np.linspace(0, np.pi / 2, 10)
    turns = [(w - r, h - r, 0.0), (r - w, h - r, np.pi / 2), (r - w, r - h, np.pi), (w - r, r - h, 1.5 * np.pi)]
    rounds = [np.column_stack([x + r * np.cos(angle + t), y + r * np.sin(angle + t)]) for x, y, t in turns]
    return dense(np.concatenate(rounds), 6)


def card_photo(rng: np.random.Generator, camera: Camera, focal_error: float = 0.0) -> Photo:
    picture = blank()
    paint(picture, camera.project(card_outline(), 0.76), tuple(rng.uniform(0.02, 0.9, 3)))
    return developed(picture, rng, focal_px=FOCAL * (1 + focal_error))


@pytest.mark.thorough
def test_stated_uncertainty_covers_squares_beside_a_card() -> None:
    rng = np.random.default_rng(11)
    hits: list[bool] = []
    for _ in range(8):
        camera = true_camera(rng, tilt_deg=rng.uniform(0, 14), height_mm=rng.uniform(260, 420), k1=rng.normal(0, 0.03))
        photo = card_photo(rng, camera, rng.normal(0, 0.02))
        scale = find_scale(photo, overview(photo), mark="card", reading=None)
        assert scale.camera.tilt_deg == pytest.approx(camera.tilt_deg, abs=2.0)
        hits += covered(scale, camera, rng.uniform(-80, 80, (6, 2)))
    assert np.mean(hits) >= 0.9


def test_window_leaves_out_the_card() -> None:
    rng = np.random.default_rng(2)
    camera = true_camera(rng, tilt_deg=3.0)
    photo = card_photo(rng, camera)
    scale = card_scale(photo, overview(photo), usual_prior(WIDTH, HEIGHT, FOCAL))
    from shapely.geometry import Polygon

    taken = Polygon(scale.excluded_mm[0])
    seen = Polygon(scale.camera.to_sheet(camera.project(card_outline())))
    assert taken.contains(seen)
    assert taken.area < 1.5 * seen.area


def test_tilt_is_refused_with_its_number() -> None:
    rng = np.random.default_rng(5)
    photo = card_photo(rng, true_camera(rng, tilt_deg=26.0, aside_mm=5.0))
    with pytest.raises(ScaleUnreliable, match=r"tilted by 2[4-8]°.*20°") as caught:
        find_scale(photo, overview(photo), mark="card", reading=None)
    assert caught.value.remedy


def test_square_is_no_card() -> None:
    rng = np.random.default_rng(6)
    camera = true_camera(rng, tilt_deg=2.0)
    picture = blank()
    paint(picture, camera.project(dense(np.array([(-40.0, -40), (40, -40), (40, 40), (-40, 40)]))), (0.7, 0.7, 0.1))
    photo = developed(picture, rng, focal_px=FOCAL)
    with pytest.raises(MarkNotFound, match="No card"):
        find_scale(photo, overview(photo), mark="card", reading=None)
