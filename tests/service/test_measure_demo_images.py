"""The demo pictures, path-traced by another program, measured as a user would; their truth files say what is right."""

import json
import tomllib
from functools import cache
from pathlib import Path
from statistics import median
from typing import Any

import cv2
import numpy as np
import pytest
from PIL import Image

from areakit.datafiles import data_dir
from areakit.errors import FileError, InputError, RangeError, UnitError
from areakit.service.demo import demo_names, run_demo
from areakit.service.measure import (
    MeasureRequest,
    MeasureResult,
    measure,
    photos_in,
    read_check_lengths,
    result_json,
)

FOLDER = data_dir("demo_images")
TRUTHS: dict[str, dict[str, Any]] = {
    path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.glob("*.toml"))
}
FORMED = sorted(name for name, truth in TRUTHS.items() if "form" in truth)
MEASURED = sorted(name for name, truth in TRUTHS.items() if truth["expected"] == "measured" and name not in FORMED)
HARD = {"hard-shadow", "white-field"}
REFUSED = {"refused-blurred": {"BLURRED"}, "refused-crossing": {"PART_CROSSES_EDGE"}}


def request_for(name: str, **changes: Any) -> MeasureRequest:
    truth = TRUTHS[name]
    x, y = truth["check_lengths_mm"]
    asked: dict[str, Any] = {"faces": "all", "check_lengths": f"{x} x {y} mm"}
    asked["holes"] = tuple(str(number) for number in truth.get("ground", ()))
    asked |= {"form": truth["form"]} if "form" in truth else {"thickness": f"{truth['thickness_mm']} mm"}
    return MeasureRequest(**{**asked, **changes})


@cache
def measured(name: str) -> MeasureResult:
    return next(measure([FOLDER / f"{name}.jpg"], request_for(name)))


def pairs(name: str) -> list[tuple[Any, dict[str, Any]]]:
    result = measured(name)
    assert result.error is None
    assert len(result.parts) == len(TRUTHS[name]["parts"])
    return list(zip(result.parts, TRUTHS[name]["parts"], strict=True))


@pytest.mark.parametrize("name", MEASURED)
def test_each_area_lies_within_its_stated_uncertainty(name: str) -> None:
    for part, true in pairs(name):
        face = part.surface.face
        assert abs(face.value - true["area_mm2"]) < face.expanded_uncertainty, true["name"]
        # An interval that covers all by being endless would say nothing.
        assert face.relative_expanded_uncertainty < 0.02


@pytest.mark.parametrize("name", MEASURED)
def test_holes_and_their_edges_are_found(name: str) -> None:
    for part, true in pairs(name):
        outline = part.part.outline
        assert len(outline.polygon.interiors) == true["holes"], true["name"]
        assert outline.perimeter_holes.value == pytest.approx(true["holes_perimeter_mm"], rel=0.06, abs=0.01)
        assert outline.perimeter_outer.value == pytest.approx(true["outer_perimeter_mm"], rel=0.02)


def test_perimeters_lie_within_their_stated_uncertainty() -> None:
    normalised = []
    for name in MEASURED:
        for part, true in pairs(name):
            outline = part.part.outline
            sides = [(outline.perimeter_outer, true["outer_perimeter_mm"])]
            sides += [(outline.perimeter_holes, true["holes_perimeter_mm"])] if true["holes"] else []
            normalised += [abs(side.value - truth) / side.expanded_uncertainty for side, truth in sides]
    assert max(normalised) < 1.5
    assert sum(n <= 1.0 for n in normalised) >= 0.9 * len(normalised)


@pytest.mark.parametrize("name", MEASURED)
def test_all_surfaces_are_two_faces_and_the_walls(name: str) -> None:
    thickness = TRUTHS[name]["thickness_mm"]
    for part, true in pairs(name):
        walls = (true["outer_perimeter_mm"] + true["holes_perimeter_mm"]) * thickness
        surface = part.surface
        assert surface.plated.value == pytest.approx(2 * surface.face.value + surface.side_wall.value, rel=1e-9)
        whole = 2 * true["area_mm2"] + walls
        assert surface.plated.value == pytest.approx(whole, rel=0.015), true["name"]


def test_half_of_the_clear_ones_are_within_three_tenths_of_a_percent() -> None:
    errors = [
        abs(part.surface.face.value / true["area_mm2"] - 1.0)
        for name in MEASURED
        if name not in HARD
        for part, true in pairs(name)
    ]
    assert len(errors) >= 8
    assert median(errors) < 0.003


def test_parts_are_numbered_as_one_reads() -> None:
    result = measured("several-parts")
    assert [part.part_id for part in result.parts] == [1, 2, 3, 4, 5]
    seen = [part.part.outline.polygon.centroid for part in result.parts]
    for place, true in zip(seen, TRUTHS["several-parts"]["parts"], strict=True):
        x, down = true["centre_mm"]
        assert (place.x, 180.0 - place.y) == pytest.approx((x, down), abs=6.0)  # the ring is 180 mm high


@pytest.mark.parametrize("name", sorted(REFUSED))
def test_a_picture_that_shows_no_honest_number_is_refused(name: str) -> None:
    assert TRUTHS[name]["expected"] == "refused"
    result = measured(name)
    assert result.error is not None
    assert result.error.code in REFUSED[name]
    assert result.error.exit_code == 3
    assert result.parts == ()
    assert [flag.code for flag in result.flags] == [result.error.code]


def test_every_demo_picture_is_listed_here() -> None:
    assert sorted(demo_names()) == sorted([*MEASURED, *FORMED, *REFUSED])


@pytest.mark.parametrize("name", FORMED)
def test_a_part_that_is_not_flat_is_measured_by_its_form_within_what_is_stated(name: str) -> None:
    ((part, true),) = pairs(name)
    plated = part.surface.plated
    blind = next(measure([FOLDER / f"{name}.jpg"], request_for(name, holes=()))).parts[0].surface.plated
    assert abs(blind.value - true["surface_mm2"]) < blind.expanded_uncertainty
    assert abs(plated.value - true["surface_mm2"]) < plated.expanded_uncertainty
    assert plated.relative_expanded_uncertainty < 0.2
    flat = next(measure([FOLDER / f"{name}.jpg"], request_for(name, form=None, faces="both", holes=()))).parts[0]
    assert abs(flat.surface.plated.value / true["surface_mm2"] - 1.0) > 0.2  # two faces of the outline are no surface


def line(name: str, **changes: Any) -> str:
    result = next(measure([FOLDER / f"{name}.jpg"], request_for(name, **changes)))
    return json.dumps(result_json(result))


@pytest.mark.thorough
def test_the_same_photo_gives_the_same_json_byte_by_byte_on_any_number_of_threads() -> None:
    threads = cv2.getNumThreads()
    try:
        lines = []
        for count in (1, 2, 1):
            cv2.setNumThreads(count)
            lines.append(line("pierced-badge"))
    finally:
        cv2.setNumThreads(threads)
    assert lines[0] == lines[1] == lines[2]


def test_a_photo_lying_on_its_side_with_its_tag_measures_the_same(tmp_path: Path) -> None:
    with Image.open(FOLDER / "foil-shape.jpg") as image:
        exif = image.getexif()
        exif[0x0112] = 8
        turned = image.transpose(Image.Transpose.ROTATE_270)
        turned.save(tmp_path / "turned.png", exif=exif, compress_level=1)
    result = next(measure([tmp_path / "turned.png"], request_for("foil-shape")))
    assert result.parts[0].surface.face.value == measured("foil-shape").parts[0].surface.face.value


@pytest.mark.thorough
@pytest.mark.parametrize("turns", [1, 2, 3])
def test_a_picture_turned_for_good_has_the_same_area(turns: int, tmp_path: Path) -> None:
    with Image.open(FOLDER / "foil-shape.jpg") as image:
        turned = Image.fromarray(np.ascontiguousarray(np.rot90(np.asarray(image), turns)))
        turned.save(tmp_path / "turned.png", exif=image.getexif(), compress_level=1)
    result = next(measure([tmp_path / "turned.png"], request_for("foil-shape")))
    face, before = (r.parts[0].surface.face for r in (result, measured("foil-shape")))
    assert face.value == pytest.approx(before.value, rel=2e-4)


def test_a_grey_copy_is_measured_or_refused_but_never_silently_wrong(tmp_path: Path) -> None:
    with Image.open(FOLDER / "pierced-badge.jpg") as image:
        image.convert("L").save(tmp_path / "grey.png", exif=image.getexif(), compress_level=1)
    result = next(measure([tmp_path / "grey.png"], request_for("pierced-badge")))
    if result.error is None:
        face = result.parts[0].surface.face
        true = TRUTHS["pierced-badge"]["parts"][0]["area_mm2"]
        assert abs(face.value - true) < face.expanded_uncertainty or result.flags


# Requests


@pytest.mark.parametrize(
    ("text", "value", "tolerance"),
    [
        ("1.2 mm", 1.2, 0.0),
        ("0,5 mm", 0.5, 0.0),
        ("1.2 ± 0.05 mm", 1.2, 0.05),
        ("1200 um", 1.2, 0.0),
    ],
)
def test_a_thickness_may_be_written_in_several_ways(text: str, value: float, tolerance: float) -> None:
    result = next(measure([FOLDER / "thick-bracket.jpg"], request_for("thick-bracket", thickness=text)))
    thickness = result.parts[0].part.thickness
    assert thickness.value == pytest.approx(value)
    # A tolerance is the half-width of a rectangle: its standard deviation is a / sqrt 3 (JCGM 100:2008, 4.3.7).
    if tolerance:
        assert thickness.standard_uncertainty == pytest.approx(tolerance / 3**0.5)


@pytest.mark.parametrize("text", ["1.2", "1,000 mm", "thin", "2 kg", "1 2 mm", ""])
def test_a_thickness_that_cannot_be_meant_is_refused_before_any_photo_is_read(text: str) -> None:
    with pytest.raises(InputError):
        next(measure([Path("never-read.jpg")], MeasureRequest(thickness=text)))


@pytest.mark.parametrize("text", ["-1 mm", "0 mm"])
def test_a_thickness_that_no_part_has_is_refused_before_any_photo(text: str) -> None:
    with pytest.raises(InputError, match="thickness"):
        next(measure([FOLDER / "thick-bracket.jpg"], request_for("thick-bracket", thickness=text)))


def test_a_thickness_above_the_camera_is_what_the_refusal_speaks_of() -> None:
    result = next(measure([FOLDER / "thick-bracket.jpg"], request_for("thick-bracket", thickness="2 m")))
    assert result.error is not None
    assert "thickness" in result.error.message


@pytest.mark.parametrize("faces", ["all", "walls", "front-and-edges"])
def test_walls_without_a_thickness_are_refused(faces: str) -> None:
    with pytest.raises(InputError, match="side walls") as caught:
        next(measure([Path("never-read.jpg")], MeasureRequest(faces=faces)))
    assert "thickness" in caught.value.fields


def test_unknown_faces_are_refused() -> None:
    with pytest.raises(InputError, match="top"):
        next(measure([], MeasureRequest(faces="top")), None)


@pytest.mark.parametrize(
    "text",
    ["200.2 x 119.9 mm", "200.2 mm x 119.9 mm", "20.02 cm x 11.99 cm", "200.2 × 119.9 mm", "200.2 mm by 119.9 mm"],
)
def test_check_lengths_may_be_written_in_several_ways(text: str) -> None:
    assert read_check_lengths(text).read_mm == pytest.approx((200.2, 119.9))


@pytest.mark.parametrize("text", ["200", "200.2 x 119.9", "200 x 120 x 3", "a x b", "x"])
def test_check_lengths_that_are_not_two_lengths_are_refused(text: str) -> None:
    with pytest.raises((UnitError, RangeError)):
        read_check_lengths(text)


def test_an_unreadable_photo_does_not_stop_the_others(tmp_path: Path) -> None:
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"no picture")
    results = list(measure([broken, FOLDER / "foil-shape.jpg"], request_for("foil-shape")))
    assert isinstance(results[0].error, FileError)
    assert results[0].photo is None
    assert len(results[1].parts) == 1


def test_a_folder_stands_for_its_photos_in_order(tmp_path: Path) -> None:
    for name in ("b.JPG", "a.png", "notes.txt"):
        (tmp_path / name).write_bytes(b"")
    assert [path.name for path in photos_in([tmp_path, Path("x.jpg")])] == ["a.png", "b.JPG", "x.jpg"]
    empty = tmp_path / "empty"
    empty.mkdir()
    with pytest.raises(FileError, match="no photo"):
        photos_in([empty])


# The demo


def test_the_demo_goes_on_from_the_measured_area_to_charge_and_metal() -> None:
    demo = run_demo("pierced-badge")
    assert demo.plan is not None
    assert demo.plated is not None
    assert demo.true_areas_mm2 == (TRUTHS["pierced-badge"]["parts"][0]["area_mm2"],)
    assert [layer.layer.metal for layer in demo.plan.layers] == ["nickel", "gold"]
    for layer in demo.plan.layers:
        assert layer.charge.value > 0
        # The uncertainty of the photo is carried to the charge.
        assert layer.charge.relative_expanded_uncertainty > demo.plated.relative_expanded_uncertainty * 0.99


def test_a_refused_demo_has_no_plan() -> None:
    demo = run_demo("refused-crossing")
    assert demo.plan is None
    assert demo.plated is None


def test_an_unknown_demo_is_refused_with_the_names() -> None:
    with pytest.raises(InputError) as caught:
        run_demo("teapot")
    assert "pierced-badge" in caught.value.remedy
