"""The rise of a dome from a second photo, drawn as a segment of a circle that stands at half the part's width."""

import math
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from PIL import Image
from shapely.geometry import Point, Polygon, box

import areakit
from areakit.cli.main import group
from areakit.errors import InputError, MeasurementError
from areakit.service.measure import MeasureRequest
from areakit.service.side_photo import LEVEL_SHARE, MOST_ASLANT, SAME_WIDTH, with_rise
from areakit.synthetic import ScenePart, render, save_photo
from tests.imaging.drawn_photos import scene_of

WIDTH, RISE, THICK = 30.0, 6.0, 1.0
DISK = Point(0, 0).buffer(WIDTH / 2, quad_segs=128)
SAID: dict[str, Any] = {"thickness": "1 ± 0.02 mm", "check_lengths": "200 x 120 mm", "form": "domed"}


def segment(width: float, depth: float) -> Polygon:
    """Return what a dome with its rim shows from the side: its sheet, and an arc over it."""
    rise = depth - THICK
    radius = (width**2 / 4 + rise**2) / 2 / rise
    cap = Point(0, rise - radius).buffer(radius, quad_segs=512).intersection(box(-width, 0, width, width))
    return cap.union(box(-width / 2, -THICK, width / 2, 1e-3)).buffer(0)


def photographed(path: Path, polygon: Polygon, high: float, at: tuple[float, float]) -> Path:
    part = ScenePart(polygon=polygon, thickness_mm=high, position_mm=at)
    scene = scene_of(polygon, high, parts=(part,))
    return save_photo(path, render(scene), scene)


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("dome")
    middle = scene_of(DISK).middle_mm
    side = segment(WIDTH, RISE + THICK)
    return {
        "above": photographed(folder / "above.jpg", DISK, THICK, middle),
        "side": photographed(folder / "side.jpg", side, WIDTH / 2, middle),
        "aslant": photographed(folder / "aslant.jpg", side, WIDTH / 2, (middle[0], middle[1] + 45.0)),
        "other": photographed(folder / "other.jpg", segment(WIDTH * 0.9, RISE), WIDTH * 0.45, middle),
    }


def test_the_rise_is_that_of_the_dome_within_what_is_stated(photos: dict[str, Path]) -> None:
    found = areakit.measure(photos["above"], side=photos["side"], faces="front", **SAID)
    request = with_rise(photos["above"], photos["side"], MeasureRequest(**SAID))
    assert request.form is not None
    value = float(request.form.split("rise ")[1].split(" ")[0])
    half = float(request.form.split("± ")[1].split(" ")[0])
    assert abs(value - RISE) < 2 * half / math.sqrt(3)
    assert half < 0.5
    true = math.pi * (WIDTH**2 / 4 + RISE**2)
    assert found.plated.measured.value == pytest.approx(true, abs=found.plated.measured.expanded_uncertainty)
    assert found.plated.measured.value == pytest.approx(true, rel=0.02)


def test_the_command_says_the_same(photos: dict[str, Path]) -> None:
    options = [f"--{name.replace('_', '-')}={text}" for name, text in SAID.items()]
    told = CliRunner().invoke(group, ["measure", str(photos["above"]), f"--side={photos['side']}", *options])
    assert told.exit_code == 0, told.output
    assert "domed, rise " in told.output


def test_a_rim_far_from_straight_below_the_camera_is_refused(photos: dict[str, Path]) -> None:
    with pytest.raises(MeasurementError, match="rim seen aslant"):
        with_rise(photos["above"], photos["aslant"], MeasureRequest(**SAID))


def test_another_part_from_the_side_is_refused(photos: dict[str, Path]) -> None:
    with pytest.raises(MeasurementError, match="wide from above"):
        with_rise(photos["above"], photos["other"], MeasureRequest(**SAID))
    assert (SAME_WIDTH, LEVEL_SHARE, MOST_ASLANT) == (0.03, 0.05, 0.25)


def test_what_is_wrong_is_said_of_the_photo_that_it_is_wrong_with(photos: dict[str, Path], tmp_path: Path) -> None:
    empty = tmp_path / "empty.png"
    Image.new("RGB", (1200, 900), (128, 128, 128)).save(empty)
    with pytest.raises(MeasurementError, match=r"^From the side: .*") as caught:
        with_rise(photos["above"], empty, MeasureRequest(**SAID))
    assert caught.value.remedy
    with pytest.raises(MeasurementError, match=r"^From above: .*"):
        with_rise(empty.read_bytes(), photos["side"], MeasureRequest(**SAID))


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"form": None}, "rise of a dome"),
        ({"form": "domed, rise 2 mm"}, "rise of a dome"),
        ({"thickness": None}, "thickness together"),
    ],
)
def test_what_makes_no_sense_is_refused_before_a_photo_is_read(changes: dict[str, Any], wrong: str) -> None:
    with pytest.raises(InputError, match=wrong):
        with_rise(Path("never.jpg"), Path("read.jpg"), MeasureRequest(**{**SAID, **changes}))
