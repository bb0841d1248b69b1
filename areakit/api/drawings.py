"""Read drawings and typed shapes from Python, and find the surfaces of parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias, Union

from areakit.api.keywords import documented, texts_of
from areakit.api.parts import PlatedPart, view
from areakit.api.values import Entry, UncertainValue, entry_text, plain_json
from areakit.errors import InputError
from areakit.flags import Flag
from areakit.geometry.drawing import Drawing
from areakit.plural import counted
from areakit.service.surface import SurfaceResult, find_surfaces, surface_json
from areakit.service.surface_request import SurfaceRequest

if TYPE_CHECKING:
    from shapely.geometry import MultiPolygon, Polygon


Area: TypeAlias = Union[str, "PathLike[str]", "Polygon", "MultiPolygon"]
"""A region in part coordinates: a file of outlines, a typed shape, or a shapely polygon. [mm]"""


@dataclass(frozen=True, slots=True)
class Surfaces:
    """The surfaces of every part of a drawing, or of every typed shape; in a notebook it shows them."""

    result: SurfaceResult

    @property
    def parts(self) -> tuple[PlatedPart, ...]:
        """Every part, the largest of a drawing first."""
        return tuple(PlatedPart(one.part_id, one.part, one.surface) for one in self.result.parts)

    @property
    def plated(self) -> UncertainValue:
        """Plated area of all pieces of all parts together. [mm2]"""
        return UncertainValue(self.result.plated)

    @property
    def flags(self) -> tuple[Flag, ...]:
        """Cautions: code, message, remedy."""
        return self.result.flags

    def to_json(self) -> dict[str, Any]:
        """Return what ``areakit surface --json`` prints."""
        return plain_json(surface_json(self.result))

    def __repr__(self) -> str:
        return f"<{counted(len(self.parts), 'part')}, plated {self.plated}>"

    def _repr_html_(self) -> str:
        pieces = f", {self.result.count} pieces of each" if self.result.count > 1 else ""
        several = len(self.parts) > 1 or self.result.count > 1
        title = f"{'1 part' if len(self.parts) == 1 else f'{len(self.parts)} parts'}{pieces}"
        return view(title, self.parts, total=self.result.plated if several else None, flags=self.flags)


def read_drawing(path: str | PathLike[str], *, unit: str | None = None, sagitta: Entry | None = None) -> Drawing:
    """Read the outlines of a drawing: SVG, DXF, WKT, GeoJSON or PDF, by the file's suffix.

    Parameters
    ----------
    path : path
    unit : str, optional
        Unit of length of a drawing that does not state its own: ``mm``, ``in``.
    sagitta : str or pint length, optional
        How true curves are followed; by default so that the area changes by less than 0.01 %.

    Returns
    -------
    Drawing
        ``polygons`` are shapely polygons with holes, largest first [mm]; ``flags`` and ``ignored`` say what was left
        out.

    Raises
    ------
    FileError, UnitError
        If the file cannot be read, or nobody says its unit.
    MeasurementError
        If it holds no closed outline, or one that crosses itself.
    """
    from areakit.service.part_description import read_outlines

    return read_outlines(Path(path), unit=unit, sagitta="" if sagitta is None else entry_text(sagitta, "length"))


def shape(text: str) -> Polygon:
    """Return the outline of one typed shape as a shapely polygon, its middle at the origin. [mm]

    Parameters
    ----------
    text : str
        As on the command line: ``disk 30 mm``, ``ring 16 x 8.4 mm``, ``slot 20 x 6 mm``.

    Raises
    ------
    InputError
        If it is not a shape.

    Examples
    --------
    >>> import areakit
    >>> areakit.shape("rectangle 40 x 30 mm").area
    1200.0
    """
    from areakit.geometry.shape_text import read_shape
    from areakit.geometry.shapes import typed_shape

    return typed_shape(read_shape(text)).outline.polygon


@documented(SurfaceRequest)
def plated_surface(
    outline: str | PathLike[str] | Drawing | Polygon | None = None,
    *,
    shape: str | Sequence[str] = (),
    plus: str | Sequence[str] = (),
    minus: str | Sequence[str] = (),
    count: int = 1,
    unit: str | None = None,
    sagitta: Entry | None = None,
    edge: Entry | None = None,
    thickness: Entry | None = None,
    faces: str | None = None,
    keep: Area | Sequence[Area] = (),
    stop_off: Area | Sequence[Area] = (),
    mask_sides: str = "front",
    mask_edge: Entry | None = None,
    overspill: Entry | None = None,
    significant: Area | None = None,
    recess: Area | Sequence[Area] = (),
    recess_depth: Entry | None = None,
    draft: Entry | None = None,
    bevel: str | None = None,
    dome_height: Entry | None = None,
    hollow: bool = False,
    rim: str | None = None,
    relief: str | None = None,
    back_relief: str | None = None,
    wall_relief: str | None = None,
    bend_radius: Entry | None = None,
    bend_axis: Entry = "90 deg",
    form: str | None = None,
    folds: str | PathLike[str] = "",
    regions: Sequence[str | tuple[Polygon | MultiPolygon, str]] = (),
    edge_form: str | None = None,
) -> Surfaces:
    """Find the surfaces of a part from a drawing, a shapely polygon, or typed shapes.

    Parameters
    ----------
    outline : path, Drawing or shapely Polygon, optional
        The outline of the part; a polygon is in mm, y upwards.
    shape, plus, minus : str or sequence of str
        In place of an outline: shapes as on the command line, what is joined to them, and what is cut from them.
    Fields of SurfaceRequest

    Raises
    ------
    InputError
        If an argument makes no sense or a file cannot be read.
    MeasurementError
        If an outline encloses no honest area.

    Examples
    --------
    >>> import areakit
    >>> washer = areakit.plated_surface(shape="washer 16 x 8.4 x 1.6 mm", count=200)
    >>> round(washer.plated.value.m_as("cm**2"))
    828
    >>> plate = areakit.shape("rectangle 40 x 30 mm").difference(areakit.shape("disk 6 mm"))
    >>> print(areakit.plated_surface(plate, thickness="1 ± 0.05 mm", faces="both").plated)  # doctest: +ELLIPSIS
    23.43 ± ... cm²
    """
    drawing, path = _outline(outline)
    told = {
        "shapes": _texts(shape),
        "plus": _texts(plus),
        "minus": _texts(minus),
        "keep": _regions(keep),
        "stop_off": _regions(stop_off),
        "significant": None if significant is None else _regions(significant)[0],
        "recess": _regions(recess),
    }
    request = SurfaceRequest(drawing=path, **texts_of(SurfaceRequest, {**locals(), **told}))
    return Surfaces(find_surfaces(request, drawing))


def _outline(outline: str | PathLike[str] | Drawing | Polygon | None) -> tuple[Drawing | None, Path | None]:
    """Return outlines that are here already, or the file that holds them."""
    if outline is None or isinstance(outline, Drawing):
        return outline, None
    if isinstance(outline, str | PathLike):
        return None, Path(outline)
    if getattr(outline, "geom_type", None) != "Polygon":
        kind = getattr(outline, "geom_type", type(outline).__name__)
        raise InputError(f"A {kind} is not an outline.", remedy="Give a shapely Polygon, a file, or a Drawing.")
    from areakit.geometry.drawing import read_drawing as read

    # Through the reader, so that a polygon meets every check that a file meets.
    return read(outline.wkt.encode(), "wkt", unit="mm"), None


def _regions(given: Area | Sequence[Area]) -> tuple[Any, ...]:
    """Return regions as the service takes them: text, or shapely regions."""
    many = [given] if isinstance(given, str | PathLike) or hasattr(given, "geom_type") else list(given)
    return tuple(str(one) if isinstance(one, PathLike) else one for one in many)


def _texts(given: str | Sequence[str]) -> tuple[str, ...]:
    return (given,) if isinstance(given, str) else tuple(given)
