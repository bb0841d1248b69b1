"""Outlines left open are refused with their gap, in every reader that joins lines; furniture of a drawing is not."""

import io
import math

import ezdxf
import numpy as np
import pytest
from shapely.geometry import Polygon, box

from areakit.errors import OutlineInvalid, OutlineNotFound, RangeError
from areakit.geometry.bench_size import LONGEST_MM, SMALLEST_MM
from areakit.geometry.drawing import Drawing, read_drawing
from areakit.geometry.open_lines import (
    NEAR_MM,
    NEARLY_CLOSED,
    ROUND_SHARE,
    openness,
    refuse_unclosed,
    share_round,
)

Line = list[tuple[float, float]]
HOLE: Line = [(25 + 5 * math.cos(a), 12 + 5 * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 60)]


def as_dxf(*lines: Line) -> bytes:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    for line in lines:
        document.modelspace().add_lwpolyline(line)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def as_svg(*lines: Line) -> bytes:
    drawn = "".join(f'<polyline fill="none" points="{" ".join(f"{x},{y}" for x, y in line)}"/>' for line in lines)
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">'
    return f"{head}{drawn}</svg>".encode()


def both(*lines: Line) -> list[Drawing]:
    return [read_drawing(as_dxf(*lines), "dxf"), read_drawing(as_svg(*lines), "svg")]


@pytest.mark.parametrize("gap", [0.006, 0.1, 3.0, 20.0])
def test_an_outline_with_a_gap_is_never_dropped_in_favour_of_its_hole(gap: float) -> None:
    plate = [(0.0, gap), (0.0, 25.0), (60.0, 25.0), (60.0, 0.0), (0.0, 0.0)]
    for data, reader in ((as_dxf(plate, HOLE), "dxf"), (as_svg(plate, HOLE), "svg")):
        with pytest.raises(OutlineInvalid, match=rf"gap of {gap:g} mm at \(0\.00, ") as told:
            read_drawing(data, reader)
        assert told.value.code == "OUTLINE_OPEN"


def test_a_gap_below_what_a_drawing_means_is_closed() -> None:
    plate = [(0.0, 0.004), (0.0, 25.0), (60.0, 25.0), (60.0, 0.0), (0.0, 0.0)]
    assert all(len(drawing.polygons[0].interiors) == 1 for drawing in both(plate, HOLE))


def test_four_sides_that_do_not_meet_are_an_open_outline_with_and_without_a_hole() -> None:
    sides: list[Line] = [
        [(0.2, 0), (59.8, 0)], [(60, 0.2), (60, 24.8)], [(59.8, 25), (0.2, 25)], [(0, 24.8), (0, 0.2)],
    ]  # fmt: skip
    elsewhere: Line = [(x + 100, y) for x, y in HOLE]
    for inside in (HOLE, elsewhere):
        with pytest.raises(OutlineInvalid, match=r"gaps of up to 0\.283 mm"):
            read_drawing(as_dxf(*sides, inside), "dxf")
    with pytest.raises(OutlineInvalid, match="gap"):  # with nothing closed, too
        read_drawing(as_dxf(*sides), "dxf")


def test_wide_gaps_round_a_hole_are_seen() -> None:
    sides: list[Line] = [
        [(3, 0), (57, 0)], [(60, 3), (60, 22)], [(57, 25), (3, 25)], [(0, 22), (0, 3)],
    ]  # fmt: skip
    with pytest.raises(OutlineInvalid, match="round an outline do not close"):
        read_drawing(as_dxf(*sides, HOLE), "dxf")


@pytest.mark.parametrize(
    "furniture",
    [
        [[(-10, 12), (70, 12)], [(25, -10), (25, 40)]],  # centre lines
        [[(0, 30), (60, 30)], [(0, 26), (0, 32)], [(60, 26), (60, 32)]],  # a dimension with its extension lines
        [[(30, 12), (80, 40), (95, 40)]],  # a leader
        [[(5, 5), (55, 5)], [(5, 5.5), (55, 5.5)]],  # two bend lines
        [[(5, 5), (5, 20), (10, 20)]],  # an angle
    ],
)
def test_furniture_of_a_drawing_is_left_out_with_a_word(furniture: list[Line]) -> None:
    plate: Line = [(0, 0), (60, 0), (60, 25), (0, 25), (0, 0)]
    for drawing in both(plate, HOLE, *furniture):
        assert len(drawing.polygons) == 1
        assert drawing.ignored == {"open path": len(furniture)}


def test_nothing_but_furniture_is_no_part() -> None:
    with pytest.raises(OutlineNotFound):
        read_drawing(as_dxf([(0, 0), (9, 0)], [(0, 3), (9, 3)]), "dxf")


def test_three_sides_of_a_square_were_meant_to_close_and_two_were_not() -> None:
    three = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], dtype=float)
    assert openness(three) == pytest.approx(0.25)
    assert openness(three[:3]) == pytest.approx(math.sqrt(200) / (20 + math.sqrt(200)))
    assert openness(three) < NEARLY_CLOSED < openness(three[:3])
    assert openness(np.array([(0, 0), (9, 0), (0, 0.001)], dtype=float)) == 1.0  # there and back encloses nothing


def arc(share: float) -> np.ndarray:
    turn = np.linspace(0.3, 0.3 + 2 * math.pi * share, 200)
    return 30 * np.column_stack([np.cos(turn), np.sin(turn)])


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_the_share_of_directions_is_that_of_an_arc(share: float) -> None:
    part = box(-2, -2, 2, 2)
    assert share_round(part, [arc(share)]) == pytest.approx(share, abs=0.003)
    assert share_round(part, [arc(share), arc(share)]) == pytest.approx(share, abs=0.003)
    assert share_round(part, [arc(share), arc(0.1)]) == pytest.approx(share, abs=0.003)


def test_lines_in_more_than_three_quarters_of_all_directions_go_round() -> None:
    part = [box(-2, -2, 2, 2)]
    pieces = [arc(1.0)[i * 10 : i * 10 + 9] for i in range(20)]

    def refused(share: float) -> bool:
        try:
            refuse_unclosed(pieces[: round(20 * share)], part)
        except OutlineInvalid:
            return True
        return False

    assert refused(ROUND_SHARE + 0.2)
    assert not refused(ROUND_SHARE - 0.05)


def test_ends_a_millimetre_apart_were_meant_to_meet() -> None:
    def sides(gap: float) -> list[np.ndarray]:
        return [
            np.array([(gap, 0), (60, 0)], dtype=float), np.array([(60, gap), (60, 25)], dtype=float),
            np.array([(60 - gap, 25), (0, 25)], dtype=float), np.array([(0, 25 - gap), (0, 0)], dtype=float),
        ]  # fmt: skip

    with pytest.raises(OutlineInvalid, match=r"gaps of up to 0\.99 mm"):
        refuse_unclosed(sides(0.99 * NEAR_MM), [])
    refuse_unclosed(sides(1.01 * NEAR_MM), [])


def square(side: float) -> dict[str, bytes]:
    body = f"POLYGON ((0 0, {side} 0, {side} {side}, 0 {side}, 0 0))"
    rows = f"[[[0,0],[{side},0],[{side},{side}],[0,{side}],[0,0]]]"
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}mm" height="{side}mm" viewBox="0 0 {side} {side}">'
        f'<rect width="{side}" height="{side}"/></svg>'
    )
    return {
        "wkt": body.encode(),
        "geojson": f'{{"type": "Polygon", "coordinates": {rows}}}'.encode(),
        "dxf": as_dxf([(0, 0), (side, 0), (side, side), (0, side), (0, 0)]),
        "svg": svg.encode(),
    }


@pytest.mark.parametrize("reader", ["wkt", "geojson", "dxf", "svg"])
@pytest.mark.parametrize(("limit", "beyond"), [(SMALLEST_MM, 0.97), (LONGEST_MM, 1.03)])
def test_a_size_beyond_any_bench_is_questioned_in_every_reader(reader: str, limit: float, beyond: float) -> None:
    how = {"unit": "cm"} if reader in {"wkt", "geojson"} else {}
    scale = 0.1 if how else 1.0
    read_drawing(square(scale * limit * (2 - beyond))[reader], reader, **how)
    data = square(scale * limit * beyond)[reader]
    if how:  # who states the unit has answered, and is told once more
        assert "SIZE_BEYOND_BENCH" in [flag.code for flag in read_drawing(data, reader, **how).flags]
        return
    with pytest.raises(RangeError, match="read in mm") as told:
        read_drawing(data, reader)
    assert told.value.code == "SIZE_BEYOND_BENCH"
    assert [flag.code for flag in read_drawing(data, reader, unit="mm").flags] == ["SIZE_BEYOND_BENCH"]


@pytest.mark.thorough
def test_very_many_lines_are_looked_through_in_time() -> None:
    rng = np.random.default_rng(7)
    lines = [rng.uniform(0, 900, (2, 2)) for _ in range(20_000)]
    refuse_unclosed(lines, [Polygon([(1000, 0), (1010, 0), (1010, 10)])])
