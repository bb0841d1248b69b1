"""A second photo answers what the first asks where it can tell, and never where both show the same: drawn pairs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from drawn_photos import BLOCK, CLEAN, MIDDLE_MM, SMALL, STEEL, found_in, scene_of
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from areakit.imaging import second_view
from areakit.imaging.outlines import FoundParts
from areakit.imaging.second_view import settle
from areakit.synthetic import Metal, Patch, Print, Scene
from areakit.synthetic.sheet_print import linear
from areakit.uncertainty import Measured

HEIGHT = Measured(value=0.5, unit="mm")
BLUE = tuple(0.5 * np.array(linear(Print().field_srgb or (0, 0, 0))))
RED = linear((170, 30, 30))
DARK = (0.03, 0.03, 0.03)
SPOT = Point(0.0, 0.0).buffer(5.0)
EDGE = box(24.0, -40.0, 45.0, 40.0)


def line(at: float) -> Polygon:
    return LineString([(at, -21.0), (at + 0.01, 21.0)]).buffer(0.1, cap_style="flat")


def photo(
    *patches: tuple[Polygon, Any],
    turned: bool = False,
    part: Polygon = BLOCK,
    on: int | None = 0,
    opacity: float = 1.0,
    metal: Metal = STEEL,
) -> FoundParts:
    """Draw the block with patches given in its own coordinates, seen upright or with the sheet turned by a quarter."""
    camera = replace(SMALL, roll_deg=90.0, distance_mm=360.0, tilt_deg=6.0) if turned else SMALL
    placed = [
        Patch(
            polygon=affinity.translate(affinity.rotate(figure, 12.0, origin=(0, 0)), *MIDDLE_MM),
            colour=colour, on=on, opacity=opacity, softness_mm=0.05,
        )
        for figure, colour in patches
    ]  # fmt: skip
    scene: Scene = scene_of(part, 0.5, camera=camera, patches=tuple(placed), metal=metal, chain=CLEAN)
    return found_in(scene, HEIGHT)


def answers(first: FoundParts, second: FoundParts) -> list[tuple[str, str]]:
    return [(one.code, one.kind) for one in settle(first, second, HEIGHT.value)]


def asked(found: FoundParts) -> set[str]:
    assert found.view is not None
    return {place.code for part in found.parts for place in second_view._places(part, found.view)}


@pytest.mark.parametrize(
    ("first", "second", "code", "told"),
    [
        ((SPOT, RED), None, "STOP_OFF_SEEN", "metal"),
        ((SPOT, RED), (SPOT, RED), "STOP_OFF_SEEN", None),
        ((line(3.0), DARK), (line(-9.0), DARK), "JOINT_UNDECIDED", "metal"),
        ((line(3.0), DARK), (line(3.0), DARK), "JOINT_UNDECIDED", None),
        ((EDGE, BLUE), (EDGE, BLUE), "BESIDE_UNDECIDED", None),
    ],
    ids=["reflection goes", "lacquer stays", "line moves", "joint stays", "mirrored edge stays"],
)
def test_what_is_gone_is_answered_and_what_stays_is_not(
    first: tuple[Polygon, Any], second: tuple[Polygon, Any] | None, code: str, told: str | None
) -> None:
    """A reflection moves with the camera, paint and joints with the part (geometry)."""
    one, other = photo(first), photo(*([second] if second else []), turned=True)
    assert code in asked(one)
    assert answers(one, other) == ([(code, told)] if told else [])


def test_lacquer_of_about_the_metals_own_hue_stays_a_question(monkeypatch: pytest.MonkeyPatch) -> None:
    """Yellow on copper: on a blue sheet both lie on one side of it."""
    copper = Metal(reflectance=(0.93, 0.62, 0.50), brightness=0.7)
    yellow = (SPOT, linear((200, 150, 20)))
    one, other = photo(yellow, metal=copper), photo(yellow, metal=copper, turned=True)
    assert asked(one) == {"STOP_OFF_SEEN"}
    assert answers(one, other) == []
    monkeypatch.setattr(second_view, "LIKE_FACE", 3.0 * second_view.LIKE_FACE)
    assert answers(one, other) == [("STOP_OFF_SEEN", "metal")]


def test_a_hole_with_stray_light_in_one_photo_is_a_hole_by_the_other() -> None:
    washer = BLOCK.difference(Point(0.0, 0.0).buffer(6.0, quad_segs=64))
    glow = (Point(0.0, 0.0).buffer(7.0), (0.04, 0.03, 0.02))
    one, other = photo(glow, part=washer, on=None, opacity=0.0), photo(part=washer, turned=True)
    assert asked(one) == {"LOOKS_UNDECIDED"}
    assert answers(one, other) == [("LOOKS_UNDECIDED", "hole")]
    assert answers(one, photo(glow, part=washer, on=None, opacity=0.0, turned=True)) == []


def test_a_part_that_was_moved_is_not_answered_for() -> None:
    one, other = photo((SPOT, RED)), photo(turned=True)
    moved = replace(other.parts[0].outline, polygon=affinity.translate(other.parts[0].outline.polygon, 9.0, 0.0))
    other = replace(other, parts=(replace(other.parts[0], outline=moved),))
    assert asked(one) == {"STOP_OFF_SEEN"}
    assert answers(one, other) == []


def test_other_sheets_and_marks_beside_the_parts_tell_nothing() -> None:
    one, other = photo((SPOT, RED)), photo(turned=True)
    assert answers(one, replace(other, scale=replace(other.scale, sheet="A5-r1"))) == []
    both = [replace(found, scale=replace(found.scale, mark="coin")) for found in (one, other)]
    assert answers(*both) == []
    assert answers(one, replace(other, view=None)) == []


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("name", "factor"),
    [("TELLING", 9.0), ("NEARLY_ALL", 3.0), ("SAME_PLACE", 3.0), ("LEAST_SHARE", 9.0)],
)
def test_stricter_figures_leave_a_reflection_open(name: str, factor: float, monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = photo((SPOT, RED)), photo(turned=True)
    monkeypatch.setattr(second_view, name, factor * getattr(second_view, name))
    assert answers(one, other) == []
