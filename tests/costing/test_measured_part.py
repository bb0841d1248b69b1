"""What a measured part says of its areas: by its faces and walls, or as it was measured where it is no flat plate."""

from dataclasses import replace

import pytest

from areakit.costing.measured_part import MeasuredPart
from areakit.uncertainty import exact

PLATE = MeasuredPart(
    name="plate", rings=(((0, 0), (20, 0), (20, 10), (0, 10), (0, 0)),), face=exact(200.0, "mm2"),
    perimeter_outer=exact(60.0, "mm"), perimeter_holes=exact(10.0, "mm"), thickness=exact(2.0, "mm"), faces="both",
    plated=exact(400.0, "mm2"),
)  # fmt: skip


def areas(part: MeasuredPart) -> dict[str, float | None]:
    choices = ("one", "both", "all", "front-and-edges", "walls", "given")
    found = {choice: part.area(choice) for choice in choices}  # type: ignore[arg-type]
    return {choice: None if area is None else pytest.approx(area.value * 1e6) for choice, area in found.items()}  # type: ignore[misc]


def test_a_plate_has_two_faces_and_walls_round_edge_and_holes() -> None:
    assert areas(PLATE) == {
        "one": 200.0,
        "both": 400.0,
        "all": 540.0,
        "front-and-edges": 340.0,
        "walls": 140.0,
        "given": 400.0,
    }


def test_without_a_thickness_there_are_no_walls() -> None:
    found = areas(replace(PLATE, thickness=None))
    assert found == {"one": 200.0, "both": 400.0, "all": None, "front-and-edges": None, "walls": None, "given": 400.0}


@pytest.mark.parametrize("more", [{"form": "bent"}, {"rounded": True}])
def test_a_part_that_is_no_flat_plate_has_the_area_that_was_measured_alone(more: dict[str, object]) -> None:
    shaped = replace(PLATE, plated=exact(417.0, "mm2"), **more)  # type: ignore[arg-type]
    assert areas(shaped) == {
        "one": None,
        "both": 417.0,
        "all": None,
        "front-and-edges": None,
        "walls": None,
        "given": 417.0,
    }


def test_rounded_edges_of_an_unknown_thickness_change_no_face() -> None:
    found = areas(replace(PLATE, thickness=None, rounded=True, plated=exact(390.0, "mm2")))
    assert (found["one"], found["both"], found["given"]) == (200.0, 400.0, 390.0)


@pytest.mark.parametrize(("plated", "masked"), [(400.3, False), (400.5, True), (399.5, True)])
def test_an_area_off_by_a_thousandth_is_masked_or_in_relief(plated: float, masked: bool) -> None:
    part = replace(PLATE, plated=exact(plated, "mm2"))
    assert part.masked == masked
    assert part.words.endswith("with masks or relief") == masked
