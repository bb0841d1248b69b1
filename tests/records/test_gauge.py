"""Normalised error and analysis of variance, against certified and printed values."""

import math
import random

import pytest

from areakit.errors import InputError
from areakit.records.check_pieces import CheckPiece, face_area, known_piece, known_pieces
from areakit.records.gauge import chi_square_limit, error_of_check, study
from areakit.sources import source
from areakit.uncertainty import Measured, exact

# NIST Statistical Reference Datasets, analysis of variance, SiRstv: five instruments, five days each
SIRSTV = (
    (196.3052, 196.1240, 196.1890, 196.2569, 196.3403),
    (196.3042, 196.3825, 196.1669, 196.3257, 196.0422),
    (196.1303, 196.2005, 196.2889, 196.0343, 196.1811),
    (196.2795, 196.1748, 196.1494, 196.1485, 195.9885),
    (196.2119, 196.1051, 196.1850, 196.0052, 196.2090),
)


def areas(groups: object, stated: float) -> list[list[Measured]]:
    assert isinstance(groups, tuple | list)
    return [[Measured(value=x, unit="mm2", budget={"u": stated}) for x in group] for group in groups]


def test_the_analysis_of_variance_gives_the_certified_values() -> None:
    found = study(areas(SIRSTV, 0.1))
    assert found.f_ratio == pytest.approx(1.18046237440255, rel=1e-9)  # certified
    assert found.mean_square_between == pytest.approx(1.27865654000000e-02, rel=1e-9)
    assert found.mean_square_within == pytest.approx(1.08318280000000e-02, rel=1e-9)
    # ISO 5725-2, 7.4, with equal numbers: variance between = (MSb - MSw) / 5
    assert found.between**2 == pytest.approx((1.27865654e-02 - 1.0831828e-02) / 5, rel=1e-9)
    assert found.reproducibility == pytest.approx(math.hypot(found.repeatability, found.between))


def test_unequal_groups_use_the_effective_number() -> None:
    found = study(areas(((10.0, 12.0), (20.0, 22.0, 21.0), (30.0,)), 1.0))
    # by hand: n = 6, MSw = (2 + 2) / 3, grand mean 115/6, n0 = (6 - 14/6) / 2
    grand = 115 / 6
    square = (2 * (11 - grand) ** 2 + 3 * (21 - grand) ** 2 + (30 - grand) ** 2) / 2
    assert found.mean_square_between == pytest.approx(square)
    assert found.between**2 == pytest.approx((square - 4 / 3) / ((6 - 14 / 6) / 2))


def test_placements_that_differ_less_than_shots_add_nothing() -> None:
    found = study(areas(((1.0, 3.0), (1.1, 2.9), (0.9, 3.1)), 2.0))
    assert found.between == 0.0
    assert found.reproducibility == found.repeatability


def test_a_true_stated_uncertainty_holds_in_about_95_percent_of_studies() -> None:
    chance = random.Random(1)
    for stated, low, high in ((1.0, 0.90, 0.99), (0.5, 0.0, 0.35)):
        held = 0
        for _ in range(400):
            held += study(areas([[chance.gauss(100.0, 1.0) for _ in range(6)]], stated)).stated_holds
        assert low <= held / 400 <= high


@pytest.mark.parametrize(("freedom", "printed"), [(1, 3.841), (2, 5.991), (5, 11.070), (10, 18.307), (30, 43.773)])
def test_the_limit_is_that_of_the_printed_table(freedom: int, printed: float) -> None:
    # usual table of the chi-square distribution, 95 %
    assert chi_square_limit(freedom) == pytest.approx(printed, rel=0.03 if freedom == 1 else 0.01)


def test_one_shot_a_placement_gives_all_spread_to_the_placements() -> None:
    """With one value a group there is no spread within: all of it is that of the means (ISO 5725-2, 7.4)."""
    found = study(areas(((1.0,), (2.0,), (3.0,)), 1.0))
    assert (found.repeatability, found.between) == (0.0, pytest.approx(1.0))  # standard deviation of 1, 2, 3
    assert found.f_ratio is None


def test_shots_of_one_placement_are_all_repeatability() -> None:
    """1, 2 and 3 have a standard deviation of 1."""
    found = study(areas(((1.0, 2.0, 3.0),), 1.0))
    assert (found.placements, found.shots, found.mean) == (1, 3, pytest.approx(2.0))
    assert (found.repeatability, found.between, found.reproducibility) == (pytest.approx(1.0), 0.0, pytest.approx(1.0))
    assert (found.mean_square_between, found.f_ratio, found.stated) == (None, None, pytest.approx(1.0))
    # 95 % of chi square with two degrees of freedom: 5.99 / 2 of the variance, 1.73 of the standard deviation
    assert study(areas(((1.0, 2.0, 3.0),), 0.59)).stated_holds
    assert not study(areas(((1.0, 2.0, 3.0),), 0.56)).stated_holds
    two = study(areas(((1.0, 2.0), (3.0, 4.0)), 1.0))
    assert (two.placements, two.shots) == (2, 4)


def test_too_few_measurements_are_refused() -> None:
    with pytest.raises(InputError, match="2 measurements"):
        study(areas(((1.0, 2.0),), 1.0))
    with pytest.raises(InputError, match="degrees of freedom"):
        chi_square_limit(0)


def test_the_normalised_error_weighs_both_expanded_uncertainties() -> None:
    measured = Measured(value=103.0, unit="mm2", budget={"a": 2.0})
    reference = Measured(value=100.0, unit="mm2", budget={"b": 1.5})
    assert error_of_check(measured, reference) == pytest.approx(0.6)  # 3 / sqrt(4^2 + 3^2)
    assert error_of_check(reference, measured) == pytest.approx(-0.6)
    with pytest.raises(InputError, match="Neither"):
        error_of_check(exact(1.0, "mm2"), exact(1.0, "mm2"))
    with pytest.raises(InputError, match="held against"):
        error_of_check(exact(1.0, "mm2"), exact(1.0, "mm"))


# closed forms, printed to the hundredth: pi/4 d^2 from the coins' published diameters; ID-1 with rounded corners
@pytest.mark.parametrize(
    ("key", "face"),
    [("usd-cent", 285.02), ("usd-quarter", 462.24), ("usd-half", 735.90), ("eur-1", 424.56), ("eur-2", 520.77),
     ("eur-0.05", 354.66), ("id-1", 4612.01)],
)  # fmt: skip
def test_known_pieces_have_the_area_of_their_published_sizes(key: str, face: float) -> None:
    assert face_area(known_piece(key)).value == pytest.approx(face, abs=0.006)


def test_a_card_carries_the_limits_of_its_sides_and_corners() -> None:
    """ISO/IEC 7810, ID-1: the card's limits are taken as rectangular, half-width over the root of three."""
    card = known_piece("id-1")
    assert (card.shape, card.thickness_mm) == ("card", 0.76)
    assert (card.sizes["width"].value, card.sizes["height"].value) == (85.60, 53.98)
    assert card.sizes["width"].standard_uncertainty == pytest.approx(0.13 / math.sqrt(3), rel=0.05)
    assert card.sizes["corner"].standard_uncertainty == pytest.approx(0.30 / math.sqrt(3), rel=0.05)


def test_a_disc_carries_twice_the_relative_uncertainty_of_its_diameter() -> None:
    area = face_area(known_piece("usd-quarter"))
    assert area.standard_uncertainty / area.value == pytest.approx(2 * 0.05 / math.sqrt(3) / 24.26)


def test_a_ring_is_a_disc_less_its_hole() -> None:
    sizes = {"diameter": exact(12.0, "mm"), "hole": exact(6.4, "mm")}
    ring = CheckPiece(key="m6", title="washer", shape="ring", sizes=sizes, thickness_mm=1.6, source="practice")
    assert face_area(ring).value == pytest.approx(80.927, abs=0.001)  # ISO 7089, M6: 12 mm and 6.4 mm
    with pytest.raises(InputError, match="as large as the ring"):
        CheckPiece(
            key="x", title="x", shape="ring", sizes={"diameter": exact(5.0, "mm"), "hole": exact(6.0, "mm")},
            thickness_mm=None, source="practice",
        )  # fmt: skip
    with pytest.raises(InputError, match="known by diameter"):
        CheckPiece(key="x", title="x", shape="disc", sizes={}, thickness_mm=None, source="practice")


def test_a_check_piece_without_size_is_refused() -> None:
    with pytest.raises(InputError, match="not above zero"):
        CheckPiece(key="x", title="x", shape="disc", sizes={"diameter": exact(0.0, "mm")}, thickness_mm=None,
                   source="practice")  # fmt: skip


def test_every_known_piece_names_its_source() -> None:
    assert all(source(piece.source).citation for piece in known_pieces().values())
    with pytest.raises(InputError, match="no check piece 'button'"):
        known_piece("button")
