"""Every limit at which a part is refused or spoken of: a part just inside it and one just outside, built by hand.

The square of 40 mm has 400 px a side. A limit lies between the two figures of its line; a third or three times of it
does not.
"""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from drawn_rings import bare_sheet, edge_of, measured, plane_scale, square

from areakit.errors import MeasurementError
from areakit.imaging.checks.part import Seen, Undecided, check_part, part_flags, photo_flags, questions
from areakit.imaging.segment import Region
from areakit.uncertainty import Measured

FOIL = Measured(value=0.0, unit="mm")
STRAIGHT_ABOVE = square()


def seen(
    *, edge: dict[str, Any] | None = None, sheet: dict[str, Any] | None = None, rival: float = 0.0, **changes: Any
) -> Seen:
    ring, ground = edge_of(STRAIGHT_ABOVE, **(edge or {})), bare_sheet(**(sheet or {}))
    region = Region(rings=(), area_px=1000.0, threshold=3.0, rival_px=1000.0 * rival, crosses=False)
    usual = Seen(
        rings=(ring,),
        sizes=measured(ring, sheet=ground),
        scale=plane_scale(),
        sheet=ground,
        region=region,
        height_mm=0.0,
    )
    return replace(usual, **changes)


def coarse(side_px: float) -> Seen:
    """A square so many pixels wide. Its edge is open by 0.08 px all round: 4 x 0.08 / side of its area."""
    ring = edge_of(square(side_px / 10.0))
    return seen(rings=(ring,), sizes=measured(ring))


def deep(hidden_mm: float) -> Seen:
    """A part 30 mm beside the camera's foot, 300 mm below it: a hole of depth t hides 30/300 t, or a little less."""
    ring = edge_of(STRAIGHT_ABOVE + [30.0, 0.0])
    return seen(rings=(ring,), height_mm=10.0 * hidden_mm)


def with_hole(width_px: float) -> Seen:
    hole = edge_of(square(width_px / 10.0), hole=True)
    return seen(rings=(edge_of(STRAIGHT_ABOVE), hole))


PALE = {"coloured": False}


def soft_along(length_px: float, times: float = 2.0) -> dict[str, Any]:
    """An edge of dark metal, 2.5 px between its points, that is softer than usual (0.8 px) over some of its length."""
    softness = np.full(len(STRAIGHT_ABOVE), 0.8)
    softness[: round(length_px / 2.5)] *= times
    return {"dark_share": 0.95, "face_hue": 0.1, "softness_px": softness}


REFUSED = {
    "blur of 3 px": ("BLURRED", seen(edge={"sigma_px": 2.8}), seen(edge={"sigma_px": 3.2})),
    "45 % unclear": ("EDGE_NOT_SEEN", seen(edge={"unclear_share": 0.4}), seen(edge={"unclear_share": 0.5})),
    "10 % unclear, grey on a pale sheet": (
        "EDGE_NOT_SEEN",
        seen(edge={"unclear_share": 0.08, "face_hue": 0.1}, sheet=PALE),
        seen(edge={"unclear_share": 0.12, "face_hue": 0.1}, sheet=PALE),
    ),
    "edge open by 5 %": ("TOO_SMALL_IN_PHOTO", coarse(7.5), coarse(5.5)),
    "6.5 % along glare": ("GLARE_AT_EDGE", seen(edge={"glare_share": 0.05}), seen(edge={"glare_share": 0.08})),
    "70 px of fading dark metal": (
        "PART_FADES",
        seen(edge=soft_along(60.0), sheet=PALE),
        seen(edge=soft_along(80.0), sheet=PALE),
    ),
    "fading by 1.4 of the usual": (
        "PART_FADES",
        seen(edge=soft_along(80.0, times=1.3), sheet=PALE),
        seen(edge=soft_along(80.0, times=1.5), sheet=PALE),
    ),
    "fading beside the print": (
        "PART_FADES",
        seen(edge=soft_along(80.0, times=1.0), sheet=PALE, print_px=0.6),
        seen(edge=soft_along(80.0, times=1.0), sheet=PALE, print_px=0.5),
    ),
    "fading metal that is dark along 70 %": (
        "PART_FADES",
        seen(edge=soft_along(80.0) | {"dark_share": 0.65}, sheet=PALE),
        seen(edge=soft_along(80.0) | {"dark_share": 0.75}, sheet=PALE),
    ),
    "two thresholds a quarter apart": ("OUTLINES_DISAGREE", seen(rival=0.22), seen(rival=0.28)),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_part_is_refused_beyond_its_limit_and_measured_within(case: str) -> None:
    code, within, beyond = REFUSED[case]
    check_part(within)
    with pytest.raises(MeasurementError) as refusal:
        check_part(beyond)
    assert refusal.value.code == code
    assert refusal.value.remedy.endswith(".")


@pytest.mark.parametrize("case", [{"edge": {"unclear_share": 0.5}}, {"rival": 0.28}])
def test_on_a_sheet_without_colour_the_dark_card_is_a_way_out(case: dict[str, Any]) -> None:
    told = {}
    for sheet in ({}, PALE):
        with pytest.raises(MeasurementError) as refusal:
            check_part(seen(sheet=sheet, **case))
        told[bool(sheet)] = refusal.value.remedy
    assert "black card with a hole for the lens" in told[True]
    assert "card" not in told[False]
    (grey,) = [one for one in part_flags(seen(edge={"face_hue": 0.15}, sheet=PALE)) if one.code == "GREY_ON_PALE"]
    assert "black card" in grey.remedy


TOLD = {
    "blur of 2 px": ("SLIGHT_BLUR", seen(edge={"sigma_px": 1.8}), seen(edge={"sigma_px": 2.2})),
    "3 % unclear": ("WEAK_EDGE", seen(edge={"unclear_share": 0.02}), seen(edge={"unclear_share": 0.04})),
    "two thresholds 1 % apart": ("OUTLINES_DIFFER", seen(rival=0.008), seen(rival=0.012)),
    "a fifth burnt": ("OVER_EXPOSED_PART", seen(edge={"clipped_share": 0.15}), seen(edge={"clipped_share": 0.25})),
    "shade along 40 %": ("SHADOW_AT_EDGE", seen(edge={"shade_outside": 0.35}), seen(edge={"shade_outside": 0.45})),
    "edge open by 1 %": ("LOW_RESOLUTION", coarse(36.0), coarse(28.0)),
    "a hidden millimetre": ("HOLES_HIDDEN", deep(0.8), deep(1.3)),
    "a hole of 8 px": ("SMALL_HOLES", with_hole(9.0), with_hole(7.0)),
    "hue of 0.2": (
        "GREY_ON_PALE",
        seen(edge={"face_hue": 0.25}, sheet=PALE),
        seen(edge={"face_hue": 0.15}, sheet=PALE),
    ),
}


def told(part: Seen) -> set[str]:
    return {flag.code for flag in part_flags(part)}


@pytest.mark.parametrize("case", TOLD)
def test_a_part_is_spoken_of_beyond_its_limit_and_not_within(case: str) -> None:
    code, within, beyond = TOLD[case]
    assert code not in told(within)
    assert code in told(beyond)


def test_a_part_without_fault_is_not_spoken_of() -> None:
    assert told(seen()) == set()


@pytest.mark.parametrize(
    ("edge", "sheet"), [({"face_hue": 0.1}, {}), ({"face_hue": 0.1, "dark_share": 0.95}, {"coloured": False})]
)
def test_grey_metal_is_no_trouble_on_a_coloured_sheet_nor_where_it_is_much_darker(
    edge: dict[str, float], sheet: dict[str, bool]
) -> None:
    assert "GREY_ON_PALE" not in told(seen(edge=edge, sheet=sheet))


@pytest.mark.parametrize(("dark_share", "trouble"), [(0.85, True), (0.95, False)])
def test_grey_metal_on_a_pale_sheet_is_told_by_light_where_nine_tenths_are_much_darker(
    dark_share: float, trouble: bool
) -> None:
    grey = seen(edge={"face_hue": 0.1, "dark_share": dark_share}, sheet=PALE)
    assert ("GREY_ON_PALE" in told(grey)) == trouble


def test_only_doubts_that_matter_are_asked_about_the_largest_three_first() -> None:
    sizes = measured(edge_of(STRAIGHT_ABOVE))
    matters = max(1.6, sizes.area.expanded_uncertainty / 6)  # a thousandth of 1600 mm2, or what U does not hide
    doubts = [
        Undecided(area_mm2=factor * matters, point_mm=(0.0, 0.0), ring_px=np.zeros((3, 2)))
        for factor in (0.5, 1.5, 4.0, 2.0, 3.0)
    ]
    asked = [told for told, _ in questions(doubts, sizes)]
    assert [flag.code for flag in asked] == ["LOOKS_UNDECIDED"] * 3
    for factor, flag in zip((4.0, 3.0, 2.0), asked, strict=True):
        assert f"by {100 * factor * matters / 1600:.1f} %" in flag.message
    assert len(questions(doubts[:2], sizes)) == 1


# The photo as a whole


def said(thickness: Measured | None = FOIL, left_out: int = 0, **sheet: Any) -> dict[str, str]:
    flags = photo_flags(plane_scale(), bare_sheet(**sheet), thickness, left_out)
    return {flag.code: flag.message for flag in flags}


@pytest.mark.parametrize(
    ("code", "within", "beyond"),
    [
        ("OVER_EXPOSED_SHEET", {"burnt": 0.04}, {"burnt": 0.06}),
        ("UNEVEN_LIGHT", {"unevenness": 0.8}, {"unevenness": 1.2}),
        ("PART_LEFT_OUT", {"left_out": 0}, {"left_out": 1}),
        ("THICKNESS_NOT_GIVEN", {}, {"thickness": None}),
    ],
)
def test_a_photo_is_spoken_of_beyond_its_limit(code: str, within: dict[str, Any], beyond: dict[str, Any]) -> None:
    assert code not in said(**within)
    assert code in said(**beyond)


def test_an_unknown_thickness_is_told_with_what_a_millimetre_changes() -> None:
    # Similar triangles from 300 mm: 2/300 a millimetre; two standard uncertainties of 1 mm are covered.
    message = said(thickness=None)["THICKNESS_NOT_GIVEN"]
    assert "0.67 %" in message
    assert "2 mm" in message
