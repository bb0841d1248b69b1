"""The study of a foil cut into a grid, on drawn weighings whose truth is known."""

import csv
import math
from pathlib import Path

import pytest

from areakit.errors import InputError
from areakit.plating.edges import excess_strip
from calibration.studies.grid_weighing import COLUMNS, Piece, read_pieces, weighed

WIDE, HIGH, SLEEVE, CELL, GOLD = 60.0, 40.0, 2.0, 2.0, 19.32


def excess(near: float) -> float:
    """Mean excess over a cell that starts that far from the edge: with u the root of 1 - exp(-pi x / h), the density
    integrates to h / pi ln((1 + u) / (1 - u))."""

    def summed(x: float) -> float:
        u = math.sqrt(-math.expm1(-math.pi * x / SLEEVE))
        return SLEEVE / math.pi * math.log((1.0 + u) / (1.0 - u))

    if near > 5.0 * SLEEVE:
        return 0.0
    return (summed(near + CELL) - summed(near)) / CELL - 1.0


def drawn() -> tuple[Piece, ...]:
    """A foil of 60 x 40 mm with 1 um of gold inside, and the primary excess of its nearer edges."""
    columns, rows = ([CELL * index for index in range(int(side / CELL))] for side in (WIDE, HIGH))
    pieces = []
    for x in columns:
        for y in rows:
            near_x, near_y = min(x, WIDE - CELL - x), min(y, HIGH - CELL - y)
            thickness = 1.0 + excess(near_x) + excess(near_y)
            pieces.append(Piece(x=x, y=y, width=CELL, height=CELL, gain=thickness * 1e-3 * GOLD * CELL**2))
    return tuple(pieces)


def test_the_strip_of_the_edges_is_found_again() -> None:
    found = weighed(drawn(), density=GOLD, sleeve_mm=SLEEVE)
    assert found.inside_um == pytest.approx(1.0, rel=0.005)
    assert found.strip_mm == pytest.approx(excess_strip(thickness=SLEEVE), rel=0.02)
    expected = 1.0 + excess_strip(thickness=SLEEVE) * 2.0 * (WIDE + HIGH) / (WIDE * HIGH)
    assert found.allowance == pytest.approx(expected, rel=0.02)
    assert found.inside_deviation < 0.01


def test_an_even_foil_has_no_strip() -> None:
    even = tuple(Piece(x=one.x, y=one.y, width=2.0, height=2.0, gain=0.05) for one in drawn())
    assert weighed(even, density=GOLD, sleeve_mm=SLEEVE).strip_mm == pytest.approx(0.0, abs=1e-9)


def test_weighings_are_read_and_a_bad_line_is_named(tmp_path: Path) -> None:
    path = tmp_path / "grid.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        lines = csv.writer(file)
        lines.writerow(COLUMNS)
        lines.writerows((one.x, one.y, one.width, one.height, one.gain) for one in drawn())
    assert read_pieces(path) == drawn()
    path.write_text("x_mm,y_mm,width_mm,height_mm,gain_mg\n0,0,5,5,none\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"Line 2 of grid\.csv"):
        read_pieces(path)
    with pytest.raises(InputError, match=r"lie more than 1\.5 sleeve thicknesses"):
        weighed(drawn(), density=GOLD, sleeve_mm=30.0)
