"""A print that nobody measured, told by a card in its field (ISO/IEC 7810: ID-1 is 85.60 x 53.98 mm), drawn."""

import math

import pytest
from shapely.geometry import Point, Polygon, box

from areakit.errors import MarkNotFound, MeasurementError, ScaleUnreliable
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.print_card import BY_CARD, SHARE
from areakit.imaging.marks.wanted import read_mark
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import Photo, overview
from areakit.imaging.scale import CheckReading, PlaneScale
from areakit.synthetic import Camera, Chain, Metal, Print, Scene, ScenePart, render
from areakit.uncertainty import Measured

LAID = read_mark("card")
CARD = box(-42.8, -26.99, 42.8, 26.99).buffer(-3.18).buffer(3.18, quad_segs=16)
DISC = Point(0, 0).buffer(14.0, quad_segs=256)
CAMERA = Camera(width_px=2016, height_px=1512, distance_mm=270.0, tilt_deg=5.0, tilt_direction_deg=70.0, k1=0.02)


def card_photo(
    x: float = 1.0,
    y: float = 1.0,
    turn_deg: float = 4.0,
    card: Polygon = CARD,
    *,
    at_mm: tuple[float, float] = (100.0, 85.0),
    beside: ScenePart | None = None,
) -> Photo:
    parts = [ScenePart(polygon=card, thickness_mm=0.76, position_mm=at_mm, turn_deg=turn_deg)]
    parts += [beside] if beside is not None else []
    scene = Scene(
        parts=tuple(parts),
        camera=CAMERA,
        metal=Metal(reflectance=(0.5, 0.42, 0.35), brightness=0.9),
        print=Print(scale_x=x, scale_y=y),
        chain=Chain(blur_px=0.9),
    )
    return Photo(name="s", pixels=render(scene), sha256="", focal_px=26.0 / 43.2666 * 2520.0, dpi=None, camera="")


def scale_of(photo: Photo, mark: str = "auto") -> PlaneScale:
    return find_scale(photo, overview(photo), mark=mark, reading=None, laid=LAID)


def by_hand(side_mm: float, height_mm: float) -> float:
    """Share along one side: 0.2 mm of limit, 0.12 mm of reading, 0.3 mm of level, beside 1 % of any print."""
    card = math.hypot(0.2 / math.sqrt(3.0) / side_mm, 0.12 / side_mm, 0.3 / height_mm)
    return 1.0 / math.sqrt(1.0 / 0.01**2 + 1.0 / card**2)


@pytest.mark.thorough
@pytest.mark.parametrize(("x", "y", "turn_deg"), [(1.011, 0.992, 0.0), (0.99, 1.005, 93.0), (1.012, 1.008, 40.0)])
def test_a_card_tells_the_size_of_the_print(x: float, y: float, turn_deg: float) -> None:
    scale = scale_of(card_photo(x, y, turn_deg))
    assert scale.confirmed == BY_CARD
    sheet, (across, down) = scale.sheet_scale, scale.sheet_scale.shares[SHARE]
    assert abs(sheet.x * sheet.y - x * y) < 0.004
    assert abs(sheet.x - x) <= 2 * across
    assert abs(sheet.y - y) <= 2 * down
    assert "PRINT_CONFIRMED" in [one.code for one in scale.flags]
    assert len(scale.excluded_mm) == 1


def test_each_side_speaks_for_its_own_direction() -> None:
    """Along the sheet, the long side knows x and the short one y; the other way round when it is turned."""
    level, upright = (scale_of(card_photo(turn_deg=turn)) for turn in (0.0, 90.0))
    height = level.camera.height_mm
    wanted = by_hand(85.60, height), by_hand(53.98, height)
    assert level.sheet_scale.shares[SHARE] == pytest.approx(wanted, rel=0.03)
    assert upright.sheet_scale.shares[SHARE] == pytest.approx(wanted[::-1], rel=0.03)
    assert 200 * math.hypot(*wanted) < 0.3 * 2.83  # a third of what a print carries that nobody measured


def test_the_card_is_no_part_and_the_part_beside_it_is_measured() -> None:
    photo = card_photo(1.01, 1.01, beside=ScenePart(polygon=DISC, thickness_mm=0.76, position_mm=(180.0, 90.0)))
    thick = Measured(value=0.76, unit="mm", budget={"thickness": 0.01})
    (part,) = find_outlines(photo, thickness=thick, laid=LAID).parts
    assert part.outline.area.value == pytest.approx(math.pi * 14.0**2, rel=0.006)
    assert abs(part.outline.area.value - math.pi * 14.0**2) <= part.outline.area.expanded_uncertainty
    both = find_outlines(photo, thickness=thick).parts
    assert len(both) == 2


def test_without_a_card_there_is_no_answer() -> None:
    blank = card_photo(card=box(-30.0, -27.0, 30.0, 27.0))
    with pytest.raises(MarkNotFound, match=r"No card of 85\.6 x 53\.98 mm was found in the field"):
        scale_of(blank)


def test_a_card_that_contradicts_the_print_is_refused() -> None:
    assert scale_of(card_photo(0.975, 0.975)).confirmed == BY_CARD  # 2.5 %: rare, and believed
    with pytest.raises(ScaleUnreliable, match=r"3\.\d % off") as told:
        scale_of(card_photo(0.964, 0.964))
    assert told.value.code == "SCALES_DISAGREE"


def test_a_card_against_the_edge_of_the_field_is_refused() -> None:
    """Its side would be read where the field ends; half a millimetre of bare field is no telling."""
    with pytest.raises(ScaleUnreliable, match=r"Only \d\d % of what lies round the card is bare field"):
        scale_of(card_photo(turn_deg=90.0, at_mm=(100.0, 63.6)))


@pytest.mark.parametrize("gap_mm", [0.3, 1.0])
def test_a_card_against_a_part_tells_nothing(gap_mm: float) -> None:
    plate = ScenePart(polygon=box(-40.0, 0.0, 40.0, 16.0), thickness_mm=0.3, position_mm=(100.0, 85.0 + 26.99 + gap_mm))
    with pytest.raises(MeasurementError):
        scale_of(card_photo(turn_deg=0.0, beside=plate))


def test_a_card_needs_a_printed_sheet() -> None:
    with pytest.raises(MarkNotFound, match="the scale is from taps"):
        scale_of(card_photo(), mark="taps:300,700,1500,700,200 mm")


def test_check_lengths_go_before_a_card() -> None:
    photo = card_photo()
    scale = find_scale(photo, overview(photo), mark="auto", reading=CheckReading(read_mm=(200.0, 120.0)), laid=LAID)
    assert scale.confirmed == "check lengths"
