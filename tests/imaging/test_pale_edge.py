"""The share of an edge on a ground without colour, from what the edge itself shows: worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest
from drawn_rings import along, bare_sheet, edge_of, measured
from shapely.geometry import Point

from areakit.imaging.closed_ring import outward_normals
from areakit.imaging.edge_ring import EdgeRing
from areakit.imaging.pale_edge import pale_edge_mm, raggedness_px
from areakit.uncertainty import Measured

PIXEL_MM = 0.1
PALE = bare_sheet(coloured=False)


def disc(step_px: float = 0.0, **changes: float) -> EdgeRing:
    """A disc of 26 mm; every second point steps out by as much as the other steps in."""
    ring = edge_of(along(Point(0, 0).buffer(13.0, quad_segs=512)), face_hue=0.0, **changes)
    away = outward_normals(ring.points_px, 2, False)
    sign = np.where(np.arange(len(away)) % 2, 1.0, -1.0)[:, None]
    return replace(ring, points_px=ring.points_px + step_px * sign * away, normals=away)


def open_mm(ring: EdgeRing, height_mm: float = 2.0) -> float:
    return pale_edge_mm(PALE, (ring,), PIXEL_MM, height_mm)


@pytest.mark.parametrize(("height_mm", "expected"), [(0.0, 0.03), (0.25, 0.09), (0.5, 0.15), (3.0, 0.15)])
def test_a_clean_edge_of_grey_metal_is_open_by_its_shadow_and_its_rim(height_mm: float, expected: float) -> None:
    """Drawn foil: 0.03 mm. Clean rims of real coins: 0.12 mm more from 0.5 mm up, in proportion below."""
    assert open_mm(disc(), height_mm) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize(
    ("height_mm", "expected"), [(0.0, 0.03), (0.25, 0.039), (0.5, 0.048), (1.0, 0.066), (3.0, 0.066)]
)
def test_the_rim_of_coloured_metal_opens_it_fully_from_1_mm_up(height_mm: float, expected: float) -> None:
    assert open_mm(replace(disc(), face_hue=0.9), height_mm) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize(("hue", "expected"), [(0.0, 0.03 + 0.06), (0.9, 0.03 + 0.3 * 0.015)])
def test_the_whole_height_throws_the_shadow_in_which_the_foot_of_grey_metal_lies(hue: float, expected: float) -> None:
    """A part 0.25 mm thick, half of which may be rounded away; beside coloured metal a shadow is told."""
    ring = replace(disc(), face_hue=hue)
    assert pale_edge_mm(PALE, (ring,), PIXEL_MM, 0.125, whole_mm=0.25) == pytest.approx(expected, abs=0.001)


def test_the_budget_takes_the_whole_height_of_a_rounded_part_for_its_shadow() -> None:
    """Its widest lines lie 0.06 mm inside both faces of 0.25 mm."""
    height, inset = Measured(value=0.13, unit="mm"), Measured(value=0.06, unit="mm", budget={"form": 0.03})
    sizes = measured(disc(), sheet=PALE, height=height, thin=False, inset=inset)
    assert sizes.area.budget["edge on a pale sheet"] == pytest.approx(0.09 * sizes.outer.value, rel=0.02)


def test_a_coloured_sheet_has_no_such_share() -> None:
    assert pale_edge_mm(bare_sheet(), (disc(),), PIXEL_MM, 2.0) == 0.0


@pytest.mark.parametrize(
    ("hue", "expected"), [(0.0, 0.15), (0.4, 0.15), (0.5, 0.12), (0.6, 0.09), (0.9, 0.066), (1.2, 0.066)]
)
def test_the_colour_of_the_metal_takes_up_to_seven_tenths_of_the_rim_off(hue: float, expected: float) -> None:
    assert open_mm(replace(disc(), face_hue=hue)) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize(("unclear", "rim"), [(0.1, np.hypot(0.12, 0.06)), (0.5, np.hypot(0.12, 0.3))])
def test_where_the_edge_is_unclear_it_may_run_along_relief(unclear: float, rim: float) -> None:
    """Relief lies about 0.6 mm inside the rim of a coin (coins beside a coin, real photos)."""
    assert open_mm(disc(unclear_share=unclear)) == pytest.approx(0.03 + rim, abs=0.001)


@pytest.mark.parametrize(("height_mm", "clean", "share"), [(0.5, 0.12, 0.5), (0.1, 0.024, 0.1)])
def test_steps_and_faint_stretches_of_a_thin_part_count_in_proportion(
    height_mm: float, clean: float, share: float
) -> None:
    assert open_mm(disc(unclear_share=0.4), height_mm) == pytest.approx(0.03 + np.hypot(clean, share * 0.24), abs=0.001)


def test_an_edge_that_steps_in_and_out_is_open_by_two_and_a_half_times_its_steps() -> None:
    ring = disc(step_px=1.0)
    assert raggedness_px(ring) == pytest.approx(1.0, rel=0.1)
    assert open_mm(ring) == pytest.approx(0.03 + np.hypot(0.12, 2.5 * 0.1), rel=0.07)


def test_steps_are_seen_over_a_dozen_points_and_form_is_not() -> None:
    """Waves of 12 points are steps; the curvature of a small hole is none."""
    count = np.arange(len(disc().points_px))
    away = disc().normals
    wave = np.cos(2 * np.pi * count / 13)[:, None]
    waved = replace(disc(), points_px=disc().points_px + wave * away)
    assert raggedness_px(waved) == pytest.approx(2 / np.pi, rel=0.1)
    slow = np.cos(2 * np.pi * count / 60)[:, None]
    assert raggedness_px(replace(disc(), points_px=disc().points_px + slow * away)) < 0.1
    assert raggedness_px(edge_of(along(Point(0, 0).buffer(2.0, quad_segs=256)))) < 0.04


def test_each_ring_counts_by_its_length() -> None:
    hole = edge_of(along(Point(0, 0).buffer(6.5, quad_segs=512)), face_hue=0.0, unclear_share=0.6)
    both = pale_edge_mm(PALE, (disc(), hole), PIXEL_MM, 2.0)
    assert both == pytest.approx(0.03 + np.hypot(0.12, 0.6 * 0.2), abs=0.002)


@pytest.mark.parametrize(("height", "expected"), [(None, 0.15), (Measured(value=0.0, unit="mm"), 0.03)])
def test_a_part_of_unknown_height_counts_as_tall(height: Measured | None, expected: float) -> None:
    sizes = measured(disc(), sheet=PALE, height=height, thin=False)
    around = sizes.outer.value
    assert sizes.area.budget["edge on a pale sheet"] == pytest.approx(expected * around, rel=0.02)


DARK = float(np.hypot(0.015, 0.03))


@pytest.mark.parametrize(
    ("dark", "expected"), [(0.0, 0.15), (0.8, 0.15), (0.875, (0.15 + DARK) / 2), (0.95, DARK), (1.0, DARK)]
)
def test_metal_that_mirrors_black_is_open_by_its_shadow_and_a_hair_of_rim(dark: float, expected: float) -> None:
    """Drawn shiny grey metal under a black card, and dark metal, seen from above: 0.015 to 0.03 mm root mean square."""
    assert open_mm(disc(dark_share=dark)) == pytest.approx(expected, abs=0.001)
    assert open_mm(replace(disc(dark_share=dark), face_hue=0.6)) == pytest.approx(0.09, abs=0.001)  # told by colour


@pytest.mark.parametrize(
    ("height_mm", "expected"), [(0.0, 0.015), (0.5, np.hypot(0.015, 0.015)), (1.0, DARK), (3.0, DARK)]
)
def test_the_rim_of_dark_metal_grows_with_its_thickness(height_mm: float, expected: float) -> None:
    assert open_mm(disc(dark_share=1.0), height_mm) == pytest.approx(expected, abs=0.0005)


def test_teeth_are_no_steps_into_a_shadow_where_metal_is_dark() -> None:
    """Between relief and shadow an edge of grey metal steps in and out; there is no relief in what mirrors black."""
    assert open_mm(replace(disc(step_px=1.0), dark_share=1.0)) == pytest.approx(DARK, abs=0.001)
    assert open_mm(disc(dark_share=1.0, unclear_share=0.1)) == pytest.approx(np.hypot(DARK, 0.06), abs=0.001)


def test_walls_that_are_seen_open_the_edge_of_dark_metal() -> None:
    """A wall of 4 px all round is 0.4 mm, a quarter of it 0.1 mm."""
    count = len(disc().points_px)
    ring = replace(disc(dark_share=1.0), wall_px=np.full(count, 4.0))
    assert open_mm(ring) == pytest.approx(np.hypot(DARK, 0.1), abs=0.001)
    away = replace(disc(dark_share=1.0), wall_px=np.full(count, -4.0))
    assert open_mm(away) == pytest.approx(DARK, abs=0.001)
