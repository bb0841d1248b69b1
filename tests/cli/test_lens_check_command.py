"""``areakit lens-check`` on drawn photos, and what measuring does with the lens it keeps."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from drawn_lenses import MOUSTACHE, TRUE, poses, write_photo
from shapely.geometry import Point
from starlette.testclient import TestClient

from areakit.cli.main import group
from areakit.service.desk import Desk
from areakit.synthetic import Chain, Scene, ScenePart
from areakit.web.app import make_app
from areakit.web.settings import Address

SMALL = replace(TRUE, width_px=2016, height_px=1512, centre_offset_px=(4.0, -6.0))
CLEAN = Chain(blur_px=0.8)
DISC = Point(0.0, 0.0).buffer(20.0, quad_segs=90)
READ = ("--check-lengths", "200 x 120 mm")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eight photos of the sheet, every other one with the phone on its side, and photos of a part by several lenses."""
    folder = tmp_path_factory.mktemp("lens")
    (folder / "sheet").mkdir()
    for i, camera in enumerate(poses(np.random.default_rng(3), SMALL, 8)):
        write_photo(folder / "sheet" / f"s{i}.jpg", Scene(camera=camera, chain=CLEAN, seed=i), turned=(1, 6)[i % 2])
    part = Scene(
        camera=replace(SMALL, distance_mm=262.0),
        parts=(ScenePart(polygon=DISC, thickness_mm=0.0, position_mm=(130.0, 90.0)),),
        chain=CLEAN,
    )
    write_photo(folder / "part.jpg", part)
    write_photo(folder / "turned.jpg", part, turned=6)
    write_photo(folder / "other-model.jpg", part, model="Model 2")
    plain = replace(part.camera, **dict.fromkeys(MOUSTACHE, 0.0))
    write_photo(folder / "other-lens.jpg", replace(part, camera=plain))
    return folder


def run(folder: Path, *arguments: str) -> Result:
    env = {"AREAKIT_JOURNAL": str(folder / "journal.sqlite"), "AREAKIT_WHO": "tester"}
    return CliRunner(env=env).invoke(group, list(arguments))


@pytest.fixture(scope="module")
def kept(bench: Path) -> Result:
    return run(bench, "lens-check", str(bench / "sheet"), *READ)


@pytest.fixture(scope="module")
def measured(bench: Path, kept: Result) -> Callable[..., dict[str, Any]]:
    def one(name: str, *options: str) -> dict[str, Any]:
        result = run(bench, "measure", str(bench / name), "--thickness", "0.01 mm", "--json", *READ, *options)
        assert result.exit_code == 0, result.output
        line: dict[str, Any] = json.loads(result.stdout)
        return line

    return one


def face(line: dict[str, Any]) -> float:
    (part,) = line["parts"]
    return float(part["face_area"]["value"])


@pytest.mark.thorough
def test_a_lens_is_kept_and_listed_with_what_it_rests_on(bench: Path, kept: Result) -> None:
    assert kept.exit_code == 0, kept.output
    assert "Testwerk Model 1, 2016 x 1512 px, 26 mm: lens from 8 photos" in kept.stdout
    assert "from shot to shot" in kept.stdout
    listed = run(bench, "lens-check").stdout
    assert "8 photos of A4-r1" in listed
    assert "by tester" in listed


def test_the_stored_lens_takes_the_bias_off_and_the_result_says_so(measured: Callable[..., dict[str, Any]]) -> None:
    held, free = measured("part.jpg"), measured("part.jpg", "--no-lens")
    assert held["scale"]["lens"].startswith("stored 20")
    assert free["scale"]["lens"] == "this photo"
    # The same disc through a lens without distortion has the same offset of its edge, some hundredths of a pixel.
    plain = face(measured("other-lens.jpg"))
    errors = [face(line) / plain - 1.0 for line in (held, free)]
    assert abs(errors[0]) < 0.0003
    assert errors[1] < -0.0008
    assert abs(errors[0]) < 0.25 * abs(errors[1])
    for line in (held, free):
        assert abs(face(line) - DISC.area) < line["parts"][0]["face_area"]["expanded_uncertainty"]
    shares = [line["parts"][0]["face_area"]["budget"]["camera pose and lens"] for line in (held, free)]
    assert shares[0] < shares[1]


def test_a_photo_that_lies_on_its_side_gets_the_same_lens_turned(measured: Callable[..., dict[str, Any]]) -> None:
    upright, turned = measured("part.jpg"), measured("turned.jpg")
    assert turned["scale"]["lens"] == upright["scale"]["lens"]
    assert face(turned) == pytest.approx(face(upright), rel=2e-4)
    assert turned["scale"]["residual_px"] == pytest.approx(upright["scale"]["residual_px"], rel=0.1)


def test_another_camera_is_measured_without_it(measured: Callable[..., dict[str, Any]]) -> None:
    assert measured("other-model.jpg")["scale"]["lens"] == "this photo"


def test_a_stored_lens_that_does_not_fit_is_told_of_and_not_used(measured: Callable[..., dict[str, Any]]) -> None:
    line = measured("other-lens.jpg")
    assert line["scale"]["lens"] == "this photo"
    assert "LENS_NOT_USED" in [flag["code"] for flag in line["flags"]]
    assert face(line) == pytest.approx(DISC.area, rel=0.002)  # 0.07 px of edge


def test_the_words_for_a_person_name_the_lens(bench: Path, kept: Result) -> None:
    result = run(bench, "measure", str(bench / "part.jpg"), "--thickness", "0.01 mm", *READ)
    assert "lens as checked on 20" in result.stdout.splitlines()[0]


def test_the_page_measures_with_the_same_lens(bench: Path, measured: Callable[..., dict[str, Any]]) -> None:
    desk = Desk(path=bench / "journal.sqlite", who="tester", now=datetime.now().astimezone())
    app = make_app(address=Address(port=8137), desk=lambda _: desk)
    client = TestClient(app, base_url="http://127.0.0.1:8137")
    query = {"thickness": "0.01 mm", "check_lengths": "200 x 120 mm", "name": "part.jpg"}
    web = client.post("/api/measure", params=query, content=(bench / "part.jpg").read_bytes()).json()
    command = measured("part.jpg")
    assert {key: web[key] for key in command} == command


@pytest.mark.parametrize(
    ("names", "code", "words"),
    [
        (("s0.jpg", "s1.jpg", "s2.jpg"), 3, "3 photos of a printed sheet can be used; 8 to 12 are needed"),
        (("s0.jpg", "s0.jpg"), 2, "named twice"),
        (("gone.jpg",), 2, "does not exist"),
    ],
)
def test_too_few_or_missing_photos_keep_nothing(
    bench: Path, tmp_path: Path, names: tuple[str, ...], code: int, words: str
) -> None:
    env = {"AREAKIT_JOURNAL": str(tmp_path / "journal.sqlite")}
    result = CliRunner(env=env).invoke(group, ["lens-check", *(str(bench / "sheet" / name) for name in names)])
    error = result.exception
    assert words in str(error)
    assert getattr(error, "exit_code", None) == code
    assert not (tmp_path / "journal.sqlite").exists()


def test_photos_of_two_cameras_or_without_a_name_are_refused(bench: Path, tmp_path: Path) -> None:
    sheet = sorted((bench / "sheet").glob("*.jpg"))
    mixed = run(tmp_path, "lens-check", *map(str, sheet[:7]), str(bench / "other-model.jpg"))
    assert "not of one camera" in str(mixed.exception)
    assert "Model 2" in str(mixed.exception)
    nameless = write_photo(tmp_path / "x.jpg", Scene(camera=SMALL, chain=CLEAN), make="", model="")
    assert "does not say which camera" in str(run(tmp_path, "lens-check", str(nameless)).exception)


def test_try_keeps_nothing(bench: Path, tmp_path: Path) -> None:
    result = run(tmp_path, "lens-check", str(bench / "sheet"), "--try")
    assert result.exit_code == 0
    assert not (tmp_path / "journal.sqlite").exists()


def test_a_damaged_journal_stops_no_measurement(bench: Path, tmp_path: Path) -> None:
    (tmp_path / "journal.sqlite").write_bytes(b"no journal" * 500)
    result = run(tmp_path, "measure", str(bench / "part.jpg"), "--json", *READ)
    assert result.exit_code == 0
    assert "no stored lens can be used" in result.stderr
