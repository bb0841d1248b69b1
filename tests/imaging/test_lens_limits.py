"""What a lens fit refuses, on both sides of each limit, and what is believed where photos do not say."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from drawn_lenses import FOCAL_PX, KEY

from areakit.errors import MeasurementError
from areakit.imaging import lens_fit
from areakit.imaging.lens_fit import MOST_MOVE, PRIOR_SIGMA, LensView
from areakit.imaging.marks.frame_fit import CORNER_SIGMA_PX

Floats = npt.NDArray[np.float64]
SIDE = 4032.0
UNIT = np.array([1.0, SIDE, SIDE, 1.0, 1.0, 1.0, 1.0, 1.0])
"""Spreads of the centre are stated over the longer side of the picture."""
HALF = float(np.hypot(4032, 3024)) / 2
MIDDLE = np.array([2015.5, 1511.5])


def bundle(**more: Any) -> Any:
    """Ten photos that fit well: what the checks look at of a fit."""
    shots = [
        SimpleNamespace(
            view=SimpleNamespace(name=f"photo-{i + 1}.jpg", points_px=MIDDLE + [[0.0, HALF]], focal_px=FOCAL_PX),
            camera=SimpleNamespace(tilt_deg=2.0 * i),
        )
        for i in range(10)
    ]
    own = np.zeros((10, 6))
    own[6, 3] = 1e-9
    given = {
        "shots": shots, "rms_px": [0.05] * 10, "own": own, "variance": np.zeros(6), "covariance": np.zeros((9, 9)),
        "sigma_px": CORNER_SIGMA_PX,
    }  # fmt: skip
    return SimpleNamespace(**{**given, **more})


def code_of(check: Any, *given: Any) -> str | None:
    try:
        check(*given)
    except MeasurementError as refusal:
        return refusal.code
    return None


# One photo among the others


@pytest.mark.parametrize(
    ("rms_px", "refused"),
    [
        ([0.05] * 9 + [0.34], False),  # corners are found to 0.05 px, a sheet bent by a millimetre misses by a third
        ([0.05] * 9 + [0.36], True),
        ([0.2] * 9 + [0.59], False),  # where all photos fit badly, three times the middling one is still one of them
        ([0.2] * 9 + [0.61], True),
    ],
)
def test_a_photo_that_misses_by_a_third_of_a_pixel_and_thrice_the_others_is_named(
    rms_px: list[float], refused: bool
) -> None:
    fit = bundle(rms_px=rms_px)
    assert code_of(lens_fit._check_photos, fit, MOST_MOVE * UNIT) == ("LENS_DISAGREES" if refused else None)


@pytest.mark.parametrize(
    ("place", "most", "told"),
    [
        (0, 0.01, "its focal length 2.0 %"),  # 1 %: focusing from 255 to 330 mm moves a phone's lens by less
        (1, 0.005 * SIDE, "its centre"),
        (2, 0.005 * SIDE, "its centre"),
        (3, 0.02, "its distortion"),
        (4, 0.003, "its distortion"),
        (5, 0.003, "its distortion"),
    ],
)
def test_photos_whose_lenses_differ_by_more_than_one_lens_moves_disagree(place: int, most: float, told: str) -> None:
    own = np.zeros((10, 6))
    own[3, place] = 2.0 * most
    for spread, refused in ((0.97 * most, False), (1.03 * most, True)):
        variance = np.zeros(6)
        variance[place] = spread**2
        fit = bundle(variance=variance, own=own)
        if not refused:
            lens_fit._check_photos(fit, MOST_MOVE * UNIT)
            continue
        with pytest.raises(MeasurementError, match=f"photo-4.jpg has {told}") as refusal:
            lens_fit._check_photos(fit, MOST_MOVE * UNIT)
        assert refusal.value.code == "LENS_DISAGREES"


@pytest.mark.parametrize(("middling", "refused"), [(1.9, False), (2.1, True)])
def test_what_misses_by_two_pixels_was_taken_through_no_lens(
    monkeypatch: pytest.MonkeyPatch, middling: float, refused: bool
) -> None:
    found = bundle(rms_px=[0.1, middling, 9.0])
    monkeypatch.setattr(lens_fit, "_Bundle", lambda *given, **more: SimpleNamespace(run=lambda: found))
    check = (lens_fit._fitted, [], KEY, PRIOR_SIGMA, UNIT)
    assert code_of(*check) == ("SQUEEZED" if refused else None)


# What all photos together leave open


@pytest.mark.parametrize(("reach", "refused"), [(0.51, False), (0.49, True)])
def test_a_sheet_must_reach_half_way_to_the_corner_in_one_photo(reach: float, refused: bool) -> None:
    fit = bundle()
    for i, shot in enumerate(fit.shots):
        shot.view.points_px = MIDDLE + [[0.6 * reach * HALF, 0.8 * reach * HALF]] if i == 4 else MIDDLE[None]
    if not refused:
        lens_fit._check_knowledge(fit, np.zeros(8), KEY)
        return
    with pytest.raises(MeasurementError, match="reaches only 49 % of the way") as refusal:
        lens_fit._check_knowledge(fit, np.zeros(8), KEY)
    assert refusal.value.code == "LENS_NOT_COVERED"


@pytest.mark.parametrize(("open_by", "refused"), [(0.0049, False), (0.0051, True)])
def test_the_focal_length_must_be_known_to_half_a_percent(open_by: float, refused: bool) -> None:
    known = np.array([open_by, *[0.0] * 7])
    if not refused:
        lens_fit._check_knowledge(bundle(), known, KEY)
        return
    with pytest.raises(
        MeasurementError, match=r"tilts of 0° to 18°.*open by 0\.5 %, and 0\.5 % is the limit"
    ) as refusal:
        lens_fit._check_knowledge(bundle(), known, KEY)
    assert refusal.value.code == "LENS_NOT_FIXED"


@pytest.mark.parametrize(
    ("place", "residue"),
    [
        (3, 2 / 5),  # k1 r^3 less 3/5 R^2 r: least squares over a line leave 2/5 of it at the end
        (4, 4 / 7),  # k2 r^5 less 3/7 R^4 r
        (7, 2 / 3),  # k3 r^7 less 1/3 R^6 r
    ],
)
def test_the_bending_of_the_lens_must_be_known_to_a_pixel_at_the_corner(place: int, residue: float) -> None:
    """Of 2520 px, 0.0004 are 1.0 px. The change of scale that fits a radial term best counts for the focal length."""
    r = HALF / FOCAL_PX
    power = {3: 3, 4: 5, 7: 7}[place]
    for open_px, refused in ((0.85, False), (1.3, True)):
        covariance = np.zeros((9, 9))
        covariance[place, place] = (open_px / (FOCAL_PX * residue * r**power)) ** 2
        fit = bundle(covariance=covariance)
        expected = "LENS_NOT_COVERED" if refused else None
        assert code_of(lens_fit._check_knowledge, fit, np.zeros(8), KEY) == expected


@pytest.mark.parametrize(("place", "power", "residue"), [(0, 3, 2 / 5), (1, 5, 4 / 7), (4, 7, 2 / 3)])
def test_a_radial_term_bends_by_what_no_change_of_scale_takes_off(place: int, power: int, residue: float) -> None:
    covariance = np.zeros((5, 5))
    covariance[place, place] = 0.1**2
    r = 0.6 * HALF / FOCAL_PX
    found = lens_fit._bending(covariance, FOCAL_PX, HALF, 0.6)
    assert found == pytest.approx(FOCAL_PX * 0.1 * residue * r**power, rel=0.1)


@pytest.mark.parametrize("place", [5, 6])
def test_a_leaning_lens_bends_too(place: int) -> None:
    """Brown (1966): decentring moves a point at r to the right by 3 p2 r^2 along, and by p1 r^2 across."""
    r = HALF / FOCAL_PX
    covariance = np.zeros((9, 9))
    covariance[place, place] = (0.5 / (FOCAL_PX * r**2)) ** 2
    # p1 moves by half a pixel; p2 by 1.5, less the change of scale that fits r^2 best: 3/4 R r, which leaves a quarter.
    found = lens_fit._bending(covariance[3:8, 3:8], FOCAL_PX, HALF, 1.0)
    assert found == pytest.approx({5: 0.5, 6: 1.5 / 4}[place], rel=0.15)


@pytest.mark.parametrize(
    ("sigma_px", "remedy"), [(1.9 * CORNER_SIGMA_PX, "middle, the corners"), (2.1 * CORNER_SIGMA_PX, "tape it flat")]
)
def test_a_sheet_that_misses_by_twice_the_noise_is_told_to_be_bent(sigma_px: float, remedy: str) -> None:
    covariance = np.zeros((9, 9))
    covariance[3, 3] = 1.0
    with pytest.raises(MeasurementError) as refusal:
        lens_fit._check_knowledge(bundle(covariance=covariance, sigma_px=sigma_px), np.zeros(8), KEY)
    assert remedy in refusal.value.remedy


# The fit, against what least squares and repeated measurements give in closed form


def linear(jacobian: Floats, misfit: Floats) -> Any:
    """A bundle of one photo of which residuals and slopes are given; it keeps the print's ratios that were asked."""
    asked: list[float] = []

    def seen(figures: Floats, ratio: float) -> tuple[Floats, Floats]:
        asked.append(ratio)
        return misfit, jacobian

    fit = lens_fit._Bundle([SimpleNamespace(seen=seen)], np.ones(9), least=np.ones(6))  # type: ignore[list-item]
    fit.asked = asked  # type: ignore[attr-defined]
    return fit


def test_a_photo_tells_of_its_figures_what_least_squares_leave_with_its_pose_free() -> None:
    """Inverse of the figures' block of the covariance, and that times where least squares put them."""
    rng = np.random.default_rng(1)
    jacobian, misfit = rng.normal(size=(40, 15)), rng.uniform(-1.0, 1.0, 40) * CORNER_SIGMA_PX
    fit = linear(jacobian, misfit)
    fit.figures = 0.1 * np.arange(9.0)
    own, pull, back, _, weight = fit._told(0)
    assert fit.asked == [pytest.approx(0.8)]
    assert weight == pytest.approx(np.ones(40))
    covariance = np.linalg.inv(jacobian.T @ jacobian) * CORNER_SIGMA_PX**2
    answer = -np.linalg.lstsq(jacobian, misfit, rcond=None)[0]
    information = np.linalg.inv(covariance[:9, :9])
    assert own == pytest.approx(information, rel=1e-6)
    assert pull == pytest.approx(information @ (answer[:9] + fit.figures), rel=1e-6)
    assert back @ [*answer[:9], 1.0] == pytest.approx(answer[9:], rel=1e-6)


def test_a_corner_far_off_weighs_as_huber_has_it() -> None:
    """1.5 spreads over its miss; the spread is 1.4826 times the median miss (normal residuals), where that is more than
    the noise of corners.
    """
    misfit = np.full(40, 0.2)
    misfit[0], misfit[1] = 1.0, -2.0
    weight = linear(np.random.default_rng(1).normal(size=(40, 15)), misfit)._told(0)[4]
    assert weight[:3] == pytest.approx([1.5 * 1.4826 * 0.2, 0.75 * 1.4826 * 0.2, 1.0])
    misfit = np.full(40, 1e-3)
    misfit[0] = 1.0
    weight = linear(np.random.default_rng(1).normal(size=(40, 15)), misfit)._told(0)[4]
    assert weight[0] == pytest.approx(1.5 * CORNER_SIGMA_PX)


def repeated(monkeypatch: pytest.MonkeyPatch, figures: Floats, misfit: Floats) -> Any:
    """A fit of photos that tell their own figures exactly, shape (n, 9), and miss alike."""
    sure = np.diag(1e12 / np.array([*UNIT, 1.0]) ** 2)
    monkeypatch.setattr(lens_fit, "_Shot", lambda view, key: SimpleNamespace(pose=np.zeros(6)))
    answer = np.column_stack([np.zeros((6, 9)), np.full(6, 0.01)])
    monkeypatch.setattr(
        lens_fit._Bundle,
        "_told",
        lambda fit, i: (sure, sure @ figures[i], answer, misfit, np.ones(len(misfit))),
    )
    monkeypatch.setattr(lens_fit, "STEPS", 12)
    return lens_fit._fitted([None] * len(figures), KEY, 1e3 * np.array([*UNIT, 1.0]), UNIT)  # type: ignore[list-item]


def test_photos_that_differ_tell_their_mean_and_their_spread(monkeypatch: pytest.MonkeyPatch) -> None:
    """Maximum likelihood: mean square from the mean, over n; the mean of n is known to the spread over root n."""
    shift = np.array([-1.0, 1.0, -1.0, 1.0, 2.0, -2.0, 0.0, 0.0])
    size = np.array([0.02, 0.005 * SIDE, 0.005 * SIDE, 0.01, 0.0, 0.001, 0.001, 0.0, 0.0])
    fit = repeated(monkeypatch, shift[:, None] * size, np.full(20, 1e-3))
    spread = size[[0, 1, 2, 3, 5, 6]] * np.sqrt(12.0 / 8.0)
    assert fit.figures == pytest.approx(np.zeros(9), abs=1e-6)
    assert np.sqrt(fit.variance) == pytest.approx(spread, rel=1e-3)
    known = np.sqrt(np.diag(fit.covariance))[[0, 1, 2, 3, 5, 6]]
    assert known == pytest.approx(spread / np.sqrt(8.0), rel=1e-2)
    # Each of the twelve steps moved the pose by its own hundredth.
    assert fit.shots[0].pose == pytest.approx(np.full(6, 0.12))


def test_photos_that_agree_are_believed_to_a_least_spread(monkeypatch: pytest.MonkeyPatch) -> None:
    """0.2 % of the focal length, 2 px of the centre of 4032 px, a thousandth of bending (practice)."""
    fit = repeated(monkeypatch, np.zeros((8, 9)), np.full(20, 1e-3))
    assert np.sqrt(fit.variance) == pytest.approx([0.002, 2.016, 2.016, 0.001, 1e-4, 1e-4])


def test_noise_is_what_corners_miss_over_what_they_leave_free(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten corners a photo have twenty residuals, of which the pose takes six."""
    fit = repeated(monkeypatch, np.zeros((8, 9)), np.full(20, 0.5))
    assert fit.sigma_px == pytest.approx(0.5 * np.sqrt(20.0 / 14.0))
    assert fit.rms_px == pytest.approx([0.5] * 8)


def test_photos_that_say_nothing_leave_what_was_believed_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """A focal length of a file within 3 %, an axis within 1 % of the side, bends of a phone's lens (practice)."""
    monkeypatch.setattr(lens_fit, "_Shot", lambda view, key: SimpleNamespace(pose=np.zeros(6)))
    nothing = np.zeros((9, 9)), np.zeros(9), np.zeros((6, 10)), np.full(20, 1e-3), np.ones(20)
    monkeypatch.setattr(lens_fit._Bundle, "_told", lambda fit, i: nothing)
    monkeypatch.setattr(lens_fit, "STEPS", 1)
    prior = PRIOR_SIGMA * np.array([*UNIT, 1.0])
    fit = lens_fit._fitted([None] * 8, KEY, prior, UNIT)  # type: ignore[list-item]
    left = np.sqrt(np.diag(fit.covariance))
    assert left == pytest.approx([0.03, 40.32, 40.32, 0.2, 0.5, 0.003, 0.003, 0.5, 0.015])


def shot_of(monkeypatch: pytest.MonkeyPatch, longer: float = 0.0) -> Any:
    """A photo of four corners from 300 mm, print and picture longer along x than along y by a log ratio."""
    nodes = np.array([[-50.0, -40.0], [50.0, -40.0], [60.0, 40.0], [-50.0, 30.0]])
    deep = 300.0 + 0.2 * nodes[:, 1]
    seen = MIDDLE + FOCAL_PX * nodes / deep[:, None]
    pose = [np.arctan(0.2), 0.0, 0.0, 0.0, 0.0, 300.0]
    monkeypatch.setattr(lens_fit, "_alone", lambda view, key: SimpleNamespace(parameters=[*[0.0] * 7, *pose, 0.0]))
    given = nodes / np.exp([longer / 2.0, -longer / 2.0])
    return lens_fit._Shot(LensView(name="", nodes_mm=given, points_px=seen, focal_px=FOCAL_PX), KEY)


def test_a_shot_starts_from_the_files_focal_length_and_the_middle_of_the_picture(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Its figures are log focal length, centre, k1, k2, p1, p2, k3; a fit has the pose before k3."""
    shot = shot_of(monkeypatch)
    start = [np.log(FOCAL_PX), 2015.5, 1511.5, 0.0, 0.0, 0.0, 0.0]
    assert shot.full(np.zeros(9)) == pytest.approx([*start, np.arctan(0.2), 0.0, 0.0, 0.0, 0.0, 300.0, 0.0])
    moved = shot.full(np.arange(1.0, 10.0))
    assert moved[:7] - start == pytest.approx(np.arange(1.0, 8.0))
    assert moved[13:] == pytest.approx([8.0])


def test_a_print_longer_by_a_ratio_is_seen_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nodes are given too short along x and too long along y, half of the ratio each, it makes up for both."""
    true = shot_of(monkeypatch).seen(np.zeros(9), 0.0)[0]
    assert shot_of(monkeypatch, longer=0.01).seen(np.zeros(9), 0.01)[0] == pytest.approx(true, abs=1e-6)


def test_slopes_of_a_shot_are_those_of_small_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    shot = shot_of(monkeypatch)
    _, slopes = shot.seen(np.zeros(9), 0.0)
    pose = shot.pose

    def at(place: int, by: float) -> Floats:
        figures, ratio = np.zeros(9), by if place == 8 else 0.0
        if place < 8:
            figures[place] = by
        shot.pose = pose + by * (np.arange(6) == place - 9)
        return np.asarray(shot.seen(figures, ratio)[0])

    for i in range(15):
        step = 1e-3 if i in {1, 2, 12, 13, 14} else 1e-5
        change = (at(i, step) - at(i, -step)) / (2.0 * step)
        assert slopes[:, i] == pytest.approx(change, rel=1e-3, abs=1e-3 * np.abs(change).max())


def test_a_lens_says_of_the_next_shot_what_student_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten shots: variance of the mean, and 9 / 7 of theirs, as Student's t with nine degrees of freedom has."""
    covariance = np.diag(np.arange(1.0, 10.0) * 1e-12) + 1e-14
    variance = np.array([0.004, 2.0, 3.0, 0.001, 2e-4, 1e-4]) ** 2
    figures = 0.01 * np.arange(1.0, 10.0)
    fit = bundle(covariance=covariance, variance=variance, figures=figures)
    monkeypatch.setattr(lens_fit, "_fitted", lambda *given: fit)
    found = lens_fit.fit_lens(tiny(10, 0.0), KEY)
    assert found.lens.mean == pytest.approx(figures[:8])
    assert found.known == pytest.approx(np.sqrt(np.arange(1.0, 9.0) * 1e-12 + 1e-14))
    spread = np.zeros(8)
    spread[[0, 1, 2, 3, 5, 6]] = np.sqrt(variance)
    assert found.spread == pytest.approx(spread)
    assert np.array(found.lens.covariance) == pytest.approx(covariance[:8, :8] + np.diag(spread**2 * 9 / 7))
    assert found.print_ratio == pytest.approx(np.expm1(0.09))
    assert (found.lens.photos, found.tilts_deg) == (10, tuple(2.0 * i for i in range(10)))


def test_seven_photos_are_too_few_and_eight_are_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*given: Any) -> None:
        raise MeasurementError("stop", remedy="", code="STOP")

    monkeypatch.setattr(lens_fit, "_fitted", stop)
    with pytest.raises(MeasurementError, match="7 photos of the sheet can be used; 8 to 12 are needed") as refusal:
        lens_fit.fit_lens(tiny(7, 0.0), KEY)
    assert refusal.value.code == "TOO_FEW_PHOTOS"
    assert code_of(lens_fit.fit_lens, tiny(8, 0.0), KEY) == "STOP"


# What is believed where photos do not say


def tiny(count: int, tilt_deg: float) -> list[LensView]:
    """Nine spots within a few millimetres, all from one place: they tell pose alone."""
    nodes = np.stack(np.meshgrid([0.0, 1.0, 2.0], [0.0, 1.0, 2.0]), axis=-1).reshape(-1, 2) + [100.0, 100.0]
    angle, far = np.radians(tilt_deg), 300.0
    x, y = (nodes - nodes.mean(axis=0)).T
    deep = far + y * np.sin(angle)
    seen = MIDDLE + FOCAL_PX * np.column_stack([x / deep, y * np.cos(angle) / deep])
    return [LensView(name=f"{i}", nodes_mm=nodes, points_px=seen, focal_px=FOCAL_PX) for i in range(count)]


def test_a_miss_that_all_corners_share_does_not_average_away(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a variance four times that of corners three quarters are the sheet's bend: 1 + 9 x 3/4 for ten photos."""
    fit = lens_fit._Bundle([SimpleNamespace()] * 10, np.ones(9), least=np.ones(6))  # type: ignore[list-item]
    fit.covariance = np.eye(9)
    fit.sigma_px = 2.0 * CORNER_SIGMA_PX
    monkeypatch.setattr(fit, "_step", lambda: None)
    assert np.diag(fit.run().covariance) == pytest.approx(7.75)


@pytest.mark.parametrize("ratio_sigma", [None, 0.0004])
def test_the_centre_is_believed_in_pixels_and_check_lengths_narrow_the_print(
    monkeypatch: pytest.MonkeyPatch, ratio_sigma: float | None
) -> None:
    asked = []

    def stop(views: Any, key: Any, prior: Floats, limits: Floats) -> None:
        asked.append((prior, limits))
        raise MeasurementError("stop", remedy="", code="STOP")

    monkeypatch.setattr(lens_fit, "_fitted", stop)
    with pytest.raises(MeasurementError, match="stop"):
        lens_fit.fit_lens(tiny(8, 0.0), KEY, ratio_sigma=ratio_sigma)
    prior, limits = asked[0]
    assert prior[[1, 2]] == pytest.approx([40.32, 40.32])  # 1 % of 4032 px
    assert prior[[0, *range(3, 8)]] == pytest.approx(PRIOR_SIGMA[[0, *range(3, 8)]])
    assert prior[8] == (ratio_sigma or PRIOR_SIGMA[8])
    assert limits == pytest.approx(UNIT)
