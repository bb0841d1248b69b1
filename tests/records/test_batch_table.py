"""The table of a batch: a row a part, a row a refused photo, and totals over all pieces."""

import csv
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from areakit.records.batch_log import BatchLog, BatchRow, answered, file_hash
from areakit.records.batch_table import COLUMNS, summary_csv, totals
from areakit.records.codec import quantity_json
from areakit.uncertainty import Measured


def part(number: int, *, plated: float, wall: float | None = 20.0) -> dict[str, Any]:
    """A part whose face is known to 1 % by the sheet and whose walls to 2 % by the thickness."""
    return {
        "id": number,
        "perimeter": {"value": 62.83185},
        "face_area": quantity_json(Measured(value=100.0, unit="mm2", budget={"sheet": 1.0})),
        "side_wall_area": None
        if wall is None
        else quantity_json(Measured(value=wall, unit="mm2", budget={"thickness": -0.4})),
        "plated_area": quantity_json(Measured(value=plated, unit="mm2", budget={"sheet": 1.0, "edge": 0.5})),
    }


def photo(name: str, *parts: dict[str, Any], pieces: int = 1, flags: tuple[Any, ...] = (), **more: Any) -> BatchRow:
    answer = {"status": "measured" if parts else "refused", "parts": list(parts), "flags": list(flags), **more}
    return BatchRow(
        photo=name, sha256=f"hash of {name}" if parts else None, settings="s", answer=answer,
        overlay=f"{name}.png" if parts else None, exit_code=0 if parts else 3, pieces=pieces,
    )  # fmt: skip


FLAGS = ({"code": "TILT_HIGH"}, {"code": "GLARE", "part": 2}, {"code": "SOFT", "part": 1}, {"code": "TILT_HIGH"})
REFUSED = {"code": "X", "message": "No sheet was found.", "remedy": "Lay the sheet into the picture."}
ROWS = (
    photo("a.jpg", part(1, plated=120.0), part(2, plated=100.0, wall=None), pieces=3, flags=FLAGS, regions_left_out=2),
    photo("=b.jpg", flags=(REFUSED, {**REFUSED, "message": "Besides, it is dark."})),
    photo("c.jpg", part(1, plated=50.0)),
)


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_each_part_has_a_row_with_the_areas_of_one_piece() -> None:
    text = summary_csv(ROWS)
    assert text.splitlines()[0] == ",".join(COLUMNS)
    assert text.count("\r\n") == 6  # RFC 4180, 2.1
    first, second, _, third, _ = rows_of(text)
    assert first == {
        "photo": "a.jpg", "status": "measured", "part": "1", "pieces": "3", "face_area_mm2": "100.000",
        "face_area_U_mm2": "2.000", "perimeter_mm": "62.832", "side_wall_area_mm2": "20.000",
        "side_wall_area_U_mm2": "0.800", "plated_area_mm2": "120.000", "plated_area_U_mm2": "2.236",
        "notes": "TILT_HIGH SOFT", "reason": "", "overlay": "a.jpg.png", "sha256": "hash of a.jpg",
    }  # fmt: skip
    assert (second["part"], second["side_wall_area_mm2"], second["notes"]) == ("2", "", "TILT_HIGH GLARE")
    assert (third["photo"], third["plated_area_mm2"], third["notes"]) == ("c.jpg", "50.000", "")


def test_a_refused_photo_has_a_row_with_its_reasons_and_no_formula() -> None:
    refused = rows_of(summary_csv(ROWS))[2]
    assert refused["photo"] == "'=b.jpg"
    assert refused["reason"] == (
        "No sheet was found. Lay the sheet into the picture. Besides, it is dark. Lay the sheet into the picture."
    )
    assert (refused["status"], refused["part"], refused["overlay"], refused["sha256"]) == ("refused", "", "", "")


def test_totals_count_all_pieces_and_take_a_common_input_as_common() -> None:
    """3 x (120 + 100) + 50 = 710; the sheet moves 3 x 2 + 1 times 1 mm2, the edge 3 x 1 + 0.5: root 7^2 + 3.5^2."""
    found = totals(ROWS)
    assert found.value == pytest.approx(710.0)
    assert dict(found.budget) == pytest.approx({"sheet": 7.0, "edge": 3.5})
    assert totals(ROWS, "side_wall_area").value == pytest.approx(80.0)
    assert dict(totals(ROWS, "side_wall_area").budget) == pytest.approx({"thickness": 1.6})
    last = rows_of(summary_csv(ROWS))[-1]
    assert last["photo"] == "total of 3 photos without 2 regions"
    assert (last["status"], last["part"], last["pieces"]) == ("2 measured, 1 refused", "3", "7")
    assert (last["plated_area_mm2"], last["plated_area_U_mm2"]) == ("710.000", "15.652")
    assert last["face_area_mm2"] == "700.000"


def test_inputs_of_opposite_sign_do_not_cancel_between_photos() -> None:
    against = {**part(1, plated=1.0), "plated_area": quantity_json(Measured(value=9.0, unit="mm2", budget={"e": -1.0}))}
    along = {**part(1, plated=1.0), "plated_area": quantity_json(Measured(value=9.0, unit="mm2", budget={"e": 1.0}))}
    assert dict(totals([photo("a", against), photo("b", along)]).budget) == {"e": 2.0}


def test_a_batch_of_nothing_adds_up_to_nothing() -> None:
    assert totals([]).value == 0.0
    assert rows_of(summary_csv([]))[0]["photo"] == "total of 0 photos"


def test_the_log_of_a_batch_gives_back_its_rows(tmp_path: Path) -> None:
    flags = tuple({"message": "", "remedy": "", **one} for one in FLAGS)
    rows = [photo("a.jpg", part(1, plated=120.0), pieces=3, flags=flags), photo("b.jpg", flags=(REFUSED,))]
    log = BatchLog(tmp_path / "log.jsonl")
    assert log.rows() == []
    for row in rows:
        log.add(row)
    assert log.rows() == rows
    with (tmp_path / "log.jsonl").open("ab") as file:
        file.write(b'{"schema": "cut off')
    assert log.rows() == rows
    log.add(rows[0])
    assert log.rows() == [*rows, rows[0]]
    # What could not be read is asked again.
    assert answered([*rows, rows[0]]) == {("a.jpg", "hash of a.jpg", "s"): rows[0]}


@pytest.mark.parametrize(
    "wrong",
    [{"pieces": 0}, {"pieces": "two"}, {"overlay": "../a.png"}, {"exit_code": "0"}, {"photo": 7}, {"sha256": 7}],
)
def test_a_row_that_cannot_be_shown_is_measured_again(tmp_path: Path, wrong: dict[str, Any]) -> None:
    log = BatchLog(tmp_path / "log.jsonl")
    sound = photo("a.jpg", part(1, plated=120.0))
    log.add(sound)
    log.add(replace(sound, **wrong))
    assert log.rows() == [sound]


@pytest.mark.parametrize(
    ("wrong", "value"),
    [("id", "1"), ("perimeter", {"value": float("1e999")}), ("plated_area", {"value": 1.0, "unit": "mm"})],
)
def test_a_part_that_cannot_be_added_up_is_measured_again(tmp_path: Path, wrong: str, value: Any) -> None:
    path = tmp_path / "log.jsonl"
    sound = photo("a.jpg", part(1, plated=120.0))
    BatchLog(path).add(sound)
    body = json.loads(path.read_text(encoding="utf-8"))
    body["answer"]["parts"][0][wrong] = value
    with path.open("a", encoding="utf-8") as file:
        file.write(json.dumps(body) + "\n")
    assert BatchLog(path).rows() == [sound]


def test_a_file_is_known_by_its_hash(tmp_path: Path) -> None:
    """FIPS 180-4, SHA-256 of the three letters abc."""
    (tmp_path / "a").write_bytes(b"abc")
    assert file_hash(tmp_path / "a") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert file_hash(tmp_path / "b") is None
