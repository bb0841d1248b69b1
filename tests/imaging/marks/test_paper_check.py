"""The ring against the cut edges of its paper (ISO 216: A4 is 210 x 297 mm), in simulated photos."""

from functools import cache

import pytest

from areakit.imaging.marks import find_scale
from areakit.imaging.marks.frame_layout import layouts
from areakit.imaging.marks.paper_check import likely_paper, paper_sides
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import CheckReading, PlaneScale
from areakit.synthetic import Camera, Chain, Print, Scene, render

A4 = layouts()["A4-r1"]


@cache
def sheet_photo(printed: float, tilt_deg: float = 6.0, distance_mm: float = 340.0, desk: int = 110) -> Photo:
    scene = Scene(
        camera=Camera(
            width_px=1512, height_px=1134, distance_mm=distance_mm, tilt_deg=tilt_deg, tilt_direction_deg=40.0, k1=0.03
        ),
        print=Print(scale_x=printed, scale_y=printed),
        chain=Chain(blur_px=0.9),
        desk_srgb=(desk, desk - 10, desk - 25),
    )
    pixels = render(scene)
    return Photo(name="s", pixels=pixels, sha256="", focal_px=26.0 / 43.2666 * 1890.0, dpi=None, camera="")


def scale_of(photo: Photo, reading: CheckReading | None = None) -> PlaneScale:
    return find_scale(photo, overview(photo), mark="auto", reading=reading)


@pytest.mark.parametrize("printed", [0.94, 0.97, 1.04])
def test_a_print_fitted_to_the_page_is_told(printed: float) -> None:
    scale = scale_of(sheet_photo(printed))
    flags = {f.code: f.message for f in scale.flags}
    assert f"printed at {100 * printed:.0f} %" in flags["PRINTED_AT_OTHER_SIZE"]
    # areas come out too large by 1 / printed^2: the uncertainty (k = 2) must reach that far
    x, y = scale.sheet_scale.shares["unverified sheet copy"]
    assert 2 * (x**2 + y**2) ** 0.5 >= abs(printed**-2 - 1)


def test_check_lengths_that_contradict_the_paper_are_told() -> None:
    scale = scale_of(sheet_photo(0.94), CheckReading(read_mm=(200.0, 120.0)))
    (message,) = [f.message for f in scale.flags if f.code == "SCALES_DISAGREE"]
    assert "316 x 224 mm" in message or "316 x 223 mm" in message  # 297 / 0.94 and 210 / 0.94
    assert "297 x 210 mm" in message


@pytest.mark.parametrize(("printed", "tilt_deg"), [(1.0, 2.0), (1.0, 18.0), (0.99, 6.0), (1.01, 6.0)])
def test_a_true_sheet_is_confirmed_by_its_paper(printed: float, tilt_deg: float) -> None:
    photo = sheet_photo(printed, tilt_deg)
    codes = [f.code for f in scale_of(photo).flags]
    assert "PRINTED_AT_OTHER_SIZE" not in codes
    assert "PRINT_CONFIRMED" in codes


def test_paper_is_read_within_a_millimetre() -> None:
    photo = sheet_photo(1.0)
    sides = paper_sides(scale_of(photo), overview(photo), A4)
    assert sides == pytest.approx((297.0, 210.0), abs=1.0)


@pytest.mark.parametrize(("distance_mm", "desk"), [(205.0, 110), (340.0, 250)])
def test_without_four_edges_nothing_is_said(distance_mm: float, desk: int) -> None:
    """Paper that leaves the frame, and paper on a table as white as itself."""
    photo = sheet_photo(0.94, 0.0, distance_mm, desk)
    scale = scale_of(photo)
    assert paper_sides(scale, overview(photo), A4) is None
    assert [f.code for f in scale.flags] == ["SHEET_UNVERIFIED"]


@pytest.mark.parametrize(
    ("read_mm", "name", "printed"),
    [
        ((297.0, 210.0), "A4", 1.0),
        ((316.0, 223.4), "A4", 0.94),
        ((297.2, 229.7), "letter", 0.94),  # an A4 sheet fitted to Letter, 279.4 x 215.9 mm (ANSI Y14.1)
        ((300.0, 250.0), None, None),
        ((302.4, 209.2), None, None),  # a print stretched by 2 % on A4 has the shape of A5, but not its size
    ],
)
def test_shape_tells_the_size(read_mm: tuple[float, float], name: str | None, printed: float | None) -> None:
    reading = likely_paper(read_mm, A4)
    assert (reading.name if reading else None) == name
    if reading:
        assert reading.printed_at == pytest.approx(printed, abs=0.002)
