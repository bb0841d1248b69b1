"""Ground beside a part, and in its holes, that is not bare sheet: asked about, unless it is a shadow or a wall."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Point, box

from areakit.errors import OutlineNotFound
from areakit.flags import place_asked
from areakit.geometry.part import thickness_mm as known_mm
from areakit.imaging import outlines
from areakit.imaging.answers import Answer
from areakit.imaging.checks.ground import Height, _excused, _Zone
from areakit.imaging.one_part import part_of
from areakit.imaging.outlines import find_outlines
from areakit.imaging.segment import Region
from areakit.imaging.sheet_colour import encoded_colours
from areakit.imaging.view import View
from areakit.synthetic import Light, Metal, Patch
from areakit.synthetic.scene import BLUE_FIELD_SRGB
from areakit.synthetic.sheet_print import linear
from tests.imaging.drawn_photos import BLOCK, FOIL, MIDDLE_MM, SMALL, WASHER, found_in, photo_of, scene_of, true_reading

SHEET = linear(BLUE_FIELD_SRGB)
BRASS = Metal(name="brass", reflectance=(0.9, 0.65, 0.3), finish="mirror", brightness=0.8)
X, Y = MIDDLE_MM
END = box(X + 15.0, Y - 60.0, X + 80.0, Y + 60.0)
"""Covers about a quarter of the block at its right end."""


def shade(share: float) -> tuple[float, float, float]:
    """The sheet's own colour, darker."""
    return share * SHEET[0], share * SHEET[1], share * SHEET[2]


def asked(found: Any) -> list[str]:
    flags = [flag for part in found.parts for flag in part.outline.flags]
    return [place for flag in flags if (place := place_asked(flag))]


def codes(found: Any) -> set[str]:
    return {flag.code for part in found.parts for flag in part.outline.flags}


@pytest.mark.parametrize(
    "colour",
    [shade(0.55), linear((40, 105, 180)), linear((15, 70, 150))],
    ids=["mirrored", "light paint", "dark paint"],
)
def test_paint_or_mirrored_sheet_at_the_edge_is_asked_about_and_covered(colour: tuple[float, float, float]) -> None:
    found = found_in(scene_of(BLOCK, patches=(Patch(polygon=END, colour=colour, on=0),)))
    assert "BESIDE_UNDECIDED" in codes(found)
    area = max((part.outline.area for part in found.parts), key=lambda area: area.value)
    assert abs(area.value - BLOCK.area) < area.expanded_uncertainty


def test_a_painted_end_that_cannot_be_measured_is_asked_about_beside_the_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    """Dark metal and paint are two pieces, the smaller of which here fails."""

    def measured(view: View, region: Region, thickness: Any) -> Any:
        if region.area_px * view.small.factor**2 < 40_000.0:
            raise OutlineNotFound("The edge fades.", remedy="Use softer light.")
        return part_of(view, region, thickness)

    monkeypatch.setattr(outlines, "part_of", measured)
    dark = Metal(reflectance=(0.07, 0.065, 0.06), brightness=0.7)
    found = found_in(scene_of(BLOCK, metal=dark, patches=(Patch(polygon=END, colour=linear((0, 95, 165)), on=0),)))
    (part,) = found.parts
    assert "BESIDE_UNDECIDED" in codes(found)
    assert not found.left_out
    assert abs(part.outline.area.value - BLOCK.area) < part.outline.area.expanded_uncertainty


def test_the_answer_metal_adds_the_painted_end_and_the_answer_hole_leaves_it_off() -> None:
    scene = scene_of(BLOCK, patches=(Patch(polygon=END, colour=linear((15, 70, 150)), on=0),))
    photo, reading = photo_of(scene), true_reading(scene)
    (place,) = asked(find_outlines(photo, thickness=FOIL, reading=reading))
    x, y = (float(axis) for axis in place.split(","))
    sizes = {}
    for hole in (False, True):
        settled = find_outlines(photo, thickness=FOIL, reading=reading, answers=(Answer(point_mm=(x, y), hole=hole),))
        assert asked(settled) == []
        sizes[hole] = settled.parts[0].outline.area.value
    bare = scene.parts[0].placed().difference(END).area
    assert sizes[False] == pytest.approx(BLOCK.area, rel=0.005)
    assert sizes[True] == pytest.approx(bare, rel=0.005)


@pytest.mark.parametrize(
    ("light", "thickness_mm"),
    [
        (Light(veil_depth=0.5, veil_softness_mm=2.0, veil_direction_deg=30.0), 0.1),
        (Light(contact_depth=0.5, contact_width_mm=3.0), 1.0),
        (Light(cast_depth=0.5, elevation_deg=35.0, cast_softness_mm=0.1), 3.0),
    ],
    ids=["across the sheet", "at the foot", "thrown"],
)
def test_a_shadow_is_not_asked_about(light: Light, thickness_mm: float) -> None:
    found = found_in(scene_of(BLOCK, thickness_mm, light=light), known_mm(thickness_mm, 0.02))
    assert asked(found) == []


@pytest.mark.parametrize(("srgb", "open_"), [((15, 70, 150), True), ((80, 140, 215), True), (None, False)])
def test_a_hole_whose_ground_is_paint_is_asked_about_and_a_bare_one_is_not(srgb: Any, open_: bool) -> None:
    spot = Patch(polygon=Point(X - 12.0, Y).buffer(6.0), colour=linear(srgb or (0, 0, 0)), on=0)
    found = found_in(scene_of(WASHER, patches=(spot,) if srgb else ()))
    assert (asked(found) != []) == open_


@pytest.mark.parametrize(("srgb", "open_"), [((15, 70, 150), True), ((60, 95, 160), True), (None, False)])
def test_holes_of_a_part_that_is_looked_at_again_are_asked_about_too(srgb: Any, open_: bool) -> None:
    plate, at = Point(0, 0).buffer(14.0, quad_segs=64), Point(X, Y).buffer(5.0)
    spot = Patch(polygon=at, colour=linear(srgb or (0, 0, 0)), on=0)
    shape = plate if srgb else plate.difference(Point(0, 0).buffer(5.0))
    assert (asked(found_in(scene_of(shape, patches=(spot,) if srgb else ()))) != []) == open_


@pytest.mark.parametrize(("times", "told"), [(1.1, False), (1.3, True)])
def test_a_hole_that_is_lighter_than_the_sheet_is_asked_about(times: float, told: bool) -> None:
    """Light paint of the sheet's hue: no hole has more light in it than the sheet beside the part."""
    spot = Patch(polygon=Point(X - 12.0, Y).buffer(6.0), colour=shade(times), on=0)
    assert bool(asked(found_in(scene_of(WASHER, patches=(spot,))))) == told


def test_a_deep_hole_that_shows_mostly_its_wall_is_not_asked_about() -> None:
    """Seen aslant, a hole of 8 mm in a plate of 6 mm shows more of its brass wall than of the sheet."""
    plate = BLOCK.difference(Point(-20.0, 0.0).buffer(4.0))
    aslant = replace(SMALL, tilt_deg=18.0)
    found = found_in(scene_of(plate, 6.0, camera=aslant, metal=BRASS), known_mm(6.0, 0.02))
    assert asked(found) == []


def test_a_lit_hole_beside_a_hard_shadow_is_not_asked_about() -> None:
    """Most of the sheet lies in a shadow whose rim runs through the part: the lit side is lighter than usual."""
    light = Light(veil_depth=0.45, veil_softness_mm=0.5, veil_direction_deg=10.0)
    plate = BLOCK.difference(Point(-25.0, 0.0).buffer(5.0)).difference(Point(25.0, 0.0).buffer(5.0))
    assert asked(found_in(scene_of(plate, light=light))) == []


SHEET_BYTES = np.array([70, 115, 195])


def field_of(ground: Any, **more: Any) -> Any:
    """A field of one bare colour, 40 by 40 px, whose pixels are given, shape (40, 40, 3)."""
    bare = encoded_colours(np.tile(SHEET_BYTES, (40, 40, 1)).astype(np.uint8))
    return SimpleNamespace(pixels=np.asarray(ground, dtype=np.uint8), bare=bare, **more)


@pytest.mark.parametrize(("wall_px", "excused"), [(4.8, True), (4.0, False)])
def test_a_wall_may_be_seen_a_pixel_wider_than_its_height_says(wall_px: float, excused: bool) -> None:
    """Brown ground that ends 11.5 px beside a part: 5.5 px beyond where the part's own edge speaks."""
    part, zone = np.zeros((40, 40), dtype=np.uint8), np.zeros((40, 40), dtype=np.uint8)
    part[:, :10], zone[:, 16:22] = 1, 1
    sheet = field_of(np.tile([120, 80, 60], (40, 40, 1)))
    both, box = part | zone, (slice(0, 40), slice(0, 40))
    height = Height(part_px=1.0, wall_px=wall_px)
    assert _excused(sheet, _Zone(mask=zone, box=box), part, both, height) == excused
