"""A connection that does not say what it wants is closed: without this, silent ones would fill the server for ever."""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

HEADER_SECONDS = 10.0
"""Time that a client has to send the whole head of a request."""


class PatientProtocol(H11Protocol):
    """HTTP/1.1 by uvicorn, with a limit on the time between a connection, or a first byte, and a whole head."""

    seconds = HEADER_SECONDS
    _timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Start waiting for a request."""
        super().connection_made(transport)
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Take in bytes; stop waiting when they complete a head, and start when they begin another."""
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
