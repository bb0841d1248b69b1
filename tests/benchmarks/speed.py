"""How fast, beside the floor and beside the obvious script: ``python -m tests.benchmarks.speed --photos FOLDER``.

One run, same files, one thread each, processor time (so that other work on the machine counts little), steady state:
the best of several after a first. The floor is a bare decode of the same JPEG by the faster of two decoders. Memory is
what a fresh process takes at its peak above interpreter and libraries, photo file included.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.benchmarks.scenes import COUNTS, SIZES, THICKNESS_MM, Shot, shots

STAGES = {
    "areakit.service.measure": ("read_photo", "plated_surface"),
    "areakit.imaging.outlines": (
        "overview", "find_scale", "sheet_distance", "find_regions",
    ),
    "areakit.imaging.one_part": ("trace_ring", "to_millimetres", "measure_rings"),
}  # fmt: skip
AIM_DECODES = {"3 MP": None, "12 MP": 3.0, "48 MP": 2.0}
AIM_BYTES = 6.0


def tool(shot: Shot, data: bytes) -> list[tuple[float, float]]:
    """Return area and expanded uncertainty of each part, as areakit measures it. [mm2]"""
    from areakit.service.measure import MeasureRequest, measure_bytes

    request = MeasureRequest(thickness=f"{THICKNESS_MM} mm", check_lengths=shot.check_lengths)
    found = measure_bytes(data, request, name=shot.name)
    if found.error is not None:
        raise found.error
    return [(part.surface.face.value, part.surface.face.expanded_uncertainty) for part in found.parts]


def script(_: Shot, data: bytes) -> list[tuple[float, float]]:
    """Return what the plain script finds; it states no uncertainty."""
    from tests.benchmarks.plain_script import part_areas

    return [(area, 0.0) for area in part_areas(data)]


def decode(_: Shot, data: bytes) -> list[tuple[float, float]]:
    """Decode and no more, by OpenCV."""
    import cv2
    import numpy as np

    cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    return []


def decode_again(_: Shot, data: bytes) -> list[tuple[float, float]]:
    """Decode and no more, by the decoder that areakit uses."""
    import simplejpeg

    simplejpeg.decode_jpeg(data, "RGB", fastdct=False, fastupsample=False)
    return []


WAYS: dict[str, Callable[[Shot, bytes], list[tuple[float, float]]]] = {
    "decode": decode, "decode again": decode_again, "script": script, "areakit": tool,
}  # fmt: skip


def one(way: str, shot: Shot, small: Shot, repeats: int, results: Any) -> None:
    """Measure one way on one photo in this process, and tell seconds, bytes, areas and the share of each stage."""
    import cv2

    cv2.setNumThreads(1)
    run = WAYS[way]
    run(small, small.path.read_bytes())  # loads the libraries; its memory is freed before the count starts
    before = _resident()
    data = shot.path.read_bytes()
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")  # peak memory from here on
    areas = run(shot, data)
    peak = _peak() - before
    spent: dict[str, float] = {}
    if way == "areakit":
        _watch(spent)
    best, stages = float("inf"), {}
    for _ in range(repeats):
        spent.clear()
        started = time.process_time()
        run(shot, data)
        seconds = time.process_time() - started
        if seconds < best:
            best, stages = seconds, dict(spent)
    results.put((best, peak, areas, stages))


def _resident() -> int:
    return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * resource.getpagesize()


def _peak() -> int:
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) * 1024
    raise AssertionError("no VmHWM")


def _watch(spent: dict[str, float]) -> None:
    """Add up the processor time of each stage, by wrapping the functions that the pipeline calls."""
    import functools
    import importlib

    for name, functions in STAGES.items():
        module = importlib.import_module(name)
        for function in functions:
            real = getattr(module, function)

            def timed(*arguments: Any, real: Any = real, function: str = function, **named: Any) -> Any:
                started = time.process_time()
                try:
                    return real(*arguments, **named)
                finally:
                    spent[function] = spent.get(function, 0.0) + time.process_time() - started

            setattr(module, function, functools.wraps(real)(timed))


def measured(way: str, shot: Shot, small: Shot, repeats: int) -> tuple[float, int, list[tuple[float, float]], Any]:
    """Run one way in a process of its own."""
    context = multiprocessing.get_context("spawn")
    results = context.Queue()
    child = context.Process(target=one, args=(way, shot, small, repeats, results))
    child.start()
    found = results.get(timeout=600)
    child.join()
    return found  # type: ignore[no-any-return]


def errors(shot: Shot, areas: list[tuple[float, float]]) -> str:
    """Return the largest error, and how many true areas lie within the stated uncertainty."""
    areas = sorted(areas, reverse=True)
    if len(areas) != len(shot.areas_mm2):
        return f"{len(areas)} of {len(shot.areas_mm2)} parts"
    off = [100 * (area / true - 1) for (area, _), true in zip(areas, shot.areas_mm2, strict=True)]
    worst = max(off, key=abs)
    stated = [u for _, u in areas]
    if not any(stated):
        return f"{worst:+.2f} %, none stated"
    held = sum(abs(area - true) <= u for (area, u), true in zip(areas, shot.areas_mm2, strict=True))
    return f"{worst:+.2f} %, {held} of {len(areas)} within"


def start_up() -> list[str]:
    """Return rows on the processor time that the command line takes to start, beside a bare interpreter.

    Modules are compiled before the first that counts, as they are once installed.
    """
    plan = ["plan", "--area", "12.5 cm2", "--process", "nickel-gold-brush", "--layer", "nickel=3 um", "--layer",
            "gold=0.5 um", "--efficiency", "gold=72%"]  # fmt: skip
    bare = _best([sys.executable, "-c", "pass"])
    rows = ["| start | seconds | times a bare interpreter |", "|---|---|---|"]
    for name, arguments in {"areakit --help": ["--help"], "areakit plan, typed area": plan}.items():
        took = _best([sys.executable, "-m", "areakit", *arguments])
        rows.append(f"| {name} | {took:.2f} | {took / bare:.1f} |")
    return rows


def _best(command: list[str]) -> float:
    times = []
    with tempfile.TemporaryDirectory() as compiled:
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": compiled, "PYTHONDONTWRITEBYTECODE": ""}
        for _ in range(8):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            subprocess.run(command, check=True, capture_output=True, env=environment)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            times.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(times)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=Path, default=Path(tempfile.gettempdir()) / "areakit-benchmark")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--sizes", nargs="+", default=list(SIZES), choices=list(SIZES))
    given = parser.parse_args()
    taken = shots(given.photos, tuple(given.sizes), COUNTS)
    (small,) = shots(given.photos, ("3 MP",), (1,))
    print("| photo | areakit, decodes | aim | script, decodes | areakit, bytes a pixel | script | areakit | script |")
    print("|---|---|---|---|---|---|---|---|", flush=True)
    profiles = []
    for shot in taken:
        found = {way: measured(way, shot, small, given.repeats) for way in WAYS}
        floor = min(found["decode"][0], found["decode again"][0])
        ours, theirs = found["areakit"], found["script"]
        aim = AIM_DECODES[shot.name.split(",")[0]]
        print(
            f"| {shot.name} | {ours[0] / floor:.1f} | {aim or '-'} | {theirs[0] / floor:.1f} | "
            f"{ours[1] / shot.pixels:.1f} (aim {AIM_BYTES:g}) | {theirs[1] / shot.pixels:.1f} | "
            f"{errors(shot, ours[2])} | {errors(shot, theirs[2])} |",
            flush=True,
        )
        profiles.append((shot.name, floor, ours[0], ours[3]))
    names = [name for functions in STAGES.values() for name in functions]
    print("\nWhere the time goes, in decodes:\n\n| photo | " + " | ".join(names) + " | rest |")
    print("|---" * (len(names) + 2) + "|")
    for name, floor, whole, stages in profiles:
        shares = [stages.get(stage, 0.0) / floor for stage in names]
        rest = whole / floor - sum(shares)
        print(f"| {name} | " + " | ".join(f"{share:.2f}" for share in shares) + f" | {rest:.2f} |")
    print("\n" + "\n".join(start_up()))


if __name__ == "__main__":
    main()
