"""An option that would change nothing is refused in one sentence; where it does say something it is taken."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from areakit.cli.main import group
from areakit.errors import InputError, in_shell

SHAPE = ("--shape", "ring 30 x 12 mm")
DISK_SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="30mm" viewBox="0 0 30 30">{}</svg>'
DISK = DISK_SVG.format('<circle cx="15" cy="15" r="15"/>')
TANK = ("--process", "nickel-tank", "--layer", "nickel=5 um", "--efficiency", "nickel=95%", "--shop", "none")
CHARGE = ("deposit", "--metal", "gold", "--efficiency", "72%", "--charge", "3 A.min")
NO_FILE, NO_MASK, NO_SHAPE = "about a file of a drawing", "about what is masked and stopped off", "about a typed shape"
NO_PHOTO, NO_AREA, NO_LANES = "about a photo", "about a part with an area", "only for lanes of a brush"


def run(*arguments: str, env: dict[str, str] | None = None) -> Result:
    return CliRunner().invoke(group, list(arguments), env=env)


def refused(*arguments: str) -> InputError:
    error = run(*arguments).exception
    assert isinstance(error, InputError), run(*arguments).output
    return error


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    """A drawing, what was printed of it, a plan and rates."""
    named = {name: str(tmp_path / name) for name in ("disk.svg", "part.json", "plan.json", "rates.toml")}
    Path(named["disk.svg"]).write_text(DISK)
    Path(named["part.json"]).write_text(run("surface", named["disk.svg"], "--json").output)
    planned = run("plan", "--from", named["part.json"], *TANK, "--json")
    Path(named["plan.json"]).write_text(planned.output)
    assert run("rates", "--example", "--output", named["rates.toml"]).exit_code == 0
    return named


@pytest.mark.parametrize(
    ("option", "why"),
    [
        (("--unit", "inch"), NO_FILE),
        (("--sagitta", "0.01 mm"), NO_FILE),
        (("--edge", "0.03 mm"), "about a drawing"),
        (("--mask-sides", "back"), NO_MASK),
        (("--mask-edge", "0.5 mm"), NO_MASK),
        (("--overspill", "0.3 mm"), NO_MASK),
        (("--hollow",), "about a dome"),
        (("--bend-axis", "0 deg"), "about a bent strip"),
        (("--wall-relief", "thread"), "about walls"),
    ],
)
def test_what_says_nothing_of_a_typed_shape_is_refused(option: tuple[str, ...], why: str) -> None:
    error = refused("surface", *SHAPE, *option)
    assert error.message.startswith(f"What was said of {option[0][2:].replace('-', ' ')} ")
    assert why in error.message
    assert error.remedy


@pytest.mark.parametrize("option", [("--plus", "disk 8 mm"), ("--minus", "disk 8 mm")])
def test_shapes_are_not_joined_to_what_is_no_shape(option: tuple[str, ...], files: dict[str, str]) -> None:
    assert NO_SHAPE in refused("surface", files["disk.svg"], *option).message
    assert NO_SHAPE in refused("surface", "--from", files["part.json"], *option).message


@pytest.mark.parametrize("option", [("--unit", "mm"), ("--sagitta", "0.01 mm"), ("--edge", "0.03 mm")])
def test_a_saved_result_is_no_drawing(option: tuple[str, ...], files: dict[str, str]) -> None:
    assert "about a" in refused("surface", "--from", files["part.json"], *option).message
    assert run("surface", files["disk.svg"], *option).exit_code == 0


def test_what_goes_with_another_option_is_taken_with_it(files: dict[str, str]) -> None:
    masked = ("--mask", files["disk.svg"], "--unit", "mm", "--mask-sides", "both", "--mask-edge", "0.5 mm")
    assert run("surface", *SHAPE, *masked, "--overspill", "0.3 mm").exit_code == 0
    assert NO_FILE in refused("surface", *SHAPE, "--mask", "disk 6 mm", "--unit", "mm").message
    domed = ("--dome-height", "2 mm", "--hollow", "--thickness", "1 mm", "--faces", "both")
    assert run("surface", "--shape", "disk 30 mm", *domed).exit_code == 0
    assert run("surface", *SHAPE, "--thickness", "3 mm", "--wall-relief", "thread", "--faces", "all").exit_code == 0
    bent = ("--bend-radius", "40 mm", "--bend-axis", "0 deg")
    assert run("surface", "--shape", "rectangle 30 x 10 mm", *bent).exit_code == 0


def test_an_overspill_counts_at_masks_that_were_saved(files: dict[str, str], tmp_path: Path) -> None:
    saved = str(tmp_path / "masked.json")
    assert run("surface", files["disk.svg"], "--stop-off", "disk 6 mm", "--save", saved).exit_code == 0
    body = json.loads(Path(saved).read_text())
    ring = [[12, -18], [18, -18], [18, -12], [12, -12]]
    body["parts"][0]["regions"] = {"hand_mm": 0.2, "drawn": [{"kind": "stop_off", "ring_mm": ring, "sides": "front"}]}
    Path(saved).write_text(json.dumps(body))
    told = run("surface", "--from", saved, "--overspill", "0.3 mm")
    assert told.exit_code == 0, told.exception


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (("--part", "1"), "one of a measurement"),
        (("--together",), "nothing to hang together with it"),
        (("--sheet-copy", "A5"), NO_PHOTO),
        (("--card-paper", "letter"), "about the page"),
    ],
)
def test_a_plan_of_a_typed_area_refuses_what_is_not_about_it(arguments: tuple[str, ...], why: str) -> None:
    assert why in refused("plan", "--area", "12 cm2", *TANK, *arguments).message


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (("--area", "12 cm2", "--part", "1"), "one of a measurement"),
        (("--area", "12 cm2", "--footprint", "4 cm2"), NO_LANES),
        (("--area", "12 cm2", "--hand-speed", "12 m/min"), NO_LANES),
        (("--area", "12 cm2", "--sheet-copy", "A5"), NO_PHOTO),
        (("--area-uncertainty", "2%"), NO_AREA),
        (("--part", "1"), NO_AREA),
        (("--allowance", "1.2"), NO_AREA),
        (("--density", "17 g/cm3"), NO_AREA),
    ],
)
def test_a_deposit_refuses_what_says_nothing(arguments: tuple[str, ...], why: str) -> None:
    assert why in refused(*CHARGE, *arguments).message


def test_a_deposit_by_weight_alone_has_no_use_for_an_efficiency() -> None:
    weighed = ("deposit", "--metal", "gold", "--area", "12 cm2", "--weighed", "12 mg")
    assert run(*weighed).exit_code == 0
    for option in (("--efficiency", "72%"), ("--factor", "60 A.h/in3")):
        assert "about a charge" in refused(*weighed, *option).message


def test_a_measured_area_has_its_own_uncertainty(files: dict[str, str]) -> None:
    given = (*CHARGE, "--method", "tank", "--from", files["part.json"])
    assert "has an uncertainty of its own" in refused(*given, "--area-uncertainty", "2%").message
    assert NO_LANES in refused(*given, "--hand-speed", "12 m/min").message
    plan = ("plan", "--process", "nickel-tank", "--layer", "nickel=5 um", "--from", files["part.json"])
    for more in ((), ("--part", "1")):
        assert "uncertainty of its own" in refused(*plan, *more, "--area-uncertainty", "2%").message


def test_the_wagner_number_of_a_deposit_follows_from_its_current(files: dict[str, str]) -> None:
    """Disk of 15 mm radius, one face of 7.069 cm2, 0.2 A: 10 x 0.060 / (2.302585 x 282.9 x 0.015) = 0.0614."""
    bath = ("--conductivity", "10 S/m", "--tafel-slope", "60 mV", "--method", "tank", "--json")
    by_current = ("deposit", "--metal", "gold", "--efficiency", "72%", "--current", "0.2 A", "--time", "8 min")
    body = json.loads(run(*by_current, "--from", files["part.json"], *bath).output)
    assert body["distribution"]["tank"]["wagner"] == pytest.approx(0.0614, rel=2e-3)
    assert "needs the current density" in refused(*CHARGE, "--from", files["part.json"], *bath).message


@pytest.mark.parametrize("option", ["--paper=letter", "--customer=x", "--from=x", "--job=x", "--part-number=1"])
def test_a_quote_refuses_words_for_a_page_that_is_not_written(option: str, files: dict[str, str]) -> None:
    priced = ("quote", "--plan", files["plan.json"], "--rates", files["rates.toml"])
    told = refused(*priced, *option.split("="))
    assert option.split("=")[0] in f"{told.message} {in_shell(told.remedy, told.fields)}"
    more = ("--pdf", files["plan.json"] + ".pdf", "--part", files["part.json"])
    assert run(*priced, *option.split("="), *more).exit_code == 0


@pytest.mark.parametrize("option", ["--paper=letter", "--part-number=1"])
def test_a_check_refuses_words_for_a_page_or_part_that_is_not_there(option: str) -> None:
    claimed = ("check", "--metal", "gold", "--area", "10 cm2", "--thickness", "0.5 um", "--mass", "9 mg")
    assert run(*claimed).exit_code == 0
    told = refused(*claimed, *option.split("="))
    assert option.split("=")[0] in f"{told.message} {in_shell(told.remedy, told.fields)}"


def test_a_sheet_copy_named_by_the_environment_is_no_option_that_was_typed() -> None:
    assert run("plan", "--area", "12 cm2", *TANK, env={"AREAKIT_SHEET_COPY": "A5"}).exit_code == 0
    both = refused("measure", "x.jpg", "--sheet-copy", "A5", "--check-lengths", "150 x 90 mm")
    assert "say the same of the sheet" in both.message


def test_claims_that_nothing_was_compared_with_are_named() -> None:
    claimed = ("check", "--metal", "gold", "--area", "10 cm2", "--thickness", "0.5 um", "--mass", "9 mg")
    assert "Not compared" not in run(*claimed).output
    assert "Not compared with anything: current." in run(*claimed, "--current", "0.4 A").output
    whole = run(*claimed, "--current", "0.4 A", "--time", "8 min", "--faces", "both").output
    assert "Not compared with anything: faces." in whole


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        (("--results", "all", "--overlay", "o.jpg"), "--overlay"),
        (("--same-parts", "--results", "all"), "--results"),
        (("--same-parts", "--jobs", "2"), "--jobs"),
        (("--mark-at", "400,400"), "--mark-at"),
        (("--mark", "frame", "--mark-at", "400,400"), "--mark-at"),
    ],
)
def test_an_option_of_another_way_to_measure_is_refused_before_a_photo_is_read(
    arguments: tuple[str, ...], option: str
) -> None:
    assert refused("measure", "a.jpg", "b.jpg", *arguments).message.startswith(f"{option} is about")


def test_a_wrong_figure_in_a_table_of_photos_is_told_with_its_photo(tmp_path: Path) -> None:
    table, photo = tmp_path / "t.csv", tmp_path / "badge.jpg"
    photo.write_bytes(b"x")
    table.write_text("photo,thickness\nbadge.jpg,1.2\n")
    told = refused("measure", "--table", str(table), "--results", str(tmp_path / "all"))
    assert told.message == "badge.jpg: 1.2 has no unit."


@pytest.mark.parametrize("text", ["-5 mm", "0 mm", "10.01 m", "1e300 mm"])
def test_a_thickness_that_no_part_has_is_told_before_a_photo_is_read(text: str) -> None:
    assert "is outside 0 to 10000 mm" in refused("measure", "none.jpg", "--thickness", text).message


def test_a_region_without_its_unit_is_not_sent_to_an_option_that_is_not_there(tmp_path: Path) -> None:
    region = tmp_path / "plug.geojson"
    region.write_text('{"type": "Polygon", "coordinates": [[[0, 0], [5, 0], [5, 5], [0, 0]]]}')
    told = refused("measure", "none.jpg", "--stop-off", str(region))
    assert told.message == "This GeoJSON file does not say its unit."
    assert "--unit" not in told.in_shell


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        (("surface", "--shape", "disk 1501 mm"), True),
        (("surface", "--shape", "disk 1499 mm"), False),
        (("surface", "--shape", "disk 0.19 mm"), True),
        (("surface", "--shape", "disk 0.21 mm"), False),
        (("plan", "--process", "nickel-tank", "--layer", "nickel=5 um", "--area", "4.6 m2"), True),
        (("plan", "--process", "nickel-tank", "--layer", "nickel=5 um", "--area", "4.4 m2"), False),
        ((*CHARGE, "--area", "0.039 mm2"), True),
        ((*CHARGE, "--area", "0.041 mm2"), False),
    ],
)
def test_a_typed_size_that_no_part_of_a_bench_has_is_asked_about(typed: tuple[str, ...], asked: bool) -> None:
    told = run(*typed, "--json")
    assert told.exit_code == 0, told.output
    assert ("no usual part of a bench has this size" in told.output) == asked


@pytest.mark.parametrize(
    ("radius", "told"), [("1e300 mm", "above 1000000 mm"), ("1.01 km", "unit"), ("0 mm", "above 0")]
)
def test_a_bend_of_no_radius_that_a_part_has_is_refused(radius: str, told: str) -> None:
    given = ("surface", "--shape", "rectangle 60 x 40 mm", "--thickness", "1 mm", "--faces", "both")
    assert told in refused(*given, "--bend-radius", radius).message
    assert run(*given, "--bend-radius", "999 m").exit_code == 0
