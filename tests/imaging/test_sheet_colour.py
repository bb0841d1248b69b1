"""Distance from the bare sheet by numbers worked out by hand, and what counts as coloured, dark or burnt out."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from areakit.errors import MeasurementError
from areakit.imaging import sheet_colour
from areakit.imaging.checks.part import photo_flags
from areakit.imaging.sheet_colour import encoded_colours, from_bare, mostly_brighter
from areakit.uncertainty import Measured

BLUE = (70, 115, 195)
ALL = np.ones((4, 4), dtype=bool)


def plain(colour: Any, shape: tuple[int, int] = (4, 4)) -> Any:
    return np.tile(np.array(colour, dtype=np.uint8), (*shape, 1))


def distance(bare: Any, *, coloured: bool = True, dark: bool = False) -> float:
    """Distance of blue pixels from a bare sheet of a colour, encoded."""
    sheet = np.tile(np.asarray(bare, dtype=np.float32), (4, 4, 1))
    return float(from_bare(plain(BLUE), sheet, ALL, coloured=coloured, dark=dark)[1, 1])


def test_black_is_lifted_by_glare_and_white_is_one() -> None:
    """0.004 of glare is added, and linear light taken to the power 1/2.2."""
    assert encoded_colours(np.array([0, 255], dtype=np.uint8)) == pytest.approx([0.0813, 1.0018], rel=0.002)


@pytest.mark.parametrize(
    ("times", "coloured", "units"),
    [(1.08, True, 2.0), (1.08, False, 2.0), (0.88, True, 1.0), (0.88, False, 3.0)],
)
def test_shade_counts_by_25ths_and_darkening_of_a_coloured_sheet_a_third_of_it(
    times: float, coloured: bool, units: float
) -> None:
    seen = encoded_colours(np.array(BLUE, dtype=np.uint8))
    assert distance(seen / times, coloured=coloured) == pytest.approx(units, rel=1e-3)


def test_colour_counts_by_12_thousandths() -> None:
    """A bare sheet whose colour stands at an angle of tangent 0.024, and is as light along it."""
    seen = encoded_colours(np.array(BLUE, dtype=np.uint8)).astype(float)
    across = np.cross(seen, [1.0, 0.0, 0.0])
    across *= np.linalg.norm(seen) / np.linalg.norm(across)
    cosine = 1.0 / np.hypot(1.0, 0.024)
    bare = cosine * (cosine * seen + 0.024 * cosine * across)
    assert distance(bare) == pytest.approx(2.0, rel=0.01)


@pytest.mark.parametrize(("times", "units"), [(1.12, 1.0), (0.5, 0.0)])
def test_on_a_dark_ground_light_counts_a_third_and_shadow_nothing(times: float, units: float) -> None:
    seen = encoded_colours(np.array(BLUE, dtype=np.uint8))
    assert distance(seen / times, coloured=False, dark=True) == pytest.approx(units, abs=1e-3)


def times_brighter(times: float) -> Any:
    """Encoded ground of which grey 100 is so many times the light."""
    return encoded_colours(np.array([100] * 3, dtype=np.uint8)) / times ** (1.0 / 2.2)


@pytest.mark.parametrize(("times", "told"), [(2.8, False), (3.2, True)])
def test_metal_on_a_dark_ground_is_three_times_as_bright(times: float, told: bool) -> None:
    ground = np.tile(times_brighter(times), (4, 4, 1)).astype(np.float32)
    assert mostly_brighter(plain([100] * 3), ground, ALL) == told


@pytest.mark.parametrize(("brighter", "told"), [(39, False), (41, True)])
def test_a_ground_is_dark_if_four_are_brighter_for_one_that_is_darker(brighter: int, told: bool) -> None:
    ground = np.tile(encoded_colours(np.array([100] * 3, dtype=np.uint8)), (1, 60, 1)).astype(np.float32)
    pixels = plain([100] * 3, (1, 60))
    pixels[0, :10], pixels[0, 10 : 10 + brighter] = 20, 250
    assert mostly_brighter(pixels, ground, np.ones((1, 60), dtype=bool)) == told


def field(monkeypatch: pytest.MonkeyPatch, pixels: Any) -> Any:
    """The model of a field that fills the picture; its outer tenth is the band that stays empty."""
    field = np.ones(pixels.shape[:2], dtype=bool)
    guard = field.copy()
    guard[12:-12, 12:-12] = False
    monkeypatch.setattr(sheet_colour, "field_masks", lambda small, scale: (field, guard, 0, 0))
    small: Any = SimpleNamespace(pixels=pixels)
    nothing: Any = None
    return sheet_colour.sheet_distance(small, nothing)


@pytest.mark.parametrize(("blue", "coloured"), [(148, False), (162, True)])
def test_a_sheet_is_coloured_if_its_channels_differ_by_six_tenths(
    monkeypatch: pytest.MonkeyPatch, blue: int, coloured: bool
) -> None:
    """Against stored 115 in red and green, of linear light 0.171, 148 has 0.296 (log 0.54) and 162 has 0.361 (0.74)."""
    assert field(monkeypatch, plain((115, 115, blue), (120, 120))).coloured == coloured


@pytest.mark.parametrize(("grey", "dark"), [(133, True), (141, False)])
def test_a_ground_is_dark_below_a_quarter_of_full_light(monkeypatch: pytest.MonkeyPatch, grey: int, dark: bool) -> None:
    """Stored 133 is 0.235 of linear light, 141 is 0.266 (IEC 61966-2-1); the metal is white."""
    pixels = plain([grey] * 3, (120, 120))
    pixels[40:80, 40:80] = 255
    assert field(monkeypatch, pixels).dark == dark


@pytest.mark.parametrize(("rows", "refused"), [(29, False), (31, True)])
def test_a_sheet_of_which_three_tenths_are_burnt_out_is_refused(rows: int, refused: bool) -> None:
    pixels = plain([200] * 3, (100, 10))
    pixels[:rows] = 255
    guard = np.ones((100, 10), dtype=bool)
    if not refused:
        assert sheet_colour._check_exposure(pixels, guard) == pytest.approx(0.29)
        return
    with pytest.raises(MeasurementError) as why:
        sheet_colour._check_exposure(pixels, guard)
    assert why.value.code == "OVER_EXPOSED"


@pytest.mark.parametrize(("burnt", "told"), [(0.04, []), (0.06, ["OVER_EXPOSED_SHEET"])])
def test_a_burnt_out_sheet_is_told_of_from_a_twentieth_on(burnt: float, told: list[str]) -> None:
    scale: Any = SimpleNamespace(flags=(), camera=SimpleNamespace(height_mm=300.0))
    sheet: Any = SimpleNamespace(burnt=burnt, unevenness=0.0)
    flags = photo_flags(scale, sheet, Measured(value=1.0, unit="mm"), 0)
    assert [flag.code for flag in flags] == told
