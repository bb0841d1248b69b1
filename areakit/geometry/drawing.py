"""From a drawing to outlines and fold lines: curves true to a stated sagitta, everything that was left out listed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import LineString, MultiPolygon, Polygon

from areakit.errors import InputError, OutlineNotFound, RangeError
from areakit.flags import Flag, flag
from areakit.geometry.bench_size import beyond_bench, question_size, size_words
from areakit.geometry.open_lines import refuse_unclosed
from areakit.geometry.outline import Outline
from areakit.geometry.readers.limits import Limits, Meter
from areakit.geometry.readers.reader import OutlineReader, ReadRequest, Tracing, outline_reader
from areakit.geometry.rings import assemble
from areakit.uncertainty import Measured

FIRST_SAGITTA_MM = 0.002
_WANTED_SHARE = 4e-5
"""Aim for the area lost to flattening, as a share of the area: below 0.01 % with room."""

EDGE_MM = 0.02
"""Standard uncertainty of a real edge against its drawing: burr, roll-over, kerf. Common practice, no source. [mm]"""
FOLD_REACH_MM = 0.05
"""How far beside a leaf a fold line may be drawn that belongs to it, and half the doubt in its length. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Outlines of a drawing, largest first.

    ``sagitta_mm`` is the largest distance of any chord from its curve; ``ignored`` counts what was left out, by kind.
    """

    polygons: tuple[Polygon, ...]
    unit: str
    sagitta_mm: float
    ignored: Mapping[str, int]
    flags: tuple[Flag, ...]

    @property
    def region(self) -> MultiPolygon:
        """All outlines together, as for a mask. [mm]"""
        return MultiPolygon(list(self.polygons))


def read_drawing(
    data: bytes,
    reader: str | OutlineReader,
    *,
    unit: str | None = None,
    sagitta_mm: float | None = None,
    limits: Limits | None = None,
    layer: str | None = None,
    without: Sequence[str] = (),
) -> Drawing:
    """Return the outlines of a drawing in mm.

    - ``data``: the file.
    - ``reader``: name of a reader, such as ``svg``, or the reader itself.
    - ``unit``: unit of length, for a file that does not state its own.
    - ``sagitta_mm``: how true curves are flattened; by default so fine that the area changes by less than 0.01 %. [mm]
    - ``layer``: read only this layer (DXF), or the group of this name (SVG: its ``id``).
    - ``without``: layers to leave out.

    Raises InputError if the drawing has no such layer; FileError if the file cannot be read, or is larger or deeper
    than the caps; UnitError if the file does not say its unit and nobody else did; OutlineNotFound if no closed outline
    is in it; OutlineInvalid if an outline crosses itself or another, or is left open; RangeError if it is smaller or
    larger than any part of a bench, and nobody stated its unit.
    """
    if sagitta_mm is not None and not 0.0 < sagitta_mm <= 1.0:
        raise RangeError(
            f"A sagitta of {sagitta_mm:g} mm is outside 0 to 1 mm.", remedy="Leave it out, or write 0.001."
        )
    which = outline_reader(reader) if isinstance(reader, str) else reader
    sagitta = FIRST_SAGITTA_MM if sagitta_mm is None else sagitta_mm
    named = None if layer is None else layer.casefold()
    request = ReadRequest(
        unit=unit,
        sagitta_mm=sagitta,
        meter=Meter(limits),
        layer=named,
        without=frozenset(name.casefold() for name in without),
    )
    drawing = _read_once(data, which, request)
    share = max(flattening_share(polygon, sagitta) for polygon in drawing.polygons)
    if sagitta_mm is None and share > _WANTED_SHARE:
        finer = sagitta * _WANTED_SHARE / share
        drawing = _read_once(data, which, replace(request, sagitta_mm=finer, meter=Meter(limits)))
    return drawing


def flattening_share(polygon: Polygon, sagitta_mm: float) -> float:
    """Return the most that flattening can change the area, as a share of it.

    A chord of sagitta e cuts off a segment of about 2/3 e times its length (parabola, elementary geometry).
    """
    return 2.0 / 3.0 * sagitta_mm * polygon.length / polygon.area


def _read_once(data: bytes, reader: OutlineReader, request: ReadRequest) -> Drawing:
    with np.errstate(all="ignore"):  # what is not finite is refused below, in words
        tracing = reader.trace(data, request)
        check_layers(tracing, request)
        rings = assemble(tracing.traces)
    left_out = {
        "open path": rings.open_paths,
        "shape without area": rings.without_area,
        "outline drawn twice": rings.doubled,
    }
    ignored = {**tracing.ignored, **{name: count for name, count in left_out.items() if count}}
    polygons = sorted((*tracing.polygons, *rings.polygons), key=lambda p: -p.area)
    refuse_unclosed(rings.open_chains, polygons)
    if not polygons:
        raise _nothing_closed(ignored)
    question_size(polygons, unit=tracing.unit, stated=request.unit)
    return Drawing(
        polygons=tuple(polygons),
        unit=tracing.unit,
        sagitta_mm=request.sagitta_mm,
        ignored=ignored,
        flags=_flags(tracing, ignored, request.unit, polygons),
    )


def check_layers(tracing: Tracing, request: ReadRequest) -> None:
    """Refuse a layer that the drawing does not have."""
    there = {name.casefold() for name in tracing.layers}
    wanted = request.without | ({request.layer} if request.layer is not None else set())
    missing = sorted(wanted - there)
    if missing:
        known = f"Its layers are {', '.join(tracing.layers)[:200]}." if tracing.layers else "It has no layers at all."
        raise InputError(
            f"The drawing has no layer {missing[0]!r}.", remedy=f"{known} In SVG a layer is a group with an id."
        )


def _flags(
    tracing: Tracing, ignored: Mapping[str, int], stated: str | None, polygons: Sequence[Polygon]
) -> tuple[Flag, ...]:
    flags = list(tracing.flags)
    if ignored:
        flags.append(flag("IGNORED_IN_DRAWING", listed=_listed(ignored)))
    if beyond_bench(polygons):
        flags.append(flag("SIZE_BEYOND_BENCH", size=size_words(polygons)))
    if stated is not None and stated != tracing.unit:
        flags.append(flag("UNIT_OF_THE_FILE", unit=tracing.unit, stated=stated))
    return tuple(flags)


def _listed(ignored: Mapping[str, int]) -> str:
    return ", ".join(f"{count} × {name}" for name, count in sorted(ignored.items()))


def _nothing_closed(ignored: Mapping[str, int]) -> OutlineNotFound:
    found = f" (left out: {_listed(ignored)})" if ignored else ""
    return OutlineNotFound(
        f"The drawing has no closed outline{found}.", remedy="Close the outline of the part in the drawing program."
    )


def drawn_outline(polygon: Polygon, *, sagitta_mm: float, edge: float = EDGE_MM) -> Outline:
    """Return one polygon of a drawing with its budget: ``edge`` for the real edge, ``flattening`` for the curves.

    - ``polygon``: outer ring and holes. [mm]
    - ``sagitta_mm``: sagitta to which its curves were flattened. [mm]
    - ``edge``: standard uncertainty of the position of the edge, the same all round. [mm]

    An edge that lies e further out adds P e to the area, 2 pi e to the outer perimeter, and takes 2 pi e from that of
    each hole (Steiner's formula for parallel curves).
    """
    lost = flattening_share(polygon, sagitta_mm) / math.sqrt(3.0)
    outer, holes = polygon.exterior.length, math.fsum(ring.length for ring in polygon.interiors)
    turn = 2.0 * math.pi
    return Outline(
        polygon=polygon,
        area=Measured(
            value=polygon.area, unit="mm2", budget={"edge": polygon.length * edge, "flattening": lost * polygon.area}
        ),
        perimeter_outer=Measured(value=outer, unit="mm", budget={"edge": turn * edge, "flattening": lost * outer}),
        perimeter_holes=Measured(
            value=holes,
            unit="mm",
            budget={"edge": -turn * edge * len(polygon.interiors), "flattening": lost * holes},
        ),
        origin="drawing",
    )


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
