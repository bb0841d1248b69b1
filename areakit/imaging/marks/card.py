"""An identification card (ISO/IEC 7810, ID-1) that lies beside the part: the pose of its four sides."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.flags import flag
from areakit.imaging.camera import Camera, Prior, Residuals, edge_residuals, fit_camera, start_pose
from areakit.imaging.marks.field import (
    along_picture,
    guard_width,
    moved,
    nearly_level,
    picture_field,
    rectangle,
)
from areakit.imaging.marks.ground import ground_field
from areakit.imaging.marks.reference_objects import reference_objects
from areakit.imaging.marks.sides import all_sides, crossing, find_quads
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import PlaneScale, SheetScale, common_share

Floats = npt.NDArray[np.float64]

SMALLEST, LARGEST = 0.008, 0.5
"""Share of the picture that a card may take."""
SHAPE_LIMIT = 0.03
"""How far a corner may lie from where a card of that pose would have it, as share of its longer side."""
TILT_REFUSED_DEG = 20.0
TILT_SIGMA = np.radians(10.0)
SIDE_SIGMA_PX = 2.0
"""Standard deviation of one point, errors common to a side included: 0.5 px times root 16."""
SHARE_LEVEL, SHARE_TILTED = 0.010, 0.015
"""Standard uncertainty of a length beside the card, level and at the tilt that is refused (own study and practice)."""
FLATNESS_MM = 0.3
MARGIN_MM = 4.0
FEWEST_PX = 150.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """One card in the photo: points on each side, the side of the card each lies on, and the fitted camera."""

    sides_mm: Floats
    points_px: tuple[Floats, ...]
    camera: Camera
    misfit: float


def card_scale(photo: Photo, small: Overview, prior: Prior, at_px: tuple[float, float] | None = None) -> PlaneScale:
    """Return the scale from the four sides of a card.

    Raises
    ------
    MarkNotFound
        If nothing in the photo has four straight sides in the ratio of a card.
    ScaleUnreliable
        If it is too small in the photo, or the camera was tilted.
    """
    card = reference_objects()["id-1"]
    size = card.size_mm
    seen = _find(photo, small, prior, size, at_px)
    if seen is None:
        raise MarkNotFound(
            f"No card was found: nothing in the photo has four straight sides of {size[0]:g} to {size[1]:g} mm.",
            remedy="Lay the card flat beside the part, wholly in view, on a plain ground of another colour.",
            code="NO_MARK",
        )
    width_px = float(max(np.ptp(np.concatenate(seen.points_px), axis=0)))
    if width_px < FEWEST_PX:
        raise ScaleUnreliable(
            f"The card is {width_px:.0f} px wide; {FEWEST_PX:.0f} px are needed.",
            remedy="Move closer, or use a printed scale sheet.",
            code="MARK_TOO_SMALL",
        )
    tilt = seen.camera.tilt_deg
    if tilt > TILT_REFUSED_DEG:
        raise ScaleUnreliable(
            f"The camera was tilted by {tilt:.0f}°; with a card up to {TILT_REFUSED_DEG:.0f}° can be measured.",
            remedy="Hold the camera more nearly straight above, or use a printed scale sheet.",
            fields={"areakit sheet": ""},
            code="TILT_TOO_HIGH",
        )
    return _scale(photo, small, seen, thickness_mm=card.thickness_mm)


def _scale(photo: Photo, small: Overview, seen: _Seen, *, thickness_mm: float) -> PlaneScale:
    camera = moved(seen.camera, origin_mm=(*(seen.sides_mm / 2), thickness_mm))
    turned = along_picture(camera, photo)
    corners = rectangle(-seen.sides_mm / 2, seen.sides_mm / 2, MARGIN_MM)
    excluded = turned.to_sheet(camera.project(corners))
    field = ground_field(picture_field(turned, photo), turned, small, taken=(excluded,), beside=True)
    share = SHARE_LEVEL + (SHARE_TILTED - SHARE_LEVEL) * min(1.0, turned.tilt_deg / TILT_REFUSED_DEG)
    return PlaneScale(
        camera=turned,
        mark="card",
        sheet="ID-1",
        field_mm=field,
        guard_mm=guard_width(field),
        sheet_scale=SheetScale(shares={"card beside the part": common_share(share)}),
        flatness_mm=FLATNESS_MM,
        corners_used=sum(len(points) for points in seen.points_px),
        corners_total=sum(len(points) for points in seen.points_px),
        focal_known=photo.focal_px is not None,
        flags=(flag("CARD_BESIDE_PART", percent=400 * share),),
        excluded_mm=(excluded,),
    )


def _find(photo: Photo, small: Overview, prior: Prior, size: Floats, at_px: tuple[float, float] | None) -> _Seen | None:
    """Return the four-sided thing that fits a card best."""
    found = []
    for quad in find_quads(small, smallest=SMALLEST, largest=LARGEST)[:30]:
        quad_px = small.to_full(quad)
        if at_px is not None and cv2.pointPolygonTest(quad_px.astype(np.float32), at_px, False) < 0:
            continue
        if _shape_misfit(quad_px, size, prior) > 2 * SHAPE_LIMIT:
            continue
        points = all_sides(photo, quad_px)
        if points is not None:
            found.append(_fit(points, size, prior))
    good = [seen for seen in found if seen is not None]
    return min(good, key=lambda seen: seen.misfit) if good else None


def _corners(sides: Floats) -> Floats:
    return np.array([(0.0, 0.0), (sides[0], 0.0), (sides[0], sides[1]), (0.0, sides[1])])


def _shape_misfit(quad_px: Floats, size: Floats, prior: Prior) -> float:
    """Return how far a quadrilateral is from the view of a card, either way round, as share of its size."""
    return min(_pose(quad_px, sides, prior)[1] for sides in (size, size[::-1]))


def _pose(quad_px: Floats, sides: Floats, prior: Prior) -> tuple[Camera, float]:
    start = start_pose(_corners(sides), quad_px, prior)
    camera = Camera(parameters=start, covariance=np.zeros((13, 13)), rms_px=0.0, k3=prior.k3)
    miss = np.hypot(*(camera.project(_corners(sides)) - quad_px).T).max()
    return camera, float(miss / np.max(np.ptp(quad_px, axis=0)))


def _fit(points: tuple[Floats, ...], size: Floats, prior: Prior) -> _Seen | None:
    quad_px = np.array([crossing(points[i - 1], points[i]) for i in range(4)])
    poses = [(sides, *_pose(quad_px, sides, prior)) for sides in (size, size[::-1].copy())]
    sides, camera, misfit = min(poses, key=lambda pose: pose[2])
    if misfit > SHAPE_LIMIT:
        return None
    corners, pixels = _corners(sides), np.concatenate(points)
    side = np.repeat(np.arange(4), [len(group) for group in points])
    direction = (np.roll(corners, -1, axis=0) - corners)[side]
    direction = direction / np.linalg.norm(direction, axis=1)[:, None]
    mean, residuals = camera.parameters[7:10].copy(), edge_residuals(corners[side], direction, pixels)
    for _ in range(3):
        seen = camera.to_sheet(pixels)
        foot = corners[side] + np.einsum("ij,ij->i", seen - corners[side], direction)[:, None] * direction
        mean = _level_with(camera)
        residuals = _with_tilt(edge_residuals(foot, direction, pixels), mean)
        camera = fit_camera(residuals, camera.parameters, prior, sigma_px=SIDE_SIGMA_PX, steps=8)
    return _Seen(sides_mm=sides, points_px=points, camera=camera, misfit=misfit)


def _with_tilt(residuals: Residuals, mean: Floats) -> Residuals:
    sigma = np.array([TILT_SIGMA, TILT_SIGMA, TILT_SIGMA])
    return nearly_level(residuals, mean=mean, sigma_rad=sigma, sigma_px=SIDE_SIGMA_PX)


def _level_with(camera: Camera) -> Floats:
    """Return the rotation vector of a level camera that is turned about its axis as this one is."""
    turn = float(np.arctan2(camera.rotation[1, 0], camera.rotation[0, 0]))
    return np.array([0.0, 0.0, turn])
