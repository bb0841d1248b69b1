import io
import json
import math
import re
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner

from areakit.cli.surface import command
from areakit.errors import AreakitError, FileError, InputError, RangeError, UnitError

# One badge three ways: a disk of 38 mm with a square window, six holes on a pitch circle, and a bar joined on top.
RADIUS, WINDOW, HOLE, PITCH, BAR = 19.0, 9.0, 3.0, 26.0, (44.0, 6.0)


DEMO = Path(__file__).resolve().parents[2] / "demo_images"


def run(*arguments: str) -> str:
    result = CliRunner().invoke(command, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def parts(*arguments: str) -> dict:
    return json.loads(run(*arguments, "--json"))


def holes() -> list[tuple[float, float]]:
    return [(PITCH / 2 * math.cos(i * math.pi / 3), PITCH / 2 * math.sin(i * math.pi / 3)) for i in range(6)]


def outer_path() -> tuple[float, float]:
    """Where the bar's upper edge leaves the disk."""
    y = BAR[1] / 2
    return math.sqrt(RADIUS**2 - y**2), y


def write_svg(path: Path) -> None:
    x, y = outer_path()
    half, w = BAR[0] / 2, WINDOW / 2
    arc = f"A{RADIUS} {RADIUS} 0 0 1"
    outline = f"M{-half} {-y}L{-x} {-y}{arc} {x} {-y}H{half}V{y}H{x}{arc} {-x} {y}H{-half}Z"
    round_holes = "".join(f'<circle cx="{a}" cy="{b}" r="{HOLE / 2}"/>' for a, b in holes())
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="5cm" height="5cm" viewBox="-25 -25 50 50">'
        f'<path d="{outline}"/><rect x="{-w}" y="{-w}" width="{WINDOW}" height="{WINDOW}"/>{round_holes}</svg>'
    )


def write_dxf(path: Path) -> None:
    """In inches, with bulges, and one hole in a block placed six times."""
    document = ezdxf.new()
    document.header["$INSUNITS"] = 1
    space, k = document.modelspace(), 1 / 25.4
    x, y = outer_path()
    half, w = BAR[0] / 2, WINDOW / 2
    bulge = math.tan((math.pi - 2 * math.atan2(y, x)) / 4)
    ring = [
        (half, -y, 0),
        (half, y, 0),
        (x, y, bulge),
        (-x, y, 0),
        (-half, y, 0),
        (-half, -y, 0),
        (-x, -y, bulge),
        (x, -y, 0),
    ]
    space.add_lwpolyline([(a * k, b * k, c) for a, b, c in ring], format="xyb", close=True)
    space.add_lwpolyline([(a * k, b * k) for a, b in [(-w, -w), (w, -w), (w, w), (-w, w)]], close=True)
    document.blocks.new("HOLE").add_circle((0, 0), HOLE / 2 * k)
    for a, b in holes():
        space.add_blockref("HOLE", (a * k, b * k))
    text = io.StringIO()
    document.write(text)
    path.write_text(text.getvalue())


TYPED = (
    "--shape", f"disk {2 * RADIUS} mm ± 0.05 mm", "--plus", f"rectangle {BAR[0]} ± 0.05 mm x {BAR[1]} ± 0.05 mm",
    "--minus", f"square {WINDOW} mm ± 0.05 mm", "--minus", f"disk {HOLE} mm ± 0.05 mm, count 6, circle {PITCH} mm",
)  # fmt: skip


def true_areas() -> tuple[float, float]:
    """Face, and perimeter, by closed forms: disk, plus the bar outside it, less window and holes."""
    x, y = outer_path()
    angle = math.atan2(y, x)
    segment = RADIUS**2 * (angle - math.sin(angle) * math.cos(angle))
    ends = 2 * ((BAR[0] / 2 - x) * BAR[1] - segment)
    face = math.pi * RADIUS**2 + ends - WINDOW**2 - 6 * math.pi * HOLE**2 / 4
    outer = 2 * RADIUS * (math.pi - 2 * angle) + 4 * (BAR[0] / 2 - x) + 2 * BAR[1]
    return face, outer + 4 * WINDOW + 6 * math.pi * HOLE


@pytest.fixture
def badge(tmp_path: Path) -> Path:
    write_svg(tmp_path / "badge.svg")
    write_dxf(tmp_path / "badge.dxf")
    return tmp_path


def test_one_badge_drawn_twice_and_typed_has_one_area_within_the_stated_uncertainty(badge: Path) -> None:
    face, perimeter = true_areas()
    all_over = ("--thickness", "1.2 mm ± 0.05 mm", "--faces", "all")
    plated = 2 * face + 1.2 * perimeter
    for source in ((str(badge / "badge.svg"),), (str(badge / "badge.dxf"),), TYPED):
        (part,) = parts(*source, *all_over)["parts"]
        for key, true in (("face_area", face), ("perimeter", perimeter), ("plated_area", plated)):
            quantity = part[key]
            assert abs(quantity["value"] - true) < quantity["expanded_uncertainty"], (source, key)
            assert quantity["value"] == pytest.approx(true, rel=1e-4)
        assert part["perimeter"]["outer"]["value"] + part["perimeter"]["holes"]["value"] == pytest.approx(
            part["perimeter"]["value"]
        )
        assert sum(line["area"]["value"] for line in part["surfaces"]) == pytest.approx(plated, rel=1e-4)
        assert 0.0 < part["plated_area"]["expanded_uncertainty"] < 0.02 * plated


def test_flattening_is_below_a_ten_thousandth_of_the_area(badge: Path) -> None:
    for name in ("badge.svg", "badge.dxf"):
        body = parts(str(badge / name))
        area = body["parts"][0]["face_area"]
        assert area["budget"]["flattening"] < 1e-4 * area["value"]
        assert body["drawing"]["sagitta_mm"] < 0.002


@pytest.mark.parametrize("suffix", ["svg", "dxf", "geojson", "wkt"])
def test_an_exported_outline_can_serve_as_a_mask_and_as_a_part(badge: Path, suffix: str) -> None:
    target = badge / f"out.{suffix}"
    face = parts(str(badge / "badge.svg"), "--export", str(target))["parts"][0]["face_area"]["value"]
    again = parts(str(target), *(("--unit", "mm") if suffix == "wkt" else ()))["parts"][0]["face_area"]["value"]
    assert again == pytest.approx(face, rel=1e-5)
    unit = ("--unit", "mm") if suffix == "wkt" else ()
    masked = parts("--shape", "disk 60 mm ± 0.1 mm", "--mask", str(target), *unit)["parts"][0]
    assert masked["plated_area"]["value"] == pytest.approx(face, rel=1e-5)
    assert "mask" in masked["plated_area"]["budget"]


def test_every_share_is_named(badge: Path) -> None:
    body = parts(
        str(badge / "badge.svg"), "--thickness", "1.2 mm", "--faces", "all", "--stop-off", "disk 9 mm, at 15 0 mm",
        "--overspill", "0.5 mm", "--relief", "struck", "--significant", "disk 20 mm",
        "--recess", "disk 3 mm, at 0 13 mm", "--recess-depth", "0.3 mm ± 0.05 mm", "--draft", "2 deg ± 0.5 deg",
    )  # fmt: skip
    (part,) = body["parts"]
    assert set(part["plated_area"]["budget"]) == {
        "edge", "flattening", "thickness", "mask", "overspill", "relief", "recess depth", "wall angle"
    }  # fmt: skip
    assert sum(part["shares"].values()) == pytest.approx(1.0)
    assert part["shares"]["allowance"] > 0.0
    assert part["significant_area"]["value"] < part["face_area"]["value"]
    assert "RELIEF_FROM_PRACTICE" in {flag["code"] for flag in body["flags"]}


def test_figures_without_a_tolerance_are_named(badge: Path) -> None:
    bare = parts(str(badge / "badge.svg"), "--dome-height", "0.5 mm", "--thickness", "1 mm")
    told = parts(str(badge / "badge.svg"), "--dome-height", "0.5 mm ± 0.1 mm", "--thickness", "1 mm")
    messages = [flag["message"] for flag in bare["flags"] if flag["code"] == "NO_TOLERANCE"]
    assert messages == ["No tolerance was given for the rise of the dome, so it was taken as exact."]
    assert "NO_TOLERANCE" not in {flag["code"] for flag in told["flags"]}
    assert "dome height" in told["parts"][0]["plated_area"]["budget"]


def test_count_multiplies_and_shapes_add_up() -> None:
    one = parts("--shape", "washer 16 x 8.4 x 1.6 mm")
    many = parts("--shape", "washer 16 x 8.4 x 1.6 mm", "--shape", "sphere 10 mm", "--count", "200")
    assert many["count"] == 200
    assert many["total_plated_area"]["value"] == pytest.approx(
        200 * (one["total_plated_area"]["value"] + math.pi * 100), rel=1e-6
    )


def test_the_text_says_faces_shares_and_uncertainty(badge: Path) -> None:
    text = run(str(badge / "badge.svg"), "--thickness", "1.2 mm", "--faces", "all")
    assert "plated: all" in text
    assert "plated area" in text
    assert "% computed" in text
    assert "hole wall 7" in text
    assert "k = 2" in text


@pytest.mark.parametrize(
    ("arguments", "error", "words"),
    [
        ((), InputError, "one drawing, or at least one shape"),
        (("gone.svg",), FileError, "no file"),
        (("gone.step",), FileError, "no suffix"),
        (("--shape", "disk 3 mm", "--faces", "all"), RangeError, "height is not known"),
        (("--shape", "disk 3 mm", "--thickness", "2"), UnitError, "no unit"),
        (("--shape", "disk 3 mm", "--thickness", "0 mm"), RangeError, "outside 0"),
        (("--shape", "washer 9 x 4 x 1 mm", "--thickness", "2 mm"), InputError, "has its thickness"),
        (("--shape", "disk 3 mm", "--shape", "disk 4 mm", "--minus", "disk 1 mm"), InputError, "not clear"),
        (("--shape", "disk 3 mm", "--relief", "1.1"), InputError, "no tolerance"),
        (("--shape", "disk 3 mm", "--relief", "hammered"), RangeError, "not in the table"),
        (("--shape", "disk 3 mm", "--recess", "disk 1 mm"), InputError, "outline and its depth"),
        (("--shape", "disk 3 mm", "--draft", "3 deg"), InputError, "needs the thickness"),
        (("--shape", "disk 3 mm", "--bevel", "3", "--thickness", "1 mm"), InputError, "not a bevel"),
        (("--shape", "disk 3 mm", "--overspill", "90 mm"), RangeError, "outside 0 to 50"),
        (("--shape", "disk 3 mm", "--rim", "1 mm"), InputError, "not a rim"),
        (("--shape", "disk 3 mm", "--rim", "2 mm x 0.1 mm"), RangeError, "leaves no field"),
        (("--shape", "disk 3 mm", "--count", "0"), RangeError, "count of 0"),
        (("--shape", "disk 3 mm", "--export", "/nowhere/at/all.svg"), FileError, "cannot be written"),
    ],
)
def test_wrong_use_gets_one_sentence_and_a_remedy(
    arguments: tuple[str, ...], error: type[AreakitError], words: str
) -> None:
    with pytest.raises(error, match=words) as caught:
        run(*arguments)
    assert caught.value.remedy


def test_a_giant_file_is_refused_without_reading_it(tmp_path: Path) -> None:
    giant = tmp_path / "giant.svg"
    with giant.open("wb") as file:
        file.truncate(30_000_000_000)  # 1e9 vertices of 30 bytes, as a sparse file
    with pytest.raises(FileError, match="30000 MB"):
        run(str(giant))


def test_a_thicker_than_long_drawing_is_refused(badge: Path) -> None:
    with pytest.raises(RangeError, match="more than the 44 mm length"):
        run(str(badge / "badge.svg"), "--thickness", "80 mm")


def test_a_measured_photo_gives_the_surfaces_that_it_measured(tmp_path: Path) -> None:
    """The photo's own figures come back, budget and all; a disk kept bare takes its closed-form area off one face."""
    from areakit.cli.main import group

    photo, saved = DEMO / "pierced-badge.jpg", tmp_path / "badge.json"
    told = ("--thickness", "1.2 mm", "--faces", "all", "--check-lengths", "150 x 90 mm")
    printed = CliRunner().invoke(group, ["measure", str(photo), *told, "--json", "--save", str(saved)])
    assert json.loads(saved.read_text(encoding="utf-8")) == json.loads(printed.stdout)
    (measured,) = json.loads(printed.stdout)["parts"]
    (again,) = parts("--from", str(saved))["parts"]
    assert (again["faces"], again["origin"]) == (measured["faces"], measured["origin"])
    for key in ("plated_area", "face_area", "side_wall_area", "perimeter", "thickness"):
        assert again[key]["value"] == pytest.approx(measured[key]["value"], rel=1e-9), key
        assert again[key]["budget"] == pytest.approx(measured[key]["budget"], rel=1e-9), key
    low = min(x for x, _ in measured["outline"]["coordinates"][0])
    stop = ("--stop-off", f"disk 8 mm, at {low + 9} 70 mm", "--mask-sides", "back")
    (bare,) = parts("--from", str(saved), *stop)["parts"]
    assert again["plated_area"]["value"] - bare["plated_area"]["value"] == pytest.approx(math.pi * 16.0, rel=1e-3)
    assert bare["plated_area"]["budget"]["mask"] != 0.0
    picture = tmp_path / "badge.svg"
    run("--from", str(saved), "--drawing", str(picture))
    figures = [float(found) for found in re.findall(r">(-?[\d.]+)</text>", picture.read_text(encoding="utf-8"))]
    assert {70.0, 80.0, 90.0} <= set(figures)  # the sheet's own millimetres stand along the edges


def test_what_is_saved_is_what_json_prints(badge: Path) -> None:
    saved = badge / "saved.json"
    printed = run(str(badge / "badge.svg"), "--json", "--save", str(saved))
    assert json.loads(saved.read_text(encoding="utf-8")) == json.loads(printed)
    assert "plated area" in run("--from", str(saved))


@pytest.mark.parametrize(("count", "told"), [(0, None), (2, "All together (1 part without 2 regions): ")])
def test_the_total_of_a_saved_result_says_how_many_regions_have_no_area(
    badge: Path, count: int, told: str | None
) -> None:
    saved = badge / "saved.json"
    body = json.loads(run(str(badge / "badge.svg"), "--json"))
    saved.write_text(json.dumps({**body, "regions_left_out": count}), encoding="utf-8")
    text = run("--from", str(saved))
    assert (told in text) if told else ("without" not in text)
    assert json.loads(run("--from", str(saved), "--json"))["regions_left_out"] == count
    pieces = run("--from", str(saved), "--count", "3")
    assert f"All together (3 × 1 part{' without 2 regions' if count else ''}): " in pieces


@pytest.mark.parametrize(
    "text", ['{"parts": []}', '{"parts": [{"faces": "all"}]}', "not json", '{"status": "refused"}']
)
def test_text_that_no_measurement_printed_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "text.json").write_text(text)
    with pytest.raises(InputError):
        run("--from", str(tmp_path / "text.json"))


def test_a_drawing_and_a_measurement_together_are_one_too_many(badge: Path) -> None:
    (badge / "part.json").write_text('{"parts": []}')
    with pytest.raises(InputError, match="Give one"):
        run(str(badge / "badge.svg"), "--from", str(badge / "part.json"))


def write_leaf(path: Path) -> None:
    """A disk of 20 mm with a stem of 2 mm that reaches 30 mm down, and a layer that marks the stem."""
    y = math.sqrt(10.0**2 - 1.0)
    outline = f"M-1 {y}A10 10 0 1 1 1 {y}V40H-1Z"
    marked = '<rect x="-2" y="9.95" width="4" height="31"/>'
    if path.suffix == ".svg":
        path.write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="-30 -15 60 60">'
            f'<g id="leaf"><path d="{outline}"/></g><g id="Stem">{marked}</g></svg>'
        )
        return
    document = ezdxf.new()
    document.header["$INSUNITS"] = 4
    for layer in ("leaf", "Stem"):
        document.layers.add(layer)
    space, half = document.modelspace(), math.asin(0.1)
    space.add_arc((0, 0), 10, math.degrees(half) - 90, 270 - math.degrees(half), dxfattribs={"layer": "leaf"})
    space.add_lwpolyline([(1, -y), (1, -40), (-1, -40), (-1, -y)], dxfattribs={"layer": "leaf"})
    corners = [(-2, -9.95), (2, -9.95), (2, -40.95), (-2, -40.95)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "Stem"})
    document.saveas(path)


LEAF_AREA = 2 * math.pi * 100 + 20 * math.pi + math.pi * 2 * 30.05 + math.pi - 2 * 1.74


@pytest.mark.parametrize("name", ["leaf.svg", "leaf.dxf"])
def test_a_layer_of_a_drawing_marks_a_region_of_another_form(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    write_leaf(path)
    words = ("--region", "layer stem: form round, ends flat")
    body = parts(str(path), "--thickness", "1 ± 0.001 mm", *words)
    assert body["parts"][0]["plated_area"]["value"] == pytest.approx(LEAF_AREA, rel=5e-3)
    assert body["parts"][0]["form_regions"][0]["form"] == "round"
    typed = ("--region", "rectangle 4 x 31 mm, at 0 -25.45 mm: form round, ends flat")
    only_leaf = tmp_path / f"only.{name}"
    if name.endswith("svg"):
        only_leaf.write_text(path.read_text().replace('<g id="Stem">', '<g id="Stem" display="none">'))
    else:
        document = ezdxf.readfile(path)
        document.layers.get("Stem").off()
        document.saveas(only_leaf)
    same = parts(str(only_leaf), "--thickness", "1 ± 0.001 mm", *typed)
    assert same["parts"][0]["plated_area"]["value"] == pytest.approx(body["parts"][0]["plated_area"]["value"])


def test_a_part_of_two_forms_read_back_is_the_same(tmp_path: Path) -> None:
    write_leaf(tmp_path / "leaf.svg")
    words = ("--region", "layer stem: form round, ends flat; thickness 1 mm")
    with pytest.raises(InputError, match="has no thickness"):
        run(str(tmp_path / "leaf.svg"), "--thickness", "1 mm", *words)
    words = ("--region", "layer stem: form round, ends flat")
    saved = tmp_path / "leaf.json"
    first = parts(str(tmp_path / "leaf.svg"), "--thickness", "1 mm", *words, "--save", str(saved))
    again = parts("--from", str(saved))
    assert again["parts"][0]["plated_area"]["value"] == pytest.approx(first["parts"][0]["plated_area"]["value"])
    budget, other = (one["parts"][0]["plated_area"]["budget"] for one in (first, again))
    assert budget == pytest.approx(other)


def test_a_layer_that_is_not_there_is_named_with_those_that_are(tmp_path: Path) -> None:
    write_leaf(tmp_path / "leaf.svg")
    with pytest.raises(InputError, match="no layer 'stam'") as caught:
        run(str(tmp_path / "leaf.svg"), "--region", "layer stam: form round", "--faces", "front")
    assert "leaf, stem" in str(caught.value)
    with pytest.raises(InputError, match="there is none"):
        run("--shape", "disk 20 mm", "--region", "layer stem: form round", "--faces", "front")
    with pytest.raises(InputError, match="Region 1 lies on no part"):
        run("--shape", "disk 20 mm", "--region", "disk 5 mm, at 80 0 mm: form round", "--faces", "front")


def test_a_drawing_shows_the_regions_and_what_joins_them(tmp_path: Path) -> None:
    write_leaf(tmp_path / "leaf.svg")
    picture = tmp_path / "drawn.svg"
    words = ("--region", "layer stem: form round, ends flat")
    run(str(tmp_path / "leaf.svg"), "--thickness", "1 mm", *words, "--drawing", str(picture))
    text = picture.read_text()
    assert "region 1" in text
    assert "flat and round, all over" in text


def test_a_hole_is_plugged_by_its_number() -> None:
    plate = ("--shape", "rectangle 40 x 30 mm", "--minus", "disk 6 mm, at -10 0 mm", "--minus", "disk 8 mm, at 10 0 mm")
    said = ("--thickness", "2 ± 0.01 mm", "--faces", "all")
    (bare,) = parts(*plate, *said)["parts"]
    walls = {line["name"]: line["area"]["value"] for line in bare["surfaces"]}
    for number in (1, 2):
        (plugged,) = parts(*plate, *said, "--stop-off", f"hole {number}")["parts"]
        gone = bare["plated_area"]["value"] - plugged["plated_area"]["value"]
        assert gone == pytest.approx(walls[f"hole wall {number}"], rel=2e-3)
    with pytest.raises(RangeError, match="no hole 3: the part has 2"):
        run(*plate, *said, "--stop-off", "hole 3")


def test_fold_lines_on_a_layer_make_leaves_or_a_pattern_of_a_bracket(tmp_path: Path) -> None:
    """Two leaves of 20 x 40 and 20 x 25 mm, folded along a side; the same as their lengths typed one by one."""
    path = tmp_path / "leaves.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="60mm" viewBox="0 0 120 60">'
        '<g id="leaves"><rect x="5" y="5" width="40" height="20"/><rect x="60" y="5" width="25" height="20"/></g>'
        '<g id="folds"><path d="M45 5V25M60 5V25"/></g></svg>'
    )
    said = ("--thickness", "1.5 ± 0.01 mm", "--form", "folded, leaf, radius 2 mm")
    body = parts(str(path), *said, "--folds", "layer folds")
    assert [part["form"]["figures"]["length of the folds"]["value"] for part in body["parts"]] == [20.0, 20.0]
    typed = [
        parts("--shape", shape, "--thickness", "1.5 mm", "--form", "folded, leaf, radius 2 mm, fold 20 mm")
        for shape in ("rectangle 40 x 20 mm", "rectangle 25 x 20 mm")
    ]
    whole = sum(one["total_plated_area"]["value"] for one in typed)
    assert body["total_plated_area"]["value"] == pytest.approx(whole, rel=1e-9)
    pattern = tmp_path / "pattern.svg"
    pattern.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="30mm" viewBox="0 0 90 30">'
        '<rect x="5" y="5" width="60" height="20"/><g id="folds"><path d="M40 0V30"/></g></svg>'
    )
    (flat,) = parts(str(pattern), *said[:2], "--form", "folded, radius 2 mm", "--folds", "layer folds")["parts"]
    # Drawn past the edges, a fold counts as long as the pattern is wide, to the reach at either end.
    assert flat["form"]["figures"]["length of the folds"]["value"] == pytest.approx(20.1)


def test_fold_lines_without_a_folded_form_or_a_line_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "plain.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="30mm" viewBox="0 0 90 30">'
        '<rect x="5" y="5" width="60" height="20"/><g id="folds"></g></svg>'
    )
    with pytest.raises(InputError, match="those of folded sheet"):
        run(str(path), "--folds", "layer folds")
    with pytest.raises(AreakitError, match="No fold line"):
        run(str(path), "--form", "folded, radius 1 mm", "--thickness", "1 mm", "--folds", "layer folds")
    with pytest.raises(InputError, match="there is none"):
        run("--shape", "disk 20 mm", "--form", "folded, radius 1 mm", "--thickness", "1 mm", "--folds", "layer folds")
