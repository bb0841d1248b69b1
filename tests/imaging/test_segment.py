"""Telling parts from sheet on distances drawn by hand: every pixel's side is known."""

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from areakit.imaging.segment import THRESHOLDS, Region, _components, _region, find_regions
from areakit.imaging.sheet_colour import SheetDistance

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]
METAL, SHAPE = 40.0, (160, 220)
ROWS, COLUMNS = np.mgrid[: SHAPE[0], : SHAPE[1]].astype(float)


def disc(x: float, y: float, radius: float) -> Mask:
    return np.asarray(np.hypot(COLUMNS - x, ROWS - y) <= radius)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnSheet(SheetDistance):
    """A sheet whose sharpness is drawn too."""

    sharp: Singles

    def sharpness(self, rows: slice, columns: slice) -> Singles:
        return self.sharp[rows, columns]


def drawn(*layers: tuple[Mask, float], blur: float = 0.8, soft: Floats | None = None) -> SheetDistance:
    """Lay distances over a bare sheet, later layers on top; ``soft`` is added as it is."""
    distance = np.zeros(SHAPE)
    for mask, value in layers:
        distance[mask] = value
    distance = cv2.GaussianBlur(distance, (0, 0), blur) if blur else distance
    distance = np.maximum(distance, 0.0 if soft is None else soft)
    root = np.sqrt(distance)
    sharp = np.hypot(cv2.Sobel(root, cv2.CV_64F, 1, 0) / 8, cv2.Sobel(root, cv2.CV_64F, 0, 1) / 8)
    field = np.zeros(SHAPE, dtype=bool)
    field[3:-3, 3:-3] = True
    return DrawnSheet(
        distance=(distance * field).astype(np.float32), sharp=sharp.astype(np.float32), field=field,
        guard=np.zeros(SHAPE, dtype=bool), left=0, top=0, unevenness=0.0, coloured=True, burnt=0.0, level=0.5,
        pixels=np.zeros((*SHAPE, 3), np.uint8),
        colour=np.full(3, 0.5, dtype=np.float32), bare=np.full((*SHAPE, 3), 0.7, dtype=np.float32),
    )  # fmt: skip


def one(sheet: SheetDistance) -> Region:
    (region,) = find_regions(sheet)
    return region


def enclosed(ring: Floats) -> float:
    x, y = ring.T
    return 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


def test_a_washer_is_one_region_with_one_hole_of_its_size() -> None:
    part = disc(110, 80, 40) & ~disc(115, 80, 12)
    region = one(drawn((part, METAL)))
    edge = 2 * np.pi * (40 + 12)
    assert region.area_px == pytest.approx(part.sum(), abs=edge)  # a pixel all round at the most
    assert len(region.rings) == 2
    assert region.doubtful == ()
    assert not region.crosses
    assert region.touching == 1
    assert region.rings[1].mean(axis=0) == pytest.approx([115.0, 80.0], abs=0.5)
    # The ring of a hole runs through pixels of the part, and a low threshold eats up to a pixel of a blurred hole.
    assert np.pi * 11**2 < enclosed(region.rings[1]) < np.pi * 13**2
    assert region.rival_px < 0.01 * part.sum()


def test_parts_come_out_one_by_one_and_crumbs_not_at_all() -> None:
    regions = find_regions(drawn((disc(50, 80, 25), METAL), (disc(150, 80, 30), METAL), (disc(100, 30, 3), METAL)))
    middles = sorted(float(region.rings[0][:, 0].mean()) for region in regions)
    assert middles == pytest.approx([50.0, 150.0], abs=0.5)


def test_a_soft_shadow_beside_a_part_is_not_taken_for_it() -> None:
    part = disc(100, 80, 30)
    apart = np.hypot(COLUMNS - 112, ROWS - 88)
    shadow = 8.0 * np.clip((48.0 - apart) / 18.0, 0.0, 1.0)  # fades over 18 px, where the part's edge takes 2
    sheet = drawn((part, METAL), soft=shadow)
    assert (sheet.distance > THRESHOLDS[0]).sum() > 1.4 * part.sum()  # a fixed low threshold takes it in
    region = one(sheet)
    assert region.area_px == pytest.approx(part.sum(), abs=2 * np.pi * 30)


@pytest.mark.parametrize(("inside", "kind"), [(0.0, "hole"), (15.0, "metal"), (30.0, "metal")])
def test_what_lies_inside_a_ring_is_a_hole_only_where_it_is_bare_sheet(inside: float, kind: str) -> None:
    """A dull patch or a highlight in the metal is farther from the sheet than any threshold that the edge picks."""
    part, patch = disc(110, 80, 40), disc(110, 80, 14)
    region = one(drawn((part, METAL), (patch, inside)))
    assert len(region.rings) == (2 if kind == "hole" else 1)
    full = part.sum() - (patch.sum() if kind == "hole" else 0)
    assert region.area_px == pytest.approx(full, abs=2 * np.pi * 56)


def test_a_part_that_runs_over_the_edge_of_the_window_crosses_and_one_joined_by_a_shadow_does_not() -> None:
    over = one(drawn((disc(20, 80, 35), METAL)))
    assert over.crosses
    bridge = np.zeros(SHAPE, dtype=bool)
    bridge[75:85, :80] = True
    sheet = drawn((bridge, 4.0), (disc(110, 80, 35), METAL))
    joined = cv2.connectedComponents((sheet.distance > THRESHOLDS[0]).astype(np.uint8))[0]
    assert joined == 2  # one region and the ground: at the lowest threshold they hang together
    regions = find_regions(sheet)
    (part,) = [region for region in regions if region.area_px > 1000]
    assert not part.crosses
    assert part.area_px == pytest.approx(disc(110, 80, 35).sum(), abs=2 * np.pi * 35)


def test_two_discs_that_touch_are_told_of_and_a_cross_is_one_part() -> None:
    touching = one(drawn((disc(80, 80, 30) | disc(139, 80, 30), METAL)))
    assert touching.touching == 2
    cross = (np.abs(COLUMNS - 110) < 10) & (np.abs(ROWS - 80) < 50) | (np.abs(ROWS - 80) < 10) & (
        np.abs(COLUMNS - 110) < 50
    )
    assert one(drawn((cross, METAL))).touching == 1


def test_a_second_threshold_that_sees_another_part_is_told_of() -> None:
    """Half of the part is far from the sheet, half much nearer to it: two thresholds cannot agree on it."""
    whole = disc(110, 80, 40)
    dull = whole & (COLUMNS > 110)
    split = one(drawn((whole, METAL), (dull, 15.0)))
    even = one(drawn((whole, METAL)))
    assert even.rival_px < 0.01 * whole.sum()
    assert split.area_px == pytest.approx(whole.sum(), rel=0.05)
    assert split.rival_px > 0.3 * whole.sum()


def ring_of(size: int, hole: int, inside: float, metal: float = 40.0) -> Any:
    """A field of bare sheet with a square of metal in it, in whose middle a square is so far from bare sheet."""
    distance = np.full((80, 80), 0.5, dtype=np.float32)
    distance[40 - size // 2 : 40 + size // 2, 40 - size // 2 : 40 + size // 2] = metal
    distance[40 - hole // 2 : 40 - hole // 2 + hole, 40 - hole // 2 : 40 - hole // 2 + hole] = inside
    return distance


def region_in(distance: Any, threshold: float) -> Region:
    """The largest region above a threshold, without a rival."""
    sheet: Any = SimpleNamespace(distance=distance, dark=False, field=np.ones(distance.shape, dtype=bool))
    (blob,) = _components(distance > threshold, 60)
    return _region(blob, threshold, np.zeros(blob.mask.shape, dtype=bool), sheet, np.zeros_like(sheet.field))


@pytest.mark.parametrize(("inside", "holes"), [(17.0, 1), (19.0, 0)])
def test_a_hole_is_clear_below_45_hundredths_of_the_metals_distance(inside: float, holes: int) -> None:
    found = region_in(ring_of(40, 14, inside), 25.0)
    assert (len(found.rings) - 1, len(found.doubtful)) == (holes, 1 - holes)


@pytest.mark.parametrize(("inside", "holes"), [(11.0, 1), (13.0, 0)])
def test_a_hole_is_clear_below_six_tenths_of_the_threshold(inside: float, holes: int) -> None:
    """Metal at 24 and a threshold of 20: 12 against 10.8 by the metal's own distance."""
    found = region_in(ring_of(40, 14, inside, metal=24.0), 20.0)
    assert (len(found.rings) - 1, len(found.doubtful)) == (holes, 1 - holes)


@pytest.mark.parametrize(("side", "holes"), [(2, 0), (3, 1)])
def test_a_hole_has_nine_pixels(side: int, holes: int) -> None:
    assert len(region_in(ring_of(40, side, 0.5), 20.0).rings) - 1 == holes


@pytest.mark.parametrize(("side", "found"), [(7, 0), (8, 1)])
def test_a_part_has_sixty_pixels(side: int, found: int) -> None:
    mask = np.zeros((40, 40), dtype=bool)
    mask[10 : 10 + side, 10 : 10 + side] = True
    sheet: Any = field_of(np.where(mask, 40.0, 0.5).astype(np.float32))
    assert len(find_regions(sheet)) == found


def field_of(distance: Any) -> Any:
    """A field whose distances are given; all its edges are alike sharp."""
    return SimpleNamespace(
        distance=distance,
        dark=False,
        field=np.ones(distance.shape, dtype=bool),
        sharpness=lambda rows, columns: np.ones(distance[rows, columns].shape, dtype=np.float32),
        told_by_colour=lambda rows, columns, mask: False,
    )


@pytest.mark.parametrize(("joined_by", "crosses"), [(4.0, False), (7.9, False), (8.1, True)])
def test_what_joins_a_part_to_the_edge_is_split_off_below_eight(joined_by: float, crosses: bool) -> None:
    distance = np.full((60, 60), 0.5, dtype=np.float32)
    distance[20:40, 20:40] = 40.0
    distance[26:34, 0:20] = joined_by
    found = max(find_regions(field_of(distance)), key=lambda region: region.area_px)
    assert found.crosses == crosses


@pytest.mark.parametrize("limit", [4.5, 6.5, 9.0, 13.0, *(0.01 * share * METAL for share in (20, 30, 40, 50, 60))])
def test_the_sharpest_edge_is_found_at_each_distance_that_is_tried(limit: float) -> None:
    """Metal, its rim a little further from bare sheet than a threshold, and round it a fog that is a little nearer.

    The fog has no sharp edge. Thresholds are distances, and shares of the metal's own, which is 40.
    """
    across = np.maximum(np.abs(COLUMNS - 110), np.abs(ROWS - 80))
    distance = np.select([across <= 40, across <= 46, across <= 52], [METAL, 1.04 * limit, 0.96 * limit], 0.5)
    sharp = np.where(np.abs(across - 46.5) < 1.0, 1.0, 0.1)
    field = np.ones(SHAPE, dtype=bool)
    sheet: Any = SimpleNamespace(
        distance=distance.astype(np.float32), dark=False, field=field,
        sharpness=lambda rows, columns: sharp[rows, columns].astype(np.float32),
        told_by_colour=lambda rows, columns, mask: False,
    )  # fmt: skip
    assert one(sheet).area_px == pytest.approx(93**2, abs=4)  # it loses its corners


@pytest.mark.parametrize(("far", "found"), [(7.0, 1), (4.9, 0)])
def test_a_dull_part_is_split_off_at_five(far: float, found: int) -> None:
    distance = np.full((60, 60), 0.5, dtype=np.float32)
    distance[20:40, 20:40] = far
    distance[26:34, 0:20] = 4.0
    assert sum(not region.crosses for region in find_regions(field_of(distance))) == found


def test_limbs_that_meet_in_a_neck_are_no_two_parts_and_discs_are() -> None:
    """A cross fills six tenths of its hull."""

    def cross(x: float) -> Mask:
        return (np.abs(COLUMNS - x) <= 6) & (np.abs(ROWS - 80) <= 24) | (np.abs(ROWS - 80) <= 6) & (
            np.abs(COLUMNS - x) <= 24
        )

    neck = (np.abs(ROWS - 80) <= 1) & (np.abs(COLUMNS - 110) <= 12)
    assert one(drawn((cross(80) | cross(140) | neck, METAL), blur=0.0)).touching == 1
    assert one(drawn((disc(82, 80, 24) | disc(138, 80, 24) | neck, METAL), blur=0.0)).touching == 2


@pytest.mark.parametrize(("rows", "columns", "differs"), [(20, 19, False), (18, 18, True)])
def test_two_thresholds_may_differ_by_three_quarters_of_a_pixel_all_round(
    rows: int, columns: int, differs: bool
) -> None:
    """Of a square of 20 px with 76 px of outline another threshold leaves off 20 px, or 76; 57 are allowed."""
    distance = ring_of(20, 0, 0.5)
    (blob,) = _components(distance > 20.0, 60)
    rival = np.zeros(blob.mask.shape, dtype=bool)
    rival[1 : 1 + rows, 1 : 1 + columns] = True
    blob_of: Any = SimpleNamespace(mask=blob.mask, left=blob.left, top=blob.top, cut=blob.cut)
    sheet: Any = SimpleNamespace(distance=distance, dark=False)
    found = _region(blob_of, 20.0, rival, sheet, np.zeros((80, 80), dtype=bool))
    assert (found.rival_px > 0.0) == differs
