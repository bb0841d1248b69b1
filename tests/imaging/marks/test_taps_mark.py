"""Two taps: the cameras that hands hold, and squares of known area near the tapped length."""

import numpy as np
import pytest
from mark_drawing import FOCAL, covered, true_camera

from areakit.errors import RangeError, ScaleUnreliable
from areakit.imaging.camera import usual_prior
from areakit.imaging.marks.taps import taps_scale
from areakit.imaging.marks.wanted import read_mark
from areakit.imaging.photo import Photo, overview

PHOTO = Photo(name="p", pixels=np.zeros((1200, 1600, 3), np.uint8), sha256="", focal_px=FOCAL, dpi=None, camera="")
SMALL = overview(PHOTO)


def test_stated_uncertainty_covers_squares_near_two_taps() -> None:
    rng = np.random.default_rng(3)
    hits: list[bool] = []
    for _ in range(40):
        tilt = float(np.hypot(*rng.normal(0, 3.0, 2)))  # as hands hold a camera level: 3° about each axis
        camera = true_camera(rng, tilt_deg=tilt, k1=rng.normal(0, 0.03))
        ends = camera.project(np.array([(-50.0, 0.0), (50.0, 0.0)])) + rng.normal(0, 1.5, (2, 2))
        text = "taps:" + ",".join(f"{v:.1f}" for v in ends.ravel()) + ",100 mm"
        scale = taps_scale(PHOTO, SMALL, usual_prior(1600, 1200, FOCAL), read_mark(text))
        hits += covered(scale, camera, rng.uniform(-70, 70, (4, 2)))
    assert np.mean(hits) >= 0.9


def test_rule_stands_above_the_table() -> None:
    taps, rule = (
        taps_scale(PHOTO, SMALL, usual_prior(1600, 1200, FOCAL), read_mark(f"{kind}:300,600,1300,600,300 mm"))
        for kind in ("taps", "ruler")
    )
    # 300 mm over 1000 px at f = 1180 px: 354 mm above the marks; the rule's face lies 0.7 mm above the table
    assert taps.camera.height_mm == pytest.approx(354.0, abs=0.1)
    assert rule.camera.height_mm - taps.camera.height_mm == pytest.approx(0.7, abs=1e-6)
    assert [f.code for f in taps.flags] == ["TWO_TAPS_ONLY"]


def test_taps_that_cannot_be_used_are_refused() -> None:
    prior = usual_prior(1600, 1200, FOCAL)
    with pytest.raises(ScaleUnreliable, match=r"40 px apart; 100 px"):
        taps_scale(PHOTO, SMALL, prior, read_mark("taps:300,600,340,600,10 mm"))
    with pytest.raises(RangeError, match="outside the photo of 1600 x 1200"):
        taps_scale(PHOTO, SMALL, prior, read_mark("taps:300,600,1900,600,10 mm"))
    for text in ("taps:1,2,3,4", "taps:a,2,3,4,10 mm", "taps:1,2,3,4,ten", "taps:1,2,3,nan,10 mm"):
        with pytest.raises(RangeError, match="cannot be understood"):
            taps_scale(PHOTO, SMALL, prior, read_mark(text))
    with pytest.raises(RangeError, match="0 mm"):
        taps_scale(PHOTO, SMALL, prior, read_mark("taps:300,600,900,600,0 mm"))
