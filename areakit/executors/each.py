"""Run one function over many items on an executor; each outcome comes as it is ready, an error as one outcome."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Executor, Future, wait
from dataclasses import dataclass
from typing import Generic, TypeVar

Item = TypeVar("Item")
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished(Generic[Value]):
    """What became of one item.

    Parameters
    ----------
    index : int
        Place of the item among the items.
    value : object or None
        What the function gave; None where there is an error.
    error : Exception or None
        What it raised, or a ``BrokenExecutor`` where its worker ended without an answer.
    started : bool
        False where the executor broke before the item was handed to it.
    """

    index: int
    value: Value | None = None
    error: BaseException | None = None
    started: bool = True


def run_each(
    function: Callable[[Item], Value], items: Iterable[tuple[int, Item]], *, executor: Executor, ahead: int
) -> Iterator[Finished[Value]]:
    """Yield the outcome of every item, in the order in which they finish; none is lost, none comes twice.

    Parameters
    ----------
    function : callable
        Importable by name, so that it can travel to another process.
    items : iterable of (int, item)
        Each with the number that its outcome carries.
    executor : concurrent.futures.Executor
        Of any make: threads, processes, or a distributed engine's.
    ahead : int
        Most items in the executor's hands at once, so that memory does not grow with the number of items.
    """
    waiting = iter(items)
    running: dict[Future[Value], int] = {}
    broken: BrokenExecutor | None = None
    while True:
        while broken is None and len(running) < ahead:
            item = next(waiting, None)
            if item is None:
                break
            try:
                running[executor.submit(function, item[1])] = item[0]
            except BrokenExecutor as error:
                broken = error
                yield Finished(index=item[0], error=error, started=False)
        if not running:
            break
        for future in wait(running, return_when=FIRST_COMPLETED).done:
            yield _outcome(future, running.pop(future))
    for index, _ in waiting:
        yield Finished(index=index, error=broken, started=False)


def _outcome(future: Future[Value], index: int) -> Finished[Value]:
    try:
        return Finished(index=index, value=future.result())
    except CancelledError as error:
        return Finished(index=index, error=BrokenExecutor(str(error)))
    except Exception as error:
        return Finished(index=index, error=error)
