"""Measure many photos on several workers; each result comes as it is ready, without its pixels."""

from __future__ import annotations

import functools
import json
import logging
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor
from dataclasses import dataclass, replace
from pathlib import Path

from areakit.errors import AreakitError, InputError, WorkerLost
from areakit.executors import Finished, cores, no_processes, run_each, run_on_processes
from areakit.output import keep_apart
from areakit.records.sheets import CopyCheck
from areakit.service.measure import MeasureRequest, MeasureResult, check_request, measure, result_json
from areakit.service.measured_overlay import write_overlay

logger = logging.getLogger(__name__)

FEW = 8
"""So many photos are done in the time that it takes to start the processes."""
_AHEAD = 16
"""Photos in the hands of an executor whose number of workers is not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One photo to measure, where its overlay goes, if anywhere, and its own request where it is not that of all."""

    photo: Path
    overlay: Path | None = None
    request: MeasureRequest | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemResult:
    """The result of one photo without its pixels, and the hash of its file, None where it could not be read."""

    result: MeasureResult
    sha256: str | None
    overlay: Path | None = None


def measure_many(
    items: Sequence[Item],
    request: MeasureRequest,
    *,
    copy_check: CopyCheck | None = None,
    executor: Executor | None = None,
    workers: int | None = None,
) -> Iterator[tuple[int, ItemResult]]:
    """Yield the place and the result of each photo, in the order in which they finish.

    InputError if a request itself makes no sense, before any photo is read; FileError if an overlay would be written
    over one of the photos.

    Parameters
    ----------
    items : sequence of Item
    request : MeasureRequest
        The same for all.
    copy_check : CopyCheck or None
        The sheet copy that must be in each photo.
    executor : concurrent.futures.Executor or None
        Where to measure: any executor whose workers see the same files. None takes processes of this machine.
    workers : int or None
        How many processes; None takes one a core. Few photos are measured in this process.
    """
    check_request(request)
    for item in items:
        if item.request is not None and item.request != request:
            _check_own(item.photo, item.request)
    keep_apart((item.overlay for item in items if item.overlay), (item.photo for item in items))
    run = functools.partial(measure_item, request=request, copy_check=copy_check)
    numbered = list(enumerate(items))
    count = min(workers or cores(), len(items))
    if executor is not None:
        outcomes = run_each(run, numbered, executor=executor, ahead=_AHEAD)
    elif count > 1 and (len(items) > FEW or workers) and _processes_work():
        outcomes = run_on_processes(run, numbered, workers=count)
    else:
        outcomes = _here(run, numbered)
    for outcome in outcomes:
        yield outcome.index, _result(outcome, items[outcome.index])


def _check_own(photo: Path, request: MeasureRequest) -> None:
    try:
        check_request(request)
    except InputError as error:
        raise InputError(f"{photo.name}: {error.message}", remedy=error.remedy, code=error.code) from None


def _processes_work() -> bool:
    why = no_processes()
    if why:
        logger.warning("Processes cannot share memory here (/dev/shm: %s); photos are measured one by one.", why)
    return not why


def measure_item(item: Item, *, request: MeasureRequest, copy_check: CopyCheck | None = None) -> ItemResult:
    """Measure one photo and write its overlay; this is what a worker runs."""
    result = next(measure([item.photo], item.request or request))
    if copy_check is not None and result.found is not None:
        try:
            copy_check.check_sheet(result.found.scale.sheet)
        except AreakitError as error:
            result = replace(result, found=None, parts=(), error=error)
    if result.photo is None:
        return ItemResult(result=result, sha256=None)
    if item.overlay is not None:
        write_overlay(result, item.overlay, mark=request.mark)
    return ItemResult(result=replace(result, photo=None), sha256=result.photo.sha256, overlay=item.overlay)


def measured_photo(path: Path, request: MeasureRequest, *, copy_check: CopyCheck | None = None) -> str:
    """Return the JSON line of one photo; ``copy_check`` is the sheet copy that it must show.

    AreakitError if the request makes no sense, the photo cannot be read or is refused, or it shows another sheet.
    """
    result = measure_item(Item(photo=path), request=request, copy_check=copy_check).result
    if result.error is not None:
        raise result.error
    return json.dumps(result_json(result), ensure_ascii=False)


def _here(run: Callable[[Item], ItemResult], items: Sequence[tuple[int, Item]]) -> Iterator[Finished[ItemResult]]:
    """Measure in this process; a defect that shows in one of several photos does not stop the others."""
    for index, item in items:
        try:
            yield Finished(index=index, value=run(item))
        except Exception as error:
            if len(items) == 1:
                raise
            yield Finished(index=index, error=error)


def _result(outcome: Finished[ItemResult], item: Item) -> ItemResult:
    if outcome.value is not None:
        return outcome.value
    # An overlay that cannot be written and a library that is missing stop everything, as for one photo.
    if isinstance(outcome.error, AreakitError | ImportError):
        raise outcome.error
    ended = isinstance(outcome.error, BrokenExecutor)
    what = "The process that measured it ended" if ended else f"Measuring it failed ({type(outcome.error).__name__})"
    error = WorkerLost(
        f"{what} before it gave an answer.",
        remedy="Measure this photo alone; if that fails too, there is too little memory, or the file is damaged.",
    )
    return ItemResult(
        result=MeasureResult(name=item.photo.name, photo=None, found=None, parts=(), error=error), sha256=None
    )
