"""A picture enlarged by a known factor is told by what beats in it, and states no less than the one it was made of."""

import io
from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt
import pytest
from drawn_rings import edge_of, level_camera, measured, plane_scale, square
from PIL import Image

from areakit.imaging.enlarged import _beats, _changes, enlargement
from areakit.imaging.outlines import find_outlines
from areakit.synthetic import Chain, render
from areakit.uncertainty import Measured
from tests.imaging.drawn_photos import FOIL, SMALL, WASHER, photo_of, scene_of, true_reading

Bytes = npt.NDArray[np.uint8]


def saved(pixels: Bytes, quality: int) -> Bytes:
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, format="JPEG", quality=quality)
    return np.asarray(Image.open(file))


def grainy(width: int = 1200, height: int = 900, grain: float = 3.0) -> Bytes:
    """A soft picture with the noise of a sensor."""
    rng = np.random.default_rng(7)
    soft = cv2.resize(rng.uniform(60, 190, (9, 12, 3)), (width, height), interpolation=cv2.INTER_CUBIC)
    return np.asarray(np.clip(soft + rng.normal(0, grain, soft.shape), 0, 255), dtype=np.uint8)


def resized(pixels: Bytes, times: float, way: int = cv2.INTER_CUBIC) -> Bytes:
    return np.asarray(cv2.resize(pixels, None, fx=times, fy=times, interpolation=way), dtype=np.uint8)


@pytest.mark.parametrize("quality", [None, 95])
@pytest.mark.parametrize("times", [0.6, 1.0])
def test_a_picture_that_was_not_enlarged_is_not_told_to_be(times: float, quality: int | None) -> None:
    picture = saved(resized(grainy(), times, cv2.INTER_AREA), 90)
    assert enlargement(saved(picture, quality) if quality else picture) == 1.0


def test_an_even_picture_was_not_enlarged() -> None:
    assert enlargement(np.full((300, 400, 3), 90, np.uint8)) == 1.0


@pytest.mark.parametrize(
    ("times", "way"),
    [(1.3, cv2.INTER_CUBIC), (1.5, cv2.INTER_LINEAR), (1.5, cv2.INTER_LANCZOS4), (2.0, cv2.INTER_CUBIC)],
)
def test_the_blocks_of_the_smaller_picture_tell_how_many_times_it_was_enlarged(times: float, way: int) -> None:
    assert enlargement(resized(saved(grainy(), 85), times, way)) == pytest.approx(times, rel=0.003)


@pytest.mark.parametrize("times", [1.5, 1.75])
def test_grain_alone_tells_it_where_no_blocks_are(times: float) -> None:
    assert enlargement(resized(grainy(), times)) == pytest.approx(times, rel=0.003)


def test_what_does_not_beat_along_rows_and_columns_alike_was_not_enlarged() -> None:
    assert enlargement(np.asarray(cv2.resize(grainy(), None, fx=1.5, fy=1.0))) == 1.0


AT_21 = round(0.21 * 8192)


def waves(rate: float, strength: float) -> npt.NDArray[np.float64]:
    """A mean change of two stored values that beats at a rate."""
    rng = np.random.default_rng(3)
    at = np.arange(4000)
    return (rng.uniform(1.0, 3.0, (60, 4000)) * (1.0 + strength * np.cos(2 * np.pi * rate * at))).mean(axis=0)


@pytest.mark.parametrize(("strength", "clear"), [(0.01, False), (0.1, True)])
def test_a_beat_stands_out_at_its_own_rate(strength: float, clear: bool) -> None:
    beats = _beats(waves(0.21, strength))
    assert (beats[AT_21] > 10.0) == clear
    assert np.median(beats) < 3.0


@pytest.mark.parametrize(("step", "counts"), [(7, 7), (8, 8), (9, 8), (200, 8)])
def test_a_change_beyond_eight_stored_values_is_an_edge_and_does_not_beat(step: int, counts: int) -> None:
    """Steps up and down again: the first differences are the step, the second ones twice as much."""
    lines = np.tile(np.array([20, 20 + step], np.uint8), (120, 30))
    first, second = _changes(lines)
    assert first == pytest.approx(np.full(59, float(counts)))
    assert second == pytest.approx(np.full(58, 8.0))


def test_an_edge_is_as_open_in_millimetres_however_many_times_the_picture_was_enlarged() -> None:
    """The same square, its pixels half as wide and its edge twice as soft, as it is in a picture enlarged twice."""
    seen = {"shade_outside": 0.5, "dark_share": 0.2, "seen": np.arange(640) < 600}
    plain = measured(edge_of(square(), sigma_px=0.6, **seen))
    camera = level_camera()
    parameters = camera.parameters.copy()
    parameters[0] += np.log(2.0)
    twice = replace(edge_of(square(), sigma_px=1.2, **seen), points_px=2.0 * edge_of(square()).points_px)
    scale = plane_scale(camera=replace(camera, parameters=parameters))
    offsets = ("edge position", "shadow at the edge", "dark metal")
    told = measured(twice, scale=scale, enlarged=2.0).area.budget
    assert [told[name] for name in offsets] == pytest.approx([plain.area.budget[name] for name in offsets], rel=1e-3)
    # Its length is read to the sharpness of the picture, so that of a bridged stretch differs a little.
    assert told["bridged edge"] == pytest.approx(plain.area.budget["bridged edge"], rel=2e-3)
    untold = measured(twice, scale=scale).area.budget
    assert untold["edge position"] == pytest.approx(told["edge position"] * 2 / 3, rel=1e-3)


def test_a_photo_enlarged_states_no_less_than_the_photo_it_was_made_of() -> None:
    camera = replace(SMALL, width_px=1600, height_px=1200)
    scene = scene_of(WASHER, camera=camera, chain=Chain(blur_px=0.5, exposure=0.8, full_well=4000.0))
    first = saved(render(scene), 85)

    def area(pixels: Bytes) -> Measured:
        found = find_outlines(photo_of(scene, pixels), thickness=FOIL, reading=true_reading(scene))
        return found.parts[0].outline.area

    original = area(first)
    for times in (1.5, 2.0):
        enlarged = area(saved(resized(first, times), 95))
        assert enlarged.budget["edge position"] == pytest.approx(original.budget["edge position"], rel=0.03)
        # The bend of the sheet is read anew from the corners of each picture.
        rest = [one.standard_uncertainty**2 - one.budget["sheet flatness"] ** 2 for one in (enlarged, original)]
        assert rest[0] > 0.97 * rest[1]
        assert abs(enlarged.value - WASHER.area) < enlarged.expanded_uncertainty
