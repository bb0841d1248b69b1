"""Clients that say nothing, or say it slowly, do not hold the server."""

import asyncio
import contextlib
import logging
import socket
import ssl
import struct
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from small_server import running
from starlette.requests import Request

from areakit.web.certificate import certificate_for
from areakit.web.settings import Limits
from areakit.web.work import Room, read_body

HEAD = b"POST /api/measure HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nContent-Length: 500000\r\n\r\n"


LIMITS = Limits(patience_seconds=1.0, slowest_bytes_a_second=20_000, silent_seconds=1.5, receiving_at_once=1)


@pytest.fixture(scope="module")
def port() -> Iterator[int]:
    with running(LIMITS, seconds=0.5, keep_alive=2, log_level="critical") as number:
        yield number


def connected(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=5)


def answer(client: socket.socket, ends: bytes) -> bytes:
    """Return what comes until it holds these bytes; head and body of an answer may come in two pieces."""
    found = b""
    while ends not in found and (piece := client.recv(4096)):
        found += piece
    return found


def everything(client: socket.socket) -> bytes:
    found = b""
    with contextlib.suppress(ConnectionResetError):
        while piece := client.recv(4096):
            found += piece
    return found


@pytest.mark.parametrize("said", [b"", b"GET / HTTP/1.1\r\nHost: 127"])
def test_a_client_without_a_whole_request_is_let_go(port: int, said: bytes) -> None:
    with connected(port) as client:
        client.sendall(said)
        started = time.monotonic()
        assert everything(client) == b""
        assert time.monotonic() - started < 3.0


def test_a_head_in_drops_is_let_go_too(port: int) -> None:
    with connected(port) as client, contextlib.suppress(BrokenPipeError, ConnectionResetError):
        for _ in range(60):
            client.sendall(b"X")
            time.sleep(0.02)
        assert client.recv(100) == b""
        return


def test_a_second_request_on_one_connection_may_take_its_time_to_begin(port: int) -> None:
    ask = b"GET /api/about HTTP/1.1\r\nHost: 127.0.0.1:%d\r\n\r\n" % port
    with connected(port) as client:
        client.sendall(ask)
        assert answer(client, b"at_once").startswith(b"HTTP/1.1 200")
        time.sleep(0.8)  # idle between requests: that is keep-alive's time, which is longer
        client.sendall(ask)
        assert answer(client, b"at_once").startswith(b"HTTP/1.1 200")


def test_a_slow_upload_gives_its_place_back(port: int) -> None:
    with connected(port) as slow:
        slow.sendall(HEAD % port + bytes(100))
        time.sleep(0.1)
        with connected(port) as other:
            other.sendall(HEAD % port + bytes(100))
            assert b"503" in other.recv(4096)
        answer = slow.recv(4096)
        assert b" 408 " in answer
        assert b"SLOW_UPLOAD" in answer + slow.recv(4096)
    with connected(port) as next_one:
        next_one.sendall(HEAD % port + bytes(500_000))
        assert b" 422 " in next_one.recv(4096)


def test_a_slow_sender_who_keeps_on_is_waited_for_however_long_it_takes(port: int) -> None:
    body, pieces = bytes(90_000), 15
    with connected(port) as client:
        client.sendall(BUSY % (port, len(body)))
        for number in range(pieces):  # 30 kB a second for three times the patience
            client.sendall(body[number * 6_000 : (number + 1) * 6_000])
            time.sleep(0.2)
        assert answer(client, b"}").startswith(b"HTTP/1.1 422")


def test_a_sender_who_falls_silent_reads_that_it_did(port: int) -> None:
    with connected(port) as client:
        client.sendall(HEAD % port + bytes(200_000))  # by its speed alone it would have 11 seconds
        started = time.monotonic()
        told = answer(client, b"}")
        assert told.startswith(b"HTTP/1.1 408")
        assert b"stopped for 1.5 seconds after 200000 bytes" in told
        assert 1.0 < time.monotonic() - started < 4.0


def test_time_in_which_the_server_looked_elsewhere_is_no_fault_of_the_sender() -> None:
    pieces = [b"a", b"b", b""]

    async def receive() -> dict[str, object]:
        time.sleep(1.2)  # a server that is at something else; the bytes came in meanwhile
        for _ in range(3):
            await asyncio.sleep(0)
        piece = pieces.pop(0)
        return {"type": "http.request", "body": piece, "more_body": bool(pieces)}

    request = Request({"type": "http", "headers": []}, receive)
    found = asyncio.run(read_body(request, Room(1, what="uploads"), LIMITS, largest=100))
    assert found == b"ab"


def test_a_broken_connection_gives_its_place_back(port: int) -> None:
    for _ in range(3):
        with connected(port) as client:
            client.sendall(HEAD % port + bytes(100))
        time.sleep(0.1)
    with connected(port) as client:
        client.sendall(HEAD % port + bytes(500_000))
        assert b" 422 " in client.recv(4096)


BUSY = b"POST /api/measure HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nContent-Length: %d\r\n\r\n"


def sent_whole(port: int, head: bytes, body: bytes) -> bytes:
    """Send everything before reading anything, as a plain client does; return the whole answer."""
    with connected(port) as client:
        client.sendall(head)
        for start in range(0, len(body), 100_000):
            client.sendall(body[start : start + 100_000])
        return everything(client)


@pytest.mark.parametrize("size", [1_000, 3_000_000])
@pytest.mark.parametrize(
    ("head", "status", "code"),
    [
        (b"POST /api/measure HTTP/1.1\r\nHost: elsewhere:%d\r\nContent-Length: %d\r\n\r\n", b"403", b"HOST"),
        (b"POST /api/nowhere/x HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nContent-Length: %d\r\n\r\n", b"404", b"NOT_FOUND"),
        (b"DELETE /api/measure HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nContent-Length: %d\r\n\r\n", b"405", b"METHOD"),
    ],
)
def test_a_refused_upload_gets_to_read_why(port: int, head: bytes, status: bytes, code: bytes, size: int) -> None:
    answer = sent_whole(port, head % (port, size), bytes(size))
    assert answer.startswith(b"HTTP/1.1 " + status)
    assert code in answer


@pytest.mark.parametrize("size", [1_000, 3_000_000])
def test_a_refused_upload_gets_to_read_why_over_tls_too(tmp_path: Path, size: int) -> None:
    found = certificate_for("127.0.0.1", folder=tmp_path, now=datetime.now(UTC))
    trusting = ssl.create_default_context(cafile=str(found.chain))
    head = b"POST /api/nowhere/x HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nConnection: close\r\nContent-Length: %d\r\n\r\n"
    with (
        running(LIMITS, seconds=0.5, keep_alive=2, log_level="critical", tls=found) as number,
        connected(number) as plain,
        trusting.wrap_socket(plain, server_hostname="127.0.0.1") as client,
    ):
        client.sendall(head % (number, size) + bytes(size))
        assert answer(client, b"}").startswith(b"HTTP/1.1 404")


@pytest.mark.parametrize("size", [1_000, 3_000_000, 30_000_000])
def test_an_upload_that_finds_no_room_gets_to_read_why(port: int, size: int) -> None:
    with connected(port) as slow:
        slow.sendall(HEAD % port + bytes(100))
        time.sleep(0.1)
        answer = sent_whole(port, BUSY % (port, size), bytes(size))
        assert answer.startswith(b"HTTP/1.1 503")
        assert b'"BUSY"' in answer


def test_what_is_too_large_or_no_http_gets_to_read_why(port: int) -> None:
    answer = sent_whole(port, BUSY % (port, 70_000_000), bytes(70_000_000))
    assert answer.startswith(b"HTTP/1.1 413")
    answer = sent_whole(port, b"GET / HTTP/1.1\r\nX: " + b"a" * 400_000, b"")
    assert answer.startswith(b"HTTP/1.1 400")


def test_a_refused_sender_of_drops_is_let_go_all_the_same(port: int) -> None:
    with connected(port) as client:
        client.sendall(BUSY.replace(b"/api/measure", b"/api/nowhere/x") % (port, 5_000_000))
        answer = b""
        started = time.monotonic()
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):
            while time.monotonic() - started < 4.0:
                client.sendall(b"x")
                time.sleep(0.05)
        assert time.monotonic() - started < 3.0
        with contextlib.suppress(ConnectionResetError):
            answer = client.recv(4096)
        assert answer in {b""} or answer.startswith(b"HTTP/1.1 404")


def test_a_refused_sender_that_breaks_off_leaves_no_fault(port: int, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR, logger="asyncio"):
        for _ in range(40):
            client = connected(port)
            client.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))  # closing resets it
            client.sendall(BUSY.replace(b"/api/measure", b"/api/nowhere/x") % (port, 5_000_000) + bytes(50_000))
            client.close()
        time.sleep(0.3)
    assert not caplog.records
