"""Bytes that no sound client sends: each gets one answer, none is taken for two requests, and the server goes on.

What is right for each is as RFC 9112 (HTTP/1.1) and RFC 9110 have it. ``AREAKIT_EXAMPLES=2000 pytest
tests/web/test_raw_sockets.py -s`` sends more broken ones.
"""

import contextlib
import logging
import os
import random
import re
import socket
from collections import Counter
from collections.abc import Iterator

import pytest
from small_server import running

from areakit.web.settings import Limits

LIMITS = Limits(patience_seconds=1.0, json_bytes=200_000)
MANY = int(os.environ.get("AREAKIT_EXAMPLES") or 150)
HOST = b"Host: 127.0.0.1:%d\r\n"
NEXT = b"GET /api/about HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n"
JSON = b"POST /api/check HTTP/1.1\r\n" + HOST + b"Content-Type: application/json\r\n"
CHUNKED = b"Transfer-Encoding: chunked\r\n"
GET = b"GET /api/about HTTP/1.1\r\n" + HOST + b"Connection: close\r\n"


@pytest.fixture(scope="module")
def port() -> Iterator[int]:
    with running(LIMITS, seconds=1.0, keep_alive=1) as number:
        yield number


def told(port: int, sent: bytes) -> list[int]:
    """Send bytes; return the status of each answer until the server closes."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as client:
        found = b""
        with contextlib.suppress(ConnectionError):
            client.sendall(sent.replace(b"%d", str(port).encode()))
        with contextlib.suppress(ConnectionError):
            while piece := client.recv(65536):
                found += piece
    assert b"Traceback" not in found
    return [int(status) for status in re.findall(rb"HTTP/1\.1 (\d{3}) ", found)]


ONE_REQUEST = {
    "two lengths": JSON + b"Content-Length: 5\r\n" + CHUNKED + b"\r\n0\r\n\r\n" + NEXT,
    "two lengths, the other way round": JSON + CHUNKED + b"Content-Length: 2\r\n\r\n2\r\n{}\r\n0\r\n\r\n" + NEXT,
    "two unlike lengths": JSON + b"Content-Length: 2\r\nContent-Length: 9\r\n\r\n{}" + NEXT,
    "a length with a sign": JSON + b"Content-Length: +2\r\n\r\n{}" + NEXT,
    "a length below zero": JSON + b"Content-Length: -2\r\n\r\n{}" + NEXT,
    "a length in hexadecimal digits": JSON + b"Content-Length: 0x2\r\n\r\n{}" + NEXT,
    "a length in Arabic digits": JSON + "Content-Length: ٢\r\n\r\n{}".encode() + NEXT,
    "an unknown coding": JSON + b"Transfer-Encoding: xchunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n" + NEXT,
    "chunked inside another coding": JSON + b"Transfer-Encoding: chunked, gzip\r\n\r\n2\r\n{}\r\n0\r\n\r\n" + NEXT,
    "two codings": JSON + CHUNKED + b"Transfer-Encoding: identity\r\n\r\n2\r\n{}\r\n0\r\n\r\n" + NEXT,
    "a coding behind a vertical tab": JSON + b"Transfer-Encoding: \x0bchunked\r\nContent-Length: 2\r\n\r\n{}" + NEXT,
    "a blank before the colon": JSON + b"Transfer-Encoding : chunked\r\nContent-Length: 2\r\n\r\n{}" + NEXT,
    "a chunk without a size": JSON + CHUNKED + b"\r\nzz\r\n{}\r\n0\r\n\r\n" + NEXT,
    "a chunk below zero": JSON + CHUNKED + b"\r\n-2\r\n{}\r\n0\r\n\r\n" + NEXT,
    "a chunk longer than its size": JSON + CHUNKED + b"\r\n1\r\n{}\r\n0\r\n\r\n" + NEXT,
    "two hosts": b"GET / HTTP/1.1\r\n" + HOST + b"Host: elsewhere\r\n\r\n" + NEXT,
    "no host": b"GET / HTTP/1.1\r\n\r\n" + NEXT,
    "a zero byte in a header": b"GET / HTTP/1.1\r\n" + HOST + b"X: a\x00b\r\n\r\n" + NEXT,
    "a zero byte in the path": b"GET /\x00 HTTP/1.1\r\n" + HOST + b"\r\n" + NEXT,
    "a bare carriage return": b"GET / HTTP/1.1\r\n" + HOST + b"X: a\rY: b\r\n\r\n" + NEXT,
    "a header of 200 kB": b"GET / HTTP/1.1\r\n" + HOST + b"X: " + bytes([97]) * 200_000 + b"\r\n\r\n",
    "HTTP/0.9": b"GET /api/about\r\n\r\n",
    "TLS": bytes.fromhex("16030100a5010000a10303") + bytes(160),
}
"""Sent before another request; whoever takes these for something else would answer two."""


@pytest.mark.parametrize("name", ONE_REQUEST)
def test_a_request_that_can_be_read_in_two_ways_is_refused_and_ends_the_connection(port: int, name: str) -> None:
    assert told(port, ONE_REQUEST[name]) == [400]


GOES_ON = {
    "a length said twice": (JSON + b"Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}" + NEXT, [422, 200]),
    "a chunk with an extension": (JSON + CHUNKED + b"\r\n2;a=b\r\n{}\r\n0\r\n\r\n" + NEXT, [422, 200]),
    "trailers that name a host": (JSON + CHUNKED + b"\r\n2\r\n{}\r\n0\r\nHost: elsewhere\r\n\r\n" + NEXT, [422, 200]),
    "three thousand chunks": (JSON + CHUNKED + b"\r\n" + b"1\r\n \r\n" * 3000 + b"0\r\n\r\n" + NEXT, [422, 200]),
    "forty requests at once": (b"GET / HTTP/1.1\r\n" + HOST + b"\r\n", [200] * 40),
    "a body that is asked for": (JSON + b"Expect: 100-continue\r\nContent-Length: 2\r\n\r\n{}" + NEXT, [100, 422, 200]),
    "a change to another protocol": (GET + b"Upgrade: h2c\r\n\r\n", [200]),
    "another server's address": (b"GET http://elsewhere/ HTTP/1.1\r\n" + HOST + b"\r\n" + NEXT, [404, 200]),
    "a tunnel": (b"CONNECT elsewhere:443 HTTP/1.1\r\n" + HOST + b"\r\n", [404]),
    "an echo": (b"TRACE / HTTP/1.1\r\n" + HOST + b"\r\n" + NEXT, [405, 200]),
    "packed JSON": (JSON + b"Content-Encoding: gzip\r\nContent-Length: 3\r\n\r\n\x1f\x8b\x08" + NEXT, [422, 200]),
    "chunks beyond the limit": (JSON + CHUNKED + b"\r\n" + (b"ffff\r\n" + b" " * 0xFFFF + b"\r\n") * 5, [413]),
    "a chunk that never ends": (JSON + CHUNKED + b"\r\nffffffffffffffffffff\r\n{}", [408]),
    "a thousand ranges": (
        GET.replace(b"/api/about", b"/static/main.js") + b"Range: bytes=0-0" + b",2-3" * 1000 + b"\r\n\r\n",
        [200],
    ),
}
PATHS = (
    b"/static/../../pyproject.toml",
    b"/static/%2e%2e/%2e%2e/etc/passwd",
    b"/static/..%5c..%5cx",
    b"/static//etc/passwd",
    b"/static/main.js%00.css",
    b"/static/%ff%fe",
    b"//elsewhere/x",
    b"/api/jobs/%2e%2e%2f/traveller",
)


@pytest.mark.parametrize("name", GOES_ON)
def test_odd_requests_are_answered_one_by_one(port: int, name: str) -> None:
    sent, right = GOES_ON[name]
    if len(right) == 40:
        sent = sent * 39 + NEXT
    assert told(port, sent) == right


@pytest.mark.parametrize("path", PATHS)
def test_no_path_leads_out_of_the_page(port: int, path: str) -> None:
    (status,) = told(port, b"GET " + path + b" HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n")
    assert status in {404, 409}


def test_random_bytes_in_sound_requests_end_in_an_answer_or_a_closed_door(
    port: int, caplog: pytest.LogCaptureFixture
) -> None:
    """Every answer is one of those described, the log holds no fault, and the next client is served."""
    whole = JSON + b"Content-Length: 2\r\n\r\n{}", JSON + CHUNKED + b"\r\n2\r\n{}\r\n0\r\n\r\n", GET + b"\r\n"
    pieces = (
        b"\r\n",
        b"\n",
        b"\r",
        b":",
        b" ",
        b"\x00",
        b"\xff",
        b"Content-Length: 7\r\n",
        CHUNKED,
        b"HTTP/1.1",
        b"%00",
        b"9" * 40,
    )
    rng = random.Random(22)
    seen: Counter[int] = Counter()
    with caplog.at_level(logging.ERROR):
        for _ in range(MANY):
            data = rng.choice(whole).replace(b"Connection: close\r\n", b"") + NEXT
            for _ in range(rng.randint(1, 3)):
                at = rng.randrange(len(data))
                data = data[:at] + rng.choice(pieces) + data[at + rng.randint(0, 3) :]
            seen.update(told(port, data) or [0])
    print(f"\n{seen.total()} answers: {dict(sorted(seen.items()))}")
    assert set(seen) <= {0, 200, 400, 403, 404, 405, 408, 413, 422}
    assert not caplog.records
    assert told(port, NEXT) == [200]
