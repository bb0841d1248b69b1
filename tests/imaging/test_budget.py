"""Each share of the uncertainty alone, on a square of 40 mm seen from straight above: worked out by hand.

The square has 160 mm of edge and 1600 mm2; a pixel is 0.1 mm, the camera stands 300 mm above the sheet. An edge that is
open by d all round leaves 160 d of area open. A figure of a study or of practice stands in the comment of its line.
"""

from typing import Any

import numpy as np
import pytest
from drawn_rings import along, bare_sheet, edge_of, level_camera, measured, plane_scale, square
from shapely.geometry import Polygon

from areakit.geometry.edge_forms import SHARE as FORM
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


# Lengths, and holes


def rectangle(length: float, width: float, at: float = 0.0) -> Any:
    x, y = length / 2, width / 2
    return along(Polygon([(at - x, -y), (at + x, -y), (at + x, y), (at - x, y)]))


def plate(**given: Any) -> Any:
    """40 x 20 mm, a square hole of 6 mm and one of 12 x 3 mm: 120, 24 and 30 mm round."""
    edge = given.pop("edge", {})
    holes = (rectangle(6.0, 6.0, -10.0), rectangle(12.0, 3.0, 10.0))
    edges = [edge_of(rectangle(40.0, 20.0), **edge), *(edge_of(one, hole=True, **edge) for one in holes)]
    return measured(*edges, **given)


def test_a_plate_is_what_its_holes_leave() -> None:
    sizes = plate()
    assert sizes.area.value == pytest.approx(800.0 - 36.0 - 36.0, rel=1e-6)
    assert (sizes.outer.value, sizes.holes.value) == pytest.approx((120.0, 54.0), rel=0.03)


def test_an_edge_further_out_is_longer_by_one_turn_and_holes_by_one_turn_each_less() -> None:
    """Steiner: 2 pi d round a closed outline, whatever its shape; a hole shrinks."""
    sizes = plate(edge_mm=0.02)
    assert sizes.area.budget["edge of the part"] == pytest.approx(174.0 * 0.02, rel=0.01)
    assert sizes.outer.budget["edge of the part"] == pytest.approx(2.0 * np.pi * 0.02)
    assert sizes.holes.budget["edge of the part"] == pytest.approx(-2.0 * 2.0 * np.pi * 0.02)


def test_the_walls_of_an_edge_step_in_and_out_by_one_turn() -> None:
    edge = {"wall_px": np.full(1, 10.0), "top": np.full(1, 1.0)}
    sizes = plate(edge=edge, height=gauge(1e-6))
    turn = 2.0 * np.pi * 10 * 0.04 * 0.1
    assert (sizes.outer.budget["seen wall"], sizes.holes.budget["seen wall"]) == pytest.approx((turn, 2.0 * turn))


def test_lengths_grow_with_the_print_as_they_run() -> None:
    """80 of 120 mm round run along x; of the holes 12 of 24 and 24 of 30."""
    sizes = plate(scale=plane_scale(sheet_scale=SheetScale(shares={"print": (0.01, 0.002)})))
    for size, along_x, along_y in ((sizes.outer, 80.0, 40.0), (sizes.holes, 36.0, 18.0)):
        assert size.budget["print, along x"] == pytest.approx(0.01 * along_x, rel=0.03)
        assert size.budget["print, along y"] == pytest.approx(0.002 * along_y, rel=0.03)


def test_what_is_open_of_the_length_of_holes_is_that_of_all_of_them() -> None:
    outer, hole = edge_of(square()), edge_of(rectangle(6.0, 6.0), hole=True)
    one, three = measured(outer, hole), measured(outer, hole, hole, hole)
    assert one.holes.budget["length of the outline"] > 0.0
    assert three.holes.budget["length of the outline"] == pytest.approx(3.0 * one.holes.budget["length of the outline"])


# Rounded edges


@pytest.mark.parametrize(("open_mm", "times"), [(0.0, 1.0), (0.1, 1.5)])
def test_a_wall_that_may_be_sharp_is_as_high_as_the_part(open_mm: float, times: float) -> None:
    """Between widest lines half a millimetre inside either face lie 2 mm of 3."""
    edge = {"wall_px": np.full(len(square()), 10.0)}
    found = share("seen wall", edge=edge, height=gauge(2.0), inset=gauge(0.5, open_mm))
    assert found == pytest.approx(times * share("seen wall", edge=edge, height=gauge(2.0)), rel=1e-6)


def test_an_open_radius_moves_the_upper_edge_down() -> None:
    """An edge 298 mm below the camera that may lie a tenth of a millimetre lower: 2 x 0.1 / 298 of its area."""
    found = share(FORM, height=gauge(2.0), inset=gauge(0.5, 0.1))
    assert found == pytest.approx(2.0 * 0.1 / 298.0 * AREA * (298.0 / 300.0) ** 2, rel=1e-3)
