"""What the server is allowed to do."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Bounds of one request, and of what runs at once.

    An upload may be silent for ``silent_seconds``, and after ``patience_seconds`` must have come in at
    ``slowest_bytes_a_second``, so that few slow senders do not hold the places of all others. Time in which the
    server itself is not waiting for bytes does not count.
    """

    photo_bytes: int = 60_000_000
    json_bytes: int = 20_000_000
    pixels: int = 64_000_000
    silent_seconds: float = 30.0
    slowest_bytes_a_second: int = 20_000
    patience_seconds: float = 10.0
    work_seconds: float = 60.0
    at_once: int = 2
    receiving_at_once: int = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Where the page is reached.

    Parameters
    ----------
    port : int
    lan_host : str or None
        This machine's address in the local network; None serves this machine only.
    encrypted : bool
        Whether the network is served over TLS.
    """

    port: int
    lan_host: str | None = None
    encrypted: bool = False

    @property
    def hosts(self) -> frozenset[str]:
        """Values of the Host header that are answered; any other is a page elsewhere that points here."""
        names = ["127.0.0.1", "localhost", "[::1]", *([self.lan_host] if self.lan_host else [])]
        return frozenset(f"{name}:{self.port}" for name in names)

    @property
    def url(self) -> str:
        """The page on this machine."""
        return f"http://127.0.0.1:{self.port}/"

    @property
    def lan_url(self) -> str:
        """The page for other devices."""
        return f"{'https' if self.encrypted else 'http'}://{self.lan_host}:{self.port}/"
