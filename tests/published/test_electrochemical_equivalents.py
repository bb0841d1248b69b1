"""Our electrochemical equivalents against two printed tables."""

import pytest

from areakit.plating import faraday
from areakit.plating.metals import figure

# Handbook-style table "film thickness at 1 A·min/dm²" (secondary copy): bath, g/A·h, µm
TABLE_A = [
    ("gold-cyanide", 7.351, 0.635),
    ("gold-chloride", 2.450, 0.212),
    ("silver-cyanide", 4.026, 0.639),
    ("nickel-watts", 1.095, 0.205),
    ("copper-acid", 1.186, 0.222),
    ("copper-cyanide", 2.371, 0.443),
    ("tin-sulfate", 2.215, 0.506),
    ("zinc-acid", 1.220, 0.286),
    ("cobalt-sulfate", 1.099, 0.206),
    ("palladium-tank", 1.985, 0.276),
    ("rhodium-sulfate", 1.280, 0.171),
    ("platinum-2", 3.640, 0.283),
    ("platinum-4", 1.820, 0.142),
    ("chromium-6", 0.3234, 0.076),
]

# Handbook table "Electrochemical equivalents" (secondary copy): bath, g/A·h, A·h per ft² per mil.
# Palladium 13.5 and zinc 14.3 are left out: they contradict the densities that the table itself prints.
TABLE_B = [
    ("gold-cyanide", 7.348, 6.2),
    ("silver-cyanide", 4.024, 6.2),
    ("nickel-watts", 1.095, 19.0),
    ("copper-acid", 1.186, 17.8),
    ("copper-cyanide", 2.37, 8.89),
    ("rhodium-sulfate", 1.28, 22.9),
    ("tin-sulfate", 2.214, 7.8),
    ("cobalt-sulfate", 1.099, 19.0),
]


def grams_per_ampere_hour(bath_key: str) -> float:
    metal = bath_key.split("-")[0]
    return 3600e3 * faraday.electrochemical_equivalent(
        molar_mass=figure(metal, "molar_mass").measured().value,
        electrons_per_ion=figure(bath_key, "electrons_per_ion").value,
    )


def factor(bath_key: str) -> float:
    metal = bath_key.split("-")[0]
    return faraday.charge_for_thickness(
        thickness=1.0,
        area=1.0,
        density=figure(metal, "density").measured().value,
        molar_mass=figure(metal, "molar_mass").measured().value,
        electrons_per_ion=figure(bath_key, "electrons_per_ion").value,
        cathode_efficiency=1.0,
    )


@pytest.mark.parametrize(("bath_key", "grams", "micrometres"), TABLE_A)
def test_equivalents_agree_with_the_printed_table(bath_key: str, grams: float, micrometres: float) -> None:
    assert grams_per_ampere_hour(bath_key) == pytest.approx(grams, rel=0.001)
    per_ampere_minute_per_dm2 = 60.0 / 0.01 / factor(bath_key) * 1e6
    assert per_ampere_minute_per_dm2 == pytest.approx(
        micrometres, rel=0.0125
    )  # 1.2 %; chromium is printed to two digits


@pytest.mark.parametrize(("bath_key", "grams", "hours_per_square_foot"), TABLE_B)
def test_equivalents_agree_with_the_table_in_us_units(
    bath_key: str, grams: float, hours_per_square_foot: float
) -> None:
    assert grams_per_ampere_hour(bath_key) == pytest.approx(grams, rel=0.001)
    mil_square_foot = 25.4e-6 * 0.3048**2
    assert factor(bath_key) * mil_square_foot / 3600 == pytest.approx(hours_per_square_foot, rel=0.012)


def test_a_table_with_the_wrong_valence_would_be_seen() -> None:
    assert grams_per_ampere_hour("gold-chloride") != pytest.approx(7.351, rel=0.5)
