"""Edges, cameras and sheets built by hand, for tests whose expected numbers are worked out on paper."""

from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
from shapely.geometry import LinearRing, Polygon

from areakit.imaging.budget import Sizes, measure_rings
from areakit.imaging.camera import Camera
from areakit.imaging.edge_ring import EdgeRing, to_millimetres
from areakit.imaging.scale import PlaneScale, SheetScale
from areakit.imaging.sheet_colour import SheetDistance
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]
HEIGHT_MM, PIXEL_MM = 300.0, 0.1
"""A camera 300 mm straight above the sheet, a pixel of a tenth of a millimetre."""


def level_camera(variance: Floats | None = None) -> Camera:
    """A camera that looks straight down on the origin; its variances, shape (13,), are none unless given."""
    parameters = np.zeros(13)
    parameters[0], parameters[12] = np.log(HEIGHT_MM / PIXEL_MM), HEIGHT_MM
    return Camera(parameters=parameters, covariance=np.diag(np.zeros(13) if variance is None else variance), rms_px=0.1)


def plane_scale(**changes: Any) -> PlaneScale:
    usual = PlaneScale(
        camera=level_camera(),
        mark="frame",
        sheet="A4-r1",
        field_mm=(-80.0, -80.0, 80.0, 80.0),
        guard_mm=3.0,
        sheet_scale=SheetScale(),
        flatness_mm=0.0,
        corners_used=100,
        corners_total=100,
        focal_known=True,
    )
    return replace(usual, **changes)


def bare_sheet(**changes: Any) -> SheetDistance:
    """A coloured sheet, well exposed; only what is asked of it as a whole is filled in."""
    nothing = np.zeros((4, 4))
    usual = SheetDistance(
        distance=nothing.astype(np.float32), pixels=np.zeros((4, 4, 3), np.uint8), field=nothing > 0,
        guard=nothing > 0, left=0, top=0, unevenness=0.0, coloured=True, burnt=0.0, level=0.5,
        colour=np.full(3, 0.5, np.float32), bare=np.full((4, 4, 3), 0.7, np.float32),
    )  # fmt: skip
    return replace(usual, **changes)


def edge_of(outline_mm: Floats, **changes: Any) -> EdgeRing:
    """An edge seen all round, sharp, without walls, along an outline in millimetres."""
    points = outline_mm / PIXEL_MM
    count = len(points)
    away = points - points.mean(axis=0)
    usual = EdgeRing(
        points_px=points,
        normals=away / np.linalg.norm(away, axis=1)[:, None],
        hole=False,
        seen=np.ones(count, dtype=bool),
        top=np.ones(count),
        wall_px=np.full(count, -1.0),
        doubt_px=0.0,
        dark_share=0.0,
        sigma_px=0.8,
        unclear_share=0.0,
        face_hue=1.0,
        clipped_share=0.0,
        shade_outside=0.0,
        width_px=float(np.ptp(points, axis=0).min()),
        softness_px=np.full(count, 0.8),
    )
    return replace(usual, **changes)


def along(shape: Polygon, spacing_mm: float = 0.25) -> Floats:
    """Points at even spacing along the outer ring of a shape."""
    ring = LinearRing(shape.exterior)
    at = np.arange(0.0, ring.length, spacing_mm)
    return np.array([ring.interpolate(distance).coords[0] for distance in at])


def square(side_mm: float = 40.0) -> Floats:
    half = side_mm / 2
    return along(Polygon([(-half, -half), (half, -half), (half, half), (-half, half)]))


def measured(
    *edges: EdgeRing,
    scale: PlaneScale | None = None,
    sheet: SheetDistance | None = None,
    height: Measured | None = None,
    thin: bool = True,
    **doubts: Any,
) -> Sizes:
    """Measure edges; thin foil unless a height is given, or ``thin`` is false."""
    scale = scale or plane_scale()
    height = height or (Measured(value=0.0, unit="mm") if thin else None)
    millimetres = tuple(to_millimetres(scale.camera, edge, height.value if height else 0.0) for edge in edges)
    doubts = {"edge_mm": 0.02, **doubts}
    return measure_rings(scale, edges, millimetres, height, sheet=sheet or bare_sheet(), **doubts)
