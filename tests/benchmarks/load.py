"""The server under load: ``python -m tests.benchmarks.load --seconds 60 --photos FOLDER``.

Starts ``areakit serve`` and throws at it, all at once: 50 clients that ask for pages, plans and measurements and open
jobs, 2 that send photos of 48 megapixels, an honest slow sender of one, slow senders of drops, silent ones, connections
that break off, requests that are no HTTP; at the end 20 photos of 48 megapixels at one moment. Then it is killed, and
every job that was acknowledged must be in the journal. Whoever was answered must have got to read it.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import json
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from areakit.datafiles import data_dir
from tests.benchmarks.scenes import shots

CLIENTS, SLOW, SILENT, BROKEN, STEADY, LARGE = 50, 4, 4, 4, 2, 20
ANSWER_SECONDS = 90.0
HONEST_BYTES_A_SECOND = 60_000
"""A photo by a weak radio link: three times the least that the server waits for."""


@dataclass(slots=True)
class Seen:
    """What the clients got."""

    answers: Counter[str] = field(default_factory=Counter)
    unexpected: Counter[str] = field(default_factory=Counter)
    acknowledged: set[str] = field(default_factory=set)
    slowest_page: float = 0.0
    peak_bytes: int = 0
    memory: list[int] = field(default_factory=list)
    memory_under_load: list[int] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The server: its port, its process, and whether it keeps records."""

    port: int
    process: subprocess.Popen[bytes]
    records: bool

    def request(self, method: str, path: str, body: bytes = b"", kind: str = "application/json") -> bytes:
        head = f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nConnection: close\r\n"
        if body:
            head += f"Content-Type: {kind}\r\nContent-Length: {len(body)}\r\n"
        return head.encode() + b"\r\n" + body


async def ask(target: Target, sent: bytes) -> tuple[int, bytes]:
    """Send one request; return status and body. Status 0 stands for a connection that broke."""
    writer = None
    try:
        async with asyncio.timeout(ANSWER_SECONDS):
            reader, writer = await asyncio.open_connection("127.0.0.1", target.port)
            with contextlib.suppress(ConnectionError):
                writer.write(sent)
                await writer.drain()
            answer = await reader.read()
    except TimeoutError:
        return -1, b""
    except OSError:
        return 0, b""
    finally:
        if writer is not None:
            writer.close()
    head, _, body = answer.partition(b"\r\n\r\n")
    words = head.split(b" ", 2)
    return (int(words[1]) if len(words) > 1 and words[1].isdigit() else 0), body


async def visitor(target: Target, seen: Seen, until: float, number: int, photo: bytes) -> None:
    """One client: mostly pages and plans, now and then a photo or a job."""
    rng = random.Random(number)
    plan = json.dumps({"process": "nickel-tank", "area": "12 cm2", "layers": {"nickel": "3 um"}}).encode()
    while time.monotonic() < until:
        what = rng.choice(("page", "page", "about", "plan", "photo", "job"))
        started = time.monotonic()
        if what == "photo":
            told = target.request("POST", "/api/measure?thickness=1.2%20mm", photo, "image/jpeg")
        elif what == "plan":
            told = target.request("POST", "/api/plan", plan)
        elif what == "job" and target.records:
            told = target.request("POST", "/api/jobs?who=load", json.dumps({"part": f"load {number}"}).encode())
        else:
            told = target.request("GET", "/" if what == "page" else "/api/about")
        status, body = await ask(target, told)
        note(seen, what, status, body, allowed={200, 201, 503})
        if what == "job" and status == 201:
            seen.acknowledged.add(str(json.loads(body)["number"]))
        if what == "page":
            seen.slowest_page = max(seen.slowest_page, time.monotonic() - started)
        await asyncio.sleep(rng.uniform(0.02, 0.3))


def note(seen: Seen, what: str, status: int, body: bytes, *, allowed: set[int]) -> None:
    """Count an answer; anything but the allowed statuses, or a traceback, is unexpected."""
    seen.answers[f"{what} {status or 'closed without an answer'}"] += 1
    if status not in allowed or b"Traceback" in body:
        seen.unexpected[f"{what} {status} {body[:80]!r}"] += 1


async def slow_sender(target: Target, seen: Seen, until: float) -> None:
    """Promise a photo and send it in drops."""
    head = target.request("POST", "/api/measure", b"x").replace(
        b"Content-Length: 1\r\n", b"Content-Length: 5000000\r\n"
    )
    while time.monotonic() < until:
        with contextlib.suppress(OSError, TimeoutError):
            reader, writer = await asyncio.open_connection("127.0.0.1", target.port)
            writer.write(head)
            answer = asyncio.ensure_future(reader.read())
            while not answer.done() and time.monotonic() < until + 20:
                writer.write(b"x")
                await writer.drain()
                await asyncio.sleep(0.2)
            status = (await answer).split(b" ", 2)[1:2]
            seen.answers[f"slow sender {(status or [b'closed'])[0].decode()}"] += 1
            writer.close()


async def silent(target: Target, seen: Seen, until: float) -> None:
    """Connect and say nothing, or half a head."""
    while time.monotonic() < until:
        with contextlib.suppress(OSError):
            reader, writer = await asyncio.open_connection("127.0.0.1", target.port)
            writer.write(random.choice((b"", b"GET / HT")))
            started = time.monotonic()
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(30):
                    await reader.read()
            seen.answers["silent, let go" if time.monotonic() - started < 25 else "silent, kept"] += 1
            writer.close()


async def breaker(target: Target, seen: Seen, until: float, photo: bytes) -> None:
    """Break off in the middle of an upload, or send what is no HTTP."""
    whole = target.request("POST", "/api/measure", photo, "image/jpeg")
    while time.monotonic() < until:
        with contextlib.suppress(OSError):
            _, writer = await asyncio.open_connection("127.0.0.1", target.port)
            writer.write(random.choice((whole[: len(whole) // 2], os.urandom(3000), b"GET /" + b"a" * 200_000)))
            await asyncio.sleep(0.05)
            writer.transport.abort()
            seen.answers["broken off"] += 1
        await asyncio.sleep(0.1)


async def honest_sender(target: Target, seen: Seen, until: float, photo: bytes) -> None:
    """Send a photo steadily by a slow line, and read the answer; refused at once or measured, never told to be slow."""
    whole, step = target.request("POST", "/api/measure?mark=ring", photo, "image/jpeg"), HONEST_BYTES_A_SECOND // 4
    while time.monotonic() < until:
        answer, writer = b"", None
        with contextlib.suppress(OSError):
            reader, writer = await asyncio.open_connection("127.0.0.1", target.port)
            coming = asyncio.ensure_future(reader.read())
            with contextlib.suppress(OSError):
                for start in range(0, len(whole), step):
                    writer.write(whole[start : start + step])
                    await writer.drain()
                    if coming.done():
                        break
                    await asyncio.sleep(0.25)
            answer = await coming
        if writer is not None:
            writer.close()
        told = answer.split(b" ", 2)[1:2]
        note(seen, "honest slow sender", int(told[0]) if told else 0, answer, allowed={200, 503})
        await asyncio.sleep(1.0)


async def steady_large(target: Target, seen: Seen, until: float, data: bytes) -> None:
    """Send photos of 48 megapixels one after the other."""
    while time.monotonic() < until:
        status, body = await ask(target, target.request("POST", "/api/measure?mark=ring", data, "image/jpeg"))
        note(seen, "48 MP photo", status, body, allowed={200, 503})
        await asyncio.sleep(1.0)


async def large_photos(target: Target, seen: Seen, data: bytes) -> None:
    """Twenty photos of 48 megapixels at one moment; who is told to wait comes again."""

    async def one() -> None:
        for _ in range(60):
            status, body = await ask(target, target.request("POST", "/api/measure?mark=frame", data, "image/jpeg"))
            note(seen, "48 MP photo", status, body, allowed={200, 503})
            if status == 200:
                return
            await asyncio.sleep(3)
        seen.unexpected["48 MP photo: never measured"] += 1

    await asyncio.gather(*(one() for _ in range(LARGE)))


async def watch(target: Target, seen: Seen) -> None:
    """Note the memory of the server."""
    status = Path(f"/proc/{target.process.pid}/status")
    with contextlib.suppress(OSError):
        while True:
            for line in status.read_text(encoding="ascii").splitlines():
                if line.startswith("VmRSS"):
                    seen.memory.append(1024 * int(line.split()[1]))
                    seen.peak_bytes = max(seen.peak_bytes, seen.memory[-1])
            await asyncio.sleep(0.1)


async def attack(target: Target, seconds: float, photo: bytes, large: bytes | None) -> Seen:
    """Throw everything at the server; return what came back."""
    seen = Seen()
    watching = asyncio.ensure_future(watch(target, seen))
    until = time.monotonic() + seconds
    everybody = [visitor(target, seen, until, number, photo) for number in range(CLIENTS)]
    everybody += [slow_sender(target, seen, until) for _ in range(SLOW)]
    everybody += [silent(target, seen, until) for _ in range(SILENT)]
    everybody += [breaker(target, seen, until, photo) for _ in range(BROKEN)]
    everybody += [honest_sender(target, seen, until, large or photo)]
    everybody += [steady_large(target, seen, until, large) for _ in range(STEADY) if large is not None]
    await asyncio.gather(*everybody)
    seen.memory_under_load = list(seen.memory)
    if large is not None:
        await large_photos(target, seen, large)
    started = time.monotonic()
    status, _ = await ask(target, target.request("GET", "/api/about"))
    note(seen, "afterwards", status, b"", allowed={200})
    seen.answers[f"afterwards, answered in {1000 * (time.monotonic() - started):.0f} ms"] += 1
    status, body = await ask(target, target.request("POST", "/api/measure", photo, "image/jpeg"))
    note(seen, "afterwards, photo", status, body, allowed={200})
    watching.cancel()
    return seen


@contextlib.contextmanager
def served(folder: Path):  # type: ignore[no-untyped-def]
    """Start the server on a free port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    (folder / "tmp").mkdir()
    environment = {**os.environ, "AREAKIT_JOURNAL": str(folder / "journal.sqlite"), "TMPDIR": str(folder / "tmp")}
    command = [sys.executable, "-m", "areakit", "serve", "--port", str(port)]
    with (folder / "server.log").open("wb") as log:
        process = subprocess.Popen(command, env=environment, stdout=log, stderr=log)
    target = Target(port=port, process=process, records=False)
    try:
        for _ in range(200):
            status, body = asyncio.run(ask(target, target.request("GET", "/api/openapi.json")))
            if status == 200:
                break
            time.sleep(0.1)
        records = "post" in json.loads(body)["paths"].get("/api/jobs", {})
        yield Target(port=port, process=process, records=records)
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()


def kept(folder: Path) -> set[str]:
    """Return the numbers of the jobs in the journal, read after the server was killed."""
    from areakit.records.journal import Journal

    with Journal(folder / "journal.sqlite", write=False) as journal:
        return {event.key for event in journal.every_event() if event.subject == "job"}


def medians(memory: list[int]) -> str:
    """Return the median memory in ten pieces of the time: what grows shows here. [MB]"""
    step = max(1, -(-len(memory) // 10))
    pieces = [sorted(memory[start : start + step]) for start in range(0, len(memory), step)]
    return ", ".join(f"{piece[len(piece) // 2] / 1e6:.0f}" for piece in pieces)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=Path, default=Path(tempfile.gettempdir()) / "areakit-benchmark")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--no-large", action="store_true")
    given = parser.parse_args()
    photo = (data_dir("demo_images") / "pierced-badge.jpg").read_bytes()
    large = None if given.no_large else shots(given.photos, ("48 MP",), (1,))[0].path.read_bytes()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with served(folder) as target:
            seen = asyncio.run(attack(target, given.seconds, photo, large))
        lost = seen.acknowledged - kept(folder) if target.records else set()
        left = sum(1 for path in (folder / "tmp").rglob("*") if path.is_file())
        log = (folder / "server.log").read_text(encoding="utf-8", errors="replace")
    print(f"{CLIENTS} clients for {given.seconds:.0f} s, {SLOW} slow, {SILENT} silent, {BROKEN} breaking off\n")
    print("| answer | times |\n|---|---|")
    for words, times in sorted(seen.answers.items()):
        print(f"| {words} | {times} |")
    print(f"| slowest page, s | {seen.slowest_page:.1f} |")
    print(f"| most memory of the server, MB | {seen.peak_bytes / 1e6:.0f} |")
    print(f"| its median memory in ten pieces of the time, MB | {medians(seen.memory_under_load)} |")
    print(f"| its memory when all had gone, MB | {seen.memory[-1] / 1e6:.0f} |")
    print(f"| temporary files left | {left} |")
    told = f"{len(seen.acknowledged)}, {len(lost)} lost" if target.records else "this server keeps no records"
    print(f"| jobs acknowledged | {told} |")
    print(f"| tracebacks in the server's log | {log.count('Traceback')} |")
    for words, times in seen.unexpected.items():
        print(f"unexpected: {words}, {times} times", file=sys.stderr)
    return 1 if seen.unexpected or lost or "Traceback" in log else 0


if __name__ == "__main__":
    raise SystemExit(main())
