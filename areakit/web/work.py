"""Work off the event loop: so many at once, each for so long, and a clear answer where there is no room."""

from __future__ import annotations

import asyncio
import functools
import threading
from collections.abc import AsyncIterator, Callable
from typing import TypeVar

import anyio
from anyio import to_thread
from starlette.requests import ClientDisconnect, Request

from areakit.web.answers import BUSY, TOO_LARGE, Refusal
from areakit.web.settings import Limits

T = TypeVar("T")
_RETRY_AFTER_SECONDS = 3
LOOK_SECONDS = 0.25


class Room:
    """Places for work; a place is given back when the work truly ends, even if nobody waits for it any more."""

    def __init__(self, places: int, *, what: str) -> None:
        self._places = threading.BoundedSemaphore(places)
        self._count, self._what = places, what

    def take(self) -> None:
        """Take a place, or refuse at once."""
        if not self._places.acquire(blocking=False):
            raise Refusal(
                BUSY,
                code="BUSY",
                message=f"{self._count} {self._what} are under way, and no more run at once.",
                remedy=f"Try again in {_RETRY_AFTER_SECONDS} seconds.",
                headers={"retry-after": str(_RETRY_AFTER_SECONDS)},
            )

    def leave(self) -> None:
        """Give a place back."""
        self._places.release()


async def work(room: Room, seconds: float, function: Callable[[], T]) -> T:
    """Return what a function gives, run in a thread of its own within its time.

    Raises
    ------
    Refusal
        If there is no room, or if it takes too long.
    """
    room.take()
    started = False

    def run() -> T:
        nonlocal started
        started = True
        try:
            return function()
        finally:
            room.leave()

    try:
        with anyio.fail_after(seconds):
            return await to_thread.run_sync(functools.partial(run), abandon_on_cancel=True)
    except TimeoutError:
        raise Refusal(
            BUSY,
            code="TOO_SLOW",
            message=f"The work took longer than {seconds:g} seconds and was given up.",
            remedy="Send a smaller photo.",
            headers={"retry-after": str(_RETRY_AFTER_SECONDS)},
        ) from None
    finally:
        if not started:
            room.leave()


async def read_body(request: Request, room: Room, limits: Limits, *, largest: int) -> bytes:
    """Return the body, counted while it comes in.

    Raises
    ------
    Refusal
        If it is larger than allowed, comes in too slowly, or the sender leaves.
    """
    stated = request.headers.get("content-length", "")
    if stated.isdigit() and int(stated) > largest:
        raise _too_large(largest)
    room.take()
    try:
        pieces, size = [], 0
        async for piece in _in_time(request, limits):
            size += len(piece)
            if size > largest:
                raise _too_large(largest)
            pieces.append(piece)
        return b"".join(pieces)
    except ClientDisconnect:
        raise Refusal(400, code="CUT_OFF", message="The upload was cut off.", remedy="Send it again.") from None
    finally:
        room.leave()


class Patience:
    """The time that a sender may take; it runs only while the server looks out for bytes, a look at a time.

    A busy server looks late, and may find what lay there meanwhile: no sender is to answer for that.
    """

    def __init__(self, limits: Limits) -> None:
        self._limits = limits
        self._size, self._waited, self._silent = 0, 0.0, 0.0

    def took_in(self, size: int) -> None:
        """Note bytes that came in."""
        self._size += size
        self._silent = 0.0

    def waited(self, seconds: float) -> None:
        """Note a look for bytes that ended without any, or with them, after so long."""
        looked = min(seconds, LOOK_SECONDS)
        self._waited += looked
        self._silent += looked

    @property
    def fault(self) -> str | None:
        """What is wrong with a sender for whom it has run out, as the rest of a sentence about an upload."""
        limits = self._limits
        if self._silent >= limits.silent_seconds:
            return f"stopped for {limits.silent_seconds:g} seconds after {self._size} bytes"
        if self._waited >= limits.patience_seconds + self._size / limits.slowest_bytes_a_second:
            slowest = limits.slowest_bytes_a_second
            return f"brought {self._size} bytes in {self._waited:.0f} seconds, less than {slowest} a second"
        return None


async def _in_time(request: Request, limits: Limits) -> AsyncIterator[bytes]:
    """Yield the pieces of a body; Refusal where they come in slower than the limits allow."""
    stream, patience = request.stream(), Patience(limits)
    while True:
        coming = asyncio.ensure_future(anext(stream, None))
        try:
            while not coming.done():
                began = anyio.current_time()
                await asyncio.wait({coming}, timeout=LOOK_SECONDS)
                patience.waited(anyio.current_time() - began)
                if not coming.done() and (fault := patience.fault) is not None:
                    raise Refusal(
                        408,
                        code="SLOW_UPLOAD",
                        message=f"The upload {fault}.",
                        remedy="Come closer to the wireless router, or send a smaller photo.",
                    )
        finally:
            coming.cancel()
        piece = coming.result()
        if piece is None:
            return
        patience.took_in(len(piece))
        yield piece


def _too_large(largest: int) -> Refusal:
    return Refusal(
        TOO_LARGE,
        code="TOO_LARGE",
        message=f"The upload is larger than {largest / 1e6:.0f} MB.",
        remedy="Send the photo as JPEG or HEIC, or make it smaller.",
    )
