"""A flat-bed scan: its resolution tag as the scale, seen as if from very far away."""

from __future__ import annotations

import numpy as np

from areakit.errors import MarkNotFound
from areakit.flags import Flag, flag
from areakit.imaging.camera import Camera, Prior
from areakit.imaging.marks.field import guard_width, picture_field
from areakit.imaging.photo import Photo
from areakit.imaging.scale import PlaneScale, SheetScale

AXIS_SHARE = 0.003
"""Standard uncertainty of a flat-bed scanner's length along each axis (practice)."""
FAR_MM = 1e6
"""Height of the camera that stands for a scanner: parallax of a part 10 mm high is 1e-5."""
USUAL_DPI = (100, 150, 200, 240, 300, 400, 600, 720, 800, 1200, 1600, 2400, 3200, 4800)
CAMERA_SHAPES = (4 / 3, 3 / 2, 16 / 9, 1.0)
LARGEST_SCAN_MM = 460.0
"""Longer side of an A3 flat-bed with a margin. [mm]"""
INCH_MM = 25.4


def looks_like_scan(photo: Photo) -> bool:
    """Tell whether a photo can be taken for a scan unasked: a usual resolution, no lens, not the shape of a sensor."""
    if photo.dpi is None or photo.focal_px is not None:
        return False
    ratio = max(photo.width_px, photo.height_px) / min(photo.width_px, photo.height_px)
    sensor = any(abs(ratio - shape) < 0.001 for shape in CAMERA_SHAPES)
    usual = any(abs(photo.dpi - dpi) < 0.002 * dpi for dpi in USUAL_DPI)
    size_mm = max(photo.width_px, photo.height_px) / photo.dpi * INCH_MM
    return usual and not sensor and size_mm < LARGEST_SCAN_MM


def scan_scale(photo: Photo) -> PlaneScale:
    """Return the scale that the resolution tag states.

    Raises
    ------
    MarkNotFound
        If the file has no tag that means anything.
    """
    if photo.dpi is None:
        raise MarkNotFound(
            f"{photo.name} states no scan resolution; only TIFF and PNG files of 90 to 5000 dpi are taken for scans.",
            remedy="Save the scan as TIFF or PNG with its resolution, or lay a printed scale sheet under the part.",
            code="NO_SCAN_RESOLUTION",
        )
    camera = far_camera(photo, photo.dpi / INCH_MM)
    field = picture_field(camera, photo)
    return PlaneScale(
        camera=camera,
        mark="scan",
        sheet=f"{photo.dpi:.0f} dpi",
        field_mm=field,
        guard_mm=guard_width(field),
        sheet_scale=SheetScale(shares={"scan resolution": (AXIS_SHARE, AXIS_SHARE)}),
        flatness_mm=0.0,
        corners_used=0,
        corners_total=0,
        focal_known=True,
        flags=(flag("SCAN_RESOLUTION", dpi=photo.dpi),),
    )


def far_camera(photo: Photo, px_per_mm: float) -> Camera:
    """Return a camera so far above the glass that heights do not matter, its origin at the first pixel."""
    prior = far_prior(photo, px_per_mm)
    cx, cy = prior.mean[1:3]
    pose = np.array([0.0, 0.0, 0.0, -cx / px_per_mm, -cy / px_per_mm, FAR_MM])
    deviation = np.concatenate([[1e-9], np.full(2, 1e-6), np.full(4, 1e-9), np.full(3, 1e-9), np.full(2, 1e-6), [1e-3]])
    return Camera(parameters=np.concatenate([prior.mean, pose]), covariance=np.diag(deviation**2), rms_px=0.0)


def far_prior(photo: Photo, px_per_mm: float) -> Prior:
    """Return what is believed of a scanner taken for a camera: the focal length that its resolution asks for."""
    middle = [(photo.width_px - 1) / 2, (photo.height_px - 1) / 2]
    mean = np.array([np.log(FAR_MM * px_per_mm), *middle, 0.0, 0.0, 0.0, 0.0])
    return Prior(mean=mean, sigma=np.array([0.01, 1e-3, 1e-3, 1e-6, 1e-6, 1e-6, 1e-6]))


def compare_with_tag(scale: PlaneScale, photo: Photo) -> tuple[Flag, ...]:
    """Return a caution where the mark in a scan and the scan's tag disagree beyond both their uncertainties."""
    if photo.dpi is None or photo.focal_px is not None:
        return ()
    tag, seen = INCH_MM / photo.dpi, scale.mm_per_px
    shares = np.array(list(scale.sheet_scale.shares.values()) or [(0.0, 0.0)])
    own = float(np.sqrt(np.sum(shares**2)) / 2)
    both = float(np.hypot(own, AXIS_SHARE / np.sqrt(2.0)))
    if abs(np.log(seen / tag)) <= 2.0 * both:
        return ()
    return (
        flag(
            "SCALES_DISAGREE",
            first=f"the {scale.mark} reads {INCH_MM / seen:.0f} dpi",
            second=f"the file states {photo.dpi:.0f} dpi",
            advice="The mark was used. Save the scan anew, neither cropped nor resized, if its resolution matters.",
        ),
    )
