"""A plain sheet of paper of a standard size as the scale, by its four cut edges."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.flags import flag
from areakit.imaging.bow import Bow, as_one_bend
from areakit.imaging.camera import (
    Camera,
    Prior,
    Residuals,
    edge_residuals,
    fit_camera,
    most_probable,
    start_pose,
)
from areakit.imaging.edge import LUMINANCE, half_level, read_profiles, steepest
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import PlaneScale, SheetScale

Floats = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperSize:
    """One standard size: longer side, shorter side, and the limit of the cut on each. [mm]"""

    code: str
    long_mm: float
    short_mm: float
    long_limit_mm: float
    short_limit_mm: float


# ISO 216:2007 sizes; cut limits 1.5 mm to 150 mm and 2 mm to 600 mm of length (limits from memory, unverified).
# US Letter: ANSI/ASME Y14.1 8.5 in x 11 in; 1/16 in limit taken (common practice, no source).
SIZES = {
    size.code: size
    for size in (
        PaperSize(code="A4", long_mm=297.0, short_mm=210.0, long_limit_mm=2.0, short_limit_mm=2.0),
        PaperSize(code="letter", long_mm=279.4, short_mm=215.9, long_limit_mm=1.6, short_limit_mm=1.6),
        PaperSize(code="A5", long_mm=210.0, short_mm=148.0, long_limit_mm=2.0, short_limit_mm=1.5),
    )
}
UNNAMED = ("A4", "letter")
"""Sizes tried when nobody names one. A5 has the shape of A4, so it must be named."""

EDGE_SIGMA_PX = 0.7
"""Error of one point on a cut paper edge (fuzz, curl, shadow of the sheet). [px]"""
EDGE_POINTS = 120
NEIGHBOURS = 25.0
"""Edge points share their error over about this many neighbours: paper edges are wavy, not noisy."""
FLATNESS_MM = 0.5
"""Standard uncertainty of the level of a loose sheet beside the bow that its edges show: folds and dents
(``calibration/studies/paper_bow.md``). [mm]"""
FURTHER = 4
"""Parameters fitted beside the camera's: the ratio of the sides, and three figures of a bow."""
STEPS = (1e-5, 1e-2, 1e-2, 1e-2)
"""Steps in which their slopes are taken. [1, mm]"""
WIDE_MM = 5.0
"""What is believed of each figure of a bow before it is held against what paper can do. [mm]"""
GUARD_MM = 4.0
SMALLEST_SHARE = 0.08
RMS_REFUSED_MM = 1.5


def find_paper(photo: Photo, small: Overview, prior: Prior, size_code: str | None = None) -> PlaneScale | None:
    """Return the scale from the edges of a plain sheet, or None where no bright four-sided sheet is seen.

    Raises
    ------
    MarkNotFound
        If a sheet is seen but runs out of the frame.
    ScaleUnreliable
        If its edges are not straight, or fit no standard size.
    """
    quad = _find_quad(small)
    if quad is None:
        return None
    quad_px = small.to_full(quad)
    _check_frame(quad_px, photo, small.factor)
    edges = [edge_points(photo, quad_px[i], quad_px[(i + 1) % 4], small.factor) for i in range(4)]
    sizes = [SIZES[size_code]] if size_code else [SIZES[code] for code in UNNAMED]
    fits = [_fit_size(size, quad_px, edges, prior, turned) for size in sizes for turned in (False, True)]
    likely = sorted((fit for fit in fits if fit is not None), key=lambda fit: fit.cost)
    if not likely:
        raise ScaleUnreliable(
            f"The sheet of paper in the photo has not the shape of {' or '.join(size.code for size in sizes)}.",
            remedy="Use a whole, uncut sheet of that size, or a printed scale sheet.",
            fields={"areakit sheet": ""},
            code="PAPER_SIZE_UNKNOWN",
        )
    best = likely[0]
    miss_mm = best.camera.rms_px * best.camera.mm_per_px(np.array(best.paper_mm) / 2)
    if miss_mm > RMS_REFUSED_MM:
        raise ScaleUnreliable(
            f"The edges of the paper miss a straight-cut {best.size.code} sheet by {miss_mm:.1f} mm rms.",
            remedy="Lay the sheet flat, or use a printed scale sheet.",
            fields={"areakit sheet": ""},
            code="SHEET_NOT_FLAT",
        )
    return _scale(photo, best, edges, unnamed=size_code is None)


def _find_quad(small: Overview) -> Floats | None:
    """Return the four corners, clockwise, shape (4, 2), of the largest white sheet in the overview."""
    whiteness = cv2.GaussianBlur(small.pixels.min(axis=2), (0, 0), 1.5)
    _, mask = cv2.threshold(whiteness, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return None
    largest = max(contours, key=cv2.contourArea)
    hull = cv2.convexHull(largest)
    area = cv2.contourArea(hull)
    if area < SMALLEST_SHARE * mask.size or cv2.contourArea(largest) < 0.85 * area:
        return None
    for share in (0.01, 0.02, 0.03, 0.05):
        quad = cv2.approxPolyDP(hull, share * cv2.arcLength(hull, True), True)
        if len(quad) == 4:
            corners = quad.reshape(4, 2).astype(float)
            return corners if cv2.contourArea(quad) > 0.93 * area else None
    return None


def _check_frame(quad_px: Floats, photo: Photo, factor: int) -> None:
    margin = 3.0 * factor
    limits = np.array([photo.width_px - 1, photo.height_px - 1])
    if (quad_px < margin).any() or (quad_px > limits - margin).any():
        raise MarkNotFound(
            "The sheet of paper runs out of the frame.",
            remedy="Keep all four edges of the sheet in view, with a thumb's margin, and take the photo "
            "again. If there is a mark of another kind, name it.",
            fields={"mark": ""},
            code="PAPER_CUT_OFF",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperEdge:
    """Points on one cut edge, shape (n, 2), and how soft it is. [px]"""

    points_px: Floats
    sigma_px: float


def edge_points(photo: Photo, start: Floats, end: Floats, factor: int) -> PaperEdge:
    """Return points on one cut edge, robust against shadows and things that lie across it."""
    along = end - start
    outward = np.array([along[1], -along[0]]) / np.hypot(*along)
    points = start + np.linspace(0.05, 0.95, EDGE_POINTS)[:, None] * along
    for half in (4 * factor + 6, 12):
        normals = np.broadcast_to(outward, points.shape)
        profiles = read_profiles(photo.pixels, points, normals, half)
        signal = profiles.linear @ LUMINANCE
        centre, _ = steepest(signal)
        cross = half_level(signal, centre, near=3, far=6, smooth=0)
        good = cross.found & profiles.inside_frame & (cross.inner > 1.15 * cross.outer)
        found = profiles.start_px + cross.position[:, None] * profiles.step_px
        if good.sum() < 0.5 * EDGE_POINTS:
            raise ScaleUnreliable(
                f"One edge of the sheet is seen clearly over {100 * good.mean():.0f} % of its length only.",
                remedy="Lay the sheet on a darker ground, without parts or shadows across its edges.",
                code="PAPER_EDGE_UNCLEAR",
            )
        kept = _along_parabola(found[good], start, along)
        points = start + np.linspace(0.05, 0.95, EDGE_POINTS)[:, None] * along
        points = points + _parabola(kept, start, along, points)[:, None] * outward
    return PaperEdge(points_px=kept, sigma_px=float(np.median(cross.sigma_px[good])))


def _coordinates(points: Floats, start: Floats, along: Floats) -> tuple[Floats, Floats]:
    """Return share of the way along the edge and distance outward. [1, px]"""
    length = np.hypot(*along)
    offset = points - start
    return offset @ along / length**2, offset @ np.array([along[1], -along[0]]) / length


def _along_parabola(points: Floats, start: Floats, along: Floats) -> Floats:
    """Keep the points that agree with one gentle arc."""
    s, d = _coordinates(points, start, along)
    keep = np.ones(len(s), dtype=bool)
    for _ in range(5):
        arc = np.polynomial.Polynomial.fit(s[keep], d[keep], 2)
        miss = np.abs(d - arc(s))
        keep = miss <= max(1.5, 3.0 * float(np.median(miss[keep])))
    return points[keep]


def _parabola(points: Floats, start: Floats, along: Floats, at: Floats) -> Floats:
    s, d = _coordinates(points, start, along)
    arc = np.polynomial.Polynomial.fit(s, d, 2)
    return np.asarray(arc(_coordinates(at, start, along)[0]))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """One size laid on the seen edges; ``paper_mm`` is what the sheet most likely measures, cut error included."""

    size: PaperSize
    paper_mm: tuple[float, float]
    cut_share: tuple[float, float]
    camera: Camera
    cost: float


def _fit_size(size: PaperSize, quad_px: Floats, edges: list[PaperEdge], prior: Prior, turned: bool) -> _Fit | None:
    """Fit one size with its first side along the first edge of the quadrilateral, or along the second.

    The photo cannot tell a sheet cut large from a nearer one, but it shows an error in the ratio of the sides, which is
    fitted and split between the sides by their cut limits. It shows a bend of the sheet where edges are not straight.
    """
    sides = np.array([size.short_mm, size.long_mm] if turned else [size.long_mm, size.short_mm])
    limits = np.array(
        [size.short_limit_mm, size.long_limit_mm] if turned else [size.long_limit_mm, size.short_limit_mm]
    )
    cut = limits / math.sqrt(3) / sides
    start = start_pose(_corners(sides), quad_px, prior)
    camera = Camera(parameters=start, covariance=np.zeros((13, 13)), rms_px=0.0, k3=prior.k3)
    if np.abs(camera.project(_corners(sides)) - quad_px).max() > 0.05 * np.ptp(quad_px):
        return None
    lines = _Lines(sides=sides, cut=cut, edges=edges)
    residuals = lines.residuals(camera.parameters, np.zeros(FURTHER))
    camera = fit_camera(residuals, camera.parameters, prior, sigma_px=EDGE_SIGMA_PX, correlated=NEIGHBOURS)
    fitted, ratio, cost = lines.fit(camera, prior)
    width, height = (float(side) for side in _stretch(sides, cut, ratio))
    return _Fit(size=size, paper_mm=(width, height), cut_share=(float(cut[0]), float(cut[1])), camera=fitted, cost=cost)


def _corners(sides: Floats) -> Floats:
    return np.array([(0.0, 0.0), (sides[0], 0.0), (sides[0], sides[1]), (0.0, sides[1])])


def _stretch(sides: Floats, cut: Floats, log_ratio: float) -> Floats:
    """Return the likeliest sides given the log of how much the first is longer than nominal relative to the second."""
    parts = cut**2 / np.sum(cut**2)
    return np.asarray(sides * np.exp([parts[0] * log_ratio, -parts[1] * log_ratio]))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lines:
    """The four cut edges as they are seen, and the sides they should have. [mm]

    Beside the camera's parameters four further ones are fitted: the log of the ratio of the sides, and the figures of
    a bow.
    """

    sides: Floats
    cut: Floats
    edges: list[PaperEdge]

    def fit(self, camera: Camera, prior: Prior) -> tuple[Camera, float, float]:
        """Return the camera above the bent sheet, the log ratio, and the cost of that belief (chi-square).

        What the edges leave open of the bow is held against what paper can do, and the camera follows.
        """
        count, spread = len(prior.middle), float(np.hypot(*self.cut))
        information = np.zeros((count + FURTHER,) * 2)
        information[:count, :count] = prior.information
        information[range(count, count + FURTHER), range(count, count + FURTHER)] = [spread**-2, *[WIDE_MM**-2] * 3]
        middle = np.concatenate([prior.middle, np.zeros(FURTHER)])

        def residuals(parameters: Floats) -> tuple[Floats, Floats]:
            return self._seen(parameters[:count], parameters[count:], prior.k3)

        start = np.concatenate([camera.parameters, np.zeros(FURTHER)])
        fitted, covariance, misfit = most_probable(
            residuals, start, middle=middle, information=information, sigma_px=EDGE_SIGMA_PX, correlated=NEIGHBOURS
        )
        pull = fitted - middle
        cost = float(np.sum(np.minimum(misfit**2 / EDGE_SIGMA_PX**2, 9.0)) / NEIGHBOURS + pull @ information @ pull)
        figures, spread_of = as_one_bend(fitted[-3:], covariance[-3:, -3:])
        follow = covariance[:, -3:] @ np.linalg.inv(covariance[-3:, -3:])
        moved = fitted + follow @ (figures - fitted[-3:])
        covariance = covariance + follow @ (spread_of - covariance[-3:, -3:]) @ follow.T
        kept = [*range(count), *range(count + 1, count + FURTHER)]
        above = Camera(
            parameters=moved[:count], covariance=covariance[np.ix_(kept, kept)],
            rms_px=float(np.sqrt(np.mean(misfit**2))), k3=prior.k3, bow=self._bow(moved[count:]),
        )  # fmt: skip
        return above, float(moved[count]), cost

    def _bow(self, further: Floats) -> Bow:
        return Bow(figures=further[1:].copy(), middle_mm=_stretch(self.sides, self.cut, further[0]) / 2)

    def residuals(self, parameters: Floats, further: Floats) -> Residuals:
        """Return how far each point lies beside its edge, the nearest point of which is looked for now."""
        corners = _corners(_stretch(self.sides, self.cut, further[0]))
        points_px = np.concatenate([edge.points_px for edge in self.edges])
        side = np.repeat(np.arange(4), [len(edge.points_px) for edge in self.edges])
        along = (np.roll(corners, -1, axis=0) - corners)[side]
        along /= np.linalg.norm(along, axis=1)[:, None]
        bow = self._bow(further)
        camera = Camera(parameters=parameters.copy(), covariance=np.zeros((0, 0)), rms_px=0.0, bow=bow)
        seen = camera.to_sheet(points_px)
        foot = corners[side] + np.einsum("ij,ij->i", seen - corners[side], along)[:, None] * along
        return edge_residuals(foot, along, points_px, bow.height_mm(foot))

    def _seen(self, parameters: Floats, further: Floats, k3: float) -> tuple[Floats, Floats]:
        """Return the residuals and how they change with the parameters and with the further ones."""
        misfit, jacobian = self.residuals(parameters, further)(parameters, k3)
        columns = []
        for step in np.diag(STEPS):
            ends = [self.residuals(parameters, further + way * step)(parameters, k3)[0] for way in (1.0, -1.0)]
            columns.append((ends[0] - ends[1]) / (2 * step.max()))
        return misfit, np.column_stack([jacobian, *columns])


def _scale(photo: Photo, best: _Fit, edges: list[PaperEdge], *, unnamed: bool) -> PlaneScale:
    width, height = best.paper_mm
    percent = 200.0 * math.hypot(*best.cut_share)
    flags = [flag("PAPER_EDGES_ONLY", percent=percent)]
    if unnamed:
        flags.append(flag("PAPER_SIZE_CHOSEN", ratio=max(width, height) / min(width, height), name=best.size.code))
    return PlaneScale(
        camera=best.camera,
        mark="paper",
        sheet=best.size.code,
        field_mm=(0.0, 0.0, width, height),
        guard_mm=GUARD_MM,
        sheet_scale=SheetScale(shares={"paper cut": best.cut_share}),
        flatness_mm=FLATNESS_MM,
        corners_used=sum(len(edge.points_px) for edge in edges),
        corners_total=4 * EDGE_POINTS,
        focal_known=photo.focal_px is not None,
        flags=tuple(flags),
    )
