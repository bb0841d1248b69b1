"""Each share of the uncertainty alone, on a square of 40 mm seen from straight above: worked out by hand.

The square has 160 mm of edge and 1600 mm2; a pixel is 0.1 mm, the camera stands 300 mm above the sheet. An edge that is
open by d all round leaves 160 d of area open. A figure of a study or of practice stands in the comment of its line.
"""

from typing import Any

import numpy as np
import pytest
from drawn_rings import bare_sheet, edge_of, level_camera, measured, plane_scale, square

from areakit.imaging.scale import CheckReading, SheetScale
from areakit.uncertainty import Measured

AREA, AROUND = 1600.0, 160.0


def gauge(value: float, spread: float = 0.0) -> Measured:
    return Measured(value=value, unit="mm", budget={"gauge": spread} if spread else {})


def share(name: str, *, outline: Any = None, edge: dict[str, Any] | None = None, **given: Any) -> float:
    """Return one share of the area, zero where there is none."""
    ring = edge_of(square() if outline is None else outline, **(edge or {}))
    return measured(ring, **given).area.budget.get(name, 0.0)


def test_the_square_is_the_square() -> None:
    sizes = measured(edge_of(square()))
    assert sizes.area.value == pytest.approx(AREA, rel=1e-6)
    assert "second threshold" not in sizes.area.budget


# Where the edge is

OPEN_ALL_ROUND = {
    # Fitted to the errors of simulated photos: 0.056 px at usual softness, in proportion beyond it.
    "sharp": ("edge position", {"sigma_px": 0.9}, 0.0056),
    "sharper": ("edge position", {"sigma_px": 0.45}, 0.0056),
    "twice as soft": ("edge position", {"sigma_px": 1.8}, 0.0112),
    # Contact shadows as narrow as the edge is soft; dark metal looks like them.
    "shadow": ("shadow at the edge", {"shade_outside": 1.0}, 0.008),
    "shadow along half": ("shadow at the edge", {"shade_outside": 0.5}, 0.004),
    "shadow of dark metal": ("shadow at the edge", {"shade_outside": 1.0, "dark_share": 1.0}, 0.024),
    "dark metal": ("dark metal", {"dark_share": 1.0}, 0.02),
    # The outermost edge that can be made out lies 1.2 px beyond the sharpest: all of that.
    "two edges": ("choice of edge", {"doubt_px": 1.2}, 0.12),
}


@pytest.mark.parametrize("case", OPEN_ALL_ROUND)
def test_an_edge_that_is_open_all_round_leaves_a_strip_of_area_open(case: str) -> None:
    name, edge, open_mm = OPEN_ALL_ROUND[case]
    assert share(name, edge=edge) == pytest.approx(open_mm * AROUND, rel=5e-3)


@pytest.mark.parametrize("open_mm", [0.005, 0.08])
def test_burr_and_rounding_leave_a_strip_open_as_wide_as_they_are(open_mm: float) -> None:
    assert share("edge of the part", edge_mm=open_mm) == pytest.approx(open_mm * AROUND, rel=5e-3)


@pytest.mark.parametrize("name", ["shadow at the edge", "dark metal", "choice of edge", "bridged edge", "seen wall"])
def test_a_clean_edge_has_no_share_of_what_is_not_there(name: str) -> None:
    assert share(name, height=gauge(2.0)) == 0.0


def test_glare_is_open_by_half_a_disc_of_its_length() -> None:
    length = 0.05 * 160.0  # of the outline of a square of 40 mm
    radius = length / np.pi
    half_disc = np.pi * radius**2 / 2
    assert share("glare at the edge", edge={"glare_stretch": 0.05}) == pytest.approx(half_disc / 3**0.5, rel=0.01)


def test_a_bridged_stretch_is_open_by_a_pixel_either_way() -> None:
    seen = np.arange(len(square())) < len(square()) / 4  # 120 mm were bridged
    # rectangular from one pixel inside to one pixel outside: half-width over root three
    assert share("bridged edge", edge={"seen": seen}) == pytest.approx(120.0 * 0.1 / 3**0.5, rel=0.01)


# The sheet beside it


@pytest.mark.parametrize(
    ("burnt", "coloured", "open_mm"),
    # Light that spreads over the edge by a tenth of a millimetre or so: common practice, no source. On white paper
    # 46 coins photographed twice, well and over-exposed, differ by 0.18 mm root mean square.
    [(0.04, True, 0.0), (0.06, True, 0.12), (0.04, False, 0.0), (0.06, False, 0.18)],
)
def test_a_sheet_that_is_burnt_out_over_more_than_a_twentieth_opens_the_edge(
    burnt: float, coloured: bool, open_mm: float
) -> None:
    sheet = bare_sheet(burnt=burnt, coloured=coloured)
    assert share("burnt-out sheet", sheet=sheet) == pytest.approx(open_mm * AROUND, rel=5e-3)


# Walls and height


@pytest.mark.parametrize(
    ("top", "open_px"),
    # Fitted to the errors of simulated photos: a wall that was told for sure ends within a 25th of itself, one
    # that may be anything within a fifth or so.
    [(1.0, 10 * 0.04), (0.0, 10 * 0.04), (0.5, 10 * 0.22)],
)
@pytest.mark.parametrize(("hidden_mm", "times"), [(0.0, 1.0), (0.99, 1.0), (1.01, 1.6)])
def test_a_seen_wall_stays_open_more_where_it_may_hide_holes(
    top: float, open_px: float, hidden_mm: float, times: float
) -> None:
    count = len(square())
    edge = {"wall_px": np.full(count, 10.0), "top": np.full(count, top)}
    found = share("seen wall", edge=edge, height=gauge(1e-6), hidden_mm=hidden_mm)
    assert found == pytest.approx(times * open_px * 0.1 * AROUND, rel=0.01)


def test_an_unknown_thickness_is_open_by_a_millimetre() -> None:
    # Similar triangles: what lies 1 mm nearer to a camera 300 mm away looks larger by 2/300 of its area.
    assert share("thickness", thin=False) == pytest.approx(-2.0 / 300.0 * AREA, rel=0.01)
    assert share("thickness", height=gauge(3.0, 0.1)) == pytest.approx(-2 * 0.1 / 297.0 * 0.98 * AREA, rel=0.02)


# Scale and pose


def test_a_sheet_that_lies_higher_by_a_millimetre_looks_larger_by_two_over_the_distance() -> None:
    assert share("sheet flatness", scale=plane_scale(flatness_mm=0.1)) == pytest.approx(0.2 / 300.0 * AREA)


def test_the_pose_is_carried_as_the_distance_that_it_makes_uncertain() -> None:
    variance = np.zeros(13)
    variance[12] = 0.5**2
    camera = plane_scale(camera=level_camera(variance))
    assert share("camera pose and lens", scale=camera) == pytest.approx(2 * 0.5 / 300.0 * AREA, rel=1e-3)


def test_a_length_that_is_uncertain_along_one_axis_takes_the_area_along_once() -> None:
    scale = plane_scale(sheet_scale=SheetScale(shares={"print": (0.01, 0.002)}))
    budget = measured(edge_of(square()), scale=scale).area.budget
    assert budget["print, along x"] == pytest.approx(0.01 * AREA)
    assert budget["print, along y"] == pytest.approx(0.002 * AREA)


def test_a_check_length_is_read_to_a_tenth_of_a_millimetre() -> None:
    """A steel rule with half-millimetre marks, read at both ends: common practice, no source."""
    shares = CheckReading(read_mm=(200.0, 120.0)).sheet_scale((200.0, 120.0)).shares
    ((along_x, along_y),) = shares.values()
    assert along_x * 200.0 == pytest.approx(0.1)
    assert along_y * 120.0 == pytest.approx(0.1)


# What could be part of it or not


def test_a_region_that_is_a_hole_or_none_counts_half_and_leaves_a_third_open() -> None:
    sizes = measured(edge_of(square()), undecided_mm2=30.0)
    assert sizes.area.value == pytest.approx(AREA - 15.0)
    # all or nothing, taken as a rectangle from 0 to 30: half-width over root three, and a little for its outline
    assert sizes.area.budget["undecided holes"] == pytest.approx(30.0 / 12**0.5, rel=0.2)
    assert 2 * sizes.area.budget["undecided holes"] > 15.0


def test_a_second_threshold_is_a_rectangle_as_wide_as_it_differs() -> None:
    assert share("second threshold", rival_share=0.03) == pytest.approx(0.03 * AREA / 12**0.5)
