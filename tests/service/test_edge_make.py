"""How an edge was made, from the entry to the ±: in a photo, for single parts, in tables, and read again from JSON."""

import json
import math
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import areakit
from areakit.cli.main import group
from areakit.datafiles import data_dir
from areakit.errors import InputError
from areakit.geometry.correction import corrected_outline
from areakit.geometry.edge_forms import SHARE as FORM
from areakit.geometry.edge_makes import EDGE, edge_makes
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import read_photo
from areakit.records.measure_json import part_json
from areakit.records.measured_parts import read_measured_parts
from areakit.service.measure import MeasureRequest, MeasureResult, measure, result_json
from areakit.service.part_body import part_from_body
from areakit.service.photo_list import read_table
from areakit.service.plan import plan_all
from areakit.service.plan_request import PlanRequest
from areakit.service.shop import with_value
from areakit.service.shop_fill import filled
from areakit.service.shop_profile import example_text, profile_from, read_profile

DEMO = data_dir("demo_images")
FOIL, PARTS, DRAWING = DEMO / "foil-shape.jpg", DEMO / "several-parts.jpg", "badge.svg"
LENGTHS = "200 x 120 mm"
HANDBOOK = {"gold": "handbook"}


def found(photo: Path = FOIL, **said: object) -> MeasureResult:
    result = next(measure([photo], MeasureRequest(check_lengths=LENGTHS, thickness="0.05 ± 0.01 mm", **said)))  # type: ignore[arg-type]
    assert result.error is None
    return result


def run(*arguments: str) -> Result:
    return CliRunner().invoke(group, list(arguments))


@pytest.fixture(scope="module")
def unsaid() -> MeasureResult:
    return found()


@pytest.mark.parametrize("key", edge_makes())
def test_each_make_opens_the_edge_all_round_by_its_row(key: str, unsaid: MeasureResult) -> None:
    ((before,), (after,)) = unsaid.parts, found(edge_make=key).parts
    outline, open_mm = after.part.outline, edge_makes()[key].open_at(after.part.thickness.value)
    around = before.part.outline.polygon.length
    assert outline.edge_make == key
    assert outline.area.budget[EDGE] == pytest.approx(open_mm * around, rel=0.01)
    others = [one.area.standard_uncertainty**2 - one.area.budget[EDGE] ** 2 for one in (before.part.outline, outline)]
    assert others[0] == pytest.approx(others[1])  # nothing else moves
    assert outline.area.value == before.part.outline.area.value


def test_nothing_said_is_the_unknown_edge(unsaid: MeasureResult) -> None:
    assert result_json(unsaid) == result_json(found(edge_make="unknown"))
    bare = find_outlines(read_photo(FOIL), thickness=None)
    assert bare.parts[0].outline.edge_make == "unknown"


def test_the_uncertainty_of_a_foil_is_that_of_a_clean_cut_unless_its_edge_is_rougher(unsaid: MeasureResult) -> None:
    makes = [unsaid, *(found(edge_make=key) for key in ("cut-foil", "sawn", "cast"))]
    before, foil, sawn, cast = [result.parts[0].surface.plated.expanded_uncertainty for result in makes]
    assert before == foil < 0.97 * sawn < 0.97 * 0.9 * cast


def test_a_single_part_has_an_edge_of_its_own() -> None:
    result = found(PARTS, edge_make="sawn", parts=("2: edge-make cast",))
    assert [one.part.outline.edge_make for one in result.parts] == ["sawn", "cast", "sawn", "sawn", "sawn"]
    shares = [one.part.outline.area.budget[EDGE] / one.part.outline.polygon.length for one in result.parts]
    assert shares == pytest.approx([0.03, 0.08, 0.03, 0.03, 0.03], rel=0.01)


@pytest.mark.parametrize("said", [{"edge_make": "welded"}, {"parts": ("1: edge-make welded",)}])
def test_a_make_that_nobody_knows_is_refused_before_any_photo_is_read(said: dict[str, object]) -> None:
    with pytest.raises(InputError, match="'welded'"):
        next(measure([Path("there-is-none.jpg")], MeasureRequest(**said)))  # type: ignore[arg-type]


def test_it_is_read_again_from_json_and_kept_through_corrections(tmp_path: Path) -> None:
    body = result_json(found(edge_make="etched"))
    part = part_from_body(json.loads(json.dumps(body))["parts"][0])
    assert part.outline.edge_make == "etched"
    rings = [list(part.outline.polygon.exterior.coords)]
    assert corrected_outline(part.outline, rings, hand_mm=0.1).edge_make == "etched"
    saved = tmp_path / "foil.json"
    saved.write_text(json.dumps(body), encoding="utf-8")
    again = json.loads(run("surface", "--from", str(saved), "--json").stdout)["parts"][0]
    assert again["edge_make"] == "etched"
    assert again["face_area"]["budget"] == pytest.approx(body["parts"][0]["face_area"]["budget"])


def test_a_drawing_has_none_and_a_foreign_one_is_refused(tmp_path: Path) -> None:
    body = result_json(found())
    body["parts"][0]["edge_make"] = "welded"
    with pytest.raises(InputError, match="'welded'"):
        part_from_body(body["parts"][0])
    with pytest.raises(InputError, match="'welded'"):
        plan_all(
            PlanRequest(process="gold-brush", layers={"gold": "1 um"}, efficiency=HANDBOOK, measured=json.dumps(body))
        )
    drawn = json.loads(run("surface", "--shape", "disk 30 mm", "--json").stdout)["parts"][0]
    assert drawn["edge_make"] is None
    older = {name: value for name, value in body["parts"][0].items() if name != "edge_make"}
    part = part_from_body(older)  # printed before edges were told apart
    assert part.outline.edge_make == ""
    assert part_json(1, found().parts[0].surface, part.outline, None)["edge_make"] is None


def test_a_table_of_photos_says_it_row_by_row(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("photo,edge make,edge form\na.jpg,cast,unknown\nb.jpg,,\n", encoding="utf-8")
    said = [one.request(MeasureRequest(edge_make="sawn")) for one in read_table(path)]
    assert [(one.edge_make, one.edge_form) for one in said] == [("cast", "unknown"), ("sawn", "")]


def test_measure_says_it_where_it_was_said() -> None:
    (plain, cast) = (run("measure", str(FOIL), *more).stdout for more in ((), ("--edge-make", "cast")))
    assert "Edge of part" not in plain
    share = result_json(next(measure([FOIL], MeasureRequest(edge_make="cast"))))["parts"][0]["plated_area"]
    percent = 100 * share["budget"][EDGE] ** 2 / share["standard_uncertainty"] ** 2
    assert f"Edge of part 1: cast, ± 0.16 mm all round, {percent:.0f} % of the variance" in cast
    refused = run("measure", str(FOIL), "--edge-make", "welded")
    assert isinstance(refused.exception, InputError)
    assert refused.exception.exit_code == 2


PLAN = ("--process", "gold-brush", "--layer", "gold=0.5 um", "--efficiency", "gold=handbook", "--shop", "none")


def test_a_plan_tells_make_and_share_in_its_details() -> None:
    said = run("plan", str(FOIL), "--edge-make", "tumbled", *PLAN, "--details").stdout
    assert "areakit measure, part 1, edge tumbled" in said
    assert "edge of the part" in " ".join(said.split("pieces")[0].split())
    assert "edge unknown" not in run("plan", str(FOIL), *PLAN, "--details").stdout


@pytest.mark.parametrize("what", [("--shape", "disk 30 mm"), ("badge.svg",)])
def test_what_speaks_of_a_photo_is_refused_where_there_is_none(
    what: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    square = '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">{}</svg>'
    Path(DRAWING).write_text(square.format('<rect width="20" height="20"/>'), encoding="utf-8")
    refused = run("plan", *what, "--edge-make", "cast", *PLAN)
    assert isinstance(refused.exception, InputError)
    assert "--edge-make is about a photo" in refused.exception.message
    profile = read_profile(example_text(), name="default")
    (tmp_path / "default.toml").write_text(
        example_text().replace('faces = "all"', 'faces = "one"\nedge_make = "cast"'), encoding="utf-8"
    )
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path))
    assert profile.one("usual", "edge_make") is None
    kept = run("plan", *what, "--process", "nickel-gold-brush")  # the usual edge of the shop is left out
    assert kept.exit_code == 0, kept.output


def test_the_shop_profile_fills_it_for_photos_alone() -> None:
    profile = with_value(read_profile(example_text(), name="default"), "usual.edge_make", "sawn")
    got = filled({"photo": "a.jpg"}, profile)
    assert (got.entries["edge_make"], got.origins["edge_make"]) == ("sawn", "usual.edge_make")
    typed = filled({"photo": "a.jpg", "edge_make": "cast"}, profile)
    assert typed.entries["edge_make"] == "cast"
    assert "edge_make" not in typed.origins
    assert "edge_make" not in filled({"area": "12 cm2"}, profile).entries
    with pytest.raises(InputError, match=r"usual\.edge_make: 'welded' is not one of unknown, cut-foil"):
        profile_from({"usual": {"edge_make": "welded"}}, name="mine")


def test_a_plan_of_a_photo_takes_it_from_the_shop_and_shows_where_from(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path))
    assert run("shop", "--example").exit_code == 0
    before = json.loads(run("plan", str(FOIL), "--process", "nickel-gold-brush", "--faces", "one", "--json").stdout)
    assert run("shop", "--set", "usual.edge_make=cast").exit_code == 0
    shown = run("shop", "--show").stdout
    (line,) = [one for one in shown.splitlines() if "usual.edge_make" in one]
    assert "cast" in line
    assert "default.toml" in line
    after = json.loads(run("plan", str(FOIL), "--process", "nickel-gold-brush", "--faces", "one", "--json").stdout)
    shares = [one["area"]["per_piece"]["budget"][EDGE] for one in (before, after)]
    assert shares[1] == pytest.approx(4 * shares[0])
    typed = ("--edge-make", "unknown", "--process", "nickel-gold-brush", "--faces", "one", "--json")
    assert json.loads(run("plan", str(FOIL), *typed).stdout) == before


# The form of the edge


def test_a_rounded_edge_is_read_lower_and_comes_back_from_json(tmp_path: Path) -> None:
    said = {"edge_form": "rounded 0.5 ± 0.1 mm", "faces": "all"}
    rounded, sharp = (
        next(measure([FOIL], MeasureRequest(check_lengths=LENGTHS, thickness="1.2 ± 0.05 mm", **more)))  # type: ignore[arg-type]
        for more in (said, {"faces": "all"})
    )
    (part,), (other,) = rounded.parts, sharp.parts
    assert part.part.view is not None
    assert part.part.view.level_mm == pytest.approx(0.7)
    height = part.part.view.height_mm
    growth = part.part.outline.area.value / other.part.outline.area.value - 1.0
    assert growth == pytest.approx(2 * 0.5 / height, rel=0.25)
    body = json.loads(json.dumps(result_json(rounded)))["parts"][0]
    assert body["edge_form"] == "rounded 0.5 ± 0.1 mm"
    assert result_json(sharp)["parts"][0]["edge_form"] == "sharp"
    saved = tmp_path / "foil.json"
    saved.write_text(json.dumps(result_json(rounded)), encoding="utf-8")
    again = json.loads(run("surface", "--from", str(saved), "--json").stdout)["parts"][0]
    assert again["edge_form"] == body["edge_form"]
    assert again["plated_area"]["value"] == pytest.approx(body["plated_area"]["value"], rel=1e-6)
    assert again["plated_area"]["budget"] == pytest.approx(body["plated_area"]["budget"], rel=0.01, abs=1e-6)


def test_a_single_part_has_a_form_of_its_own() -> None:
    result = next(
        measure([PARTS], MeasureRequest(thickness="1 mm", edge_form="unknown", parts=("2: edge-form sharp",)))
    )
    assert [one.surface.edge_form.text for one in result.parts] == ["unknown", "sharp", "unknown", "unknown", "unknown"]
    assert [FORM in one.part.outline.area.budget for one in result.parts] == [True, False, True, True, True]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"edge_form": "blunt"}, "'blunt' is not a form"),
        ({"edge_form": "rounded 1 mm"}, "without the thickness"),
        ({"edge_form": "rounded 1 mm", "thickness": "1.2 mm"}, r"do not fit a part 1\.2 mm thick"),
        ({"edge_form": "unknown", "form": "round"}, "form round has no edge"),
    ],
)
def test_a_form_that_cannot_be_is_refused_before_any_photo_is_read(said: dict[str, str], words: str) -> None:
    with pytest.raises(InputError, match=words):
        next(measure([Path("there-is-none.jpg")], MeasureRequest(**said)))  # type: ignore[arg-type]


def test_a_drawing_may_have_rounded_edges_too() -> None:
    shape = ("--shape", "disk 30 mm", "--thickness", "4 mm", "--faces", "all")
    asked = json.loads(run("surface", *shape, "--edge-form", "rounded 2 mm", "--json").stdout)
    python = areakit.plated_surface(shape="disk 30 mm", thickness="4 mm", faces="all", edge_form="rounded 2 mm")
    assert asked["total_plated_area"]["value"] == pytest.approx(python.plated.value.m_as("mm**2"))
    sharp = json.loads(run("surface", *shape, "--json").stdout)["total_plated_area"]["value"]
    assert sharp - asked["total_plated_area"]["value"] == pytest.approx((4 - math.pi) * 2 * math.pi * 30, rel=0.1)


def test_areas_of_other_faces_of_a_rounded_part_are_not_made_up() -> None:
    body = result_json(
        next(measure([FOIL], MeasureRequest(thickness="1.2 mm", faces="all", edge_form="rounded 0.5 mm")))
    )
    (part,) = read_measured_parts(json.dumps(body))
    assert part.area("all") == part.area("given")
    assert part.area("both") is None
