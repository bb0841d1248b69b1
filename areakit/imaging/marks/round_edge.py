"""Find round things in a photo, and their outer edge as an ellipse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.imaging.edge import half_level, read_profiles, steepest
from areakit.imaging.photo import Overview, Photo

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Box = tuple[Sequence[float], Sequence[float], float]
"""Middle, full axes, turn in degrees, as OpenCV gives an ellipse."""

ANGLES = 240
INNERMOST, OUTERMOST = 0.7, 1.35
"""Span of radii, as shares of the coarse one, in which the outer edge is looked for."""
OUTER_EDGE = 0.5
"""An edge counts as the outer one if it has this share of the strength of the strongest one."""
CANDIDATES = 12
FEWEST_SEEN = 0.55


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundEdge:
    """An outer edge: points on it, shape (n, 2), and the ellipse through them.

    ``misfit_px`` is the rms distance of the points from the ellipse; ``seen`` the share of directions that agree.
    """

    points_px: Floats
    centre_px: Floats
    axes_px: tuple[float, float]
    turn_deg: float
    misfit_px: float
    seen: float

    @property
    def ratio(self) -> float:
        """Shorter over longer axis."""
        return self.axes_px[1] / self.axes_px[0]

    @property
    def quality(self) -> float:
        """Higher is rounder and clearer."""
        return self.seen - 12.0 * self.misfit_px / self.axes_px[0] - 2.0 * (1.0 - self.ratio)


def find_round(photo: Photo, small: Overview, at_px: tuple[float, float] | None) -> RoundEdge | None:
    """Return the round edge that was tapped, or the roundest one; None where nothing round is seen."""
    edges = round_edges(photo, small, at_px)
    return edges[0] if edges else None


def round_edges(photo: Photo, small: Overview, at_px: tuple[float, float] | None = None) -> list[RoundEdge]:
    """Return the round edges in a photo, or round a tapped point, the roundest first; one of each thing."""
    circles = _circles(small)
    if at_px is not None:
        away = np.hypot(*(circles[:, :2] - np.array(at_px)).T)
        circles = circles[away < circles[:, 2]]
        circles = circles[np.argsort(-circles[:, 2])]
    edges = [edge for circle in circles[:CANDIDATES] if (edge := _outer_edge(photo, circle)) is not None]
    found: list[RoundEdge] = []
    for edge in sorted(edges, key=lambda edge: -edge.quality):
        if all(_apart(edge, other) for other in found):
            found.append(edge)
    return found


def _apart(one: RoundEdge, other: RoundEdge) -> bool:
    """Tell whether neither of two round edges holds the middle of the other: a hole belongs to its washer."""
    return float(np.hypot(*(one.centre_px - other.centre_px))) > max(one.axes_px[0], other.axes_px[0])


def _circles(small: Overview) -> Floats:
    """Return coarse circles, strongest first: middle and radius in full-size pixels, shape (n, 3)."""
    side = min(small.pixels.shape[:2])
    found = []
    for picture in (cv2.cvtColor(small.pixels, cv2.COLOR_RGB2GRAY), small.pixels[:, :, 2]):
        soft = cv2.GaussianBlur(np.ascontiguousarray(picture), (0, 0), 1.2)
        circles = cv2.HoughCircles(
            soft, cv2.HOUGH_GRADIENT_ALT, 1.5, side / 30, param1=120, param2=0.75, minRadius=8, maxRadius=side // 2
        )
        if circles is not None:
            found.append(np.asarray(circles, dtype=float).reshape(-1, circles.shape[-1])[:, :3])
        if found and len(found[0]):
            break
    if not found:
        return np.empty((0, 3))
    rough = np.concatenate(found)
    return np.column_stack([small.to_full(rough[:, :2]), rough[:, 2] * small.factor])


def _outer_edge(photo: Photo, circle: Floats) -> RoundEdge | None:
    """Refine a coarse circle to the outermost clear edge round its middle."""
    box = ((float(circle[0]), float(circle[1])), (2 * float(circle[2]), 2 * float(circle[2])), 0.0)
    share = _outermost_share(photo, box)
    if share is None:
        return None
    points, normals = _on_ellipse(_grown(box, share))
    edge = None
    for half in (max(8, int(0.05 * circle[2])), 8, 8):
        edge = _edge_near(photo, points, normals, half)
        if edge is None:
            return None
        points, normals = _on_ellipse(
            (tuple(edge.centre_px), (2 * edge.axes_px[0], 2 * edge.axes_px[1]), edge.turn_deg)
        )
    return edge


def _grown(box: Box, share: float) -> Box:
    return box[0], (box[1][0] * share, box[1][1] * share), box[2]


def _on_ellipse(box: Box) -> tuple[Floats, Floats]:
    """Return points of an ellipse (middle, full axes, turn in degrees) and its outward unit normals."""
    angle = np.linspace(0.0, 2 * np.pi, ANGLES, endpoint=False)
    a, b = box[1][0] / 2, box[1][1] / 2
    turn = np.radians(box[2])
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    local = np.column_stack([a * np.cos(angle), b * np.sin(angle)])
    normal = np.column_stack([b * np.cos(angle), a * np.sin(angle)])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    return local @ spin.T + np.array(box[0]), normal @ spin.T


def _outermost_share(photo: Photo, box: Box) -> float | None:
    """Return the radius, as share of the coarse one, of the outermost edge that runs all the way round."""
    radius = box[1][0] / 2
    steps = max(40, int((OUTERMOST - INNERMOST) * radius))
    shares = np.linspace(INNERMOST, OUTERMOST, min(steps, 400))
    _, normals = _on_ellipse(box)
    places = np.array(box[0]) + (shares * radius)[None, :, None] * normals[:, None, :]
    x, y = places[..., 0].astype(np.float32), places[..., 1].astype(np.float32)
    rows = cv2.remap(photo.pixels, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(np.float32)
    span = max(1, len(shares) // 60)
    change = np.abs(rows[:, 2 * span :] - rows[:, : -2 * span]).max(axis=2)
    usual = np.asarray(np.percentile(change, 50, axis=0))
    peak = float(usual.max())
    if peak < 3.0:
        return None
    strong = np.nonzero(usual > OUTER_EDGE * peak)[0]
    last = int(strong[-1])
    first = last
    while first > 0 and usual[first - 1] > OUTER_EDGE * peak:
        first -= 1
    best = first + int(np.argmax(usual[first : last + 1]))
    return float(shares[best + span])


def _edge_near(photo: Photo, points: Floats, normals: Floats, half: int) -> RoundEdge | None:
    profiles = read_profiles(photo.pixels, points, normals, half)
    inside = profiles.encoded[:, : half // 2].mean(axis=1)
    outside = profiles.encoded[:, -(half // 2) :].mean(axis=1)
    step = outside - inside
    step /= np.maximum(np.linalg.norm(step, axis=1, keepdims=True), 1e-6)
    signal: Singles = np.asarray(np.einsum("nmc,nc->nm", profiles.linear, step), dtype=np.float32)
    centre, strength = steepest(signal)
    cross = half_level(signal, centre, near=3, far=5, smooth=2)
    good = cross.found & profiles.inside_frame & (strength > 0.004)
    found = (profiles.start_px + cross.position[:, None] * profiles.step_px)[good]
    return _robust_ellipse(found)


def _robust_ellipse(points: Floats) -> RoundEdge | None:
    """Fit an ellipse, dropping points that miss it by three times the usual."""
    kept = points
    for _ in range(6):
        if len(kept) < FEWEST_SEEN * ANGLES:
            return None
        box = cv2.fitEllipseDirect(kept.astype(np.float32).reshape(-1, 1, 2))
        if not (np.isfinite(box[1]).all() and min(box[1]) > 4.0):
            return None
        miss = _distance(box, points)
        kept = points[np.abs(miss) <= max(0.7, 3.0 * 1.4826 * float(np.median(np.abs(miss))))]
    (centre, size, turn) = box
    if size[0] < size[1]:
        size, turn = (size[1], size[0]), turn + 90.0
    return RoundEdge(
        points_px=kept,
        centre_px=np.array(centre, dtype=float),
        axes_px=(size[0] / 2, size[1] / 2),
        turn_deg=float(turn),
        misfit_px=float(np.sqrt(np.mean(_distance(box, kept) ** 2))),
        seen=len(kept) / ANGLES,
    )


def _distance(box: Box, points: Floats) -> Floats:
    """Return about how far points lie outside a nearly round ellipse. [px]"""
    turn = np.radians(box[2])
    local = (points - np.array(box[0])) @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    scaled = np.hypot(local[:, 0] / (box[1][0] / 2), local[:, 1] / (box[1][1] / 2))
    return np.asarray(np.hypot(*local.T) * (1.0 - 1.0 / np.maximum(scaled, 1e-6)))
