"""areakit plan, deposit and solution, as typed."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from areakit.cli.main import COMMANDS, group
from areakit.errors import AreakitError, RangeError
from areakit.uncertainty import Measured
from areakit.units import show

PLAN = [
    "plan", "--area", "12.5 cm2", "--area-uncertainty", "2%", "--process", "nickel-gold-brush",
    "--layer", "gold=0.5 um", "--layer", "nickel=3 um", "--efficiency", "gold=72% ± 6%", "--footprint", "4 cm2",
    "--current-density", "gold=10 A/dm2", "--supply", "5 A", "--pieces", "3", "--base", "brass", "--market", "eu",
    "--details",
]  # fmt: skip


def run(*arguments: str, stdin: str | None = None) -> str:
    result = CliRunner().invoke(group, list(arguments), input=stdin, catch_exceptions=True)
    if isinstance(result.exception, AreakitError):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.output


def test_the_text_shows_numbers_units_origins_and_cautions() -> None:
    text = run(*PLAN, "--even-chance")
    for words in (
        "12.50 ± 0.25 cm²", "0.164 ± 0.016 A·min", "as entered", "28, 78, 89 %", "distribution allowance",
        "CAUTION", "hydrogen cyanide", "water-break-free", "sleeve", "FAA AC 43.13-1B", "CHECK: Nickel in or under",
    ):  # fmt: skip
        assert words in text, words
    assert max(len(line) for line in text.splitlines()) <= 112


def test_the_first_screen_says_in_short_what_to_set() -> None:
    """By hand: current is density times footprint, charge is Faraday's for 19.32 g/cm3 at 72 %."""
    text = run(*PLAN, "--even-chance")
    short = text.split("In short\n")[1].split("\n\n")[0].splitlines()
    cells = [re.split(r"  +", line) for line in short]
    assert cells[1] == [
        "layer",
        "minimum",
        "charge a piece",
        "mean current",
        "peak",
        "time",
        "metal, all pieces",
        "solution",
    ]
    nickel, gold = cells[2:]
    assert nickel[:2] == ["nickel", "3 µm"]
    assert nickel[3:6] == ["not known", "not known", "not known"]
    assert "No current or time is planned for nickel" in " ".join(text.split("Notes\n")[1].split())
    assert gold[:2] == ["gold", "0.5 µm"]
    assert gold[3] == "0.26 ± 0.16 A"  # 0.65 ± 0.40 of the peak
    assert gold[4] == "0.4 A"  # 10 A/dm2 on 4 cm2
    allowance = json.loads(run(*PLAN, "--json"))["layers"][1]["distribution_allowance"]["quantity"]["value"]
    charge = 19.32e3 * 12.5e-4 * 0.5e-6 * allowance * 96485.33 / (0.72 * 0.196967)  # kg/m3, m2, m, C/mol, kg/mol
    assert float(gold[2].split()[0]) == pytest.approx(charge / 60.0, rel=1e-3)


def test_json_is_one_object_in_the_stated_units() -> None:
    body = json.loads(run(*PLAN, "--json"))
    assert body["schema"] == "areakit.plan/2"
    assert body["area"]["per_piece"]["unit"] == "mm2"
    gold = body["layers"][1]
    assert gold["minimum_reached"]["unit"] == "um"
    assert gold["charge"]["unit"] == "A.min"
    assert gold["charge"]["value"] * 60 == pytest.approx(gold["charge"]["value_coulomb"])
    assert sum(gold["charge_shares"].values()) == pytest.approx(1.0)
    assert body["cautions"]


@pytest.mark.parametrize("flag", ["--no-cautions", "--quiet", "--no-caution"])
def test_nothing_switches_the_cautions_off(flag: str) -> None:
    assert CliRunner().invoke(group, [*PLAN, flag]).exit_code == 2


def test_a_measurement_is_piped_in() -> None:
    line = json.dumps({"parts": [{"plated_area": {"value": 1250.0, "unit": "mm2", "budget": {"scale": 12.5}}}]})
    start = PLAN[:1] + PLAN[5:]
    body = json.loads(run(*start, "--from", "-", "--json", stdin=line + "\n"))
    assert body["area"]["origin"]["kind"] == "measured"
    assert "scale" in body["layers"][1]["charge"]["budget"]


def test_a_missing_file_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(AreakitError, match="cannot be read"):
        run(*PLAN[:1], *PLAN[5:], "--from", str(tmp_path / "none.json"))


def test_the_lists_are_shown() -> None:
    assert "palladium-gold-brush" in run("plan", "--list-processes")
    requirements = run("plan", "--list-requirements")
    assert "mil-dtl-45204-1" in requirements
    assert "look it up" in requirements
    assert "gold-acid-hard" in run("plan", "--list-baths")


def test_a_process_of_ones_own_is_checked(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text('[processes.bare]\nmethod = "brush"\nsteps = ["degrease", "plate-nickel"]\n', encoding="utf-8")
    text = run(
        "plan",
        "--area",
        "10 cm2",
        "--process-file",
        str(file),
        "--process",
        "bare",
        "--layer",
        "nickel=2 um",
        "--details",
    )
    assert "not activated" in text


def test_what_did_this_charge_put_on_the_part() -> None:
    # closed form: 3.2 A·min x 60 x 196.96657 / 96485.33 x 0.72 = 282.2 mg; over 19.32 g/cm3 and 12.5 cm2 = 11.69 µm
    body = json.loads(
        run(
            "deposit", "--metal", "gold", "--area", "12.5 cm2 ± 0.2 cm2", "--charge", "3.2 A·min",
            "--efficiency", "72% ± 6%", "--json",
        )
    )  # fmt: skip
    assert body["mass"]["value"] == pytest.approx(282.2, abs=0.1)
    assert body["mean"]["value"] == pytest.approx(11.69, abs=0.01)
    assert body["minimum"]["value"] == pytest.approx(11.69 / 1.2, abs=0.01)
    assert body["cautions"]
    assert set(body["shares"]["mean"]) == {"area as entered", "gold efficiency", "gold density"}


def test_a_weighed_coupon_gives_the_efficiency() -> None:
    text = run("deposit", "--metal", "gold", "--charge", "3.2 ± 0.05 A.min", "--weighed", "282.2 ± 2 mg")
    assert "72.0 ± 1.2 %" in text
    by_current = json.loads(
        run("deposit", "--metal", "gold", "--current", "0.4 A", "--time", "8 min", "--weighed", "282.2 mg", "--json")
    )
    assert by_current["coupon_efficiency"]["value"] == pytest.approx(0.72, abs=0.0005)


def test_a_weighed_mass_gives_the_mean() -> None:
    # 1 µm of gold weighs 1.932 mg/cm2
    body = json.loads(run("deposit", "--metal", "gold", "--area", "10 cm2", "--weighed", "19.32 mg", "--json"))
    assert body["weighed_mean"]["value"] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--area", "3 cm2"], "neither a charge nor a weight gain"),
        (["--charge", "3 A.min"], "No cathode efficiency"),
        (["--charge", "3 A.min", "--current", "1 A"], "twice"),
        (["--current", "1 A"], "both current and time"),
        (["--charge", "0 A.min", "--efficiency", "72%"], "above zero"),
        (["--charge", "1 A.min", "--weighed", "900 mg"], "cannot be"),
    ],
)
def test_a_question_that_cannot_be_answered_says_why(arguments: list[str], words: str) -> None:
    with pytest.raises(AreakitError, match=words):
        run("deposit", "--metal", "gold", *arguments)


def test_a_solution_is_added_checked_listed_and_used(tmp_path: Path) -> None:
    file = str(tmp_path / "shelf" / "solutions.toml")
    run(
        "solution", "add", "shelf-gold", "--metal", "gold", "--plating-factor", "0.006 A.h/in2/0.0001in",
        "--metal-content", "30 g/L", "--contains", "cyanide", "--file", file,
    )  # fmt: skip
    assert "1 solution" in run("solution", "check", file)
    assert "71.8" in run("solution", "list", "--file", file)
    with pytest.raises(AreakitError, match="already"):
        run("solution", "add", "shelf-gold", "--metal", "gold", "--file", file)
    text = run(
        "plan", "--area", "10 ± 0.1 cm2", "--process", "gold-brush", "--layer", "gold=1 um",
        "--solution", "gold=shelf-gold", "--solutions", file, "--base", "nickel", "--details",
    )  # fmt: skip
    assert "label of solution shelf-gold" in text
    assert "300 ± " in text  # the sleeve holds 10 mL at 30 g/L


def test_help_has_an_example_for_every_option_that_takes_text() -> None:
    text = run("plan", "--help")
    assert text.count("Example:") >= 15
    assert {"plan", "deposit", "solution"} <= set(COMMANDS)


def test_the_plan_of_a_typed_area_loads_no_library_but_that_of_its_options() -> None:
    script = (
        "import sys\nfrom areakit.cli.main import group\n"
        f"group({PLAN!r}, standalone_mode=False)\n"
        "heavy = {'numpy', 'pint', 'pydantic', 'sqlite3', 'cv2', 'shapely', 'reportlab', 'rich'} & set(sys.modules)\n"
        "sys.exit(','.join(sorted(heavy)) or 0)"
    )
    result = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr


def test_a_mistake_is_one_line_and_exit_code_2() -> None:
    command = [sys.executable, "-m", "areakit", *PLAN[:5], "--process", "magic"]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert result.returncode == 2
    assert result.stderr.startswith("areakit: There is no process 'magic'.")
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--footprint", "0 cm2"), "brush footprint has no size"),
        (("--footprint", "0 cm2", "--pieces", "2"), "brush footprint has no size"),
        (("--footprint", "4 cm2", "--pieces", "9" * 400), "pieces is above"),
        (("--footprint", "4 cm2", "--pieces", "0"), "pieces is below"),
    ],
)
def test_a_bench_that_cannot_be_is_refused(arguments: tuple[str, ...], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        run("plan", "--area", "12.5 cm2", "--process", "nickel-gold-brush", "--layer", "nickel=3 um",
            "--layer", "gold=0.5 um", "--efficiency", "gold=72%", *arguments)  # fmt: skip


def test_a_layer_in_the_wrong_unit_is_asked_about() -> None:
    base = ("plan", "--area", "12.5 cm2", "--process", "nickel-tank", "--layer")
    thick = run(*base, "nickel=5 mm", "--details")
    assert "The nickel layer of 5000 µm is far thicker than plated layers usually are, up to 200 µm" in thick
    assert not re.search(r"\de\+\d", thick)
    assert "The nickel layer of 5000 µm is far thicker" in run(*base, "nickel=5 mm")  # on the first screen too
    assert "far thicker" not in run(*base, "nickel=200 um", "--details")


@pytest.mark.parametrize("efficiency", ["handbook", "gold=handbook"])
def test_a_deposit_takes_an_efficiency_with_the_name_of_its_metal(efficiency: str) -> None:
    """The remedy of a missing efficiency names the metal, as a plan needs it."""
    told = run("deposit", "--metal", "gold", "--area", "12.5 cm2", "--charge", "3.2 A.min", "--efficiency", efficiency)
    assert "mean thickness" in told


def test_what_may_be_nothing_is_not_stated_below_zero() -> None:
    layers = ("--layer", "gold=0.5 um", "--layer", "nickel=3 um", "--efficiency", "gold=handbook")
    told = run("plan", "--area", "18.2 ± 3.4 cm2", "--process", "nickel-gold-brush", *layers, "--details")
    rows = [line for line in told.splitlines() if "in the run-off" in line]
    assert rows
    for row in rows:
        shown = re.search(r"run-off +(\d\S*) ± (\S+)", row)
        assert shown is None or float(shown[1]) >= float(shown[2]), row


def test_only_what_moves_a_figure_is_named() -> None:
    asked = ("plan", "--area", "12.5 cm2", "--process", "nickel-tank", "--layer", "nickel=5 um", "--details")
    told = " ".join(run(*asked).split())
    moves = re.findall(r"main sources of ± (.*?) (?:CHARGE|over the)", told)
    assert moves
    assert not [one for one in moves if one.count("below 1 %") > 1]


def test_cyanide_is_the_first_caution() -> None:
    layers = ("--layer", "gold=0.5 um", "--layer", "nickel=3 um", "--efficiency", "gold=handbook")
    told = run("plan", "--area", "12 cm2", "--process", "nickel-gold-brush", *layers, "--details").split(
        "\nCautions\n"
    )[1]
    assert re.findall(r"^\[\d+\] ([\w-]+):", told, flags=re.MULTILINE)[:3] == ["cyanide", "fluoride", "dust"]


@pytest.mark.parametrize(
    ("value", "spread", "words"),
    [
        (3307.2, 334.1, "3310 ± 330 A·min"),
        (177368.0, 104055.0, "180000 ± 100000 A·min"),
        (45.047, 0.501, "45.05 ± 0.50 A·min"),
    ],
)
def test_no_figure_has_more_digits_than_two_of_its_uncertainty(value: float, spread: float, words: str) -> None:
    """JCGM 100:2008, 7.2.6."""
    assert show(Measured(value=value, unit="A.min", budget={"all": spread / 2.0})) == words
