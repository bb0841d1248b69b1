"""Places that a photo asks about: numbered, answered by number, point or shape, and kept in the saved result."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from shapely.geometry import Point, Polygon, box

import areakit
from areakit.cli.main import group
from areakit.errors import InputError
from areakit.service.measure import MeasureRequest, MeasureResult, measure, result_json
from areakit.service.measured_overlay import write_overlay
from areakit.service.part_body import part_from_body
from areakit.service.picture import overlay_json
from areakit.service.places import read_answers
from areakit.service.same_parts import measure_same_parts
from areakit.synthetic import Patch, render, save_photo
from areakit.synthetic.sheet_print import linear
from tests.imaging.drawn_photos import BLOCK, MIDDLE_MM, scene_of

X, Y = MIDDLE_MM
SPOT = Point(X - 12.0, Y).buffer(6.0)
BLUE = Point(X + 2.0, Y - 8.0).buffer(3.0)
TAPE = box(X - 60.0, Y - 60.0, X - 28.0, Y + 60.0)
SAID = {"thickness": "1 mm", "check_lengths": "200 x 120 mm"}


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Draw a block with a blue spot (1: hole or metal?), a taped end (2) and a red spot (3)."""
    colours = {(15, 70, 150): BLUE, (230, 170, 40): TAPE, (180, 30, 40): SPOT}
    patches = tuple(Patch(polygon=shape, colour=linear(srgb), on=0) for srgb, shape in colours.items())
    scene = scene_of(BLOCK, 1.0, patches=patches)
    path = tmp_path_factory.mktemp("places") / "block.jpg"
    return save_photo(path, render(scene), scene)


def result(photo: Path, **said: Any) -> MeasureResult:
    return next(measure([photo], MeasureRequest(**SAID, **said)))


def places(found: MeasureResult) -> dict[int, str]:
    return {flag.place: flag.code for flag in found.flags if flag.place is not None}


@pytest.mark.thorough
def test_each_place_has_a_number_that_stays_when_others_are_answered(photo: Path) -> None:
    plain = result(photo)
    assert places(plain) == {1: "LOOKS_UNDECIDED", 2: "STOP_OFF_SEEN", 3: "STOP_OFF_SEEN"}
    assert places(result(photo, stop_off=("2",))) == {1: "LOOKS_UNDECIDED", 3: "STOP_OFF_SEEN"}
    assert places(result(photo, metal=("1", "3"))) == {2: "STOP_OFF_SEEN"}


def test_a_stop_off_is_offered_with_its_area_and_never_assumed(photo: Path) -> None:
    plain = result(photo)
    offered = {one.place: one.seen.area_mm2 for one in plain.parts[0].offered}
    assert offered[3] == pytest.approx(SPOT.area, rel=0.01)
    assert plain.parts[0].part.masks == ()
    taken = result(photo, stop_off=("3",))
    line = next(line for line in taken.parts[0].surface.lines if line.name == "front stopped off")
    assert line.area.value == pytest.approx(-SPOT.area, rel=0.01)
    assert abs(-line.area.value - SPOT.area) < line.area.expanded_uncertainty


def test_point_number_and_shape_say_the_same(photo: Path) -> None:
    by_number = result(photo, stop_off=("3",)).parts[0].surface.plated.value
    by_point = result(photo, stop_off=(f"{X - 12},{Y}",)).parts[0].surface.plated.value
    assert by_point == by_number
    shape = result(photo, stop_off=(f"disk 12 mm, at {X - 12} {Y} mm",), metal=("3",)).parts[0].surface.plated
    assert shape.value == pytest.approx(by_number, rel=1e-3)


def test_a_place_that_may_be_a_hole_can_be_a_stop_off(photo: Path) -> None:
    found = result(photo, stop_off=("1",))
    assert 1 not in places(found)
    line = next(line for line in found.parts[0].surface.lines if line.name == "front stopped off")
    assert line.area.value == pytest.approx(-BLUE.area, rel=0.03)


def test_the_saved_result_keeps_the_stop_offs(photo: Path, tmp_path: Path) -> None:
    saved = tmp_path / "block.json"
    options = [f"--{name.replace('_', '-')}={text}" for name, text in SAID.items()]
    told = CliRunner().invoke(
        group, ["measure", str(photo), *options, "--stop-off=2", "--stop-off=3", "--metal=1", "--save", str(saved)]
    )
    assert told.exit_code == 0, told.output
    body = json.loads(saved.read_text())
    line = body if isinstance(body, dict) else body[0]
    part = part_from_body(line["parts"][0])
    assert len(part.masks) == 2
    again = CliRunner().invoke(group, ["surface", "--from", str(saved), "--json"])
    plated = json.loads(again.stdout)["parts"][0]["plated_area"]["value"]
    assert plated == pytest.approx(line["parts"][0]["plated_area"]["value"])
    python = areakit.measure(photo, stop_off=[2, (X - 12.0, Y)], metal=[1], **SAID)
    assert python.plated.measured.value == pytest.approx(line["parts"][0]["plated_area"]["value"])


def test_offered_stop_offs_stand_in_the_json(photo: Path) -> None:
    (part,) = result_json(result(photo))["parts"]
    assert [one["place"] for one in part["stop_offs_seen"]] == [2, 3]
    assert part["stop_offs_seen"][1]["area_mm2"] == pytest.approx(SPOT.area, rel=0.01)
    assert part["regions"] is None


def test_the_page_is_offered_what_may_be_stopped_off_and_gets_back_what_was_said(photo: Path) -> None:
    plain = overlay_json(result(photo))
    offered = [one for one in plain["questions"] if one["about"] == "stop_off"]
    assert [one["area_mm2"] for one in offered] == [
        pytest.approx(one.seen.area_mm2) for one in result(photo).parts[0].offered
    ]
    assert plain["regions_px"] == [[]]
    (doubt,) = [one for one in plain["questions"] if one["about"] == "region"]
    assert doubt["stop_off"] is True  # the blue spot may be a hole, metal, or stopped off
    spot = next(one for one in offered if one["area_mm2"] == pytest.approx(SPOT.area, rel=0.01))
    assert Polygon(spot["ring"]).contains(Point(spot["at_px"]))
    taken = overlay_json(result(photo, stop_off=(spot["at"],)))
    assert spot["at"] not in [one["at"] for one in taken["questions"]]
    ((said,),) = taken["regions_px"]
    assert (said["kind"], said["sides"], said["at"]) == ("stop_off", "front", spot["at"])
    assert Polygon(said["ring"]).area == pytest.approx(Polygon(spot["ring"]).area)
    px = result(photo).found.scale.mm_per_px  # type: ignore[union-attr]
    assert Polygon(said["ring"]).area * px**2 == pytest.approx(SPOT.area, rel=0.05)
    declined = overlay_json(result(photo, metal=(spot["at"],)))
    assert declined["regions_px"] == [[]]
    assert spot["at"] not in [one["at"] for one in declined["questions"]]


def test_answers_that_meet_nothing_are_refused_with_what_to_do(photo: Path) -> None:
    unknown = result(photo, stop_off=("9",)).error
    assert isinstance(unknown, InputError)
    assert "There is no place 9: the photo asks about 3." in unknown.message
    bare = result(photo, stop_off=(f"{X + 20},{Y + 10}",)).error
    assert bare is not None
    assert "No stop-off is seen" in bare.message
    off = result(photo, stop_off=("disk 6 mm, at 30 30 mm",)).error
    assert off is not None
    assert "lies on no part" in off.message
    with pytest.raises(InputError, match="is not a point"):
        read_answers(["here"], [], [], lambda text: box(0, 0, 1, 1))
    with pytest.raises(InputError, match="number their places"):
        measure_same_parts([photo, photo], MeasureRequest(stop_off=("1",)))


@pytest.mark.parametrize(("kind", "at"), [("holes", (X + 20, Y + 10)), ("metal", (30, 30))])
def test_an_answer_where_nothing_was_in_doubt_is_refused(photo: Path, kind: str, at: tuple[float, float]) -> None:
    refused = result(photo, **{kind: (f"{at[0]},{at[1]}",)}).error
    assert isinstance(refused, InputError)
    assert "nothing there was in doubt" in refused.message
    said = result(photo, holes=("1",))
    assert said.error is None  # what was in doubt, said to be a hole, is one now


def test_the_overlay_shows_what_is_asked_and_what_is_stopped_off(photo: Path, tmp_path: Path) -> None:
    pictures = []
    for name, said in {"asked": {}, "answered": {"stop_off": ("2", "3"), "metal": ("1",)}}.items():
        write_overlay(result(photo, **said), tmp_path / f"{name}.png")
        pictures.append((tmp_path / f"{name}.png").read_bytes())
    assert pictures[0] != pictures[1]
