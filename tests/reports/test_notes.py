"""Each note is told once, and no figure of it is lost."""

from string import Formatter

import pytest

from areakit import flags
from areakit.flags import STANDS_ALONE, Flag, flag, known_codes
from areakit.records.codec import flag_from_json, flag_json
from areakit.reports.notes import notes


def test_parts_are_drawn_together_with_the_span_of_their_figures() -> None:
    (note,) = notes([flag("WEAK_EDGE", part=part, percent=percent) for part, percent in ((3, 12), (1, 42), (2, 7))])
    assert note.where == "parts 1 to 3"
    assert note.message.startswith("7 to 42 % of this outline is unclear")


def test_equal_figures_stay_one_figure() -> None:
    (note,) = notes([flag("SMALL_HOLES", part=part, count=part, limit_mm=1.0) for part in (1, 2)])
    assert note.message == "Holes narrower than 1.0 mm cannot be measured in this photo; it shows 1 to 2."


def test_figures_that_read_alike_are_one_and_other_words_are_another_note() -> None:
    alike = [flag("WEAK_EDGE", part=part, percent=percent) for part, percent in ((1, 12.2), (2, 12.4))]
    assert notes(alike)[0].message.startswith("12 % of this outline is unclear")
    verdicts = [
        flag("CUT_EDGE", part=part, percent=9.0, verdict=verdict) for part, verdict in ((1, "It counts."), (2, "No."))
    ]
    assert [note.where for note in notes(verdicts)] == ["part 1", "part 2"]


@pytest.mark.parametrize("code", [code for code in known_codes() if code not in STANDS_ALONE])
def test_what_was_written_as_json_is_told_alike(code: str) -> None:
    names = {name: how for text in flags._CATALOGUE[code] for _, name, how, _ in Formatter().parse(text) if name}
    made = [
        flag(code, part=part, **{name: part if how else f"{part}" for name, how in names.items()}) for part in (1, 2)
    ]
    assert notes(flag_from_json(flag_json(one)) for one in made) == notes(made)


@pytest.mark.parametrize(
    "figures", [{"percent": 13.0}, {"percent": "12"}, {"percent": [12]}, {}, {"other": 12}, [12], None, "12"]
)
def test_figures_that_do_not_give_the_words_are_left_out(figures: object) -> None:
    body = {**flag_json(flag("WEAK_EDGE", part=1, percent=12.0)), "figures": figures}
    read = [flag_from_json({**body, "part": part}) for part in (1, 2)]
    assert [note.where for note in notes(read)] == ["parts 1 and 2"]
    assert notes(read)[0].message.startswith("12 % of this outline is unclear")
    assert read[0].figures == {}


@pytest.mark.parametrize(
    ("parts", "words"),
    [([5], "part 5"), ([1, 2], "parts 1 and 2"), ([1, 2, 4, 5, 6, 9], "parts 1, 2, 4 to 6 and 9")],
)
def test_parts_are_counted_in_runs(parts: list[int], words: str) -> None:
    (note,) = notes([Flag(code="X", message="m.", remedy="r.", part=part) for part in parts])
    assert note.where == words


def test_reasons_of_the_whole_photo_stay_apart() -> None:
    reasons = ["89 % differ.", "33 % cannot be told.", "89 % differ."]
    told = notes([flag("PART_NOT_MEASURED", reason=reason) for reason in reasons])
    assert [(note.message[23:], note.where) for note in told] == [
        ("89 % differ.", "2 times"),
        ("33 % cannot be told.", ""),
    ]


def test_every_place_that_is_asked_about_is_named() -> None:
    places = [(-13.6, 15.2), (4.0, 8.5)]
    told = notes([flag("LOOKS_UNDECIDED", part=1, area_mm2=9.0, x_mm=x, y_mm=y, percent=2) for x, y in places])
    assert ["(-13.6, 15.2)" in told[0].text, "(4.0, 8.5)" in told[1].text] == [True, True]


def test_names_with_digits_are_no_figures() -> None:
    told = [Flag(code="X", message=f"On A{n} of 2 mm.", remedy="", part=n) for n in (4, 5)]
    assert [note.message for note in notes(told)] == ["On A4 of 2 mm.", "On A5 of 2 mm."]
