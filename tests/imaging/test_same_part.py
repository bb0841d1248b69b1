"""Two photos of the same parts: pairing, agreement, and the best of both, on figures by hand and on drawn photos."""

from dataclasses import replace
from functools import cache
from math import cos, hypot, pi, radians, sin, sqrt

import numpy as np
import pytest
from drawn_photos import BLOCK, CLEAN, SMALL, STEEL, found_in, photo_of, scene_of
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from areakit.errors import MeasurementError
from areakit.geometry.outline import Outline
from areakit.geometry.part import thickness_mm
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.part_match import match_parts
from areakit.imaging.same_part import COMMON, combine, repeatability
from areakit.imaging.scale import UNVERIFIED
from areakit.synthetic import Light, Metal, Print, Scene, ScenePart, truth
from areakit.synthetic.family import draw_shape
from areakit.uncertainty import Measured

BAR = box(-55.0, -6.0, 55.0, 6.0)
BRACKET = draw_shape(np.random.default_rng(5), "bracket", 1500.0)
GEAR = draw_shape(np.random.default_rng(3), "gear", 1400.0)
FEW_MM = thickness_mm(0.8, 0.05)


def outline(polygon: Polygon, area: float | None = None, **budget: float) -> Outline:
    def of(value: float, unit: str) -> Measured:
        named = {name.replace("_", " "): share for name, share in budget.items()}
        return Measured(value=value, unit=unit, budget=named or {"edge of the part": 1.0})

    return Outline(
        polygon=polygon,
        area=of(polygon.area if area is None else area, "mm2"),
        perimeter_outer=of(polygon.exterior.length, "mm"),
        perimeter_holes=of(sum(ring.length for ring in polygon.interiors), "mm"),
        origin="photo",
    )


def placed(polygon: Polygon, x: float, y: float, turn: float = 0.0) -> Polygon:
    return affinity.translate(affinity.rotate(polygon, turn, origin=(0, 0)), x, y)


def around(polygons: list[Polygon], turn: float, *, x: float = 0.0, y: float = 0.0) -> list[Polygon]:
    return [affinity.translate(affinity.rotate(p, turn, origin=(110, 70)), x, y) for p in polygons]


# Which is which


def test_parts_of_different_shapes_are_paired_wherever_they_lie() -> None:
    first = [placed(BRACKET, 60, 60), placed(GEAR, 150, 60), placed(BAR, 100, 120)]
    second = [placed(BAR, 90, 30, 90), placed(BRACKET, 190, 90, 200), placed(GEAR, 40, 100, 33)]
    assert match_parts([outline(p) for p in first], [outline(p) for p in second]) == [1, 2, 0]


def test_equal_discs_are_paired_by_how_they_lie_to_each_other() -> None:
    disc = Point(0, 0).buffer(9.0)
    first = [placed(disc, *at) for at in ((40, 40), (90, 45), (70, 100), (160, 60))]
    second = around(first, 90.0, x=5.0, y=-8.0)
    order = [2, 0, 3, 1]
    found = match_parts([outline(p) for p in first], [outline(second[i]) for i in order])
    assert [order[i] for i in found] == [0, 1, 2, 3]


def test_equal_discs_that_were_moved_or_lie_evenly_cannot_be_told_apart() -> None:
    disc = Point(0, 0).buffer(9.0)
    corners = [placed(disc, *at) for at in ((60, 40), (120, 40), (120, 100), (60, 100))]
    with pytest.raises(MeasurementError, match="can be paired in 4 ways") as refusal:
        match_parts([outline(p) for p in corners], [outline(p) for p in around(corners, 90.0)])
    assert refusal.value.code == "PARTS_ALIKE"
    moved = [*corners[:3], placed(disc, 180.0, 30.0)]
    with pytest.raises(MeasurementError, match="in no way as before"):
        match_parts([outline(p) for p in corners], [outline(p) for p in moved])


@pytest.mark.parametrize(
    ("second", "words"),
    [([BRACKET, BAR], "One photo shows 1"), ([GEAR], "no match"), ([affinity.scale(BRACKET, 1.1, 1.1)], "no match")],
)
def test_other_parts_are_refused(second: list[Polygon], words: str) -> None:
    with pytest.raises(MeasurementError, match=words) as refusal:
        match_parts([outline(BRACKET)], [outline(p) for p in second])
    assert refusal.value.code == "PARTS_DIFFER"


# Figures by hand: JCGM 100:2008, equation 16 for the mean of two correlated readings


@cache
def lying(roll: float = 0.0) -> FoundParts:
    return found_in(scene_of(BLOCK, camera=replace(SMALL, roll_deg=roll, distance_mm=355.0 if roll else 270.0)))


def by_hand(first: Outline, second: Outline, *, roll: float = 90.0) -> FoundParts:
    a, b = lying(), lying(roll)
    pair = [
        replace(one, parts=(replace(one.parts[0], outline=found),), flags=())
        for one, found in ((a, first), (b, second))
    ]
    return combine(*pair).found


def test_what_both_share_stays_and_what_each_has_of_its_own_averages() -> None:
    a = outline(BLOCK, 2800.0, thickness=6.0, camera_pose_and_lens=8.0)
    b = outline(BLOCK, 2806.0, thickness=6.0, camera_pose_and_lens=8.0)
    (part,) = by_hand(a, b).parts
    assert part.outline.area.value == pytest.approx(2803.0)
    assert part.outline.area.standard_uncertainty == pytest.approx(sqrt(6.0**2 + 8.0**2 / 2))


def test_the_worse_photo_gets_less_weight() -> None:
    a = outline(BLOCK, 2800.0, camera_pose_and_lens=3.0)
    b = outline(BLOCK, 2806.0, camera_pose_and_lens=6.0)
    (part,) = by_hand(a, b).parts
    assert part.outline.area.value == pytest.approx(2800.0 + 6.0 * 0.2)  # inverse variances: 1/9 and 1/36
    assert part.outline.area.standard_uncertainty == pytest.approx(1 / sqrt(1 / 9 + 1 / 36))


def test_photos_that_differ_by_more_than_expected_are_flagged_and_by_much_more_refused() -> None:
    a = outline(BLOCK, 2800.0, camera_pose_and_lens=3.0, thickness=50.0)

    def other(area: float) -> Outline:
        return outline(BLOCK, area, camera_pose_and_lens=4.0, thickness=50.0)

    expected = hypot(3.0, 4.0)  # the thickness cannot make them differ
    (part,) = by_hand(a, other(2800.0 + 1.9 * expected)).parts
    assert "PHOTOS_DIFFER" not in [f.code for f in part.outline.flags]
    (part,) = by_hand(a, other(2800.0 + 2.5 * expected)).parts
    assert "PHOTOS_DIFFER" in [f.code for f in part.outline.flags]
    assert part.outline.area.budget["difference of the photos"] == pytest.approx(-1.25 * expected)
    with pytest.raises(MeasurementError, match=r"0\.57 % apart where 0\.36 % is expected") as refusal:
        by_hand(a, other(2800.0 + 3.2 * expected))
    assert refusal.value.code == "PHOTOS_DISAGREE"


def test_a_sheet_that_was_not_turned_is_told_of() -> None:
    a = outline(BLOCK, 2800.0, camera_pose_and_lens=3.0)
    assert "SHEET_NOT_TURNED" not in [f.code for f in by_hand(a, a).flags]
    assert "SHEET_NOT_TURNED" in [f.code for f in by_hand(a, a, roll=0.0).flags]


# Drawn photos


def scene_on_turned_sheet(
    polygon: Polygon, *, turned: bool, thickness: float = 0.8, seed: int = 0, **changes: object
) -> Scene:
    """The part keeps its place in the picture; the sheet lies upright or turned by a quarter under it."""
    camera = replace(SMALL, roll_deg=90.0 if turned else 0.0, distance_mm=355.0 if turned else 275.0, tilt_deg=6.0)
    part = ScenePart(
        polygon=polygon, thickness_mm=thickness, position_mm=(130.0, 90.0), turn_deg=-90.0 + 5.0 if turned else 5.0
    )
    chain = replace(CLEAN, full_well=6000.0, s_curve=0.1, sharpening=0.4)
    return Scene(parts=(part,), metal=STEEL, chain=chain, camera=camera, seed=seed, **changes)


def measured(scene: Scene, thickness: Measured = FEW_MM) -> FoundParts:
    return find_outlines(photo_of(scene), thickness=thickness, reading=None)


def test_two_drawn_photos_agree_and_their_mean_covers_the_truth() -> None:
    pair = [measured(scene_on_turned_sheet(BRACKET, turned=t, seed=t)) for t in (False, True)]
    both = combine(*pair)
    (part,) = both.found.parts
    assert both.turned_deg == pytest.approx(90.0, abs=1.0)
    singles = [one.parts[0].outline.area for one in pair]
    assert abs(part.outline.area.value - BRACKET.area) < part.outline.area.expanded_uncertainty
    # Two photos tell little more than one of what is common: never more than a root of two, here far less.
    least, most = sorted(one.standard_uncertainty for one in singles)
    assert least / sqrt(2.0) < part.outline.area.standard_uncertainty <= most
    (one,) = both.comparisons
    assert abs(one.difference.value) < one.difference.expanded_uncertainty
    assert one.difference.expanded_uncertainty < singles[0].expanded_uncertainty


def test_a_print_with_two_wrong_scales_misleads_both_photos_alike_and_their_mean_says_so() -> None:
    wrong = Print(scale_x=1.008, scale_y=1.004)
    scenes = [scene_on_turned_sheet(BAR, turned=t, thickness=0.0, print=wrong) for t in (False, True)]
    unseen = (250, 248, 244)  # a desk on which the edges of the paper, which would tell, are not seen
    pair = [measured(replace(scene, desk_srgb=unseen), Measured(value=0.0, unit="mm")) for scene in scenes]
    both = combine(*pair)
    (part,) = both.found.parts
    # Area goes with both scales, so it is off by 1.2 % in each photo and in the mean; the stated 2.8 % covers it.
    for area in (*(one.parts[0].outline.area for one in pair), part.outline.area):
        assert area.value == pytest.approx(BAR.area / (1.008 * 1.004), rel=0.002)
    print_share = hypot(*(part.outline.area.budget[f"unverified sheet copy, along {axis}"] for axis in "xy"))
    assert print_share == pytest.approx(
        hypot(*UNVERIFIED.shares["unverified sheet copy"]) * part.outline.area.value, rel=1e-6
    )
    assert abs(part.outline.area.value - BAR.area) < part.outline.area.expanded_uncertainty
    # The perimeter of a bar goes with one scale in one photo and with the other in the other: half of each is left.
    lengths = [one.parts[0].outline.perimeter_outer for one in pair]
    along = [share.budget["unverified sheet copy, along x"] / share.value for share in lengths]
    assert along[0] > 4 * along[1]
    mean = part.outline.perimeter_outer
    shares = [mean.budget[f"unverified sheet copy, along {axis}"] / mean.value for axis in "xy"]
    assert sum(shares) == pytest.approx(0.01, rel=3e-3)
    assert shares == pytest.approx([0.005, 0.005], abs=0.001)  # by weight: one camera stood closer
    assert abs(mean.value - BAR.exterior.length) < mean.expanded_uncertainty


@pytest.mark.thorough
def test_an_offset_of_edges_common_to_both_stays_in_the_mean() -> None:
    """A tone curve and sharpening shift every edge of both photos; two photos do not make that smaller."""
    chain = replace(CLEAN, s_curve=0.25, sharpening=1.0)
    pair = [
        measured(
            replace(scene_on_turned_sheet(BRACKET, turned=t, thickness=0.0), chain=chain),
            Measured(value=0.0, unit="mm"),
        )
        for t in (False, True)
    ]
    (part,) = combine(*pair).found.parts
    singles = [one.parts[0].outline.area for one in pair]
    offsets = [one.value - BRACKET.area for one in singles]
    assert np.sign(offsets[0]) == np.sign(offsets[1])
    common = sqrt(COMMON["edge position"])
    assert part.outline.area.budget["edge position"] > 0.999 * common * min(s.budget["edge position"] for s in singles)
    assert abs(part.outline.area.value - BRACKET.area) < part.outline.area.expanded_uncertainty


def test_a_hole_that_one_photo_shows_filled_is_refused() -> None:
    whole = Polygon(BRACKET.exterior, list(BRACKET.interiors)[1:])
    first, second = (measured(scene_on_turned_sheet(p, turned=t)) for p, t in ((BRACKET, False), (whole, True)))
    with pytest.raises(MeasurementError) as refusal:
        combine(first, second)
    assert refusal.value.code == "PHOTOS_DISAGREE"
    assert "hole" in refusal.value.message


# Repeats


@cache
def repeats(thickness: float) -> tuple[Measured, ...]:
    """Six photos of one part: other pose, place, turn and noise each, the same light and camera."""
    found = []
    for seed in range(6):
        rng = np.random.default_rng(seed)
        camera = replace(
            SMALL, distance_mm=float(rng.uniform(262.0, 285.0)), tilt_deg=float(rng.uniform(0.0, 12.0)),
            tilt_direction_deg=float(rng.uniform(0.0, 360.0)), roll_deg=float(rng.uniform(-5.0, 5.0)), k1=0.03,
        )  # fmt: skip
        direction = float(rng.uniform(0.0, 2 * pi))
        part = ScenePart(
            polygon=BRACKET, thickness_mm=thickness, turn_deg=float(rng.uniform(0.0, 360.0)),
            position_mm=(130.0 + 8.0 * cos(direction), 90.0 + 8.0 * sin(direction)),
        )  # fmt: skip
        scene = Scene(
            parts=(part,), metal=Metal(finish="brushed", texture=0.05, texture_direction_deg=degrees_of(direction)),
            camera=camera, light=Light(contact_depth=0.3, gradient=0.1),
            chain=replace(CLEAN, full_well=6000.0, s_curve=0.1, sharpening=0.4), print=Print(mottle=0.01), seed=seed,
        )  # fmt: skip
        (one,) = find_outlines(photo_of(scene), thickness=thickness_mm(thickness, 0.05), reading=None).parts
        assert truth(scene)[0].holes == len(one.outline.polygon.interiors)
        found.append(one.outline.area)
    return tuple(found)


def degrees_of(angle: float) -> float:
    return angle / radians(1.0)


@pytest.mark.thorough
@pytest.mark.parametrize("thickness", [0.3, pytest.param(1.5, marks=pytest.mark.slow)])
def test_repeated_photos_of_one_part_spread_as_their_own_shares_say(thickness: float) -> None:
    areas = repeats(thickness)
    spread = float(np.std([area.value for area in areas], ddof=1))
    stated = float(np.sqrt(np.mean([repeatability(area) ** 2 for area in areas])))
    # Chi-square with 5 degrees of freedom: s / sigma stays below 1.76 in 99 of 100 such sets (scipy.stats.chi2).
    assert spread < 1.76 * stated
    assert spread > stated / 10
    assert stated < 0.5 * float(np.mean([area.standard_uncertainty for area in areas]))


def test_the_same_photo_gives_the_same_digits_every_time() -> None:
    photo = photo_of(scene_on_turned_sheet(BRACKET, turned=False))
    runs = [find_outlines(photo, thickness=FEW_MM, reading=None) for _ in range(2)]
    first, second = (run.parts[0].outline for run in runs)
    assert first.area == second.area
    assert first.polygon.equals_exact(second.polygon, 0.0)
    assert np.array_equal(runs[0].scale.camera.parameters, runs[1].scale.camera.parameters)
