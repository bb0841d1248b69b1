"""Find the printed scale sheet and its saddle corners."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.flags import Flag, flag
from areakit.imaging.camera import LOG_F, Camera, Prior, fit_camera, point_residuals, start_pose
from areakit.imaging.checks.photo import check_motion
from areakit.imaging.checks.sheet import (
    RMS_LIMIT_PX,
    check_corners_agree,
    focal_contradicted,
    level_spread_mm,
    stretched_print,
)
from areakit.imaging.lens import Lens
from areakit.imaging.marks.dictionary import dictionary
from areakit.imaging.marks.frame_fit import Corners, FrameFit, fit_frame
from areakit.imaging.marks.frame_layout import FrameLayout, layout_of_marker
from areakit.imaging.marks.frame_sharpness import frame_blur
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import BY_LENGTHS, UNVERIFIED, CheckReading, ConfirmedPrint, PlaneScale, SheetScale

Floats = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]

FEWEST_MARKERS = 4
FEWEST_CORNERS = 20
MARKER_SIGMA_PX = 1.5
"""Error of an unrefined marker corner in the overview, in pixels of the overview (0.4 to 0.6 px seen, doubled)."""
RMS_REFUSED_PX, RMS_REFUSED_MM = 1.2, 0.09
GUARD_MM = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Markers:
    ids: npt.NDArray[np.int64]
    corners: Floats  # (n, 4, 2), full-size pixels


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameCorners:
    """The saddle corners of a sheet in a photo.

    ``nodes_mm`` and ``points_px``, shape (n, 2) each, are those that could be read, of ``total``; the nodes are as long
    as the check lengths say.
    """

    layout: FrameLayout
    sheet_scale: SheetScale
    nodes_mm: Floats
    points_px: Floats
    total: int
    rough: Camera
    markers: _Markers


def frame_corners(
    photo: Photo, small: Overview, prior: Prior, reading: CheckReading | ConfirmedPrint | None
) -> FrameCorners | None:
    """Return the corners of the printed sheet in the photo, or None where there is no marker of any sheet.

    Raises
    ------
    MarkNotFound
        If too little of a sheet is seen, or two sheets are.
    ScaleUnreliable
        If its marks fit no flat sheet.
    """
    markers = _find_markers(photo, small)
    if markers is None:
        return None
    layout = _one_layout(markers)
    sheet_scale = reading.sheet_scale(layout.check_lengths_mm) if reading else UNVERIFIED
    true = np.array([sheet_scale.x, sheet_scale.y])
    rough = _camera_from_markers(markers, layout, true, prior, small.factor)
    nodes_mm = layout.corners_mm * true
    found_px, good = _refine_corners(photo, layout, nodes_mm, rough)
    if good.sum() < FEWEST_CORNERS:
        raise MarkNotFound(
            f"Only {good.sum()} of {len(nodes_mm)} corners of sheet {layout.code} could be read; "
            f"{FEWEST_CORNERS} are needed.",
            remedy="Keep the whole marker frame in view, in focus and evenly lit, and take the photo again.",
            code="TOO_FEW_CORNERS",
        )
    return FrameCorners(
        layout=layout,
        sheet_scale=sheet_scale,
        nodes_mm=nodes_mm[good],
        points_px=found_px[good],
        total=len(nodes_mm),
        rough=rough,
        markers=markers,
    )


def glanced_frame(photo: Photo, small: Overview, prior: Prior) -> PlaneScale | None:
    """Return a scale good enough to aim by, from the markers of a printed sheet alone; None where there is none.

    Raises
    ------
    MarkNotFound, ScaleUnreliable
        As :func:`frame_corners`.
    """
    markers = _detect(small)
    if markers is None:
        return None
    layout = _one_layout(markers)
    camera = _camera_from_markers(markers, layout, np.ones(2), prior, small.factor)
    return PlaneScale(
        camera=camera,
        mark="frame",
        sheet=layout.code,
        field_mm=layout.field_mm,
        guard_mm=GUARD_MM,
        sheet_scale=UNVERIFIED,
        flatness_mm=0.0,
        corners_used=4 * len(markers.ids),
        corners_total=4 * len(layout.marker_squares),
        focal_known=False,
    )


def find_frame(
    photo: Photo, small: Overview, prior: Prior, reading: CheckReading | ConfirmedPrint | None, lens: Lens | None = None
) -> PlaneScale | None:
    """Return the scale from the printed sheet in the photo, or None where there is no marker of any sheet.

    Parameters
    ----------
    lens : Lens or None
        The stored lens of the photo's camera. Where the corners contradict it, it is left alone, and a flag says so.

    Raises
    ------
    MarkNotFound
        If too little of a sheet is seen, or two sheets are.
    ScaleUnreliable
        If its corners do not fit a flat sheet.
    """
    seen = frame_corners(photo, small, prior, reading)
    if seen is None:
        return None
    layout, sheet_scale, nodes_mm = seen.layout, seen.sheet_scale, seen.nodes_mm
    corners = Corners(nodes_mm=nodes_mm, points_px=seen.points_px, sheet_scale=sheet_scale)
    fit = fit_frame(corners, seen.rough.parameters, prior, lens.prior(photo) if lens else None)
    camera, kept = fit.fitted.camera, fit.fitted.kept
    stretch = np.exp([fit.fitted.ratio / 2, -fit.fitted.ratio / 2])
    true, nodes_mm = np.array([sheet_scale.x, sheet_scale.y]) * stretch, nodes_mm * stretch
    _check_spread(nodes_mm[kept], layout, true)
    limit_px = max(RMS_REFUSED_PX, RMS_REFUSED_MM / camera.mm_per_px(nodes_mm.mean(axis=0)))
    check_corners_agree(int(kept.sum()), len(kept))
    if camera.rms_px > limit_px:
        raise ScaleUnreliable(
            f"The corners miss a flat sheet by {camera.rms_px:.1f} px rms; up to {limit_px:.1f} px is accepted.",
            remedy="Lay the sheet flat on a board, use the original photo, and take it again.",
            code="SHEET_NOT_FLAT",
        )
    shaken = check_motion(frame_blur(photo, camera, layout, true))
    if reading is None:
        sheet_scale, stretched = stretched_print(sheet_scale, fit.fitted.ratio)
    else:
        stretched = ()
    left, top, right, bottom = layout.field_mm
    return PlaneScale(
        camera=camera,
        mark="frame",
        sheet=layout.code,
        field_mm=(left * true[0], top * true[1], right * true[0], bottom * true[1]),
        guard_mm=GUARD_MM,
        sheet_scale=replace(sheet_scale, x=float(true[0]), y=float(true[1])),
        flatness_mm=level_spread_mm(camera, nodes_mm.mean(axis=0), fit.bend_mm),
        corners_used=int(kept.sum()),
        corners_total=seen.total,
        focal_known=photo.focal_px is not None and not fit.contradicted,
        flags=(
            *_print_flags(sheet_scale, reading),
            *_cautions(seen.markers, layout, camera),
            *_fit_flags(fit, prior, lens),
            *stretched,
            *shaken,
        ),
        confirmed=_confirmed(reading),
        lens=lens.date if lens and fit.lens_misses_px is None else "",
        focal_open=fit.focal_open if photo.focal_px is not None else 0.0,
    )


def _fit_flags(fit: FrameFit, prior: Prior, lens: Lens | None) -> tuple[Flag, ...]:
    """Return what the fit says against what was believed of lens and focal length."""
    told = []
    if lens is not None and fit.lens_misses_px is not None:
        held, free = fit.lens_misses_px
        told.append(flag("LENS_NOT_USED", rms_px=held, free_px=free, date=lens.date))
    if fit.contradicted:
        told.append(focal_contradicted(float(fit.fitted.camera.parameters[LOG_F] - prior.mean[LOG_F])))
    return tuple(told)


def _find_markers(photo: Photo, small: Overview) -> _Markers | None:
    """Look for markers in the overview, then once in a finer one where only some were found."""
    markers = _detect(small)
    if small.factor > 1 and (markers is None or len(markers.ids) < 12):
        from areakit.imaging.photo import overview

        finer = _detect(overview(photo, longest_px=2200))
        if finer is not None and (markers is None or len(finer.ids) > len(markers.ids)):
            markers = finer
    return markers


def check_not_printed(small: Overview, named: str) -> None:
    """Refuse to take a printed scale sheet for the plain sheet of paper that was named.

    Raises
    ------
    MarkNotFound
    """
    markers = _detect(small)
    if markers is not None and len(markers.ids) >= FEWEST_MARKERS:
        raise MarkNotFound(
            f"{named} was named, which is a plain sheet of paper; in view is printed scale sheet "
            f"{_one_layout(markers).code}.",
            remedy="Name no mark: its marker frame is found by itself, and tells the scale better than cut edges.",
            fields={"mark": ""},
            code="SHEET_IS_PRINTED",
        )


def mirrored_markers(small: Overview) -> int:
    """Return how many markers of a scale sheet a mirror would show in the overview."""
    found = _detect(Overview(pixels=np.ascontiguousarray(small.pixels[:, ::-1]), factor=small.factor))
    return 0 if found is None else len(found.ids)


def _detect(small: Overview) -> _Markers | None:
    grey = cv2.cvtColor(small.pixels, cv2.COLOR_RGB2GRAY)
    parameters = cv2.aruco.DetectorParameters()
    parameters.adaptiveThreshWinSizeMin = parameters.adaptiveThreshWinSizeMax = 23
    parameters.minMarkerPerimeterRate = 0.015
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_NONE
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary(), parameters).detectMarkers(grey)
    if ids is None:
        return None
    numbers = np.asarray(ids).reshape(-1)
    ours = np.array([layout_of_marker(int(i)) is not None for i in numbers], dtype=bool)
    if not ours.any():
        return None
    quads = np.asarray(corners, dtype=float).reshape(-1, 4, 2)[ours]
    return _Markers(ids=numbers[ours].astype(np.int64), corners=small.to_full(quads))


def _one_layout(markers: _Markers) -> FrameLayout:
    votes: dict[str, int] = {}
    for number in markers.ids:
        layout = layout_of_marker(int(number))
        assert layout is not None
        votes[layout.code] = votes.get(layout.code, 0) + 1
    best = max(votes, key=lambda code: votes[code])
    if sum(count >= FEWEST_MARKERS for count in votes.values()) > 1:
        raise MarkNotFound(
            f"Two scale sheets are in the photo: {' and '.join(sorted(votes))}.",
            remedy="Keep one sheet in view.",
            code="TWO_SHEETS",
        )
    if votes[best] < FEWEST_MARKERS:
        raise MarkNotFound(
            f"Only {votes[best]} marks of sheet {best} were found; {FEWEST_MARKERS} are needed.",
            remedy="Keep the whole marker frame in view, in focus and evenly lit, and take the photo again.",
            code="TOO_FEW_MARKS",
        )
    layout = layout_of_marker(int(next(i for i in markers.ids if _code(i) == best)))
    assert layout is not None
    return layout


def _code(marker_id: int) -> str:
    layout = layout_of_marker(int(marker_id))
    return layout.code if layout else ""


def _camera_from_markers(markers: _Markers, layout: FrameLayout, true: Floats, prior: Prior, factor: int) -> Camera:
    """Return a rough camera; a marker number read twice or wrongly is outvoted by the robust fit."""
    keep = [i for i, number in enumerate(markers.ids) if _code(number) == layout.code]
    points_mm = np.concatenate([layout.marker_corners_mm(int(markers.ids[i])) * true for i in keep])
    points_px = np.concatenate([markers.corners[i] for i in keep])
    try:
        start = start_pose(points_mm, points_px, prior)
        return fit_camera(
            point_residuals(points_mm, points_px), start, prior, sigma_px=MARKER_SIGMA_PX * factor / 2, steps=8
        )
    except (np.linalg.LinAlgError, cv2.error) as error:
        raise ScaleUnreliable(
            f"The {len(keep)} marks found do not fit one flat sheet.",
            remedy="Lay the sheet flat, keep the whole marker frame in view, and take the photo again.",
            code="SHEET_NOT_FLAT",
        ) from error


def _refine_corners(photo: Photo, layout: FrameLayout, nodes_mm: Floats, rough: Camera) -> tuple[Floats, Bytes]:
    """Find every saddle corner at full size; return pixels (n, 2) and whether each can be used (n,)."""
    expected = rough.project(nodes_mm)
    square_px = layout.square_mm / rough.mm_per_px(nodes_mm.mean(axis=0))
    quiet_px = square_px * (layout.square_mm - layout.marker_mm) / (2 * layout.square_mm)
    half = int(np.clip(0.8 * quiet_px, 3, 11))  # the finder's window must not reach the ink of a marker
    reach = half + max(6, int(0.15 * square_px))
    found, good = expected.copy(), np.zeros(len(nodes_mm), dtype=bool)
    diagonal = _diagonals(rough, nodes_mm, layout.square_mm)
    squares = np.rint(layout.corners_mm / layout.square_mm).astype(int)
    for i, (x, y) in enumerate(expected):
        left, top = round(x) - reach, round(y) - reach
        right, bottom = left + 2 * reach + 1, top + 2 * reach + 1
        if left < 0 or top < 0 or right > photo.width_px or bottom > photo.height_px:
            continue
        patch = cv2.cvtColor(np.ascontiguousarray(photo.pixels[top:bottom, left:right]), cv2.COLOR_RGB2GRAY)
        start = np.array([[[x - left, y - top]]], dtype=np.float32)
        stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.002)
        corner = cv2.cornerSubPix(patch, start, (half, half), (-1, -1), stop).reshape(2).astype(float)
        black_first = layout.is_black(*squares[i])
        good[i] = float(np.hypot(*(corner - start.reshape(2)))) < reach - half and _is_saddle(
            np.asarray(patch, dtype=np.uint8), corner, diagonal[i], black_first
        )
        found[i] = corner + [left, top]
    return found, good


def _diagonals(camera: Camera, nodes_mm: Floats, square_mm: float) -> Floats:
    """Return for each node the pixel vectors, shape (n, 2, 2), to 0.09 of a square along both diagonals."""
    step = 0.09 * square_mm
    down = camera.project(nodes_mm + [step, step]) - camera.project(nodes_mm - [step, step])
    up = camera.project(nodes_mm + [step, -step]) - camera.project(nodes_mm - [step, -step])
    return np.stack([down / 2, up / 2], axis=1)


def _is_saddle(patch: Bytes, corner: Floats, diagonals: Floats, down_is_black: bool) -> bool:
    """Check that the four quarters round a corner are black and white as printed, with clear contrast."""
    down, up = diagonals
    points = np.rint([corner + down, corner - down, corner + up, corner - up]).astype(int)
    height, width = patch.shape
    if (points < 0).any() or (points[:, 0] >= width).any() or (points[:, 1] >= height).any():
        return False
    a, b, c, d = (float(patch[y, x]) for x, y in points)
    dark, bright = (max(a, b), min(c, d)) if down_is_black else (max(c, d), min(a, b))
    return bright > 1.25 * dark + 8.0


def _check_spread(used_mm: Floats, layout: FrameLayout, true: Floats) -> None:
    """Refuse corners that all lie on one side: they do not fix the plane under the part."""
    if len(used_mm) < FEWEST_CORNERS:
        raise MarkNotFound(
            f"Only {len(used_mm)} corners of sheet {layout.code} agree with each other; {FEWEST_CORNERS} are needed.",
            remedy="Lay the sheet flat, uncover the marker frame, and take the photo again.",
            code="TOO_FEW_CORNERS",
        )
    covered = np.ptp(used_mm, axis=0) / (np.array([layout.width_mm, layout.height_mm]) * true)
    if np.min(covered) < 0.5:
        raise MarkNotFound(
            f"The corners that can be read cover only {100 * np.min(covered):.0f} % of the sheet.",
            remedy="Uncover the marker frame on all sides, and keep all of it in view.",
            code="TOO_FEW_CORNERS",
        )


def _print_flags(sheet_scale: SheetScale, reading: CheckReading | ConfirmedPrint | None) -> tuple[Flag, ...]:
    """Return what is said of a print that nobody measured."""
    if isinstance(reading, CheckReading):
        return ()
    shares = sheet_scale.shares if reading else UNVERIFIED.shares
    ((x, y),) = shares.values()
    percent = 200 * float(np.hypot(x, y))
    if reading is None:
        return (flag("SHEET_UNVERIFIED", percent=percent),)
    return (flag("PRINT_CONFIRMED", percent=percent, by=reading.by),)


def _confirmed(reading: CheckReading | ConfirmedPrint | None) -> str:
    if reading is None:
        return ""
    return reading.by if isinstance(reading, ConfirmedPrint) else BY_LENGTHS


def _cautions(markers: _Markers, layout: FrameLayout, camera: Camera) -> tuple[Flag, ...]:
    found = len({int(i) for i in markers.ids if _code(i) == layout.code})
    total = len(layout.marker_squares)
    cautions = []
    if found < 8:
        cautions.append(flag("FEW_MARKS", found=found, total=total))
    if camera.rms_px > RMS_LIMIT_PX:
        cautions.append(flag("SCALE_RESIDUALS_HIGH", rms_px=camera.rms_px, limit_px=RMS_LIMIT_PX))
    return tuple(cautions)
