"""Connections that say nothing are closed, and those that are refused while they still send get to read why.

Without the first, silent clients would fill the server for ever. Without the second, the system would reset a
connection whose bytes nobody took in, and the answer would be lost with it (RFC 9112, section 9.6).
"""

from __future__ import annotations

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from areakit.web.settings import Limits
from areakit.web.work import LOOK_SECONDS, Patience

HEADER_SECONDS = 10.0
"""Time that a client has to send the whole head of a request."""
_MOST_DROPPED = 200_000_000


class PatientProtocol(H11Protocol):
    """HTTP/1.1 by uvicorn, with a limit on the time between a connection, or a first byte, and a whole head."""

    seconds = HEADER_SECONDS
    limits = Limits()
    _timer: asyncio.TimerHandle | None = None
    _door: _Door | None = None

    def connection_made(self, transport: Any) -> None:
        """Start waiting for a request."""
        self._door = _Door(transport, self)
        super().connection_made(self._door)  # type: ignore[arg-type]
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Take in bytes; stop waiting when they complete a head, and start when they begin another."""
        if self._door is not None and self._door.drops(data):
            return
        before = self.cycle
        super().data_received(data)
        if self.cycle is not before:
            self._stop()
        elif self._timer is None and (self.cycle is None or self.cycle.response_complete):
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        self._stop()
        super().connection_lost(exc)

    def send_400_response(self, msg: str) -> None:
        """Answer what is no HTTP, once: whoever still works on its head then answers nobody."""
        if self.cycle is not None and not self.cycle.response_complete:
            self.cycle.disconnected = True
            self.cycle.message_event.set()
        if self.conn.our_state in {h11.IDLE, h11.SEND_RESPONSE}:
            super().send_400_response(msg)
        else:  # its head was answered before the fault in its body came in
            self.transport.close()

    @property
    def is_still_sent_to(self) -> bool:
        """Tell whether the client is in the middle of a body, or of something that is no HTTP."""
        return self.conn.their_state in {h11.SEND_BODY, h11.ERROR}

    def _wait(self) -> None:
        self._stop()
        self._timer = self.loop.call_later(self.seconds, self._give_up)

    def _stop(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _give_up(self) -> None:
        self._timer = None
        if not self.transport.is_closing():
            self.transport.close()


class _Door:
    """A transport that closes only its own side while the client still sends, and drops what comes in.

    The client has as long as for an upload: it must not come in slower than the limits allow.
    """

    def __init__(self, transport: Any, protocol: PatientProtocol) -> None:
        self._transport, self._protocol = transport, protocol
        self._patience: Patience | None = None
        self._dropped = 0

    def __getattr__(self, name: str) -> Any:
        return getattr(self._transport, name)

    def is_closing(self) -> bool:
        """Tell whether the answer is out and nothing more will be read."""
        return self._patience is not None or bool(self._transport.is_closing())

    def close(self) -> None:
        """Close, or say that nothing more will be answered and take in the rest."""
        if self._patience is not None:
            return
        if self._transport.is_closing() or not self._protocol.is_still_sent_to:
            self._transport.close()
            return
        try:
            if self._transport.can_write_eof():  # TLS cannot close one side
                self._transport.write_eof()
        except OSError:  # the client broke off meanwhile
            self._transport.close()
            return
        self._patience = Patience(self._protocol.limits)
        self._transport.resume_reading()
        self._look()

    def drops(self, data: bytes) -> bool:
        """Tell whether bytes are only taken in to be dropped."""
        if self._patience is None:
            return False
        self._dropped += len(data)
        self._patience.took_in(len(data))
        return True

    def _look(self) -> None:
        """End it where the rest is too much, or comes in too slowly."""
        if self._transport.is_closing() or self._patience is None:
            return
        if self._patience.fault is not None or self._dropped > _MOST_DROPPED:
            self._transport.close()
        else:
            self._patience.waited(LOOK_SECONDS)
            self._protocol.loop.call_later(LOOK_SECONDS, self._look)
