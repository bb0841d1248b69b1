"""Jobs and bottles as JSON, as a table, and each of their entries in one line."""

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from test_bottles import FULL, amount, bottle_of, run

from areakit.records.bottle_json import bottle_json, event_words, metal_words, passed_words, usable_words
from areakit.records.codec import quantity_json
from areakit.records.entries import checked
from areakit.records.entry_words import clock, entry_words
from areakit.records.job import Job, fold
from areakit.records.job_json import SUMMARY, job_json, summary_csv, summary_json
from areakit.records.journal import Journal
from areakit.uncertainty import Measured, exact

AT = "2026-03-14T09:30:05+01:00"
ORDER: dict[str, Any] = {"date": "2026-03-14", "part": "leaf pendant", "quantity": 12, "customer": "=order 77"}


def job_of(tmp_path: Path, *entries: tuple[str, dict[str, Any]]) -> Job:
    with Journal(tmp_path / "j.sqlite") as journal:
        for kind, doc in (("opened", ORDER), *entries):
            journal.append("job", "1", kind, at=AT, who="Ana", doc=checked(kind, doc))
        return fold("1", journal.history("job", "1"))


def words(tmp_path: Path, kind: str, **doc: Any) -> str:
    return entry_words(job_of(tmp_path, (kind, doc)).entry(2))


PLATED = {"value": 1250.0, "unit": "mm2", "budget": {"edge": 12.5}}
LINE = {
    "photo": "a.jpg",
    "parts": [
        {"plated_area": PLATED, "flags": [{"code": "BURR", "message": "It has a burr."}]},
        {"plated_area": PLATED, "flags": [{"code": "REGIONS_DRAWN", "message": "Drawn by hand."}]},
        {"plated_area": PLATED},
    ],
}


@pytest.mark.parametrize(
    ("kind", "doc", "said"),
    [
        ("photographed", {"sha256": "0123456789abcdef" * 4, "name": "a.jpg", "media": "image/jpeg"},
         "a.jpg, SHA-256 0123456789abcdef…"),
        ("measured", {"line": LINE, "part": 1}, "part 1 of a.jpg"),
        ("measured", {"line": LINE, "part": 2}, "part 2 of a.jpg. Drawn by hand."),
        ("measured", {"line": LINE, "part": 3}, "part 3 of a.jpg"),
        ("measured", {"line": {"parts": []}, "part": 4}, "part 4 of a measurement"),
        ("required", {"text": "0.5 um gold", "standard": "ISO 4523:1985"}, "0.5 um gold (ISO 4523:1985)"),
        ("required", {"text": "0.5 um gold"}, "0.5 um gold"),
        ("planned", {"plan": {"process": {"title": "Gold by brush"}}}, "Gold by brush"),
        ("planned", {"plan": {}}, "plan"),
        ("quoted", {"quote": {"pieces": 1, "price": "87.40", "currency": "EUR", "valid_until": "2026-04-01"}},
         "87.40 EUR for 1 piece, valid until 2026-04-01"),
        ("step", {"title": "Plate gold", "at": "2026-03-14T09:20:00+01:00"}, "Plate gold, begun 09:20:00"),
        ("step", {"title": "Plate gold", "bottle": "G1", "at": "2026-03-13T23:20:00+01:00",
                  "charge": quantity_json(Measured(value=2.0, unit="A.min", budget={"meter": 0.02}))},
         "Plate gold from bottle G1, begun 2026-03-13 23:20:00, 2.000 ± 0.040 A·min"),
        ("reading", {"run": 2, "at": "2026-03-14T09:20:00+01:00", "current": 0.4}, "0.4 A at 09:20:00 (run 2)"),
        ("reading", {"run": 2, "at": "2026-03-14T09:20:00+01:00", "current": 0.0, "stop": True},
         "current cut at 09:20:00 (run 2)"),
        ("weighed", {"when": "after", "mass": quantity_json(Measured(value=10.05, unit="g", budget={"b": 0.001}))},
         "after: 10.0500 ± 0.0020 g"),
        ("tested", {"method": "tape", "result": "pass", "place": "rim"}, "Tape test: pass, rim"),
        ("tested", {"method": "own way", "result": "value", "value": quantity_json(exact(0.5, "um"))},
         "own way: value, 0.5 µm"),
        ("reworked", {"what": "stripped", "because": 4}, "stripped, because of 4"),
        ("reworked", {"what": "stripped"}, "stripped"),
        ("signed", {"statement": "Released"}, "Released"),
        ("signed", {"statement": "Released", "role": "inspector", "despite": "sample agreed",
                    "open_points": ["No test.", "No photo."]},
         "Released, inspector; although sample agreed. Open: No test. No photo."),
        ("certified", {"statement": {"title": "Certificate 1"}}, "Certificate 1"),
        ("remarked", {"text": "customer called", "remarks": "twice"}, "customer called — twice"),
    ],
)  # fmt: skip
def test_an_entry_is_told_in_one_line(tmp_path: Path, kind: str, doc: dict[str, Any], said: str) -> None:
    assert words(tmp_path, kind, **doc) == said


def test_an_order_is_told_with_the_job_that_it_repeats(tmp_path: Path) -> None:
    assert entry_words(job_of(tmp_path).entry(1)) == "12 × leaf pendant; =order 77"
    like = {**ORDER, "base": "brass", "condition": "clean", "like": "2025-0009"}
    with Journal(tmp_path / "k.sqlite") as journal:
        journal.append("job", "1", "opened", at=AT, who="Ana", doc=checked("opened", like))
        again = fold("1", journal.history("job", "1"))
    assert entry_words(again.entry(1)) == "12 × leaf pendant; =order 77; brass; clean; like job 2025-0009"


def test_a_clock_shows_the_time_of_day() -> None:
    assert clock(AT) == "09:30:05"


# A job as JSON and in a table


def test_a_job_prints_order_state_gain_and_every_entry(tmp_path: Path) -> None:
    grams = [quantity_json(Measured(value=value, unit="g", budget={"balance": 0.003})) for value in (10.0, 10.051)]
    job = job_of(
        tmp_path, ("measured", {"line": LINE, "part": 1}), ("weighed", {"when": "before", "mass": grams[0]}),
        ("weighed", {"when": "after", "mass": grams[1]}), ("signed", {"statement": "Released"}),
    )  # fmt: skip
    body = job_json(job)
    assert (body["number"], body["state"], body["last"]) == ("1", "signed", 5)
    assert body["order"]["part"] == "leaf pendant"
    assert (body["gain"]["value"], body["gain"]["unit"]) == (pytest.approx(51e-6), "kg")
    assert (body["area"]["value"], body["area"]["unit"]) == (pytest.approx(1250.0), "mm2")
    assert [entry["kind"] for entry in body["entries"]] == ["opened", "measured", "weighed", "weighed", "signed"]
    assert [entry["number"] for entry in body["entries"]] == [1, 2, 3, 4, 5]
    assert (body["entries"][4]["doc"]["statement"], body["entries"][4]["who"]) == ("Released", "Ana")
    assert [event["sequence"] for event in body["history"]] == [1, 2, 3, 4, 5]
    assert body["runs"] == []
    assert summary_json(job)["area_mm2"] == pytest.approx(1250.0)
    assert summary_json(job)["area_expanded_mm2"] == pytest.approx(25.0)


def test_a_job_without_measurement_or_weighing_says_so(tmp_path: Path) -> None:
    job = job_of(tmp_path)
    assert job_json(job)["gain"] is None
    assert job_json(job)["area"] is None
    assert summary_json(job) == {
        "number": "1", "date": "2026-03-14", "customer": "=order 77", "part": "leaf pendant", "quantity": 12,
        "base": "", "state": "open", "area_mm2": None, "area_expanded_mm2": None, "entries": 1,
    }  # fmt: skip


def test_a_table_of_jobs_holds_no_formula(tmp_path: Path) -> None:
    text = summary_csv([job_of(tmp_path), job_of(tmp_path / "b", ("remarked", {"text": "x"}))])
    first, second = csv.DictReader(io.StringIO(text))
    assert tuple(first) == SUMMARY
    assert (first["customer"], first["area_mm2"], second["entries"]) == ("'=order 77", "", "2")


# A bottle


def test_a_bottle_prints_in_the_units_of_its_label(tmp_path: Path) -> None:
    filled = {**FULL, "usable_fraction": amount(0.3, "1"), "contains": ["cyanide"]}
    top_up = {"why": "top-up", "volume": amount(0.1, "L"), "metal_mass": amount(820.0, "mg"), "lot": "lot 5"}
    bottle = bottle_of(tmp_path, ("filled", filled), run(4, 0.5, 100.0), ("added", top_up), ("added", top_up))
    body = bottle_json(bottle)
    assert (body["label"], body["solution"], body["metal"], body["lot"]) == ("G1", "bench-gold", "gold", "lot 4")
    assert (body["topped_up_with"], body["recovered"], body["contains"]) == (["lot 5"], False, ["cyanide"])
    figures = {name: (body[name]["value"], body[name]["unit"]) for name in
               ("charge_passed", "allowed_charge", "charge_left", "metal_left", "volume")}  # fmt: skip
    # 500 mL of 8.2 g/L, two times 100 mL with 820 mg, and a run of 0.5 A.h that took 100 mg
    assert figures == {
        "charge_passed": (pytest.approx(0.5), "A.h"), "allowed_charge": (pytest.approx(2.0), "A.h"),
        "charge_left": (pytest.approx(1.5), "A.h"), "metal_left": (pytest.approx(5640.0), "mg"),
        "volume": (pytest.approx(700.0), "mL"),
    }  # fmt: skip
    # three tenths of the 5740 mg put in can be plated out, and 100 mg were
    assert (body["metal_usable"]["value"], body["metal_usable"]["unit"]) == (pytest.approx(1622.0), "mg")
    assert body["carried_away"]["unit"] == "mL"
    assert [event["kind"] for event in body["history"]] == ["filled", "drew", "added", "added"]
    assert passed_words(bottle).startswith("Charge passed: 0.500 ± 0.020 A·h. Carried away by sleeves and parts: 0 mL.")
    assert passed_words(bottle).endswith("mL. Topped up with lot lot 5.")
    assert usable_words(bottle, "mg").endswith("mg")
    assert metal_words(bottle, "mg").startswith("5640 ± ")


def test_what_a_bottle_cannot_say_is_told(tmp_path: Path) -> None:
    silent = {name: value for name, value in FULL.items() if name != "metal_content"}
    bottle = bottle_of(tmp_path, ("filled", silent))
    assert (metal_words(bottle, "mg"), usable_words(bottle, "mg")) == ("not known", "not known")
    assert "Topped up" not in passed_words(bottle)
    assert bottle_json(bottle)["metal_left"] is None


def test_a_run_of_unknown_metal_leaves_at_most_the_rest(tmp_path: Path) -> None:
    unknown = ("drew", {"job": "2026-0001", "run": 4, "charge": amount(0.1, "A.h")})
    bottle = bottle_of(tmp_path, ("filled", FULL), unknown)
    assert metal_words(bottle, "mg").startswith("at most 4100 ± ")
    assert metal_words(bottle, "mg").endswith(" mg (1 run not counted)")
    assert bottle_json(bottle)["runs_without_known_metal"] == 1


def test_a_bottle_that_is_spent_has_no_usable_metal(tmp_path: Path) -> None:
    """Three tenths of 4100 mg are 1230 mg."""
    filled = {**FULL, "usable_fraction": amount(0.3, "1")}
    spent = bottle_of(tmp_path, ("filled", filled), run(4, 0.5, 1231.0))
    assert usable_words(spent, "mg") == "none"
    nearly = bottle_of(tmp_path / "b", ("filled", filled), run(4, 0.5, 1229.0))
    assert usable_words(nearly, "mg").endswith("mg")


@pytest.mark.parametrize(
    ("kind", "doc", "said"),
    [
        (*run(4, 0.5, 100.0), "job 2026-0001, run 4; 0.500 ± 0.020 A·h; 100 ± 10 mg metal"),
        ("added", {"why": "top-up", "volume": amount(0.1, "L"), "lot": "5"}, "100 mL; lot 5"),
        ("discarded", {"reason": "spent"}, "spent"),
        ("drew", {}, "nothing any more"),
        ("drew", {"remarks": "spilt"}, "spilt"),
    ],
)
def test_an_entry_of_a_bottle_is_told_in_one_line(tmp_path: Path, kind: str, doc: dict[str, Any], said: str) -> None:
    bottle = bottle_of(tmp_path, ("filled", FULL), (kind, doc))
    assert event_words(bottle.history[1]) == said
    assert event_words(bottle.history[0]).startswith("500 ± 10 mL; 8.20 ± 0.40 g/L metal; 2 A·h allowed; ")
    assert "lot" not in event_words(bottle.history[0])
