"""Sizes and slopes from few points, against the full way from pixels to millimetres."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from shapely.geometry import Polygon

from areakit.imaging.camera import Camera
from areakit.imaging.edge_ring import to_millimetres
from areakit.imaging.marks import find_scale
from areakit.imaging.photo import overview
from areakit.imaging.segment import find_regions
from areakit.imaging.sheet_colour import sheet_distance
from areakit.imaging.slopes import thinned
from areakit.imaging.trace import trace_ring
from tests.imaging.drawn_photos import SMALL, WASHER, photo_of, scene_of, true_reading

Floats = npt.NDArray[np.float64]


@pytest.mark.parametrize("thickness_mm", [0.0, 3.0])
def test_few_points_answer_as_the_whole_way_does(thickness_mm: float) -> None:
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
    few = thinned(scale.camera, rings, thickness_mm)

    def whole(camera: Camera, height: float) -> Floats:
        outer, *holes = (Polygon(to_millimetres(camera, ring, height)) for ring in rings)
        return np.array([outer.area - sum(h.area for h in holes), outer.length, sum(h.length for h in holes)])

    slopes = few.camera_slopes(thickness_mm)
    for index, step in enumerate(0.05 * np.sqrt(np.diag(scale.camera.covariance))):
        ends = []
        for sign in (1.0, -1.0):
            parameters = np.array(scale.camera.parameters)
            parameters[index] += sign * step
            ends.append(whole(scale.camera.with_parameters(parameters), thickness_mm))
        expected = ends[0] - ends[1]
        # One part in a thousand of the sizes for a whole standard deviation is far below any share.
        allowed = 0.03 * np.abs(expected) + 0.1 * 0.001 * whole(scale.camera, thickness_mm)
        assert (np.abs(2 * step * slopes[index] - expected) <= allowed).all(), index
    taller = thickness_mm + 0.1
    assert few.sizes(taller) - few.sizes(thickness_mm) == pytest.approx(
        whole(scale.camera, taller) - whole(scale.camera, thickness_mm), rel=0.03, abs=0.05
    )
