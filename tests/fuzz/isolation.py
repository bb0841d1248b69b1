"""Run broken cases in a process of their own, bounded in memory, watched for time, without network or other files."""

from __future__ import annotations

import contextlib
import hashlib
import multiprocessing
import os
import random
import resource
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

MEMORY = 1_500_000_000
"""Memory that a reader may ask for on top of what the libraries take. [byte]"""
HANG_SECONDS = 60.0


Readers = Callable[[], Mapping[str, Any]]


@dataclass(slots=True)
class Findings:
    """What all cases of one reader came to."""

    outcomes: Counter[str] = field(default_factory=Counter)
    defects: dict[int, str] = field(default_factory=dict)
    slowest: float = 0.0
    peak_bytes: int = 0

    @property
    def cases(self) -> int:
        return self.outcomes.total()


def all_readers() -> Mapping[str, Any]:
    """Return the readers of areakit."""
    from tests.fuzz.targets import READERS

    return READERS


def case(name: str, number: int, readers: Readers = all_readers) -> bytes:
    """Return the bytes of one case; the same on every run."""
    from tests.fuzz.mutation import broken

    reader = readers()[name]
    seed = hashlib.sha256(f"{name} {number}".encode()).digest()
    return broken(random.Random(seed), reader.seeds(), tokens=reader.tokens, bombs=reader.bombs)


def attack(name: str, numbers: range, *, readers: Readers = all_readers) -> Findings:
    """Return the findings for many cases of one reader; a crash or a hang is one defect and the others go on."""
    findings, left = Findings(), list(numbers)
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.fuzz.targets"])
    while left:
        ours, theirs = context.Pipe(duplex=False)
        child = context.Process(target=_work, args=(name, left, theirs, readers), daemon=True)
        child.start()
        theirs.close()
        here = _listen(ours, findings, left)
        if here is not None:
            child.join(1.0)  # the pipe of a child that crashed closes a little before it is gone
            how = f"hang of more than {HANG_SECONDS:.0f} s" if child.is_alive() else f"crash (exit {child.exitcode})"
            findings.defects[here] = how
            findings.outcomes["defect"] += 1
            left = left[left.index(here) + 1 :]
        else:
            left = []
        child.kill()
        child.join()
        ours.close()
    return findings


def _listen(pipe: Connection, findings: Findings, left: list[int]) -> int | None:
    """Take in outcomes; return the case during which the child fell silent, None when all are done."""
    here = left[0]
    while True:
        try:
            if not pipe.poll(HANG_SECONDS):
                return here
            told = pipe.recv()
        except (EOFError, OSError):
            return here
        if told is None:
            return None
        if isinstance(told, int):
            here = told
            continue
        outcome, why, seconds, peak = told
        findings.outcomes[outcome] += 1
        findings.slowest = max(findings.slowest, seconds)
        findings.peak_bytes = max(findings.peak_bytes, peak)
        if why:
            findings.defects[here] = why


def _work(name: str, numbers: list[int], pipe: Connection, readers: Readers) -> None:
    reader = readers()[name]
    folder = tempfile.mkdtemp(prefix="areakit-fuzz-")
    os.chdir(folder)
    _load(reader)
    before = _peak()
    _bound()
    _forbid(folder)
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    for number in numbers:
        data = case(name, number, readers)
        pipe.send(number)
        started = time.process_time()
        outcome, why = _outcome(reader.read, data)
        seconds = time.process_time() - started
        if seconds > reader.seconds and not why:
            outcome, why = "defect", f"{seconds:.1f} s of processor time"
        pipe.send((outcome, why, seconds, _peak() - before))
    if os.listdir(folder):
        pipe.send(("defect", "left files behind", 0.0, 0))
    shutil.rmtree(folder)
    pipe.send(None)


def _load(reader: Any) -> None:
    """Use the reader once on sound input, so that loading its libraries is not counted to a case."""
    from areakit.errors import AreakitError

    if getattr(reader, "warm", True):
        for seed in reader.seeds()[:2]:
            with contextlib.suppress(AreakitError):
                reader.read(seed)


def _outcome(read: Callable[[bytes], Any], data: bytes) -> tuple[str, str]:
    """Return the kind of outcome, and why it is a defect where it is one."""
    from areakit.errors import AreakitError

    try:
        return str(read(data) or "answer"), ""
    except AreakitError as error:
        clear = error.message.strip().endswith((".", "?")) and "\n" not in str(error) and len(error.message) < 4000
        if clear and error.remedy and "Traceback" not in error.message:
            return "refused", ""
        return "defect", f"unclear refusal: {str(error)[:200]!r}"
    except BaseException as error:
        trace = error.__traceback__
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        where = f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}" if trace else "?"
        return "defect", f"{type(error).__name__} at {where}: {str(error)[:120]!r}"


def _peak() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def _bound() -> None:
    size = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[5]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_DATA, (size + MEMORY, size + MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _forbid(folder: str) -> None:
    """End the case in a defect if anything asks for the network, another program, or a file to write elsewhere."""
    real = os.path.realpath(folder)

    def watch(event: str, arguments: tuple[Any, ...]) -> None:
        if event in {"socket.connect", "socket.getaddrinfo", "subprocess.Popen", "os.system", "os.exec"}:
            raise PermissionError(f"forbidden: {event}")
        if event == "open" and isinstance(arguments[0], str | bytes):
            path, mode, flags = os.path.realpath(os.fsdecode(arguments[0])), arguments[1], arguments[2] or 0
            writes = any(sign in (mode or "") for sign in "wax+") or flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
            inside = path.startswith((real, tempfile.gettempdir())) or path == os.devnull
            if (writes and not inside) or path == "/etc/passwd":
                raise PermissionError(f"forbidden: open {path}")

    sys.addaudithook(watch)
