"""The lines that a measurement prints: what is written of scale, form and regions, and what is read back of parts."""

import json
from types import SimpleNamespace
from typing import Any

import pytest
from shapely.geometry import MultiPolygon, Polygon, box

from areakit.errors import AreakitError, InputError, MeasurementError
from areakit.flags import Flag
from areakit.geometry.forms.words import read_form
from areakit.records.area_lines import (
    numbers_words,
    piece_counts,
    read_part_areas,
    regions_left_out,
    text_left_out,
    without_words,
)
from areakit.records.codec import quantity_json
from areakit.records.measure_json import form_json, form_regions_json, photo_json
from areakit.records.measured_parts import choose_part, read_measured_parts
from areakit.records.part_outlines import form_as_said, form_of, form_words, read_part_outlines, view_of_body
from areakit.uncertainty import Measured, exact

SQUARE = {"type": "Polygon", "coordinates": [[[0, 0], [20, 0], [20, 20], [0, 20], [0, 0]]]}
RING = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0), (0.0, 0.0))


def size(value: float, unit: str, share: float = 0.0) -> dict[str, Any]:
    return quantity_json(Measured(value=value, unit=unit, budget={"edge": share}))


def part(**more: Any) -> dict[str, Any]:
    given = {
        "id": 4, "outline": SQUARE, "face_area": size(400.0, "mm2", 2.0), "plated_area": size(4.0, "cm2", 0.02),
        "perimeter": {"outer": size(80.0, "mm"), "holes": size(0.0, "mm")}, "thickness": size(1.2, "mm"),
        "faces": "both", "flags": [],
    }  # fmt: skip
    return {**given, **more}


def told(code: str, **more: Any) -> dict[str, Any]:
    return {"code": code, "message": f"What {code} says.", "remedy": f"Mend {code}.", **more}


def line(*parts: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"photo": "a.jpg", "status": "measured", "parts": list(parts), "flags": [], **more}


REFUSED = {"photo": "b.jpg", "status": "refused", "parts": [], "flags": [told("NO_SHEET", fields={"mark": "card"})]}


def lines(*bodies: Any) -> str:
    return "\n".join(json.dumps(body) for body in bodies)


# Areas of parts


def test_parts_of_all_lines_are_numbered_and_carry_their_own_and_their_photo_s_flags() -> None:
    first = line(part(flags=[told("BURR", fields={"edge": "sawn"})]), part(), flags=[told("BURR"), told("TILT_HIGH")])
    found = read_part_areas(lines(first, line(part(origin="drawing", edge_make="sawn"))))
    assert [one.number for one in found] == [1, 2, 3]
    assert found[0].area.value == pytest.approx(400.0)
    assert (found[0].area.unit, found[0].area.standard_uncertainty) == ("mm2", pytest.approx(2.0))
    assert [(flag.code, flag.part) for flag in found[0].flags] == [("TILT_HIGH", None), ("BURR", 1)]
    assert found[0].flags[1].fields == {"edge": "sawn"}
    assert found[0].flags[1].remedy == "Mend BURR."
    assert [flag.code for flag in found[1].flags] == ["TILT_HIGH"]
    assert [(one.command, one.edge_make) for one in found[1:]] == [("areakit measure", ""), ("areakit surface", "sawn")]


def test_a_list_and_a_single_object_are_read_as_lines_are() -> None:
    for text in (json.dumps(line(part())), json.dumps([line(part())]), f"\n{lines(line(part()))}\n\n"):
        assert len(read_part_areas(text)) == 1


def test_a_photo_left_out_is_told_with_every_part() -> None:
    found = read_part_areas(lines(REFUSED, line(part())))
    assert [flag.code for flag in found[0].flags] == ["PHOTO_LEFT_OUT"]
    assert "b.jpg" in found[0].flags[0].message
    assert "What NO_SHEET says." in found[0].flags[0].message
    silent = read_part_areas(lines({**REFUSED, "flags": []}, line(part())))
    assert "no reason given" in silent[0].flags[0].message


def test_where_every_photo_was_refused_the_first_reason_is_told() -> None:
    with pytest.raises(MeasurementError) as refusal:
        read_part_areas(lines(REFUSED, {**REFUSED, "flags": [told("OTHER")]}))
    assert refusal.value.message == "The photo was refused: What NO_SHEET says."
    assert (refusal.value.code, refusal.value.remedy) == ("NO_SHEET", "Mend NO_SHEET.")
    assert refusal.value.fields == {"mark": "card"}
    with pytest.raises(MeasurementError, match="no reason given") as silent:
        read_part_areas(lines({**REFUSED, "flags": "none"}))
    assert silent.value.remedy


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("{", "not JSON"), ("[1]", "not an object"), ('{"parts": 3}', "no list of parts"),
        ('{"parts": [3]}', "no list of parts"), ('{"parts": []}', "no measured part"),
        (lines(line(part(plated_area=None))), "Part 1 has no plated area"),
        (lines(line(part(plated_area=size(3.0, "mm")))), "plated area of part 1 is in 'mm'"),
    ],
)  # fmt: skip
def test_what_is_no_measurement_is_refused(text: str, what: str) -> None:
    with pytest.raises(InputError, match=what):
        read_part_areas(text)


def test_regions_without_an_area_are_counted_in_every_total() -> None:
    bodies = [
        {"regions_left_out": 2},
        {},
        {"regions_left_out": True},
        {"regions_left_out": -3},
        {"regions_left_out": 1},
    ]
    assert regions_left_out(bodies) == 3
    assert text_left_out(lines(*(line(part(), **one) for one in bodies))) == 3
    assert [without_words(count) for count in (0, 1, 2)] == ["", " without 1 region", " without 2 regions"]


def test_a_part_stands_for_one_piece_unless_its_line_says_more() -> None:
    bodies = [
        line(part(), part(), count=3),
        line(part()),
        line(part(), count=0),
        line(part(), count=True),
        line(part(), count="2"),
    ]
    assert piece_counts(lines(*bodies)) == (3, 3, 1, 1, 1, 1)
    assert piece_counts(lines(line(part(), count=1))) == (1,)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ([6, 1, 2, 3, 4], "1 to 4, 6"),
        ([1, 3], "1, 3"),
        ([2, 1], "1 to 2"),
        ([5], "5"),
        ([1, 2, 4, 5], "1 to 2, 4 to 5"),
    ],
)
def test_numbers_are_told_in_runs(numbers: list[int], words: str) -> None:
    assert numbers_words(numbers) == words


# Whole parts


def test_a_part_is_read_with_outline_perimeter_and_form() -> None:
    found = choose_part(lines(line(part(plated_area=size(4.0, "mm2")))))
    assert (found.name, found.rings, found.faces, found.rounded, found.form) == ("4", (RING,), "both", False, None)
    assert (found.face.value, found.perimeter_outer.value, found.perimeter_holes.value) == (400.0, 80.0, 0.0)
    assert found.thickness is not None
    assert found.thickness.value == 1.2


def test_rounded_edges_and_forms_of_a_part_are_read() -> None:
    bent = part(edge_form="rounded 0.3 mm", form={"text": "bent"}, thickness=None)
    sharp = part(edge_form="sharp")
    del sharp["faces"], sharp["id"]
    first, second = read_measured_parts(
        lines(line({**bent, "plated_area": size(4.0, "mm2")}, {**sharp, "plated_area": size(4.0, "mm2")}))
    )
    assert (first.rounded, first.form, first.thickness) == (True, "bent", None)
    assert (second.rounded, second.faces, second.name) == (False, "one", "2")


def test_a_part_is_chosen_by_its_number() -> None:
    text = lines(line(*(part(id=name, plated_area=size(4.0, "mm2")) for name in ("a", "b", "c"))))
    assert [choose_part(text, number).name for number in (1, 2, 3)] == ["a", "b", "c"]
    for wrong in (0, 4):
        with pytest.raises(InputError, match=f"no part {wrong} among 3"):
            choose_part(text, wrong)
    with pytest.raises(InputError, match="holds 3 parts"):
        choose_part(text)


@pytest.mark.parametrize(
    ("more", "what"),
    [({"perimeter": {"outer": size(80.0, "mm")}}, "Part 1 has no perimeter"), ({"perimeter": 3}, "no perimeter"),
     ({"plated_area": size(4.0, "cm2")}, "'cm2' where mm2 is due"), ({"outline": None}, "Part 1 has no outline")],
)  # fmt: skip
def test_a_part_without_what_costing_needs_is_refused(more: dict[str, Any], what: str) -> None:
    with pytest.raises(InputError, match=what):
        read_measured_parts(lines(line({**part(plated_area=size(4.0, "mm2")), **more})))


def test_a_triangle_is_the_smallest_ring() -> None:
    """RFC 7946, 3.1.6: four points, the last of which is the first."""
    triangle = {"type": "Polygon", "coordinates": [[[0, 0], [2, 0], [0, 2], [0, 0]]]}
    (found,) = read_part_outlines(lines(line(part(outline=triangle))))
    assert found is not None
    assert found.rings == (((0.0, 0.0), (2.0, 0.0), (0.0, 2.0), (0.0, 0.0)),)


def test_outlines_tell_what_is_no_flat_plate() -> None:
    bodies = (
        part(),
        part(outline=None),
        part(surfaces=[{"name": "front"}, {"name": "front, dome of 2 mm"}, {"name": "stopped off"}], thickness=None),
        part(form={"text": "bent", "unrolled": SQUARE}),
        part(form_regions=[{"form": "round", "words": "1 rod"}]),
    )
    flat, none, domed, bent, joined = read_part_outlines(lines(line(*bodies)))
    assert none is None
    assert flat is not None
    assert domed is not None
    assert bent is not None
    assert joined is not None
    assert (flat.number, flat.rings, flat.thickness_mm, flat.faces) == (1, (RING,), 1.2, "both")
    assert (flat.shaped, flat.form, flat.unrolled, flat.joined) == (None, None, None, None)
    assert (domed.number, domed.shaped, domed.thickness_mm) == (3, "front, dome of 2 mm", None)
    assert (bent.form, bent.unrolled) == ("bent", (RING,))
    assert joined.joined == "flat and round"


@pytest.mark.parametrize(
    ("outline", "what"),
    [
        ({"type": "Point", "coordinates": [0, 0]}, "no outline"),
        ({"type": "Polygon", "coordinates": [[[0]]]}, "no outline"),
        ({"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [0, 0]]]}, "not a closed"),
        ({"type": "Polygon", "coordinates": []}, "not a closed"), (3, "no outline"),
        ({"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, "1e999"], [0, 0]]]}, "not a closed"),
    ],
)  # fmt: skip
def test_an_outline_that_is_no_closed_polygon_is_refused(outline: Any, what: str) -> None:
    """RFC 7946, 3.1.6: a ring has four points or more."""
    with pytest.raises(InputError, match=what):
        read_part_outlines(lines(line(part(outline=outline))))


# Forms and views


def test_a_form_is_written_and_read_back() -> None:
    form = read_form("bent")
    surface: Any = SimpleNamespace(
        form=form, figures={"width": exact(3.0, "mm")}, unrolled=Polygon([(0, 0), (2, 0), (2, 1)]), regions=()
    )
    body = form_json(surface)
    assert body is not None
    assert (body["name"], body["text"]) == ("bent", form.text)
    assert body["figures"]["width"]["value"] == 3.0
    assert body["unrolled"]["type"] == "Polygon"
    assert form_of({"form": body}) == form
    surface.unrolled = None
    plain = form_json(surface)
    assert plain is not None
    assert plain["unrolled"] is None
    surface.form = None
    assert form_json(surface) is None
    assert form_of({"form": form_json(surface)}) is None


def test_regions_are_written_with_outline_form_and_words() -> None:
    two = MultiPolygon([box(0, 0, 1, 1), box(3, 0, 4, 1)])
    regions = (
        SimpleNamespace(region=two, form=read_form("bent"), text="1 bent", edge_mm=0.2),
        SimpleNamespace(region=box(0, 0, 9, 9), form=None, text="2 flat", edge_mm=0.0),
    )
    first, second = form_regions_json(SimpleNamespace(regions=regions))  # type: ignore[arg-type]
    assert (first["form"], first["words"], first["seam_mm"], len(first["outlines"])) == ("bent", "1 bent", 0.2, 2)
    assert (second["form"], len(second["outlines"])) == ("flat", 1)


def test_forms_are_told_in_words() -> None:
    wire = {"form": "round", "words": "1 rod"}
    assert form_words({}) is None
    assert form_words({"form_regions": []}) is None
    assert form_words({"form": {"text": "bent"}}) == "bent"
    assert form_words({"form_regions": [wire, wire]}) == "flat and round"
    assert form_words({"form": {"text": "bent"}, "form_regions": [wire]}) == "bent and round"
    assert form_as_said({}) == ""
    assert form_as_said({"form": {"text": "bent"}}) == "bent"
    assert form_as_said({"form_regions": [wire, {"form": "flat"}, 3]}) == "flat; 1 rod"
    for wrong in ({"form": {"text": 3}}, {"form": 3}, {"form_regions": [3]}, {"form_regions": [{"form": "cloud"}]}):
        with pytest.raises(InputError, match="cannot be read"):
            form_words(wrong)


VIEW = {"x_mm": 1.0, "y_mm": -2.0, "height_mm": 300.0, "level_mm": 1.2, "level_open_mm": 0.1, "pixel_mm": 0.05}


def test_where_the_camera_stood_is_read_back() -> None:
    assert view_of_body({}) is None
    for level in (0.0, 299.0):
        found = view_of_body({"view": {**VIEW, "level_mm": level}})
        assert found is not None
        assert (found.x_mm, found.y_mm, found.height_mm, found.level_mm, found.pixel_mm) == (
            1.0,
            -2.0,
            300.0,
            level,
            0.05,
        )
    older = {name: value for name, value in VIEW.items() if name != "pixel_mm"}
    found = view_of_body({"view": older})
    assert found is not None
    assert (found.pixel_mm, found.level_open_mm) == (0.0, 0.1)


@pytest.mark.parametrize(
    "wrong", [{"level_mm": -0.1}, {"level_mm": 300.0}, {"height_mm": "high"}, {"x_mm": "nan"}, {"level_mm": None}]
)
def test_a_camera_that_stood_nowhere_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(InputError, match="Where the camera stood"):
        view_of_body({"view": {**VIEW, **wrong}})
    with pytest.raises(AreakitError):
        view_of_body({"view": {"x_mm": 1.0}})


# The line of a photo


def scale(**more: Any) -> Any:
    given = {
        "mark": "frame", "sheet": "A4-r1", "mm_per_px": 0.06, "corners_used": 70, "corners_total": 80, "lens": "",
        "sheet_scale": SimpleNamespace(x=1.001, y=0.999), "confirmed": "",
        "camera": SimpleNamespace(tilt_deg=3.0, height_mm=290.0, focal_px=3000.0, rms_px=0.06),
    }  # fmt: skip
    return SimpleNamespace(**{**given, **more})


def test_the_line_of_a_measured_photo_tells_its_scale() -> None:
    flag = Flag(code="TILT_HIGH", message="m", remedy="r")
    found = photo_json("a.jpg", scale=scale(), parts=[part()], flags=(flag,), left_out=2)
    assert (found["photo"], found["status"], len(found["parts"]), found["regions_left_out"]) == (
        "a.jpg",
        "measured",
        1,
        2,
    )
    assert found["flags"] == [{"code": "TILT_HIGH", "message": "m", "remedy": "r"}]
    assert found["scale"] == {
        "mark": "frame", "sheet": "A4-r1", "tilt_deg": 3.0, "mm_per_px": 0.06, "camera_height_mm": 290.0,
        "focal_length_px": 3000.0, "residual_px": 0.06, "points_used": 70, "points_total": 80,
        "copy_scale": {"x": 1.001, "y": 0.999}, "copy_told_by": "nobody", "lens": "this photo",
    }  # fmt: skip


def test_who_told_the_print_and_which_lens_was_used_are_told() -> None:
    told_by = [photo_json("a", scale=one, parts=[], flags=())["scale"] for one in
               (scale(confirmed="card", lens="of 2026-03-14"), scale(mark="card", confirmed="card"))]  # fmt: skip
    assert [one["copy_told_by"] for one in told_by] == ["card", None]
    assert [one["lens"] for one in told_by] == ["stored of 2026-03-14", "this photo"]


def test_the_line_of_a_refused_photo_has_no_scale() -> None:
    found = photo_json("a.jpg", scale=None, parts=[], flags=())
    assert (found["status"], found["scale"], found["regions_left_out"]) == ("refused", None, 0)
