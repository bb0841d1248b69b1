"""A print that nobody measured, told by the cut edges of its paper (ISO 216: A4 is 210 x 297 mm), in drawn photos."""

import json
import math
from functools import cache

import numpy as np
import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.datafiles import data_dir
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.frame_layout import layouts
from areakit.imaging.marks.print_check import BY_PAPER, SHARE, paper_read
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import CheckReading, PlaneScale
from areakit.synthetic import Camera, Chain, Print, Scene, render

A4 = layouts()["A4-r1"]
BELIEVED = 0.01  # office printers are true to about 1 % along each axis: common practice, no source


@cache
def sheet_photo(
    x: float, y: float, tilt_deg: float = 6.0, distance_mm: float = 360.0, lift_mm: float = 0.0, desk: int = 110
) -> Photo:
    scene = Scene(
        camera=Camera(
            width_px=1512, height_px=1134, distance_mm=distance_mm, tilt_deg=tilt_deg, tilt_direction_deg=40.0, k1=0.02
        ),
        print=Print(scale_x=x, scale_y=y, edge_lift_mm=lift_mm),
        chain=Chain(blur_px=0.9),
        desk_srgb=(desk, desk - 10, desk - 25),
    )
    return Photo(name="s", pixels=render(scene), sha256="", focal_px=26.0 / 43.2666 * 1890.0, dpi=None, camera="")


def scale_of(photo: Photo, reading: CheckReading | None = None) -> PlaneScale:
    return find_scale(photo, overview(photo), mark="auto", reading=reading)


def by_hand(side_mm: float, height_mm: float) -> float:
    """Share along one axis: cut within 2 mm (ISO 216, from memory), 0.3 mm of reading, edges that lift by 1.1 mm."""
    paper = math.hypot(2.0 / math.sqrt(3.0), 0.3) / side_mm
    paper = math.hypot(paper, math.sqrt(2.0) * 1.1 / height_mm)
    return 1.0 / math.sqrt(1.0 / BELIEVED**2 + 1.0 / paper**2)


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("x", "y", "tilt_deg", "lift_mm"),
    [(1.0, 1.0, 3.0, 0.0), (1.012, 1.006, 6.0, 0.0), (0.99, 0.985, 14.0, 0.0), (1.01, 1.01, 5.0, 1.5)],
)
def test_a_print_is_told_by_its_paper(x: float, y: float, tilt_deg: float, lift_mm: float) -> None:
    scale = scale_of(sheet_photo(x, y, tilt_deg, lift_mm=lift_mm))
    assert scale.confirmed == BY_PAPER
    sheet, (across, down) = scale.sheet_scale, scale.sheet_scale.shares[SHARE]
    height = scale.camera.height_mm
    assert (across, down) == pytest.approx((by_hand(297.0, height), by_hand(210.0, height)), rel=0.02)
    assert abs(sheet.x - x) <= 2 * across
    assert abs(sheet.y - y) <= 2 * down
    assert abs(sheet.x * sheet.y - x * y) <= max(0.55 * abs(1.0 - x * y), 0.004)  # most of the error is gone
    (told,) = [one for one in scale.flags if one.code == "PRINT_CONFIRMED"]
    assert f"{200 * math.hypot(across, down):.1f} %" in told.message
    assert "SHEET_UNVERIFIED" not in [one.code for one in scale.flags]
    assert 200 * math.hypot(across, down) < 0.65 * 2.83


def test_paper_is_read_to_a_third_of_a_millimetre() -> None:
    photo = sheet_photo(1.0, 1.0)
    scale = scale_of(photo, CheckReading(read_mm=(200.0, 120.0)))
    read = paper_read(photo, overview(photo), scale, A4)
    assert read == pytest.approx(np.array([297.0, 210.0]), abs=0.3)


def test_check_lengths_go_before_the_paper() -> None:
    scale = scale_of(sheet_photo(1.012, 1.006), CheckReading(read_mm=(202.4, 120.7)))
    assert scale.confirmed == "check lengths"
    assert list(scale.sheet_scale.shares) == ["check length"]
    assert "PRINT_CONFIRMED" not in [one.code for one in scale.flags]


@pytest.mark.parametrize(("printed", "confirmed"), [(0.977, BY_PAPER), (0.965, "")])
def test_a_paper_that_contradicts_the_print_confirms_nothing(printed: float, confirmed: str) -> None:
    """Both together know the ratio to 1.2 %; beyond two and a half times that one is not what it is taken for."""
    scale = scale_of(sheet_photo(printed, printed))
    assert scale.confirmed == confirmed
    assert ("PRINTED_AT_OTHER_SIZE" in [one.code for one in scale.flags]) is (not confirmed)


@pytest.mark.parametrize(("distance_mm", "desk"), [(205.0, 110), (340.0, 250)])
def test_without_four_edges_nobody_told_the_size(distance_mm: float, desk: int) -> None:
    scale = scale_of(sheet_photo(1.0, 1.0, 0.0, distance_mm, desk=desk))
    assert scale.confirmed == ""
    assert [one.code for one in scale.flags] == ["SHEET_UNVERIFIED"]


def test_the_answer_says_what_told_the_size_of_the_print() -> None:
    foil = str(data_dir("demo_images") / "foil-shape.jpg")
    for more, told in (((), BY_PAPER), (("--check-lengths", "200 x 120 mm"), "check lengths")):
        answer = json.loads(CliRunner().invoke(group, ["measure", foil, "--json", *more]).stdout)
        assert answer["scale"]["copy_told_by"] == told


@pytest.mark.parametrize("named", ["A4", "A5", "letter"])
def test_a_printed_sheet_is_not_taken_for_the_plain_paper_that_was_named(named: str) -> None:
    """The photo is sharp and its markers are read, so what is said is what is there."""
    foil = str(data_dir("demo_images") / "foil-shape.jpg")
    refused = CliRunner().invoke(group, ["measure", foil, "--mark", named])
    assert refused.exit_code == 3
    assert f"{named} was named, which is a plain sheet of paper" in refused.output
    assert "in view is printed scale sheet A4-r1." in refused.output
    assert "Name no mark" in refused.output
    assert "(--mark)" in refused.output
