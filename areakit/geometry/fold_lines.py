"""Fold lines of a drawing: how long the folds of each part are, and how many."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry import LineString, Polygon

from areakit.errors import OutlineNotFound
from areakit.geometry.drawing import FIRST_SAGITTA_MM, check_layers
from areakit.geometry.readers.limits import Meter
from areakit.geometry.readers.reader import ReadRequest, outline_reader

FOLD_REACH_MM = 0.05
"""How far beside a leaf a fold line may be drawn that belongs to it, and half the doubt in its length. [mm]"""


def fold_lines(data: bytes, reader: str, *, unit: str | None = None, layer: str | None = None) -> list[LineString]:
    """Return all lines of a drawing, or of one layer of it. [mm]

    Raises FileError, UnitError if the file cannot be read, or does not say its unit and nobody else did; InputError if
    it has no such layer; OutlineNotFound if no line is on it.
    """
    named = None if layer is None else layer.casefold()
    request = ReadRequest(unit=unit, sagitta_mm=FIRST_SAGITTA_MM, meter=Meter(None), layer=named)
    tracing = outline_reader(reader).trace(data, request)
    check_layers(tracing, request)
    found = [LineString(trace.points_mm) for trace in tracing.traces if len(trace.points_mm) > 1]
    if not found:
        raise OutlineNotFound("No fold line was found.", remedy="Draw each fold as one line, on a layer of its own.")
    return found


def folds_on(polygon: Polygon, lines: Sequence[LineString]) -> tuple[float, int]:
    """Return the length of all folds on a part or along its edge [mm], and how many there are."""
    near = polygon.buffer(FOLD_REACH_MM)
    lengths = [line.intersection(near).length for line in lines]
    counted = [length for length in lengths if length > 4.0 * FOLD_REACH_MM]
    return float(sum(counted)), len(counted)
