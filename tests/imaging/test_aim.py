"""What is said of a frame while somebody aims: both sides of each condition of a good photo (common practice)."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from areakit.imaging import aim
from areakit.imaging.photo import Photo
from areakit.imaging.sight import Sight


def box(width: float, height: float) -> Any:
    return np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]) + 20.0


def held(
    monkeypatch: pytest.MonkeyPatch,
    *,
    tilt_deg: float = 5.0,
    wide: float = 0.8,
    soft_px: float = 1.0,
    burnt: float = 0.0,
) -> set[str]:
    """The conditions that hold in a frame of 400 px with a part of 100 px, of which so much is burnt out."""
    pixels = np.full((300, 400, 3), 100, np.uint8)
    pixels[20 : 21 + round(100 * burnt), 20:121] = 252 if burnt else 249
    scale: Any = SimpleNamespace(camera=SimpleNamespace(tilt_deg=tilt_deg))
    seen = Sight(scale=scale, mark_px=(box(400 * wide, 100.0),), whole_px=(box(100.0, 100.0),))
    monkeypatch.setattr(aim, "look", lambda photo, **how: seen)
    monkeypatch.setattr(aim, "softness_px", lambda *given: soft_px)
    photo = Photo(name="frame", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")
    return {name for name, holds in aim.judge(photo).holds.items() if holds}


ALL = {"frame", "tilt", "distance", "part", "sharp", "glare"}


@pytest.mark.parametrize(
    ("frame", "fails"),
    [
        ({}, None),
        ({"tilt_deg": 19.0}, None), ({"tilt_deg": 21.0}, "tilt"),
        ({"wide": 0.51}, None), ({"wide": 0.49}, "distance"),
        ({"soft_px": 1.7}, None), ({"soft_px": 1.9}, "sharp"),
        ({"burnt": 0.04}, None), ({"burnt": 0.08}, "glare"),
    ],
)  # fmt: skip
def test_a_frame_is_good_but_for_one_condition(
    monkeypatch: pytest.MonkeyPatch, frame: dict[str, float], fails: str | None
) -> None:
    assert held(monkeypatch, **frame) == ALL - {fails}


def test_of_a_frame_without_a_mark_nothing_holds_but_that_no_part_is_burnt_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(aim, "look", lambda photo, **how: Sight())
    photo = Photo(name="frame", pixels=np.zeros((300, 400, 3), np.uint8), sha256="", focal_px=None, dpi=None, camera="")
    assert {name for name, holds in aim.judge(photo).holds.items() if holds} == {"glare"}
