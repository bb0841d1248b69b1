"""Plans, maps, lanes, quotes and records of parts that are not flat."""

import json
import math
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from shapely.geometry import Point, box

import areakit
from areakit.cli.main import group
from areakit.costing.measured_part import MeasuredPart
from areakit.errors import InputError
from areakit.records.measured_parts import read_measured_parts
from areakit.records.part_outlines import read_part_outlines
from areakit.reports.measure_page import measure_page

KNOB = "turned, axis long"
GOLD = ("--process", "gold-brush", "--layer", "gold=0.5 um", "--efficiency", "gold=handbook", "--contact", "4 cm2")
TANK = ("--process", "nickel-tank", "--layer", "nickel=5 um")


def run(*arguments: str) -> str:
    result = CliRunner().invoke(group, list(arguments))
    assert result.exit_code == 0, result.output
    return result.output


def refused(*arguments: str) -> None:
    CliRunner().invoke(group, list(arguments), catch_exceptions=False)


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Save a turned rod, 40 x 12 mm, and a leaf with a wire stem."""
    folder = tmp_path_factory.mktemp("forms")
    paths = {name: folder / f"{name}.json" for name in ("rod", "leaf")}
    run("surface", "--shape", "rectangle 40 x 12 mm", "--form", KNOB, "--save", str(paths["rod"]))
    leaf = ("--shape", "disk 20 mm", "--plus", "rectangle 2 x 40 mm, at 0 -20 mm", "--thickness", "1 mm")
    run("surface", *leaf, "--region", "rectangle 4 x 31 mm, at 0 -25.4 mm: form round, ends flat", "--save",
        str(paths["leaf"]))  # fmt: skip
    return paths


def line(path: Path) -> dict[str, Any]:
    body = json.loads(path.read_text(encoding="utf-8"))
    found: dict[str, Any] = body[0] if isinstance(body, list) else body
    return found


def test_a_plan_takes_the_surface_of_the_form(saved: dict[str, Path]) -> None:
    true = math.pi * 12 * 40 + math.pi / 2 * 12**2
    area = line(saved["rod"])["parts"][0]["plated_area"]["value"]
    assert area == pytest.approx(true, rel=1e-3)
    plan = json.loads(run("plan", "--from", str(saved["rod"]), *GOLD, "--json"))
    assert plan["area"]["per_piece"]["unit"] == "mm2"
    assert plan["area"]["per_piece"]["value"] == pytest.approx(area, rel=1e-6)


def test_a_map_and_lanes_of_a_turned_part_are_drawn_unrolled(saved: dict[str, Path], tmp_path: Path) -> None:
    pictures = [tmp_path / "map.svg", tmp_path / "lanes.svg"]
    told = run("plan", "--from", str(saved["rod"]), *GOLD, "--map", str(pictures[0]), "--lanes", str(pictures[1]))
    assert all(path.read_text(encoding="utf-8").startswith("<svg") for path in pictures)
    assert "laid flat" in " ".join(told.split())
    (outline,) = read_part_outlines(saved["rod"].read_text(encoding="utf-8"))
    assert outline is not None
    assert outline.unrolled is not None
    ys = [y for _, y in outline.unrolled[0]]
    assert max(ys) - min(ys) == pytest.approx(math.pi * 12, rel=0.01)  # its girth


def test_a_tank_and_a_part_of_several_forms_have_no_map_and_say_so(saved: dict[str, Path], tmp_path: Path) -> None:
    picture = ("--map", str(tmp_path / "map.svg"))
    with pytest.raises(InputError, match="no model here is for a tank"):
        refused("plan", "--from", str(saved["rod"]), *TANK, *picture)
    with pytest.raises(InputError, match="part 1 is flat and round"):
        refused("plan", "--from", str(saved["leaf"]), *GOLD, *picture)


def test_a_quote_knows_the_forms_and_no_other_faces_of_them(saved: dict[str, Path]) -> None:
    parts: dict[str, MeasuredPart] = {}
    for name, path in saved.items():
        (parts[name],) = read_measured_parts(path.read_text(encoding="utf-8"))
    assert parts["rod"].words == "turned part, all over"
    assert parts["leaf"].words == "flat and round part, all over"
    for part in parts.values():
        assert part.area("one") is None
        area = part.area("all")
        assert area is not None
        assert area.value * 1e6 == pytest.approx(part.plated.value)


def test_a_page_and_a_notebook_name_the_forms_and_miss_no_thickness() -> None:
    disc, stem = Point(0, 0).buffer(10), box(-1, -40, 1, 0)
    found = areakit.plated_surface(
        disc.union(stem), thickness="1 mm", regions=[(box(-2, -41, 2, -9.95), "form round, ends flat")]
    )
    (one,) = found.result.parts
    page = measure_page(title="Leaf", overlay=b"", parts=[(1, one.part.outline, one.surface)], flags=(), plan=None)
    for text in (page, found._repr_html_()):
        assert "flat and round, all over" in text
        assert "thickness not given" not in text
