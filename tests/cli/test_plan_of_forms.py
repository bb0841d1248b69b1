"""Plans, maps, lanes, quotes and records of parts that are not flat."""

import json
import math
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

import areakit
from areakit.cli.main import group
from areakit.costing.measured_part import MeasuredPart
from areakit.errors import InputError
from areakit.records.measured_parts import read_measured_parts
from areakit.records.part_outlines import read_part_outlines
from areakit.reports.job_facts import facts_of
from areakit.reports.measure_page import measure_page
from areakit.service.card_outlines import outlines_drawn
from areakit.service.desk import Desk
from areakit.service.job import show_job
from areakit.service.plan import plan_all
from areakit.service.plan_request import PlanRequest
from areakit.service.spread import SpreadRequest
from areakit.service.traveller import report_content
from areakit.synthetic import ScenePart, render, save_photo
from tests.imaging.drawn_photos import BLOCK, MIDDLE_MM, scene_of

KNOB = "turned, axis long"
GOLD = ("--process", "gold-brush", "--layer", "gold=0.5 um", "--efficiency", "gold=handbook", "--footprint", "4 cm2")
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


def test_a_card_draws_the_lanes_over_what_they_are_led_over(saved: dict[str, Path]) -> None:
    measured = saved["rod"].read_text(encoding="utf-8")
    request = PlanRequest(
        measured=measured, process="gold-brush", layers={"gold": "0.5 um"}, efficiency={"gold": "handbook"},
        footprint="20 x 15 mm", spread=SpreadRequest(pictures=True), shop="none",
    )  # fmt: skip
    (drawn,) = outlines_drawn(plan_all(request), measured)
    high = max(y for _, y in drawn.rings[0]) - min(y for _, y in drawn.rings[0])
    assert drawn.laid_flat
    assert high == pytest.approx(math.pi * 12, rel=0.01)
    outside = unary_union([LineString(lane).buffer(10.0) for lane in drawn.lanes])
    assert Polygon(drawn.rings[0]).difference(outside).area < 1e-6
    (plain,) = outlines_drawn(plan_all(replace(request, spread=SpreadRequest())), measured)
    assert not plain.laid_flat or plain.lanes


def test_traveller_and_certificate_say_the_form(saved: dict[str, Path], tmp_path: Path) -> None:
    for name, form, seen in (
        ("rod", KNOB, "Outline as seen"),
        ("leaf", "flat; form round, ends flat", "Outline as seen"),
    ):
        journal = ("--journal", str(tmp_path / f"{name}.sqlite"))
        run("job", "new", name, "--number", "J1", *journal)
        run("job", "measured", "J1", str(saved[name]), *journal)
        desk = Desk(path=tmp_path / f"{name}.sqlite", who="Ana", now=datetime.now(UTC))
        rows = dict(facts_of(show_job(desk, "J1")).areas)
        assert rows["Form"] == form
        assert rows["Plated"] == "all over"
        assert seen in rows
        assert "Faces plated" not in rows


def test_the_traveller_lays_lanes_over_the_outside_laid_flat_or_none(saved: dict[str, Path], tmp_path: Path) -> None:
    desk = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime.now(UTC))
    for name in ("rod", "leaf"):
        run("job", "new", name, "--number", name, "--journal", str(desk.path))
        run("job", "measured", name, str(saved[name]), "--journal", str(desk.path))
    page = report_content(desk, "rod", as_page=True, lanes="20 x 15 mm").decode()
    assert "Stroke lanes, outside laid flat" in page
    (outline,) = re.findall(r'<path d="([^"]+)"[^>]*evenodd', page.split("Stroke lanes")[1])
    ys = [float(point.split()[1]) for point in re.split("[MLz]", outline) if point]
    assert max(ys) - min(ys) == pytest.approx(math.pi * 12, rel=0.01)
    assert report_content(desk, "rod", as_page=False, lanes="20 x 15 mm").startswith(b"%PDF")
    with pytest.raises(InputError, match="is flat and round, and it cannot be laid flat"):
        report_content(desk, "leaf", as_page=True, lanes="20 x 15 mm")
    for name in ("rod", "leaf"):
        with pytest.raises(InputError, match="no map is for that"):
            report_content(desk, name, as_page=True, wagner=0.1)
        assert "Stroke lanes" not in report_content(desk, name, as_page=True).decode()


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


LENGTHS = "--check-lengths=200 x 120 mm"
X, Y = MIDDLE_MM


@pytest.fixture(scope="module")
def leaf_photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Draw a leaf, 1 mm thick, with a stem of 2 x 25 mm, and a bar beside it; figures of a photo count y upwards."""
    leaf = Point(0, 0).buffer(12, quad_segs=64).union(box(-1, -37, 1, 0))
    parts = tuple(
        ScenePart(polygon=polygon, thickness_mm=1.0, position_mm=at)
        for polygon, at in ((leaf, (X - 30.0, Y + 5.0)), (box(-20, -2, 20, 2), (X + 30.0, Y)))
    )
    scene = scene_of(BLOCK, parts=parts)
    return save_photo(tmp_path_factory.mktemp("leaf") / "leaf.jpg", render(scene), scene)


def planned_area(*arguments: str) -> float:
    """Return the area that a plan holds of one piece. [mm2]"""
    area: float = json.loads(run("plan", *arguments, *GOLD, "--json"))["area"]["per_piece"]["value"]
    return area


def test_a_photo_is_planned_with_the_words_of_its_parts_and_regions_at_once(leaf_photo: Path, tmp_path: Path) -> None:
    stem = f"rectangle 4 x 30 mm, at {X - 30} {Y + 21.9} mm"
    words = [LENGTHS, "--thickness=1 mm", "--part=2: form round, ends flat", f"--region={stem}: form round, ends flat"]
    words.append(f"--stop-off=disk 6 mm, at {X - 30} {Y - 5} mm")
    saved = tmp_path / "leaf.json"
    run("measure", str(leaf_photo), *words, "--save", str(saved))
    leaf, bar = line(saved)["parts"]
    assert [one["form"] for one in leaf["form_regions"]] == ["round"]
    assert bar["form"]["name"] == "round"
    assert any(one["name"] == "front stopped off" for one in leaf["surfaces"])
    for number, part in ((1, leaf), (2, bar)):
        area = planned_area(str(leaf_photo), *words, f"--part={number}")
        assert area == pytest.approx(part["plated_area"]["value"], rel=1e-6)


def test_a_wire_among_flat_parts_does_not_take_their_thickness(leaf_photo: Path, tmp_path: Path) -> None:
    saved = tmp_path / "both.json"
    edges = ("--edge-form=rounded 0.1 mm", "--faces=all")
    run("measure", str(leaf_photo), LENGTHS, "--thickness=1 mm", *edges, "--part=2: form round", "--save", str(saved))
    leaf, bar = line(saved)["parts"]
    assert leaf["thickness"]["value"] == pytest.approx(1.0)
    assert bar["thickness"] is None
    assert leaf["edge_form"] != bar["edge_form"] == "sharp"
    with pytest.raises(InputError, match="has no thickness"):
        refused("measure", str(leaf_photo), LENGTHS, "--thickness=1 mm", "--part=2: form round; thickness 1 mm")


def test_an_outline_like_that_of_wire_is_asked_about_until_somebody_says_its_form(leaf_photo: Path) -> None:
    for said, asked in (
        ((), [2]),
        (("--form=flat",), []),
        (("--part=2: form round",), []),
        (("--part=2: faces one",), [2]),
    ):
        told = run("measure", str(leaf_photo), LENGTHS, "--thickness=1 mm", *said, "--json")
        flags = [flag for part in json.loads(told)["parts"] for flag in part["flags"]]
        assert [flag["part"] for flag in flags if flag["code"] == "LOOKS_LIKE_STOCK"] == asked


@pytest.mark.parametrize("told", [("1", "2"), ("two",), ("0",)])
def test_a_part_is_one_number_or_a_number_with_words(told: tuple[str, ...]) -> None:
    given = [f"--part={one}" for one in told]
    result = CliRunner().invoke(group, ["plan", "--area", "10 cm2", *given, *GOLD])
    assert result.exit_code == 2
    assert "is not one part" in result.output


@pytest.mark.parametrize(
    "option", ["--region=disk 4 mm: form round", "--part=2: form round", "--hole=3,4", "--metal=1"]
)
def test_what_speaks_of_a_photo_is_refused_without_one(option: str) -> None:
    with pytest.raises(InputError, match=f"{option.split('=')[0]} is about a photo"):
        refused("plan", "--area", "10 cm2", option, *GOLD)


def test_a_shape_is_planned_with_its_regions_and_stop_offs_at_once(tmp_path: Path) -> None:
    plate, saved = ("--shape=rectangle 20 x 20 mm", "--thickness=1 mm"), tmp_path / "plate.json"
    stopped = planned_area(*plate, "--faces=one", "--stop-off=disk 10 mm")
    assert stopped == pytest.approx(400 - math.pi * 25, rel=1e-3)
    words = (*plate, "--region=rectangle 30 x 4 mm: form round, ends none")
    run("surface", *words, "--save", str(saved))
    assert planned_area(*words) == pytest.approx(line(saved)["parts"][0]["plated_area"]["value"], rel=1e-6)
