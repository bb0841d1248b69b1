"""Metal of a clear colour on white paper: shadows and the ground of holes have the paper's colour, however dark."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from drawn_rings import bare_sheet
from shapely import unary_union
from shapely.geometry import Point, Polygon, box

from areakit.geometry.edge_forms import read_edge_form
from areakit.imaging.outlines import find_outlines
from areakit.imaging.segment import Region, find_regions
from areakit.imaging.sheet_colour import SheetDistance, encoded_colours, from_bare
from areakit.synthetic import Light, Metal, Patch, Print
from areakit.uncertainty import Measured
from tests.imaging.drawn_photos import BLOCK, MIDDLE_MM, SMALL, WASHER, photo_of, scene_of, true_reading
from tests.imaging.test_edge_ring import stored

SIDE = 120
PAPER = np.full(3, 0.8)
BRASS, STEEL = np.array([0.90, 0.79, 0.45]), np.array([0.57, 0.56, 0.55])
"""Linear reflectance, as in `areakit.synthetic`: from memory of published optical constants, unverified."""
ALL = np.ones((SIDE, SIDE), dtype=bool)


def plate(metal: Any, hole: Any, beside: Any = PAPER) -> SheetDistance:
    """A square of metal with a square of another colour in it, and a strip of another beside it, on white paper."""
    light = np.tile(PAPER, (SIDE, SIDE, 1))
    light[30:90, 90:96] = beside
    light[30:90, 30:90] = metal
    light[50:70, 50:70] = hole
    pixels, bare = stored(light), encoded_colours(stored(np.tile(PAPER, (SIDE, SIDE, 1))))
    return bare_sheet(
        distance=from_bare(pixels, bare, ALL, coloured=False), pixels=pixels, field=ALL, guard=~ALL,
        coloured=False, level=0.8, bare=bare,
    )  # fmt: skip


def found(sheet: SheetDistance) -> tuple[Region, tuple[int, int]]:
    (region,) = find_regions(sheet)
    return region, (len(region.rings) - 1, len(region.doubtful))


@pytest.mark.parametrize(("shade", "steel"), [(0.9, (1, 0)), (0.4, (0, 0))])
def test_a_hole_in_brass_is_the_paper_in_whatever_shade_and_one_in_steel_may_be_metal(
    shade: float, steel: tuple[int, int]
) -> None:
    """More than half the light is lost between high walls; in grey metal that looks like more of it."""
    assert found(plate(0.8 * BRASS, shade * PAPER))[1] == (1, 0)
    assert found(plate(0.4 * STEEL, shade * PAPER))[1] == steel


def test_a_dull_patch_of_brass_is_no_hole() -> None:
    assert found(plate(0.8 * BRASS, 0.4 * BRASS))[1][0] == 0


def test_a_shadow_as_far_from_paper_as_brass_is_not_taken_in() -> None:
    """At 0.45 of the light it differs from paper by as much as the brass does, but not in colour."""
    region, _ = found(plate(0.8 * BRASS, PAPER, beside=0.45 * PAPER))
    assert region.by_colour
    assert np.ptp(region.rings[0][:, 0]) == pytest.approx(59.0, abs=1.0)


@pytest.mark.parametrize(("colour", "told"), [(8.0, False), (10.0, True)])
@pytest.mark.parametrize("light", [0.3, 0.8])
def test_a_metal_has_a_clear_colour_from_nine_units_for_its_light(colour: float, light: float, told: bool) -> None:
    """A unit is 0.012 of the paper's encoded light, across its own colour."""
    paper = encoded_colours(stored(PAPER)).astype(float)
    across = np.array([1.0, 0.0, -1.0]) / np.sqrt(2.0) * np.linalg.norm(paper)
    encoded = light * (paper + 0.012 * colour * across)
    sheet = plate(encoded**2.2 - 0.004, PAPER)
    assert sheet.told_by_colour(slice(30, 90), slice(30, 90), ALL[30:90, 30:90]) is told


@pytest.mark.parametrize("ground", ["coloured", "dark"])
def test_on_a_coloured_or_a_dark_ground_nothing_changes(ground: str) -> None:
    sheet = replace(plate(0.8 * BRASS, PAPER), **{ground: True})
    assert not sheet.told_by_colour(slice(30, 90), slice(30, 90), ALL[30:90, 30:90])


WHITE = Print(field_srgb=None)
SHINY_BRASS = Metal(reflectance=(0.90, 0.79, 0.45), brightness=0.7, finish="brushed")


def test_a_high_brass_plate_in_deep_shadow_on_white_paper_keeps_its_slots_and_its_area() -> None:
    """Half the light is lost in the slots; the wall mirrors white paper as brass, so its foot is what is found."""
    slots = [box(x - 4.0, -13.0, x + 4.0, 13.0) for x in (-22.0, 0.0, 22.0)]
    plate = BLOCK.difference(unary_union(slots))
    scene = scene_of(
        plate, thickness_mm=4.0, metal=SHINY_BRASS, print=WHITE,
        camera=replace(SMALL, tilt_deg=25.0, tilt_direction_deg=60.0),
        light=Light(contact_depth=0.5, contact_width_mm=6.0, cast_depth=0.5, elevation_deg=40.0),
    )  # fmt: skip
    thickness = Measured(value=4.0, unit="mm", budget={"gauge": 0.02})
    reading, sharp = true_reading(scene), read_edge_form("sharp")
    (part,) = find_outlines(photo_of(scene), thickness=thickness, reading=reading, edge_form=sharp).parts
    assert len(part.rings_px) == 4
    assert part.outline.area.value == pytest.approx(plate.area, rel=0.015)


def test_a_grey_disc_let_into_flat_brass_is_asked_about() -> None:
    """As in a coin of two metals: no shadow is so dark in a part that throws none."""
    disc = Polygon(Point(MIDDLE_MM[0] - 16.0, MIDDLE_MM[1]).buffer(6.0))
    scene = scene_of(
        WASHER, metal=SHINY_BRASS, print=WHITE, patches=(Patch(polygon=disc, colour=(0.32, 0.32, 0.32), on=0),)
    )
    foil = Measured(value=0.0, unit="mm")
    (part,) = find_outlines(photo_of(scene), thickness=foil, reading=true_reading(scene)).parts
    assert "LOOKS_UNDECIDED" in {flag.code for flag in part.outline.flags}
