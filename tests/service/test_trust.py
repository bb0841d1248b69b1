"""Prints, check pieces and repeated photos: kept, applied and trended."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from areakit.cli.main import group
from areakit.errors import InputError, RangeError
from areakit.records.check_pieces import known_piece
from areakit.records.codec import quantity_json
from areakit.service.desk import Desk
from areakit.service.record_requests import NewCopyCheck
from areakit.service.trust import (
    Source,
    copy_check,
    list_copies,
    own_piece,
    record_copy,
    repeat,
    trend,
    verify,
)
from areakit.uncertainty import Measured

NOW = datetime(2026, 3, 14, 9, 0, tzinfo=UTC)
DEMO = Path(__file__).resolve().parents[2] / "demo_images"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "j.sqlite", who="Ana", now=NOW)


def lines(*faces: float, spread: float = 2.0, flags: tuple[str, ...] = ()) -> str:
    made = []
    for face in faces:
        area = quantity_json(Measured(value=face, unit="mm2", budget={"scale": spread}))
        body = {
            "photo": "a.jpg",
            "scale": {"sheet": "A5-r1"},
            "flags": [{"code": code, "message": "m", "remedy": "r"} for code in flags],
            "parts": [{"id": 1, "face_area": area}],
        }
        made.append(json.dumps(body))
    return "\n".join(made)


def test_a_sheet_copy_is_checked_applied_and_grows_old(desk: Desk) -> None:
    record_copy(
        desk,
        NewCopyCheck(name="bench-1", sheet="A5-r1", lengths="150.3 x 89.9 mm", uncertainty="0.1 mm", with_what="ruler"),
    )
    found, flags = copy_check(desk, "bench-1")
    assert (found.reading.read_mm, found.reading.uncertainty_mm, flags) == ((150.3, 89.9), 0.05, ())
    scale = found.reading.sheet_scale((150.0, 90.0))
    assert (scale.x, scale.y) == (pytest.approx(1.002), pytest.approx(0.99889, abs=1e-5))
    old = replace(desk, now=NOW + timedelta(days=91))
    assert [flag.code for flag in copy_check(old, "bench-1")[1]] == ["SHEET_CHECK_OLD"]
    record_copy(old, NewCopyCheck(name="bench-1", sheet="A5-r1", lengths="150.2 x 89.9 mm"))
    again, flags = copy_check(old, "bench-1")
    assert (again.reading.read_mm[0], again.checks, flags) == (150.2, 2, ())
    assert [one.name for one in list_copies(desk)] == ["bench-1"]


def test_a_sheet_copy_that_cannot_be_is_refused(desk: Desk) -> None:
    with pytest.raises(InputError, match="no sheet 'B5'"):
        record_copy(desk, NewCopyCheck(name="x", sheet="B5", lengths="150 x 90 mm"))
    with pytest.raises(RangeError, match="3 % off"):
        record_copy(desk, NewCopyCheck(name="x", sheet="A5-r1", lengths="90 x 150 mm"))
    record_copy(desk, NewCopyCheck(name="x", sheet="A5-r1", lengths="150 x 90 mm"))
    with pytest.raises(InputError, match="checked as a A5-r1 before"):
        record_copy(desk, NewCopyCheck(name="x", sheet="A4-r1", lengths="200 x 120 mm"))
    with pytest.raises(InputError, match="no sheet copy other"):
        copy_check(desk, "other")


def test_a_check_piece_is_held_against_its_size_and_the_result_is_kept(desk: Desk) -> None:
    piece = known_piece("eur-1")  # 424.56 mm2
    good, bad = (verify(desk, piece, Source(lines=lines(face)))[0] for face in (425.5, 440.0))
    assert good.agrees
    assert not bad.agrees
    # closed form: both expanded uncertainties, 4 mm2 and 2 pi/2 d u(d)
    known = 2 * 3.14159265 / 2 * 23.25 * 0.05 / 3**0.5
    assert bad.normalised_error == pytest.approx((440.0 - 424.56) / (16 + known**2) ** 0.5, rel=1e-3)
    unsure = verify(desk, piece, Source(lines=lines(425.0, flags=("SHEET_UNVERIFIED",))))[0]
    assert unsure.unverified_sheet
    assert [event.doc["agrees"] for event in trend(desk, "verified")] == [True, False, True]


def test_a_photo_with_two_parts_is_no_check(desk: Desk) -> None:
    body = json.loads(lines(1.0))
    body["parts"] *= 2
    with pytest.raises(InputError, match="shows 2 parts"):
        verify(desk, known_piece("eur-1"), Source(lines=json.dumps(body)))


def test_own_pieces_take_sizes_with_their_uncertainty() -> None:
    piece = own_piece("gauge", "rectangle", {"width": "20.000 ± 0.004 mm", "height": "10 mm"}, "3 mm")
    assert piece.sizes["width"].standard_uncertainty == pytest.approx(0.002)
    assert piece.sizes["height"].standard_uncertainty == pytest.approx(0.01)  # ± 0.02 mm, practice
    with pytest.raises(InputError, match="known by diameter, hole"):
        own_piece("washer", "ring", {"diameter": "12 mm"}, None)


def test_repeated_photos_are_studied_in_whole_placements(desk: Desk) -> None:
    found = repeat(desk, "badge", Source(lines=lines(100.0, 102.0, 104.0, 106.0)), shots=2)
    assert (found.placements, found.repeatability) == (2, pytest.approx(2**0.5))
    with pytest.raises(InputError, match="4 photos do not make whole placements of 3"):
        repeat(desk, "badge", Source(lines=lines(1.0, 2.0, 3.0, 4.0)), shots=3)
    (kept,) = trend(desk, "repeated")
    assert kept.doc["faces"] == [100.0, 102.0, 104.0, 106.0]


def test_a_kept_sheet_copy_narrows_a_measurement_and_another_sheet_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("AREAKIT_JOURNAL", str(tmp_path / "j.sqlite"))
    monkeypatch.setenv("AREAKIT_WHO", "Ana")
    photo = str(DEMO / "pierced-badge.jpg")
    call = ["measure", photo, "--thickness", "1.2 mm", "--json"]
    runner = CliRunner()
    runner.invoke(group, ["sheet-check", "bench", "--sheet", "A5-r1", "--lengths", "150.0 x 90.0 mm"])
    plain, narrowed = (
        json.loads(runner.invoke(group, words).stdout) for words in (call, [*call, "--sheet-copy", "bench"])
    )
    codes = [[flag["code"] for flag in line["flags"]] for line in (plain, narrowed)]
    assert "PRINT_CONFIRMED" in codes[0]  # by the edges of its own paper
    assert not {"SHEET_UNVERIFIED", "PRINT_CONFIRMED"} & set(codes[1])
    spreads = [line["parts"][0]["face_area"]["expanded_uncertainty"] for line in (plain, narrowed)]
    assert spreads[1] < 0.8 * spreads[0]
    runner.invoke(group, ["sheet-check", "hall", "--sheet", "A4-r1", "--lengths", "200.0 x 120.0 mm"])
    assert runner.invoke(group, [*call, "--sheet-copy", "hall"]).exit_code == 2


def test_a_sheet_copy_of_another_sheet_is_named(desk: Desk) -> None:
    # A4 and Letter sheets have the same check lengths, so only the code tells them apart
    hall = record_copy(desk, NewCopyCheck(name="hall", sheet="letter-r1", lengths="200.0 x 120.0 mm"))
    hall.check_sheet("letter-r1")
    with pytest.raises(InputError, match="shows sheet A4-r1; the sheet copy hall is a letter-r1"):
        hall.check_sheet("A4-r1")


def test_a_piece_that_does_not_agree_ends_with_exit_code_3(tmp_path: Path) -> None:
    journal = ["--journal", str(tmp_path / "j.sqlite"), "--who", "Ana"]
    runner = CliRunner()
    for face, code, word in ((425.0, 0, "agrees"), (450.0, 3, "DOES NOT AGREE")):
        done = runner.invoke(group, ["verify", "--piece", "eur-1", "--from", "-", *journal], input=lines(face))
        assert done.exit_code == code, done.output
        assert word in done.output
    shown = runner.invoke(group, ["verify", "--trend", *journal]).output
    assert shown.count("eur-1") == 2
    assert "id-1" in runner.invoke(group, ["verify", "--pieces"]).output
    spread = runner.invoke(group, ["repeat", "--from", "-", "--shots", "2", *journal], input=lines(100, 101, 100, 101))
    assert "no larger than stated" in spread.output


@pytest.mark.thorough
def test_a_plan_of_a_photo_takes_the_checked_sheet_copy_too(tmp_path: Path) -> None:
    journal = {"AREAKIT_JOURNAL": str(tmp_path / "shop.sqlite"), "AREAKIT_WHO": "bench"}
    runner = CliRunner(env=journal)
    runner.invoke(group, ["sheet-check", "bench", "--sheet", "A5-r1", "--lengths", "150.0 x 90.0 mm"])
    runner.invoke(group, ["sheet-check", "hall", "--sheet", "A4-r1", "--lengths", "200.0 x 120.0 mm"])
    photo = [str(DEMO / "pierced-badge.jpg"), "--thickness", "1.2 mm", "--json"]
    plan = ["plan", *photo, "--process", "nickel-tank", "--layer", "nickel=5 um"]
    typed = runner.invoke(group, [*plan, "--check-lengths", "150.0 x 90.0 mm"])
    named = runner.invoke(group, [*plan, "--sheet-copy", "bench"])
    assert named.exit_code == 0, named.output
    assert json.loads(named.stdout)["area"] == json.loads(typed.stdout)["area"]
    told = CliRunner(env={**journal, "AREAKIT_SHEET_COPY": "bench"}).invoke(group, plan)
    assert told.stdout == named.stdout
    other = runner.invoke(group, [*plan, "--sheet-copy", "hall"])
    with pytest.raises(RangeError, match="where the sheet should have 150 and 90 mm"):
        raise other.exception or AssertionError(other.output)
    area = CliRunner(env={**journal, "AREAKIT_SHEET_COPY": "bench"}).invoke(
        group, ["plan", "--area", "12 cm2", "--process", "nickel-tank", "--layer", "nickel=5 um"]
    )
    assert area.exit_code == 0, area.output  # a print that is only remembered stands in nobody's way
