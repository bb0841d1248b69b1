"""A number without a unit is refused by every option that takes one; what has no unit means the same everywhere.

The table names each option of each command that takes a figure; an option that is in no table fails the last test.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from areakit.cli.main import group
from areakit.errors import AreakitError
from areakit.units import BARE

PHOTO = "refused-blurred.jpg"
PLAN = ("plan", "--shop", "none", "--area", "12 cm2 ± 2%", "--process", "gold-brush", "--layer", "gold=0.5 um",
        "--efficiency", "gold=60%", "--current-density", "gold=10 A/dm2", "--footprint", "4 cm2")  # fmt: skip
TANK = (
    "plan",
    "--shop",
    "none",
    "--shape",
    "ring 30 x 12 x 2 mm",
    "--process",
    "nickel-tank",
    "--layer",
    "nickel=5 um",
)
BRUSH = ("plan", "--shop", "none", "--shape", "ring 30 x 12 x 2 mm", "--process", "gold-brush",
         "--layer", "gold=0.5 um", "--efficiency", "gold=60%",
         "--footprint", "20 x 10 mm", "--current-density", "gold=10 A/dm2")  # fmt: skip
DEPOSIT = ("deposit", "--metal", "gold", "--area", "12 cm2", "--charge", "3 A.min", "--efficiency", "70% ± 5%")
SPREAD = ("deposit", "--metal", "gold", "--from", "badge.json", "--charge", "3 A.min", "--efficiency", "70% ± 5%",
          "--footprint", "20 x 10 mm")  # fmt: skip
SLOPE, SIEMENS = ("--tafel-slope", "60 mV"), ("--conductivity", "10 S/m")
TANKED = ("deposit", "--method", "tank", "--metal", "nickel", "--from", "badge.json", "--charge", "3 A.min",
          "--efficiency", "95% ± 5%", "--bath", "nickel-watts")  # fmt: skip
REPORT = ("job", "report", "J1", "--output", "t.pdf")
CHECK = ("check", "--metal", "gold", "--area", "12 cm2", "--thickness", "1 um", "--mass", "20 mg")
SURFACE = ("surface", "--shape", "disk 30 mm", "--thickness", "2 mm", "--faces", "all")
STRIP = ("surface", "--shape", "rectangle 30 x 10 mm", "--thickness", "1 mm", "--faces", "all")
BOTTLE = ("bottle", "add", "NEW", "--solution", "s", "--metal", "gold", "--volume", "1 L", "--metal-content", "8 g/L")
STEP = ("job", "step", "J1", "--title", "Plate", "--metal", "gold", "--efficiency", "70%", "--charge", "1 A.min")
SOLUTION = ("solution", "add", "mine", "--metal", "gold", "--file", "own.toml")

# base, option, bare figure (behind NAME= where it takes one), its unit
REFUSED: dict[str, tuple[tuple[str, ...], str, str, str]] = {
    f"{base[0]} {option}": (base, option, bare, unit)
    for base, options in {
        PLAN: {"--footprint": ("4", "cm2"), "--contact-fraction": ("40", "%"),
               "--supply": ("5", "A"), "--stroke": ("60", "mm"), "--hand-speed": ("12", "m/min"),
               "--sleeve": ("10", "mL"), "--drag-out": ("80", "mL/m2"), "--meter-uncertainty": ("1", "%"),
               "--area": ("12", "cm2"), "--layer": ("gold=0.5", "um"), "--efficiency": ("gold=60", "%"),
               "--density": ("gold=17", "g/cm3"),
               "--current-density": ("gold=10", "A/dm2"), "--metal-content": ("gold=8", "g/L"),
               "--recover": ("sleeve=70", "%")},
        TANK: {"--shape": ("ring 30 x 12 x 2", "mm")},
        BRUSH: {"--overlap": ("30", "%"), "--overrun": ("8", "mm"), "--target-minimum": ("90", "%"),
                "--lane-scatter": ("2", "mm"), "--sleeve-thickness": ("3", "mm")},
    }.items()
    for option, (bare, unit) in options.items()
}  # fmt: skip


def _more(base: Sequence[str], name: str, **options: str) -> None:
    base = tuple(base)
    for option, figure in options.items():
        bare, unit = figure.split("|")
        option = "--" + option.strip("_").replace("_", "-")
        REFUSED[f"{name} {option}"] = (base, option, bare, unit)


_more(DEPOSIT, "deposit", area="12|cm2", area_uncertainty="2|%", charge="3|A.min", weighed="20|mg", efficiency="70|%",
      density="17|g/cm3")  # fmt: skip
_more((*DEPOSIT[:3], *DEPOSIT[5:]), "deposit", shape="disk 30|mm")
_more(DEPOSIT[:-2], "deposit", factor="60|A.h/in3")
_more(("deposit", "--metal", "gold", "--area", "12 cm2", "--efficiency", "70%", "--time", "8 min"), "deposit",
      current="0.4|A")  # fmt: skip
_more(("deposit", "--metal", "gold", "--area", "12 cm2", "--efficiency", "70%", "--current", "0.4 A"), "deposit",
      time="8|min")  # fmt: skip
_more(SPREAD, "deposit", footprint="4|cm2", hand_speed="12|m/min", overlap="30|%", overrun="8|mm",
      target_minimum="90|%", lane_scatter="2|mm", sleeve_thickness="3|mm")  # fmt: skip
_more(("plan", "--area", "12 cm2", *PLAN[5:]), "plan", area_uncertainty="2|%")
_more([one for one in PLAN if one not in {"--efficiency", "gold=60%"}], "plan", factor="gold=60|A.h/in3")
_more((*TANK, *SLOPE), "plan", conductivity="10|S/m")
_more((*TANK, *SIEMENS), "plan", tafel_slope="60|mV")
_more((*TANKED, *SLOPE), "deposit", conductivity="10|S/m")
_more((*TANKED, *SIEMENS), "deposit", tafel_slope="60|mV")
_more(("plan", PHOTO, *PLAN[1:3], *PLAN[5:]), "plan", thickness="1.2|mm",
      check_lengths="200 x 120|mm")  # fmt: skip
_more(("deposit", PHOTO, "--metal", "gold", "--charge", "3 A.min"), "deposit", thickness="1.2|mm",
      check_lengths="200 x 120|mm")  # fmt: skip
_more(CHECK, "check", area="12|cm2", thickness="0.5|um", required="0.5|um", density="17|g/cm3", mass="20|mg",
      charge="1|A.min", current="0.4|A", time="8|min", current_density="10|A/dm2", footprint="4|cm2",
      factor="60|A.h/in3", efficiency="70|%", uncertainty="2|%")  # fmt: skip
_more(SURFACE, "surface", shape="disk 30|mm", minus="disk 3|mm", plus="disk 8|mm", dome_height="2|mm")
_more(("surface", "d.svg"), "surface", edge="0.03|mm", sagitta="0.001|mm")
_more((*SURFACE, "--mask", "disk 8 mm"), "surface", overspill="0.3|mm", mask_edge="0.2|mm")
_more((*SURFACE, "--recess", "disk 8 mm"), "surface", recess_depth="0.3|mm")
_more(SURFACE, "surface", rim="1 mm x 0.3|mm", bevel="0.5 x 45 deg|=0.5 mm x 45 deg", thickness="0.8|mm")
_more((*STRIP, "--bend-axis", "0 deg"), "surface", bend_radius="9|mm")
_more(BOTTLE, "bottle add", volume="1|L", metal_content="8|g/L", allowed_charge="5|A.h/L", usable_fraction="30|%")
_more(("bottle", "draw", "G7"), "bottle draw", charge="1|A.h", mass="40|mg", volume="20|mL")
_more(("bottle", "top-up", "G7", "--volume", "10 mL"), "bottle top-up", volume="10|mL", mass="80|mg", charge="0.5|A.h")
_more(("bottle", "recover", "G7", "--into", "R7", "--volume", "40 mL"), "bottle recover", volume="40|mL",
      mass="300|mg", charge="0.5|A.h")  # fmt: skip
_more(("bottle", "check", "G7"), "bottle check", charge="12|A.min", mass="80|mg", carried="6|mL")
_more(STEP, "job step", voltage="8|V", charge="3|A.min", efficiency="72|%", meter="2|%", meter_step="0.01|A",
      pause_limit="2|min")  # fmt: skip
_more(STEP[:-2], "job step", target="3|A.min")
_more(("job", "log", "J1", "0.3 A"), "job log", voltage="8|V")
_more(("job", "require", "J1", "thick enough", "--metal", "gold"), "job require", minimum="2.5|um")
_more(("job", "test", "J1", "xrf", "value"), "job test", value="2.6|um")
_more(SOLUTION, "solution add", metal_content="8.2|g/L", plating_factor="60|A.h/in3", efficiency="72|%",
      allowed_charge="5|A.h/L", usable_fraction="30|%", voltage="4 to 10|V", current_density="5 to 15|A/dm2",
      speed="8 to 20|m/min")  # fmt: skip
_more(("sheet-check", "p1", "--sheet", "A5-r1", "--lengths", "150 x 90 mm"), "sheet-check", lengths="150 x 90|mm",
      uncertainty="0.1|mm")  # fmt: skip
_more(("verify", PHOTO, "--shape", "disk"), "verify", diameter="20|mm")
_more(("verify", PHOTO, "--shape", "ring", "--diameter", "20 mm"), "verify", hole="8|mm")
_more(("verify", PHOTO, "--shape", "disk", "--diameter", "20 mm"), "verify", thickness="3|mm",
      check_lengths="150 x 90|mm")  # fmt: skip
_more(("verify", PHOTO, "--shape", "rectangle", "--height", "20 mm"), "verify", width="40|mm")
_more(("verify", PHOTO, "--shape", "rectangle", "--width", "20 mm"), "verify", height="30|mm")
_more(("measure", PHOTO), "measure", thickness="1.2|mm", check_lengths="150 x 90|mm", form="turned, wall 1|mm",
      part="1: thickness 0.3|mm", mark="coin:25.75|mm")  # fmt: skip
_more(("repeat", PHOTO, "again.jpg"), "repeat", thickness="1.2|mm", check_lengths="150 x 90|mm")
_more(("lens-check", PHOTO), "lens-check", check_lengths="150 x 90|mm")
_more(("bottle", "correct", "G7", "1", "--reason", "r"), "bottle correct", set="volume=450|mL")
_more(("bottle", "coupon", "G7", "--charge", "3 A.min"), "bottle coupon", gain="9.4|mg")
_more(("bottle", "coupon", "G7", "--gain", "9.4 mg"), "bottle coupon", charge="3|A.min")
_more(("surface", "d.svg", "--thickness", "1 mm", "--faces", "all"), "surface", edge_form="rounded 0.2|mm")
_more(REPORT, "job report", footprint="4|cm2")
_more(("shop",), "shop", set="layers.gold=0.5|um")
_more(("surface", "d.svg"), "surface", form="turned, wall 1|mm")
_more(("job", "correct", "J1", "3", "--reason", "r"), "job correct", set="voltage=8|V")

NUMBERS: dict[str, tuple[tuple[str, ...], str, str, str]] = {
    "plan --allowance": (PLAN, "--allowance", "1.25", "125 %"),
    "plan --wagner": (TANK, "--wagner", "0.1", "10 %"),
    "deposit --allowance": (DEPOSIT, "--allowance", "1.25", "125 %"),
    "deposit --passes": (SPREAD, "--passes", "30", "3000 %"),
    "deposit --wagner": (TANKED, "--wagner", "0.1", "10 %"),
    "check --allowance": (CHECK, "--allowance", "1.25", "125 %"),
    "job report --wagner": (REPORT, "--wagner", "0.1", "0.1"),
    "surface --draft": (SURFACE, "--draft", "3", "3 deg"),
    "surface --bend-axis": ((*STRIP, "--bend-radius", "9 mm"), "--bend-axis", "0", "0 deg"),
    "surface --relief": (SURFACE, "--relief", "1.08 ± 0.02", "108 % ± 2 %"),
}
"""What has no unit of its own, and angles, which are degrees everywhere."""

OTHERS = {
    "--address", "--at", "--at-mm", "--back-relief", "--base", "--bath", "--because", "--bottle", "--brush", "--claims",
    "--condition", "--contains", "--count", "--currency", "--customer", "--date", "--despite", "--edge-make",
    "--edge-form", "--expiry", "--faces",
    "--file", "--folds", "--form",
    "--from", "--hole", "--into", "--job", "--jobs", "--journal", "--key",
    "--like", "--lot", "--mark-at", "--mark", "--market",
    "--mask", "--metal",
    "--metal-line", "--metal-price", "--name", "--number", "--part", "--part-number", "--photo", "--piece", "--pieces",
    "--pieces-per-load", "--place", "--plan", "--port", "--price", "--price-basis", "--price-date", "--sheet-copy",
    "--process", "--process-file", "--quantity", "--rates", "--reason", "--recess", "--region", "--remarks",
    "--requirement", "--role", "--run", "--sheet", "--shop", "--shots", "--significant", "--solution", "--solutions",
    "--standard", "--step", "--stop-off", "--temperature", "--title", "--unit", "--valid-days", "--wall-relief",
    "--who", "--with", "--words",
}  # fmt: skip
"""Names, words, days, whole numbers, prices (which carry their currency), points in mm of the sheet or outline; forms
and marks, whose figures are in the table at one command each."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    from areakit.datafiles import data_dir

    place = tmp_path_factory.mktemp("bench")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(place)
        patch.setenv("AREAKIT_JOURNAL", str(place / "j.sqlite"))
        patch.setenv("AREAKIT_SHOPS", str(place / "shop"))
        patch.setenv("AREAKIT_SHOP", "none")
        patch.setenv("AREAKIT_WHO", "Ana")
        Path(PHOTO).write_bytes((data_dir("demo_images") / PHOTO).read_bytes())
        Path("again.jpg").write_bytes(Path(PHOTO).read_bytes() + b"\0")
        Path("d.svg").write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="30mm" viewBox="0 0 30 30">'
            '<circle cx="15" cy="15" r="10"/></svg>',
            encoding="utf-8",
        )
        for words in (
            ("surface", "--shape", "disk 30 mm", "--save", "badge.json"),
            (
                "bottle",
                "add",
                "G7",
                "--solution",
                "s",
                "--metal",
                "gold",
                "--volume",
                "1 L",
                "--metal-content",
                "8 g/L",
            ),
            ("job", "new", "tag", "--number", "J1"),
            ("job", "measured", "J1", "badge.json"),
            STEP[:-2],
        ):
            assert run(*words).exit_code == 0, run(*words).output
        yield place


def run(*words: str) -> Result:
    return CliRunner().invoke(group, [*words])


def with_option(base: tuple[str, ...], option: str, value: str) -> Result:
    """Run a command with one option, in place of the same option for the same metal where the base has it."""
    name = value.split("=")[0] + "=" if "=" in value else ""
    words = list(base)
    for at in range(len(words) - 2, 0, -1):
        if words[at] == option and words[at + 1].startswith(name):
            del words[at : at + 2]
    return run(*words, option, value)


def told(result: Result) -> str:
    """Return what was said, of a refusal its own words."""
    error = result.exception
    assert error is None or isinstance(error, AreakitError | SystemExit), repr(error)
    return str(error) if isinstance(error, AreakitError) else result.output


@pytest.mark.thorough
@pytest.mark.parametrize("name", REFUSED)
def test_a_bare_number_is_refused_by_every_option_that_takes_a_unit(name: str, folder: Path) -> None:
    base, option, bare, unit = REFUSED[name]
    whole = unit[1:] if unit.startswith("=") else f"{bare} {unit}"
    refusal = told(with_option(base, option, bare))
    assert re.search(r"unit|is not a brush footprint|needs? (its|a) unit", refusal), refusal
    assert "unit" not in told(with_option(base, option, whole)).split("\n")[0], "with its unit"


@pytest.mark.parametrize("name", NUMBERS)
def test_what_has_no_unit_means_the_same_without_one(name: str, folder: Path) -> None:
    base, option, bare, whole = NUMBERS[name]
    first, second = (with_option(base, option, value) for value in (bare, whole))
    assert told(first) == told(second)
    assert first.exit_code == second.exit_code


def test_the_two_kinds_that_may_stand_bare() -> None:
    assert BARE == {"number": "1", "angle": "deg"}


def test_a_temperature_is_degrees_celsius_without_a_word(folder: Path) -> None:
    for value in ("55", "55 °C"):
        assert run("job", "log", "J1", "0.3 A", "--temperature", value).exit_code == 0
    entries = json.loads(run("job", "show", "J1", "--json").output)["entries"]
    assert [read for one in entries if (read := one["doc"].get("temperature_c"))] == [55.0, 55.0]


def every_option() -> Iterator[str]:
    def walk(command: click.Command, path: tuple[str, ...]) -> Iterator[str]:
        if isinstance(command, click.Group):
            context = click.Context(command)
            for name in command.list_commands(context):
                inner = command.get_command(context, name)
                assert inner is not None
                yield from walk(inner, (*path, name))
            return
        for one in command.params:
            if (
                isinstance(one, click.Option)
                and not one.is_flag
                and not isinstance(one.type, click.Choice | click.Path)
            ):
                yield f"{' '.join(path)} {one.opts[0]}"

    return walk(group, ())


def test_no_option_is_in_no_table() -> None:
    known = {*REFUSED, *NUMBERS}
    left = [name for name in every_option() if name not in known and name.rpartition(" ")[2] not in OTHERS]
    assert left == []
