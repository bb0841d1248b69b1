"""Commands that take an outline take the same files, each with the unit that it states or that is said."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.errors import AreakitError
from tests.contracts.test_outline_readers import AREA, FILES, STATED

TANK = ("--process", "nickel-tank", "--base", "steel", "--layer", "nickel=5 um", "--efficiency", "nickel=95%")
COMMANDS = {
    "surface": ("surface", "--faces", "both"),
    "plan": ("plan", "--faces", "both", *TANK),
    "deposit": ("deposit", "--faces", "both", "--metal", "nickel", "--charge", "3 A.min", "--efficiency", "95%"),
}
WITHOUT_UNIT = {
    "wkt": b"POLYGON ((0 0, 60 0, 60 25, 0 25, 0 0))",
    "geojson": b'{"type": "Polygon", "coordinates": [[[0, 0], [60, 0], [60, 25], [0, 25], [0, 0]]]}',
    "dxf": FILES["dxf"]().replace(b"$INSUNITS\n 70\n4\n", b"$INSUNITS\n 70\n0\n"),
}


@pytest.fixture(autouse=True)
def nothing_stored(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("AREAKIT_JOURNAL", str(tmp_path / "none.sqlite"))
    monkeypatch.setenv("AREAKIT_SHOP", "none")


def drawn(folder: Path, name: str, data: bytes) -> str:
    path = folder / f"plate.{name}"
    path.write_bytes(data)
    return str(path)


def answered(*arguments: str) -> dict[str, Any]:
    done = CliRunner().invoke(group, [*arguments, "--json"])
    assert done.exit_code == 0, done.exception
    body: dict[str, Any] = json.loads(done.stdout)
    return body


def refusal(*arguments: str) -> AreakitError:
    error = CliRunner().invoke(group, list(arguments)).exception
    assert isinstance(error, AreakitError)
    return error


@pytest.mark.parametrize("name", FILES)
def test_all_of_them_find_the_same_area_in_every_format(tmp_path: Path, name: str) -> None:
    path = drawn(tmp_path, name, FILES[name]())
    unit = ("--unit", STATED[name]) if name in STATED else ()
    surface, plan, deposit = (answered(*command, path, *unit) for command in COMMANDS.values())
    for found in (surface["total_plated_area"], plan["area"]["per_piece"], deposit["area"]):
        assert found["value"] == pytest.approx(2 * AREA, rel=1e-6)


@pytest.mark.parametrize("name", WITHOUT_UNIT)
@pytest.mark.parametrize("command", COMMANDS)
def test_a_file_without_a_unit_is_refused_by_all(tmp_path: Path, command: str, name: str) -> None:
    error = refusal(*COMMANDS[command], drawn(tmp_path, name, WITHOUT_UNIT[name]))
    assert error.exit_code == 2
    assert "--unit mm" in error.in_shell


@pytest.mark.parametrize("command", ["plan", "deposit"])
def test_a_unit_without_a_drawing_is_refused(command: str) -> None:
    for more in (("--area", "10 cm2"), ("--shape", "disk 20 mm")):
        error = refusal(*COMMANDS[command], *more, "--unit", "mm")
        assert (error.exit_code, "a drawing, and there is none" in error.message) == (2, True)


@pytest.mark.parametrize("name", FILES)
def test_commands_that_measure_photos_say_what_reads_a_drawing(tmp_path: Path, name: str) -> None:
    error = refusal("measure", drawn(tmp_path, name, FILES[name]()))
    assert error.in_shell == f"plate.{name} is a drawing, and no photo. Have its surfaces found (areakit surface)."


def test_a_measurement_is_not_taken_for_a_drawing(tmp_path: Path) -> None:
    kept = str(tmp_path / "disk.json")
    answered("surface", "--shape", "disk 20 mm", "--save", kept)
    for command in COMMANDS.values():
        error = refusal(*command, kept)
        assert (error.exit_code, "This is a measurement" in error.message) == (2, True)
