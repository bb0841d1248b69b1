"""Marks beside the part: what each leaves open of a length, and both sides of what is refused, without a picture.

A camera stands 300 mm above the table and looks straight down, unless it is tilted; a pixel is 0.25 mm there.
"""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from areakit.errors import AreakitError, MarkNotFound, RangeError
from areakit.imaging.camera import Camera, Prior, usual_prior
from areakit.imaging.marks import card, coin, field, frame, grid, ground, paper, round_edge, sides, taps
from areakit.imaging.marks.coin import _share_of_one, _sigma_px, _taken
from areakit.imaging.marks.disc import Coin, Disc, known_disc
from areakit.imaging.marks.frame_layout import layout_of_marker, layouts
from areakit.imaging.marks.grid import Pattern, board_scale, fit_pattern, reach_share
from areakit.imaging.marks.round_edge import RoundEdge
from areakit.imaging.marks.scan import looks_like_scan, scan_scale
from areakit.imaging.marks.wanted import Wanted
from areakit.imaging.photo import Overview, Photo
from areakit.imaging.scale import UNVERIFIED, PlaneScale

Floats = npt.NDArray[np.float64]
WIDTH, HEIGHT, FOCAL, ABOVE = 1600, 1200, 1200.0, 300.0
PRIOR = usual_prior(WIDTH, HEIGHT, FOCAL)
NOTHING: Any = None
KNOWN = replace(PRIOR, sigma=PRIOR.sigma * 1e-4)
"""The lens is known: what is left open is what the mark leaves open."""


def camera_at(tilt_deg: float = 0.0) -> Camera:
    pose = [*np.radians([tilt_deg, 0.0, 0.0]), 0.0, 0.0, ABOVE]
    parameters = np.array([np.log(FOCAL), (WIDTH - 1) / 2, (HEIGHT - 1) / 2, 0.0, 0.0, 0.0, 0.0, *pose])
    return Camera(parameters=parameters, covariance=1e-12 * np.eye(13), rms_px=0.05)


@pytest.fixture
def photo(monkeypatch: pytest.MonkeyPatch) -> Photo:
    """A photo of one plain ground, all of which can be used."""
    for module in (card, coin, taps):
        monkeypatch.setattr(module, "ground_field", lambda field, camera, small, **taken: field)
    pixels = np.broadcast_to(np.uint8(128), (HEIGHT, WIDTH, 3))
    return Photo(name="plain", pixels=pixels, sha256="", focal_px=FOCAL, dpi=None, camera="")


def length_share(scale: PlaneScale) -> float:
    """What a mark leaves open of any length, all ways alike."""
    ((x, y),) = scale.sheet_scale.shares.values()
    return float(np.hypot(x, y)) / 2


def refused(code: str, beyond: bool, look: Any) -> None:
    if not beyond:
        look()
        return
    with pytest.raises(AreakitError) as why:
        look()
    assert getattr(why.value, "code", "") == code
    assert why.value.remedy


# An identification card

CARD_MM = np.array([85.6, 53.98])
"""ID-1 (ISO/IEC 7810, 5.1)."""


def card_seen(camera: Camera, size: Floats = CARD_MM) -> Any:
    corners = card._corners(size) - size / 2
    share = np.linspace(0.1, 0.9, 60)[:, None]
    points = tuple(camera.project(corners[i] + share * (corners[(i + 1) % 4] - corners[i])) for i in range(4))
    moved = field.moved(camera, origin_mm=(*(-size / 2), 0.0))
    return card._Seen(sides_mm=size, points_px=points, camera=moved, misfit=0.0)


def card_scale(monkeypatch: pytest.MonkeyPatch, photo: Photo, seen: Any) -> PlaneScale:
    monkeypatch.setattr(card, "_find", lambda *given: seen)
    return card.card_scale(photo, NOTHING, PRIOR)


@pytest.mark.parametrize(("tilt_deg", "beyond"), [(19.0, False), (21.0, True)])
def test_a_card_is_refused_beyond_twenty_degrees(
    monkeypatch: pytest.MonkeyPatch, photo: Photo, tilt_deg: float, beyond: bool
) -> None:
    refused("TILT_TOO_HIGH", beyond, lambda: card_scale(monkeypatch, photo, card_seen(camera_at(tilt_deg))))


@pytest.mark.parametrize(("width_px", "beyond"), [(165.0, False), (135.0, True)])
def test_a_card_is_a_hundred_and_fifty_pixels_wide(
    monkeypatch: pytest.MonkeyPatch, photo: Photo, width_px: float, beyond: bool
) -> None:
    """Its sides are looked at from a tenth to nine tenths of their length, so all of the shorter ones is in it."""
    seen = card_seen(camera_at(), CARD_MM * width_px / CARD_MM[0] * ABOVE / FOCAL)
    refused("MARK_TOO_SMALL", beyond, lambda: card_scale(monkeypatch, photo, seen))


@pytest.mark.parametrize(("tilt_deg", "percent"), [(0.0, 1.0), (19.99, 1.5)])
def test_a_card_leaves_a_length_open_by_one_percent_level_and_half_more_tilted(
    monkeypatch: pytest.MonkeyPatch, photo: Photo, tilt_deg: float, percent: float
) -> None:
    """Own study of cards beside the part, and practice."""
    scale = card_scale(monkeypatch, photo, card_seen(camera_at(tilt_deg)))
    (flag,) = scale.flags
    assert f"{4 * percent:.0f}" in flag.message
    assert length_share(scale) == pytest.approx(percent / 100, rel=0.01)
    assert scale.flatness_mm == pytest.approx(0.3)  # a table, practice


def test_a_card_takes_four_millimetres_of_ground_round_it(monkeypatch: pytest.MonkeyPatch, photo: Photo) -> None:
    (taken,) = card_scale(monkeypatch, photo, card_seen(camera_at())).excluded_mm
    assert np.ptp(taken, axis=0) == pytest.approx(CARD_MM + 8.0, rel=0.01)  # seen from above its face


@pytest.mark.parametrize(("longer", "found"), [(1.02, True), (1.05, True), (1.3, False)])
def test_a_thing_of_another_shape_is_no_card(longer: float, found: bool) -> None:
    size = CARD_MM * [longer, 1.0]
    assert (card._fit(card_seen(camera_at(), size).points_px, CARD_MM, PRIOR) is not None) == found


def test_ten_degrees_of_tilt_are_one_standard_deviation_with_a_card() -> None:
    both = card._with_tilt(lambda parameters, k3: (np.zeros(1), np.zeros((1, 13))), np.zeros(3))
    misfit, _ = both(camera_at(10.0).parameters, 0.0)
    assert misfit[1:] / card.SIDE_SIGMA_PX == pytest.approx([1.0, 0.0, 0.0])


def test_a_side_of_a_card_is_placed_to_half_a_pixel_over_sixteen_points() -> None:
    """So four sides of 60 points, of a card of 342 by 216 px, tell how far away its middle is."""
    fitted = card._fit(card_seen(camera_at()).points_px, CARD_MM, KNOWN)
    assert fitted is not None
    side = 0.5 * np.sqrt(16.0 / 60.0)
    far = 1.0 / np.hypot(*(CARD_MM * FOCAL / ABOVE / (side * np.sqrt(2.0))))
    middle = field.moved(fitted.camera, origin_mm=(*(CARD_MM / 2), 0.0))
    assert np.sqrt(middle.covariance[12, 12]) / ABOVE == pytest.approx(far, rel=0.3)


# Coins


def disc_seen(width_px: float = 400.0, *, at: tuple[float, float] = (800.0, 600.0)) -> RoundEdge:
    turn = np.linspace(0.0, 2 * np.pi, 120, endpoint=False)
    points = np.array(at) + width_px / 2 * np.column_stack([np.cos(turn), np.sin(turn)])
    return RoundEdge(
        points_px=points, centre_px=np.array(at), axes_px=(width_px / 2, width_px / 2),
        turn_deg=0.0, misfit_px=0.0, seen=1.0,
    )  # fmt: skip


def coin_of(diameter_mm: float, thickness_mm: float = 0.0) -> Coin:
    return Coin(edge=disc_seen(), disc=Disc(name="disc", diameter_mm=diameter_mm, thickness_mm=thickness_mm))


@pytest.mark.parametrize(
    ("diameter_mm", "thickness_mm", "aside_mm", "above_mm", "share"),
    [
        (1000.0, 0.0, 0.0, 300.0, 0.01),  # one coin as the mark for another, on real photos: 1 to 1.5 %
        (3.0, 0.0, 0.0, 300.0, 0.051),  # 0.15 mm of wear, rim and shadow on 3 mm (practice)
        (100.0, 10.0, 300.0, 300.0, 0.0323),  # 0.3 of a wall of 10 mm that is seen at 45 degrees
        (1000.0, 30.0, 0.0, 100.0, 0.0608),  # a fifth of a thickness that nobody gave
    ],
)
def test_what_one_coin_leaves_open_of_a_length(
    diameter_mm: float, thickness_mm: float, aside_mm: float, above_mm: float, share: float
) -> None:
    camera: Any = SimpleNamespace(centre_mm=np.array([aside_mm, 0.0, -above_mm]), height_mm=above_mm)
    assert _share_of_one(camera, coin_of(diameter_mm, thickness_mm), first=True) == pytest.approx(share, rel=0.02)


@pytest.mark.parametrize(("count", "share"), [(1, 1.0), (2, np.sqrt(0.75)), (4, np.sqrt(0.625))])
def test_half_of_what_the_rims_of_coins_leave_open_is_common_to_all(
    monkeypatch: pytest.MonkeyPatch, count: int, share: float
) -> None:
    """Variance c + (1 - c) / n of the mean of n coins, for a common half."""
    monkeypatch.setattr(coin, "_share_of_one", lambda camera, one, *, first: 0.002)
    coins = tuple(coin_of(20.0 + i, 2.0) for i in range(count))
    assert coin.length_share(camera_at(), coins) == pytest.approx(0.002 * share)


def test_a_coin_takes_an_eighth_of_itself_and_its_height_beside_it() -> None:
    around = np.hypot(*_taken(coin_of(25.0, 2.0), camera_at(), first=True).T)
    assert around == pytest.approx(np.full(48, 12.5 + 0.12 * 25.0 + 2.0))


def test_two_hundred_points_leave_two_percent_of_the_ratio_of_the_axes() -> None:
    """The amplitude of an ellipse among n points of spread s is known to s times the root of 2 / n."""
    coins = (coin_of(25.0),)
    assert 2 * _sigma_px(coins) / 200.0 * np.sqrt(2.0 / 200.0) == pytest.approx(0.02)


def coin_scale(monkeypatch: pytest.MonkeyPatch, photo: Photo, camera: Camera) -> PlaneScale:
    monkeypatch.setattr(coin, "_coin", lambda photo, small, wanted: coin_of(25.0, 2.0))
    monkeypatch.setattr(coin, "disc_camera", lambda coins, prior: camera)
    return coin.coin_scale(photo, NOTHING, PRIOR, Wanted(kind="coin", detail=("25 mm",)))


@pytest.mark.parametrize(("tilt_deg", "beyond"), [(9.0, False), (11.0, True)])
def test_a_coin_is_refused_beyond_ten_degrees(
    monkeypatch: pytest.MonkeyPatch, photo: Photo, tilt_deg: float, beyond: bool
) -> None:
    refused("TILT_TOO_HIGH", beyond, lambda: coin_scale(monkeypatch, photo, camera_at(tilt_deg)))


def test_a_table_is_level_to_three_tenths_beside_a_coin(monkeypatch: pytest.MonkeyPatch, photo: Photo) -> None:
    assert coin_scale(monkeypatch, photo, camera_at()).flatness_mm == pytest.approx(0.3)  # practice


@pytest.mark.parametrize(("width_px", "beyond"), [(83.0, False), (77.0, True)])
def test_a_coin_is_eighty_pixels_wide(
    monkeypatch: pytest.MonkeyPatch, photo: Photo, width_px: float, beyond: bool
) -> None:
    monkeypatch.setattr(coin, "round_edges", lambda photo, small, at: [disc_seen(width_px)])
    wanted = Wanted(kind="coin", detail=("25 mm",))
    refused("MARK_TOO_SMALL", beyond, lambda: coin._coin(photo, NOTHING, wanted))


@pytest.mark.parametrize(("tilt_deg", "cost"), [(4.0, 1.0), (12.0, 9.0)])
def test_four_degrees_of_tilt_are_one_standard_deviation_with_a_coin(
    monkeypatch: pytest.MonkeyPatch, tilt_deg: float, cost: float
) -> None:
    monkeypatch.setattr(coin, "joint_residuals", lambda coins, camera: lambda parameters, k3: (np.zeros(1), None))
    assert coin._cost((coin_of(25.0),), PRIOR, camera_at(tilt_deg)) == pytest.approx(cost, rel=0.01)


def test_a_coin_whose_thickness_nobody_gave_is_as_thick_as_most() -> None:
    """Coins of the table are 1.4 to 2.4 mm thick."""
    assert known_disc(Wanted(kind="coin", detail=("25 mm",))).thickness_mm == pytest.approx((1.4 + 2.4) / 2)


# Taps and rules


def tapped(photo: Photo, apart: float, kind: str = "taps", prior: Prior = PRIOR) -> PlaneScale:
    wanted = Wanted(kind=kind, detail=(f"{800 - apart / 2:g}", "600", f"{800 + apart / 2:g}", "600", "100 mm"))
    return taps.taps_scale(photo, NOTHING, prior, wanted)


@pytest.mark.parametrize(("apart", "beyond"), [(104.0, False), (96.0, True)])
def test_two_taps_are_a_hundred_pixels_apart(photo: Photo, apart: float, beyond: bool) -> None:
    refused("MARK_TOO_SMALL", beyond, lambda: tapped(photo, apart))


def test_two_taps_leave_a_length_open_by_a_twentieth_and_a_table_by_half_a_millimetre(photo: Photo) -> None:
    scale = tapped(photo, 400.0)
    assert "20 %" in scale.flags[0].message  # of an area, twice the standard uncertainty
    assert length_share(scale) == pytest.approx(0.05, rel=0.01)
    assert scale.flatness_mm == pytest.approx(0.5)


def test_the_face_of_a_ruler_lies_seven_tenths_of_a_millimetre_above_the_table(photo: Photo) -> None:
    table, ruler = (tapped(photo, 400.0, kind).camera.height_mm for kind in ("taps", "ruler"))
    assert ruler - table == pytest.approx(0.7, abs=1e-6)


def test_a_hand_holds_a_camera_level_to_three_degrees_and_taps_to_two_pixels(photo: Photo) -> None:
    """Two taps 400 px apart, each two pixels off: 0.7 % of the height."""
    camera = tapped(photo, 400.0, prior=KNOWN).camera
    assert np.sqrt(camera.covariance[12, 12]) / camera.height_mm == pytest.approx(2.0 * np.sqrt(2.0) / 400.0, rel=0.1)
    assert np.degrees(np.sqrt(camera.covariance[8, 8])) == pytest.approx(3.0, rel=0.05)


# Boards


def board(miss_px: float = 0.0) -> Pattern:
    x, y = np.meshgrid(np.arange(9.0) - 4, np.arange(7.0) - 3)
    points = np.column_stack([x.ravel(), y.ravel()]) * 20.0
    noise = np.random.default_rng(1).normal(0.0, miss_px, points.shape) if miss_px else 0.0
    return Pattern(
        name="9x7", points_mm=points, points_px=camera_at(8.0).project(points) + noise, pitch_mm=20.0, total=63,
        low_mm=np.array([-100.0, -80.0]), high_mm=np.array([100.0, 80.0]),
    )  # fmt: skip


@pytest.mark.parametrize(("miss_px", "beyond"), [(1.4, False), (1.9, True)])
def test_corners_may_miss_a_flat_board_by_two_percent_of_its_pitch(photo: Photo, miss_px: float, beyond: bool) -> None:
    """A pitch of 20 mm is 80 px, two percent of it are 1.6."""
    refused("SHEET_NOT_FLAT", beyond, lambda: board_scale(photo, board(miss_px), PRIOR, kind="chequer"))


def test_what_a_board_leaves_open_of_a_length(photo: Photo) -> None:
    """Printers are true to one percent along each axis; half a percent beside the board (own study, practice)."""
    scale = board_scale(photo, board(), PRIOR, kind="chequer")
    assert scale.sheet_scale.shares["unverified sheet copy"] == pytest.approx((0.01, 0.01))
    assert scale.flatness_mm == pytest.approx(0.5)
    assert reach_share((-100.0, -80.0, 100.0, 80.0), np.array([200.0, 160.0])) == pytest.approx(0.005)
    assert reach_share((-400.0, -320.0, 400.0, 320.0), np.array([200.0, 160.0])) == pytest.approx(0.01)


def test_six_neighbours_share_the_error_of_a_corner_of_a_tenth_of_a_pixel() -> None:
    """So a camera is known no better than by a sixth as many corners, that miss by 0.1 px each."""
    fitted, pattern = fit_pattern(board(), KNOWN), board()

    def seen(parameters: Floats) -> Floats:
        return np.asarray(fitted.with_parameters(parameters).project(pattern.points_mm).ravel())

    steps = 1e-6 * np.eye(13)
    slopes = np.array([(seen(fitted.parameters + s) - seen(fitted.parameters - s)) / 2e-6 for s in steps])[7:]
    pose = np.linalg.inv(slopes @ slopes.T / (6.0 * 0.1**2))
    assert np.diag(fitted.covariance)[7:] == pytest.approx(np.diag(pose), rel=0.05)


@pytest.mark.parametrize(("columns", "beyond"), [(40, False), (41, True)])
def test_a_board_has_forty_corners_a_side(
    monkeypatch: pytest.MonkeyPatch, photo: Photo, columns: int, beyond: bool
) -> None:
    monkeypatch.setattr(grid, "_board", lambda *given: None)
    wanted = Wanted(kind="chequer", detail=(f"{columns}x7", "5 mm"))
    with pytest.raises(RangeError if beyond else MarkNotFound):
        grid.find_pattern(photo, NOTHING, wanted)


# Paper, frames, fields


def white(share: float) -> Overview:
    """A white sheet of the shape of A4 that takes a share of the picture."""
    pixels = np.full((300, 400, 3), 40, np.uint8)
    half = np.sqrt(share * pixels.shape[0] * pixels.shape[1] / np.sqrt(2.0)) / 2
    rows, columns = round(half), round(half * np.sqrt(2.0))
    pixels[150 - rows : 150 + rows, 200 - columns : 200 + columns] = 230
    return Overview(pixels=pixels, factor=1)


@pytest.mark.parametrize(("share", "found"), [(0.065, False), (0.1, True)])
def test_paper_takes_a_twelfth_of_the_picture(share: float, found: bool) -> None:
    assert (paper._find_quad(white(share)) is not None) == found


def numbers(code: str) -> list[int]:
    """The numbers of the markers of a sheet."""
    return [i for i in range(600) if (found := layout_of_marker(i)) is not None and found.code == code]


@pytest.mark.parametrize(("first", "second", "code"), [(3, 0, "TOO_FEW_MARKS"), (4, 3, ""), (4, 4, "TWO_SHEETS")])
def test_four_markers_make_a_sheet(first: int, second: int, code: str) -> None:
    ids = [*numbers("A4-r1")[:first], *numbers("A5-r1")[:second]]
    markers: Any = SimpleNamespace(ids=np.array(ids))
    refused(code, bool(code), lambda: frame._one_layout(markers))


@pytest.mark.parametrize(("corners", "code"), [(20, ""), (19, "TOO_FEW_CORNERS")])
def test_twenty_corners_make_a_sheet(corners: int, code: str) -> None:
    layout: Any = SimpleNamespace(width_mm=100.0, height_mm=80.0, code="A")
    spread = np.linspace([0.0, 0.0], [100.0, 80.0], corners)
    refused(code, bool(code), lambda: frame._check_spread(spread, layout, np.ones(2)))


def frame_scale(monkeypatch: pytest.MonkeyPatch, photo: Photo, *, rms_px: float, above_mm: float = ABOVE) -> PlaneScale:
    """The scale of a sheet whose corners miss it by so much."""
    layout, parameters = layouts()["A4-r1"], camera_at().parameters.copy()
    parameters[12] = above_mm
    camera = replace(camera_at(), parameters=parameters, rms_px=rms_px)
    nodes = layout.corners_mm
    fitted = SimpleNamespace(camera=camera, kept=np.ones(len(nodes), dtype=bool), ratio=0.0)
    fit = SimpleNamespace(fitted=fitted, lens_misses_px=None, contradicted=False, focal_open=0.0, bend_mm=0.0)
    markers = SimpleNamespace(ids=np.array(numbers("A4-r1")))
    seen = SimpleNamespace(
        layout=layout, sheet_scale=UNVERIFIED, nodes_mm=nodes, points_px=camera.project(nodes), total=len(nodes),
        rough=camera, markers=markers,
    )  # fmt: skip
    monkeypatch.setattr(frame, "frame_corners", lambda *given: seen)
    monkeypatch.setattr(frame, "fit_frame", lambda *given: fit)
    monkeypatch.setattr(frame, "frame_blur", lambda *given: None)
    scale = frame.find_frame(photo, NOTHING, PRIOR, None)
    assert scale is not None
    return scale


@pytest.mark.parametrize(
    ("above_mm", "rms_px", "beyond"), [(300.0, 1.1, False), (300.0, 1.3, True), (60.0, 1.7, False), (60.0, 1.9, True)]
)
def test_corners_may_miss_a_flat_sheet_by_a_pixel_or_a_tenth_of_a_millimetre(
    monkeypatch: pytest.MonkeyPatch, photo: Photo, above_mm: float, rms_px: float, beyond: bool
) -> None:
    """1.2 px; and 0.09 mm, which are 1.8 px of a twentieth of a millimetre."""
    look = {"rms_px": rms_px, "above_mm": above_mm}
    refused("SHEET_NOT_FLAT", beyond, lambda: frame_scale(monkeypatch, photo, **look))


def test_three_millimetres_along_the_frame_stay_empty(monkeypatch: pytest.MonkeyPatch, photo: Photo) -> None:
    assert frame_scale(monkeypatch, photo, rms_px=0.1).guard_mm == pytest.approx(3.0)  # common practice, no source


def test_a_fiftieth_of_the_picture_is_left_out_and_a_thirtieth_of_the_field_stays_empty(photo: Photo) -> None:
    """A fiftieth of 1200 px is 24; a pixel is 0.25 mm. Of 288 mm, three percent are 8.6."""
    left, top, right, bottom = field.picture_field(camera_at(), photo)
    assert (right - left, bottom - top) == pytest.approx(((1599 - 48) / 4, (1199 - 48) / 4))
    assert field.guard_width((left, top, right, bottom)) == pytest.approx(0.03 * (1199 - 48) / 4)


@pytest.mark.parametrize(("above_mm", "beyond"), [(5.6, False), (4.8, True)])
def test_a_field_has_five_millimetres(photo: Photo, above_mm: float, beyond: bool) -> None:
    """The picture shows 0.96 of its height over the table."""
    parameters = camera_at().parameters.copy()
    parameters[12] = above_mm
    close = replace(camera_at(), parameters=parameters)
    refused("SCALE_IMPOSSIBLE", beyond, lambda: field.picture_field(close, photo))


def tinted(shade: float = 0.0, hue: float = 0.0) -> bool:
    usual = np.log([[0.3, 0.3, 0.3]])
    return bool(ground._alike(usual + shade + hue * np.array([0.0, 0.0, 1.0]), usual[0])[0])


@pytest.mark.parametrize(("given", "alike"), [
    ({"shade": 0.65}, True), ({"shade": 0.75}, False), ({"hue": 0.22}, True), ({"hue": 0.26}, False),
])  # fmt: skip
def test_ground_is_one_within_a_factor_of_two_in_light_and_a_fifth_in_colour(
    given: dict[str, float], alike: bool
) -> None:
    """A change of blue alone is one of hue, less its small weight in light."""
    assert tinted(**given) == alike


@pytest.mark.parametrize(("free", "first"), [(6, 0), (8, 4)])
def test_nine_tenths_of_each_side_of_the_ground_is_plain(free: int, first: int) -> None:
    """Of 60 cells, so many that are not plain lie in the first four columns."""
    plain = np.ones((60, 60), dtype=bool)
    plain[:free, :4] = False
    low, _ = ground._largest_plain(plain)
    assert low[0] == (0 if free == 6 else pytest.approx(first, abs=3))
    assert (low[0] > 0) == (first > 0)


@pytest.mark.parametrize(("bare", "beyond"), [(0.18, False), (0.12, True)])
def test_a_seventh_of_the_field_is_bare_ground(photo: Photo, bare: float, beyond: bool) -> None:
    small = Overview(pixels=np.full((300, 400, 3), 128, np.uint8), factor=4)
    field = (-190.0, -140.0, 190.0, 140.0)
    half = np.array([190.0, 140.0]) * np.sqrt(1.0 - bare)
    taken = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    refused("GROUND_NOT_PLAIN", beyond, lambda: ground.ground_field(field, camera_at(), small, taken=(taken,)))


def test_the_side_of_the_ground_is_three_cells_wide() -> None:
    plain = np.ones((60, 60), dtype=bool)
    plain[:, 2] = False
    assert ground._largest_plain(plain)[0] == pytest.approx([3.0, 0.0])


@pytest.mark.parametrize(("dark", "bluer", "alike"), [(3, 6, True), (10, 17, False)])
def test_the_colour_of_nearly_black_ground_says_little(dark: int, bluer: int, alike: bool) -> None:
    """Four thousandths of light are added: twice the blue of stored 3 is noise, that of 10 is not."""
    pixels = np.full((300, 400, 3), dark, np.uint8)
    pixels[:, :100, 2] = bluer
    points = np.array([[x, 0.0] for x in np.linspace(-190.0, 190.0, 60)])
    share = ground.plain_share(camera_at(), Overview(pixels=pixels, factor=4), points)
    assert (share == 1.0) == alike


# Round things and straight sides


def rings(*edges: tuple[float, int]) -> Photo:
    """Grey rings round the middle: radius and stored value inside it, the widest first, on 100."""
    y, x = np.mgrid[:240, :240] - 119.5
    pixels = np.full((240, 240, 3), 100, np.uint8)
    for radius, value in edges:
        pixels[np.hypot(x, y) < radius] = value
    pixels = np.asarray(cv2.GaussianBlur(pixels, (0, 0), 1.0), dtype=np.uint8)
    return Photo(name="rings", pixels=pixels, sha256="", focal_px=None, dpi=None, camera="")


@pytest.mark.parametrize(
    ("edges", "share"),
    [
        # An outer edge has half of the strength of the strongest one.
        ([(72.0, 125), (60.0, 200)], 1.0),
        ([(72.0, 145), (60.0, 200)], 1.2),
        # It is looked for from 0.7 to 1.35 of the coarse radius, here 60 px.
        ([(45.0, 200)], 0.75),
        ([(38.0, 200)], None),
        ([(78.0, 200)], 1.3),
        ([(84.0, 200)], None),
    ],
)
def test_the_outermost_clear_edge_of_a_round_thing(edges: list[tuple[float, int]], share: float | None) -> None:
    found = round_edge._outermost_share(rings(*edges), ((119.5, 119.5), (120.0, 120.0), 0.0))
    assert found == (share if share is None else pytest.approx(share, abs=0.03))


@pytest.mark.parametrize(("degrees", "seen"), [(190, False), (210, True)])
def test_a_round_edge_is_seen_in_eleven_twentieths_of_all_directions(degrees: int, seen: bool) -> None:
    """A direction is one and a half degrees."""
    turn = np.radians(np.arange(0.0, degrees, 1.5))
    points = 100.0 + 60.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    assert (round_edge._robust_ellipse(points) is not None) == seen


def side_of(seen: float) -> Floats | None:
    """The points of a side of 400 px from left to right, bright above it along a share of its length."""
    pixels = np.full((80, 440, 3), 60, np.uint8)
    pixels[:40, : 20 + round(seen * 400)] = 200
    noise = np.random.default_rng(2).integers(0, 2, pixels.shape)
    photo = Photo(name="side", pixels=(pixels + noise).astype(np.uint8), sha256="", focal_px=None, dpi=None, camera="")
    return sides.side_points(photo, np.array([20.0, 40.0]), np.array([420.0, 40.0]), 12)


@pytest.mark.parametrize(("seen", "found"), [(0.46, False), (0.56, True)])
def test_half_of_a_side_is_seen(seen: float, found: bool) -> None:
    """Of 76 % of it: its corners may be round."""
    assert (side_of(seen) is not None) == found


def test_a_side_is_placed_to_a_fifth_of_a_pixel_clear_of_its_round_corners() -> None:
    """Its points, open by two pixels each, are spread over all but an eighth at either end (ID-1: 3.18 mm of 54)."""
    points = side_of(1.0)
    assert points is not None
    assert 2.0 / np.sqrt(len(points)) == pytest.approx(0.21, rel=0.05)
    share = (points[:, 0] - 20.0) / 400.0
    assert (share.min(), share.max()) == pytest.approx((0.125, 0.875), abs=0.02)


# Scans


@pytest.mark.parametrize(("longer_mm", "scan"), [(450.0, True), (470.0, False)])
def test_a_flat_bed_is_no_longer_than_a3_and_a_margin(longer_mm: float, scan: bool) -> None:
    sides_px = round(longer_mm / 25.4 * 100.0), 1100
    pixels = np.broadcast_to(np.uint8(128), (*sides_px, 3))
    photo = Photo(name="scan", pixels=pixels, sha256="", focal_px=None, dpi=100.0, camera="")
    assert looks_like_scan(photo) == scan


def test_a_scanner_is_true_to_three_thousandths_along_each_axis_and_sees_no_height() -> None:
    """Common practice, no source."""
    pixels = np.broadcast_to(np.uint8(128), (1100, 800, 3))
    scale = scan_scale(Photo(name="scan", pixels=pixels, sha256="", focal_px=None, dpi=100.0, camera=""))
    assert scale.sheet_scale.shares["scan resolution"] == pytest.approx((0.003, 0.003))
    assert 10.0 / scale.camera.height_mm < 1e-4
    assert scale.mm_per_px == pytest.approx(0.254)  # an inch is 25.4 mm by definition
