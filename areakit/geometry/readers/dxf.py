"""Outlines from DXF, by the ezdxf library, behind our own caps."""

from __future__ import annotations

import io
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Any, cast

import numpy as np

from areakit.errors import AreakitError, FileError, UnitError
from areakit.geometry.curves import Points, bulge_arc, ellipse_arc
from areakit.geometry.readers.limits import Meter
from areakit.geometry.readers.reader import ReadRequest, Tracing, millimetres, stated_unit
from areakit.geometry.rings import Trace

_BINARY = b"AutoCAD Binary DXF"
_MOST_LINES = 300_000
_ENTITY = re.compile(rb"\n *0\r?\n")
_INSUNITS = re.compile(rb"\$INSUNITS\s*\r?\n\s*70\s*\r?\n\s*(\d{1,4})\s*\r?\n")
_VERSION = re.compile(r"(\$ACADVER\s*\n\s*1\s*\n\s*)(AC10\d\d)")
_HEADER = "  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\nAC1015\n  0\nENDSEC\n"
"""DXF reference: subclass markers such as AcDbEntity come with R13, AC1012; AC1015 is R2000."""
_FURNITURE = 5_000  # tables, blocks and objects that every file carries
# $INSUNITS (DXF reference, HEADER section) to unit code; 0 means that the file does not say.
_UNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 8: "uin", 9: "mil", 12: "nm", 13: "um", 14: "dm"}
_LINES = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "POLYLINE", "SPLINE"})


class DxfReader:
    """DXF: lines, arcs, circles, polylines with bulges, ellipses, splines, inserts; ``$INSUNITS``."""

    def trace(self, data: bytes, request: ReadRequest) -> Tracing:
        """Return all lines of the model space in mm; everything else is listed as ignored."""
        request.meter.take_bytes(len(data))
        document = _document(data, request.meter)
        unit = _unit(data, request)
        factor = millimetres(unit)
        ignored: Counter[str] = Counter()
        hidden = {layer.dxf.name.lower() for layer in document.layers if layer.is_off() or layer.is_frozen()}
        traces = []
        layers: dict[str, None] = {}
        try:
            for entity in _entities(document, request.meter):
                layer = entity.dxf.get("layer", "0")
                if layer.lower() in hidden or entity.dxf.get("invisible", 0):
                    ignored["hidden entity"] += 1
                    continue
                layers[layer] = None
                if not request.wants(layer):
                    continue
                if entity.dxftype() in _LINES:
                    traces.append(_trace(entity, factor, request))
                else:
                    ignored[entity.dxftype()] += 1
        except RecursionError:
            raise FileError(
                "A block of this DXF file contains itself.", remedy="Explode the blocks and save the file again."
            ) from None
        return Tracing(unit=unit, traces=tuple(t for t in traces if t), ignored=dict(ignored), layers=tuple(layers))


def _document(data: bytes, meter: Meter) -> Any:
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.const import DXFError

    if data.startswith(_BINARY):
        raise FileError("This is a binary DXF file.", remedy="Save it as DXF in text form (ASCII).")
    if data.count(b"\n") > _MOST_LINES:
        raise FileError(
            f"The DXF file has more than {_MOST_LINES} lines of text.", remedy="Save only the outline of the part."
        )
    entities = sum(1 for _ in _ENTITY.finditer(data))
    if entities > meter.limits.entities + _FURNITURE:
        meter.take_entities(entities)
    text = _with_version(data.decode("utf-8", errors="surrogateescape").replace("\r\n", "\n"))
    try:
        return read(io.StringIO(text))
    except (DXFError, ValueError, LookupError, AttributeError, TypeError, ArithmeticError) as error:
        raise _unsound(error) from None


def _with_version(text: str) -> str:
    """Say the version of a file that does not: taken for the oldest, its layers and closed flags would be lost."""
    if "AcDbEntity" not in text:
        return text
    if _VERSION.search(text) is None:
        return _HEADER + text
    return _VERSION.sub(lambda found: found.group(1) + "AC1015" if found.group(2) <= "AC1009" else found.group(), text)


def _unsound(error: Exception) -> FileError:
    why = str(error).splitlines()[0][:120].rstrip(".") if str(error) else "it is damaged"
    return FileError(f"This is not a sound DXF file: {why}.", remedy="Export the drawing again as DXF.")


def _unit(data: bytes, request: ReadRequest) -> str:
    """Return the unit that the file itself states: the library fills in metres where it states none.

    Who states another contradicts it, and one of the two is wrong.
    """
    stated = _INSUNITS.search(data)
    code = int(stated.group(1)) if stated else 0
    if code == 0:
        return stated_unit(request, "DXF")
    if code not in _UNITS:
        raise UnitError(f"The DXF file counts in unit {code}, which no small part uses.", remedy="Save it in mm.")
    unit = _UNITS[code]
    if request.unit not in (None, unit):
        raise UnitError(
            f"The DXF file says that it counts in {unit}, and {request.unit} was stated.",
            remedy="Leave the unit out, or save the drawing in the unit it was drawn in.",
            fields={"unit": unit},
        )
    return unit


def _entities(document: Any, meter: Meter) -> Iterator[Any]:
    """Yield the entities of the model space, inserts unfolded as far as the caps allow."""
    from ezdxf.disassemble import recursive_decompose
    from ezdxf.lldxf.const import DXFError

    entities = iter(recursive_decompose(document.modelspace()))
    while True:
        try:
            entity = next(entities, None)
        except (DXFError, ValueError, LookupError, AttributeError, TypeError, ArithmeticError) as error:
            raise _unsound(error) from None
        if entity is None:
            return
        meter.take_entity()
        yield entity


def _trace(entity: Any, factor: float, request: ReadRequest) -> Trace | None:
    """Flatten one entity; None where it has no length."""
    try:
        points = _counted(_points(entity, request.sagitta_mm / factor), request.meter) * factor
    except AreakitError:
        raise
    except (TypeError, ValueError, ArithmeticError) as error:
        raise FileError(
            f"A {entity.dxftype()} of the DXF file cannot be followed: {error}.", remedy="Export the drawing again."
        ) from None
    if len(points) < 2:
        return None
    return Trace(points_mm=points, closed=bool(getattr(entity, "is_closed", False)))


def _counted(found: Iterable[Any], meter: Meter) -> Points:
    """Return points as an array of shape (n, 2), counting them while they are made."""
    if isinstance(found, np.ndarray):
        meter.take_vertices(len(found))
        return found
    rows = []
    for x, y, *_ in found:
        meter.take_vertices(1)
        rows.append((x, y))
    return np.array(rows, dtype=float).reshape(-1, 2)


def _points(entity: Any, sagitta: float) -> Iterable[Any]:
    """Return the points of one entity in drawing units, arcs as true arcs."""
    kind = entity.dxftype()
    if kind == "LINE":
        return [entity.dxf.start, entity.dxf.end]
    if kind in {"CIRCLE", "ARC"}:
        return _in_world(entity, _circle(entity, sagitta))
    if kind in {"ELLIPSE", "SPLINE"}:
        return cast(Iterable[Any], entity.flattening(sagitta, 8))
    return _polyline(entity, sagitta)


def _polyline(entity: Any, sagitta: float) -> Iterable[Any]:
    """Return the points of a polyline, each bulge as an arc, in world coordinates."""
    if entity.dxftype() == "LWPOLYLINE":
        rows = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
    else:
        rows = [(*v.dxf.location.vec2, float(v.dxf.get("bulge", 0.0))) for v in entity.vertices]
    if entity.is_closed and rows:
        rows.append((rows[0][0], rows[0][1], 0.0))
    chain: list[Points] = [np.array(rows[:1])[:, :2]] if rows else []
    for (x, y, bulge), (to_x, to_y, _) in pairwise(rows):
        chain.append(
            np.array([(to_x, to_y)]) if bulge == 0.0 else bulge_arc((x, y), (to_x, to_y), bulge, sagitta=sagitta)[1:]
        )
    if not chain:
        return []
    return _in_world(entity, np.vstack(chain))


def _circle(entity: Any, sagitta: float) -> Points:
    centre, radius = entity.dxf.center, abs(float(entity.dxf.radius))
    start, sweep = 0.0, 2.0 * math.pi
    if entity.dxftype() == "ARC":
        start = math.radians(entity.dxf.start_angle)
        sweep = (math.radians(entity.dxf.end_angle) - start) % sweep or sweep
    return ellipse_arc((centre.x, centre.y), (radius, radius), start=start, sweep=sweep, sagitta=sagitta)


def _in_world(entity: Any, points: Points) -> Iterable[Any]:
    """Turn points of the entity's own system into the world's, where it is mirrored or tilted."""
    if entity.dxf.hasattr("extrusion") and not entity.dxf.extrusion.isclose((0, 0, 1)):
        return cast(Iterable[Any], entity.ocs().points_to_wcs([(x, y, 0.0) for x, y in points]))
    return points
