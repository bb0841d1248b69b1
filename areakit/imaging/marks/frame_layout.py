"""The geometry of the printed scale sheets: a chequered frame of saddle corners and markers round a clear field.

Everything is in sheet millimetres: x to the right, y down, origin at the outer upper left corner of the frame, which
is two squares wide. Saddle corners lie on its middle line; a coded marker sits in every second white square of its
outer row. The marker numbers alone tell which sheet, and which revision of it, is in the photo.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

DICTIONARY = "DICT_5X5_100"
"""Marker family: 5 x 5 bits, at least 7 bits apart in any rotation."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameLayout:
    """One scale sheet.

    Parameters
    ----------
    code : str
        Name printed on the sheet and reported with a measurement, revision included.
    paper_mm : tuple of float
        Width and height of the paper it is printed on, landscape. [mm]
    columns, rows : int
        Size of the frame in squares, outer edge to outer edge; both even.
    square_mm, marker_mm : float
        Side of a square and of a marker's black border. [mm]
    first_id : int
        Number of the first marker, clockwise from the upper left.
    check_lengths_mm : tuple of float
        The two lengths to be verified with a ruler: along x, along y. [mm]
    """

    code: str
    paper: str
    paper_mm: tuple[float, float]
    columns: int
    rows: int
    square_mm: float
    marker_mm: float
    first_id: int
    check_lengths_mm: tuple[float, float]

    @property
    def width_mm(self) -> float:
        """Outer width of the frame."""
        return self.columns * self.square_mm

    @property
    def height_mm(self) -> float:
        """Outer height of the frame."""
        return self.rows * self.square_mm

    @property
    def field_mm(self) -> tuple[float, float, float, float]:
        """The clear field: left, top, right, bottom."""
        s = self.square_mm
        return 2 * s, 2 * s, self.width_mm - 2 * s, self.height_mm - 2 * s

    @property
    def corners_mm(self) -> Floats:
        """Saddle corners, clockwise from the upper left, shape (n, 2)."""
        c, r = self.columns - 1, self.rows - 1
        path = [(x, 1) for x in range(1, c)] + [(c, y) for y in range(1, r)]
        path += [(x, r) for x in range(c, 1, -1)] + [(1, y) for y in range(r, 1, -1)]
        return np.array(path, dtype=float) * self.square_mm

    def is_black(self, column: int, row: int) -> bool:
        """Tell whether a square of the frame is black; the upper left one is."""
        return (column + row) % 2 == 0

    @property
    def frame_squares(self) -> tuple[tuple[int, int], ...]:
        """All squares of the frame as (column, row)."""
        return tuple(
            (c, r)
            for r in range(self.rows)
            for c in range(self.columns)
            if c < 2 or r < 2 or c >= self.columns - 2 or r >= self.rows - 2
        )

    @property
    def marker_squares(self) -> tuple[tuple[int, int], ...]:
        """Squares that hold a marker, in the order of the marker numbers."""
        return _marker_squares(self.columns, self.rows)

    @property
    def marker_ids(self) -> range:
        """Numbers of its markers."""
        return range(self.first_id, self.first_id + len(self.marker_squares))

    def marker_corners_mm(self, marker_id: int) -> Floats:
        """Corners of one marker, clockwise from its upper left, shape (4, 2)."""
        column, row = self.marker_squares[marker_id - self.first_id]
        s, m = self.square_mm, self.marker_mm
        left, top = column * s + (s - m) / 2, row * s + (s - m) / 2
        return np.array([(left, top), (left + m, top), (left + m, top + m), (left, top + m)])


@cache
def _marker_squares(columns: int, rows: int) -> tuple[tuple[int, int], ...]:
    """Every second white square of the frame's outer row, clockwise from the upper left."""
    walk = [(x, 0) for x in range(columns)] + [(columns - 1, y) for y in range(1, rows)]
    walk += [(x, rows - 1) for x in range(columns - 2, -1, -1)] + [(0, y) for y in range(rows - 2, 0, -1)]
    white = [(x, y) for x, y in walk if (x + y) % 2]
    return tuple(white[::2])


@cache
def layouts() -> dict[str, FrameLayout]:
    """Return every sheet that this version prints or reads, by its code."""
    sheets = (
        FrameLayout(
            code="A4-r1", paper="a4", paper_mm=(297.0, 210.0), columns=26, rows=18, square_mm=10.0, marker_mm=7.5,
            first_id=0, check_lengths_mm=(200.0, 120.0),
        ),
        FrameLayout(
            code="A5-r1", paper="a5", paper_mm=(210.0, 148.0), columns=26, rows=18, square_mm=7.0, marker_mm=5.4,
            first_id=21, check_lengths_mm=(150.0, 90.0),
        ),
        FrameLayout(
            code="small-r1", paper="small", paper_mm=(148.0, 105.0), columns=22, rows=16, square_mm=4.0, marker_mm=3.2,
            first_id=42, check_lengths_mm=(80.0, 50.0),
        ),
        FrameLayout(
            code="letter-r1", paper="letter", paper_mm=(279.4, 215.9), columns=26, rows=18, square_mm=10.0,
            marker_mm=7.5, first_id=60, check_lengths_mm=(200.0, 120.0),
        ),
    )  # fmt: skip
    return {sheet.code: sheet for sheet in sheets}


def layout_of_marker(marker_id: int) -> FrameLayout | None:
    """Return the sheet that a marker number belongs to, or None for a number of no sheet."""
    for sheet in layouts().values():
        if marker_id in sheet.marker_ids:
            return sheet
    return None
