"""Quick sizes of many trials, against the full way from pixels to millimetres."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from areakit.imaging.marks import find_scale
from areakit.imaging.photo import overview
from areakit.imaging.segment import find_regions
from areakit.imaging.sheet_colour import sheet_distance
from areakit.imaging.slopes import trial_sizes
from areakit.imaging.trace import to_millimetres, trace_ring
from tests.imaging.drawn_photos import SMALL, WASHER, photo_of, scene_of, true_reading


@pytest.mark.parametrize("thickness_mm", [0.0, 3.0])
def test_a_trial_gives_what_the_whole_way_gives(thickness_mm: float) -> None:
    scene = scene_of(WASHER, thickness_mm=thickness_mm, camera=replace(SMALL, tilt_deg=12.0))
    photo = photo_of(scene)
    small = overview(photo)
    scale = find_scale(photo, small, mark="auto", reading=true_reading(scene))
    sheet = sheet_distance(small, scale)
    (region,) = find_regions(sheet)
    rings = tuple(
        trace_ring(photo, small, sheet, ring, hole=i > 0, camera=scale.camera, height_mm=thickness_mm)
        for i, ring in enumerate(region.rings)
    )
    trial = trial_sizes(scale.camera, rings, thickness_mm)

    def whole(camera: object, height: float) -> float:
        outer, *holes = (Polygon(to_millimetres(camera, ring, height)) for ring in rings)  # type: ignore[arg-type]
        return float(outer.area - sum(hole.area for hole in holes))

    for index, step in ((0, 0.01), (3, 0.01), (7, 0.01), (12, 1.0)):
        parameters = np.array(scale.camera.parameters)
        parameters[index] += step
        moved = scale.camera.with_parameters(parameters)
        expected = whole(moved, thickness_mm) - whole(scale.camera, thickness_mm)
        found = (trial(moved, thickness_mm) - trial(scale.camera, thickness_mm))[0]
        assert found == pytest.approx(expected, rel=0.03, abs=0.05)
    taller = thickness_mm + 0.1
    assert (trial(scale.camera, taller) - trial(scale.camera, thickness_mm))[0] == pytest.approx(
        whole(scale.camera, taller) - whole(scale.camera, thickness_mm), rel=0.03, abs=0.05
    )
