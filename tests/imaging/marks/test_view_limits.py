"""What a mark says of the camera, on both sides of what is refused or told."""

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import pytest

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.imaging import marks
from areakit.imaging.camera import LOG_F


@dataclass(frozen=True)
class Told:
    """What is looked at of a scale: its camera, and whether the focal length is known."""

    camera: Any
    focal_known: bool = True
    flags: tuple[Any, ...] = ()


def seen(*, tilt_deg: float = 0.0, log_focal: float = 0.0) -> Any:
    return Told(camera=SimpleNamespace(tilt_deg=tilt_deg, parameters={LOG_F: log_focal}, height_mm=300.0))


STATED: Any = SimpleNamespace(mean={LOG_F: 0.0}, sigma={LOG_F: 0.01})


@pytest.mark.parametrize(
    ("right", "wrong", "code"),
    [
        ({"tilt_deg": 34.0}, {"tilt_deg": 36.0}, "TILT_TOO_HIGH"),
        ({"tilt_deg": 12.0, "log_focal": 0.14}, {"tilt_deg": 12.0, "log_focal": 0.16}, "SCALES_DISAGREE"),
        ({"tilt_deg": 7.0, "log_focal": 0.2}, {"tilt_deg": 9.0, "log_focal": 0.2}, "SCALES_DISAGREE"),
    ],
    ids=["tilt", "focal length", "focal length of a level camera"],
)
def test_a_view_is_refused_from_its_limit_on(right: dict[str, float], wrong: dict[str, float], code: str) -> None:
    marks._check_view(seen(**right), STATED)
    with pytest.raises(ScaleUnreliable) as refused:
        marks._check_view(seen(**wrong), STATED)
    assert refused.value.code == code


@pytest.mark.parametrize(("tilt_deg", "told"), [(19.0, []), (21.0, ["TILT_HIGH"])])
def test_a_tilt_is_told_from_twenty_degrees_on(tilt_deg: float, told: list[str]) -> None:
    assert [flag.code for flag in marks._with_cautions(seen(tilt_deg=tilt_deg)).flags] == told


@pytest.mark.parametrize(("soft_px", "refused"), [(2.5, False), (2.7, True)])
def test_where_no_mark_is_found_a_soft_photo_is_why(
    monkeypatch: pytest.MonkeyPatch, soft_px: float, refused: bool
) -> None:
    monkeypatch.setattr(marks, "softness_px", lambda photo, small: soft_px)
    nothing: Any = None
    if not refused:
        marks._check_focus(nothing, nothing)
        return
    with pytest.raises(MarkNotFound) as why:
        marks._check_focus(nothing, nothing)
    assert why.value.code == "BLURRED"
