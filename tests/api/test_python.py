"""What Python is given is what the command line prints, and text, quantities and polygons say the same."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pint
import pytest
from click.testing import CliRunner

import areakit
from areakit.cli.main import group
from areakit.errors import InputError, MeasurementError, UnitError

ureg = areakit.ureg
DEMO = areakit.demo_photo("pierced-badge")
TOLD = {
    "thickness": "1.2 ± 0.1 mm",
    "faces": "all",
    "edge_make": "sheared",
    "edge_form": "rounded 0.1 mm",
    "check_lengths": "150 x 90 mm",
}
PLAN = {"process": "nickel-gold-brush", "footprint": "4 cm2", "pieces": 3, "base": "brass"}


def command(*arguments: str) -> dict:
    result = CliRunner().invoke(group, [*arguments, "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.fixture(scope="module")
def badge() -> areakit.Measurement:
    return areakit.measure(DEMO, **TOLD)


def test_a_photo(badge: areakit.Measurement) -> None:
    options = [f"--{name.replace('_', '-')}={text}" for name, text in TOLD.items()]
    assert badge.to_json() == command("measure", str(DEMO), *options)
    assert areakit.measure(DEMO.read_bytes(), **TOLD).plated.measured == badge.plated.measured


def test_a_photo_with_quantities_in_place_of_text(badge: areakit.Measurement) -> None:
    # ± 0.1 mm is the limit of a rectangular distribution: a standard uncertainty of 0.1 mm over the root of three
    thickness = ureg.Quantity(1.2, "mm").plus_minus(0.1 / math.sqrt(3.0))
    again = areakit.measure(DEMO, **{**TOLD, "thickness": thickness})
    assert again.plated.expanded_uncertainty.m == pytest.approx(badge.plated.expanded_uncertainty.m, rel=1e-8)


def test_a_refused_photo_raises_with_what_to_do() -> None:
    refused = CliRunner().invoke(group, ["measure", str(areakit.demo_photo("refused-crossing")), "--json"])
    with pytest.raises(MeasurementError) as caught:
        areakit.measure(areakit.demo_photo("refused-crossing"))
    told = json.loads(refused.stdout)["flags"][0]
    assert (caught.value.code, caught.value.message, caught.value.remedy) == tuple(told.values())


def test_the_overlay_is_written_also_where_the_photo_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "look.jpg"
    with pytest.raises(MeasurementError):
        areakit.measure(areakit.demo_photo("refused-crossing"), overlay=path)
    assert path.read_bytes().startswith(b"\xff\xd8")


def test_a_drawing_and_a_polygon(tmp_path: Path) -> None:
    plate = areakit.shape("rectangle 40 x 30 mm").difference(areakit.shape("disk 6 mm"))
    path = tmp_path / "plate.wkt"
    path.write_text(plate.wkt, encoding="utf-8")
    asked = ["surface", str(path), "--unit=mm", "--thickness=1 ± 0.05 mm", "--faces=all", "--stop-off=disk 10 mm"]
    from_polygon = areakit.plated_surface(plate, thickness="1 ± 0.05 mm", faces="all", stop_off="disk 10 mm")
    assert from_polygon.to_json() == command(*asked)
    from_file = areakit.plated_surface(
        path, unit="mm", thickness=1.0 * ureg.mm, faces="all", stop_off=areakit.shape("disk 10 mm")
    )
    assert from_file.plated.value.m_as("cm**2") == pytest.approx(from_polygon.plated.value.m_as("cm**2"))
    read = areakit.read_drawing(path, unit="mm")
    assert read.polygons[0].symmetric_difference(plate).area < 1e-9
    assert areakit.plated_surface(read).parts[0].polygon.equals(read.polygons[0])


def test_typed_shapes() -> None:
    typed = areakit.plated_surface(shape="disk 30 mm ± 0.1 mm", minus="disk 6 mm", thickness="1.5 mm", faces="all")
    arguments = ["--shape", "disk 30 mm ± 0.1 mm", "--minus", "disk 6 mm", "--thickness", "1.5 mm", "--faces", "all"]
    assert typed.to_json() == command("surface", *arguments)
    # pi (R² - r²) for each face and 2 pi (R + r) h for the walls (elementary geometry)
    exact = 2 * math.pi * (15**2 - 3**2) + 2 * math.pi * (15 + 3) * 1.5
    assert typed.plated.value.m_as("mm**2") == pytest.approx(exact, rel=1e-4)


def test_a_plan_from_text_and_from_quantities() -> None:
    texts = areakit.plan(
        "12.5 ± 0.2 cm2",
        layers={"nickel": "3 um", "gold": "0.5 um"},
        efficiency={"gold": "72% ± 6%"},
        current_density={"gold": "10 A/dm2"},
        **PLAN,
    )
    assert texts.to_json() == command(
        "plan", "--area=12.5 ± 0.2 cm2", "--process=nickel-gold-brush", "--layer=nickel=3 um", "--layer=gold=0.5 um",
        "--efficiency=gold=72% ± 6%", "--current-density=gold=10 A/dm2", "--footprint=4 cm2", "--pieces=3",
        "--base=brass",
    )  # fmt: skip
    quantities = areakit.plan(
        ureg.Quantity(12.5, "cm**2").plus_minus(0.1),
        layers={"nickel": 3 * ureg.um, "gold": 0.5 * ureg.um},
        efficiency={"gold": ureg.Quantity(72, "percent").plus_minus(3)},
        current_density={"gold": 10 * ureg.A / ureg.dm**2},
        **{**PLAN, "footprint": 4 * ureg.cm**2},
    )
    for one, other in zip(texts.layers, quantities.layers, strict=True):
        assert one.charge.value.m_as("C") == pytest.approx(other.charge.value.m_as("C"), rel=1e-9)
        spreads = [each.charge.expanded_uncertainty.m for each in (one, other)]
        assert spreads[0] == pytest.approx(spreads[1], rel=1e-6)


def test_a_plan_and_a_quote_and_a_check_go_on_from_a_measurement(badge: areakit.Measurement, tmp_path: Path) -> None:
    part, planned, rates = (tmp_path / name for name in ("part.json", "plan.json", "rates.toml"))
    part.write_text(json.dumps(badge.to_json()), encoding="utf-8")
    made = areakit.plan(badge, process="gold-brush", layers={"gold": "0.5 um"}, efficiency={"gold": "handbook"},
                        footprint="20 x 15 mm")  # fmt: skip
    assert made.to_json()["distribution"] is not None
    assert made.to_json() == command(
        "plan", "--from", str(part), "--process=gold-brush", "--layer=gold=0.5 um", "--efficiency=gold=handbook",
        "--footprint=20 x 15 mm",
    )  # fmt: skip
    planned.write_text(json.dumps(made.to_json()), encoding="utf-8")
    CliRunner().invoke(group, ["rates", "--example", "--output", str(rates)])
    quoted = areakit.quote(
        made, rates=rates, part=badge, metal_prices={"gold": "75.30 EUR/g ± 2%"}, price_date="2026-01-31"
    )
    assert quoted.to_json() == command(
        "quote", "--plan", str(planned), "--part", str(part), "--rates", str(rates), "--price-date=2026-01-31",
        "--metal-price=gold=75.30 EUR/g ± 2%",
    )  # fmt: skip
    assert sum(quoted.lines.values()) == pytest.approx(quoted.price)
    claims = {"area": 20 * ureg.cm**2, "faces": "one", "metal": "gold", "thickness": "0.5 um", "mass": "21 mg"}
    (checked,) = areakit.check_quote(claims, part=badge)
    assert checked.to_json() == command(
        "check", "--area=20 cm2", "--faces=one", "--metal=gold", "--thickness=0.5 um", "--mass=21 mg", "--part",
        str(part),
    )  # fmt: skip


def test_a_deposit(badge: areakit.Measurement, tmp_path: Path) -> None:
    part = tmp_path / "part.json"
    part.write_text(json.dumps(badge.to_json()), encoding="utf-8")
    found = areakit.deposit(
        badge, metal="gold", charge=3.2 * ureg.A * ureg.min, efficiency="72% ± 6%", footprint="4 cm2"
    )
    assert found.to_json() == command(
        "deposit", "--from", str(part), "--metal=gold", "--charge=3.2 A.min", "--efficiency=72% ± 6%",
        "--footprint=4 cm2",
    )  # fmt: skip
    assert found.minimum is not None
    assert found.mean is not None
    assert found.minimum.value < found.mean.value


def test_quantities_of_another_registry_are_understood() -> None:
    other = pint.UnitRegistry()
    ours = areakit.plated_surface(shape="disk 30 mm", thickness=1.5 * ureg.mm, faces="all")
    theirs = areakit.plated_surface(shape="disk 30 mm", thickness=other.Quantity(0.15, "cm"), faces="all")
    assert theirs.plated.value.m == pytest.approx(ours.plated.value.m)


@pytest.mark.parametrize("entry", [1.2, 1.2 * ureg.s, ureg.Quantity([1.0, 2.0], "mm"), ureg.Quantity(math.nan, "mm")])
def test_a_bare_number_or_a_wrong_quantity_is_refused(entry: object) -> None:
    with pytest.raises(UnitError) as caught:
        areakit.plated_surface(shape="disk 30 mm", thickness=entry, faces="all")
    assert caught.value.remedy


@pytest.mark.parametrize("outline", [areakit.shape("disk 3 mm").boundary, 7])
def test_what_is_no_outline_is_refused(outline: object) -> None:
    with pytest.raises(InputError):
        areakit.plated_surface(outline)


def test_a_polygon_that_crosses_itself_is_refused() -> None:
    from shapely.geometry import Polygon

    with pytest.raises(MeasurementError):
        areakit.plated_surface(Polygon([(0, 0), (10, 10), (10, 0), (0, 10)]))


def test_an_answer_goes_in_again_with_its_uncertainty(badge: areakit.Measurement) -> None:
    made = areakit.plan(badge.parts[0].plated, process="nickel-tank", layers={"nickel": "5 um"})
    assert made.area.expanded_uncertainty.m == pytest.approx(badge.plated.expanded_uncertainty.m, rel=1e-6)


def test_importing_areakit_brings_no_library() -> None:
    script = (
        "import sys, areakit; dir(areakit); "
        "print([name for name in ('cv2', 'skimage', 'shapely', 'numpy', 'pint', 'click') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_name_is_there_and_documented() -> None:
    for name in areakit.NAMES:
        assert getattr(areakit, name).__doc__, name
    with pytest.raises(AttributeError):
        _ = areakit.nothing
    assert (Path(areakit.__file__).parent / "py.typed").is_file()
