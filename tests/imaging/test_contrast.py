"""Where colour changes along profiles drawn by hand, and what counts as a shadow."""

import numpy as np
import numpy.typing as npt
import pytest
from scipy.special import erf

from areakit.imaging.bare_sheet import GAMMA
from areakit.imaging.contrast import (
    LEAST_HUE,
    LEAST_SHADE_WEIGHT,
    LOG_FLOOR,
    ColourMetric,
    change_along,
    colour_metric,
    doubt_of_edge,
    hue,
    in_shadow,
    log_colours,
    outermost_sharp,
)

Singles = npt.NDArray[np.float32]
BLUE = np.array([0.06, 0.17, 0.55], dtype=np.float32)
"""A bare sheet in linear light."""
ENCODED = BLUE ** np.float32(1 / GAMMA)
PROFILES, STEPS, AT = 40, 41, 20


def profiles(inside: Singles, outside: Singles, *, softness: float, at: float = AT) -> Singles:
    """The same step of colour in every profile, its middle at a known place, as soft as a Gaussian blur makes it."""
    x = np.arange(STEPS) - at
    share = 0.5 * (1.0 + erf(x / (np.sqrt(2.0) * softness)))
    line = inside + share[:, None] * (outside - inside)
    return np.repeat(line[None], PROFILES, axis=0).astype(np.float32)


def metric(shade_weight: float) -> ColourMetric:
    size = float(np.linalg.norm(ENCODED))
    return ColourMetric(linear=BLUE, unit=ENCODED / size, size=size, shade_weight=shade_weight)


def crossing() -> Singles:
    """A direction of colour at right angles to the sheet's own."""
    across = np.cross(ENCODED, [1.0, 0.0, 0.0])
    return (0.3 * across / np.linalg.norm(across)).astype(np.float32)


# How shade and colour weigh


def test_a_metal_that_differs_in_shade_alone_needs_all_of_it_and_one_of_another_colour_little() -> None:
    grey = colour_metric(BLUE, np.repeat(0.5 * ENCODED[None], 9, axis=0))
    assert grey.shade_weight == 1.0
    assert grey.unit == pytest.approx(ENCODED / np.linalg.norm(ENCODED), abs=1e-6)
    coloured = colour_metric(BLUE, np.repeat((ENCODED + crossing())[None], 9, axis=0))
    assert coloured.shade_weight == pytest.approx(LEAST_SHADE_WEIGHT)


def test_hue_does_not_change_with_shade_and_is_the_distance_from_grey_shifts() -> None:
    colour = np.array([[0.3, -0.1, -0.2], [0.0, 0.0, 0.0]], dtype=np.float32)
    assert hue(colour) == pytest.approx([np.sqrt(0.09 + 0.01 + 0.04), 0.0], abs=1e-6)
    assert hue(colour - 1.7) == pytest.approx(hue(colour), abs=1e-6)  # a log shade moves all three alike


# Where colour changes


@pytest.mark.parametrize("at", [14.5, 20.5, 24.5])
def test_the_change_peaks_where_the_step_is(at: float) -> None:
    change = change_along(profiles(ENCODED + crossing(), ENCODED, softness=1.0, at=at), metric(1.0))
    assert change.shape == (PROFILES, STEPS - 1)
    assert set(change.argmax(axis=1)) == {int(at - 0.5)}


def test_a_step_of_shade_counts_by_its_weight_and_one_of_colour_in_full() -> None:
    shade, colour = (0.6 * ENCODED, ENCODED), (ENCODED + crossing(), ENCODED)
    for (inside, outside), expected in ((shade, 0.25), (colour, 1.0)):
        drawn = profiles(inside, outside, softness=1.0)
        ratio = change_along(drawn, metric(0.25)).max() / change_along(drawn, metric(1.0)).max()
        assert ratio == pytest.approx(expected, rel=1e-3)


def test_a_slope_much_broader_than_the_edge_is_taken_off() -> None:
    edge = profiles(ENCODED + crossing(), ENCODED, softness=1.0)
    x = np.arange(STEPS)
    ramp = np.clip((x - 25) / 14.0, 0.0, 1.0)[:, None] * (0.5 * ENCODED)
    change = change_along((edge + ramp).astype(np.float32), metric(1.0))
    sharp = change_along(profiles(ENCODED, 1.5 * ENCODED, softness=1.0), metric(1.0)).max()  # the same rise, at once
    assert change[:, 18:22].max() > 0.5 * sharp
    assert change[:, 26:36].max() < 0.05 * sharp


# What is a shadow


def logs(linear: Singles, sheet: ColourMetric) -> Singles:
    return np.asarray(np.log(linear / sheet.linear + LOG_FLOOR), dtype=np.float32)


def seen(colour: Singles) -> Singles:
    return np.repeat(np.repeat(colour[None, None], STEPS, axis=1), PROFILES, axis=0).astype(np.float32)


def test_stored_colours_are_logarithms_of_their_light_over_that_of_the_sheet() -> None:
    raw = np.random.default_rng(4).integers(0, 256, (7, 9, 3), dtype=np.uint8)
    linear = np.where(raw <= 10, raw / 255 / 12.92, ((raw / 255 + 0.055) / 1.055) ** 2.4).astype(np.float32)
    assert log_colours(raw, metric(1.0)) == pytest.approx(logs(linear, metric(1.0)), abs=1e-5)


def test_darker_ground_of_the_sheets_hue_is_shadow_and_metal_or_bare_sheet_is_not() -> None:
    flat = metric(0.3)
    face_hue = 0.8
    assert in_shadow(logs(seen(0.5 * BLUE), flat), face_hue).all()
    assert not in_shadow(logs(seen(BLUE), flat), face_hue).any()
    assert not in_shadow(logs(seen(1.3 * BLUE), flat), face_hue).any()
    copper = np.array([0.5, 0.25, 0.15], dtype=np.float32) * np.float32(0.3)
    assert not in_shadow(logs(seen(copper), flat), face_hue).any()


def test_where_the_metal_has_the_sheets_own_hue_nothing_can_be_called_a_shadow() -> None:
    assert not in_shadow(logs(seen(0.5 * BLUE), metric(1.0)), LEAST_HUE / 2).any()


def test_a_shadow_is_told_for_the_step_just_outside_of_it() -> None:
    """Metal up to 12, shadow to 22, bare sheet beyond: the step at the shadow's outer end is called one."""
    line = np.array([[0.4, 0.35, 0.3]] * 12 + [list(0.5 * BLUE)] * 10 + [list(BLUE)] * 19, dtype=np.float32)
    told = in_shadow(logs(np.repeat(line[None], PROFILES, axis=0), metric(0.3)), 0.8)
    assert told[:, 15:22].all()
    assert not told[:, :11].any()
    assert not told[:, 26:].any()


# Which edge is the part's


def peaks(*at: tuple[int, float]) -> Singles:
    change = np.zeros((PROFILES, STEPS), dtype=np.float32)
    for place, height in at:
        change[:, place - 1 : place + 2] = np.array([0.3, 1.0, 0.3], dtype=np.float32) * np.float32(height)
    return change


def test_the_outermost_sharp_edge_is_taken_though_a_highlight_inside_is_sharper() -> None:
    assert set(outermost_sharp(peaks((8, 1.0), (20, 0.6)))) == {20}


def test_a_faint_rim_outside_is_not_the_edge_but_counts_as_doubt() -> None:
    drawn = peaks((20, 1.0), (27, 0.1))
    assert set(outermost_sharp(drawn)) == {20}
    assert doubt_of_edge(drawn) == pytest.approx(np.full(PROFILES, 7.0))
    assert doubt_of_edge(peaks((20, 1.0), (27, 0.04))) == pytest.approx(np.zeros(PROFILES))


def test_an_edge_of_a_shadow_is_passed_over() -> None:
    drawn = peaks((14, 1.0), (24, 0.9))
    shadowed = np.zeros(drawn.shape, dtype=bool)
    shadowed[:, 23:26] = True
    assert set(outermost_sharp(drawn, shadowed)) == {14}


def test_one_blurred_profile_is_measured_by_its_own_strongest_edge() -> None:
    drawn = peaks((20, 1.0))
    drawn[3] *= np.float32(0.2)
    assert outermost_sharp(drawn)[3] == 20
    drawn[5] = 0.0
    drawn[5, 30] = 0.05  # far below what the others show, and nothing else there
    assert outermost_sharp(drawn)[5] == 30


@pytest.mark.parametrize(("share", "weight"), [(0.1, 1.0), (0.3, 0.25), (1.0, 0.05)])
def test_shade_counts_less_by_the_square_of_the_share_of_colour(share: float, weight: float) -> None:
    """Metal that differs from the sheet by a share of colour, the rest of shade: 0.15 over it, squared, 0.05 to 1."""
    unit = ENCODED / np.linalg.norm(ENCODED)
    across = np.cross(unit, [1.0, 0.0, 0.0])
    metal = ENCODED - 0.2 * (1.0 - share) * unit + 0.2 * share * across / np.linalg.norm(across)
    assert colour_metric(BLUE, np.tile(metal, (5, 1)).astype(np.float32)).shade_weight == pytest.approx(
        weight, rel=0.01
    )


def test_an_edge_is_averaged_with_two_neighbours_to_either_side() -> None:
    encoded = np.zeros((20, 30, 3), dtype=np.float32)
    encoded[10, 15:] = 0.5
    rows = np.nonzero(change_along(encoded, metric(1.0)).max(axis=1) > 1e-4)[0]
    assert rows.tolist() == [8, 9, 10, 11, 12]


def test_the_parts_own_soft_edge_is_not_taken_off_as_a_broad_slope() -> None:
    """Sigma of 2 px: the steepest step is 0.2 of the whole, of which a mean over 19 px takes 0.08."""
    x = np.arange(60) - 30.0
    edge = np.array([0.5 * (1.0 + erf(v / (2.0 * np.sqrt(2.0)))) for v in x])
    encoded = np.tile(edge[None, :, None], (12, 1, 3)).astype(np.float32)
    whole = np.sqrt(3.0) / metric(1.0).size
    assert change_along(encoded, metric(1.0)).max() == pytest.approx(0.12 * whole, rel=0.15)


@pytest.mark.parametrize(
    ("noise", "outer", "found"), [(0.0, 0.30, 10), (0.0, 0.40, 20), (0.1, 0.5, 10), (0.1, 0.7, 20)]
)
def test_an_outer_peak_counts_by_its_share_of_the_sharpest_and_over_six_times_the_noise(
    noise: float, outer: float, found: int
) -> None:
    change = np.full((9, 31), noise, dtype=np.float32)
    change[:, 10], change[:, 20] = 1.0, outer
    assert set(outermost_sharp(change).tolist()) == {found}


def shadowed(*ratio: float, face_hue: float) -> bool:
    """Whether ground of these shares of the bare sheet's light counts as sheet in a shadow."""
    values = np.tile(BLUE * np.array(ratio, dtype=np.float32), (9, 12, 1)).astype(np.float32)
    return bool(in_shadow(logs(values, metric(1.0)), face_hue).all())


@pytest.mark.parametrize(("face_hue", "told"), [(0.05, False), (0.07, True)])
def test_hue_tells_from_six_hundredths_on(face_hue: float, told: bool) -> None:
    assert shadowed(0.5, 0.5, 0.5, face_hue=face_hue) == told


@pytest.mark.parametrize(("light", "told"), [(0.87, True), (0.91, False)])
def test_a_shadow_is_darker_by_a_twelfth(light: float, told: bool) -> None:
    """0.03 of glare is added to both before the logarithm."""
    assert shadowed(light, light, light, face_hue=1.0) == told


@pytest.mark.parametrize(("hue_of_ground", "told"), [(0.40, True), (0.50, False)])
def test_ground_of_less_than_45_hundredths_of_the_metals_hue_is_sheet(hue_of_ground: float, told: bool) -> None:
    apart = hue_of_ground / np.sqrt(2.0 / 3.0)  # log colours (a, a, a + d) are d times that from their mean
    low = np.exp(-1.0) - 0.03
    assert shadowed(low, low, np.exp(-1.0 + apart) - 0.03, face_hue=1.0) == told


@pytest.mark.parametrize(("blue", "told"), [(0.03, True), (0.04, False)])
def test_glare_and_noise_speak_in_what_is_almost_black(blue: float, told: bool) -> None:
    """Shares 0.02, 0.02 and blue, 0.03 added: log 1.2 is a hue of 0.15, log 1.4 one of 0.27; 0.225 is the limit."""
    assert shadowed(0.02, 0.02, blue, face_hue=0.5) == told
