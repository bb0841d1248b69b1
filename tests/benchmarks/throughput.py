"""How much two workers do beside one: ``python -m tests.benchmarks.throughput --photos FOLDER``.

Rounds of one and of two workers alternate on the same photos, processes in both, in steady state, so that starting them
is not counted. On a machine with other work even two processes that only spin do not get twice of one; what they got
stands beside each round. The last column asks another way: how much more processor time does a photo take with two?
"""

from __future__ import annotations

import argparse
import functools
import multiprocessing
import os
import shutil
import statistics
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from areakit.executors import cores, run_on_processes
from areakit.service.measure import MeasureRequest
from areakit.service.measure_many import Item, measure_item
from tests.benchmarks.scenes import THICKNESS_MM, shots

SPIN_SECONDS = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """Photos a minute, and the processor time of a photo in its worker and in the parent. [s]"""

    a_minute: float
    worker_seconds: float
    parent_seconds: float


def timed_item(item: Item, *, request: MeasureRequest) -> float:
    """Measure one photo; return the processor time that it took in this worker. [s]"""
    started = time.process_time()
    found = measure_item(item, request=request)
    assert found.result.error is None
    return time.process_time() - started


def work(items: list[Item], request: MeasureRequest, workers: int) -> Round:
    """Return what comes out in steady state: each worker has loaded its libraries."""
    run = functools.partial(timed_item, request=request)
    started = time.process_time()
    times, seconds = [], []
    for outcome in run_on_processes(run, enumerate(items), workers=workers):
        assert outcome.value is not None
        times.append(time.monotonic())
        seconds.append(outcome.value)
    first = 2 * workers
    return Round(
        a_minute=60 * (len(times) - 1 - first) / (times[-1] - times[first]),
        worker_seconds=statistics.median(seconds[first:]),
        parent_seconds=(time.process_time() - started) / len(items),
    )


def _spin(turns: object) -> None:
    end, count = time.monotonic() + SPIN_SECONDS, 0
    while time.monotonic() < end:
        for _ in range(10_000):
            count += 1
    turns.put(count)  # type: ignore[attr-defined]


def spins(workers: int) -> int:
    """Return how far so many processes count together in a few seconds."""
    turns = multiprocessing.get_context("fork").Queue()
    ours = [multiprocessing.get_context("fork").Process(target=_spin, args=(turns,)) for _ in range(workers)]
    for one in ours:
        one.start()
    counts = [turns.get() for _ in ours]
    for one in ours:
        one.join()
    return sum(counts)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=Path, default=Path(tempfile.gettempdir()) / "areakit-benchmark")
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    (shot,) = shots(given.photos, ("12 MP",), (1,))
    request = MeasureRequest(thickness=f"{THICKNESS_MM} mm", check_lengths=shot.check_lengths)
    print(f"{cores()} cores, load average before the start {os.getloadavg()[0]:.1f}\n")
    print("| round | two workers beside one | two spinning processes beside one | two workers, by processor time |")
    print("|---" * 4 + "|", flush=True)
    rows: list[tuple[float, float, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        items = [Item(photo=Path(shutil.copy(shot.path, Path(folder) / f"{i}.jpg"))) for i in range(given.count)]
        for number in range(1, given.rounds + 1):
            alone, all_spins = spins(1), spins(given.workers)
            one, two = work(items, request, 1), work(items, request, given.workers)
            again, all_again = spins(1), spins(given.workers)
            # A photo costs a worker so much time; the parent's share goes off the cores as well.
            by_time = given.workers * one.worker_seconds / (two.worker_seconds + two.parent_seconds)
            rows.append((two.a_minute / one.a_minute, (all_spins + all_again) / (alone + again), by_time))
            print(f"| {number} | " + " | ".join(f"{ratio:.2f}" for ratio in rows[-1]) + " |", flush=True)
    wall, machine, by_time = (statistics.median(column) for column in zip(*rows, strict=True))
    print(
        f"\nMedian: {wall:.2f} times one worker where the machine gave {machine:.2f} to processes that only spin; by "
        f"processor time {by_time:.2f} (aim: {given.workers} less 15 %, {0.85 * given.workers:.2f})."
    )


if __name__ == "__main__":
    main()
