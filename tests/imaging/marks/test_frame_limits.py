"""From where on the fit of the marker frame asks for a stretch of its print, leaves a lens, and reads its blur."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from areakit.imaging.camera import usual_prior
from areakit.imaging.focal import Fitted
from areakit.imaging.marks import frame_fit, frame_sharpness
from areakit.imaging.marks.frame_fit import Corners, _camera_from_corners, fit_frame, fit_print
from areakit.imaging.photo import Photo
from areakit.imaging.scale import UNVERIFIED
from tests.imaging.test_camera import FOCAL, HEIGHT, WIDTH, camera_above

CAMERA = camera_above(12.0, 35.0, 3.0)
PRIOR = usual_prior(WIDTH, HEIGHT, FOCAL)
KNOWN = replace(PRIOR, sigma=PRIOR.sigma * 1e-4)
NODES = np.column_stack([axis.ravel() for axis in np.meshgrid(np.linspace(20, 240, 12), np.linspace(20, 160, 9))])
NOTHING: Any = None


def corners(longer: float = 0.0) -> Corners:
    """Corners of a sheet that was printed longer along x than along y, by a logarithm."""
    seen = CAMERA.project(NODES * np.exp([longer / 2, -longer / 2]))
    return Corners(nodes_mm=NODES, points_px=seen, sheet_scale=UNVERIFIED)


def test_a_saddle_corner_is_placed_to_six_hundredths_of_a_pixel() -> None:
    """Own study. A camera is known as well as so many corners tell it that miss by that much."""
    fitted, _ = _camera_from_corners(NODES, corners().points_px, CAMERA.parameters, KNOWN)

    def seen(parameters: Any) -> Any:
        return fitted.with_parameters(parameters).project(NODES).ravel()

    steps = 1e-6 * np.eye(13)
    slopes = np.array([(seen(fitted.parameters + s) - seen(fitted.parameters - s)) / 2e-6 for s in steps])[7:]
    pose = np.linalg.inv(slopes @ slopes.T) * 0.06**2
    assert np.diag(fitted.covariance)[7:] == pytest.approx(np.diag(pose), rel=0.2)


def tried(
    monkeypatch: pytest.MonkeyPatch, *, rms_px: float = 0.05, kept: float = 1.0, strain: float = 0.0
) -> list[float]:
    """The stretches that are tried for a first fit of a miss, a share of corners kept, and a strain."""
    ratios: list[float] = []

    def at_ratio(given: Any, start: Any, prior: Any, ratio: float) -> Fitted:
        ratios.append(ratio)
        return Fitted(camera=replace(CAMERA, rms_px=rms_px), kept=np.arange(100) < 100 * kept, ratio=ratio)

    monkeypatch.setattr(frame_fit, "_at_ratio", at_ratio)
    monkeypatch.setattr(frame_fit, "_strain", lambda fitted, prior: strain**2)
    monkeypatch.setattr(frame_fit, "_cost", lambda *given: 1.0)
    fit_print(corners(), CAMERA.parameters, PRIOR)
    return ratios


@pytest.mark.parametrize(
    ("first", "asked"),
    [
        ({"rms_px": 0.10}, False), ({"rms_px": 0.14}, True),  # twice what corners of a good sheet miss by
        ({"kept": 0.87}, False), ({"kept": 0.83}, True),
        ({"strain": 7.0}, False), ({"strain": 9.0}, True),  # drawn sheets: 4 at most, a stretch of 3 %: 15 to 40
    ],
)  # fmt: skip
def test_when_a_stretch_of_the_print_is_asked_for(
    monkeypatch: pytest.MonkeyPatch, first: dict[str, float], asked: bool
) -> None:
    assert (len(tried(monkeypatch, **first)) > 1) == asked


def test_stretches_are_tried_to_three_times_what_is_believed(monkeypatch: pytest.MonkeyPatch) -> None:
    """One percent along each axis makes 1.4 % of their ratio (practice)."""
    step = np.hypot(0.01, 0.01)
    ratios = np.array(tried(monkeypatch, strain=20.0)) / step
    assert (ratios.min(), ratios.max()) == pytest.approx((-3.5, 3.0), abs=0.51)


@pytest.mark.parametrize(
    ("free_px", "held_px", "used"), [(0.05, 0.12, True), (0.05, 0.14, False), (1.0, 1.55, True), (1.0, 1.65, False)]
)
def test_a_stored_lens_is_left_where_corners_miss_by_more(
    monkeypatch: pytest.MonkeyPatch, free_px: float, held_px: float, used: bool
) -> None:
    """By 0.08 px, or by six tenths of what they miss without it."""
    first, held = (Fitted(camera=CAMERA, kept=np.ones(len(NODES), dtype=bool), ratio=ratio) for ratio in (0.0, 0.5))
    monkeypatch.setattr(frame_fit, "fit_print", lambda corners, start, prior: first)
    monkeypatch.setattr(frame_fit, "_with_lens", lambda corners, near, prior: held)
    monkeypatch.setattr(frame_fit, "_miss_px", lambda fitted, corners, kept: held_px if fitted is held else free_px)
    fit = fit_frame(corners(), CAMERA.parameters, KNOWN, PRIOR)
    assert (fit.fitted is held) == used
    assert (fit.lens_misses_px is None) == used


# How the squares are blurred


def half_read(monkeypatch: pytest.MonkeyPatch, mm_per_px: float) -> int | None:
    """How many pixels of a profile are read, across squares of 10 mm with markers of 6 mm."""
    read: list[int] = []
    monkeypatch.setattr(frame_sharpness, "_sides", lambda layout, axis: np.zeros((1, 2)))
    monkeypatch.setattr(frame_sharpness, "_correlation", lambda *given: None)
    monkeypatch.setattr(frame_sharpness, "_softness", lambda photo, camera, places, axis, half: read.append(half))
    layout: Any = SimpleNamespace(square_mm=10.0, marker_mm=6.0, corners_mm=np.zeros((4, 2)))
    camera: Any = SimpleNamespace(mm_per_px=lambda place: mm_per_px)
    frame_sharpness.frame_blur(NOTHING, camera, layout, np.ones(2))
    return read[0] if read else None


@pytest.mark.parametrize(("mm_per_px", "half"), [(0.2, 9), (0.1, 14), (0.44, 4), (0.5, None)])
def test_a_profile_stays_clear_of_the_ink_of_markers(
    monkeypatch: pytest.MonkeyPatch, mm_per_px: float, half: int | None
) -> None:
    """Two millimetres of quiet are 10, 20, 4.5 and 4 px: nine tenths of them are read, 4 to 14 px."""
    assert half_read(monkeypatch, mm_per_px) == half


LEVEL: Any = SimpleNamespace(project=lambda points: points, mm_per_px=lambda place: 1.0)


def photo_of(light: np.ndarray) -> Photo:
    encoded = 255.0 * (1.055 * light ** (1 / 2.4) - 0.055)
    pixels = np.repeat(np.rint(encoded).astype(np.uint8)[..., None], 3, axis=2)
    return Photo(name="squares", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")


@pytest.mark.parametrize(("sides", "told"), [(11, False), (12, True)])
def test_twelve_sides_tell_a_softness(sides: int, told: bool) -> None:
    light = np.full((200, 100), 0.1)
    light[:, 50:] = 0.8
    places = np.column_stack([np.full(sides, 49.5), 20.0 + 12.0 * np.arange(sides)])
    found = frame_sharpness._softness(photo_of(light), LEVEL, places, 0, 8)
    assert (found is not None) == told


@pytest.mark.parametrize(("apart", "read"), [(0.04, False), (0.07, True)])
def test_black_and_white_differ_by_a_twentieth_of_light(apart: float, read: bool) -> None:
    nodes = np.column_stack([axis.ravel() for axis in np.meshgrid(np.arange(20, 180, 20), np.arange(20, 180, 20))])
    y, x = np.mgrid[:200, :200]
    light = 0.3 + apart * (((x + 10) // 20 + (y + 10) // 20) % 2)
    light = np.roll(light, (10, 10), axis=(0, 1))
    layout: Any = SimpleNamespace(corners_mm=nodes.astype(float))
    found = frame_sharpness._correlation(photo_of(light), LEVEL, layout, np.ones(2), 8)
    assert (found is not None) == read
