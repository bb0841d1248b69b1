"""Processes of this machine: a worker that dies takes only its own item with it."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from typing import TypeVar

from areakit.executors.each import Finished, run_each

Item = TypeVar("Item")
Value = TypeVar("Value")

_THREADS_OF_LIBRARIES = ("OPENCV_FOR_THREADS_NUM", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
_AHEAD = 2
"""Items handed over for each worker, so that none waits for the next."""


def cores() -> int:
    """Return the number of processor cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def no_processes() -> str:
    """Return why this machine can share no lock between processes, as without ``/dev/shm``; nothing where it can."""
    try:
        multiprocessing.get_context("spawn").Lock()
    except (OSError, ImportError, NotImplementedError) as error:
        return (getattr(error, "strerror", None) or str(error)).lower() or "no reason given"
    return ""


def one_thread_each() -> None:
    """Let libraries that load from now on use one thread, unless somebody set another number.

    Theirs wait for each other by spinning: where cores are busy anyway that costs more time than they save.
    """
    for name in _THREADS_OF_LIBRARIES:
        os.environ.setdefault(name, "1")


def run_on_processes(
    function: Callable[[Item], Value], items: Iterable[tuple[int, Item]], *, workers: int
) -> Iterator[Finished[Value]]:
    """Yield the outcome of every item, in the order in which they finish.

    When a worker dies, its pool is lost with all that it had in hand. Those items run again, each in a process of its
    own, so that the one which kills its worker is found out and all others get their answer.
    """
    left = list(items)
    while left:
        suspects, ended = [], set()
        with _pool(min(workers, len(left))) as pool:
            for outcome in run_each(function, left, executor=pool, ahead=_AHEAD * workers):
                if not isinstance(outcome.error, BrokenExecutor):
                    ended.add(outcome.index)
                    yield outcome
                elif outcome.started:
                    suspects.append(outcome.index)
        for number, item in left:
            if number in suspects:
                ended.add(number)
                yield from _alone(function, number, item)
        left = [(number, item) for number, item in left if number not in ended]


def _alone(function: Callable[[Item], Value], number: int, item: Item) -> Iterator[Finished[Value]]:
    with _pool(1) as pool:
        yield from run_each(function, [(number, item)], executor=pool, ahead=1)


def _pool(workers: int) -> ProcessPoolExecutor:
    # A fresh interpreter: a fork would copy the locks of threads that run here, of OpenCV's for one.
    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn"), initializer=_settle)


def _settle() -> None:
    """Prepare a worker: one thread each since workers fill the cores, no part in Ctrl-C, and an end with its parent."""
    one_thread_each()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """A parent that is killed tells its workers nothing; without this they would wait for work for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
