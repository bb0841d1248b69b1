"""Plans over a real outline: the distribution behind the allowance, its pictures, and one command from a photo."""

import json
import math
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from copy import deepcopy
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.errors import AreakitError, InputError, MeasurementError
from areakit.records.codec import quantity_from_json
from areakit.records.schema import measure_schema, plan_schema
from areakit.synthetic import ScenePart, jpeg_bytes, render
from areakit.units import show_found
from tests.imaging.drawn_photos import BLOCK, WASHER, scene_of

DEMO = Path(__file__).resolve().parents[2] / "demo_images"
PHOTO = [str(DEMO / "pierced-badge.jpg"), "--thickness", "1.2 mm", "--faces", "all", "--check-lengths", "150 x 90 mm"]
TANK = ["--process", "nickel-tank", "--layer", "nickel=5 um"]
GOLD = ["--process", "gold-brush", "--layer", "gold=1 um mean", "--efficiency", "gold=72%", "--density",
        "gold=19.32 g/cm3", "--current-density", "gold=10 A/dm2"]  # fmt: skip
PLATE_HAND = ["--footprint", "10 x 8 mm", "--footprint-corners", "square", "--overlap", "50%", "--overrun", "5 mm",
              "--hand-speed", "12 m/min", "--lane-scatter", "0 mm"]  # fmt: skip


def run(*arguments: str, stdin: str | None = None) -> str:
    result = CliRunner().invoke(group, list(arguments), input=stdin, catch_exceptions=True)
    if isinstance(result.exception, AreakitError):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.output


def surface(*arguments: str) -> str:
    return run("surface", *arguments, "--json")


@cache
def plans() -> jsonschema.Draft202012Validator:
    """Return what judges a plan; its schema is checked once, in a test of its own."""
    return jsonschema.Draft202012Validator(plan_schema())


@cache
def planned(measured: str, *arguments: str) -> dict[str, Any]:
    """Return the JSON of a plan, which agrees with its schema; not to be changed by a test."""
    body: dict[str, Any] = json.loads(run("plan", "--from", "-", *arguments, "--json", stdin=measured))
    plans().validate(body)
    return body


def codes(body: dict[str, Any]) -> set[str]:
    return {flag["code"] for flag in body["flags"]}


DISK = surface("--shape", "disk 30 mm ± 0.1 mm", "--faces", "both")
RING = surface("--shape", "disk 30 mm ± 0.1 mm", "--minus", "disk 12 mm ± 0.1 mm", "--faces", "both")
PLATE = surface("--shape", "rectangle 90 x 45 mm", "--faces", "one")
BOTH = surface("--shape", "disk 30 mm", "--shape", "rectangle 60 x 6 mm", "--faces", "both")


def test_a_disk_in_a_tank_gets_twice_its_least_thickness_on_the_mean() -> None:
    # Newman, J. Electrochem. Soc. 113 (1966) 501: the primary density at the centre of a disk is half the mean.
    body = planned(DISK, *TANK)
    found = body["distribution"]
    assert found["allowance"]["value"] == pytest.approx(2.0, rel=0.01)
    assert abs(found["allowance"]["value"] - 2.0) < 2 * found["allowance"]["budget"]["distribution: discretisation"]
    assert found["minimum_over_mean"]["value"] == pytest.approx(0.5, rel=0.01)
    assert math.hypot(*found["minimum_at_mm"]) < 1.0
    nickel = body["layers"][0]
    even = nickel["charge_even_chance"]["value"] / nickel["charge_set"]["value"]
    assert nickel["mean_target"]["value"] * even == pytest.approx(2.0 * 5.0, rel=0.01)
    assert nickel["minimum_reached"]["value"] * even == pytest.approx(5.0)
    assert {"distribution: model", "distribution: discretisation"} <= set(nickel["minimum_reached"]["budget"])


def test_the_origin_says_model_and_estimate() -> None:
    allowance = planned(DISK, *TANK)["layers"][0]["distribution_allowance"]
    assert allowance["origin"]["kind"] == "practice"
    for words in ("primary distribution, the worst case", "outline of part 1 (0 holes)", "estimate, no source"):
        assert words in allowance["origin"]["text"], words


@pytest.mark.thorough
def test_a_wagner_number_evens_the_deposit_and_carries_its_own_share() -> None:
    # Wagner, J. Electrochem. Soc. 98 (1951) 116: the larger the number, the nearer to uniform.
    found = planned(DISK, *TANK, "--wagner", "0.3 ± 0.1")["distribution"]
    assert 1.1 < found["allowance"]["value"] < 1.4
    assert found["allowance"]["budget"]["Wagner number"] < 0.0  # it moves against the allowance
    uniform = planned(DISK, *TANK, "--wagner", "1000")["distribution"]
    assert uniform["allowance"]["value"] == pytest.approx(1.0, abs=0.001)
    assert uniform["allowance"]["standard_uncertainty"] > 0.05  # never surer than the usual spread


def test_holes_count() -> None:
    ring, disk = planned(RING, *TANK)["distribution"], planned(DISK, *TANK)["distribution"]
    assert "(1 hole)" in ring["origin"]["text"]
    # the rim of the hole draws current to the middle, and the least lies on a circle between the rims
    assert ring["allowance"]["value"] < disk["allowance"]["value"] - 0.1
    assert 6.0 < math.hypot(*ring["minimum_at_mm"]) < 15.0


def test_parts_that_differ_are_planned_side_by_side() -> None:
    brush = [*GOLD, "--footprint", "4 cm2"]
    each = [planned(BOTH, *brush, "--part", str(number)) for number in (1, 2)]
    lines = run("plan", "--from", "-", *brush, "--json", stdin=BOTH).splitlines()
    assert [json.loads(line) for line in lines] == each
    assert [one["parts"] for one in each] == [[1], [2]]
    assert each[1]["distribution"]["part"] == 2


def test_a_typed_allowance_wins_and_a_typed_area_keeps_the_usual_one() -> None:
    typed = planned(DISK, *TANK, "--allowance", "1.3 ± 0.1")
    assert typed["distribution"] is None
    assert typed["layers"][0]["distribution_allowance"]["quantity"]["value"] == 1.3
    area = json.loads(run("plan", "--area", "14 ± 0.1 cm2", *TANK, "--json"))
    plans().validate(area)
    assert area["distribution"] is None
    assert "default for tank" in area["layers"][0]["distribution_allowance"]["origin"]["text"]


def test_strokes_follow_their_closed_form() -> None:
    # 45 mm plus twice the side overrun of 2.5 mm is ten pitches of 5 mm: 10 lanes of 90 + 2 x 5 mm and 9 steps of 5 mm.
    body = planned(PLATE, *GOLD, *PLATE_HAND)
    found = body["distribution"]["brush"]
    assert (found["lanes"], found["lifts"]) == (10, 0)
    assert found["path_length"]["value"] == pytest.approx(1045.0)
    assert found["time_per_pass"]["value"] == pytest.approx(1045.0 / 200.0)
    assert body["distribution"]["allowance"]["value"] == pytest.approx(1.0, abs=0.001)
    # Faraday: 1 um of gold(I) at 72 % takes d rho F / (eta M); a point is in contact 8 mm / 200 mm/s in two lanes.
    # On the raster of the dose the rim gets 0.2 % less.
    charge_per_area = 1e-6 * 19320.0 * 96485.33212 / (0.72 * 0.19696657)
    brush = body["layers"][0]["brush"]
    assert brush["passes"]["value"] == pytest.approx(charge_per_area / 80.0, rel=0.005)
    assert brush["time"]["value"] == pytest.approx(charge_per_area / 80.0 * 5.225 / 60.0, rel=0.005)
    assert brush["seconds_per_pass"]["value"] == pytest.approx(5.225)
    # 10 A/dm2 on 0.8 cm2 at the peak; over a pass the charge of 90 x 45 mm at 80 C/m2 each in 5.225 s
    assert brush["peak_current"]["value"] == pytest.approx(0.08, rel=0.005)
    assert brush["mean_current"]["value"] == pytest.approx(80.0 * 90.0 * 45.0e-6 / 5.225, rel=0.005)
    assert brush["contact_fraction"]["quantity"]["value"] == pytest.approx(0.062010 / 0.08, rel=0.005)


def test_a_pass_of_two_faces_takes_twice_the_time_and_their_number_is_the_same() -> None:
    one = planned(PLATE, *GOLD, *PLATE_HAND)
    both = planned(surface("--shape", "rectangle 90 x 45 mm", "--faces", "both"), *GOLD, *PLATE_HAND)
    assert both["layers"][0]["charge"]["value"] == pytest.approx(2.0 * one["layers"][0]["charge"]["value"])
    runs = [body["layers"][0]["brush"] for body in (one, both)]
    assert runs[1]["passes"]["value"] == pytest.approx(runs[0]["passes"]["value"])
    assert runs[1]["seconds_per_pass"]["value"] == pytest.approx(2.0 * runs[0]["seconds_per_pass"]["value"])


@pytest.mark.parametrize(("process", "area"), [(GOLD, "--faces one"), (GOLD, "--faces both")])
def test_every_way_to_the_time_gives_the_same(process: list[str], area: str) -> None:
    # charge over mean current, passes times one pass, and the lanes' own time over their faces
    body = planned(surface("--shape", "rectangle 90 x 45 mm", *area.split()), *process, *PLATE_HAND)
    layer, faces = body["layers"][0], body["area"]["per_piece"]["value"] / 4050.0
    brush = layer["brush"]
    minutes = brush["time"]["value"]
    assert layer["charge_set"]["value"] / brush["mean_current"]["value"] == pytest.approx(minutes, rel=1e-9)
    assert brush["passes"]["value"] * brush["seconds_per_pass"]["value"] / 60.0 == pytest.approx(minutes, rel=1e-9)
    lanes = body["distribution"]["brush"]["time_per_pass"]["value"] * faces
    assert brush["passes"]["value"] * lanes / 60.0 == pytest.approx(minutes, rel=1e-9)
    text = run(
        "plan",
        "--from",
        "-",
        *process,
        *PLATE_HAND,
        "--details",
        stdin=surface("--shape", "rectangle 90 x 45 mm", *area.split()),
    )
    passes = {float(found) for found in re.findall(r"passes(?: with gold)? +([0-9.]+)", text)}
    assert len(passes) == 1


def test_without_an_outline_the_passes_are_those_of_the_lanes_inside() -> None:
    # the closed form a / (p v) of the whole area against the raster of the lanes, whose overrun leaves no rim
    hand = ["--footprint", "10 x 8 mm", "--hand-speed", "12 m/min"]
    lanes = planned(PLATE, *GOLD, *hand)["layers"][0]["brush"]
    area = json.loads(run("plan", "--area", "4050 mm2", *GOLD, *hand, "--json"))["layers"][0]["brush"]
    assert area["passes"]["value"] == pytest.approx(lanes["passes"]["value"], rel=0.02)


def test_the_minimum_follows_the_number_of_passes_and_the_scatter_is_stated() -> None:
    hand = ["--footprint", "20 x 15 mm", "--hand-speed", "12 m/min", "--overlap", "50%"]
    thick, thin = (planned(PLATE, *GOLD[:2], "--layer", f"gold={um}", *GOLD[4:], *hand) for um in ("1 um", "0.05 um"))
    counts = [quantity_from_json(body["layers"][0]["brush"]["passes"]) for body in (thick, thin)]
    passes = [count.value for count in counts]
    allowances = [body["distribution"]["allowance"]["value"] for body in (thick, thin)]
    assert passes[0] > 15.0 * passes[1]
    assert allowances[0] < allowances[1] - 0.05
    for body, count in zip((thick, thin), counts, strict=True):
        assert f"minimum after {show_found(count)} passes" in body["distribution"]["origin"]["text"]
        assert "lanes scattered by 2 mm" in body["distribution"]["origin"]["text"]
        own = body["layers"][0]["distribution_allowance"]["quantity"]["value"]
        assert own == body["distribution"]["allowance"]["value"]
        assert "distribution: hand" in body["distribution"]["allowance"]["budget"]
    exact = planned(PLATE, *GOLD, *hand, "--lane-scatter", "0 mm")["distribution"]["allowance"]["value"]
    assert exact > 1.5  # the ripple of one pass, 1 / 0.596 but for the rim
    assert "distribution: hand" not in planned(PLATE, *GOLD, *PLATE_HAND)["distribution"]["allowance"]["budget"]


def test_a_sleeve_of_known_thickness_adds_what_its_edges_take() -> None:
    hand = [*PLATE_HAND]
    plain, thick = planned(PLATE, *GOLD, *hand), planned(PLATE, *GOLD, *hand, "--sleeve-thickness", "3 mm")
    soft = planned(PLATE, *GOLD, *hand, "--sleeve-thickness", "3 mm", "--wagner", "1")
    # a strip of 2 ln 2 / pi x 3 mm along 2 x (90 + 45) mm of edge, over 90 x 45 mm; softened to 1 / 2.9 of it
    gain = 1.0 + 2.0 * math.log(2.0) / math.pi * 3.0 * 270.0 / 4050.0
    values = [body["distribution"]["allowance"]["value"] for body in (plain, thick, soft)]
    # without a sleeve the raster's rim leaves 0.998, and an allowance is never below one
    assert values[1] / values[0] == pytest.approx(gain, rel=0.003)
    assert values[2] / values[1] == pytest.approx((1.0 + (gain - 1.0) / 2.9) / gain)
    runs = [body["layers"][0]["brush"] for body in (plain, thick)]
    assert runs[1]["mean_current"]["value"] / runs[0]["mean_current"]["value"] == pytest.approx(gain)
    assert runs[1]["passes"]["value"] * gain == pytest.approx(runs[0]["passes"]["value"])
    assert runs[1]["passes"]["value"] * runs[1]["seconds_per_pass"]["value"] == pytest.approx(
        60.0 * runs[1]["time"]["value"]
    )
    assert "EDGES_LEFT_OUT" in codes(plain)
    assert "EDGES_LEFT_OUT" not in codes(thick)
    area = json.loads(run("plan", "--area", "4050 mm2", *GOLD, "--footprint", "1 cm2", "--json"))
    assert "EDGES_LEFT_OUT" in codes(area)
    assert "EDGES_LEFT_OUT" not in codes(planned(DISK, *TANK))


@pytest.mark.parametrize(
    ("corners", "area_mm2"), [("round", 100.0 + math.pi * 25.0), ("square", 200.0)]
)  # a slot of 20 x 10 mm is a square and two half disks
def test_a_footprint_size_has_its_area(corners: str, area_mm2: float) -> None:
    body = planned(PLATE, *GOLD, "--footprint", "20 x 10 mm", "--footprint-corners", corners)
    current = body["layers"][0]["brush"]["peak_current"]["value"]
    assert current == pytest.approx(1000.0 * area_mm2 * 1e-6, rel=1e-4)  # 10 A/dm2 on the footprint


def test_a_footprint_area_becomes_a_patch_of_that_area() -> None:
    found = planned(PLATE, *GOLD, "--footprint", "4 cm2", "--footprint-corners", "square")["distribution"]["brush"]
    assert found["footprint_width"]["value"] == pytest.approx(20.0)
    found = planned(PLATE, *GOLD, "--footprint", "4 cm2")["distribution"]["brush"]
    assert math.pi / 4.0 * found["footprint_width"]["value"] ** 2 == pytest.approx(400.0)
    assert found["footprint_corners"] == "round"


@pytest.mark.thorough
def test_the_overlap_for_a_target_reaches_it_or_is_said_not_to_exist() -> None:
    hand = ["--footprint", "4 cm2", "--target-minimum", "90 %"]
    target = planned(DISK, *GOLD, *hand)["distribution"]["brush"]["target"]
    again = planned(DISK, *GOLD, *hand[:2], "--overlap", f"{100 * target['overlap']} %")
    assert again["distribution"]["minimum_over_mean"]["value"] >= 0.9
    text = " ".join(run("plan", "--from", "-", *GOLD, *hand, "--overrun", "0 mm", "--details", stdin=DISK).split())
    assert "overlap for a minimum of 0.9 none No overlap reaches a minimum of 0.90" in text


def test_the_text_shows_the_strokes_with_units_and_origins() -> None:
    text = " ".join(run("plan", "--from", "-", *GOLD, "--footprint", "4 cm2", "--details", stdin=PLATE).split())
    for words in (
        "Strokes over part 1", "stated default, common practice", "path of the hand", "time of a pass",
        "passes with gold", "predicted over the outline of part 1", "areakit surface, part 1",
    ):  # fmt: skip
        assert words in text, words


def test_a_solid_or_a_dome_keeps_the_usual_allowance_and_says_why() -> None:
    for shape in (["wire 2 mm x 50 mm"], ["disk 30 mm", "--dome-height", "3 mm", "--thickness", "1 mm"]):
        body = planned(surface("--shape", *shape), *TANK)
        assert body["distribution"] is None
        assert "DISTRIBUTION_NOT_PREDICTED" in codes(body)


def test_pictures_are_drawn_of_the_chosen_part(tmp_path: Path) -> None:
    picture, lanes = tmp_path / "map.svg", tmp_path / "lanes.svg"
    planned(BOTH, *TANK, "--map", str(picture), "--part", "1")
    assert "Predicted thickness over its mean" in picture.read_text(encoding="utf-8")
    planned(BOTH, *GOLD, *PLATE_HAND, "--map", str(picture), "--part", "2")
    assert "Predicted dose of one pass over its mean, part 2" in picture.read_text(encoding="utf-8")
    planned(PLATE, *GOLD, *PLATE_HAND, "--map", str(picture), "--lanes", str(lanes))
    assert "Predicted dose" in picture.read_text(encoding="utf-8")
    assert "10 lanes, 0 lifts, path 1045 mm" in lanes.read_text(encoding="utf-8")
    for file in (picture, lanes):
        assert ET.parse(file).getroot().tag.endswith("svg")


WRONG = [
    (TANK, DISK, ["--overlap", "50%"], "speaks of a brush"),
    (GOLD, DISK, ["--wagner", "1"], "The Wagner number speaks of a tank"),
    (TANK, DISK, ["--lanes", "no.svg"], "no lanes"),
    (TANK, DISK, ["--map", "/nowhere/at/all.svg"], "cannot be written"),
    (TANK, DISK, ["--wagner", "-1"], "negative"),
    (TANK, DISK, ["--thickness", "1 mm"], "is about a photo"),
    (GOLD, DISK, ["--map", "no.svg"], "need the brush footprint"),
    (GOLD, DISK, ["--overlap", "60%"], "need the brush footprint"),
    (GOLD, DISK, ["--footprint", "1 cm2", "--sleeve-thickness", "60 mm"], "thickness of 60 mm is outside"),
    (TANK, DISK, ["--sleeve-thickness", "3 mm"], "speaks of a brush"),
    (TANK, DISK, ["--lane-scatter", "3 mm"], "speaks of a brush"),
    (GOLD, DISK, ["--footprint", "9 mm"], "neither an area nor two lengths"),
    (GOLD, DISK, ["--footprint", "9 x 9 x 9 mm"], "not two lengths"),
    (TANK, DISK, ["--footprint", "9 x 9 mm"], "The footprint speaks of a brush"),
    (TANK, DISK, ["--footprint", "4 cm2"], "The footprint speaks of a brush"),
    (GOLD, DISK, ["--footprint", "9 x 0 mm"], "no size"),
    (GOLD, DISK, ["--footprint", "1 cm2", "--overlap", "120%"], "overlap of 1.2 is outside"),
    (GOLD, DISK, ["--footprint", "1 cm2", "--overrun", "20 m"], "overrun of 20000 mm is outside"),
    (GOLD, DISK, ["--footprint", "1 cm2", "--target-minimum", "200 %"], "not between 0 and 1"),
    (TANK, surface("--shape", "sphere 10 mm"), ["--map", "no.svg"], "models are for flat parts"),
    (TANK, json.dumps({"parts": [{"plated_area": {"value": 9.0, "unit": "mm2"}}]}), ["--wagner", "1"], "no outline"),
]


@pytest.mark.parametrize(("process", "measured", "more", "words"), WRONG)
def test_wrong_use_gets_a_sentence_and_a_remedy(process: list[str], measured: str, more: list[str], words: str) -> None:
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        run("plan", "--from", "-", *process, *more, stdin=measured)
    assert caught.value.remedy


@pytest.mark.parametrize(
    "outline",
    [
        {"type": "Polygon", "coordinates": [[[0, 0], [9, 9], [9, 0], [0, 9], [0, 0]]]},  # it crosses itself
        {"type": "Polygon", "coordinates": [[[0, 0], [9, 0], [9, 0], [0, 0]]]},  # it encloses nothing
    ],
)
def test_an_outline_that_encloses_no_honest_area_keeps_the_usual_allowance(outline: dict[str, Any]) -> None:
    body = planned(json.dumps({"parts": [{"plated_area": {"value": 9.0, "unit": "mm2"}, "outline": outline}]}), *TANK)
    assert body["distribution"] is None
    assert "DISTRIBUTION_NOT_PREDICTED" in codes(body)


def test_one_command_goes_from_a_photo_to_a_plan(tmp_path: Path) -> None:
    picture = tmp_path / "map.svg"
    body = json.loads(
        run(
            "plan", *PHOTO, "--process", "nickel-gold-tank", "--layer", "nickel=3 um", "--requirement", "us-gold-plate",
            "--efficiency", "gold=72% ± 6%", "--base", "brass", "--map", str(picture), "--json",
        )
    )  # fmt: skip
    plans().validate(body)
    # the drawn truth: 2 x 1997.6 + 431.0 x 1.2 mm2
    area = body["area"]["per_piece"]
    assert abs(area["value"] - 4512.0) < area["expanded_uncertainty"]
    assert body["area"]["origin"]["text"] == "areakit measure, part 1"
    assert "(11 holes)" in body["distribution"]["origin"]["text"]
    assert body["layers"][1]["minimum_needed"]["value"] == pytest.approx(0.5)
    assert "SHADOW_AT_EDGE" in codes(body)  # what the photo says flows into the plan
    assert all(premise["origin"]["text"] and premise["quantity"]["unit"] for premise in body["premises"])
    assert "viewBox" in picture.read_text(encoding="utf-8")


def test_what_a_charge_put_on_the_part_in_a_photo() -> None:
    # 3.2 A·min x 60 x 196.96657 / 96485.33 x 0.72 = 282.2 mg, over 19.32 g/cm3 and the drawn 45.12 cm2: 3.237 um
    body = json.loads(
        run(
            "deposit", *PHOTO, "--metal", "gold", "--charge", "3.2 A.min", "--efficiency", "72% ± 6%", "--footprint",
            "4 cm2", "--json",
        )
    )  # fmt: skip
    assert body["mass"]["value"] == pytest.approx(282.2, abs=0.1)
    assert body["mean"]["value"] == pytest.approx(3.237, rel=0.012)
    allowance = body["distribution"]["allowance"]["value"]
    assert body["minimum"]["value"] == pytest.approx(body["mean"]["value"] / allowance)
    with pytest.raises(InputError, match="need the brush footprint"):
        run("deposit", "--metal", "gold", "--charge", "1 A.min", "--from", "-", "--overlap", "50%", stdin=DISK)


def test_a_refused_photo_stops_the_plan_with_its_reason() -> None:
    with pytest.raises(MeasurementError, match="blurred") as caught:
        run("plan", str(DEMO / "refused-blurred.jpg"), *TANK)
    assert caught.value.exit_code == 3
    with pytest.raises(InputError, match="does not exist"):
        run("plan", str(DEMO / "none.jpg"), *TANK)
    with pytest.raises(InputError, match="a photo and a file"):
        run("plan", *PHOTO, *TANK, "--from", "-", stdin=DISK)
    with pytest.raises(InputError, match="two areas"):
        run("plan", *PHOTO, *TANK, "--area", "3 cm2")


def test_a_refused_line_is_not_overlooked() -> None:
    flag = {"code": "BLURRED", "message": "The photo is blurred.", "remedy": "Take it again."}
    line = json.dumps({"photo": "two.jpg", "status": "refused", "flags": [flag], "scale": None, "parts": []})
    with pytest.raises(MeasurementError, match="refused: The photo is blurred"):
        run("plan", "--from", "-", *TANK, stdin=line)
    body = planned(f"{line}\n{json.dumps(json.loads(DISK))}\n", *TANK, "--allowance", "1.5")
    left_out = next(flag for flag in body["flags"] if flag["code"] == "PHOTO_LEFT_OUT")
    assert "two.jpg" in left_out["message"]


@pytest.mark.parametrize(("count", "told"), [(0, ""), (2, " without 2 regions")])
def test_the_card_says_how_many_regions_have_no_area(count: int, told: str) -> None:
    """What crosses an edge is nowhere in the areas; one part by its number is all that was asked for."""
    line = json.dumps({**json.loads(DISK), "regions_left_out": count})
    asked = ("plan", "--from", "-", *TANK, "--allowance", "1.5")
    assert f"measured part{told}: 1 piece of" in run(*asked, stdin=line)
    assert "measured part: 1 piece of" in run(*asked, "--part", "1", stdin=line)


def test_a_photo_with_a_part_over_the_edge_says_so_in_its_json_and_on_the_card(tmp_path: Path) -> None:
    inside = ScenePart(polygon=WASHER, thickness_mm=0.05, position_mm=(90.0, 90.0))
    over = ScenePart(polygon=BLOCK, thickness_mm=0.0, position_mm=(225.0, 90.0), turn_deg=90.0)
    scene = replace(scene_of(WASHER), parts=(inside, over))
    photo = tmp_path / "over.jpg"
    photo.write_bytes(jpeg_bytes(render(scene), scene))
    body = json.loads(run("measure", str(photo), "--thickness", "0.05 mm", "--json"))
    jsonschema.validate(body, measure_schema())
    assert body["regions_left_out"] == 1
    assert measure_schema()["properties"]["regions_left_out"]["minimum"] == 0
    card = run("plan", str(photo), "--thickness", "0.05 mm", *TANK, "--allowance", "1.5")
    assert "over.jpg without 1 region: 1 piece of" in card
    assert "cross the edge of the field" in card


def test_flags_of_the_photo_come_once_and_those_of_other_parts_do_not() -> None:
    def flag(code: str) -> dict[str, str]:
        return {"code": code, "message": code, "remedy": "Correct it."}

    parts = [{"plated_area": {"value": 9.0, "unit": "mm2"}, "flags": [flag(code)]} for code in ("FIRST", "SECOND")]
    text = json.dumps({"flags": [flag("SHEET"), {**flag("FIRST"), "part": 1}, flag("SECOND")], "parts": parts})
    found = [one["code"] for one in planned(text, *TANK, "--part", "2")["flags"]]
    assert found.count("SHEET") == 1
    assert found.count("SECOND") == 1
    assert "FIRST" not in found


def test_an_outline_brings_no_image_library(tmp_path: Path) -> None:
    file = tmp_path / "disk.json"
    file.write_text(DISK, encoding="utf-8")
    script = (
        "import sys\nfrom areakit.cli.main import group\n"
        f"group({['plan', '--from', str(file), *GOLD, '--footprint', '1 cm2']!r}, standalone_mode=False)\n"
        "sys.exit(','.join(sorted({'cv2', 'skimage', 'reportlab'} & set(sys.modules))) or 0)"
    )
    result = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr


def test_the_schema_of_a_plan_is_printed_and_can_fail() -> None:
    schema = json.loads(run("schema", "plan"))
    jsonschema.Draft202012Validator.check_schema(schema)
    body = deepcopy(planned(DISK, *TANK))
    body["distribution"]["allowance"]["standard_uncertainty"] = -1.0
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(body, schema)
    assert json.loads(run("schema"))["$id"] == "urn:areakit:measure:1"


@pytest.mark.parametrize(("rounded", "area_mm2"), [(True, math.pi * 10.0**2), (False, 20.0**2)])
def test_a_footprint_typed_as_an_area_is_a_circle_or_a_square(rounded: bool, area_mm2: float) -> None:
    # a circle of 20 mm and a square of 20 mm (elementary geometry)
    from areakit.service.spread import footprint_patch

    patch = footprint_patch(f"{area_mm2 / 100:.9f} cm2", rounded=rounded)
    assert (patch.width_mm, patch.length_mm) == pytest.approx((20.0, 20.0))
    sized = footprint_patch("20 x 15 mm", rounded=rounded)
    assert (sized.width_mm, sized.length_mm) == (20.0, 15.0)


def test_the_wagner_number_follows_from_conductivity_tafel_slope_and_size() -> None:
    """Disk of 15 mm radius at 3 A/dm2 in 10 S/m, 60 mV a decade: 10 x 0.060 / (2.302585 x 300 x 0.015) = 0.0579."""
    bath = ["--conductivity", "10 S/m", "--tafel-slope", "60 mV", "--current-density", "nickel=3 A/dm2"]
    body = planned(DISK, *TANK, *bath)
    assert body["distribution"]["tank"]["wagner"] == pytest.approx(0.06 * 10 / (2.302585 * 300 * 0.015), rel=1e-3)
    assert "WAGNER_NOT_SAID" not in codes(body)
    silent = planned(DISK, *TANK)
    assert silent["distribution"]["tank"]["wagner"] == 0.0
    assert "WAGNER_NOT_SAID" in codes(silent)
    assert body["distribution"]["allowance"]["value"] < silent["distribution"]["allowance"]["value"]
    # at the low end of 20 to 100 A/ft2 where no density was typed (1 ft = 0.3048 m)
    usual = planned(DISK, *TANK, *bath[:4])
    assert usual["distribution"]["tank"]["wagner"] == pytest.approx(0.6 / (2.302585 * 20 / 0.3048**2 * 0.015), rel=1e-3)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--conductivity", "10 S/m"], "needs both"),
        (["--tafel-slope", "60 mV"], "needs both"),
        (["--wagner", "0.1", "--conductivity", "10 S/m", "--tafel-slope", "60 mV"], "given twice"),
        (["--conductivity", "10 S/m", "--tafel-slope", "0 mV"], "not above zero"),
        (["--conductivity", "10 g/L", "--tafel-slope", "60 mV"], "not a unit of conductivity"),
    ],
)
def test_half_a_wagner_number_is_refused(more: list[str], words: str) -> None:
    with pytest.raises(InputError, match=words):
        run("plan", "--from", "-", *TANK, *more, stdin=DISK)
