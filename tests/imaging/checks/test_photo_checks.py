"""Checks of the picture: each threshold from both sides, on pictures and blurs that are drawn here."""

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from areakit.errors import FileError, MarkNotFound, ScaleUnreliable
from areakit.imaging.blur import Blur
from areakit.imaging.checks.photo import (
    _first_border,
    check_motion,
    check_not_mirrored,
    check_packing,
    coarseness,
    packing_step,
)
from areakit.imaging.marks import find_scale
from areakit.imaging.photo import Photo, overview
from areakit.synthetic import render, render_linear
from areakit.synthetic.sensor import develop
from tests.imaging.drawn_photos import CLEAN, WASHER, photo_of, scene_of


def grainy(seed: int) -> np.ndarray:
    """A soft picture with the noise of a sensor."""
    rng = np.random.default_rng(seed)
    soft = cv2.resize(rng.uniform(30, 220, (12, 16, 3)), (640, 480), interpolation=cv2.INTER_CUBIC)
    return np.clip(soft + rng.normal(0, 2, soft.shape), 0, 255).astype(np.uint8)


def saved(pixels: np.ndarray, quality: int) -> np.ndarray:
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, format="JPEG", quality=quality)
    return np.asarray(Image.open(file))


# ITU-T T.81, table K.1: the first luminance step is 16 at quality 50; the usual scaling makes it 160 at 5, 40 at 20.
@pytest.mark.parametrize(("quality", "step"), [(5, 160), (20, 40), (50, 16)])
@pytest.mark.parametrize("again", [False, True])
def test_the_step_of_a_file_is_read_off_its_blocks_even_when_it_was_saved_again(
    quality: int, step: int, again: bool
) -> None:
    pixels = saved(grainy(1), quality)
    pixels = saved(pixels[2:, 5:], 95) if again else pixels
    assert packing_step(pixels) == pytest.approx(step, rel=0.08)


def test_a_fine_file_has_no_step() -> None:
    assert packing_step(grainy(2)) == 0
    assert packing_step(saved(grainy(2), 92)) == packing_step(saved(grainy(2), 75)) == 0


def test_a_compressed_file_is_told_then_refused() -> None:
    assert check_packing(11, "a.jpg") == ()
    assert [told.code for told in check_packing(12, "a.jpg")] == ["COMPRESSED"]
    assert [told.code for told in check_packing(29, "a.jpg")] == ["COMPRESSED"]
    with pytest.raises(FileError, match=r"a\.jpg is compressed too much") as refusal:
        check_packing(30, "a.jpg")
    assert refusal.value.code == "COMPRESSED"


def test_an_edge_is_more_open_the_coarser_the_steps() -> None:
    assert coarseness(0) == coarseness(5) == 1.0
    assert coarseness(20) == pytest.approx(4.0)


def test_a_mirrored_sheet_is_told_by_its_markers() -> None:
    check_not_mirrored(3)
    with pytest.raises(MarkNotFound) as refusal:
        check_not_mirrored(4)
    assert refusal.value.code == "MIRRORED"


@pytest.mark.parametrize("mark", ["auto", "A4", "frame"])
def test_a_flipped_photo_is_refused_as_mirrored_whatever_mark_is_named(mark: str) -> None:
    scene = scene_of(WASHER)
    photo = photo_of(scene, np.ascontiguousarray(render(scene)[:, ::-1]))
    with pytest.raises(MarkNotFound, match="mirrored") as refusal:
        find_scale(photo, overview(photo), mark=mark, reading=None)
    assert refusal.value.code == "MIRRORED"


def blurred(length_px: float) -> Blur:
    """Blur whose length by motion, three times the root of the difference of variances, is given."""
    return Blur(longest_px=float(np.hypot(0.8, length_px / 3.0)), shortest_px=0.8, direction_deg=30.0)


def test_a_shaken_photo_is_told_then_refused() -> None:
    assert check_motion(None) == check_motion(blurred(3.9)) == ()
    assert [told.code for told in check_motion(blurred(4.1))] == ["MOTION_BLUR"]
    assert [told.code for told in check_motion(blurred(6.9))] == ["MOTION_BLUR"]
    with pytest.raises(ScaleUnreliable, match=r"at 30° to the horizontal") as refusal:
        check_motion(blurred(7.1))
    assert refusal.value.code == "MOTION_BLUR"


def moved(length_px: int, *, down: bool) -> Photo:
    """A photo whose camera moved by whole pixels along a diagonal while the shutter was open."""
    scene = scene_of(WASHER, chain=CLEAN)
    kernel = np.eye(length_px, dtype=np.float32) / length_px
    light = cv2.filter2D(render_linear(scene), -1, kernel if down else kernel[:, ::-1])
    return photo_of(scene, develop(light, scene.chain, np.random.default_rng(1)))


@pytest.mark.parametrize(("down", "direction"), [(True, 45.0), (False, 135.0)])
def test_the_squares_tell_the_direction_of_a_motion(down: bool, direction: float) -> None:
    photo = moved(6, down=down)
    with pytest.raises(ScaleUnreliable, match="shaken") as refusal:
        find_scale(photo, overview(photo), mark="frame", reading=None)
    assert float(refusal.value.message.split(" at ")[1].split("°")[0]) == pytest.approx(direction, abs=4.0)


@pytest.mark.parametrize(
    ("inside", "one_more", "seen"), [(1, 0.12, False), (1, 0.25, True), (0, 0.02, False), (0, 0.05, True)]
)
def test_blocks_show_by_an_eighth_and_a_little_more_of_change_across_their_borders(
    inside: int, one_more: float, seen: bool
) -> None:
    """Lines that go up and down by one, or are even; at every eighth column some go up by one more."""
    lines = np.zeros((1600, 400), dtype=np.int16)
    lines[:, 1::2] += inside
    some = np.arange(1600) // 16 % 100 < 100 * one_more
    for column in range(8, 400, 8):
        lines[some, column:] += 1 if column // 8 % 2 else -1
        assert inside == 0 or column % 2 == 0
    if inside:
        lines[some] = np.cumsum(np.where(np.arange(400) % 8 == 0, 2, 1) * np.where(np.arange(400) % 2, 1, -1))
    found = _first_border((lines + 100).astype(np.uint8), axis=1)
    assert (found is not None) == seen


def blocks_of(levels: np.ndarray) -> np.ndarray:
    """A picture of even blocks, in no order, whose means lie so many eighths of a stored value from 128."""
    across = 44
    whole, parts = np.divmod(np.random.default_rng(5).permutation(levels), 8)
    down = len(levels) // across
    inside = np.arange(64).reshape(8, 8) < 8 * parts[: down * across].reshape(down, across, 1, 1)
    blocks = 128 + whole[: down * across].reshape(down, across, 1, 1) + inside
    return np.repeat(blocks.transpose(0, 2, 1, 3).reshape(8 * down, 8 * across)[..., None], 3, axis=2).astype(np.uint8)


def test_a_mean_that_many_blocks_have_counts_twelve_times_only() -> None:
    """Forty means on a comb of step 20, 12 times each; beside it 12 plain grounds of 36, and 100 of one block."""
    comb = np.repeat(20 * np.arange(-20, 20), 12)
    grounds = np.repeat(20 * np.arange(-6, 6) + np.tile([5, -5], 6), 36)
    lone = np.setdiff1d(np.arange(-500, 500, 5), 20 * np.arange(-25, 25))[:200:2]
    assert packing_step(blocks_of(np.concatenate([comb, grounds, lone]))) == 20
