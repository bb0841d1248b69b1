"""Side walls that the camera sees, against the simulator's exact truth."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import box

from areakit.imaging.marks import find_scale
from areakit.imaging.photo import overview
from areakit.imaging.walls import _neighbours_verdict, seen_wall
from areakit.synthetic import Metal
from areakit.synthetic.prism import see_prism
from areakit.synthetic.projection import project, view_of
from areakit.uncertainty import Measured
from tests.imaging.drawn_photos import BLOCK, SMALL, WASHER, found_in, photo_of, scene_of, true_reading

TILTED = replace(SMALL, tilt_deg=20.0, tilt_direction_deg=90.0)
DULL = Metal(reflectance=(0.57, 0.56, 0.55), brightness=0.9)


def thick(value: float) -> Measured:
    return Measured(value=value, unit="mm", budget={"gauge": 0.02})


def test_a_wall_is_seen_as_wide_as_the_projection_of_its_height() -> None:
    scene = scene_of(BLOCK, thickness_mm=4.0, camera=TILTED)
    small = overview(photo_of(scene))
    scale = find_scale(photo_of(scene), small, mark="auto", reading=true_reading(scene))
    view = view_of(scene)
    ring = np.array(scene.parts[0].placed().segmentize(5.0).exterior.coords)[:-1]
    prism = see_prism(view, scene.parts[0].placed(), base_mm=0.0, thickness_mm=4.0)
    assert len(prism.walls.normals)  # some of it faces the camera
    bottom, top = project(view, ring, 0.0), project(view, ring, 4.0)
    step = np.roll(bottom, -1, axis=0) - np.roll(bottom, 1, axis=0)
    normals = np.column_stack([step[:, 1], -step[:, 0]]) / np.linalg.norm(step, axis=1)[:, None]
    if np.sum((bottom - bottom.mean(axis=0)) * normals) < 0:
        normals = -normals
    expected = -np.einsum("ij,ij->i", top - bottom, normals)
    assert seen_wall(scale.camera, bottom, normals, 4.0) == pytest.approx(expected, abs=0.15)


@pytest.mark.parametrize("thickness_mm", [1.0, 3.0, 6.0])
@pytest.mark.parametrize("direction_deg", [0.0, 90.0, 215.0])
def test_a_thick_part_seen_from_the_side_keeps_the_area_of_its_face(thickness_mm: float, direction_deg: float) -> None:
    camera = replace(SMALL, tilt_deg=20.0, tilt_direction_deg=direction_deg)
    (part,) = found_in(scene_of(WASHER, thickness_mm=thickness_mm, camera=camera), thick(thickness_mm)).parts
    area = part.outline.area
    assert abs(area.value - WASHER.area) < area.expanded_uncertainty
    assert area.value == pytest.approx(WASHER.area, rel=0.01)  # ignored, 3 mm of height would add 3 % and more


def enclosed(edges: np.ndarray) -> float:
    x0, y0, x1, y1 = edges.T
    return abs(float(np.sum(x0 * y1 - x1 * y0))) / 2


@pytest.mark.thorough
@pytest.mark.parametrize("thickness_mm", [0.5, 2.0, 6.0])
def test_between_a_25th_and_half_of_the_seen_wall_stays_open(thickness_mm: float) -> None:
    scene = scene_of(BLOCK, thickness_mm=thickness_mm, camera=TILTED)
    prism = see_prism(view_of(scene), scene.parts[0].placed(), base_mm=0.0, thickness_mm=thickness_mm)
    found = found_in(scene, thick(thickness_mm))
    wall_mm2 = (enclosed(prism.silhouette) - enclosed(prism.top)) * found.scale.mm_per_px**2
    assert 0.04 * wall_mm2 < found.parts[0].outline.area.budget["seen wall"] < 0.5 * wall_mm2


def test_a_deep_hole_seen_aslant_is_told_of() -> None:
    plate = box(-30, -20, 30, 20).difference(box(-3, -3, 3, 3))
    (part,) = found_in(scene_of(plate, thickness_mm=6.0, camera=TILTED), thick(6.0)).parts
    hidden = next(flag for flag in part.outline.flags if flag.code == "HOLES_HIDDEN")
    # 6 mm times the tangent of about 20 degrees, a little more or less for the place in the picture
    assert 1.6 < float(hidden.message.split("narrower than ")[1].split(" mm")[0]) < 2.8


@pytest.mark.parametrize(("wall_px", "certain"), [(2.5, 0.5), (4.5, 0.9), (5.0, 1.0), (20.0, 1.0)])
def test_a_wall_of_five_pixels_is_clear_and_half_of_it_half_as_clear(wall_px: float, certain: float) -> None:
    votes = np.ones(60, dtype=np.float32)
    verdict, certainty = _neighbours_verdict(votes, np.full(60, wall_px))
    assert verdict == pytest.approx(1.0)
    assert certainty == pytest.approx(certain, rel=1e-3)


def test_a_vote_is_heard_by_five_neighbours_to_either_side() -> None:
    votes = np.zeros(80, dtype=np.float32)
    votes[40] = 1.0
    verdict, _ = _neighbours_verdict(votes, np.full(80, 10.0))
    heard = np.nonzero(np.abs(verdict) > 1e-6)[0]
    assert (heard.min(), heard.max()) == (35, 45)
