"""Four-sided things in a photo, bright or dark, and points on their straight sides."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.edge import half_level, read_profiles, steepest
from areakit.imaging.photo import Overview, Photo

Floats = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]

POINTS = 90
SPAN = (0.12, 0.88)
"""Part of a side that is read: rounded corners are left out."""
FEWEST_SEEN = 0.5


def find_quads(small: Overview, *, smallest: float, largest: float) -> list[Floats]:
    """Return the corners, clockwise, shape (4, 2), of four-sided things in overview pixels, largest first.

    ``smallest`` and ``largest`` are shares of the picture's area.
    """
    size = small.pixels.shape[0] * small.pixels.shape[1]
    found: list[tuple[float, Floats]] = []
    for mask in _masks(small):
        contours, _ = cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
        for contour in contours:
            area = cv2.contourArea(contour)
            if not smallest * size < area < largest * size:
                continue
            quad = _quad(np.asarray(contour, dtype=np.int32), area)
            if quad is not None and not any(np.abs(quad.mean(axis=0) - q.mean(axis=0)).max() < 4 for _, q in found):
                found.append((area, quad))
    return [quad for _, quad in sorted(found, key=lambda pair: -pair[0])]


def _masks(small: Overview) -> list[Bytes]:
    """Return candidate masks: each channel split at Otsu's threshold, both ways, and closed edges."""
    lab = cv2.cvtColor(small.pixels, cv2.COLOR_RGB2LAB)
    masks: list[Bytes] = []
    for channel in cv2.split(lab):
        soft = cv2.GaussianBlur(channel, (0, 0), 1.2)
        _, mask = cv2.threshold(soft, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
        masks += [np.asarray(mask, dtype=np.uint8), np.asarray(255 - mask, dtype=np.uint8)]
    soft = cv2.GaussianBlur(small.pixels, (0, 0), 1.5)
    edges = np.zeros(soft.shape[:2], dtype=np.uint8)
    for channel in cv2.split(soft):
        edges |= np.asarray(cv2.Canny(channel, 12, 36), dtype=np.uint8)
    closed = cv2.dilate(edges, np.ones((3, 3), np.uint8))
    masks.append(np.asarray(255 - closed, dtype=np.uint8))
    return masks


def _quad(contour: npt.NDArray[np.int32], area: float) -> Floats | None:
    hull = cv2.convexHull(contour, clockwise=False)
    if area < 0.85 * cv2.contourArea(hull):
        return None
    for share in (0.015, 0.025, 0.04, 0.06):
        quad = cv2.approxPolyDP(hull, share * cv2.arcLength(hull, True), True)
        if len(quad) == 4:
            corners = quad.reshape(4, 2).astype(float)
            if cv2.contourArea(quad) < 0.9 * cv2.contourArea(hull):
                return None
            step, nxt = corners[1] - corners[0], corners[2] - corners[1]
            return corners if step[0] * nxt[1] - step[1] * nxt[0] > 0 else corners[::-1].copy()
    return None


def all_sides(photo: Photo, quad_px: Floats) -> tuple[Floats, ...] | None:
    """Return points on each side of a quadrilateral [px], or None where too little of one is seen."""
    half = max(10, int(0.04 * np.hypot(*(quad_px[2] - quad_px[0]))))
    sides = [side_points(photo, quad_px[i], quad_px[(i + 1) % 4], half) for i in range(4)]
    found = tuple(side for side in sides if side is not None)
    return found if len(found) == 4 else None


def side_points(photo: Photo, start: Floats, end: Floats, half: int) -> Floats | None:
    """Return points on one straight side, shape (n, 2), or None where too little of it is seen.

    The sides of a clockwise quadrilateral have their outside to the left of the way from start to end.
    """
    for reach in (half, max(8, half // 3), 8):
        along = end - start
        outward = np.array([along[1], -along[0]]) / np.hypot(*along)
        points = start + np.linspace(*SPAN, POINTS)[:, None] * along
        profiles = read_profiles(photo.pixels, points, np.broadcast_to(outward, points.shape), reach)
        inner = np.median(profiles.encoded[:, : reach // 2].mean(axis=1), axis=0)
        outer = np.median(profiles.encoded[:, -(reach // 2) :].mean(axis=1), axis=0)
        step = (outer - inner) / max(float(np.linalg.norm(outer - inner)), 1e-6)
        signal = np.asarray(profiles.linear @ step, dtype=np.float32)
        centre, strength = steepest(signal)
        cross = half_level(signal, centre, near=3, far=5, smooth=2)
        good = cross.found & profiles.inside_frame & (strength > 0.004)
        found = (profiles.start_px + cross.position[:, None] * profiles.step_px)[good]
        kept = _on_line(found)
        if kept is None or len(kept) < FEWEST_SEEN * POINTS:
            return None
        start, end = _ends(kept, start, end)
    return kept


def _on_line(points: Floats) -> Floats | None:
    """Keep the points that agree with one straight line (least median of squares over pairs, then Huber's limit)."""
    if len(points) < 10:
        return None
    rng = np.random.default_rng(0)
    pairs = rng.integers(0, len(points), size=(120, 2))
    pairs = pairs[np.abs(pairs[:, 0] - pairs[:, 1]) > len(points) // 5]
    along = points[pairs[:, 1]] - points[pairs[:, 0]]
    normal = np.column_stack([-along[:, 1], along[:, 0]]) / np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    miss = np.abs(np.einsum("pnj,pj->pn", points[None] - points[pairs[:, 0]][:, None], normal))
    best = int(np.argmin(np.median(miss, axis=1)))
    limit = max(1.5, 3.0 * 1.4826 * float(np.median(miss[best])))
    return np.asarray(points[miss[best] <= limit])


def _ends(points: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Lay the side from start to end on the line through the points."""
    middle = points.mean(axis=0)
    direction = np.linalg.svd(points - middle, full_matrices=False)[2][0]
    return middle + ((start - middle) @ direction) * direction, middle + ((end - middle) @ direction) * direction


def crossing(first: Floats, second: Floats) -> Floats:
    """Return where the lines through two sets of points, shape (n, 2) each, cross, shape (2,)."""
    rows, offsets = [], []
    for points in (first, second):
        middle = points.mean(axis=0)
        normal = np.linalg.svd(points - middle, full_matrices=False)[2][1]
        rows.append(normal)
        offsets.append(float(normal @ middle))
    return np.linalg.solve(np.array(rows), np.array(offsets))
