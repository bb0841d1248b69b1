"""Measure photos: one request in, one result a photo out. Nothing here decides; it reads, calls and gathers."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from areakit.errors import AreakitError, FileError, InputError, UnitError
from areakit.flags import Flag
from areakit.geometry.part import Part
from areakit.geometry.surface import Surface, plated_surface
from areakit.imaging.answers import Answer
from areakit.imaging.lens import Lens
from areakit.imaging.marks.wanted import read_mark
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.photo import LARGEST_PIXELS, Photo, read_photo
from areakit.imaging.scale import CheckReading
from areakit.plural import counted
from areakit.records.documents import part_json
from areakit.records.measure_json import photo_json
from areakit.service.described import read_descriptions, view_of
from areakit.service.form_regions import RegionEntry, read_regions, shared_out
from areakit.service.part_description import sheet_region
from areakit.units import parse

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureRequest:
    """What to do with each photo, as text from the bench.

    Parameters
    ----------
    thickness : str or None
        Such as ``1.2 mm`` or ``1.2 ± 0.05 mm``; a bare number is millimetres.
    faces : str
        Which surfaces are plated; empty for one face of a flat part, and all of another form.
    mark : str
        Which reference mark to look for.
    check_lengths : str or None
        The two check lengths of the printed sheet as read, along x and along y: ``200.2 x 119.9 mm``.
    holes, metal : tuple of str
        Points in doubtful regions, ``x,y`` in sheet millimetres: where there is a hole, where there is metal.
    reading : CheckReading or None
        The same from the record of a print that was checked before, with its own uncertainty.
    lenses : tuple of Lens
        Stored lenses (``areakit lens-check``); a photo whose camera has one is measured with it.
    form : str or None
        What the outlines are of, as ``round`` or ``turned, wall 1 mm``; flat parts unless said.
    parts : tuple of str
        What single parts have of their own, as ``2: thickness 0.3 mm; form round; faces all``.
    regions : tuple
        Regions of the parts with forms of their own, as ``rectangle 3 x 20 mm, at 80 60 mm: form round``, in sheet
        millimetres; or a region and its words.
    """

    thickness: str | None = None
    faces: str = ""
    mark: str = "auto"
    check_lengths: str | None = None
    reading: CheckReading | None = None
    holes: tuple[str, ...] = ()
    metal: tuple[str, ...] = ()
    lenses: tuple[Lens, ...] = ()
    form: str | None = None
    parts: tuple[str, ...] = ()
    regions: tuple[RegionEntry, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPart:
    """One part of one photo."""

    part_id: int
    part: Part
    surface: Surface
    rings_px: tuple[npt.NDArray[np.float64], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureResult:
    """What one photo gave: parts, or the error that says why not.

    ``photo`` is None where the file could not be read, ``found`` where nothing was measured.
    """

    name: str
    photo: Photo | None
    found: FoundParts | None
    parts: tuple[MeasuredPart, ...]
    error: AreakitError | None = None

    @property
    def flags(self) -> tuple[Flag, ...]:
        """Cautions on the photo and on its parts; of a refused photo, why."""
        if self.error is not None:
            return (Flag(code=self.error.code, message=self.error.message, remedy=self.error.remedy),)
        on_parts = (
            flag if flag.part is not None else replace(flag, part=part.part_id)
            for part in self.parts
            for flag in part.surface.flags
        )
        return (*(self.found.flags if self.found else ()), *on_parts)


def measure(paths: Sequence[Path], request: MeasureRequest) -> Iterator[MeasureResult]:
    """Measure each photo in turn; one that is refused does not stop the others.

    Raises
    ------
    InputError
        If the request itself makes no sense, before any photo is read.
    """
    job = _Job(request)
    for path in paths:
        yield job.run(path, path.name)


def check_request(request: MeasureRequest) -> None:
    """Raise InputError if the request itself makes no sense; no photo is read."""
    _Job(request)


def measure_bytes(
    content: bytes, request: MeasureRequest, *, name: str, largest_pixels: int = LARGEST_PIXELS
) -> MeasureResult:
    """Measure one photo that is already in memory, as :func:`measure` does for files.

    Raises
    ------
    InputError
        If the request itself makes no sense.
    """
    return _Job(request, largest_pixels).run(content, name)


class _Job:
    """The request, understood once for all photos."""

    def __init__(self, request: MeasureRequest, largest_pixels: int = LARGEST_PIXELS) -> None:
        self.largest_pixels = largest_pixels
        read_mark(request.mark)  # a name that makes no sense stops the request before any photo is read
        self.mark = request.mark
        self.described = read_descriptions(request)
        self.regions = read_regions(request.regions, sheet_region, photo=True)
        self.reading = read_check_lengths(request.check_lengths) if request.check_lengths else request.reading
        self.lenses = request.lenses
        self.answers = (
            *(Answer(point_mm=_point_mm(text), hole=True) for text in request.holes),
            *(Answer(point_mm=_point_mm(text), hole=False) for text in request.metal),
        )

    def run(self, source: Path | bytes, name: str) -> MeasureResult:
        photo = None
        try:
            photo = read_photo(source, name=name, largest_pixels=self.largest_pixels)
            logger.info("%s: %d x %d pixels", photo.name, photo.width_px, photo.height_px)
            found = find_outlines(
                photo,
                thickness=self.described.height,
                own=self.described.own_heights,
                mark=self.mark,
                reading=self.reading,
                answers=self.answers,
                lenses=self.lenses,
            )
            logger.info("%s: %s, %s", photo.name, counted(len(found.parts), "part"), found.scale.sheet)
            parts = self.parts(found)
        except AreakitError as error:
            return MeasureResult(name=name, photo=photo, found=None, parts=(), error=error)
        return MeasureResult(name=name, photo=photo, found=found, parts=parts)

    def parts(self, found: FoundParts) -> tuple[MeasuredPart, ...]:
        """Return the parts of a photo with their surfaces."""
        plain = [self._part(number, found) for number in range(1, len(found.parts) + 1)]
        return tuple(
            MeasuredPart(part_id=number, part=part, surface=plated_surface(part), rings_px=seen.rings_px)
            for number, (part, seen) in enumerate(zip(shared_out(plain, self.regions), found.parts, strict=True), 1)
        )

    def _part(self, number: int, found: FoundParts) -> Part:
        seen, said = found.parts[number - 1], self.described.of(number)
        return Part(
            outline=seen.outline,
            thickness=said.thickness,
            faces=said.faces,
            form=said.form,
            view=view_of(found.scale, said.height),
        )


def measured_parts(found: FoundParts, request: MeasureRequest) -> tuple[MeasuredPart, ...]:
    """Return the parts of what was found, with their surfaces as a request wants them."""
    return _Job(request).parts(found)


def result_json(result: MeasureResult) -> dict[str, Any]:
    """Return the JSON line of one photo, the same from Python, the command line and the web."""
    parts = [part_json(p.part_id, p.surface, p.part.outline, p.part.thickness) for p in result.parts]
    scale = result.found.scale if result.found else None
    left_out = len(result.found.left_out) if result.found else 0
    return photo_json(result.name, scale=scale, parts=parts, flags=result.flags, left_out=left_out)


def _point_mm(text: str) -> tuple[float, float]:
    """Return a point from ``x,y`` in sheet millimetres."""
    match = re.fullmatch(r"\s*(-?\d+(?:\.\d+)?)\s*[,;]\s*(-?\d+(?:\.\d+)?)\s*(?:mm)?\s*", text)
    if match is None:
        raise InputError(f"{text!r} is not a point.", remedy="Write it as x,y in millimetres: 104.2,66.8.")
    return float(match.group(1)), float(match.group(2))


def read_check_lengths(text: str) -> CheckReading:
    """Return the reading of both check lengths from ``200.2 x 119.9 mm``; those of several sheets behind commas."""
    first, *more = (_two_lengths(one) for one in re.split(r",\s+", text.strip()))
    return CheckReading(read_mm=first, more_mm=tuple(more))


def _two_lengths(text: str) -> tuple[float, float]:
    pieces = [piece.strip() for piece in re.split(r"[x×;]|\bby\b", text) if piece.strip()]
    if len(pieces) != 2:
        raise UnitError(
            f"{text!r} is not two lengths.", remedy="Write both check lengths, along x and along y: 200.2 x 119.9 mm."
        )
    unit = re.sub(r"^[\d\s.,/]+", "", pieces[1])
    first = pieces[0] if re.search(r"[a-zA-Z]", pieces[0]) else f"{pieces[0]} {unit}"
    x, y = (1e3 * parse(piece, "length", bare_unit="mm") for piece in (first, pieces[1]))
    return x, y


def photos_in(paths: Sequence[Path]) -> list[Path]:
    """Return the photos named, each folder opened one level deep, in order.

    Raises
    ------
    FileError
        If a folder holds no photo.
    """
    found: list[Path] = []
    for path in paths:
        if not path.is_dir():
            found.append(path)
            continue
        inside = sorted(p for p in path.iterdir() if p.suffix.lower() in PHOTO_SUFFIXES and not p.name.startswith("."))
        if not inside:
            raise FileError(f"The folder {path} holds no photo.", remedy="Name a folder with JPEG, PNG or HEIC photos.")
        found += inside
    return found


PHOTO_SUFFIXES = {".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif"}
