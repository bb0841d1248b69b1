"""No cell of a table begins like a formula, and what is read back is what was written."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from areakit.records.event import make_event
from areakit.records.exchange import read_export, to_csv
from areakit.records.spreadsheet import as_text, from_text

FORMULAS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1", "＋1", "－1", "＠x")


@pytest.mark.parametrize("text", FORMULAS)
def test_what_begins_like_a_formula_is_led_by_an_apostrophe(text: str) -> None:
    assert as_text(text) == "'" + text
    assert from_text(as_text(text)) == text


@pytest.mark.parametrize("cell", ["badge", "'tis", "1=1", "", -1.5, 3, None])
def test_other_cells_stay(cell: object) -> None:
    assert as_text(cell) == cell


@given(st.text(alphabet="'=+-@\t a＝"))
def test_any_text_comes_back(text: str) -> None:
    assert from_text(as_text(text)) == text
    assert not as_text(text).startswith(("=", "+", "-", "@", "\t", "\r", "＝"))


@pytest.mark.parametrize("key", ["=cmd|' /C x'!A0", "'=1", "+7", "@x", "plain"])
def test_an_export_of_a_record_as_a_table_holds_no_formula_and_is_read_back(key: str) -> None:
    event = make_event(
        before=None,
        id="-1",
        subject="job",
        key=key,
        at="2026-03-14T00:00:00Z",
        who="=me",
        kind="opened",
        doc={"a": "=1"},
    )
    table = to_csv([event])
    for row in csv.reader(io.StringIO(table)):
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)
    assert read_export(table) == ([event], [])
