"""Measure a photo from Python."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from areakit.api.keywords import documented, texts_of
from areakit.api.parts import PlatedPart, view
from areakit.api.values import Entry, UncertainValue, plain_json
from areakit.errors import InputError
from areakit.flags import Flag
from areakit.plural import counted
from areakit.service.measure import MeasureResult, measure_bytes, result_json
from areakit.service.measure import measure as measure_files
from areakit.service.measure_request import MeasureRequest
from areakit.uncertainty import total

if TYPE_CHECKING:
    from shapely.geometry import MultiPolygon, Polygon

    from areakit.imaging.lens import Lens


@dataclass(frozen=True, slots=True)
class Measurement:
    """What was found in one photo; in a notebook it shows outlines, areas and cautions."""

    result: MeasureResult

    @property
    def name(self) -> str:
        """Name of the photo."""
        return self.result.name

    @property
    def parts(self) -> tuple[PlatedPart, ...]:
        """Every part, numbered as on the overlay."""
        return tuple(PlatedPart(one.part_id, one.part, one.surface) for one in self.result.parts)

    @property
    def plated(self) -> UncertainValue:
        """Plated area of all parts together; what they share, such as the scale, is added up as shared. [mm2]"""
        return UncertainValue(total([one.surface.plated for one in self.result.parts], "mm2"))

    @property
    def flags(self) -> tuple[Flag, ...]:
        """Cautions on the photo and its parts: code, message, remedy."""
        return self.result.flags

    @property
    def scale(self) -> str:
        """The mark that gave the scale, such as ``frame A5-r1``."""
        assert self.result.found is not None
        scale = self.result.found.scale
        return f"{scale.mark} {scale.sheet}".strip()

    def to_json(self) -> dict[str, Any]:
        """Return what ``areakit measure --json`` prints, described by ``areakit schema``."""
        return plain_json(result_json(self.result))

    def __repr__(self) -> str:
        return f"<{self.name}: {counted(len(self.parts), 'part')}, plated {self.plated}, scale from {self.scale}>"

    def _repr_html_(self) -> str:
        whole = self.plated.measured if len(self.parts) > 1 else None
        return view(f"{self.name}, scale from {self.scale}", self.parts, total=whole, flags=self.flags)


@documented(MeasureRequest)
def measure(
    photo: str | PathLike[str] | bytes,
    *,
    thickness: Entry | None = None,
    form: str | None = None,
    parts: Sequence[str] = (),
    regions: Sequence[str | tuple[Polygon | MultiPolygon, str]] = (),
    faces: str | None = None,
    edge_make: str | None = None,
    edge_form: str | None = None,
    check_lengths: str | None = None,
    mark: str = "auto",
    holes: Sequence[tuple[float, float] | int] = (),
    metal: Sequence[tuple[float, float] | int] = (),
    stop_off: Sequence[tuple[float, float] | int | str] = (),
    lenses: Sequence[Lens] = (),
    side: str | PathLike[str] | None = None,
    overlay: str | PathLike[str] | None = None,
) -> Measurement:
    """Measure the plated area of the parts in one photo.

    Parameters
    ----------
    photo : path or bytes
        The original file, or its bytes.
    Fields of MeasureRequest
    holes, metal, stop_off
        A point may also be (x, y) [mm of the sheet], a number an int.
    lenses : sequence of Lens
        Lenses as checked. The command uses those of its journal; here none is used that is not given.
    side : path, optional
        Second photo of a domed part, standing on its edge, for ``form="domed"``: gives its rise.
    overlay : path, optional
        Where to write the photo with what was found, JPEG; also where the photo is refused. Look at it before you
        believe the number.

    Raises
    ------
    InputError
        If an argument makes no sense, or the photo cannot be read.
    MeasurementError
        If the photo gives no trustworthy number; the message says why, and what to do.

    Examples
    --------
    >>> import areakit
    >>> badge = areakit.measure(
    ...     areakit.demo_photo("pierced-badge"), thickness="1.2 mm", faces="all", check_lengths="150 x 90 mm"
    ... )
    >>> badge.parts[0].polygon.geom_type
    'Polygon'
    >>> print(badge.parts[0].plated)  # doctest: +ELLIPSIS
    45.0... ± 0... cm²
    """
    places = {"holes": _places(holes), "metal": _places(metal), "stop_off": _places(stop_off)}
    request = MeasureRequest(**texts_of(MeasureRequest, {**locals(), **places}), lenses=tuple(lenses))
    if side is not None:
        from areakit.service.side_photo import with_rise

        if isinstance(photo, bytes):
            raise InputError("A photo from the side goes with a file.", remedy="Give the path of the first photo.")
        request = with_rise(Path(photo), Path(side), request)
    if isinstance(photo, bytes):
        result = measure_bytes(photo, request, name="photo")
    else:
        result = next(measure_files([Path(photo)], request))
    if overlay is not None and result.photo is not None:
        from areakit.service.measured_overlay import write_overlay

        write_overlay(result, Path(overlay), mark=mark)
    if result.error is not None:
        raise result.error
    return Measurement(replace(result, photo=None))


def demo_photo(name: str = "pierced-badge") -> Path:
    """Return a photo that comes with areakit: a render of a part whose true area is known.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    from areakit.datafiles import data_dir

    known = sorted(path.stem for path in data_dir("demo_images").glob("*.jpg"))
    if name not in known:
        raise InputError(f"There is no demo photo {name[:40]!r}.", remedy=f"Choose one of {', '.join(known)}.")
    return data_dir("demo_images") / f"{name}.jpg"


def _places(places: Sequence[tuple[float, float] | int | str]) -> list[str]:
    return [str(one) if isinstance(one, int | str) else f"{float(one[0]):.6f},{float(one[1]):.6f}" for one in places]
