"""A printed pattern of stated pitch beside the part: a chequerboard, or a grid of coded markers."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound, RangeError, ScaleUnreliable, UnitError
from areakit.flags import flag
from areakit.imaging.camera import Camera, Prior, fit_camera, point_residuals, start_pose
from areakit.imaging.marks.field import along_picture, guard_width, moved, picture_field, rectangle
from areakit.imaging.marks.ground import ground_field
from areakit.imaging.marks.wanted import Wanted, measured_length_mm, wrong_form
from areakit.imaging.photo import Overview, Photo, overview
from areakit.imaging.scale import PlaneScale, SheetScale, common_share

Floats = npt.NDArray[np.float64]

PRINT_SHARE = 0.01
"""Standard uncertainty along each axis of a pattern that nobody measured: printers are true to about 1 % (practice)."""
REACH_SHARE = 0.005
"""Standard uncertainty of a length one half-diagonal of the pattern away from its middle; grows with the distance
(boards bend and lenses differ; a 2 x 2 block read a whole board within 7 % of area in 90 % of real photos)."""
CORNER_SIGMA_PX = 0.1
NEIGHBOURS = 6.0
"""Corners share their error over about this many neighbours: paper bends, it does not scatter."""
FLATNESS_MM = 0.5
RMS_REFUSED = 0.02
"""Share of a pitch by which corners may miss a flat board (real boards: 0.4 to 0.9 %, through a wide lens 1.6 %)."""
LARGEST_GRID = 40
FINE_PX = 2200


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Corners seen: nominal places and pixels, shape (n, 2) each; extent of the whole pattern and its pitch [mm]; and,
    where somebody measured it, the relative standard uncertainty of its lengths."""

    name: str
    points_mm: Floats
    points_px: Floats
    low_mm: Floats
    high_mm: Floats
    pitch_mm: float
    total: int
    measured: float | None = None


def grid_scale(photo: Photo, small: Overview, prior: Prior, wanted: Wanted) -> PlaneScale:
    """Return the scale from all corners of a pattern, its field cut back to the plain ground.

    Raises
    ------
    RangeError
        If the text does not describe a pattern.
    MarkNotFound
        If the pattern is not seen.
    ScaleUnreliable
        If its corners do not fit a flat board, or there is no plain ground.
    """
    scale = board_scale(photo, find_pattern(photo, small, wanted), prior, kind=wanted.kind)
    field = ground_field(scale.field_mm, scale.camera, small, taken=scale.excluded_mm)
    return replace(scale, field_mm=field, guard_mm=guard_width(field))


def find_pattern(photo: Photo, small: Overview, wanted: Wanted) -> Pattern:
    """Return the corners of the pattern that is named; raises as `grid_scale` does."""
    return (_chequer if wanted.kind == "chequer" else _markers)(photo, small, wanted)


def board_scale(photo: Photo, pattern: Pattern, prior: Prior, *, kind: str) -> PlaneScale:
    """Return the scale in the plane of a board, its field the whole picture; raises as `grid_scale` does."""
    camera = fit_pattern(pattern, prior)
    miss = camera.rms_px * camera.mm_per_px(pattern.points_mm.mean(axis=0)) / pattern.pitch_mm
    if miss > RMS_REFUSED:
        raise ScaleUnreliable(
            f"The corners miss a flat {pattern.name} board by {100 * miss:.1f} % of its pitch; up to "
            f"{100 * RMS_REFUSED:.0f} % is accepted.",
            remedy="Mount the pattern on a flat board, check its form and counts, and take the photo again.",
            code="SHEET_NOT_FLAT",
        )
    middle = (pattern.low_mm + pattern.high_mm) / 2
    centred = moved(camera, origin_mm=(float(middle[0]), float(middle[1]), 0.0))
    turned = along_picture(centred, photo)
    field = picture_field(turned, photo)
    share = float(np.hypot(reach_share(field, pattern.high_mm - pattern.low_mm), miss))
    corners = rectangle(pattern.low_mm - middle, pattern.high_mm - middle, 0.3 * pattern.pitch_mm)
    print_shares = print_share(pattern)
    percent = 200 * float(np.hypot(np.hypot(*next(iter(print_shares.values()))), 2 * share))
    return PlaneScale(
        camera=turned,
        mark=kind,
        sheet=pattern.name,
        field_mm=field,
        guard_mm=guard_width(field),
        sheet_scale=SheetScale(shares={**print_shares, "beside the pattern": common_share(share)}),
        flatness_mm=FLATNESS_MM,
        corners_used=len(pattern.points_mm),
        corners_total=pattern.total,
        focal_known=photo.focal_px is not None,
        flags=(flag("GRID_BESIDE_PART", percent=percent),),
        excluded_mm=(turned.to_sheet(centred.project(corners)),),
    )


def print_share(pattern: Pattern) -> dict[str, tuple[float, float]]:
    """Return what a pattern's own lengths leave open: as measured, or as printers are true."""
    if pattern.measured is not None:
        return {"measured pattern": common_share(pattern.measured)}
    return {"unverified sheet copy": (PRINT_SHARE, PRINT_SHARE)}


def reach_share(field_mm: tuple[float, float, float, float], size_mm: Floats) -> float:
    """Return the share of a length half way between the pattern's middle (the origin) and the field's far corner."""
    left, top, right, bottom = field_mm
    far = np.hypot(max(-left, right), max(-top, bottom))
    return REACH_SHARE * max(1.0, 0.5 * float(far / (np.hypot(*size_mm) / 2)))


def fit_pattern(pattern: Pattern, prior: Prior) -> Camera:
    """Fit, drop corners that miss by more than five times the usual, and fit again with the spread that is seen."""
    try:
        start = start_pose(pattern.points_mm, pattern.points_px, prior)
        residuals = point_residuals(pattern.points_mm, pattern.points_px)
        rough = fit_camera(residuals, start, prior, sigma_px=1.0, steps=20)
        miss = np.linalg.norm(rough.project(pattern.points_mm) - pattern.points_px, axis=1)
        kept = miss <= max(5.0 * float(np.median(miss)), 5.0 * CORNER_SIGMA_PX)
        sigma = max(CORNER_SIGMA_PX, float(np.sqrt(np.mean(miss[kept] ** 2) / 2)))
        residuals = point_residuals(pattern.points_mm[kept], pattern.points_px[kept])
        return fit_camera(residuals, rough.parameters, prior, sigma_px=sigma, correlated=NEIGHBOURS, steps=20)
    except (np.linalg.LinAlgError, cv2.error) as error:
        raise ScaleUnreliable(
            f"The {len(pattern.points_mm)} corners found do not fit one flat board.",
            remedy="Mount the pattern on a flat board, keep all of it in view, and take the photo again.",
            code="SHEET_NOT_FLAT",
        ) from error


def _counts(text: str, wanted: Wanted, form: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,2})\s*[x×]\s*(\d{1,2})", text)
    if match is None:
        raise wrong_form(wanted, form)
    return int(match.group(1)), int(match.group(2))


def _length(text: str, wanted: Wanted, form: str) -> tuple[float, float | None]:
    """Return a length, and its relative standard uncertainty where it was measured."""
    try:
        length, spread = measured_length_mm(text)
        return length, None if spread is None else spread / length
    except UnitError as error:
        raise wrong_form(wanted, form) from error


# chequerboard


def _chequer(photo: Photo, small: Overview, wanted: Wanted) -> Pattern:
    """Find the inner corners of a chequerboard: counts of inner corners, then the pitch."""
    form = "chequer:9x7,30 mm (counts of inner corners, then the side of a square; if it was measured, 30.02 ± 0.02 mm)"
    if len(wanted.detail) != 2:
        raise wrong_form(wanted, form)
    columns, rows = _counts(wanted.detail[0], wanted, form)
    pitch, measured = _length(wanted.detail[1], wanted, form)
    if min(columns, rows) < 3 or max(columns, rows) > LARGEST_GRID:
        raise RangeError(
            f"A chequerboard of {columns} x {rows} inner corners cannot be read; 3 to {LARGEST_GRID} each way can.",
            remedy="Count the inner corners, where four squares meet.",
        )
    found = _board(photo, small, columns, rows)
    if found is None:
        raise MarkNotFound(
            f"No chequerboard of {columns} x {rows} inner corners was found.",
            remedy="Keep the whole board in view, sharp and evenly lit; count the corners where four squares meet.",
            code="NO_MARK",
        )
    x, y = np.meshgrid(np.arange(columns), np.arange(rows))
    points_mm: Floats = np.column_stack([x.ravel(), y.ravel()]).astype(float) * pitch
    if _left_handed(found.reshape(rows, columns, 2)):
        points_mm[:, 0] = (columns - 1) * pitch - points_mm[:, 0]
    return Pattern(
        name=f"{columns}x{rows}, {pitch:g} mm",
        points_mm=points_mm,
        points_px=found,
        low_mm=np.array([-pitch, -pitch]),
        high_mm=np.array([columns * pitch, rows * pitch]),
        pitch_mm=pitch,
        total=columns * rows,
        measured=measured,
    )


def _board(photo: Photo, small: Overview, columns: int, rows: int) -> Floats | None:
    """Return the corners at full size, row by row, shape (n, 2): coarse in an overview, then refined."""
    for view in (small, overview(photo, longest_px=FINE_PX)):
        grey = cv2.cvtColor(view.pixels, cv2.COLOR_RGB2GRAY)
        seen, corners = cv2.findChessboardCornersSB(grey, (columns, rows), flags=cv2.CALIB_CB_NORMALIZE_IMAGE)
        if seen:
            coarse = view.to_full(np.asarray(corners, dtype=float).reshape(-1, 2))
            return _refined(photo, coarse, columns, view.factor)
    return None


def _refined(photo: Photo, coarse: Floats, columns: int, factor: int) -> Floats:
    """Refine saddle corners on the full photo; a corner that runs away keeps its coarse place."""
    pitch_px = float(np.median(np.hypot(*(np.diff(coarse.reshape(-1, columns, 2), axis=1)).reshape(-1, 2).T)))
    half = int(np.clip(0.25 * pitch_px, 3, 15))
    margin = int(pitch_px) + half
    low = np.maximum(np.floor(coarse.min(axis=0)).astype(int) - margin, 0)
    high = np.ceil(coarse.max(axis=0)).astype(int) + margin
    grey = cv2.cvtColor(np.ascontiguousarray(photo.pixels[low[1] : high[1], low[0] : high[0]]), cv2.COLOR_RGB2GRAY)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.002)
    start = (coarse - low).astype(np.float32).reshape(-1, 1, 2)
    fine = cv2.cornerSubPix(grey, start.copy(), (half, half), (-1, -1), stop).reshape(-1, 2).astype(float) + low
    away = np.hypot(*(fine - coarse).T) > max(1.5 * factor, 2.0)
    return np.where(away[:, None], coarse, fine)


def _left_handed(corners: Floats) -> bool:
    """Tell whether rows and columns, shape (rows, columns, 2), run the other way round than x and y of the picture."""
    across, down = corners[0, -1] - corners[0, 0], corners[-1, 0] - corners[0, 0]
    return bool(across[0] * down[1] - across[1] * down[0] < 0)


# coded markers


def _markers(photo: Photo, small: Overview, wanted: Wanted) -> Pattern:
    """Find a grid of coded markers: family, columns x rows, side of a marker, gap; numbered from 0, row by row."""
    form = "markers:6x6,4x5,37.5 mm,5 mm (bits, columns x rows, side of a marker, gap between two)"
    if len(wanted.detail) != 4:
        raise wrong_form(wanted, form)
    bits, _ = _counts(wanted.detail[0], wanted, form)
    columns, rows = _counts(wanted.detail[1], wanted, form)
    (side, measured), (gap, _) = (_length(text, wanted, form) for text in wanted.detail[2:])
    if bits not in {4, 5, 6, 7} or not 2 <= columns * rows <= 1000:
        raise RangeError(
            f"A grid of {columns} x {rows} markers of {bits} x {bits} bits cannot be read.",
            remedy="Name a family of 4x4, 5x5, 6x6 or 7x7 bits and a grid of 2 to 1000 markers.",
        )
    corners = _marker_corners(photo, small, bits, columns * rows)
    if len(corners) < 2:
        raise MarkNotFound(
            f"Only {len(corners)} of {columns * rows} markers of {bits} x {bits} bits were found; 2 are needed.",
            remedy="Keep the whole pattern in view, sharp and evenly lit, and check the family of its markers.",
            code="NO_MARK",
        )
    pitch = side + gap
    points_px = np.concatenate(list(corners.values()))
    layouts = [_marker_places(list(corners), columns, rows, side, pitch, upward=up) for up in (False, True)]
    points_mm = min(layouts, key=lambda places: _affine_misfit(places, points_px))
    return Pattern(
        name=f"{columns}x{rows} markers, {side:g} mm",
        points_mm=points_mm,
        points_px=points_px,
        low_mm=np.zeros(2),
        high_mm=np.array([columns * pitch - gap, rows * pitch - gap]),
        pitch_mm=pitch,
        total=4 * columns * rows,
        measured=measured,
    )


def _marker_places(numbers: list[int], columns: int, rows: int, side: float, pitch: float, *, upward: bool) -> Floats:
    """Return the nominal corners of markers, shape (4 n, 2); some programs number rows from the bottom up."""
    square = np.array([(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)])
    row = [rows - 1 - n // columns if upward else n // columns for n in numbers]
    return np.concatenate([square + pitch * np.array([n % columns, r]) for n, r in zip(numbers, row, strict=True)])


def _affine_misfit(points_mm: Floats, points_px: Floats) -> float:
    terms = np.column_stack([points_mm, np.ones(len(points_mm))])
    solution, *_ = np.linalg.lstsq(terms, points_px, rcond=None)
    return float(np.mean((terms @ solution - points_px) ** 2))


def _marker_corners(photo: Photo, small: Overview, bits: int, count: int) -> dict[int, Floats]:
    """Return the corners of each marker at full size, by its number."""
    family = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, f"DICT_{bits}X{bits}_1000"))
    best: dict[int, Floats] = {}
    for view in (small, overview(photo, longest_px=FINE_PX)):
        parameters = cv2.aruco.DetectorParameters()
        parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_CONTOUR
        grey = cv2.cvtColor(view.pixels, cv2.COLOR_RGB2GRAY)
        quads, ids, _ = cv2.aruco.ArucoDetector(family, parameters).detectMarkers(grey)
        found = [] if ids is None else np.asarray(ids).reshape(-1).tolist()
        seen = {
            int(n): view.to_full(np.asarray(quad, dtype=float).reshape(4, 2))
            for n, quad in zip(found, quads, strict=True)
            if n < count
        }
        best = seen if len(seen) > len(best) else best
        if view.factor == 1 or len(best) > 0.8 * count:
            break
    return best
