"""Prints of the scale sheet in the record: the last check counts, and an old one is told."""

from typing import Any

import pytest

from areakit.errors import InputError
from areakit.records.entries import kept
from areakit.records.event import Event, make_event
from areakit.records.sheets import LengthsRead, age_flags, fold


def body(**more: Any) -> dict[str, Any]:
    return {"sheet": "A4-r1", "read_x_mm": 250.1, "read_y_mm": 149.9, "date": "2026-03-14", **more}


def checked(doc: dict[str, Any]) -> dict[str, Any]:
    return kept(LengthsRead, doc, "check")


def events(*docs: tuple[str, str, dict[str, Any]]) -> list[Event]:
    return [
        make_event(before=None, id=str(number), subject="sheet", key="bench-1", at="2026-03-14T09:00:00Z", who=who,
                   kind=kind, doc=doc)
        for number, (kind, who, doc) in enumerate(docs)
    ]  # fmt: skip


def test_the_last_check_of_a_print_counts_and_all_are_counted() -> None:
    later = checked(body(read_x_mm=250.3, uncertainty_mm=0.05, date="2026-05-01"))
    found = fold(
        "bench-1",
        events(
            ("lengths-read", "Ana", checked(body())),
            ("lengths-read", "Di", checked(body())),
            ("lengths-read", "Bo", later),
            ("remarked", "Cy", {"text": "x"}),
        ),
    )
    assert (found.name, found.sheet, found.date, found.who, found.checks) == ("bench-1", "A4-r1", "2026-05-01", "Bo", 3)
    assert (found.reading.read_mm, found.reading.uncertainty_mm) == ((250.3, 149.9), 0.05)
    assert found.lengths_text == "250.3 mm x 149.9 mm"
    found.check_sheet("A4-r1")
    with pytest.raises(InputError, match="shows sheet A4-r2; the sheet copy bench-1 is a A4-r1"):
        found.check_sheet("A4-r2")


@pytest.mark.parametrize(("today", "days"), [("2026-06-12", None), ("2026-06-13", 91), ("2026-03-14", None)])
def test_a_check_is_old_after_ninety_days(today: str, days: int | None) -> None:
    """Paper moves with the weather (practice)."""
    found = age_flags(fold("bench-1", events(("lengths-read", "Ana", checked(body())))), today)
    assert [flag.code for flag in found] == ([] if days is None else ["SHEET_CHECK_OLD"])
    if days is not None:
        assert "91 days ago" in found[0].message
        assert "limit 90 days" in found[0].message


@pytest.mark.parametrize(
    "wrong",
    [{"read_x_mm": 1.0}, {"read_y_mm": 2000.0}, {"uncertainty_mm": 0.0}, {"uncertainty_mm": 2.1}, {"date": "today"},
     {"sheet": ""}, {"colour": "red"}],
)  # fmt: skip
def test_a_check_with_an_impossible_length_is_refused(wrong: dict[str, Any]) -> None:
    kept = checked(body(read_x_mm=1.1, read_y_mm=1999.0, uncertainty_mm=2.0))
    assert (kept["read_x_mm"], kept["uncertainty_mm"]) == (1.1, 2.0)
    assert checked(body())["uncertainty_mm"] == 0.1  # a steel rule, read to a tenth (practice)
    with pytest.raises(InputError, match=next(iter(wrong))):
        checked(body(**wrong))
