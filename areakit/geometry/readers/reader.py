"""What a reader of drawings is, and how one is found by name or by the file's suffix."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.metadata import entry_points
from pathlib import PurePath
from typing import Protocol, cast

from shapely.geometry import Polygon

from areakit.errors import FileError, InputError, UnitError
from areakit.flags import Flag
from areakit.geometry.readers.limits import Meter
from areakit.geometry.rings import Trace
from areakit.units import convert, dimension

ENTRY_POINTS = "areakit.outline_readers"

# name: class; the module is loaded when the name is asked for.
READERS = {
    "svg": "areakit.geometry.readers.svg:SvgReader",
    "dxf": "areakit.geometry.readers.dxf:DxfReader",
    "wkt": "areakit.geometry.readers.text:WktReader",
    "geojson": "areakit.geometry.readers.text:GeoJsonReader",
    "pdf": "areakit.geometry.readers.pdf:PdfReader",
}
_SUFFIXES = {".json": "geojson"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadRequest:
    """How to read: ``unit`` is the unit of length that the user states, ``sagitta_mm`` how true curves are.

    ``layer`` is the one layer to read, all of them where it is None; ``without`` are layers to leave out.
    """

    unit: str | None
    sagitta_mm: float
    meter: Meter
    layer: str | None = None
    without: frozenset[str] = frozenset()

    def wants(self, layer: str) -> bool:
        """Return whether what lies on a layer is read; letter case does not tell layers apart."""
        name = layer.casefold()
        return name not in self.without and self.layer in (None, name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tracing:
    """What a file holds: loose lines or whole polygons in mm, the unit it was read in, and what was left out.

    ``layers`` are the names of all layers that hold lines, for a reader that knows them.
    """

    unit: str
    traces: tuple[Trace, ...] = ()
    polygons: tuple[Polygon, ...] = ()
    ignored: Mapping[str, int] = field(default_factory=dict)
    flags: tuple[Flag, ...] = ()
    layers: tuple[str, ...] = ()


class OutlineReader(Protocol):
    """One kind of file."""

    def trace(self, data: bytes, request: ReadRequest) -> Tracing:
        """Return the lines of the drawing in mm; raise FileError, UnitError or OutlineInvalid."""
        ...


def reader_names() -> tuple[str, ...]:
    """Return the names that are known, those of other packages included."""
    return (*READERS, *(point.name for point in entry_points(group=ENTRY_POINTS) if point.name not in READERS))


def outline_reader(name: str) -> OutlineReader:
    """Return the reader of one kind of file, loaded now."""
    if name in READERS:
        module, _, attribute = READERS[name].partition(":")
        return cast(OutlineReader, getattr(importlib.import_module(module), attribute)())
    for point in entry_points(group=ENTRY_POINTS, name=name):
        return cast(OutlineReader, point.load()())
    raise InputError(
        f"Drawings of the kind {name!r} cannot be read.", remedy=f"Save it as one of {', '.join(reader_names())}."
    )


def is_drawing(path: PurePath) -> bool:
    """Tell by its suffix whether a file is a drawing that can be read."""
    return _name(path) in reader_names()


def _name(path: PurePath) -> str:
    suffix = path.suffix.lower()
    return _SUFFIXES.get(suffix, suffix.removeprefix("."))


def reader_name(path: PurePath) -> str:
    """Return the name of the reader for a file, by its suffix."""
    name = _name(path)
    if name not in reader_names():
        raise FileError(
            f"{path.name} has no suffix of a drawing that can be read.",
            remedy=f"Save it as one of {', '.join(reader_names())}; a photo is measured instead.",
            fields={"areakit measure": ""},
        )
    return name


def millimetres(unit: str) -> float:
    """Return what one ``unit`` of length is in mm.

    Raises UnitError if it is not a unit of length.
    """
    try:
        known = dimension(unit) == "length"
    except KeyError:
        known = False
    if not known:
        raise UnitError(f"{unit[:20]!r} is not a unit of length.", remedy="Write mm, cm, m, um, mil, in or ft.")
    return convert(1.0, unit, "mm")


def stated_unit(request: ReadRequest, file_kind: str) -> str:
    """Return the unit that the user states, for a file that cannot say its own."""
    if request.unit is None:
        raise UnitError(f"This {file_kind} file does not say its unit.", remedy="State it.", fields={"unit": "mm"})
    return request.unit
