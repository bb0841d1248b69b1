"""Equal pieces: alike within what the photo and a careful cut leave open, at any turn; both sides of each limit."""

import math

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from areakit.geometry import equal_parts
from areakit.geometry.equal_parts import Piece, equal, equal_groups, mean_gap_mm, piece_area
from areakit.uncertainty import Measured

TAG = Polygon([(0, 0), (40, 0), (40, 12), (30, 20), (0, 20)], [list(Point(6, 10).buffer(2.5).exterior.coords)])
SQUARE = box(0.0, 0.0, 30.0, 30.0)


def piece(polygon: Polygon, standard: float = 0.0, name: str = "edge", **more: object) -> Piece:
    budget = {name: standard} if standard else {}
    return Piece(polygon=polygon, area=Measured(value=polygon.area, unit="mm2", budget=budget), **more)  # type: ignore[arg-type]


def grown(by_mm: float) -> Polygon:
    """A square whose every edge lies further out, corners kept: the mean gap is nearly ``by_mm``."""
    return box(-by_mm, -by_mm, 30.0 + by_mm, 30.0 + by_mm)


@pytest.mark.parametrize("turn", [0.0, 16.5, 90.0, 201.0])
@pytest.mark.parametrize("over", [False, True])
def test_a_tag_equals_itself_turned_moved_and_turned_over(turn: float, over: bool) -> None:
    laid = affinity.scale(TAG, -1.0, 1.0) if over else TAG
    moved = affinity.translate(affinity.rotate(laid, turn), 80.0, -20.0)
    assert equal(piece(TAG), piece(moved))
    assert mean_gap_mm(TAG, moved) < 0.02


def test_the_gap_of_a_square_grown_by_a_margin_is_that_margin() -> None:
    assert mean_gap_mm(SQUARE, grown(0.4)) == pytest.approx(0.4, rel=0.02)


def test_a_careful_cut_differs_by_three_thousandths_of_the_size() -> None:
    """0.003 of 30 mm is 0.09 mm: below it equal, above it another part, where the photo leaves nothing open."""
    assert equal_parts._CUT_SHARE == 0.003
    assert equal(piece(SQUARE), piece(grown(0.085)))
    assert not equal(piece(SQUARE), piece(grown(0.095)))


def test_three_standard_uncertainties_of_both_edges_are_allowed_besides() -> None:
    """1 % of 900 mm2 on each of two squares: 3 sqrt(2) 1 % 900 / 120 mm = 0.318 mm beside the 0.09 mm of the cut."""
    assert equal_parts._FACTOR == 3.0
    assert equal(piece(SQUARE, 9.0), piece(grown(0.39), 9.0))
    assert not equal(piece(SQUARE, 9.0), piece(grown(0.43), 9.0))


def test_what_moves_all_parts_of_a_photo_alike_tells_none_apart() -> None:
    assert not equal(piece(SQUARE, 9.0, "check length x"), piece(grown(0.39), 9.0, "check length x"))


def test_equal_area_of_another_shape_is_another_part() -> None:
    long = box(0.0, 0.0, 60.0, 15.0)
    assert not equal(piece(SQUARE), piece(long))
    assert not equal(piece(TAG), piece(Polygon(TAG.exterior)))


def test_faces_thickness_and_a_missing_outline_tell_parts_apart() -> None:
    assert not equal(piece(SQUARE, faces="all"), piece(SQUARE, faces="one"))
    assert not equal(piece(SQUARE, thickness_mm=1.0), piece(SQUARE, thickness_mm=1.00001))
    assert equal(piece(SQUARE, thickness_mm=1.0), piece(SQUARE, thickness_mm=1.0 + 1e-9))
    assert not equal(piece(SQUARE, thickness_mm=1.0), piece(SQUARE))
    bare = Piece(polygon=None, area=Measured(value=900.0, unit="mm2"))
    assert not equal(bare, bare)


def test_groups_keep_the_order_of_the_parts() -> None:
    found = equal_groups([piece(TAG), piece(SQUARE), piece(affinity.rotate(TAG, 40.0)), piece(SQUARE)])
    assert found == ((0, 2), (1, 3))


def test_noisy_copies_of_one_shape_are_recognised_and_others_are_not() -> None:
    """Six outlines whose points stray by 0.03 mm, as sub-pixel edges do, against a tag that is 1 mm longer."""
    rng = np.random.default_rng(7)
    dense = TAG.segmentize(0.5)

    def seen(polygon: Polygon) -> Polygon:
        rings = [np.asarray(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
        outer, *holes = [ring + rng.normal(0.0, 0.03, ring.shape) for ring in rings]
        return affinity.rotate(Polygon(outer, holes), rng.uniform(0.0, 360.0))

    copies = [piece(seen(dense), 1.0) for _ in range(6)]
    longer = piece(seen(affinity.scale(dense, 41.0 / 40.0, 1.0)), 1.0)
    assert equal_groups([*copies, longer]) == ((0, 1, 2, 3, 4, 5), (6,))


def test_the_area_of_a_piece_is_the_mean_and_carries_how_far_pieces_differ() -> None:
    values = [10.0, 10.2, 9.8]
    areas = [Measured(value=v, unit="mm2", budget={"scale": 0.1, f"edge {i}": 0.03}) for i, v in enumerate(values)]
    found = piece_area(areas)
    assert found.value == pytest.approx(10.0)
    assert found.budget["scale"] == pytest.approx(0.1)  # one photo, one scale: it does not average out
    assert found.budget["edge 0"] == pytest.approx(0.01)
    assert found.budget[equal_parts.SPREAD] == pytest.approx(0.2)  # standard deviation of 9.8, 10.0, 10.2
    assert math.isclose(piece_area(areas[:1]).standard_uncertainty, areas[0].standard_uncertainty)
