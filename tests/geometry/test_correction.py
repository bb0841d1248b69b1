"""An outline corrected by hand: closed forms of plane geometry."""

import pytest
from shapely.geometry import Polygon, box

from areakit.errors import OutlineInvalid
from areakit.geometry.correction import BY_HAND, carried_rings, corrected_outline, moved_length_mm
from areakit.geometry.outline import Outline
from areakit.uncertainty import Measured

np = pytest.importorskip("numpy")


def square() -> Outline:
    return Outline(
        polygon=box(0, 0, 10, 10),
        area=Measured(value=100.0, unit="mm2", budget={"scale": 2.0}),
        perimeter_outer=Measured(value=40.0, unit="mm", budget={"scale": 0.4}),
        perimeter_holes=Measured(value=0.0, unit="mm"),
        origin="photo",
    )


def test_a_stretched_square_has_the_area_of_the_rectangle() -> None:
    after = corrected_outline(square(), [[(0, 0), (10, 0), (10, 12), (0, 12)]], hand_mm=0.1)
    assert after.area.value == pytest.approx(120.0)
    assert after.perimeter_outer.value == pytest.approx(44.0)
    assert after.area.budget["scale"] == pytest.approx(2.0 * 120 / 100)


def test_the_hand_weighs_by_the_length_that_it_drew() -> None:
    moved = moved_length_mm(box(0, 0, 10, 10), box(0, 0, 10, 12))
    assert moved == pytest.approx(10 + 2 + 2, abs=0.05)  # a new end, and two sides that grew
    after = corrected_outline(square(), [[(0, 0), (10, 0), (10, 12), (0, 12)]], hand_mm=0.1)
    assert after.area.budget[BY_HAND] == pytest.approx(moved * 0.1)
    assert after.flags[-1].code == "CORRECTED_BY_HAND"


def test_a_removed_hole_counts_as_drawn_by_hand() -> None:
    ring = box(0, 0, 10, 10), box(4, 4, 6, 6)
    holed = Polygon(ring[0].exterior, [ring[1].exterior])
    assert moved_length_mm(holed, ring[0]) == pytest.approx(8.0, abs=0.05)


def test_nothing_moved_adds_nothing() -> None:
    before = square()
    after = corrected_outline(before, [list(before.polygon.exterior.coords)[:-1]], hand_mm=0.1)
    assert dict(after.area.budget) == {"scale": 2.0}
    assert after.flags == ()


def test_points_keep_the_shift_that_the_measurement_gave_them() -> None:
    flat = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    raised = flat * 0.99
    closed = [*raised[::-1], raised[-1]]  # turned the other way, and closed, as GeoJSON has it
    moved = flat.copy()
    moved[2] += (1.0, 1.0)
    (carried,) = carried_rings([closed], [flat], [moved])
    assert carried[:2] == pytest.approx(raised[:2])
    assert carried[2] == pytest.approx(raised[2] + 1.0)


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize("start", [0, 13, 40])
def test_a_ring_that_was_mended_by_a_point_still_carries_its_shift(turn: int, start: int) -> None:
    """An egg-shaped hole of 60 points, measured 1 % smaller; mending took a point, and the ring starts elsewhere."""
    angles = np.linspace(0.0, 2.0 * np.pi, 60, endpoint=False)
    flat = np.column_stack([4.0 * np.cos(angles) + 0.6 * np.cos(2 * angles), 3.0 * np.sin(angles)])
    mended = np.roll(np.delete(flat * 0.99, 30, axis=0), start, axis=0)[::turn]
    (same,) = carried_rings([[*mended, mended[0]]], [flat], [flat])
    assert same == pytest.approx(mended), "a ring that nobody touched stays as it was"
    moved = flat + 1e-9
    (carried,) = carried_rings([[*mended, mended[0]]], [flat], [moved])
    assert np.abs(carried - flat * 0.99).max() < 0.6, "a point goes at most to its neighbour"
    again, before = Polygon(carried), Polygon(mended)
    assert again.is_valid
    assert again.symmetric_difference(before).area < 0.004 * before.area


@pytest.mark.parametrize(
    "before",
    [
        [[(0, 0), (1, 0), (1, 1), (0, 0)], [(0, 0), (1, 0), (1, 1), (0, 0)]],  # two rings where the photo showed one
        [[(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]],  # four corners where it showed three
        [[(0, 0), (9, 0), (9, 9), (0, 0)]],  # three corners of a far larger part
    ],
)
def test_rings_of_another_outline_are_refused(before: list[list[tuple[float, float]]]) -> None:
    flat = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)])
    with pytest.raises(OutlineInvalid, match="not those of the outline") as caught:
        carried_rings(before, [flat], [flat])
    assert "Measure the photo again" in caught.value.remedy
