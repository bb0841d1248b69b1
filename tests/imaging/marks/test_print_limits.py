"""What paper and card tell of the size of a print, and both sides of what is believed: worked out by hand.

A camera stands 300 mm above the sheet. Printers are true to one percent along each axis (practice).
"""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import cv2
import numpy as np
import pytest

from areakit.errors import MarkNotFound, ScaleUnreliable
from areakit.imaging.marks import card, paper_check, print_card, print_check, print_coin, print_weighing
from areakit.imaging.marks.disc import Disc
from areakit.imaging.marks.frame_layout import layouts
from areakit.imaging.marks.paper_check import _edge_place, check_paper, likely_paper
from areakit.imaging.marks.print_card import SeenCard, _check_clear, _weighed
from areakit.imaging.marks.print_coin import SeenCoin
from areakit.imaging.marks.sides import find_quads
from areakit.imaging.marks.wanted import Wanted
from areakit.imaging.photo import Overview
from areakit.imaging.scale import PlaneScale
from tests.imaging.drawn_rings import level_camera, plane_scale

NOTHING: Any = None
CARD_MM = np.array([85.6, 53.98])
A4 = layouts()["A4-r1"]


def scale_above(height_mm: float = 300.0) -> PlaneScale:
    parameters = level_camera().parameters.copy()
    parameters[12] = height_mm
    return plane_scale(camera=replace(level_camera(), parameters=parameters))


def both(*shares: float) -> float:
    """The share of two independent beliefs of one size put together (JCGM 100:2008, 5.1.2)."""
    return float(1.0 / np.sqrt(np.sum(1.0 / np.square(shares))))


# A card in the field


def card_read(longer: float = 1.0) -> SeenCard:
    return SeenCard(read_mm=CARD_MM * longer, middle_mm=np.array([50.0, 50.0]), turn_rad=0.0)


def test_what_a_card_leaves_open_of_the_print() -> None:
    """Limits of 0.2 mm of the card (rectangular), 0.12 mm of each reading, and 0.3 mm of level in 300."""
    ((x, y),) = _weighed(card_read(), scale_above(), CARD_MM).known.shares.values()
    for share, size in ((x, 85.6), (y, 53.98)):
        own = np.sqrt((0.2 / np.sqrt(3.0) / size) ** 2 + (0.12 / size) ** 2 + (0.3 / 300.0) ** 2)
        assert share == pytest.approx(both(own, 0.01), rel=0.01)


@pytest.mark.parametrize(("shorter", "believed"), [(0.028, True), (0.034, False)])
def test_a_card_that_contradicts_the_print_by_three_spreads_is_refused(shorter: float, believed: bool) -> None:
    """Both together are open by 1.02 % along the longer side, and by 1.06 % along the other."""
    if believed:
        assert _weighed(card_read(1.0 / (1.0 + shorter)), scale_above(), CARD_MM).known.x > 1.02
        return
    with pytest.raises(ScaleUnreliable) as refused:
        _weighed(card_read(1.0 / (1.0 + shorter)), scale_above(), CARD_MM)
    assert refused.value.code == "SCALES_DISAGREE"


@pytest.mark.parametrize(("longer", "found"), [(1.04, True), (1.06, False)])
def test_a_thing_in_the_field_is_a_card_within_a_twentieth(
    monkeypatch: pytest.MonkeyPatch, longer: float, found: bool
) -> None:
    quad = np.array([[10.0, 10.0], [95.6, 10.0], [95.6, 63.98], [10.0, 63.98]])
    monkeypatch.setattr(print_card, "find_quads", lambda small, **shares: [quad])
    monkeypatch.setattr(print_card, "all_sides", lambda photo, corners: (quad,) * 4)
    monkeypatch.setattr(print_card, "_seen", lambda scale, sides, thickness_mm: card_read(longer))
    camera = SimpleNamespace(to_sheet=lambda points, height: points)
    scale: Any = SimpleNamespace(field_mm=(0.0, 0.0, 200.0, 150.0), camera=camera)
    small: Any = SimpleNamespace(to_full=lambda points: points)
    card: Any = SimpleNamespace(thickness_mm=0.76)
    assert (print_card._find(NOTHING, small, scale, card, CARD_MM) is not None) == found


@pytest.mark.parametrize(
    ("module", "share", "seen"),
    [
        # A card of 46 cm2 takes a fourteenth of A4 that fills the picture, and less where the sheet is small.
        (print_card, 0.0034, False), (print_card, 0.0048, True), (print_card, 0.44, True), (print_card, 0.57, False),
        # Beside a part it is the only measure, and must be larger.
        (card, 0.007, False), (card, 0.0095, True), (card, 0.44, True), (card, 0.57, False),
    ],
)  # fmt: skip
def test_a_card_takes_some_thousandths_to_half_of_the_picture(
    monkeypatch: pytest.MonkeyPatch, module: Any, share: float, seen: bool
) -> None:
    asked: list[dict[str, float]] = []
    monkeypatch.setattr(module, "find_quads", lambda small, **given: asked.append(given) or [])
    known: Any = SimpleNamespace(field_mm=(0.0, 0.0, 1.0, 1.0), thickness_mm=0.76)
    rest = (known, CARD_MM) if module is print_card else (CARD_MM, None)
    assert module._find(NOTHING, NOTHING, known, *rest) is None
    pixels = np.full((300, 400, 3), 220, np.uint8)
    half = np.sqrt(share * 120_000 * np.array([85.6 / 53.98, 53.98 / 85.6])) / 2
    (x0, y0), (x1, y1) = np.rint([200.0, 150.0] - half).astype(int), np.rint([200.0, 150.0] + half).astype(int)
    pixels[y0:y1, x0:x1] = 60
    assert (len(find_quads(Overview(pixels=pixels, factor=1), **asked[0])) > 0) == seen


@pytest.mark.parametrize(("plain", "clear"), [(0.88, False), (0.92, True)])
def test_nine_tenths_of_what_lies_round_a_card_is_bare_field(
    monkeypatch: pytest.MonkeyPatch, plain: float, clear: bool
) -> None:
    """It is looked at beyond the card's own shadow, and not as far as 5 mm, which the remedy asks for."""
    asked = []

    def share(camera: Any, small: Any, points: Any) -> float:
        asked.append(np.abs(points - [50.0, 50.0]) - CARD_MM / 2)
        return plain

    monkeypatch.setattr(print_weighing, "plain_share", share)
    if clear:
        _check_clear(card_read(), scale_above(), NOTHING)
    else:
        with pytest.raises(ScaleUnreliable) as refused:
            _check_clear(card_read(), scale_above(), NOTHING)
        assert refused.value.code == "CARD_NOT_CLEAR"
    away = asked[0].max(axis=1)
    assert 1.0 < away.min() < 2.0
    assert 3.0 < away.max() < 5.0


def test_a_card_takes_three_millimetres_round_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(print_card, "_find", lambda *given: card_read())
    monkeypatch.setattr(print_card, "_check_clear", lambda *given: None)
    _, (taken,) = print_card.print_by_card(NOTHING, NOTHING, scale_above())
    assert np.ptp(taken, axis=0) == pytest.approx(CARD_MM + 6.0)


# The cut edges of the paper


def by_paper(monkeypatch: pytest.MonkeyPatch, *, height_mm: float = 300.0, longer: float = 1.0) -> Any:
    monkeypatch.setattr(print_check, "paper_read", lambda *given: np.array(A4.paper_mm) * longer)
    return print_check.print_by_paper(NOTHING, NOTHING, replace(scale_above(height_mm), sheet="A4-r1"))


@pytest.mark.parametrize("height_mm", [300.0, 3000.0])
def test_what_paper_leaves_open_of_the_print(monkeypatch: pytest.MonkeyPatch, height_mm: float) -> None:
    """A4 is cut within 2 mm (ISO 216, from memory), read to 0.3 mm, and its edges lift by 1.1 mm."""
    ((x, y),) = by_paper(monkeypatch, height_mm=height_mm).known.shares.values()
    for share, size in zip((x, y), A4.paper_mm, strict=True):
        cut, lift = 2.0 / np.sqrt(3.0) / size, np.sqrt(2.0) * 1.1 / height_mm
        assert share == pytest.approx(both(np.sqrt(cut**2 + (0.3 / size) ** 2 + lift**2), 0.01), rel=0.01)


@pytest.mark.parametrize(("longer", "believed"), [(0.028, True), (0.034, False)])
def test_paper_that_contradicts_the_print_by_two_and_a_half_spreads_says_nothing(
    monkeypatch: pytest.MonkeyPatch, longer: float, believed: bool
) -> None:
    """Both together are open by 1.2 % along the longer side, and by 1.26 % along the other."""
    assert (by_paper(monkeypatch, longer=1.0 / (1.0 + longer)) is not None) == believed


@pytest.mark.parametrize(("sides", "limits"), [((148.0, 105.0), (1.5, 1.5)), ((160.0, 100.0), (2.0, 1.5))])
def test_small_paper_is_cut_within_a_millimetre_and_a_half(
    sides: tuple[float, float], limits: tuple[float, float]
) -> None:
    """Sides up to 150 mm (ISO 216, from memory, unverified)."""
    layout: Any = SimpleNamespace(paper="card", paper_mm=sides)
    assert tuple(print_check._cut(layout)) == limits


@pytest.mark.parametrize(("longer", "told"), [(1.021, False), (1.029, True)])
def test_paper_of_another_size_is_told_beyond_a_print_that_is_true_and_its_cut(
    monkeypatch: pytest.MonkeyPatch, longer: float, told: bool
) -> None:
    """1.5 % of the print, and 2 mm of 210: 2.45 %."""
    monkeypatch.setattr(paper_check, "paper_sides", lambda *given: tuple(float(side) * longer for side in A4.paper_mm))
    checked = check_paper(replace(scale_above(), sheet="A4-r1"), NOTHING, verified=False)
    assert ("PRINTED_AT_OTHER_SIZE" in {flag.code for flag in checked.flags}) == told


@pytest.mark.parametrize(
    ("along_x", "along_y", "name"),
    [(1.009, 0.9915, "A4"), (1.012, 0.988, None), (1.14, 1.14, "A4"), (0.85, 0.85, None), (0.88, 0.88, "A4")],
)
def test_paper_has_the_shape_of_a_size_to_two_percent_and_its_size_to_fifteen(
    along_x: float, along_y: float, name: str | None
) -> None:
    found = likely_paper((A4.paper_mm[0] * along_x, A4.paper_mm[1] * along_y), A4)
    assert (found.name if found else None) == name


PX_MM, LEFT_MM = 2.0, 40.0


def edge_of(
    at: float = 1.0, *, light: int = 230, ground: int = 60, seen: float = 1.0, aside: float = 0.0, aside_mm: float = 0.0
) -> float | None:
    """Where the right edge of a sheet of A4 is found: drawn at a share of half its side.

    Beside a share ``seen`` of it the ground is dark; along a share ``aside`` in its middle it lies further out.
    """
    width, height = 420, 260
    middle = (A4.width_mm / 2 + LEFT_MM) * PX_MM
    pixels = np.full((round(height * PX_MM), round(width * PX_MM), 3), light, np.uint8)
    high, low = (round((LEFT_MM + A4.height_mm / 2 + s * 0.42 * A4.height_mm) * PX_MM) for s in (-1, 1))
    edge = middle + at * A4.paper_mm[0] / 2 * PX_MM
    pixels[: round(high + seen * (low - high)), round(edge) :] = ground
    half = aside * (low - high) / 2
    rows = slice(round((high + low) / 2 - half), round((high + low) / 2 + half))
    pixels[rows, round(edge) : round(edge + aside_mm * PX_MM)] = light
    pixels = np.asarray(cv2.GaussianBlur(pixels, (0, 0), 2.0), dtype=np.uint8)
    camera = SimpleNamespace(project=lambda points: PX_MM * (points + LEFT_MM))
    scale: Any = SimpleNamespace(camera=camera)
    ring, paper = np.array([A4.width_mm, A4.height_mm]), np.array(A4.paper_mm)
    found = _edge_place(scale, Overview(pixels=pixels, factor=1), axis=0, sign=1, frame=ring, paper=paper)
    return None if found is None else found / (A4.paper_mm[0] / 2)


@pytest.mark.parametrize(
    ("drawn", "found"),
    [
        ({"at": 0.945}, 0.945), ({"at": 1.12}, 1.12), ({"at": 0.91}, None), ({"at": 1.16}, None),
        ({"light": 202, "ground": 191}, 1.0), ({"light": 202, "ground": 197}, None),  # falls of 12 and 5 %
        ({"seen": 0.68}, 1.0), ({"seen": 0.52}, None),
    ],
)  # fmt: skip
def test_an_edge_of_paper_is_looked_for_near_where_it_should_be_and_must_be_seen(
    drawn: dict[str, Any], found: float | None
) -> None:
    assert edge_of(**drawn) == (found if found is None else pytest.approx(found, abs=0.004))


def test_what_lies_a_millimetre_beside_an_edge_of_paper_is_no_part_of_it() -> None:
    assert edge_of(aside=0.22, aside_mm=3.5) == pytest.approx(edge_of(), abs=0.001)


# Coins in the field


def coin_seen(diameter_mm: float, thickness_mm: float = 0.0, *, longer: float = 1.0) -> SeenCoin:
    disc = Disc(name="disc", diameter_mm=diameter_mm, thickness_mm=thickness_mm)
    return SeenCoin(disc=disc, middle_mm=np.zeros(2), read_mm=np.full(2, diameter_mm * longer))


@pytest.mark.parametrize(
    ("coin", "aside_mm", "above_mm", "share"),
    [
        # 0.1 mm of wear (rectangular) and 0.12 mm of reading, on 3 mm.
        (coin_seen(3.0), 0.0, 1e6, np.hypot(0.1 / np.sqrt(3.0), 0.12) / 3.0),
        # Three tenths of a wall of 10 mm that is seen at 45 degrees, on 100 mm.
        (coin_seen(100.0, 10.0), 300.0, 300.0, 0.03),
        # Its widest line lies 0.2 mm higher or lower, in 20 mm.
        (coin_seen(1000.0), 0.0, 20.0, 0.01),
    ],
)
def test_what_a_coin_in_the_field_leaves_open_of_the_print(
    coin: SeenCoin, aside_mm: float, above_mm: float, share: float
) -> None:
    camera = SimpleNamespace(centre_mm=np.array([aside_mm, 0.0, -above_mm]), height_mm=above_mm)
    scale: Any = SimpleNamespace(camera=camera)
    covariance = print_coin._covariance(scale, coin)
    assert np.sqrt(covariance[0, 1]) == pytest.approx(share, rel=0.03)
    # A shadow to one side makes one diameter longer than the other: half a percent each (own study).
    assert np.sqrt(covariance[0, 0] - covariance[0, 1]) == pytest.approx(0.005, rel=0.01)


@pytest.mark.parametrize(("longer", "found"), [(1.04, True), (1.06, False)])
def test_a_round_thing_in_the_field_is_the_coin_within_a_twentieth(
    monkeypatch: pytest.MonkeyPatch, longer: float, found: bool
) -> None:
    monkeypatch.setattr(print_coin, "round_edges", lambda photo, small, at: [None])
    monkeypatch.setattr(print_coin, "_inside", lambda scale, edge: True)
    monkeypatch.setattr(print_coin, "_seen", lambda scale, edge, disc: coin_seen(25.0, longer=longer))
    wanted = Wanted(kind="coin", detail=("25 mm",))
    if found:
        print_coin._find(NOTHING, NOTHING, NOTHING, wanted)
        return
    with pytest.raises(MarkNotFound):
        print_coin._find(NOTHING, NOTHING, NOTHING, wanted)


def test_a_coin_takes_three_millimetres_round_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(print_coin, "_find", lambda *given: coin_seen(25.0))
    monkeypatch.setattr(print_coin, "check_clear", lambda *given, **thing: None)
    _, (taken,) = print_coin.print_by_coin(NOTHING, NOTHING, scale_above(), Wanted(kind="coin", detail=("25 mm",)))
    assert np.linalg.norm(taken, axis=1) == pytest.approx(np.full(48, 15.5))
