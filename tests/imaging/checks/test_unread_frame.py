"""A scale sheet too coarse to be read is refused; plain paper, and squares that are no frame, are not."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import cv2
import numpy as np
import pytest

from areakit.errors import MarkNotFound
from areakit.imaging.checks import unread_frame
from areakit.imaging.checks.unread_frame import CHEQUERED, SHIFTS_MM, check_frame_read, chequered
from areakit.imaging.marks.frame_layout import FrameLayout, layouts
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import Overview, read_photo
from calibration.studies.silent_sheet import thumbnail

PX_MM = 2.0
PAPER_MM = (297.0, 210.0)


def paper(size_mm: tuple[float, float] = PAPER_MM, mark: str = "paper") -> Any:
    camera = SimpleNamespace(project=lambda points: points * PX_MM)
    return SimpleNamespace(mark=mark, camera=camera, field_mm=(0.0, 0.0, *size_mm))


def sheet(layout: FrameLayout, *, contrast: float = 1.0, shift_mm: float = 0.0) -> np.ndarray:
    """White paper with the frame of a sheet in its middle; with less contrast, noise takes the place of the squares."""
    width, height = layout.paper_mm
    image = np.full((round(height * PX_MM), round(width * PX_MM)), 200.0)
    left, top = (width - layout.width_mm) / 2 + shift_mm, (height - layout.height_mm) / 2
    rng = np.random.default_rng(1)
    for column, row in layout.frame_squares:
        x, y = ((np.array([left, top]) + np.array([column, row]) * layout.square_mm) * PX_MM).astype(int)
        side = round(layout.square_mm * PX_MM)
        sign = -1.0 if layout.is_black(column, row) else 1.0
        noise = rng.normal()
        image[y : y + side, x : x + side] = 120.0 + 50.0 * (contrast * sign + (1.0 - contrast**2) ** 0.5 * noise)
    return np.repeat(np.clip(image, 0, 255).astype(np.uint8)[..., None], 3, axis=2)


@pytest.mark.parametrize("code", ["A4-r1", "A5-r1", "small-r1"])
def test_the_frame_of_any_sheet_of_such_paper_is_seen(code: str) -> None:
    layout = layouts()[code]
    pixels = cv2.resize(sheet(layout), (594, 420))  # whatever its size, such paper is taken for A4
    assert chequered(Overview(pixels=pixels, factor=1), paper()) > 0.9
    turned = np.ascontiguousarray(np.rot90(pixels))
    assert chequered(Overview(pixels=turned, factor=1), paper(PAPER_MM[::-1])) > 0.9
    with pytest.raises(MarkNotFound) as refused:
        check_frame_read(Overview(pixels=pixels, factor=1), paper())
    assert refused.value.code == "FRAME_UNREAD"


@pytest.mark.parametrize(("contrast", "refused"), [(0.7, True), (0.25, False)])
def test_from_where_on_squares_are_a_frame(contrast: float, refused: bool) -> None:
    small = Overview(pixels=sheet(layouts()["A4-r1"], contrast=contrast), factor=1)
    assert (chequered(small, paper()) > CHEQUERED) is refused
    if refused:
        with pytest.raises(MarkNotFound):
            check_frame_read(small, paper())
    else:
        check_frame_read(small, paper())


@pytest.mark.parametrize(("likeness", "refused"), [(0.45, False), (0.55, True)])
def test_a_frame_is_there_from_a_correlation_of_a_half_on(
    monkeypatch: pytest.MonkeyPatch, likeness: float, refused: bool
) -> None:
    """Black and white squares explain a quarter of the light's variance then."""
    monkeypatch.setattr(unread_frame, "chequered", lambda small, scale: likeness)
    nothing: Any = None
    if not refused:
        check_frame_read(nothing, paper())
        return
    with pytest.raises(MarkNotFound, match="none of its markers can be read"):
        check_frame_read(nothing, paper())


@pytest.mark.parametrize("shift", [-8.3, 0.7, 4.3, 9.0])
def test_a_printer_may_shift_the_frame(shift: float) -> None:
    """A shift of half a square from all places looked at would hide the frame; there is none."""
    assert chequered(Overview(pixels=sheet(layouts()["A4-r1"], shift_mm=shift), factor=1), paper()) > 0.9
    assert np.diff(SHIFTS_MM).max() < layouts()["small-r1"].square_mm / 2
    assert SHIFTS_MM[-1] >= 9.0


def test_plain_paper_and_a_sheet_that_was_read_pass() -> None:
    plain = np.full((420, 594, 3), 200, np.uint8)
    plain[150:190, 200:290] = 60  # a part
    check_frame_read(Overview(pixels=plain, factor=1), paper())
    check_frame_read(Overview(pixels=sheet(layouts()["A4-r1"]), factor=1), paper(mark="frame"))


def test_paper_of_another_shape_holds_no_such_sheet() -> None:
    assert chequered(Overview(pixels=np.full((600, 600, 3), 200, np.uint8), factor=1), paper((297.0, 224.0))) == 0.0
    framed = sheet(layouts()["A4-r1"])
    for tall, seen in ((1.02, True), (1.05, False)):  # A4 and letter differ by 1.087
        pixels = cv2.resize(framed, (594, round(420 * tall)))
        assert (chequered(Overview(pixels=pixels, factor=1), paper((297.0, 210.0 * tall))) > 0.5) == seen


@pytest.mark.thorough
def test_a_picture_too_small_for_its_markers_is_refused_and_not_measured_by_its_paper() -> None:
    case = thumbnail(8)
    with pytest.raises(MarkNotFound) as refused:
        find_outlines(read_photo(case.photo), **case.request)
    assert refused.value.code == "FRAME_UNREAD"
