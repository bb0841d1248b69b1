"""The table of figures: every row has a unit that is known, a source that is known, and an honest kind."""

from dataclasses import replace

import pytest

from areakit.errors import InputError
from areakit.plating import metals
from areakit.plating.efficiency import implied_efficiency
from areakit.plating.premise import from_figure
from areakit.sources import all_sources, source

ROWS = metals.read_figures("metals.csv")


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r.subject} {r.property_name}")
def test_each_row_has_a_known_unit_and_source(row: metals.Figure) -> None:
    assert row.source in all_sources()
    assert row.measured().unit in set(metals.SI_CODES.values())
    if row.source not in {"working", "practice"}:
        assert row.kind in {"published", "unverified"}


def test_no_figure_stands_twice() -> None:
    assert len({(r.subject, r.property_name) for r in ROWS}) == len(ROWS) == 190


def test_lows_lie_below_highs() -> None:
    for row in ROWS:
        if row.property_name.endswith("_low"):
            high = metals.find_figure(row.subject, row.property_name.removesuffix("_low") + "_high")
            assert high is not None, row
            assert row.measured().value < high.measured().value


def test_each_bath_has_a_valence_a_metal_and_a_density() -> None:
    for bath in metals.all_baths().values():
        assert metals.figure(bath.key, "electrons_per_ion").value in {1, 2, 3, 4, 6}
        assert metals.find_figure(bath.metal, "molar_mass")
        assert metals.find_figure(bath.deposit, "density")


def test_each_metal_has_one_usual_bath() -> None:
    usual = [bath.metal for bath in metals.all_baths().values() if bath.usual]
    assert sorted(usual) == sorted(subject for subject, prop in metals.all_figures() if prop == "molar_mass")


# ASM Handbook volume 5, selective plating Table 1: what each printed factor implies
@pytest.mark.parametrize(
    ("key", "percent"),
    [
        ("gold-brush", 72),
        ("nickel-brush-alkaline", 78),
        ("nickel-brush-acid", 28),
        ("copper-brush", 95),
        ("palladium-brush", 52),
        ("platinum-brush", 64),
        ("rhodium-brush", 53),
        ("cobalt-brush", 95),
        ("silver-brush", 107),
        ("chromium-brush", 18),
    ],
)
def test_printed_factors_imply_these_efficiencies(key: str, percent: float) -> None:
    bath = metals.bath(key)
    implied = implied_efficiency(
        plating_factor=metals.figure(key, "plating_factor").measured().value,
        density=metals.figure(bath.deposit, "density").measured().value,
        molar_mass=metals.figure(bath.metal, "molar_mass").measured().value,
        electrons_per_ion=metals.figure(key, "electrons_per_ion").value,
    )
    assert implied * 100 == pytest.approx(percent, abs=0.5)


def test_units_of_the_trade_become_si() -> None:
    assert metals.figure("gold", "metal_content").measured().value == pytest.approx(8.2)  # g/L is kg/m3
    factor = metals.figure("gold-brush", "plating_factor").measured().value
    assert factor * 1e-6 * 0.01 / 60 == pytest.approx(2.197, abs=0.001)  # A·min per dm² and µm
    nickel = metals.figure("nickel-watts", "current_density_low").measured().value / 100
    assert nickel == pytest.approx(2.2, abs=0.05)  # Metal Finishing Guidebook p. 655: 20 A/ft2


def test_a_range_is_read_as_rectangular() -> None:
    eta = metals.range_figure("nickel-watts", "cathode_efficiency", name="nickel efficiency")
    assert eta is not None
    assert eta.value == pytest.approx(0.95)
    assert eta.standard_uncertainty == pytest.approx(0.02 / 3**0.5)  # JCGM 100:2008, 4.3.7


def test_an_unknown_bath_is_refused_with_the_known_ones() -> None:
    with pytest.raises(InputError, match="gold-cyanide"):
        metals.bath("gold-wishful")


def test_the_place_of_a_figure_is_named_once() -> None:
    """The citation of a book with pages of its own is not followed by the same pages."""
    row = next(one for one in metals.read_figures("metals.csv") if one.place)
    apart, within = replace(row, place="p. 9999", note="n"), replace(row, place="", note="")
    words = source(row.source).citation
    assert from_figure(apart).text == f"{words}; p. 9999; n"
    assert from_figure(within).text == words
    assert from_figure(replace(row, place=words[:6], note="")).text == words
    assert from_figure(apart).kind == row.kind
