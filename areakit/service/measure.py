"""Measure photos: one request in, one result a photo out. Nothing here decides; it reads, calls and gathers."""

from __future__ import annotations

import logging
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from areakit.errors import AreakitError, FileError, UnitError
from areakit.flags import Flag, flag
from areakit.geometry.drawn_regions import DrawnRegion, drawn_masks
from areakit.geometry.forms.finish import like_stock
from areakit.geometry.outline import Outline
from areakit.geometry.part import Part
from areakit.geometry.readers.reader import is_drawing
from areakit.geometry.surface import Surface, plated_surface
from areakit.imaging.answers import Answer
from areakit.imaging.marks.disc import known_disc
from areakit.imaging.marks.wanted import Wanted, read_mark
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.photo import LARGEST_PIXELS, Photo, read_photo
from areakit.imaging.scale import CheckReading
from areakit.plural import counted
from areakit.records.measure_json import part_json, photo_json
from areakit.service.described import read_descriptions, view_of
from areakit.service.form_regions import PLACE_EDGE_MM, read_regions, shared_out
from areakit.service.measure_request import MeasureRequest as MeasureRequest
from areakit.service.part_body import regions_json
from areakit.service.part_description import sheet_region
from areakit.service.places import (
    Offered,
    Point,
    Said,
    answered,
    check_all_met,
    edge_of,
    find_with_answers,
    read_answers,
    shapes_on,
)
from areakit.units import parse

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPart:
    """One part of one photo.

    ``drawn`` are its stop-offs, ``hand_mm`` the standard uncertainty of their borders, ``offered`` what may be one.
    """

    part_id: int
    part: Part
    surface: Surface
    rings_px: tuple[npt.NDArray[np.float64], ...]
    drawn: tuple[DrawnRegion, ...] = ()
    hand_mm: float = 0.0
    offered: tuple[Offered, ...] = ()


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
        """Notes on the photo and on its parts; of a refused photo, why."""
        if self.error is not None:
            error = self.error
            return (Flag(code=error.code, message=error.message, remedy=error.remedy, fields=error.fields),)
        on_parts = (
            flag if flag.part is not None else replace(flag, part=part.part_id)
            for part in self.parts
            for flag in part.surface.flags
        )
        return (*(self.found.flags if self.found else ()), *on_parts)


def measure(paths: Sequence[Path], request: MeasureRequest) -> Iterator[MeasureResult]:
    """Measure each photo in turn; one that is refused does not stop the others.

    InputError if the request itself makes no sense, before any photo is read.
    """
    job = _Job(request)
    for path in paths:
        yield job.run(path, path.name or str(path))


def check_request(request: MeasureRequest) -> None:
    """Raise InputError if the request itself makes no sense; no photo is read."""
    _Job(request)


def measure_bytes(
    content: bytes, request: MeasureRequest, *, name: str, largest_pixels: int = LARGEST_PIXELS
) -> MeasureResult:
    """Measure one photo that is already in memory, as :func:`measure` does for files.

    InputError if the request itself makes no sense.
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
        self.laid = laid_in_field(request.check_lengths)
        lengths = None if self.laid else request.check_lengths
        self.reading = read_check_lengths(lengths) if lengths else None if self.laid else request.reading
        self.lenses = request.lenses
        self.answers = read_answers(request.holes, request.metal, request.stop_off, sheet_region)

    def run(self, source: Path | bytes, name: str) -> MeasureResult:
        photo = None
        try:
            photo = read_photo(source, name=name, largest_pixels=self.largest_pixels)
            logger.info("%s: %d x %d pixels", photo.name, photo.width_px, photo.height_px)
            found, said, places = find_with_answers(self.answers, lambda answers: self._find(photo, answers))
            logger.info("%s: %s, %s", photo.name, counted(len(found.parts), "part"), found.scale.sheet)
            parts = self.parts(found, said, places)
        except AreakitError as error:
            return MeasureResult(name=name, photo=photo, found=None, parts=(), error=error)
        return MeasureResult(name=name, photo=photo, found=found, parts=parts)

    def _find(self, photo: Photo, answers: tuple[Answer, ...]) -> FoundParts:
        return find_outlines(
            photo,
            thickness=self.described.height,
            edge=self.described.usual.edge_make,
            edge_form=self.described.usual.edge_form,
            own=self.described.own_words,
            mark=self.mark,
            reading=self.reading,
            answers=answers,
            lenses=self.lenses,
            laid=self.laid,
        )

    def parts(
        self, found: FoundParts, said: Sequence[Said] = (), places: Sequence[Point] = ()
    ) -> tuple[MeasuredPart, ...]:
        """Return the parts of a photo with their surfaces."""
        check_all_met(found, self.answers, said)
        asked = [answered(seen, number, said, places) for number, seen in enumerate(found.parts, start=1)]
        drawn = [(*taken, *shapes_on(outline, self.answers.shapes)) for outline, taken, _ in asked]
        read = PLACE_EDGE_MM / math.sqrt(3.0) if self.answers.shapes else 0.0
        edges = [max(edge_of(seen), read) for seen in found.parts]
        plain = [
            replace(self._part(number, outline, found), masks=drawn_masks(mine, hand_mm=edge))
            for number, ((outline, *_), mine, edge) in enumerate(zip(asked, drawn, edges, strict=True), start=1)
        ]
        return tuple(
            MeasuredPart(
                part_id=place + 1,
                part=part,
                surface=plated_surface(part),
                rings_px=found.parts[place].rings_px,
                drawn=drawn[place],
                hand_mm=edges[place],
                offered=asked[place][2],
            )
            for place, part in enumerate(shared_out(plain, self.regions))
        )

    def _part(self, number: int, outline: Outline, found: FoundParts) -> Part:
        said = self.described.of(number)
        stock = None if said.form_said else like_stock(outline.polygon)
        if stock is not None:
            asked = flag("LOOKS_LIKE_STOCK", part=number, times=stock.times)
            outline = replace(outline, flags=(*outline.flags, asked))
        return Part(
            outline=outline,
            thickness=said.thickness,
            faces=said.faces,
            form=said.form,
            view=view_of(found.scale, said.level),
            edge_form=said.edge_form,
        )


def measured_parts(found: FoundParts, request: MeasureRequest) -> tuple[MeasuredPart, ...]:
    """Return the parts of what was found, with their surfaces as a request wants them."""
    job = _Job(request)
    return job.parts(found, job.answers.said)


def result_json(result: MeasureResult) -> dict[str, Any]:
    """Return the JSON line of one photo, the same from Python, the command line and the web."""
    parts = [
        {
            **part_json(p.part_id, p.surface, p.part.outline, p.part.thickness),
            "regions": regions_json(p.drawn, hand_mm=p.hand_mm),
            "stop_offs_seen": [one.as_json() for one in p.offered],
        }
        for p in result.parts
    ]
    scale = result.found.scale if result.found else None
    left_out = len(result.found.left_out) if result.found else 0
    return photo_json(result.name, scale=scale, parts=parts, flags=result.flags, left_out=left_out)


def laid_in_field(check_lengths: str | None) -> Wanted | None:
    """Return the card or the coins in the field that stand in place of the check lengths.

    RangeError if there is no such coin.
    """
    text = (check_lengths or "").strip()
    if text.lower() != "card" and not text.lower().startswith("coin"):
        return None
    laid = read_mark(text.lower())
    for one in (laid, *laid.more) if laid.kind == "coin" else ():
        known_disc(one)
    return laid


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
    x, y = (1e3 * parse(piece, "length") for piece in (first, pieces[1]))
    return x, y


def photos_in(paths: Sequence[Path]) -> list[Path]:
    """Return the photos named, each folder opened one level deep, in order.

    FileError if a folder holds no photo, or a drawing is named.
    """
    found: list[Path] = []
    for path in paths:
        if is_drawing(path):
            raise FileError(
                f"{path.name} is a drawing, and no photo.",
                remedy="Have its surfaces found.",
                fields={"areakit surface": ""},
            )
        if not path.is_dir():
            found.append(path)
            continue
        inside = sorted(p for p in path.iterdir() if p.suffix.lower() in PHOTO_SUFFIXES and not p.name.startswith("."))
        if not inside:
            raise FileError(f"The folder {path} holds no photo.", remedy="Name a folder with JPEG, PNG or HEIC photos.")
        found += inside
    return found


PHOTO_SUFFIXES = {".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif"}
