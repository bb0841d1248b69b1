"""``areakit measure``, ``demo`` and ``schema`` as they are typed."""

import itertools
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from areakit.cli.main import group
from areakit.cli.progress import Progress
from areakit.datafiles import data_dir
from areakit.errors import AreakitError, FileError, InputError, UnitError

ROOT = Path(__file__).resolve().parents[2]
DEMO = data_dir("demo_images")
FOIL = str(DEMO / "foil-shape.jpg")
PARTS = str(DEMO / "several-parts.jpg")
CROSSING = str(DEMO / "refused-crossing.jpg")
CHECKED = ("--check-lengths", "200 x 120 mm")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(group, list(arguments), catch_exceptions=False)


def lines(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    result = run("schema")
    assert result.exit_code == 0
    document: dict[str, Any] = json.loads(result.stdout)
    jsonschema.Draft202012Validator.check_schema(document)
    return document


def test_the_json_of_a_photo_obeys_the_schema(schema: dict[str, Any]) -> None:
    result = run("measure", PARTS, "--json", "--thickness", "1 mm", "--faces", "all", *CHECKED)
    assert result.exit_code == 0
    (line,) = lines(result)
    jsonschema.validate(line, schema)
    assert line["photo"] == "several-parts.jpg"
    assert line["status"] == "measured"
    assert [part["id"] for part in line["parts"]] == [1, 2, 3, 4, 5]
    for part in line["parts"]:
        face = part["face_area"]
        shares = sum(share**2 for share in face["budget"].values()) ** 0.5
        assert face["standard_uncertainty"] == pytest.approx(shares)
        assert face["expanded_uncertainty"] == pytest.approx(face["coverage_factor"] * shares)
        ring = part["outline"]["coordinates"][0]
        assert ring[0] == ring[-1]  # RFC 7946, 3.1.6
        around = part["perimeter"]
        assert around["value"] == pytest.approx(around["outer"]["value"] + around["holes"]["value"])


def test_without_a_thickness_there_are_no_walls_and_a_caution(schema: dict[str, Any]) -> None:
    (line,) = lines(run("measure", FOIL, "--json", *CHECKED))
    jsonschema.validate(line, schema)
    (part,) = line["parts"]
    assert part["side_wall_area"] is None
    assert part["thickness"] is None
    assert part["plated_area"]["value"] == part["face_area"]["value"]
    assert "THICKNESS_NOT_GIVEN" in [flag["code"] for flag in line["flags"]]


def test_a_good_a_refused_and_an_unreadable_photo_give_a_line_each(tmp_path: Path, schema: dict[str, Any]) -> None:
    text = tmp_path / "text.jpg"
    text.write_text("no picture", encoding="utf-8")
    result = run("measure", FOIL, CROSSING, str(text), "--json", *CHECKED)
    found = lines(result)
    assert [line["photo"] for line in found] == ["foil-shape.jpg", "refused-crossing.jpg", "text.jpg"]
    assert [line["status"] for line in found] == ["measured", "refused", "refused"]
    for line in found:
        jsonschema.validate(line, schema)
    assert found[1]["flags"][0]["code"] == "PART_CROSSES_EDGE"
    assert found[1]["scale"] is None
    assert found[1]["parts"] == []
    assert found[2]["flags"][0]["remedy"]
    assert result.exit_code == 2


@pytest.mark.parametrize(
    ("photos", "code"), [((FOIL,), 0), ((FOIL, CROSSING), 3), ((CROSSING,), 3), (("gone.jpg",), 2)]
)
def test_the_exit_code_tells_the_worst(photos: tuple[str, ...], code: int) -> None:
    assert run("measure", *photos, *CHECKED, "--json").exit_code == code


def test_the_text_shows_each_part_the_sum_and_what_the_sign_means() -> None:
    result = run("measure", PARTS, "--thickness", "1 mm", "--faces", "all", *CHECKED)
    text = result.stdout
    assert text.splitlines()[0].startswith("several-parts.jpg: 5 parts, scale from frame A4-r1")
    assert len([row for row in text.splitlines() if row.strip()[:1] in set("12345") and "±" in row]) == 5
    assert "all" in text
    assert "coverage factor 2" in text
    assert "Traceback" not in text


def test_a_refusal_goes_to_standard_error_with_its_remedy() -> None:
    result = run("measure", CROSSING)
    assert result.stdout == ""
    assert result.stderr.startswith("refused-crossing.jpg: refused.")
    assert "Move" in result.stderr


@pytest.mark.thorough
def test_an_overlay_is_written_beside_or_into_a_folder(tmp_path: Path) -> None:
    one = tmp_path / "seen.png"
    assert run("measure", FOIL, "--overlay", str(one), "--json").exit_code == 0
    with Image.open(one) as image:
        assert image.format == "PNG"
        assert image.width <= 2000
    folder = tmp_path / "overlays"
    run("measure", FOIL, CROSSING, "--overlay", str(folder), "--json")
    assert sorted(p.name for p in folder.iterdir()) == ["foil-shape-overlay.jpg", "refused-crossing-overlay.jpg"]
    ready = tmp_path / "ready"
    ready.mkdir()
    run("measure", FOIL, "--overlay", str(ready), "--json")
    assert (ready / "foil-shape-overlay.jpg").is_file()


@pytest.mark.thorough
def test_overlays_of_one_stem_are_all_kept(tmp_path: Path) -> None:
    with Image.open(FOIL) as image:
        image.reduce(2).save(tmp_path / "foil-shape.png")
    run("measure", FOIL, str(tmp_path / "foil-shape.png"), "--overlay", str(tmp_path / "seen"), "--json")
    assert sorted(p.name for p in (tmp_path / "seen").iterdir()) == [
        "foil-shape-2-overlay.jpg",
        "foil-shape-overlay.jpg",
    ]


def test_a_folder_of_results_gives_one_line_a_photo_and_totals(tmp_path: Path) -> None:
    first = run("measure", FOIL, CROSSING, "--results", str(tmp_path))
    assert first.exit_code == 3
    told = first.stdout.splitlines()
    assert [line.split(":")[0] for line in told[:2]] == ["foil-shape.jpg", "refused-crossing.jpg"]
    assert "2 photos: 1 measured, 1 refused" in told[2]
    again = run("measure", FOIL, CROSSING, "--results", str(tmp_path), "--json")
    assert [line["photo"] for line in lines(again)] == ["foil-shape.jpg", "refused-crossing.jpg"]
    assert run("measure", FOIL, CROSSING, "--results", str(tmp_path)).stdout.count("(known)") == 2


def test_the_bar_tells_how_many_are_done_and_the_time_left() -> None:
    bar = Progress(8)
    assert bar.line(0.0).endswith(" 0 of 8")
    bar.count(1, 8, quick=True)  # known from before: says nothing on the others
    bar.count(2, 8, quick=True)
    bar.count(4, 8)
    assert "4 of 8, 1:00 left" in bar.line(30.0)  # 2 done in 30 s, so 4 more take 60 s
    bar.count(8, 8)
    assert bar.line(60.0).endswith("█ 8 of 8")


@pytest.mark.parametrize("name", ["gone/seen.jpg", "seen.xyz"])
def test_an_overlay_that_cannot_be_written_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(FileError):
        run("measure", FOIL, "--overlay", str(tmp_path / name), "--json")


def test_a_file_where_a_folder_of_overlays_should_be_is_refused(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("", encoding="utf-8")
    with pytest.raises(FileError):
        run("measure", FOIL, CROSSING, "--overlay", str(tmp_path / "taken"), "--json")


@pytest.mark.parametrize("text", ["1.2 mm", "1.2 ± 0.05 mm", "1,2 mm", "0.12 cm"])
def test_the_ways_to_write_a_thickness(text: str) -> None:
    (line,) = lines(run("measure", FOIL, "--json", "--thickness", text))
    assert line["parts"][0]["thickness"]["value"] == pytest.approx(1.2)
    assert line["parts"][0]["thickness"]["unit"] == "mm"


def test_wrong_requests_are_refused() -> None:
    with pytest.raises(UnitError):
        run("measure", FOIL, "--thickness", "1,000 mm")
    with pytest.raises(InputError, match="side walls"):
        run("measure", FOIL, "--faces", "all")
    assert run("measure", FOIL, "--colour", "red").exit_code == 2
    assert run("measure", FOIL, "--faces", "top").exit_code == 2
    assert run("measure").exit_code == 2
    assert run("measurement").exit_code == 2


def test_wrong_check_lengths_refuse_the_photo_as_wrong_usage() -> None:
    result = run("measure", FOIL, "--check-lengths", "190 x 120 mm", "--json")
    (line,) = lines(result)
    assert line["status"] == "refused"
    assert "3 %" in line["flags"][0]["message"]
    assert result.exit_code == 2


def test_the_demo_writes_overlay_and_report(tmp_path: Path) -> None:
    result = run("demo", "--output", str(tmp_path))
    assert result.exit_code == 0
    assert (tmp_path / "pierced-badge-overlay.jpg").is_file()
    page = (tmp_path / "pierced-badge-report.html").read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>")
    assert "http://" not in page
    assert "https://" not in page
    assert "safety data sheets" in page
    assert "True area" in result.stdout
    assert "nickel" in result.stdout
    assert "gold" in result.stdout


def test_a_refused_demo_still_shows_what_it_saw(tmp_path: Path) -> None:
    result = run("demo", "--photo", "refused-blurred", "--output", str(tmp_path))
    assert result.exit_code == 3
    assert [p.name for p in tmp_path.iterdir()] == ["refused-blurred-overlay.jpg"]


def test_the_demo_lists_its_photos_and_refuses_others(tmp_path: Path) -> None:
    assert run("demo", "--list").stdout.split() == sorted(p.stem for p in DEMO.glob("*.toml"))
    with pytest.raises(AreakitError, match="teapot"):
        run("demo", "--photo", "teapot", "--output", str(tmp_path))


def python(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *arguments], cwd=ROOT, capture_output=True, text=True, check=False, timeout=60
    )


@pytest.mark.parametrize("arguments", [["--help"], ["measure", "--help"], ["--version"]])
def test_help_comes_without_the_heavy_libraries(arguments: list[str]) -> None:
    code = (
        "import sys, runpy\n"
        f"sys.argv = ['areakit', *{arguments!r}]\n"
        "try:\n    runpy.run_module('areakit', run_name='__main__')\n"
        "except SystemExit as end:\n    assert not end.code, end.code\n"
        "heavy = {'numpy', 'cv2', 'pint', 'shapely', 'PIL', 'reportlab', 'pydantic', 'skimage'} & set(sys.modules)\n"
        "sys.exit(f'loaded {sorted(heavy)}' if heavy else 0)\n"
    )
    done = python("-c", code)
    assert done.returncode == 0, done.stderr


def test_a_plan_of_a_typed_area_comes_without_picture_and_drawing_libraries() -> None:
    arguments = ["plan", "--area", "12.5 cm2", "--process", "nickel-tank", "--layer", "nickel=3 um"]
    code = (
        "import sys, runpy\n"
        f"sys.argv = ['areakit', *{arguments!r}]\n"
        "try:\n    runpy.run_module('areakit', run_name='__main__')\n"
        "except SystemExit as end:\n    assert not end.code, end.code\n"
        "heavy = {'cv2', 'skimage', 'shapely', 'PIL', 'reportlab', 'ezdxf', 'starlette'} & set(sys.modules)\n"
        "sys.exit(f'loaded {sorted(heavy)}' if heavy else 0)\n"
    )
    done = python("-c", code)
    assert done.returncode == 0, done.stderr


def test_an_error_is_one_line_and_an_exit_code_in_the_shell() -> None:
    done = python("-m", "areakit", "measure", FOIL, "--thickness", "1,000 mm")
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("areakit: ")
    assert len(done.stderr.strip().splitlines()) == 1


def test_an_overlay_that_cannot_be_written_is_told_before_anything_is_measured(tmp_path: Path) -> None:
    told = CliRunner().invoke(group, ["measure", str(tmp_path / "no.jpg"), "--overlay", str(tmp_path / "no" / "a.jpg")])
    assert isinstance(told.exception, FileError)
    assert "cannot be written" in told.exception.message


def test_ctrl_c_keeps_what_was_measured_and_says_how_to_go_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from areakit.service import batch

    def one_then_stopped(*_: object, **__: object) -> Iterator[object]:
        yield from itertools.islice(whole(*_, **__), 1)  # type: ignore[arg-type]
        raise KeyboardInterrupt

    whole = batch.run_batch
    photos = [str(DEMO / name) for name in ("foil-shape.jpg", "refused-blurred.jpg")]
    call = ["measure", *photos, "--jobs", "1", "--results", str(tmp_path / "out")]
    monkeypatch.setattr(batch, "run_batch", one_then_stopped)
    stopped = CliRunner().invoke(group, call)
    assert stopped.exit_code == 130
    assert "Stopped; 1 of 2 photos are kept" in stopped.stderr
    monkeypatch.undo()
    again = CliRunner().invoke(group, call)
    assert "(known)" in again.stdout


def test_ctrl_c_is_one_line_and_its_own_exit_code(monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("areakit.cli.measured_text.overlay_paths", stop)
    stopped = CliRunner().invoke(group, ["measure", str(DEMO / "foil-shape.jpg")])
    assert (stopped.exit_code, stopped.stderr) == (130, "areakit: Stopped.\n")
