"""The code on a certificate: read back whole, a slip in it shown, and what became of the record since."""

from dataclasses import replace
from typing import Any

import pytest

from areakit.errors import CodeChanged, InputError, OtherJob, RecordDiffers
from areakit.records.certificate import certified, check_bottles, code_of, read_code
from areakit.records.event import Event, make_event


def record(*kinds: str) -> list[Event]:
    """The events of job 7, each after the one before."""
    history: list[Event] = []
    for number, kind in enumerate(kinds, start=1):
        before = history[-1] if history else None
        doc: dict[str, Any] = {"entry": 1, "withdrawn": False} if kind == "corrected" else {"text": kind}
        history.append(
            make_event(
                before=before, id=f"id-{number}", subject="job", key="7", at=f"2026-03-14T09:0{number}:00Z", who="Ana",
                kind=kind, doc=doc,
            )
        )  # fmt: skip
    return history


WHOLE = record("opened", "signed", "certified")


def test_a_code_names_job_entry_and_twenty_digits_of_the_digest_in_fours() -> None:
    text = str(code_of(WHOLE[2]))
    number, entry, digits, check = text.split("/")
    assert (number, entry) == ("7", "3")
    assert digits.replace("-", "") == WHOLE[2].digest[:20]
    assert [len(group) for group in digits.split("-")] == [4] * 5
    assert len(check) == 4
    assert read_code(text) == code_of(WHOLE[2])


def test_a_code_is_read_with_blanks_and_capitals_and_a_slash_in_the_number() -> None:
    event = make_event(before=None, id="a", subject="job", key="2026/17", at="2026-03-14T09:00:00Z", who="Ana",
                       kind="certified", doc={})  # fmt: skip
    text = str(code_of(event))
    head, entry, digits, check = text.rsplit("/", 3)
    assert read_code(f"  {head}/{entry}/{digits.upper().replace('-', ' - ')}/{check.upper()} ") == code_of(event)


def test_a_slip_in_any_letter_of_a_code_is_told() -> None:
    text = str(code_of(WHOLE[2]))
    for place, letter in enumerate(text):
        if letter in "/-":
            continue
        slipped = text[:place] + ("1" if letter != "1" else "2") + text[place + 1 :]
        with pytest.raises(CodeChanged, match="not whole"):
            read_code(slipped)


@pytest.mark.parametrize("text", ["", "7/3", "7/three/abc/def", "7/1234567890/aaaa/bbbb", "7/3//bbbb"])
def test_what_has_not_the_shape_of_a_code_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="not the code of a certificate"):
        read_code(text)


def test_a_code_with_a_digit_too_few_is_not_whole_even_where_its_check_fits() -> None:
    short = replace(code_of(WHOLE[2]), digest=WHOLE[2].digest[:19])
    with pytest.raises(CodeChanged):
        read_code(str(short))


def test_a_record_that_is_as_it_was_gives_its_entry() -> None:
    assert certified(code_of(WHOLE[2]), "7", WHOLE) is WHOLE[2]
    again = record("opened", "signed", "certified", "certified")  # a second certificate changes nothing of the first
    assert certified(code_of(again[2]), "7", again) is again[2]
    assert certified(code_of(again[3]), "7", again) is again[3]


def test_a_code_of_another_job_is_told_before_its_record_is_looked_at() -> None:
    with pytest.raises(OtherJob, match="of job 7, not of job 8"):
        certified(code_of(WHOLE[2]), "8", [])


def test_another_record_is_told_from_the_one_certified() -> None:
    other = record("opened", "remarked", "certified")
    with pytest.raises(RecordDiffers, match=f"its entry 3 gives {other[2].digest[:8]}, and the code says"):
        certified(code_of(WHOLE[2]), "7", other)
    with pytest.raises(RecordDiffers, match="it has no entry 3"):
        certified(code_of(WHOLE[2]), "7", WHOLE[:2])
    with pytest.raises(RecordDiffers, match="is not the one"):  # its entry is there, and is no certificate
        certified(code_of(WHOLE[1]), "7", WHOLE)


def test_entries_that_do_not_join_are_told() -> None:
    broken = [WHOLE[0], replace(WHOLE[1], previous="0" * 64), WHOLE[2]]
    with pytest.raises(RecordDiffers, match="changed before its entry 2"):
        certified(code_of(WHOLE[2]), "7", broken)


@pytest.mark.parametrize(
    ("later", "told"),
    [
        (["remarked"], "entry 4, Ana added: remarked."),
        (["corrected"], "entry 4, Ana corrected entry 1."),
        (["certified", "reworked", "remarked"], "entry 5, Ana added: reworked."),
    ],
)
def test_a_record_that_went_on_tells_the_first_thing_added(later: list[str], told: str) -> None:
    history = record("opened", "signed", "certified", *later)
    with pytest.raises(RecordDiffers) as refusal:
        certified(code_of(history[2]), "7", history)
    assert told in refusal.value.message
    assert refusal.value.fields == {"areakit job history 7": ""}


STATED = [{"label": "G1", "solution": "bench-gold", "lot": "", "expiry": "2026-12-31"}]


def test_a_bottle_changed_since_is_told() -> None:
    same = {"G1": {"solution": "bench-gold", "lot": "", "expiry": "2026-12-31"}}
    check_bottles(STATED, same)
    with pytest.raises(RecordDiffers, match="its lot was not said, and is 5 now"):
        check_bottles(STATED, {"G1": {**same["G1"], "lot": "5"}})
    with pytest.raises(RecordDiffers, match="its solution was bench-gold, and is not said now"):
        check_bottles(STATED, {})
