"""Lengths of outlines followed by points, against the closed forms of a circle, a square, a comb and star polygons.

A pixel is 0.1 mm; points lie 2.5 px apart, as in a photo. What a photo does is drawn here by a Gaussian of 1.5 px
along the outline, which rounds its corners, and by noise across it.
"""

import math

import numpy as np
import numpy.typing as npt
import pytest
from drawn_rings import along, bare_sheet, edge_of, measured
from scipy.ndimage import gaussian_filter1d
from shapely.geometry import LinearRing, Point, Polygon, box

from areakit.imaging import outline_length as module
from areakit.imaging.closed_ring import outward_normals
from areakit.imaging.outline_length import outline_length, raggedness
from areakit.uncertainty import Measured

Floats = npt.NDArray[np.float64]
PIXEL_MM = 0.1


def star(points: int, outer_mm: float, inner_mm: float) -> Polygon:
    """A star polygon; its perimeter is 2 n edges by the law of cosines."""
    turn = np.pi * np.arange(2 * points) / points
    radius = np.where(np.arange(2 * points) % 2 == 0, outer_mm, inner_mm)
    return Polygon(radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]))


def star_length(points: int, outer_mm: float, inner_mm: float) -> float:
    squares = outer_mm**2 + inner_mm**2 - 2 * outer_mm * inner_mm * math.cos(math.pi / points)
    return 2 * points * math.sqrt(squares)


def comb(teeth: int, width_mm: float) -> Polygon:
    """A bar with square teeth, as wide as high and as their gaps."""
    whole = box(0.0, -10.0, (2 * teeth - 1) * width_mm, 0.0)
    for i in range(teeth):
        whole = whole.union(box(2 * i * width_mm, -0.1, (2 * i + 1) * width_mm, width_mm))
    return whole


def followed(shape: Polygon, *, noise_px: float = 0.15, seed: int = 0) -> Floats:
    fine = along(shape, 0.25 * PIXEL_MM)
    ring = gaussian_filter1d(fine, 1.5 / 0.25, axis=0, mode="wrap")[::10]
    across = np.random.default_rng(seed).normal(0.0, noise_px * PIXEL_MM, len(ring))
    return np.asarray(ring + across[:, None] * outward_normals(ring, 2, False))


CLOSED = {
    "circle": (Point(0, 0).buffer(12.0, quad_segs=256), 2 * math.pi * 12.0, 0.003),
    "small hole": (Point(0, 0).buffer(1.2, quad_segs=256), 2 * math.pi * 1.2, 0.015),
    "square": (box(0, 0, 20, 20), 80.0, 0.003),
    "star of five": (star(5, 15.0, 7.0), star_length(5, 15.0, 7.0), 0.013),
    "star of nine": (star(9, 12.0, 8.0), star_length(9, 12.0, 8.0), 0.006),
    "star of 24": (star(24, 12.0, 10.0), star_length(24, 12.0, 10.0), 0.015),
    "comb": (comb(10, 1.5), 2 * 10.0 + 2 * 19 * 1.5 + 20 * 1.5, 0.025),
}


@pytest.mark.parametrize("name", CLOSED)
def test_the_length_of_a_noisy_softened_outline_is_that_of_its_closed_form(name: str) -> None:
    shape, true, share = CLOSED[name]
    assert shape.exterior.length == pytest.approx(true, rel=1e-4)
    found = [outline_length(followed(shape, seed=seed), PIXEL_MM) for seed in range(5)]
    lengths, spreads = np.array(found).T
    assert lengths == pytest.approx(np.full(5, true), rel=share)
    assert np.mean(np.abs(lengths - true) <= 2 * spreads) >= 0.8


@pytest.mark.parametrize("name", ["star of 24", "comb"])
def test_teeth_get_back_most_of_what_softness_took(name: str) -> None:
    shape, true, _ = CLOSED[name]
    ring = followed(shape, noise_px=0.0)
    plain, (length, spread) = LinearRing(ring).length, outline_length(ring, PIXEL_MM)
    assert plain < 0.985 * true
    assert abs(length - true) < 0.4 * (true - plain)
    assert 2 * spread < 2.0 * (true - plain)


def test_noise_does_not_lengthen() -> None:
    """Points that zigzag by 0.2 px lengthen an edge by sqrt(1 + (0.4 / 2.5)^2) - 1, which is 1.3 %."""
    shape, true, _ = CLOSED["circle"]
    ring = along(shape, 2.5 * PIXEL_MM)
    ring = ring + (0.2 * PIXEL_MM * (-1.0) ** np.arange(len(ring)))[:, None] * outward_normals(ring, 2, False)
    assert LinearRing(ring).length > 1.012 * true
    assert outline_length(ring, PIXEL_MM)[0] == pytest.approx(true, rel=0.005)


@pytest.mark.parametrize(("width_px", "counts"), [(0.5, False), (2.0, False), (3.2, True), (8.0, True)])
def test_a_spit_narrower_than_two_pixels_is_a_whisker(width_px: float, counts: bool) -> None:
    """Where a silhouette goes from upper to lower edge, points of one upright line stick out there and back."""
    half = width_px * PIXEL_MM / 2
    spit = box(0, 0, 20, 20).union(box(10 - half, 19, 10 + half, 23))
    length, spread = outline_length(along(spit, 2.5 * PIXEL_MM), PIXEL_MM)
    assert (length > 86.0) is counts
    assert (spread > 3.0) is not counts  # half of what is taken off


def test_a_smooth_outline_is_open_by_a_quarter_of_a_percent() -> None:
    """Least share of a length: tuning scenes of the accuracy study, 96 % of the truths within twice that."""
    length, spread = outline_length(along(Point(0, 0).buffer(20.0, quad_segs=512)), PIXEL_MM)
    assert length == pytest.approx(2 * math.pi * 20.0, rel=0.002)
    assert spread == pytest.approx(0.0025 * length, rel=0.15)


@pytest.mark.parametrize("factor", [1 / 3, 3.0])
def test_three_times_the_softness_misses_teeth(factor: float, monkeypatch: pytest.MonkeyPatch) -> None:
    shape, true, share = CLOSED["comb"]
    monkeypatch.setattr(module, "SOFT_PX", factor * module.SOFT_PX)
    assert abs(outline_length(followed(shape), PIXEL_MM)[0] / true - 1.0) > share


@pytest.mark.parametrize("wide_px", [0.1, 0.6])
def test_a_hole_as_narrow_as_noise_is_as_long_as_it_was_followed(wide_px: float) -> None:
    """A slit of nothing but its two sides has no corners that are no noise."""
    slit = np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [2.0, wide_px], [1.0, wide_px], [0.0, wide_px]]) * PIXEL_MM
    length, spread = outline_length(slit, PIXEL_MM)
    assert length == pytest.approx((4.0 + 2.0 * wide_px) * PIXEL_MM, rel=0.2)
    assert spread > 0.0


def test_an_outline_that_would_fall_apart_keeps_its_length() -> None:
    """Two plates on a strut as wide as a whisker: nothing may be left out of them."""
    plates = box(0, 0, 10, 10).union(box(9, 4.95, 21, 5.05)).union(box(20, 0, 30, 10))
    assert outline_length(along(plates, 2.5 * PIXEL_MM), PIXEL_MM)[0] > 95.0


def waved(step_mm: float, period_mm: float) -> Floats:
    ring = along(Point(0, 0).buffer(13.0, quad_segs=512), 2.5 * PIXEL_MM)
    turns = np.arange(len(ring)) * 2.5 * PIXEL_MM / period_mm
    return np.asarray(ring + (step_mm * np.cos(2 * np.pi * turns))[:, None] * outward_normals(ring, 2, False))


@pytest.mark.parametrize(("ragged", "longest"), [(0.0, 1.12), (0.5, 1.07), (1.0, 1.02)])
def test_a_ragged_rim_is_as_long_as_its_average(ragged: float, longest: float) -> None:
    """A coin of 26 mm whose edge steps in and out by 0.3 mm: pi d, and sums of waves by hand lie far above."""
    true = 2 * math.pi * 13.0
    length, spread = outline_length(waved(0.3, 3.3), PIXEL_MM, ragged=ragged)
    assert length == pytest.approx(longest * true, rel=0.03)
    assert (2 * spread > abs(length - true)) is (ragged > 0.0)


@pytest.mark.parametrize(("unclear", "ragged"), [(0.0, 0.0), (0.03, 0.0), (0.055, 0.5), (0.08, 1.0), (0.5, 1.0)])
def test_an_edge_is_ragged_from_eight_hundredths_unclear(unclear: float, ragged: float) -> None:
    ring = edge_of(along(Point(0, 0).buffer(13.0, quad_segs=512)), unclear_share=unclear)
    assert raggedness(ring) == pytest.approx(ragged)


def test_steps_grow_with_the_thickness_and_a_colour_knows_none() -> None:
    edge = edge_of(waved(0.3, 3.3), unclear_share=0.2)
    pale = bare_sheet(coloured=False)
    thick, foil = (measured(edge, sheet=pale, height=Measured(value=h, unit="mm"), thin=False) for h in (1.0, 0.05))
    assert thick.outer.value < 0.99 * foil.outer.value
    assert measured(edge).outer.value > 1.05 * thick.outer.value
