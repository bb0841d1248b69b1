"""``areakit measure --same-parts``: two drawn photos of the same parts, the sheet turned by a quarter between them."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from click.testing import CliRunner, Result
from shapely import affinity
from shapely.geometry import Point

from areakit.cli.main import group
from areakit.errors import InputError
from areakit.synthetic import Camera, Chain, Patch, Scene, ScenePart, render, save_photo
from areakit.synthetic.family import draw_shape

SMALL = Camera(width_px=2016, height_px=1512, distance_mm=275.0, tilt_deg=5.0)
NOISY = Chain(blur_px=0.8, full_well=6000.0, s_curve=0.1, sharpening=0.4)
SHAPES = [
    draw_shape(np.random.default_rng(5), "bracket", 900.0),
    draw_shape(np.random.default_rng(3), "gear", 700.0),
    Point(0.0, 0.0).buffer(9.0, quad_segs=64),
    Point(0.0, 0.0).buffer(9.0, quad_segs=64),
]
PLACES = [(85.0, 80.0), (150.0, 70.0), (190.0, 115.0), (95.0, 128.0)]
OPTIONS = ("--thickness", "0.8 ± 0.05 mm", "--faces", "all", "--check-lengths", "200 x 120 mm")


def scene(turned: bool, seed: int, *, shapes: tuple[int, ...] = (0, 1, 2, 3)) -> Scene:
    """Sheet and parts turned together by a quarter in the picture."""
    camera = replace(SMALL, roll_deg=90.0, distance_mm=355.0) if turned else SMALL
    parts = tuple(
        ScenePart(polygon=SHAPES[i], thickness_mm=0.8, position_mm=PLACES[i], turn_deg=20.0 * i) for i in shapes
    )
    return Scene(parts=parts, camera=camera, chain=NOISY, seed=seed)


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("same")
    for name, one in (("a", scene(False, 1)), ("b", scene(True, 2)), ("few", scene(True, 3, shapes=(0, 1)))):
        save_photo(folder / f"{name}.jpg", render(one), one)
    swollen = scene(True, 4)
    grown = replace(swollen.parts[0], polygon=affinity.scale(swollen.parts[0].polygon, 1.015, 1.015, origin=(0, 0)))
    swollen = replace(swollen, parts=(grown, *swollen.parts[1:]))
    save_photo(folder / "other.jpg", render(swollen), swollen)
    return folder


def run(*arguments: str, stdin: str | None = None) -> Result:
    return CliRunner().invoke(group, list(arguments), input=stdin)


def measured(folder: Path, *names: str) -> Result:
    return run("measure", *(str(folder / f"{name}.jpg") for name in names), "--same-parts", *OPTIONS, "--json")


@pytest.fixture(scope="module")
def line(photos: Path) -> dict[str, Any]:
    result = measured(photos, "a", "b")
    assert result.exit_code == 0, result.output
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def test_the_line_is_a_measurement_of_its_schema_with_the_comparison(line: dict[str, Any]) -> None:
    jsonschema.validate(line, json.loads(run("schema").stdout))
    assert line["photo"] == "a.jpg + b.jpg"
    same = line["same_parts"]
    assert same["photos"] == ["a.jpg", "b.jpg"]
    assert same["turned_deg"] == pytest.approx(90.0, abs=1.0)
    assert [part["id"] for part in same["parts"]] == [1, 2, 3, 4]
    # The two equal discs are read in another order in the turned photo, and still paired.
    assert sorted(part["id_in_second"] for part in same["parts"]) == [1, 2, 3, 4]
    assert [part["id_in_second"] for part in same["parts"]] != [1, 2, 3, 4]


def test_every_part_covers_its_truth_and_lies_between_its_two_readings(line: dict[str, Any]) -> None:
    true = sorted(shape.area for shape in SHAPES)
    for part, area in zip(sorted(line["parts"], key=lambda p: p["face_area"]["value"]), true, strict=True):
        face = part["face_area"]
        assert abs(face["value"] - area) < face["expanded_uncertainty"]
    for part, one in zip(line["parts"], line["same_parts"]["parts"], strict=True):
        low, high = sorted((one["first"]["value"], one["second"]["value"]))
        assert low <= part["face_area"]["value"] <= high
        assert abs(one["difference"]["value"]) < one["difference"]["expanded_uncertainty"]
        assert one["first"]["value"] - one["second"]["value"] == pytest.approx(one["difference"]["value"])


def test_the_line_goes_on_to_a_plan(line: dict[str, Any]) -> None:
    asked = ("plan", "--process", "nickel-gold-brush", "--layer", "nickel=3 um", "--layer", "gold=0.5 um")
    result = run(*asked, "--efficiency", "gold=handbook", "--from", "-", "--json", stdin=json.dumps(line))
    assert result.exit_code == 0, result.output
    plans = [json.loads(one) for one in result.stdout.splitlines()]
    areas = {part["id"]: part["plated_area"]["value"] for part in line["parts"]}
    assert sorted(number for one in plans for number in one["parts"]) == list(range(1, len(areas) + 1))
    for one in plans:
        mean = sum(list(areas.values())[number - 1] for number in one["parts"]) / len(one["parts"])
        assert one["area"]["per_piece"]["value"] == pytest.approx(mean)


def test_a_person_reads_by_how_much_the_photos_are_apart(photos: Path) -> None:
    result = run("measure", str(photos / "a.jpg"), str(photos / "b.jpg"), "--same-parts", *OPTIONS)
    assert "a.jpg against b.jpg, the sheet turned by 90°" in result.stdout
    assert result.stdout.count("% apart (expected: within") == 4


def test_a_part_that_is_another_one_is_refused_by_its_size(photos: Path) -> None:
    """The bracket of the second photo is 3 % larger in area: both are right, and not of the same part."""
    result = measured(photos, "a", "other")
    assert result.exit_code == 3
    (flag,) = json.loads(result.stdout)["flags"]
    assert flag["code"] == "PHOTOS_DISAGREE"
    assert "part 1 disagree" in flag["message"]


def test_another_number_of_parts_is_refused(photos: Path) -> None:
    result = measured(photos, "a", "few")
    assert result.exit_code == 3
    assert json.loads(result.stdout)["flags"][0]["code"] == "PARTS_DIFFER"


def test_a_photo_that_cannot_be_read_is_named(photos: Path) -> None:
    result = measured(photos, "a", "gone")
    assert result.exit_code == 2
    assert "gone.jpg" in json.loads(result.stdout)["flags"][0]["message"]


def test_one_photo_twice_or_three_photos_are_no_pair(photos: Path) -> None:
    (photos / "copy.jpg").write_bytes((photos / "a.jpg").read_bytes())
    twice = measured(photos, "a", "copy").exception
    assert isinstance(twice, InputError)
    assert "same photo as a.jpg" in twice.message
    error = measured(photos, "a", "b", "few").exception
    assert isinstance(error, InputError)
    assert "there are 3" in error.message


@pytest.mark.thorough
def test_a_reflection_that_is_gone_in_the_other_photo_is_settled_and_told(tmp_path: Path) -> None:
    """A patch of red light on the bracket, in the first photo only: no stop-off, and nobody is asked."""
    spot = affinity.translate(SHAPES[0].buffer(-2.0).representative_point().buffer(2.5), *PLACES[0])
    red = Patch(polygon=spot, colour=(0.35, 0.02, 0.02), softness_mm=0.05, on=0)
    for name, one in (("a", scene(False, 1, shapes=(0,))), ("b", scene(True, 2, shapes=(0,)))):
        lit = replace(one, patches=(red,)) if name == "a" else one
        save_photo(tmp_path / f"{name}.jpg", render(lit), lit)
    alone = run("measure", str(tmp_path / "a.jpg"), *OPTIONS, "--json")
    assert "STOP_OFF_SEEN" in {flag["code"] for flag in json.loads(alone.stdout)["flags"]}
    document = json.loads(measured(tmp_path, "a", "b").stdout)
    jsonschema.validate(document, json.loads(run("schema").stdout))
    assert "STOP_OFF_SEEN" not in {flag["code"] for flag in document["flags"]}
    (settled,) = document["same_parts"]["settled"]
    assert (settled["photo"], settled["code"], settled["is"]) == ("a.jpg", "STOP_OFF_SEEN", "metal")
    text = run("measure", str(tmp_path / "a.jpg"), str(tmp_path / "b.jpg"), "--same-parts", *OPTIONS).stdout
    assert f"settled in a.jpg at {settled['at']} mm: metal, a reflection on it; {settled['how']}" in text
