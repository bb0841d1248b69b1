"""The commands about records: they do what their help shows, and refuse in one sentence."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from areakit.cli.main import group
from areakit.errors import AreakitError, CodeChanged, FileError, InputError, NotReady, OtherJob, RecordDiffers
from areakit.units import parse


@pytest.fixture(autouse=True)
def _own_journal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AREAKIT_JOURNAL", str(tmp_path / "j.sqlite"))
    monkeypatch.setenv("AREAKIT_WHO", "Ana")


def run(*words: str, text: str | None = None) -> Result:
    done = CliRunner().invoke(group, list(words), input=text, catch_exceptions=True)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        assert isinstance(done.exception, AreakitError), done.exception
    return done


def test_a_job_goes_from_order_to_sign_off(tmp_path: Path) -> None:
    opened = run("job", "new", "club badge", "--quantity", "2", "--customer", "№ 7")
    assert opened.stdout == "2026-0001\n".replace("2026", run("job", "list", "--json").output[12:16])
    assert opened.stderr == f"note: A new journal was begun: {tmp_path / 'j.sqlite'}.\n"
    assert run("job", "new", "another").stderr == ""
    number = opened.stdout.strip()
    planned = run(
        "plan", "--area", "12.5 cm2", "--area-uncertainty", "2%", "--process", "nickel-gold-brush",
        "--layer", "gold=0.5 um", "--layer", "nickel=3 um", "--pieces", "2", "--efficiency", "gold=72% ± 6%", "--json",
    )  # fmt: skip
    assert run("job", "plan", number, "-", text=planned.stdout).exit_code == 0
    run(
        "bottle", "add", "N3", "--solution", "n", "--metal", "nickel", "--volume", "1 L", "--allowed-charge", "40 A.h/L"
    )
    assert "Plate nickel" in run("job", "step", number, "--step", "6", "--bottle", "N3").output
    run("job", "log", number, "2 A")
    state = json.loads(run("job", "log", number, "--stop", "--json").stdout)
    assert state["target"]["unit"] == "A.min"
    assert run("job", "test", number, "tape", "pass", "--place", "edge").exit_code == 0
    assert run("job", "defect", number, "pit", "--at", "1", "2").exit_code == 0
    assert run("job", "weigh", number, "before", "10.000 ± 0.002 g").exit_code == 0
    assert "Gain: 51.0 ± 2.8 mg" in run("job", "weigh", number, "after", "10.051 ± 0.002 g").output
    assert run("job", "correct", number, "1", "--set", "customer=№ 8", "--reason", "misheard").exit_code == 0
    refused = run("job", "sign", number, "Released", "--role", "inspector").exception
    assert isinstance(refused, NotReady)
    assert "Defect, pit" in refused.message
    answered = ("--role", "inspector", "--despite", "the customer takes it as it is")
    assert run("job", "sign", number, "Released", *answered).exit_code == 0
    shown = run("job", "show", number).output
    assert "(signed)" in shown
    assert "№ 8" in shown
    history = run("job", "history", number).output
    assert "customer: № 7 → № 8 (misheard)" in history
    whole = json.loads(run("job", "show", number, "--json").stdout)
    assert whole["entries"][0]["corrections"][0]["before"] == {"customer": "№ 7"}
    assert run("job", "check").output.startswith("The journal is whole")


def test_a_quantity_is_corrected_as_it_is_typed() -> None:
    run("job", "new", "x", "--number", "1")
    run("job", "weigh", "1", "before", "10 g")
    assert run("job", "correct", "1", "2", "--set", "mass=11 g", "--reason", "r").exit_code == 0
    entry = json.loads(run("job", "show", "1", "--json").stdout)["entries"][1]
    assert entry["doc"]["mass"]["value"] == pytest.approx(parse("11 g", "mass"))
    refused = run("job", "correct", "1", "2", "--set", "mass", "--reason", "r")
    assert "not one field and its value" in str(refused.exception)


def test_errors_carry_their_exit_codes_and_what_to_do() -> None:
    for words, said, code in (
        (("job", "show", "9"), "There is no journal", 2),
        (("bottle", "show", "x"), "There is no journal", 2),
        (("job", "plan", "9", "-"), "not JSON", 2),
    ):
        error = run(*words, text="hello").exception
        assert isinstance(error, AreakitError)
        assert said in error.message
        assert (error.exit_code, bool(error.remedy)) == (code, True)


def test_a_spreadsheet_does_not_run_what_a_customer_typed() -> None:
    run("job", "new", "=1+1", "--customer", "@home")
    assert "'=1+1" in run("job", "list", "--csv").output


def test_a_bottle_tells_beforehand_whether_it_carries_a_plan() -> None:
    label = ("--solution", "n", "--metal", "nickel", "--volume", "1 L", "--allowed-charge", "1 A.h", "--expiry")
    assert run("bottle", "add", "N3", *label, "2999-12-31").exit_code == 0
    assert run("bottle", "check", "N3", "--charge", "50 A.min", "--solution", "n").exit_code == 0
    short = run("bottle", "check", "N3", "--charge", "70 A.min")
    assert short.exit_code == 3
    assert "run past its limit" in short.stderr
    assert run("bottle", "add", "N4", *label, "2020-01-01").exit_code == 0
    assert "expired on 2020-01-01" in run("bottle", "check", "N4").stderr


def test_a_measurement_brings_its_photo_along(tmp_path: Path) -> None:
    run("job", "new", "x", "--number", "1")
    area = {"value": 100.0, "unit": "mm2", "budget": {"scale": 1.0}}
    line = {"photo": "a.jpg", "flags": [], "parts": [{"id": 1, "plated_area": area, "face_area": area}]}
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8\xffpicture")
    done = run("job", "measured", "1", "-", "--photo", str(tmp_path / "a.jpg"), text=json.dumps(line))
    assert "a.jpg is kept" in done.output
    assert run("job", "photo", "1", str(tmp_path / "a.jpg"), "--remarks", "front").exit_code == 0
    entries = json.loads(run("job", "show", "1", "--json").stdout)["entries"]
    assert [entry["kind"] for entry in entries] == ["opened", "measured", "photographed", "photographed"]
    assert entries[2]["doc"]["sha256"] == entries[3]["doc"]["sha256"]
    assert run("job", "require", "1", "gold", "--minimum", "0.5 um").exit_code == 0
    assert run("job", "rework", "1", "again", "--because", "2").exit_code == 0
    assert run("job", "remark", "1", "words").exit_code == 0
    for name in ("t.pdf", "t.html"):
        refused = run("job", "report", "1", "--output", str(tmp_path / name)).exception
        assert "cannot be read as a picture" in str(refused)
    assert run("job", "correct", "1", "3", "--withdraw", "--reason", "no picture").exit_code == 0
    assert run("job", "correct", "1", "4", "--withdraw", "--reason", "no picture").exit_code == 0
    for name in ("t.pdf", "t.html"):
        assert run("job", "report", "1", "--output", str(tmp_path / name)).exit_code == 0
        assert (tmp_path / name).stat().st_size > 1000


def test_a_certificate_is_written_for_a_released_job_and_verified_with_an_exit_code_each(tmp_path: Path) -> None:
    run("job", "new", "hinge", "--number", "1")
    run("job", "new", "hinge", "--number", "2")
    path = tmp_path / "c.pdf"
    refused = run("job", "certificate", "1", "--output", str(path)).exception
    assert isinstance(refused, NotReady)
    assert not path.exists()
    run("job", "sign", "1", "Released", "--role", "inspector", "--despite", "a trial")
    code = run("job", "certificate", "1", "--output", str(path)).stdout.splitlines()[-1].removeprefix("Code ")
    for one in (code, str(path)):
        assert run("job", "verify", "1", one).exit_code == 0
    told = json.loads(run("job", "verify", "1", str(path), "--json").stdout)
    assert (told["words_compared"], told["title"]) == (True, "Certificate of conformance, with exceptions")
    for number, text, expected in (
        ("1", "nothing", InputError), ("1", code[:-1] + ("0" if code[-1] != "0" else "1"), CodeChanged),
        ("2", code, OtherJob), ("2", str(path), OtherJob), ("1", str(tmp_path / "none.pdf"), FileError),
    ):  # fmt: skip
        assert type(run("job", "verify", number, text).exception) is expected, text
    run("job", "remark", "1", "words")
    assert type(run("job", "verify", "1", code).exception) is RecordDiffers


def test_a_whole_journal_moves_by_export_backup_and_import(tmp_path: Path) -> None:
    run("job", "new", "x", "--number", "1")
    assert '"schema": "areakit.journal/1"' in run("job", "export").output
    assert run("job", "export", "1", "--format", "csv", "--output", str(tmp_path / "e.csv")).exit_code == 0
    assert (
        "1 entries and 0 files added"
        in run("job", "import", str(tmp_path / "e.csv"), "--journal", str(tmp_path / "n.sqlite")).output
    )
    assert run("job", "backup", str(tmp_path / "b.sqlite")).exit_code == 0
    assert run("job", "salvage", str(tmp_path / "s.jsonl")).output.startswith("1 entries and 0 files")
    assert run("job", "export", "9").exception is not None


def test_the_traveller_takes_the_footprint_as_a_size_or_as_an_area(tmp_path: Path) -> None:
    run("job", "new", "plate", "--number", "1")
    surface = CliRunner().invoke(group, ["surface", "--shape", "rectangle 60 x 40 mm", "--json"]).stdout
    assert run("job", "measured", "1", "-", text=surface).exit_code == 0
    pages = []
    for number, option in enumerate((["--footprint", "20 x 20 mm"], ["--footprint", "3.14159265 cm2"], [])):
        path = tmp_path / f"{number}.html"
        told = run("job", "report", "1", "--output", str(path), *option)
        assert told.exit_code == 0, told.output
        pages.append(re.sub(r"\d\d:\d\d(:\d\d)?", "", path.read_text(encoding="utf-8")))
    size, area, none = pages
    # round corners are the default: a round footprint of 20 mm has an area of pi / 4 x 20² mm²
    assert size == area
    assert len(none) < len(size)


def test_a_bottle_tells_what_it_deposits(tmp_path: Path) -> None:
    """Two coupons of 30 and 29.4 mg for 0.4 A.min: 4.5 and 4.41 g/A.h, by hand."""
    label = ("--solution", "my-gold", "--metal", "gold", "--bath", "gold-cyanide", "--volume", "0.5 L")
    run("bottle", "add", "G7", *label)
    one = run("bottle", "coupon", "G7", "--charge", "0.4 A.min", "--gain", "30 ± 0.3 mg", "--brush", "small").output
    assert "Own factor of my-gold: 1 run so far; from 2 on they tell how runs differ." in one
    with pytest.raises(AssertionError, match="no own factor to draw"):
        raise AssertionError(run("bottle", "factor", "G7", "--plot", str(tmp_path / "g7.svg")).exception)
    assert "for the next run, from 2 runs" in run(
        "bottle", "coupon", "G7", "--charge", "0.4 A.min", "--gain", "29.4 ± 0.3 mg"
    ).output  # fmt: skip
    shown = run("bottle", "factor", "G7", "--plot", str(tmp_path / "g7.svg")).output
    assert "4.500 ± 0.045 g/A·h" in shown
    assert "4.410 ± 0.045 g/A·h" in shown
    assert "small" in shown
    assert (tmp_path / "g7.svg").read_text().startswith("<svg")
    run("bottle", "draw", "G7", "--charge", "0.15 A.min")  # ages 0.2 and 0.6, now 0.95 A.min for half a litre
    assert "has aged" not in run("bottle", "factor", "G7").output
    run("bottle", "draw", "G7", "--charge", "0.1 A.min")
    assert "The solution has aged by more since its last observed run" in run("bottle", "factor", "G7").output


def test_a_code_longer_than_any_name_of_a_file_is_no_code() -> None:
    run("job", "new", "tag", "--number", "1")
    assert "is not the code of a certificate" in str(run("job", "verify", "1", "9" * 400).exception)


def test_an_empty_list_prints_nothing_and_says_what_fills_it() -> None:
    run("job", "new", "club badge", "--number", "J1")
    for listed, words in (
        (("bottle", "list", "--json"), "areakit bottle add"),
        (("verify", "--trend"), "areakit verify"),
    ):
        done = run(*listed)
        assert (done.exit_code, done.stdout) == (0, "")
        assert words in done.stderr
    run("bottle", "add", "G7", "--solution", "s", "--metal", "gold", "--volume", "1 L")
    run("bottle", "discard", "G7", "spent")
    assert "no bottle in use yet" in run("bottle", "list").stderr
    assert run("bottle", "list", "--all").stderr == ""
    assert "No job fits" in run("job", "list", "silver").stderr
    assert run("job", "list", "badge").stderr == ""
