"""An upload that is refused while it is still being sent gets to read its answer, however it sends.

``AREAKIT_EXAMPLES=1000 pytest tests/web/test_refused_uploads.py -s`` sends more of them, and prints what came back.
"""

import os
import random
import re
import socket
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest
from small_server import running

from areakit.web.settings import Limits

MANY = int(os.environ.get("AREAKIT_EXAMPLES") or 60)
LIMITS = Limits(json_bytes=200_000)
FIRST = b"%s HTTP/1.1\r\nHost: %s:%d\r\nContent-Type: application/json\r\n%s"
REFUSED = {
    "another host": (b"POST /api/measure", b"elsewhere", b"", 403),
    "another origin": (b"POST /api/measure", b"127.0.0.1", b"Origin: http://elsewhere.invalid\r\n", 403),
    "no such path": (b"POST /api/nowhere/x", b"127.0.0.1", b"", 404),
    "no such method": (b"DELETE /api/measure", b"127.0.0.1", b"", 405),
    "too large": (b"POST /api/check", b"127.0.0.1", b"", 413),
}


@pytest.fixture(scope="module")
def port() -> Iterator[int]:
    with running(LIMITS, seconds=5.0, keep_alive=5) as number:
        yield number


def sent(port: int, seed: int) -> tuple[str, int, int]:
    """Send one upload in pieces of its own, read only when all is sent; return what it was, and both statuses."""
    rng = random.Random(seed)
    what = rng.choice(sorted(REFUSED))
    verb, host, more, status = REFUSED[what]
    size = rng.choice((250_000, 1_000_000, 4_000_000, 12_000_000))
    chunked, whole = rng.random() < 0.4, rng.random() < 0.3
    more += b"Connection: close\r\n" if rng.random() < 0.5 else b""
    more += b"Transfer-Encoding: chunked\r\n\r\n" if chunked else b"Content-Length: %d\r\n\r\n" % size
    with socket.create_connection(("127.0.0.1", port), timeout=30) as client:
        if rng.random() < 0.5:
            client.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 8192)
        client.sendall(FIRST % (verb, host, port, more))
        step = size if whole else rng.choice((3_000, 40_000, 300_000))
        pause = rng.choice((0.0, 0.0, 0.001, 0.3))
        for start in range(0, size, step):
            piece = bytes(min(step, size - start))
            client.sendall(b"%x\r\n%s\r\n" % (len(piece), piece) if chunked else piece)
            if pause and start < 5 * step:
                time.sleep(pause)
        if chunked:
            client.sendall(b"0\r\n\r\n")
        found = b""
        while b"}" not in found and (piece := client.recv(65536)):
            found += piece
    told = re.match(rb"HTTP/1\.1 (\d{3}) ", found)
    assert b'"remedy"' in found or told is None, found[-200:]
    return what, status, int(told.group(1)) if told else 0


@pytest.mark.timeout(1200)
def test_every_refused_upload_reads_its_answer(port: int) -> None:
    """A broken pipe or a reset while sending would fail here, as would an answer of another status or none."""
    with ThreadPoolExecutor(6) as pool:
        seen = Counter(pool.map(lambda seed: sent(port, seed), range(MANY)))
    print(sorted(seen.items()))
    assert {what for what, *_ in seen} == set(REFUSED)
    assert all(due == came for _, due, came in seen), seen
