"""Each caution is told once, and no figure of it is lost."""

import pytest

from areakit.flags import Flag, flag
from areakit.reports.notes import notes


def test_parts_are_drawn_together_with_the_span_of_their_figures() -> None:
    (note,) = notes([flag("WEAK_EDGE", part=part, percent=percent) for part, percent in ((3, 12), (1, 42), (2, 7))])
    assert note.where == "parts 1 to 3"
    assert note.message.startswith("7 to 42 % of this outline is unclear")


def test_equal_figures_stay_one_figure() -> None:
    (note,) = notes([flag("SMALL_HOLES", part=part, count=part, limit_mm=1.0) for part in (1, 2)])
    assert note.message == "Holes narrower than 1.0 mm cannot be measured in this photo; it shows 1 to 2."


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
