"""The slips of the trade are found by name, and random figures are not explained more often than chance allows."""

import math
from dataclasses import replace

import numpy as np
import pytest

from areakit.costing.claims import Claims, read_claims
from areakit.costing.consistency import compare
from areakit.costing.measured_part import MeasuredPart
from areakit.costing.slips import slips
from areakit.costing.verdict import Verdict, check_claims
from areakit.uncertainty import Measured, exact

IN2_CM2 = 6.4516  # exact: 2.54 cm squared


def ring_of(radius: float, n: int = 720) -> tuple[tuple[float, float], ...]:
    angles = [2 * math.pi * i / n for i in range(n + 1)]
    return tuple((radius * math.cos(a), radius * math.sin(a)) for a in angles)


def disk(diameter: float, thickness: float, *, percent: float = 0.0) -> MeasuredPart:
    """A disk whose area has an expanded uncertainty in percent."""
    face = math.pi * diameter**2 / 4
    return MeasuredPart(
        name="disk",
        rings=(ring_of(diameter / 2),),
        face=Measured(value=face, unit="mm2", budget={"scale": face * percent / 200}),
        perimeter_outer=Measured(
            value=math.pi * diameter, unit="mm", budget={"scale": math.pi * diameter * percent / 400}
        ),
        perimeter_holes=exact(0.0, "mm"),
        thickness=exact(thickness, "mm"),
        faces="all",
        plated=Measured(
            value=2 * face + math.pi * diameter * thickness,
            unit="mm2",
            budget={"scale": (2 * face + math.pi * diameter * thickness / 2) * percent / 200},
        ),
    )


def bracket() -> MeasuredPart:
    """A plate of 60 x 25 x 3 mm with two holes of 6 mm: 2886.9 mm2 of faces, 510.0 of edges, 113.1 of hole walls."""
    holes = tuple(tuple((x + c[0], 12.5 + c[1]) for c in ring_of(3.0)) for x in (10.0, 50.0))
    face = 60 * 25 - 2 * math.pi * 9
    return MeasuredPart(
        name="bracket",
        rings=(((0, 0), (60, 0), (60, 25), (0, 25), (0, 0)), *holes),
        face=Measured(value=face, unit="mm2", budget={"scale": face * 0.005}),
        perimeter_outer=exact(170.0, "mm"),
        perimeter_holes=exact(12 * math.pi, "mm"),
        thickness=exact(3.0, "mm"),
        faces="all",
        plated=exact(2 * face + (170 + 12 * math.pi) * 3, "mm2"),
    )


def first_keys(verdict: Verdict) -> tuple[str, ...]:
    assert verdict.explanations, f"nothing explains {verdict.failing}"
    return verdict.explanations[0].keys


def all_keys(verdict: Verdict) -> set[str]:
    return {key for one in verdict.explanations for key in one.keys}


# Faces of a quarter-dollar-sized disk, 24.26 x 1.75 mm: areas 462.24, 924.48 and 1057.86 mm2 (US Mint dimensions).
@pytest.mark.parametrize(("claimed", "choice"), [("4.6224 cm2", "one"), ("9.2448 cm2", "both"), ("10.5786 cm2", "all")])
def test_one_face_both_faces_and_all_over_are_told_apart_at_two_percent(claimed: str, choice: str) -> None:
    part = disk(24.26, 1.75, percent=2.0)
    verdict = check_claims(read_claims({"area": claimed, "uncertainty": "2%"}), part)
    assert [one.choice for one in verdict.comparisons if one.agrees] == [choice]


@pytest.mark.parametrize(
    ("claimed", "said", "slip"),
    [
        ("4.6224 cm2", "both", "one-face"),
        ("9.2448 cm2", "all", "edges"),
        ("4.6224 cm2", "all", "one-face-only"),
        ("9.2448 cm2", "one", "two-faces"),
        (f"{10.5786 / IN2_CM2} cm2", "all", "cm2-in2"),
        ("10.5786 in2", "all", "cm2-in2-reverse"),
        ("1057.86 in2", "all", "in2-mm2"),
        ("1.63969 mm2", "all", "in2-mm2-reverse"),
        ("10.5786 dm2", "all", "dm2-cm2"),
        ("105.786 cm2", "all", "decimal-one-high"),
        ("1.05786 cm2", "all", "decimal-one-low"),
        (f"{2 * 4.6224 * 4 + 1.33379 * 2} cm2", "all", "radius"),
        ("10.446 cm2", "both", "fit-letter"),  # 9.2448 (297/279.4)^2: an area 13.0 % too large
        ("9.8255 cm2", "both", "mark-97"),  # 9.2448 / 0.97^2: an area 6.3 % too large
    ],
)
def test_a_wrong_area_of_a_disk_is_named(claimed: str, said: str, slip: str) -> None:
    claims = read_claims({"area": claimed, "faces": said, "uncertainty": "1%"})
    verdict = check_claims(claims, disk(24.26, 1.75, percent=1.0))
    assert verdict.failing == ("area",)
    assert first_keys(verdict) == (slip,)


def rod() -> MeasuredPart:
    """A turned rod, 40 x 12 mm: 1507.96 mm2 round, 226.19 mm2 of ends (closed forms); its outline has 480 mm2."""
    plated = math.pi * 12 * 40 + math.pi / 2 * 12**2
    return MeasuredPart(
        name="rod",
        rings=(((0, 0), (40, 0), (40, 12), (0, 12), (0, 0)),),
        face=Measured(value=480.0, unit="mm2", budget={"scale": 480.0 * 0.005}),
        perimeter_outer=exact(104.0, "mm"),
        perimeter_holes=exact(0.0, "mm"),
        thickness=None,
        faces="all",
        plated=Measured(value=plated, unit="mm2", budget={"scale": plated * 0.005}),
        form="turned",
    )


@pytest.mark.parametrize(
    ("claimed", "slip"),
    [("9.60 cm2", "flat-part"), ("4.80 cm2", "flat-face"), (f"{17.3416 / 0.97**2} cm2", "mark-97")],
)
def test_a_part_that_was_counted_flat_is_named(claimed: str, slip: str) -> None:
    part = rod()
    verdict = check_claims(read_claims({"area": claimed, "faces": "all", "uncertainty": "1%"}), part)
    assert verdict.failing == ("area",)
    assert slip in first_keys(verdict)
    right = check_claims(read_claims({"area": "17.34 cm2", "faces": "all", "uncertainty": "1%"}), part)
    assert right.agrees


# The bracket: 3510.0 mm2 all over; rectangle 2 * 1500 + 510; without holes the same, as the plate is a rectangle.
def test_holes_and_rectangle_both_stay_when_both_would_explain() -> None:
    verdict = check_claims(read_claims({"area": "15.00 cm2", "faces": "one", "uncertainty": "0.5%"}), bracket())
    assert all_keys(verdict) == {"holes", "rectangle"}


def test_the_bounding_circle_is_named() -> None:
    diameter = math.hypot(60, 25)  # 65 mm: a circle of 3318.3 mm2
    claims = read_claims({"area": f"{math.pi * diameter**2 / 400:.2f} cm2", "faces": "one", "uncertainty": "1%"})
    assert first_keys(check_claims(claims, bracket())) == ("circle",)


GOLD = {"metal": "gold", "bath": "gold-cyanide", "density": "19.32 ± 0 g/cm3"}
# 1.932 mg/cm2 for each micrometre of gold (density 19.32): 10 cm2 at 0.5 um take 9.66 mg.
LAYER = {**GOLD, "area": "10.00 cm2", "thickness": "0.500 um", "thickness_is": "mean", "uncertainty": "1%"}


# Masses of 9.66 mg in other units: 1 ozt = 31.1034768 g, 1 oz av = 28.349523125 g, 1 dwt = 1.55517384 g (exact).
# KAu(CN)2: 39.098 + 196.967 + 2 (12.011 + 14.007) = 288.10 g/mol, 68.37 % gold (standard atomic weights).
@pytest.mark.parametrize(
    ("thickness", "mass", "slip"),
    [
        ("0.500 um", f"{9.66 / 39.3701:.6g} mg", "um-uin"),
        ("0.500 uin", "9.66 mg", "um-uin-reverse"),
        ("0.500 mil", "9.66 mg", "mil-um"),
        ("0.500 um", f"{9.66 * 25.4:.6g} mg", "mil-um-reverse"),
        ("0.000500 in", "9.66 mg", "in-mm"),
        ("0.000500 mm", f"{9.66 * 25.4:.6g} mg", "in-mm-reverse"),
        ("0.500 um", f"{9.66e-3 / 28.349523125:.6g} ozt", "troy"),
        ("0.500 um", f"{9.66e-3 / 31.1034768:.6g} oz av", "troy-reverse"),
        ("0.500 um", "0.00966 ozt", "ozt-g"),
        ("0.500 um", f"{9.66e-3 / 31.1034768:.6g} g", "ozt-g-reverse"),
        ("0.500 um", "0.00966 dwt", "dwt-g"),
        ("0.500 um", f"{9.66e-3 / 1.55517384:.6g} g", "dwt-g-reverse"),
        ("0.500 um", f"{9.66 / 0.6837:.6g} mg", "salt-mass"),
        ("0.500 um", f"{9.66 / 0.750:.6g} mg", "fineness-750-mass"),
        ("0.500 um", f"{9.66 / 0.585:.6g} mg", "fineness-585-mass"),
        ("0.500 um", f"{9.66 * 100:.6g} mg", "decimal-two-low"),
    ],
)
def test_a_wrong_mass_or_thickness_is_named(thickness: str, mass: str, slip: str) -> None:
    verdict = check_claims(read_claims({**LAYER, "thickness": thickness, "mass": mass}))
    assert "mass-thickness" in verdict.failing
    assert slip in all_keys(verdict)


@pytest.mark.parametrize(
    ("entries", "ruled_out"),
    [
        ({"area": "10.00 cm2"}, {"dm2-cm2", "cm2-in2-reverse", "in2-mm2", "in2-mm2-reverse"}),
        ({"mass": "9.66 mg"}, {"troy", "troy-reverse", "ozt-g", "dwt-g"}),
        ({"charge": "60 C", "mass": "9.66 mg"}, {"ah-amin", "ah-amin-reverse"}),
        ({"time": "90 s", "current": "1 A"}, {"h-min", "h-min-reverse", "min-s"}),
        ({"price": "75 EUR/g", "mass": "9.66 mg"}, {"troy-price", "ozt-g-price", "dwt-g-price"}),
    ],
)
def test_the_unit_of_an_entry_rules_slips_out(entries: dict[str, str], ruled_out: set[str]) -> None:
    tried = {slip.key for slip in slips(read_claims({**GOLD, **entries}))}
    assert not tried & ruled_out
    assert tried


@pytest.mark.parametrize(
    ("price", "slip"),
    [("75.00 EUR/ozt", "ozt-g-price"), (f"{75 * 31.1034768:.2f} EUR/g", "ozt-g-price-reverse"),
     ("75.00 EUR/dwt", "dwt-g-price"), (f"{75 * 0.6837:.3f} EUR/g", "salt-price"),
     (f"{75 * 0.75:.3f} EUR/g", "fineness-750-price")],
)  # fmt: skip
def test_a_wrong_price_is_named(price: str, slip: str) -> None:
    """9.66 mg at 75 EUR/g cost 0.7245 EUR."""
    entries = {**LAYER, "mass": "9.66 mg", "metal_line": "0.7245 EUR"}
    assert check_claims(read_claims({**entries, "price": "75.00 EUR/g"})).agrees
    verdict = check_claims(read_claims({**entries, "price": price}))
    assert verdict.failing == ("metal-line",)
    assert slip in all_keys(verdict)


def test_no_salt_is_suspected_where_the_bath_has_none() -> None:
    sulfite = {**LAYER, "bath": "gold-sulfite", "mass": f"{9.66 / 0.6837:.6g} mg"}
    assert "salt-mass" not in {slip.key for slip in slips(read_claims(sulfite))}


# 1 A/dm2 = 9.290304 A/ft2 (1 ft = 3.048 dm).
def test_a_current_density_is_compared_on_the_area_that_carries_it() -> None:
    tank = {"bath": "nickel-watts", "area": "50.0 cm2", "current": "1.50 A", "uncertainty": "1%"}
    assert check_claims(read_claims({**tank, "current_density": "3.00 A/dm2"})).agrees
    wrong = check_claims(read_claims({**tank, "current_density": "3.00 A/ft2"}))
    assert wrong.failing == ("current-density",)
    assert "ft2-dm2" in all_keys(wrong)
    other = check_claims(read_claims({**tank, "current_density": f"{3 * 9.290304:.4g} A/dm2"}))
    assert "ft2-dm2-reverse" in all_keys(other)
    brush = {"bath": "nickel-brush", "area": "50.0 cm2", "current": "1.50 A", "current_density": "50.0 A/dm2"}
    assert not [one for one in compare(read_claims(brush)) if one.key == "current-density"]
    assert check_claims(read_claims({**brush, "footprint": "3.00 cm2", "uncertainty": "1%"})).agrees


def test_a_minimum_plated_as_the_mean_is_named_and_a_true_minimum_agrees() -> None:
    entries = {**LAYER, "thickness_is": "minimum", "allowance": "1.20 ± 0.02"}
    wrong = check_claims(read_claims({**entries, "mass": "9.66 mg"}))
    assert "mean-minimum" in all_keys(wrong)
    assert check_claims(read_claims({**entries, "mass": f"{9.66 * 1.2:.4g} mg"})).agrees


# Gold(I) 122.48 mg, gold(III) 40.83 mg for each A.min at 100 % (handbook-style table: 7.351 and 2.450 g/A.h).
@pytest.mark.parametrize(
    ("mass_mg", "slip"),
    [(122.48 * 0.72, None), (40.83 * 0.72, "valence"), (122.48 / 0.72, "efficiency-inverted"),
     (122.48, "efficiency-left-out"), (122.48 * 0.72 * 60, "ah-amin-reverse")],
)  # fmt: skip
def test_a_wrong_charge_is_named(mass_mg: float, slip: str | None) -> None:
    entries = {**GOLD, "charge": "1.000 A.min", "efficiency": "72 ± 1 %", "mass": f"{mass_mg:.5g} mg"}
    verdict = check_claims(read_claims({**entries, "uncertainty": "1%"}))
    if slip is None:
        assert verdict.agrees
    else:
        assert first_keys(verdict) == (slip,)


# -- textbook slips, as printed in exercises --


def test_textbook_chromium_area_converted_by_a_thousand_is_a_wrong_power_of_ten() -> None:
    """150 cm2 are 1.5 dm2; an exercise wrote 0.15 dm2. The right area is typed as a square plate."""
    side = math.sqrt(15000.0)
    corners = ((0.0, 0.0), (side, 0.0), (side, side), (0.0, side), (0.0, 0.0))
    face = Measured(value=15000.0, unit="mm2", budget={"edge": 75.0})
    part = MeasuredPart(
        name="plate", rings=(corners,), face=face, perimeter_outer=exact(4 * side, "mm"),
        perimeter_holes=exact(0.0, "mm"), thickness=None, faces="one", plated=face,
    )  # fmt: skip
    verdict = check_claims(read_claims({"area": "0.150 dm2", "faces": "one"}), part)
    assert first_keys(verdict) == ("decimal-one-low",)


def test_textbook_coin_thickness_two_places_off_is_named() -> None:
    """0.250 mm are 2.5e-2 cm; an exercise computed with 2.5e-4 cm, so its mass is a hundred times too small."""
    right_mg = 10.0 * 0.0250 * 19.32 * 1e3  # 10 cm2 of gold
    entries = {**GOLD, "area": "10.00 cm2", "thickness": "0.250 mm", "mass": f"{right_mg / 100:.4g} mg"}
    assert "decimal-two-high" in all_keys(check_claims(read_claims(entries)))


def test_textbook_nickel_stamping_divided_by_the_efficiency_is_named() -> None:
    """25 A for 60 min on 434.56 cm2 at 95 %: 0.06729 mm are right, a worked answer says 0.0744 mm."""
    entries = {
        "bath": "nickel-watts", "density": "8.902 ± 0 g/cm3", "area": "434.56 cm2", "current": "25.0 A",
        "time": "60.0 min", "efficiency": "95%",
    }  # fmt: skip
    right = check_claims(read_claims({**entries, "thickness": "0.0673 mm"}))
    assert right.agrees
    wrong = check_claims(read_claims({**entries, "thickness": "0.0744 mm"}))
    assert wrong.failing == ("layer-charge",)
    assert "efficiency-inverted" in all_keys(wrong)


def test_handbook_time_for_gold_three_that_fits_gold_one_is_named() -> None:
    """A table gives 16 min for 10 um of Au(III) at 1 A/dm2 and 100 %; that is the time of Au(I) (15.8 min)."""
    entries = {
        "bath": "gold-chloride", "density": "19.32 ± 0 g/cm3", "area": "1.000 dm2", "thickness": "10.0 um",
        "current": "1.000 A", "time": "16 min", "efficiency": "100 ± 0 %",
    }  # fmt: skip
    assert "valence" in all_keys(check_claims(read_claims(entries)))


@pytest.mark.parametrize(
    ("bath", "factor", "fails"),
    [
        ("platinum-4", "0.015 A.h/in2/0.0001in", True),  # 129 % if Pt(IV): impossible
        ("platinum-2", "0.015 A.h/in2/0.0001in", False),  # 64 % if Pt(II)
        ("silver-brush", "0.750 A.h/in2/0.0001in", True),  # 0.6 %: a misprint
        ("gold-brush", "0.006 A.h/in2/0.0001in", False),  # 72 %
    ],
)
def test_handbook_plating_factors_that_imply_the_impossible_are_caught(bath: str, factor: str, fails: bool) -> None:
    """ASM Handbook vol. 5, selective plating, Table 1."""
    verdict = check_claims(read_claims({"bath": bath, "factor": factor}))
    assert (verdict.failing == ("factor",)) is fails
    if bath == "platinum-4":
        assert "valence" in all_keys(verdict)


# -- how often chance explains --


def test_random_claims_are_not_explained_more_often_than_chance_allows() -> None:
    """Claims even on a log scale: the slips of area at 2 % may cover no more than their bands together."""
    part = disk(24.26, 1.75, percent=2.0)
    right = 1057.86e-6
    rng = np.random.default_rng(13528)
    ratios = np.exp(rng.uniform(-math.log(100), math.log(100), 1200))
    explained = disagreeing = 0
    for ratio in ratios:
        claims = Claims(
            faces="all", area=Measured(value=right * ratio, unit="m2", budget={"claim": 0.01 * right * ratio})
        )
        verdict = check_claims(claims, part)
        disagreeing += not verdict.agrees
        explained += bool(verdict.explanations)
    # Each slip with 2 % on both sides covers at most 2 * hypot(0.02, 0.02) of 2 ln 100; the ends round up.
    slips = (
        "cm2-in2",
        "in2-cm2",
        "dm2",
        "cm2-dm2",
        "x10",
        "/10",
        "one-face",
        "edges",
        "one-only",
        "letter",
        "97",
        "square",
        "flat",
        "r",
        "d",
    )
    bound = len(slips) * 2 * math.hypot(0.02, 0.02) * 1.05 / (2 * math.log(100))
    rate = explained / len(ratios)
    spread = 3 * math.sqrt(bound * (1 - bound) / len(ratios))
    stated = check_claims(
        Claims(faces="all", area=Measured(value=right * 1.7, unit="m2", budget={"c": right * 0.017})), part
    )
    counted = f"{100 * rate:.2f} % of {len(ratios)} random claims explained"
    print(f"{counted}; stated {100 * stated.chance['area']:.2f} %, bound {100 * bound:.2f} %")
    assert rate <= bound + spread
    assert abs(rate - stated.chance["area"]) < 3 * math.sqrt(rate * (1 - rate) / len(ratios)) + 0.003
    assert disagreeing > 0.98 * len(ratios)


def test_what_no_slip_fits_stays_unexplained() -> None:
    verdict = check_claims(read_claims({"area": "17.3 cm2", "faces": "all", "uncertainty": "2%"}), disk(24.26, 1.75))
    assert verdict.failing == ("area",)
    assert verdict.unexplained() == ("area",)


def test_random_masses_are_not_explained_more_often_than_chance_allows() -> None:
    """The same for a mass of gold beside area and thickness, each known to 1 %: more slips fit."""
    base = read_claims({**LAYER, "mass": "30 mg"})
    rng = np.random.default_rng(4217)
    ratios = np.exp(rng.uniform(-math.log(100), math.log(100), 400))
    explained = 0
    for ratio in ratios:
        mass = Measured(value=9.66e-6 * ratio, unit="kg", budget={"mass as claimed": 0.005 * 9.66e-6 * ratio})
        explained += bool(check_claims(replace(base, mass=mass)).explanations)
    rate = explained / len(ratios)
    reach = math.sqrt(3) * 0.01  # mass, area and thickness, 1 % each
    # unit, decimal point, face, radius and print slips of area (2 + 2 + 4 + 2), thickness (2 + 4), mass (4, salt and
    # three alloys); mean for minimum alone is wider: 1.1 to 1.3 as a rectangle, expanded 2 * 0.0577 / 1.2
    bound = (24 * 2 * reach * 1.05 + 2 * math.hypot(reach, 2 * 0.0577 / 1.2)) / (2 * math.log(100))
    stated = check_claims(base).chance["mass-thickness"]
    counted = f"{100 * rate:.2f} % of {len(ratios)} random masses explained"
    print(f"{counted}; stated {100 * stated:.2f} %, bound {100 * bound:.2f} %")
    assert rate <= bound + 3 * math.sqrt(bound * (1 - bound) / len(ratios))
    assert abs(rate - stated) < 3 * math.sqrt(rate * (1 - rate) / len(ratios)) + 0.005


def test_two_slips_together_are_tried_only_when_asked_for() -> None:
    """One face for two and in2 for cm2: 9.2448 / 2 / 6.4516 cm2."""
    claims = read_claims({"area": "0.71647 cm2", "faces": "both", "uncertainty": "0.5%"})
    part = disk(24.26, 1.75, percent=0.5)
    assert check_claims(claims, part).unexplained() == ("area",)
    both = check_claims(claims, part, two_slips=True)
    assert {"one-face", "cm2-in2"} in [set(one.keys) for one in both.explanations]
    assert all(len(one.slips) == 2 for one in both.explanations)


def test_a_slip_of_a_power_of_ten_says_which_way() -> None:
    """0.5 um on 12.5 cm2 of gold at 19.32 g/cm3 are 12.07 mg (product of the three)."""
    entries = {"metal": "gold", "area": "12.50 cm2", "thickness": "0.500 um", "uncertainty": "1 %"}
    for mass, said in (("120.7 mg", "10 times too large"), ("1.207 mg", "10 times too small")):
        verdict = check_claims(read_claims({**entries, "thickness_is": "mean", "mass": mass}))
        words = " ".join(one.words for one in verdict.explanations)
        assert said in words


def test_edges_counted_in_where_both_faces_are_meant_are_named() -> None:
    """Both faces of the bracket are 2886.9 mm2, its walls 623.1 mm2."""
    part = replace(bracket(), faces="both", plated=exact(2 * (60 * 25 - 2 * math.pi * 9), "mm2"))
    claims = read_claims({"area": "35.10 cm2", "faces": "both", "uncertainty": "1 %"})
    keys = {key for one in check_claims(claims, part).explanations for key in one.keys}
    assert "edges-added" in keys


def test_what_pays_for_the_metal_needs_line_and_price() -> None:
    """0.5 um on 12.5 cm2 need 12.07 mg of gold at least: 0.966 EUR at 80 EUR/g."""
    entries = {"metal": "gold", "area": "12.50 cm2", "thickness": "0.500 um", "thickness_is": "minimum"}
    enough = check_claims(read_claims({**entries, "price": "80.00 EUR/g", "metal_line": "1.10 EUR"})).floor
    assert enough is not None
    assert (enough.misses, enough.source) == (False, "metal that the metal line pays for")
    assert enough.claimed.value == pytest.approx(1.10 / 80e3)
    assert enough.needed.value == pytest.approx(0.5e-6 * 12.5e-4 * 19320.0)
    for alone in ({"price": "80.00 EUR/g"}, {"metal_line": "1.10 EUR"}):
        assert check_claims(read_claims({**entries, **alone})).floor is None
