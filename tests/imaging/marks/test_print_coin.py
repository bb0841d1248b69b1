"""A print that nobody measured, told by a coin in its field (1 euro: 23.25 mm, Regulation (EU) No 729/2014), drawn."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Point, Polygon, box

from areakit.errors import MarkNotFound, RangeError, ScaleUnreliable
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.print_coin import SHARE
from areakit.imaging.marks.wanted import read_mark
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import CheckReading, PlaneScale
from areakit.service.measure import MeasureRequest, laid_in_field, measure_bytes, result_json
from areakit.synthetic import Camera, Chain, Light, Metal, Print, Scene, ScenePart, jpeg_bytes, render
from areakit.uncertainty import Measured

EURO, THICK = 23.25, 2.33
PLATE = box(-15.0, -10.0, 15.0, 10.0)
CAMERA = Camera(width_px=2016, height_px=1512, distance_mm=270.0, tilt_deg=5.0, tilt_direction_deg=70.0, k1=0.02)


def disc(diameter_mm: float) -> Polygon:
    return Point(0, 0).buffer(diameter_mm / 2, quad_segs=96)


def lying(polygon: Polygon, at_mm: tuple[float, float], thickness_mm: float = THICK) -> ScenePart:
    return ScenePart(polygon=polygon, thickness_mm=thickness_mm, position_mm=at_mm)


COIN = lying(disc(EURO), (100.0, 85.0))


def scene_of(x: float = 1.0, y: float = 1.0, *parts: ScenePart, **changes: object) -> Scene:
    usual = Scene(
        parts=parts or (COIN,),
        camera=CAMERA,
        metal=Metal(reflectance=(0.75, 0.68, 0.5), brightness=0.9),
        print=Print(scale_x=x, scale_y=y),
        chain=Chain(blur_px=0.9),
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def photo_of(scene: Scene) -> Photo:
    return Photo(name="s", pixels=render(scene), sha256="", focal_px=26.0 / 43.2666 * 2520.0, dpi=None, camera="")


def scale_of(scene: Scene, laid: str = "coin:eur-1", mark: str = "auto") -> PlaneScale:
    photo = photo_of(scene)
    return find_scale(photo, overview(photo), mark=mark, reading=None, laid=read_mark(laid))


@pytest.mark.thorough
def test_coins_tell_the_size_of_nine_in_ten_prints() -> None:
    """Prints, cameras and shadows at random; the truth is how each was drawn."""
    rng = np.random.default_rng(1)
    inside = []
    for _ in range(12):
        x, y = rng.normal(1.0, 0.006, 2)
        camera = replace(CAMERA, tilt_deg=float(rng.uniform(0, 15)), tilt_direction_deg=float(rng.uniform(0, 360)))
        light = Light(
            azimuth_deg=float(rng.uniform(0, 360)), contact_depth=float(rng.uniform(0, 0.5)),
            contact_width_mm=float(rng.uniform(1, 4)), cast_depth=float(rng.uniform(0, 0.4)), cast_softness_mm=1.5,
        )  # fmt: skip
        coin = lying(disc(EURO), (float(rng.uniform(60, 200)), float(rng.uniform(50, 130))))
        scale = scale_of(scene_of(x, y, coin, camera=camera, light=light))
        sheet, (across, down) = scale.sheet_scale, scale.sheet_scale.shares[SHARE]
        inside += [abs(sheet.x * sheet.y / (x * y) - 1.0) <= 2 * math.hypot(across, down)]
    assert np.mean(inside) >= 0.9


def by_hand(lean: float, height_mm: float) -> float:
    """Share of an area: of the coin 0.1 mm of limit, 0.12 mm of reading, 0.3 of the seen wall and 0.2 mm of level, all
    common to both of its diameters, and 0.5 % of each alone; beside 1 % along each axis of any print."""
    own = math.hypot(0.1 / math.sqrt(3.0), 0.12, 0.3 * THICK * lean) / EURO
    common = math.hypot(own, 0.2 / height_mm)
    both = 2.0 * common**2 + 0.005**2  # variance of the mean of both, times two
    return math.sqrt(2.0 / (1.0 / 0.01**2 + 1.0 / both))


def test_the_share_of_a_coin_is_that_worked_out_by_hand() -> None:
    scale = scale_of(scene_of())
    camera = scale.camera
    lean = math.dist(camera.centre_mm[:2], (100.0, 85.0)) / camera.height_mm
    assert math.hypot(*scale.sheet_scale.shares[SHARE]) == pytest.approx(by_hand(lean, camera.height_mm), rel=0.03)
    assert scale.confirmed == "coin eur-1 in its field"
    assert "PRINT_CONFIRMED" in [one.code for one in scale.flags]


@pytest.mark.thorough
def test_two_coins_tell_more_than_one() -> None:
    two = scene_of(1.006, 1.006, COIN, lying(disc(25.75), (180.0, 110.0), 2.2))
    one, both = scale_of(two), scale_of(two, both_named(two))
    assert both.confirmed == "coins eur-1 and eur-2 in its field"
    assert len(both.excluded_mm) == 2
    assert sum(both.sheet_scale.shares[SHARE]) < 0.92 * sum(one.sheet_scale.shares[SHARE])


def both_named(scene: Scene) -> str:
    scale = scale_of(scene)
    first, second = scale.camera.project(np.array([(100.0, 85.0), (180.0, 110.0)]))
    return f"coin:eur-1@{first[0]:.0f},{first[1]:.0f}; coin:eur-2@{second[0]:.0f},{second[1]:.0f}"


@pytest.mark.thorough
def test_the_coin_is_no_part_and_the_part_beside_it_is_measured_alike_from_everywhere() -> None:
    scene = scene_of(1.008, 1.008, COIN, lying(PLATE, (180.0, 90.0)))
    thick = Measured(value=THICK, unit="mm", budget={"thickness": 0.01})
    photo = photo_of(scene)
    (part,) = find_outlines(photo, thickness=thick, laid=read_mark("coin:eur-1")).parts
    assert abs(part.outline.area.value - PLATE.area) <= part.outline.area.expanded_uncertainty
    assert part.outline.area.value == pytest.approx(PLATE.area, rel=0.012)
    assert len(find_outlines(photo, thickness=thick).parts) == 2
    request = MeasureRequest(thickness="2.33 mm", check_lengths="coin:eur-1")
    told = result_json(measure_bytes(jpeg_bytes(photo.pixels, scene), request, name="s.jpg"))
    assert told["scale"]["copy_told_by"] == "coin eur-1 in its field"
    assert len(told["parts"]) == 1


def test_without_a_coin_of_that_size_there_is_no_answer() -> None:
    with pytest.raises(MarkNotFound, match=r"No coin of 23\.25 mm was found in the field") as told:
        scale_of(scene_of(1.0, 1.0, lying(disc(EURO * 1.06), (100.0, 85.0))))
    assert told.value.code == "NO_COIN"


def test_a_part_as_large_as_the_coin_is_asked_about_and_a_place_answers() -> None:
    scene = scene_of(1.0, 1.0, COIN, lying(disc(EURO), (180.0, 100.0)))
    with pytest.raises(ScaleUnreliable, match="2 round things are as large as the coin eur-1: at ") as told:
        scale_of(scene)
    assert told.value.code == "COIN_UNDECIDED"
    place = told.value.message.split("(")[1].split(")")[0].replace(" ", "")
    assert scale_of(scene, f"coin:eur-1@{place}").confirmed == "coin eur-1 in its field"


def test_a_coin_that_contradicts_the_print_is_refused() -> None:
    assert scale_of(scene_of(0.972, 0.972)).confirmed
    with pytest.raises(ScaleUnreliable, match=r"4\.\d % off") as told:
        scale_of(scene_of(0.955, 0.955))
    assert told.value.code == "SCALES_DISAGREE"


def test_a_coin_against_a_part_tells_nothing() -> None:
    plate = lying(PLATE, (100.0, 85.0 + EURO / 2 + 10.0 + 0.7), 0.3)
    with pytest.raises((ScaleUnreliable, MarkNotFound)):
        scale_of(scene_of(1.0, 1.0, COIN, plate))


def test_a_coin_needs_a_printed_sheet_and_check_lengths_go_before_it() -> None:
    with pytest.raises(MarkNotFound, match="A coin was to tell the size of a printed scale sheet"):
        scale_of(scene_of(), mark="taps:300,700,1500,700,200 mm")
    photo = photo_of(scene_of())
    reading = CheckReading(read_mm=(200.0, 120.0))
    scale = find_scale(photo, overview(photo), mark="auto", reading=reading, laid=read_mark("coin:eur-1"))
    assert scale.confirmed == "check lengths"


def test_a_coin_is_named_as_elsewhere() -> None:
    assert laid_in_field("200 x 120 mm") is None
    assert laid_in_field(None) is None
    laid = laid_in_field("Coin:25.75 mm")
    assert laid is not None
    assert (laid.kind, laid.detail) == ("coin", ("25.75 mm",))
    with pytest.raises(RangeError, match="no coin 'eur-3' in the table"):
        laid_in_field("coin:eur-3")
