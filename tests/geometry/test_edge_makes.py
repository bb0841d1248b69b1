"""How far an edge is open by how it was made: common practice, no source, so every number is held here."""

import pytest

from areakit.errors import InputError, RangeError
from areakit.geometry.edge_makes import UNKNOWN, EdgeMake, edge_make, edge_makes
from areakit.sources import source

OPEN_MM = {
    "unknown": 0.02, "cut-foil": 0.005, "sawn": 0.03, "sheared": 0.04, "punched": 0.04, "cast": 0.08, "etched": 0.03,
    "tumbled": 0.06,
}  # fmt: skip


def test_every_row_is_what_common_practice_says_and_says_so() -> None:
    assert {key: one.open_mm for key, one in edge_makes().items()} == OPEN_MM
    for one in edge_makes().values():
        assert source(one.source).kind == "practice"
        assert f"within {2 * one.open_mm:g} mm" in one.note or one.note == "as sheared"


@pytest.mark.parametrize(
    ("key", "thickness_mm", "open_mm"),
    [
        # Common practice, no source: a burr of 5 to 10 % of the sheet and a roll-over of as much; foil as if knifed.
        ("unknown", 0.03, 0.005),
        ("unknown", 0.1, 0.01),
        ("unknown", 0.19, 0.019),
        ("unknown", 0.21, 0.02),
        ("sheared", 0.5, 0.02),
        ("punched", 2.0, 0.04),
        ("etched", 0.1, 0.03),
        ("unknown", None, 0.02),
    ],
)
def test_burr_is_a_share_of_the_sheet_that_was_cut(key: str, thickness_mm: float | None, open_mm: float) -> None:
    assert edge_make(key).open_at(thickness_mm) == pytest.approx(open_mm)


def test_nothing_said_is_unknown() -> None:
    assert edge_make("") == edge_make(UNKNOWN) == edge_makes()["unknown"]


def test_another_make_is_refused_with_those_that_there_are() -> None:
    with pytest.raises(InputError, match="'welded' is not a way") as told:
        edge_make("welded")
    assert all(key in told.value.remedy for key in OPEN_MM)


@pytest.mark.parametrize("open_mm", [0.0, -0.02, 0.51])
def test_an_edge_is_open_by_more_than_nothing_and_half_a_millimetre_at_most(open_mm: float) -> None:
    with pytest.raises(RangeError, match=r"outside 0 to 0\.5 mm"):
        EdgeMake(key="x", title="x", open_mm=open_mm, source="practice", note="")
    assert EdgeMake(key="x", title="x", open_mm=0.5, source="practice", note="").open_mm == 0.5
