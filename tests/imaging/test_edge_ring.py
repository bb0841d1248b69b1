"""What is told of an edge at full size, on discs drawn by formula: both sides of each limit."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.special import erf

from areakit.imaging import raw_edge
from areakit.imaging.contrast import colour_metric
from areakit.imaging.edge import Crossings, half_level
from areakit.imaging.edge_ring import EdgeRing
from areakit.imaging.photo import Photo
from areakit.imaging.raw_edge import refined
from areakit.imaging.sheet_colour import encoded_colours
from areakit.imaging.trace import _Follower

Floats = npt.NDArray[np.float64]
SIDE, MIDDLE, RADIUS = 180, 89.5, 60.0
Y, X = np.mgrid[:SIDE, :SIDE] - MIDDLE
AWAY, TURN = np.hypot(X, Y), np.arctan2(Y, X)
BLUE, STEEL = np.array([0.06, 0.17, 0.55]), np.array([0.50, 0.50, 0.49])
FIFTH = np.abs(TURN) < np.pi / 5
"""A fifth of the way round."""


def stored(linear: Floats) -> npt.NDArray[np.uint8]:
    """Encode linear light (IEC 61966-2-1)."""
    encoded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)
    return np.asarray(np.rint(255.0 * np.clip(encoded, 0.0, 1.0)), dtype=np.uint8)


def disc(metal: Any, ground: Any = BLUE, *, softness: Any = 0.9, radius: Any = RADIUS) -> npt.NDArray[np.uint8]:
    """A disc of metal on ground, colours per pixel or one for all, its edge as soft as a Gaussian blur makes it."""
    share = 0.5 * (1.0 - erf((AWAY - radius) / (np.sqrt(2.0) * np.asarray(softness))))[..., None]
    return stored(np.asarray(ground) + share * (np.asarray(metal) - np.asarray(ground)))


def ring_at(radius: float, count: int = 150) -> tuple[Floats, Floats]:
    turn = 2 * np.pi * np.arange(count) / count
    normals = np.column_stack([np.cos(turn), np.sin(turn)])
    return MIDDLE + radius * normals, normals


def edge(pixels: npt.NDArray[np.uint8], *, ground: Floats = BLUE, metal: Floats = STEEL, hue: float = 1.0) -> EdgeRing:
    photo = Photo(name="disc", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")
    metric = colour_metric(ground.astype(np.float32), encoded_colours(stored(metal))[None])
    sheet: Any = SimpleNamespace(coloured=bool(np.ptp(ground) > 0.2), dark=False, level=float(ground[1]))
    points, normals = ring_at(RADIUS)
    flat = np.zeros(len(points))
    return refined(
        photo, sheet, metric, points, normals, face_hue=hue, hole=False, top=flat + 1.0, wall_px=flat, doubt_px=0.0
    )


def radius_of(ring: EdgeRing) -> float:
    return float(np.mean(np.hypot(*(ring.points_px - MIDDLE).T)))


def test_a_clean_edge_is_found_where_it_is_and_seen_all_round() -> None:
    ring = edge(disc(STEEL))
    assert radius_of(ring) == pytest.approx(RADIUS, abs=0.03)
    assert ring.sigma_px == pytest.approx(0.95, abs=0.1)
    assert (ring.seen.mean(), ring.unclear_share, ring.clipped_share, ring.glare_share) == (1.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(("lighter", "seen"), [(0.012, False), (0.032, True)])
def test_an_edge_of_less_than_two_hundredths_of_light_is_not_trusted(lighter: float, seen: bool) -> None:
    grey = np.full(3, 0.5)
    ring = edge(disc(grey + lighter, grey), ground=grey, metal=grey + lighter, hue=0.0)
    assert (ring.seen.mean() > 0.9) == seen


@pytest.mark.parametrize(("further", "kept"), [(1.2, True), (3.0, False)])
def test_a_point_two_pixels_beside_its_neighbours_is_an_outlier(further: float, kept: bool) -> None:
    """A burr over three degrees, one point or two of the ring."""
    bump = RADIUS + further * (np.abs(TURN) < np.radians(1.6))
    ring = edge(disc(STEEL, radius=bump, softness=0.6))
    assert bool(ring.seen.all()) == kept


@pytest.mark.parametrize(("share", "unclear"), [(0.16, 0.2), (0.36, 0.0)])
def test_a_stretch_with_less_than_a_quarter_of_the_usual_change_is_unclear(share: float, unclear: float) -> None:
    """Where the ground is nearly as the metal: by a share of the way that it usually is from it, as stored."""
    usual, grey = np.array([0.06] * 3), np.full(3, 0.7)
    near = (grey ** (1 / 2.2) - share * (grey ** (1 / 2.2) - usual ** (1 / 2.2))) ** 2.2
    ring = edge(disc(grey, np.where(FIFTH[..., None], near, usual)), ground=usual, metal=grey, hue=0.0)
    assert ring.unclear_share == pytest.approx(unclear, abs=0.03)


def test_the_half_level_of_dark_metal_lies_a_third_of_a_pixel_too_far_out() -> None:
    """Accuracy study: that much puts the median of 129 dark parts right. Here nothing shifts the edge."""
    dark = np.full(3, 0.02)
    assert radius_of(edge(disc(dark), metal=dark)) == pytest.approx(RADIUS - 0.32, abs=0.06)


PAPER, COPPER = np.array([0.62, 0.68, 0.74]), np.array([0.60, 0.40, 0.32])


@pytest.mark.parametrize(("metal", "low", "high"), [(COPPER, -0.1, 0.1), (np.full(3, 0.42), 0.4, 2.0)])
def test_a_narrow_shadow_on_paper_moves_the_edge_of_grey_metal_and_not_that_of_coloured(
    metal: Floats, low: float, high: float
) -> None:
    """Half of the light is missing at the foot, half as much 1.2 px away: a shadow has the colour of its paper."""
    shadow = 1.0 - 0.5 * np.exp(-np.maximum(AWAY - RADIUS, 0.0) / 1.7)
    pixels = disc(metal, PAPER * shadow[..., None])
    assert low < radius_of(edge(pixels, ground=PAPER, metal=metal)) - RADIUS < high


@pytest.mark.parametrize(("hue", "by_colour"), [(0.17, False), (0.23, True)])
def test_on_paper_colour_places_the_edge_of_metal_that_is_not_grey(hue: float, by_colour: bool) -> None:
    shadow = 1.0 - 0.5 * np.exp(-np.maximum(AWAY - RADIUS, 0.0) / 1.7)
    found = edge(disc(COPPER, PAPER * shadow[..., None]), ground=PAPER, metal=COPPER, hue=hue)
    assert (radius_of(found) < RADIUS + 0.2) == by_colour


def test_on_paper_an_edge_is_as_soft_as_its_light_not_as_its_colour() -> None:
    """A file that keeps colour at half of the pixels each way blurs colour alone; the picture is no less sharp."""
    sharp, smeared = (disc(COPPER, PAPER, softness=wide).astype(float) for wide in (0.9, 2.4))
    grey = np.array([0.299, 0.587, 0.114])  # luma (ITU-R BT.601)
    pixels = smeared + ((sharp - smeared) @ grey)[..., None]
    found = edge(np.clip(np.rint(pixels), 0, 255).astype(np.uint8), ground=PAPER, metal=COPPER)
    assert found.sigma_px < 1.3  # colour alone: 2.4
    assert radius_of(found) == pytest.approx(RADIUS, abs=0.1)


@pytest.mark.parametrize("softness", [2.0, 2.5])
def test_on_paper_an_edge_that_is_blurred_is_told_as_soft_as_it_is(softness: float) -> None:
    found = edge(disc(COPPER, PAPER, softness=softness), ground=PAPER, metal=COPPER)
    assert found.sigma_px == pytest.approx(softness, rel=0.12)


@pytest.mark.parametrize(("value", "clipped"), [(252, 0.0), (255, 1.0)])
def test_a_channel_is_burnt_out_at_its_last_two_values(value: int, clipped: float) -> None:
    pixels = disc(np.full(3, 2.0))
    assert edge(np.minimum(pixels, value).astype(np.uint8), metal=np.ones(3)).clipped_share == clipped


@pytest.mark.parametrize("length_px", [6.0, 7.0])
def test_an_edge_that_was_smeared_one_way_is_found_in_the_middle_of_its_slope(length_px: float) -> None:
    """The slope of an even motion is as steep at its outer end: levels from there put it 0.3 and 0.5 px out."""
    shifts = np.linspace(-length_px / 2, length_px / 2, 41)
    lit = [0.5 * (1.0 - erf((np.hypot(X + shift, Y) - RADIUS) / (np.sqrt(2.0) * 0.9))) for shift in shifts]
    pixels = stored(BLUE + np.mean(lit, axis=0)[..., None] * (STEEL - BLUE))
    grain = np.random.default_rng(1).normal(0.0, 2.0, pixels.shape)
    found = edge(np.clip(np.rint(pixels + grain), 0, 255).astype(np.uint8))
    assert radius_of(found) == pytest.approx(RADIUS, abs=0.05)


@pytest.mark.parametrize(("softness", "share", "looks"), [(1.25, 1.0, 1), (1.5, 1.0, 3), (1.8, 0.6, 3), (1.8, 0.4, 1)])
def test_an_outline_is_looked_at_again_where_most_of_it_is_soft(
    monkeypatch: pytest.MonkeyPatch, softness: float, share: float, looks: int
) -> None:
    calls: list[int] = []

    def counted(*given: Any, **more: Any) -> Crossings:
        calls.append(more["near"])
        return half_level(*given, **more)

    monkeypatch.setattr(raw_edge, "half_level", counted)
    edge(disc(STEEL, softness=np.where(np.abs(TURN) <= np.pi * share, softness, 0.9)))
    assert len(calls) == looks


@pytest.mark.parametrize(("times", "share"), [(1.25, 0.0), (2.2, 0.2)])
def test_light_of_a_lamp_on_the_sheet_has_an_edge_that_is_softer_by_half(times: float, share: float) -> None:
    """Along a fifth of the ring white light lies on the sheet, in place of metal."""
    metal = np.where(FIFTH[..., None], BLUE + 0.3, STEEL)
    ring = edge(disc(metal, softness=np.where(FIFTH, 0.9 * times, 0.9)))
    assert ring.glare_share == pytest.approx(share, abs=0.05)


@pytest.mark.parametrize(("start", "end"), [(60.0, 43.0), (82.0, 60.0)])
def test_a_ring_leaves_a_shadow_by_three_strides_at_the_most(start: float, end: float) -> None:
    """Metal of 40 px in a shadow that reaches beyond the picture; a stride is eight pixels."""
    pixels = disc(STEEL, 0.4 * BLUE, radius=42.0)
    photo = Photo(name="disc", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")
    metric = colour_metric(BLUE.astype(np.float32), encoded_colours(stored(STEEL))[None])
    points, *_ = _Follower(photo=photo, metric=metric, face_hue=1.0, hole=False).out_of_shadow(*ring_at(start), 8)
    assert np.hypot(*(points - MIDDLE).T).mean() == pytest.approx(end, abs=3.0)
