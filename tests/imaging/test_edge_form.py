"""Rounded edges in drawn photos: the silhouette stands one radius off each face, and is read there."""

import math
from dataclasses import replace

import pytest
from drawn_photos import SMALL, WASHER, photo_of, scene_of, true_reading

from areakit.geometry.edge_forms import SHARE, SHARP, EdgeForm, read_edge_form
from areakit.geometry.part import thickness_mm
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.synthetic import Camera, Metal, Print, ScenePart

THICK, RADIUS = 4.0, 1.5
TILTED = Camera(width_px=2016, height_px=1512, distance_mm=270.0, tilt_deg=8.0, tilt_direction_deg=40.0)
WELL_KNOWN = thickness_mm(THICK, 0.02)
COPPER = Metal(reflectance=(0.5, 0.25, 0.15), brightness=0.6)


def seen(form: EdgeForm, camera: Camera = SMALL, at_mm: tuple[float, float] = (130.0, 90.0)) -> FoundParts:
    """Draw the part between the widest lines of its rounded edges, and measure it as a part of the whole thickness."""
    part = ScenePart(polygon=WASHER, thickness_mm=THICK - 2.0 * RADIUS, position_mm=at_mm, raised_mm=RADIUS)
    scene = scene_of(WASHER, parts=(part,), camera=camera)
    return find_outlines(photo_of(scene), thickness=WELL_KNOWN, edge_form=form, reading=true_reading(scene))


def error(found: FoundParts) -> float:
    return found.parts[0].outline.area.value / WASHER.area - 1.0


@pytest.mark.parametrize(("camera", "at_mm"), [(SMALL, (130.0, 90.0)), (TILTED, (120.0, 80.0))])
def test_a_rounded_part_is_read_at_its_widest_lines(camera: Camera, at_mm: tuple[float, float]) -> None:
    rounded, sharp = (seen(form, camera, at_mm) for form in (read_edge_form(f"rounded {RADIUS} mm"), SHARP))
    assert abs(error(rounded)) < 0.002
    # Read at the top face, which is nearer to the camera, it comes out too small by twice the radius over the height.
    height = rounded.scale.camera.height_mm
    assert error(sharp) - error(rounded) == pytest.approx(-2.0 * RADIUS / height, rel=0.35)


def test_an_unknown_form_holds_both_the_sharp_and_the_rounded() -> None:
    (unknown,) = seen(EdgeForm(name="unknown")).parts
    area, height = unknown.outline.area, seen(SHARP).scale.camera.height_mm
    assert abs(area.value - WASHER.area) < area.expanded_uncertainty
    # Rectangular over half the thickness: a quarter of it over the root of three, twice over the height of the camera.
    open_share = 2.0 * THICK / 4.0 / math.sqrt(3.0) / height
    assert abs(area.budget[SHARE]) / area.value == pytest.approx(open_share, rel=0.25)


def test_the_limit_of_a_radius_is_carried() -> None:
    (one,) = seen(read_edge_form(f"rounded {RADIUS} ± 0.3 mm")).parts
    ends = [seen(read_edge_form(f"rounded {r} mm")).parts[0].outline.area.value for r in (RADIUS + 0.3, RADIUS - 0.3)]
    assert abs(one.outline.area.budget[SHARE]) == pytest.approx(abs(ends[0] - ends[1]) / 2.0 / math.sqrt(3.0), rel=0.3)


def test_without_a_thickness_the_form_changes_nothing() -> None:
    part = ScenePart(polygon=WASHER, thickness_mm=1.0, position_mm=(130.0, 90.0))
    scene = scene_of(WASHER, parts=(part,))
    photo, reading = photo_of(scene), true_reading(scene)
    (one, other) = (
        find_outlines(photo, thickness=None, edge_form=form, reading=reading).parts[0].outline.area
        for form in (SHARP, EdgeForm(name="unknown"))
    )
    assert one == other


# Log colours of light metal on white: as far apart as brass in warm light, and as cupronickel is.
@pytest.mark.parametrize(("blue_share", "most"), [(0.42, 0.2), (0.62, 0.3)])
def test_metal_of_clear_colour_is_the_likelier_sharp(blue_share: float, most: float) -> None:
    part = ScenePart(polygon=WASHER, thickness_mm=2.0, position_mm=(130.0, 90.0))
    light = Metal(reflectance=(0.5, 0.47, 0.5 * blue_share), brightness=0.75)
    scene = scene_of(WASHER, parts=(part,), metal=light, print=Print(field_srgb=None))
    photo, reading, thickness = photo_of(scene), true_reading(scene), thickness_mm(2.0, 0.02)
    unsaid, half = (
        find_outlines(photo, thickness=thickness, edge_form=form, reading=reading).parts[0].outline.area
        for form in (SHARP, read_edge_form(f"rounded {most} mm"))
    )
    assert unsaid.value == pytest.approx(half.value, rel=1e-4)


@pytest.mark.parametrize(
    ("field", "metal", "open_"),
    [((70, 115, 195), COPPER, False), (None, COPPER, True), (None, replace(COPPER, reflectance=(0.1,) * 3), False)],
)
def test_only_on_a_sheet_without_colour_is_an_unsaid_edge_open(
    field: tuple[int, int, int] | None, metal: Metal, open_: bool
) -> None:
    """There the sheet hides a rounded rim; on a blue one, and of dark grey metal, it is seen, and counts as sharp."""
    part = ScenePart(polygon=WASHER, thickness_mm=2.0, position_mm=(130.0, 90.0))
    scene = scene_of(WASHER, parts=(part,), metal=metal, print=Print(field_srgb=field))
    photo, reading, thickness = photo_of(scene), true_reading(scene), thickness_mm(2.0, 0.02)
    unsaid, said = (
        find_outlines(photo, thickness=thickness, edge_form=form, reading=reading).parts[0].outline.area
        for form in (SHARP, read_edge_form("sharp"))
    )
    assert SHARE not in said.budget
    assert (SHARE in unsaid.budget) == open_
    # Read 0.2 mm below its top face it is larger by at most twice that over the height of the camera.
    assert 0.0 <= unsaid.value / said.value - 1.0 <= 2.0 * 0.2 / 270.0 * 1.2
    assert (unsaid.value > said.value) == open_
    # A wall that may be sharp is as wide as one that is.
    walls = unsaid.budget["seen wall"], said.budget["seen wall"]
    assert walls[0] == pytest.approx(walls[1], rel=0.3)
