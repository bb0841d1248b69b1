"""Kill workers and whole batches, and count what is lost or doubled: ``python -m tests.benchmarks.kill``.

Needs the ``study`` extra for the distributed engine.
"""

from __future__ import annotations

import argparse
import functools
import itertools
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor
from contextlib import contextmanager
from pathlib import Path

from PIL import Image

from areakit.datafiles import data_dir
from areakit.executors import Finished, run_each, run_on_processes
from areakit.service.measure import MeasureRequest, measure, result_json
from areakit.service.measure_many import Item

REQUEST = MeasureRequest(thickness="1 mm")
PHOTOS = 16
ROOT = Path(__file__).resolve().parents[2]


def photos(folder: Path, count: int = PHOTOS) -> list[Path]:
    """Write demo photos of half their size under different names."""
    folder.mkdir(exist_ok=True)
    with Image.open(data_dir("demo_images") / "pierced-badge.jpg") as image:
        image.reduce(2).save(folder / "0.jpg", quality=92)
    data = (folder / "0.jpg").read_bytes()
    paths = [folder / f"{number}.jpg" for number in range(count)]
    for path in paths:
        path.write_bytes(data)
    return paths


def answer(item: Item, *, marks: Path) -> str:
    """Measure one photo, note the process that tried, and return the JSON."""
    with (marks / item.photo.stem).open("a", encoding="utf-8") as file:
        file.write(f"{os.getpid()}\n")
    return json.dumps({**result_json(next(measure([item.photo], REQUEST))), "photo": ""})


def answer_or_die(item: Item, *, marks: Path, victim: str) -> str:
    """As above, but the worker that takes the victim's photo is killed each time, as by a fault in its file."""
    if item.photo.stem == victim:
        time.sleep(0.2)
        os.kill(os.getpid(), signal.SIGKILL)
    return answer(item, marks=marks)


def tally(found: Iterable[Finished[str]], right: str, *, own: int | None = None) -> Counter[str]:
    """Count outcomes: right, lost, doubled, wrong; ``own`` is the one item that may fail."""
    times: Counter[int] = Counter()
    told: Counter[str] = Counter()
    for one in found:
        times[one.index] += 1
        if one.index == own and isinstance(one.error, BrokenExecutor):
            told["its own item"] += 1
        elif one.error is not None:
            told["lost"] += 1
        else:
            told["right" if one.value == right else "wrong"] += 1
    told["lost"] += PHOTOS - len(times)
    told["doubled"] += sum(count - 1 for count in times.values())
    return told


def processes(paths: list[Path], marks: Path, right: str, rng: random.Random) -> Counter[str]:
    """One photo kills its worker, whoever takes it."""
    victim = rng.randrange(PHOTOS)
    run = functools.partial(answer_or_die, marks=marks, victim=str(victim))
    items = [(i, Item(photo=path)) for i, path in enumerate(paths)]
    return tally(run_on_processes(run, items, workers=2), right, own=victim)


@contextmanager
def engine() -> Iterator[tuple[object, Callable[[], None]]]:
    """A distributed engine on this machine: two workers, and a call that kills one of them."""
    import dask
    import distributed

    with (
        dask.config.set({"logging.distributed": "critical"}),
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as cluster,
        distributed.Client(cluster) as client,
    ):

        def kill() -> None:
            os.kill(next(iter(client.run(os.getpid).values())), signal.SIGKILL)

        yield client.get_executor(), kill


def distributed(paths: list[Path], marks: Path, right: str, rng: random.Random) -> Counter[str]:
    """A worker of the engine is killed midway."""
    items = [(i, Item(photo=path)) for i, path in enumerate(paths)]
    with engine() as (executor, kill):
        finished = run_each(functools.partial(answer, marks=marks), items, executor=executor, ahead=8)  # type: ignore[arg-type]
        found = list(itertools.islice(finished, rng.randrange(1, PHOTOS // 2)))
        kill()
        found += list(finished)
    return tally(found, right)


def whole_batch(paths: list[Path], marks: Path, right: str, rng: random.Random) -> Counter[str]:
    """The command itself is killed at a random moment, and then run again."""
    folder = marks / "results"
    command = [sys.executable, "-m", "areakit", "measure", *map(str, paths), "--thickness", "1 mm", "--jobs", "2",
               "--results", str(folder)]  # fmt: skip
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT)
    time.sleep(rng.uniform(0.5, 4.0))
    running.kill()
    running.wait()
    subprocess.run(command, check=True, capture_output=True, cwd=ROOT)
    rows = [json.loads(line) for line in (folder / "results.jsonl").read_text(encoding="utf-8").splitlines()]
    times = Counter(row["photo"] for row in rows)
    answers = [json.dumps({**row["answer"], "photo": ""}, ensure_ascii=True) for row in rows]
    told = Counter("right" if one == right else "wrong" for one in answers)
    told["lost"] = PHOTOS - len(times)
    told["doubled"] = sum(count - 1 for count in times.values())
    return told


WAYS = {
    "a photo kills its worker process": processes,
    "a worker of the distributed engine is killed midway": distributed,
    "the whole command is killed, and run again": whole_batch,
}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    print(f"| {PHOTOS} photos each time | rounds | right | its own item | lost | doubled | wrong |")
    print("|---" * 7 + "|")
    bad = 0
    with tempfile.TemporaryDirectory() as name:
        paths = photos(Path(name) / "photos")
        right = json.dumps({**result_json(next(measure(paths[:1], REQUEST))), "photo": ""})
        for words, way in WAYS.items():
            told: Counter[str] = Counter()
            for number in range(given.rounds):
                marks = Path(name) / f"{way.__name__}-{number}"
                marks.mkdir()
                told += way(paths, marks, right, random.Random(number))
            bad += told["lost"] + told["doubled"] + told["wrong"]
            shown = (told[one] for one in ("right", "its own item", "lost", "doubled", "wrong"))
            print(f"| {words} | {given.rounds} | " + " | ".join(map(str, shown)) + " |", flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
