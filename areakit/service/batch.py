"""A batch of photos with a folder for its results: resumable, with overlays, a summary table and contact sheets."""

from __future__ import annotations

import dataclasses
import hashlib
import importlib.metadata
import json
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path

from areakit import __version__
from areakit.errors import FileError, in_shell
from areakit.imaging.own_picture import is_own_picture
from areakit.output import write_whole
from areakit.plural import counted
from areakit.records.area_lines import regions_left_out, without_words
from areakit.records.batch_log import BatchLog, BatchRow, answered, file_hash
from areakit.records.batch_table import summary_csv, totals
from areakit.records.codec import fields_of, quantity_from_json
from areakit.records.sheets import CopyCheck
from areakit.reports.contact_sheet import Tile, write_contact_sheets
from areakit.service.measure import MeasureRequest, result_json
from areakit.service.measure_many import Item, ItemResult, measure_many
from areakit.service.measured_overlay import overlay_names
from areakit.service.photo_list import Listed
from areakit.units import show

_ANSWERING = ("opencv-python", "numpy", "pillow", "pi-heif", "simplejpeg")
"""Libraries whose version can move the last digit of an answer."""
LOG, OVERLAYS, SUMMARY = "results.jsonl", "overlays", "summary.csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchStep:
    """One photo that is done: its row, and whether it was known from an earlier run."""

    row: BatchRow
    known: bool
    done: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchRequest:
    """Photos, what to do with each, and the folder that takes the results.

    ``table`` stands in place of ``photos`` where parts differ.
    """

    request: MeasureRequest
    folder: Path
    photos: tuple[Path, ...] = ()
    table: tuple[Listed, ...] = ()
    copy_check: CopyCheck | None = None

    @property
    def listed(self) -> tuple[Listed, ...]:
        """Return every photo once, with what is asked of it."""
        named = self.table or tuple(Listed(photo=photo) for photo in self.photos)
        return tuple({one.photo.resolve(): one for one in named}.values())


def run_batch(
    batch: BatchRequest, *, executor: Executor | None = None, workers: int | None = None
) -> Iterator[BatchStep]:
    """Yield one step a photo: first those known already, then the others as they finish.

    A photo is known if its name, its bytes, the request and the versions are those of a row in the folder's log. Each
    row is on the disk before it is yielded, so a batch that is stopped or killed goes on where it was. When the last
    photo is done, the summary and the contact sheets are written. InputError if the request makes no sense; FileError
    if the folder cannot be used.
    """
    photos = batch.listed
    log = BatchLog(batch.folder / LOG)
    requests = [one.request(batch.request) for one in photos]
    settings = [settings_digest(request, batch.copy_check) for request in requests]
    overlays = _folder(batch.folder / OVERLAYS)
    earlier = log.rows()
    _check_free(batch.folder, begun=bool(earlier))
    known = answered(earlier)
    rows: list[BatchRow | None] = [
        _known(one, digest, known, overlays) for one, digest in zip(photos, settings, strict=True)
    ]
    missing = [i for i, row in enumerate(rows) if row is None]
    done = 0
    for row in rows:
        if row is not None:
            done += 1
            yield BatchStep(row=row, known=True, done=done, of=len(photos))
    names = overlay_names([photos[i].photo for i in missing], (row.overlay for row in earlier if row.overlay))
    items = [
        Item(photo=photos[i].photo, overlay=overlays / name, request=requests[i])
        for i, name in zip(missing, names, strict=True)
    ]
    for place, result in measure_many(
        items, batch.request, copy_check=batch.copy_check, executor=executor, workers=workers
    ):
        row = _row(photos[missing[place]], result, settings[missing[place]])
        log.add(row)
        rows[missing[place]] = row
        done += 1
        yield BatchStep(row=row, known=False, done=done, of=len(photos))
    _finish(batch.folder, [row for row in rows if row is not None])


def settings_digest(request: MeasureRequest, copy_check: CopyCheck | None = None) -> str:
    """Return a digest of everything beside the photo that an answer depends on."""
    sheet = dataclasses.asdict(copy_check) if copy_check else None
    versions = {name: importlib.metadata.version(name) for name in _ANSWERING}
    body = [dataclasses.asdict(request), sheet, __version__, versions]
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()


def row_text(row: BatchRow) -> str:
    """Return one line on one photo."""
    answer = row.answer
    if not answer["parts"]:
        return f"{row.photo}: refused. " + " ".join(
            f"{one['message']} {in_shell(one['remedy'], fields_of(one))}" for one in answer["flags"][:1]
        )
    return f"{row.photo}: {_words(row)}"


def totals_text(rows: Sequence[BatchRow]) -> str:
    """Return one line on the whole batch."""
    measured = [row for row in rows if row.answer["parts"]]
    parts = sum(len(row.answer["parts"]) for row in measured)
    text = f"{counted(len(rows), 'photo')}: {len(measured)} measured, {len(rows) - len(measured)} refused"
    pieces = sum(row.pieces * len(row.answer["parts"]) for row in measured)
    told = counted(parts, "part") if pieces == parts else f"{counted(parts, 'part')} in {pieces} pieces"
    told += without_words(regions_left_out(row.answer for row in measured))
    return f"{text}; {told}, together {show(totals(rows), 'cm2')} plated" if measured else text


def _words(row: BatchRow) -> str:
    parts = row.answer["parts"]
    areas = [show(quantity_from_json(part["face_area"]), "cm2") for part in parts]
    plated = show(totals([row]), "cm2")
    notes = len({one["code"] for one in row.answer["flags"]})
    told = f"; {counted(notes, 'note')}" if notes else ""
    told = without_words(regions_left_out([row.answer])) + told
    if row.pieces > 1:
        return f"{counted(len(parts), 'part')}, {row.pieces} pieces of each, plated together {plated}{told}"
    if len(parts) == 1:
        return f"one face {areas[0]}, plated {plated}{told}"
    return f"{len(parts)} parts, plated together {plated}{told}"


def _check_free(folder: Path, *, begun: bool) -> None:
    """Refuse a folder in which files of somebody else would be written over."""
    sheets = [path for path in folder.glob("contact-sheet-*.jpg") if not is_own_picture(path)]
    for path in [*sheets, *([folder / SUMMARY] if not begun and (folder / SUMMARY).exists() else [])]:
        raise FileError(
            f"{path} was not written by a batch, and would be written over.", remedy="Name another folder for results."
        )


def _known(
    listed: Listed, settings: str, known: dict[tuple[str, str | None, str], BatchRow], overlays: Path
) -> BatchRow | None:
    photo = listed.photo
    if not any(key[0] == photo.name and key[2] == settings for key in known):
        return None  # spares reading the file twice
    row = known.get((photo.name, file_hash(photo), settings))
    if row is not None and row.overlay is not None and not (overlays / row.overlay).is_file():
        return None
    return dataclasses.replace(row, pieces=listed.pieces) if row else None


def _row(listed: Listed, done: ItemResult, settings: str) -> BatchRow:
    error = done.result.error
    return BatchRow(
        photo=listed.photo.name,
        sha256=done.sha256,
        settings=settings,
        answer=result_json(done.result),
        overlay=done.overlay.name if done.overlay else None,
        exit_code=error.exit_code if error else 0,
        pieces=listed.pieces,
    )


def _finish(folder: Path, rows: list[BatchRow]) -> None:
    write_whole(folder / SUMMARY, summary_csv(rows).encode("utf-8-sig"))  # a spreadsheet reads UTF-8 by the mark
    tiles = [
        Tile(
            picture=folder / OVERLAYS / row.overlay if row.overlay else None,
            name=row.photo,
            words=_words(row) if row.answer["parts"] else row.answer["flags"][0]["message"],
            refused=not row.answer["parts"],
        )
        for row in rows
    ]
    write_contact_sheets(tiles, folder)


def _folder(path: Path) -> Path:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(f"{path} cannot be made: {error.strerror}.", remedy="Name another folder.") from error
    return path
