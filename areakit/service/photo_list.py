"""Which photos a batch measures: what areakit drew itself is left out, and copies of a photo are counted once."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from areakit.errors import FileError, InputError
from areakit.imaging.own_picture import is_own_picture
from areakit.records.batch_log import file_hash
from areakit.service.asked import asked_of
from areakit.service.measure_request import MeasureRequest
from areakit.service.text_file import text_of

MOST_PIECES = 1_000_000
REQUEST_COLUMNS = {name.replace("_", " "): name for name, one in asked_of(MeasureRequest).items() if one.about.each}
"""Column of a table of photos to the field of the request that it fills."""
COLUMNS = ("photo", *REQUEST_COLUMNS, "pieces")


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One photo of a batch: what to ask of it beyond the request of all, and how many pieces are like those in it."""

    photo: Path
    fields: Mapping[str, str] = field(default_factory=dict)
    pieces: int = 1

    def request(self, of_all: MeasureRequest) -> MeasureRequest:
        """Return the request for this photo; what its row leaves empty is as for all."""
        fields: dict[str, Any] = dict(self.fields)
        return replace(of_all, **fields)

    @property
    def told(self) -> tuple[Mapping[str, str], int]:
        """What is asked of the photo, without its name."""
        return dict(self.fields), self.pieces


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A photo that is not measured, and why."""

    photo: Path
    why: str


def sorted_out(listed: Sequence[Listed]) -> tuple[tuple[Listed, ...], tuple[LeftOut, ...]]:
    """Return the photos to measure, and those left out: areakit's own pictures, and copies byte by byte.

    InputError if copies of one photo are to be measured in different ways; FileError if nothing else is left.
    """
    seen: dict[str, Listed] = {}
    kept, left = [], []
    doubtful = _sizes_met_twice([one.photo for one in listed])
    for one in listed:
        digest = file_hash(one.photo) if _size(one.photo) in doubtful else None
        if is_own_picture(one.photo):
            left.append(LeftOut(photo=one.photo, why="a picture that areakit drew"))
        elif digest is not None and digest in seen:
            first = seen[digest]
            if first.told != one.told:
                raise InputError(
                    f"{one.photo} is the same photo as {first.photo}, and is to be measured in another way.",
                    remedy="Name it once, or take a photo of the other part.",
                )
            left.append(LeftOut(photo=one.photo, why=f"the same photo as {first.photo.name}, counted once"))
        else:
            kept.append(one)
            if digest is not None:
                seen[digest] = one
    if not kept:
        raise FileError("There is no photo among these pictures.", remedy="Name photos; areakit drew these itself.")
    return tuple(kept), tuple(left)


def refuse_copies(photos: Sequence[Path]) -> None:
    """Raise InputError where photos that are to be compared are copies of one."""
    kept, left = sorted_out([Listed(photo=photo) for photo in photos]) if photos else ((), ())
    for one in left:
        raise InputError(f"{one.photo} is {one.why.removesuffix(', counted once')}.", remedy="Take a new photo.")
    assert len(kept) == len(photos)


def _sizes_met_twice(photos: Sequence[Path]) -> set[int]:
    sizes = [size for size in map(_size, photos) if size is not None]
    return {size for size in sizes if sizes.count(size) > 1} if len(sizes) < 1000 else set(sizes)


def _size(photo: Path) -> int | None:
    try:
        return photo.stat().st_size
    except OSError:
        return None


def read_table(path: Path) -> tuple[Listed, ...]:
    """Return the photos of a CSV table; names are relative to its folder.

    The first row names the columns: ``photo``, and any others of :data:`COLUMNS`. Commas or semicolons part them.
    InputError if a column or a figure is not understood; the message names the row; FileError if it cannot be read.
    """
    text = text_of(path) or ""
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=_delimiter(text), strict=True))
    except csv.Error as error:
        raise FileError(f"{path} is not a table: {error}.", remedy="Save it as CSV, in UTF-8.") from None
    rows = [[cell.strip() for cell in row] for row in rows]
    names = [name.lower() for name in rows[0]] if rows else []
    _check_columns(path, names)
    listed = [_listed(path, number, names, row) for number, row in enumerate(rows[1:], start=2) if any(row)]
    if not listed:
        raise InputError(f"{path} names no photo.", remedy="Write one photo a row, below the names of the columns.")
    return tuple(listed)


def _delimiter(text: str) -> str:
    first = text.split("\n", 1)[0]
    return ";" if first.count(";") > first.count(",") else ","


def _check_columns(path: Path, names: Sequence[str]) -> None:
    strange = [name for name in names if name not in COLUMNS]
    twice = [name for name in names if names.count(name) > 1]
    if "photo" not in names or strange or twice:
        what = (
            f"has no column {strange[0][:40]!r}" if strange
            else f"has the column {twice[0]!r} twice" if twice
            else "does not name a column photo in its first row"
        )  # fmt: skip
        raise InputError(f"The table {path} {what}.", remedy=f"Name the columns {', '.join(COLUMNS)}.")


def _listed(path: Path, number: int, names: Sequence[str], row: Sequence[str]) -> Listed:
    if len(row) > len(names) and any(row[len(names) :]):
        raise InputError(
            f"Row {number} of {path} has more cells than columns.", remedy='Put a decimal comma in quotes: "1,2 mm".'
        )
    cells = {name: cell for name, cell in zip(names, row, strict=False) if cell}
    if "photo" not in cells or "\0" in cells["photo"]:  # which no name of a file holds
        raise InputError(f"Row {number} of {path} names no photo.", remedy="Fill in its column photo.")
    fields = {REQUEST_COLUMNS[name]: cell for name, cell in cells.items() if name in REQUEST_COLUMNS}
    return Listed(photo=path.parent / cells["photo"], fields=fields, pieces=_pieces(path, number, cells.get("pieces")))


def _pieces(path: Path, number: int, cell: str | None) -> int:
    if cell is None:
        return 1
    if not (cell.isascii() and cell.isdigit() and 0 < int(cell[: len(str(MOST_PIECES)) + 1]) <= MOST_PIECES):
        raise InputError(
            f"Row {number} of {path}: {cell[:20]!r} is not a number of pieces.",
            remedy="Write a whole number from 1 on: the pieces that are like the part in the photo.",
        )
    return int(cell)
