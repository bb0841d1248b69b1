"""The accuracy study: its statistics on rows made by hand, and two small scenes from drawing to summary."""

import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from math import isfinite, sqrt
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Point, box

from calibration.studies.accuracy import judge
from calibration.studies.accuracy_hand import hand_readings
from calibration.studies.accuracy_plot import plot_svg
from calibration.studies.accuracy_report import summary_markdown
from calibration.studies.accuracy_rows import Row, append_row, read_rows, write_rows
from calibration.studies.accuracy_scenes import CARD_SEEDS, entry_of, field_of, judged_scene
from calibration.studies.accuracy_summary import aims, figures, quantiles

PLAIN = Row(
    seed=100_000, layout="A4-r1", width_px=4032, height_px=3024, metal="steel", finish="matte", field="blue",
    good=1, thickness_mm=0.2, tilt_deg=5.0, area_cm2=60.0, perimeter_mm=400.0, error=0.1, expanded=0.5, e_n=0.2,
    perimeter_error=-0.4, perimeter_expanded=0.5,
    budget="edge position=0.15;edge of the part=0.2", seconds=0.4, box=12.0, squares=-3.0, paper_10mg=9.0,
    paper_1mg=5.0,
)  # fmt: skip


def rows_with(*errors: float, expanded: float = 0.5) -> list[Row]:
    return [
        replace(PLAIN, seed=100_000 + i, error=error, expanded=expanded, e_n=error / expanded)
        for i, error in enumerate(errors)
    ]


def refused(seed: int, *, good: int) -> Row:
    nothing = float("nan")
    return replace(PLAIN, seed=seed, good=good, refused="NO_PART", error=nothing, expanded=nothing, e_n=nothing)


def test_bias_spread_and_coverage_are_those_of_the_textbook() -> None:
    found = figures([*rows_with(-0.2, 0.0, 0.2, 0.8), refused(1, good=0)])
    assert (found.scenes, found.measured, found.refused) == (5, 4, 1)
    assert found.bias == pytest.approx(0.2)
    assert found.spread == pytest.approx(sqrt((0.16 + 0.04 + 0.0 + 0.36) / 3))
    assert found.covered == pytest.approx(75.0)
    assert found.covered_spread == pytest.approx(100.0 * sqrt(0.75 * 0.25 / 4))


def test_p95_of_a_normal_error_is_1_96_standard_deviations() -> None:
    errors = np.random.default_rng(1).normal(0.0, 0.1, 4000)
    found = figures(rows_with(*errors.tolist(), expanded=0.2))
    assert found.p95 == pytest.approx(0.196, rel=0.05)
    assert found.covered == pytest.approx(95.45, abs=1.2)  # k = 2, JCGM 100:2008 table G.1


def test_the_share_for_burr_is_taken_off_in_quadrature() -> None:
    # 2 x 0.15 without burr, 2 x 0.25 with it
    assert replace(PLAIN, error=0.29).covered_as_drawn
    assert not replace(PLAIN, error=0.31).covered_as_drawn


def test_a_gross_error_is_silent_unless_a_flag_speaks_of_the_outline() -> None:
    wrong = rows_with(1.6)[0]
    assert wrong.silent_gross
    assert replace(wrong, flags="SHADOW_AT_EDGE;TILT_HIGH").silent_gross
    assert not replace(wrong, flags="TILT_HIGH;WEAK_EDGE").silent_gross
    assert not rows_with(1.4)[0].silent_gross


def test_aims_say_by_how_much_they_are_missed() -> None:
    rows = [*rows_with(*[0.4] * 38, 1.6, 0.4), refused(7, good=1), refused(8, good=0)]
    by_words = {aim.words: aim for aim in aims(rows)}
    bias = by_words["50 cm² and more, to 0.3 mm thick: bias, %"]
    assert not bias.met
    assert bias.missed_by == pytest.approx((39 * 0.4 + 1.6) / 40 - 0.1)
    assert by_words["truth within the stated uncertainty, % of all"].value == pytest.approx(97.5)
    assert by_words["gross errors without a word, % of scenes"].value == pytest.approx(100.0 / 42)
    assert by_words["good scenes refused, %"].value == pytest.approx(100.0 / 41)
    assert by_words["good scenes refused, %"].met


def test_rows_come_back_from_the_csv_without_a_line_cut_short(tmp_path: Path) -> None:
    path = tmp_path / "rows.csv"
    write_rows(path, rows_with(0.25))
    append_row(path, refused(99, good=1))
    with path.open("a", encoding="utf-8") as file:
        file.write("100007,A4-r1,40")
    back = read_rows(path)
    assert [row.seed for row in back] == [99, 100_000]
    assert repr(back[1]) == repr(rows_with(0.25)[0])
    assert not back[0].measured


def test_the_summary_holds_every_aim_and_every_group_and_the_plot_is_sound_svg() -> None:
    rows = [*rows_with(0.1, -0.2, 2.5), refused(5, good=1)]
    text = summary_markdown(rows)
    assert all(aim.words in text for aim in aims(rows))
    assert "| blue | 4 | 1 |" in text
    assert "| NO_PART | 1 | 1 | 5 |" in text
    assert "| 0.1 to 0.3 mm | 3 | 100.0 | -0.40 | 0.40 | 0.50 |" in text
    root = ElementTree.fromstring(plot_svg(rows))
    assert sum(element.tag.endswith("circle") for element in root.iter()) == 2 + 2  # two dots, two in the legend


def test_scenes_with_a_dark_card_have_seeds_of_their_own_and_a_table() -> None:
    assert all(judged_scene(seed).light.card_mm == 0.0 for seed in (5_000, 100_000, 100_639, 160_000))
    carded = [judged_scene(seed) for seed in CARD_SEEDS[:20]]
    assert all(280.0 <= scene.light.card_mm <= 420.0 and scene.camera.tilt_deg <= 8.0 for scene in carded)
    assert {field_of(scene) for scene in carded} == {"white", "pale"}
    assert {scene.metal.name for scene in carded} == {"nickel", "silver", "steel"}
    plain = [replace(row, field="white", finish="mirror") for row in rows_with(4.0, -6.0, expanded=8.0)]
    dark = [replace(row, seed=150_000 + i, card=1, error=0.5, expanded=2.0) for i, row in enumerate(plain)]
    text = summary_markdown([*plain, *dark])
    assert "2 simulated photos" in text
    assert "| white, as it comes | 2 | 0 |" in text
    assert "| white, dark card | 2 | 0 |" in text


def test_what_the_user_enters_is_wrong_by_its_stated_uncertainty() -> None:
    scenes = {seed: judged_scene(seed, thickness_mm=(2.0, 2.0)) for seed in range(200_000, 200_060)}
    entries = {seed: entry_of(scene, seed) for seed, scene in scenes.items()}
    stated = sqrt(0.02**2 + 0.04**2)
    misses = [(e.thickness.value - 2.0) / stated for e in entries.values()]
    assert np.std(misses) == pytest.approx(1.0, abs=0.3)
    true = [s.print.scale_x * s.sheet.check_lengths_mm[0] for s in scenes.values()]
    read = [e.reading.read_mm[0] for e in entries.values()]
    assert np.std(np.subtract(read, true)) == pytest.approx(0.1, abs=0.03)
    assert sum(field_of(scene) == "blue" for scene in scenes.values()) / 60 == pytest.approx(0.7, abs=0.18)


def test_counting_squares_of_a_large_square_is_right_up_to_pencil_and_miscount() -> None:
    plate = box(0.0, 0.0, 100.0, 100.0)
    areas = [hand_readings(plate, np.random.default_rng(i))["squares"] for i in range(60)]
    # 0.15 mm of pencil on 400 mm of edge: +60 mm2; spread 60 mm2 of pencil and 50 mm2 of miscount
    assert np.mean(areas) == pytest.approx(10_060.0, abs=40.0)
    assert np.std(areas) == pytest.approx(sqrt(60.0**2 + 50.0**2), rel=0.3)


def test_a_guessed_box_errs_as_the_guess_does_and_a_heavy_balance_counts_in_steps() -> None:
    disc = Point(0.0, 0.0).buffer(20.0, quad_segs=64)
    readings = [hand_readings(disc, np.random.default_rng(i)) for i in range(200)]
    errors = np.array([r["box"] for r in readings]) / disc.area - 1.0
    # 0.07 and rounding of 0.05 on a fill of pi/4; a guess cannot exceed 1
    assert np.std(errors) == pytest.approx(sqrt(0.07**2 + 0.05**2 / 12) / (np.pi / 4), rel=0.2)
    steps = np.array([r["paper_10mg"] for r in readings]) * 80e-6 / 0.01
    assert np.allclose(steps, np.rint(steps))


def test_quantiles_leave_out_what_was_not_measured() -> None:
    assert quantiles([*rows_with(0.1, -0.3), refused(3, good=0)], "error") == pytest.approx((0.2, 0.29))
    assert not isfinite(quantiles([refused(3, good=0)], "error")[0])


@pytest.mark.slow
def test_two_small_scenes_go_from_drawing_to_summary() -> None:
    easy = {
        "size_px": (1600, 1200), "layout": "A4-r1", "area_cm2": (40.0, 60.0), "tilt_deg": (0.0, 5.0),
        "thickness_mm": (0.1, 0.2), "fields": ("blue",), "metals": ("steel",), "finishes": ("matte",),
        "shapes": ("bracket",), "blur_px": (0.7, 0.9), "edge_lift_mm": (0.0, 0.05), "effects": 0.2,
    }  # fmt: skip
    rows = [judge(seed, **easy) for seed in (300_000, 300_001)]
    assert all(row.measured and row.parts_found == 1 and row.holes_found == 3 for row in rows)
    assert all(abs(row.error) < 2.0 for row in rows)
    assert "2 simulated photos" in summary_markdown(rows)
    assert judge(300_000, **easy).error == rows[0].error
